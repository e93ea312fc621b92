//! Where the discharges were applied: numbered marks on a photo or a drawing.

use super::outcome::{Outcome, legend, mark};
use crate::drawing::{Anchor, Drawing, Ink, Shape, at, dashed, pen};
use crate::model::Photo;
use std::sync::Arc;

/// What the marks lie on.
#[derive(Clone, Debug)]
pub enum Ground {
    /// A photo.
    Photo(Arc<Photo>),
    /// Nothing but a frame, of this height for a width of 1.
    Frame(f32),
}

/// A marked point.
#[derive(Clone, Debug, PartialEq)]
pub struct MapPoint {
    /// Number or short name inside the mark.
    pub name: String,
    /// Share of the width from the left, 0 to 1.
    pub x: f64,
    /// Share of the height from the top, 0 to 1.
    pub y: f64,
    /// What came of it.
    pub outcome: Outcome,
}

/// Draws the map, with a legend of the outcomes that occur. `word` gives the words of an outcome.
pub fn point_map(
    ground: &Ground,
    points: &[MapPoint],
    word: impl Fn(Outcome) -> String,
    width: f32,
    most: f32,
) -> Drawing {
    let ratio = match ground {
        Ground::Photo(photo) => photo.height.max(1) as f32 / photo.width.max(1) as f32,
        Ground::Frame(ratio) => ratio.clamp(0.1, 10.0),
    };
    let (mut w, mut h) = (width, width * ratio);
    if h > most {
        (w, h) = (most / ratio, most);
    }
    // At the margin, above its caption.
    let left = 0.0;
    let mut d = Drawing::new(width, h + 20.0);
    if let Ground::Photo(photo) = ground {
        d.shapes.push(Shape::Photo { at: at(left, 0.0), width: w, height: h, photo: Arc::clone(photo) });
    }
    d.rect(at(left, 0.0), w, h, None, Some(pen(Ink::Rule, 0.6)));
    let mut marks = Marks::new(points, (left, w, h));
    for (index, point) in points.iter().enumerate() {
        if tagged(point) {
            marks.draw(&mut d, index, point);
            continue;
        }
        let (r, (x, y)) = (INSCRIBED, marks.place(point));
        let ink = point.outcome.ink();
        let mut text = ink;
        match point.outcome {
            Outcome::Pass => {
                d.circle(at(x, y), r + 1.2, Some(Ink::Paper), None);
                d.circle(at(x, y), r, Some(Ink::Paper), Some(pen(ink, 1.5)));
            }
            Outcome::Fail => {
                d.rect(at(x - r - 1.2, y - r - 1.2), 2.0 * r + 2.4, 2.0 * r + 2.4, Some(Ink::Paper), None);
                d.rect(at(x - r, y - r), 2.0 * r, 2.0 * r, Some(ink), None);
                text = Ink::Paper;
            }
            Outcome::Undetermined => {
                let diamond = |r: f32| [at(x, y - r), at(x + r, y), at(x, y + r), at(x - r, y)];
                d.polygon(diamond(r * 1.3 + 1.7), Some(Ink::Paper), None);
                d.polygon(diamond(r * 1.3), Some(Ink::Paper), Some(pen(ink, 1.5)));
            }
            Outcome::Applied => {
                d.circle(at(x, y), r + 1.2, Some(Ink::Paper), None);
                d.circle(at(x, y), r, Some(Ink::Paper), Some(pen(ink, 1.2)));
            }
            Outcome::Untested => {
                d.circle(at(x, y), r + 1.2, Some(Ink::Paper), None);
                d.circle(at(x, y), r, Some(Ink::Paper), Some(dashed(ink, 1.0, 2.4, 1.8)));
            }
        }
        d.strong(at(x, y + 3.0), Anchor::Middle, 8.4, text, &point.name);
    }
    let mut kinds: Vec<Outcome> = points.iter().map(|p| p.outcome).collect();
    kinds.sort_unstable();
    kinds.dedup();
    let entries: Vec<_> = kinds.into_iter().map(|o| (o, word(o))).collect();
    legend(&mut d, at(left, h + 14.0), 8.0, &entries);
    d
}

