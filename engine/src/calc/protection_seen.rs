//! Whether devices, luminaires and appliances are protected against ground faults and arcing faults.

use super::derive::Ctx;
use super::given::{Gap, Gaps};
use super::worksheet::{Line, Sheet};
use crate::model::kinds::{appliance, circuit, device, luminaire};
use crate::model::{Cell, FieldId, ItemIndex, LinkState};
use crate::problem::Problem;
use crate::source::Span;

/// Longest chain of devices behind one another that is followed, so that a ring of them ends.
const LONGEST_CHAIN: usize = 64;

/// Which fault a person or a building is protected against.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Fault {
    /// To ground, through a person.
    Ground,
    /// Arcing.
    Arc,
}

impl Fault {
    fn of_circuit(self) -> FieldId {
        match self {
            Fault::Ground => circuit::GFCI,
            Fault::Arc => circuit::AFCI,
        }
    }

    fn of_device(self) -> FieldId {
        match self {
            Fault::Ground => device::GFCI,
            Fault::Arc => device::AFCI,
        }
    }
}

/// Returns where the protection of a device is written, or nothing if it has none.
///
/// Its own, that of a device upstream whose load terminals feed it, or that of the breaker.
pub(super) fn device_protection(ctx: &Ctx<'_>, item: ItemIndex, fault: Fault) -> Result<Option<Span>, Gap> {
    let mut at = item;
    for _ in 0..LONGEST_CHAIN {
        if ctx.job.flag(at, fault.of_device()) == Some(true) {
            return Ok(Some(ctx.place(at, fault.of_device())));
        }
        match ctx.job.link(at, device::GFCI_FROM) {
            Some(upstream) => at = upstream,
            None => return circuit_protection(ctx, item, device::CIRCUIT, fault),
        }
    }
    Err(Problem::new(ctx.place(item, device::GFCI_FROM), "these devices protect each other in a ring")
        .label("leads back here")
        .help("`gfci_from` names the device whose load terminals feed this one, nearer to the panel")
        .into())
}

/// Returns where the protection by the breaker of an item's circuit is written, or nothing if it has none.
pub(super) fn circuit_protection(
    ctx: &Ctx<'_>,
    item: ItemIndex,
    link: FieldId,
    fault: Fault,
) -> Result<Option<Span>, Gap> {
    let circuit = ctx.need_link(item, link)?;
    let protected = ctx.job.flag(circuit, fault.of_circuit()) == Some(true);
    Ok(protected.then(|| ctx.place(circuit, fault.of_circuit())))
}

/// Returns the derived flag of a device.
pub(super) fn of_device(ctx: &Ctx<'_>, item: ItemIndex, fault: Fault, sheet: &mut Sheet) -> Result<Cell, Gap> {
    let at = device_protection(ctx, item, fault)?;
    Ok(flag(ctx, item, device::CIRCUIT, at, sheet))
}

/// Returns the derived flag of a luminaire: its breaker, or against ground faults a device upstream.
pub(super) fn of_luminaire(ctx: &Ctx<'_>, item: ItemIndex, fault: Fault, sheet: &mut Sheet) -> Result<Cell, Gap> {
    let by_breaker = circuit_protection(ctx, item, luminaire::CIRCUIT, fault)?;
    let at = match (by_breaker, fault) {
        (None, Fault::Ground) => upstream(ctx, item, luminaire::CIRCUIT, luminaire::GFCI_FROM)?,
        (at, _) => at,
    };
    Ok(flag(ctx, item, luminaire::CIRCUIT, at, sheet))
}

/// Returns where the protection by a device upstream is written, for what is wired without a receptacle. Where nobody says that there is
/// none, it is asked if any GFCI device hangs on the circuit.
fn upstream(ctx: &Ctx<'_>, item: ItemIndex, circuit: FieldId, from: FieldId) -> Result<Option<Span>, Gap> {
    match ctx.job.link_state(item, from) {
        LinkState::To(device) => device_protection(ctx, device, Fault::Ground),
        LinkState::None => Ok(None),
        LinkState::NotRecorded => {
            let circuit = ctx.need_link(item, circuit)?;
            let is_gfci = |it| ctx.job.flag(it, device::GFCI) == Some(true);
            match ctx.job.links(circuit, circuit::DEVICES).any(is_gfci) {
                true => Err(Gap::field(item, from)),
                false => Ok(None),
            }
        }
    }
}

/// Returns the derived flag of an appliance: its breaker, every receptacle that is for it, or a device upstream of one that is wired.
pub(super) fn of_appliance(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Cell, Gap> {
    let by_breaker = circuit_protection(ctx, item, appliance::CIRCUIT, Fault::Ground);
    if let Ok(Some(at)) = by_breaker {
        return Ok(flag(ctx, item, appliance::CIRCUIT, Some(at), sheet));
    }
    let mut gaps = Gaps::default();
    let mut places = Vec::new();
    for receptacle in ctx.job.links(item, appliance::RECEPTACLES) {
        match device_protection(ctx, receptacle, Fault::Ground) {
            Ok(Some(at)) => places.push(at),
            // One receptacle without protection decides it, whatever is unknown of the others.
            Ok(None) => return Ok(flag(ctx, item, appliance::RECEPTACLES, None, sheet)),
            Err(gap) => gaps.add(gap),
        }
    }
    gaps.none()?;
    match places.first() {
        Some(&at) => Ok(flag(ctx, item, appliance::RECEPTACLES, Some(at), sheet)),
        None => {
            let at = match by_breaker? {
                None => upstream(ctx, item, appliance::CIRCUIT, appliance::GFCI_FROM)?,
                at => at,
            };
            Ok(flag(ctx, item, appliance::CIRCUIT, at, sheet))
        }
    }
}

fn flag(ctx: &Ctx<'_>, item: ItemIndex, by: FieldId, at: Option<Span>, sheet: &mut Sheet) -> Cell {
    sheet.line(|| match at {
        Some(span) => Line::new("protected by").at(span),
        None => Line::new("no breaker, device or device upstream protects it").at(ctx.place(item, by)),
    });
    Cell::flag(at.is_some(), at.unwrap_or_else(|| ctx.place(item, by)))
}
