//! Voltage drop of a branch circuit of a job.

use std::collections::BTreeMap;

use super::super::conductor::{Basis, Wire, is_stranded, resistance};
use super::super::derive::Ctx;
use super::super::given::{Gap, Gaps, Traced};
use super::super::runs::{cable_size, cables_of};
use super::super::shown;
use super::super::worksheet::{Line, Sheet};
use super::{BranchError, Legs, Load, Section, resistance_along, sizes, voltage_drops};
use crate::model::kinds::{appliance, cable, cable_end, circuit, device, luminaire, raceway, raceway_conductor, site};
use crate::model::{FieldId, ItemIndex};
use crate::problem::Problem;
use crate::quantity::{Conductor, Dimension, Quantity};
use crate::source::Span;

/// The drop at a box, luminaire or appliance.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PointDrop {
    /// The item.
    pub item: ItemIndex,
    /// Volts lost on the way there and back.
    pub volts: Quantity,
    /// The same as a share of the circuit's voltage ([`Dimension::Ratio`]).
    pub share: Quantity,
}

/// How the voltage of a branch circuit drops.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BranchDrop {
    /// Voltage of the circuit.
    pub voltage: Quantity,
    /// The drop at every point, in the order in which cables lead there from the panel.
    pub points: Vec<PointDrop>,
}

impl BranchDrop {
    /// Returns the point with the largest drop.
    pub fn worst(&self) -> Option<PointDrop> {
        // The first of equals: nearest to the panel.
        self.points
            .iter()
            .copied()
            .reduce(|worst, point| if point.volts.amount() > worst.volts.amount() { point } else { worst })
    }
}

/// A cable of the circuit that was walked along, from one item to the next.
struct Leg<'a> {
    from: Option<usize>,
    item: ItemIndex,
    length: Traced,
    material: &'a str,
    size: Traced,
    /// Whether the job says that it is stranded, where solid wire is usual.
    stranded: bool,
}

