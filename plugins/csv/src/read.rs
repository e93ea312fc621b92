//! Reads a log from its first byte to its last and says what became of every row.

use crate::codes;
use crate::encoding::{self, How, NotText, Survey};
use crate::mapping::{self, Mapping};
use crate::number::{self, Evidence};
use crate::outcome::Outcome;
use crate::records::{Next, Record, Records};
use crate::roles::{Columns, Role};
use crate::row::{Cells, Count, Problem, RowReader, Seen, Weight};
use crate::series::Grouping;
use crate::shape::{self, Shape, Trouble, delimiter_word};
use crate::units::Unit;
use crate::words::fold;
use plugin_api::{Intake, ReadContext, Reported, Source};
use record::{Finding, Moment, Place, RowAccount};
use std::io;

/// So many rows that don't fit the table may stand at its end.
const MOST_FOOTER: usize = 200;
/// Rows are compared with so many earlier ones to find repeated ones.
const MOST_COMPARED: usize = 200_000;
/// So much text of a row is kept when it is set aside.
const MOST_TEXT: usize = 64 * 1024;
/// Series are handed over in batches.
const BATCH: usize = 1024;

/// Reads a log into the intake.
pub(crate) fn read(source: &Source<'_>, intake: &mut Intake, cx: &ReadContext<'_>) -> Result<(), Reported> {
    let mapping = mapping::read(cx.options).map_err(|findings| refuse_all(intake, source, findings))?;
    let survey = encoding::survey(&|| source.open(), mapping.encoding)
        .map_err(|why| intake.refuse(not_text(source.name, why)))?;
    say_encoding(source.name, &survey, intake);
    let open = || encoding::text(source.open()?, survey.encoding, survey.mark);
    let shape = shape::find(&open, &mapping, cx.facts, source.name).map_err(|trouble| match trouble {
        Trouble::Io(e) => intake.refuse(unreadable(source.name, &e)),
        Trouble::Findings(findings) => refuse_all(intake, source, findings),
    })?;
    let rows = RowReader::new(&mapping, &shape.columns, shape.units, cx.defaults, cx.facts);
    let stem = source.name.strip_suffix(".csv").unwrap_or(source.name);
    let reading = Reading {
        file: source.name,
        survey: &survey,
        mapping: &mapping,
        shape: &shape,
        rows: &rows,
        groups: Grouping::new(stem, source.id, cx.defaults, &shape.columns),
        intake,
        account: RowAccount::default(),
        pending: Vec::new(),
        above: Vec::new(),
        repeated: Vec::new(),
        comments: Vec::new(),
        beside: Vec::new(),
        digests: Vec::new(),
        latest: None,
        in_order: true,
    };
    reading.run(&open)
}

fn refuse_all(intake: &mut Intake, source: &Source<'_>, findings: Vec<Finding>) -> Reported {
    let mut findings = findings.into_iter();
    let first = findings.next().unwrap_or_else(|| {
        Finding::error(codes::NO_TABLE, "the log can't be read")
            .at(Place { file: source.name.to_owned(), ..Place::default() })
    });
    let reported = intake.refuse(first);
    for finding in findings {
        intake.say(finding);
    }
    reported
}

fn at(file: &str, row: u64) -> Place {
    Place { file: file.to_owned(), row: Some(row), column: None, label: None }
}

fn unreadable(file: &str, e: &io::Error) -> Finding {
    let place = Place { file: file.to_owned(), ..Place::default() };
    if e.kind() == io::ErrorKind::InvalidData {
        return Finding::error(codes::UNDECODABLE, "the file changed while it was read")
            .at(place)
            .help("read it again");
    }
    Finding::error(codes::UNREADABLE, format!("the file can't be read: {e}"))
        .at(place)
        .help("check the disk or the share it is on")
}

