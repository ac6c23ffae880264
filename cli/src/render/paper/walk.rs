//! The walk list as text, with room to write.

use storystick_engine::sheet::{WalkList, WalkRoom};

use super::table::Table;
use crate::render::wrap::{GLUE, indented, wrap};

/// Returns the walk list; with `evidence`, behind each room what is already met.
pub(crate) fn text(paper: &WalkList, evidence: bool, columns: usize) -> String {
    let mut out = String::new();
    for stage in &paper.stages {
        out.push_str(&format!("STAGE {}\n\n", stage.stage.word().replace('_', "-").to_uppercase()));
        for room in &stage.rooms {
            if room.has_work() || evidence {
                out.push_str(&of_room(room, evidence, columns));
            }
        }
    }
    if out.is_empty() {
        out.push_str("Nothing to look at or to measure.\n");
    }
    out
}

fn of_room(room: &WalkRoom, evidence: bool, columns: usize) -> String {
    let mut out = format!("{} — {} checks met\n", room.room, room.met);
    for one in &room.put_right {
        let word = if one.permitted { "permitted" } else { "put right" };
        let fix = one.fix.as_ref().map_or_else(String::new, |fix| format!(" → {fix}"));
        out.push_str(&wrap(&format!("[ ] {word}: {}: {} ({}){fix}", one.item, one.message, one.cite), columns, "    "));
    }
    for one in &room.look {
        let text = format!("[ ] look: {} — {} ({})", one.what, one.items.join(", "), one.cite);
        out.push_str(&wrap(&text, columns, "    "));
    }
    for asked in room.questions() {
        let limit = if asked.limit.is_empty() { String::new() } else { format!(", {}", asked.limit) };
        out.push_str(&wrap(&format!("measure: {}{limit} ({})", asked.field, asked.cite), columns, "    "));
        let blanks: Vec<String> = asked.items.iter().map(|item| format!("{item}{GLUE}[________]")).collect();
        out.push_str(&indented(&blanks.join(" "), columns, 4, ""));
    }
    if evidence && !room.evidence.is_empty() {
        let mut table = Table::new(["met: item", "rule", "found", "limit", "to spare"]);
        for one in &room.evidence {
            table.row([one.item.clone(), one.rule.clone(), one.found.clone(), one.allowed.clone(), one.margin.clone()]);
        }
        out.push_str(&table.draw(columns));
    }
    out.push('\n');
    out
}
