//! What pages are filled with: pieces that are never split, each with what it draws and means.

use crate::paragraph::{Line, Paragraph, PartContent};
use crate::tags::NodeId;
use krilla::text::KrillaGlyph;
use pages::classes::AsideClass;
use pages::drawing::{Ink, Shape};
use pages::plot::Outcome;
use std::ops::Range;
use std::rc::Rc;
use std::sync::Arc;

/// Something drawn. Positions count from the page's left edge and the piece's top.
#[derive(Clone, Debug)]
pub(crate) enum Op {
    /// Glyphs of one font.
    Glyphs {
        /// Left end.
        x: f32,
        /// Baseline.
        y: f32,
        /// Number of the font.
        face: usize,
        /// Size.
        size: f32,
        /// Ink.
        ink: Ink,
        /// The paragraph's text.
        text: Rc<str>,
        /// The part of it that the glyphs stand for.
        range: Range<usize>,
        /// The glyphs.
        glyphs: Rc<[KrillaGlyph]>,
    },
    /// A mark around a centre.
    Mark(Outcome, f32, f32, f32),
    /// Shapes, shifted and scaled.
    Shapes {
        /// Shift to the right.
        x: f32,
        /// Shift down.
        y: f32,
        /// Scale.
        scale: f32,
        /// The shapes.
        shapes: Rc<Vec<Shape>>,
    },
}

/// A ground, a bar or a rule: decoration, which means nothing. Positions count like those of [`Op`].
#[derive(Clone, Copy, Debug)]
pub(crate) struct Area {
    /// Left edge.
    pub x: f32,
    /// Upper edge.
    pub y: f32,
    /// Width.
    pub width: f32,
    /// Height.
    pub height: f32,
    /// Ink.
    pub ink: Ink,
}

impl Area {
    /// A level line in the middle of which `y` lies.
    pub(crate) fn rule(x: f32, y: f32, width: f32, thickness: f32, ink: Ink) -> Self {
        Self { x, y: y - thickness / 2.0, width, height: thickness, ink }
    }
}

/// Things drawn that mean one thing.
#[derive(Clone, Debug, Default)]
pub(crate) struct Group {
    /// What they belong to; nothing for what is only decoration.
    pub node: Option<NodeId>,
    /// What is drawn; a node without is hung into the tree all the same.
    pub ops: Vec<Op>,
    /// A link: the id it leads to, its words, and its rectangle (x, y, width, height).
    pub link: Option<(Arc<str>, String, [f32; 4])>,
    /// A picture, which is one object whatever it is made of.
    pub picture: bool,
}

impl Group {
    /// Moves it down.
    pub(crate) fn lower(&mut self, by: f32) {
        for op in &mut self.ops {
            match op {
                Op::Glyphs { y, .. } | Op::Shapes { y, .. } | Op::Mark(_, _, y, _) => *y += by,
            }
        }
        if let Some((_, _, rect)) = &mut self.link {
            rect[1] += by;
        }
    }
}

/// A strip of the page that is never split.
#[derive(Clone, Debug, Default)]
pub(crate) struct Piece {
    /// Height.
    pub height: f32,
    /// Space wanted above it; none at the top of a page.
    pub before: f32,
    /// Space wanted below it; the larger of two neighbours' wishes counts.
    pub after: f32,
    /// Whether it must share a page with the next piece.
    pub keep: bool,
    /// Whether it starts a page.
    pub new_page: bool,
    /// What it holds.
    pub groups: Vec<Group>,
    /// Decoration.
    pub areas: Vec<Area>,
    /// Decoration that is left out at the top of a page.
    pub above: Vec<Area>,
    /// Table whose head is repeated above it at the top of a page.
    pub table: Option<usize>,
    /// Names that lead here.
    pub anchors: Vec<String>,
    /// Heading for the outline: level and words.
    pub outline: Option<(u8, String)>,
    /// Passages around it, from the outermost.
    pub around: Vec<Around>,
    /// Width and height of the picture that it is, which may be set a little smaller.
    pub picture: Option<[f32; 2]>,
}

