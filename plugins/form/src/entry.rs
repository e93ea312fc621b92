//! An entry of the journal, as the page writes it.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

/// What an entry is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum Kind {
    /// The form was opened: for the first time, again, after an interruption, or from a saved file.
    Opened,
    /// The page was left in an orderly way.
    Left,
    /// The clock of the device was moved, or the device slept.
    Clock,
    /// Something was stated: `about` and `values`; with `was` and `why` it corrects what was stated before.
    Said,
    /// One discharge, or one approach in air, was counted.
    Shot,
    /// A series is done.
    Done,
    /// Something happened: the time is that of the touch.
    Happened,
    /// Facts about what happened: `event` and `values`.
    Told,
    /// An earlier entry is taken back: `of` is its number.
    Undo,
    /// A series is skipped, with the reason.
    Skip,
    /// A series is taken out of its turn, with the reason.
    Next,
    /// A series that the plan does not have is added, with the reason: `series` names it, `planned` says what it is.
    Outside,
    /// The item is in another modification state from here on.
    State,
    /// A photo was taken.
    Photo,
    /// A remark.
    Note,
    /// Somebody put a name under it.
    Signed,
    /// The form was saved as a file.
    Saved,
}

/// What was applied in a series.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Applied {
    /// Where.
    pub(crate) point: String,
    /// `contact`, `air`, `hcp` or `vcp`.
    pub(crate) application: String,
    /// `positive` or `negative`.
    pub(crate) polarity: String,
    /// Magnitude of the voltage, in kilovolts, as decimal text.
    pub(crate) voltage_kv: String,
    /// Operating mode of the item.
    #[serde(default)]
    pub(crate) mode: Option<String>,
    /// Modification state of the item.
    #[serde(default)]
    pub(crate) state: Option<String>,
    /// `sharp` or `round`.
    #[serde(default)]
    pub(crate) tip: Option<String>,
    /// How many discharges, or approaches in air.
    pub(crate) count: u32,
    /// Least time between them, in seconds, as decimal text.
    pub(crate) interval_s: String,
    /// Single discharges (true) or bursts (false).
    pub(crate) single: bool,
}

/// A series that the plan does not have.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Outside {
    /// Where.
    pub(crate) point: String,
    /// `contact`, `air`, `hcp` or `vcp`.
    pub(crate) application: String,
    /// `positive` or `negative`.
    pub(crate) polarity: String,
    /// Magnitude of the voltage, in kilovolts, as decimal text.
    pub(crate) voltage_kv: String,
    /// Operating mode of the item.
    #[serde(default)]
    pub(crate) mode: Option<String>,
    /// How many discharges, or approaches in air.
    pub(crate) count: u32,
    /// Least time between them, in seconds, as decimal text.
    pub(crate) interval_s: String,
    /// Tip.
    pub(crate) tip: String,
}

/// The row of a paper sheet that an entry was copied from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Copied {
    /// Code printed on the sheet.
    pub(crate) sheet: String,
    /// Row of the sheet.
    pub(crate) row: u32,
    /// Who filled the sheet.
    pub(crate) tested_by: String,
    /// Day on which it was filled, `YYYY-MM-DD`.
    pub(crate) day: String,
    /// Time written in the row, where the sheet shows one.
    #[serde(default)]
    pub(crate) at: Option<String>,
}

