//! The schema as the reader walks it: which keys a table may hold, and what each of them fills.

use std::collections::HashMap;

use super::limits::Limit;
use crate::model::{FieldId, FieldSpec, Filled, KindId, KindSpec, Nest, Schema, Type};
use crate::quantity::Dimension;

/// What a key of a table stands for.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum KeyRole {
    /// The item's id.
    Id,
    /// A field.
    Field(FieldId),
    /// A nested kind, by its place in [`KindShape::nested`].
    Nested(usize),
    /// A room's defaults.
    Defaults,
}

/// A kind whose tables stand inside this one's under one key.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Nested {
    pub(crate) kind: KindId,
    pub(crate) key: &'static str,
    pub(crate) many: bool,
    pub(crate) short: Option<&'static str>,
}

/// A field that takes its value from a key with another name.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Taker {
    pub(crate) field: FieldId,
    /// The kind it refers to.
    pub(crate) kind: KindId,
}

/// How a written value is put away.
#[derive(Clone, Debug)]
pub(crate) enum How {
    /// In the field itself.
    Plain,
    /// A cable make: size and number of conductors.
    Make { size: Option<FieldId>, conductors: Option<FieldId> },
    /// Ids, each into the field for its kind (see [`FieldShape::takers`]).
    Ids,
    /// It is not written at all.
    Unwritten,
}

/// A field as the reader sees it.
#[derive(Clone, Debug)]
pub(crate) struct FieldShape {
    pub(crate) how: How,
    /// The fields that an id written here may fill; for a plain reference, the field itself.
    pub(crate) takers: Vec<Taker>,
    pub(crate) required: bool,
    pub(crate) as_built: bool,
    pub(crate) limit: Limit,
}

/// A kind as the reader sees it.
#[derive(Debug)]
pub(crate) struct KindShape<'s> {
    pub(crate) keys: HashMap<&'s str, KeyRole, ahash::RandomState>,
    /// The keys in the order of the schema.
    pub(crate) names: Vec<&'s str>,
    pub(crate) fields: Vec<FieldShape>,
    pub(crate) nested: Vec<Nested>,
    /// The field whose word picks a defaults table: `[defaults.device.receptacle]`.
    pub(crate) selector: Option<FieldId>,
    /// The field that names an item inside its parent.
    pub(crate) name: Option<FieldId>,
    /// The field that holds the item around it.
    pub(crate) parent: Option<FieldId>,
    /// The field that holds the key it stands under.
    pub(crate) side: Option<FieldId>,
    pub(crate) room: Option<FieldId>,
    pub(crate) wall: Option<FieldId>,
    /// Fields by which an item's room is known when none is written, surest first.
    pub(crate) room_by: Vec<FieldId>,
    /// Whether an item of the kind can be in a room.
    pub(crate) in_room: bool,
    /// Fields of which one may be written.
    pub(crate) one_of: Vec<FieldId>,
    /// Fields that must be filled.
    pub(crate) required: Vec<FieldId>,
}

/// The whole schema as the reader sees it.
#[derive(Debug)]
pub(crate) struct Shape<'s> {
    pub(crate) schema: &'s Schema,
    kinds: Vec<KindShape<'s>>,
    top: HashMap<&'s str, KindId>,
    pub(crate) room: Option<KindId>,
    pub(crate) wall: Option<KindId>,
}

/// Kinds for which another field than `kind` picks a defaults table.
const SELECTORS: &[(&str, &str)] = &[("box", "purpose"), ("cable", "wiring_method"), ("raceway", "wiring_method")];

/// Fields that say the same thing in different ways.
const ONE_OF: &[(&str, &[&str])] = &[("box", &["height", "top", "bottom"])];

