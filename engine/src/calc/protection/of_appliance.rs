//! The branch circuit that an appliance needs: voltage, poles, breaker, and what its conductors have to carry.

use super::super::ampacity::{Correction, Run, ampacity, column};
use super::super::appliance_voltage::usual_voltage;
use super::super::arith::{ONE, times};
use super::super::derive::Ctx;
use super::super::given::Traced;
use super::super::load::{Apparatus, cooking_demand};
use super::super::worksheet::Sheet;
use super::super::{Code, Datum, Match, shown};
use crate::model::ItemIndex;
use crate::model::kinds::appliance;
use crate::problem::Problem;
use crate::quantity::{Dimension, Quantity};

/// What cable is proposed in.
const MATERIAL: &str = "copper";

/// The branch circuit of one appliance.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ApplianceCircuit {
    /// Rating of its breaker.
    pub rating: Quantity,
    /// Its voltage, where job or code tell it.
    pub voltage: Option<Quantity>,
    /// Poles of its breaker.
    pub poles: i64,
    /// What its conductors carry at least ([`Dimension::Current`]).
    pub carries: Quantity,
    /// Whether the nameplate in the job decided; if not, the rating is what such appliances usually have.
    pub by_nameplate: bool,
}

/// Returns whether an appliance is joined by cord and plug: as written, or as its kind usually is.
pub fn is_plugged(ctx: &Ctx<'_>, item: ItemIndex) -> bool {
    let kind = ctx.job.text(item, appliance::KIND).unwrap_or_default();
    let usually = || ctx.book.has_word("appliance.by_cord", kind) == Some(true);
    ctx.job.flag(item, appliance::CORD_AND_PLUG).unwrap_or_else(usually)
}

/// Returns whether an appliance is plugged into a circuit for general receptacles by custom, not one to itself.
pub fn shares_circuit(ctx: &Ctx<'_>, item: ItemIndex) -> bool {
    let kind = ctx.job.text(item, appliance::KIND).unwrap_or_default();
    is_plugged(ctx, item) && ctx.book.has_word("appliance.shares_circuit", kind) == Some(true)
}

/// Returns the branch circuit that an appliance needs if it has one to itself, with a breaker `steps` standard ratings above the least.
///
/// A nameplate with a maximum breaker decides first, one with a minimum ampacity next, then the load or current: enlarged where it
/// flows for hours or drives a motor, by the demand table for cooking. Where the job records none of them, the code's usual rating for
/// the kind stands in.
///
/// # Errors
/// When no standard breaker is large enough, nameplate values contradict each other, or the code lacks what it takes.
pub fn circuit_of_appliance(
    ctx: &Ctx<'_>,
    item: ItemIndex,
    plugged: bool,
    steps: usize,
) -> Result<ApplianceCircuit, Problem> {
    let job = ctx.job;
    let code = ctx.book;
    let kind = job.text(item, appliance::KIND).unwrap_or_default();
    let voltage = voltage(ctx, item)?;
    let poles = match (voltage, code.quantity_if("circuit.two_pole_from", Dimension::Voltage)?) {
        (Some(voltage), Some(from)) if voltage.amount() >= from.amount() => 2,
        (Some(voltage), None) if is_multi_pole(code, voltage)? => 2,
        _ => 1,
    };
    let ratings = standard_ratings(code)?;
    let given = |field| ctx.given(item, field);
    let most = given(appliance::MAX_BREAKER);
    let least = given(appliance::MIN_AMPACITY);
    let current = current(ctx, item, kind, voltage)?;
    let found =
        |rating: Quantity, carries: Quantity| ApplianceCircuit { rating, voltage, poles, carries, by_nameplate: true };
    if let Some(most) = most {
        let fits = ratings.iter().rev().find(|rating| rating.amount() <= most.amount()).copied();
        let rating = fits.ok_or_else(|| {
            Problem::new(most.span, format!("no standard breaker is as small as {}", shown(most.quantity)))
                .label("this breaker")
                .help("compare the value with the nameplate")
        })?;
        return match least {
            Some(least) if least.amount() > most.amount() => {
                let message = format!(
                    "the nameplate asks for {} at least and allows a breaker of {} at most",
                    shown(least.quantity),
                    shown(most.quantity)
                );
                Err(Problem::new(least.span, message).label("this").help("compare both values with the nameplate"))
            }
            Some(least) => Ok(found(rating, least.quantity)),
            None => Ok(found(rating, rating)),
        };
    }
    let needed = match (least, current) {
        (Some(least), Some(current)) => Some(if least.amount() > current.amount() { least } else { current }),
        (least, current) => least.or(current),
    };
    let Some(needed) = needed else {
        let rating = usual_rating(code, kind)?;
        let at = ratings.iter().position(|known| known.amount() >= rating.amount());
        let rating = at.and_then(|at| ratings.get(at + steps)).copied().unwrap_or(rating);
        return Ok(ApplianceCircuit { rating, voltage, poles, carries: rating, by_nameplate: false });
    };
    let load = given(appliance::LOAD);
    let floor = match (kind, load) {
        ("range", Some(load)) => match code.quantity_if("circuit.range_from", Dimension::Power)? {
            Some(from) if load.amount() >= from.amount() => {
                code.quantity_if("circuit.range_rating", Dimension::Current)?.map(|known| known.amount())
            }
            _ => None,
        },
        _ => None,
    };
    // Smaller breakers than those of general circuits are for lights alone.
    let general = code.quantities("circuit.general_ratings", Dimension::Current).unwrap_or_default();
    let floor = floor.max(general.iter().map(|known| known.amount()).min()).unwrap_or(0);
    let mut fitting = Vec::new();
    for rating in ratings {
        if rating.amount() < needed.amount().max(floor) {
            continue;
        }
        if plugged && !takes_plug(code, rating, load, voltage)? {
            continue;
        }
        fitting.push(rating);
    }
    let rating = fitting.get(steps).or(fitting.last()).copied().ok_or_else(|| {
        Problem::new(needed.span, format!("no standard breaker is large enough for {}", shown(needed.quantity)))
            .label("this load")
            .help("compare the load and the voltage with the nameplate, or plan a feeder")
    })?;
    Ok(found(rating, rating))
}

