//! By how much the generator's clock is ahead of the form's.

use super::item::{Setting, Span, latest, ms};
use crate::job_file::Beside;
use record::Series;

/// How many series must agree before their times say anything about the clocks.
const AT_LEAST: usize = 3;
/// The most pairs of a series of the forms and one of the log with the same settings that are looked at: some 250 MB.
const MOST_PAIRS: usize = 16_000_000;

/// How far the log's clock is ahead, and how that is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Ahead {
    pub(crate) ms: i64,
    /// Estimated: from how many series, and how far the farthest of them is off.
    pub(crate) estimated: Option<(usize, i64)>,
}

impl Ahead {
    pub(crate) fn declared(ms: i64) -> Self {
        Self { ms, estimated: None }
    }
}

/// What was set, and when the last discharge came, for each series of logs that has a time.
pub(crate) fn ends(series: &[&Series], local: bool) -> Vec<(Setting, i64)> {
    series.iter().filter_map(|one| Some((Setting::of(one), ms(latest(one, local)?, local)))).collect()
}

/// The difference under which most series of the forms have one with the same settings in the log, at the same time.
pub(crate) fn estimate(
    spans: &[Span],
    ends: &[(Setting, i64)],
    within_ms: i64,
    asked: &Beside,
) -> Result<Ahead, String> {
    estimate_of(spans, ends, within_ms, asked, MOST_PAIRS)
}

/// The same, with another bound on the pairs that are looked at.
pub(super) fn estimate_of(
    spans: &[Span],
    ends: &[(Setting, i64)],
    within_ms: i64,
    asked: &Beside,
    most_pairs: usize,
) -> Result<Ahead, String> {
    let mut differences: Vec<(i64, usize)> = Vec::new();
    for (index, span) in spans.iter().enumerate() {
        for (setting, end) in ends {
            if super::same(&span.setting, setting, asked) {
                if differences.len() >= most_pairs {
                    return Err(format!(
                        "the clocks of generator and form can't be brought together: more than {most_pairs} pairs of their series have the same settings"
                    ));
                }
                differences.push((end - span.end_ms, index));
            }
        }
    }
    differences.sort_unstable();
    // How many spans a window holds, each once, however many rows fall into it.
    let (mut best, mut rival): (Option<(usize, usize, usize)>, usize) = (None, 0);
    let mut last = 0;
    let mut held: Vec<u32> = vec![0; spans.len()];
    let mut many = 0usize;
    for (first, (from, _)) in differences.iter().enumerate() {
        while let Some((to, span)) = differences.get(last) {
            if to - from > 2 * within_ms {
                break;
            }
            if let Some(slot) = held.get_mut(*span) {
                many += usize::from(*slot == 0);
                *slot += 1;
            }
            last += 1;
        }
        match best {
            Some((most, start, _)) if many <= most => {
                // Another time at which as many fit, too far from the first to be the same.
                let far = differences.get(start).is_some_and(|(at, _)| from - at > 2 * within_ms);
                if far {
                    rival = rival.max(many);
                }
            }
            _ => {
                if let Some((most, start, _)) = best
                    && differences.get(start).is_some_and(|(at, _)| from - at > 2 * within_ms)
                {
                    rival = rival.max(most);
                }
                best = Some((many, first, last));
            }
        }
        if let Some(slot) = differences.get(first).and_then(|(_, span)| held.get_mut(*span)) {
            *slot = slot.saturating_sub(1);
            many -= usize::from(*slot == 0);
        }
    }
    let Some((most, first, last)) = best.filter(|(most, _, _)| *most >= AT_LEAST) else {
        return Err(format!(
            "the clocks of generator and form can't be brought together: fewer than {AT_LEAST} series agree in settings and time"
        ));
    };
    if rival >= most {
        return Err("the clocks of generator and form can be brought together in more than one way".into());
    }
    let mut inside: Vec<i64> =
        differences.get(first..last).unwrap_or_default().iter().map(|(difference, _)| *difference).collect();
    inside.sort_unstable();
    let middle = inside.get(inside.len() / 2).copied().unwrap_or(0);
    // Each series by its nearest row: others with the same settings belong to its neighbours.
    let mut nearest: Vec<i64> = vec![i64::MAX; spans.len()];
    for (difference, span) in differences.get(first..last).unwrap_or_default() {
        if let Some(slot) = nearest.get_mut(*span) {
            *slot = (*slot).min((difference - middle).abs());
        }
    }
    let farthest = nearest.into_iter().filter(|off| *off < i64::MAX).max().unwrap_or(0);
    Ok(Ahead { ms: middle, estimated: Some((most, farthest)) })
}
