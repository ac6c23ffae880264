//! Load of the neutral of a service or feeder.

use super::super::Code;
use super::super::given::Traced;
use super::super::worksheet::{Line, Sheet};
use super::cooking::cooking_demand;
use super::standard::{dryer_demand, fastened_demand, general_demand, general_load};
use super::{Apparatus, Dwelling, by, largest_motor, list, power, sum, too_large};
use crate::problem::Problem;
use crate::quantity::{Dimension, Quantity};

/// The load of a neutral.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NeutralLoad {
    /// The greatest load between the neutral and one leg ([`Dimension::Power`]).
    pub load: Quantity,
    /// Its current, after what may be taken off a large one.
    pub current: Quantity,
}

/// Returns the load of the neutral by the standard method: lighting, a share of cooking and dryers, and what is connected to it.
///
/// # Errors
/// When the code lacks an entry, or a load is negative, too large or beyond a table.
pub fn neutral_load(
    dwelling: &Dwelling,
    voltage: Traced,
    code: &dyn Code,
    sheet: &mut Sheet,
) -> Result<NeutralLoad, Problem> {
    let general = general_demand(general_load(dwelling, code, sheet)?, code, sheet)?;
    let share = code.quantity("load.neutral_cooking", Dimension::Ratio)?;
    let reduced = |load: i64, what: &str, sheet: &mut Sheet| -> Result<i64, Problem> {
        if load == 0 {
            return Ok(0);
        }
        let taken = by(load, share.amount(), share.span)?;
        sheet.line(|| Line::new(what).count(share.quantity).each(power(load)).total(power(taken)).by(share));
        Ok(taken)
    };
    let cooking = cooking_demand(&dwelling.cooking, code, sheet)?;
    let cooking = reduced(cooking, "cooking on the neutral", sheet)?;
    let dryers = dryer_demand(&dwelling.dryers, code, sheet)?;
    let dryers = reduced(dryers, "dryers on the neutral", sheet)?;
    let on_neutral =
        |from: &[Apparatus]| -> Vec<Apparatus> { from.iter().filter(|one| one.to_neutral).cloned().collect() };
    // The reduction for many fastened appliances is a matter of their whole number.
    let fastened = fastened_on_neutral(&dwelling.fastened, code, sheet)?;
    let climate: Vec<Apparatus> =
        dwelling.climate.summer().chain(&dwelling.climate.units).filter(|one| one.to_neutral).cloned().collect();
    let mut plain = on_neutral(&dwelling.other);
    plain.extend(climate);
    plain.extend(on_neutral(&dwelling.chargers));
    list(&plain, sheet);
    let motors = on_neutral(&dwelling.fastened);
    let motor = largest_motor(motors.iter().chain(&plain), code, sheet)?;
    let parts = [general, cooking, dryers, fastened, sum(&plain)?, motor];
    let load = parts.into_iter().try_fold(0_i64, i64::checked_add).ok_or_else(|| too_large(voltage.span))?;
    sheet.line(|| Line::new("load of the neutral").total(power(load)));
    let current = power(load).div(voltage.quantity).map_err(|_| too_large(voltage.span))?;
    let over = code.quantity("load.neutral_over", Dimension::Current)?;
    let factor = code.quantity("load.neutral_over_factor", Dimension::Ratio)?;
    let beyond = current.amount().saturating_sub(over.amount());
    let current = if beyond > 0 {
        let kept = by(beyond, factor.amount(), factor.span)?;
        sheet.line(|| Line::new("current beyond the first part").count(factor.quantity).by(factor));
        Quantity::new(Dimension::Current, over.amount().saturating_add(kept))
    } else {
        current
    };
    sheet.line(|| Line::new("current of the neutral").total(current).of(voltage));
    Ok(NeutralLoad { load: power(load), current })
}

/// Returns the part of the fastened appliances' demand that is connected to the neutral \[µW\].
fn fastened_on_neutral(fastened: &[Apparatus], code: &dyn Code, sheet: &mut Sheet) -> Result<i64, Problem> {
    let own: Vec<Apparatus> = fastened.iter().filter(|one| one.to_neutral).cloned().collect();
    let connected = sum(&own)?;
    let all = sum(fastened)?;
    if connected == 0 || all == 0 {
        return Ok(0);
    }
    list(&own, sheet);
    let demand = fastened_demand(fastened, code, &mut Sheet::none())?;
    super::super::arith::mul_div(demand, connected, all).ok_or_else(|| too_large(crate::source::Span::NONE))
}