/// Returns the voltage: of the nameplate, or what such appliances usually have, as the site has it.
fn voltage(ctx: &Ctx<'_>, item: ItemIndex) -> Result<Option<Quantity>, Problem> {
    match ctx.given(item, appliance::VOLTAGE) {
        Some(own) => Ok(Some(own.quantity)),
        None => usual_voltage(ctx, item),
    }
}

fn is_multi_pole(code: &dyn Code, voltage: Quantity) -> Result<bool, Problem> {
    let both = code.quantity_if("panel.multi_pole_voltage", Dimension::Voltage)?;
    Ok(both.is_some_and(|both| both.amount() == voltage.amount()))
}

/// Returns the ratings of breakers, or of standard circuits, in order.
fn standard_ratings(code: &dyn Code) -> Result<Vec<Quantity>, Problem> {
    if code.list("circuit.standard_ratings").is_some() {
        return Ok(super::ratings(code)?.into_iter().map(|known| known.quantity).collect());
    }
    let rows = code.table("circuits.standard_sizes", Dimension::Current, Dimension::Conductor)?;
    Ok(rows.into_iter().map(|(rating, _)| rating).collect())
}

fn usual_rating(code: &dyn Code, kind: &str) -> Result<Quantity, Problem> {
    let known = code.row_of("appliance.usual_rating", kind, Dimension::Current)?;
    let known = known.or(code.row_of("appliance.usual_rating", "other", Dimension::Current)?);
    known.map(|known| known.quantity).ok_or_else(|| {
        Problem::new(
            crate::source::Span::NONE,
            format!("the code in force knows no usual circuit for a {}", kind.replace('_', " ")),
        )
        .help("write `load` and `voltage` of the appliance")
    })
}

