//! The marks for outcomes: each has its own shape, so that colour is never needed to tell them apart.

use crate::drawing::{At, Drawing, Ink, at, dashed, pen};

/// What came of a point, a series or a job.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Outcome {
    /// Pass: a ring with a tick.
    Pass,
    /// Fail: a full square with a cross.
    Fail,
    /// Undetermined: a hollow diamond.
    Undetermined,
    /// Not tested: a dashed ring.
    Untested,
    /// Applied, and nothing is said about conformity: a dot.
    Applied,
}

impl Outcome {
    /// Its ink.
    pub const fn ink(self) -> Ink {
        match self {
            Self::Pass => Ink::Pass,
            Self::Fail => Ink::Fail,
            Self::Undetermined => Ink::Undetermined,
            Self::Untested | Self::Applied => Ink::Quiet,
        }
    }
}

/// Draws the mark of an outcome around a centre; `radius` is half its height.
pub fn mark(d: &mut Drawing, outcome: Outcome, centre: At, radius: f32) {
    let At { x, y } = centre;
    let r = radius;
    let ink = outcome.ink();
    let line = pen(ink, (r * 0.28).max(0.5));
    match outcome {
        Outcome::Pass => {
            d.circle(centre, r * 0.88, Some(Ink::Paper), Some(line));
            d.line(
                [
                    at(x - r * 0.42, y + r * 0.02),
                    at(x - r * 0.1, y + r * 0.36),
                    at(x + r * 0.44, y - r * 0.34),
                ],
                line,
            );
        }
        Outcome::Fail => {
            d.rect(at(x - r * 0.9, y - r * 0.9), r * 1.8, r * 1.8, Some(ink), None);
            let white = pen(Ink::Paper, (r * 0.3).max(0.5));
            let a = r * 0.45;
            d.line([at(x - a, y - a), at(x + a, y + a)], white);
            d.line([at(x - a, y + a), at(x + a, y - a)], white);
        }
        Outcome::Undetermined => {
            let points = [at(x, y - r), at(x + r, y), at(x, y + r), at(x - r, y)];
            d.polygon(points, Some(Ink::Paper), Some(line));
            d.circle(centre, r * 0.22, Some(ink), None);
        }
        Outcome::Applied => d.circle(centre, r * 0.5, Some(ink), None),
        Outcome::Untested => d.circle(
            centre,
            r * 0.8,
            Some(Ink::Paper),
            Some(dashed(ink, (r * 0.2).max(0.4), r * 0.4, r * 0.35)),
        ),
    }
}

/// A row of marks with their words, left to right from a baseline. Returns the width used.
pub(crate) fn legend(d: &mut Drawing, from: At, size: f32, entries: &[(Outcome, String)]) -> f32 {
    let mut x = from.x;
    for (outcome, word) in entries {
        mark(d, *outcome, at(x + size * 0.5, from.y - size * 0.34), size * 0.5);
        d.label(at(x + size * 1.35, from.y), crate::drawing::Anchor::Start, size, Ink::Quiet, word.clone());
        x += size * 2.6 + super::guess_width(word, size);
    }
    x - from.x
}
