//! The ampacity of a cable of a job.

use super::super::arith::whole;
use super::super::derive::Ctx;
use super::super::given::{Gap, Gaps, Traced};
use super::super::runs::cable_size;
use super::super::worksheet::{Line, Sheet};
use super::super::{Code, Known, count_of};
use super::{Ampacity, Correction, Run, ampacity};
use crate::model::kinds::{appliance, cable, circuit, feeder, raceway, site};
use crate::model::{FieldId, ItemIndex};
use crate::problem::Problem;
use crate::quantity::{Dimension, Quantity};

/// Most conductors or cables together; more is a slip of the pen.
const MOST: i64 = 200;

/// What a job says of a cable and where it runs, as far as its ampacity goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CableConditions<'a> {
    /// Conductor and surroundings.
    pub run: Run<'a>,
    /// Cables together, this one included, that have to be adjusted for.
    pub together: i64,
    /// Conductors of this cable that carry current.
    pub carrying: i64,
}

/// Returns the ampacity of a cable where it runs.
///
/// # Errors
/// The fields to record, or a fault in the job or the code.
pub fn ampacity_of_cable(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Ampacity, Gap> {
    let conditions = cable_conditions(ctx, item)?;
    if conditions.together > 1 {
        sheet.line(|| {
            let what = format!("cables together, each taken to carry {}", conditions.carrying);
            Line::new(what)
                .count(crate::quantity::Quantity::number(conditions.together))
                .at(ctx.place(item, cable::BUNDLED_WITH))
        });
    }
    Ok(ampacity(&conditions.run, ctx.book, sheet)?)
}

/// Returns the ampacity of a cable where it runs, with the terminals of a service.
///
/// # Errors
/// The fields to record, or a fault in the job or the code.
pub(in crate::calc) fn cable_ampacity_as_service(
    ctx: &Ctx<'_>,
    item: ItemIndex,
    sheet: &mut Sheet,
) -> Result<Traced, Gap> {
    let run = cable_conditions(ctx, item)?.run;
    let marked = ctx.job.link(item, cable::CIRCUIT).and_then(|circuit| ctx.given(circuit, circuit::TERMINALS));
    let run = Run { terminals: Some(service_terminals(ctx, marked)?), ..run };
    Ok(Traced { quantity: ampacity(&run, ctx.book, sheet)?.ampacity, span: run.size.span })
}

/// Returns the ampacity of a cable as rules read it.
///
/// # Errors
/// The fields to record, the marking of terminals among them where it decides something, or a fault in the job or the code.
pub(in crate::calc) fn ampacity_told_of_cable(
    ctx: &Ctx<'_>,
    item: ItemIndex,
    sheet: &mut Sheet,
) -> Result<Traced, Gap> {
    let found = ampacity_of_cable(ctx, item, sheet)?.ampacity;
    let run = cable_conditions(ctx, item)?.run;
    let quantity = unless_terminals_decide(ctx, ctx.job.link(item, cable::CIRCUIT), &run, found)?;
    Ok(Traced { quantity, span: ctx.place(item, cable::SIZE) })
}

/// Returns the ampacity with terminals of the higher temperature that equipment is listed for, where the job does not say how those of the
/// circuit are marked and that would make a difference.
pub(in crate::calc) fn better_if_marked(
    ctx: &Ctx<'_>,
    circuit: Option<ItemIndex>,
    run: &Run<'_>,
) -> Result<Option<Quantity>, Gap> {
    let marked = terminals_at_best(ctx, circuit, run.size)?;
    if run.terminals.is_none_or(|taken| taken.amount() >= marked.amount()) {
        return Ok(None);
    }
    Ok(Some(ampacity(&Run { terminals: Some(marked), ..*run }, ctx.book, &mut Sheet::none())?.ampacity))
}

/// Returns an ampacity unless how the terminals of its circuit are marked decides whether equipment on it gets the minimum on its nameplate.
pub(in crate::calc) fn unless_terminals_decide(
    ctx: &Ctx<'_>,
    circuit: Option<ItemIndex>,
    run: &Run<'_>,
    found: Quantity,
) -> Result<Quantity, Gap> {
    let (Some(circuit), Some(better)) = (circuit, better_if_marked(ctx, circuit, run)?) else { return Ok(found) };
    let between = |least: Traced| found.amount() < least.amount() && least.amount() <= better.amount();
    let mut appliances = ctx.job.links(circuit, circuit::APPLIANCES);
    match appliances.any(|it| ctx.given(it, appliance::MIN_AMPACITY).is_some_and(between)) {
        true => Err(Gap::field(circuit, circuit::TERMINALS)),
        false => Ok(found),
    }
}

/// Returns what a job says of a cable and where it runs.
///
/// # Errors
/// The fields to record, or a fault in one of them.
pub fn cable_conditions<'a>(ctx: &Ctx<'a>, item: ItemIndex) -> Result<CableConditions<'a>, Gap> {
    let mut gaps = Gaps::default();
    let size = gaps.keep(cable_size(ctx, item));
    let material = gaps.keep(ctx.need_text(item, cable::MATERIAL));
    let method = gaps.keep(ctx.need_text(item, cable::WIRING_METHOD));
    let insulation = method.and_then(|method| gaps.keep(insulation(ctx, item, method, cable::INSULATION)));
    let ambient = gaps.keep(ambient(ctx, item, Surroundings::CABLE, None));
    let carrying = gaps.keep(carrying(ctx, item));
    let together = gaps.keep(together(ctx, item));
    gaps.none()?;
    let (Some(size), Some(material), Some(method), Some(insulation), Some(ambient), Some(carrying), Some(together)) =
        (size, material, method, insulation, ambient, carrying, together)
    else {
        return Err(Gap::Missing(Vec::new()));
    };
    let limit = limit_where_it_runs(ctx, item, method, size, cable::IN_INSULATION)?;
    let terminals = terminals(ctx, ctx.job.link(item, cable::CIRCUIT), size, None)?;
    let run = Run {
        material,
        size,
        insulation,
        ambient,
        current_carrying: carrying.saturating_mul(together),
        method_limit: limit,
        terminals: Some(terminals),
        correction: Correction::Table,
    };
    Ok(CableConditions { run, together, carrying })
}

