//! What a `[[feeder]]` says, said of the panel that it ends at and of the circuit that it starts from as well, and the buildings of panels.

use std::collections::HashMap;

use super::loader::Loader;
use crate::model::kinds::{building, cable, cable_end, circuit, feeder, panel, raceway, raceway_conductor, room};
use crate::model::{Cell, FieldId, ItemIndex};
use crate::problem::Problem;
use crate::source::Span;

/// Fields of a feeder that can be written at the panel that it ends at as well.
const AT_PANEL: &[(FieldId, FieldId)] = &[
    (feeder::SIZE, panel::FEEDER_SIZE),
    (feeder::MATERIAL, panel::FEEDER_MATERIAL),
    (feeder::WIRING_METHOD, panel::FEEDER_METHOD),
    (feeder::BREAKER, panel::FEEDER_BREAKER),
    (feeder::IS_WHOLE, panel::FEEDER_IS_WHOLE),
    (feeder::WIRES, panel::FEEDER_WIRES),
];

impl Loader<'_> {
    fn all_of(&self, kind: &str) -> Vec<ItemIndex> {
        self.shape.schema.kind(kind).map_or_else(Vec::new, |kind| self.builder.job().of_kind(kind).to_vec())
    }

    /// Links circuits that serve as feeders to the panel at the far end of their cable or raceway, where nothing else says which it is.
    fn link_ends_of_feeder_circuits(&mut self) {
        let feeder = self.builder.intern("feeder");
        let mut reached: Vec<(ItemIndex, Cell)> = Vec::new();
        let linked = |loader: &Self, item, field| loader.cell(item, field).linked();
        for end in self.all_of(cable_end::NAME) {
            let circuit = linked(self, end, cable_end::CABLE).and_then(|cable| linked(self, cable, cable::CIRCUIT));
            reached.extend(circuit.map(|circuit| (circuit, self.cell(end, cable_end::PANEL))));
        }
        for strand in self.all_of(raceway_conductor::NAME) {
            let circuit = linked(self, strand, raceway_conductor::CIRCUIT);
            let (Some(circuit), Some(duct)) = (circuit, linked(self, strand, raceway_conductor::RACEWAY)) else {
                continue;
            };
            reached.extend([raceway::FROM_PANEL, raceway::TO_PANEL].map(|end| (circuit, self.cell(duct, end))));
        }
        for item in self.all_of(circuit::NAME) {
            let serves = self.cell(item, circuit::SERVES);
            let is_feeder = !serves.is_missing() && serves.to_symbol() == feeder;
            let Some(start) = linked(self, item, circuit::PANEL).filter(|_| is_feeder) else { continue };
            let mut ends = reached.iter().filter(|(circuit, _)| *circuit == item).map(|(_, end)| *end);
            let far = ends.find(|end| end.linked().is_some_and(|end| end != start));
            if let Some(far) = far.filter(|_| self.is_open(item, circuit::FEEDS)) {
                self.builder.set(item, circuit::FEEDS, far);
            }
            let Some(end) = linked(self, item, circuit::FEEDS) else { continue };
            if self.is_open(end, panel::FED_BY) {
                self.builder.set(end, panel::FED_BY, Cell::item(start, self.cell(item, circuit::FEEDS).span()));
            }
        }
    }

    /// Links the panels and circuits of feeders to each other, and panels to the buildings of their rooms.
    pub(super) fn link_feeders(&mut self) {
        let mut ends: HashMap<ItemIndex, Span> = HashMap::new();
        for item in self.all_of(feeder::NAME) {
            let (from, to) = (self.cell(item, feeder::FROM), self.cell(item, feeder::TO));
            let (Some(start), Some(end)) = (from.linked(), to.linked()) else { continue };
            if let Some(first) = ends.insert(end, to.span()) {
                let problem = Problem::new(to.span(), format!("two feeders end at {}", self.called(end)));
                let problem = problem.label("second feeder").mark(first, "first feeder");
                self.problem(
                    problem.help("leave one out, or write the panel or disconnect that the other one ends at"),
                );
                continue;
            }
            let help = "write the same panel in both places, or leave it to the feeder";
            self.same_link(end, panel::FED_BY, Cell::item(start, from.span()), item, help);
            let Some(breaker) = self.cell(item, feeder::CIRCUIT).linked() else { continue };
            self.same_link(breaker, circuit::FEEDS, Cell::item(end, to.span()), item, help);
            self.same_link(breaker, circuit::PANEL, Cell::item(start, from.span()), item, help);
            let word = Cell::text(self.builder.intern("feeder"), self.cell(item, feeder::CIRCUIT).span());
            let help = "write `serves = \"feeder\"`, or another circuit in the feeder";
            self.same_link(breaker, circuit::SERVES, word, item, help);
        }
        self.link_ends_of_feeder_circuits();
        for item in self.all_of(panel::NAME) {
            let building = self.cell(item, panel::ROOM).linked().map(|room| self.cell(room, room::BUILDING));
            if let Some(building) = building.filter(|building| building.linked().is_some())
                && self.is_open(item, panel::BUILDING)
            {
                self.builder.set(item, panel::BUILDING, building);
            }
        }
        for item in self.all_of(feeder::NAME) {
            let at = |field| self.cell(item, field).linked().and_then(|end| self.cell(end, panel::BUILDING).linked());
            let (from, to) = (at(feeder::FROM), at(feeder::TO));
            if let Some(there) = to.filter(|_| to != from)
                && self.is_open(there, building::SUPPLY)
            {
                let word = Cell::text(self.builder.intern("feeder"), self.cell(item, feeder::TO).span());
                self.builder.set(there, building::SUPPLY, word);
            }
        }
    }

    /// Fills what a feeder leaves to its circuit or panel, and what they leave to it.
    pub(super) fn fill_feeders(&mut self) {
        for item in self.all_of(feeder::NAME) {
            if let Some(breaker) = self.cell(item, feeder::CIRCUIT).linked() {
                self.same(item, feeder::BREAKER, breaker, circuit::RATING, item);
            }
            if let Some(end) = self.cell(item, feeder::TO).linked() {
                for &(own, at_panel) in AT_PANEL {
                    self.same(item, own, end, at_panel, item);
                }
            }
        }
        for breaker in self.all_of(circuit::NAME) {
            let (feeds, rating) = (self.cell(breaker, circuit::FEEDS).linked(), self.cell(breaker, circuit::RATING));
            if let Some(end) = feeds
                && !rating.is_missing()
                && self.is_open(end, panel::FEEDER_BREAKER)
            {
                self.builder.set(end, panel::FEEDER_BREAKER, rating);
            }
        }
    }

    fn is_open(&self, item: ItemIndex, field: FieldId) -> bool {
        self.cell(item, field).is_missing() && !self.faulty.contains(&(item, field))
    }

    /// Puts into a field what a feeder says of it; notes where the field already says something else.
    fn same_link(&mut self, item: ItemIndex, field: FieldId, said: Cell, by: ItemIndex, help: &str) {
        if self.is_open(item, field) {
            self.builder.set(item, field, said);
        } else {
            self.told_apart(item, field, said, by, help);
        }
    }

    /// Fills each of two fields that mean the same from the other; notes where they differ.
    fn same(&mut self, a: ItemIndex, of_a: FieldId, b: ItemIndex, of_b: FieldId, by: ItemIndex) {
        let (first, second) = (self.cell(a, of_a), self.cell(b, of_b));
        if !first.is_missing() && self.is_open(b, of_b) {
            self.builder.set(b, of_b, first);
        } else if !second.is_missing() && self.is_open(a, of_a) {
            self.builder.set(a, of_a, second);
        } else if !first.is_missing() {
            self.told_apart(b, of_b, first, by, "write the same in both places, or leave one of them out");
        }
    }

    fn told_apart(&mut self, item: ItemIndex, field: FieldId, said: Cell, by: ItemIndex, help: &str) {
        let written = self.cell(item, field);
        if written.is_missing() || written.bits() == said.bits() {
            return;
        }
        let name = self.shape.schema.field_spec(self.kind_of(item), field).name;
        let message = format!("`{name}` of {} is not what {} says", self.called(item), self.called(by));
        let problem = Problem::new(written.span(), message).label("one thing here");
        self.problem(problem.mark(said.span(), "another here").help(help));
    }
}
