//! The sheets of panels as JSON.

use serde_json::{Value, json};
use storystick_engine::quantity::UnitSystem;
use storystick_engine::sheet::PanelSheet;
use storystick_engine::sheet::panel::{Bar, BreakerCircuit, PanelBreaker, PanelConductor};
use storystick_engine::wiring::Lands;

/// Returns the sheet of a panel. Quantities are in their exact trade form.
pub(crate) fn of_panel(sheet: &PanelSheet, units: UnitSystem) -> Value {
    json!({
        "panel": sheet.id, "room": sheet.room, "rating": sheet.rating, "fed_by": sheet.fed_by, "spaces": sheet.spaces,
        "breakers": sheet.breakers.iter().map(|one| breaker(one, units)).collect::<Vec<_>>(),
        "open": sheet.open,
        "conductors": sheet.conductors.iter().map(|one| conductor(one, units)).collect::<Vec<_>>(),
        "neutral_bar": bar(sheet.neutral_bar), "ground_bar": bar(sheet.ground_bar), "grounds_per_screw": sheet.grounds_per_screw,
        "steps": sheet.steps, "remarks": sheet.remarks, "faults": sheet.faults, "differences": sheet.differences,
        "caution": sheet.caution,
    })
}

fn breaker(one: &PanelBreaker, units: UnitSystem) -> Value {
    json!({
        "kind": one.kind.word(), "positions": one.positions,
        "circuits": one.circuits.iter().map(|one| circuit(one, units)).collect::<Vec<_>>(),
    })
}

fn circuit(one: &BreakerCircuit, units: UnitSystem) -> Value {
    json!({
        "circuit": one.id, "label": one.label, "label_proposed": one.proposed,
        "rating": one.rating.map(|rating| rating.exact(units)), "poles": one.poles, "positions": one.positions,
        "protection": one.protection, "receptacles": one.outlets, "spare": one.spare,
    })
}

fn conductor(one: &PanelConductor, units: UnitSystem) -> Value {
    let lands = match one.lands {
        Lands::Breaker(..) => "breaker",
        Lands::BreakerNeutral(_) => "breaker_neutral",
        Lands::NeutralBar => "neutral_bar",
        Lands::GroundBar => "ground_bar",
        Lands::Lug(_) => "lug",
        Lands::NeutralLug => "neutral_lug",
        Lands::Cap => "cap",
    };
    json!({
        "name": one.name, "run": one.run, "make": one.make, "colour": one.color.word(),
        "size": one.size.map(|size| size.exact(units)), "function": one.function, "lands": lands, "on": one.to,
        "position": one.position, "screw": one.screw, "seen": one.seen, "by_color": one.by_color, "re_mark": one.re_mark,
    })
}

fn bar(bar: Bar) -> Value {
    json!({ "conductors": bar.conductors, "pigtails": bar.pigtails, "screws": bar.screws, "terminals": bar.terminals })
}
