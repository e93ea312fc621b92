//! A count of failures among a count of shots.

use crate::special::OutOfDomain;

/// Failures among equal shots at one point: at least one shot, and no more failures than shots.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Trials {
    failures: u64,
    shots: u64,
}

/// Four months at one shot a second; exact as a floating-point number, and quick to sum over.
const MOST_SHOTS: u64 = 10_000_000;

impl Trials {
    /// Refuses no shots, more failures than shots, and counts beyond ten million.
    pub fn new(failures: u64, shots: u64) -> Result<Self, OutOfDomain> {
        if !(1..=MOST_SHOTS).contains(&shots) {
            return Err(OutOfDomain::new("a number of shots", shots, "at least 1 and at most 10000000"));
        }
        if failures > shots {
            return Err(OutOfDomain::new("a number of failures", failures, "at most the number of shots"));
        }
        Ok(Self { failures, shots })
    }

    /// Shots at which the item failed.
    pub const fn failures(self) -> u64 {
        self.failures
    }

    /// All shots.
    pub const fn shots(self) -> u64 {
        self.shots
    }

    /// Shots at which it did not fail.
    pub const fn passes(self) -> u64 {
        self.shots - self.failures
    }

    /// Failures per shot.
    pub fn share(self) -> f64 {
        self.failures as f64 / self.shots as f64
    }
}
