//! What a first look at all of a text finds: line ends, unusual characters, padding.

/// Line ends and unusual characters of a text.
#[derive(Clone, Debug, Default)]
pub(crate) struct TextSurvey {
    /// Bytes of UTF-8.
    pub(crate) bytes: u64,
    pub(crate) lf: u64,
    pub(crate) crlf: u64,
    pub(crate) cr: u64,
    pub(crate) after_cr: bool,
    /// Whether a double quote occurs.
    pub(crate) quotes: bool,
    /// Row of the first control character that is neither tab nor line end.
    pub(crate) control: Option<u64>,
    /// Row of the first character that is not seen but changes how text is shown.
    pub(crate) hidden: Option<u64>,
    /// Row of the first character U+FFFD.
    pub(crate) replacement: Option<u64>,
    /// Row of the first C1 control character.
    pub(crate) c1: Option<u64>,
    /// Row of the first NUL or 0x1A, as long as only such characters and blanks followed it.
    padding: Option<u64>,
    /// Row of the first NUL with text after it.
    pub(crate) nul: Option<u64>,
    padding_has_nul: bool,
    /// The end of the last piece, for characters that lie across two pieces.
    tail: Vec<u8>,
}

impl TextSurvey {
    /// Whether the text ends in NUL or 0x1A characters.
    pub(crate) fn padded(&self) -> bool {
        self.padding.is_some()
    }

    /// The line ends that occur, in words.
    pub(crate) fn line_ends(&self) -> String {
        let kinds: Vec<&str> = [("CRLF", self.crlf), ("LF", self.lf), ("CR", self.cr_alone())]
            .into_iter()
            .filter(|(_, n)| *n > 0)
            .map(|(name, _)| name)
            .collect();
        match kinds.as_slice() {
            [] => "none".to_owned(),
            [one] => (*one).to_owned(),
            several => format!("{} mixed", several.join(" and ")),
        }
    }

    /// CRs that are no part of a CRLF.
    pub(crate) fn cr_alone(&self) -> u64 {
        self.cr + u64::from(self.after_cr)
    }

    /// Row that the next byte belongs to.
    pub(crate) fn row(&self) -> u64 {
        1 + self.lf + self.crlf + self.cr
    }

    /// Looks at the next piece of the text, which is UTF-8 but may end within a character.
    pub(crate) fn feed(&mut self, piece: &[u8]) {
        self.bytes += piece.len() as u64;
        self.quotes = self.quotes || memchr::memchr(b'"', piece).is_some();
        let ascii_quiet =
            piece.iter().fold(true, |quiet, b| quiet & (*b >= 0x20 || matches!(*b, 9 | 10 | 13)));
        if !ascii_quiet || self.padding.is_some() {
            self.controls(piece);
        }
        if !piece.is_ascii() || !self.tail.is_empty() {
            self.wide(piece);
        }
        let mut last = 0;
        for at in memchr::memchr2_iter(b'\n', b'\r', piece) {
            if self.after_cr {
                self.after_cr = false;
                if at == last && piece.get(at) == Some(&b'\n') {
                    self.crlf += 1;
                    last = at + 1;
                    continue;
                }
                self.cr += 1;
            }
            if piece.get(at) == Some(&b'\r') {
                self.after_cr = true;
            } else {
                self.lf += 1;
            }
            last = at + 1;
        }
        if self.after_cr && last < piece.len() {
            self.after_cr = false;
            self.cr += 1;
        }
    }

    /// Rows before a place within a piece that has not been counted yet.
    fn row_at(&self, piece: &[u8], at: usize) -> u64 {
        let before = piece.get(..at).unwrap_or(piece);
        let mut rows = self.row();
        let mut after_cr = self.after_cr;
        for b in before {
            match b {
                b'\n' => rows += 1,
                _ if after_cr => rows += 1,
                _ => {}
            }
            after_cr = *b == b'\r';
        }
        if after_cr && piece.get(at) != Some(&b'\n') {
            rows += 1;
        }
        rows
    }

    fn controls(&mut self, piece: &[u8]) {
        let mut row = self.row();
        let mut after_cr = self.after_cr;
        for b in piece {
            row += u64::from(after_cr && *b != b'\n');
            after_cr = *b == b'\r';
            match b {
                0 | 0x1a => {
                    self.padding_has_nul = *b == 0 || (self.padding_has_nul && self.padding.is_some());
                    self.padding.get_or_insert(row);
                }
                b'\n' => row += 1,
                b'\r' | b'\t' | b' ' => {}
                _ => {
                    if let Some(row) = self.padding.take() {
                        let found = if self.padding_has_nul { &mut self.nul } else { &mut self.control };
                        found.get_or_insert(row);
                    }
                    if *b < 0x20 {
                        self.control.get_or_insert(row);
                    }
                }
            }
        }
    }

    fn wide(&mut self, piece: &[u8]) {
        let kept = std::mem::take(&mut self.tail);
        let offset = kept.len();
        let mut all = kept;
        all.extend_from_slice(piece);
        let mut at = 0;
        while let Some(skip) = memchr::memchr3(0xc2, 0xe2, 0xef, all.get(at..).unwrap_or_default()) {
            let here = at + skip;
            at = here + 1;
            let row = || self.row_at(piece, here.saturating_sub(offset));
            match (all.get(here), all.get(here + 1), all.get(here + 2)) {
                (Some(0xc2), Some(0x80..=0x9f), _) => {
                    self.c1 = self.c1.or_else(|| Some(row()));
                }
                (Some(0xe2), Some(0x80), Some(0x8b..=0x8f | 0xaa..=0xae))
                | (Some(0xe2), Some(0x81), Some(0xa0..=0xa9))
                | (Some(0xef), Some(0xbb), Some(0xbf)) => {
                    self.hidden = self.hidden.or_else(|| Some(row()));
                }
                (Some(0xef), Some(0xbf), Some(0xbd)) => {
                    self.replacement = self.replacement.or_else(|| Some(row()));
                }
                (Some(_), None, _) | (Some(0xe2 | 0xef), _, None) => {
                    self.tail = all.split_off(here);
                    return;
                }
                _ => {}
            }
        }
    }
}
