//! Rows of logs that could not be read: each caps the verdict until a named person rules on it.

use crate::assessment::{Act, Reason, Rule, Settlement, Verdict};
use crate::phrase::say;
use record::{Origin, Record, SourceId};
use std::collections::BTreeSet;

/// The reasons that rows which could not be read give to the verdict on a state, and what would settle them.
/// `of_state` names the files that series of the state were read from.
pub(crate) fn unread_rows(
    record: &Record,
    of_state: &BTreeSet<SourceId>,
    reasons: &mut Vec<Reason>,
    settle: &mut Vec<Settlement>,
) {
    let of_any: BTreeSet<SourceId> = record.series.iter().map(|s| s.origin.source).collect();
    for row in &record.unread {
        // A row of a log that holds other states only can't belong to this one.
        if !of_state.contains(&row.source) && of_any.contains(&row.source) {
            continue;
        }
        let origin = Origin::rows(row.source, row.row, row.last_row);
        let place = record.place(&origin);
        let file = record.sources.get(row.source.0 as usize).map(|source| &source.name);
        let ruling = record.facts.rulings.iter().find(|r| Some(&r.file) == file && r.row == row.row);
        match ruling {
            Some(ruling) => reasons.push(
                Reason::new(
                    Rule::RowRuled,
                    None,
                    format!("{place} could not be read; {} ruled: {}", ruling.by, ruling.ruling),
                )
                .value("place", &place)
                .at([origin]),
            ),
            None => {
                reasons.push(
                    Reason::new(
                        Rule::RowUnread,
                        Some(Verdict::Undetermined),
                        format!("{place} could not be read: {}", row.why),
                    )
                    .value("place", &place)
                    .at([origin]),
                );
                settle.push(Settlement {
                    what: say!(
                        CorrectRow,
                        "correct {place} at its source, or have a named person rule on it ([[rulings]]): {why}",
                        place = place.to_string(),
                        why = row.why.as_str(),
                    ),
                    minutes: None,
                    act: Act::Rule { file: file.cloned().unwrap_or_default(), row: row.row },
                });
            }
        }
    }
}
