//! What a reader of the record must know about how a form came about.

use crate::codes;
use crate::day::{Day, Placed};
use crate::entry::Kind;
use crate::file::Planned;
use plugin_api::Intake;
use record::{Finding, Place};
use serde_json::{Map, Value};
use std::collections::BTreeMap;

/// Files the notes of a form.
pub(crate) fn notes(intake: &mut Intake, name: &str, journal: &[Placed], day: &Day<'_>, plan: &[Planned]) {
    let place = |row: u64, label: &str| Place {
        file: name.to_owned(),
        row: Some(row),
        column: None,
        label: (!label.is_empty()).then(|| label.to_owned()),
    };
    let series = |id: Option<&str>| {
        plan.iter().find(|p| Some(p.id.as_str()) == id).map_or_else(|| id.unwrap_or("?").to_owned(), label)
    };
    for placed in journal {
        let entry = &placed.entry;
        let by = entry.by.as_deref().map(|by| format!(" by {by}")).unwrap_or_default();
        let why = entry.why.as_deref().unwrap_or("no reason stated");
        if let Some(was) = entry.was.as_ref().filter(|was| !was.is_empty()) {
            let about = entry.about.clone().or(entry.event.clone()).unwrap_or_default();
            let now = entry.values.clone().unwrap_or_default();
            intake.say(
                Finding::note(
                    codes::CORRECTED,
                    format!(
                        "`{}` was corrected to `{}` at {}{by}: {why}",
                        words(was),
                        words_of(&now, was),
                        entry.at
                    ),
                )
                .at(place(placed.row, &about)),
            );
        }
        match entry.kind {
            Kind::Opened if why == "after-interruption" => {
                let gap = entry.gap_s.map(|s| format!(", {s} s after the entry before")).unwrap_or_default();
                intake.say(
                    Finding::warning(
                        codes::INTERRUPTED,
                        format!("opened again at {} without having been left in order{gap}", entry.at),
                    )
                    .at(place(placed.row, ""))
                    .help("ask whether anything was applied in between"),
                );
            }
            Kind::Clock => {
                let moved = entry.moved_s.unwrap_or_default();
                intake.say(
                    Finding::warning(
                        codes::CLOCK_MOVED,
                        format!(
                            "the clock of the device moved by {moved} s before {}, or the device slept",
                            entry.at
                        ),
                    )
                    .at(place(placed.row, ""))
                    .help("times before and after this row do not belong to one clock"),
                );
            }
            _ => {}
        }
    }
    for (of, undo) in &day.taken_back {
        let what =
            of.entry.series.as_deref().map(|id| format!(" of {}", series(Some(id)))).unwrap_or_default();
        intake.say(
            Finding::note(
                codes::TAKEN_BACK,
                format!(
                    "`{}`{what}, entered at {}, was taken back at {}",
                    kind_word(of.entry.kind),
                    of.entry.at,
                    undo.entry.at
                ),
            )
            .at(place(undo.row, ""))
            .with_related(place(of.row, ""), "entered here"),
        );
    }
    for placed in &day.outside {
        let what = series(placed.entry.series.as_deref());
        let why = placed.entry.why.as_deref().unwrap_or("no reason stated");
        intake.say(
            Finding::note(codes::OUTSIDE_PLAN, format!("{what} is outside the plan: {why}"))
                .at(place(placed.row, "")),
        );
    }
    for placed in &day.chosen {
        let what = series(placed.entry.series.as_deref());
        intake.say(
            Finding::note(
                codes::OUT_OF_TURN,
                format!(
                    "{what} was taken out of its turn: {}",
                    placed.entry.why.as_deref().unwrap_or("no reason stated")
                ),
            )
            .at(place(placed.row, "")),
        );
    }
    for ((_, id), work) in &day.series {
        if let Some(skip) = work.skip.filter(|_| work.done.is_none()) {
            intake.say(
                Finding::warning(
                    codes::SKIPPED,
                    format!(
                        "{} was skipped: {}",
                        series(Some(id)),
                        skip.entry.why.as_deref().unwrap_or("no reason stated")
                    ),
                )
                .at(place(skip.row, ""))
                .help("apply it, or state why the plan in part suffices"),
            );
        }
    }
    for placed in &day.notes {
        if let Some(text) = &placed.entry.text {
            let by = placed.entry.by.as_deref().map(|by| format!(", {by}")).unwrap_or_default();
            intake.say(
                Finding::note(codes::REMARK, format!("“{text}” ({}{by})", placed.entry.at))
                    .at(place(placed.row, "remark")),
            );
        }
    }
    if let Some(signed) = day.signed
        && let Some(name) = &signed.entry.name
    {
        let text = format!("{name} put their name under the form at {}", signed.entry.at);
        intake.say(Finding::note(codes::SIGNED, text).at(place(signed.row, "")));
    }
    copied(intake, day, &place);
    quick(intake, day, plan, &place);
}

