//! From a record's fields to what one row says.

use crate::codes;
use crate::mapping::Mapping;
use crate::number::{self, DecimalSign, Evidence, Sign, Style};
use crate::outcome::Outcome;
use crate::records::Record;
use crate::roles::{Columns, Role};
use crate::shape::Units;
use crate::times::{self, Written};
use crate::units::Unit;
use crate::words::{Poles, renamed};
use plugin_api::SeriesDefaults;
use record::{Application, Facts, Kilovolts, Moment, RunKind, Seconds, Tip};
use std::cell::{Cell, RefCell};
use std::collections::{BTreeMap, BTreeSet};

/// So many different voltages are remembered.
pub(crate) const MOST_VOLTAGES: usize = 32;

/// What one row says.
#[derive(Debug)]
pub(crate) struct Row<'r> {
    pub(crate) point: &'r str,
    pub(crate) application: Application,
    pub(crate) poles: Poles,
    pub(crate) voltage: Kilovolts,
    pub(crate) count: Count,
    pub(crate) shot_number: Option<u32>,
    pub(crate) interval: Option<Seconds>,
    pub(crate) at: Option<Moment>,
    pub(crate) state: Option<&'r str>,
    pub(crate) mode: Option<&'r str>,
    pub(crate) kind: Option<RunKind>,
    pub(crate) single: Option<bool>,
    pub(crate) tip: Option<Tip>,
    pub(crate) person: Option<&'r str>,
    pub(crate) reference: Option<&'r str>,
    pub(crate) spark: Option<bool>,
    pub(crate) sparks: Option<u32>,
    pub(crate) outcome: Outcome,
}

/// How many discharges a row stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Count {
    /// The log has a row for each.
    One,
    /// The row says how many.
    Set(u32),
}

/// Why a row can't be read.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Problem {
    pub(crate) weight: Weight,
    pub(crate) code: &'static str,
    pub(crate) column: Option<usize>,
    pub(crate) message: String,
    pub(crate) help: Vec<String>,
}

/// What a problem stops.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Weight {
    /// The row is set aside.
    Row,
    /// The question is about the whole log.
    File,
    /// The decimal sign of the file must be found out first.
    Decimal,
}

impl Problem {
    pub(crate) fn row(code: &'static str, column: Option<usize>, message: impl Into<String>) -> Self {
        Self { weight: Weight::Row, code, column, message: message.into(), help: Vec::new() }
    }

    pub(crate) fn help(mut self, text: impl Into<String>) -> Self {
        self.help.push(text.into());
        self
    }

    pub(crate) fn of_file(mut self) -> Self {
        self.weight = Weight::File;
        self
    }
}

/// The fields of a row, with what stands above for cells that repeat it.
#[derive(Clone, Copy)]
pub(crate) struct Cells<'r> {
    pub(crate) record: Record<'r>,
    pub(crate) above: &'r [String],
    pub(crate) columns: &'r Columns,
}

impl<'r> Cells<'r> {
    /// The field of a column.
    #[inline]
    pub(crate) fn at(&self, column: usize) -> &'r str {
        let cell = self.record.cell(column);
        if cell.is_empty() { self.above.get(column).map_or("", String::as_str) } else { cell }
    }

    /// The field of a role with its column; none where the role has no column or the field is empty.
    #[inline]
    pub(crate) fn get(&self, role: Role) -> Option<(usize, &'r str)> {
        let column = self.columns.get(role)?;
        Some((column, self.at(column))).filter(|(_, cell)| !cell.is_empty())
    }
}

/// Where the decimal sign of the file showed first.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Seen {
    pub(crate) sign: DecimalSign,
    pub(crate) row: u64,
    pub(crate) column: usize,
    pub(crate) text: String,
}

/// How the numbers of a log are written, as far as its rows have shown.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Known {
    style: Style,
    decimal_seen: Option<Seen>,
}

