//! Reads a record row by row.

use crate::cells::{Cell, Numbers};
use crate::codes;
use crate::columns::{Columns, columns};
use crate::layout::{Layout, Line, layout};
use crate::lines::{Lines, Trouble, text};
use crate::settings::Settings;
use crate::times::Times;
use plugin_api::{Intake, Probe, Reported};
use record::{Finding, Origin, Place, RowAccount, TimeBase, Trace};
use std::io::{self, BufRead};

/// Lines that are looked at to find out how a file is built.
const HEAD_LINES: usize = 512;
/// Bytes of lines that are looked at.
const HEAD_BYTES: usize = 256 * 1024;
/// A listed time axis whose times all lie within this share of a step of an even one is even.
const EVEN: f64 = 1e-6;

/// Whether the first bytes look like a record: a time with its unit, or a sample interval, above rows of numbers.
pub(crate) fn probe(head: &[u8]) -> Probe {
    if unreadable(head).is_some() {
        return Probe::No;
    }
    let mut lines = Lines::new(head);
    let (mut read, mut line) = (Vec::new(), Vec::new());
    while let Ok(true) = lines.next(&mut line)
        && read.len() < HEAD_LINES
    {
        read.push(Line { row: lines.row, bytes: std::mem::take(&mut line) });
    }
    // The last line may be cut.
    if read.len() > 2 {
        read.pop();
    }
    let settings = Settings::default();
    let Ok(layout) = layout("", &read, &settings) else { return Probe::No };
    match columns("", &layout, &settings) {
        Ok(_) => Probe::Yes,
        Err(problems) if problems.iter().all(|problem| problem.code == codes::SCALE_NOT_STATED) => Probe::Yes,
        Err(_) if layout.cells <= 8 && read.len() - layout.first >= 8 => Probe::Maybe,
        Err(_) => Probe::No,
    }
}

/// Why the first bytes can't be those of a text that is read here.
fn unreadable(head: &[u8]) -> Option<(&'static str, &'static str)> {
    if head.starts_with(&[0x1f, 0x8b]) || head.starts_with(b"PK\x03\x04") {
        return Some((
            "the file is packed in a way that is not read here",
            "unpack it, or pack it once with gzip",
        ));
    }
    if head.starts_with(&[0xff, 0xfe]) || head.starts_with(&[0xfe, 0xff]) {
        return Some(("the file is UTF-16", "save it as UTF-8"));
    }
    let zero = memchr::memchr(0, head.get(..4096.min(head.len())).unwrap_or_default());
    zero.map(|_| ("the file holds zero bytes: it is no text", "export the record as text"))
}

/// Reads a whole file into the intake.
pub(crate) fn read(
    file: &str,
    mut input: impl BufRead,
    settings: &Settings,
    intake: &mut Intake,
) -> Result<(), Reported> {
    let whole = |row: Option<u64>| Place { file: file.to_owned(), row, ..Place::default() };
    match input.fill_buf() {
        Ok(start) => {
            if let Some((why, help)) = unreadable(start) {
                return Err(intake.refuse(Finding::error(codes::NOT_TEXT, why).at(whole(None)).help(help)));
            }
        }
        Err(error) => return Err(intake.refuse(cant_read(&error).at(whole(None)))),
    }
    let mut lines = Lines::new(input);
    let mut head: Vec<Line> = Vec::new();
    let (mut line, mut bytes) = (Vec::new(), 0);
    while head.len() < HEAD_LINES && bytes < HEAD_BYTES {
        if !next(file, &mut lines, &mut line, intake)? {
            break;
        }
        bytes += line.len();
        head.push(Line { row: lines.row, bytes: line.clone() });
    }
    let layout = layout(file, &head, settings).map_err(|finding| intake.refuse(*finding))?;
    let columns = columns(file, &layout, settings).map_err(|mut problems| {
        let last = problems.pop();
        problems.into_iter().for_each(|problem| intake.say(problem));
        intake.refuse(
            last.unwrap_or_else(|| Finding::error(codes::NO_TABLE, "no table is found").at(whole(None))),
        )
    })?;
    let before = head.get(..layout.first).unwrap_or_default();
    let blank = before.iter().filter(|line| line.bytes.trim_ascii().is_empty()).count() as u64;
    let mut table = Table::new(file, &layout, &columns, before);
    table.account.preamble = before.len() as u64 - blank;
    table.account.blank = blank;
    for line in head.get(layout.first..).unwrap_or_default() {
        table.row(line.row, &line.bytes).map_err(|finding| intake.refuse(*finding))?;
    }
    drop(head);
    while next(file, &mut lines, &mut line, intake)? {
        table.row(lines.row, &line).map_err(|finding| intake.refuse(*finding))?;
    }
    table.account.total = lines.row;
    table.finish(intake)
}

