//! The formula of the ideal discharge current.

use super::Status;
use record::{Decimal, Kilovolts};

/// Constants of the ideal discharge current at one charge voltage; the current scales with the voltage.
///
/// i(t) = i1/k1 f(t, T1) exp(-t/T2) + i2/k2 f(t, T3) exp(-t/T4), f(t, T) = (t/T)^n / (1 + (t/T)^n),
/// k1 = exp(-(T1/T2)(n T2/T1)^(1/n)), k2 the same with T3 and T4.
#[derive(Clone, Debug, PartialEq)]
pub struct IdealWaveform {
    /// The charge voltage that the currents belong to.
    pub at_kv: Kilovolts,
    /// i1 and i2, in amperes.
    pub currents_a: [f64; 2],
    /// T1 to T4, in nanoseconds.
    pub times_ns: [f64; 4],
    /// The exponent n.
    pub exponent: f64,
    /// Clause, table or figure.
    pub clause: String,
    /// Where the constants were found.
    pub source: String,
    /// How we know them.
    pub status: Status,
}

impl IdealWaveform {
    /// Current in amperes at a time in nanoseconds after the start, for the magnitude of a charge voltage.
    ///
    /// Nothing flows before the start.
    pub fn current_a(&self, t_ns: f64, charge_kv: Kilovolts) -> f64 {
        if t_ns.is_nan() || t_ns <= 0.0 {
            return 0.0;
        }
        let [i1, i2] = self.currents_a;
        let [t1, t2, t3, t4] = self.times_ns;
        let scale = number(charge_kv.as_kv()) / number(self.at_kv.as_kv());
        scale * (self.part(i1, t1, t2, t_ns) + self.part(i2, t3, t4, t_ns))
    }

    fn part(&self, current: f64, rise: f64, fall: f64, t: f64) -> f64 {
        let n = self.exponent;
        let k = libm::exp(-(rise / fall) * libm::pow(n * fall / rise, 1.0 / n));
        let power = libm::pow(t / rise, n);
        current / k * power / (1.0 + power) * libm::exp(-t / fall)
    }
}

/// The double nearest to a decimal.
pub(crate) fn number(value: Decimal) -> f64 {
    // Never fails for a decimal: its range lies inside that of a double.
    value.try_into().unwrap_or(f64::NAN)
}
