//! Which words of a running text belong on one line: a number and its unit, a sign and its number, the parts of a
//! clause's number, an initial and its name, a number in brackets and what it counts; and which word is never broken
//! at its hyphens.
//!
//! Texts come from templates, from the assessment, from standards' data and from what people typed, and most part
//! these by a plain space. The page model joins them, so that every paper breaks its lines beside them and none
//! between.

use std::ops::Range;

/// Signs of units that stand behind a number; `j` are days in French.
const UNITS: &[&str] = &[
    "%", "‰", "V", "kV", "mV", "A", "mA", "kA", "W", "s", "ms", "µs", "ns", "ps", "min", "h", "d", "j", "Hz",
    "kHz", "MHz", "GHz", "pF", "nF", "µF", "Ω", "kΩ", "MΩ", "GΩ", "ohm", "mm", "cm", "m", "km", "µm", "nm",
    "g", "kg", "°C", "K", "hPa", "kPa", "Pa", "dB", "J", "mJ", "µJ", "C", "nC", "µC", "V/A", "A/V", "V/m",
    "kV/m", "m/s", "A/ns", "GS/s", "MS/s", "kS/s",
];

/// Publishers of standards, behind which the standard's number stands.
const PUBLISHERS: &[&str] = &["ISO/IEC", "IEC", "ISO", "EN", "CISPR", "OIML", "JIS"];

/// What Japanese counts with and parts dates by, without a space behind the number.
const COUNTERS: &[char] = &['年', '月', '日', '時', '分', '秒', '回', '個', '件', '枚', '点', '行', '系'];

/// Signs that belong to the number behind them.
const SIGNS: &[&str] = &["±", "≤", "≥", "<", ">", "≈", "~"];

/// Whether no line may end between `before`, what stands so far, and the next word.
pub(crate) fn joined(before: &str, word: &str) -> bool {
    let last = before.rsplit(|c: char| c.is_whitespace()).next().unwrap_or(before);
    if last.ends_with(|c: char| c.is_ascii_digit()) {
        return unit(word) || number_of_clause(last) && part_of_clause(word);
    }
    // `Second peak, A` at the head of a column.
    last.ends_with(',') && UNITS.contains(&word)
        || SIGNS.contains(&last) && word.starts_with(|c: char| c.is_ascii_digit())
        || word.starts_with(|c: char| c.is_ascii_digit()) && publisher(last)
        || initial(last) && word.starts_with(char::is_uppercase)
        || !last.is_empty() && number_in_brackets(word)
}

/// Whether a word is a short name with hyphens, of a report, a point or a standard, whose parts mean nothing alone:
/// `OPL-26-0117`, `VCP-F`, `iec-61000-4-2-ed2`; capitals on both sides of a stroke, `ISO/IEC`; or a span of numbers,
/// `860\u{2013}1060`. Words such as `battery-backed` or `and/or` may part.
pub(crate) fn name(word: &str) -> bool {
    let word = word.trim_matches(|c: char| !c.is_ascii_alphanumeric());
    if word.len() > 20 {
        return false;
    }
    if let Some((least, most)) = word.split_once('\u{2013}') {
        let number = |of: &str| {
            !of.is_empty() && of.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | ',' | '\u{2212}'))
        };
        return number(least) && number(most);
    }
    if !word.contains('-') {
        let capitals = |of: &str| !of.is_empty() && of.bytes().all(|b| b.is_ascii_uppercase());
        return word.split_once('/').is_some_and(|(first, second)| capitals(first) && capitals(second));
    }
    word.split('-').all(|part| {
        !part.is_empty() && part.chars().all(|c| c.is_ascii_alphanumeric() || matches!(c, '.' | '/'))
    }) && (word.bytes().any(|b| b.is_ascii_digit()) || !word.bytes().any(|b| b.is_ascii_lowercase()))
}

