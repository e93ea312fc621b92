//! What a count of failures says about the item, and where it begins to fail: information, never a verdict.
//!
//! The verdict of a compliance run follows from the standard's rules alone; nothing here changes it. Shots at
//! different points are not samples of one probability: points are never pooled, and each call is about one point in
//! one mode, polarity and level (or, for a threshold, about one point over levels). All shots are taken to be
//! independent and the item unchanged by them; a digital item whose state varies in time stretches both.

mod claim;
mod control_chart;
mod fisher;
mod interval;
mod outlier;
mod threshold;
mod trend;
mod trials;

pub use claim::{RELATIVE_TIE, chance_of_a_failure, chance_of_no_failure, shots_needed};
pub use control_chart::ControlChart;
pub use fisher::{BeforeAfter, FISHER_TIE, fisher_exact};
pub use interval::{Interval, IntervalMethod, Side, exact_interval, interval};
pub use outlier::{Grubbs, grubbs};
pub use threshold::{
    FailureRate, KilovoltLimits, NoThreshold, ProbitThreshold, RisingRun, RisingThreshold, Shot, UpAndDown,
    UpAndDownThreshold, probit_threshold, rising_step_threshold, up_and_down_threshold,
};
pub use trend::{Crossing, Trend};
pub use trials::Trials;
