//! Base64 (RFC 4648 clause 4), for pictures in a page and photos in a file.

const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";

/// Writes bytes as text.
pub(crate) fn encode(bytes: &[u8]) -> String {
    let mut text = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for part in bytes.chunks(3) {
        let bits =
            part.iter().fold(0u32, |bits, byte| bits << 8 | u32::from(*byte)) << (8 * (3 - part.len()));
        for place in 0..4 {
            let letter = LETTERS.get((bits >> (18 - 6 * place) & 63) as usize).copied().unwrap_or(b'A');
            text.push(if place <= part.len() { char::from(letter) } else { '=' });
        }
    }
    text
}

/// Reads text; none where it is no base64 with its padding.
pub(crate) fn decode(text: &str) -> Option<Vec<u8>> {
    let text = text.as_bytes();
    if !text.len().is_multiple_of(4) {
        return None;
    }
    let padding = text.iter().rev().take_while(|letter| **letter == b'=').count();
    if padding > 2 {
        return None;
    }
    let mut bytes = Vec::with_capacity(text.len() / 4 * 3);
    let (mut bits, mut held) = (0u32, 0u32);
    for letter in text.get(..text.len() - padding)? {
        let value = match letter {
            b'A'..=b'Z' => letter - b'A',
            b'a'..=b'z' => letter - b'a' + 26,
            b'0'..=b'9' => letter - b'0' + 52,
            b'+' => 62,
            b'/' => 63,
            _ => return None,
        };
        bits = bits << 6 | u32::from(value);
        held += 6;
        if held >= 8 {
            held -= 8;
            bytes.push((bits >> held & 0xFF) as u8);
        }
    }
    Some(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 4648 clause 10.
    #[test]
    fn the_vectors_of_the_rfc() {
        for (plain, text) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(encode(plain.as_bytes()), text);
            assert_eq!(decode(text).unwrap(), plain.as_bytes());
        }
        for bad in ["Z", "Zg=", "Z===", "Zg==Zg==", "Zm9\u{e4}"] {
            assert!(decode(bad).is_none(), "{bad}");
        }
    }
}
