//! Runs several rules on the items of a kind, some hundred items at a time.

use super::detail::Recorder;
use super::rule::Bound;
use super::run::TOGETHER;
use crate::facts::Facts;
use crate::model::{Cell, FieldId, ItemIndex};

/// Cells that one line of the cache holds.
const CELLS_A_LINE: usize = 64 / size_of::<Cell>();

/// Holds items of one kind against several rules, each with its number. The recorder is told of each rule before its items, and
/// hears of it again for the next few hundred of them, so that neither time nor memory for a check grows with the items.
pub fn run_together(rules: &[(u16, &Bound)], items: &[ItemIndex], facts: &Facts<'_>, recorder: &mut impl Recorder) {
    for some in items.chunks(TOGETHER) {
        fetch(some, facts);
        for (number, bound) in rules {
            recorder.rule(*number, some.len());
            bound.on(facts).run_all(some, recorder);
        }
        recorder.pause();
    }
}

/// Reads the cells of items once in the order in which they lie in memory, which is the fastest way to have them at hand.
fn fetch(items: &[ItemIndex], facts: &Facts<'_>) {
    let (job, cells) = (facts.job(), facts.cells());
    let mut sum = 0;
    for &item in items {
        let first = job.cell_at(item, FieldId(0));
        let fields = job.schema.spec(job.item(item).kind).fields.len();
        let of_item = cells.get(first..first + fields).unwrap_or_default();
        sum ^= of_item.iter().step_by(CELLS_A_LINE).fold(0, |sum, cell| sum ^ cell.bits());
    }
    std::hint::black_box(sum);
}
