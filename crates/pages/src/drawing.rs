//! Vector drawings that every paper can set: shapes in points, inks by meaning.

use std::sync::Arc;

/// A drawing. The origin is at the upper left, y grows downwards, lengths are points.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Drawing {
    /// Width.
    pub width: f32,
    /// Height.
    pub height: f32,
    /// Shapes, later ones over earlier ones.
    pub shapes: Vec<Shape>,
}

/// A point.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct At {
    /// From the left.
    pub x: f32,
    /// From the top.
    pub y: f32,
}

/// A point, briefly.
pub const fn at(x: f32, y: f32) -> At {
    At { x, y }
}

/// What an ink stands for; each paper knows its colour, on screens in light and dark.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Ink {
    /// Text and main lines.
    Text,
    /// Secondary text.
    Quiet,
    /// Thin rules and grids.
    Rule,
    /// The accent: the measured thing.
    Accent,
    /// A pale area behind something.
    Tint,
    /// The paper itself.
    Paper,
    /// Pass.
    Pass,
    /// Fail.
    Fail,
    /// Undetermined.
    Undetermined,
}

impl Ink {
    /// Name of the colour in style sheets.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Text => "text",
            Self::Quiet => "quiet",
            Self::Rule => "rule",
            Self::Accent => "accent",
            Self::Tint => "tint",
            Self::Paper => "paper",
            Self::Pass => "pass",
            Self::Fail => "fail",
            Self::Undetermined => "undetermined",
        }
    }
    /// Colour on white paper, as red, green and blue; the accent comes from the template.
    ///
    /// Text, quiet, accent and the verdicts have a contrast of more than 4.5 to 1 against white (WCAG 2.2,
    /// 1.4.3; a test holds them to it).
    pub const fn colour(self, accent: [u8; 3]) -> [u8; 3] {
        match self {
            Self::Text => [0x1c, 0x21, 0x27],
            Self::Quiet => [0x59, 0x63, 0x6e],
            Self::Rule => [0xc6, 0xcc, 0xd2],
            Self::Accent => accent,
            Self::Tint => [0xee, 0xf2, 0xf4],
            Self::Paper => [0xff, 0xff, 0xff],
            Self::Pass => [0x1d, 0x6b, 0x45],
            Self::Fail => [0xa3, 0x2a, 0x24],
            Self::Undetermined => [0x8a, 0x5a, 0x00],
        }
    }
}

/// A line's looks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pen {
    /// Ink.
    pub ink: Ink,
    /// Width.
    pub width: f32,
    /// Lengths of dash and gap; solid without.
    pub dash: Option<(f32, f32)>,
}

/// A solid line.
pub const fn pen(ink: Ink, width: f32) -> Pen {
    Pen { ink, width, dash: None }
}

/// A dashed line.
pub const fn dashed(ink: Ink, width: f32, dash: f32, gap: f32) -> Pen {
    Pen { ink, width, dash: Some((dash, gap)) }
}

/// What a text's position means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// Left end of the baseline.
    Start,
    /// Middle of the baseline.
    Middle,
    /// Right end of the baseline.
    End,
}

/// A line of text.
#[derive(Clone, Debug, PartialEq)]
pub struct Label {
    /// Position.
    pub at: At,
    /// What the position means.
    pub anchor: Anchor,
    /// Size of the type.
    pub size: f32,
    /// Semibold.
    pub strong: bool,
    /// Ink.
    pub ink: Ink,
    /// The words.
    pub text: String,
}