/// Returns the column beyond which a wiring method may not be used wherever it runs.
///
/// # Errors
/// When the code lacks the table.
pub(in crate::calc) fn method_limit(ctx: &Ctx<'_>, method: &str) -> Result<Option<Traced>, Gap> {
    Ok(ctx.book.row_of("ampacity.method_limit", method, Dimension::Temperature)?.map(of_code))
}

/// Returns the column beyond which a cable may not be used where it runs: always, or where the cable lies in thermal insulation. The field
/// `lies` says whether it does.
pub(in crate::calc) fn limit_where_it_runs(
    ctx: &Ctx<'_>,
    item: ItemIndex,
    method: &str,
    size: Traced,
    lies: FieldId,
) -> Result<Option<Traced>, Gap> {
    if let Some(limit) = method_limit(ctx, method)? {
        return Ok(Some(limit));
    }
    let Some(limit) = row_if(ctx, "ampacity.insulated_limit", method, Dimension::Temperature)? else {
        return Ok(None);
    };
    let up_to = row_if(ctx, "ampacity.insulated_limit_up_to", method, Dimension::Conductor)?;
    if up_to.is_some_and(|most| size.amount() > most.amount()) {
        return Ok(None);
    }
    match ctx.job.flag(item, lies) {
        Some(lies) => Ok(lies.then(|| of_code(limit))),
        None => Err(Gap::field(item, lies)),
    }
}

/// Returns the row of a word in a table that the code in force need not have.
fn row_if<'a>(ctx: &Ctx<'a>, key: &str, word: &str, dimension: Dimension) -> Result<Option<Known<'a>>, Problem> {
    if ctx.book.has_table(key) { ctx.book.row_of(key, word, dimension) } else { Ok(None) }
}

/// Returns the temperature that the terminals of a service may be used to, or those of a feeder that carries a whole dwelling: as marked at
/// its circuit, or what services are built for. Its table of conductors stands on that column.
///
/// # Errors
/// When the code lacks the entry.
pub(in crate::calc) fn service_terminals(ctx: &Ctx<'_>, marked: Option<Traced>) -> Result<Traced, Gap> {
    match marked {
        Some(marked) => Ok(marked),
        None => Ok(of_code(ctx.book.quantity("protection.terminal_large", Dimension::Temperature)?)),
    }
}

