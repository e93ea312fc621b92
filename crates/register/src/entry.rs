//! Enters a record with its assessment; the same record again stays one row.

use crate::{Register, RegisterError};
use assess::Assessment;
use plugin_api::wire::v1;
use record::{Date, Finding, Record, Series};
use rusqlite::{Transaction, params};
use sha2::{Digest, Sha256};

/// What is entered.
#[derive(Clone, Copy, Debug)]
pub struct Entry<'a> {
    /// Name of the job.
    pub job: &'a str,
    /// Its path.
    pub input: &'a str,
    /// Name and version of the program.
    pub program: &'a str,
    /// The moment, UTC, ISO 8601.
    pub entered_at: &'a str,
    /// The record.
    pub record: &'a Record,
    /// What it came to.
    pub assessment: &'a Assessment,
    /// Findings, in the order in which they are shown.
    pub findings: &'a [Finding],
}

impl Register {
    /// Enters a record, whole or not at all. Where it is there already (by the SHA-256 of its canonical JSON), its row
    /// keeps its number and its first moment, and says what the record came to now.
    ///
    /// # Errors
    /// When the register can't be written.
    pub fn enter(&mut self, entry: &Entry<'_>) -> Result<(), RegisterError> {
        let entered = self
            .connection
            .transaction_with_behavior(rusqlite::TransactionBehavior::Immediate)
            .and_then(|transaction| {
                one(&transaction, entry)?;
                transaction.commit()
            });
        entered.map_err(|error| self.wrong(error))
    }
}

fn one(transaction: &Transaction<'_>, entry: &Entry<'_>) -> Result<(), rusqlite::Error> {
    let Entry { record, assessment, .. } = entry;
    let facts = &record.facts;
    let state = assessment.headline();
    let days: Vec<Date> = record.series.iter().filter_map(day_of).collect();
    let day =
        |stated: Option<Date>, of_series: Option<&Date>| stated.or(of_series.copied()).map(|d| d.to_string());
    let mut digest = Sha256::new();
    v1::each_portion(record, &mut |portion| digest.update(portion));
    let id: i64 = transaction.query_row(
        "INSERT INTO record (sha256, entered_at, job, input, program, rules_version, laboratory, client, \
           report_number, report_revision, report_state, issued_on, work_started, work_ended, item, item_type, \
           item_serial, hardware_version, firmware_version, standard, level, judged_state, verdict, \
           failure_observed, bench_data, reason, invented) \
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16, ?17, ?18, ?19, ?20, ?21, \
           ?22, ?23, ?24, ?25, ?26, ?27) \
         ON CONFLICT (sha256) DO UPDATE SET job = excluded.job, input = excluded.input, \
           program = excluded.program, rules_version = excluded.rules_version, standard = excluded.standard, \
           judged_state = excluded.judged_state, verdict = excluded.verdict, \
           failure_observed = excluded.failure_observed, bench_data = excluded.bench_data, \
           reason = excluded.reason \
         RETURNING id",
        params![
            hex(&digest.finalize()),
            entry.entered_at,
            entry.job,
            entry.input,
            entry.program,
            assessment.rules_version,
            facts.laboratory.name,
            facts.client.name,
            facts.report.number,
            facts.report.revision,
            facts.report.state.map(|s| s.as_str()),
            facts.report.issued_on.map(|d| d.to_string()),
            day(facts.work_started, days.iter().min()),
            day(facts.work_ended, days.iter().max()),
            facts.item.name,
            facts.item.type_designation,
            facts.item.serial,
            facts.item.hardware_version,
            facts.item.firmware_version,
            facts.method.standard,
            facts.plan.level,
            state.and_then(|s| s.state.as_ref()).map(|s| s.as_str()),
            assessment.verdict().as_str(),
            state.is_some_and(|s| s.failure_observed),
            !assessment.missing_identity.is_empty(),
            state.and_then(|s| s.reasons.first()).map(|r| r.text.as_str()),
            facts.invented,
        ],
        |row| row.get(0),
    )?;
    for table in ["series", "finding", "equipment_use", "reference"] {
        transaction.execute(&format!("DELETE FROM {table} WHERE record = ?1"), params![id])?;
    }
    series(transaction, id, record)?;
    findings(transaction, id, entry.findings)?;
    let mut insert = transaction
        .prepare("INSERT OR REPLACE INTO equipment_use VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)")?;
    for of in &facts.equipment {
        insert.execute(params![
            id,
            of.id.as_str(),
            of.role.map(|r| r.as_str()),
            of.name,
            of.serial,
            of.calibrated_on.map(|d| d.to_string()),
            of.calibration_due.map(|d| d.to_string()),
            of.certificate,
        ])?;
    }
    let mut insert = transaction.prepare("INSERT INTO reference VALUES (?1, ?2, ?3, ?4, ?5, ?6)")?;
    for (number, of) in facts.references.iter().enumerate() {
        insert.execute(params![
            id,
            whole(number as u64 + 1),
            of.kind,
            of.value,
            of.revision,
            of.belongs_to
        ])?;
    }
    Ok(())
}

fn series(transaction: &Transaction<'_>, id: i64, record: &Record) -> Result<(), rusqlite::Error> {
    let mut insert = transaction.prepare(
        "INSERT INTO series VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15)",
    )?;
    for of in &record.series {
        let kv = of.voltage_kv.as_kv().to_string();
        let source = record.sources.get(of.origin.source.0 as usize);
        insert.execute(params![
            id,
            of.id.to_string(),
            of.point.as_str(),
            of.application.as_str(),
            of.polarity.as_str(),
            kv,
            kv.parse::<f64>().unwrap_or_default(),
            of.count,
            of.state.as_ref().map(|s| s.as_str()),
            of.mode.as_ref().map(|m| m.as_str()),
            of.kind.as_str(),
            of.external_reference,
            source.map(|s| s.name.as_str()),
            of.origin.rows.map(|r| whole(r.first)),
            of.origin.rows.map(|r| whole(r.last)),
        ])?;
    }
    Ok(())
}

fn findings(transaction: &Transaction<'_>, id: i64, list: &[Finding]) -> Result<(), rusqlite::Error> {
    let mut insert = transaction.prepare("INSERT INTO finding VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)")?;
    for (number, of) in list.iter().enumerate() {
        insert.execute(params![
            id,
            whole(number as u64 + 1),
            of.severity.as_str(),
            of.code,
            of.message,
            of.place.as_ref().map(|p| p.file.as_str()),
            of.place.as_ref().and_then(|p| p.row).map(whole),
            of.place.as_ref().and_then(|p| p.column).map(|c| whole(u64::from(c))),
        ])?;
    }
    Ok(())
}

fn whole(number: u64) -> i64 {
    i64::try_from(number).unwrap_or(i64::MAX)
}

fn day_of(series: &Series) -> Option<Date> {
    // The day of the place where it happened.
    series.started.as_ref().or(series.ended.as_ref()).map(|moment| moment.local().date())
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}
