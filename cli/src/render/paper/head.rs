//! The head and foot of every text paper.

use storystick_engine::sheet::{CAUTIONS, Masthead, NOTICE};

use crate::render::wrap::wrap;

/// Returns the head: job, place, edition, rulesets with their review dates, drafts, amendments, what is unverified.
pub(crate) fn head(paper: &str, head: &Masthead, columns: usize) -> String {
    let mut out = String::new();
    let mut line = |text: String| out.push_str(&wrap(&text, columns, "  "));
    line(format!("{} — {}", paper.to_uppercase(), head.job));
    let code = &head.code;
    let edition = if head.edition.is_empty() { String::from("none") } else { head.edition.clone() };
    line(format!("{} ({}), permit {}, edition: {edition}", head.place, code.jurisdiction, code.permit_date));
    let rulesets: Vec<String> = code
        .rulesets
        .iter()
        .map(|layer| format!("{} v{} reviewed {}", layer.id, layer.version, or_never(&layer.reviewed)))
        .collect();
    line(format!("rulesets: {}", rulesets.join("; ")));
    for (layer, why) in head.drafts() {
        line(format!("DRAFT: {} — {why}", layer.id));
    }
    if !head.amendments.is_empty() {
        let keys: Vec<&str> = head.amendments.iter().map(|amendment| amendment.key.as_str()).collect();
        line(format!("amended here: {} (`storystick code` shows by whom)", keys.join(", ")));
    }
    if !head.unverified.is_empty() {
        line(format!(
            "unverified: {} limits behind the findings were not compared with the law (`storystick code` names them)",
            head.unverified.len()
        ));
    }
    out.push('\n');
    out
}

/// Returns the foot: the cautions, and that the paper approves nothing.
pub(crate) fn foot(columns: usize) -> String {
    let mut out = String::from("\n");
    for caution in CAUTIONS {
        out.push_str(&wrap(&format!("! {caution}"), columns, "  "));
    }
    out.push_str(&wrap(NOTICE, columns, ""));
    out
}

/// Returns the day of a review, or says that there was none.
pub(crate) fn or_never(day: &str) -> &str {
    if day.is_empty() { "never" } else { day }
}
