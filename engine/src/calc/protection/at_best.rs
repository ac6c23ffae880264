//! The largest breaker in the best of places. What fails even there fails wherever it runs, however little else is recorded.

use super::super::ampacity::{method_limit, table_value, terminals, terminals_at_best};
use super::super::derive::Ctx;
use super::super::given::{Gap, Gaps, Traced};
use super::super::runs::cable_size;
use super::super::shown;
use super::super::worksheet::{Line, Sheet};
use super::of_cable::breaker_on_circuit;
use crate::model::ItemIndex;
use crate::model::kinds::{cable, panel, raceway_conductor};
use crate::quantity::Quantity;

/// A conductor by what no place takes from it.
struct AtBest<'a> {
    material: &'a str,
    size: Traced,
    /// Column of the wiring method, where it has one.
    method: Option<Traced>,
    terminals: Traced,
    /// The circuit whose receptacles count.
    circuit: Option<ItemIndex>,
}

impl AtBest<'_> {
    /// Returns the ampacity by the lower of the columns of terminals and wiring method (110.14(C), 334.80).
    fn ampacity(&self, ctx: &Ctx<'_>, sheet: &mut Sheet) -> Result<Quantity, Gap> {
        let AtBest { material, size, .. } = *self;
        let column = self.method.filter(|limit| limit.amount() < self.terminals.amount()).unwrap_or(self.terminals);
        let most = table_value(material, size, column, ctx.book)?;
        sheet.line(|| {
            let what = format!("{} {} at {}", shown(size.quantity), material.replace('_', "-"), shown(column.quantity));
            Line::new(what).total(most.quantity).by(most).of(size).of(column)
        });
        Ok(most.quantity)
    }

    /// Returns the largest breaker by that ampacity (240.4).
    fn breaker(&self, ctx: &Ctx<'_>, sheet: &mut Sheet) -> Result<Traced, Gap> {
        let most = self.ampacity(ctx, sheet)?;
        breaker_on_circuit(ctx, self.circuit, most, self.material, self.size, sheet)
    }

    fn limit(&self, ctx: &Ctx<'_>, sheet: &mut Sheet) -> Result<Traced, Gap> {
        Ok(Traced { quantity: self.ampacity(ctx, sheet)?, span: self.size.span })
    }
}

/// Returns the largest breaker that may protect a cable in the best of places.
///
/// # Errors
/// The fields to record, or a fault in the job or the code.
pub fn best_breaker_of_cable(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Traced, Gap> {
    cable_at_best(ctx, item)?.breaker(ctx, sheet)
}

/// Returns the ampacity of a cable in the best of places.
///
/// # Errors
/// The fields to record, or a fault in the job or the code.
pub fn best_ampacity_of_cable(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Traced, Gap> {
    cable_at_best(ctx, item)?.limit(ctx, sheet)
}

fn cable_at_best<'a>(ctx: &Ctx<'a>, item: ItemIndex) -> Result<AtBest<'a>, Gap> {
    let mut gaps = Gaps::default();
    let size = gaps.keep(cable_size(ctx, item));
    let material = gaps.keep(ctx.need_text(item, cable::MATERIAL));
    let method = gaps.keep(ctx.need_text(item, cable::WIRING_METHOD));
    let circuit = gaps.keep(ctx.need_link(item, cable::CIRCUIT));
    gaps.none()?;
    let (Some(size), Some(material), Some(method)) = (size, material, method) else {
        return Err(Gap::Missing(Vec::new()));
    };
    let (method, terminals) = (method_limit(ctx, method)?, terminals_at_best(ctx, circuit, size)?);
    Ok(AtBest { material, size, method, terminals, circuit })
}

/// Returns the largest breaker that may protect conductors in a raceway in the best of places.
///
/// # Errors
/// The fields to record, or a fault in the job or the code.
pub fn best_breaker_of_strand(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Traced, Gap> {
    strand_at_best(ctx, item)?.breaker(ctx, sheet)
}

/// Returns the ampacity of conductors in a raceway in the best of places.
///
/// # Errors
/// The fields to record, or a fault in the job or the code.
pub fn best_ampacity_of_strand(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Traced, Gap> {
    strand_at_best(ctx, item)?.limit(ctx, sheet)
}

fn strand_at_best<'a>(ctx: &Ctx<'a>, item: ItemIndex) -> Result<AtBest<'a>, Gap> {
    let mut gaps = Gaps::default();
    let size = gaps.keep(ctx.need(item, raceway_conductor::SIZE));
    let material = gaps.keep(ctx.need_text(item, raceway_conductor::MATERIAL));
    let circuit = gaps.keep(ctx.need_link(item, raceway_conductor::CIRCUIT));
    gaps.none()?;
    let (Some(size), Some(material)) = (size, material) else { return Err(Gap::Missing(Vec::new())) };
    let terminals = terminals_at_best(ctx, circuit, size)?;
    Ok(AtBest { material, size, method: None, terminals, circuit })
}

/// Returns the largest breaker that may protect the feeder of a panel in the best of places.
///
/// # Errors
/// The fields to record, or a fault in the job or the code.
pub fn best_breaker_of_feeder(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Traced, Gap> {
    let mut gaps = Gaps::default();
    let size = gaps.keep(ctx.need(item, panel::FEEDER_SIZE));
    let material = gaps.keep(ctx.need_text(item, panel::FEEDER_MATERIAL));
    let method = gaps.keep(ctx.need_text(item, panel::FEEDER_METHOD));
    gaps.none()?;
    let (Some(size), Some(material), Some(method)) = (size, material, method) else {
        return Err(Gap::Missing(Vec::new()));
    };
    let (method, terminals) =
        (method_limit(ctx, method)?, terminals(ctx, None, size, ctx.given(item, panel::FEEDER_BREAKER))?);
    AtBest { material, size, method, terminals, circuit: None }.breaker(ctx, sheet)
}
