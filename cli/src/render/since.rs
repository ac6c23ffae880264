//! What has changed since an earlier inspection.

use serde_json::{Value, json};
use storystick_engine::inspection::compare::{Comparison, Earlier, Now, Since};

use super::wrap::{indented, wrap};

/// How a job compares with an earlier result.
#[derive(Clone, Debug)]
pub(crate) struct Compared {
    /// File of the earlier result.
    pub(crate) file: String,
    /// None when it holds nothing of this job.
    pub(crate) comparison: Option<Comparison>,
}

fn why(now: Now) -> Option<&'static str> {
    Some(match now {
        Now::Met => "met now",
        Now::Permitted => "permitted now",
        Now::Excepted => "an exception covers it now",
        Now::NotApplicable => "the rule does not apply to it any more",
        Now::ItemGone => "it is not in the job any more",
        Now::RuleGone => "the rule is not in force any more",
        Now::ToMeasure => "not recorded any more",
        Now::Open => return None,
    })
}

/// Returns the comparison for people.
pub(crate) fn text(compared: &Compared, columns: usize) -> String {
    let Some(comparison) = &compared.comparison else {
        return wrap(&format!("{} holds nothing of this job", compared.file), columns, "  ") + "\n";
    };
    let mut text = wrap(&format!("Since {}:", compared.file), columns, "  ");
    let mut list = |title: &str, lines: Vec<String>| {
        text.push_str(&format!("  {title}: {}\n", lines.len()));
        for line in lines {
            text.push_str(&indented(&line, columns, 4, "  "));
        }
    };
    let told = |since: &Since| {
        let why = why(since.now).map_or_else(String::new, |why| format!(" ({why})"));
        format!("{} {}{why}", since.earlier.rule, since.earlier.item)
    };
    list("new", comparison.new.iter().map(|(rule, item)| format!("{rule} {item}")).collect());
    list("cleared", comparison.cleared.iter().map(told).collect());
    list("still open", comparison.still_open.iter().map(told).collect());
    if !comparison.not_looked_at.is_empty() {
        let told = |one: &Earlier| format!("{} {}", one.rule, one.item);
        list("not looked at this time", comparison.not_looked_at.iter().map(told).collect());
    }
    let measured = format!("to measure: {} decided, {} new", comparison.measured, comparison.to_measure);
    text.push_str(&indented(&measured, columns, 2, "  "));
    text.push('\n');
    text
}

/// Returns the comparison for programs.
pub(crate) fn json(compared: &Compared) -> Value {
    let Some(comparison) = &compared.comparison else {
        return json!({ "earlier": compared.file, "found": false });
    };
    let earlier = |one: &Earlier| {
        json!({
            "rule": one.rule, "item": one.item, "weight": one.weight.word(), "stage": one.stage.word(), "message": one.message,
        })
    };
    let since = |one: &Since| {
        let mut value = earlier(&one.earlier);
        value["now"] = json!(one.now.word());
        value
    };
    json!({
        "earlier": compared.file,
        "found": true,
        "new": comparison.new.iter().map(|(rule, item)| json!({ "rule": rule, "item": item })).collect::<Vec<_>>(),
        "cleared": comparison.cleared.iter().map(since).collect::<Vec<_>>(),
        "still_open": comparison.still_open.iter().map(since).collect::<Vec<_>>(),
        "not_looked_at": comparison.not_looked_at.iter().map(earlier).collect::<Vec<_>>(),
        "to_measure": { "decided": comparison.measured, "new": comparison.to_measure },
    })
}
