//! Made-up values drawn from a string of bytes: when the bytes are used up, nothing more is stated. A test
//! that cuts the bytes short or sets them to 0 so arrives at the smallest record that fails.

use record::*;

/// Draws values.
pub(crate) struct Draw<'a> {
    bytes: std::slice::Iter<'a, u8>,
    names: usize,
}

/// Pieces of text that have broken writers before.
const PIECES: &[&str] = &[
    "oak",
    "P1",
    "0017",
    " ",
    "\n",
    "\t",
    "\r",
    "\r\n",
    "\"",
    "'",
    "<",
    "&",
    "]]>",
    "\\",
    "/",
    "~1",
    ",",
    ";",
    "=1+1",
    "@x",
    "-8",
    "+",
    "µΩ",
    "ž",
    "\u{0}",
    "\u{7}",
    "\u{fffe}",
    "\u{feff}",
    "\u{2028}",
    "🔌",
    "%",
    "null",
    "<![CDATA[",
    "&#0;",
    "--",
];

impl<'a> Draw<'a> {
    pub(crate) fn new(bytes: &'a [u8]) -> Self {
        Self { bytes: bytes.iter(), names: 0 }
    }

    pub(crate) fn byte(&mut self) -> u8 {
        self.bytes.next().copied().unwrap_or_default()
    }

    pub(crate) fn below(&mut self, count: usize) -> usize {
        usize::from(self.byte()) % count.max(1)
    }

    pub(crate) fn yes(&mut self) -> bool {
        self.byte() % 2 == 1
    }

    pub(crate) fn number(&mut self) -> u64 {
        let size = self.below(9);
        (0..size).fold(0, |number, _| number << 8 | u64::from(self.byte()))
    }

    pub(crate) fn whole(&mut self) -> u32 {
        u32::try_from(self.number() % (1 << 32)).unwrap_or_default()
    }

    pub(crate) fn row(&mut self) -> u64 {
        self.number().max(1)
    }

    pub(crate) fn maybe<T>(&mut self, value: impl FnOnce(&mut Self) -> T) -> Option<T> {
        if self.byte().is_multiple_of(4) { None } else { Some(value(self)) }
    }

    pub(crate) fn list<T>(&mut self, mut value: impl FnMut(&mut Self) -> T) -> Vec<T> {
        let count = self.below(4);
        (0..count).map(|_| value(self)).collect()
    }

    pub(crate) fn stated<T>(&mut self, value: impl FnOnce(&mut Self) -> T) -> Stated<T> {
        match self.below(3) {
            0 => Stated::NotStated,
            1 => Stated::Stated(value(self)),
            _ => Stated::NotApplicable { reason: self.text() },
        }
    }

    pub(crate) fn one_of<T: Clone>(&mut self, all: &[T]) -> T {
        all[self.below(all.len())].clone()
    }

    /// Any text, empty too.
    pub(crate) fn raw(&mut self) -> String {
        let count = self.below(5);
        (0..count).map(|_| self.one_of(PIECES)).collect()
    }

    /// Text that says something.
    pub(crate) fn text(&mut self) -> String {
        let text = self.raw();
        if text.trim().is_empty() { format!("oak{text}") } else { text }
    }

    pub(crate) fn some_text(&mut self) -> Option<String> {
        self.maybe(Self::text)
    }

    /// A name that no other has.
    pub(crate) fn name<T>(&mut self, new: fn(&str) -> Option<T>) -> T {
        self.names += 1;
        new(&format!("{}{}", self.text(), self.names)).unwrap()
    }

    /// A name that may or may not be another's.
    pub(crate) fn some_name<T: Clone>(&mut self, new: fn(&str) -> Option<T>, known: &[T]) -> T {
        if known.is_empty() || self.byte() % 4 == 3 { self.name(new) } else { self.one_of(known) }
    }

