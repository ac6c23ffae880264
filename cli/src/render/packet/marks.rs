//! The mark-out of the packet: legend, story stick, then plan and elevations of every room with their tables.

use std::collections::BTreeSet;

use maud::{Markup, PreEscaped, html};
use storystick_engine::sheet::markout::{BoxMark, Elevation, RoomMarks, Sign};
use storystick_engine::sheet::{Desk, MarkOut, mark_out};

use super::table::{Cell, remarks, table};
use crate::render::drawing::svg::Svg;
use crate::render::drawing::{elevation, plan, stick, symbol};
use crate::render::paper::markout::{heading, notes, shown, what};

/// Returns the mark-out.
pub(super) fn marks(desk: &Desk<'_>) -> Markup {
    let paper = mark_out(desk);
    let point = paper.mark.map_or("centre", |mark| mark.word());
    let rows = paper.stick.marks.iter().map(|mark| {
        let rooms: Vec<String> = mark.rooms.iter().map(|(room, ids)| format!("{room}: {}", ids.join(", "))).collect();
        vec![
            Cell::of(mark.number.to_string()),
            Cell::Measure(mark.height.print(desk.units)),
            Cell::Measure(shown(mark.from_subfloor, desk.units)),
            Cell::of(what(mark)),
            Cell::of(rooms.join("; ")),
        ]
    });
    html! {
        p { "Heights are to the " strong { (point) } " of the box, above the finished floor. Distances along a wall run from its \
            left end as you stand in the room and face it, to the centre of the box." }
        (remarks("To know first", &paper.open))
        h3 { "Symbols" }
        (legend(&paper))
        h3 { "Story stick" }
        figure { (drawing(&stick::draw(&paper, desk.units), "Story stick")) }
        (table(
            "Marks of the story stick, from the floor up",
            &["#", "above finished floor", "above subfloor", "what", "where"],
            rows.collect(),
        ))
        @for room in &paper.rooms {
            @if room.plan.is_some() || !room.elsewhere.is_empty() { (of_room(desk, &paper, room)) }
        }
        @if !paper.roomless.is_empty() {
            h3 { "In no room" }
            (boxes(desk, "Boxes in no room", point, &paper.roomless))
        }
    }
}

fn drawing(svg: &Svg, label: &str) -> Markup {
    html! { div.scroll tabindex="0" role="region" aria-label={ (label) ", drawing" } { (PreEscaped(svg.inline())) } }
}

fn legend(paper: &MarkOut) -> Markup {
    let mut signs: BTreeSet<Sign> = BTreeSet::new();
    let walls = paper.rooms.iter().flat_map(|room| &room.walls).flat_map(|wall| &wall.boxes);
    for mark in walls.chain(paper.rooms.iter().flat_map(|room| &room.elsewhere)).chain(&paper.roomless) {
        signs.extend(mark.signs.iter().cloned());
    }
    html! {
        ul.legend {
            @for sign in &signs { li { (PreEscaped(symbol::alone(sign).inline())) (sign.meaning) } }
        }
        p.soft { "A box with a thick red frame and a ! has something to put right. A hatched strip is out of reach of a receptacle. \
            Dashed lines on plans run from a switch to what it controls." }
    }
}

fn of_room(desk: &Desk<'_>, paper: &MarkOut, room: &RoomMarks) -> Markup {
    let point = paper.mark.map_or("centre", |mark| mark.word());
    let bare: Vec<&str> = room.walls.iter().filter(|wall| !wall.has_work()).map(|wall| wall.name.as_str()).collect();
    html! {
        h3 id={ "room-" (room.id) } { (room.name) }
        @if let Some(shape) = &room.plan {
            figure {
                (drawing(&plan::draw(shape, &room.name), &format!("{}: plan", room.name)))
                @if shape.boxes.iter().any(|one| one.at.is_none()) {
                    figcaption.soft { "Boxes in the middle of the plan: their place on ceiling, floor or cabinet is not recorded." }
                }
            }
        }
        @for wall in room.walls.iter().filter(|wall| wall.has_work()) { (of_wall(desk, paper, room, wall)) }
        @if !bare.is_empty() && room.walls.iter().any(Elevation::has_work) {
            p.soft { "Nothing to mark on: " (bare.join(", ")) "." }
        }
        @if !room.elsewhere.is_empty() {
            (boxes(desk, &format!("{}: boxes not on a wall", room.name), point, &room.elsewhere))
        }
        (remarks("", &room.open))
    }
}

fn of_wall(desk: &Desk<'_>, paper: &MarkOut, room: &RoomMarks, wall: &Elevation) -> Markup {
    let point = paper.mark.map_or("centre", |mark| mark.word());
    let title = format!("{}, {} wall", room.name, wall.name);
    html! {
        figure {
            (drawing(&elevation::draw(wall, &room.name, paper.mark, desk.units), &title))
            figcaption.soft { (heading(wall, desk.units)) }
        }
        @if !wall.boxes.is_empty() { (boxes(desk, &format!("{title}: boxes from its start"), point, &wall.boxes)) }
        @for bare in &wall.bare {
            p.flagged {
                "! " @if bare.counter { "Counter" } @else { "Wall" } " out of reach of a receptacle from "
                (bare.from.print(desk.units)) " to " (bare.to.print(desk.units)) "."
            }
        }
    }
}

fn boxes(desk: &Desk<'_>, caption: &str, point: &str, marks: &[BoxMark]) -> Markup {
    let rows = marks.iter().map(|mark| {
        let notes = notes(mark);
        vec![
            Cell::of(&mark.id),
            Cell::Measure(shown(mark.along, desk.units)),
            Cell::Measure(shown(mark.mark, desk.units)),
            Cell::of(&mark.what),
            Cell::of(mark.circuits.join(", ")),
            if mark.corrections.is_empty() { Cell::of(notes) } else { Cell::Flag(notes) },
        ]
    });
    table(caption, &["box", "along", point, "what", "circuit", "to see to"], rows.collect())
}
