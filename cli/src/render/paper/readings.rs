//! The test record as text.

use storystick_engine::sheet::{Reading, TestRecord};

use super::table::Table;
use crate::render::wrap::wrap;

/// Returns the test record.
pub(crate) fn text(paper: &TestRecord, columns: usize) -> String {
    let mut limits = Table::new(["reading", "how", "acceptable", "by"]);
    for limit in &paper.limits {
        let doubt = if limit.verified || limit.source.is_empty() { "" } else { " — unverified" };
        limits.row([
            limit.reading.to_owned(),
            limit.how.to_owned(),
            limit.acceptable.clone().unwrap_or_else(|| String::from("no ruleset in force says")),
            format!("{}{doubt}", limit.source),
        ]);
    }
    let mut out = limits.draw(columns);
    out.push('\n');
    for circuit in &paper.circuits {
        let heading = format!("Circuit {} · {} · {}", circuit.circuit, circuit.breaker, circuit.label);
        out.push_str(&wrap(&heading, columns, "  "));
        let mut table = Table::new(["reading", "at", "recorded so far", "reading", "by, day"]);
        for reading in circuit.readings.iter().filter(|reading| !reading.not_applicable) {
            table.row([
                reading.reading.to_owned(),
                at(reading),
                reading.recorded.join(", "),
                String::from("[______]"),
                String::from("[______]"),
            ]);
        }
        out.push_str(&table.draw(columns));
        out.push('\n');
    }
    out
}

/// Returns what a reading is taken at.
pub(crate) fn at(reading: &Reading) -> String {
    if reading.at.is_empty() { String::from("whole circuit") } else { reading.at.join(", ") }
}
