//! What it means that a link is not written, where another field of the item tells: a box in a ceiling is on no wall, a blank is
//! on no circuit.

use super::loader::Loader;
use crate::model::{Cell, ItemIndex, Type};
use crate::source::Span;

/// A link that only some items of a kind can have.
struct OnlyFor {
    kind: &'static str,
    link: &'static str,
    /// The field whose word tells which.
    by: &'static str,
    /// The words with which an item may have it. With any other, what is not written is none.
    words: &'static [&'static str],
}

/// This is about what things are, never about a code.
const ONLY_FOR: &[OnlyFor] = &[
    OnlyFor { kind: "box", link: "wall", by: "mounted", words: &["wall", "floor"] },
    OnlyFor { kind: "counter", link: "wall", by: "kind", words: &["wall", "peninsula"] },
    OnlyFor {
        kind: "opening",
        link: "to",
        by: "kind",
        words: &["door", "doorway", "sliding_door", "vehicle_door", "stair"],
    },
    OnlyFor { kind: "device", link: "circuit", by: "kind", words: WIRED },
    OnlyFor { kind: "device", link: "lights", by: "kind", words: CONTROLS },
    OnlyFor { kind: "device", link: "controlled_devices", by: "kind", words: CONTROLS },
    OnlyFor { kind: "device", link: "controlled_appliances", by: "kind", words: CONTROLS },
];

/// Devices that a circuit may feed: all but blanks.
const WIRED: &[&str] = &[
    "receptacle",
    "switch",
    "dimmer",
    "fan_control",
    "timer",
    "occupancy_sensor",
    "thermostat",
    "disconnect",
    "smoke_alarm",
    "co_alarm",
    "doorbell",
];

/// Devices that control others.
const CONTROLS: &[&str] = &["switch", "dimmer", "fan_control", "timer", "occupancy_sensor", "thermostat", "disconnect"];

impl Loader<'_> {
    /// Records as none what items leave out that can't have it.
    pub(super) fn fill_nothing(&mut self) {
        let schema = self.shape.schema;
        for only in ONLY_FOR {
            let Some(kind) = schema.kind(only.kind) else { continue };
            let (Some(link), Some(by)) = (schema.field(kind, only.link), schema.field(kind, only.by)) else { continue };
            let is_list = matches!(schema.field_spec(kind, link).ty, Type::List(_));
            let may: Vec<_> = only.words.iter().map(|word| self.builder.intern(word)).collect();
            let items: Vec<ItemIndex> = self.builder.job().of_kind(kind).to_vec();
            for item in items {
                let tells = self.cell(item, by);
                if !self.cell(item, link).is_missing() || tells.is_missing() || may.contains(&tells.to_symbol()) {
                    continue;
                }
                let cell = match is_list {
                    true => Cell::list(self.builder.list(&[]), Span::DEFAULT),
                    false => Cell::no_item(Span::DEFAULT),
                };
                self.builder.set(item, link, cell);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::Schema;

    #[test]
    fn every_link_and_word_named_here_exists() {
        let schema = Schema::dwelling();
        for only in ONLY_FOR {
            let kind = schema.kind(only.kind).unwrap();
            let ty = |name| &schema.field_spec(kind, schema.field(kind, name).unwrap()).ty;
            let member = match ty(only.link) {
                Type::List(member) => member,
                other => other,
            };
            assert!(matches!(member, Type::Item(_)), "{}.{}", only.kind, only.link);
            let Type::Word(words) = ty(only.by) else { panic!("{}.{} has no words", only.kind, only.by) };
            assert!(only.words.iter().all(|word| words.contains(word)), "{}.{}", only.kind, only.by);
        }
    }
}