/// The first stretch of a word that is never broken, where scripts that write without spaces make it part of a longer
/// one: a number with what it counts, a date, a span of numbers: `2026年3月12日`, `0回`, `860\u{2013}1060`.
pub(crate) fn stretch(word: &str) -> Option<Range<usize>> {
    if word.is_ascii() {
        return None;
    }
    let digit = |c: char| c.is_ascii_digit();
    let (mut start, mut joined, mut before) = (0, false, ' ');
    for (at, c) in word.char_indices() {
        let more = word.get(at + c.len_utf8()..).unwrap_or("").starts_with(digit);
        // Two times of day may part: they are long.
        let time = || word.get(..start).is_some_and(|before| before.ends_with(':'));
        let goes_on = match c {
            c if digit(c) => {
                digit(before) || matches!(before, '.' | ',' | '年' | '月' | '\u{2013}') && at > start
            }
            '.' | ',' => digit(before) && more,
            '\u{2013}' => digit(before) && more && !time(),
            c => digit(before) && COUNTERS.contains(&c),
        };
        if !goes_on {
            if joined {
                return Some(start..at);
            }
            start = at;
        }
        joined |= goes_on && !digit(c) && !matches!(c, '.' | ',');
        before = if goes_on || digit(c) { c } else { ' ' };
    }
    joined.then_some(start..word.len())
}

/// `(5)`, perhaps with a mark behind it.
fn number_in_brackets(word: &str) -> bool {
    let inside =
        word.trim_end_matches([',', ';', ':', '.']).strip_prefix('(').and_then(|w| w.strip_suffix(')'));
    inside.is_some_and(|number| !number.is_empty() && number.bytes().all(|b| b.is_ascii_digit()))
}

/// `ISO/IEC`, perhaps right behind a bracket or a mark.
fn publisher(word: &str) -> bool {
    let before = PUBLISHERS.iter().find_map(|publisher| word.strip_suffix(publisher));
    before.is_some_and(|before| {
        !before.ends_with(|c: char| c.is_ascii_alphanumeric() || matches!(c, '/' | '-'))
    })
}

/// `10` or `7.8.2.1`, perhaps behind a bracket.
fn number_of_clause(word: &str) -> bool {
    word.trim_start_matches('(').chars().all(|c| c.is_ascii_digit() || c == '.')
}

/// `R4` of `10 R4`, `b` of `7.8.2.1 b`.
fn part_of_clause(word: &str) -> bool {
    let word = word.trim_end_matches([',', ';', ':', '.', ')']);
    match word.strip_prefix(|c: char| c.is_ascii_uppercase()) {
        Some(number) => !number.is_empty() && number.len() < 3 && number.bytes().all(|b| b.is_ascii_digit()),
        None => word.len() == 1 && word.bytes().all(|b| b.is_ascii_lowercase()),
    }
}

/// `I.` of a name, perhaps right behind a mark.
fn initial(word: &str) -> bool {
    word.strip_suffix('.').is_some_and(|rest| {
        let mut back = rest.chars().rev();
        back.next().is_some_and(char::is_uppercase)
            && back.next().is_none_or(|c| !c.is_alphanumeric() && c != '/')
    })
}

/// Whether a word is a unit, perhaps with a mark behind it.
fn unit(word: &str) -> bool {
    // Two letters stand for one sign each: micro and ohm have signs of their own beside the Greek letters.
    let same = |c: char| match c {
        '\u{3bc}' => 'µ',
        '\u{2126}' => 'Ω',
        c => c,
    };
    let of_unit = |c: char| c.is_alphabetic() || matches!(c, '%' | '‰' | '°' | '/' | 'µ');
    // Scripts that write without spaces go on behind the unit.
    let ideographic = |c: char| matches!(u32::from(c), 0x3000..=0x9fff | 0xf900..=0xfaff | 0xff00..=0xffef);
    let end = word.find(|c: char| !of_unit(c) || ideographic(c)).unwrap_or(word.len());
    let (sign, after) = word.split_at(end);
    let per = sign.ends_with('/');
    let sign: String = sign.trim_end_matches('/').chars().map(same).collect();
    UNITS.contains(&sign.as_str()) && (per || !after.starts_with(|c: char| c.is_ascii_digit()))
}

