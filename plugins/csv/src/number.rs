//! Numbers as people and instruments write them: signs, decimal signs, thousands marks, units behind them.

use record::{Decimal, parse_decimal};

/// Which character is the decimal sign of a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum DecimalSign {
    Point,
    Comma,
}

impl DecimalSign {
    /// The word in the settings.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Point => "point",
            Self::Comma => "comma",
        }
    }

    fn character(self) -> char {
        match self {
            Self::Point => '.',
            Self::Comma => ',',
        }
    }
}

/// Sign before a number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Sign {
    None,
    Plus,
    Minus,
    /// `±`, `+/-`, `+-`.
    Both,
}

/// A number taken apart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Number<'t> {
    pub(crate) sign: Sign,
    /// The size, with the digits as typed.
    pub(crate) size: Decimal,
    /// What stands behind it, without blanks.
    pub(crate) unit: &'t str,
}

/// Why a text is not a number that can be read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Problem {
    Empty,
    NotANumber,
    /// A mark that could be a decimal sign or a thousands mark, in a file that has not shown which.
    Undecided,
    /// A mark that is a decimal sign, but not the one of the file.
    OtherDecimalSign,
    /// A thousands mark where none is allowed for.
    Thousands,
    TrailingMinus,
    Parentheses,
    /// A dash that is not a minus sign.
    Dash,
    TooLarge,
}

impl Problem {
    /// Why, in words that follow the text found.
    pub(crate) fn why(self) -> &'static str {
        match self {
            Self::Empty => "is empty",
            Self::NotANumber => "is not a number",
            Self::Undecided => "fits two readings: a decimal sign or a thousands mark",
            Self::OtherDecimalSign => "uses another decimal sign than the file",
            Self::Thousands => "could hold a thousands mark, and none is declared",
            Self::TrailingMinus => "has its minus sign behind the number",
            Self::Parentheses => "is in parentheses, which may or may not mean minus",
            Self::Dash => "starts with a dash that is not a minus sign",
            Self::TooLarge => "has more digits than a number can keep",
        }
    }

    /// What to do.
    pub(crate) fn help(self) -> &'static str {
        match self {
            Self::Empty => "write the number, or leave the row out if nothing was applied",
            Self::NotANumber | Self::TooLarge => "write the number with digits, like 8 or 0.5",
            Self::Undecided => "set `decimal = \"point\"` or `decimal = \"comma\"` for this log",
            Self::OtherDecimalSign => "write it like the others, or set `decimal` for this log",
            Self::Thousands => {
                "set `thousands = \"space\"`, `\"comma\"`, `\"point\"` or `\"apostrophe\"` for this log, or write the number without the mark"
            }
            Self::TrailingMinus | Self::Parentheses | Self::Dash => {
                "write a minus sign before the number: -8"
            }
        }
    }
}

/// How the numbers of a file are written, as far as known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub(crate) struct Style {
    pub(crate) decimal: Option<DecimalSign>,
    /// The thousands mark, where one is declared; a blank stands for every kind of space.
    pub(crate) thousands: Option<char>,
}

/// What a number's marks say about the decimal sign of its file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Evidence {
    /// No mark, or not a number.
    None,
    /// Only this sign explains it.
    Decimal(DecimalSign),
    /// Two readings.
    Ambiguous,
}

/// Splits the sign off; the rest has no blanks around it.
fn sign(text: &str) -> Result<(Sign, &str), Problem> {
    for both in ["+/-", "+-", "±", "+/\u{2212}", "+\u{2212}"] {
        if let Some(rest) = text.strip_prefix(both) {
            return Ok((Sign::Both, rest.trim_start()));
        }
    }
    let mut rest = text.chars();
    match rest.next() {
        Some('+') => Ok((Sign::Plus, rest.as_str().trim_start())),
        Some('-' | '\u{2212}') => Ok((Sign::Minus, rest.as_str().trim_start())),
        Some('\u{2010}'..='\u{2015}' | '\u{fe63}' | '\u{ff0d}') => Err(Problem::Dash),
        Some('(') => Err(Problem::Parentheses),
        _ => Ok((Sign::None, text)),
    }
}

