//! The settings of one log: how to read its text, which column is what, what its words mean.

use crate::number::Style;
use crate::roles::Role;
use crate::times::DateForm;
use crate::units::Unit;
use crate::words::Words;
use encoding_rs::Encoding;
use record::{Date, Polarity};

/// The settings, one line each.
pub(crate) const SETTINGS: &[&str] = &[
    "encoding: utf-8, utf-16le, utf-16be, windows-1252, shift_jis, gbk ...; found from the bytes where not given",
    "delimiter: comma, semicolon, tab or pipe",
    "decimal: point or comma",
    "thousands: none, comma, point, space or apostrophe; none where not given",
    "quote: double, or none for a log whose text holds inch marks",
    "header_row: number of the header's row, from 1, or none",
    "columns.ROLE: header text or column number (from 1). Roles: point, application, polarity, voltage, count, counter, shot, interval, time, date, result, observation, class, upsets, demand, function, state_changed, data_lost, restored, lasted, before_next, coincident, affected, sparks, spark, state, mode, kind, single, tip, person, external_reference; remark and ignore also take a list",
    "units.voltage: kV or V; units.interval: s, ms, min or Hz; units.lasted: s, ms, min or h",
    "words.polarity.positive, .negative, .both: list of words in the log",
    "words.application.contact, .air, .hcp, .vcp: list of words in the log",
    "words.result.nothing: list of words that mean that nothing was seen",
    "words.answer.yes, .no: list of words in columns that answer yes or no",
    "words.restored.nothing-lost, .by-itself, .operator, .power-cycle, .not-restored: list of words",
    "words.affected.item, .associated; words.class.a to .d; words.kind.compliance, .exploratory, .threshold; words.tip.sharp, .round; words.single.yes, .no: list of words",
    "words.demand: list of outcomes that a demand column may name",
    "words.point.NAME, words.state.NAME, words.mode.NAME, words.function.NAME: names in the log for the job's NAME",
    "date: order of the parts, such as dd.mm.yyyy, mm/dd/yyyy, d-mmm-yy; serial for a spreadsheet's day number",
    "zone: offset from UTC, such as +01:00; times stay local where none is given",
    "day: date of a log whose times have none, such as 2026-03-12",
    "polarity: positive or negative for a log that states none; signed where a number without sign is positive",
    "both_polarities: count-each where a row for +/- means its count at each polarity",
    "blanks: above where an empty cell repeats the one above it",
    "counter_start: reading of the counter before the first row",
];

/// Where a column is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum ColumnName {
    /// By its header.
    Header(String),
    /// By its number, from 0.
    Number(usize),
}

/// Where the header is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub(crate) enum HeaderRow {
    #[default]
    Find,
    None,
    At(u64),
}

/// What a number without sign means in a log without a polarity column.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Unsigned {
    /// The whole log has this polarity.
    Polarity(Polarity),
    /// The sign is in the voltage, and none means plus.
    Signed,
}

/// The settings of one log.
#[derive(Clone, Debug, Default)]
pub(crate) struct Mapping {
    pub(crate) encoding: Option<&'static Encoding>,
    pub(crate) delimiter: Option<u8>,
    pub(crate) style: Style,
    pub(crate) no_quotes: bool,
    pub(crate) header_row: HeaderRow,
    /// The headers, where they are no row of the text.
    pub(crate) labels: Option<Vec<String>>,
    pub(crate) columns: Vec<(Role, ColumnName)>,
    pub(crate) voltage_unit: Option<Unit>,
    pub(crate) interval_unit: Option<Unit>,
    pub(crate) lasted_unit: Option<Unit>,
    pub(crate) words: Words,
    pub(crate) date: Option<DateForm>,
    pub(crate) zone_s: Option<i32>,
    pub(crate) day: Option<Date>,
    pub(crate) unsigned: Option<Unsigned>,
    pub(crate) count_each: bool,
    pub(crate) blanks_above: bool,
    pub(crate) counter_start: Option<u64>,
    /// Something else says at which point the log was made: no column needs to.
    pub(crate) point_given: bool,
}

impl Mapping {
    /// Whether a role was given a column by the settings.
    pub(crate) fn names(&self, role: Role) -> bool {
        self.columns.iter().any(|(r, _)| *r == role)
    }
}
