//! Splitting a line into cells, and reading the number in a cell.

/// What separates cells.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Delimiter {
    Tab,
    Semicolon,
    Comma,
    /// One or more spaces or tabs.
    Space,
    /// The line is a single cell.
    None,
}

impl Delimiter {
    /// In the order in which they are preferred where two of them give the same cells.
    pub(crate) const ALL: [Self; 5] = [Self::None, Self::Tab, Self::Semicolon, Self::Comma, Self::Space];

    /// The word for it in settings and messages.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Tab => "tab",
            Self::Semicolon => "semicolon",
            Self::Comma => "comma",
            Self::Space => "space",
            Self::None => "none",
        }
    }

    /// The byte between cells, where it is always the same one.
    pub(crate) fn sign(self) -> Option<u8> {
        match self {
            Self::Tab => Some(b'\t'),
            Self::Semicolon => Some(b';'),
            Self::Comma => Some(b','),
            Self::Space | Self::None => None,
        }
    }

    /// Calls `each` with every cell of a line, spaces and quotes around it taken off.
    pub(crate) fn split<'a>(self, line: &'a [u8], mut each: impl FnMut(&'a [u8])) {
        let Some(sign) = self.sign() else {
            if self == Self::None {
                return each(bare(line));
            }
            let cells = line.split(|byte| *byte == b' ' || *byte == b'\t');
            return cells.filter(|cell| !cell.is_empty()).for_each(|cell| each(bare(cell)));
        };
        let mut rest = line;
        loop {
            let start = rest.trim_ascii_start();
            // A delimiter between quotes belongs to the cell.
            let quoted = match start.strip_prefix(b"\"") {
                Some(inside) => {
                    memchr::memchr(b'"', inside).map_or(0, |close| rest.len() - inside.len() + close)
                }
                None => 0,
            };
            match rest.get(quoted..).and_then(|tail| memchr::memchr(sign, tail)) {
                Some(at) => {
                    let (cell, more) = rest.split_at(quoted + at);
                    each(bare(cell));
                    rest = more.get(1..).unwrap_or_default();
                }
                None => return each(bare(rest)),
            }
        }
    }

    /// The cells of a line.
    pub(crate) fn cells(self, line: &[u8]) -> Vec<&[u8]> {
        let mut cells = Vec::new();
        self.split(line, |cell| cells.push(cell));
        cells
    }
}

fn bare(cell: &[u8]) -> &[u8] {
    let cell = cell.trim_ascii();
    match cell.strip_prefix(b"\"").and_then(|cell| cell.strip_suffix(b"\"")) {
        Some(inner) => inner.trim_ascii(),
        None => cell,
    }
}

/// What separates the whole part of a number from its fraction.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum DecimalSign {
    Point,
    Comma,
}

impl DecimalSign {
    /// The word for it in settings and messages.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Point => "point",
            Self::Comma => "comma",
        }
    }
}

/// What a cell holds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Cell {
    Number(f64),
    /// A word or number by which instruments say that there was none.
    NoNumber,
    /// A word or number by which instruments say that the value was out of range.
    OverRange,
    Text,
}

/// Reads numbers; it learns which decimal sign is in use where that was open, and whether it is certain that it
/// is a decimal sign and no thousands mark.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Numbers {
    pub(crate) sign: Option<DecimalSign>,
    /// A number was seen whose mark can't be a thousands mark.
    pub(crate) certain: bool,
    /// A number was seen with a mark.
    pub(crate) marked: bool,
}

impl Numbers {
    pub(crate) fn new(sign: Option<DecimalSign>) -> Self {
        Self { sign, certain: false, marked: false }
    }

    /// What a cell holds.
    pub(crate) fn read(&mut self, cell: &[u8]) -> Cell {
        let (value, mark) = match plain(cell) {
            Some(found) => found,
            None => match any_number(cell) {
                Some(found) => found,
                None => return word(cell),
            },
        };
        if let Some((at, sign)) = mark {
            let sign = if sign == b',' { DecimalSign::Comma } else { DecimalSign::Point };
            match self.sign {
                None => self.sign = Some(sign),
                Some(known) if known != sign => return Cell::Text,
                Some(_) => {}
            }
            self.marked = true;
            self.certain = self.certain || !like_thousands(cell, at);
        }
        // The numbers by which IEEE 488.2 instruments say "infinity" and "not a number".
        match value.abs() {
            size if size > 9.905e37 => Cell::NoNumber,
            size if size >= 9.9e37 => Cell::OverRange,
            _ => Cell::Number(value),
        }
    }
}