impl<'s> Shape<'s> {
    pub(crate) fn new(schema: &'s Schema) -> Shape<'s> {
        let mut top = HashMap::new();
        for (id, spec) in schema.kinds() {
            if let Nest::Single(key) | Nest::Top(key) = spec.nest {
                top.insert(key, id);
            }
        }
        let mut shape = Shape { schema, kinds: Vec::new(), top, room: schema.kind("room"), wall: schema.kind("wall") };
        for (id, spec) in schema.kinds() {
            let kind = KindShape::new(schema, id, spec);
            shape.kinds.push(kind);
        }
        shape
    }

    /// Returns a kind's shape.
    pub(crate) fn kind(&self, kind: KindId) -> &KindShape<'s> {
        &self.kinds[kind.0 as usize]
    }

    /// Returns a field's shape.
    pub(crate) fn field(&self, kind: KindId, field: FieldId) -> &FieldShape {
        &self.kinds[kind.0 as usize].fields[field.0 as usize]
    }

    /// Returns the kind whose tables stand at the top under a key.
    pub(crate) fn top(&self, key: &str) -> Option<KindId> {
        self.top.get(key).copied()
    }

    /// Returns the keys that may stand at the top of a job file.
    pub(crate) fn top_keys(&self) -> impl Iterator<Item = &'s str> + Clone + '_ {
        self.schema
            .kinds()
            .filter_map(|(_, spec)| match spec.nest {
                Nest::Single(key) | Nest::Top(key) => Some(key),
                Nest::Inside { .. } => None,
            })
            .collect::<Vec<_>>()
            .into_iter()
            .chain(["format", "defaults"])
    }
}

impl<'s> KindShape<'s> {
    fn new(schema: &'s Schema, id: KindId, spec: &'s KindSpec) -> KindShape<'s> {
        let numbered = spec.fields.iter().enumerate();
        let fields: Vec<FieldShape> =
            numbered.map(|(at, field)| field_shape(schema, spec, FieldId(at as u16), field)).collect();
        let named = |name: &str| schema.field(id, name);
        let linked = |name: &str| {
            named(name).filter(|&at| {
                spec.fields.get(at.0 as usize).is_some_and(|f| matches!(&f.ty, Type::Item(kind) if *kind == name))
            })
        };
        let nesting = |wanted: fn(&Type) -> bool| {
            let at = spec.fields.iter().position(|f| f.filled == Filled::Nesting && wanted(&f.ty))?;
            Some(FieldId(at as u16))
        };
        let selector = SELECTORS.iter().find(|(kind, _)| *kind == spec.name).map_or("kind", |&(_, field)| field);
        let mut nested = Vec::new();
        for (inner, inner_spec) in schema.kinds() {
            if let Nest::Inside { parent, keys, many, short } = inner_spec.nest
                && parent == spec.name
            {
                nested.extend(keys.iter().map(|key| Nested { kind: inner, key, many, short }));
            }
        }
        let mut shape = KindShape {
            keys: HashMap::default(),
            names: Vec::new(),
            selector: named(selector)
                .filter(|&at| spec.fields.get(at.0 as usize).is_some_and(|f| matches!(f.ty, Type::Word(_)))),
            name: named("name"),
            parent: nesting(|ty| matches!(ty, Type::Item(_))),
            side: nesting(|ty| matches!(ty, Type::Word(_))),
            room: linked("room"),
            wall: linked("wall"),
            room_by: ["box", "wall", "counter"].into_iter().filter_map(linked).collect(),
            in_room: false,
            one_of: ONE_OF
                .iter()
                .filter(|(kind, _)| *kind == spec.name)
                .flat_map(|(_, names)| *names)
                .filter_map(|name| named(name))
                .collect(),
            required: fields
                .iter()
                .enumerate()
                .filter(|(_, field)| field.required)
                .map(|(at, _)| FieldId(at as u16))
                .collect(),
            fields,
            nested,
        };
        shape.in_room = shape.room.is_some() || !shape.room_by.is_empty();
        shape.fill_keys(spec);
        shape
    }

    fn fill_keys(&mut self, spec: &'s KindSpec) {
        let mut roles = Vec::new();
        if !matches!(spec.nest, Nest::Single(_)) {
            roles.push(("id", KeyRole::Id));
        }
        let fields = spec.fields.iter().zip(&self.fields).enumerate();
        let written = fields.filter(|(_, (_, shape))| !matches!(shape.how, How::Unwritten));
        roles.extend(written.map(|(at, (field, _))| (field.name, KeyRole::Field(FieldId(at as u16)))));
        roles.extend(self.nested.iter().enumerate().map(|(at, nested)| (nested.key, KeyRole::Nested(at))));
        if spec.name == "room" {
            roles.push(("defaults", KeyRole::Defaults));
        }
        self.names = roles.iter().map(|(name, _)| *name).collect();
        self.keys = roles.into_iter().collect();
    }
}

