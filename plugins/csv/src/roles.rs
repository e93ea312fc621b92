//! What a column of a discharge log can hold.

use std::ops::Range;

/// Role of a column; the name is its key under `columns` in the settings.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) enum Role {
    Point,
    Application,
    Polarity,
    Voltage,
    Count,
    Counter,
    Shot,
    Interval,
    Time,
    Date,
    Result,
    Observation,
    Class,
    Upsets,
    Demand,
    Function,
    StateChanged,
    DataLost,
    Restored,
    Lasted,
    BeforeNext,
    Coincident,
    Affected,
    Sparks,
    Spark,
    State,
    Mode,
    Kind,
    Single,
    Tip,
    Person,
    ExternalReference,
    Remark,
    Ignore,
}

impl Role {
    /// Every role, in the order in which settings are listed.
    pub(crate) const ALL: [Role; 34] = [
        Role::Point,
        Role::Application,
        Role::Polarity,
        Role::Voltage,
        Role::Count,
        Role::Counter,
        Role::Shot,
        Role::Interval,
        Role::Time,
        Role::Date,
        Role::Result,
        Role::Observation,
        Role::Class,
        Role::Upsets,
        Role::Demand,
        Role::Function,
        Role::StateChanged,
        Role::DataLost,
        Role::Restored,
        Role::Lasted,
        Role::BeforeNext,
        Role::Coincident,
        Role::Affected,
        Role::Sparks,
        Role::Spark,
        Role::State,
        Role::Mode,
        Role::Kind,
        Role::Single,
        Role::Tip,
        Role::Person,
        Role::ExternalReference,
        Role::Remark,
        Role::Ignore,
    ];

    /// The key under `columns`.
    pub(crate) fn key(self) -> &'static str {
        match self {
            Role::Point => "point",
            Role::Application => "application",
            Role::Polarity => "polarity",
            Role::Voltage => "voltage",
            Role::Count => "count",
            Role::Counter => "counter",
            Role::Shot => "shot",
            Role::Interval => "interval",
            Role::Time => "time",
            Role::Date => "date",
            Role::Result => "result",
            Role::Observation => "observation",
            Role::Class => "class",
            Role::Upsets => "upsets",
            Role::Demand => "demand",
            Role::Function => "function",
            Role::StateChanged => "state_changed",
            Role::DataLost => "data_lost",
            Role::Restored => "restored",
            Role::Lasted => "lasted",
            Role::BeforeNext => "before_next",
            Role::Coincident => "coincident",
            Role::Affected => "affected",
            Role::Sparks => "sparks",
            Role::Spark => "spark",
            Role::State => "state",
            Role::Mode => "mode",
            Role::Kind => "kind",
            Role::Single => "single",
            Role::Tip => "tip",
            Role::Person => "person",
            Role::ExternalReference => "external_reference",
            Role::Remark => "remark",
            Role::Ignore => "ignore",
        }
    }

    /// The role of a key under `columns`.
    pub(crate) fn from_key(key: &str) -> Option<Role> {
        Self::ALL.into_iter().find(|role| role.key() == key)
    }

    /// Whether several columns may have it.
    pub(crate) fn may_repeat(self) -> bool {
        matches!(self, Role::Remark | Role::Ignore)
    }

    /// Whether its cells are numbers, so that the decimal sign of the file shows in them.
    pub(crate) fn is_number(self) -> bool {
        matches!(
            self,
            Role::Voltage
                | Role::Count
                | Role::Counter
                | Role::Shot
                | Role::Interval
                | Role::Upsets
                | Role::Lasted
                | Role::Sparks
        )
    }

    fn index(self) -> usize {
        self as usize
    }
}

/// Which column has which role; columns count from 0 here and from 1 wherever a person sees them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Columns {
    at: [Option<usize>; Role::ALL.len()],
    /// Remark columns.
    pub(crate) remarks: Vec<usize>,
    /// Columns without a role of their own, kept as `header: text` in the series' remark.
    pub(crate) kept: Vec<usize>,
    /// Those of them that have no header and nothing in them at the start of the log.
    pub(crate) spacers: Vec<usize>,
    /// Header texts.
    pub(crate) labels: Vec<String>,
    /// Whether any column tells more about an effect than that there was one.
    pub(crate) effects: bool,
    /// Columns beside the table that hold facts about the whole log, such as `Tester` and a name.
    pub(crate) beside: Range<usize>,
    /// Number of columns that the table has, without empty ones at the end.
    pub(crate) width: usize,
}

impl Columns {
    /// No column has a role yet.
    pub(crate) fn new(labels: Vec<String>, width: usize) -> Self {
        Self {
            at: [None; Role::ALL.len()],
            remarks: Vec::new(),
            kept: Vec::new(),
            spacers: Vec::new(),
            labels,
            effects: false,
            beside: 0..0,
            width,
        }
    }

    /// The column of a role.
    #[inline]
    pub(crate) fn get(&self, role: Role) -> Option<usize> {
        self.at.get(role.index()).copied().flatten()
    }

    /// Whether a role has a column.
    pub(crate) fn has(&self, role: Role) -> bool {
        self.get(role).is_some()
    }

    /// Gives a column a role; the role must be free.
    pub(crate) fn set(&mut self, role: Role, column: usize) {
        match role {
            Role::Remark => self.remarks.push(column),
            Role::Ignore => {}
            _ => {
                self.effects |=
                    matches!(role, Role::StateChanged | Role::DataLost | Role::Restored | Role::Lasted);
                if let Some(slot) = self.at.get_mut(role.index()) {
                    *slot = Some(column);
                }
            }
        }
    }

    /// Kept columns that hold something, as far as the start of the log shows.
    pub(crate) fn kept_and_used(&self) -> impl Iterator<Item = usize> + '_ {
        self.kept.iter().copied().filter(|column| !self.spacers.contains(column))
    }

    /// Number of fields that a row of the table needs.
    pub(crate) fn needed(&self) -> usize {
        if self.beside.end == self.width && !self.beside.is_empty() {
            self.beside.start.saturating_sub(1)
        } else {
            self.width
        }
    }

    /// The header of a column, or its number where it has none.
    pub(crate) fn label(&self, column: usize) -> String {
        match self.labels.get(column).map(|l| l.trim()) {
            Some(label) if !label.is_empty() => label.to_owned(),
            _ => format!("column {}", column.saturating_add(1)),
        }
    }

    /// Roles that have a column, with the column.
    pub(crate) fn roles(&self) -> impl Iterator<Item = (Role, usize)> + '_ {
        Role::ALL.into_iter().filter_map(|role| self.get(role).map(|column| (role, column)))
    }
}
