//! Finds records in a register.

use crate::{Register, RegisterError};
use rusqlite::{Row, ToSql};

/// What a record must have to be found; what is not said is not asked.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Query {
    /// Part of the item's name or type, whatever its case (of ASCII letters).
    pub item: Option<String>,
    /// The item's serial number.
    pub serial: Option<String>,
    /// Id of the standard.
    pub standard: Option<String>,
    /// Verdict.
    pub verdict: Option<String>,
    /// Inventory name or serial number of equipment.
    pub equipment: Option<String>,
    /// Only work that ended then or later, ISO 8601.
    pub from: Option<String>,
    /// Only work that began then or earlier.
    pub to: Option<String>,
    /// A reference of the job or of one of its series, or the report's number.
    pub reference: Option<String>,
}

/// A record that was found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Found {
    /// SHA-256 of its canonical JSON.
    pub sha256: String,
    /// When it was first entered.
    pub entered_at: String,
    /// Name of the job.
    pub job: String,
    /// Its path.
    pub input: String,
    /// Number of the report.
    pub report_number: Option<String>,
    /// Its revision.
    pub report_revision: Option<String>,
    /// First day of the work.
    pub work_started: Option<String>,
    /// Last day of the work.
    pub work_ended: Option<String>,
    /// The item.
    pub item: Option<String>,
    /// Its serial number.
    pub item_serial: Option<String>,
    /// Id of the standard.
    pub standard: Option<String>,
    /// Level.
    pub level: Option<String>,
    /// Verdict.
    pub verdict: String,
    /// Facts are missing without which no conformity can be stated.
    pub bench_data: bool,
    /// The first reason of the verdict.
    pub reason: Option<String>,
    /// Discharges applied.
    pub discharges: i64,
}

const WHAT: &str = "SELECT sha256, entered_at, job, input, report_number, report_revision, work_started, work_ended, \
     item, item_serial, standard, level, verdict, bench_data, reason, \
     (SELECT coalesce(sum(discharges), 0) FROM series WHERE series.record = record.id) FROM record";

impl Register {
    /// The records that have all that is asked, the latest work first, those without a day last.
    ///
    /// # Errors
    /// When the register can't be read.
    pub fn find(&self, query: &Query) -> Result<Vec<Found>, RegisterError> {
        let conditions: [(&Option<String>, &str); 8] = [
            (&query.item, "(instr(lower(item), lower(?)) OR instr(lower(item_type), lower(?)))"),
            (&query.serial, "item_serial = ?"),
            (&query.standard, "standard = ?"),
            (&query.verdict, "verdict = ?"),
            (
                &query.equipment,
                "EXISTS (SELECT 1 FROM equipment_use AS e WHERE e.record = record.id AND (e.equipment = ? OR e.serial = ?))",
            ),
            (&query.from, "coalesce(work_ended, work_started, issued_on) >= ?"),
            (&query.to, "coalesce(work_started, work_ended, issued_on) <= ?"),
            (
                &query.reference,
                "(report_number = ? OR EXISTS (SELECT 1 FROM reference AS r WHERE r.record = record.id AND r.value = ?) \
                 OR EXISTS (SELECT 1 FROM series AS s WHERE s.record = record.id AND s.external_reference = ?))",
            ),
        ];
        let mut sql = WHAT.to_owned();
        let mut values: Vec<&dyn ToSql> = Vec::new();
        for (value, condition) in &conditions {
            let Some(value) = value else { continue };
            sql += if values.is_empty() { " WHERE " } else { " AND " };
            sql += condition;
            for _ in condition.matches('?') {
                values.push(value);
            }
        }
        sql += " ORDER BY coalesce(work_ended, work_started, issued_on) DESC NULLS LAST, id";
        let found = self.connection.prepare(&sql).and_then(|mut statement| {
            statement.query_map(values.as_slice(), found)?.collect::<Result<Vec<_>, _>>()
        });
        found.map_err(|error| self.wrong(error))
    }
}

fn found(row: &Row<'_>) -> Result<Found, rusqlite::Error> {
    Ok(Found {
        sha256: row.get(0)?,
        entered_at: row.get(1)?,
        job: row.get(2)?,
        input: row.get(3)?,
        report_number: row.get(4)?,
        report_revision: row.get(5)?,
        work_started: row.get(6)?,
        work_ended: row.get(7)?,
        item: row.get(8)?,
        item_serial: row.get(9)?,
        standard: row.get(10)?,
        level: row.get(11)?,
        verdict: row.get(12)?,
        bench_data: row.get(13)?,
        reason: row.get(14)?,
        discharges: row.get(15)?,
    })
}
