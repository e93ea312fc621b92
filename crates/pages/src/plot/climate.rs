//! Climate over the time of the test, with the limits that bind it.

use super::axis::Axis;
use crate::Numbers;
use crate::drawing::{Anchor, Drawing, Ink, at, dashed, pen};

/// One quantity over time.
#[derive(Clone, Debug)]
pub struct Climate<'a> {
    /// Name and unit.
    pub name: &'a str,
    /// Time as a share of the test's duration (0 to 1) and value, in order of time.
    pub readings: &'a [(f64, f64)],
    /// Limits; either may be absent.
    pub limits: (Option<f64>, Option<f64>),
}

const PANEL: f32 = 46.0;
/// Room between two panels, for the name of the lower one.
const GAP: f32 = 30.0;
const SIZE: f32 = 7.6;

/// Draws the quantities under one another over one time axis, whose ends are named by `ends`.
pub fn climate(
    quantities: &[Climate<'_>],
    ends: (&str, &str),
    limit_word: &str,
    numbers: &Numbers,
    width: f32,
) -> Drawing {
    let mut d = Drawing::new(width, quantities.len() as f32 * (PANEL + GAP) + 12.0);
    // The word for a limit stands beside its line, at the right.
    let (left, right) = (34.0, width - 44.0);
    let mut top = 20.0;
    for q in quantities {
        let bottom = top + PANEL;
        let values =
            q.readings.iter().map(|r| r.1).chain(q.limits.0).chain(q.limits.1).filter(|v| v.is_finite());
        let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)));
        let y = if low <= high {
            Axis::around(low - (high - low) * 0.1, high + (high - low) * 0.1, 3)
        } else {
            Axis::around(0.0, 1.0, 3)
        };
        let py = |v: f64| y.at(v, bottom, top);
        d.label(at(0.0, top - 10.0), Anchor::Start, SIZE, Ink::Quiet, q.name);
        let band = (q.limits.1.map_or(top, &py), q.limits.0.map_or(bottom, py));
        if q.limits != (None, None) {
            d.rect(at(left, band.0), right - left, band.1 - band.0, Some(Ink::Tint), None);
        }
        for v in y.ticks() {
            d.line([at(left, py(v)), at(right, py(v))], pen(Ink::Rule, 0.4));
            d.label(at(left - 4.0, py(v) + 2.6), Anchor::End, SIZE, Ink::Quiet, y.text(v, numbers));
        }
        for limit in [q.limits.0, q.limits.1].into_iter().flatten() {
            d.line([at(left, py(limit)), at(right, py(limit))], dashed(Ink::Text, 0.8, 4.0, 2.5));
            d.label(at(right + 4.0, py(limit) + 2.2), Anchor::Start, 6.6, Ink::Quiet, limit_word);
        }
        let points: Vec<_> = q
            .readings
            .iter()
            .filter(|r| r.0.is_finite() && r.1.is_finite())
            .map(|r| at(left + 6.0 + (right - left - 12.0) * r.0.clamp(0.0, 1.0) as f32, py(r.1)))
            .collect();
        if points.len() > 1 {
            d.line(points.clone(), pen(Ink::Accent, 1.0));
        }
        for p in points {
            d.circle(p, 2.1, Some(Ink::Accent), Some(pen(Ink::Paper, 0.6)));
        }
        d.line([at(left, top), at(left, bottom), at(right, bottom)], pen(Ink::Quiet, 0.5));
        top = bottom + GAP;
    }
    let y = top + 12.0 - GAP;
    d.label(at(left, y), Anchor::Start, SIZE, Ink::Quiet, ends.0);
    d.label(at(right, y), Anchor::End, SIZE, Ink::Quiet, ends.1);
    d
}
