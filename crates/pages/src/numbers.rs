//! Numbers and dates as a language writes them.

use rust_decimal::{Decimal, RoundingStrategy};
use std::str::FromStr;

/// How a language writes numbers and dates.
#[derive(Clone, Debug)]
pub struct Numbers {
    decimal: String,
    group: String,
    date: String,
    moment: String,
    months: Vec<String>,
}

/// What a number is cut to.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Cut {
    /// Digits after the decimal sign.
    pub places: Option<u32>,
    /// Significant digits.
    pub digits: Option<u32>,
    /// A plus sign before positive numbers.
    pub sign: bool,
    /// Groups of three from five digits on.
    pub group: bool,
}

impl Numbers {
    pub(crate) fn new(
        decimal: String,
        group: String,
        date: String,
        moment: String,
        months: Vec<String>,
    ) -> Self {
        Self { decimal, group, date, moment, months }
    }

    /// The sign before decimals.
    pub(crate) fn decimal(&self) -> &str {
        &self.decimal
    }

    /// Sets a decimal number. Rounds half away from zero; keeps the digits as given where no cut is asked for.
    /// None when the text is no number.
    pub fn number(&self, text: &str, cut: Cut) -> Option<String> {
        let mut value = Decimal::from_str(text).or_else(|_| Decimal::from_scientific(text)).ok()?;
        if let Some(digits) = cut.digits {
            value = value.round_sf_with_strategy(digits, RoundingStrategy::MidpointAwayFromZero)?;
            value = pad(value, digits);
        }
        if let Some(places) = cut.places {
            value = value.round_dp_with_strategy(places, RoundingStrategy::MidpointAwayFromZero);
            value.rescale(places);
        }
        Some(self.localise(&value.to_string(), cut))
    }

    fn localise(&self, text: &str, cut: Cut) -> String {
        let (negative, digits) = match text.strip_prefix('-') {
            Some(rest) => (rest.bytes().any(|b| (b'1'..=b'9').contains(&b)), rest),
            None => (false, text),
        };
        let (whole, fraction) = digits.split_once('.').unwrap_or((digits, ""));
        let mut out = String::new();
        if negative {
            out.push('\u{2212}');
        } else if cut.sign && digits.bytes().any(|b| (b'1'..=b'9').contains(&b)) {
            out.push('+');
        }
        if cut.group {
            for (i, c) in whole.chars().enumerate() {
                if i > 0 && (whole.len() - i) % 3 == 0 {
                    out.push_str(&self.group);
                }
                out.push(c);
            }
        } else {
            out.push_str(whole);
        }
        if !fraction.is_empty() {
            out.push_str(&self.decimal);
            out.push_str(fraction);
        }
        out
    }

    /// Sets a time given as `2026-03-12T09:30:00+01:00`: date, hours and minutes (seconds where they are not
    /// zero), and the offset from UTC where there is one. None when it is no such time.
    pub fn moment(&self, text: &str) -> Option<String> {
        let date = self.date(text)?;
        let (clock, offset) = clock(text)?;
        let clock = without_seconds(clock).unwrap_or(clock);
        Some(self.moment.replace("{date}", &date).replace("{time}", &format!("{clock}{offset}")))
    }

    /// Sets two times as one span: within a day the date stands once, and seconds stand at both ends or at
    /// neither. None when one is no time.
    pub fn moments(&self, first: &str, last: &str) -> Option<String> {
        let date = self.date(first)?;
        let ((from, offset), (to, other)) = (clock(first)?, clock(last)?);
        if first.get(..10) != last.get(..10) || offset != other {
            return Some(format!("{} \u{2013} {}", self.moment(first)?, self.moment(last)?));
        }
        let (from, to) = without_seconds(from).zip(without_seconds(to)).unwrap_or((from, to));
        let span = if from == to { from.to_owned() } else { format!("{from}\u{2013}{to}") };
        Some(self.moment.replace("{date}", &date).replace("{time}", &format!("{span}{offset}")))
    }

    /// Sets a date given as `2026-03-12` (a time after it is left out). None when it is no date.
    pub fn date(&self, text: &str) -> Option<String> {
        let date = jiff::civil::Date::from_str(text.get(..10)?).ok()?;
        let month = usize::try_from(date.month()).ok()?;
        let name = self.months.get(month.checked_sub(1)?)?;
        Some(
            self.date
                .replace("{d}", &date.day().to_string())
                .replace("{dd}", &format!("{:02}", date.day()))
                .replace("{mm}", &format!("{:02}", date.month()))
                .replace("{month}", name)
                .replace("{yyyy}", &format!("{:04}", date.year())),
        )
    }
}

