//! Puts what was found into the draft: the rows that agree at their series, the differences as findings.

use super::clock::Ahead;
use super::item::Item;
use super::{Found, Held, RowText, place_of};
use crate::codes;
use crate::job_file::Beside;
use record::{Draft, Finding, Place, Series, SourceId, UnreadRow};
use std::collections::BTreeMap;

/// Rows of a log that have no time.
pub(crate) fn untimed(draft: &mut Draft, series: &[&Series]) {
    for one in series {
        let place = place_of(draft, one);
        draft.findings.push(
            Finding::warning(
                codes::LOG_ALONE,
                "a row of the generator's log has no time and can't be held against the forms",
            )
            .at(place)
            .help("name the column with the time (columns.time), or the day (columns.date)"),
        );
    }
}

/// Everything that was found.
pub(crate) fn all(draft: &mut Draft, found: &Found, ahead: &Ahead, asked: &Beside, text: RowText<'_>) {
    let agreed = found.held.iter().filter(|one| one.agrees()).count();
    clock(draft, ahead, asked, agreed, found.held.len());
    for one in &found.held {
        if let (Some((source, first, last)), Some(at)) = (one.rows, &one.last_at) {
            let note = format!(
                "generator's log {}: {} discharges, the last at {at} on its clock",
                rows(draft, source, first, last),
                one.agree
            );
            if let Some(series) = draft.series.get_mut(one.span.series) {
                series.remark = Some(match series.remark.take() {
                    Some(remark) => format!("{remark}; {note}"),
                    None => note,
                });
            }
        }
        series(draft, one, text);
    }
    for run in runs(&found.alone) {
        let Some(first) = run.first() else { continue };
        // By time, whichever way the rows run.
        let earliest = run.iter().min_by_key(|item| item.at_ms).unwrap_or(first);
        let latest = run.iter().max_by_key(|item| item.at_ms).unwrap_or(first);
        let count = run.iter().fold(0u32, |sum, item| sum.saturating_add(item.count));
        let message = format!(
            "the generator's log has {count} discharges at {} that no series of the forms has",
            first.setting
        );
        draft.findings.push(
            Finding::warning(codes::LOG_ALONE, message).at(place(draft, first.source, first.first_row)).help(
                format!(
                    "{} to {} on the log's clock: ask what they were for; a check of the spark is usual",
                    earliest.at, latest.at
                ),
            ),
        );
    }
}

/// By what the two were brought together, and how far they agree.
fn clock(draft: &mut Draft, ahead: &Ahead, asked: &Beside, agreed: usize, all: usize) {
    let seconds = |ms: i64| format!("{}.{} s", ms.abs() / 1000, ms.abs() % 1000 / 100);
    let stands = match ahead.ms {
        0 => "shows the same time as the form's".to_owned(),
        ms if ms < 0 => format!("is {} behind the form's", seconds(ms)),
        ms => format!("is {} ahead of the form's", seconds(ms)),
    };

    let how = match ahead.estimated {
        None => "as the job says".to_owned(),
        Some((series, farthest)) => {
            format!(
                "estimated from {series} series, the farthest {} off; the way from the last discharge to the touch is in it",
                seconds(farthest)
            )
        }
    };
    let known = if asked.stated { "as the job says" } else { "common practice, no source" };
    let message = format!(
        "{agreed} of {all} series of the forms agree with the generator's log, whose clock {stands} ({how})"
    );
    draft.findings.push(Finding::note(codes::LOG_HELD, message).at(asked.place.clone()).help(format!(
        "held together within {} s and {} % of the voltage ({known})",
        asked.within_s, asked.voltage_within_percent
    )));
}

