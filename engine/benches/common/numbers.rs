//! Numbers that look like chance and are not.

#![allow(unreachable_pub, dead_code, reason = "shared by several programs, each of which uses a part")]

/// A generator of numbers that are the same on every machine.
pub struct Numbers(u64);

impl Numbers {
    /// Returns a generator.
    pub fn new(seed: u64) -> Numbers {
        Numbers(seed)
    }

    /// Returns the next number below `bound`.
    pub fn below(&mut self, bound: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % bound
    }
}
