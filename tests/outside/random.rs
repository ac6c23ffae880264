//! Random numbers that are the same every run.

/// A generator of the xorshift family (Marsaglia, "Xorshift RNGs", 2003).
pub(crate) struct Random(u64);

impl Random {
    pub(crate) fn new(seed: u64) -> Random {
        Random(seed.max(1))
    }

    fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }

    /// Returns a whole number from `least` to `most`.
    pub(crate) fn within(&mut self, least: i64, most: i64) -> i64 {
        assert!(least <= most);
        let count = (most - least + 1) as u64;
        least + (self.next() % count) as i64
    }

    /// Returns true about once in so many times.
    pub(crate) fn once_in(&mut self, times: i64) -> bool {
        self.within(1, times) == 1
    }
}
