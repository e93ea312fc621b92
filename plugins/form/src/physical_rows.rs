//! The rows of a file, as people and the log reader count them: each ends with LF, CR LF or a lone CR.

/// Where the records of a table stand in its file.
pub(crate) struct PhysicalRows<'a> {
    text: &'a str,
    at: usize,
    row: u64,
}

impl<'a> PhysicalRows<'a> {
    /// Records are asked for in their order.
    pub(crate) fn of(text: &'a str) -> Self {
        Self { text, at: 0, row: 1 }
    }

    /// The record between two places in the text: its first row, how many it covers, and its text. Line ends before it
    /// are those of the record before, and rows that hold nothing.
    pub(crate) fn record(&mut self, from: usize, to: usize) -> (u64, u64, &'a str) {
        let part = self.text.get(from..to).unwrap_or_default();
        let raw = part.trim_start_matches(LINE_ENDS);
        let start = to - raw.len();
        self.row += ends(self.text.get(self.at..start).unwrap_or_default());
        self.at = start;
        let raw = raw.trim_end_matches(LINE_ENDS);
        (self.row, ends(raw) + 1, raw)
    }
}

const LINE_ENDS: [char; 2] = ['\r', '\n'];

/// How many rows end in a text.
fn ends(text: &str) -> u64 {
    let lone = |byte: u8, next: Option<&u8>| byte == b'\n' || byte == b'\r' && next != Some(&b'\n');
    let bytes = text.as_bytes();
    bytes.iter().enumerate().filter(|(at, byte)| lone(**byte, bytes.get(at + 1))).count() as u64
}

/// How many rows a text has; the last one may lack its end.
pub(crate) fn total(text: &str) -> u64 {
    ends(text) + u64::from(!text.is_empty() && !text.ends_with(LINE_ENDS))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_line_end_ends_one_row() {
        for end in ["\n", "\r\n", "\r"] {
            let text = ["head", "", "a,\"b", "c\"", "", "d", ""].join(end);
            let at = |part: &str| text.find(part).unwrap();
            let mut rows = PhysicalRows::of(&text);
            let first = rows.record(at("head") + 4, at("c\"") + 2);
            assert_eq!(first, (3, 2, text.get(at("a,")..at("c\"") + 2).unwrap()), "{end:?}");
            assert_eq!(rows.record(at("c\"") + 2, text.len()), (6, 1, "d"), "{end:?}");
            assert_eq!(total(&text), 6, "{end:?}");
        }
        assert_eq!((total(""), total("a"), total("a\n\r\nb")), (0, 1, 3));
    }
}
