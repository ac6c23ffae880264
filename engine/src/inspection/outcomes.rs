//! Every check of every item in 16 bytes, so that keeping them until they are told costs next to nothing.

use std::sync::Mutex;

use crate::model::ItemIndex;
use crate::script::Verdict;

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
    /// Which statement of the rule; see [`Check::statement`].
    statement: u8,
    /// Met, failed, open or a fault.
    pub verdict: Verdict,
}

/// Marks a check whose verdict rests on something that the rule presumes. A rule has far fewer statements.
const PRESUMED: u8 = 0x80;

impl Check {
    /// Returns which statement of the rule it is.
    pub fn statement(&self) -> u8 {
        self.statement & !PRESUMED
    }

    /// Returns whether the verdict rests on something that the rule presumes.
    pub fn presumed(&self) -> bool {
        self.statement & PRESUMED != 0
    }
}

/// Collects the checks of some items of one job. The buffer can be used again for the next.
#[derive(Debug, Default)]
pub struct Outcomes {
    checks: Vec<Check>,
    /// Items that a rule looked at, and those it left alone, by rule.
    looked_at: Vec<(u32, u32)>,
    rule: u16,
    /// Items of the account that is open.
    items: u32,
    item: ItemIndex,
    before: usize,
}

impl Outcomes {
    /// Empties the buffer for a code of so many rules.
    pub fn begin(&mut self, rules: usize) {
        self.checks.clear();
        self.looked_at.clear();
        self.looked_at.resize(rules, (0, 0));
        (self.items, self.before) = (0, 0);
    }

    /// Opens the account of one rule for so many items; they follow.
    pub fn rule(&mut self, rule: u16, items: usize) {
        self.close();
        (self.rule, self.items) = (rule, items as u32);
    }

    /// Says which item the next checks are of.
    pub fn item(&mut self, item: ItemIndex) {
        self.item = item;
    }

    /// Keeps a check.
    pub fn record(&mut self, statement: u8, verdict: Verdict, margin: i64) {
        self.checks.push(Check { margin, item: self.item, rule: self.rule, statement, verdict });
    }

    /// Marks the check kept last as resting on something that its rule presumes.
    pub fn presumed(&mut self) {
        if let Some(check) = self.checks.last_mut() {
            check.statement |= PRESUMED;
        }
    }

    /// Keeps one check of items in a row.
    pub fn row(&mut self, statement: u8, items: &[ItemIndex], given: &[(Verdict, i64)]) {
        let rule = self.rule;
        let kept = |(&item, &(verdict, margin))| Check { margin, item, rule, statement, verdict };
        self.checks.extend(items.iter().zip(given).map(kept));
        self.item = items.last().copied().unwrap_or(self.item);
    }

    /// Closes the account that is open: which of its items the rule had something to say of.
    pub fn close(&mut self) {
        let mut reached = 0;
        let mut last = None;
        for check in self.checks.get(self.before..).unwrap_or_default() {
            reached += u32::from(last != Some(check.item));
            last = Some(check.item);
        }
        self.before = self.checks.len();
        if let Some((all, left)) = self.looked_at.get_mut(usize::from(self.rule)) {
            *all += self.items;
            *left += self.items - reached;
        }
        self.items = 0;
    }

    /// Lets the checks go, of which everything is told. What the rules looked at stays counted.
    pub fn forget(&mut self) {
        self.close();
        self.checks.clear();
        self.before = 0;
    }

    /// Returns all checks in the order in which they were made.
    pub fn checks(&self) -> &[Check] {
        &self.checks
    }

    /// Returns how many items a rule looked at, and how many of them it left alone.
    pub fn looked_at(&self, rule: usize) -> (usize, usize) {
        self.looked_at.get(rule).map_or((0, 0), |&(all, left)| (all as usize, left as usize))
    }
}

/// Buffers that are not in use: as many as jobs were ever inspected at once. Fresh memory costs more than a check.
#[derive(Debug, Default)]
pub(super) struct Buffers {
    idle: Mutex<Vec<Outcomes>>,
}

impl Buffers {
    /// Returns a buffer, a used one if there is one.
    pub(super) fn take(&self) -> Outcomes {
        self.idle.lock().ok().and_then(|mut idle| idle.pop()).unwrap_or_default()
    }

    /// Takes a buffer back.
    pub(super) fn give_back(&self, buffer: Outcomes) {
        if let Ok(mut idle) = self.idle.lock() {
            idle.push(buffer);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Check;

    #[test]
    fn a_check_is_sixteen_bytes() {
        assert_eq!(size_of::<Check>(), 16);
    }
}
