//! Derived fields of panels and breakers: spaces that are taken, kinds of breakers, and what lands where.

use std::collections::{BTreeMap, BTreeSet};

use super::{Ctx, DeriveFn, Derived, Gap, Library, Line};
use crate::model::kinds::{circuit, panel};
use crate::model::{Cell, FieldId, ItemIndex, Schema};
use crate::quantity::{Dimension, Quantity};
use crate::source::Span;
use crate::wiring::{Colour, Landed, Lands, PanelWire, Point, panel_wires, takes_neutral};

/// Adds the facts of panels to a library.
pub(super) fn register(schema: &Schema, library: &mut Library) {
    let all: &[(&str, FieldId, DeriveFn)] = &[
        (circuit::NAME, circuit::IS_TANDEM, |ctx, item| {
            Derived::of(ctx, |_| Ok(is_kind(ctx, item, "tandem", circuit::TANDEM)))
        }),
        (circuit::NAME, circuit::IS_QUAD, |ctx, item| {
            Derived::of(ctx, |_| Ok(is_kind(ctx, item, "quad", circuit::BREAKER)))
        }),
        (circuit::NAME, circuit::OPENS_AS_ONE, |ctx, item| Derived::of(ctx, |_| opens_as_one(ctx, item))),
        (panel::NAME, panel::SPACES_TAKEN, spaces_taken),
        (panel::NAME, panel::NEUTRALS_APART, |ctx, item| Derived::of(ctx, |_| neutrals_apart(ctx, item))),
        (panel::NAME, panel::BARS_APART, |ctx, item| Derived::of(ctx, |_| bars_apart(ctx, item))),
        (panel::NAME, panel::NEUTRALS_ON_BREAKERS, |ctx, item| Derived::of(ctx, |_| neutrals_on_breakers(ctx, item))),
        (panel::NAME, panel::GROUNDS_UNDER_SCREW, |ctx, item| Derived::of(ctx, |_| grounds_under_screw(ctx, item))),
    ];
    for &(kind, field, function) in all {
        if let Some(kind) = schema.kind(kind) {
            library.add(kind, field, function);
        }
    }
}

/// The breaker positions of a circuit, as far as they are written.
fn positions(ctx: &Ctx<'_>, item: ItemIndex) -> Vec<i64> {
    let cell = ctx.job.cell(item, circuit::POSITIONS);
    let cells = if cell.is_missing() { &[] } else { ctx.job.list(cell.to_list()) };
    cells.iter().filter_map(|cell| cell.to_quantity(Dimension::Number).whole()).filter(|at| *at > 0).collect()
}

/// Whether the breaker of a circuit is of a kind: as `breaker` says, else by a flag of its own.
fn is_kind(ctx: &Ctx<'_>, item: ItemIndex, kind: &str, flag: FieldId) -> Cell {
    let place = |field| ctx.place(item, field);
    match ctx.job.text(item, circuit::BREAKER) {
        Some(word) => Cell::flag(word == kind, place(circuit::BREAKER)),
        None if flag == circuit::TANDEM => Cell::flag(ctx.job.flag(item, flag) == Some(true), place(flag)),
        None => Cell::flag(false, ctx.job.item(item).header),
    }
}

fn opens_as_one(ctx: &Ctx<'_>, item: ItemIndex) -> Result<Cell, Gap> {
    let job = ctx.job;
    let header = job.item(item).header;
    if let Some(word) = job.text(item, circuit::BREAKER) {
        let alone = job.quantity(item, circuit::POLES).and_then(Quantity::whole) == Some(1);
        let one = matches!(word, "two_pole" | "quad") || (alone && ctx.index.multiwire_partners(item).is_empty());
        return Ok(Cell::flag(one, ctx.place(item, circuit::BREAKER)));
    }
    let two = job.quantity(item, circuit::POLES).and_then(Quantity::whole).is_some_and(|poles| poles > 1);
    if two {
        let half = job.flag(item, circuit::TANDEM) == Some(true);
        return Ok(Cell::flag(!half, ctx.place(item, circuit::POLES)));
    }
    let partners = ctx.index.multiwire_partners(item);
    let word = |other: &ItemIndex| job.text(*other, circuit::BREAKER);
    match partners.iter().find_map(word) {
        _ if partners.is_empty() => Ok(Cell::flag(true, header)),
        // What is said of one of two circuits on one breaker holds for the other.
        Some("two_pole") => Ok(Cell::flag(true, header)),
        _ if job.flag(item, circuit::COMMON_TRIP) == Some(false) => {
            Ok(Cell::flag(false, ctx.place(item, circuit::COMMON_TRIP)))
        }
        _ => Err(Gap::field(item, circuit::BREAKER)),
    }
}

