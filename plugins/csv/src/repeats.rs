//! Finds rows that repeat an earlier one field by field.

use crate::records::Record;
use record::Moment;

/// Rows are compared with so many earlier ones.
const MOST_COMPARED: usize = 200_000;

/// What is remembered of rows for finding those that repeat one.
#[derive(Default)]
pub(crate) struct Repeats {
    /// Digest and row.
    digests: Vec<(u64, u64)>,
    latest: Option<Moment>,
    /// A row was not later than the one before; as long as none is, none can repeat another.
    out_of_order: bool,
}

impl Repeats {
    /// Remembers a row.
    pub(crate) fn remember(&mut self, record: &Record<'_>, at: Option<&Moment>) {
        if self.digests.len() >= MOST_COMPARED {
            return;
        }
        self.digests.push((digest(record.raw.as_bytes()), record.row));
        self.out_of_order |= match (at, &self.latest) {
            (Some(at), Some(latest)) => at <= latest,
            (Some(_), None) => false,
            (None, _) => true,
        };
        if !self.out_of_order {
            self.latest = at.cloned();
        }
    }

    /// Rows that repeat an earlier one: row and first row, in the order of the file.
    pub(crate) fn found(&mut self) -> Vec<(u64, u64)> {
        if !self.out_of_order {
            return Vec::new();
        }
        self.digests.sort_unstable();
        let mut found = Vec::new();
        for equal in self.digests.chunk_by(|a, b| a.0 == b.0) {
            if let [(_, first), rest @ ..] = equal {
                found.extend(rest.iter().map(|(_, row)| (*row, *first)));
            }
        }
        found.sort_unstable();
        found
    }
}

/// 64 bits that tell rows apart: a multiply-and-rotate mix of eight bytes at a time. Two of 200,000 different
/// rows agree with a chance of about one in a billion, and then a warning names them.
fn digest(bytes: &[u8]) -> u64 {
    const FACTOR: u64 = 0x9e37_79b9_7f4a_7c15;
    let mix = |state: u64, word: u64| ((state ^ word).wrapping_mul(FACTOR)).rotate_left(29) ^ (state >> 7);
    let words = bytes.chunks_exact(8);
    let mut last = [0; 8];
    for (to, from) in last.iter_mut().zip(words.remainder()) {
        *to = *from;
    }
    let state = words
        .fold(bytes.len() as u64, |state, word| mix(state, word.try_into().map_or(0, u64::from_le_bytes)));
    let state = mix(mix(state, u64::from_le_bytes(last)), FACTOR);
    state ^ (state >> 32)
}
