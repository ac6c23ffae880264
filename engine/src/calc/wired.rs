//! Derived fields from the wiring as it was followed: what rules ask of it.
//!
//! A fact is known where the circuit is wired up whole, so that its current could be followed; elsewhere it is not, and the circuit
//! with its cables is what would decide it.

use super::{Ctx, DeriveFn, Derived, Gap, Library};
use crate::model::kinds::{cable, circuit, device, luminaire, outlet_box};
use crate::model::{Cell, FieldId, ItemIndex, Schema};
use crate::quantity::Quantity;
use crate::source::Span;
use crate::wiring::{Colour, FaultKind as K, PlaceId, Point, PointId, Source, Wiring};

/// Adds the facts of wiring to a library.
pub(super) fn register(schema: &Schema, library: &mut Library) {
    let all: &[(&str, FieldId, DeriveFn)] = &[
        (outlet_box::NAME, outlet_box::SPLICES, |ctx, item| at_box(ctx, item, splices)),
        (outlet_box::NAME, outlet_box::GROUNDS_SPLICED, |ctx, item| at_box(ctx, item, grounds_spliced)),
        (outlet_box::NAME, outlet_box::LOOSE_CONDUCTORS, |ctx, item| {
            at_box(ctx, item, |ctx, wiring, place| {
                let box_item = wiring.network.place(place).item;
                let loose: Vec<Span> = spans(wiring, box_item, &[K::Loose]).collect();
                let at = loose.first().copied().unwrap_or(ctx.job.item(box_item).header);
                Cell::quantity(Quantity::number(loose.len() as i64), at)
            })
        }),
        (device::NAME, device::NEUTRAL_IN_BOX, neutral_in_box),
        (device::NAME, device::BREAKS_UNGROUNDED, |ctx, item| of(ctx, item, device::CIRCUIT, &[K::NeutralSwitched])),
        (device::NAME, device::POLARITY_RIGHT, |ctx, item| of(ctx, item, device::CIRCUIT, &[K::Reversed])),
        (device::NAME, device::GROUND_REACHES, |ctx, item| of(ctx, item, device::CIRCUIT, GROUND)),
        (device::NAME, device::WORKS_AS_WIRED, |ctx, item| of(ctx, item, device::CIRCUIT, WORKS)),
        (device::NAME, device::KEEPS_NEUTRAL_WHOLE, |ctx, item| {
            of(ctx, item, device::CIRCUIT, &[K::NeutralThroughDevice])
        }),
        (device::NAME, device::GFCI_WIRED_RIGHT, |ctx, item| of(ctx, item, device::CIRCUIT, GFCI)),
        (luminaire::NAME, luminaire::POLARITY_RIGHT, |ctx, item| of(ctx, item, luminaire::CIRCUIT, POLARITY)),
        (luminaire::NAME, luminaire::GROUND_REACHES, |ctx, item| of(ctx, item, luminaire::CIRCUIT, GROUND)),
        (luminaire::NAME, luminaire::WORKS_AS_WIRED, |ctx, item| of(ctx, item, luminaire::CIRCUIT, WORKS)),
        (cable::NAME, cable::WHITE_CARRIES_HOT, white_carries_hot),
        (cable::NAME, cable::WHITE_COMES_BACK, |ctx, item| turned(of(ctx, item, cable::CIRCUIT, &[K::WhiteReturns]))),
        (cable::NAME, cable::CURRENTS_BALANCE, |ctx, item| of(ctx, item, cable::CIRCUIT, &[K::NetCurrent])),
        (circuit::NAME, circuit::WIRING_GAPS, gaps),
        (circuit::NAME, circuit::IS_FOLLOWED, |ctx, item| {
            let followed = ctx.wiring().followed.circuits.contains(&item);
            Derived::of(ctx, |_| Ok(Cell::flag(followed, ctx.job.item(item).header)))
        }),
        (circuit::NAME, circuit::WIRING_FAULTS, faults),
        (circuit::NAME, circuit::NEUTRAL_IS_OWN, |ctx, item| of_circuit(ctx, item, NEUTRAL)),
        (circuit::NAME, circuit::IS_FREE_OF_SHORTS, |ctx, item| of_circuit(ctx, item, SHORTS)),
    ];
    for &(kind, field, function) in all {
        if let Some(kind) = schema.kind(kind) {
            library.add(kind, field, function);
        }
    }
}

