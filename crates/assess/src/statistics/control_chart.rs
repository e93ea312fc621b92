//! A control chart of single readings: which of them leave the range that their own scatter explains.

use crate::special::OutOfDomain;

/// Expected range of two normal readings, in standard deviations: 2 / sqrt(pi), d2 of the tables (1.128).
const RANGE_OF_TWO: f64 = std::f64::consts::FRAC_2_SQRT_PI;

/// A chart of individuals with limits from the mean moving range.
#[derive(Clone, Debug, PartialEq)]
pub struct ControlChart {
    /// Mean of the readings.
    pub centre: f64,
    /// Mean distance between neighbouring readings.
    pub mean_range: f64,
    /// Lower control limit: 3 standard deviations below.
    pub low: f64,
    /// Upper control limit: 3 standard deviations above.
    pub high: f64,
    /// Readings outside, from 0.
    pub outside: Vec<usize>,
    /// First readings of runs of 8 or more on one side of the centre, from 0.
    pub runs: Vec<usize>,
}

impl ControlChart {
    /// The method, for a report.
    pub const METHOD: &'static str = "control chart of individuals: mean, and 3 standard deviations from the mean moving \
        range of two; a run is 8 readings in a row on one side";

    /// Charts readings in the order of time. Refuses fewer than 2, and readings that are not finite.
    pub fn of(readings: &[f64]) -> Result<Self, OutOfDomain> {
        let centre = crate::uncertainty::observed(readings)?.mean;
        let ranges = readings.windows(2).map(|pair| match pair {
            [first, second] => (second - first).abs(),
            _ => 0.0,
        });
        let mean_range = ranges.sum::<f64>() / (readings.len() as f64 - 1.0);
        let width = 3.0 * mean_range / RANGE_OF_TWO;
        let (low, high) = (centre - width, centre + width);
        let outside = readings.iter().enumerate().filter(|(_, reading)| **reading < low || **reading > high);
        Ok(Self {
            centre,
            mean_range,
            low,
            high,
            outside: outside.map(|(index, _)| index).collect(),
            runs: runs(readings, centre),
        })
    }
}

fn runs(readings: &[f64], centre: f64) -> Vec<usize> {
    const LONG: usize = 8;
    let mut found = Vec::new();
    let (mut start, mut side) = (0, 0.0);
    for (index, reading) in readings.iter().enumerate() {
        let now = if *reading > centre {
            1.0
        } else if *reading < centre {
            -1.0
        } else {
            0.0
        };
        if now == 0.0 || now != side {
            (start, side) = (index, now);
        } else if index + 1 - start == LONG {
            found.push(start);
        }
    }
    found
}