fn not_text(file: &str, why: NotText) -> Finding {
    match why {
        NotText::Empty => {
            Finding::error(codes::EMPTY, "the file is empty").at(at(file, 1)).help("export the log again")
        }
        NotText::Unmarked { likely } => Finding::error(
            codes::UTF16_WITHOUT_MARK,
            format!("every second byte is zero: it looks like {likely} without the mark that says so"),
        )
        .at(at(file, 1))
        .help(format!("set `encoding = \"{likely}\"` for this log")),
        NotText::Undecodable { row, encoding } => Finding::error(
            codes::UNDECODABLE,
            format!("row {row} holds bytes that are no text in {encoding}"),
        )
        .at(at(file, row))
        .help("set `encoding` for this log to the one its program writes"),
        NotText::Nul { row } => {
            Finding::error(codes::NOT_TEXT, format!("not a text file: row {row} holds a NUL character"))
                .at(at(file, row))
                .help("export the log as text (CSV); if it is text in another encoding, set `encoding`")
        }
        NotText::Io(e) => Finding::error(codes::UNREADABLE, format!("the file can't be read: {e}"))
            .at(at(file, 1))
            .help("check the disk or the share it is on"),
    }
}

fn say_encoding(file: &str, survey: &Survey, intake: &mut Intake) {
    let how = match survey.how {
        How::Mark => "by its mark",
        How::Declared => "declared",
        How::Valid => "valid throughout",
        How::Assumed { .. } => "assumed",
    };
    intake.understood(format!("encoding: {} ({how})", survey.encoding.name()));
    intake.understood(format!("line ends: {}", survey.text.line_ends()));
    if let How::Assumed { row } = survey.how {
        intake.say(
            Finding::warning(
                codes::ENCODING_ASSUMED,
                format!("encoding problem: not valid UTF-8 from row {row} on; read as {}", survey.encoding.name()),
            )
            .at(at(file, row))
            .help("look at the special characters; set `encoding` for this log if they are wrong, or to confirm it"),
        );
    }
    if let Some(row) = survey.text.hidden {
        intake.say(
            Finding::warning(
                codes::HIDDEN_CHARACTERS,
                "control characters are present that change how text is shown without being seen",
            )
            .at(at(file, row))
            .help("compare names with those of the job; they are kept as they are"),
        );
    }
    if let Some(row) = survey.text.replacement {
        intake.say(
            Finding::warning(
                codes::HIDDEN_CHARACTERS,
                "the file holds U+FFFD, which an earlier program put in place of text it could not read",
            )
            .at(at(file, row))
            .help("export the log again from the original"),
        );
    }
    if survey.text.padded() {
        intake.understood("padding after the last row (NUL or 0x1A) left out".to_owned());
    }
}

/// A row that does not fit the table, until it is known whether the table goes on.
struct Misfit {
    row: u64,
    lines: u64,
    text: String,
    problem: Problem,
}

struct Reading<'a, 'i> {
    file: &'a str,
    survey: &'a Survey,
    mapping: &'a Mapping,
    shape: &'a Shape,
    rows: &'a RowReader<'a>,
    groups: Grouping<'a>,
    intake: &'i mut Intake,
    account: RowAccount,
    pending: Vec<Misfit>,
    above: Vec<String>,
    repeated: Vec<u64>,
    comments: Vec<(u64, String)>,
    beside: Vec<(u64, String)>,
    digests: Vec<(u64, u64)>,
    latest: Option<Moment>,
    in_order: bool,
}

/// What a record is, before its content is looked at.
enum Sort {
    Blank,
    Preamble,
    RepeatedHeader,
    Comment,
    Data,
    /// A discharge that can't be read.
    Unreadable(Problem),
    /// A row that does not fit: unreadable if the table goes on after it, else a footer.
    Misfit(Problem),
}