/// Returns the voltage drop of a circuit at all its points, with its own conductors.
///
/// The other circuit of a multiwire branch is taken to draw nothing, which is the worst case for this one.
///
/// # Errors
/// The fields to record; a fault when cables do not lead from the panel, run in a ring, or miss a load.
pub fn drop_of_circuit(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<BranchDrop, Gap> {
    branch_drop(ctx, item, None, sheet)
}

/// Returns the voltage drop of a circuit if none of its conductors were smaller than `least`.
///
/// # Errors
/// As [`drop_of_circuit`].
pub fn branch_drop(
    ctx: &Ctx<'_>,
    item: ItemIndex,
    least: Option<Quantity>,
    sheet: &mut Sheet,
) -> Result<BranchDrop, Gap> {
    let voltage = voltage_of(ctx, item)?;
    let legs = walk(ctx, item)?;
    let currents = currents(ctx, item, voltage, &legs)?;
    let temperature = ctx.book.quantity("voltage_drop.temperature", Dimension::Temperature)?;
    let mut sections = Vec::with_capacity(legs.len());
    for leg in &legs {
        let size = match least {
            Some(least) if larger(least, leg.size.quantity) => Traced { quantity: least, span: leg.size.span },
            _ => leg.size,
        };
        let stranded = leg.stranded || is_stranded(size.quantity, ctx.book)?;
        let wire = Wire { material: leg.material, size, stranded, temperature: temperature.quantity };
        let by_length = resistance(&wire, Basis::Table, ctx.book)?;
        let one_way = resistance_along(by_length, leg.length.quantity).ok_or_else(|| too_large(leg.length.span))?;
        sheet.line(|| {
            let what = format!("{} to {}, one conductor", shown(size.quantity), ctx.job.id(leg.item));
            Line::new(what).count(leg.length.quantity).each(by_length).total(one_way).of(leg.length).of(leg.size)
        });
        sections.push(Section { from: leg.from, hot: one_way, neutral: one_way });
    }
    let drops = voltage_drops(&sections, &currents).map_err(|error| match error {
        BranchError::TooLarge => Gap::from(too_large(ctx.job.item(item).header)),
        _ => Gap::field(item, circuit::CABLES),
    })?;
    let mut points = Vec::with_capacity(legs.len());
    for (leg, drop) in legs.iter().zip(drops) {
        let share = drop.first.share_of(voltage.quantity).map_err(|_| too_large(voltage.span))?;
        points.push(PointDrop { item: leg.item, volts: drop.first, share });
    }
    for load in &currents {
        if let Some(leg) = legs.get(load.at) {
            sheet.line(|| {
                Line::new(format!("load at {}", ctx.job.id(leg.item)))
                    .total(load.current)
                    .at(ctx.job.item(leg.item).header)
            });
        }
    }
    for point in &points {
        sheet.line(|| {
            Line::new(format!("drop at {}, out and back", ctx.job.id(point.item))).each(point.volts).total(point.share)
        });
    }
    Ok(BranchDrop { voltage: voltage.quantity, points })
}

/// Returns the smallest conductor that keeps the drop of a circuit within a share of its voltage, if none of its conductors were
/// smaller; nothing when no size of the table does.
///
/// # Errors
/// As [`drop_of_circuit`].
pub fn conductor_for_drop(ctx: &Ctx<'_>, item: ItemIndex, limit: Quantity) -> Result<Option<Quantity>, Gap> {
    let materials: Vec<&str> = cables_of(ctx, item).filter_map(|run| ctx.job.text(run, cable::MATERIAL)).collect();
    let material = materials.first().copied().unwrap_or("copper");
    for size in sizes(material, ctx.book)? {
        let drop = branch_drop(ctx, item, Some(size), &mut Sheet::none())?;
        if drop.worst().is_some_and(|worst| worst.share.amount() <= limit.amount()) {
            return Ok(Some(size));
        }
    }
    Ok(None)
}

/// Returns whether a size has the larger cross-section. Sizes of other units compare by their metal.
fn larger(size: Quantity, than: Quantity) -> bool {
    let area = |size: Quantity| Conductor::of(size).map(|size| size.area().amount());
    area(size) > area(than)
}

pub(super) fn too_large(span: Span) -> Problem {
    Problem::new(span, "this voltage drop is too large to compute").label("from here")
}

/// Returns the voltage of a circuit: its own, or that of the site for its poles.
pub(in crate::calc) fn voltage_of(ctx: &Ctx<'_>, item: ItemIndex) -> Result<Traced, Gap> {
    let voltage = match (ctx.given(item, circuit::VOLTAGE), ctx.site()) {
        (Some(voltage), _) => voltage,
        (None, Some(site)) => {
            let poles = ctx.need(item, circuit::POLES)?;
            let field = if poles.quantity.whole() == Some(1) { site::LINE_TO_NEUTRAL } else { site::LINE_TO_LINE };
            ctx.need(site, field).map_err(|_| Gap::field(item, circuit::VOLTAGE))?
        }
        (None, None) => return Err(Gap::field(item, circuit::VOLTAGE)),
    };
    if voltage.amount() <= 0 {
        return Err(Problem::new(voltage.span, "a voltage must be more than zero").label("this voltage").into());
    }
    Ok(voltage)
}

/// Walks the cables of a circuit from the panel outwards.
fn walk<'a>(ctx: &Ctx<'a>, item: ItemIndex) -> Result<Vec<Leg<'a>>, Gap> {
    let mut gaps = Gaps::default();
    // Cables at each item, with the item at their other end.
    let mut at: BTreeMap<ItemIndex, Vec<(ItemIndex, ItemIndex)>> = BTreeMap::new();
    let mut panel = ctx.job.link(item, circuit::PANEL);
    let mut count = 0;
    for run in cables_of(ctx, item) {
        let ends: Vec<ItemIndex> = ctx.job.links(run, cable::ENDS).filter_map(|end| target(ctx, end)).collect();
        let &[a, b] = ends.as_slice() else { continue };
        count += 1;
        at.entry(a).or_default().push((run, b));
        at.entry(b).or_default().push((run, a));
        for end in ctx.job.links(run, cable::ENDS) {
            panel = panel.or_else(|| ctx.job.link(end, cable_end::PANEL));
        }
    }
    for duct in ducts_of(ctx, item) {
        if hot_strand(ctx, duct, item).is_none() {
            continue;
        }
        let (Some(a), Some(b)) = (duct_end(ctx, duct, FROM), duct_end(ctx, duct, TO)) else { continue };
        count += 1;
        at.entry(a).or_default().push((duct, b));
        at.entry(b).or_default().push((duct, a));
    }
    if count == 0 {
        return Err(Gap::field(item, circuit::CABLES));
    }
    let panel = panel.ok_or_else(|| Gap::field(item, circuit::PANEL))?;
    let mut legs: Vec<Leg<'a>> = Vec::with_capacity(count);
    let mut used = Vec::with_capacity(count);
    let mut reached = vec![(None, panel)];
    let mut next = 0;
    while let Some(&(from, here)) = reached.get(next) {
        next += 1;
        for &(run, there) in at.get(&here).map_or(&[][..], Vec::as_slice) {
            if used.contains(&run) {
                continue;
            }
            used.push(run);
            if reached.iter().any(|(_, item)| *item == there) {
                return Err(Problem::new(ctx.job.item(run).header, "the cables of this circuit run in a ring")
                    .label("this one closes it")
                    .help("voltage drop is computed for branches that never come together again")
                    .into());
            }
            let (length, size, material) = stretch(ctx, run, item, &mut gaps);
            if let (Some(length), Some(size), Some(material)) = (length, size, material) {
                let stranded = match hot_strand(ctx, run, item) {
                    Some(strand) => ctx.job.flag(strand, raceway_conductor::STRANDED),
                    None => ctx.job.flag(run, cable::STRANDED),
                };
                let stranded = stranded == Some(true);
                legs.push(Leg { from, item: there, length, material, size, stranded });
            }
            reached.push((Some(reached.len() - 1), there));
        }
    }
    gaps.none()?;
    if used.len() < count {
        return Err(Problem::new(ctx.job.item(item).header, "not all cables of this circuit lead from its panel")
            .label("this circuit")
            .help("check the ends of its cables, or add the home run")
            .into());
    }
    Ok(legs)
}

