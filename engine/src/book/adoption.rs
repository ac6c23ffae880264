//! Chooses the edition: by the place, the day that counts there, and the choice that the place leaves.

use jiff::civil::Date;

use super::ask::{Ask, DateKind};
use super::fields::with_help;
use super::manifest::{Adoption, RulesetKind};
use super::shelf::Shelf;
use crate::problem::{Problem, Topic, did_you_mean};
use crate::source::Span;

/// The adoption that decided, and the day that counted.
#[derive(Clone, Debug)]
pub(super) struct Pick<'s> {
    /// The place that adopted.
    pub(super) place: usize,
    pub(super) adoption: &'s Adoption,
    /// The day that counted.
    pub(super) day: Date,
}

/// Returns whether an adoption concerns the dwelling that is asked about.
pub(super) fn concerns(adoption: &Adoption, ask: &Ask, usual_dwelling: &str) -> bool {
    let dwelling = ask.dwelling.as_deref().unwrap_or(usual_dwelling);
    (ask.accessible || !adoption.if_accessible)
        && (adoption.dwellings.is_empty() || adoption.dwellings.iter().any(|known| known == dwelling))
}

/// How an adoption stands on the day that it counts.
pub(super) enum Standing {
    /// In force.
    InForce(Date),
    /// Not yet in force, but it may be chosen.
    MayBeChosen(Date),
    /// Not yet, or no longer.
    Not,
    /// The job does not record the date that the place counts.
    Unknown(DateKind),
}

/// Returns how an adoption stands.
pub(super) fn standing(adoption: &Adoption, ask: &Ask) -> Standing {
    let Some(day) = adoption.by.iter().find_map(|kind| ask.date(*kind)) else {
        let kind = adoption.by.first().copied().unwrap_or(DateKind::Permit);
        // Nobody applies for a permit after it was given.
        return if adoption.by == [DateKind::Application]
            && ask.permit_date < adoption.choice_from.unwrap_or(adoption.from)
        {
            Standing::Not
        } else {
            Standing::Unknown(kind)
        };
    };
    if adoption.until.is_some_and(|until| until < day) {
        Standing::Not
    } else if adoption.from <= day {
        Standing::InForce(day)
    } else if adoption.choice_from.is_some_and(|from| from <= day) {
        Standing::MayBeChosen(day)
    } else {
        Standing::Not
    }
}

/// Returns the problem of a date that a place counts and the job does not record; `mark` is the line that says so.
pub(super) fn date_missing(place: &str, kind: DateKind, mark: (Span, String), ask: &Ask) -> Problem {
    Problem::new(ask.date_span(kind), format!("`{place}` counts the {}, which the job does not record", kind.name()))
        .label(format!("no `{}` beside it", kind.word()))
        .mark(mark.0, mark.1)
        .help(format!("write `{} = {}` with the right day under [site]", kind.word(), ask.permit_date))
}

/// Returns the same for an adoption.
pub(super) fn adoption_undated(shelf: &Shelf, place: usize, adoption: &Adoption, kind: DateKind, ask: &Ask) -> Problem {
    let place = shelf.rulesets.get(place).map_or("", |ruleset| ruleset.id.as_str());
    date_missing(place, kind, (adoption.span, format!("adopted by {}, from {}", kind.name(), adoption.from)), ask)
}

/// Chooses the edition that a place has for what is asked; `places` runs from the innermost place outwards.
pub(super) fn pick<'s>(
    shelf: &'s Shelf,
    places: &[usize],
    ask: &Ask,
    usual_dwelling: &str,
) -> Result<Pick<'s>, Vec<Problem>> {
    let found = candidates(shelf, places, ask, usual_dwelling)?;
    let mut allowed: Vec<&Pick<'s>> = Vec::new();
    for (at, pick) in found.in_force.iter().enumerate() {
        let grace_before = at.checked_sub(1).and_then(|before| found.in_force.get(before)).is_none_or(in_grace);
        if !grace_before {
            break;
        }
        allowed.push(pick);
    }
    allowed.extend(&found.early);
    match &ask.edition {
        Some(edition) => {
            let chosen = allowed.iter().find(|pick| pick.adoption.ruleset.text == *edition);
            chosen.map(|pick| (*pick).clone()).ok_or_else(|| vec![not_allowed(shelf, places, &allowed, edition, ask)])
        }
        None => match found.in_force.first() {
            Some(pick) => Ok(pick.clone()),
            None => Err(vec![nothing_in_force(shelf, places, &found.early, ask, usual_dwelling)]),
        },
    }
}

fn in_grace(pick: &Pick<'_>) -> bool {
    pick.adoption.choice_until.is_some_and(|until| pick.day <= until)
}

/// The adoptions that a day leaves.
#[derive(Default)]
struct Candidates<'s> {
    /// Those in force: of the innermost place first, and there the latest first.
    in_force: Vec<Pick<'s>>,
    /// Those that are not yet in force but may be chosen.
    early: Vec<Pick<'s>>,
}

