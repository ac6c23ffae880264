//! Fields with a value of the job format's own that computations read: what a verdict may rest on without any rule naming it.

use crate::model::kinds::{
    appliance, cable, circuit, device, outlet_box, raceway, raceway_conductor, room, site, wall,
};
use crate::model::{FieldId, KindId, Schema};

/// The fields, by the name of their kind.
const READ: &[(&str, FieldId)] = &[
    (appliance::NAME, appliance::CONTINUOUS),
    (appliance::NAME, appliance::IS_MOTOR),
    (cable::NAME, cable::GROUND),
    (cable::NAME, cable::ON_ROOF),
    (circuit::NAME, circuit::AFCI),
    (circuit::NAME, circuit::GFCI),
    (circuit::NAME, circuit::POLES),
    (circuit::NAME, circuit::TANDEM),
    (device::NAME, device::AFCI),
    (device::NAME, device::BEHIND_APPLIANCE),
    (device::NAME, device::CONFIGURATION),
    (device::NAME, device::GANGS),
    (device::NAME, device::GFCI),
    (device::NAME, device::IN_CABINET),
    (device::NAME, device::PART_OF_APPLIANCE),
    (device::NAME, device::SWITCHED),
    (outlet_box::NAME, outlet_box::FIXTURE_STUDS),
    (outlet_box::NAME, outlet_box::FIXTURE_WIRES),
    (outlet_box::NAME, outlet_box::GANGS),
    (outlet_box::NAME, outlet_box::LOOPED),
    (outlet_box::NAME, outlet_box::MOUNTED),
    (outlet_box::NAME, outlet_box::PASSING_THROUGH),
    (outlet_box::NAME, outlet_box::TERMINAL_BLOCKS),
    (raceway::NAME, raceway::NIPPLE),
    (raceway::NAME, raceway::ON_ROOF),
    (raceway::NAME, raceway::UNDERGROUND),
    (raceway_conductor::NAME, raceway_conductor::CURRENT_CARRYING),
    (raceway_conductor::NAME, raceway_conductor::IS_GROUND),
    (raceway_conductor::NAME, raceway_conductor::MATERIAL),
    (raceway_conductor::NAME, raceway_conductor::THROUGH_FROM),
    (raceway_conductor::NAME, raceway_conductor::THROUGH_TO),
    (room::NAME, room::FINISHED),
    (site::NAME, site::HEIGHTS_FROM),
    (wall::NAME, wall::KIND),
];

/// Returns the fields with a value of the job format's own that computations read.
pub(crate) fn taken_for_granted(schema: &Schema) -> impl Iterator<Item = (KindId, FieldId)> + '_ {
    READ.iter().filter_map(|&(kind, field)| Some((schema.kind(kind)?, field)))
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;
    use std::path::Path;

    use super::*;
    use crate::model::Default;

    /// Returns the texts of the Rust sources in a folder, but for tests and this list.
    fn sources(folder: &Path, found: &mut Vec<String>) {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                sources(&path, found);
                continue;
            }
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            if name.contains("test") || name == "taken.rs" {
                continue;
            }
            let text = std::fs::read_to_string(&path).unwrap();
            found.push(text.split("mod tests {").next().unwrap().to_owned());
        }
    }

    /// Returns the name of the module of a kind and of the constants of its fields, as the table of kinds declares them.
    fn declared() -> Vec<(String, String, String, String)> {
        let mut all = Vec::new();
        let mut texts = Vec::new();
        sources(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src/model/kinds"), &mut texts);
        let is_constant = |word: &str| word.chars().all(|c| c.is_ascii_uppercase() || c.is_ascii_digit() || c == '_');
        for text in &texts {
            let (mut module, mut kind) = (String::new(), String::new());
            for line in text.lines() {
                let mut words = line.split_whitespace();
                let (Some(first), Some(second)) = (words.next(), words.next()) else { continue };
                let Some(name) = second.strip_prefix('"').and_then(|rest| rest.strip_suffix('"')) else { continue };
                if words.next() == Some("word") {
                    (module, kind) = (first.to_owned(), name.to_owned());
                } else if is_constant(first) {
                    all.push((module.clone(), kind.clone(), first.to_owned(), name.to_owned()));
                }
            }
        }
        all
    }

    /// A field that a computation reads is on the list, or a verdict might rest on what nobody wrote and nobody is told.
    #[test]
    fn every_default_that_a_computation_reads_is_on_the_list() {
        let schema = Schema::dwelling();
        let mut texts = Vec::new();
        sources(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src/calc"), &mut texts);
        let listed: BTreeSet<(KindId, FieldId)> = taken_for_granted(&schema).collect();
        assert_eq!(listed.len(), READ.len(), "a field stands twice, or its kind is gone");
        let mut read = BTreeSet::new();
        for (module, kind, constant, field) in declared() {
            let kind = schema.kind(&kind).unwrap();
            let field = schema.field(kind, &field).unwrap();
            let name = format!("{module}::{constant}");
            let ends = |text: &str| text.chars().next().is_none_or(|c| !c.is_ascii_alphanumeric() && c != '_');
            let starts = |text: &str| text.chars().next_back().is_none_or(|c| !c.is_ascii_alphanumeric() && c != '_');
            let named = texts.iter().any(|text| {
                text.match_indices(&name).any(|(at, _)| ends(&text[at + name.len()..]) && starts(&text[..at]))
            });
            // A right angle is plain geometry: walls that do not close with it are an error of their own.
            let has_value = !matches!(
                schema.field_spec(kind, field).default,
                Default::None | Default::NoItem | Default::Empty | Default::Amount(_)
            );
            if named && has_value {
                read.insert((kind, field));
            }
        }
        let names = |of: &BTreeSet<(KindId, FieldId)>| -> Vec<String> {
            of.iter()
                .map(|&(kind, field)| format!("{}.{}", schema.spec(kind).name, schema.field_spec(kind, field).name))
                .collect()
        };
        assert_eq!(names(&listed), names(&read));
    }
}
