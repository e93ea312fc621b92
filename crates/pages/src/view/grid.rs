//! The coverage grids: the plan of the state judged against what was applied.

use super::Subject;
use crate::Words;
use crate::model::{Picture, Pictures};
use crate::plot::coverage::{CoverageCell, CoverageRow};
use crate::plot::{COLUMN, Coverage, Outcome, coverage};
use assess::{CoverageState, Required, Verdict};
use record::{Application, Kilovolts, Polarity};
use serde_json::{Map, Value, json};

/// Rows of one picture, so that it fits on a page.
const ROWS: usize = 32;

/// What a column stands for.
type Column = (Application, Option<String>, Kilovolts, Polarity);

pub(super) fn add(
    subject: &Subject<'_>,
    words: &Words,
    root: &mut Map<String, Value>,
    pictures: &mut Pictures,
) {
    let mut names = Vec::new();
    let mut any_short = false;
    // Bench data state no conformity.
    let bench = !subject.assessment.missing_identity.is_empty();
    let word = |key: String| words.get(&key).map_or_else(|| key.clone(), str::to_owned);
    if let Some(state) = subject.assessment.headline()
        && !state.coverage.is_empty()
    {
        let column_of = |r: &Required| -> Column {
            let mode = r.mode.as_ref().filter(|_| subject.record.facts.modes.len() > 1);
            (r.application, mode.map(ToString::to_string), r.voltage_kv, r.polarity)
        };
        let mut columns: Vec<Column> = subject.assessment.plan.iter().map(column_of).collect();
        columns.sort();
        columns.dedup();
        let mut groups: Vec<(String, Vec<String>)> = Vec::new();
        for (application, mode, kv, polarity) in &columns {
            let comma = super::named::comma_of(words);
            let mode = mode.as_ref().map(|m| format!("{comma}{m}")).unwrap_or_default();
            let heading = format!("{}{comma}kV{mode}", word(format!("application.{application}")));
            let kv =
                words.numbers().number(&kv.as_kv().normalize().to_string(), crate::numbers::Cut::default());
            let name = format!("{}{}", polarity.sign(), kv.unwrap_or_default());
            match groups.last_mut() {
                Some(group) if group.0 == heading => group.1.push(name),
                _ => groups.push((heading, vec![name])),
            }
        }
        let mut rows: Vec<CoverageRow> = Vec::new();
        let mut points: Vec<&str> = Vec::new();
        for c in &state.coverage {
            let Some(required) = subject.assessment.plan.get(c.required) else { continue };
            let point = required.point.as_str();
            let at = points.iter().position(|p| *p == point).unwrap_or_else(|| {
                points.push(point);
                let description = super::verdict::point_words(subject.record, point);
                rows.push(CoverageRow {
                    point: point.to_owned(),
                    description: description.as_str().map(str::to_owned),
                    cells: vec![None; columns.len()],
                });
                points.len() - 1
            });
            let outcome = match (c.verdict, c.state) {
                (_, CoverageState::Missing) if bench => Outcome::Untested,
                _ if bench => Outcome::Applied,
                (Verdict::Fail, _) => Outcome::Fail,
                (_, CoverageState::Missing) => Outcome::Untested,
                (Verdict::Pass, _) => Outcome::Pass,
                (Verdict::Undetermined, _) => Outcome::Undetermined,
            };
            let short = match c.state {
                CoverageState::Short => format!("{}/{}", c.counted, required.count),
                CoverageState::Missing | CoverageState::Complete | CoverageState::Exceeded => String::new(),
            };
            let cell = rows.get_mut(at).zip(columns.binary_search(&column_of(required)).ok());
            any_short |= !short.is_empty();
            if let Some(cell) = cell.and_then(|(row, i)| row.cells.get_mut(i)) {
                *cell = Some(CoverageCell { outcome, short });
            }
        }
        let legend: Vec<(Outcome, String)> = [
            (Outcome::Pass, "pass"),
            (Outcome::Fail, "fail"),
            (Outcome::Undetermined, "undetermined"),
            (Outcome::Untested, "untested"),
            (Outcome::Applied, "applied"),
        ]
        .into_iter()
        .filter(|(o, _)| rows.iter().flat_map(|r| &r.cells).flatten().any(|c| c.outcome == *o))
        .map(|(o, key)| (o, word(format!("verdict.{key}"))))
        .collect();
        for (i, part) in rows.chunks(ROWS).enumerate() {
            let name = format!("coverage-{}", i + 1);
            let drawing = coverage(&Coverage { groups: &groups, rows: part, words: &legend }, COLUMN);
            pictures.insert(name.clone(), Picture::Drawing(drawing));
            names.push(name);
        }
    }
    root.insert("grids".into(), json!(names));
    // Whether cells say how many of the discharges required were applied.
    root.insert("grids_short".into(), json!(any_short));
}
