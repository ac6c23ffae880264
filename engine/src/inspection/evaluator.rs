//! An inspection on Rhai's own evaluator, rule by rule and item by item: slow, and the measure that lowered rules are held to.

use std::borrow::Cow;

use super::code::{Code, Compiled};
use super::compose::Composer;
use crate::facts::Facts;
use crate::model::{ItemIndex, KindId};
use crate::script::Recorder;

/// Runs rules on the evaluator. A rule without an answer there is a fault of the report, never silently left to the lowered form.
pub(super) fn run<'a>(
    playing: &[(usize, &Compiled)],
    code: &Code,
    facts: &Facts<'_>,
    items: impl Fn(KindId) -> Cow<'a, [ItemIndex]>,
    composer: &mut Composer<'_>,
) {
    for (number, compiled) in playing {
        let Some(bound) = compiled.bound() else { continue };
        let items = items(compiled.in_force.source.kind);
        composer.rule(*number as u16, items.len());
        match bound.rule().reference(facts, &code.book) {
            Ok(mut reference) => {
                for &item in &*items {
                    match reference.explain(item) {
                        Ok(details) => composer.evaluated(compiled, item, details),
                        Err(why) => composer.not_evaluated(compiled, &why),
                    }
                }
            }
            Err(why) => composer.not_evaluated(compiled, &why),
        }
        composer.evaluated_all();
    }
}
