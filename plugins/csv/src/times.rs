//! Dates and times as logs write them; a form with two readings is never guessed.

use jiff::civil::{Date, DateTime, Time};
use jiff::tz::Offset;
use record::{Decimal, Moment};

/// How dates are written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum DateForm {
    /// Parts with what stands between them.
    Parts(Vec<Part>),
    /// A spreadsheet's day number (days from 1899-12-30).
    Serial,
}

/// A part of a written date.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Part {
    Day,
    Month,
    /// Month by name.
    MonthName,
    Year,
    /// Two digits of the years 2000 to 2099.
    ShortYear,
    Mark(char),
}

impl DateForm {
    /// Reads a form such as `dd.mm.yyyy`.
    pub(crate) fn parse(form: &str) -> Option<DateForm> {
        let form = form.to_ascii_lowercase();
        if form == "serial" {
            return Some(DateForm::Serial);
        }
        let mut parts = Vec::new();
        let mut rest = form.as_str();
        'next: while let Some(first) = rest.chars().next() {
            for (word, part) in [
                ("yyyy", Part::Year),
                ("yy", Part::ShortYear),
                ("mmm", Part::MonthName),
                ("mm", Part::Month),
                ("m", Part::Month),
                ("dd", Part::Day),
                ("d", Part::Day),
            ] {
                if let Some(after) = rest.strip_prefix(word) {
                    parts.push(part);
                    rest = after;
                    continue 'next;
                }
            }
            if !matches!(first, '.' | '/' | '-' | ' ') {
                return None;
            }
            parts.push(Part::Mark(first));
            rest = rest.get(first.len_utf8()..).unwrap_or_default();
        }
        let count = |wanted: &[Part]| parts.iter().filter(|p| wanted.contains(p)).count();
        let whole = count(&[Part::Day]) == 1
            && count(&[Part::Month, Part::MonthName]) == 1
            && count(&[Part::Year, Part::ShortYear]) == 1;
        whole.then_some(DateForm::Parts(parts))
    }
}

/// Reads a date of these parts from the start of a text; gives it with what follows.
fn dated<'t>(parts: &[Part], text: &'t str) -> Result<(Date, &'t str), Problem> {
    let (mut day, mut month, mut year) = (0, 0, 0);
    let mut rest = text;
    for part in parts {
        match part {
            Part::Mark(mark) => rest = rest.strip_prefix(*mark).ok_or(Problem::NotATime)?,
            Part::MonthName => {
                let (found, after) = month_name(rest).ok_or(Problem::NotATime)?;
                (month, rest) = (found, after);
            }
            Part::Day | Part::Month | Part::Year | Part::ShortYear => {
                let length = rest.bytes().take_while(u8::is_ascii_digit).count();
                let (digits, after) = rest.split_at(length);
                let fits = match part {
                    Part::Year => length == 4,
                    Part::ShortYear => length == 2,
                    _ => (1..=2).contains(&length),
                };
                let number: i16 = digits.parse().ok().filter(|_| fits).ok_or(Problem::NotATime)?;
                match part {
                    Part::Day => day = number,
                    Part::Month => month = number,
                    Part::Year => year = number,
                    _ => year = 2000 + number,
                }
                rest = after;
            }
        }
    }
    let small = |n: i16| i8::try_from(n).map_err(|_| Problem::Impossible);
    Ok((Date::new(year, small(month)?, small(day)?).map_err(|_| Problem::Impossible)?, rest))
}

/// Why a text is no time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Problem {
    NotATime,
    /// A day or hour that the calendar or the clock does not have.
    Impossible,
    /// Numbers with slashes or dashes whose order is not known.
    Order,
    /// A number that could be a spreadsheet's day.
    Serial,
}

impl Problem {
    /// Why, in words that follow the text found.
    pub(crate) fn why(self) -> &'static str {
        match self {
            Self::NotATime => "is not a date or time",
            Self::Impossible => "does not exist on the calendar or the clock",
            Self::Order => "does not say which part is the day and which the month",
            Self::Serial => "is a number, which may be a spreadsheet's day number",
        }
    }

    /// What to do.
    pub(crate) fn help(self) -> &'static str {
        match self {
            Self::NotATime => {
                "write it like 2026-03-12T09:30:00+01:00 or 12.03.2026 09:30, or set `date` to the order of the parts"
            }
            Self::Impossible => "look at the original record of the test and correct it",
            Self::Order => "set `date = \"dd/mm/yyyy\"` or `date = \"mm/dd/yyyy\"` for this log",
            Self::Serial => "set `date = \"serial\"` for this log, or write dates like 2026-03-12",
        }
    }
}

