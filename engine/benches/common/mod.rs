//! The same 20 rules on the same items for every engine that is compared.
//!
//! The items are invented: 20 lengths each in nanometres, about one in 23 checks fails. The rules are of the kinds that a code
//! is made of: twelve plain limits, two ranges, three behind a word that lets an item go, two on a sum, one yes or no.

#![allow(unreachable_pub, dead_code, reason = "shared by several programs, each of which uses a part")]

/// Lengths of an item.
pub const FIELDS: usize = 20;

/// One inch in nanometres.
pub const INCH: i64 = 25_400_000;

/// One item.
#[derive(Clone, Debug)]
pub struct Reading {
    /// Lengths in nanometres.
    pub f: [i64; FIELDS],
    /// Whether the word is `NM`.
    pub is_nm: bool,
    /// A recorded yes or no.
    pub ok: bool,
}

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

/// Returns so many items.
pub fn readings(count: usize) -> Vec<Reading> {
    let mut numbers = Numbers::new(7);
    (0..count)
        .map(|_| {
            let mut f = [0; FIELDS];
            for length in &mut f {
                // Sixteenths of an inch up to 12 in; the limits below sit near the upper end.
                *length = numbers.below(192) as i64 * INCH / 16;
            }
            Reading { f, is_nm: numbers.below(3) > 0, ok: numbers.below(40) > 0 }
        })
        .collect()
}

/// One rule in a form that every engine's text is made from.
#[derive(Clone, Copy, Debug)]
pub enum Check {
    /// Field at most limit.
    AtMost(usize, i64),
    /// Field at least limit.
    AtLeast(usize, i64),
    /// Field between limits.
    Between(usize, i64, i64),
    /// Field at most limit, for items whose word is `NM`.
    NmAtMost(usize, i64),
    /// Sum of two fields at most limit.
    SumAtMost(usize, usize, i64),
    /// The yes or no is yes.
    Ok,
}

/// Returns the 20 rules. Limits are in sixteenths of an inch.
pub fn checks() -> Vec<Check> {
    use Check::{AtLeast, AtMost, Between, NmAtMost, Ok, SumAtMost};
    vec![
        AtMost(0, 183),
        AtMost(1, 185),
        AtMost(2, 187),
        AtMost(3, 184),
        AtMost(4, 186),
        AtMost(5, 188),
        AtLeast(6, 8),
        AtLeast(7, 6),
        AtLeast(8, 4),
        AtLeast(9, 9),
        AtLeast(10, 7),
        AtLeast(11, 5),
        Between(12, 4, 188),
        Between(13, 5, 187),
        NmAtMost(14, 183),
        NmAtMost(15, 185),
        NmAtMost(16, 187),
        SumAtMost(17, 18, 350),
        SumAtMost(18, 19, 355),
        Ok,
    ]
}

/// Returns a limit in nanometres.
pub fn nm(sixteenths: i64) -> i64 {
    sixteenths * INCH / 16
}

/// What every engine must agree on: the number of failed checks.
pub fn failures(readings: &[Reading]) -> usize {
    let checks = checks();
    readings.iter().map(|r| checks.iter().filter(|check| fails(r, **check)).count()).sum()
}

fn fails(r: &Reading, check: Check) -> bool {
    match check {
        Check::AtMost(f, limit) => r.f[f] > nm(limit),
        Check::AtLeast(f, limit) => r.f[f] < nm(limit),
        Check::Between(f, low, high) => r.f[f] < nm(low) || r.f[f] > nm(high),
        Check::NmAtMost(f, limit) => r.is_nm && r.f[f] > nm(limit),
        Check::SumAtMost(a, b, limit) => r.f[a] + r.f[b] > nm(limit),
        Check::Ok => !r.ok,
    }
}
