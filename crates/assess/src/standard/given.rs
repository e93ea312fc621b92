//! A value of a standard together with where it is written and how we know.

use crate::word::words;

words!(
    /// How we know a value.
    Status {
        /// Seen in a public text of the standard, or in a text that quotes it.
        Seen = "seen",
        /// Seen in second hand only: a laboratory's page, a product manual, a published report.
        SecondHand = "second-hand",
        /// From memory; check before use.
        Memory = "memory",
        /// Computed.
        Computed = "computed",
        /// Common practice, no source.
        Practice = "practice",
        /// Nobody knows.
        Unknown = "unknown",
    }
);

impl Status {
    /// Whether the value was read in the standard itself or computed, so that no reservation has to be shown.
    pub fn is_sound(self) -> bool {
        matches!(self, Self::Seen | Self::Computed)
    }
}

/// A value of a standard with its clause, source and status.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Given<T> {
    /// The value.
    pub value: T,
    /// Clause, table or figure; or why there is none.
    pub clause: String,
    /// The text in which it was found, spelt out.
    pub source: String,
    /// How we know it.
    pub status: Status,
    /// A reservation, such as that sources differ.
    pub note: Option<String>,
}

/// A closed range of values.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Span<T> {
    /// Least value inside.
    pub least: T,
    /// Greatest value inside.
    pub most: T,
}

impl<T: PartialOrd> Span<T> {
    /// Whether a value lies inside; a value equal to an end is inside.
    pub fn holds(&self, value: &T) -> bool {
        *value >= self.least && *value <= self.most
    }
}