/// Why no more can be read: the system, or a packed file that can't be unpacked.
fn cant_read(error: &io::Error) -> Finding {
    use io::ErrorKind::{InvalidData, InvalidInput, UnexpectedEof};
    if matches!(error.kind(), InvalidData | InvalidInput | UnexpectedEof) {
        return Finding::error(codes::NOT_TEXT, format!("the compressed file can't be unpacked: {error}"))
            .help("copy it again from where it was packed; a part of a record is not read");
    }
    Finding::error(codes::CANT_READ, format!("the file can't be read: {error}"))
        .help("look at the drive or share it is on, and try again")
}

fn next<R: BufRead>(
    file: &str,
    lines: &mut Lines<R>,
    line: &mut Vec<u8>,
    intake: &mut Intake,
) -> Result<bool, Reported> {
    lines.next(line).map_err(|trouble| {
        let place = Place { file: file.to_owned(), row: Some(lines.row.max(1)), ..Place::default() };
        let finding = match trouble {
            Trouble::Io(error) => cant_read(&error),
            Trouble::TooLong => Finding::error(codes::NOT_TEXT, "the line is longer than 64 KiB")
                .help("look whether the file is a text with line ends"),
        };
        intake.refuse(finding.at(place))
    })
}

/// Samples of one segment.
#[derive(Default)]
struct Segment {
    times_ns: Times,
    current_a: Vec<f64>,
    first_row: u64,
    last_row: u64,
    over_range: bool,
}

/// The table while it is read.
struct Table<'a> {
    file: &'a str,
    layout: &'a Layout,
    columns: &'a Columns,
    /// Lines of the preamble as they stand there: they may stand above a further segment again.
    preamble: Vec<Vec<u8>>,
    numbers: Numbers,
    segments: Vec<Segment>,
    current: Segment,
    account: RowAccount,
    /// A line that is no row, and whether a segment may begin behind it.
    pending: Option<(u64, String)>,
    lines_behind: u64,
    /// A line or gap was met behind which a segment may begin.
    gap: Gap,
    /// First sample without a number, first over range: row, text, how many.
    no_number: Option<(u64, String, u64)>,
    over_range: Option<(u64, String, u64)>,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Gap {
    /// Rows follow one another.
    No,
    /// A blank line: a segment begins where the time starts again.
    Blank,
    /// A repeated line of the preamble or a segment's mark: a segment begins.
    Mark,
}

impl<'a> Table<'a> {
    fn new(file: &'a str, layout: &'a Layout, columns: &'a Columns, before: &[Line]) -> Self {
        let preamble =
            before.iter().map(|line| line.bytes.trim_ascii().to_vec()).filter(|line| !line.is_empty());
        Self {
            file,
            layout,
            columns,
            preamble: preamble.collect(),
            numbers: Numbers::new(layout.decimal),
            segments: Vec::new(),
            current: Segment::default(),
            account: RowAccount::default(),
            pending: None,
            lines_behind: 0,
            gap: Gap::No,
            no_number: None,
            over_range: None,
        }
    }

    fn row(&mut self, row: u64, line: &[u8]) -> Result<(), Box<Finding>> {
        let (mut count, mut time, mut value) = (0, None, None);
        let time_at = self.columns.time.map(|(index, _)| index);
        self.layout.delimiter.split(line, |cell| {
            if Some(count) == time_at {
                time = Some(cell);
            } else if count == self.columns.value {
                value = Some(cell);
            }
            count += 1;
        });
        let words = |cell: Option<&[u8]>| cell.map(text).unwrap_or_default();
        let time_read = time.map(|cell| self.numbers.read(cell));
        let value_read = value.map_or(Cell::Text, |cell| self.numbers.read(cell));
        let is_row = count == self.layout.cells
            && value_read != Cell::Text
            && time_read.is_none_or(|time| matches!(time, Cell::Number(_)))
            // A row of empty cells is no sample.
            && (time_read.is_some() || value_read != Cell::NoNumber || value.is_some_and(|cell| !cell.is_empty()));
        if !is_row {
            return self.other_line(row, line, count, time_read, (words(time), words(value)));
        }
        if let Some((row, line)) = self.pending.take() {
            return Err(self.bad(
                codes::BAD_ROW,
                format!("`{line}` stands between rows of numbers"),
                row,
                None,
            ));
        }
        let t_ns = match (self.columns.time, time_read) {
            (Some((_, unit)), Some(Cell::Number(time))) => Some(unit.convert(time)),
            _ => None,
        };
        let starts_again = t_ns.zip(self.current.times_ns.last()).is_some_and(|(now, last)| now < last);
        if self.gap == Gap::Mark || self.gap == Gap::Blank && starts_again {
            self.close_segment();
        }
        self.gap = Gap::No;
        let current_a = match value_read {
            Cell::Number(value) => self.columns.scale.current_a(value),
            Cell::OverRange => {
                self.current.over_range = true;
                count_one(&mut self.over_range, row, || words(value));
                f64::NAN
            }
            Cell::NoNumber | Cell::Text => {
                count_one(&mut self.no_number, row, || words(value));
                f64::NAN
            }
        };
        if let Some(t_ns) = t_ns {
            self.current.times_ns.push(t_ns);
        }
        if self.current.current_a.is_empty() {
            self.current.first_row = row;
        }
        self.current.current_a.push(current_a);
        self.current.last_row = row;
        self.account.used += 1;
        Ok(())
    }

