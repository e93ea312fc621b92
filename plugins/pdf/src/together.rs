//! Which shapes of a drawing are painted as one path. A path of its own for each mark of a coverage grid or each line
//! of a scale makes pages twice as long to write, to pack and to read.

use pages::drawing::{Anchor, At, Ink, Label, Pen, Shape, at};

/// So many groups back, a shape looks for its like.
const MOST_LOOKED: usize = 16;
/// So many shapes at most are one path.
const MOST_MEMBERS: usize = 256;

/// Shapes that are painted together, each with what it can touch.
pub(crate) struct Group<'a>(Vec<(&'a Shape, Sides)>);

impl<'a> Group<'a> {
    /// The shapes.
    pub(crate) fn shapes(&self) -> impl Iterator<Item = &'a Shape> {
        self.0.iter().map(|(shape, _)| *shape)
    }

    /// Ink inside and line of all of them; none for a shape that is no path, which is a group of its own.
    pub(crate) fn look(&self) -> Option<Look> {
        self.shapes().next().and_then(look)
    }

    fn touches(&self, sides: Sides) -> bool {
        self.0.iter().any(|(_, other)| other.touches(sides))
    }
}

/// Parts shapes into groups that, painted one after the other, give the same picture: a shape joins an earlier one of
/// its look unless it touches that one or something in between.
pub(crate) fn groups(shapes: &[Shape]) -> Vec<Group<'_>> {
    let mut groups: Vec<Group<'_>> = Vec::new();
    for shape in shapes {
        let sides = Sides::of(shape);
        match place(&groups, shape, sides).and_then(|place| groups.get_mut(place)) {
            Some(group) => group.0.push((shape, sides)),
            None => groups.push(Group(vec![(shape, sides)])),
        }
    }
    groups
}