#[cfg(test)]
mod tests {
    use super::*;

    const JOINED: bool = true;
    const PARTED: bool = false;

    fn all(wanted: bool, words: &[(&str, &str)]) {
        for (before, word) in words {
            assert_eq!(joined(before, word), wanted, "{before} | {word}");
        }
    }

    #[test]
    fn numbers_keep_their_japanese_counters() {
        let found = |word: &'static str| stretch(word).map(|at| &word[at]);
        assert_eq!(found("（2026年3月12日から"), Some("2026年3月12日"));
        assert_eq!(found("影響が0回のとき"), Some("0回"));
        assert_eq!(found("抵抗：846\u{2013}1034"), Some("846\u{2013}1034"));
        assert_eq!(found("0.25\u{2013}1.5年"), Some("0.25\u{2013}1.5年"));
        assert_eq!(found("09:05:00\u{2013}09:05:54"), None);
        assert_eq!(found("年3、12.5\u{2013}"), None);
        assert_eq!(found("12 March"), None);
    }

    #[test]
    fn a_number_keeps_its_unit() {
        all(
            JOINED,
            &[
                ("contact +4", "kV"),
                ("at 30", "ns,"),
                ("8,0", "kV)"),
                ("150", "pF/330"),
                ("45", "%."),
                ("21", "°C;"),
                ("1", "\u{3bc}s"),
                ("330", "\u{2126}"),
                ("10.14", "A/V"),
                ("接触 4", "kV、気中"),
                ("間隔 1", "sで"),
                ("23 ±", "2"),
                ("≤", "0.8"),
                ("(1", "d"),
            ],
        );
    }

    #[test]
    fn clauses_and_names_stay_whole() {
        all(
            JOINED,
            &[
                ("7.8.2.1", "l"),
                ("ISO/IEC 17025:2017 7.8.2.1", "j)"),
                ("10", "R4"),
                ("(8.3", "P1"),
                ("08:15; I.", "Marsh"),
                ("08:15；I.", "Marsh"),
                ("Zweites Maximum,", "nC"),
                ("nC", "(5);"),
                ("(ISO/IEC", "17025:2017"),
                ("）；ISO/IEC", "17025:2017"),
            ],
        );
    }

    #[test]
    fn other_words_part() {
        all(
            PARTED,
            &[
                ("contact", "kV"),
                ("row 13", "of"),
                ("4", "to"),
                ("3", "sides"),
                ("12", "March"),
                ("5", "m2"),
                ("G-1", "Attenuator"),
                ("x", "2"),
                ("traces/pos-1", "b"),
                ("7.8.2.1", "R400"),
                ("item.", "Marsh"),
                ("I.", "marsh"),
                ("XI.", "Marsh"),
                ("by hand,", "A."),
                ("together 10 A/V.", "The"),
                ("", "V"),
                ("8", ""),
                ("", "(5)"),
                ("table", "(5 rows)"),
                ("HIDDEN", "2"),
            ],
        );
    }

    #[test]
    fn short_names_stay_whole() {
        for word in [
            "OPL-26-0117,",
            "(iec-61000-4-2-ed2)",
            "VCP-F",
            "4-20",
            "ISO/IEC-1.2",
            "（ISO/IEC",
            "(860\u{2013}1060)",
        ] {
            assert!(name(word), "{word}");
        }
        for word in [
            "battery-backed",
            "and/or",
            "150/330",
            "OPL",
            "-",
            "4-",
            "a\u{2013}4",
            "of-a-name-that-is-longer-than-20",
            "-8",
        ] {
            assert!(!name(word), "{word}");
        }
    }
}