/// Returns the current that breaker and conductors have to carry, with what is added for hours on end and for motors.
fn current(ctx: &Ctx<'_>, item: ItemIndex, kind: &str, voltage: Option<Quantity>) -> Result<Option<Traced>, Problem> {
    let code = ctx.book;
    let large = |span| Problem::new(span, "this load is too large to compute").label("this load");
    let plain = match (ctx.given(item, appliance::CURRENT), ctx.given(item, appliance::LOAD), voltage) {
        (Some(current), ..) => current,
        (None, Some(load), Some(voltage)) => {
            let mut amount = load.amount();
            if code.has_word("circuit.cooking", kind) == Some(true) {
                let one = Apparatus::new(kind, load);
                // Past the end of the demand table the whole load counts.
                amount = cooking_demand(&[one], code, &mut Sheet::none()).unwrap_or(amount);
            }
            let power = Quantity::new(Dimension::Power, amount);
            Traced { quantity: power.div(voltage).map_err(|_| large(load.span))?, span: load.span }
        }
        _ => return Ok(None),
    };
    let of_kind = match kind {
        "water_heater" => Some("circuit.water_heater_factor"),
        "ev_charger" => Some("circuit.charger_factor"),
        "electric_heat" => Some("circuit.heat_factor"),
        _ => None,
    };
    let continuous = ctx.job.flag(item, appliance::CONTINUOUS) == Some(true);
    let mut factor = ONE;
    let mut raise = |known: Option<super::Known<'_>>| factor = factor.max(known.map_or(0, |known| known.amount()));
    if let Some(key) = of_kind {
        raise(code.quantity_if(key, Dimension::Ratio)?);
    }
    if continuous {
        raise(code.quantity_if("circuit.continuous_factor", Dimension::Ratio)?);
    }
    if ctx.job.flag(item, appliance::IS_MOTOR) == Some(true) {
        raise(code.quantity_if("protection.motor", Dimension::Number)?);
    }
    let amount = times(plain.amount(), factor).ok_or_else(|| large(plain.span))?;
    Ok(Some(Traced::new(Dimension::Current, amount, plain.span)))
}

/// Returns whether one appliance with a plug may be on a circuit of a rating: there is a receptacle for it, and the load leaves the
/// share of a small circuit free that the code asks for.
fn takes_plug(
    code: &dyn Code,
    rating: Quantity,
    load: Option<Traced>,
    voltage: Option<Quantity>,
) -> Result<bool, Problem> {
    if let Some(row) = code.row("receptacle.ratings", Datum::Quantity(rating), Match::Exact)
        && row.is_none()
    {
        return Ok(false);
    }
    let general = code.list("circuit.general_ratings").unwrap_or_default();
    let is_general = general.iter().any(|clause| clause.datum == Datum::Quantity(rating));
    let (true, Some(load), Some(voltage)) = (is_general, load, voltage) else { return Ok(true) };
    let Some(share) = code.quantity_if("circuit.cord_share", Dimension::Ratio)? else { return Ok(true) };
    let most = rating.mul(voltage).ok().and_then(|power| times(power.amount(), share.amount()));
    Ok(most.is_none_or(|most| load.amount() <= most))
}

/// Returns the copper conductors that carry a current in cable, smallest first, by the column of terminals and cable.
///
/// `ambient` is the highest temperature round the cable; where it is not known, that of the table.
///
/// # Errors
/// When the code has no ampacities.
pub fn conductors_that_carry(
    current: Quantity,
    ambient: Option<Traced>,
    code: &dyn Code,
) -> Result<Vec<Quantity>, Problem> {
    let of_code = |known: super::Known<'_>| Traced { quantity: known.quantity, span: known.span };
    let terminals = of_code(code.quantity("protection.terminal_small", Dimension::Temperature)?);
    let insulation = code.row_of("ampacity.insulation", "NM", Dimension::Temperature)?.map_or(terminals, of_code);
    let limit = code.row_of("ampacity.method_limit", "NM", Dimension::Temperature)?.map(of_code);
    let base = of_code(code.quantity("ampacity.base_ambient", Dimension::Temperature)?);
    let least = code
        .quantity_if(&format!("circuit.smallest_{MATERIAL}"), Dimension::Conductor)?
        .map_or(0, |least| least.amount());
    let key = column(MATERIAL, limit.unwrap_or(terminals), code)?;
    let mut sizes = Vec::new();
    for (size, row) in code.table(&key, Dimension::Conductor, Dimension::Current)? {
        let run = Run {
            material: MATERIAL,
            size: Traced { quantity: size, span: row.span },
            insulation,
            ambient: ambient.unwrap_or(base),
            current_carrying: 3,
            method_limit: limit,
            terminals: Some(terminals),
            correction: Correction::Table,
        };
        let carries = ampacity(&run, code, &mut Sheet::none());
        if size.amount() >= least && carries.is_ok_and(|found| found.ampacity.amount() >= current.amount()) {
            sizes.push(size);
        }
    }
    Ok(sizes)
}
