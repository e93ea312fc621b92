//! Everything that is computed from the facts of a test job and the data of a test standard.
//!
//! Pure functions: no files, no clock, no floating-point functions of the standard library (they
//! differ between platforms; `libm` does not).
#![forbid(unsafe_code)]
#![warn(clippy::disallowed_methods)]

mod affected;
mod assessment;
mod bench_checks;
pub mod bench_plan;
mod comparison;
pub mod completeness;
mod counts;
mod coverage;
pub mod decision;
mod evidence;
mod figure_decision;
mod health;
mod job;
mod observed;
mod outcome;
mod owed;
mod phrase;
mod place;
mod plan;
pub mod reference;
mod repeatability;
mod settle;
pub mod special;
pub mod standard;
pub mod statistics;
mod tip;
pub mod uncertainty;
mod unread;
mod verdict;
mod verification;
pub mod waveform;
mod word;

pub use affected::{Affected, FoundBy, Standing, affected};
pub use assessment::*;
pub use bench_checks::{BEFORE_CHECKS, BenchCheck, CAUTION_FOR_SCREENS, CAUTIONS, SPARK_CHECK, bench_checks};
pub use comparison::{
    Changes, Comparison, Earlier, FactChange, SeriesChange, SeriesResult, StateChange, compare,
};
pub use health::{FigureHealth, HealthHistory, Leaving};
pub use job::{RULES_VERSION, assess, codes};
pub use outcome::binding;
pub use owed::{Other, Owed, owed};
pub use phrase::{Phrase, Saying, Value};
pub use repeatability::repeatability;
pub use tip::tip_to_fit;
pub use verification::judge_trace;
