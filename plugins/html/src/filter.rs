//! The field that searches long tables: a few lines of script, the only ones that the page lets run.

/// Rows from which a table gets a field.
pub(crate) const LONG: usize = 13;

/// The script.
pub(crate) const SCRIPT: &str = include_str!("filter.js");

/// SHA-256 of the script in Base64, by which the page's policy knows it (CSP level 3, 2.3.1).
pub(crate) const HASH: &str = "MGnzWU/AuIVVXnrX7suQWAR4QoQ7JW+rOGyf8LIdS6A=";

/// Words and signs that the page needs beside the document's, in its language.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Controls {
    /// Name of the field.
    pub filter: String,
    /// How many rows are shown: `{n}` of `{of}`.
    pub shown: String,
    /// What stands between the name of a column and a value, where a row is shown as a card.
    pub colon: String,
}

impl Controls {
    /// The words of a language.
    pub fn of(words: &pages::Words) -> Self {
        let word = |key: &str| words.get(key).unwrap_or_default().to_owned();
        Self { filter: word("control.filter"), shown: word("control.shown"), colon: word("mark.colon") }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use sha2::{Digest, Sha256};

    #[test]
    fn the_policy_knows_the_script() {
        let digest = Sha256::digest(SCRIPT.as_bytes());
        let alphabet = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
        let mut out = String::new();
        for chunk in digest.chunks(3) {
            let n = chunk.iter().fold(0u32, |n, b| n << 8 | u32::from(*b)) << (8 * (3 - chunk.len()));
            for i in 0..4 {
                if i <= chunk.len() {
                    out.push(char::from(alphabet[(n >> (18 - 6 * i) & 63) as usize]));
                } else {
                    out.push('=');
                }
            }
        }
        assert_eq!(HASH, out, "put this hash into the source");
    }
}