    /// A line that is no row of the table: blank, a repeated header, a segment's mark, a footer, or a bad row.
    fn other_line(
        &mut self,
        row: u64,
        line: &[u8],
        cells: usize,
        time: Option<Cell>,
        (time_text, value_text): (String, String),
    ) -> Result<(), Box<Finding>> {
        let line = line.trim_ascii();
        if line.is_empty() {
            self.account.blank += 1;
            self.gap = if self.gap == Gap::No { Gap::Blank } else { self.gap };
            return Ok(());
        }
        if self.preamble.iter().any(|known| known == line) || is_mark(line) {
            self.account.preamble += 1;
            self.gap = Gap::Mark;
            return Ok(());
        }
        // A line that begins like a row is one, and must not be lost.
        if line
            .iter()
            .find(|byte| !b"\"+-".contains(byte))
            .is_some_and(|byte| byte.is_ascii_digit() || *byte == b'.')
        {
            if cells != self.layout.cells {
                let message =
                    format!("the row has {cells} cells where the others have {}", self.layout.cells);
                return Err(self.bad(codes::BAD_ROW, message, row, None));
            }
            let time_is_fine = time.is_none_or(|time| matches!(time, Cell::Number(_)));
            let (column, bad) = match self.columns.time {
                Some((index, _)) if !time_is_fine => (index, time_text),
                _ => (self.columns.value, value_text),
            };
            return Err(self.bad(codes::BAD_NUMBER, format!("`{bad}` is no number"), row, Some(column)));
        }
        self.lines_behind += 1;
        self.account.footer += 1;
        if self.pending.is_none() {
            self.pending = Some((row, text(line).chars().take(60).collect()));
        }
        Ok(())
    }

    fn bad(&self, code: &str, message: String, row: u64, column: Option<usize>) -> Box<Finding> {
        let column = column.and_then(|index| u32::try_from(index + 1).ok());
        let place = Place { file: self.file.to_owned(), row: Some(row), column, label: None };
        Box::new(
            Finding::error(code, message)
                .at(place)
                .help("mend the row in a copy of the file, or export the record again"),
        )
    }

    fn close_segment(&mut self) {
        let segment = std::mem::take(&mut self.current);
        if !segment.current_a.is_empty() {
            self.segments.push(segment);
        }
    }

