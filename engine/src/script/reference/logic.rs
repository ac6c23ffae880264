//! Comparison, membership, fields, rows, and the logic of three values, as Rhai calls them.

use std::collections::BTreeSet;
use std::sync::Arc;

use rhai::{Dynamic, Engine, EvalContext, Expression, ImmutableString};

use super::sight::{Given, Seen, Sight, What, fault};

/// Registers them.
pub(super) fn register(engine: &mut Engine, sight: &Arc<Sight>) {
    compare(engine, sight, "==", |same| same);
    compare(engine, sight, "!=", |same| !same);
    ordered(engine, sight, "<", |a, b| a < b);
    ordered(engine, sight, "<=", |a, b| a <= b);
    ordered(engine, sight, ">", |a, b| a > b);
    ordered(engine, sight, ">=", |a, b| a >= b);
    let own = Arc::clone(sight);
    engine.register_fn("!", move |of: Seen| -> Given {
        let of = own.value(&of)?;
        Ok(Seen { what: of.opposite(), ..of })
    });
    let own = Arc::clone(sight);
    engine.register_fn("contains", move |list: Seen, value: Seen| -> Given {
        let list = own.value(&list)?;
        let value = own.value(&value)?;
        Ok(Seen::joined(contains(&list, &value), &[&value, &list]))
    });
    let own = Arc::clone(sight);
    engine.register_indexer_get(move |of: &mut Seen, name: ImmutableString| own.property(of, &name));
    let own = Arc::clone(sight);
    engine.register_indexer_get(move |of: &mut Seen, key: Seen| own.row(of, &key));
    three_valued(engine, sight, "all_of", false);
    three_valued(engine, sight, "any_of", true);
}

/// Registers the names that stand behind a dot, each by itself: Rhai asks for those before it asks for any name.
pub(super) fn register_names(engine: &mut Engine, sight: &Arc<Sight>, names: BTreeSet<ImmutableString>) {
    for name in names {
        let own = Arc::clone(sight);
        engine.register_get(name.clone().as_str(), move |of: &mut Seen| own.property(of, &name));
    }
}

/// Returns whether a list holds a value.
pub(super) fn contains(list: &Seen, value: &Seen) -> What {
    if let Some(wanting) = Seen::uncompared(&[list, value], false) {
        return wanting;
    }
    match (&list.what, &value.what) {
        (What::List(members), what) => {
            if members.iter().any(|member| member.what == *what) {
                What::Flag(true)
            } else if members.iter().any(Seen::is_unknown) {
                What::Unknown
            } else {
                What::Flag(false)
            }
        }
        _ => What::Unknown,
    }
}

fn compare(engine: &mut Engine, sight: &Arc<Sight>, sign: &str, holds: fn(bool) -> bool) {
    let sight = Arc::clone(sight);
    engine.register_fn(sign, move |left: Seen, right: Seen| -> Given {
        let (left, right) = (sight.value(&left)?, sight.value(&right)?);
        let what = match Seen::uncompared(&[&left, &right], holds(false)) {
            Some(wanting) => wanting,
            None => match (left.amount(), right.amount()) {
                (Some(a), Some(b)) => What::Flag(holds(a.amount() == b.amount())),
                _ => What::Flag(holds(left.what == right.what)),
            },
        };
        Ok(Seen::joined(what, &[&left, &right]))
    });
}

fn ordered(engine: &mut Engine, sight: &Arc<Sight>, sign: &str, holds: fn(i64, i64) -> bool) {
    let sight = Arc::clone(sight);
    engine.register_fn(sign, move |left: Seen, right: Seen| -> Given {
        let (left, right) = (sight.value(&left)?, sight.value(&right)?);
        let what = match (left.amount(), right.amount()) {
            (Some(a), Some(b)) => What::Flag(holds(a.amount(), b.amount())),
            _ => Seen::uncompared(&[&left, &right], false).unwrap_or(What::Unknown),
        };
        Ok(Seen::joined(what, &[&left, &right]))
    });
}

/// Evaluates one input of a custom syntax.
pub(super) fn input(
    context: &mut EvalContext<'_, '_, '_, '_, '_, '_>,
    input: Option<&Expression<'_>>,
    sight: &Sight,
) -> Given {
    let expression = input.ok_or_else(|| fault("an operand is missing"))?;
    let value: Dynamic = context.eval_expression_tree(expression)?;
    let seen = value.try_cast::<Seen>().ok_or_else(|| fault("an operand of another sort"))?;
    sight.taken(seen)
}

/// `all_of` stands for `&&` and is settled by a no; `any_of` for `||`, settled by a yes.
fn three_valued(engine: &mut Engine, sight: &Arc<Sight>, word: &'static str, settled_by: bool) {
    let sight = Arc::clone(sight);
    engine.register_custom_syntax_with_state_raw(
        word,
        |_, _, _| Ok(None),
        false,
        move |context, inputs, _| {
            let mut seen: Vec<Seen> = Vec::new();
            for at in 0..inputs.len() {
                let operand = input(context, inputs.get(at), &sight)?;
                if operand.flag() == Some(settled_by) {
                    return Ok(Dynamic::from(Seen { what: What::Flag(settled_by), ..operand }));
                }
                seen.push(operand);
            }
            let what = match seen.iter().any(Seen::is_unknown) {
                true => What::Unknown,
                false => What::Flag(!settled_by),
            };
            Ok(Dynamic::from(Seen::joined(what, &seen.iter().collect::<Vec<_>>())))
        },
    );
}
