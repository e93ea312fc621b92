//! Format and size of a photo, read from its first bytes.

use crate::model::{Photo, PhotoFormat};
use std::sync::Arc;

/// The photo, when the bytes are JPEG or PNG with a size.
pub(super) fn photo(name: &str, bytes: Vec<u8>) -> Option<Photo> {
    let (format, width, height) = png(&bytes).or_else(|| jpeg(&bytes))?;
    (width > 0 && height > 0).then(|| Photo {
        name: name.to_owned(),
        format,
        bytes: Arc::new(bytes),
        width,
        height,
    })
}

fn be(bytes: &[u8], at: usize, count: usize) -> Option<u32> {
    let part = bytes.get(at..at.checked_add(count)?)?;
    Some(part.iter().fold(0, |n, b| n << 8 | u32::from(*b)))
}

/// Size from the IHDR chunk, which is always the first (PNG specification, 11.2.2).
fn png(bytes: &[u8]) -> Option<(PhotoFormat, u32, u32)> {
    if !bytes.starts_with(b"\x89PNG\r\n\x1a\n") || bytes.get(12..16)? != b"IHDR" {
        return None;
    }
    Some((PhotoFormat::Png, be(bytes, 16, 4)?, be(bytes, 20, 4)?))
}

/// Size from the first frame header (ITU-T T.81, B.2.2).
fn jpeg(bytes: &[u8]) -> Option<(PhotoFormat, u32, u32)> {
    if !bytes.starts_with(&[0xff, 0xd8]) {
        return None;
    }
    let mut at = 2;
    loop {
        if *bytes.get(at)? != 0xff {
            return None;
        }
        let marker = *bytes.get(at + 1)?;
        match marker {
            0xff => at += 1,
            0x01 | 0xd0..=0xd8 => at += 2,
            0xc0..=0xc3 | 0xc5..=0xc7 | 0xc9..=0xcb | 0xcd..=0xcf => {
                return Some((PhotoFormat::Jpeg, be(bytes, at + 7, 2)?, be(bytes, at + 5, 2)?));
            }
            0xd9 | 0xda => return None,
            _ => at += 2 + be(bytes, at + 2, 2)?.max(2) as usize,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes() {
        let mut png = b"\x89PNG\r\n\x1a\n\0\0\0\x0dIHDR".to_vec();
        png.extend([0, 0, 4, 0, 0, 0, 3, 0, 8, 2, 0, 0, 0]);
        let p = photo("a.png", png).unwrap();
        assert_eq!((p.format, p.width, p.height), (PhotoFormat::Png, 1024, 768));
        let jpeg = vec![0xff, 0xd8, 0xff, 0xe0, 0, 4, 1, 2, 0xff, 0xc0, 0, 11, 8, 3, 0, 4, 0, 1, 1, 0x11, 0];
        let p = photo("a.jpg", jpeg).unwrap();
        assert_eq!((p.format, p.width, p.height), (PhotoFormat::Jpeg, 1024, 768));
        for bad in
            [&b"GIF89a"[..], b"", b"\xff\xd8", b"\xff\xd8\xff", b"\xff\xd8\xff\xc0\0", b"\x89PNG\r\n\x1a\n"]
        {
            assert!(photo("a", bad.to_vec()).is_none());
        }
    }
}