fn spaces_taken(ctx: &Ctx<'_>, item: ItemIndex) -> Derived {
    Derived::of(ctx, |sheet| {
        let job = ctx.job;
        let mut taken: BTreeSet<i64> = BTreeSet::new();
        let mut unplaced = 0;
        let mut open = Vec::new();
        for one in job.links(item, panel::CIRCUITS) {
            let positions = positions(ctx, one);
            let shared = ["tandem", "quad"].map(|kind| is_kind(ctx, one, kind, circuit::TANDEM).to_flag());
            match (positions.is_empty(), shared.contains(&true)) {
                (false, _) => taken.extend(positions),
                (true, true) => open.push((one, circuit::POSITIONS)),
                (true, false) => unplaced += job.quantity(one, circuit::POLES).and_then(Quantity::whole).unwrap_or(1),
            }
        }
        if !open.is_empty() {
            return Err(Gap::Missing(open));
        }
        let total = Quantity::number(taken.len() as i64 + unplaced);
        sheet.line(|| Line::new("positions with a breaker").total(Quantity::number(taken.len() as i64)));
        if unplaced > 0 {
            sheet.line(|| Line::new("poles without a position yet").total(Quantity::number(unplaced)));
        }
        Ok(Cell::quantity(total, job.item(item).header))
    })
}

/// The conductors in a panel; none where nothing ends there.
fn wires(ctx: &Ctx<'_>, item: ItemIndex) -> Vec<PanelWire> {
    let wiring = ctx.wiring();
    wiring.network.find_place(item).map_or_else(Vec::new, |place| panel_wires(ctx.job, wiring, place))
}

/// The conductors that were seen to land in a panel.
fn landed<'a>(ctx: &'a Ctx<'_>, item: ItemIndex) -> impl Iterator<Item = &'a Landed> {
    let wiring = ctx.wiring();
    let place = wiring.network.find_place(item);
    wiring.landed.iter().filter(move |landed| Some(landed.place) == place)
}

fn is_bare(ctx: &Ctx<'_>, landed: &Landed) -> bool {
    let net = &ctx.wiring().network;
    matches!(net.point(landed.point), Point::End(wire, _) if net.wire(wire).colour == Colour::Bare)
}

/// Returns what a flag says that somebody on site wrote.
fn said(ctx: &Ctx<'_>, item: ItemIndex, field: FieldId) -> Result<Cell, Gap> {
    let said = ctx.job.flag(item, field).map(|said| Cell::flag(said, ctx.place(item, field)));
    said.ok_or_else(|| Gap::field(item, field))
}

fn no(span: Span) -> Result<Cell, Gap> {
    Ok(Cell::flag(false, span))
}

/// Two conductors under one screw of the neutral bar, one of them a neutral: not apart. All of them on screws of their own: apart.
fn neutrals_apart(ctx: &Ctx<'_>, item: ItemIndex) -> Result<Cell, Gap> {
    let mut screws: BTreeMap<u32, Vec<&Landed>> = BTreeMap::new();
    for one in landed(ctx, item).filter(|one| one.lands == Lands::NeutralBar) {
        if let Some(screw) = one.screw {
            screws.entry(screw).or_default().push(one);
        }
    }
    let shared = screws.values().find(|some| some.len() > 1 && some.iter().any(|one| !is_bare(ctx, one)));
    if let Some(second) = shared.and_then(|some| some.get(1)) {
        return no(second.span);
    }
    if ctx.job.flag(item, panel::ONE_NEUTRAL_PER_TERMINAL).is_some() {
        return said(ctx, item, panel::ONE_NEUTRAL_PER_TERMINAL);
    }
    let on_bar: Vec<PanelWire> =
        wires(ctx, item).into_iter().filter(|wire| wire.lands() == Lands::NeutralBar).collect();
    let placed = on_bar.iter().all(|wire| wire.seen.as_ref().is_some_and(|seen| seen.screw.is_some()));
    // The pigtails of breakers take screws as well, and no landing tells which.
    let pigtails = ctx.job.flag(item, panel::PLUG_ON_NEUTRAL) != Some(true)
        && ctx.job.links(item, panel::CIRCUITS).any(|one| takes_neutral(ctx.job, one));
    match on_bar.first() {
        Some(first) if placed && !pigtails => {
            Ok(Cell::flag(true, first.seen.as_ref().map_or(ctx.job.item(item).header, |seen| seen.span)))
        }
        _ => said(ctx, item, panel::ONE_NEUTRAL_PER_TERMINAL),
    }
}