/// A share of a length, off both ends by a margin; a very narrow photo has no room for both.
fn inside(share: f64, length: f32, margin: f32) -> f32 {
    let share = if share.is_finite() { share.clamp(0.0, 1.0) as f32 } else { 0.5 };
    (share * length).min(length - margin).max(margin)
}

/// Radius of a mark that has its name on a tag.
const RADIUS: f32 = 5.6;
/// Radius of a mark that has its name inside.
const INSCRIBED: f32 = 8.2;
/// Height of a tag.
const TAG: f32 = 12.4;
/// Size of the type on a tag.
const SIZE: f32 = 7.4;

/// Whether a point's name is too long to stand inside its mark.
fn tagged(point: &MapPoint) -> bool {
    point.name.chars().count() > 2
}

fn radius(point: &MapPoint) -> f32 {
    if tagged(point) { RADIUS } else { INSCRIBED }
}

/// Left, top, right and bottom of what is drawn.
type Bounds = [f32; 4];

fn overlap(a: Bounds, b: Bounds) -> bool {
    a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3]
}

/// Where marks and the tags with their names stand on the ground.
struct Marks {
    left: f32,
    width: f32,
    height: f32,
    /// Middle of all marks, from the left and from the top.
    middle: (f32, f32),
    /// What the marks cover, in order of the points, then what the tags set so far cover.
    taken: Vec<Bounds>,
}

impl Marks {
    fn new(points: &[MapPoint], (left, width, height): (f32, f32, f32)) -> Self {
        let mut marks =
            Self { left, width, height, middle: (0.0, 0.0), taken: Vec::with_capacity(points.len() * 2) };
        for point in points {
            let (x, y) = marks.place(point);
            marks.middle.0 += x / points.len() as f32;
            marks.middle.1 += y / points.len() as f32;
            let r = radius(point) + 1.4;
            marks.taken.push([x - r, y - r, x + r, y + r]);
        }
        marks
    }

    fn place(&self, point: &MapPoint) -> (f32, f32) {
        let r = radius(point) + 1.0;
        (self.left + inside(point.x, self.width, r), inside(point.y, self.height, r))
    }

    /// Draws a mark and the tag with its name.
    fn draw(&mut self, d: &mut Drawing, index: usize, point: &MapPoint) {
        let (x, y) = self.place(point);
        // A long name is cut: it would cover what it marks, and stands whole in the table of points.
        let lines = super::guess_lines(&point.name, SIZE * 1.16, self.width * 0.3);
        let name = match lines.as_slice() {
            [one] => one.clone(),
            [first, ..] => format!("{first}\u{2026}"),
            [] => String::new(),
        };
        let tag = self.tag(index, (x, y), super::guess_width(&name, SIZE) * 1.12 + 8.0);
        let [from, top, to, bottom] = tag;
        let ink = point.outcome.ink();
        d.rect(at(from, top), to - from, bottom - top, Some(Ink::Paper), Some(pen(ink, 0.7)));
        let base = (top + bottom) / 2.0 + SIZE * 0.34;
        d.strong(at((from + to) / 2.0, base), Anchor::Middle, SIZE, ink, name);
        d.circle(at(x, y), RADIUS + 1.4, Some(Ink::Paper), None);
        mark(d, point.outcome, at(x, y), RADIUS);
        self.taken.push(tag);
    }