impl Reading<'_, '_> {
    fn run(mut self, open: &shape::Open<'_>) -> Result<(), Reported> {
        let input = open().map_err(|e| self.intake.refuse(unreadable(self.file, &e)))?;
        let mut records = Records::new(input, self.shape.delimiter, self.quotes());
        let mut after_header = false;
        loop {
            let next = records.next().map_err(|e| self.intake.refuse(unreadable(self.file, &e)))?;
            match next {
                Next::End => break,
                Next::Record => {}
                Next::TooLong { row } => {
                    return Err(self.intake.refuse(
                        Finding::error(codes::RECORD_TOO_LONG, "the row does not end within a megabyte")
                            .at(at(self.file, row))
                            .help("look for a quote that is opened on this row and never closed; `quote = \"none\"` reads quotes as text"),
                    ));
                }
                Next::Unclosed { row, column } => {
                    self.unclosed(&records, row, column);
                    continue;
                }
            }
            let record = records.current().map_err(|e| self.intake.refuse(unreadable(self.file, &e)))?;
            self.keep_beside(&record);
            let sort = self.sort(&record, after_header);
            after_header =
                matches!(sort, Sort::RepeatedHeader) || (after_header && matches!(sort, Sort::Blank));
            match sort {
                Sort::Blank => self.account.blank += record.lines,
                Sort::Preamble => self.account.preamble += record.lines,
                Sort::RepeatedHeader => {
                    self.account.preamble += record.lines;
                    self.repeated.push(record.row);
                }
                Sort::Comment => {
                    self.account.preamble += record.lines;
                    if self.comments.len() < 200 {
                        self.comments.push((record.row, record.raw.chars().take(500).collect()));
                    }
                }
                Sort::Unreadable(problem) => {
                    self.flush_pending();
                    self.set_aside(&record, &problem);
                }
                Sort::Misfit(problem) => self.misfit(&record, problem),
                Sort::Data => self.data(&record, open)?,
            }
        }
        self.account.total = records.rows();
        self.end()
    }

    /// The quote on this row swallows the rest of the file: one unreadable row.
    fn unclosed(&mut self, records: &Records<'_>, opened: u64, column: u32) {
        let (row, lines, text) = records.unclosed_text();
        let label = self.shape.columns.label(column.saturating_sub(1) as usize);
        let last = row + lines - 1;
        let message = if last > row {
            format!(
                "a quote is opened on row {opened} and never closed, so rows {row} to {last} can't be told apart"
            )
        } else {
            format!("a quote is opened on row {opened} and never closed")
        };
        let finding = Finding::error(codes::UNCLOSED_QUOTE, message)
            .at(Place {
                file: self.file.to_owned(),
                row: Some(opened),
                column: Some(column),
                label: Some(label),
            })
            .help("close the quote, or set `quote = \"none\"` if it is an inch mark");
        self.flush_pending();
        self.groups.close();
        self.account.set_aside += lines;
        self.intake.set_aside(row, cut(&text), finding);
    }

    /// Keeps what stands beside the table.
    fn keep_beside(&mut self, record: &Record<'_>) {
        let columns = self.shape.columns.beside.clone();
        let header = self.shape.header_row.unwrap_or(0);
        if columns.is_empty() || record.row < header || self.beside.len() >= 200 {
            return;
        }
        let texts: Vec<&str> = columns.map(|c| record.cell(c)).filter(|cell| !cell.is_empty()).collect();
        if !texts.is_empty() {
            self.beside.push((record.row, texts.join(": ")));
        }
    }

    fn sort(&self, record: &Record<'_>, after_header: bool) -> Sort {
        let columns = &self.shape.columns;
        if record.is_blank() {
            return Sort::Blank;
        }
        if record.row < self.shape.first_data_row {
            return Sort::Preamble;
        }
        let beside = &columns.beside;
        if !beside.is_empty() && (0..record.len()).all(|c| beside.contains(&c) || record.cell(c).is_empty()) {
            return Sort::Preamble;
        }
        if self.is_header(record) {
            return Sort::RepeatedHeader;
        }
        if after_header
            && record.cells().all(|c| c.is_empty() || Unit::parse(c).is_some() || c == "1" || c == "-")
        {
            return Sort::Preamble;
        }
        let cells = Cells { record: *record, above: &[], columns };
        let surplus = (columns.width..record.len()).find(|c| !record.cell(*c).is_empty());
        let count_fits = record.len() >= columns.needed() && surplus.is_none();
        let has_voltage = cells.get(Role::Voltage).is_some()
            || (self.mapping.blanks_above && cells.get(Role::Point).is_none() && !self.above.is_empty());
        let comment = record.raw.starts_with('#')
            || record.raw.starts_with("//")
            || (record.raw.starts_with(';') && self.shape.delimiter != b';');
        if count_fits && has_voltage && !comment {
            return Sort::Data;
        }
        let like = self.rows.looks_like_a_discharge(&cells);
        if comment {
            return if count_fits && has_voltage && like { Sort::Data } else { Sort::Comment };
        }
        let problem = if count_fits {
            let column = columns.get(Role::Voltage);
            Problem::row(codes::BAD_NUMBER, column, "the voltage is empty")
                .help("write the voltage, or set `blanks = \"above\"` if an empty cell repeats the one above")
        } else {
            let fields = record.len().max(1);
            let problem = Problem::row(
                codes::FIELD_COUNT,
                surplus,
                format!(
                    "the row has {fields} field{}, the table has {}",
                    if fields == 1 { "" } else { "s" },
                    columns.width
                ),
            );
            if fields < columns.needed() {
                problem.help("look whether the row was cut off, and complete it")
            } else {
                problem.help("put quotes around a text that holds the delimiter, or remove the surplus field")
            }
        };
        if like { Sort::Unreadable(problem) } else { Sort::Misfit(problem) }
    }

