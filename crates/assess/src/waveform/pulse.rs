//! Where the pulse is: its sign, the level before it, its first peak, and whether another one follows.

use super::axis::{Axis, median};
use super::codes;
use super::edge::Curve;
use super::flags::Flags;
use super::shown::shown;
use std::collections::VecDeque;

/// The pulse in a record.
pub(super) struct Pulse {
    /// 1 for a positive pulse, -1 for a negative one.
    pub(super) sign: f64,
    /// Level before the pulse, in amperes.
    pub(super) baseline_a: f64,
    /// Standard deviation of the samples before the pulse, in amperes; none with fewer than 5 of them.
    pub(super) noise_a: Option<f64>,
    /// The largest sample of the first peak.
    pub(super) peak: usize,
    /// The last sample before the peak that is below 10 % of it.
    pub(super) foot: usize,
    /// The first sample after the peak that is below 70 % of it, or the last sample of the record.
    pub(super) fallen: usize,
}

/// A pulse must stand out of the noise before it by this factor.
const ABOVE_NOISE: f64 = 8.0;

/// Finds the pulse; otherwise a finding, and why there is none.
pub(super) fn find(axis: &Axis<'_>, current_a: &[f64], flags: &mut Flags<'_>) -> Result<Pulse, String> {
    let level = |samples: &[f64]| median(&mut samples.to_vec());
    let head = level(&current_a[..current_a.len().min(5)]);
    let count = (current_a.len() / 50).clamp(3, 10_000).min(current_a.len());
    let tail = level(&current_a[current_a.len() - count..]);
    let (low, high) = current_a.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), current| {
        (low.min(*current), high.max(*current))
    });
    if low == high {
        let message = format!("every sample is {} A", shown(low));
        return Err(flags.error(codes::FLAT, message, None, "look whether the right channel was exported"));
    }
    let sign = if high - head >= head - low { 1.0 } else { -1.0 };
    let extreme = if sign > 0.0 { high } else { low };
    // A record that begins inside a pulse begins far from zero and ends near it, and stays there.
    if extreme.abs() < head.abs() && (tail - extreme).abs() < (tail - head).abs() {
        return Err(no_edge(current_a[0], flags));
    }
    // The level before the pulse is first guessed from the first samples, then taken from all samples before
    // the edge; a short time before the pulse makes the guess poor, hence twice.
    let (mut baseline_a, mut noise_a) = (head, None);
    for _ in 0..2 {
        let curve = Curve::new(axis, current_a, sign, baseline_a);
        let (_, foot, _) = first_peak(&curve);
        let Some(foot) = foot else { return Err(no_edge(current_a[0], flags)) };
        let before = quiet(&current_a[..=foot], (high - low) * 1e-12);
        let (mean, deviation) = spread(before);
        baseline_a = mean;
        noise_a = (before.len() >= 5).then_some(deviation);
    }
    let curve = Curve::new(axis, current_a, sign, baseline_a);
    let (peak, foot, fallen) = first_peak(&curve);
    let Some(foot) = foot else { return Err(no_edge(current_a[0], flags)) };
    let height = curve.at(peak);
    if let Some(noise) = noise_a
        && height < ABOVE_NOISE * noise
    {
        let message = format!(
            "no pulse: the largest excursion is {height:.3} A where the noise before it is {noise:.3} A rms"
        );
        return Err(flags.error(codes::NO_PULSE, message, None, "look at trigger, channel and attenuator"));
    }
    if noise_a.is_none() {
        flags.warning(
            codes::SHORT_BASELINE,
            format!("fewer than 5 quiet samples lie before the pulse; the level there is taken as {baseline_a:.4} A"),
            Some(0),
            "record more time before the trigger: the level before the pulse is subtracted from every current",
        );
    }
    Ok(Pulse { sign, baseline_a, noise_a, peak, foot, fallen })
}

fn no_edge(first_a: f64, flags: &mut Flags<'_>) -> String {
    flags.error(
        codes::NO_LEADING_EDGE,
        format!(
            "the record begins at {} A, inside the pulse: the crossing of 10 % is not in it",
            shown(first_a)
        ),
        Some(0),
        "record more time before the trigger",
    )
}

