//! Facts that stand before the table: `key,value,unit`, `key = value unit`, `key: value`.

use crate::cells::{Cell, Delimiter, Numbers};
use crate::codes;
use crate::unit::{Kind, Unit, unit};
use record::{Finding, Place};

/// A number of the preamble with the unit that stands beside it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Entry {
    pub(crate) value: f64,
    pub(crate) unit: Option<Unit>,
    pub(crate) row: u64,
}

/// What the preamble says about the samples.
#[derive(Clone, Debug, Default)]
pub(crate) struct Preamble {
    /// Time between samples.
    pub(crate) interval: Option<Entry>,
    /// Samples per time.
    pub(crate) rate: Option<Entry>,
    /// Time of the first sample.
    pub(crate) start: Option<Entry>,
    /// Unit of the time axis.
    pub(crate) time_unit: Option<(Unit, u64)>,
    /// Unit of the values.
    pub(crate) value_unit: Option<(Unit, u64)>,
    /// Number of samples.
    pub(crate) length: Option<Entry>,
    /// Codes: value = (code - offset) * multiplier + zero.
    pub(crate) multiplier: Option<Entry>,
    pub(crate) zero: Option<Entry>,
    pub(crate) offset: Option<Entry>,
}

/// What a key of the preamble means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Means {
    Interval,
    Rate,
    Start,
    TimeUnit,
    ValueUnit,
    Length,
    Multiplier,
    Zero,
    Offset,
}

/// Keys in lower case without anything that is no letter or digit.
const KEYS: &[(&str, Means)] = &[
    ("sampleinterval", Means::Interval),
    ("samplinginterval", Means::Interval),
    ("sampleperiod", Means::Interval),
    ("timeinterval", Means::Interval),
    ("timestep", Means::Interval),
    ("timeresolution", Means::Interval),
    ("dt", Means::Interval),
    ("deltat", Means::Interval),
    ("xincr", Means::Interval),
    ("xinc", Means::Interval),
    ("xincrement", Means::Interval),
    ("samplerate", Means::Rate),
    ("samplingrate", Means::Rate),
    ("samplefrequency", Means::Rate),
    ("samplingfrequency", Means::Rate),
    ("t0", Means::Start),
    ("tstart", Means::Start),
    ("starttime", Means::Start),
    ("xzero", Means::Start),
    ("xorigin", Means::Start),
    ("xunit", Means::TimeUnit),
    ("xunits", Means::TimeUnit),
    ("horizontalunit", Means::TimeUnit),
    ("horizontalunits", Means::TimeUnit),
    ("timeunit", Means::TimeUnit),
    ("timeunits", Means::TimeUnit),
    ("yunit", Means::ValueUnit),
    ("yunits", Means::ValueUnit),
    ("verticalunit", Means::ValueUnit),
    ("verticalunits", Means::ValueUnit),
    ("unit", Means::ValueUnit),
    ("units", Means::ValueUnit),
    ("valueunit", Means::ValueUnit),
    ("recordlength", Means::Length),
    ("samples", Means::Length),
    ("numberofsamples", Means::Length),
    ("points", Means::Length),
    ("numberofpoints", Means::Length),
    ("npoints", Means::Length),
    ("ymult", Means::Multiplier),
    ("yincr", Means::Multiplier),
    ("yincrement", Means::Multiplier),
    ("yzero", Means::Zero),
    ("yorigin", Means::Zero),
    ("yoff", Means::Offset),
    ("yoffset", Means::Offset),
    ("yreference", Means::Offset),
];

impl Preamble {
    /// Takes a line; true when it is a key with a value. `text` has no comment sign in front any more.
    pub(crate) fn take(
        &mut self,
        file: &str,
        text: &str,
        row: u64,
        delimiter: Delimiter,
    ) -> Result<bool, Box<Finding>> {
        let Some((key, rest)) = split(text, delimiter) else { return Ok(false) };
        let plain: String =
            key.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect();
        let Some((_, means)) = KEYS.iter().find(|(known, _)| *known == plain) else { return Ok(false) };
        let place =
            Place { file: file.to_owned(), row: Some(row), column: None, label: Some(key.to_owned()) };
        match means {
            Means::TimeUnit | Means::ValueUnit => {
                let (slot, kinds): (_, &[Kind]) = match means {
                    Means::TimeUnit => (&mut self.time_unit, &[Kind::Time]),
                    _ => (&mut self.value_unit, &[Kind::Current, Kind::Voltage]),
                };
                let found = unit(rest).filter(|unit| kinds.contains(&unit.kind));
                let Some(found) = found else {
                    let message = format!("`{rest}` is no unit that can be used here");
                    return Err(Box::new(Finding::error(codes::UNKNOWN_UNIT, message).at(place).help(
                        "state the unit: `time_unit` or `value_unit`, once the line is out of the file",
                    )));
                };
                once(slot, (found, row), place, |(unit, _)| *unit)?;
            }
            _ => {
                let Some(entry) = number_and_unit(rest, row) else { return Ok(false) };
                let slot = match means {
                    Means::Interval => &mut self.interval,
                    Means::Rate => &mut self.rate,
                    Means::Start => &mut self.start,
                    Means::Length => &mut self.length,
                    Means::Multiplier => &mut self.multiplier,
                    Means::Zero => &mut self.zero,
                    _ => &mut self.offset,
                };
                once(slot, entry, place, |entry| (entry.value, entry.unit))?;
            }
        }
        Ok(true)
    }
}

