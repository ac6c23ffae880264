//! Operators and functions on amounts, as Rhai calls them.

use std::any::TypeId;
use std::sync::Arc;

use rhai::{Dynamic, Engine, EvalAltResult, ImmutableString};

use super::super::native::{Call, Datum, MOST_PARAMETERS};
use super::sight::{Fate, Given, Seen, Sight, What, fault};
use crate::model::{Symbol, Type};
use crate::quantity::{ArithmeticError, Quantity, parse_any};

/// Registers arithmetic, `min`, `max`, `distance`, `qty` and the native functions.
pub(super) fn register(engine: &mut Engine, sight: &Arc<Sight>) {
    engine.register_type_with_name::<Seen>("value");
    binary(engine, sight, "+", Quantity::add);
    binary(engine, sight, "-", Quantity::sub);
    binary(engine, sight, "*", Quantity::mul);
    binary(engine, sight, "/", Quantity::div);
    let own = Arc::clone(sight);
    engine.register_fn("-", move |of: Seen| -> Given {
        let of = own.value(&of)?;
        match of.amount() {
            Some(amount) if of.what != What::Zero => {
                let opposite = amount.neg().map_err(|error| fault(error.message))?;
                Ok(Seen::joined(What::Amount(opposite), &[&of]))
            }
            _ => Ok(of),
        }
    });
    let own = Arc::clone(sight);
    engine.register_fn("+", move |of: Seen| own.value(&of));
    binary(engine, sight, "distance", |a, b| {
        let apart = a.sub(b)?;
        if apart.amount() < 0 { apart.neg() } else { Ok(apart) }
    });
    engine.register_fn("qty", |text: Seen| -> Given {
        match &text.what {
            What::Text(written) => {
                let amount = parse_any(written).ok_or_else(|| fault("no amount"))?;
                Ok(Seen { what: What::Amount(amount), ..text })
            }
            _ => Err(fault("no text")),
        }
    });
    for number in 2..=MOST_PARAMETERS {
        extreme(engine, sight, "min", number, false);
        extreme(engine, sight, "max", number, true);
    }
    natives(engine, sight);
}

fn binary(
    engine: &mut Engine,
    sight: &Arc<Sight>,
    sign: &'static str,
    put: fn(Quantity, Quantity) -> Result<Quantity, ArithmeticError>,
) {
    let sight = Arc::clone(sight);
    engine.register_fn(sign, move |left: Seen, right: Seen| -> Given {
        let (left, right) = (sight.value(&left)?, sight.value(&right)?);
        match (left.amount(), right.amount()) {
            (Some(a), Some(b)) => {
                let result = match sign_of_nothing(sign, &left, &right, b) {
                    Some(nothing) => return Ok(Seen::joined(nothing?, &[&left, &right])),
                    None => put(like(&left, a, b), like(&right, b, a)),
                };
                let result = result.map_err(|error| fault(error.message))?;
                Ok(Seen::joined(What::Amount(result), &[&left, &right]))
            }
            _ => Ok(Seen::joined(Seen::wanting(&[&left, &right]).unwrap_or(What::Unknown), &[&left, &right])),
        }
    });
}

/// Returns what a product or quotient of the sum of nothing is: nothing again.
fn sign_of_nothing(
    sign: &str,
    left: &Seen,
    right: &Seen,
    divisor: Quantity,
) -> Option<Result<What, Box<EvalAltResult>>> {
    let (left, right) = (left.what == What::Zero, right.what == What::Zero);
    match sign {
        "*" if left || right => Some(Ok(What::Zero)),
        "/" if (left || right) && divisor.amount() == 0 => Some(Err(fault("can't divide by zero"))),
        "/" if left => Some(Ok(What::Zero)),
        "+" | "-" | "distance" if left && right => Some(Ok(What::Zero)),
        _ => None,
    }
}

/// Returns the sum of nothing as an amount of the other side's dimension.
fn like(seen: &Seen, amount: Quantity, other: Quantity) -> Quantity {
    if seen.what == What::Zero { Quantity::new(other.dimension(), 0) } else { amount }
}