fn candidates<'s>(
    shelf: &'s Shelf,
    places: &[usize],
    ask: &Ask,
    usual_dwelling: &str,
) -> Result<Candidates<'s>, Vec<Problem>> {
    let mut out = Candidates::default();
    for &place in places {
        let mut adoptions = editions(shelf, place, ask, usual_dwelling);
        adoptions.sort_by_key(|adoption| std::cmp::Reverse(adoption.from));
        let silent_inside = out.in_force.is_empty();
        let mut last: Option<&Adoption> = None;
        for adoption in adoptions {
            match standing(adoption, ask) {
                Standing::InForce(day) => {
                    if let Some(last) = last.filter(|last| last.from == adoption.from) {
                        return Err(vec![two_at_once(shelf, place, adoption, last)]);
                    }
                    last = Some(adoption);
                    out.in_force.push(Pick { place, adoption, day });
                }
                // What an outer place will adopt is no matter where an inner one has adopted for itself.
                Standing::MayBeChosen(day) if silent_inside => out.early.push(Pick { place, adoption, day }),
                // A later adoption could be the one in force, and an earlier one can't be.
                Standing::Unknown(kind) if out.in_force.is_empty() => {
                    return Err(vec![adoption_undated(shelf, place, adoption, kind, ask)]);
                }
                Standing::MayBeChosen(_) | Standing::Unknown(_) | Standing::Not => {}
            }
        }
    }
    Ok(out)
}

/// Returns the adoptions of editions by a place that concern what is asked.
fn editions<'s>(shelf: &'s Shelf, place: usize, ask: &Ask, usual_dwelling: &str) -> Vec<&'s Adoption> {
    let adopts = shelf.rulesets.get(place).map_or(&[][..], |ruleset| &ruleset.adopts);
    let is_edition = |adoption: &&Adoption| {
        shelf.ruleset(&adoption.ruleset.text).is_some_and(|ruleset| ruleset.kind == RulesetKind::Edition)
    };
    adopts.iter().filter(is_edition).filter(|adoption| concerns(adoption, ask, usual_dwelling)).collect()
}

fn two_at_once(shelf: &Shelf, place: usize, one: &Adoption, other: &Adoption) -> Problem {
    let place = shelf.rulesets.get(place).map_or("", |ruleset| ruleset.id.as_str());
    Problem::new(one.span, format!("`{place}` adopts two editions for one dwelling from {} on", one.from))
        .label("one")
        .mark(other.span, "the other")
        .help("give them different days, or say with `dwelling` which kinds of dwelling each is for")
}

fn not_allowed(shelf: &Shelf, places: &[usize], allowed: &[&Pick<'_>], edition: &str, ask: &Ask) -> Problem {
    let place = place_name(shelf, places);
    let span = first_place([ask.at.edition, ask.at.jurisdiction, ask.at.site]);
    let names: Vec<String> = allowed.iter().map(|pick| format!("`{}`", pick.adoption.ruleset.text)).collect();
    if shelf.index(edition).is_none() {
        let near = did_you_mean(edition, allowed.iter().map(|pick| pick.adoption.ruleset.text.as_str()));
        return with_help(
            Problem::new(span, format!("there is no edition `{edition}`"))
                .label("unknown ruleset")
                .about(Topic::Adoption(place.to_owned())),
            near,
        );
    }
    let day = allowed.first().map_or(ask.permit_date, |pick| pick.day);
    let mut problem = Problem::new(span, format!("`{edition}` can't be chosen in `{place}` on {day}"))
        .label("not allowed on this day")
        .about(Topic::Adoption(place.to_owned()));
    problem = match names.as_slice() {
        [] => problem.help(format!("no edition is in force in `{place}` on this day")),
        [one] => problem.help(format!("{one} is in force; leave `edition` out, or look at the dates")),
        [first, others @ ..] => {
            problem.help(format!("{first} is in force; {} may be chosen instead", others.join(" or ")))
        }
    };
    for pick in allowed {
        problem = problem.mark(pick.adoption.span, described(pick.adoption));
    }
    problem
}

fn nothing_in_force(shelf: &Shelf, places: &[usize], early: &[Pick<'_>], ask: &Ask, usual_dwelling: &str) -> Problem {
    let place = place_name(shelf, places);
    let all: Vec<&Adoption> = places.iter().flat_map(|place| editions(shelf, *place, ask, usual_dwelling)).collect();
    let kind = all.first().and_then(|first| first.by.iter().find(|kind| ask.date(**kind).is_some()));
    let kind = kind.copied().unwrap_or(DateKind::Permit);
    let day = ask.date(kind).unwrap_or(ask.permit_date);
    let span = first_place([ask.date_span(kind), ask.at.jurisdiction]);
    let label = if ask.date_span(kind).is_some() { kind.name() } else { "the place" };
    let mut problem = Problem::new(span, format!("no edition is in force in `{place}` on {day}"))
        .label(label)
        .about(Topic::Adoption(place.to_owned()));
    let first = all.iter().map(|adoption| adoption.from).min();
    problem = match (early, first) {
        ([pick, ..], _) => problem.help(format!(
            "`{}` may be chosen already: write `edition = \"{0}\"` under [site]",
            pick.adoption.ruleset.text
        )),
        ([], Some(first)) if day < first => problem
            .help(format!("the first adoption known for this place begins on {first}: look at the date of the job")),
        ([], Some(_)) => problem.help("the adoptions known for this place have ended: look at the date of the job"),
        ([], None) => {
            problem.help(format!(
                "`{place}` and the places around it adopt no edition for this kind of dwelling: write as `jurisdiction` the place \
                 where the job stands, a state or city within it; `storystick ruleset list` names all"
            ))
        }
    };
    for adoption in all {
        problem = problem.mark(adoption.span, described(adoption));
    }
    problem
}

fn described(adoption: &Adoption) -> String {
    match adoption.until {
        Some(until) => format!("from {} until {until}", adoption.from),
        None => format!("from {}", adoption.from),
    }
}

fn place_name<'s>(shelf: &'s Shelf, places: &[usize]) -> &'s str {
    places.first().and_then(|place| shelf.rulesets.get(*place)).map_or("", |ruleset| ruleset.id.as_str())
}

fn first_place<const N: usize>(spans: [Span; N]) -> Span {
    spans.into_iter().find(|span| span.is_some()).unwrap_or(Span::NONE)
}
