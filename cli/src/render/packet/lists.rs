//! The lists of the packet: take-off, circuit directory, test record.

use maud::{Markup, html};
use storystick_engine::sheet::{Desk, Directory, Group, Slot, TakeOffLine, directories, take_off, test_record};

use super::table::{Cell, remarks, table};
use crate::render::paper::directory::{card_line, leg};
use crate::render::paper::readings::at;
use crate::render::paper::takeoff::{figure, order};

/// Returns the take-off.
pub(super) fn takeoff(desk: &Desk<'_>) -> Markup {
    let paper = take_off(desk);
    let figures: Vec<String> = paper.figures.iter().map(figure).collect();
    let row = |line: &TakeOffLine| {
        let rooms: Vec<String> =
            line.rooms.iter().map(|part| format!("{} {}", part.room, part.amount.print(desk.units))).collect();
        vec![
            Cell::of(&line.what),
            Cell::Number(line.net.print(desk.units)),
            Cell::Number(order(line, desk.units)),
            Cell::of(rooms.join("; ")),
        ]
    };
    html! {
        (remarks("Not counted, or counted with a doubt", &paper.open))
        @for (group, heading) in Group::ALL {
            @let rows: Vec<_> = paper.lines.iter().filter(|line| line.group == group).map(row).collect();
            @if !rows.is_empty() { (table(heading, &["part", "net", "order", "by room"], rows)) }
        }
        (remarks("Figures that went into it", &figures))
        p.soft { "Appliances are not ordered here: they are the owner's, by their own sheets." }
    }
}

/// Returns the circuit directory of every panel.
pub(super) fn directory(desk: &Desk<'_>) -> Markup {
    let papers = directories(desk);
    html! {
        @for paper in &papers { (panel(desk, paper)) }
        @if papers.is_empty() { p { "No panel of this job feeds a circuit." } }
    }
}

fn panel(desk: &Desk<'_>, paper: &Directory) -> Markup {
    let card = paper.slots.chunks(2).map(|pair| {
        let number = |at: usize| pair.get(at).map_or_else(String::new, |slot| slot.position.to_string());
        let line = |at: usize| pair.get(at).map_or_else(String::new, card_line);
        vec![Cell::of(number(0)), Cell::of(line(0)), Cell::Number(number(1)), Cell::of(line(1))]
    });
    let slots = paper.slots.iter().chain(&paper.unplaced).flat_map(Slot::all);
    let rows = slots.filter(|slot| slot.circuit.is_some() && !slot.further_pole).map(|slot| {
        vec![
            Cell::of(slot.circuit.clone().unwrap_or_default()),
            Cell::of(&slot.label),
            Cell::of(slot.rooms.join(", ")),
            Cell::of(&slot.breaker),
            Cell::of(&slot.wire),
            Cell::of(&slot.protection),
            Cell::of(leg(slot)),
            slot.load.map_or_else(|| Cell::of("not stated"), |load| Cell::Number(desk.print(load))),
        ]
    });
    let [one, two] = &paper.legs;
    html! {
        h3 { "Panel " (paper.panel) }
        p {
            (paper.room) " · " (paper.rating)
            @if let Some(source) = &paper.fed_by { " · supplied from panel " (source) }
        }
        (table(
            &format!("Card for the door of panel {}", paper.panel),
            &["left", "serves", "right", "serves"],
            card.collect(),
        ))
        (table(
            &format!("Circuits of panel {}", paper.panel),
            &["circuit", "label", "rooms", "breaker", "wire", "protection", "leg", "stated load"],
            rows.collect(),
        ))
        p {
            "Stated load: leg 1 " (desk.print(one.load)) ", leg 2 " (desk.print(two.load))
            @if let Some(share) = paper.imbalance { ", " (desk.print(share)) " apart" }
            "."
        }
        (remarks("Before the card goes into the door", &paper.remarks))
    }
}

/// Returns the test record.
pub(super) fn readings(desk: &Desk<'_>) -> Markup {
    let paper = test_record(desk);
    let limits = paper.limits.iter().map(|limit| {
        let doubt = if limit.verified || limit.source.is_empty() { "" } else { " — unverified" };
        vec![
            Cell::of(limit.reading),
            Cell::of(limit.how),
            Cell::of(limit.acceptable.as_deref().unwrap_or("no ruleset in force says")),
            Cell::of(format!("{}{doubt}", limit.source)),
        ]
    });
    html! {
        p { "Dead tests first, in this order; after a failure put it right and begin again." }
        (table("What is acceptable", &["reading", "how", "acceptable", "by"], limits.collect()))
        @for circuit in &paper.circuits {
            @let rows = circuit.readings.iter().filter(|reading| !reading.not_applicable).map(|reading| vec![
                Cell::of(reading.reading),
                Cell::of(at(reading)),
                Cell::of(reading.recorded.join(", ")),
                Cell::Blank,
                Cell::Blank,
            ]);
            (table(
                &format!("Circuit {} · {} · {}", circuit.circuit, circuit.breaker, circuit.label),
                &["reading", "at", "recorded so far", "reading taken", "by, day"],
                rows.collect(),
            ))
        }
    }
}