/// What a stretch of cable or raceway says: length, and size and material of a conductor of the circuit that carries its current.
type Stretch<'a> = (Option<Traced>, Option<Traced>, Option<&'a str>);

fn stretch<'a>(ctx: &Ctx<'a>, run: ItemIndex, circuit: ItemIndex, gaps: &mut Gaps) -> Stretch<'a> {
    if let Some(strand) = hot_strand(ctx, run, circuit) {
        let length = gaps.keep(ctx.need(run, raceway::LENGTH).and_then(positive));
        let size = gaps.keep(ctx.need(strand, raceway_conductor::SIZE));
        return (length, size, gaps.keep(ctx.need_text(strand, raceway_conductor::MATERIAL)));
    }
    let length = gaps.keep(ctx.need(run, cable::LENGTH).and_then(positive));
    let size = gaps.keep(cable_size(ctx, run));
    (length, size, gaps.keep(ctx.need_text(run, cable::MATERIAL)))
}

/// Returns the raceways that hold conductors of a circuit.
pub(super) fn ducts_of<'a>(ctx: &'a Ctx<'_>, circuit: ItemIndex) -> impl Iterator<Item = ItemIndex> + 'a {
    ctx.job.links(circuit, circuit::RACEWAYS)
}

/// Returns the smallest conductor of a circuit in a raceway that carries its current; nothing for what is no raceway of the circuit.
pub(super) fn hot_strand(ctx: &Ctx<'_>, duct: ItemIndex, circuit: ItemIndex) -> Option<ItemIndex> {
    if ctx.job.schema.kind(raceway::NAME) != Some(ctx.job.item(duct).kind) {
        return None;
    }
    let strands = ctx.job.links(duct, raceway::CONDUCTORS).filter(|&strand| {
        ctx.job.link(strand, raceway_conductor::CIRCUIT) == Some(circuit)
            && ctx.job.flag(strand, raceway_conductor::IS_GROUND) != Some(true)
            && ctx.job.flag(strand, raceway_conductor::CURRENT_CARRYING) != Some(false)
    });
    strands.min_by_key(|&strand| ctx.given(strand, raceway_conductor::SIZE).map(Traced::amount))
}

const FROM: [FieldId; 4] = [raceway::FROM_BOX, raceway::FROM_PANEL, raceway::FROM_LUMINAIRE, raceway::FROM_APPLIANCE];
const TO: [FieldId; 4] = [raceway::TO_BOX, raceway::TO_PANEL, raceway::TO_LUMINAIRE, raceway::TO_APPLIANCE];

fn duct_end(ctx: &Ctx<'_>, duct: ItemIndex, fields: [FieldId; 4]) -> Option<ItemIndex> {
    fields.into_iter().find_map(|field| ctx.job.link(duct, field))
}

