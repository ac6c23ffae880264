//! Lists that other items make by what they refer to: the boxes of a room, the ends of a cable.

use super::loader::Loader;
use crate::model::{Cell, FieldId, Filled, ItemIndex, KindId, Type};
use crate::source::Span;

impl<'a> Loader<'a> {
    /// Fills the inverse lists that go by a single link, or those that go `through` chains of links, which may lead over the others. They
    /// are recorded even when empty: what refers to an item is known from the job.
    pub(super) fn fill_inverse(&mut self, through: bool) {
        let schema = self.shape.schema;
        for (kind, spec) in schema.kinds() {
            for (at, field) in spec.fields.iter().enumerate() {
                let Filled::Inverse { kind: listed, via } = field.filled else { continue };
                let Some(listed) = schema.kind(listed) else { continue };
                let field = FieldId(at as u16);
                let via = schema.field(listed, via);
                let is_through = |via| matches!(schema.field_spec(listed, via).filled, Filled::Through(_));
                match via {
                    _ if via.is_some_and(is_through) != through => {}
                    Some(via) => self.fill_by(kind, field, listed, via),
                    None => self.fill_with_all(kind, field, listed),
                }
            }
        }
    }

    fn fill_with_all(&mut self, kind: KindId, field: FieldId, listed: KindId) {
        let job = self.builder.job();
        let cells: Vec<Cell> =
            job.of_kind(listed).iter().map(|&item| Cell::item(item, job.item(item).header)).collect();
        for holder in job.of_kind(kind).to_vec() {
            self.put_list(holder, field, &cells);
        }
    }

    fn fill_by(&mut self, kind: KindId, field: FieldId, listed: KindId, via: FieldId) {
        let job = self.builder.job();
        let is_list = matches!(self.shape.schema.field_spec(listed, via).ty, Type::List(_));
        let mut found: Vec<(ItemIndex, Cell)> = Vec::new();
        for &item in job.of_kind(listed) {
            let cell = job.cell(item, via);
            let one = [cell];
            let targets = match self.reached.get(&(item, via)) {
                Some(reached) => reached.as_slice(),
                None if cell.is_missing() => continue,
                None if is_list => job.list(cell.to_list()),
                None => &one,
            };
            let linked = targets.iter().filter_map(|target| Some((target.linked()?, target.span())));
            found.extend(linked.map(|(target, span)| (target, Cell::item(item, span))));
        }
        // Stable: items that refer to the same one stay in file order.
        found.sort_by_key(|(target, _)| *target);
        // One that names the same item twice is listed once.
        found.dedup_by_key(|(target, cell)| (*target, cell.to_item()));
        let (targets, cells): (Vec<ItemIndex>, Vec<Cell>) = found.into_iter().unzip();
        let mut next = 0;
        for at in 0..self.builder.job().of_kind(kind).len() {
            let Some(&holder) = self.builder.job().of_kind(kind).get(at) else { break };
            let count = |from: usize, wanted: fn(&ItemIndex, &ItemIndex) -> bool| {
                targets.get(from..).unwrap_or(&[]).iter().take_while(|target| wanted(target, &holder)).count()
            };
            next += count(next, |target, holder| target < holder);
            let own = count(next, |target, holder| target == holder);
            self.put_list(holder, field, cells.get(next..next + own).unwrap_or(&[]));
            next += own;
        }
    }

    fn put_list(&mut self, holder: ItemIndex, field: FieldId, cells: &[Cell]) {
        let header = self.builder.job().item(holder).header;
        let span = if header.is_some() { header } else { Span::DEFAULT };
        let list = self.builder.list(cells);
        self.builder.set(holder, field, Cell::list(list, span));
    }
}