/// What a cell of a time column held.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Written {
    Moment(Moment),
    /// A date without a time of day.
    Day(Date),
    /// A time of day without a date.
    Clock(Time),
}

/// Reads a cell of a date or time column.
pub(crate) fn read(text: &str, form: Option<&DateForm>, zone_s: Option<i32>) -> Result<Written, Problem> {
    if let Some((date, rest)) = iso_date(text)? {
        return joined(date, rest, zone_s);
    }
    if let Some(DateForm::Serial) = form {
        return serial(text, zone_s);
    }
    if let Some(form) = form {
        let DateForm::Parts(parts) = form else { return Err(Problem::NotATime) };
        match dated(parts, text) {
            Ok((date, rest)) => return joined(date, rest, zone_s),
            Err(Problem::NotATime) => {}
            Err(problem) => return Err(problem),
        }
    } else {
        if let Some((date, rest)) = dotted_date(text)? {
            return joined(date, rest, zone_s);
        }
        match dated(DOTTED, text) {
            Ok((date, rest)) => return joined(date, rest, zone_s),
            Err(Problem::NotATime) => {}
            Err(problem) => return Err(problem),
        }
    }
    if let Some(clock) = clock(text)? {
        return Ok(Written::Clock(clock));
    }
    let leading = text.bytes().take_while(u8::is_ascii_digit).count();
    match text.as_bytes().get(leading) {
        Some(b'/' | b'-') if form.is_none() && (1..=2).contains(&leading) => Err(Problem::Order),
        None | Some(b'.' | b',') if form.is_none() && leading > 0 && text.parse::<f64>().is_ok() => {
            Err(Problem::Serial)
        }
        _ => Err(Problem::NotATime),
    }
}

/// A date and a time of day from two columns.
pub(crate) fn join(date: Date, time: Time, zone_s: Option<i32>) -> Option<Moment> {
    moment(DateTime::from_parts(date, time), zone_s)
}

/// An offset from UTC in seconds: `Z`, `+01:00`, `+0100`, `+01`.
pub(crate) fn offset(text: &str) -> Option<i32> {
    if matches!(text, "Z" | "z" | "UTC") {
        return Some(0);
    }
    let mut chars = text.chars();
    let negative = match chars.next()? {
        '+' => false,
        '-' | '\u{2212}' => true,
        _ => return None,
    };
    let digits = chars.as_str().as_bytes();
    let hours = i32::from(two(digits, 0)?);
    let minutes = match digits.len() {
        2 => 0,
        4 => i32::from(two(digits, 2)?),
        5 if digits.get(2) == Some(&b':') => i32::from(two(digits, 3)?),
        _ => return None,
    };
    if hours > 15 || minutes > 59 {
        return None;
    }
    let seconds = hours * 3600 + minutes * 60;
    Some(if negative { -seconds } else { seconds })
}

/// `12.03.2026`
const DOTTED: &[Part] = &[Part::Day, Part::Mark('.'), Part::Month, Part::Mark('.'), Part::Year];

fn two(bytes: &[u8], at: usize) -> Option<i8> {
    match (bytes.get(at), bytes.get(at + 1)) {
        (Some(a @ b'0'..=b'9'), Some(b @ b'0'..=b'9')) => i8::try_from((a - b'0') * 10 + (b - b'0')).ok(),
        _ => None,
    }
}

/// A date of which the year is in two halves.
fn date_of(century: i8, year: i8, month: i8, day: i8) -> Result<Date, Problem> {
    Date::new(i16::from(century) * 100 + i16::from(year), month, day).map_err(|_| Problem::Impossible)
}

/// `2026-03-12` at the start of a text.
fn iso_date(text: &str) -> Result<Option<(Date, &str)>, Problem> {
    let bytes = text.as_bytes();
    let (Some(b'-'), Some(b'-')) = (bytes.get(4), bytes.get(7)) else { return Ok(None) };
    let (Some(century), Some(year), Some(month), Some(day)) =
        (two(bytes, 0), two(bytes, 2), two(bytes, 5), two(bytes, 8))
    else {
        return Ok(None);
    };
    Ok(Some((date_of(century, year, month, day)?, text.get(10..).unwrap_or_default())))
}

/// `12.03.2026` at the start of a text, as nearly every dotted date is written.
fn dotted_date(text: &str) -> Result<Option<(Date, &str)>, Problem> {
    let bytes = text.as_bytes();
    let (Some(b'.'), Some(b'.')) = (bytes.get(2), bytes.get(5)) else { return Ok(None) };
    let (Some(day), Some(month), Some(century), Some(year)) =
        (two(bytes, 0), two(bytes, 3), two(bytes, 6), two(bytes, 8))
    else {
        return Ok(None);
    };
    if bytes.get(10).is_some_and(u8::is_ascii_digit) {
        return Ok(None);
    }
    Ok(Some((date_of(century, year, month, day)?, text.get(10..).unwrap_or_default())))
}

