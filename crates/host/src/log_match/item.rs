//! What is compared: series of forms as spans of time, rows of logs as items at a time.

use super::NO_POINT;
use record::{Application, Decimal, Draft, Moment, Polarity, Series, SourceId};

/// What was set for a discharge.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Setting {
    /// Magnitude in kilovolts.
    pub(crate) voltage: Decimal,
    pub(crate) polarity: Polarity,
    /// In air; contact discharges to planes and to the item are alike to a generator.
    pub(crate) in_air: bool,
    /// Where known.
    pub(crate) point: Option<String>,
}

impl Setting {
    pub(crate) fn of(series: &Series) -> Self {
        let point = series.point.as_str();
        Self {
            voltage: series.voltage_kv.as_kv(),
            polarity: series.polarity,
            in_air: series.application == Application::Air,
            point: (point != NO_POINT).then(|| point.to_owned()),
        }
    }
}

impl std::fmt::Display for Setting {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let kind = if self.in_air { "air" } else { "contact" };
        write!(f, "{kind} {}{} kV", self.polarity.sign(), self.voltage)
    }
}

/// A series of a form: from when on its discharges may have come, and when it was marked as done.
#[derive(Clone, Debug)]
pub(crate) struct Span {
    /// Its place among the draft's series.
    pub(crate) series: usize,
    pub(crate) setting: Setting,
    pub(crate) count: u32,
    pub(crate) sparks: Option<u32>,
    pub(crate) from_ms: i64,
    pub(crate) end_ms: i64,
}

/// One or more equal discharges of a log at one time.
#[derive(Clone, Debug)]
pub(crate) struct Item {
    pub(crate) source: SourceId,
    pub(crate) first_row: u64,
    pub(crate) last_row: u64,
    pub(crate) setting: Setting,
    pub(crate) count: u32,
    pub(crate) at_ms: i64,
    /// The time as the log has it.
    pub(crate) at: String,
}

/// The longest time that is told apart from a longer one, in milliseconds: a hundred years.
const LONGEST_MS: i64 = 100 * 366 * 86_400_000;

/// Milliseconds of a number of seconds, up to a hundred years.
pub(crate) fn milliseconds(seconds: Decimal) -> i64 {
    let ms = seconds.checked_mul(Decimal::from(1000)).map(|ms| ms.round().mantissa());
    let longest = i128::from(LONGEST_MS);
    let ms = ms.unwrap_or(if seconds.is_sign_negative() { -longest } else { longest });
    i64::try_from(ms.clamp(-longest, longest)).unwrap_or(LONGEST_MS)
}

/// Every time that a series holds.
pub(crate) fn times(series: &Series) -> impl Iterator<Item = &Moment> {
    series.shots.iter().filter_map(|shot| shot.at.as_ref()).chain(&series.started).chain(&series.ended)
}

/// A time in milliseconds, on the clock of the place or in UTC.
pub(crate) fn ms(moment: &Moment, local: bool) -> i64 {
    if local { moment.local_ms() } else { moment.instant_ms().unwrap_or_else(|| moment.local_ms()) }
}

/// When the last discharge of a series came, whichever way its log runs: some list the newest row first.
pub(crate) fn latest(series: &Series, local: bool) -> Option<&Moment> {
    times(series).max_by_key(|moment| ms(moment, local))
}

/// The rows of logs in the order of their times, and the series that have no time.
pub(crate) fn items<'a>(series: &[&'a Series], local: bool) -> (Vec<Item>, Vec<&'a Series>) {
    let (mut items, mut untimed) = (Vec::new(), Vec::new());
    for one in series {
        let item = |rows: (u64, u64), count: u32, at: &Moment| Item {
            source: one.origin.source,
            first_row: rows.0,
            last_row: rows.1,
            setting: Setting::of(one),
            count,
            at_ms: ms(at, local),
            at: at.to_string(),
        };
        let shots: Vec<Item> = one
            .shots
            .iter()
            .filter_map(|shot| shot.at.as_ref().map(|at| item((shot.row, shot.row), 1, at)))
            .collect();
        if !shots.is_empty() && shots.len() == one.shots.len() {
            items.extend(shots);
        } else if let Some(at) = latest(one, local) {
            let rows = one.origin.rows.map_or((0, 0), |rows| (rows.first, rows.last));
            items.push(item(rows, one.count, at));
        } else {
            untimed.push(*one);
        }
    }
    items.sort_by_key(|item| (item.at_ms, item.source, item.first_row));
    (items, untimed)
}

/// The series of forms that were marked as done at a known time, in that order.
pub(crate) fn spans(draft: &Draft, of_forms: &[usize], local: bool) -> Vec<Span> {
    let mut spans: Vec<Span> = of_forms
        .iter()
        .filter_map(|index| {
            let series = draft.series.get(*index)?;
            let end_ms = ms(series.ended.as_ref()?, local);
            let interval = series.interval_s.map_or(Decimal::ONE, |interval| interval.as_s());
            // Ten minutes, or three times as long as the discharges take: who takes longer has stopped in between.
            let shots = Decimal::from(series.count) * Decimal::from(3);
            let longest = interval.checked_mul(shots).map_or(LONGEST_MS, milliseconds).max(600_000);
            let from = series.started.as_ref().map(|started| ms(started, local));
            Some(Span {
                series: *index,
                setting: Setting::of(series),
                count: series.count,
                sparks: series.sparks,
                from_ms: from.unwrap_or(end_ms - longest).max(end_ms - longest),
                end_ms,
            })
        })
        .collect();
    spans.sort_by_key(|span| span.end_ms);
    let mut before: Option<i64> = None;
    for span in &mut spans {
        if let Some(before) = before {
            span.from_ms = span.from_ms.max(before);
        }
        before = Some(span.end_ms);
    }
    spans
}
