//! Figures of a recorded discharge current, and what the record does not allow to say.
//!
//! Definitions (IEC 61000-4-2:2008): the first peak Ip; the rise time from 10 % to 90 % of Ip on the
//! leading edge; currents at times counted from the first instant at which the current reaches 10 % of Ip.
//! A negative pulse is evaluated on the sign-inverted record and reported with the record's sign.

mod axis;
pub mod codes;
mod edge;
mod figure;
mod flags;
mod judge;
mod measure;
mod pulse;
mod shown;
mod step;

pub use figure::{CurrentAt, Estimator, Figure, Figures, Options};
pub use judge::{COMPARISON_RULE, Compared, Judged, judge};
pub use measure::figures;
pub use step::{StepResponse, step_response};
