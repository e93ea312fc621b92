//! Chance from a seed: the same numbers on every run and every platform.

/// SplitMix64 (Steele, Lea, Flood 2014; the constants are theirs), and how often a fact is not in order.
pub(crate) struct Chance {
    state: u64,
    /// Facts in a thousand that are not in order.
    trouble: u64,
}

impl Chance {
    pub(crate) fn new(seed: u64) -> Self {
        let mut chance = Self { state: seed, trouble: 0 };
        chance.trouble = *chance.pick(&[0, 3, 10, 30, 150, 500]);
        chance
    }

    fn next(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.state;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// A number from 0 to `count` less 1.
    pub(crate) fn below(&mut self, count: u64) -> u64 {
        self.next() % count
    }

    pub(crate) fn percent(&mut self, percent: u64) -> bool {
        self.below(100) < percent
    }

    /// Whether this fact is not in order.
    pub(crate) fn odd(&mut self) -> bool {
        self.below(1000) < self.trouble
    }

    pub(crate) fn pick<'a, T>(&mut self, list: &'a [T]) -> &'a T {
        let at = usize::try_from(self.below(list.len() as u64)).unwrap();
        &list[at]
    }

    /// The usual value, or one of the others where the fact is not in order.
    pub(crate) fn usual<T: Clone>(&mut self, usual: T, others: &[T]) -> T {
        if self.odd() { self.pick(others).clone() } else { usual }
    }
}
