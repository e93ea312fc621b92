//! Axes: round steps, ticks and a mapping from values to points.

use crate::Numbers;
use crate::numbers::Cut;

/// An axis over a range of values.
#[derive(Clone, Debug, PartialEq)]
pub struct Axis {
    /// Lowest value shown.
    pub low: f64,
    /// Highest value shown.
    pub high: f64,
    /// Distance of the ticks.
    pub step: f64,
}

impl Axis {
    /// An axis that shows `low` to `high` with about `ticks` round steps, widened to whole steps. A range
    /// without extent, or that is no number, becomes one step around its value.
    pub fn around(low: f64, high: f64, ticks: u32) -> Self {
        let (mut low, mut high) = if low <= high { (low, high) } else { (high, low) };
        if !(low.is_finite() && high.is_finite()) {
            (low, high) = (0.0, 1.0);
        }
        let span = high - low;
        let (rough, wide) = if span > 0.0 {
            (span / f64::from(ticks.max(1)), false)
        } else {
            (libm::fabs(low).max(1.0) / 5.0, true)
        };
        let power = libm::pow(10.0, libm::floor(libm::log10(rough)));
        let step = power * [1.0, 2.0, 5.0].into_iter().find(|m| m * power >= rough * 0.999).unwrap_or(10.0);
        let (mut low, mut high) =
            (libm::floor(low / step + 1e-9) * step, libm::ceil(high / step - 1e-9) * step);
        if wide && low >= high {
            low -= step;
            high += step;
        }
        Self { low, high, step }
    }

    /// An axis with exactly these ends.
    pub const fn exact(low: f64, high: f64, step: f64) -> Self {
        Self { low, high, step }
    }

    /// Values of the ticks.
    pub fn ticks(&self) -> impl Iterator<Item = f64> + '_ {
        let first = libm::ceil(self.low / self.step - 1e-6) as i64;
        let last = libm::floor(self.high / self.step + 1e-6) as i64;
        (first..=last.min(first + 200)).map(|i| i as f64 * self.step)
    }

    /// A tick's value in words, with as many decimals as the step has.
    pub fn text(&self, value: f64, numbers: &Numbers) -> String {
        let places = (0..6u32).find(|p| {
            let scaled = self.step * libm::pow(10.0, f64::from(*p));
            libm::fabs(scaled - libm::round(scaled)) < 1e-6
        });
        let places = places.unwrap_or(6);
        let text = format!("{value:.*}", places as usize);
        numbers.number(&text, Cut { places: Some(places), ..Cut::default() }).unwrap_or(text)
    }

    /// Where a value lies between two points.
    pub fn at(&self, value: f64, from: f32, to: f32) -> f32 {
        let share = (value - self.low) / (self.high - self.low);
        from + (share as f32) * (to - from)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn round_steps() {
        let a = Axis::around(-0.4, 31.2, 6);
        assert_eq!((a.low, a.high, a.step), (-10.0, 40.0, 10.0));
        let a = Axis::around(0.0, 17.25, 6);
        assert_eq!((a.low, a.high, a.step), (0.0, 20.0, 5.0));
        let a = Axis::around(21.0, 21.0, 4);
        assert!(a.low < 21.0 && a.high > 21.0);
        let a = Axis::around(f64::NAN, 1.0, 4);
        assert!(a.low < a.high);
        assert_eq!(Axis::exact(0.0, 1.0, 0.25).ticks().collect::<Vec<_>>(), [0.0, 0.25, 0.5, 0.75, 1.0]);
    }
}