const GROUND: &[K] = &[K::GroundMissing, K::GroundSwitched, K::FrameLive];
const WORKS: &[K] = &[
    K::NeutralOpen,
    K::InSeries,
    K::WrongVoltage,
    K::Dead,
    K::ControlWrong,
    K::SwitchedBySurprise,
    K::SwitchDoesNothing,
    K::GroundCarriesCurrent,
    K::LiveWhenOff,
    K::InterconnectBroken,
    K::OtherCircuit,
];
const POLARITY: &[K] = &[K::Reversed, K::NeutralSwitched];
const GFCI: &[K] = &[K::LineLoadReversed, K::NotBehindGfci, K::NeutralPastGfci];
const NEUTRAL: &[K] = &[K::NeutralsJoined, K::NeutralBorrowed, K::NeutralGrounded];
const SHORTS: &[K] = &[K::ShortToNeutral, K::ShortToGround, K::ShortLineToLine, K::CircuitsJoined];

fn spans<'a>(wiring: &'a Wiring, item: ItemIndex, kinds: &'a [K]) -> impl Iterator<Item = Span> + 'a {
    wiring
        .followed
        .faults
        .iter()
        .filter(move |fault| fault.item == item && kinds.contains(&fault.kind))
        .map(|fault| fault.span)
}

/// Returns the circuit, if its current was followed.
fn followed(ctx: &Ctx<'_>, item: ItemIndex, field: FieldId) -> Result<ItemIndex, Gap> {
    let circuit = ctx.job.link(item, field).ok_or_else(|| Gap::field(item, field))?;
    if ctx.wiring().followed.circuits.contains(&circuit) { Ok(circuit) } else { Err(open(ctx.wiring(), circuit)) }
}

/// Returns what would let a circuit be followed: what is left unsaid of one of its items, else its cables.
fn open(wiring: &Wiring, circuit: ItemIndex) -> Gap {
    match wiring.followed.unsaid.get(&circuit) {
        Some(&(item, field)) => Gap::field(item, field),
        None => Gap::field(circuit, circuit::CABLES),
    }
}

/// Whether an item has none of these faults.
fn of(ctx: &Ctx<'_>, item: ItemIndex, field: FieldId, kinds: &[K]) -> Derived {
    Derived::of(ctx, |_| {
        followed(ctx, item, field)?;
        // Something without terminals, or that no box holds, has no wiring to judge.
        let is_cable = ctx.job.schema.kind(cable::NAME) == Some(ctx.job.item(item).kind);
        if !is_cable && ctx.wiring().network.find_unit(item).is_none() {
            return Err(Gap::Missing(Vec::new()));
        }
        let first = spans(ctx.wiring(), item, kinds).next();
        Ok(Cell::flag(first.is_none(), first.unwrap_or(ctx.job.item(item).header)))
    })
}

fn turned(mut derived: Derived) -> Derived {
    if !derived.cell.is_missing() {
        derived.cell = Cell::flag(!derived.cell.to_flag(), derived.cell.span());
    }
    derived
}

/// Whether a circuit has none of these faults anywhere.
fn of_circuit(ctx: &Ctx<'_>, item: ItemIndex, kinds: &[K]) -> Derived {
    Derived::of(ctx, |_| {
        let wiring = ctx.wiring();
        if !wiring.followed.circuits.contains(&item) {
            return Err(open(wiring, item));
        }
        let first =
            wiring.followed.faults.iter().find(|fault| fault.circuit == Some(item) && kinds.contains(&fault.kind));
        Ok(Cell::flag(first.is_none(), first.map_or(ctx.job.item(item).header, |fault| fault.span)))
    })
}

fn faults(ctx: &Ctx<'_>, item: ItemIndex) -> Derived {
    Derived::of(ctx, |_| {
        let wiring = ctx.wiring();
        if !wiring.followed.circuits.contains(&item) {
            return Err(open(wiring, item));
        }
        let mine: Vec<Span> =
            wiring.followed.faults.iter().filter(|fault| fault.circuit == Some(item)).map(|fault| fault.span).collect();
        let at = mine.first().copied().unwrap_or(ctx.job.item(item).header);
        Ok(Cell::quantity(Quantity::number(mine.len() as i64), at))
    })
}

