//! Which items are existing work. An item that does not say takes it from what it belongs to, unless it serves something new: what nobody
//! calls existing is new work, which all rules look at.

use super::loader::Loader;
use crate::model::{Cell, FieldId, ItemIndex};
use crate::source::Span;

/// From what items of a kind that say nothing take whether they are existing.
struct Belongs {
    kind: &'static str,
    /// Chains of links to what it belongs to: the first one that leads anywhere counts, and all that it leads to must be existing.
    to: &'static [&'static str],
    /// Chains of links to what it serves: where any of that is new, it is new as well.
    serves: &'static [&'static str],
}

const fn belongs(kind: &'static str, to: &'static [&'static str], serves: &'static [&'static str]) -> Belongs {
    Belongs { kind, to, serves }
}

/// A kind comes after those that it belongs to and serves. Kinds that are not here are never existing.
const BELONGS: &[Belongs] = &[
    belongs("room", &[], &[]),
    belongs("wall", &["room"], &[]),
    belongs("opening", &["room"], &[]),
    belongs("counter", &["room"], &[]),
    belongs("counter_break", &["counter"], &[]),
    belongs("basin", &["room"], &[]),
    belongs("building", &[], &[]),
    belongs("electrode", &["building"], &[]),
    belongs("panel", &[], &[]),
    belongs("feeder", &["to"], &[]),
    belongs("box", &["room"], &[]),
    belongs("device", &["box", "room"], &[]),
    belongs("luminaire", &["box", "room"], &[]),
    belongs("appliance", &["room"], &[]),
    belongs(
        "circuit",
        &["panel"],
        &[
            "devices",
            "luminaires",
            "appliances",
            "feeds",
            // A cable that says itself that it is new; the others go by their circuits.
            "cables",
            "cables.ends.box",
            "cables.ends.luminaire",
            "cables.ends.appliance",
        ],
    ),
    belongs("cable", &["circuit"], &["second_circuit", "ends.box", "ends.luminaire", "ends.appliance"]),
    belongs("cable_end", &["cable"], &[]),
    belongs("hole", &["cable"], &[]),
    belongs("raceway", &["circuits"], &["boxes", "from_luminaire", "to_luminaire", "from_appliance", "to_appliance"]),
    belongs("raceway_conductor", &["raceway"], &["circuit"]),
    belongs("splice", &["box"], &[]),
    belongs("landing", &["box"], &[]),
    belongs("panel_landing", &["panel"], &[]),
    belongs("cap", &["box"], &[]),
];

/// What is known of an item so far: whether it is existing, and where that is written.
type Known = Option<(bool, Span)>;

impl Loader<'_> {
    /// Fills the fields `existing` and `replaces`, and notes which items are existing work.
    pub(super) fn fill_existing(&mut self) {
        let mut known = self.told();
        let any = known.iter().flatten().any(|(existing, _)| *existing);
        // In an existing dwelling it is told of each item whether it was taken for existing or for new.
        let told = any || self.site_is_existing();
        let mut taken = Vec::new();
        for belongs in BELONGS {
            let Some(kind) = self.shape.schema.kind(belongs.kind) else { continue };
            let field = self.shape.schema.field(kind, "existing");
            for item in self.builder.job().of_kind(kind).to_vec() {
                if self.known(item, &known).is_some() {
                    continue;
                }
                let found = if any { self.found(item, belongs, &known) } else { (false, Span::DEFAULT) };
                if let Some(slot) = known.get_mut(item.0 as usize) {
                    *slot = Some(found);
                }
                if let Some(field) = field {
                    self.builder.set(item, field, Cell::flag(found.0, found.1));
                    taken.extend(told.then_some((item, field)));
                }
            }
        }
        self.fill_replaces(&known, any, &mut taken);
        if told {
            let first = known.iter().flatten().find(|(existing, span)| *existing && span.is_some());
            self.fill_new_work(first.map_or(Span::DEFAULT, |(_, span)| *span), &mut taken);
            let existing = known.iter().map(|one| one.is_some_and(|(existing, _)| existing));
            self.builder.existing(if any { existing.collect() } else { Vec::new() }, taken);
        }
    }

    /// Returns whether the job says that its dwelling is not wired anew.
    fn site_is_existing(&self) -> bool {
        let job = self.builder.job();
        let Some(kind) = job.schema.kind("site") else { return false };
        let Some(field) = job.schema.field(kind, "new_work") else { return false };
        job.of_kind(kind).iter().any(|&site| job.flag(site, field) == Some(false))
    }

    /// Returns what items say themselves, a default among it, by the number of the item.
    fn told(&self) -> Vec<Known> {
        let job = self.builder.job();
        let mut told: Vec<Known> = vec![None; job.len()];
        for (item, one) in job.items() {
            let Some(field) = job.schema.field(one.kind, "existing") else { continue };
            let cell = job.cell(item, field);
            if let Some(slot) = told.get_mut(item.0 as usize).filter(|_| !cell.is_missing()) {
                *slot = Some((cell.to_flag(), cell.span()));
            }
        }
        told
    }

    fn known(&self, item: ItemIndex, known: &[Known]) -> Known {
        known.get(item.0 as usize).copied().flatten()
    }

    /// Returns what an item takes from others.
    fn found(&self, item: ItemIndex, belongs: &Belongs, known: &[Known]) -> (bool, Span) {
        let new = (false, Span::DEFAULT);
        let of = |item: &ItemIndex| known.get(item.0 as usize).copied().flatten();
        let owners = belongs.to.iter().map(|chain| self.reach(item, chain)).find(|found| !found.is_empty());
        let mut owners = owners.iter().flatten().map(|owner| of(owner).unwrap_or(new));
        let Some(first) = owners.next() else { return new };
        if !first.0 || owners.any(|(existing, _)| !existing) {
            return new;
        }
        let is_new = |item: &ItemIndex| of(item).is_some_and(|(existing, _)| !existing);
        if belongs.serves.iter().any(|chain| self.reach(item, chain).iter().any(is_new)) { new } else { first }
    }

    /// Returns the items that a chain of links leads to.
    fn reach(&self, item: ItemIndex, chain: &str) -> Vec<ItemIndex> {
        let mut here = vec![item];
        for link in chain.split('.') {
            let mut next = Vec::new();
            for from in here {
                self.follow(from, link, &mut next);
            }
            here = next.into_iter().filter_map(Cell::linked).collect();
        }
        here
    }

    /// A new device or luminaire at an existing box stands in place of an older one, unless it says otherwise. At a box that nobody has
    /// recorded nobody can tell.
    fn fill_replaces(&mut self, known: &[Known], any: bool, taken: &mut Vec<(ItemIndex, FieldId)>) {
        let is = |item: ItemIndex| known.get(item.0 as usize).copied().flatten().is_some_and(|(is, _)| is);
        for name in ["device", "luminaire"] {
            let Some(kind) = self.shape.schema.kind(name) else { continue };
            let Some(field) = self.shape.schema.field(kind, "replaces") else { continue };
            for item in self.builder.job().of_kind(kind).to_vec() {
                if !self.cell(item, field).is_missing() {
                    continue;
                }
                let at_box = self.reach(item, "box");
                let unplaced = self.shape.schema.field(kind, "box").is_some_and(|at| self.cell(item, at).is_missing());
                if any && !is(item) && unplaced {
                    continue;
                }
                let replaces = !is(item) && at_box.first().is_some_and(|&at| is(at));
                let span = self.known(item, known).map_or(Span::DEFAULT, |(_, span)| span);
                self.builder.set(item, field, Cell::flag(replaces, span));
                taken.extend(replaces.then_some((item, field)));
            }
        }
    }

    /// Where something is existing, the dwelling is not a new one, unless the job says so.
    fn fill_new_work(&mut self, span: Span, taken: &mut Vec<(ItemIndex, FieldId)>) {
        let Some(kind) = self.shape.schema.kind("site") else { return };
        let Some(field) = self.shape.schema.field(kind, "new_work") else { return };
        for site in self.builder.job().of_kind(kind).to_vec() {
            if self.cell(site, field).is_default() && span.is_some() {
                self.builder.set(site, field, Cell::flag(false, span));
                taken.push((site, field));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{Schema, Type};

    #[test]
    fn every_kind_and_link_named_here_exists() {
        let schema = Schema::dwelling();
        for one in BELONGS {
            let first = schema.kind(one.kind).unwrap();
            for chain in one.to.iter().chain(one.serves) {
                let mut kind = first;
                for link in chain.split('.') {
                    let field = schema.field(kind, link).unwrap_or_else(|| panic!("{}.{chain}", one.kind));
                    let ty = match &schema.field_spec(kind, field).ty {
                        Type::List(member) => member,
                        other => other,
                    };
                    let Type::Item(to) = ty else { panic!("{}.{chain} is no link", one.kind) };
                    kind = schema.kind(to).unwrap();
                }
            }
        }
    }

    #[test]
    fn every_kind_that_says_so_is_here() {
        let schema = Schema::dwelling();
        for (kind, spec) in schema.kinds() {
            let says = schema.field(kind, "existing").is_some();
            assert!(!says || BELONGS.iter().any(|one| one.kind == spec.name), "{}", spec.name);
        }
    }
}
