//! The generator of random numbers: counter-based, so that each trial has numbers of its own whatever the order.

/// The generator, for a report.
pub const GENERATOR: &str = "Philox4x64-10 (Salmon, Moraes, Dror, Shaw, 2011), key = seed, counter = trial; \
    53-bit uniforms in the open interval from 0 to 1";

const MULTIPLIERS: [u64; 2] = [0xD2E7_470E_E14C_6C93, 0xCA5A_8263_9512_1157];
const WEYL: [u64; 2] = [0x9E37_79B9_7F4A_7C15, 0xBB67_AE85_84CA_A73B];

/// Random numbers of one trial.
#[derive(Clone, Debug)]
pub struct Random {
    key: [u64; 2],
    counter: [u64; 4],
    block: [u64; 4],
    used: usize,
}

impl Random {
    /// The numbers of a trial under a seed.
    pub const fn of_trial(seed: u64, trial: u64) -> Self {
        Self { key: [seed, 0], counter: [0, trial, 0, 0], block: [0; 4], used: 4 }
    }

    /// Four words from a key and a counter: the generator's definition.
    pub fn block(key: [u64; 2], counter: [u64; 4]) -> [u64; 4] {
        let (mut words, [mut first, mut second]) = (counter, key);
        for _ in 0..10 {
            let [w0, w1, w2, w3] = words;
            let left = u128::from(MULTIPLIERS[0]) * u128::from(w0);
            let right = u128::from(MULTIPLIERS[1]) * u128::from(w2);
            words = [
                (right >> 64) as u64 ^ w1 ^ first,
                right as u64,
                (left >> 64) as u64 ^ w3 ^ second,
                left as u64,
            ];
            first = first.wrapping_add(WEYL[0]);
            second = second.wrapping_add(WEYL[1]);
        }
        words
    }

    /// The next 64 random bits.
    pub fn bits(&mut self) -> u64 {
        if self.used == 4 {
            self.block = Self::block(self.key, self.counter);
            self.counter[0] = self.counter[0].wrapping_add(1);
            self.used = 0;
        }
        let word = self.block.get(self.used).copied().unwrap_or_default();
        self.used += 1;
        word
    }

    /// The next uniform number, above 0 and below 1.
    pub fn uniform(&mut self) -> f64 {
        ((self.bits() >> 11) as f64 + 0.5) * (1.0 / 9_007_199_254_740_992.0)
    }
}