/// Reads rows of one log.
pub(crate) struct RowReader<'a> {
    pub(crate) mapping: &'a Mapping,
    pub(crate) columns: &'a Columns,
    pub(crate) units: Units,
    pub(crate) defaults: &'a SeriesDefaults,
    pub(crate) points: BTreeMap<&'a str, &'a [Application]>,
    pub(crate) demands: BTreeSet<String>,
    style: Cell<Style>,
    pub(crate) decimal_seen: RefCell<Option<Seen>>,
    /// Voltages that were read, by their text: a log has few different ones.
    pub(crate) voltages: RefCell<Vec<(String, Kilovolts, Sign)>>,
    counter: Cell<Option<u64>>,
    /// A voltage without sign was taken as positive.
    pub(crate) plus_assumed: Cell<bool>,
    /// A voltage with a sign was read.
    pub(crate) sign_seen: Cell<bool>,
    pub(crate) kilovolts_assumed: Cell<bool>,
    pub(crate) seconds_assumed: Cell<Option<usize>>,
    pub(crate) clock_without_date: Cell<bool>,
    pub(crate) verdict_words: Cell<Option<(u64, usize)>>,
}

impl<'a> RowReader<'a> {
    pub(crate) fn new(
        mapping: &'a Mapping,
        columns: &'a Columns,
        units: Units,
        defaults: &'a SeriesDefaults,
        facts: &'a Facts,
    ) -> Self {
        let demands =
            facts.demands.iter().flat_map(|d| &d.accepted).map(|word| crate::words::fold(word)).collect();
        Self {
            mapping,
            columns,
            units,
            defaults,
            points: facts.points.iter().map(|p| (p.id.as_str(), p.applications.as_slice())).collect(),
            demands,
            style: Cell::new(mapping.style),
            decimal_seen: RefCell::new(None),
            voltages: RefCell::new(Vec::new()),
            counter: Cell::new(mapping.counter_start),
            plus_assumed: Cell::new(false),
            sign_seen: Cell::new(false),
            kilovolts_assumed: Cell::new(false),
            seconds_assumed: Cell::new(None),
            clock_without_date: Cell::new(false),
            verdict_words: Cell::new(None),
        }
    }

    /// What is known of how numbers are written, for rows that are read apart.
    pub(crate) fn known(&self) -> Known {
        Known { style: self.style.get(), decimal_seen: self.decimal_seen.borrow().clone() }
    }

    /// Starts with what other rows showed.
    pub(crate) fn start_with(&self, known: Known) {
        self.style.set(known.style);
        *self.decimal_seen.borrow_mut() = known.decimal_seen;
    }

    /// Takes over what rows that follow showed.
    pub(crate) fn join(&self, next: &RowReader<'_>) {
        self.start_with(next.known());
        for (own, other) in [
            (&self.plus_assumed, &next.plus_assumed),
            (&self.sign_seen, &next.sign_seen),
            (&self.kilovolts_assumed, &next.kilovolts_assumed),
            (&self.clock_without_date, &next.clock_without_date),
        ] {
            own.set(own.get() || other.get());
        }
        self.seconds_assumed.set(next.seconds_assumed.get().or(self.seconds_assumed.get()));
        self.verdict_words.set(self.verdict_words.get().or(next.verdict_words.get()));
    }

    /// Fixes the decimal sign by what another row showed.
    pub(crate) fn decide(&self, seen: Seen) {
        self.style.set(Style { decimal: Some(seen.sign), ..self.style.get() });
        *self.decimal_seen.borrow_mut() = Some(seen);
    }

    /// Whether a row that does not fit the table still looks like a discharge: then it is unreadable, not
    /// part of a footer.
    pub(crate) fn looks_like_a_discharge(&self, cells: &Cells<'_>) -> bool {
        let number = cells.get(Role::Voltage).is_some_and(|(_, cell)| {
            cell.bytes().any(|b| b.is_ascii_digit()) && number::evidence(cell, None) != Evidence::None
                || number::read(cell, self.style.get()).is_ok()
        });
        let word = cells
            .get(Role::Application)
            .is_some_and(|(_, cell)| self.mapping.words.application.get(cell).is_some())
            || cells
                .get(Role::Polarity)
                .is_some_and(|(_, cell)| self.mapping.words.polarity.get(cell).is_some());
        number || word
    }

