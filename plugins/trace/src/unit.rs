//! Units of columns, and how a header, a units row or a preamble writes them.

/// What a column measures, with the factor to our unit as a multiplier or a divisor (one of them is 1, so
/// that `5 mA` becomes exactly the double nearest to 0.005).
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Unit {
    pub(crate) kind: Kind,
    multiplier: f64,
    divisor: f64,
}

/// What a unit measures.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    /// Time; ours is the nanosecond.
    Time,
    /// Current; ours is the ampere.
    Current,
    /// Voltage; ours is the volt.
    Voltage,
    /// Samples per time; ours is samples per nanosecond.
    Rate,
}

impl Unit {
    /// A number in this unit, in ours.
    pub(crate) fn convert(self, value: f64) -> f64 {
        value * self.multiplier / self.divisor
    }
}

/// Symbol in lower case, what it measures, multiplier and divisor to our unit.
const UNITS: &[(&str, Kind, f64, f64)] = &[
    ("s", Kind::Time, 1e9, 1.0),
    ("sec", Kind::Time, 1e9, 1.0),
    ("second", Kind::Time, 1e9, 1.0),
    ("seconds", Kind::Time, 1e9, 1.0),
    ("ms", Kind::Time, 1e6, 1.0),
    ("us", Kind::Time, 1e3, 1.0),
    ("\u{b5}s", Kind::Time, 1e3, 1.0),
    ("\u{3bc}s", Kind::Time, 1e3, 1.0),
    ("ns", Kind::Time, 1.0, 1.0),
    ("ps", Kind::Time, 1.0, 1e3),
    ("fs", Kind::Time, 1.0, 1e6),
    ("a", Kind::Current, 1.0, 1.0),
    ("amp", Kind::Current, 1.0, 1.0),
    ("amps", Kind::Current, 1.0, 1.0),
    ("ampere", Kind::Current, 1.0, 1.0),
    ("amperes", Kind::Current, 1.0, 1.0),
    ("ma", Kind::Current, 1.0, 1e3),
    ("ka", Kind::Current, 1e3, 1.0),
    ("v", Kind::Voltage, 1.0, 1.0),
    ("volt", Kind::Voltage, 1.0, 1.0),
    ("volts", Kind::Voltage, 1.0, 1.0),
    ("mv", Kind::Voltage, 1.0, 1e3),
    ("\u{b5}v", Kind::Voltage, 1.0, 1e6),
    ("\u{3bc}v", Kind::Voltage, 1.0, 1e6),
    ("uv", Kind::Voltage, 1.0, 1e6),
    ("sa/s", Kind::Rate, 1.0, 1e9),
    ("s/s", Kind::Rate, 1.0, 1e9),
    ("hz", Kind::Rate, 1.0, 1e9),
    ("msa/s", Kind::Rate, 1.0, 1e3),
    ("ms/s", Kind::Rate, 1.0, 1e3),
    ("mhz", Kind::Rate, 1.0, 1e3),
    ("gsa/s", Kind::Rate, 1.0, 1.0),
    ("gs/s", Kind::Rate, 1.0, 1.0),
    ("ghz", Kind::Rate, 1.0, 1.0),
];

/// The unit that a text is the symbol of, brackets aside; capitals don't matter (nobody records megaseconds).
pub(crate) fn unit(text: &str) -> Option<Unit> {
    let text = text.trim().trim_matches(['[', ']', '(', ')', '"']).trim().to_lowercase();
    UNITS.iter().find(|(symbol, ..)| *symbol == text).map(|(_, kind, multiplier, divisor)| Unit {
        kind: *kind,
        multiplier: *multiplier,
        divisor: *divisor,
    })
}

/// What stands in square brackets at the end of a header, which is where a unit belongs: `lb` in `current [lb]`.
pub(crate) fn symbol_in_brackets(header: &str) -> Option<&str> {
    let (_, symbol) = header.trim().trim_matches('"').trim().strip_suffix(']')?.rsplit_once('[')?;
    let symbol = symbol.trim();
    (!symbol.is_empty()).then_some(symbol)
}

/// A column's name and unit, from its header: `t [ns]`, `i (A)`, `time_s`, `Current/A`, `Time in s`, `Volt`.
pub(crate) fn name_and_unit(header: &str) -> (String, Option<Unit>) {
    let header = header.trim().trim_matches('"').trim();
    if let Some(found) = unit(header) {
        return (header.to_owned(), Some(found));
    }
    for (open, close) in [('[', ']'), ('(', ')')] {
        if let Some(inner) = header.strip_suffix(close)
            && let Some((name, symbol)) = inner.rsplit_once(open)
        {
            return (name.trim().to_owned(), unit(symbol));
        }
    }
    for separator in [" in ", "/", "_", ",", " "] {
        if let Some((name, symbol)) = header.rsplit_once(separator)
            && !name.trim().is_empty()
            && let Some(found) = unit(symbol)
        {
            return (name.trim().to_owned(), Some(found));
        }
    }
    (header.to_owned(), None)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn headers_give_name_and_unit() {
        for (header, name, kind, one) in [
            ("time_s", "time", Kind::Time, 1e9),
            ("t [ns]", "t", Kind::Time, 1.0),
            ("i [A]", "i", Kind::Current, 1.0),
            ("\"CH1 (mV)\"", "CH1", Kind::Voltage, 1e-3),
            ("Current/mA", "Current", Kind::Current, 1e-3),
            ("Time in \u{b5}s", "Time", Kind::Time, 1e3),
            ("Second", "Second", Kind::Time, 1e9),
            ("Time, ps", "Time", Kind::Time, 1e-3),
        ] {
            let (found, unit) = name_and_unit(header);
            let unit = unit.unwrap();
            assert_eq!((found.as_str(), unit.kind, unit.convert(1.0)), (name, kind, one), "{header}");
        }
        for header in ["Time", "CH1", "value", "U [bar]", "status"] {
            assert_eq!(name_and_unit(header).1, None, "{header}");
        }
    }
}
