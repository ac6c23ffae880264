//! The walk list of the packet.

use maud::{Markup, html};
use storystick_engine::sheet::{Desk, WalkRoom, walk_list};

use super::table::{Cell, table};

/// Returns the walk list: what to look at and to measure, with room to write.
pub(super) fn walk(desk: &Desk<'_>) -> Markup {
    let list = walk_list(desk);
    html! {
        @for stage in &list.stages {
            @let name = stage.stage.word().replace('_', "-");
            h3 { "Stage " (name) }
            @for room in stage.rooms.iter().filter(|room| room.has_work()) { (of_room(room, &name)) }
        }
        @if !list.stages.iter().flat_map(|stage| &stage.rooms).any(WalkRoom::has_work) {
            p { "Nothing to look at or to measure at this stage." }
        }
    }
}

fn of_room(room: &WalkRoom, stage: &str) -> Markup {
    let rows = room.questions().into_iter().map(|asked| {
        let blanks = asked.items.iter().map(|item| (*item).to_owned()).collect();
        vec![Cell::of(asked.field), Cell::of(asked.limit), Cell::Blanks(blanks), Cell::of(asked.cite)]
    });
    html! {
        h4 { (room.room) span.soft { " · " (room.met) " checks met" } }
        ul.todo {
            @for one in &room.put_right {
                li {
                    span.tick {}
                    strong { @if one.permitted { "Permitted: " } @else { "Put right: " } }
                    (one.item) ": " (one.message) " (" (one.cite) ")"
                    @if let Some(fix) = &one.fix { " — " (fix) }
                }
            }
            @for one in &room.look {
                li { span.tick {} strong { "Look: " } (one.what) " — " (one.items.join(", ")) " (" (one.cite) ")" }
            }
        }
        @if !room.measure.is_empty() {
            (table(
                &format!("{}, {stage}: to measure", room.room),
                &["measure", "limit", "readings", "citation"],
                rows.collect(),
            ))
        }
    }
}
