//! Pictures made of figures: waveforms, point maps, coverage, climate. All are vector drawings, and none says
//! anything by colour alone.

pub mod axis;
pub mod climate;
pub mod coverage;
pub mod outcome;
pub mod point_map;
pub mod threshold;
pub mod waveform;

pub use climate::{Climate, climate};
pub use coverage::{Coverage, coverage};
pub use outcome::{Outcome, mark};
pub use point_map::{Ground, MapPoint, point_map};
pub use threshold::{Step, ThresholdSearch, threshold};
pub use waveform::{LimitMark, Waveform, waveform};

/// Width of a picture that fills the text column of a report, in points.
pub const COLUMN: f32 = 470.0;

/// A generous guess at a text's width, for drawings that can't ask a font: about the wider of Arial and Noto Sans for
/// each kind of sign (widths from memory), so that common screen types are seldom wider.
pub(crate) fn guess_width(text: &str, size: f32) -> f32 {
    let em = |c: char| match c {
        'i' | 'j' | 'l' | 'I' | ' ' | '.' | ',' | ':' | ';' | '\'' | '|' | '!' | '\u{a0}' | '\u{202f}' => {
            0.29
        }
        'f' | 't' | 'r' | '(' | ')' | '[' | ']' | '/' | '-' | '\u{2011}' => 0.41,
        'm' | 'w' | 'M' | 'W' | '%' | '@' => 0.94,
        'a'..='z' | '0'..='9' | '\u{df}'..='\u{ff}' => 0.6,
        // Ideographs, kana and full-width signs fill an em.
        '\u{1100}'..='\u{1fff}' | '\u{2e80}'.. => 1.02,
        '\0'..='\u{24f}' => 0.74,
        _ => 0.9,
    };
    text.chars().map(em).sum::<f32>() * size
}

/// Breaks a text into lines of about a width; a word that is too long is cut.
pub(crate) fn guess_lines(text: &str, size: f32, width: f32) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let mut word = word;
        while let Some(line) = lines.last_mut() {
            let joined = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
            if guess_width(&joined, size) <= width {
                *line = joined;
                break;
            }
            if !line.is_empty() {
                lines.push(String::new());
                continue;
            }
            let fit = word
                .char_indices()
                .map(|(i, c)| i + c.len_utf8())
                .take_while(|end| guess_width(&word[..*end], size) <= width)
                .last()
                .unwrap_or_else(|| word.chars().next().map_or(0, char::len_utf8));
            line.push_str(&word[..fit]);
            word = &word[fit..];
            lines.push(String::new());
            if word.is_empty() {
                lines.pop();
                break;
            }
        }
    }
    lines
}
