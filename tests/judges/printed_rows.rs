//! Every applied series of the results table, looked for in the text that poppler finds in the report.

use std::collections::BTreeSet;

/// One applied series, as the results table (CSV) states it.
struct Row {
    point: String,
    application: String,
    sign: &'static str,
    kv: String,
    applied: String,
    required: String,
    class: String,
    verdict: String,
    origin: String,
}

/// Looks for each applied series twice: in the results (point above it, kind, polarity, voltage, applied of required,
/// class, verdict, origin) and among the discharges as applied (point, kind, signed voltage, number, origin).
///
/// Gives the number of series found; otherwise what is missing.
pub(crate) fn all_printed(results: &[u8], text: &str) -> Result<usize, String> {
    let rows = rows(results)?;
    if rows.is_empty() {
        return Err("the results table has no applied series".to_owned());
    }
    let points: BTreeSet<&str> = rows.iter().map(|row| row.point.as_str()).collect();
    let lines: Vec<Vec<String>> = text.lines().map(words).collect();
    let mut missing = Vec::new();
    for row in &rows {
        let here = || (0..lines.len()).filter(|at| lines[*at].last() == Some(&row.origin));
        let under_its_point = |at: usize| {
            let above = lines[..at].iter().rev().filter_map(|line| line.first());
            above.into_iter().find(|first| points.contains(first.as_str())) == Some(&row.point)
        };
        if !here().any(|at| is_result(row, &lines[at]) && under_its_point(at)) {
            missing.push(format!("results: {}", row.shown()));
        }
        if !here().any(|at| is_discharge(row, &lines[at])) {
            missing.push(format!("discharges as applied: {}", row.shown()));
        }
    }
    if missing.is_empty() { Ok(rows.len()) } else { Err(missing.join("\n")) }
}

/// The text without the last line of the results that names this origin: what must be missed.
pub(crate) fn without_one(results: &[u8], text: &str) -> Result<String, String> {
    let rows = rows(results)?;
    let row = rows.get(rows.len() / 2).ok_or("the results table has no applied series")?;
    let kept =
        text.lines().filter(|line| !is_result(row, &words(line)) || !line.contains(&row.printed_origin()));
    Ok(kept.map(|line| format!("{line}\n")).collect())
}

impl Row {
    fn shown(&self) -> String {
        format!(
            "{} {} {}{} kV {}/{} {} {} {}",
            self.point,
            self.application,
            self.sign,
            self.kv,
            self.applied,
            self.required,
            self.class,
            self.verdict,
            self.origin
        )
    }

    /// Papers write a range of rows with a dash.
    fn printed_origin(&self) -> String {
        match self.origin.rsplit_once(':') {
            Some((file, rows)) => format!("{file}:{}", rows.replace('-', "\u{2013}")),
            None => self.origin.clone(),
        }
    }
}

fn is_result(row: &Row, line: &[String]) -> bool {
    let [application, sign, kv, rest @ ..] = line else { return false };
    let [counts, rest @ ..] = after_sparks(rest) else { return false };
    *application == row.application
        && sign == row.sign
        && same_number(kv, &row.kv)
        && *counts == format!("{}/{}", row.applied, row.required)
        && rest.contains(&row.class)
        && rest.contains(&row.verdict)
}

fn is_discharge(row: &Row, line: &[String]) -> bool {
    let [point, application, voltage, rest @ ..] = line else { return false };
    let [count, ..] = after_sparks(rest) else { return false };
    *point == row.point
        && *application == row.application
        && voltage.strip_prefix(row.sign).is_some_and(|kv| same_number(kv, &row.kv))
        && *count == row.applied
}

/// What follows the number of sparks, which stands in brackets before the count.
fn after_sparks(words: &[String]) -> &[String] {
    let bracket = words.first().is_some_and(|word| word.starts_with('('));
    let end = words.iter().position(|word| word.ends_with(')')).filter(|_| bracket);
    end.and_then(|end| words.get(end + 1..)).unwrap_or(words)
}

/// `2.0` and `2` are the same voltage, printed with the digits of the log and without.
fn same_number(one: &str, other: &str) -> bool {
    matches!((one.parse::<f64>(), other.parse::<f64>()), (Ok(one), Ok(other)) if one == other)
}

/// The words of a line; a range of rows with the dash that the CSV has.
fn words(line: &str) -> Vec<String> {
    line.split_whitespace().map(|word| word.replace('\u{2013}', "-")).collect()
}

fn rows(results: &[u8]) -> Result<Vec<Row>, String> {
    let mut reader = csv::Reader::from_reader(results);
    let header = reader.headers().map_err(|error| error.to_string())?.clone();
    let mut rows = Vec::new();
    for record in reader.records() {
        let record = record.map_err(|error| error.to_string())?;
        let cell = |name: &str| {
            let at = header.iter().position(|found| found == name);
            let cell = at.and_then(|at| record.get(at)).map(str::to_owned);
            cell.ok_or_else(|| format!("the results table has no column `{name}`"))
        };
        if matches!(cell("applied")?.as_str(), "" | "0") {
            continue;
        }
        rows.push(Row {
            point: cell("point")?,
            application: match cell("application")?.as_str() {
                plane @ ("hcp" | "vcp") => plane.to_uppercase(),
                other => other.to_owned(),
            },
            sign: if cell("polarity")? == "negative" { "\u{2212}" } else { "+" },
            kv: cell("magnitude_kv")?,
            applied: cell("applied")?,
            required: cell("required")?,
            class: cell("worst_class")?,
            verdict: cell("verdict")?,
            origin: cell("origin")?,
        });
    }
    Ok(rows)
}
