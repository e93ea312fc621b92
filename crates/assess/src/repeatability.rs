//! Does the generator repeat itself? The spread of each figure over the waveforms of one verification.

use crate::assessment::{JudgedTrace, Repeatability, Spread};
use crate::special::Confidence;
use crate::statistics::{Grubbs, Side, grubbs};
use crate::uncertainty::observed;

/// The spread of each figure over waveforms of one verification; nothing where fewer than 3 waveforms have the figure.
/// Magnitudes are compared.
pub fn repeatability(traces: &[&JudgedTrace]) -> Option<Repeatability> {
    let first = traces.first()?;
    let spread = |name: &str, unit: &'static str| -> Option<Spread> {
        let mut readings = Vec::new();
        let mut of = Vec::new();
        for trace in traces {
            let value =
                trace.figures.iter().find(|figure| figure.name == name).and_then(|figure| figure.value);
            if let Some(value) = value {
                readings.push(value.abs());
                of.push(*trace);
            }
        }
        if readings.len() < 3 {
            return None;
        }
        let set = observed(&readings).ok()?;
        let test = grubbs(&readings, Confidence::ninety_five(), Side::Both).ok();
        let outlier = test.filter(|test| test.is_outlier());
        Some(Spread {
            name: name.to_owned(),
            unit,
            readings: readings.len(),
            mean: set.mean,
            deviation: set.deviation,
            farthest: test.map(|test| (test.statistic, test.critical)),
            outlier: outlier
                .and_then(|test| of.get(test.index))
                .map(|trace| (trace.name.clone(), trace.segment)),
        })
    };
    let figures: Vec<Spread> =
        first.figures.iter().filter_map(|figure| spread(&figure.name, figure.unit)).collect();
    let verification = first.verification.clone();
    (!figures.is_empty()).then_some(Repeatability { verification, figures, method: Grubbs::METHOD })
}

/// That of each verification, in the order of the waveforms.
pub(crate) fn of_all(traces: &[JudgedTrace]) -> Vec<Repeatability> {
    traces
        .chunk_by(|a, b| a.verification == b.verification)
        .filter_map(|set| repeatability(&set.iter().collect::<Vec<_>>()))
        .collect()
}