/// Where a mark stands in a cell, and which.
type Mark = Option<(usize, u8)>;

/// Powers of ten that a double holds exactly.
const POWERS: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18,
    1e19, 1e20, 1e21, 1e22,
];

/// The number in a cell, where digits and power of ten are both exact doubles, so that one multiplication or
/// division rounds correctly; this covers nearly every sample. None for anything else.
fn plain(cell: &[u8]) -> Option<(f64, Mark)> {
    let (negative, digits) = match cell.split_first() {
        Some((b'-', rest)) => (true, rest),
        Some((b'+', rest)) => (false, rest),
        _ => (false, cell),
    };
    let (mut mantissa, mut count, mut behind, mut mark) = (0u64, 0, 0i32, None);
    let mut rest = digits.iter().enumerate();
    let mut exponent = None;
    for (at, byte) in rest.by_ref() {
        match byte {
            b'0'..=b'9' => {
                mantissa = mantissa.checked_mul(10)?.checked_add(u64::from(byte - b'0'))?;
                count += 1;
                behind += i32::from(mark.is_some());
            }
            b'.' | b',' if mark.is_none() => mark = Some((at + cell.len() - digits.len(), *byte)),
            b'e' | b'E' => {
                exponent = digits.get(at + 1..);
                break;
            }
            _ => return None,
        }
    }
    let exponent = match exponent {
        None => 0,
        Some(text) => {
            let (down, digits) = match text.split_first() {
                Some((b'-', rest)) => (true, rest),
                Some((b'+', rest)) => (false, rest),
                _ => (false, text),
            };
            if !(1..=3).contains(&digits.len()) || !digits.iter().all(u8::is_ascii_digit) {
                return None;
            }
            let size = digits.iter().fold(0i32, |size, digit| size * 10 + i32::from(digit - b'0'));
            if down { -size } else { size }
        }
    };
    let power = exponent - behind;
    let scale = *POWERS.get(power.unsigned_abs() as usize)?;
    if count == 0 || mantissa > 1 << 53 {
        return None;
    }
    let size = if power < 0 { mantissa as f64 / scale } else { mantissa as f64 * scale };
    Some((if negative { -size } else { size }, mark))
}

/// The number in a cell, by the parser of the standard library; none where there is no number.
fn any_number(cell: &[u8]) -> Option<(f64, Mark)> {
    let mut buffer = [0u8; 64];
    let space = buffer.get_mut(..cell.len())?;
    let (mut mark, mut has_digit) = (None, false);
    for (at, (to, from)) in space.iter_mut().zip(cell).enumerate() {
        *to = *from;
        match from {
            b'0'..=b'9' => has_digit = true,
            b'+' | b'-' | b'e' | b'E' => {}
            b'.' | b',' if mark.is_none() => {
                mark = Some((at, *from));
                *to = b'.';
            }
            _ => return None,
        }
    }
    // Words such as `inf` and `nan` have no digit.
    let value = std::str::from_utf8(space).ok().filter(|_| has_digit)?.parse().ok()?;
    Some((value, mark))
}

/// Whether a mark could be a thousands mark: one to three digits before it, not beginning with 0, and three after.
fn like_thousands(cell: &[u8], mark: usize) -> bool {
    let before = cell.get(..mark).unwrap_or_default();
    let before = before.strip_prefix(b"-").or(before.strip_prefix(b"+")).unwrap_or(before);
    let after = cell.get(mark + 1..).unwrap_or_default();
    (1..=3).contains(&before.len())
        && before.first() != Some(&b'0')
        && after.len() == 3
        && after.iter().all(u8::is_ascii_digit)
}

/// No word for a missing value or one over range is longer, dashes and stars aside.
const LONGEST_WORD: usize = 16;

