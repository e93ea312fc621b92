//! Reads the table into which a filled paper sheet was typed: each row becomes the entries that the form's own table
//! makes of it, and then the same series and observations.

use crate::codes;
use crate::day::{Placed, fold};
use crate::entry::{Applied, Copied, Entry, Kind};
use crate::file::Planned;
use crate::kept::Kept;
use crate::notes::copied_notes;
use crate::physical_rows::{PhysicalRows, total};
use crate::read::Reading;
use crate::rows_table::{COLUMNS, TYPED_FROM, original};
use crate::rows_write::NAME;
use plugin_api::{Intake, Probe, ReadContext, Reader, Reported, Source};
use record::{CodeDoc, Finding, Place, RowAccount, SourceRole};
use serde_json::{Map, Value};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::io::Read;

/// The largest table that is read.
const MAX_BYTES: u64 = 16 << 20;

/// Reads filled tables.
#[derive(Clone, Copy, Debug, Default)]
pub struct SheetRowsReader;

impl Reader for SheetRowsReader {
    fn name(&self) -> &'static str {
        NAME
    }

    fn about(&self) -> &'static str {
        "rows of a paper sheet, typed into the table that `convert --to sheet-rows` makes"
    }

    fn codes(&self) -> &'static [CodeDoc] {
        codes::ROWS
    }

    fn role(&self) -> SourceRole {
        SourceRole::Form
    }

    fn probe(&self, head: &[u8], _: &str) -> Probe {
        let first = head.split(|byte| matches!(byte, b'\r' | b'\n')).next().unwrap_or_default();
        if delimiter(first).is_some() { Probe::Yes } else { Probe::No }
    }

    fn read(&self, source: &Source<'_>, intake: &mut Intake, _: &ReadContext<'_>) -> Result<(), Reported> {
        let place = || Place { file: source.name.to_owned(), ..Place::default() };
        let mut text = String::new();
        let read = source.open().and_then(|file| file.take(MAX_BYTES + 1).read_to_string(&mut text));
        match read {
            Err(error) => {
                let finding = Finding::error(codes::UNREADABLE, format!("the table can't be read: {error}"));
                return Err(intake.refuse(finding.at(place()).help("save the table as CSV in UTF-8")));
            }
            Ok(size) if size as u64 > MAX_BYTES => {
                let finding = Finding::error(codes::UNREADABLE, "larger than 16 MiB").at(place());
                return Err(intake.refuse(finding));
            }
            Ok(_) => {}
        }
        let text = text.strip_prefix('\u{feff}').unwrap_or(&text);
        let first = text.split(['\r', '\n']).next().unwrap_or_default();
        let Some((delimiter, columns)) = delimiter(first.as_bytes()) else {
            let finding = Finding::error(codes::NOT_A_FORM, "not a table of a sheet's rows").at(place());
            return Err(intake.refuse(
                finding.help("`convert --to sheet-rows` makes one: fill it, and keep its first line"),
            ));
        };
        let table = Table { columns };
        let mut rows = PhysicalRows::of(text);
        let mut account = RowAccount { preamble: 1, ..RowAccount::default() };
        let (mut journal, mut plan, mut names) = (Vec::new(), Vec::new(), Vec::new());
        let mut reader = csv::ReaderBuilder::new()
            .delimiter(delimiter)
            .flexible(true)
            .has_headers(true)
            .from_reader(text.as_bytes());
        let broken = |error: csv::Error| {
            Finding::error(codes::NOT_A_FORM, format!("not a table: {error}")).at(place())
        };
        reader.headers().map_err(|error| intake.refuse(broken(error)))?;
        let offset = |reader: &csv::Reader<&[u8]>| {
            usize::try_from(reader.position().byte()).unwrap_or(usize::MAX).min(text.len())
        };
        let mut row = csv::StringRecord::new();
        loop {
            let start = offset(&reader);
            if !reader.read_record(&mut row).map_err(|error| intake.refuse(broken(error)))? {
                break;
            }
            // A quoted cell may go over several rows of the file.
            let (line, over, raw) = rows.record(start, offset(&reader));
            match table.row(&row, line, &mut journal, &mut plan) {
                Ok(true) => {
                    account.used += over;
                    let digest: String = Sha256::digest(raw.as_bytes())
                        .iter()
                        .take(8)
                        .map(|byte| format!("{byte:02x}"))
                        .collect();
                    names.push(format!("{}/{digest}", table.cell(&row, "sheet")));
                }
                Ok(false) => account.blank += over,
                Err(why) => {
                    account.set_aside += over;
                    let finding = Finding::error(codes::BAD_ROW, why)
                        .at(Place { row: Some(line), ..place() })
                        .help("look at the sheet and mend the row, or rule on it under [[rulings]]");
                    intake.set_aside(line..=line + over - 1, raw, finding);
                }
            }
        }
        account.total = total(text);
        // Rows without any cell are no records of the table.
        let met = account.preamble + account.used + account.set_aside + account.blank;
        account.blank += account.total.saturating_sub(met);
        let day = fold(&journal, None);
        let work = Reading {
            name: source.name,
            source: intake.source(),
            photos: &BTreeMap::new(),
            plan: &plan,
            day: &day,
        };
        // A table has no columns but those that are read.
        let mut kept = Kept::default();
        work.series(intake, &mut kept);
        work.observations(intake, &mut kept);
        copied_notes(intake, source.name, &day);
        intake.account(account);
        intake.entries(names);
        intake.understood("rows of a paper sheet, UTF-8");
        Ok(())
    }
}