    fn finish(mut self, intake: &mut Intake) -> Result<(), Reported> {
        self.close_segment();
        if self.segments.is_empty() {
            let place = Place { file: self.file.to_owned(), ..Place::default() };
            let finding = Finding::error(codes::NO_TABLE, "no row of the table holds a sample").at(place);
            return Err(intake.refuse(finding.help("look whether the export was complete")));
        }
        let here = |row: u64, column: Option<usize>| Place {
            file: self.file.to_owned(),
            row: Some(row),
            column: column.and_then(|index| u32::try_from(index + 1).ok()),
            label: Some(self.columns.value_label.trim_matches('`').to_owned()),
        };
        if self.numbers.marked && !self.numbers.certain {
            let finding = Finding::error(
                codes::TWO_READINGS,
                "every mark in the numbers stands before three digits: it may be a decimal sign or a thousands mark",
            );
            let place = Place { file: self.file.to_owned(), ..Place::default() };
            if self.columns_need_sign() {
                let help = "state `decimal`: point or comma; numbers with thousands marks are not read";
                return Err(intake.refuse(finding.at(place).help(help)));
            }
        }
        for (found, code, what) in [
            (&self.no_number, codes::NO_NUMBER, "holds no number"),
            (&self.over_range, codes::OVER_RANGE, "is marked as over range"),
        ] {
            if let Some((row, text, count)) = found {
                let message = format!("`{text}`: the sample {what} ({count} such in the file)");
                let finding = Finding::warning(code, message).at(here(*row, Some(self.columns.value)));
                intake.say(finding.help("no figures are given across such a sample; record or export again"));
            }
        }
        if let Some((row, line)) = &self.pending {
            let place = Place { file: self.file.to_owned(), row: Some(*row), ..Place::default() };
            let message = match self.lines_behind {
                1 => format!("the line behind the table was not read: `{line}`"),
                lines => format!("{lines} lines behind the table were not read, from `{line}` on"),
            };
            intake.say(Finding::note(codes::LINES_BEHIND, message).at(place));
        }
        self.columns.warnings.iter().cloned().for_each(|warning| intake.say(warning));
        self.columns.understood.iter().for_each(|line| intake.understood(line));
        intake.account(self.account);
        let source = intake.source();
        let segments = std::mem::take(&mut self.segments);
        for (number, segment) in (1u32..).zip(segments) {
            self.length(&segment, intake);
            let Segment { times_ns, current_a, first_row, last_row, over_range } = segment;
            let time = match self.columns.interval_ns {
                Some(step_ns) => {
                    let first = self.columns.start_ns.or(times_ns.first());
                    TimeBase::Uniform { start_ns: first.unwrap_or(0.0), step_ns }
                }
                None => even(&times_ns),
            };
            self.interval(&time, first_row, intake);
            intake.trace(Trace {
                name: self.file.to_owned(),
                segment: number,
                time,
                current_a,
                over_range,
                step_a: self.columns.scale.step_a(),
                a_per_v: self.columns.a_per_v,
                origin: Origin::rows(source, first_row, last_row),
            });
        }
        Ok(())
    }

    /// Whether the decimal sign was taken from the numbers and not from a setting.
    fn columns_need_sign(&self) -> bool {
        !self.columns.sign_is_stated
    }

    fn length(&self, segment: &Segment, intake: &mut Intake) {
        let samples = segment.current_a.len() as u64;
        if let Some((stated, row)) = self.columns.length
            && stated != samples
        {
            let place = Place { file: self.file.to_owned(), row: Some(row), ..Place::default() };
            let message = format!("the preamble announces {stated} samples, the table has {samples}");
            let finding = Finding::warning(codes::OTHER_LENGTH, message).at(place);
            intake.say(finding.help("look whether the export was complete"));
        }
    }

    /// Compares the time column with the interval that the preamble states.
    fn interval(&self, time: &TimeBase, row: u64, intake: &mut Intake) {
        let Some(stated) = self.columns.interval_beside_ns else { return };
        let shown = match time {
            TimeBase::Uniform { step_ns, .. } => *step_ns,
            TimeBase::Listed(times) => match (times.first(), times.last()) {
                (Some(first), Some(last)) if times.len() > 1 => (last - first) / (times.len() - 1) as f64,
                _ => return,
            },
        };
        if (shown - stated).abs() > 0.01 * stated {
            let place = Place { file: self.file.to_owned(), row: Some(row), ..Place::default() };
            let message = format!(
                "the preamble states a sample interval of {stated:.6} ns, the time column has {shown:.6} ns"
            );
            let finding = Finding::warning(codes::OTHER_INTERVAL, message).at(place);
            intake.say(
                finding.help("the time column is used; state `sample_interval_ns` if the preamble is right"),
            );
        }
    }
}

fn count_one(slot: &mut Option<(u64, String, u64)>, row: u64, text: impl FnOnce() -> String) {
    match slot {
        Some((_, _, count)) => *count += 1,
        None => *slot = Some((row, text(), 1)),
    }
}

/// Whether a line only says that a segment begins: a word for it, perhaps with a number.
fn is_mark(line: &[u8]) -> bool {
    let line = text(line).to_lowercase();
    let mut words = line.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty());
    let first = words.next().unwrap_or_default();
    let second = words.next();
    matches!(first, "segment" | "frame" | "sweep" | "record")
        && second.is_none_or(|word| word.bytes().all(|byte| byte.is_ascii_digit()))
        && words.next().is_none()
}

/// An even time axis where the times are even, else the times.
fn even(times_ns: &Times) -> TimeBase {
    if let Some((first, last)) = times_ns.first().zip(times_ns.last()) {
        let step_ns = (last - first) / (times_ns.len().saturating_sub(1)) as f64;
        let fits =
            |(index, time): (usize, f64)| (time - (first + index as f64 * step_ns)).abs() <= EVEN * step_ns;
        if step_ns.is_finite() && step_ns > 0.0 && times_ns.iter().enumerate().all(fits) {
            return TimeBase::Uniform { start_ns: first, step_ns };
        }
    }
    let mut listed = Vec::with_capacity(times_ns.len());
    listed.extend(times_ns.iter());
    TimeBase::Listed(listed)
}
