//! What terminals a device, luminaire or appliance has, and what is inside it.

use super::network::{Element, Network, PlaceId, Point, Terminal, Unit, UnitElement, UnitId, UnitKind};
use crate::model::kinds::{circuit, device};
use crate::model::{ItemIndex, Job};

use Terminal as T;

impl Network {
    /// Adds a unit with these terminals, and what is inside it.
    pub(super) fn add_unit(
        &mut self,
        item: ItemIndex,
        kind: UnitKind,
        place: PlaceId,
        circuit: Option<ItemIndex>,
        terminals: &[Terminal],
    ) -> UnitId {
        let id = UnitId(self.units.len() as u32);
        let terminals =
            terminals.iter().map(|&name| (name, self.add_point(Point::Terminal(id, name), place))).collect();
        let unit = Unit { item, kind, place, circuit, terminals };
        let inside = elements(&unit);
        self.elements.extend(inside.into_iter().map(|element| UnitElement { unit: id, element }));
        self.units.push(unit);
        id
    }
}

/// What a device is to the current, or nothing where it has no line-voltage terminals.
pub(super) fn device_kind(job: &Job, item: ItemIndex) -> Option<UnitKind> {
    let two_pole = job.link(item, device::CIRCUIT).is_some_and(|circuit| is_two_pole(job, circuit));
    let gfci = job.flag(item, device::GFCI) == Some(true);
    let controls = has_controls(job, item);
    Some(match job.text(item, device::KIND)? {
        "receptacle" if two_pole => UnitKind::Receptacle240,
        "receptacle" if gfci => UnitKind::Gfci { face: true },
        "receptacle" => {
            let half = job.text(item, device::SWITCHED) == Some("half");
            UnitKind::Receptacle { half: job.flag(item, device::TAB_REMOVED).unwrap_or(half) }
        }
        "blank" if gfci => UnitKind::Gfci { face: false },
        "blank" => return None,
        "smoke_alarm" | "co_alarm" | "doorbell" => UnitKind::Load,
        "thermostat" if !controls => return None,
        "disconnect" if two_pole => UnitKind::DoublePole,
        "switch" | "dimmer" | "fan_control" | "timer" | "occupancy_sensor" | "thermostat" | "disconnect" => {
            match job.text(item, device::ACTION) {
                Some("three_way") => UnitKind::ThreeWay,
                Some("four_way") => UnitKind::FourWay,
                Some("double_pole") => UnitKind::DoublePole,
                _ => UnitKind::SinglePole,
            }
        }
        _ => return None,
    })
}

/// Whether a device is there to switch something: a disconnect or thermostat may stand for itself.
pub(super) fn can_control(job: &Job, item: ItemIndex) -> bool {
    let kinds = ["switch", "dimmer", "fan_control", "timer", "occupancy_sensor"];
    job.text(item, device::KIND).is_some_and(|kind| kinds.contains(&kind))
}

fn has_controls(job: &Job, item: ItemIndex) -> bool {
    [device::LIGHTS, device::CONTROLLED_DEVICES, device::CONTROLLED_APPLIANCES]
        .into_iter()
        .any(|field| job.links(item, field).next().is_some())
}

/// Whether a circuit has a two-pole breaker.
pub(super) fn is_two_pole(job: &Job, item: ItemIndex) -> bool {
    job.quantity(item, circuit::POLES).and_then(|poles| poles.whole()) == Some(2)
}

/// The terminals of a kind of unit. `neutral`: a load or receptacle across both legs has a grounded terminal too;
/// an alarm has its interconnect lead (`signal`) and no grounding one (`grounding`).
pub(super) fn terminals(kind: UnitKind, neutral: bool, signal: bool, grounding: bool) -> Vec<Terminal> {
    let mut all = match kind {
        UnitKind::Breaker if neutral => vec![T::Breaker, T::Breaker2, T::Neutral, T::Ground],
        UnitKind::Breaker => vec![T::Breaker, T::Neutral, T::Ground],
        UnitKind::Receptacle { .. } => vec![T::Brass, T::Brass2, T::Silver, T::Silver2],
        UnitKind::Gfci { .. } => vec![T::LineHot, T::LineNeutral, T::LoadHot, T::LoadNeutral],
        UnitKind::SinglePole => vec![T::Brass, T::Brass2],
        UnitKind::DoublePole => vec![T::Line, T::Load, T::Line2, T::Load2],
        UnitKind::ThreeWay => vec![T::Common, T::Traveller, T::Traveller2],
        UnitKind::FourWay => vec![T::In, T::In2, T::Out, T::Out2],
        UnitKind::Load => vec![T::Hot, T::Neutral],
        UnitKind::Receptacle240 | UnitKind::Load240 if neutral => vec![T::Hot, T::Hot2, T::Neutral],
        UnitKind::Receptacle240 | UnitKind::Load240 => vec![T::Hot, T::Hot2],
        UnitKind::MetalBox => vec![T::BoxScrew],
    };
    if signal {
        all.push(T::Signal);
    }
    match kind {
        UnitKind::Breaker | UnitKind::MetalBox => {}
        UnitKind::Load | UnitKind::Load240 if grounding => all.push(T::Ground),
        UnitKind::Load | UnitKind::Load240 => {}
        _ => all.push(T::Green),
    }
    all
}

/// What joins the terminals of a unit inside it.
pub(super) fn elements(unit: &Unit) -> Vec<Element> {
    let mut all = Vec::new();
    let at = |name| unit.terminal(name);
    let mut add = |make: fn(super::PointId, super::PointId) -> Element, a, b| {
        if let (Some(a), Some(b)) = (at(a), at(b)) {
            all.push(make(a, b));
        }
    };
    let tie: fn(_, _) -> _ = Element::Tie;
    let trip: fn(_, _) -> _ = Element::Trip;
    let load: fn(_, _) -> _ = Element::Load;
    let off: fn(_, _) -> _ = |a, b| Element::Contact(a, b, 0);
    let on: fn(_, _) -> _ = |a, b| Element::Contact(a, b, 1);
    match unit.kind {
        UnitKind::Receptacle { half } => {
            add(tie, T::Silver, T::Silver2);
            if half {
                add(load, T::Brass2, T::Silver2);
            } else {
                add(tie, T::Brass, T::Brass2);
            }
            add(load, T::Brass, T::Silver);
        }
        UnitKind::Gfci { face } => {
            add(trip, T::LineHot, T::LoadHot);
            add(trip, T::LineNeutral, T::LoadNeutral);
            if face {
                add(load, T::LoadHot, T::LoadNeutral);
            }
        }
        UnitKind::SinglePole => add(on, T::Brass, T::Brass2),
        UnitKind::DoublePole => {
            add(on, T::Line, T::Load);
            add(on, T::Line2, T::Load2);
        }
        UnitKind::ThreeWay => {
            add(off, T::Common, T::Traveller);
            add(on, T::Common, T::Traveller2);
        }
        UnitKind::FourWay => {
            add(off, T::In, T::Out);
            add(off, T::In2, T::Out2);
            add(on, T::In, T::Out2);
            add(on, T::In2, T::Out);
        }
        UnitKind::Load => add(load, T::Hot, T::Neutral),
        UnitKind::Receptacle240 | UnitKind::Load240 => {
            add(load, T::Hot, T::Hot2);
            add(load, T::Hot, T::Neutral);
            add(load, T::Hot2, T::Neutral);
        }
        UnitKind::Breaker | UnitKind::MetalBox => {}
    }
    all
}
