//! A fact that a laboratory may state, may leave out, or may declare not applicable with a reason.

/// A fact and whether it was stated; nothing defaults silently.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub enum Stated<T> {
    /// The fact, as stated.
    Stated(T),
    /// Nobody said.
    #[default]
    NotStated,
    /// The fact does not apply here.
    NotApplicable {
        /// Why it does not apply, in the laboratory's words.
        reason: String,
    },
}

impl<T> Stated<T> {
    /// The fact, where one was stated.
    pub fn value(&self) -> Option<&T> {
        match self {
            Self::Stated(value) => Some(value),
            Self::NotStated | Self::NotApplicable { .. } => None,
        }
    }

    /// Whether nobody said anything about it.
    pub fn is_not_stated(&self) -> bool {
        matches!(self, Self::NotStated)
    }
}

impl<T> From<Option<T>> for Stated<T> {
    fn from(value: Option<T>) -> Self {
        value.map_or(Self::NotStated, Self::Stated)
    }
}