/// A series and what the log has at its time.
fn series(draft: &mut Draft, one: &Held, text: RowText<'_>) {
    let Some(series) = draft.series.get(one.span.series) else { return };
    let (form, what) = (place_of(draft, series), format!("{} {}", series.point, one.span.setting));
    let (source, row) = (series.origin.source, series.origin.rows.map_or(0, |rows| rows.last));
    let rule = "see which of the two is right; if the form is, a named person says so under [[rulings]], with file and row";
    if !one.others.is_empty() {
        // Rows count within one file, and in some logs the newest stands first.
        let mut others: BTreeMap<SourceId, (&Item, u64, u64)> = BTreeMap::new();
        for item in &one.others {
            let (_, from, to) = others.entry(item.source).or_insert((item, item.first_row, item.last_row));
            *from = item.first_row.min(*from);
            *to = item.last_row.max(*to);
        }
        for (source, (first, from, to)) in others {
            let message = format!("the generator's log has {} where the form has {what}", first.setting);
            set_aside(draft, source, (from, to), codes::LOG_CONTRADICTS, &message, text);
            draft.findings.push(
                Finding::error(codes::LOG_CONTRADICTS, message)
                    .at(place(draft, source, from))
                    .with_related(form.clone(), "in the form")
                    .help(rule),
            );
        }
        return;
    }
    let log = one.rows.map(|(source, first, _)| place(draft, source, first));
    if one.agree > one.span.count {
        let message = format!(
            "{what}: {} discharges in the generator's log, {} in the form",
            one.agree, one.span.count
        );
        let mut finding = Finding::warning(codes::LOG_SHOWS_MORE, message).at(form);
        if let Some(log) = log {
            finding = finding.with_related(log, "in the log");
        }
        draft.findings.push(finding.help("ask whether the series was begun twice"));
        return;
    }
    if one.agrees() {
        return;
    }
    if !one.reached {
        let message = format!("{what}: the generator's log does not reach to this time");
        draft.findings.push(
            Finding::warning(codes::LOG_SHORT, message)
                .at(form)
                .help("fetch the rest of the log, if the generator still has it"),
        );
        return;
    }
    let message =
        format!("{what}: {} discharges in the generator's log, {} in the form", one.agree, one.span.count);
    // An approach without a spark may leave no row.
    let sparks = one.span.sparks.unwrap_or(0);
    if one.span.setting.in_air && one.agree >= sparks && (one.agree > 0 || one.span.sparks == Some(0)) {
        draft.findings.push(
            Finding::note(codes::LOG_SHORT, message)
                .at(form)
                .help("approaches in air without a spark may leave no row in the log"),
        );
        return;
    }
    set_aside(draft, source, (row, row), codes::LOG_SHOWS_FEWER, &message, text);
    let mut finding = Finding::error(codes::LOG_SHOWS_FEWER, message).at(form);
    if let Some(log) = log {
        finding = finding.with_related(log, "in the log");
    }
    draft.findings.push(finding.help(rule));
}

/// Rows on which somebody has to rule: until then the verdict is open.
fn set_aside(
    draft: &mut Draft,
    source: SourceId,
    rows: (u64, u64),
    code: &str,
    why: &str,
    text: RowText<'_>,
) {
    draft.unread.push(UnreadRow {
        source,
        row: rows.0,
        last_row: rows.1,
        text: text(source, rows.0),
        code: code.to_owned(),
        why: format!("somebody must rule, since {why}"),
    });
}

/// Rows that follow one another with the same settings.
fn runs(items: &[Item]) -> Vec<&[Item]> {
    items.chunk_by(|one, next| one.source == next.source && one.setting == next.setting).collect()
}

fn place(draft: &Draft, source: SourceId, row: u64) -> Place {
    let file = draft.sources.get(source.0 as usize).map(|source| source.name.clone()).unwrap_or_default();
    Place { file, row: Some(row), ..Place::default() }
}

fn rows(draft: &Draft, source: SourceId, first: u64, last: u64) -> String {
    let place = place(draft, source, first);
    if first == last { format!("{}:{first}", place.file) } else { format!("{}:{first}-{last}", place.file) }
}
