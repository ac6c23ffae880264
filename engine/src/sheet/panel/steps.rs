//! What to do at a panel, in order, and what to settle before.

use super::{BreakerKind, PanelConductor, PanelSheet, shared_neutrals};
use crate::model::ItemIndex;
use crate::model::kinds::panel;
use crate::sheet::Desk;
use crate::wiring::Lands;

/// Writes positions as crews say them: `2, 4 and 38 to 42`.
pub(super) fn ranges(all: &[i64]) -> String {
    let mut parts: Vec<String> = Vec::new();
    let mut at = 0;
    while let Some(&first) = all.get(at) {
        let mut end = at;
        while all.get(end + 1).is_some_and(|next| *next == all.get(end).copied().unwrap_or(0) + 1) {
            end += 1;
        }
        match (end - at, all.get(end)) {
            (0, _) => parts.push(first.to_string()),
            (1, Some(last)) => parts.extend([first.to_string(), last.to_string()]),
            (_, Some(last)) => parts.push(format!("{first} to {last}")),
            _ => {}
        }
        at = end + 1;
    }
    and(&parts)
}

fn and(parts: &[String]) -> String {
    match parts {
        [] => String::new(),
        [one] => one.clone(),
        [head @ .., last] => format!("{} and {last}", head.join(", ")),
    }
}

fn plural(count: i64, one: &str) -> String {
    if count == 1 { format!("1 {one}") } else { format!("{count} {one}s") }
}

fn names<'a>(all: impl Iterator<Item = &'a PanelConductor>) -> String {
    all.map(|one| one.name.as_str()).collect::<Vec<_>>().join(", ")
}

/// Returns the steps: re-mark, group, grounds, neutrals, breakers, caps, torque, blanks.
pub(super) fn steps(desk: &Desk<'_>, sheet: &PanelSheet) -> Vec<String> {
    let mut steps = vec![match &sheet.fed_by {
        None => String::from("main off, locked out, absence of voltage verified; keep clear of the lugs ahead of it"),
        Some(source) => {
            format!("feeder breaker in panel {source} off, locked out, absence of voltage verified at the lugs")
        }
    }];
    let all = &sheet.conductors;
    if all.iter().any(|one| one.re_mark) {
        steps.push(format!("re-mark the whites used as hots: {}", names(all.iter().filter(|one| one.re_mark))));
    }
    for (one, other) in shared_neutrals(desk, sheet) {
        let (one, other) = (desk.job.id(one), desk.job.id(other));
        steps.push(format!("tie the hots and the shared neutral of circuits {one} and {other} together"));
    }
    let bonded = if sheet.fed_by.is_none() { ", bonded to the neutral bar" } else { ", on the enclosure" };
    if sheet.ground_bar.conductors > 0 {
        let per_screw = match sheet.grounds_per_screw {
            Some(1) => String::from("; one to a screw"),
            Some(several) => format!("; up to {several} of one size to a screw, as the label says"),
            None => String::new(),
        };
        let grounds = plural(sheet.ground_bar.conductors, "ground");
        steps.push(format!("land {grounds} on the ground bar{bonded}{per_screw}"));
    }
    if sheet.neutral_bar.conductors > 0 {
        let neutrals = plural(sheet.neutral_bar.conductors, "neutral");
        let isolated = if sheet.fed_by.is_some() { ", isolated from the enclosure" } else { "" };
        steps.push(format!("land {neutrals} on the neutral bar{isolated}; each alone under its screw"));
    }
    let on_breakers = all.iter().filter(|one| matches!(one.lands, Lands::BreakerNeutral(_))).count() as i64;
    if on_breakers > 0 {
        let whose = plural(on_breakers, "neutral");
        steps.push(format!("land {whose} on the GFCI and AFCI breakers of their circuits, not on the bar"));
    }
    if sheet.neutral_bar.pigtails > 0 {
        let unless = match desk.job.flag(sheet.item, panel::PLUG_ON_NEUTRAL) {
            None => "; plug-on breakers have none",
            Some(_) => "",
        };
        let pigtails = plural(sheet.neutral_bar.pigtails, "white pigtail");
        steps.push(format!("land {pigtails} of GFCI and AFCI breakers on the neutral bar, each alone{unless}"));
    }
    if all.iter().any(|one| matches!(one.lands, Lands::Breaker(..))) {
        steps.push(String::from("land the hots on the breakers as listed, one to a terminal"));
    }
    if all.iter().any(|one| one.lands == Lands::Cap) {
        steps.push(format!("cap singly: {}", names(all.iter().filter(|one| one.lands == Lands::Cap))));
    }
    steps.push(String::from("tighten lugs, breakers and bars to the torque on the label"));
    if !sheet.open.is_empty() {
        let (count, at) = (plural(sheet.open.len() as i64, "open position"), ranges(&sheet.open));
        steps.push(format!("close {count} with blanks: {at}; plug knockouts that nothing uses"));
    }
    steps
}