    fn is_header(&self, record: &Record<'_>) -> bool {
        let Some(voltage) = self.shape.columns.get(Role::Voltage) else { return false };
        let Some(label) = self.shape.header.get(voltage).filter(|l| !l.is_empty()) else { return false };
        let cell = record.cell(voltage);
        let first = |text: &str| text.chars().next().and_then(|c| c.to_lowercase().next());
        first(cell) == first(label)
            && fold(cell) == *label
            && self.shape.header.iter().enumerate().all(|(c, l)| fold(record.cell(c)) == *l)
    }

    fn misfit(&mut self, record: &Record<'_>, problem: Problem) {
        self.pending.push(Misfit { row: record.row, lines: record.lines, text: cut(record.raw), problem });
        if self.pending.len() > MOST_FOOTER {
            self.flush_pending();
        }
    }

    /// Rows that did not fit were no footer: the table goes on after them.
    fn flush_pending(&mut self) {
        if self.pending.is_empty() {
            return;
        }
        self.groups.close();
        for misfit in std::mem::take(&mut self.pending) {
            self.account.set_aside += misfit.lines;
            let finding = self.finding(misfit.row, &misfit.problem);
            self.intake.set_aside(misfit.row, misfit.text, finding);
        }
    }

    /// Whether quotes have to be looked for.
    fn quotes(&self) -> bool {
        !self.mapping.no_quotes && self.survey.text.quotes
    }

    fn finding(&self, row: u64, problem: &Problem) -> Finding {
        let mut finding = Finding::error(problem.code, problem.message.clone()).at(Place {
            file: self.file.to_owned(),
            row: Some(row),
            column: problem.column.and_then(|c| u32::try_from(c + 1).ok()),
            label: problem.column.map(|c| self.shape.columns.label(c)),
        });
        finding.help.clone_from(&problem.help);
        finding
    }

    fn set_aside(&mut self, record: &Record<'_>, problem: &Problem) {
        self.groups.close();
        self.account.set_aside += record.lines;
        let finding = self.finding(record.row, problem);
        self.intake.set_aside(record.row, cut(record.raw), finding);
    }

    fn data(&mut self, record: &Record<'_>, open: &shape::Open<'_>) -> Result<(), Reported> {
        self.flush_pending();
        if self.survey.text.control.or(self.survey.text.c1).is_some()
            && let Some((column, character)) = control(record)
        {
            let problem = Problem::row(
                codes::CONTROL_CHARACTER,
                Some(column),
                format!("the field holds the control character U+{:04X}", u32::from(character)),
            )
            .help("remove it in the original and read the log again");
            self.set_aside(record, &problem);
            return Ok(());
        }
        self.carry(record);
        let rows = self.rows;
        let above = std::mem::take(&mut self.above);
        let cells = Cells { record: *record, above: &above, columns: &self.shape.columns };
        let mut row = rows.read(&cells);
        if let Err(Problem { weight: Weight::Decimal, .. }) = &row {
            match self.look_for_decimal_sign(open) {
                Ok(Some(seen)) => {
                    rows.decide(seen);
                    row = rows.read(&cells);
                }
                Ok(None) => {}
                Err(e) => return Err(self.intake.refuse(unreadable(self.file, &e))),
            }
        }
        let result = match row {
            Ok(row) => {
                self.account.used += record.lines;
                self.remember(record, row.at.as_ref(), row.at.is_some() || row.count != Count::One);
                if row.count == Count::Set(0) {
                    self.no_discharge(record, row.outcome);
                } else {
                    self.groups.push(row, record);
                    self.hand_over();
                }
                Ok(())
            }
            Err(problem) if problem.weight == Weight::Row => {
                self.set_aside(record, &problem);
                Ok(())
            }
            Err(problem) => Err(self.intake.refuse(self.finding(record.row, &problem))),
        };
        self.above = above;
        result
    }

