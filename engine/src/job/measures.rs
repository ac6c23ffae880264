//! `[[measure]]`: values measured on site, which stand in place of planned ones.

use std::collections::HashMap;

use toml::de::DeValue;

use super::document::{At, Key};
use super::loader::Loader;
use super::noted::{Form, Link, Measure, Value};
use super::shape::{How, KeyRole};
use super::words::{a, short};
use crate::model::kinds::{measure, room, wall};
use crate::model::{Cell, FieldId, ItemIndex, KindId};
use crate::problem::Problem;

impl<'a> Loader<'a> {
    /// Returns whether a field holds a measured value, whose type is that of another item's field.
    pub(super) fn is_measured_value(&self, kind: KindId, field: FieldId) -> bool {
        field == measure::VALUE && self.shape.schema.spec(kind).name == measure::NAME
    }

    /// Keeps a measured value until the field that it is for is known.
    pub(super) fn read_measured_value(&mut self, item: ItemIndex, field: FieldId, at: At<'a>) {
        if let DeValue::Table(_) = at.value.get_ref() {
            let problem = Problem::new(at.span(), "`value` wants a value, not a table").label("a table");
            self.problem(problem.help("write the value as the field itself would have it"));
            self.faulty.insert((item, field));
            return;
        }
        let text = self.builder.intern(at.text().unwrap_or(at.raw()));
        self.builder.set(item, field, Cell::text(text, at.span()));
        self.measures.push(Measure { item, value: at });
    }

    /// Puts measured values in place. Of several for one field the last in the file stands.
    pub(super) fn apply_measures(&mut self) {
        let mut standing: Vec<(ItemIndex, FieldId, Value<'a>)> = Vec::new();
        let mut places: HashMap<(ItemIndex, FieldId), usize> = HashMap::new();
        for measure in std::mem::take(&mut self.measures) {
            let Some((target, field)) = self.measured_field(measure.item) else { continue };
            let Some(value) = self.value(self.kind_of(target), field, measure.value, Form::Measured) else { continue };
            let group = &self.shape.kind(self.kind_of(target)).one_of;
            // A measured top edge stands over a measured centre.
            let slot = if group.contains(&field) { group.first().copied().unwrap_or(field) } else { field };
            match places.get(&(target, slot)).and_then(|&at| standing.get_mut(at)) {
                Some(earlier) => *earlier = (target, field, value),
                None => {
                    places.insert((target, slot), standing.len());
                    standing.push((target, field, value));
                }
            }
        }
        let made_walls = std::mem::take(&mut self.made_walls);
        for (target, field, value) in standing {
            // The walls of a rectangular room follow its measured sides, unless they are measured themselves.
            if let (Some(walls), Value::Cell(cell)) = (made_walls.get(&target), &value)
                && (field == room::LENGTH || field == room::WIDTH)
            {
                let sides = if field == room::LENGTH { [walls[0], walls[2]] } else { [walls[1], walls[3]] };
                for side in sides.into_iter().filter(|&side| !places.contains_key(&(side, wall::LENGTH))) {
                    self.builder.measure(side, wall::LENGTH, *cell);
                }
            }
            self.put_measured(target, field, value);
        }
    }

    fn put_measured(&mut self, target: ItemIndex, field: FieldId, value: Value<'a>) {
        let shape = self.shape.kind(self.kind_of(target));
        let how = &self.shape.field(self.kind_of(target), field).how;
        if shape.one_of.contains(&field) {
            for &other in shape.one_of.iter().filter(|&&other| other != field) {
                self.builder.set_aside(target, other);
            }
        }
        match value {
            Value::Cell(cell) => self.builder.measure(target, field, cell),
            Value::Make { make, size, conductors } => {
                self.builder.measure(target, field, make);
                if let How::Make { size: size_field, conductors: conductors_field } = *how {
                    for (field, cell) in [(size_field, size), (conductors_field, conductors)] {
                        if let Some(field) = field {
                            self.builder.measure(target, field, cell);
                        }
                    }
                }
            }
            Value::Names { names, span, cell } => {
                self.builder.set_aside(target, field);
                let takers = &self.shape.field(self.kind_of(target), field).takers;
                takers.iter().for_each(|taker| self.builder.set_aside(target, taker.field));
                if let Some(cell) = cell {
                    self.builder.set(target, field, cell);
                }
                self.resolve(&Link { item: target, field, names, span });
            }
        }
    }

    /// Returns the item and field that a `[[measure]]` is for.
    fn measured_field(&mut self, measure: ItemIndex) -> Option<(ItemIndex, FieldId)> {
        let text = |loader: &Self, field| {
            let cell = loader.cell(measure, field);
            (!cell.is_missing()).then(|| (loader.builder.job().symbols.text(cell.to_symbol()).to_owned(), cell.span()))
        };
        let (id, id_span) = text(self, measure::ITEM)?;
        let (name, name_span) = text(self, measure::FIELD)?;
        let Some(target) = self.builder.job().find(&id) else {
            let problem = self.dangling(&id, id_span, &[], measure);
            self.consequence(problem);
            return None;
        };
        let kind = self.kind_of(target);
        match self.shape.kind(kind).keys.get(name.as_str()) {
            Some(&KeyRole::Field(field)) if !self.is_measured_value(kind, field) => Some((target, field)),
            Some(_) => {
                let spec = self.shape.schema.spec(kind);
                let problem = Problem::new(name_span, format!("`{}` of {} can't be measured", short(&name), a(spec)))
                    .label("no field");
                self.problem(problem.help("name a field that holds a value"));
                None
            }
            None => {
                let called = self.called(target);
                let problem = self.unknown_key(kind, Key { text: &name, span: name_span }, &called);
                self.problem(problem);
                None
            }
        }
    }
}