    /// Reads one row.
    pub(crate) fn read<'r>(&self, cells: &Cells<'r>) -> Result<Row<'r>, Problem>
    where
        'a: 'r,
    {
        let words = &self.mapping.words;
        // An empty cell of a column for points is a gap; without such a column all rows are at the point named elsewhere.
        let elsewhere = self.defaults.point.as_ref().filter(|_| !self.columns.has(Role::Point));
        let cell = cells.get(Role::Point).map(|(_, cell)| cell).or(elsewhere.map(record::PointId::as_str));
        let Some(point) = cell else {
            return Err(Problem::row(
                codes::POINT_MISSING,
                self.columns.get(Role::Point),
                "the row names no point",
            )
            .help("write the point, or set `blanks = \"above\"` if an empty cell repeats the one above"));
        };
        let point = renamed(&words.names.point, point);
        let (voltage, sign) = self.voltage(cells)?;
        let poles = self.poles(cells, sign)?;
        let application = self.application(cells, point)?;
        let (count, shot_number) = self.count(cells)?;
        let interval = self.duration(cells, Role::Interval, self.units.interval)?;
        let at = self.moment(cells)?;
        let outcome = self.outcome(cells, count)?;
        let sparks = self.whole(cells, Role::Sparks, &[])?;
        if let (Some(sparks), Count::Set(count)) = (sparks, count)
            && sparks > count
        {
            return Err(Problem::row(
                codes::BAD_COUNT,
                self.columns.get(Role::Sparks),
                format!("{sparks} sparks for {count} discharges"),
            )
            .help("look at the original record of the test: one of the two numbers is wrong"));
        }
        Ok(Row {
            point,
            application,
            poles,
            voltage,
            count,
            shot_number,
            interval,
            at,
            state: cells.get(Role::State).map(|(_, cell)| renamed(&words.names.state, cell)),
            mode: cells.get(Role::Mode).map(|(_, cell)| renamed(&words.names.mode, cell)),
            kind: self.word(cells, Role::Kind, |cell| words.kind.get(cell))?,
            single: self.word(cells, Role::Single, |cell| words.single.get(cell))?,
            tip: self.word(cells, Role::Tip, |cell| words.tip.get(cell))?,
            person: cells.get(Role::Person).map(|(_, cell)| cell),
            reference: cells.get(Role::ExternalReference).map(|(_, cell)| cell),
            spark: self.fact(cells, Role::Spark, |cell| words.answer.get(cell))?,
            sparks,
            outcome,
        })
    }

    /// A word of a closed list; none where the field is empty.
    pub(crate) fn word<T>(
        &self,
        cells: &Cells<'_>,
        role: Role,
        get: impl Fn(&str) -> Option<T>,
    ) -> Result<Option<T>, Problem> {
        let Some((column, cell)) = cells.get(role) else { return Ok(None) };
        match get(cell) {
            Some(value) => Ok(Some(value)),
            None => Err(unknown_word(role, column, cell)),
        }
    }

    /// A fact about an effect; a dash states nothing.
    pub(crate) fn fact<T>(
        &self,
        cells: &Cells<'_>,
        role: Role,
        get: impl Fn(&str) -> Option<T>,
    ) -> Result<Option<T>, Problem> {
        match cells.get(role) {
            Some((_, "-" | "--" | "\u{2013}" | "\u{2212}" | "?")) => Ok(None),
            _ => self.word(cells, role, get),
        }
    }

    /// A number of the log, whose decimal sign may have to be found out.
    pub(crate) fn number<'t>(
        &self,
        cells: &Cells<'_>,
        column: usize,
        text: &'t str,
    ) -> Result<number::Number<'t>, Problem> {
        let style = self.style.get();
        if let Some(quick) = number::quick(text, style) {
            return Ok(quick);
        }
        if text.bytes().any(|b| matches!(b, b'.' | b','))
            && let Evidence::Decimal(found) = number::evidence(text, style.thousands)
        {
            match style.decimal {
                None => {
                    self.decide(Seen { sign: found, row: cells.record.row, column, text: text.to_owned() })
                }
                Some(known) if known != found => {
                    if let Some(first) = self.decimal_seen.borrow().as_ref()
                        && number::read(text, Style { decimal: Some(found), ..style }).is_ok()
                        && number::read(text, style) == Err(number::Problem::OtherDecimalSign)
                    {
                        return Err(Problem::row(
                            codes::MIXED_DECIMAL_SIGNS,
                            Some(column),
                            format!(
                                "`{text}` has a decimal {}, and `{}` on row {} has a decimal {}",
                                found.word(),
                                first.text,
                                first.row,
                                known.word()
                            ),
                        )
                        .help("set `decimal = \"point\"` or `decimal = \"comma\"` for this log; rows with the other sign are then set aside one by one")
                        .of_file());
                    }
                }
                Some(_) => {}
            }
        }
        number::read(text, self.style.get()).map_err(|problem| {
            let mut found = Problem::row(
                if problem == number::Problem::Undecided {
                    codes::WHICH_DECIMAL_SIGN
                } else {
                    codes::BAD_NUMBER
                },
                Some(column),
                format!("`{text}` {}", problem.why()),
            )
            .help(problem.help());
            if problem == number::Problem::Undecided {
                found.weight = Weight::Decimal;
            }
            found
        })
    }

    /// A whole number; words such as `x` may stand behind it.
    pub(crate) fn whole(
        &self,
        cells: &Cells<'_>,
        role: Role,
        behind: &[&str],
    ) -> Result<Option<u32>, Problem> {
        let Some((column, text)) = cells.get(role) else { return Ok(None) };
        if let Some(count) = number::quick_count(text) {
            return Ok(Some(count));
        }
        let number = self.number(cells, column, text)?;
        let fits = (number.unit.is_empty() || behind.contains(&number.unit))
            && matches!(number.sign, Sign::None | Sign::Plus)
            && number.size.fract().is_zero();
        match u32::try_from(number.size).ok().filter(|_| fits) {
            Some(whole) => Ok(Some(whole)),
            None => Err(Problem::row(
                codes::BAD_COUNT,
                Some(column),
                format!("`{text}` is not a count of discharges"),
            )
            .help("write a whole number, not below zero")),
        }
    }

    fn count(&self, cells: &Cells<'_>) -> Result<(Count, Option<u32>), Problem> {
        let shot = self.whole(cells, Role::Shot, &["."])?;
        if let Some(column) = self.columns.get(Role::Counter) {
            let Some(reading) = self.whole(cells, Role::Counter, &[])? else {
                return Err(Problem::row(codes::COUNTER, Some(column), "the counter's reading is empty")
                    .help("write the reading after the row's discharges"));
            };
            let reading = u64::from(reading);
            let before = self.counter.replace(Some(reading));
            return match before {
                Some(before) if reading >= before => {
                    Ok((Count::Set(u32::try_from(reading - before).unwrap_or(u32::MAX)), shot))
                }
                Some(before) => Err(Problem::row(
                    codes::COUNTER,
                    Some(column),
                    format!(
                        "the counter went back from {before} to {reading}, so the row's count is not known"
                    ),
                )
                .help(
                    "write the counts in a column of their own, or split the log where the counter was reset",
                )),
                None => Err(Problem::row(
                    codes::COUNTER,
                    Some(column),
                    "the counter's reading before the first row is not known",
                )
                .help("set `counter_start` for this log, for example `counter_start = 0`")),
            };
        }
        let Some(column) = self.columns.get(Role::Count) else { return Ok((Count::One, shot)) };
        match self.whole(cells, Role::Count, &["x", "×", "X", "mal", "fois"])? {
            Some(count) => Ok((Count::Set(count), shot)),
            None => Err(Problem::row(codes::BAD_COUNT, Some(column), "the count is empty")
                .help("write how many discharges were applied; 0 if none")),
        }
    }

    /// A duration in seconds.
    pub(crate) fn duration(
        &self,
        cells: &Cells<'_>,
        role: Role,
        unit: Option<Unit>,
    ) -> Result<Option<Seconds>, Problem> {
        let Some((column, text)) = cells.get(role) else { return Ok(None) };
        let number = self.number(cells, column, text)?;
        let bad = || {
            Problem::row(codes::BAD_NUMBER, Some(column), format!("`{text}` is not a duration"))
                .help("write it like 1, 1 s, 500 ms or 20 Hz")
        };
        if !matches!(number.sign, Sign::None | Sign::Plus) {
            return Err(bad());
        }
        let known = match number.unit {
            "" => unit,
            behind => Some(Unit::parse(behind).filter(|u| u.is_duration()).ok_or_else(bad)?),
        };
        if known.is_none() && role == Role::Interval && self.units.interval_needs_unit {
            return Err(Problem::row(
                codes::UNIT_NOT_STATED,
                Some(column),
                format!("`{text}` is a rate without a unit"),
            )
            .help("set `units.interval = \"Hz\"` for this log if it is discharges per second")
            .of_file());
        }
        if known.is_none() {
            self.seconds_assumed.set(Some(column));
        }
        let seconds = known.unwrap_or(Unit::Second).seconds(number.size).ok_or_else(bad)?;
        Seconds::from_s(seconds).map(Some).map_err(|_| bad())
    }

    fn moment(&self, cells: &Cells<'_>) -> Result<Option<Moment>, Problem> {
        let mut date = self.mapping.day;
        let read = |role: Role| -> Result<Option<(usize, Written)>, Problem> {
            let Some((column, text)) = cells.get(role) else { return Ok(None) };
            let written =
                times::read(text, self.mapping.date.as_ref(), self.mapping.zone_s).map_err(|problem| {
                    let (code, of_file) = match problem {
                        times::Problem::Order | times::Problem::Serial => (codes::DATE_FORM, true),
                        _ => (codes::BAD_TIME, false),
                    };
                    let found = Problem::row(code, Some(column), format!("`{text}` {}", problem.why()))
                        .help(problem.help());
                    if of_file { found.of_file() } else { found }
                })?;
            Ok(Some((column, written)))
        };
        let mut clock = None;
        for role in [Role::Date, Role::Time] {
            match read(role)? {
                None => {}
                Some((_, Written::Moment(moment)))
                    if role == Role::Time || !cells.columns.has(Role::Time) =>
                {
                    return Ok(Some(moment));
                }
                Some((_, Written::Moment(moment))) => date = Some(moment.date()),
                Some((_, Written::Day(day))) => date = Some(day),
                Some((_, Written::Clock(time))) => clock = Some(time),
            }
        }
        match (date, clock) {
            (Some(date), Some(time)) => Ok(times::join(date, time, self.mapping.zone_s)),
            (None, Some(_)) => {
                self.clock_without_date.set(true);
                Ok(None)
            }
            (_, None) => Ok(None),
        }
    }
}

/// A word that stands for nothing known.
pub(crate) fn unknown_word(role: Role, column: usize, cell: &str) -> Problem {
    let key = match role {
        Role::StateChanged | Role::DataLost | Role::BeforeNext | Role::Coincident | Role::Spark => "answer",
        other => other.key(),
    };
    let help = match role {
        Role::Demand => {
            "if it is an outcome that may be demanded, list it under `words.demand` for this log".to_owned()
        }
        _ => format!("say what it stands for under `words.{key}` for this log"),
    };
    Problem::row(
        codes::UNKNOWN_WORD,
        Some(column),
        format!("`{cell}` is not known as a word for {}", role.key().replace('_', " ")),
    )
    .help(help)
}
