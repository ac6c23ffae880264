//! The same rules on the same items for every engine that is compared.
//!
//! The items are invented: 20 lengths each in nanometres, about one in 23 checks fails. The rules are of the kinds that a code
//! is made of: twelve plain limits, two ranges, three behind a word that lets an item go, two on a sum, one yes or no.

#![allow(unreachable_pub, dead_code, reason = "shared by several programs, each of which uses a part")]

mod numbers;

use numbers::Numbers;

/// Lengths of an item.
pub const FIELDS: usize = 20;

/// One inch in nanometres.
pub const INCH: i64 = 25_400_000;

/// Words that an item may bear.
pub const PLACES: [&str; 8] = ["attic", "bathroom", "cellar", "den", "entry", "foyer", "garage", "hall"];

/// The words that the list of the rules holds, by their position.
pub const LISTED: [usize; 3] = [1, 4, 6];

/// The limit that the table of the rules has for each word, in sixteenths of an inch.
pub const ROWS: [i64; 8] = [180, 181, 182, 183, 184, 185, 186, 187];

/// One item.
#[derive(Clone, Debug)]
pub struct Reading {
    /// Lengths in nanometres.
    pub f: [i64; FIELDS],
    /// Whether the word is `NM`.
    pub is_nm: bool,
    /// A word of [`PLACES`], by its position.
    pub place: usize,
    /// A recorded yes or no.
    pub ok: bool,
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
            Reading { f, is_nm: numbers.below(3) > 0, place: numbers.below(8) as usize, ok: numbers.below(40) > 0 }
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
    /// A sum as a `let`; at most the second limit if a third field is more than the first limit and the sum less than 23 in.
    LetIf([usize; 3], i64, i64),
    /// Field at most limit, for items whose word is on the list.
    Listed(usize, i64),
    /// Field at most what the table has for the item's word.
    Row(usize),
    /// What the native function `gap`, the distance of two lengths, gives is at most limit.
    Gap(usize, usize, i64),
}

/// Sums below this, in sixteenths of an inch, are held against the limit of a [`Check::LetIf`].
pub const SUM_BELOW: i64 = 368;

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

/// Returns the sets of rules that are measured, ten of one shape each, and last the 20 mixed ones.
pub fn sets() -> Vec<(&'static str, Vec<Check>)> {
    let ten = |of: &dyn Fn(usize) -> Check| (0..10).map(of).collect();
    vec![
        ("plain limit", ten(&|at| Check::AtMost(at, 180 + at as i64))),
        ("let, sum and if", ten(&|at| Check::LetIf([at, at + 1, at + 2], 40, 300 + 4 * at as i64))),
        ("word in a list", ten(&|at| Check::Listed(at, 178 + at as i64))),
        ("row of a table", ten(&Check::Row)),
        ("native call", ten(&|at| Check::Gap(at, at + 1, 150 + at as i64))),
        ("20 mixed rules", checks()),
    ]
}

/// Returns a limit in nanometres.
pub fn nm(sixteenths: i64) -> i64 {
    sixteenths * INCH / 16
}

/// What every engine must agree on: the number of failed checks.
pub fn failures(readings: &[Reading], checks: &[Check]) -> usize {
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
        Check::LetIf([a, b, c], more, limit) => {
            let run = r.f[a] + r.f[b];
            r.f[c] > nm(more) && run < nm(SUM_BELOW) && run > nm(limit)
        }
        Check::Listed(f, limit) => LISTED.contains(&r.place) && r.f[f] > nm(limit),
        Check::Row(f) => r.f[f] > nm(ROWS[r.place]),
        Check::Gap(a, b, limit) => (r.f[a] - r.f[b]).abs() > nm(limit),
    }
}
