//! Places that a plug-in gives, held against the file; and its account of the rows, held against both.

use super::broke::Broke;
use super::codes;
use crate::physical_rows;
use plugin_api::wire::v1::Part;
use record::{Origin, RowAccount, SourceId};
use std::collections::BTreeSet;

/// The file as rows.
pub(super) struct Rows<'a> {
    bytes: &'a [u8],
    sizes: Vec<usize>,
}

impl<'a> Rows<'a> {
    pub(super) fn of(bytes: &'a [u8]) -> Self {
        Self { bytes, sizes: physical_rows::sizes(bytes) }
    }

    fn count(&self) -> u64 {
        self.sizes.len() as u64
    }

    /// Holds a place against the file: its rows are there, and its column is not beyond the row's bytes.
    pub(super) fn hold(&self, first: u64, last: u64, column: Option<u32>, what: &str) -> Result<(), Broke> {
        let bad = |why: String| {
            Err(Broke::new(codes::BAD_ORIGIN, format!("gave {what} a place that is not there: {why}")))
        };
        if first == 0 || last < first || last > self.count() {
            let rows = if first == last { format!("row {first}") } else { format!("rows {first} to {last}") };
            return bad(format!("{rows} of a file of {} rows", self.count()));
        }
        let size = |row: u64| usize::try_from(row - 1).ok().and_then(|at| self.sizes.get(at)).copied();
        match (column, size(first)) {
            (Some(0), _) => bad("column 0, and columns count from 1".to_owned()),
            // A field may be empty, so that a row has one field more than it has bytes.
            (Some(column), Some(size)) if column as usize > size + 1 => {
                bad(format!("column {column} of row {first}, which has {size} bytes"))
            }
            _ => Ok(()),
        }
    }

    fn origin(&self, origin: &Origin, what: &str) -> Result<(), Broke> {
        if origin.source != SourceId(0) {
            let why =
                format!("gave {what} the source {}, and it has only its input, source 0", origin.source.0);
            return Err(Broke::new(codes::BAD_ORIGIN, why));
        }
        match origin.rows {
            Some(rows) => self.hold(rows.first, rows.last, origin.column, what),
            None => Ok(()),
        }
    }

    /// Every place of a part.
    pub(super) fn hold_part(&self, part: &Part) -> Result<(), Broke> {
        for (path, origin) in &part.origins {
            self.origin(origin, &format!("the fact `{path}`"))?;
        }
        for series in &part.series {
            let what = format!("the series `{}`", series.id.as_str());
            self.origin(&series.origin, &what)?;
            for shot in &series.shots {
                self.hold(shot.row, shot.row, None, &format!("a discharge of {what}"))?;
            }
            if !series.shots.is_empty() && series.shots.len() as u64 != u64::from(series.count) {
                return Err(Broke::new(
                    codes::FALSE_ACCOUNT,
                    format!(
                        "says that {what} has {} discharges, and lists {}",
                        series.count,
                        series.shots.len()
                    ),
                ));
            }
        }
        for observation in &part.observations {
            self.origin(&observation.origin, &format!("the observation `{}`", observation.id.as_str()))?;
        }
        for trace in &part.traces {
            self.origin(&trace.origin, &format!("the trace `{}`", trace.name))?;
        }
        Ok(())
    }

    /// The rows as they stand in the file, in one text.
    pub(super) fn text(&self, first: u64, last: u64) -> String {
        let wanted: Vec<u64> = (first..=last).collect();
        let kept = physical_rows::rows(&mut &*self.bytes, self.bytes, &wanted).unwrap_or_default();
        String::from_utf8_lossy(&kept).trim_end_matches(['\r', '\n']).to_owned()
    }

    /// Holds the account against the file, the rows set aside, and the rows that facts name.
    pub(super) fn account(
        &self,
        account: Option<RowAccount>,
        aside: &BTreeSet<u64>,
        part: &Part,
    ) -> Result<(), Broke> {
        let lies = |what: String| Err(Broke::new(codes::FALSE_ACCOUNT, what));
        let Some(account) = account else {
            return lies("did not account for the rows of its input".to_owned());
        };
        if account.total != self.count() {
            return lies(format!("counted {} rows, and the file has {}", account.total, self.count()));
        }
        if !account.balances() {
            return lies(format!("accounts for other rows than it counted: {account}"));
        }
        if account.set_aside != aside.len() as u64 {
            return lies(format!(
                "says that {} rows were set aside, and set {} aside",
                account.set_aside,
                aside.len()
            ));
        }
        let results = results(part);
        if let Some(row) = results.intersection(aside).next() {
            return lies(format!("set row {row} aside and used it too"));
        }
        let all: BTreeSet<u64> =
            part.origins.values().flat_map(rows_of).chain(results.iter().copied()).collect();
        let (least, most) = (results.len() as u64, all.len() as u64);
        if account.used < least || account.used > most {
            let named = if least == most { least.to_string() } else { format!("{least} to {most}") };
            return lies(format!("says that {} rows became facts, and its facts name {named}", account.used));
        }
        Ok(())
    }
}

/// The rows of an origin; none for a whole file.
fn rows_of(origin: &Origin) -> impl Iterator<Item = u64> + use<> {
    let rows = origin.rows.map(|rows| rows.first..=rows.last);
    rows.into_iter().flatten()
}

/// The rows that became series, observations and traces.
fn results(part: &Part) -> BTreeSet<u64> {
    let mut rows = BTreeSet::new();
    for series in &part.series {
        if series.shots.is_empty() {
            rows.extend(rows_of(&series.origin));
        } else {
            rows.extend(series.shots.iter().map(|shot| shot.row));
        }
    }
    rows.extend(part.observations.iter().flat_map(|observation| rows_of(&observation.origin)));
    rows.extend(part.traces.iter().flat_map(|trace| rows_of(&trace.origin)));
    rows
}