/// Splits digits with their marks from what stands behind them.
fn digits(text: &str) -> (&str, &str) {
    let mut end = 0;
    let mut previous_digit = false;
    let bytes = text.as_bytes();
    for (at, c) in text.char_indices() {
        let next_digit =
            |skip: usize| text.get(at + skip..).is_some_and(|r| r.starts_with(|c: char| c.is_ascii_digit()));
        let belongs = match c {
            '0'..='9' => true,
            '.' | ',' => true,
            '\'' | '\u{2019}' | ' ' | '\u{a0}' | '\u{202f}' | '\u{2009}' => {
                previous_digit && next_digit(c.len_utf8())
            }
            'e' | 'E' if previous_digit || bytes.get(at.wrapping_sub(1)) == Some(&b'.') => {
                let signed = matches!(bytes.get(at + 1), Some(b'+' | b'-'));
                next_digit(1 + usize::from(signed))
            }
            '+' | '-' => matches!(bytes.get(at.wrapping_sub(1)), Some(b'e' | b'E')),
            _ => false,
        };
        if !belongs {
            break;
        }
        previous_digit = c.is_ascii_digit();
        end = at + c.len_utf8();
    }
    text.split_at(end)
}

/// What the marks of a number say, for deciding the file's decimal sign.
pub(crate) fn evidence(text: &str, thousands: Option<char>) -> Evidence {
    let Ok((_, rest)) = sign(text) else { return Evidence::None };
    let (number, _) = digits(rest);
    marks(number, thousands)
}

fn marks(number: &str, thousands: Option<char>) -> Evidence {
    let points = number.bytes().filter(|b| *b == b'.').count();
    let commas = number.bytes().filter(|b| *b == b',').count();
    let last = number.rfind(['.', ',']);
    let one = |c: char| if c == '.' { DecimalSign::Point } else { DecimalSign::Comma };
    match (points, commas, last) {
        (0, 0, _) | (_, _, None) => Evidence::None,
        (_, _, Some(_)) if points > 1 && commas > 1 => Evidence::None,
        (0, n, _) | (n, 0, _) if n > 1 => Evidence::None,
        (_, _, Some(at)) if points > 0 && commas > 0 => {
            let c = if number.as_bytes().get(at) == Some(&b'.') { '.' } else { ',' };
            Evidence::Decimal(one(c))
        }
        (_, _, Some(at)) => {
            let c = if points > 0 { '.' } else { ',' };
            if thousands == Some(c) {
                return Evidence::None;
            }
            let (whole, fraction) =
                (number.get(..at).unwrap_or_default(), number.get(at + 1..).unwrap_or_default());
            let grouped = fraction.len() == 3
                && fraction.bytes().all(|b| b.is_ascii_digit())
                && (1..=3).contains(&whole.len())
                && !whole.starts_with('0')
                && whole.bytes().all(|b| b.is_ascii_digit());
            if grouped { Evidence::Ambiguous } else { Evidence::Decimal(one(c)) }
        }
    }
}

/// Reads a number of a file with this style.
pub(crate) fn read(text: &str, style: Style) -> Result<Number<'_>, Problem> {
    if let Some(quick) = quick(text, style) {
        return Ok(quick);
    }
    if text.is_empty() {
        return Err(Problem::Empty);
    }
    let (sign, rest) = sign(text)?;
    let (number, behind) = digits(rest);
    if !number.bytes().any(|b| b.is_ascii_digit()) {
        return Err(Problem::NotANumber);
    }
    let unit = behind.trim();
    if matches!(unit, "-" | "\u{2212}") {
        return Err(Problem::TrailingMinus);
    }
    let decimal = match marks(number, style.thousands) {
        Evidence::None => style.decimal,
        Evidence::Decimal(found) => match style.decimal {
            Some(known) if known != found => {
                return Err(if is_grouped(number, found.character()) {
                    Problem::Thousands
                } else {
                    Problem::OtherDecimalSign
                });
            }
            _ => Some(found),
        },
        Evidence::Ambiguous => match style.decimal {
            None => return Err(Problem::Undecided),
            Some(known) if number.contains(known.character()) => Some(known),
            Some(_) => return Err(Problem::Thousands),
        },
    };
    let plain = plain(number, decimal, style.thousands)?;
    let size = parse_decimal(&plain).map_err(|_| {
        if plain.len() > 28 || plain.contains(['e', 'E']) { Problem::TooLarge } else { Problem::NotANumber }
    })?;
    Ok(Number { sign, size, unit })
}

