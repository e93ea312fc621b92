//! What was entered and the record has no place for: kept in the form, and said to be.
//!
//! Each entry is taken apart field by field, without a rest: whoever adds a field must say here where it goes.

use crate::codes;
use crate::day::{Day, Placed};
use crate::entry::{Applied, Copied, Entry, Kind, Outside};
use plugin_api::Intake;
use record::{Finding, Place};
use std::collections::{BTreeMap, BTreeSet};

/// Rows by the kind of what stands in them. The kinds are keys of the papers' words, under `kept_what`.
#[derive(Debug, Default)]
pub(crate) struct Kept(BTreeMap<&'static str, BTreeSet<u64>>);

impl Kept {
    /// Something of a row has no place in the record.
    pub(crate) fn add(&mut self, what: &'static str, row: u64) {
        self.0.entry(what).or_default().insert(row);
    }

    /// Files the note, where there is something to say.
    pub(crate) fn say(&self, intake: &mut Intake, name: &str) {
        let Some(first) = self.0.values().flatten().min() else { return };
        let label: Vec<String> =
            self.0.iter().map(|(what, found)| format!("{what} {}", rows(found))).collect();
        intake.say(
            Finding::note(codes::KEPT_IN_FORM, "some of what was entered stands in the form alone")
                .at(Place {
                    file: name.to_owned(),
                    row: Some(*first),
                    column: None,
                    label: Some(label.join("; ")),
                })
                .help("keep the form, or the evidence pack that holds it"),
        );
    }
}

/// Rows in words, those that follow one another joined: `3-5, 8`.
fn rows(found: &BTreeSet<u64>) -> String {
    let mut spans: Vec<(u64, u64)> = Vec::new();
    for row in found {
        match spans.last_mut() {
            Some((_, last)) if *last + 1 == *row => *last = *row,
            _ => spans.push((*row, *row)),
        }
    }
    let words = spans.iter().map(|(first, last)| match first == last {
        true => first.to_string(),
        false => format!("{first}-{last}"),
    });
    words.collect::<Vec<_>>().join(", ")
}

/// Goes through a journal. `known` are the states of the item that the job has.
pub(crate) fn kept(journal: &[Placed], day: &Day<'_>, known: &[&str]) -> Kept {
    let mut kept = Kept::default();
    let undone: BTreeSet<u64> = day.taken_back.iter().map(|(of, _)| of.entry.n).collect();
    let names: BTreeSet<&str> = journal.iter().filter_map(|placed| placed.entry.by.as_deref()).collect();
    let mut states: BTreeSet<&str> = known.iter().copied().collect();
    for placed in journal {
        let live = !undone.contains(&placed.entry.n);
        entry(&mut kept, placed, day, live, names.len() > 1, &mut states);
    }
    for said in day.said.values() {
        earlier(&mut kept, &said.values, &said.statements);
    }
    kept
}

/// Values that a later statement replaced without saying so: a correction says what was before.
fn earlier(kept: &mut Kept, holds: &serde_json::Map<String, serde_json::Value>, statements: &[&Placed]) {
    for (index, statement) in statements.iter().enumerate() {
        for (key, value) in statement.entry.values.iter().flatten() {
            let said = statements.iter().skip(index + 1).any(|later| {
                later.entry.was.as_ref().and_then(|was| was.get(key)).is_some_and(|was| was == value)
            });
            if holds.get(key) != Some(value) && !said {
                kept.add("earlier", statement.row);
            }
        }
    }
}

fn entry<'a>(
    kept: &mut Kept,
    placed: &'a Placed,
    day: &Day<'_>,
    live: bool,
    several: bool,
    states: &mut BTreeSet<&'a str>,
) {
    let Entry {
        n: _,
        key: _,
        at: _,
        kind,
        by,
        about,
        values: _,
        was,
        why,
        series,
        planned,
        applied: _,
        watched: _,
        sparks: _,
        spark: _,
        event,
        shot: _,
        copied,
        of: _,
        state,
        description,
        reason,
        text: _,
        name: _,
        file,
        media_type,
        bytes: _,
        sha256: _,
        caption,
        moved_s: _,
        gap_s,
        storage,
        taken_over,
    } = &placed.entry;
    let mut add = |what| kept.add(what, placed.row);
    if !live {
        return add("taken-back");
    }
    let corrects = was.as_ref().is_some_and(|was| !was.is_empty());
    let id = series.as_deref().unwrap_or_default();
    let works = || day.series.iter().filter(|((_, known), _)| known == id).map(|(_, work)| work);
    let skipped = works()
        .any(|work| work.done.is_none() && work.skip.is_some_and(|skip| skip.entry.n == placed.entry.n));
    let about = about.as_deref().unwrap_or_default();
    let reading = about.starts_with("climate/") || about.starts_with("check/");
    let event_gone = *kind == Kind::Told
        && !day
            .events
            .iter()
            .any(|found| found.touched.entry.event.is_some() && found.touched.entry.event == *event);
    if event_gone {
        return add("taken-back");
    }
    let (mut time, mut person, mut reasoned) = (corrects, corrects, corrects);
    match kind {
        Kind::Opened => {
            let told = why.as_deref() == Some("after-interruption");
            if !told || storage.is_some() || *taken_over == Some(true) || file.is_some() {
                add("session");
            }
            (time, reasoned) = (told || gap_s.is_none(), true);
        }
        Kind::Left | Kind::Saved => {
            add("session");
            (time, reasoned) = (true, true);
        }
        Kind::Clock | Kind::Undo => time = true,
        Kind::Said => {
            let holds = day.said.get(about);
            time |= reading && holds.is_some_and(|said| said.at() == placed.entry.at);
            person |= about.starts_with("check/") && holds.is_some_and(|said| said.row() == placed.row);
            if !reading && !["person", "generator", "earthed", "charge"].contains(&about) {
                add("values");
            }
        }
        // The record holds these one by one, and a paper says so.
        Kind::Shot => time = true,
        Kind::Done => {
            let holds =
                |work: &crate::day::Work<'_>| work.done.is_some_and(|done| done.entry.n == placed.entry.n);
            if !works().any(holds) {
                add("earlier");
            }
            (time, person) = (true, true);
        }
        Kind::Happened => {
            time = copied.is_none();
            if let Some(Copied { sheet: _, row: _, tested_by: _, day: _, at: _ }) = copied {
                add("copied");
            }
        }
        Kind::Told => {}
        Kind::Skip => reasoned |= skipped,
        Kind::Next => reasoned = true,
        Kind::Outside => {
            reasoned = true;
            if let Some(planned) = planned
                && !works()
                    .filter_map(|work| work.done?.entry.applied.as_ref())
                    .any(|applied| as_planned(planned, applied))
            {
                add("planned");
            }
        }
        Kind::State => {
            let new = state.as_deref().is_some_and(|state| states.insert(state));
            if !new && (description.is_some() || reason.is_some()) {
                add("state");
            }
            (time, person) = (new, new);
        }
        Kind::Photo => {
            if media_type.is_some() || !caption.as_deref().unwrap_or_default().contains(about) {
                add("photo");
            }
        }
        Kind::Note => (time, person) = (true, true),
        Kind::Signed => {
            if day.signed.is_none_or(|signed| signed.entry.n != placed.entry.n) {
                add("earlier");
            }
            time = true;
        }
    }
    if !time {
        add("at");
    }
    if by.is_some() && several && !person {
        add("by");
    }
    if why.is_some() && !reasoned {
        add("why");
    }
}

/// Whether a series that was added was applied as it was added.
fn as_planned(planned: &Outside, applied: &Applied) -> bool {
    let Outside { point, application, polarity, voltage_kv, mode, count, interval_s, tip } = planned;
    let Applied {
        point: p,
        application: a,
        polarity: s,
        voltage_kv: v,
        mode: m,
        state: _,
        tip: t,
        count: c,
        interval_s: i,
        single: _,
    } = applied;
    (point, application, polarity, voltage_kv, mode, count, interval_s, Some(tip))
        == (p, a, s, v, m, c, i, t.as_ref())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_that_follow_one_another_are_joined() {
        assert_eq!(rows(&BTreeSet::from([3, 4, 5, 8, 12, 13])), "3-5, 8, 12-13");
    }
}
