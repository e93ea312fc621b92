//! Where the item begins to fail: estimates from rising-step and up-and-down searches, each with its method named.
//!
//! A search is a run of its own kind: none of its shots counts towards a compliance run, and a threshold says nothing
//! about conformity. Voltages are magnitudes, one polarity, mode and point at a time.

mod levels;
mod probit;
mod rising;
mod up_and_down;

pub use levels::{FailureRate, KilovoltLimits, NoThreshold, Shot};
pub use probit::{ProbitThreshold, probit_threshold};
pub use rising::{RisingRun, RisingThreshold, rising_step_threshold};
pub use up_and_down::{UpAndDown, UpAndDownThreshold, up_and_down_threshold};
