//! The columns of the table, in their order; a change of name, order or meaning is a breaking change.

/// Names of the columns, as in the header row. The plug-in's README says what each holds.
pub const COLUMNS: &[&str] = &[
    "report",
    "item",
    "item_type",
    "serial",
    "state",
    "judged",
    "row",
    "point",
    "application",
    "polarity",
    "voltage_kv",
    "magnitude_kv",
    "mode",
    "required",
    "applied",
    "counted",
    "sparks",
    "coverage",
    "worst_class",
    "demand",
    "verdict",
    "not_counted_because",
    "observations",
    "origin",
    "external_reference",
    "series",
    "state_verdict",
    "invented",
];

/// A cell: text is made safe for spreadsheets, numbers and the program's own words stand as they are.
#[derive(Clone, Debug)]
pub(crate) enum Cell {
    /// Nothing is known, or the column does not apply.
    Empty,
    /// Somebody's words.
    Text(String),
    /// A number or a word of the program.
    Plain(String),
}

impl Cell {
    pub(crate) fn text(text: Option<impl ToString>) -> Self {
        text.map_or(Self::Empty, |text| Self::Text(text.to_string()))
    }

    pub(crate) fn plain(value: Option<impl ToString>) -> Self {
        value.map_or(Self::Empty, |value| Self::Plain(value.to_string()))
    }
}

/// One row, by the names of its columns.
#[derive(Clone, Debug)]
pub(crate) struct Row {
    pub(crate) report: Cell,
    pub(crate) item: Cell,
    pub(crate) item_type: Cell,
    pub(crate) serial: Cell,
    pub(crate) state: Cell,
    pub(crate) judged: Cell,
    pub(crate) row: Cell,
    pub(crate) point: Cell,
    pub(crate) application: Cell,
    pub(crate) polarity: Cell,
    pub(crate) voltage_kv: Cell,
    pub(crate) magnitude_kv: Cell,
    pub(crate) mode: Cell,
    pub(crate) required: Cell,
    pub(crate) applied: Cell,
    pub(crate) counted: Cell,
    pub(crate) sparks: Cell,
    pub(crate) coverage: Cell,
    pub(crate) worst_class: Cell,
    pub(crate) demand: Cell,
    pub(crate) verdict: Cell,
    pub(crate) not_counted_because: Cell,
    pub(crate) observations: Cell,
    pub(crate) origin: Cell,
    pub(crate) external_reference: Cell,
    pub(crate) series: Cell,
    pub(crate) state_verdict: Cell,
    pub(crate) invented: Cell,
}

impl Row {
    /// The cells in the order of [`COLUMNS`].
    pub(crate) fn cells(self) -> [Cell; COLUMNS.len()] {
        [
            self.report,
            self.item,
            self.item_type,
            self.serial,
            self.state,
            self.judged,
            self.row,
            self.point,
            self.application,
            self.polarity,
            self.voltage_kv,
            self.magnitude_kv,
            self.mode,
            self.required,
            self.applied,
            self.counted,
            self.sparks,
            self.coverage,
            self.worst_class,
            self.demand,
            self.verdict,
            self.not_counted_because,
            self.observations,
            self.origin,
            self.external_reference,
            self.series,
            self.state_verdict,
            self.invented,
        ]
    }
}