/// Returns the temperature that the terminals of a circuit may be used to: as marked, or what the code takes where nothing is, by the size
/// of the conductor and the rating of the circuit (110.14(C)(1)).
///
/// # Errors
/// When the code lacks an entry.
pub(in crate::calc) fn terminals(
    ctx: &Ctx<'_>,
    circuit: Option<ItemIndex>,
    size: Traced,
    rating: Option<Traced>,
) -> Result<Traced, Gap> {
    if let Some(marked) = circuit.and_then(|circuit| ctx.given(circuit, circuit::TERMINALS)) {
        return Ok(marked);
    }
    let rating = rating.or_else(|| ctx.given(circuit?, circuit::RATING));
    let small_up_to = ctx.book.quantity_if("protection.terminal_small_rating", Dimension::Current)?;
    if small_up_to.is_some_and(|most| rating.is_some_and(|rating| rating.amount() > most.amount())) {
        return Ok(of_code(ctx.book.quantity("protection.terminal_large", Dimension::Temperature)?));
    }
    Ok(of_code(terminal_rating(size, ctx.book)?))
}

/// Returns the temperature that the terminals of a circuit may be used to at most: as marked, or the higher one that equipment is listed
/// for, where nobody has written the marking (110.14(C)(1)(a)(3)).
///
/// # Errors
/// When the code lacks an entry.
pub(in crate::calc) fn terminals_at_best(
    ctx: &Ctx<'_>,
    circuit: Option<ItemIndex>,
    size: Traced,
) -> Result<Traced, Gap> {
    let taken = terminals(ctx, circuit, size, None)?;
    let (Some(circuit), Some(marked)) =
        (circuit, ctx.book.quantity_if("protection.terminal_marked", Dimension::Temperature)?)
    else {
        return Ok(taken);
    };
    let unmarked = ctx.given(circuit, circuit::TERMINALS).is_none() && taken.amount() < marked.amount();
    Ok(if unmarked { of_code(marked) } else { taken })
}

pub(in crate::calc) fn of_code(known: Known<'_>) -> Traced {
    Traced { quantity: known.quantity, span: known.span }
}

/// Returns the temperature that terminals are taken to be rated for where nothing is marked, by the size of the conductor.
///
/// # Errors
/// When the code lacks an entry.
pub(crate) fn terminal_rating<'c>(size: Traced, code: &'c dyn Code) -> Result<Known<'c>, Problem> {
    let small_to = code.quantity("protection.terminal_small_to", Dimension::Conductor)?;
    let key =
        if size.amount() <= small_to.amount() { "protection.terminal_small" } else { "protection.terminal_large" };
    code.quantity(key, Dimension::Temperature)
}

/// Returns the rating of the insulation that factors start from: the column of the wiring method where it may be no other, as written in
/// the field `own`, or what the code demands of the method.
pub(in crate::calc) fn insulation(ctx: &Ctx<'_>, item: ItemIndex, method: &str, own: FieldId) -> Result<Traced, Gap> {
    if let Some(known) = row_if(ctx, "ampacity.factors_from", method, Dimension::Temperature)? {
        return Ok(of_code(known));
    }
    if let Some(written) = ctx.given(item, own) {
        return Ok(written);
    }
    match ctx.book.row_of("ampacity.insulation", method, Dimension::Temperature)? {
        Some(known) => Ok(of_code(known)),
        None => Err(Gap::field(item, own)),
    }
}

/// The fields of a cable or raceway that say how warm it is along it.
#[derive(Clone, Copy, Debug)]
pub(in crate::calc) struct Surroundings {
    /// The temperature written for it.
    pub(in crate::calc) own: FieldId,
    /// Whether it runs above a roof in the sun, and how far above, where it has such fields.
    pub(in crate::calc) roof: Option<(FieldId, FieldId)>,
}

impl Surroundings {
    /// Those of a cable.
    pub(in crate::calc) const CABLE: Surroundings =
        Surroundings { own: cable::AMBIENT, roof: Some((cable::ON_ROOF, cable::ABOVE_ROOF)) };
    /// Those of a raceway.
    pub(in crate::calc) const RACEWAY: Surroundings =
        Surroundings { own: raceway::AMBIENT, roof: Some((raceway::ON_ROOF, raceway::ABOVE_ROOF)) };
    /// Those of a feeder that is no item of its own; what runs above a roof is written as its cable or raceway.
    pub(in crate::calc) const FEEDER: Surroundings = Surroundings { own: feeder::AMBIENT, roof: None };
}