/// A ground on the neutral bar, or a neutral on the ground bar.
fn bars_apart(ctx: &Ctx<'_>, item: ItemIndex) -> Result<Cell, Gap> {
    let neutrals: BTreeSet<_> =
        wires(ctx, item).iter().filter(|wire| wire.is_neutral()).map(|wire| wire.point).collect();
    let wrong = landed(ctx, item).find(|one| match one.lands {
        Lands::NeutralBar | Lands::NeutralLug => is_bare(ctx, one),
        Lands::GroundBar => neutrals.contains(&one.point),
        _ => false,
    });
    match wrong {
        Some(wrong) => no(wrong.span),
        None => said(ctx, item, panel::NEUTRAL_ISOLATED),
    }
}

fn neutrals_on_breakers(ctx: &Ctx<'_>, item: ItemIndex) -> Result<Cell, Gap> {
    let wires = wires(ctx, item);
    let due: Vec<&PanelWire> = wires.iter().filter(|wire| matches!(wire.planned, Lands::BreakerNeutral(_))).collect();
    let seen = |wire: &PanelWire| wire.seen.as_ref().map(|seen| (seen.lands, seen.span));
    let wrong = due.iter().filter_map(|wire| seen(wire)).find(|(lands, _)| !matches!(lands, Lands::BreakerNeutral(_)));
    if let Some((_, span)) = wrong {
        return no(span);
    }
    match due.first() {
        Some(first) if due.iter().all(|wire| wire.seen.is_some()) => {
            Ok(Cell::flag(true, seen(first).map_or(ctx.job.item(item).header, |(_, span)| span)))
        }
        _ => said(ctx, item, panel::BREAKER_NEUTRALS_LANDED),
    }
}

fn grounds_under_screw(ctx: &Ctx<'_>, item: ItemIndex) -> Result<Cell, Gap> {
    let job = ctx.job;
    let mut screws: BTreeMap<(Lands, u32), Vec<&Landed>> = BTreeMap::new();
    for one in landed(ctx, item).filter(|one| is_bare(ctx, one)) {
        if let Some(screw) = one.screw {
            screws.entry((one.lands, screw)).or_default().push(one);
        }
    }
    let most = screws.values().max_by_key(|some| some.len());
    let counted = most.map_or(0, |some| some.len() as i64);
    let at = most.and_then(|some| some.last()).map_or(job.item(item).header, |last| last.span);
    let number = |count: i64, at: Span| Ok(Cell::quantity(Quantity::number(count), at));
    if let Some(said) = ctx.given(item, panel::GROUNDS_PER_TERMINAL) {
        let said_count = said.quantity.whole().unwrap_or(0);
        return if counted > said_count { number(counted, at) } else { number(said_count, said.span) };
    }
    let grounds = wires(ctx, item);
    let mut grounds = grounds.iter().filter(|wire| wire.planned == Lands::GroundBar).peekable();
    let any = grounds.peek().is_some();
    let all_seen = grounds.all(|wire| wire.seen.as_ref().is_some_and(|seen| seen.screw.is_some()));
    let allowed = ctx.given(item, panel::GROUNDS_ALLOWED).and_then(|given| given.quantity.whole()).unwrap_or(1);
    if (any && all_seen) || counted > allowed {
        return number(counted, at);
    }
    Err(Gap::field(item, panel::GROUNDS_PER_TERMINAL))
}
