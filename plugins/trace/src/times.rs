//! Times of samples, packed while they are read.
//!
//! Nearly all time axes turn out to be even, and then no time but the first is kept. Until the last one is known, each
//! stands here as the difference between its bits and those of the time that would follow evenly: one or two bytes
//! instead of eight, and every time comes back to the bit.

/// Times in the order in which they were read.
#[derive(Default)]
pub(crate) struct Times {
    packed: Vec<u8>,
    count: usize,
    first: Option<f64>,
    course: Course,
}

/// The last two times, from which the next one is foretold.
#[derive(Clone, Copy, Default)]
struct Course {
    before: f64,
    last: f64,
}

impl Course {
    /// Bits of the time that follows evenly; none of them where that is no number, whose bits are nobody's promise.
    fn next(self) -> u64 {
        let next = self.last + (self.last - self.before);
        if next.is_nan() { 0 } else { next.to_bits() }
    }

    fn goes_on(&mut self, time: f64) {
        *self = Self { before: self.last, last: time };
    }
}

/// Bits of a byte that belong to the number; the last one says that more follow.
const SEVEN: u32 = 7;
const MORE: u8 = 1 << SEVEN;

impl Times {
    pub(crate) fn push(&mut self, time: f64) {
        let apart = time.to_bits().wrapping_sub(self.course.next()).cast_signed();
        // Small differences of both signs are small numbers: 0, -1, 1, -2, ...
        let mut number = ((apart << 1) ^ (apart >> 63)).cast_unsigned();
        while number >= u64::from(MORE) {
            self.packed.push((number & u64::from(MORE - 1)) as u8 | MORE);
            number >>= SEVEN;
        }
        self.packed.push(number as u8);
        self.course.goes_on(time);
        self.first = self.first.or(Some(time));
        self.count += 1;
    }

    pub(crate) fn len(&self) -> usize {
        self.count
    }

    pub(crate) fn first(&self) -> Option<f64> {
        self.first
    }

    pub(crate) fn last(&self) -> Option<f64> {
        self.first.map(|_| self.course.last)
    }

    pub(crate) fn iter(&self) -> impl Iterator<Item = f64> + '_ {
        let mut bytes = self.packed.iter();
        let mut course = Course::default();
        std::iter::from_fn(move || {
            let (mut number, mut shift) = (0, 0);
            loop {
                let byte = *bytes.next()?;
                number |= u64::from(byte & (MORE - 1)) << shift;
                if byte & MORE == 0 {
                    break;
                }
                shift += SEVEN;
            }
            let apart = (number >> 1) ^ (number & 1).wrapping_neg();
            let time = f64::from_bits(course.next().wrapping_add(apart));
            course.goes_on(time);
            Some(time)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn packed(times: &[f64]) -> Times {
        let mut packed = Times::default();
        times.iter().for_each(|time| packed.push(*time));
        let again: Vec<u64> = packed.iter().map(f64::to_bits).collect();
        assert_eq!(again, times.iter().map(|time| time.to_bits()).collect::<Vec<_>>());
        assert_eq!(
            (packed.len(), packed.first(), packed.last()),
            (times.len(), times.first().copied(), times.last().copied())
        );
        packed
    }

    #[test]
    fn any_times_come_back_to_the_bit() {
        packed(&[]);
        packed(&[0.0]);
        packed(&[-0.0, 0.0, f64::MAX, f64::MIN, f64::MIN_POSITIVE, 5e-324, -5e-324, 1.0, -1.0]);
        packed(&[f64::INFINITY, 1.0, f64::NEG_INFINITY, f64::NEG_INFINITY, 2.0]);
        let mut state = 7_u64;
        let any = std::iter::repeat_with(|| {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            f64::from_bits(state)
        });
        packed(&any.filter(|time| !time.is_nan()).take(10_000).collect::<Vec<_>>());
    }

    /// Times with four decimals, as they are read from a text: 10^-4 is no double.
    #[test]
    fn even_times_take_little() {
        let times: Vec<f64> = (0..100_000)
            .map(|n| format!("{:.4}", f64::from(n) * 0.0005 - 20.0).parse().unwrap_or(0.0))
            .collect();
        let bytes = packed(&times).packed.len();
        assert!(bytes < 250_000, "{bytes} bytes");
    }
}