/// Fills a slot; a second value that differs is a contradiction.
fn once<T, K: PartialEq>(
    slot: &mut Option<T>,
    value: T,
    place: Place,
    key: impl Fn(&T) -> K,
) -> Result<(), Box<Finding>> {
    match slot {
        Some(earlier) if key(earlier) != key(&value) => {
            let message = "the preamble says this twice, with different values";
            Err(Box::new(
                Finding::error(codes::CONTRADICTION, message)
                    .at(place)
                    .help("take the line that is wrong out of a copy of the file, or split the file"),
            ))
        }
        Some(_) => Ok(()),
        None => {
            *slot = Some(value);
            Ok(())
        }
    }
}

/// Key and rest of a line: at `=`, else at the delimiter, else at the first of `:`, `,`, `;` and tab.
fn split(text: &str, delimiter: Delimiter) -> Option<(&str, &str)> {
    let own = match delimiter {
        Delimiter::Tab => "\t",
        Delimiter::Semicolon => ";",
        Delimiter::Comma => ",",
        Delimiter::Space | Delimiter::None => "=",
    };
    let (key, rest) = text
        .split_once('=')
        .or_else(|| text.split_once(own))
        .or_else(|| text.split_once([':', ',', ';', '\t']))?;
    Some((bare(key), bare(rest)))
}

fn bare(part: &str) -> &str {
    part.trim_matches(|c: char| c.is_whitespace() || "\",;:".contains(c))
}

/// `2e-10`, `2e-10 s`, `2e-10,s`, `2,0e-10;s`.
fn number_and_unit(rest: &str, row: u64) -> Option<Entry> {
    let mut parts = rest
        .split([';', '\t', ' '])
        .map(|part| part.trim_matches(['"', ' ']))
        .filter(|part| !part.is_empty());
    let first = parts.next()?;
    let second = parts.next();
    // With a comma between them, number and unit are still one part.
    let (number, symbol) = match first.rsplit_once(',') {
        Some((number, symbol)) if unit(symbol).is_some() => (number, Some(symbol)),
        _ => (first, second),
    };
    match Numbers::new(None).read(number.as_bytes()) {
        Cell::Number(value) => Some(Entry { value, unit: symbol.and_then(unit), row }),
        Cell::NoNumber | Cell::OverRange | Cell::Text => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn taken(lines: &[&str]) -> Preamble {
        let mut preamble = Preamble::default();
        for (row, line) in (1..).zip(lines) {
            assert!(preamble.take("a.csv", line, row, Delimiter::Comma).unwrap(), "{line}");
        }
        preamble
    }

    #[test]
    fn keys_are_found_however_they_are_written() {
        let found = taken(&[
            "Sample Interval,2e-10,s",
            "t0 = -6e-09 s",
            "\"Record Length\",\"400\"",
            "Vertical Units,mV",
        ]);
        let interval = found.interval.unwrap();
        assert_eq!((interval.value, interval.unit.unwrap().kind), (2e-10, Kind::Time));
        assert_eq!(found.start.unwrap().value, -6e-9);
        assert_eq!(found.length.unwrap().value, 400.0);
        assert_eq!(found.value_unit.unwrap().0.convert(5.0), 0.005);
        let found = taken(&["SAMPLE_RATE: 20 GSa/s", "XUNIT,s"]);
        assert_eq!(found.rate.unwrap().unit.unwrap().kind, Kind::Rate);
    }

    #[test]
    fn a_header_is_no_key() {
        let mut preamble = Preamble::default();
        for line in ["time_s,current_A", "Time,CH1,CH2", "s,V,V", "time,s", "t [ns];i [A]", "plain words"] {
            assert!(!preamble.take("a.csv", line, 1, Delimiter::Comma).unwrap_or(true), "{line}");
        }
    }

    #[test]
    fn a_contradiction_is_refused() {
        let mut preamble = Preamble::default();
        assert!(preamble.take("a.csv", "dt=1e-10 s", 1, Delimiter::Comma).unwrap());
        assert!(preamble.take("a.csv", "dt=1e-10 s", 2, Delimiter::Comma).unwrap());
        let refused = preamble.take("a.csv", "XINCR,2e-10", 3, Delimiter::Comma).unwrap_err();
        assert_eq!(refused.code, codes::CONTRADICTION);
    }
}