/// One entry. Which of the optional keys are there depends on `kind`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Entry {
    /// Number within this journal, from 1 without a gap.
    pub(crate) n: u64,
    /// Name that stays with the entry wherever it is copied to.
    pub(crate) key: String,
    /// When: RFC 3339 with offset and milliseconds.
    pub(crate) at: String,
    /// What it is about.
    pub(crate) kind: Kind,
    /// Who was at the bench, where stated before.
    #[serde(default)]
    pub(crate) by: Option<String>,
    /// `said`: what the statement is about; `photo`: what the photo shows.
    #[serde(default)]
    pub(crate) about: Option<String>,
    /// `said`, `told`: the values.
    #[serde(default)]
    pub(crate) values: Option<Map<String, Value>>,
    /// `said`, `told`: the values that are corrected.
    #[serde(default)]
    pub(crate) was: Option<Map<String, Value>>,
    /// Why: of a correction, a skip, a choice, an undo; how a form was opened.
    #[serde(default)]
    pub(crate) why: Option<String>,
    /// Id of a series in the form's plan.
    #[serde(default)]
    pub(crate) series: Option<String>,
    /// `outside`: what is to be applied.
    #[serde(default)]
    pub(crate) planned: Option<Outside>,
    /// `done`: what was applied.
    #[serde(default)]
    pub(crate) applied: Option<Applied>,
    /// `done`: whether the item was watched all the time.
    #[serde(default)]
    pub(crate) watched: Option<bool>,
    /// `done`: how many approaches made a spark, where counted.
    #[serde(default)]
    pub(crate) sparks: Option<u32>,
    /// `shot`: whether an approach in air made a spark.
    #[serde(default)]
    pub(crate) spark: Option<bool>,
    /// `happened`, `told`: name of the event in this form.
    #[serde(default)]
    pub(crate) event: Option<String>,
    /// `happened`: number of discharges counted in the series until then.
    #[serde(default)]
    pub(crate) shot: Option<u32>,
    /// `done`, `happened`: the row of a paper sheet that it was copied from.
    #[serde(default)]
    pub(crate) copied: Option<Copied>,
    /// `undo`: number of the entry that is taken back.
    #[serde(default)]
    pub(crate) of: Option<u64>,
    /// `state`: the state of the item from here on.
    #[serde(default)]
    pub(crate) state: Option<String>,
    /// `state`: what was changed.
    #[serde(default)]
    pub(crate) description: Option<String>,
    /// `state`: why it was changed.
    #[serde(default)]
    pub(crate) reason: Option<String>,
    /// `note`: the remark.
    #[serde(default)]
    pub(crate) text: Option<String>,
    /// `signed`: the name.
    #[serde(default)]
    pub(crate) name: Option<String>,
    /// `photo`: name among the photos; `saved`, `opened`: name of the file.
    #[serde(default)]
    pub(crate) file: Option<String>,
    /// `photo`: media type.
    #[serde(default, rename = "type")]
    pub(crate) media_type: Option<String>,
    /// `photo`: size in bytes.
    #[serde(default)]
    pub(crate) bytes: Option<u64>,
    /// `photo`: SHA-256 of its bytes, where the page could compute it.
    #[serde(default)]
    pub(crate) sha256: Option<String>,
    /// `photo`: caption.
    #[serde(default)]
    pub(crate) caption: Option<String>,
    /// `clock`: seconds by which the clock was moved, or the device slept.
    #[serde(default)]
    pub(crate) moved_s: Option<i64>,
    /// `opened`: seconds since the entry before.
    #[serde(default)]
    pub(crate) gap_s: Option<i64>,
    /// `opened`: how the device keeps the journal.
    #[serde(default)]
    pub(crate) storage: Option<String>,
    /// `opened`: this window took over from another.
    #[serde(default)]
    pub(crate) taken_over: Option<bool>,
}

impl Entry {
    /// An entry of a kind that says nothing yet.
    pub(crate) fn of(kind: Kind) -> Self {
        Self {
            n: 0,
            key: String::new(),
            at: String::new(),
            kind,
            by: None,
            about: None,
            values: None,
            was: None,
            why: None,
            series: None,
            planned: None,
            applied: None,
            watched: None,
            sparks: None,
            spark: None,
            event: None,
            shot: None,
            copied: None,
            of: None,
            state: None,
            description: None,
            reason: None,
            text: None,
            name: None,
            file: None,
            media_type: None,
            bytes: None,
            sha256: None,
            caption: None,
            moved_s: None,
            gap_s: None,
            storage: None,
            taken_over: None,
        }
    }
}