/// A date with what follows it.
fn joined(date: Date, rest: &str, zone_s: Option<i32>) -> Result<Written, Problem> {
    let rest = match rest.as_bytes().first() {
        None => return Ok(Written::Day(date)),
        Some(b'T' | b't' | b'_') => rest.get(1..).unwrap_or_default(),
        Some(b' ' | b',') => rest.trim_start_matches([',', ' ']),
        _ => return Err(Problem::NotATime),
    };
    let (time, rest) = clock_at(rest)?.ok_or(Problem::NotATime)?;
    let rest = rest.trim();
    let zone_s = if rest.is_empty() { zone_s } else { Some(offset(rest).ok_or(Problem::NotATime)?) };
    moment(DateTime::from_parts(date, time), zone_s).map(Written::Moment).ok_or(Problem::Impossible)
}

fn moment(local: DateTime, zone_s: Option<i32>) -> Option<Moment> {
    match zone_s {
        None => Some(Moment::Local(local)),
        Some(offset_s) => {
            let instant = Offset::from_seconds(offset_s).ok()?.to_timestamp(local).ok()?;
            Some(Moment::WithOffset { instant, offset_s })
        }
    }
}

/// A time of day that is all of a text.
fn clock(text: &str) -> Result<Option<Time>, Problem> {
    Ok(clock_at(text)?.filter(|(_, rest)| rest.trim().is_empty()).map(|(time, _)| time))
}

/// `9:30`, `09:30:00`, `09:30:00.125`, `9:30 pm` at the start of a text.
fn clock_at(text: &str) -> Result<Option<(Time, &str)>, Problem> {
    let bytes = text.as_bytes();
    let (hour, mut at) = match (two(bytes, 0), bytes.first()) {
        (Some(hour), _) => (hour, 2),
        (None, Some(b @ b'0'..=b'9')) => ((b - b'0').cast_signed(), 1),
        _ => return Ok(None),
    };
    if bytes.get(at) != Some(&b':') {
        return Ok(None);
    }
    let Some(minute) = two(bytes, at + 1) else { return Ok(None) };
    at += 3;
    let (mut second, mut nanosecond) = (0, 0);
    if bytes.get(at) == Some(&b':') {
        let Some(found) = two(bytes, at + 1) else { return Ok(None) };
        second = found;
        at += 3;
        if matches!(bytes.get(at), Some(b'.' | b',')) {
            let digits = bytes.iter().skip(at + 1).take_while(|b| b.is_ascii_digit()).count();
            if digits == 0 || digits > 9 {
                return Ok(None);
            }
            for index in 0..9 {
                let digit =
                    bytes.get(at + 1 + index).filter(|_| index < digits).map_or(0, |b| i32::from(b - b'0'));
                nanosecond = nanosecond * 10 + digit;
            }
            at += 1 + digits;
        }
    }
    let mut rest = text.get(at..).unwrap_or_default();
    let mut hour = hour;
    let half = rest.trim_start().get(..2).map(str::to_ascii_lowercase);
    if let Some(half @ ("am" | "pm")) = half.as_deref() {
        if !(1..=12).contains(&hour) {
            return Err(Problem::Impossible);
        }
        hour = hour % 12 + if half == "pm" { 12 } else { 0 };
        rest = rest.trim_start().get(2..).unwrap_or_default();
    }
    let time = Time::new(hour, minute, second, nanosecond).map_err(|_| Problem::Impossible)?;
    Ok(Some((time, rest)))
}

/// Days from 1899-12-30, where spreadsheets start counting for dates from March 1900 on.
fn serial(text: &str, zone_s: Option<i32>) -> Result<Written, Problem> {
    let number = record::parse_decimal(&text.replace(',', ".")).map_err(|_| Problem::NotATime)?;
    let days = number.trunc();
    let base = Date::new(1899, 12, 30).map_err(|_| Problem::Impossible)?;
    let whole =
        i64::try_from(days).ok().filter(|d| (61..=1_000_000).contains(d)).ok_or(Problem::Impossible)?;
    let date = base.checked_add(jiff::Span::new().days(whole)).map_err(|_| Problem::Impossible)?;
    if !text.contains(['.', ',']) {
        return Ok(Written::Day(date));
    }
    // A spreadsheet keeps seconds only to the rounding of its binary fraction.
    let seconds = ((number - days) * Decimal::from(86_400)).round();
    let seconds = i64::try_from(seconds).map_err(|_| Problem::Impossible)?;
    let at = DateTime::from_parts(date, Time::midnight())
        .checked_add(jiff::SignedDuration::from_secs(seconds))
        .map_err(|_| Problem::Impossible)?;
    moment(at, zone_s).map(Written::Moment).ok_or(Problem::Impossible)
}