    fn no_discharge(&mut self, record: &Record<'_>, outcome: Outcome) {
        self.groups.close();
        let text: String = record.raw.chars().take(200).collect();
        self.intake.say(
            Finding::note(
                codes::NO_DISCHARGE,
                format!("the row says that no discharge was applied: `{text}`"),
            )
            .at(at(self.file, record.row)),
        );
        if let Outcome::Seen(effect) = outcome {
            self.groups.observe_without_discharge(*effect, record);
        }
    }

    /// Remembers what the cells of this row say for empty ones below.
    fn carry(&mut self, record: &Record<'_>) {
        if !self.mapping.blanks_above {
            return;
        }
        let columns = &self.shape.columns;
        self.above.resize(columns.width, String::new());
        for role in [
            Role::Point,
            Role::Application,
            Role::Polarity,
            Role::Voltage,
            Role::Interval,
            Role::Date,
            Role::State,
            Role::Mode,
            Role::Kind,
            Role::Single,
            Role::Tip,
            Role::Person,
        ] {
            if let Some(column) = columns.get(role) {
                let cell = record.cell(column);
                if let Some(above) = self.above.get_mut(column).filter(|_| !cell.is_empty()) {
                    cell.clone_into(above);
                }
            }
        }
    }

    /// Remembers a row, for finding those that repeat it field by field.
    fn remember(&mut self, record: &Record<'_>, at: Option<&Moment>, telling: bool) {
        if !telling || self.digests.len() >= MOST_COMPARED {
            return;
        }
        self.digests.push((digest(record.raw.as_bytes()), record.row));
        // As long as each row is later than the one before, none can repeat another.
        self.in_order &= match (at, &self.latest) {
            (Some(at), Some(latest)) => at > latest,
            (Some(_), None) => true,
            (None, _) => false,
        };
        if self.in_order {
            self.latest = at.cloned();
        }
    }

