//! Draws text, lines and boxes on a page, and remembers characters that the font lacks.

use genpdf::fonts::FontCache;
use genpdf::render::Area;
use genpdf::style::{Color, Style};
use genpdf::{Mm, Position};
use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};

/// What a page could not show.
#[derive(Debug, Default)]
pub(crate) struct NotShown {
    /// Characters without a glyph, each with the first text that holds it.
    pub(crate) glyphs: RefCell<BTreeMap<char, String>>,
    /// Texts that were cut because their place is too small.
    pub(crate) cut: RefCell<BTreeSet<String>>,
}

/// How a text is set.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Face {
    pub(crate) size: u8,
    pub(crate) bold: bool,
    pub(crate) grey: bool,
}

impl Face {
    pub(crate) const fn plain(size: u8) -> Self {
        Self { size, bold: false, grey: false }
    }
    pub(crate) const fn bold(size: u8) -> Self {
        Self { size, bold: true, grey: false }
    }
    pub(crate) const fn quiet(size: u8) -> Self {
        Self { size, bold: false, grey: true }
    }

    fn style(self) -> Style {
        let style = Style::new().with_font_size(self.size);
        let style = if self.bold { style.bold() } else { style };
        if self.grey { style.with_color(Color::Greyscale(90)) } else { style }
    }

    /// Height of a line, in millimetres.
    pub(crate) fn line(self) -> f64 {
        f64::from(self.size) * 0.45
    }
}

/// Breaks a text into lines of a width in millimetres: between words, else within one that is too long.
pub(crate) fn lines(cache: &FontCache, face: Face, width: f64, text: &str) -> Vec<String> {
    let style = face.style();
    let fits = |text: &str| f64::from(style.str_width(cache, text)) <= width;
    let mut found = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
        if fits(&longer) {
            line = longer;
            continue;
        }
        if !line.is_empty() {
            found.push(std::mem::take(&mut line));
        }
        for character in word.chars() {
            let longer = format!("{line}{character}");
            if !line.is_empty() && !fits(&longer) {
                found.push(std::mem::take(&mut line));
            }
            line.push(character);
        }
    }
    if !line.is_empty() || found.is_empty() {
        found.push(line);
    }
    found
}

/// A pen on one page.
pub(crate) struct Pen<'a> {
    pub(crate) area: Area<'a>,
    pub(crate) cache: &'a FontCache,
    pub(crate) not_shown: &'a NotShown,
}

impl Pen<'_> {
    /// Text with its upper left corner at a place, in millimetres from the upper left corner of the page's frame.
    pub(crate) fn text(&self, x: f64, y: f64, face: Face, text: &str) -> Result<(), genpdf::error::Error> {
        let style = face.style();
        let font = self.cache.get_rt_font(style.font(self.cache));
        for character in text.chars() {
            if font.glyph(character).id().0 == 0 {
                self.not_shown.glyphs.borrow_mut().entry(character).or_insert_with(|| text.to_owned());
            }
        }
        if text.is_empty() {
            return Ok(());
        }
        self.area.print_str(self.cache, Position::new(x, y), style, text).map(drop)
    }

    /// Text that ends at a place.
    pub(crate) fn text_right(
        &self,
        right: f64,
        y: f64,
        face: Face,
        text: &str,
    ) -> Result<(), genpdf::error::Error> {
        let width = f64::from(face.style().str_width(self.cache, text));
        self.text(right - width, y, face, text)
    }

    /// A text in lines of a width, no more than `most` of them; the last is cut with an ellipsis where it must be.
    pub(crate) fn paragraph(
        &self,
        (x, y): (f64, f64),
        width: f64,
        most: usize,
        face: Face,
        text: &str,
    ) -> Result<f64, genpdf::error::Error> {
        let mut found = lines(self.cache, face, width, text);
        if found.len() > most {
            self.not_shown.cut.borrow_mut().insert(text.to_owned());
            found.truncate(most);
            if let Some(last) = found.last_mut() {
                while !last.is_empty()
                    && f64::from(face.style().str_width(self.cache, &format!("{last}…"))) > width
                {
                    last.pop();
                }
                last.push('…');
            }
        }
        for (line, number) in found.iter().zip(0u8..) {
            self.text(x, y + f64::from(number) * face.line(), face, line)?;
        }
        Ok(found.len() as f64 * face.line())
    }

    /// A line between two places.
    pub(crate) fn line(&self, from: (f64, f64), to: (f64, f64), grey: bool) {
        let style = if grey { Style::new().with_color(Color::Greyscale(170)) } else { Style::new() };
        let at = |(x, y): (f64, f64)| Position::new(Mm::from(x), Mm::from(y));
        self.area.draw_line(vec![at(from), at(to)], style);
    }

    /// An empty box.
    pub(crate) fn square(&self, x: f64, y: f64, width: f64, height: f64) {
        let corners = [(x, y), (x + width, y), (x + width, y + height), (x, y + height), (x, y)];
        let points = corners.iter().map(|(x, y)| Position::new(Mm::from(*x), Mm::from(*y))).collect();
        self.area.draw_line(points, Style::new());
    }

    /// A small box to tick, and what it says.
    pub(crate) fn tick(&self, x: f64, y: f64, face: Face, words: &str) -> Result<f64, genpdf::error::Error> {
        self.square(x, y, 4.0, 4.0);
        self.text(x + 5.4, y + (4.0 - face.line()) / 2.0 - 1.0, face, words)?;
        Ok(5.4 + f64::from(face.style().str_width(self.cache, words)) + 5.0)
    }
}