fn gaps(ctx: &Ctx<'_>, item: ItemIndex) -> Derived {
    Derived::of(ctx, |_| {
        let wiring = ctx.wiring();
        if !wiring.network.runs.iter().any(|run| run.circuits.contains(&item)) {
            return Err(Gap::field(item, circuit::CABLES));
        }
        let mine: Vec<Span> = wiring.plan.gaps.iter().filter(|gap| gap.circuit == item).map(|gap| gap.span).collect();
        let at = mine.first().copied().unwrap_or(ctx.job.item(item).header);
        Ok(Cell::quantity(Quantity::number(mine.len() as i64), at))
    })
}

fn neutral_in_box(ctx: &Ctx<'_>, item: ItemIndex) -> Derived {
    Derived::of(ctx, |_| {
        let circuit = followed(ctx, item, device::CIRCUIT)?;
        let wiring = ctx.wiring();
        let Some(unit) = wiring.network.find_unit(item) else { return Err(Gap::Missing(Vec::new())) };
        let nets = &wiring.followed.nets;
        let owner = Source::Neutral(wiring.network.neutral_owner(circuit));
        let place = wiring.network.unit(unit).place;
        let here = wiring
            .network
            .place(place)
            .points
            .iter()
            .any(|&point| matches!(wiring.network.point(point), Point::End(..)) && nets.at(point).contains(&owner));
        Ok(Cell::flag(here, ctx.job.item(item).header))
    })
}

fn white_carries_hot(ctx: &Ctx<'_>, item: ItemIndex) -> Derived {
    Derived::of(ctx, |_| {
        followed(ctx, item, cable::CIRCUIT)?;
        let wiring = ctx.wiring();
        let white = wiring.network.runs.iter().filter(|run| run.item == item).flat_map(|run| &run.wires).copied();
        let live = white
            .filter(|&wire| wiring.network.wire(wire).colour == Colour::White)
            .any(|wire| wiring.is_ever_live(wire));
        Ok(Cell::flag(live, ctx.job.item(item).header))
    })
}

/// A fact of a box, known where every circuit in it was followed, or the box is written as built.
fn at_box(ctx: &Ctx<'_>, item: ItemIndex, fact: fn(&Ctx<'_>, &Wiring, PlaceId) -> Cell) -> Derived {
    Derived::of(ctx, |_| {
        let wiring = ctx.wiring();
        let Some(place) = wiring.network.find_place(item) else { return Err(Gap::Missing(Vec::new())) };
        let mut circuits =
            wiring.network.runs.iter().filter(|run| run.ends.contains(&place)).flat_map(|run| &run.circuits).peekable();
        if circuits.peek().is_none() {
            return Err(Gap::field(item, outlet_box::ENDS));
        }
        let unfollowed = circuits.find(|circuit| !wiring.followed.circuits.contains(circuit));
        match unfollowed {
            Some(&circuit) if !wiring.makeup(place).as_built => Err(open(wiring, circuit)),
            _ => Ok(fact(ctx, wiring, place)),
        }
    })
}

fn splices(ctx: &Ctx<'_>, wiring: &Wiring, place: PlaceId) -> Cell {
    let count = wiring.makeup(place).joints.iter().filter(|joint| joint.is_splice(&wiring.network)).count();
    Cell::quantity(Quantity::number(count as i64), ctx.job.item(wiring.network.place(place).item).header)
}

fn grounds_spliced(ctx: &Ctx<'_>, wiring: &Wiring, place: PlaceId) -> Cell {
    let net = &wiring.network;
    let is_ground = |point: PointId| match net.point(point) {
        Point::End(wire, _) => net.wire(wire).colour == Colour::Bare,
        Point::Terminal(_, terminal) => terminal.is_grounding(),
    };
    let all: Vec<_> = net.place(place).points.iter().copied().filter(|&point| is_ground(point)).collect();
    let makeup = wiring.makeup(place);
    let joint = makeup.joints.iter().find(|joint| all.first().is_some_and(|first| joint.points.contains(first)));
    let joined = all.len() < 2 || joint.is_some_and(|joint| all.iter().all(|point| joint.points.contains(point)));
    let header = ctx.job.item(net.place(place).item).header;
    let at = joint.map_or(header, |joint| if joint.span.is_some() { joint.span } else { header });
    Cell::flag(joined, at)
}