fn field_shape(schema: &Schema, kind: &KindSpec, at: FieldId, field: &FieldSpec) -> FieldShape {
    let mut takers = Vec::new();
    let (how, required, as_built) = match field.filled {
        Filled::Written { required, as_built } => {
            takers.extend(taker(schema, at, &field.ty));
            (How::Plain, required, as_built)
        }
        Filled::Key { required } => (behind_key(schema, kind, field.name, &mut takers), required, false),
        Filled::By(_) | Filled::Inverse { .. } | Filled::Through(_) | Filled::Nesting | Filled::Derived => {
            (How::Unwritten, false, false)
        }
    };
    FieldShape { how, takers, required, as_built, limit: Limit::of(kind.name, field) }
}

fn taker(schema: &Schema, field: FieldId, ty: &Type) -> Option<Taker> {
    let ty = match ty {
        Type::List(inner) => inner,
        other => other,
    };
    let Type::Item(name) = ty else { return None };
    schema.kind(name).map(|kind| Taker { field, kind })
}

fn behind_key(schema: &Schema, kind: &KindSpec, key: &str, takers: &mut Vec<Taker>) -> How {
    let (mut size, mut conductors) = (None, None);
    for (at, field) in kind.fields.iter().enumerate() {
        let id = FieldId(at as u16);
        match (&field.filled, &field.ty) {
            (Filled::By(by), _) if *by != key => {}
            (Filled::By(_), Type::Quantity(Dimension::Conductor)) => size = Some(id),
            (Filled::By(_), Type::Quantity(Dimension::Number)) => conductors = Some(id),
            (Filled::By(_), ty) => takers.extend(taker(schema, id, ty)),
            _ => {}
        }
    }
    if size.is_some() || conductors.is_some() { How::Make { size, conductors } } else { How::Ids }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_named_here_exists() {
        let schema = Schema::dwelling();
        let shape = Shape::new(&schema);
        for (kind, field) in SELECTORS {
            let id = schema.kind(kind).unwrap();
            assert_eq!(shape.kind(id).selector, schema.field(id, field));
            assert!(shape.kind(id).selector.is_some(), "{kind}.{field}");
        }
        for (kind, fields) in ONE_OF {
            assert_eq!(shape.kind(schema.kind(kind).unwrap()).one_of.len(), fields.len());
        }
        let of = |kind: &str| shape.kind(schema.kind(kind).unwrap());
        assert!(of("box").wall.is_some() && of("cable_end").parent.is_some() && of("cable_end").side.is_some());
        assert!(of("device").in_room && !of("cable").in_room);
    }

    #[test]
    fn every_reference_and_every_key_has_a_field_to_fill() {
        let schema = Schema::dwelling();
        let shape = Shape::new(&schema);
        for (kind, spec) in schema.kinds() {
            for (field, of) in spec.fields.iter().zip(&shape.kind(kind).fields) {
                let refers = matches!(of.how, How::Ids) || matches!((&of.how, &field.ty), (How::Plain, Type::Item(_)));
                assert_eq!(refers, !of.takers.is_empty(), "{}.{}", spec.name, field.name);
            }
        }
    }
}
