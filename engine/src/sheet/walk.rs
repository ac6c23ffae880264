//! The walk list: by stage and room, what to put right, what to measure with the limit beside it, what to look at, and behind it
//! the evidence of what is already met.

use super::Desk;
use super::desk::{WHOLE, words as spoken};
use crate::inspection::finding::{Finding, Outcome};
use crate::model::Stage;
use crate::model::kinds::room;
use crate::told::Words;

/// A correction to see to on the walk.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ToPutRight {
    /// Kind word and id of the item.
    pub item: String,
    /// What is wrong.
    pub message: String,
    /// What to do.
    pub fix: Option<String>,
    /// Citation.
    pub cite: String,
    /// Whether a special permission covers it.
    pub permitted: bool,
}

/// A value to measure.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ToMeasure {
    /// Id of the item.
    pub item: String,
    /// The field, in words.
    pub field: String,
    /// What is allowed; empty where the value only decides whether something applies.
    pub limit: String,
    /// Citation.
    pub cite: String,
}

/// Something to look at.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ToLookAt {
    /// Ids of the items.
    pub items: Vec<String>,
    /// What to look at.
    pub what: String,
    /// Citation.
    pub cite: String,
}

/// A check that is met.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Evidence {
    /// Id of the item.
    pub item: String,
    /// The rule.
    pub rule: String,
    /// What was found.
    pub found: String,
    /// What is allowed.
    pub allowed: String,
    /// By how much it is met.
    pub margin: String,
}

/// One room of one stage.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WalkRoom {
    /// Name of the room.
    pub room: String,
    /// Corrections.
    pub put_right: Vec<ToPutRight>,
    /// Values to measure.
    pub measure: Vec<ToMeasure>,
    /// Things to look at.
    pub look: Vec<ToLookAt>,
    /// Met checks that compared a value with a limit.
    pub evidence: Vec<Evidence>,
    /// All met checks, those without a value among them.
    pub met: usize,
}

/// One stage of the walk.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WalkStage {
    /// The stage.
    pub stage: Stage,
    /// Its rooms, in the order of the job file; the whole dwelling comes last.
    pub rooms: Vec<WalkRoom>,
}

/// The walk list of a job.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WalkList {
    /// Its stages in order.
    pub stages: Vec<WalkStage>,
}

/// Returns the walk list of a job. The evidence is there only if the inspection kept the met checks.
pub fn walk_list(desk: &Desk<'_>) -> WalkList {
    let mut names: Vec<String> = desk.items(room::NAME).iter().map(|&room| desk.room_name(room)).collect();
    names.push(WHOLE.to_owned());
    let words = Words::new(desk.job, desk.book);
    let mut stages = Vec::new();
    for (stage, _) in Stage::ALL {
        let mut rooms: Vec<WalkRoom> = names.iter().map(|name| empty(name)).collect();
        for finding in desk.report.findings.iter().filter(|finding| finding.stage == stage) {
            let at = match desk.room_of(finding.index) {
                Some(room) => desk.items(room::NAME).iter().position(|&it| it == room),
                None => rooms.len().checked_sub(1),
            };
            if let Some(room) = at.and_then(|at| rooms.get_mut(at)) {
                enter(room, &words, finding);
            }
        }
        rooms.retain(|room| room.met > 0 || room.has_work());
        if !rooms.is_empty() {
            stages.push(WalkStage { stage, rooms });
        }
    }
    WalkList { stages }
}

/// One question of a room: a field, its limit, and every item that lacks it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Question<'a> {
    /// The field, in words.
    pub field: &'a str,
    /// What is allowed; empty where the value only decides whether something applies.
    pub limit: &'a str,
    /// Citation.
    pub cite: &'a str,
    /// Ids of the items.
    pub items: Vec<&'a str>,
}

impl WalkRoom {
    /// Returns what is to be measured as questions, each asked once of all the items that have the same limit by the same citation.
    pub fn questions(&self) -> Vec<Question<'_>> {
        let mut questions: Vec<Question<'_>> = Vec::new();
        for one in &self.measure {
            let ToMeasure { item, field, limit, cite } = one;
            let same = |asked: &&mut Question<'_>| asked.field == field && asked.limit == limit && asked.cite == cite;
            match questions.iter_mut().find(same) {
                Some(asked) => asked.items.push(item),
                None => questions.push(Question { field, limit, cite, items: vec![item] }),
            }
        }
        questions
    }

    /// Returns whether anything is to be put right, measured or looked at.
    pub fn has_work(&self) -> bool {
        !(self.put_right.is_empty() && self.measure.is_empty() && self.look.is_empty())
    }
}

fn empty(name: &str) -> WalkRoom {
    WalkRoom {
        room: name.to_owned(),
        put_right: Vec::new(),
        measure: Vec::new(),
        look: Vec::new(),
        evidence: Vec::new(),
        met: 0,
    }
}

fn enter(room: &mut WalkRoom, words: &Words<'_>, finding: &Finding) {
    match finding.outcome {
        Outcome::Correction | Outcome::Permitted => room.put_right.push(ToPutRight {
            item: words.item(finding.index),
            message: words.message(finding),
            fix: finding.fix.clone(),
            cite: finding.cite.clone(),
            permitted: finding.outcome == Outcome::Permitted,
        }),
        Outcome::ToMeasure if finding.missing.is_empty() => {
            let what = finding.look.clone().unwrap_or_else(|| finding.says.clone());
            match room.look.iter_mut().find(|look| look.what == what && look.cite == finding.cite) {
                Some(look) => look.items.push(finding.item.clone()),
                None => {
                    room.look.push(ToLookAt { items: vec![finding.item.clone()], what, cite: finding.cite.clone() })
                }
            }
        }
        Outcome::ToMeasure => {
            for missing in &finding.missing {
                let field = spoken(&missing.field);
                let limit = words.limit(finding, missing).unwrap_or_default();
                let known = room.measure.iter_mut().find(|one| one.item == missing.item && one.field == field);
                match known {
                    // One reading decides several rules: every limit stands beside its box.
                    Some(one) => {
                        if !limit.is_empty() && !one.limit.split("; ").any(|known| known == limit) {
                            one.limit = if one.limit.is_empty() { limit } else { format!("{}; {limit}", one.limit) };
                        }
                        if !one.cite.split("; ").any(|known| known == finding.cite) {
                            one.cite = format!("{}; {}", one.cite, finding.cite);
                        }
                    }
                    None => room.measure.push(ToMeasure {
                        item: missing.item.clone(),
                        field,
                        limit,
                        cite: finding.cite.clone(),
                    }),
                }
            }
        }
        Outcome::Excepted => {
            room.met += 1;
            if let Some(excepted) = &finding.excepted {
                room.evidence.push(Evidence {
                    item: finding.item.clone(),
                    rule: finding.rule.clone(),
                    found: String::new(),
                    allowed: format!("excepted by {}", words.exception(excepted)),
                    margin: String::new(),
                });
            }
        }
        Outcome::Met => {
            room.met += 1;
            if let (Some(found), Some(allowed)) = (words.found(finding), words.allowed(finding)) {
                room.evidence.push(Evidence {
                    item: finding.item.clone(),
                    rule: finding.rule.clone(),
                    found,
                    allowed,
                    margin: words.margin(finding).unwrap_or_default(),
                });
            }
        }
    }
}
