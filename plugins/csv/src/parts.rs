//! Large logs in parts: each is read on a thread of its own, and the parts are joined in the order of the file.
//!
//! A part is read as if what was known before it were all that the rows before it show, and its first row began a
//! series. Where that turns out otherwise, the part is read once more, after those before it. So what comes out is
//! what one thread gives, finding by finding, however many there are.

use crate::mapping::Mapping;
use crate::read::{Context, MOST_KEPT, MOST_UNREAD, Reading, Until};
use crate::records::{self, Next, Records};
use crate::refuse::unreadable;
use crate::roles::{Columns, Role};
use crate::row::Known;
use crate::shape::Open;
use plugin_api::{Reported, Workers};
use std::io::{self, Cursor, Read};
use std::sync::{Mutex, PoisonError};

/// Smaller files are read in one piece.
pub(crate) const LEAST: u64 = 1 << 20;
/// So many rows are read first: they show most of what a log shows.
pub(crate) const FIRST_ROWS: u64 = 1024;
/// Bytes of a part.
const PART: usize = 128 << 10;
/// Within so many bytes behind that, a place is looked for where a series may end.
const WINDOW: usize = 32 << 10;

/// Whether the rows of a log can be read apart: a counter's reading and cells that repeat the one above need
/// the rows before.
pub(crate) fn possible(mapping: &Mapping, columns: &Columns) -> bool {
    !mapping.blanks_above && !columns.has(Role::Counter)
}

/// A part of the text, from the start of a record to the end of one.
struct Part {
    bytes: Vec<u8>,
    /// Its first row.
    row: u64,
}

/// A part with what was read in it; none where the reading did not come to its end.
struct Work<'a> {
    part: Part,
    reading: Option<Reading<'a>>,
}

impl<'a> Reading<'a> {
    /// Reads the rest of a log in parts, as far as it can be parted; gives back what is left.
    pub(crate) fn parts<'r>(
        &mut self,
        records: Records<'r>,
        open: &Open<'_>,
        workers: &dyn Workers,
    ) -> Result<Records<'r>, Reported> {
        let columns = &self.shape.columns;
        let row = records.rows() + 1;
        let (rest, input) = records.into_rest();
        let roles = [Role::Point, Role::Voltage, Role::Polarity, Role::Application];
        let mut cutter = Cutter {
            input,
            rest,
            ended: false,
            row,
            delimiter: self.shape.delimiter,
            quotes: self.quotes(),
            lone_cr: self.context.survey.text.cr_alone() > 0,
            keys: roles.iter().filter_map(|role| columns.get(*role)).collect(),
        };
        loop {
            let mut works = Vec::new();
            while works.len() < workers.threads() * 4 {
                match cutter.next().map_err(|e| self.intake.refuse(unreadable(self.file, &e)))? {
                    Some(part) => works.push(Mutex::new(Work { part, reading: None })),
                    None => break,
                }
            }
            if works.is_empty() {
                return Ok(cutter.into_records());
            }
            let (known, context, full) = (self.rows.known(), self.context, self.repeats.full());
            workers.each(works.len(), &|index| {
                if let Some(work) = works.get(index) {
                    read(&mut work.lock().unwrap_or_else(PoisonError::into_inner), context, &known, full);
                }
            });
            for work in works {
                let Work { part, reading } = work.into_inner().unwrap_or_else(PoisonError::into_inner);
                match reading.filter(|reading| self.can_be_followed_by(reading, &known)) {
                    Some(reading) => self.follow(reading),
                    None => {
                        let quotes = self.quotes();
                        let mut records =
                            Records::of_part(part.bytes, part.row, self.shape.delimiter, quotes);
                        self.records(&mut records, Some(open), Until::End)?;
                    }
                }
            }
        }
    }

    /// Whether a part that was read apart can follow as it is.
    fn can_be_followed_by(&self, next: &Reading<'_>, known: &Known) -> bool {
        let unread = self.account.set_aside + next.account.set_aside;
        self.pending.is_empty()
            && !self.after_header
            && self.rows.known() == *known
            && self.groups.can_be_followed_by(&next.groups)
            // The row at which a log is given up is found by reading on.
            && !(unread > MOST_UNREAD && unread > self.account.used)
    }

    /// Joins a part that was read apart.
    fn follow(&mut self, next: Reading<'a>) {
        if next.groups.has_begun() {
            self.groups.close();
        }
        self.hand_all_over();
        self.intake.join(next.intake);
        self.groups.follow(next.groups);
        self.rows.join(&next.rows);
        self.account.add(next.account);
        self.after_header = next.after_header;
        self.pending = next.pending;
        self.repeated.extend(next.repeated);
        for (own, other) in [(&mut self.comments, next.comments), (&mut self.beside, next.beside)] {
            let room = MOST_KEPT.saturating_sub(own.len());
            own.extend(other.into_iter().take(room));
        }
        self.repeats.join(next.repeats);
    }
}

