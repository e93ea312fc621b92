//! A small generator of repeatable noise.

/// A linear congruential generator (constants of Knuth's MMIX), so that every run writes the same bytes.
pub(super) struct Noise(u64);

impl Noise {
    pub(super) fn new(start: u64) -> Self {
        Self(start.wrapping_mul(0x9E37_79B9_7F4A_7C15).wrapping_add(1))
    }

    /// Evenly between 0 and 1.
    pub(super) fn even(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Near to normal, mean 0 and deviation 1: the sum of twelve even numbers, less six.
    pub(super) fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.even()).sum::<f64>() - 6.0
    }
}