    /// Rows that repeat an earlier one: row and first row, in the order of the file.
    fn doubles(&mut self) -> Vec<(u64, u64)> {
        if self.in_order {
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

    fn hand_over(&mut self) {
        if self.groups.len() >= BATCH {
            self.intake.series(self.groups.take());
        }
        if self.groups.observations.len() >= BATCH {
            self.intake.observations(self.groups.observations.drain(..));
        }
    }

    /// Goes through the columns of numbers of the whole file for one that only one decimal sign explains.
    fn look_for_decimal_sign(&self, open: &shape::Open<'_>) -> io::Result<Option<Seen>> {
        let columns: &Columns = &self.shape.columns;
        let numbers: Vec<usize> =
            columns.roles().filter(|(role, _)| role.is_number()).map(|(_, c)| c).collect();
        let mut records = Records::new(open()?, self.shape.delimiter, self.quotes());
        while records.next()? == Next::Record {
            let record = records.current()?;
            if record.row < self.shape.first_data_row || record.len() < columns.needed() {
                continue;
            }
            for column in &numbers {
                let text = record.cell(*column);
                if let Evidence::Decimal(sign) = number::evidence(text, self.mapping.style.thousands) {
                    return Ok(Some(Seen { sign, row: record.row, column: *column, text: text.to_owned() }));
                }
            }
        }
        Ok(None)
    }

    fn end(mut self) -> Result<(), Reported> {
        if self.account.used == 0 {
            self.flush_pending();
        }
        let footer = std::mem::take(&mut self.pending);
        self.groups.close();
        self.account.footer = footer.iter().map(|m| m.lines).sum();
        if self.rows.plus_assumed.get() && !self.rows.sign_seen.get() {
            let column = self.shape.columns.get(Role::Voltage);
            let problem = Problem::row(
                codes::POLARITY_NOT_STATED,
                column,
                "no row states a polarity: there is no polarity column, and no voltage has a sign",
            )
            .help("set `polarity = \"positive\"` or `polarity = \"negative\"` for this log")
            .help("or name the column: `columns.polarity = \"...\"`");
            let row = self.shape.header_row.unwrap_or(self.shape.first_data_row);
            let finding = self.finding(row, &problem);
            return Err(self.intake.refuse(finding));
        }
        self.say_layout(&footer);
        self.say_assumptions();
        self.say_oddities(&footer);
        self.intake.series(self.groups.take());
        self.intake.observations(self.groups.observations.drain(..));
        self.intake.account(self.account);
        Ok(())
    }

    fn column_place(&self, column: usize) -> Place {
        Place {
            file: self.file.to_owned(),
            row: self.shape.header_row.or(Some(self.shape.first_data_row)),
            column: u32::try_from(column + 1).ok(),
            label: Some(self.shape.columns.label(column)),
        }
    }

    fn say_layout(&mut self, footer: &[Misfit]) {
        let shape = self.shape;
        let intake = &mut *self.intake;
        intake.understood(format!(
            "delimiter: {} ({})",
            delimiter_word(shape.delimiter),
            shape.delimiter_how
        ));
        intake.understood(match (self.mapping.style.decimal, self.rows.decimal_seen.borrow().as_ref()) {
            (Some(declared), _) => format!("decimal sign: {} (declared)", declared.word()),
            (None, Some(seen)) => {
                format!(
                    "decimal sign: {} (row {}, column {}: `{}`)",
                    seen.sign.word(),
                    seen.row,
                    seen.column + 1,
                    seen.text
                )
            }
            (None, None) => "decimal sign: none occurs".to_owned(),
        });
        match shape.header_row {
            Some(row) => intake.understood(format!("header: row {row}")),
            None => intake.understood("header: none"),
        }
        for row in &shape.units_rows {
            intake.understood(format!("units: row {row}"));
        }
        let columns = &shape.columns;
        let mut roles: Vec<(usize, &str)> =
            columns.roles().map(|(role, column)| (column, role.key())).collect();
        roles.extend(columns.remarks.iter().map(|c| (*c, "remark")));
        roles.extend(columns.kept_and_used().map(|c| (c, "kept as remark")));
        roles.sort_unstable();
        for (column, role) in roles {
            intake.understood(format!("column {} `{}`: {role}", column + 1, columns.label(column)));
        }
        if let Some(unit) = shape.units.voltage {
            intake.understood(format!("voltage in {}", unit.symbol()));
        }
        for (row, text) in shape.preamble.iter().take(200) {
            intake.understood(format!("before the table, row {row}: {text}"));
        }
        for (row, text) in &self.beside {
            intake.understood(format!("beside the table, row {row}: {text}"));
        }
        for (row, text) in &self.comments {
            intake.understood(format!("comment, row {row}: {text}"));
        }
        for misfit in footer {
            intake.understood(format!("after the table, row {}: {}", misfit.row, misfit.text));
        }
        if self.groups.watched_by_outcome {
            intake.understood("monitoring: continuous where each row of a series says what came of it");
        }
        for finding in &shape.findings {
            intake.say(finding.clone());
        }
    }

    fn say_assumptions(&mut self) {
        let shape = self.shape;
        let columns = &shape.columns;
        if self.rows.kilovolts_assumed.get()
            && let Some(column) = columns.get(Role::Voltage)
        {
            let place = self.column_place(column);
            self.intake.say(
                Finding::warning(
                    codes::UNIT_ASSUMED,
                    "the voltages have no unit; they were read as kV, since none is above 100",
                )
                .at(place)
                .help("set `units.voltage = \"kV\"` for this log to confirm it"),
            );
        }
        if let Some(column) = self.rows.seconds_assumed.get() {
            let place = self.column_place(column);
            self.intake.say(
                Finding::warning(
                    codes::UNIT_ASSUMED,
                    format!("column `{}` has no unit; it was read as seconds", columns.label(column)),
                )
                .at(place)
                .help("set `units.interval` or `units.lasted` for this log to confirm it"),
            );
        }
        if self.rows.clock_without_date.get()
            && let Some(column) = columns.get(Role::Time)
        {
            let place = self.column_place(column);
            self.intake.say(
                Finding::warning(
                    codes::TIME_WITHOUT_DATE,
                    "the times of day have no date, so they are not used",
                )
                .at(place)
                .help(
                    "set `day = \"2026-03-12\"` (the day of the test) for this log, or name the date column",
                ),
            );
        }
        if let Some((row, column)) = self.rows.verdict_words.get() {
            let place = Place { row: Some(row), ..self.column_place(column) };
            self.intake.say(
                Finding::warning(codes::VERDICT_WORD, "a result like pass or fail does not say what the item did; it is kept as seen")
                    .at(place)
                    .help("state what was seen, or set `words.result.nothing = [\"pass\"]` if it means that nothing was seen"),
            );
        }
    }

    fn say_oddities(&mut self, footer: &[Misfit]) {
        let shape = self.shape;
        let columns = &shape.columns;
        let whole = at(self.file, shape.header_row.unwrap_or(shape.first_data_row));
        let kept: Vec<String> = columns.kept_and_used().map(|c| format!("`{}`", columns.label(c))).collect();
        if !kept.is_empty() {
            self.intake.say(
                Finding::note(
                    codes::COLUMNS_KEPT,
                    format!("columns without a known role are kept as remarks: {}", kept.join(", ")),
                )
                .at(whole.clone())
                .help("give them a role under `columns`, or list them under `columns.ignore`"),
            );
        }
        if shape.dropped > 0 {
            self.intake.say(
                Finding::note(
                    codes::EMPTY_COLUMNS,
                    format!("unnamed empty columns ignored: {} at the end of the table", shape.dropped),
                )
                .at(whole.clone()),
            );
        }
        for row in &self.repeated {
            self.intake.say(
                Finding::warning(codes::REPEATED_HEADER, format!("repeated header skipped on row {row}"))
                    .at(at(self.file, *row))
                    .help("if two logs were joined here, check that no row is in both"),
            );
        }
        if let (Some(first), Some(last)) = (footer.first(), footer.last()) {
            let text: String = first.text.chars().take(120).collect();
            let rows = if footer.len() == 1 {
                format!("row {} is", first.row)
            } else {
                format!("rows {} to {} are", first.row, last.row)
            };
            self.intake.say(
                Finding::note(
                    codes::FOOTER,
                    format!("{rows} after the table and not read as discharges: `{text}`"),
                )
                .at(at(self.file, first.row)),
            );
        }
        if self.account.used == 0 && self.account.set_aside == 0 {
            self.intake.say(
                Finding::warning(codes::NO_ROWS, "no records: the table has a header and no rows")
                    .at(whole)
                    .help("check that the log was exported whole"),
            );
        }
        let doubles = self.doubles();
        if let Some((row, _)) = doubles.first() {
            let list: Vec<String> =
                doubles.iter().take(5).map(|(row, first)| format!("row {row} repeats row {first}")).collect();
            let more = match doubles.len().saturating_sub(list.len()) {
                0 => String::new(),
                more => format!(" and {more} more"),
            };
            self.intake.say(
                Finding::warning(
                    codes::DUPLICATE_ROWS,
                    format!("duplicates: {}{more}; all are counted", list.join(", ")),
                )
                .at(at(self.file, *row))
                .help(
                    "remove rows that were written twice; leave them if the discharges were really applied",
                ),
            );
        }
        if self.groups.odd_count > 0 {
            let list: Vec<String> = self
                .groups
                .odd_numbers
                .iter()
                .map(|(row, number, before)| format!("row {row}: {number} after {before}"))
                .collect();
            let row = self.groups.odd_numbers.first().map_or(1, |(row, ..)| *row);
            self.intake.say(
                Finding::warning(
                    codes::SHOT_NUMBERS,
                    format!(
                        "{} shot numbers do not follow the one before ({})",
                        self.groups.odd_count,
                        list.join("; ")
                    ),
                )
                .at(at(self.file, row))
                .help("check whether rows are missing or written twice"),
            );
        }
    }
}

/// The first control character of a row with its column.
fn control(record: &Record<'_>) -> Option<(usize, char)> {
    record.cells().enumerate().find_map(|(column, cell)| {
        cell.chars().find(|c| c.is_control() && !matches!(c, '\t' | '\n' | '\r')).map(|c| (column, c))
    })
}

/// As much of a text as is kept.
fn cut(text: &str) -> String {
    match text.char_indices().nth(MOST_TEXT) {
        None => text.to_owned(),
        Some((end, _)) => format!("{} ...", text.get(..end).unwrap_or_default()),
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
