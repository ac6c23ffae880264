//! The breakers of a panel: which circuits are on one, what kind it is, and the positions that it takes.

use std::collections::BTreeSet;

use crate::model::ItemIndex;
use crate::model::kinds::{circuit, panel};
use crate::quantity::Quantity;
use crate::sheet::Desk;
use crate::sheet::directory;

/// Kind of a breaker.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BreakerKind {
    /// One pole in one space.
    Single,
    /// Two poles that trip together.
    TwoPole,
    /// Two circuits in one space.
    Tandem,
    /// Single breakers with a handle tie.
    TiedSingles,
    /// Four handles in two spaces.
    Quad,
    /// Two circuits that open together, by a two-pole breaker or a handle tie: nobody wrote by which.
    OpensTogether,
}

impl BreakerKind {
    /// Returns its word in JSON.
    pub fn word(self) -> &'static str {
        match self {
            BreakerKind::Single => "single",
            BreakerKind::TwoPole => "two_pole",
            BreakerKind::Tandem => "tandem",
            BreakerKind::TiedSingles => "tied_singles",
            BreakerKind::Quad => "quad",
            BreakerKind::OpensTogether => "opens_together",
        }
    }

    /// Returns what crews call it.
    pub fn name(self) -> &'static str {
        match self {
            BreakerKind::Single => "1-pole",
            BreakerKind::TwoPole => "2-pole",
            BreakerKind::Tandem => "tandem",
            BreakerKind::TiedSingles => "tied singles",
            BreakerKind::Quad => "quad",
            BreakerKind::OpensTogether => "2-pole or tied",
        }
    }
}

/// A circuit on a breaker.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BreakerCircuit {
    /// The circuit.
    pub item: ItemIndex,
    /// Its id.
    pub id: String,
    /// What it serves: its line in the directory.
    pub label: String,
    /// Whether that line is proposed from what it feeds.
    pub proposed: bool,
    /// Rating of its pole or poles.
    pub rating: Option<Quantity>,
    /// Its poles.
    pub poles: i64,
    /// The positions that it is on.
    pub positions: Vec<i64>,
    /// Protection: `AFCI`, `GFCI`.
    pub protection: Vec<&'static str>,
    /// Configurations of its receptacles, other than those of general use.
    pub outlets: Vec<String>,
    /// Whether nothing is connected.
    pub spare: bool,
}

/// A breaker.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PanelBreaker {
    /// Its kind.
    pub kind: BreakerKind,
    /// Its positions in order; none where nobody wrote them.
    pub positions: Vec<i64>,
    /// Its circuits.
    pub circuits: Vec<BreakerCircuit>,
}

impl PanelBreaker {
    /// Returns the circuits on one of its positions.
    pub fn at(&self, position: i64) -> impl Iterator<Item = &BreakerCircuit> {
        self.circuits.iter().filter(move |one| one.positions.contains(&position))
    }
}

/// Returns the breakers of a panel by their first position; those without one come last.
pub(in crate::sheet) fn breakers(desk: &Desk<'_>, item: ItemIndex) -> Vec<PanelBreaker> {
    let circuits: Vec<BreakerCircuit> =
        desk.job.links(item, panel::CIRCUITS).map(|circuit| of_circuit(desk, circuit)).collect();
    let mut groups: Vec<(BreakerKind, Vec<BreakerCircuit>)> = Vec::new();
    for one in circuits {
        let kind = kind(desk, &one);
        let partners = desk.ctx.index.multiwire_partners(one.item);
        let fits = |(other, members): &(BreakerKind, Vec<BreakerCircuit>)| match kind {
            BreakerKind::Tandem | BreakerKind::Quad => {
                *other == kind && members.iter().any(|it| it.positions.iter().any(|at| one.positions.contains(at)))
            }
            BreakerKind::Single => false,
            _ => {
                *other != BreakerKind::Single
                    && members.len() == 1
                    && members.iter().all(|it| partners.contains(&it.item) && it.poles == 1)
            }
        };
        // Only these share a breaker with another circuit.
        let may_share = match kind {
            BreakerKind::Single => false,
            BreakerKind::Quad => true,
            _ => one.poles == 1,
        };
        match groups.iter_mut().find(|group| may_share && fits(group)) {
            Some((known, members)) => {
                // What is written of one of two circuits holds for the other.
                if *known == BreakerKind::OpensTogether {
                    *known = kind;
                }
                members.push(one);
            }
            None => groups.push((kind, vec![one])),
        }
    }
    let mut all: Vec<PanelBreaker> = groups
        .into_iter()
        .map(|(kind, circuits)| {
            let positions: BTreeSet<i64> = circuits.iter().flat_map(|one| one.positions.iter().copied()).collect();
            PanelBreaker { kind, positions: positions.into_iter().collect(), circuits }
        })
        .collect();
    all.sort_by_key(|one| one.positions.first().copied().unwrap_or(i64::MAX));
    all
}

fn kind(desk: &Desk<'_>, one: &BreakerCircuit) -> BreakerKind {
    let job = desk.job;
    let shares = !desk.ctx.index.multiwire_partners(one.item).is_empty();
    match job.text(one.item, circuit::BREAKER) {
        Some("tandem") => BreakerKind::Tandem,
        Some("quad") => BreakerKind::Quad,
        Some("tied_singles") => BreakerKind::TiedSingles,
        Some("two_pole") => BreakerKind::TwoPole,
        // Two single breakers for one circuit: what must tie them is for a rule to say.
        Some(_) if one.poles > 1 => BreakerKind::TiedSingles,
        Some(_) => BreakerKind::Single,
        None if job.flag(one.item, circuit::TANDEM) == Some(true) => BreakerKind::Tandem,
        None if one.poles > 1 => BreakerKind::TwoPole,
        None if shares && job.flag(one.item, circuit::COMMON_TRIP) != Some(false) => BreakerKind::OpensTogether,
        None => BreakerKind::Single,
    }
}

fn of_circuit(desk: &Desk<'_>, item: ItemIndex) -> BreakerCircuit {
    let job = desk.job;
    let slot = directory::slot(desk, item);
    let named = [(circuit::AFCI, "AFCI"), (circuit::GFCI, "GFCI")];
    BreakerCircuit {
        item,
        id: job.id(item).to_owned(),
        label: slot.label,
        proposed: slot.proposed,
        rating: job.quantity(item, circuit::RATING),
        poles: desk.count(item, circuit::POLES).unwrap_or(1),
        positions: directory::positions(desk, item),
        protection: named
            .into_iter()
            .filter(|(field, _)| job.flag(item, *field) == Some(true))
            .map(|it| it.1)
            .collect(),
        outlets: slot.outlets,
        spare: job.text(item, circuit::SERVES) == Some("spare"),
    }
}
