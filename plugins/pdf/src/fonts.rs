//! The fonts of a template: which file sets which sign.

use crate::codes;
use krilla::text::Font as PdfFont;
use pages::TemplateSet;
use record::{Finding, Place};
use std::borrow::Cow;
use std::sync::Arc;

/// A style of type.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(crate) enum Style {
    /// Text.
    Regular,
    /// Emphasis.
    Italic,
    /// Semibold.
    Strong,
    /// Semibold emphasis.
    StrongItalic,
    /// Fixed width.
    Code,
}

/// One font file.
pub(crate) struct Face {
    /// For shaping.
    pub shape: harfrust::Font,
    /// For the PDF.
    pub pdf: PdfFont,
    /// Units of an em.
    pub units: f32,
    ascii: [bool; 128],
}

impl Face {
    /// A font of the program is used where it lies, a laboratory's own is kept once.
    fn new(bytes: Cow<'static, [u8]>) -> Option<Self> {
        let data: Arc<dyn AsRef<[u8]> + Send + Sync> = match bytes {
            Cow::Borrowed(bytes) => Arc::new(bytes),
            Cow::Owned(bytes) => Arc::new(bytes),
        };
        let shape = harfrust::Font::new(Arc::clone(&data), 0)?;
        let pdf = PdfFont::new(data.into(), 0)?;
        let units = f32::from(shape.units_per_em().max(1));
        let map = shape.charmap();
        let ascii = std::array::from_fn(|c| map.map_unicode(c as u32).is_some());
        Some(Self { shape, pdf, units, ascii })
    }

    /// Whether the font has a sign.
    pub(crate) fn has(&self, c: char) -> bool {
        match self.ascii.get(c as usize) {
            Some(has) => *has,
            None => self.shape.charmap().map_unicode(c as u32).is_some_and(|g| g.to_u32() != 0),
        }
    }
}

/// All fonts of a template.
pub struct Book {
    faces: Vec<Face>,
    /// Index of each style's own font.
    styles: [usize; 5],
    fallback: Vec<usize>,
    /// Asked before the others for strong text.
    strong_fallback: Vec<usize>,
}

impl Book {
    /// Reads the fonts that the template names.
    ///
    /// # Errors
    /// When a file is no font.
    pub fn load(set: &TemplateSet) -> Result<Self, Box<Finding>> {
        let mut faces = Vec::new();
        let mut paths: Vec<&str> = Vec::new();
        let mut order = Vec::new();
        for path in set.manifest().fonts_in_order() {
            let known = paths.iter().position(|p| *p == path);
            let index = match known {
                Some(index) => index,
                None => {
                    let face = set.shared_file(path).and_then(Face::new).ok_or_else(|| {
                        let place = Place { file: path.to_owned(), ..Place::default() };
                        Box::new(
                            Finding::error(codes::FONT, "the file is no TrueType or OpenType font")
                                .at(place)
                                .help("give the font as `.ttf` or `.otf`"),
                        )
                    })?;
                    faces.push(face);
                    paths.push(path);
                    faces.len() - 1
                }
            };
            order.push(index);
        }
        let after_strong = 5 + set.manifest().fonts.strong_fallback.len();
        let style = |i: usize| order.get(i).copied().unwrap_or(0);
        Ok(Self {
            styles: std::array::from_fn(style),
            strong_fallback: order.get(5..after_strong).map(<[usize]>::to_vec).unwrap_or_default(),
            fallback: order.get(after_strong..).map(<[usize]>::to_vec).unwrap_or_default(),
            faces,
        })
    }

    /// A font by its number.
    pub(crate) fn face(&self, index: usize) -> Option<&Face> {
        self.faces.get(index)
    }

    /// All fonts.
    pub(crate) fn faces(&self) -> &[Face] {
        &self.faces
    }

    /// The style's own font, where it sets all of a plain Latin text.
    pub(crate) fn plainly(&self, style: Style, text: &str) -> Option<usize> {
        let own = self.styles[style as usize];
        let face = self.faces.get(own)?;
        let has = |b: u8| b == b'\n' || face.ascii.get(usize::from(b)).is_some_and(|has| *has);
        text.bytes().all(has).then_some(own)
    }

    /// The font that sets a cluster of signs in a style: the first that has all of them. The error is the
    /// sign that no font has.
    pub(crate) fn pick(&self, style: Style, cluster: &str) -> Result<usize, char> {
        let own = self.styles[style as usize];
        let strong = match style {
            Style::Strong | Style::StrongItalic => self.strong_fallback.as_slice(),
            Style::Regular | Style::Italic | Style::Code => &[],
        };
        let candidates = || std::iter::once(own).chain(strong.iter().chain(&self.fallback).copied());
        let whole = |index: usize| {
            self.faces.get(index).is_some_and(|f| cluster.chars().all(|c| is_ignorable(c) || f.has(c)))
        };
        if let Some(index) = candidates().find(|i| whole(*i)) {
            // Private signs mean nothing to whoever reads the file later, whatever the font draws.
            return match cluster.chars().find(|c| is_private(*c)) {
                Some(c) => Err(c),
                None => Ok(index),
            };
        }
        let missing = |c: &char| {
            !is_ignorable(*c) && !candidates().any(|i| self.faces.get(i).is_some_and(|f| f.has(*c)))
        };
        let mut chars = cluster.chars();
        match chars.clone().find(missing).or_else(|| chars.find(|c| is_private(*c))) {
            Some(c) => Err(c),
            // Each sign has a font, but none has all: the base decides, and shaping does what it can.
            None => Err(cluster.chars().last().unwrap_or(' ')),
        }
    }
}

fn is_private(c: char) -> bool {
    matches!(c as u32, 0xe000..=0xf8ff | 0xf_0000..=0x10_ffff)
}

/// Signs that are never drawn: joiners, direction marks, variation selectors and their like.
pub(crate) fn is_ignorable(c: char) -> bool {
    matches!(c as u32,
        0xad | 0x34f | 0x61c | 0x115f..=0x1160 | 0x17b4..=0x17b5 | 0x180b..=0x180f | 0x200b..=0x200f
        | 0x202a..=0x202e | 0x2060..=0x206f | 0x3164 | 0xfe00..=0xfe0f | 0xffa0 | 0x1_d173..=0x1_d17a
        | 0xe_0000..=0xe_0fff)
}