/// Returns the surrounding temperature of a cable or raceway: as written in its own field, or for the whole site. Close above a roof in
/// the sun the code adds to it (310.15(B)(2)), whatever `insulation` its conductors have, unless the code names that as one to leave out.
///
/// # Errors
/// The field to record.
pub(in crate::calc) fn ambient(
    ctx: &Ctx<'_>,
    item: ItemIndex,
    fields: Surroundings,
    insulation: Option<&str>,
) -> Result<Traced, Gap> {
    let air = match (ctx.given(item, fields.own), ctx.site()) {
        (Some(own), _) => own,
        (None, Some(site)) => ctx.need(site, site::AMBIENT)?,
        (None, None) => return Err(Gap::field(item, fields.own)),
    };
    let Some(clear) = ctx.book.quantity_if("ampacity.roof_clearance", Dimension::Length)? else { return Ok(air) };
    let Some((on_roof, above_roof)) = fields.roof else { return Ok(air) };
    let heats = ctx.job.flag(item, on_roof) == Some(true)
        && insulation.is_none_or(|word| ctx.book.has_word("ampacity.roof_exempt", word) != Some(true));
    if !heats || ctx.need(item, above_roof)?.amount() >= clear.amount() {
        return Ok(air);
    }
    let adder = ctx.book.quantity("ampacity.roof_adder", Dimension::Temperature)?;
    let hot = Quantity::new(Dimension::Temperature, air.amount().saturating_add(adder.amount()));
    Ok(Traced { quantity: hot, span: air.span })
}

fn carrying(ctx: &Ctx<'_>, item: ItemIndex) -> Result<i64, Gap> {
    let conductors = ctx.given(item, cable::CONDUCTORS).ok_or_else(|| Gap::field(item, cable::KEY_MAKE))?;
    let all = count_of(conductors, 1, MOST)?;
    let Some(written) = ctx.given(item, cable::CURRENT_CARRYING) else { return Ok(all) };
    Ok(count_of(written, 1, all)?)
}

/// Returns how many cables together have to be adjusted for, this one included: 1 where no adjustment is due.
fn together(ctx: &Ctx<'_>, item: ItemIndex) -> Result<i64, Gap> {
    let together = count_of(ctx.need(item, cable::BUNDLED_WITH)?, 0, MOST)? + 1;
    if together == 1 || heats_nobody(ctx, item, together)? {
        return Ok(1);
    }
    let sealed_cables = ctx.book.quantity("ampacity.sealed_cables", Dimension::Number)?;
    let more_than_sealed = whole(together) > sealed_cables.amount();
    let exempt = ctx.book.quantity("ampacity.bundle_exempt", Dimension::Length)?;
    if let Some(length) = ctx.given(item, cable::BUNDLE_LENGTH)
        && length.amount() > exempt.amount()
    {
        return Ok(together);
    }
    let mut gaps = Gaps::default();
    if more_than_sealed {
        match ctx.job.flag(item, cable::IN_INSULATION) {
            Some(true) => return Ok(together),
            Some(false) => {}
            None => gaps.add(Gap::field(item, cable::IN_INSULATION)),
        }
    }
    gaps.keep(ctx.need(item, cable::BUNDLE_LENGTH));
    gaps.none()?;
    Ok(1)
}

/// Returns whether nothing is taken off for cables together: armored ones without a jacket, of small copper conductors, as long as there
/// are not too many (310.15(C)(1)(d)).
fn heats_nobody(ctx: &Ctx<'_>, item: ItemIndex, together: i64) -> Result<bool, Gap> {
    let method = ctx.need_text(item, cable::WIRING_METHOD)?;
    if ctx.book.has_word("ampacity.unjacketed", method) != Some(true) {
        return Ok(false);
    }
    let size = cable_size(ctx, item)?;
    let own = ctx.book.quantity("ampacity.unjacketed_size", Dimension::Conductor)?;
    let most = ctx.book.quantity("ampacity.unjacketed_most", Dimension::Number)?;
    let unadjusted = ctx.book.quantity("ampacity.unadjusted", Dimension::Number)?;
    let carrying = carrying(ctx, item)?;
    let fits = ctx.need_text(item, cable::MATERIAL)? == "copper"
        && size.amount() == own.amount()
        && whole(carrying) <= unadjusted.amount()
        && whole(carrying.saturating_mul(together)) <= most.amount();
    if !fits {
        return Ok(false);
    }
    match ctx.job.flag(item, cable::JACKETED) {
        Some(jacketed) => Ok(!jacketed),
        // Some kinds are sold either way.
        None if ctx.book.has_word("ampacity.jacket_asked", method) == Some(true) => {
            Err(Gap::field(item, cable::JACKETED))
        }
        None => Ok(true),
    }
}