fn arguments(sight: &Sight, given: &mut [&mut Dynamic]) -> Result<Vec<Seen>, Box<EvalAltResult>> {
    given
        .iter()
        .map(|argument| {
            let seen =
                Dynamic::clone(argument).try_cast::<Seen>().ok_or_else(|| fault("an argument of another sort"))?;
            sight.value(&seen)
        })
        .collect()
}

fn extreme(engine: &mut Engine, sight: &Arc<Sight>, name: &str, number: usize, greatest: bool) {
    let sight = Arc::clone(sight);
    let types = vec![TypeId::of::<Seen>(); number];
    engine.register_raw_fn(name, types, move |_, given| {
        let all = arguments(&sight, given)?;
        let other = all.iter().find(|seen| seen.what != What::Zero).and_then(Seen::amount);
        let amount = |seen: &Seen| Some(like(seen, seen.amount()?, other.unwrap_or(Quantity::number(0))));
        let amounts: Option<Vec<Quantity>> = all.iter().map(amount).collect();
        let best = amounts.and_then(|amounts| {
            let by_amount = |amount: &Quantity| amount.amount();
            if greatest { amounts.into_iter().max_by_key(by_amount) } else { amounts.into_iter().min_by_key(by_amount) }
        });
        let from: Vec<&Seen> = all.iter().collect();
        let what = match (Seen::wanting(&from), best) {
            (None, Some(best)) => What::Amount(best),
            (wanting, _) => wanting.unwrap_or(What::Unknown),
        };
        Ok(Seen::joined(what, &from))
    });
}

fn natives(engine: &mut Engine, sight: &Arc<Sight>) {
    let names: Vec<String> = sight.natives.names().map(str::to_owned).collect();
    for name in names {
        let Some((id, native)) = sight.natives.find(&name) else { continue };
        let types = vec![TypeId::of::<Seen>(); native.parameters.len()];
        let sight = Arc::clone(sight);
        engine.register_raw_fn(ImmutableString::from(name), types, move |_, given| {
            let all = arguments(&sight, given)?;
            let from: Vec<&Seen> = all.iter().collect();
            match Seen::wanting(&from) {
                Some(What::Undefined(_)) => return Ok(Seen::joined(What::Undefined(Fate::Absent), &from)),
                Some(wanting) => return Ok(Seen::joined(wanting, &from)),
                None => {}
            }
            let native = sight.natives.get(id).ok_or_else(|| fault("no such function"))?;
            let with_types = all.iter().zip(&native.parameters);
            let data: Option<Vec<Datum>> = with_types.map(|(seen, ty)| datum(&sight, seen, ty)).collect();
            let Some(data) = data else { return Ok(Seen::joined(What::Unknown, &from)) };
            let facts = sight.facts();
            let call = Call { arguments: &data, facts: &facts, book: &sight.book };
            let what = match native.call(call).map_err(fault)? {
                Some(Datum::Quantity(amount)) => What::Amount(amount),
                Some(Datum::Flag(flag)) => What::Flag(flag),
                Some(Datum::Text(symbol)) => What::Text(sight.job.symbols.text(symbol).to_owned()),
                Some(Datum::Item(item)) => What::Item(item),
                None => What::Unknown,
            };
            Ok(Seen::joined(what, &from))
        });
    }
}

fn datum(sight: &Sight, seen: &Seen, ty: &Type) -> Option<Datum> {
    match &seen.what {
        What::Amount(amount) => Some(Datum::Quantity(*amount)),
        What::Flag(flag) => Some(Datum::Flag(*flag)),
        What::Text(text) => Some(Datum::Text(sight.job.symbols.find(text).unwrap_or(Symbol(u32::MAX)))),
        What::Item(item) => Some(Datum::Item(*item)),
        What::Zero => match ty {
            Type::Quantity(dimension) => Some(Datum::Quantity(Quantity::new(*dimension, 0))),
            _ => None,
        },
        What::Unknown | What::Undefined(_) | What::None | What::List(_) | What::Code(_) => None,
    }
}
