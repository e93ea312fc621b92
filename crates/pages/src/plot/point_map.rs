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
    for point in points {
        if point.name.chars().count() > 2 {
            tag(&mut d, point, (left, w, h));
            continue;
        }
        let share = |v: f64| if v.is_finite() { v.clamp(0.0, 1.0) as f32 } else { 0.5 };
        let r = 8.2;
        let x = (left + share(point.x) * w).clamp(left + r + 1.0, left + w - r - 1.0);
        let y = (share(point.y) * h).clamp(r + 1.0, (h - r - 1.0).max(r + 1.0));
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

/// A mark with its name on a tag beside it, at the side where there is room.
fn tag(d: &mut Drawing, point: &MapPoint, (left, w, h): (f32, f32, f32)) {
    let share = |v: f64| if v.is_finite() { v.clamp(0.0, 1.0) as f32 } else { 0.5 };
    let r = 5.6;
    let x = (left + share(point.x) * w).clamp(left + r + 1.0, left + w - r - 1.0);
    let y = (share(point.y) * h).clamp(r + 1.0, (h - r - 1.0).max(r + 1.0));
    let size = 7.4;
    // A long name is cut: it would cover what it marks, and stands whole in the table of points.
    let lines = super::guess_lines(&point.name, size * 1.16, w * 0.3);
    let name = match lines.as_slice() {
        [one] => one.clone(),
        [first, ..] => format!("{first}\u{2026}"),
        [] => String::new(),
    };
    let text = super::guess_width(&name, size) * 1.12 + 8.0;
    let from = if x + r + 3.0 + text > left + w { x - r - 3.0 - text } else { x + r + 3.0 };
    let ink = point.outcome.ink();
    d.rect(at(from, y - 6.2), text, 12.4, Some(Ink::Paper), Some(pen(ink, 0.7)));
    d.strong(at(from + text / 2.0, y + size * 0.34), Anchor::Middle, size, ink, name);
    d.circle(at(x, y), r + 1.4, Some(Ink::Paper), None);
    mark(d, point.outcome, at(x, y), r);
}