/// The quick way for numbers with one reading: `8`, `-8`, `+2.5` where the decimal sign is known.
#[inline]
pub(crate) fn quick(text: &str, style: Style) -> Option<Number<'static>> {
    let (sign, digits) = match text.as_bytes() {
        [b'-', rest @ ..] => (Sign::Minus, rest),
        [b'+', rest @ ..] => (Sign::Plus, rest),
        rest => (Sign::None, rest),
    };
    if digits.len() > 17 {
        return None;
    }
    let (mut value, mut scale) = (0i64, None);
    for b in digits {
        match (b, style.decimal) {
            (b'0'..=b'9', _) => {
                value = value * 10 + i64::from(b - b'0');
                scale = scale.map(|s: u32| s + 1);
            }
            (b'.', Some(DecimalSign::Point)) | (b',', Some(DecimalSign::Comma)) if scale.is_none() => {
                scale = Some(0);
            }
            _ => return None,
        }
    }
    let ends_in_digit = digits.last().is_some_and(u8::is_ascii_digit);
    let starts_in_digit = digits.first().is_some_and(u8::is_ascii_digit);
    (starts_in_digit && ends_in_digit).then(|| Number {
        sign,
        size: Decimal::new(value, scale.unwrap_or(0)),
        unit: "",
    })
}

/// The quick way for a count.
#[inline]
pub(crate) fn quick_count(text: &str) -> Option<u32> {
    if text.is_empty() || text.len() > 9 || !text.bytes().all(|b| b.is_ascii_digit()) {
        return None;
    }
    Some(text.bytes().fold(0, |value, b| value * 10 + u32::from(b - b'0')))
}

fn is_grouped(number: &str, mark: char) -> bool {
    let mut groups = number.split(mark);
    let first = groups.next().unwrap_or_default();
    let rest: Vec<&str> = groups.collect();
    (1..=3).contains(&first.len())
        && !rest.is_empty()
        && rest.iter().all(|g| g.len() == 3)
        && number.chars().all(|c| c.is_ascii_digit() || c == mark)
}

