//! Whether a workbook unpacks to a size that a log can have: looked at before anything is built from it.

use std::io::{Cursor, Read};

/// All parts of a workbook together, unpacked.
const MOST_UNPACKED: u64 = 512 << 20;
const MOST_PARTS: usize = 10_000;

/// Why it can't be read.
pub(super) enum Over {
    TooLarge(String),
    Broken(String),
}

/// Unpacks every part into nothing and counts: what the zip states of itself may be a lie.
pub(super) fn check(bytes: &[u8]) -> Result<(), Over> {
    let broken = |e: &dyn std::fmt::Display| Over::Broken(e.to_string());
    let mut zip = zip::ZipArchive::new(Cursor::new(bytes)).map_err(|e| broken(&e))?;
    if zip.len() > MOST_PARTS {
        return Err(Over::TooLarge(format!("it has {} parts", zip.len())));
    }
    let mut left = MOST_UNPACKED;
    for index in 0..zip.len() {
        let part = zip.by_index(index).map_err(|e| broken(&e))?;
        // One byte more than is allowed shows that there is more.
        let read = std::io::copy(&mut part.take(left + 1), &mut std::io::sink()).map_err(|e| broken(&e))?;
        if read > left {
            return Err(Over::TooLarge("it unpacks to more than 512 MB".to_owned()));
        }
        left -= read;
    }
    Ok(())
}
