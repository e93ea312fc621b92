//! What a report, its plan and its records must hold, item by item: stated, missing, or not applicable and why.
//!
//! The lists are data (`shared/standards`): ISO/IEC 17025:2017, and the list of the test standard itself.

mod condition;
mod fact;
mod list;

pub use condition::{CONDITIONS, is_condition};
pub use fact::{FACTS, is_fact};
pub use list::Checklist;

use crate::place::Places;
use crate::standard::{ReportItem, Standard, Status};
use crate::word::words;
use condition::applies;
use fact::{Found, look};
use record::{Origin, Record};

words!(
    /// How an item of a list stands.
    CompletenessState {
        /// The record states it.
        Stated = "stated",
        /// The record does not state it, or only in part.
        Missing = "missing",
        /// It is not asked here.
        NotApplicable = "not-applicable",
    }
);

/// One item of a list, held against a record.
#[derive(Clone, Debug, PartialEq)]
pub struct CompletenessItem {
    /// The list: `ISO/IEC 17025:2017` or the test standard.
    pub list: String,
    /// Clause of the list's standard.
    pub clause: String,
    /// What is asked, in our own words.
    pub asks: String,
    /// How it stands.
    pub state: CompletenessState,
    /// What was found, what is missing, or why it is not asked.
    pub text: String,
    /// How the item is known.
    pub status: Status,
    /// Where the facts were read.
    pub origins: Vec<Origin>,
}

/// Every item of the laboratory's list and of the test standard's own, held against a record.
pub fn completeness(record: &Record, standard: Option<&Standard>) -> Vec<CompletenessItem> {
    let places = Places::new(record);
    let mut items = Vec::new();
    if let Some(list) = Checklist::laboratory() {
        items.extend(list.items.iter().map(|item| held(&places, &list.name, item)));
    }
    if let Some(standard) = standard {
        let name = standard.full_name();
        items.extend(standard.report.iter().map(|item| held(&places, &name, item)));
    }
    items
}

fn held(places: &Places<'_>, list: &str, item: &ReportItem) -> CompletenessItem {
    let (mut state, mut said, mut missing, mut origins) =
        (CompletenessState::Stated, Vec::new(), Vec::new(), Vec::new());
    let asked = item.when.as_deref().map_or(Ok(()), |when| applies(places.record, when));
    let mut open = 0;
    match asked {
        Err(reason) => {
            state = CompletenessState::NotApplicable;
            said.push(reason);
        }
        Ok(()) => {
            for name in &item.facts {
                match look(places.record, name) {
                    Found::Stated(text, path) => {
                        said.push(text);
                        if let Some(path) = path {
                            origins.extend(places.fact(&path).filter(|origin| !origins.contains(origin)));
                        }
                    }
                    Found::Missing(text) => missing.push(text),
                    Found::NotApplicable(reason) => {
                        open += 1;
                        said.push(reason);
                    }
                }
            }
            if !missing.is_empty() {
                state = CompletenessState::Missing;
                said = missing;
            } else if open == item.facts.len() {
                state = CompletenessState::NotApplicable;
            }
        }
    }
    CompletenessItem {
        list: list.to_owned(),
        clause: item.clause.clone(),
        asks: item.asks.clone(),
        state,
        text: said.join("; "),
        status: item.status,
        origins,
    }
}
