//! Published worked examples: `data/worked-examples.toml`.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use serde::Deserialize;
use toml::{Table, Value};

#[derive(Deserialize)]
struct File {
    example: Vec<Example>,
}

/// One worked example.
#[derive(Clone, Debug, Deserialize)]
pub(crate) struct Example {
    pub(crate) id: String,
    pub(crate) topic: String,
    pub(crate) edition: String,
    pub(crate) question: String,
    pub(crate) source: String,
    pub(crate) verdict: String,
    pub(crate) note: Option<String>,
    pub(crate) inputs: Table,
    pub(crate) published: Table,
    pub(crate) expected: Table,
    #[serde(default)]
    pub(crate) tolerance: Table,
}

static EXAMPLES: LazyLock<Vec<Example>> = LazyLock::new(|| {
    let text = include_str!("data/worked-examples.toml");
    toml::from_str::<File>(text).unwrap_or_else(|error| panic!("{error}")).example
});

/// Returns the examples of a topic. A test that asks for one must name how many it knows how to drive.
pub(crate) fn of_topic(topic: &str, known: usize) -> impl Iterator<Item = &'static Example> {
    let examples: Vec<&Example> = EXAMPLES.iter().filter(|example| example.topic == topic).collect();
    assert_eq!(examples.len(), known, "examples of {topic}");
    examples.into_iter()
}

fn number(value: &Value) -> Option<f64> {
    value.as_float().or_else(|| value.as_integer().map(|n| n as f64))
}

impl Example {
    /// Returns a number of the problem.
    pub(crate) fn number(&self, key: &str) -> Option<f64> {
        number(self.inputs.get(key)?)
    }

    /// Returns a number that the problem must state.
    pub(crate) fn must(&self, key: &str) -> f64 {
        self.number(key).unwrap_or_else(|| panic!("{}: no {key}", self.id))
    }

    /// Returns a text of the problem.
    pub(crate) fn text(&self, key: &str) -> Option<&str> {
        self.inputs.get(key)?.as_str()
    }

    /// Returns a yes or no of the problem.
    pub(crate) fn flag(&self, key: &str) -> bool {
        self.inputs.get(key).and_then(Value::as_bool).unwrap_or(false)
    }

    /// Returns the numbers of a list; none for a missing one.
    pub(crate) fn numbers(&self, key: &str) -> Vec<f64> {
        let list = self.inputs.get(key).and_then(Value::as_array).map_or(&[][..], Vec::as_slice);
        list.iter().filter_map(number).collect()
    }

    /// Returns the tables of a list; none for a missing one.
    pub(crate) fn tables(&self, key: &str) -> Vec<&Table> {
        let list = self.inputs.get(key).and_then(Value::as_array).map_or(&[][..], Vec::as_slice);
        list.iter().filter_map(Value::as_table).collect()
    }

    /// Holds what the program computed against what the rule gives, and against the source where the source is right.
    ///
    /// Every expected figure must have been computed, and each published one must agree with it to the source's rounding.
    pub(crate) fn agrees(&self, edition: &str, found: &Found) {
        for (key, expected) in &self.expected {
            let within = self.tolerance.get(key).and_then(number).unwrap_or(1e-9);
            let Some(own) = found.0.get(key.as_str()) else { panic!("{}: {key} was not computed", self.id) };
            assert!(
                own.like(expected, within),
                "{} ({edition}): {key} is {own:?}, expected {expected}: {}",
                self.id,
                self.question
            );
        }
        match self.verdict.as_str() {
            "agrees" => {
                for (key, published) in &self.published {
                    let Some(own) = found.0.get(key.as_str()) else { panic!("{}: {key} was not computed", self.id) };
                    let within = self.tolerance.get(key).and_then(number).unwrap_or(1e-9);
                    assert!(
                        own.like(published, within),
                        "{} ({edition}): {key} is {own:?}, but {} prints {published}",
                        self.id,
                        self.source
                    );
                }
            }
            "source_in_error" => {
                assert!(self.note.is_some(), "{}: a source in error needs a note that says where", self.id);
                let agrees = self.published.iter().all(|(key, published)| {
                    let within = self.tolerance.get(key).and_then(number).unwrap_or(1e-9);
                    found.0.get(key.as_str()).is_some_and(|own| own.like(published, within))
                });
                assert!(!agrees, "{}: the source is right after all", self.id);
            }
            other => panic!("{}: unknown verdict {other}", self.id),
        }
    }
}

/// What the program computed for an example.
#[derive(Debug, Default)]
pub(crate) struct Found(BTreeMap<&'static str, Figure>);

#[derive(Debug)]
enum Figure {
    Number(f64),
    Text(String),
    Flag(bool),
}

impl Figure {
    fn like(&self, other: &Value, within: f64) -> bool {
        match self {
            Figure::Number(own) => number(other).is_some_and(|other| (own - other).abs() <= within),
            Figure::Text(own) => other.as_str() == Some(own.as_str()),
            Figure::Flag(own) => other.as_bool() == Some(*own),
        }
    }
}

impl Found {
    pub(crate) fn number(&mut self, key: &'static str, number: f64) {
        self.0.insert(key, Figure::Number(number));
    }

    pub(crate) fn text(&mut self, key: &'static str, text: impl Into<String>) {
        self.0.insert(key, Figure::Text(text.into()));
    }

    pub(crate) fn flag(&mut self, key: &'static str, flag: bool) {
        self.0.insert(key, Figure::Flag(flag));
    }
}

#[test]
fn there_are_at_least_sixty_and_each_belongs_to_a_topic_that_is_driven() {
    const DRIVEN: [&str; 8] =
        ["box_fill", "ampacity", "voltage_drop", "dwelling_load", "raceway_fill", "receptacles", "reach", "wire"];
    assert!(EXAMPLES.len() >= 60, "{}", EXAMPLES.len());
    for example in EXAMPLES.iter() {
        assert!(DRIVEN.contains(&example.topic.as_str()), "{}: {}", example.id, example.topic);
        assert!(!example.published.is_empty() && !example.expected.is_empty() && !example.source.is_empty());
    }
    let mut ids: Vec<&str> = EXAMPLES.iter().map(|example| example.id.as_str()).collect();
    ids.sort_unstable();
    ids.dedup();
    assert_eq!(ids.len(), EXAMPLES.len());
}
