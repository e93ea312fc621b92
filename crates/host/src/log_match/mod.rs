//! Holds a generator's own log against the series of the filled forms: by time, and by what was set.
//!
//! The form stays the record of the test. Rows of the log that agree with a series are named at it, so that both
//! origins are kept; where the two differ it is said, and where they contradict each other somebody has to rule.

mod clock;
mod compare;
mod item;
mod say;

use crate::codes;
use crate::job_file::Beside;
use item::{Item, Setting, Span};
use record::{Draft, Finding, Place, PointId, Series, SourceId, SourceRole};

/// The name of the point of a log that does not know where its discharges went.
pub(crate) const NO_POINT: &str = "?";

/// A file of a generator's log: its series.
pub(crate) struct OwnLog {
    pub(crate) series: Vec<Series>,
}

/// Reads a row of a source as it stands.
pub(crate) type RowText<'a> = &'a dyn Fn(SourceId, u64) -> String;

/// Holds logs of one clock against the forms. Returns false where it can't be done and the job must be refused; the
/// finding is filed.
pub(crate) fn hold(draft: &mut Draft, logs: &[OwnLog], asked: &Beside, text: RowText<'_>) -> bool {
    let series: Vec<&Series> = logs.iter().flat_map(|log| &log.series).collect();
    let of_forms: Vec<usize> = (0..draft.series.len()).filter(|index| is_of_form(draft, *index)).collect();
    if of_forms.is_empty() {
        draft.findings.push(
            Finding::warning(
                codes::LOG_ALONE,
                "no filled form is there yet for the generator's log to stand beside",
            )
            .at(asked.place.clone())
            .help("its discharges are not in the record; fill the form, or leave `beside` out"),
        );
        return true;
    }
    // A time without an offset can only be compared on the clock of the place.
    let local = series.iter().any(|s| item::times(s).any(|moment| moment.instant_ms().is_none()));
    let (items, untimed) = item::items(&series, local);
    let spans: Vec<Span> = item::spans(draft, &of_forms, local);
    say::untimed(draft, &untimed);
    let within_ms = item::milliseconds(asked.within_s);
    let ahead = match asked.clock_ahead_s {
        Some(seconds) => clock::Ahead::declared(item::milliseconds(seconds)),
        None => match clock::estimate(&spans, &clock::ends(&series, local), within_ms, asked) {
            Ok(ahead) => ahead,
            Err(why) => {
                draft.findings.push(
                    Finding::error(codes::NO_COMMON_CLOCK, why)
                        .at(asked.place.clone())
                        .help("say by how many seconds the generator's clock is ahead of the form's: clock_ahead_s = 0 where both agree")
                        .help("if the log holds other discharges than the forms, leave `beside` out"),
                );
                return false;
            }
        },
    };
    let found = compare::compare(&spans, &items, ahead.ms, within_ms, asked);
    say::all(draft, &found, &ahead, asked, text);
    true
}

fn is_of_form(draft: &Draft, index: usize) -> bool {
    draft.series.get(index).is_some_and(|series| role(draft, series.origin.source) == Some(SourceRole::Form))
}

fn role(draft: &Draft, source: SourceId) -> Option<SourceRole> {
    draft.sources.get(source.0 as usize).map(|source| source.role)
}

/// Says where a log that was not told to stand beside the forms seems to hold the same discharges as they do.
pub(crate) fn counted_twice(draft: &mut Draft) {
    const CLOSE_MS: i64 = 120_000;
    let time = |series: &Series| item::latest(series, true).map(record::Moment::local_ms);
    let mut found: Vec<(Place, Place)> = Vec::new();
    for (index, ours) in draft.series.iter().enumerate().filter(|(index, _)| is_of_form(draft, *index)) {
        let same = draft.series.iter().enumerate().find(|(other, theirs)| {
            *other != index
                && role(draft, theirs.origin.source) == Some(SourceRole::Log)
                && theirs.point == ours.point
                && theirs.application == ours.application
                && theirs.polarity == ours.polarity
                && theirs.voltage_kv == ours.voltage_kv
                && (theirs.state == ours.state || theirs.state.is_none())
                && matches!((time(ours), time(theirs)), (Some(one), Some(other)) if (one - other).abs() <= CLOSE_MS)
        });
        if let Some((_, theirs)) = same {
            found.push((place_of(draft, ours), place_of(draft, theirs)));
        }
    }
    if let Some((ours, theirs)) = found.first().cloned() {
        let help = "if it is the generator's own record of them, say beside = \"forms\" in its [[logs]] entry: they count twice now";
        draft.findings.push(
            Finding::warning(
                codes::COUNTED_TWICE,
                format!("{} series of the log look like series of the form", found.len()),
            )
            .at(theirs)
            .with_related(ours, "in the form")
            .help(help),
        );
    }
}

fn place_of(draft: &Draft, series: &Series) -> Place {
    let file = draft.sources.get(series.origin.source.0 as usize).map(|s| s.name.clone()).unwrap_or_default();
    Place { file, row: series.origin.rows.map(|rows| rows.first), ..Place::default() }
}

/// The point of logs that name none.
pub(crate) fn no_point() -> Option<PointId> {
    PointId::new(NO_POINT)
}

/// Whether two settings are the same within the tolerance.
fn same(span: &Setting, item: &Setting, asked: &Beside) -> bool {
    let near = (span.voltage - item.voltage).abs() * record::Decimal::from(100)
        <= span.voltage * asked.voltage_within_percent;
    // A log that knows no points does not know planes either: to the generator they are contact discharges.
    let place = item.point.as_deref().is_none_or(|point| span.point.as_deref() == Some(point));
    near && place && span.polarity == item.polarity && span.in_air == item.in_air
}

#[cfg(test)]
mod tests;

/// What was found, for whoever says it.
pub(crate) struct Found {
    /// The spans, each with what the log has in it.
    pub(crate) held: Vec<Held>,
    /// Items that belong to no series.
    pub(crate) alone: Vec<Item>,
}

impl Held {
    /// Whether the log has as many discharges; in air, as many as made a spark.
    pub(crate) fn agrees(&self) -> bool {
        let sparks = self.span.setting.in_air && self.span.sparks == Some(self.agree);
        self.others.is_empty() && (self.agree == self.span.count || sparks && self.reached)
    }
}

/// A series of a form with what the log has at its time.
pub(crate) struct Held {
    pub(crate) span: Span,
    /// Discharges with the same settings.
    pub(crate) agree: u32,
    /// The rows that agree.
    pub(crate) rows: Option<(SourceId, u64, u64)>,
    /// The log's time of the last of them, as written.
    pub(crate) last_at: Option<String>,
    /// Rows with other settings.
    pub(crate) others: Vec<Item>,
    /// The log has rows before and after that time.
    pub(crate) reached: bool,
}
