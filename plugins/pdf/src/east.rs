//! Japanese signs that give up half their room beside others (JIS X 4051 and the W3C's requirements for Japanese
//! layout, from memory).

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

#[cfg(test)]
mod tests {
    use super::*;

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
