//! Finds rows that repeat an earlier one field by field.

use crate::records::Record;
use record::Moment;

/// Rows are compared with so many earlier ones.
const MOST_COMPARED: usize = 200_000;

/// What is remembered of rows for finding those that repeat one.
#[derive(Default)]
pub(crate) struct Repeats {
    /// Digest, row, and whether the row is not later than the one before.
    digests: Vec<(u64, u64, bool)>,
    /// When the first row was, where that is known.
    first: Option<Moment>,
    latest: Option<Moment>,
    /// A row was not later than the one before; as long as none is, none can repeat another.
    out_of_order: bool,
    /// No more rows are remembered.
    stopped: bool,
}

impl Repeats {
    /// Whether no more rows are remembered.
    pub(crate) fn full(&self) -> bool {
        self.stopped || self.digests.len() >= MOST_COMPARED
    }

    /// Remembers no more rows: those before are as many as are compared.
    pub(crate) fn stop(&mut self) {
        self.stopped = true;
    }

    /// Remembers a row.
    pub(crate) fn remember(&mut self, record: &Record<'_>, at: Option<&Moment>) {
        if self.full() {
            return;
        }
        let out = !self.in_order(at);
        if self.digests.is_empty() {
            self.first = at.cloned();
        }
        self.digests.push((digest(record.raw.as_bytes()), record.row, out));
        self.out_of_order |= out;
        if !self.out_of_order {
            self.latest = at.cloned();
        }
    }

    fn in_order(&self, at: Option<&Moment>) -> bool {
        match (at, &self.latest) {
            (Some(at), Some(latest)) => at > latest,
            (Some(_), None) => true,
            (None, _) => false,
        }
    }

    /// Takes over what was remembered of the rows that follow.
    pub(crate) fn join(&mut self, next: Repeats) {
        let room = MOST_COMPARED - self.digests.len();
        let cut = next.digests.len() > room;
        let mut taken = next.digests.into_iter().take(room);
        let Some((digest, row, _)) = taken.next() else { return };
        self.out_of_order |= !self.in_order(next.first.as_ref());
        if self.digests.is_empty() {
            self.first = next.first;
        }
        self.digests.push((digest, row, false));
        for (digest, row, out) in taken {
            self.out_of_order |= out;
            self.digests.push((digest, row, out));
        }
        // Where some were left out, no more rows are remembered, and the latest has no more use.
        if !self.out_of_order && !cut {
            self.latest = next.latest;
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
            if let [(_, first, _), rest @ ..] = equal {
                found.extend(rest.iter().map(|(_, row, _)| (*row, *first)));
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