fn word(cell: &[u8]) -> Cell {
    if cell.len() > LONGEST_WORD {
        let dashes = cell.iter().all(|byte| b"*-".contains(byte));
        return if dashes { Cell::NoNumber } else { Cell::Text };
    }
    // A true minus sign (U+2212) is left for a person: no instrument writes it.
    let text = String::from_utf8_lossy(cell).to_lowercase();
    let text = text.trim_start_matches(['+', '-', '<', '>']).trim();
    match text {
        "nan" | "1.#qnan" | "1.#ind" | "n/a" | "na" | "null" | "invalid" | "" => Cell::NoNumber,
        "inf" | "infinity" | "1.#inf" | "over" | "overrange" | "over range" | "over-range" | "overflow"
        | "ovfl" | "ovrflw" | "ovr" | "ol" | "o.l" | "under" | "underrange" | "clip" | "clipped" => {
            Cell::OverRange
        }
        text if text.bytes().all(|byte| byte == b'*' || byte == b'-') => Cell::NoNumber,
        _ => Cell::Text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn delimiters_between_quotes_belong_to_the_cell() {
        let cells = |line: &str, delimiter: Delimiter| -> Vec<String> {
            let cells = delimiter.cells(line.as_bytes());
            cells.into_iter().map(|cell| String::from_utf8_lossy(cell).into_owned()).collect()
        };
        assert_eq!(cells("\"1,5\",\"2,5\"", Delimiter::Comma), ["1,5", "2,5"]);
        assert_eq!(cells("a; b ;", Delimiter::Semicolon), ["a", "b", ""]);
        assert_eq!(cells("  1.0   2.0\t3 ", Delimiter::Space), ["1.0", "2.0", "3"]);
        assert_eq!(cells("\"open,2", Delimiter::Comma), ["\"open", "2"]);
    }

    #[test]
    fn numbers_words_and_texts_are_told_apart() {
        let read = |cell: &str| Numbers::new(None).read(cell.as_bytes());
        assert_eq!(read("-5.95e-09"), Cell::Number(-5.95e-9));
        assert_eq!(read("-5,975"), Cell::Number(-5.975));
        assert_eq!(read("+.5"), Cell::Number(0.5));
        assert_eq!(read("9.91E+37"), Cell::NoNumber);
        assert_eq!(read("9.9E+37"), Cell::OverRange);
        for cell in ["", "NaN", "-nan", "--", "***"] {
            assert_eq!(read(cell), Cell::NoNumber, "{cell}");
        }
        for cell in ["inf", "-Inf", "OVER", ">OVR", "1.#INF"] {
            assert_eq!(read(cell), Cell::OverRange, "{cell}");
        }
        for cell in ["1.234,5", "1,2,3", "12a", "0x10", "1e", "e5", "1 000", "5 A"] {
            assert_eq!(read(cell), Cell::Text, "{cell}");
        }
    }

    #[test]
    fn the_fast_way_gives_what_the_standard_library_gives() {
        for text in [
            "0",
            "-0",
            "-5.95e-09",
            "0.300977",
            "1.234567890e-08",
            "9007199254740992",
            "123456789012345678",
            "1e22",
            "1e-22",
            "4.9e-324",
            "1.7976931348623157e308",
            ".5",
            "5.",
            "0.1e1",
            "2.22507385850720113605e-308",
        ] {
            let wanted: f64 = text.parse().unwrap();
            assert_eq!(Numbers::new(None).read(text.as_bytes()), any(wanted), "{text}");
            if let Some((value, _)) = plain(text.as_bytes()) {
                assert_eq!(value.to_bits(), wanted.to_bits(), "{text}");
            }
        }
        fn any(value: f64) -> Cell {
            if value > 9.905e37 { Cell::NoNumber } else { Cell::Number(value) }
        }
    }

    #[test]
    fn a_second_decimal_sign_is_no_number() {
        let mut numbers = Numbers::new(None);
        assert_eq!(numbers.read(b"7"), Cell::Number(7.0));
        assert_eq!(numbers.read(b"1,234"), Cell::Number(1.234));
        assert!(!numbers.certain && numbers.marked);
        assert_eq!(numbers.read(b"1.5"), Cell::Text);
        assert_eq!(numbers.read(b"0,512"), Cell::Number(0.512));
        assert!(numbers.certain);
    }
}