impl Piece {
    /// Moves what it holds down, and makes it as much higher.
    pub(crate) fn lower(&mut self, by: f32) {
        self.height += by;
        self.groups.iter_mut().for_each(|group| group.lower(by));
        self.areas.iter_mut().for_each(|area| area.y += by);
    }

    /// Takes over what a line holds, further down.
    pub(crate) fn take(&mut self, mut line: Piece, down: f32) {
        line.lower(down);
        self.groups.append(&mut line.groups);
        self.areas.append(&mut line.areas);
    }

    /// Height of its picture; nothing without one.
    pub(crate) fn picture_height(&self) -> f32 {
        self.picture.map_or(0.0, |[_, height]| height)
    }

    /// Sets its picture at a part of its size, in the middle of the width that it had.
    pub(crate) fn shrink(&mut self, part: f32) {
        let Some([width, height]) = &mut self.picture else { return };
        for group in self.groups.iter_mut().filter(|g| g.picture) {
            for op in &mut group.ops {
                if let Op::Shapes { x, scale, .. } = op {
                    *x += *width * (1.0 - part) / 2.0;
                    *scale *= part;
                }
            }
        }
        self.height -= *height * (1.0 - part);
        *width *= part;
        *height *= part;
    }
}

/// A passage set off, behind a piece of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Around {
    /// Which passage.
    pub id: usize,
    /// What it is for.
    pub class: AsideClass,
    /// Left edge.
    pub x: f32,
    /// Width.
    pub width: f32,
}

/// How a line stands in its column.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Align {
    /// At the left.
    Left,
    /// In the middle.
    Centre,
    /// At the right.
    Right,
}

/// Sets a line into groups: one for each stretch that belongs to the same node. `link_node` makes the node of a
/// link.
pub(crate) fn set_line(
    paragraph: &Paragraph,
    line: &Line,
    column: (f32, f32),
    top: f32,
    align: Align,
    node: Option<NodeId>,
    link_node: &mut dyn FnMut(&Arc<str>) -> Option<NodeId>,
) -> Vec<Group> {
    let (left, width) = column;
    let shift = match align {
        Align::Left => 0.0,
        Align::Centre => (width - line.width) / 2.0,
        Align::Right => (width - line.width - paragraph.free).max((width - line.width).min(0.0)),
    };
    let baseline = top + paragraph.leading / 2.0 + paragraph.size() * 0.345;
    let mut groups: Vec<Group> = Vec::new();
    let mut open_link: Option<Option<Arc<str>>> = None;
    for part in &line.parts {
        let Some(span) = paragraph.span(part.span) else { continue };
        if open_link.as_ref() != Some(&span.link) {
            let own = match &span.link {
                Some(link) => link_node(link),
                None => node,
            };
            groups.push(Group { node: own, ..Group::default() });
            open_link = Some(span.link.clone());
        }
        let Some(group) = groups.last_mut() else { continue };
        let x = left + shift + part.x;
        match &part.content {
            PartContent::Mark(outcome) => {
                let r = span.look.size * 0.43;
                group.ops.push(Op::Mark(
                    *outcome,
                    x + span.look.size * 0.47,
                    baseline - span.look.size * 0.33,
                    r,
                ));
            }
            PartContent::Glyphs { face, glyphs, text } => {
                if let Some(target) = &span.link {
                    let words = paragraph.text().get(text.clone()).unwrap_or("").to_owned();
                    let rect = [x, top, part.width, paragraph.leading];
                    match &mut group.link {
                        Some((_, said, r)) => {
                            said.push_str(&words);
                            r[2] = x + part.width - r[0];
                        }
                        None => group.link = Some((Arc::clone(target), words, rect)),
                    }
                }
                group.ops.push(Op::Glyphs {
                    x,
                    y: baseline - span.look.rise,
                    face: *face,
                    size: span.look.size,
                    ink: span.look.ink,
                    text: Rc::clone(paragraph.text()),
                    range: text.clone(),
                    glyphs: Rc::clone(glyphs),
                });
            }
        }
    }
    groups
}
