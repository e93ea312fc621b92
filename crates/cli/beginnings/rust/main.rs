//! Reads a log whose rows are: point, mode, voltage in kV with its sign, number of discharges.
//!
//! Standard output is for lines of the protocol alone; print to standard error for people.
//! Quantities are decimal text, as the log has them; rows are physical lines and count from 1.
//! Only what passes the checks below is put into JSON, so nothing has to be escaped; take a JSON library for more.

use std::fmt::Write as _;
use std::io::{self, BufRead, Write as _};

fn main() -> io::Result<()> {
    let mut lines = io::stdin().lock().lines();
    let mut out = io::stdout().lock();
    let Some(_hello) = lines.next().transpose()? else { return Ok(()) };
    // Your answer says which protocol you speak; name and version as in plugin.toml.
    writeln!(out, r#"{{"type":"hello","protocol":1,"name":"FORMAT_NAME","version":"0.1"}}"#)?;
    out.flush()?;
    for line in lines {
        let ask = line?;
        let (Some(request), Some(input)) = (value(&ask, "request"), value(&ask, "input")) else {
            return Err(io::Error::other("a request without number or input"));
        };
        let bytes = std::fs::read(input)?;
        out.write_all(answer(request, &String::from_utf8_lossy(&bytes)).as_bytes())?;
        out.flush()?;
    }
    Ok(())
}

/// The text or number under a key of the request: the host writes no blanks, and these have nothing escaped.
fn value<'a>(line: &'a str, key: &str) -> Option<&'a str> {
    let rest = line.split_once(&format!("\"{key}\":"))?.1;
    match rest.strip_prefix('"') {
        Some(text) => text.split('"').next(),
        None => rest.split([',', '}']).next(),
    }
}

fn answer(request: &str, log: &str) -> String {
    let mut text = String::new();
    // Every row is used, set aside, preamble (before the table), footer (after it) or blank.
    let (mut total, mut used, mut aside, mut preamble, mut blank) = (0, 0, 0, 0, 0);
    for (row, line) in (1..).zip(log.lines()) {
        total += 1;
        let words: Vec<&str> = line.split_ascii_whitespace().collect();
        if words.is_empty() {
            blank += 1;
        } else if line.starts_with('#') {
            preamble += 1;
        } else if let Some(series) = series(&words, row) {
            used += 1;
            let _ = writeln!(
                text,
                r#"{{"type":"record","request":{request},"record":{{"series":[{series}]}}}}"#
            );
        } else {
            aside += 1;
            let _ = writeln!(
                text,
                r#"{{"type":"set_aside","request":{request},"row":{row},"code":"not-understood","message":"the row is not: point, mode, voltage with its sign, count"}}"#
            );
        }
    }
    let _ = writeln!(
        text,
        r#"{{"type":"account","request":{request},"total":{total},"used":{used},"set_aside":{aside},"preamble":{preamble},"blank":{blank}}}"#
    );
    let _ = writeln!(text, r#"{{"type":"done","request":{request}}}"#);
    text
}

/// The series of a row as JSON; none for a row that is not understood.
fn series(words: &[&str], row: u64) -> Option<String> {
    let [point, mode, voltage, count] = words else { return None };
    let named = point.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'_' || b == b'-');
    if !named || !["contact", "air", "hcp", "vcp"].contains(mode) {
        return None;
    }
    let (polarity, kilovolts) = match voltage.split_at_checked(1)? {
        ("+", rest) => ("positive", rest),
        ("-", rest) => ("negative", rest),
        _ => return None,
    };
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    let decimal = match kilovolts.split_once('.') {
        Some((whole, part)) => digits(whole) && digits(part),
        None => digits(kilovolts),
    };
    if !decimal || !digits(count) || count.len() > 6 {
        return None;
    }
    let count: u32 = count.parse().ok()?;
    Some(format!(
        r#"{{"point":"{point}","application":"{mode}","polarity":"{polarity}","voltage_kv":"{kilovolts}","count":{count},"origin":"0:{row}"}}"#
    ))
}