    /// Where the tag of a mark stands: away from the middle of all marks, which is where the item is, else on another
    /// side, where it covers no other mark and no other tag.
    fn tag(&self, index: usize, (x, y): (f32, f32), width: f32) -> Bounds {
        let bounds = |from: f32, middle: f32| [from, middle - TAG / 2.0, from + width, middle + TAG / 2.0];
        let apart = RADIUS + 3.0;
        let (right, left) = (bounds(x + apart, y), bounds(x - apart - width, y));
        let [over, under] = [-1.0, 1.0].map(|way| bounds(x - width / 2.0, y + way * (apart + TAG / 2.0)));
        let (across, down) = (x - self.middle.0, y - self.middle.1);
        // A mark hardly off the middle has its name at the right.
        let [beside, other] = if across < -0.02 * self.width { [left, right] } else { [right, left] };
        let [out, back] = if down < 0.0 { [over, under] } else { [under, over] };
        let places = if down.abs() > across.abs() + 0.02 * self.height {
            [out, beside, other, back]
        } else {
            [beside, out, other, back]
        };
        let on_ground = |b: &Bounds| {
            b[0] >= self.left && b[2] <= self.left + self.width && b[1] >= 0.0 && b[3] <= self.height
        };
        let alone =
            |b: &Bounds| self.taken.iter().enumerate().all(|(i, taken)| i == index || !overlap(*b, *taken));
        let best = places.into_iter().find(|b| on_ground(b) && alone(b));
        best.or_else(|| places.into_iter().find(on_ground)).unwrap_or(right)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::PhotoFormat;

    fn point(name: &str, (x, y): (f64, f64)) -> MapPoint {
        MapPoint { name: name.to_owned(), x, y, outcome: Outcome::Pass }
    }

    /// What marks and then their tags cover.
    fn taken(points: &[MapPoint]) -> Vec<Bounds> {
        let mut marks = Marks::new(points, (0.0, 400.0, 300.0));
        let mut d = Drawing::new(400.0, 300.0);
        for (index, point) in points.iter().enumerate().filter(|(_, point)| tagged(point)) {
            marks.draw(&mut d, index, point);
        }
        marks.taken
    }

    #[test]
    fn a_tag_points_away_from_what_it_marks() {
        let tags = |places: [(f64, f64); 2]| {
            let taken = taken(&places.map(|place| point("VCP-L", place)));
            [taken[2], taken[3]]
        };
        let [first, second] = tags([(0.3, 0.5), (0.7, 0.5)]);
        assert!(first[2] < 0.3 * 400.0 && second[0] > 0.7 * 400.0, "{first:?} {second:?}");
        let [first, second] = tags([(0.5, 0.3), (0.5, 0.7)]);
        assert!(first[3] < 0.3 * 300.0 && second[1] > 0.7 * 300.0, "{first:?} {second:?}");
        // At the frame there is no room on the outer side.
        let [first, second] = tags([(0.02, 0.5), (0.98, 0.5)]);
        assert!(first[0] >= 0.0 && second[2] <= 400.0, "{first:?} {second:?}");
    }

    #[test]
    fn a_tag_covers_no_other_mark_and_no_other_tag() {
        let points: Vec<_> = ["KEYS", "7", "KEYS", "KEYS"]
            .iter()
            .enumerate()
            .map(|(i, name)| point(name, (0.4 + 0.07 * i as f64, 0.5)))
            .collect();
        let taken = taken(&points);
        for (i, a) in taken.iter().enumerate() {
            assert!(taken.iter().skip(i + 1).all(|b| !overlap(*a, *b)), "{taken:?}");
        }
    }

    #[test]
    fn a_very_narrow_photo_is_drawn_all_the_same() {
        let bytes = Arc::new(Vec::new());
        let (name, format) = ("slit.png".to_owned(), PhotoFormat::Png);
        let ground = Ground::Photo(Arc::new(Photo { name, format, bytes, width: 2, height: 4000 }));
        for name in ["1", "VCP-L"] {
            point_map(&ground, &[point(name, (0.5, 0.5))], |_| "pass".to_owned(), 400.0, 300.0);
        }
    }
}
