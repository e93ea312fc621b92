//! Reads a log from its first byte to its last and says what became of every row.

use crate::codes;
use crate::encoding::{self, Survey};
use crate::mapping::Mapping;
use crate::number::{self, Evidence};
use crate::outcome::Outcome;
use crate::parts;
use crate::records::{Next, Record, Records};
use crate::refuse::{at, not_text, say_encoding, unreadable};
use crate::repeats::Repeats;
use crate::roles::{Columns, Role};
use crate::row::{Cells, Count, Problem, RowReader, Seen, Weight};
use crate::series::Grouping;
use crate::settings;
use crate::shape::{self, Shape, Trouble};
use crate::units::Unit;
use crate::unseen;
use crate::words::fold;
use plugin_api::{Intake, ReadContext, Reported, SeriesDefaults, Source, Workers};
use record::{Facts, Finding, Place, RowAccount, SourceId};
use std::io;

/// So many rows that don't fit the table may stand at its end.
const MOST_FOOTER: usize = 200;
/// More unreadable rows than this, and more than readable ones, mean that the log was not understood.
pub(crate) const MOST_UNREAD: u64 = 10_000;
/// So much text of a row is kept when it is set aside.
const MOST_TEXT: usize = 64 * 1024;
/// So many comments, and rows beside the table, are kept.
pub(crate) const MOST_KEPT: usize = 200;

/// Reads a log into the intake.
pub(crate) fn read(source: &Source<'_>, intake: &mut Intake, cx: &ReadContext<'_>) -> Result<(), Reported> {
    let mapping = settings::read(cx.options).map_err(|findings| refuse_all(intake, source, findings))?;
    read_by(source, intake, cx, mapping)
}

/// Reads a log by settings that were read already.
pub(crate) fn read_by(
    source: &Source<'_>,
    intake: &mut Intake,
    cx: &ReadContext<'_>,
    mut mapping: Mapping,
) -> Result<(), Reported> {
    mapping.point_given = cx.defaults.point.is_some();
    let survey = encoding::survey(&|| source.open(), mapping.encoding)
        .map_err(|why| intake.refuse(not_text(source.name, why)))?;
    say_encoding(source.name, &survey, intake);
    let open = || encoding::text(source.open()?, survey.encoding, survey.mark);
    let shape = shape::find(&open, &mapping, cx.facts, source.name).map_err(|trouble| {
        unseen::say(source.name, &survey, None, intake);
        match trouble {
            Trouble::Io(e) => intake.refuse(unreadable(source.name, &e)),
            Trouble::Findings(findings) => refuse_all(intake, source, findings),
        }
    })?;
    let quotes = !mapping.no_quotes && survey.text.quotes;
    let table = unseen::Table { open: &open, shape: &shape, quotes };
    unseen::say(source.name, &survey, Some(&table), intake);
    let context = Context {
        file: source.name,
        source: source.id,
        survey: &survey,
        mapping: &mapping,
        shape: &shape,
        defaults: cx.defaults,
        facts: cx.facts,
    };
    let mut reading = Reading::new(context);
    std::mem::swap(&mut reading.intake, intake);
    let workers = source.workers().filter(|workers| {
        workers.threads() > 1 && source.bytes >= parts::LEAST && parts::possible(&mapping, &shape.columns)
    });
    let done = reading.run(&open, workers);
    std::mem::swap(&mut reading.intake, intake);
    done
}

/// What the reading of a log, or of a part of it, goes by.
#[derive(Clone, Copy)]
pub(crate) struct Context<'a> {
    pub(crate) file: &'a str,
    source: SourceId,
    pub(crate) survey: &'a Survey,
    pub(crate) mapping: &'a Mapping,
    pub(crate) shape: &'a Shape,
    defaults: &'a SeriesDefaults,
    facts: &'a Facts,
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

/// A row that does not fit the table, until it is known whether the table goes on.
pub(crate) struct Misfit {
    pub(crate) row: u64,
    lines: u64,
    pub(crate) text: String,
    problem: Problem,
}

/// The reading of one log, or of a part of it.
pub(crate) struct Reading<'a> {
    pub(crate) context: Context<'a>,
    pub(crate) file: &'a str,
    survey: &'a Survey,
    pub(crate) mapping: &'a Mapping,
    pub(crate) shape: &'a Shape,
    pub(crate) rows: RowReader<'a>,
    pub(crate) groups: Grouping<'a>,
    pub(crate) intake: Intake,
    pub(crate) account: RowAccount,
    /// The row before was a repeated header.
    pub(crate) after_header: bool,
    pub(crate) pending: Vec<Misfit>,
    above: Vec<String>,
    pub(crate) repeated: Vec<u64>,
    pub(crate) comments: Vec<(u64, String)>,
    pub(crate) beside: Vec<(u64, String)>,
    pub(crate) repeats: Repeats,
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

/// How far rows are read.
#[derive(Clone, Copy)]
pub(crate) enum Until {
    End,
    Row(u64),
}

impl<'a> Reading<'a> {
    /// Begins to read.
    pub(crate) fn new(context: Context<'a>) -> Self {
        let Context { file, source, survey, mapping, shape, defaults, facts } = context;
        let stem = file.strip_suffix(".csv").unwrap_or(file);
        Self {
            context,
            file,
            survey,
            mapping,
            shape,
            rows: RowReader::new(mapping, &shape.columns, shape.units, defaults, facts),
            groups: Grouping::new(stem, source, defaults, &shape.columns),
            intake: Intake::new(source),
            account: RowAccount::default(),
            after_header: false,
            pending: Vec::new(),
            above: Vec::new(),
            repeated: Vec::new(),
            comments: Vec::new(),
            beside: Vec::new(),
            repeats: Repeats::default(),
        }
    }

