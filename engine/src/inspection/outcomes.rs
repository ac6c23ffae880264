//! Every check of every item in 16 bytes, so that keeping all of them costs next to nothing.

use crate::model::ItemIndex;
use crate::script::{Recorder, Verdict};

/// One check of one item. What was found, what is allowed and where both were written is made again on demand, by
/// evaluating the rule once more with an eye on its operands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Check {
    /// By how much it is met or missed, in base units.
    pub margin: i64,
    /// The item.
    pub item: ItemIndex,
    /// The rule, by its place in the code.
    pub rule: u16,
    /// Which statement of the rule.
    pub statement: u8,
    /// Met, failed, open or a fault.
    pub verdict: Verdict,
}

/// Collects the checks of one job. The buffer can be used again for the next.
#[derive(Debug, Default)]
pub struct Outcomes {
    checks: Vec<Check>,
    /// Items that a rule left alone, by rule.
    left_alone: Vec<u32>,
    rule: u16,
    item: ItemIndex,
    before: usize,
}

impl Outcomes {
    /// Empties the buffer for a code of so many rules.
    pub fn begin(&mut self, rules: usize) {
        self.checks.clear();
        self.left_alone.clear();
        self.left_alone.resize(rules, 0);
    }

    /// Opens the account of one rule and item.
    pub fn open(&mut self, rule: u16, item: ItemIndex) {
        self.rule = rule;
        self.item = item;
        self.before = self.checks.len();
    }

    /// Closes the account: a rule that recorded nothing left the item alone.
    pub fn close(&mut self) {
        if self.checks.len() == self.before
            && let Some(count) = self.left_alone.get_mut(self.rule as usize)
        {
            *count += 1;
        }
    }

    /// Returns all checks in the order in which they were made.
    pub fn checks(&self) -> &[Check] {
        &self.checks
    }

    /// Returns how many items a rule left alone.
    pub fn left_alone(&self, rule: usize) -> usize {
        self.left_alone.get(rule).map_or(0, |&count| count as usize)
    }
}

impl Recorder for Outcomes {
    fn record(&mut self, check: u8, verdict: Verdict, margin: i64) {
        self.checks.push(Check { margin, item: self.item, rule: self.rule, statement: check, verdict });
    }
}