/// A month's name or its first letters at the start of a text (English, German, French, Spanish).
fn month_name(text: &str) -> Option<(i16, &str)> {
    const NAMES: [&[&str]; 12] = [
        &["january", "jan", "januar", "janvier", "janv", "enero", "ene", "jän", "jänner"],
        &["february", "feb", "februar", "février", "févr", "fév", "febrero"],
        &["march", "mar", "märz", "mär", "mrz", "mars", "marzo"],
        &["april", "apr", "avril", "avr", "abril", "abr"],
        &["may", "mai", "mayo"],
        &["june", "jun", "juni", "juin", "junio"],
        &["july", "jul", "juli", "juillet", "juil", "julio"],
        &["august", "aug", "août", "agosto", "ago"],
        &["september", "sep", "sept", "septembre", "septiembre"],
        &["october", "oct", "oktober", "okt", "octobre", "octubre"],
        &["november", "nov", "novembre", "noviembre"],
        &["december", "dec", "dezember", "dez", "décembre", "déc", "diciembre", "dic"],
    ];
    let end = text.find(|c: char| !c.is_alphabetic()).unwrap_or(text.len());
    let (name, rest) = text.split_at(end);
    let name = crate::words::fold(name);
    (1..)
        .zip(NAMES)
        .find(|(_, names)| names.contains(&name.as_str()))
        .map(|(n, _)| (n, rest.trim_start_matches('.')))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn show(text: &str, form: Option<&str>, zone: Option<i32>) -> String {
        let form = form.map(|f| DateForm::parse(f).unwrap());
        match read(text, form.as_ref(), zone) {
            Ok(Written::Moment(m)) => m.to_string(),
            Ok(Written::Day(d)) => d.to_string(),
            Ok(Written::Clock(t)) => t.to_string(),
            Err(problem) => format!("{problem:?}"),
        }
    }

    #[test]
    fn iso_and_dotted_are_read_without_being_told() {
        assert_eq!(show("2026-03-12T09:30:00+01:00", None, None), "2026-03-12T09:30:00+01:00");
        assert_eq!(show("2026-03-12T09:30:00-08:00", None, None), "2026-03-12T09:30:00-08:00");
        assert_eq!(show("2026-03-12 09:30", None, None), "2026-03-12T09:30:00");
        assert_eq!(show("2026-03-12 09:30", None, Some(3600)), "2026-03-12T09:30:00+01:00");
        assert_eq!(show("2026-03-12T09:30:00.125Z", None, None), "2026-03-12T09:30:00.125Z");
        assert_eq!(show("12.3.2026 9:05:01", None, None), "2026-03-12T09:05:01");
        assert_eq!(show("12.03.2026", None, None), "2026-03-12");
        assert_eq!(show("9:30 pm", None, None), "21:30:00");
        assert_eq!(show("12:05 AM", None, None), "00:05:00");
    }

    #[test]
    fn other_orders_need_to_be_declared() {
        assert_eq!(show("03/04/2026 10:00", None, None), "Order");
        assert_eq!(show("03/04/2026 10:00", Some("dd/mm/yyyy"), None), "2026-04-03T10:00:00");
        assert_eq!(show("03/04/2026 10:00", Some("mm/dd/yyyy"), None), "2026-03-04T10:00:00");
        assert_eq!(show("4-Mar-26", Some("d-mmm-yy"), None), "2026-03-04");
        assert_eq!(show("46284.5", None, None), "Serial");
        // 46284 days after 1899-12-30 (checked with Python's datetime).
        assert_eq!(show("46284.5", Some("serial"), None), "2026-09-19T12:00:00");
    }

    #[test]
    fn what_does_not_exist_is_refused() {
        for text in
            ["2026-02-30T10:00:00Z", "30.02.2026", "2026-06-30T23:59:60Z", "2026-01-01 25:00", "13:00 pm"]
        {
            assert_eq!(show(text, None, None), "Impossible", "{text}");
        }
        for text in ["soon", "2026-01-01x", "2026-01-01T10", "é", "12.03.26"] {
            assert_eq!(show(text, None, None), "NotATime", "{text}");
        }
    }

    #[test]
    fn offsets() {
        assert_eq!(offset("+01:00"), Some(3600));
        assert_eq!(offset("-0330"), Some(-12600));
        assert_eq!(offset("+1"), None);
        assert_eq!(offset("Europe/Berlin"), None);
    }
}