/// Returns what the job leaves unsaid, and what does not fit.
pub(super) fn remarks(sheet: &PanelSheet) -> Vec<String> {
    let mut remarks = Vec::new();
    if sheet.spaces.is_none() {
        remarks.push(String::from("spaces of the panel are not recorded: positions end at the last breaker"));
    }
    for one in &sheet.breakers {
        let ids: Vec<String> = one.circuits.iter().map(|circuit| circuit.id.clone()).collect();
        let (word, ids) = (if ids.len() == 1 { "circuit" } else { "circuits" }, and(&ids));
        if one.kind == BreakerKind::OpensTogether {
            remarks.push(format!(
                "{word} {ids}: one two-pole breaker, or single ones with a listed handle tie? write `breaker` of both"
            ));
        }
        if one.positions.is_empty() {
            remarks.push(format!("{word} {ids}: no position recorded"));
        }
        if one.kind == BreakerKind::Tandem && one.circuits.len() == 1 {
            remarks.push(format!("{word} {ids}: the other half of the tandem breaker is not in the job"));
        }
    }
    let cabled = |circuit: ItemIndex| {
        sheet.conductors.iter().any(|one| matches!(one.lands, Lands::Breaker(on, _) if on == circuit))
    };
    let circuits = sheet.breakers.iter().flat_map(|one| &one.circuits);
    let bare: Vec<String> = circuits.filter(|one| !one.spare && !cabled(one.item)).map(|one| one.id.clone()).collect();
    if !bare.is_empty() {
        let word = if bare.len() == 1 { "circuit" } else { "circuits" };
        remarks.push(format!("no hot lands for {word} {}: no cable or raceway from the panel recorded", and(&bare)));
    }
    let mut by_color: Vec<&str> =
        sheet.conductors.iter().filter(|one| one.by_color).map(|one| one.run.as_str()).collect();
    by_color.dedup();
    if !by_color.is_empty() {
        remarks.push(format!(
            "{}: landed by color, since the circuit is not wired through in the job",
            by_color.join(", ")
        ));
    }
    for (bar, name, field) in
        [(sheet.neutral_bar, "neutral bar", "neutral_terminals"), (sheet.ground_bar, "ground bar", "ground_terminals")]
    {
        match bar.terminals {
            Some(terminals) if terminals < bar.screws => {
                remarks.push(format!("{name}: {} needed, {terminals} there: add a bar", plural(bar.screws, "screw")));
            }
            None if bar.screws > 0 => {
                remarks.push(format!("{name}: {} needed; count them (`{field}`)", plural(bar.screws, "screw")));
            }
            _ => {}
        }
    }
    remarks
}

#[cfg(test)]
mod tests {
    use super::ranges;

    #[test]
    fn positions_are_said_as_crews_say_them() {
        assert_eq!(ranges(&[2, 4, 38, 39, 40, 41, 42]), "2, 4 and 38 to 42");
        assert_eq!(ranges(&[7, 8]), "7 and 8");
        assert_eq!(ranges(&[]), "");
    }
}
