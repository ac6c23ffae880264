//! What the JSON Schemas of a ruleset's files say of their keys: help, and what may be written.

use std::sync::LazyLock;

use serde_json::Value;
use storystick_engine::model::Schema;
use storystick_engine::ruleset_schema;

static MANIFEST: LazyLock<Value> = LazyLock::new(ruleset_schema::manifest);
static CODE: LazyLock<Value> = LazyLock::new(ruleset_schema::code);
static TRIALS: LazyLock<Value> = LazyLock::new(|| ruleset_schema::trials(&Schema::dwelling()));

/// The tables of a ruleset's files that have keys of their own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Table {
    /// The top of `ruleset.toml`.
    Manifest,
    /// An `[[adopts]]`.
    Adoption,
    /// An `[[amends]]`.
    Amendment,
    /// An entry of the code.
    Entry,
    /// The top of a trial file.
    TrialFile,
    /// A `[[trial]]`.
    Trial,
}

impl Table {
    fn properties(self) -> &'static Value {
        match self {
            Table::Manifest => &MANIFEST["properties"],
            Table::Adoption => &MANIFEST["definitions"]["adoption"]["properties"],
            Table::Amendment => &MANIFEST["definitions"]["amendment"]["properties"],
            Table::Entry => &CODE["definitions"]["entry"]["properties"],
            Table::TrialFile => &TRIALS["properties"],
            Table::Trial => &TRIALS["definitions"]["trial"]["properties"],
        }
    }

    /// Returns the keys with what they mean.
    pub(super) fn keys(self) -> Vec<(&'static str, &'static str)> {
        let properties = self.properties().as_object();
        properties.into_iter().flatten().map(|(key, about)| (key.as_str(), meaning(about))).collect()
    }

    /// Returns what a key means and the words that it may have.
    pub(super) fn key(self, key: &str) -> Option<(&'static str, Vec<&'static str>)> {
        let about = self.properties().get(key)?;
        Some((meaning(about), words(about)))
    }
}

fn meaning(about: &'static Value) -> &'static str {
    let own = about["description"].as_str();
    own.or_else(|| about["items"]["description"].as_str()).unwrap_or_default()
}

fn words(about: &'static Value) -> Vec<&'static str> {
    let own = about["enum"].as_array().into_iter().flatten().filter_map(Value::as_str);
    let inner = about["anyOf"].as_array().into_iter().flatten().chain(about.get("items"));
    let mut all: Vec<&str> = own.chain(inner.flat_map(words)).collect();
    all.sort_unstable();
    all.dedup();
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_table_has_keys_with_help_and_some_have_words() {
        for table in [Table::Manifest, Table::Adoption, Table::Amendment, Table::Entry, Table::TrialFile, Table::Trial]
        {
            assert!(table.keys().len() >= 2, "{table:?}");
        }
        assert!(Table::Entry.keys().iter().all(|(_, help)| !help.is_empty()));
        assert_eq!(Table::Entry.key("checked").unwrap().1, ["law_text", "memory", "official_page", "secondary"]);
        assert_eq!(Table::Amendment.key("weight").unwrap().1, ["caution", "correction", "note"]);
        assert!(Table::Trial.key("expect").unwrap().1.contains(&"to_measure"));
        assert!(Table::Adoption.key("by").unwrap().1.contains(&"permit_date"));
    }
}