    /// Fingerprint of a key: 32 bytes, of which the first one is drawn.
    pub(crate) fn key(&mut self) -> KeyFingerprint {
        let first = char::from(b'a' + self.byte() % 26);
        KeyFingerprint::parse(&format!("SHA256:{first}{}A", "b".repeat(41))).unwrap()
    }

    pub(crate) fn decimal(&mut self) -> Decimal {
        let scale = u32::try_from(self.below(12)).unwrap_or_default();
        let size = i64::try_from(self.number() >> 20).unwrap_or_default();
        let number = Decimal::new(if self.yes() { -size } else { size }, scale);
        if number.is_zero() { number.abs() } else { number }
    }

    /// A quantity; one of its unit where the number drawn is outside of what it can be.
    pub(crate) fn quantity<T>(&mut self, from: fn(Decimal) -> Result<T, BadQuantity>) -> T {
        from(self.decimal()).or_else(|_| from(self.decimal().abs() % Decimal::from(90))).unwrap()
    }

    pub(crate) fn some_quantity<T>(&mut self, from: fn(Decimal) -> Result<T, BadQuantity>) -> Option<T> {
        self.maybe(|draw| draw.quantity(from))
    }

    pub(crate) fn float(&mut self) -> f64 {
        let float = if self.yes() {
            f64::from_bits(self.number())
        } else {
            f64::from(self.byte()) / 10.0 - f64::from(self.byte())
        };
        if float.is_finite() { float } else { 0.1 }
    }

    pub(crate) fn date(&mut self) -> Date {
        let year = i16::try_from(self.number() % 9999 + 1).unwrap_or(2026);
        let month = i8::try_from(self.below(12) + 1).unwrap_or(1);
        let day = i8::try_from(self.below(28) + 1).unwrap_or(1);
        Date::new(year, month, day).unwrap()
    }

    pub(crate) fn some_date(&mut self) -> Option<Date> {
        self.maybe(Self::date)
    }

    /// A time with or without offset, odd offsets and fractions of a second too.
    pub(crate) fn moment(&mut self) -> Moment {
        let date = self.date();
        let clock = format!("T{:02}:{:02}:{:02}", self.below(24), self.below(60), self.below(60));
        let fraction =
            if self.yes() { format!(".{:09}", self.number() % 1_000_000_000) } else { String::new() };
        let offset = match self.below(4) {
            0 => String::new(),
            1 => "Z".to_owned(),
            2 => format!("+{:02}:{:02}", self.below(15), self.below(4) * 15),
            _ => format!("-{:02}:{:02}:{:02}", self.below(24), self.below(60), self.below(60)),
        };
        Moment::parse(&format!("{date}{clock}{fraction}{offset}")).unwrap_or_else(|| {
            // Next to the year 1 or 9999 an offset can lead out of the calendar.
            Moment::parse("2026-03-12T09:30").unwrap()
        })
    }

    pub(crate) fn some_moment(&mut self) -> Option<Moment> {
        self.maybe(Self::moment)
    }

    pub(crate) fn source_id(&mut self, sources: &[SourceFile]) -> SourceId {
        SourceId(u32::try_from(self.below(sources.len())).unwrap_or_default())
    }

    pub(crate) fn origin(&mut self, sources: &[SourceFile]) -> Origin {
        let source = self.source_id(sources);
        let rows = self.maybe(|draw| {
            let first = u64::from(draw.byte()) + 1;
            Rows { first, last: first + u64::from(draw.byte() % 3) }
        });
        Origin { source, rows, column: self.maybe(|draw| u32::from(draw.byte()) + 1) }
    }
}

/// Bytes to draw from, the same ones for a seed on every run.
pub(crate) fn noise(seed: u32, count: usize) -> Vec<u8> {
    let mut state = seed.wrapping_mul(2_654_435_761).wrapping_add(7);
    let next = || {
        // A linear congruence; its high bits are the better ones.
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (state >> 24) as u8
    };
    std::iter::repeat_with(next).take(count).collect()
}
