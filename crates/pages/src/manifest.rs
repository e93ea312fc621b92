//! `template.toml`: what a template set says about itself, its fonts and its looks.

use crate::{Refusal, codes};
use record::{Finding, Place};
use serde::Deserialize;

/// The settings of a template set.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Manifest {
    /// Name.
    pub name: String,
    /// Version of the set.
    pub version: u32,
    /// What it is for, in a line.
    pub about: String,
    /// Languages it has words for; the first is the default.
    pub languages: Vec<String>,
    /// The file that is rendered; it takes in the others.
    pub document: String,
    /// Fonts.
    pub fonts: Fonts,
    /// Looks.
    pub look: Look,
}

/// Font files by style, as paths within the set.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fonts {
    /// Text.
    pub regular: String,
    /// Emphasis.
    pub italic: String,
    /// Strong.
    pub strong: String,
    /// Strong emphasis.
    pub strong_italic: String,
    /// Codes and checksums.
    pub code: String,
    /// Asked in this order for signs that the style's own font lacks.
    pub fallback: Vec<String>,
}

/// How papers look.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Look {
    /// The one accent colour.
    pub accent: Colour,
    /// Size of the paper.
    pub paper: Paper,
}

/// A colour, written `#rrggbb`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(try_from = "String")]
pub struct Colour(pub [u8; 3]);

impl TryFrom<String> for Colour {
    type Error = String;
    fn try_from(text: String) -> Result<Self, String> {
        let digits = text.strip_prefix('#').filter(|d| d.len() == 6 && d.is_ascii());
        let value = digits.and_then(|d| u32::from_str_radix(d, 16).ok());
        match value {
            Some(v) => Ok(Self([(v >> 16) as u8, (v >> 8) as u8, v as u8])),
            None => Err(format!("`{text}` is no colour; write `#1f5a6b`")),
        }
    }
}

/// Size of the paper.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Paper {
    /// ISO A4.
    A4,
    /// North American letter.
    Letter,
}

impl Paper {
    /// Width and height in points.
    pub const fn size(self) -> (f32, f32) {
        match self {
            Self::A4 => (595.276, 841.89),
            Self::Letter => (612.0, 792.0),
        }
    }
}

impl Manifest {
    pub(crate) fn parse(text: &str, file: &str) -> Result<Self, Refusal> {
        toml::from_str(text).map_err(|e| toml_refusal(file, text, &e))
    }
}

/// A finding for what the TOML parser says, with line and column.
pub(crate) fn toml_refusal(file: &str, text: &str, error: &toml::de::Error) -> Refusal {
    let at = error.span().map(|s| s.start).unwrap_or(0);
    let before = text.get(..at).unwrap_or(text);
    let row = before.matches('\n').count() as u64 + 1;
    let column = before.rsplit('\n').next().unwrap_or("").chars().count() as u32 + 1;
    let place = Place { file: file.to_owned(), row: Some(row), column: Some(column), label: None };
    let message = error.message().replace('\n', "; ");
    Box::new(Finding::error(codes::MANIFEST, message).at(place).help("mend the file at this place"))
}

impl Manifest {
    /// Paths of all fonts: regular, italic, strong, strong italic, code, then the fallbacks.
    pub fn fonts_in_order(&self) -> impl Iterator<Item = &str> {
        let f = &self.fonts;
        [&f.regular, &f.italic, &f.strong, &f.strong_italic, &f.code]
            .into_iter()
            .chain(&f.fallback)
            .map(String::as_str)
    }
}