    fn run(&mut self, open: &shape::Open<'_>, workers: Option<&dyn Workers>) -> Result<(), Reported> {
        let input = open().map_err(|e| self.intake.refuse(unreadable(self.file, &e)))?;
        let mut records = Records::new(input, self.shape.delimiter, self.quotes());
        match workers {
            Some(workers) if !self.records(&mut records, Some(open), Until::Row(parts::FIRST_ROWS))? => {
                records = self.parts(records, open, workers)?;
            }
            _ => {}
        }
        self.records(&mut records, Some(open), Until::End)?;
        self.give_up_on_rows()?;
        self.account.total = records.rows();
        self.end()
    }

    /// Reads rows; true where no more of them follow. Without a way to open the file again, a question about the
    /// whole of it is an error.
    pub(crate) fn records(
        &mut self,
        records: &mut Records<'_>,
        open: Option<&shape::Open<'_>>,
        until: Until,
    ) -> Result<bool, Reported> {
        loop {
            if matches!(until, Until::Row(last) if records.rows() >= last) {
                return Ok(false);
            }
            let next = records.next().map_err(|e| self.intake.refuse(unreadable(self.file, &e)))?;
            match next {
                Next::End => return Ok(true),
                Next::Record => {}
                Next::TooLong { row } => {
                    return Err(self.intake.refuse(
                        Finding::error(codes::RECORD_TOO_LONG, "the row does not end within a megabyte")
                            .at(at(self.file, row))
                            .help("look for a quote that is opened on this row and never closed; `quote = \"none\"` reads quotes as text"),
                    ));
                }
                Next::Unclosed { row, column } => {
                    self.unclosed(records, row, column);
                    continue;
                }
            }
            let record = records.current().map_err(|e| self.intake.refuse(unreadable(self.file, &e)))?;
            self.keep_beside(&record);
            let sort = self.sort(&record);
            self.after_header =
                matches!(sort, Sort::RepeatedHeader) || (self.after_header && matches!(sort, Sort::Blank));
            match sort {
                Sort::Blank => self.account.blank += record.lines,
                Sort::Preamble => self.account.preamble += record.lines,
                Sort::RepeatedHeader => {
                    self.account.preamble += record.lines;
                    self.repeated.push(record.row);
                }
                Sort::Comment => {
                    self.account.preamble += record.lines;
                    if self.comments.len() < MOST_KEPT {
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
            self.give_up_on_rows()?;
        }
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
        self.intake.set_aside(row..=last, cut(&text), finding);
    }

    /// Stops where most rows can't be read: the log is another one than it was taken for.
    fn give_up_on_rows(&mut self) -> Result<(), Reported> {
        if self.account.set_aside <= MOST_UNREAD || self.account.set_aside <= self.account.used {
            return Ok(());
        }
        let row = self.shape.header_row.unwrap_or(self.shape.first_data_row);
        Err(self.intake.refuse(
            Finding::error(
                codes::MOSTLY_UNREADABLE,
                format!("most rows can't be read: {} set aside, {} read", self.account.set_aside, self.account.used),
            )
            .at(at(self.file, row))
            .help("look at the first findings about rows; the columns, the delimiter or the units are probably others"),
        ))
    }

    /// Keeps what stands beside the table.
    fn keep_beside(&mut self, record: &Record<'_>) {
        let columns = self.shape.columns.beside.clone();
        let header = self.shape.header_row.unwrap_or(0);
        if columns.is_empty() || record.row < header || self.beside.len() >= MOST_KEPT {
            return;
        }
        let texts: Vec<&str> = columns.map(|c| record.cell(c)).filter(|cell| !cell.is_empty()).collect();
        if !texts.is_empty() {
            self.beside.push((record.row, texts.join(": ")));
        }
    }

    fn sort(&self, record: &Record<'_>) -> Sort {
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
        if self.after_header
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
            self.intake.set_aside(misfit.row..=misfit.row + misfit.lines - 1, misfit.text, finding);
        }
    }

    /// Whether quotes have to be looked for.
    pub(crate) fn quotes(&self) -> bool {
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
        self.intake.set_aside(record.row..=record.row + record.lines - 1, cut(record.raw), finding);
    }

    fn data(&mut self, record: &Record<'_>, open: Option<&shape::Open<'_>>) -> Result<(), Reported> {
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
        let above = std::mem::take(&mut self.above);
        let cells = Cells { record: *record, above: &above, columns: &self.shape.columns };
        let mut row = self.rows.read(&cells);
        if let (Err(Problem { weight: Weight::Decimal, .. }), Some(open)) = (&row, open) {
            match self.look_for_decimal_sign(open) {
                Ok(Some(seen)) => {
                    self.rows.decide(seen);
                    row = self.rows.read(&cells);
                }
                Ok(None) => {}
                Err(e) => return Err(self.intake.refuse(unreadable(self.file, &e))),
            }
        }
        let result = match row {
            Ok(row) => {
                self.account.used += record.lines;
                if row.at.is_some() || row.count != Count::One {
                    self.repeats.remember(record, row.at.as_ref());
                }
                if row.count == Count::Set(0) {
                    self.no_discharge(record, row.outcome);
                } else {
                    self.groups.push(row, record);
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

    /// Hands over what is finished.
    pub(crate) fn hand_all_over(&mut self) {
        self.intake.batches(self.groups.take());
        self.intake.observations(self.groups.observations.drain(..));
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

    fn end(&mut self) -> Result<(), Reported> {
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
        self.hand_all_over();
        self.intake.account(self.account);
        Ok(())
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
