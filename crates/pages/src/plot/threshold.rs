//! A threshold search: the voltage of each step in the order of the search, and whether anything was seen.

use super::axis::Axis;
use crate::Numbers;
use crate::drawing::{Anchor, Drawing, Ink, at, pen};

/// A step of a search.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// Magnitude of the voltage.
    pub kv: f64,
    /// Whether something was seen; none where nobody says that the item was watched.
    pub seen: Option<bool>,
}

/// What is drawn.
#[derive(Clone, Debug)]
pub struct ThresholdSearch<'a> {
    /// Steps in the order of the search.
    pub steps: &'a [Step],
    /// Words for the voltage axis, with its unit.
    pub voltage: &'a str,
    /// Words for the axis of steps.
    pub order: &'a str,
    /// Words for a step at which something was seen, one at which nothing was, and one that was not watched.
    pub words: [&'a str; 3],
    /// How numbers are written.
    pub numbers: &'a Numbers,
}

const HEIGHT: f32 = 132.0;
const SIZE: f32 = 7.6;

/// Draws a search.
pub fn threshold(s: &ThresholdSearch<'_>, width: f32) -> Drawing {
    let mut d = Drawing::new(width, HEIGHT);
    let (left, right, top, bottom) = (34.0, width - 4.0, 22.0, HEIGHT - 28.0);
    let highest = s.steps.iter().map(|step| step.kv).filter(|v| v.is_finite()).fold(0.0, f64::max);
    let y = Axis::around(0.0, highest, 4);
    let count = s.steps.len().max(1) as f64;
    let x = Axis::exact(0.0, count + 1.0, libm::ceil(count / 20.0).max(1.0));
    d.label(at(0.0, 9.0), Anchor::Start, SIZE, Ink::Quiet, s.voltage);
    for v in y.ticks() {
        let py = y.at(v, bottom, top);
        d.line([at(left, py), at(right, py)], pen(Ink::Rule, 0.4));
        d.label(at(left - 4.0, py + 2.6), Anchor::End, SIZE, Ink::Quiet, y.text(v, s.numbers));
    }
    for v in x.ticks().filter(|v| *v >= 1.0 && *v <= count) {
        let px = x.at(v, left, right);
        d.line([at(px, bottom), at(px, bottom + 2.5)], pen(Ink::Quiet, 0.5));
        d.label(at(px, bottom + 11.0), Anchor::Middle, SIZE, Ink::Quiet, x.text(v, s.numbers));
    }
    d.label(at((left + right) / 2.0, HEIGHT - 4.0), Anchor::Middle, SIZE, Ink::Quiet, s.order);
    d.line([at(left, top), at(left, bottom), at(right, bottom)], pen(Ink::Quiet, 0.5));
    let points: Vec<_> = s
        .steps
        .iter()
        .enumerate()
        .filter(|(_, step)| step.kv.is_finite())
        .map(|(i, step)| (at(x.at(i as f64 + 1.0, left, right), y.at(step.kv, bottom, top)), step.seen))
        .collect();
    if points.len() > 1 {
        d.line(points.iter().map(|p| p.0).collect::<Vec<_>>(), pen(Ink::Rule, 0.8));
    }
    for (p, seen) in &points {
        step_mark(&mut d, *p, *seen);
    }
    let mut from = right;
    for (seen, word) in [(None, s.words[2]), (Some(false), s.words[1]), (Some(true), s.words[0])] {
        if points.iter().any(|p| p.1 == seen) {
            d.label(at(from, 9.0), Anchor::End, SIZE, Ink::Quiet, word);
            from -= super::guess_width(word, SIZE) + 8.0;
            step_mark(&mut d, at(from, 6.4), seen);
            from -= 16.0;
        }
    }
    d
}

/// A full square where something was seen, a ring where nothing was, a hollow diamond where nobody watched.
fn step_mark(d: &mut Drawing, p: crate::drawing::At, seen: Option<bool>) {
    let r = 3.0;
    match seen {
        Some(true) => {
            d.rect(at(p.x - r, p.y - r), 2.0 * r, 2.0 * r, Some(Ink::Fail), Some(pen(Ink::Paper, 0.6)))
        }
        Some(false) => d.circle(p, r, Some(Ink::Paper), Some(pen(Ink::Accent, 1.1))),
        None => {
            let points = [at(p.x, p.y - r), at(p.x + r, p.y), at(p.x, p.y + r), at(p.x - r, p.y)];
            d.polygon(points, Some(Ink::Paper), Some(pen(Ink::Undetermined, 1.1)));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::Shape;

    /// Every step is drawn inside the picture, one mark each, whatever the voltages are.
    #[test]
    fn each_step_has_its_mark() {
        let numbers = crate::TemplateSet::built_in("report").unwrap().words("en").unwrap().numbers().clone();
        for (n, kv) in [(1usize, 8.0), (3, 0.0), (40, 30.0), (200, 1e6)] {
            let steps: Vec<Step> =
                (0..n).map(|i| Step { kv: kv * (i + 1) as f64 / n as f64, seen: Some(i + 1 == n) }).collect();
            let search = ThresholdSearch {
                steps: &steps,
                voltage: "Voltage in kV",
                order: "Step",
                words: ["seen", "nothing seen", "not watched"],
                numbers: &numbers,
            };
            let d = threshold(&search, 470.0);
            let rings = d.shapes.iter().filter(|s| matches!(s, Shape::Circle { .. })).count();
            let squares = d.shapes.iter().filter(|s| matches!(s, Shape::Rect { .. })).count();
            // One more of each kind stands in the legend.
            assert_eq!((rings, squares), (if n > 1 { n } else { 0 }, 2), "{n}");
            for shape in &d.shapes {
                if let Shape::Circle { at, .. } = shape {
                    assert!(at.x > 0.0 && at.x < 470.0 && at.y > 0.0 && at.y < HEIGHT, "{at:?}");
                }
            }
        }
    }
}