/// Largest sample of the first peak, the last sample before it below 10 % of it, and the first sample after it
/// below 70 % of it (or the last one).
fn first_peak(curve: &Curve<'_>) -> (usize, Option<usize>, usize) {
    let samples = curve.len();
    let mut height = f64::NEG_INFINITY;
    for index in 0..samples {
        height = height.max(curve.at(index));
    }
    // A second pulse may be larger than the first, so that the first is looked for from a quarter of the largest.
    let start = (0..samples).find(|index| curve.at(*index) >= 0.25 * height).unwrap_or(0);
    let (mut peak, mut fallen) = (start, samples.saturating_sub(1));
    for index in start..samples {
        if curve.at(index) > curve.at(peak) {
            peak = index;
        } else if curve.at(index) < 0.7 * curve.at(peak) {
            fallen = index;
            break;
        }
    }
    let threshold = 0.1 * curve.at(peak);
    let foot = (0..peak).rev().find(|index| curve.at(*index) < threshold);
    (peak, foot, fallen)
}

/// The longest stretch from the start that stays within 4 standard deviations of its first half's mean.
fn quiet(before: &[f64], rounding: f64) -> &[f64] {
    let half = before.len().div_ceil(2).max(before.len().min(3));
    let (level, deviation) = spread(&before[..half]);
    let width = 4.0 * deviation + rounding;
    let leaves = before[half..].iter().position(|current| (current - level).abs() > width);
    &before[..leaves.map_or(before.len(), |more| half + more)]
}

/// Mean and standard deviation, without single samples that lie more than 5 standard deviations away: a small
/// discharge before the discharge is no noise.
fn spread(values: &[f64]) -> (f64, f64) {
    let of = |keep: &dyn Fn(f64) -> bool| {
        let kept = || values.iter().copied().filter(|value| keep(*value));
        let count = kept().count();
        let mean = kept().sum::<f64>() / count.max(1) as f64;
        let squares: f64 = kept().map(|value| (value - mean) * (value - mean)).sum();
        (mean, libm::sqrt(squares / count.saturating_sub(1).max(1) as f64))
    };
    let (mut mean, mut deviation) = of(&|_| true);
    for _ in 0..3 {
        let (centre, width) = (mean, 5.0 * deviation);
        (mean, deviation) = of(&|value| (value - centre).abs() <= width);
    }
    (mean, deviation)
}

/// The sample from which the current rises again, within 2 ns, by more than `rise_a`.
pub(super) fn second_rise(curve: &Curve<'_>, from: usize, rise_a: f64) -> Option<usize> {
    // Samples of the last 2 ns that may still be the least of a later such stretch, rising.
    let mut least: VecDeque<(usize, f64)> = VecDeque::new();
    for index in from..curve.len() {
        let (t, y) = (curve.axis.at(index), curve.at(index));
        while least.front().is_some_and(|(first, _)| t - curve.axis.at(*first) > 2.0) {
            least.pop_front();
        }
        if let Some((onset, lowest)) = least.front()
            && y - lowest > rise_a
        {
            return Some(*onset);
        }
        while least.back().is_some_and(|(_, last)| *last >= y) {
            least.pop_back();
        }
        least.push_back((index, y));
    }
    None
}

/// Whether the peak is cut off flat: at least three equal samples beside a step that is too steep for a
/// rounded top of that length. `quantum_a` is the smallest difference between neighbouring samples.
pub(super) fn is_cut_off(curve: &Curve<'_>, peak: usize, quantum_a: f64) -> bool {
    let top = curve.at(peak);
    let first = (0..=peak).rev().take_while(|index| curve.at(*index) == top).last().unwrap_or(peak);
    let last = (peak..curve.len()).take_while(|index| curve.at(*index) == top).last().unwrap_or(peak);
    let drop = |index: Option<usize>| index.map_or(0.0, |index| top - curve.at(index));
    let after = (last + 1 < curve.len()).then_some(last + 1);
    // A parabola whose top spans 3 samples of one quantum falls at most 4 quanta at the next sample.
    last - first >= 2 && drop(first.checked_sub(1)).max(drop(after)) > 4.5 * quantum_a
}