/// The group that a shape may join.
fn place(groups: &[Group<'_>], shape: &Shape, sides: Sides) -> Option<usize> {
    let look = look(shape)?;
    for (place, group) in groups.iter().enumerate().rev().take(MOST_LOOKED) {
        if group.touches(sides) {
            return None;
        }
        if group.look() == Some(look) && group.0.len() < MOST_MEMBERS {
            return Some(place);
        }
    }
    None
}

/// Ink inside and line.
type Look = (Option<Ink>, Option<Pen>);

/// Those of a shape that is a path.
fn look(shape: &Shape) -> Option<Look> {
    match shape {
        Shape::Line { fill, pen, .. } | Shape::Rect { fill, pen, .. } | Shape::Circle { fill, pen, .. } => {
            Some((*fill, *pen))
        }
        Shape::Label(_) | Shape::Photo { .. } | Shape::Clip { .. } => None,
    }
}

/// An upright rectangle by its edges.
#[derive(Clone, Copy)]
struct Sides {
    left: f32,
    top: f32,
    right: f32,
    low: f32,
}

impl Sides {
    /// What a shape can touch.
    fn of(shape: &Shape) -> Self {
        let line = |pen: &Option<Pen>| pen.map_or(0.0, |pen| pen.width / 2.0);
        match shape {
            Shape::Line { points, pen, .. } => Self::around(points, line(pen)),
            Shape::Rect { at, width, height, pen, .. } => Self::rect(*at, *width, *height, line(pen)),
            Shape::Circle { at, radius, pen, .. } => Self::around(&[*at], radius + line(pen)),
            Shape::Label(label) => Self::label(label),
            Shape::Photo { at, width, height, .. } | Shape::Clip { at, width, height, .. } => {
                Self::rect(*at, *width, *height, 0.0)
            }
        }
    }

    fn around(points: &[At], margin: f32) -> Self {
        if points.iter().any(|p| !p.x.is_finite() || !p.y.is_finite()) {
            return Self { left: f32::NAN, top: f32::NAN, right: f32::NAN, low: f32::NAN };
        }
        let mut all = Self { left: f32::MAX, top: f32::MAX, right: f32::MIN, low: f32::MIN };
        for p in points {
            all = all.with(Self { left: p.x, top: p.y, right: p.x, low: p.y });
        }
        // Places are written to a hundredth of a point.
        let margin = margin + 0.02;
        Self {
            left: all.left - margin,
            top: all.top - margin,
            right: all.right + margin,
            low: all.low + margin,
        }
    }

    fn rect(corner: At, width: f32, height: f32, margin: f32) -> Self {
        Self::around(&[corner, at(corner.x + width, corner.y + height)], margin)
    }

    /// The words are not shaped here: they are given more room than any font needs.
    fn label(label: &Label) -> Self {
        let width = label.text.chars().count() as f32 * label.size * 1.2;
        let left = match label.anchor {
            Anchor::Start => label.at.x,
            Anchor::Middle => label.at.x - width / 2.0,
            Anchor::End => label.at.x - width,
        };
        Self::rect(at(left, label.at.y - label.size * 1.2), width, label.size * 1.8, 0.0)
    }

    fn with(self, other: Self) -> Self {
        Self {
            left: self.left.min(other.left),
            top: self.top.min(other.top),
            right: self.right.max(other.right),
            low: self.low.max(other.low),
        }
    }

    /// A shape with a place that is no number touches everything: no path can be made of it.
    fn touches(self, other: Self) -> bool {
        let beside = self.right < other.left
            || other.right < self.left
            || self.low < other.top
            || other.low < self.top;
        !beside
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use pages::drawing::{Drawing, dashed, pen};
    use pages::plot::{Outcome, mark};

    /// Sizes of the groups.
    fn sizes(draw: impl FnOnce(&mut Drawing)) -> Vec<usize> {
        let mut drawing = Drawing::new(100.0, 100.0);
        draw(&mut drawing);
        groups(&drawing.shapes).iter().map(|group| group.0.len()).collect()
    }

    #[test]
    fn marks_beside_one_another_are_two_paths() {
        let marks = |d: &mut Drawing| {
            for place in 0..60 {
                mark(d, Outcome::Pass, at((place % 10) as f32 * 10.0, (place / 10) as f32 * 10.0), 4.0);
            }
        };
        assert_eq!(sizes(marks), [60, 60]);
    }

    #[test]
    fn what_lies_over_another_stays_over_it() {
        let line = pen(Ink::Text, 1.0);
        let over = |d: &mut Drawing| {
            d.rect(at(0.0, 0.0), 10.0, 10.0, Some(Ink::Tint), None);
            d.line([at(0.0, 5.0), at(10.0, 5.0)], line);
            // Over the line, so that it may not go before it.
            d.rect(at(2.0, 2.0), 5.0, 5.0, Some(Ink::Tint), None);
            // Free of all.
            d.rect(at(20.0, 2.0), 5.0, 5.0, Some(Ink::Tint), None);
            d.line([at(20.0, 8.0), at(30.0, 8.0)], line);
        };
        assert_eq!(sizes(over), [1, 2, 2]);
    }

    #[test]
    fn shapes_of_one_look_that_touch_stay_apart() {
        let touching = |d: &mut Drawing| {
            d.circle(at(5.0, 5.0), 4.0, Some(Ink::Paper), Some(pen(Ink::Pass, 1.0)));
            d.circle(at(13.5, 5.0), 4.0, Some(Ink::Paper), Some(pen(Ink::Pass, 1.0)));
        };
        assert_eq!(sizes(touching), [1, 1]);
    }

    #[test]
    fn words_and_other_looks_are_groups_of_their_own() {
        let mixed = |d: &mut Drawing| {
            d.line([at(0.0, 5.0), at(10.0, 5.0)], pen(Ink::Text, 1.0));
            d.label(at(0.0, 6.0), Anchor::Start, 8.0, Ink::Text, "word");
            d.line([at(0.0, 15.0), at(10.0, 15.0)], dashed(Ink::Text, 1.0, 2.0, 2.0));
            d.line([at(0.0, 5.5), at(10.0, 5.5)], pen(Ink::Text, 1.0));
            d.line([at(60.0, 5.0), at(70.0, 5.0)], pen(Ink::Text, 1.0));
        };
        // The fourth lies over the word and stays behind it; the fifth joins its like.
        assert_eq!(sizes(mixed), [1, 1, 1, 2]);
        let numbers = |d: &mut Drawing| {
            d.line([at(0.0, 5.0), at(10.0, 5.0)], pen(Ink::Text, 1.0));
            d.line([at(f32::NAN, 50.0), at(60.0, 50.0)], pen(Ink::Text, 1.0));
        };
        assert_eq!(sizes(numbers), [1, 1]);
    }
}
