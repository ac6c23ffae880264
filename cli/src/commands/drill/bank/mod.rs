//! Questions with one right answer. What can be worked out from the job is worked out from it; sums have figures by the seed.

mod bend;
mod circuits;
mod code;
mod parts;
mod sums;
mod symbols;
mod terms;

use storystick_engine::inspection::Inspected;
use storystick_engine::sheet::Desk;

use super::Bench;
use crate::teach::papers::Question;
use crate::teach::seed::Seed;

/// Returns the questions of a drill, competency by competency.
///
/// # Errors
/// When a question can't be made: a mistake of the program.
pub(super) fn questions(
    bench: &mut Bench,
    text: &str,
    inspected: &Inspected,
    seed: &mut Seed,
) -> Result<Vec<Question>, String> {
    let mut list = sums::ohms_law(seed);
    list.extend(sums::tape(seed).ok_or("a sum of lengths can't be made\n")?);
    list.extend(bend::bends(seed));
    list.extend(code::lookup(inspected, seed));
    list.extend(terms::questions(inspected, seed)?);
    list.extend(circuits::questions(inspected, seed));
    let desk = Desk::new(&inspected.job, &inspected.code.book, &inspected.report, bench.inspector.library());
    list.extend(symbols::questions(&desk, seed));
    list.extend(parts::questions(&desk, seed));
    drop(desk);
    list.extend(code::another_edition(bench, text, inspected, seed));
    Ok(list)
}
