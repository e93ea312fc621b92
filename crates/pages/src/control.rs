//! Characters that no paper can show as they are.

use std::borrow::Cow;

/// Replaces control characters by their pictures (U+2400 block), so that they are seen and not lost; tab and
/// line ends stay. DEL and the C1 controls become U+2421 and U+FFFD.
pub(crate) fn visible(text: &str) -> Cow<'_, str> {
    let bad = |c: char| c.is_control() && !matches!(c, '\t' | '\n' | '\r');
    if !text.contains(bad) {
        return Cow::Borrowed(text);
    }
    text.chars()
        .map(|c| match c {
            '\t' | '\n' | '\r' => c,
            '\u{0}'..='\u{1f}' => char::from_u32(0x2400 + c as u32).unwrap_or('\u{fffd}'),
            '\u{7f}' => '\u{2421}',
            c if c.is_control() => '\u{fffd}',
            c => c,
        })
        .collect::<String>()
        .into()
}