fn positive(length: Traced) -> Result<Traced, Gap> {
    if length.amount() > 0 {
        return Ok(length);
    }
    Err(Problem::new(length.span, "a run cannot have a length of zero or less").label("this length").into())
}

fn target(ctx: &Ctx<'_>, end: ItemIndex) -> Option<ItemIndex> {
    [cable_end::BOX, cable_end::PANEL, cable_end::LUMINAIRE, cable_end::APPLIANCE]
        .into_iter()
        .find_map(|field| ctx.job.link(end, field))
}

/// Returns the loads of a circuit at the ends of its sections.
fn currents(ctx: &Ctx<'_>, item: ItemIndex, voltage: Traced, legs: &[Leg<'_>]) -> Result<Vec<Load>, Gap> {
    let mut gaps = Gaps::default();
    let mut loads = Vec::new();
    let at = |point: ItemIndex| legs.iter().position(|leg| leg.item == point);
    for it in ctx.job.links(item, circuit::APPLIANCES) {
        let current = gaps.keep(current_of_appliance(ctx, it, voltage));
        let outlets = ctx.job.links(it, appliance::RECEPTACLES).filter_map(|r| ctx.job.link(r, device::BOX));
        let point = at(it).or_else(|| outlets.filter_map(at).next());
        let point = gaps.keep(point.ok_or_else(|| unreached(ctx, it)));
        if let (Some(current), Some(at)) = (current, point) {
            loads.push(Load { at, legs: Legs::First, current });
        }
    }
    for it in ctx.job.links(item, circuit::LUMINAIRES) {
        let current = gaps.keep(ctx.need(it, luminaire::LOAD).and_then(|load| amperes(load, voltage)));
        let point = at(it).or_else(|| ctx.job.link(it, luminaire::BOX).and_then(at));
        let point = gaps.keep(point.ok_or_else(|| unreached(ctx, it)));
        if let (Some(current), Some(at)) = (current, point) {
            loads.push(Load { at, legs: Legs::First, current });
        }
    }
    for field in [circuit::CONTINUOUS_LOAD, circuit::OTHER_LOAD] {
        if let Some(load) = ctx.given(item, field) {
            let current = gaps.keep(amperes(load, voltage));
            if let (Some(current), Some(at)) = (current, farthest(legs)) {
                loads.push(Load { at, legs: Legs::First, current });
            }
        }
    }
    gaps.none()?;
    if loads.is_empty() {
        return Err(Gap::field(item, circuit::OTHER_LOAD));
    }
    Ok(loads)
}

fn unreached(ctx: &Ctx<'_>, item: ItemIndex) -> Gap {
    let message = format!("no cable of its circuit leads to {}", ctx.job.id(item));
    Problem::new(ctx.job.item(item).header, message)
        .label("on this circuit")
        .help("let a cable end at it, at its box, or at the box of a receptacle for it")
        .into()
}

fn current_of_appliance(ctx: &Ctx<'_>, item: ItemIndex, voltage: Traced) -> Result<Quantity, Gap> {
    match (ctx.given(item, appliance::CURRENT), ctx.given(item, appliance::LOAD)) {
        (Some(current), _) => Ok(current.quantity),
        (None, Some(load)) => {
            let own: Option<Traced> = ctx.given(item, appliance::VOLTAGE);
            amperes(load, own.unwrap_or(voltage))
        }
        (None, None) => Err(Gap::field(item, appliance::LOAD)),
    }
}

fn amperes(load: Traced, voltage: Traced) -> Result<Quantity, Gap> {
    if load.amount() < 0 {
        return Err(Problem::new(load.span, "a load cannot be negative").label("this load").into());
    }
    let current = load.quantity.div(voltage.quantity);
    current.map_err(|_| Problem::new(load.span, "this load cannot be turned into a current").label("this load").into())
}

/// Returns the section whose end has the longest cable between it and the panel.
fn farthest(legs: &[Leg<'_>]) -> Option<usize> {
    let mut along: Vec<i64> = Vec::with_capacity(legs.len());
    for leg in legs {
        let before = leg.from.and_then(|from| along.get(from)).copied().unwrap_or(0);
        along.push(before.saturating_add(leg.length.amount()));
    }
    let longest = along.iter().copied().max()?;
    along.iter().position(|length| *length == longest)
}
