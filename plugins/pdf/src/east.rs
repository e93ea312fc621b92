//! How Japanese is set: signs that take half their room beside others, and what a line's end may not part
//! (JIS X 4051 and the W3C's requirements for Japanese layout, from memory).

use crate::paragraph::Glyph;

/// Brackets and stops whose right half is blank.
const CLOSING: &[char] = &[
    '\u{3001}', '\u{3002}', '\u{ff0c}', '\u{ff0e}', '\u{ff09}', '\u{300d}', '\u{300f}', '\u{3011}',
    '\u{3009}', '\u{300b}', '\u{ff3d}', '\u{ff5d}',
];
/// Brackets whose left half is blank, and signs with blanks at both sides.
const OPENING: &[char] = &[
    '\u{ff08}', '\u{300c}', '\u{300e}', '\u{3010}', '\u{3008}', '\u{300a}', '\u{ff3b}', '\u{ff5b}',
    '\u{ff1a}', '\u{ff1b}', '\u{30fb}',
];

/// Whether the sign before a byte gives up the blank behind it, because the next one brings or needs none.
pub(crate) fn tight(text: &str, at: usize) -> bool {
    let Some((before, after)) = text.split_at_checked(at) else { return false };
    before.ends_with(CLOSING) && after.starts_with(|c| CLOSING.contains(&c) || OPENING.contains(&c))
}

/// Takes the blanks away between brackets and stops of full width that follow each other, and behind the last sign
/// where `last` says so.
pub(crate) fn close_up(glyphs: &mut [Glyph], text: &str, last: bool) {
    if text.is_ascii() || !text.contains(CLOSING) {
        return;
    }
    for glyph in glyphs {
        let start = glyph.cluster as usize;
        let Some(sign) = text.get(start..).and_then(|rest| rest.chars().next()) else { continue };
        let end = start + sign.len_utf8();
        // A font with narrow brackets has no blank to give up.
        let wide = CLOSING.contains(&sign) && glyph.advance > 0.95;
        if wide && (tight(text, end) || last && end == text.len()) {
            glyph.advance -= 0.5;
        }
    }
}

/// Whether a number and what it counts meet before a byte, as in a date, or both ends of a span of numbers.
pub(crate) fn one(text: &str, at: usize) -> bool {
    const COUNTED: &[char] = &[
        '\u{5e74}', '\u{6708}', '\u{65e5}', '\u{6642}', '\u{5206}', '\u{79d2}', '\u{56de}', '\u{500b}',
        '\u{4ef6}', '\u{679a}', '\u{70b9}', '\u{884c}',
    ];
    let Some((before, after)) = text.split_at_checked(at) else { return false };
    let digit = |c: char| c.is_ascii_digit();
    match before.chars().next_back() {
        Some(c) if digit(c) => after.starts_with(COUNTED),
        Some('\u{5e74}' | '\u{6708}') => after.starts_with(digit),
        Some('\u{2013}') if after.starts_with(digit) => {
            let number = before.trim_end_matches('\u{2013}');
            let rest = number.trim_end_matches(|c: char| digit(c) || matches!(c, '.' | ','));
            // Two times of day may part: they are long.
            rest.len() < number.len() && !rest.ends_with(':')
        }
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Whether a line may end inside a text, by the sign that it would end behind.
    fn parted(text: &str) -> Vec<char> {
        let ends = text.char_indices().skip(1).filter(|(at, _)| !one(text, *at));
        ends.filter_map(|(at, _)| text[..at].chars().next_back()).collect()
    }

    #[test]
    fn dates_counts_and_spans_stay_whole() {
        assert_eq!(
            parted("\u{ff08}2026\u{5e74}3\u{6708}12\u{65e5}").iter().filter(|c| !c.is_ascii_digit()).count(),
            1
        );
        assert!(one("0\u{56de}", 1) && one("846\u{2013}1034", 6));
        assert!(!one("09:05:00\u{2013}09:05:54", 11) && !one("a\u{2013}1", 4) && !one("2026\u{5e74}", 2));
    }

    #[test]
    fn brackets_and_stops_close_up() {
        let glyph = |cluster| Glyph { id: 1, cluster, advance: 1.0, dx: 0.0, dy: 0.0 };
        let text = "\u{8868}\u{ff09}\u{3001}\u{8868}";
        let mut glyphs = [glyph(0), glyph(3), glyph(6), glyph(9)];
        close_up(&mut glyphs, text, false);
        assert_eq!(glyphs.map(|g| g.advance), [1.0, 0.5, 1.0, 1.0]);
        // The next run begins with a stop.
        let mut glyphs = [glyph(0), glyph(3)];
        close_up(&mut glyphs, &text[..6], tight(text, 6));
        assert_eq!(glyphs.map(|g| g.advance), [1.0, 0.5]);
    }
}