/// Files the notes of rows that were copied.
pub(crate) fn copied_notes(intake: &mut Intake, name: &str, day: &Day<'_>) {
    copied(intake, day, &|row: u64, _: &str| Place {
        file: name.to_owned(),
        row: Some(row),
        ..Place::default()
    });
}

/// A planned series in words: `USB contact +8 kV`.
pub(crate) fn label(planned: &Planned) -> String {
    let sign = if planned.polarity == "positive" { '+' } else { '\u{2212}' };
    let mode = planned.mode.as_deref().map(|mode| format!(" in mode {mode}")).unwrap_or_default();
    format!("{} {} {sign}{} kV{mode}", planned.point, planned.application, planned.voltage_kv)
}

fn copied(intake: &mut Intake, day: &Day<'_>, place: &dyn Fn(u64, &str) -> Place) {
    let mut sheets: BTreeMap<(&str, &str), (Vec<u32>, u64)> = BTreeMap::new();
    for (_, work) in &day.series {
        if let Some(done) = work.done
            && let Some(copied) = &done.entry.copied
        {
            let by = done.entry.by.as_deref().unwrap_or("nobody named");
            let found = sheets.entry((copied.sheet.as_str(), by)).or_insert((Vec::new(), done.row));
            found.0.push(copied.row);
        }
    }
    for ((sheet, by), (mut rows, row)) in sheets {
        rows.sort_unstable();
        let words = if rows.len() == 1 { "1 row" } else { &format!("{} rows", rows.len()) };
        let were = if rows.len() == 1 { "was" } else { "were" };
        let rows: Vec<String> = rows.iter().map(u32::to_string).collect();
        intake.say(
            Finding::note(
                codes::COPIED,
                format!("{words} of paper sheet {sheet} {were} copied by {by}: {}", rows.join(", ")),
            )
            .at(place(row, ""))
            .help("the sheet is the original: keep it"),
        );
    }
}

/// Series that were done sooner than their discharges take.
fn quick(intake: &mut Intake, day: &Day<'_>, plan: &[Planned], place: &dyn Fn(u64, &str) -> Place) {
    let mut done: Vec<(&Placed, &str)> = day
        .series
        .iter()
        .filter_map(|((_, id), work)| Some((work.done?, id.as_str())))
        .filter(|(placed, _)| placed.entry.copied.is_none())
        .collect();
    done.sort_by_key(|(placed, _)| placed.entry.n);
    let time = |placed: &Placed| {
        placed.entry.at.parse::<jiff::Timestamp>().ok().map(jiff::Timestamp::as_millisecond)
    };
    for (earlier, later) in done.iter().zip(done.iter().skip(1)) {
        let Some(applied) = &later.0.entry.applied else { continue };
        let Ok(interval) = record::Seconds::parse(&applied.interval_s) else { continue };
        let needs = interval.as_s() * record::Decimal::from(applied.count.saturating_sub(1));
        let (Some(from), Some(to)) = (time(earlier.0), time(later.0)) else { continue };
        let took = record::Decimal::new(to - from, 3);
        if took >= record::Decimal::ZERO && took < needs {
            let what = plan.iter().find(|p| p.id == later.1).map_or_else(|| later.1.to_owned(), label);
            intake.say(
                Finding::warning(
                    codes::TOO_QUICK,
                    format!("{what} was done {took} s after the series before, but {} discharges {} apart take {needs} s", applied.count, interval),
                )
                .at(place(later.0.row, ""))
                .help("ask who was at the bench what was really applied"),
            );
        }
    }
}

fn kind_word(kind: Kind) -> &'static str {
    match kind {
        Kind::Shot => "one discharge",
        Kind::Done => "series done",
        Kind::Happened => "something happened",
        Kind::Skip => "skip",
        Kind::Next => "choice",
        Kind::Outside => "series outside the plan",
        Kind::State => "state of the item",
        Kind::Photo => "photo",
        Kind::Note => "remark",
        _ => "entry",
    }
}

fn words(values: &Map<String, Value>) -> String {
    let all: Vec<String> = values.iter().map(|(key, value)| format!("{key} = {}", plain(value))).collect();
    all.join(", ")
}

fn words_of(values: &Map<String, Value>, of: &Map<String, Value>) -> String {
    let all: Vec<String> = of
        .keys()
        .filter_map(|key| values.get(key).map(|value| format!("{key} = {}", plain(value))))
        .collect();
    all.join(", ")
}

fn plain(value: &Value) -> String {
    value.as_str().map_or_else(|| value.to_string(), str::to_owned)
}
