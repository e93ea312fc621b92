//! `template.toml`: what a template set says about itself, its fonts and its looks.

use crate::{Refusal, codes};
use record::{Finding, Place};
use serde::Deserialize;

/// The settings of a template set.
#[derive(Clone, Debug)]
pub struct Manifest {
    /// Name.
    pub name: String,
    /// The built-in set that every file comes from which this one does not bring; its own name for a built-in.
    pub base: String,
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
#[derive(Clone, Debug, Default)]
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
    /// Asked before the others for strong text.
    pub strong_fallback: Vec<String>,
}

/// How papers look.
#[derive(Clone, Debug)]
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

/// One `template.toml`: whatever it leaves out comes from the set below it.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(crate) struct Layer {
    pub(crate) name: Option<String>,
    pub(crate) base: Option<String>,
    version: Option<u32>,
    about: Option<String>,
    languages: Option<Vec<String>>,
    document: Option<String>,
    fonts: FontsLayer,
    look: LookLayer,
}

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct FontsLayer {
    regular: Option<String>,
    italic: Option<String>,
    strong: Option<String>,
    strong_italic: Option<String>,
    code: Option<String>,
    fallback: Option<Vec<String>>,
    strong_fallback: Option<Vec<String>>,
}

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct LookLayer {
    accent: Option<Colour>,
    paper: Option<Paper>,
}

impl Layer {
    pub(crate) fn parse(text: &str, file: &str) -> Result<Self, Refusal> {
        toml::from_str(text).map_err(|e| toml_refusal(file, text, &e))
    }
}

impl Manifest {
    /// Settings from layers, each over those before it.
    pub(crate) fn of(layers: &[Layer], file: &str) -> Result<Self, Refusal> {
        // The topmost layer that says something.
        fn top<T: Clone>(layers: &[Layer], get: impl Fn(&Layer) -> &Option<T>) -> Option<T> {
            layers.iter().rev().find_map(|l| get(l).clone())
        }
        let lacks = |key: &str| {
            let place = Place { file: file.to_owned(), ..Place::default() };
            Box::new(
                Finding::error(codes::MANIFEST, format!("the template does not say its `{key}`"))
                    .at(place)
                    .help(format!("add `{key}`")),
            )
        };
        let font = |key: &str, get: fn(&FontsLayer) -> &Option<String>| {
            top(layers, |l| get(&l.fonts)).ok_or_else(|| lacks(key))
        };
        let name = top(layers, |l| &l.name).ok_or_else(|| lacks("name"))?;
        Ok(Self {
            base: top(layers, |l| &l.base).unwrap_or_else(|| name.clone()),
            name,
            version: top(layers, |l| &l.version).ok_or_else(|| lacks("version"))?,
            about: top(layers, |l| &l.about).ok_or_else(|| lacks("about"))?,
            languages: top(layers, |l| &l.languages).ok_or_else(|| lacks("languages"))?,
            document: top(layers, |l| &l.document).ok_or_else(|| lacks("document"))?,
            fonts: Fonts {
                regular: font("fonts.regular", |f| &f.regular)?,
                italic: font("fonts.italic", |f| &f.italic)?,
                strong: font("fonts.strong", |f| &f.strong)?,
                strong_italic: font("fonts.strong_italic", |f| &f.strong_italic)?,
                code: font("fonts.code", |f| &f.code)?,
                fallback: top(layers, |l| &l.fonts.fallback).unwrap_or_default(),
                strong_fallback: top(layers, |l| &l.fonts.strong_fallback).unwrap_or_default(),
            },
            look: Look {
                accent: top(layers, |l| &l.look.accent).ok_or_else(|| lacks("look.accent"))?,
                paper: top(layers, |l| &l.look.paper).ok_or_else(|| lacks("look.paper"))?,
            },
        })
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
    /// Paths of the fonts of each style: regular, italic, strong, strong italic, code.
    pub fn fonts_by_style(&self) -> [&str; 5] {
        let f = &self.fonts;
        [&f.regular, &f.italic, &f.strong, &f.strong_italic, &f.code].map(String::as_str)
    }

    /// Paths of all fonts: those of the styles, then the fallbacks.
    pub fn fonts_in_order(&self) -> impl Iterator<Item = &str> {
        let rest = self.fonts.strong_fallback.iter().chain(&self.fonts.fallback).map(String::as_str);
        self.fonts_by_style().into_iter().chain(rest)
    }
}
