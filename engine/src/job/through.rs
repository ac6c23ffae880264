//! Lists of what chains of links lead to: the boxes that a raceway joins, the circuits whose conductors it holds.

use super::loader::Loader;
use crate::model::{Cell, FieldId, Filled, ItemIndex, LinkState, Type};
use crate::source::Span;

impl Loader<'_> {
    /// Fills all such lists. What is known goes into the lists of the items that are reached even where a link on the way is not recorded;
    /// the list itself is then not recorded either.
    pub(super) fn fill_through(&mut self) {
        let schema = self.shape.schema;
        for (kind, spec) in schema.kinds() {
            for (at, field) in spec.fields.iter().enumerate() {
                let Filled::Through(chains) = field.filled else { continue };
                let field = FieldId(at as u16);
                for item in self.builder.job().of_kind(kind).to_vec() {
                    self.fill_item_through(item, field, chains);
                }
            }
        }
    }

    fn fill_item_through(&mut self, item: ItemIndex, field: FieldId, chains: &[&str]) {
        let mut found: Vec<Cell> = Vec::new();
        let mut whole = true;
        for chain in chains {
            let mut here = vec![Cell::item(item, Span::DEFAULT)];
            for link in chain.split('.') {
                let mut next = Vec::new();
                for from in here.into_iter().filter_map(Cell::linked) {
                    whole &= self.follow(from, link, &mut next);
                }
                here = next;
            }
            for cell in here {
                if !found.iter().any(|known| known.to_item() == cell.to_item()) {
                    found.push(cell);
                }
            }
        }
        if whole {
            let header = self.builder.job().item(item).header;
            let span = if header.is_some() { header } else { Span::DEFAULT };
            let list = self.builder.list(&found);
            self.builder.set(item, field, Cell::list(list, span));
        }
        self.reached.insert((item, field), found);
    }

    /// Adds what a link of an item leads to; returns whether all of it is recorded.
    pub(super) fn follow(&self, from: ItemIndex, link: &str, next: &mut Vec<Cell>) -> bool {
        let job = self.builder.job();
        let kind = job.item(from).kind;
        let Some(field) = job.schema.field(kind, link) else { return true };
        let cell = job.cell(from, field);
        match (&job.schema.field_spec(kind, field).ty, cell.to_link()) {
            _ if cell.is_missing() => return false,
            (Type::List(_), _) => next.extend(job.list(cell.to_list())),
            (_, LinkState::To(_)) => next.push(cell),
            (_, LinkState::None | LinkState::NotRecorded) => {}
        }
        true
    }
}