/// A number with a decimal point and no other mark, or why it is none.
fn plain(number: &str, decimal: Option<DecimalSign>, thousands: Option<char>) -> Result<String, Problem> {
    let (mantissa, exponent) = match number.find(['e', 'E']) {
        Some(at) => number.split_at(at),
        None => (number, ""),
    };
    let decimal = decimal.map_or('.', DecimalSign::character);
    let (whole, fraction) = match mantissa.split_once(decimal) {
        Some((whole, fraction)) => (whole, Some(fraction)),
        None => (mantissa, None),
    };
    let space = |c: char| matches!(c, ' ' | '\u{a0}' | '\u{202f}' | '\u{2009}');
    let mark_of = |c: char| match c {
        c if space(c) => ' ',
        '\u{2019}' => '\'',
        c => c,
    };
    let mut marks = whole.chars().filter(|c| !c.is_ascii_digit()).map(mark_of);
    let mut out = String::with_capacity(number.len());
    match marks.next() {
        None => out.push_str(whole),
        Some(mark) => {
            // `1.234,5` has only one reading; a mark alone needs to be declared.
            let both = matches!(mark, '.' | ',') && fraction.is_some();
            if thousands != Some(mark) && !both {
                let grouped = marks.all(|m| m == mark);
                return Err(if grouped { Problem::Thousands } else { Problem::NotANumber });
            }
            if marks.any(|m| m != mark) {
                return Err(Problem::NotANumber);
            }
            for (index, group) in whole.split(|c: char| mark_of(c) == mark).enumerate() {
                let fits = if index == 0 { (1..=3).contains(&group.len()) } else { group.len() == 3 };
                if !fits || !group.bytes().all(|b| b.is_ascii_digit()) {
                    return Err(Problem::NotANumber);
                }
                out.push_str(group);
            }
        }
    }
    if let Some(fraction) = fraction {
        if !fraction.bytes().all(|b| b.is_ascii_digit()) {
            return Err(Problem::NotANumber);
        }
        if out.is_empty() {
            out.push('0');
        }
        if !fraction.is_empty() {
            out.push('.');
            out.push_str(fraction);
        }
    }
    out.push_str(exponent);
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn style(decimal: Option<DecimalSign>) -> Style {
        Style { decimal, thousands: None }
    }

    fn size(text: &str, style: Style) -> Result<String, Problem> {
        read(text, style).map(|n| format!("{:?} {} {}", n.sign, n.size, n.unit))
    }

    #[test]
    fn one_reading_is_read_with_its_digits() {
        let none = style(None);
        for (text, expected) in [
            ("8", "None 8 "),
            ("-8", "Minus 8 "),
            ("\u{2212}8.0", "Minus 8.0 "),
            ("+ 8,50 kV", "Plus 8.50 kV"),
            ("8kV", "None 8 kV"),
            ("+/-8", "Both 8 "),
            ("±15 kV", "Both 15 kV"),
            ("2.000e+00", "None 2.000 "),
            ("1.234,5", "None 1234.5 "),
            ("0,125", "None 0.125 "),
            (".5", "None 0.5 "),
            ("10x", "None 10 x"),
        ] {
            assert_eq!(size(text, none).as_deref(), Ok(expected), "{text}");
        }
    }

    #[test]
    fn two_readings_are_refused_until_one_is_declared() {
        assert_eq!(size("1,234", style(None)), Err(Problem::Undecided));
        assert_eq!(size("1.234", style(None)), Err(Problem::Undecided));
        assert_eq!(size("1.234", style(Some(DecimalSign::Point))).as_deref(), Ok("None 1.234 "));
        assert_eq!(size("1.234", style(Some(DecimalSign::Comma))), Err(Problem::Thousands));
        let german = Style { decimal: Some(DecimalSign::Comma), thousands: Some('.') };
        assert_eq!(size("1.234", german).as_deref(), Ok("None 1234 "));
        assert_eq!(size("12.34", german), Err(Problem::NotANumber));
        let spaced = Style { decimal: None, thousands: Some(' ') };
        assert_eq!(size("10\u{202f}000", spaced).as_deref(), Ok("None 10000 "));
        assert_eq!(size("10\u{a0}000", style(None)), Err(Problem::Thousands));
    }

    #[test]
    fn what_is_no_number_says_why() {
        let none = style(None);
        for (text, problem) in [
            ("", Problem::Empty),
            ("-", Problem::NotANumber),
            ("NaN", Problem::NotANumber),
            ("inf", Problem::NotANumber),
            ("four", Problem::NotANumber),
            ("=2+2", Problem::NotANumber),
            ("٤", Problem::NotANumber),
            ("8-", Problem::TrailingMinus),
            ("(8)", Problem::Parentheses),
            ("\u{2013}8", Problem::Dash),
            ("1e999", Problem::TooLarge),
        ] {
            assert_eq!(size(text, none), Err(problem), "{text}");
        }
        assert_eq!(size("8.5", style(Some(DecimalSign::Comma))), Err(Problem::OtherDecimalSign));
        assert_eq!(size("0x10", none).as_deref(), Ok("None 0 x10"));
    }
}
