//! Styles, and folding of long lines.

use anstyle::{AnsiColor, Style};

/// Something is wrong.
pub(crate) const BAD: Style = AnsiColor::Red.on_default().bold();
/// Something to look at.
pub(crate) const CARE: Style = AnsiColor::Yellow.on_default().bold();
/// In order.
pub(crate) const GOOD: Style = AnsiColor::Green.on_default().bold();
/// Of lesser weight.
pub(crate) const FAINT: Style = Style::new().dimmed();
/// Stands out.
pub(crate) const STRONG: Style = Style::new().bold();

/// A text in a style.
pub(crate) fn styled(style: Style, text: impl std::fmt::Display) -> String {
    format!("{}{text}{}", style.render(), style.render_reset())
}

/// Folds a text at spaces to a width; lines after the first are indented.
pub(crate) fn fold(text: &str, width: usize, indent: &str) -> String {
    let mut folded = String::new();
    let mut column = 0;
    for word in text.split_whitespace() {
        let length = word.chars().count();
        if column > 0 && column + 1 + length > width {
            folded.push('\n');
            folded += indent;
            column = 0;
        } else if column > 0 {
            folded.push(' ');
            column += 1;
        }
        folded += word;
        column += length;
    }
    folded
}