/// Reads a part by itself.
fn read<'a>(work: &mut Work<'a>, context: Context<'a>, known: &Known, full: bool) {
    let mut reading = Reading::new(context);
    reading.rows.start_with(known.clone());
    if full {
        reading.repeats.stop();
    }
    let bytes = std::mem::take(&mut work.part.bytes);
    let mut records = Records::of_part(bytes, work.part.row, context.shape.delimiter, reading.quotes());
    let done = reading.records(&mut records, None, Until::End).is_ok();
    work.part.bytes = records.into_part();
    reading.hand_all_over();
    work.reading = done.then_some(reading);
}

/// Cuts a text between records.
struct Cutter<'r> {
    input: Box<dyn Read + 'r>,
    /// Read and not yet cut off.
    rest: Vec<u8>,
    ended: bool,
    /// The row that the rest begins with.
    row: u64,
    delimiter: u8,
    quotes: bool,
    /// CRs end rows too.
    lone_cr: bool,
    /// Columns that tell one series from the next.
    keys: Vec<usize>,
}

impl<'r> Cutter<'r> {
    /// The next part; none at the end, and where no place for a cut is found.
    fn next(&mut self) -> io::Result<Option<Part>> {
        let wanted = PART + WINDOW;
        if !self.ended && self.rest.len() <= wanted {
            let missing = (wanted + 1 - self.rest.len()) as u64;
            self.rest.reserve(wanted + 1 - self.rest.len());
            let count = self.input.by_ref().take(missing).read_to_end(&mut self.rest)?;
            self.ended = (count as u64) < missing;
        }
        if self.rest.is_empty() {
            return Ok(None);
        }
        let at = if self.ended && self.rest.len() <= wanted { Some(self.rest.len()) } else { self.cut()? };
        let Some(at) = at else { return Ok(None) };
        let mut rest = Vec::with_capacity(wanted + 1);
        rest.extend_from_slice(self.rest.get(at..).unwrap_or_default());
        let mut bytes = std::mem::replace(&mut self.rest, rest);
        bytes.truncate(at);
        let row = self.row;
        self.row += if self.lone_cr {
            records::lines_in(&bytes)
        } else {
            let open = !matches!(bytes.last(), Some(b'\n'));
            memchr::memchr_iter(b'\n', &bytes).count() as u64 + u64::from(open)
        };
        Ok(Some(Part { bytes, row }))
    }

    /// What was not cut off.
    fn into_records(self) -> Records<'r> {
        let input = Box::new(Cursor::new(self.rest).chain(self.input));
        Records::new(input, self.delimiter, self.quotes).at_row(self.row)
    }

    /// The end of a record within the window: where the next row is likely to begin a series, if there is such a
    /// place.
    fn cut(&self) -> io::Result<Option<usize>> {
        let Some(from) = self.record_start() else { return Ok(None) };
        let text = self.rest.get(from..).unwrap_or_default();
        let mut records = Records::new(Box::new(text), self.delimiter, self.quotes);
        let mut first = None;
        let mut before: Option<String> = None;
        loop {
            let at = from + records.consumed();
            if records.next()? != Next::Record || from + records.consumed() >= self.rest.len() {
                // The last record may go on behind what is at hand.
                return Ok(first);
            }
            let record = records.current()?;
            if at < PART / 2 {
                continue;
            }
            first = first.or(Some(at).filter(|at| *at > 0));
            let mut key = String::new();
            for column in &self.keys {
                key.push_str(record.cell(*column));
                key.push('\u{1f}');
            }
            if before.as_ref().is_some_and(|before| *before != key) {
                return Ok(Some(at));
            }
            before = Some(key);
        }
    }

    /// The start of a record from which the place for a cut is looked for. As long as no quote was met, every row is a
    /// record.
    fn record_start(&self) -> Option<usize> {
        let head = self.rest.get(..PART)?;
        let quote = if self.quotes { memchr::memchr(b'"', head) } else { None };
        let before = head.get(..quote.unwrap_or(head.len()))?;
        match (memchr::memrchr2(b'\n', b'\r', before), quote) {
            (None, Some(_)) => Some(0),
            (None, None) => None,
            // What follows a CR may belong to it.
            (Some(at), _) if self.rest.get(at..at + 2) == Some(b"\r\n") => Some(at + 2),
            (Some(at), _) => Some(at + 1),
        }
    }
}
