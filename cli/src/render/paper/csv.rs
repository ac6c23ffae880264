//! Papers as CSV (RFC 4180) that a spreadsheet opens.

use storystick_engine::quantity::UnitSystem;
use storystick_engine::sheet::{Directory, Slot, TakeOff};

fn whole(rows: impl IntoIterator<Item = Vec<String>>) -> String {
    let mut writer =
        csv::WriterBuilder::new().flexible(false).terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    for row in rows {
        // Writing to memory does not fail, and every row has as many cells as the first.
        let _ = writer.write_record(row.iter().map(|cell| inert(cell).into_owned()));
    }
    writer.into_inner().ok().and_then(|bytes| String::from_utf8(bytes).ok()).unwrap_or_default()
}

/// Returns a cell that a spreadsheet takes for text or a number and never for a formula: an apostrophe stands before one that
/// begins like a formula. The texts come from job files, which others write.
pub(crate) fn inert(cell: &str) -> std::borrow::Cow<'_, str> {
    let formula = cell.starts_with(['=', '+', '-', '@', '\t', '\r']) && cell.parse::<f64>().is_err();
    if formula { format!("'{cell}").into() } else { cell.into() }
}

fn row<const N: usize>(cells: [&str; N]) -> Vec<String> {
    cells.map(str::to_owned).to_vec()
}

/// Returns the take-off: a line for each part and room, then one for each part in total.
pub(crate) fn takeoff(paper: &TakeOff, units: UnitSystem) -> String {
    let mut rows = vec![row(["group", "part", "room", "net", "unit", "order", "coils", "items"])];
    for line in &paper.lines {
        let heading = line.group.heading();
        for part in &line.rooms {
            let (net, unit) = part.amount.cells(units);
            rows.push(row([heading, &line.what, &part.room, &net, unit, "", "", &part.items.join(" ")]));
        }
        let (net, unit) = line.net.cells(units);
        let (order, _) = line.order.cells(units);
        let coils = line.coils.map_or_else(String::new, |coils| coils.to_string());
        rows.push(row([heading, &line.what, "TOTAL", &net, unit, &order, &coils, ""]));
    }
    whole(rows)
}

/// Returns the directories of all panels, a line for each position.
pub(crate) fn directory(papers: &[Directory], units: UnitSystem) -> String {
    let head = [
        "panel",
        "position",
        "circuit",
        "label",
        "rooms",
        "breaker",
        "wire",
        "protection",
        "leg",
        "load",
        "receptacles",
    ];
    let mut rows = vec![row(head)];
    for paper in papers {
        for slot in paper.slots.iter().chain(&paper.unplaced).flat_map(Slot::all) {
            let position = if slot.position == 0 { String::new() } else { slot.position.to_string() };
            rows.push(row([
                &paper.panel,
                &position,
                slot.circuit.as_deref().unwrap_or_default(),
                &slot.label,
                &slot.rooms.join("; "),
                &slot.breaker,
                &slot.wire,
                &slot.protection,
                &slot.leg.map_or_else(String::new, |leg| leg.to_string()),
                &slot.load.map_or_else(String::new, |load| load.print(units)),
                &slot.outlets.join("; "),
            ]));
        }
    }
    whole(rows)
}

#[cfg(test)]
mod tests {
    use super::inert;

    #[test]
    fn no_cell_is_a_formula() {
        assert_eq!(inert("=HYPERLINK(\"x\")"), "'=HYPERLINK(\"x\")");
        assert_eq!(inert("@SUM(A1)"), "'@SUM(A1)");
        assert_eq!(inert("-2.5"), "-2.5");
        assert_eq!(inert("Kitchen, north counter"), "Kitchen, north counter");
    }
}