/// The delimiter of a first line that holds the columns of such a table, and where each column is.
fn delimiter(first: &[u8]) -> Option<(u8, BTreeMap<&'static str, usize>)> {
    let first = std::str::from_utf8(first).ok()?.trim_start_matches('\u{feff}').trim_end();
    [b',', b';', b'\t'].into_iter().find_map(|delimiter| {
        let cells: Vec<&str> =
            first.split(char::from(delimiter)).map(|cell| cell.trim().trim_matches('"')).collect();
        let columns: BTreeMap<&'static str, usize> = COLUMNS
            .iter()
            .filter_map(|name| Some((*name, cells.iter().position(|cell| cell == name)?)))
            .collect();
        (columns.len() == COLUMNS.len()).then_some((delimiter, columns))
    })
}

struct Table {
    columns: BTreeMap<&'static str, usize>,
}

impl Table {
    fn cell<'r>(&self, row: &'r csv::StringRecord, name: &str) -> &'r str {
        self.columns.get(name).and_then(|column| row.get(*column)).map_or("", |cell| original(cell.trim()))
    }

    /// Takes a row; false where nothing was typed into it, and why it can't be taken.
    fn row(
        &self,
        row: &csv::StringRecord,
        line: u64,
        journal: &mut Vec<Placed>,
        plan: &mut Vec<Planned>,
    ) -> Result<bool, String> {
        let cell = |name: &str| self.cell(row, name);
        let text = |name: &str| Some(cell(name)).filter(|text| !text.is_empty()).map(str::to_owned);
        let from = COLUMNS.iter().position(|name| *name == TYPED_FROM).unwrap_or(0);
        if COLUMNS.iter().skip(from).all(|name| cell(name).is_empty()) {
            return Ok(false);
        }
        let must = |name: &str| text(name).ok_or_else(|| format!("the row has no `{name}`"));
        let whole = |name: &str| -> Result<Option<u32>, String> {
            text(name)
                .map(|t| t.parse().map_err(|_| format!("`{t}` in `{name}` is no whole number")))
                .transpose()
        };
        let answer = |name: &str| -> Result<Option<bool>, String> {
            match cell(name).to_ascii_lowercase().as_str() {
                "" => Ok(None),
                "yes" | "y" | "x" => Ok(Some(true)),
                "no" | "n" => Ok(Some(false)),
                other => Err(format!("`{other}` in `{name}` is neither yes nor no")),
            }
        };
        let (sheet, number) = (must("sheet")?, whole("row")?.ok_or("the row has no `row`")?);
        let (day, by, at) = (must("day")?, must("copied_by")?, must("copied_at")?);
        if record::Moment::parse(&format!("{day}T00:00")).is_none() {
            return Err(format!("`{day}` in `day` is no day such as 2026-03-12"));
        }
        if record::Moment::parse(&at).is_none() {
            return Err(format!("`{at}` in `copied_at` is no time such as 2026-03-12T16:40"));
        }
        let time = text("time").map(|time| format!("{day}T{time}"));
        if let Some(time) = time.as_deref().filter(|time| record::Moment::parse(time).is_none()) {
            return Err(format!("`{time}` is no time"));
        }
        let copied =
            Copied { sheet: sheet.clone(), row: number, tested_by: must("tested_by")?, day, at: time };
        // Rows are numbered anew on each sheet.
        let key = format!("{sheet}-row-{number}");
        let series = key.clone();
        let frame = |kind: Kind, key: String, n: u64| Entry {
            n,
            key,
            at: at.clone(),
            by: Some(by.clone()),
            series: Some(series.clone()),
            copied: Some(copied.clone()),
            ..Entry::of(kind)
        };
        let next = |journal: &Vec<Placed>| journal.len() as u64 + 1;
        let mut made = Vec::new();
        let noted = self.note(row, &answer, &whole)?;
        if let Some(values) = noted {
            let event = format!("{key}-note-{line}");
            let shot = whole("shot")?;
            made.push(Entry {
                event: Some(event.clone()),
                shot,
                ..frame(Kind::Happened, event.clone(), next(journal))
            });
            made.push(Entry {
                event: Some(event.clone()),
                values: Some(values),
                series: None,
                copied: None,
                ..frame(Kind::Told, format!("{event}-told"), next(journal) + 1)
            });
        }
        let applied = whole("applied")?;
        if applied.is_none() && made.is_empty() {
            return Err("neither how many were applied nor what was seen".into());
        }
        if let Some(count) = applied {
            if journal.iter().any(|held| held.entry.kind == Kind::Done && held.entry.key == key) {
                return Err(format!("row {number} of sheet {sheet} is typed in twice"));
            }
            let planned = Planned {
                id: key.clone(),
                point: must("point")?,
                application: must("discharge")?,
                polarity: must("polarity")?,
                voltage_kv: must("voltage_kv")?,
                mode: text("mode"),
                count: whole("asked")?.unwrap_or(count),
                interval_s: must("interval_s")?,
                tip: must("tip")?,
            };
            let watched = answer("watched")?.ok_or("the row does not say whether the item was watched")?;
            let silent = answer("nothing_seen")? != Some(true) && made.is_empty();
            let noted_before = journal.iter().any(|held| {
                held.entry.kind == Kind::Happened && held.entry.series.as_deref() == Some(planned.id.as_str())
            });
            if silent && !noted_before {
                return Err("the row says neither that nothing was seen nor what was".into());
            }
            made.push(Entry {
                applied: Some(Applied {
                    point: planned.point.clone(),
                    application: planned.application.clone(),
                    polarity: planned.polarity.clone(),
                    voltage_kv: planned.voltage_kv.clone(),
                    mode: planned.mode.clone(),
                    state: text("state"),
                    tip: Some(planned.tip.clone()),
                    count,
                    interval_s: planned.interval_s.clone(),
                    single: true,
                }),
                watched: Some(watched),
                sparks: whole("sparks")?,
                ..frame(Kind::Done, key, next(journal) + made.len() as u64)
            });
            plan.push(planned);
        }
        journal.extend(made.into_iter().map(|entry| Placed { row: line, entry }));
        Ok(true)
    }

    /// What was seen, where something was.
    fn note(
        &self,
        row: &csv::StringRecord,
        answer: &dyn Fn(&str) -> Result<Option<bool>, String>,
        whole: &dyn Fn(&str) -> Result<Option<u32>, String>,
    ) -> Result<Option<Map<String, Value>>, String> {
        let mut values = Map::new();
        for name in ["seen", "function", "affected", "restored", "lasted_s"] {
            let text = self.cell(row, name);
            if !text.is_empty() {
                values.insert(name.into(), text.into());
            }
        }
        for name in ["coincident", "state_changed", "data_lost", "before_next"] {
            if let Some(yes) = answer(name)? {
                values.insert(name.into(), yes.into());
            }
        }
        if values.is_empty() {
            if whole("shot")?.is_some() {
                return Err("a discharge is named, and nothing that was seen".into());
            }
            return Ok(None);
        }
        if answer("nothing_seen")? == Some(true) {
            return Err("the row says that nothing was seen, and what was".into());
        }
        Ok(Some(values))
    }
}