/// The time of day of a text like `2026-03-12T09:30:00+01:00`, and its offset from UTC in words.
fn clock(text: &str) -> Option<(&str, String)> {
    let time = text.get(10..)?.strip_prefix(['T', ' '])?;
    let end = time.find(['+', '-', 'Z']).unwrap_or(time.len());
    let (clock, offset) = time.split_at(end);
    let offset = match offset {
        "" => String::new(),
        "Z" => " UTC".to_owned(),
        other => format!(" UTC{}", other.replace('-', "\u{2212}")),
    };
    Some((clock, offset))
}

/// Hours and minutes of a time of day whose seconds are zero or not given.
fn without_seconds(clock: &str) -> Option<&str> {
    if clock.len() == 5 { Some(clock) } else { clock.strip_suffix(":00").filter(|c| c.len() == 5) }
}

/// Gives a rounded number back the zeros that its significant digits ask for.
fn pad(mut value: Decimal, digits: u32) -> Decimal {
    if value.is_zero() {
        return value;
    }
    let mantissa = value.mantissa().unsigned_abs().to_string().len() as u32;
    if mantissa < digits {
        value.rescale(value.scale() + digits - mantissa);
    } else if mantissa > digits && value.scale() > 0 {
        value.rescale(value.scale().saturating_sub(mantissa - digits));
    }
    value
}

#[cfg(test)]
mod tests {
    use super::*;

    fn german() -> Numbers {
        let months = "Januar Februar März April Mai Juni Juli August September Oktober November Dezember";
        Numbers::new(
            ",".into(),
            "\u{202f}".into(),
            "{d}. {month} {yyyy}".into(),
            "{date}, {time}".into(),
            months.split(' ').map(Into::into).collect(),
        )
    }

    #[test]
    fn numbers() {
        let n = german();
        let cut = Cut::default();
        assert_eq!(n.number("-8.0", cut).as_deref(), Some("\u{2212}8,0"));
        assert_eq!(n.number("8", Cut { sign: true, ..cut }).as_deref(), Some("+8"));
        assert_eq!(n.number("-0.0", cut).as_deref(), Some("0,0"));
        assert_eq!(n.number("14.9212925647", Cut { digits: Some(3), ..cut }).as_deref(), Some("14,9"));
        assert_eq!(n.number("0.8", Cut { digits: Some(3), ..cut }).as_deref(), Some("0,800"));
        assert_eq!(n.number("9.996", Cut { digits: Some(3), ..cut }).as_deref(), Some("10,0"));
        assert_eq!(
            n.number("1234567", Cut { group: true, ..cut }).as_deref(),
            Some("1\u{202f}234\u{202f}567")
        );
        assert_eq!(n.number("1.5e3", cut).as_deref(), Some("1500"));
        assert_eq!(n.number("2.345", Cut { places: Some(2), ..cut }).as_deref(), Some("2,35"));
        assert_eq!(n.number("eight", cut), None);
        assert_eq!(n.number("1,5", cut), None);
    }

    #[test]
    fn dates() {
        assert_eq!(german().date("2026-03-12").as_deref(), Some("12. März 2026"));
        assert_eq!(german().date("2026-03-12T09:30:00+01:00").as_deref(), Some("12. März 2026"));
        assert_eq!(german().date("2026-13-12"), None);
        assert_eq!(german().date("12.03.2026"), None);
        assert_eq!(
            german().moment("2026-03-12T09:30:00+01:00").as_deref(),
            Some("12. März 2026, 09:30 UTC+01:00")
        );
        assert_eq!(german().moment("2026-03-12T09:30:05").as_deref(), Some("12. März 2026, 09:30:05"));
        assert_eq!(german().moment("2026-03-12"), None);
    }

    #[test]
    fn spans() {
        let span = |first, last| german().moments(first, last).unwrap();
        assert_eq!(
            span("2026-03-12T09:05:00", "2026-03-12T09:05:54"),
            "12. März 2026, 09:05:00\u{2013}09:05:54"
        );
        assert_eq!(span("2026-03-12T09:05", "2026-03-12T09:07:00"), "12. März 2026, 09:05\u{2013}09:07");
        assert_eq!(span("2026-03-12T09:05", "2026-03-12T09:05:00"), "12. März 2026, 09:05");
        assert_eq!(
            span("2026-03-12T09:05+01:00", "2026-03-12T09:07+01:00"),
            "12. März 2026, 09:05\u{2013}09:07 UTC+01:00"
        );
        // Another day or another offset: both stand in full.
        assert_eq!(
            span("2026-03-12T23:59", "2026-03-13T00:01"),
            "12. März 2026, 23:59 \u{2013} 13. März 2026, 00:01"
        );
        assert_eq!(
            span("2026-03-12T09:05Z", "2026-03-12T09:07+01:00"),
            "12. März 2026, 09:05 UTC \u{2013} 12. März 2026, 09:07 UTC+01:00"
        );
        assert_eq!(german().moments("2026-03-12T09:05", "2026-03-12"), None);
    }
}