/// A shape.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// A line through points, closed or not.
    Line {
        /// At least two points.
        points: Vec<At>,
        /// Whether the end leads back to the start.
        closed: bool,
        /// Ink inside.
        fill: Option<Ink>,
        /// Line.
        pen: Option<Pen>,
    },
    /// An upright rectangle.
    Rect {
        /// Upper left corner.
        at: At,
        /// Width.
        width: f32,
        /// Height.
        height: f32,
        /// Ink inside.
        fill: Option<Ink>,
        /// Line.
        pen: Option<Pen>,
    },
    /// A circle.
    Circle {
        /// Centre.
        at: At,
        /// Radius.
        radius: f32,
        /// Ink inside.
        fill: Option<Ink>,
        /// Line.
        pen: Option<Pen>,
    },
    /// Text.
    Label(Label),
    /// A photo.
    Photo {
        /// Upper left corner.
        at: At,
        /// Width.
        width: f32,
        /// Height.
        height: f32,
        /// The photo.
        photo: Arc<crate::model::Photo>,
    },
    /// Shapes of which only the part inside a rectangle is seen.
    Clip {
        /// Upper left corner.
        at: At,
        /// Width.
        width: f32,
        /// Height.
        height: f32,
        /// The shapes.
        shapes: Vec<Shape>,
    },
}

impl Drawing {
    /// An empty drawing.
    pub const fn new(width: f32, height: f32) -> Self {
        Self { width, height, shapes: Vec::new() }
    }
    /// Adds an open line.
    pub fn line(&mut self, points: impl Into<Vec<At>>, pen: Pen) {
        self.shapes.push(Shape::Line { points: points.into(), closed: false, fill: None, pen: Some(pen) });
    }
    /// Adds a closed shape.
    pub fn polygon(&mut self, points: impl Into<Vec<At>>, fill: Option<Ink>, pen: Option<Pen>) {
        self.shapes.push(Shape::Line { points: points.into(), closed: true, fill, pen });
    }
    /// Adds a rectangle.
    pub fn rect(&mut self, at: At, width: f32, height: f32, fill: Option<Ink>, pen: Option<Pen>) {
        self.shapes.push(Shape::Rect { at, width, height, fill, pen });
    }
    /// Adds a circle.
    pub fn circle(&mut self, at: At, radius: f32, fill: Option<Ink>, pen: Option<Pen>) {
        self.shapes.push(Shape::Circle { at, radius, fill, pen });
    }
    /// Adds a line of text.
    pub fn label(&mut self, at: At, anchor: Anchor, size: f32, ink: Ink, text: impl Into<String>) {
        self.shapes.push(Shape::Label(Label { at, anchor, size, strong: false, ink, text: text.into() }));
    }
    /// Adds a line of semibold text.
    pub fn strong(&mut self, at: At, anchor: Anchor, size: f32, ink: Ink, text: impl Into<String>) {
        self.shapes.push(Shape::Label(Label { at, anchor, size, strong: true, ink, text: text.into() }));
    }
    /// Adds what `draw` makes, seen only inside a rectangle.
    pub fn clip(&mut self, at: At, width: f32, height: f32, draw: impl FnOnce(&mut Self)) {
        let mut inner = Self::new(self.width, self.height);
        draw(&mut inner);
        self.shapes.push(Shape::Clip { at, width, height, shapes: inner.shapes });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance and contrast as WCAG 2.2 defines them.
    fn contrast(a: [u8; 3], b: [u8; 3]) -> f64 {
        let luminance = |c: [u8; 3]| {
            let [r, g, b] = c.map(|v| {
                let v = f64::from(v) / 255.0;
                if v <= 0.04045 { v / 12.92 } else { libm::pow((v + 0.055) / 1.055, 2.4) }
            });
            0.2126 * r + 0.7152 * g + 0.0722 * b
        };
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    #[test]
    fn inks_can_be_read_on_paper_and_tint() {
        let accent = crate::TemplateSet::built_in("report").unwrap().manifest().look.accent.0;
        for ink in [Ink::Text, Ink::Quiet, Ink::Accent, Ink::Pass, Ink::Fail, Ink::Undetermined] {
            for ground in [Ink::Paper, Ink::Tint] {
                let c = contrast(ink.colour(accent), ground.colour(accent));
                assert!(c >= 4.5, "{ink:?} on {ground:?}: {c:.2}");
            }
        }
    }
}
