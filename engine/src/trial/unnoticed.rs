//! `trials/unnoticed.toml`: the changes of a ruleset that no trial need notice, each with the reason.

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::job::Document;
use crate::problem::{self, Problem};
use crate::source::{File, Span};

/// What is changed.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ChangeOf {
    /// The rule of this id.
    Rule(String),
    /// The shared condition of this name.
    Define(String),
    /// The exception of this name that a ruleset adds to a rule of another.
    Exception(String),
    /// The entry of this name.
    Entry(String),
}

impl ChangeOf {
    /// Returns the id or name.
    pub fn name(&self) -> &str {
        match self {
            ChangeOf::Rule(name) | ChangeOf::Define(name) | ChangeOf::Exception(name) | ChangeOf::Entry(name) => name,
        }
    }

    /// Returns the word of the key that names it: `rule`, `define`, `exception`, `entry`.
    pub fn word(&self) -> &'static str {
        match self {
            ChangeOf::Rule(_) => "rule",
            ChangeOf::Define(_) => "define",
            ChangeOf::Exception(_) => "exception",
            ChangeOf::Entry(_) => "entry",
        }
    }
}

/// A change that no trial need notice.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Excuse {
    /// What is changed.
    pub(super) of: ChangeOf,
    /// The change, as `ruleset check --mutants` prints it.
    pub(super) change: String,
    /// Why nothing would come of it.
    pub(super) reason: String,
    /// Its place.
    pub(super) span: Span,
}

const KEYS: [&str; 6] = ["rule", "define", "exception", "entry", "change", "reason"];

/// Reads the file. All that is wrong with it is reported together.
pub(super) fn excuses(file: &File) -> (Vec<Excuse>, Vec<Problem>) {
    let document = Document::parse(file);
    let mut reader = Reader { file, problems: document.problems().to_vec() };
    for key in document.table().keys().filter(|key| key.get_ref().as_ref() != "unnoticed") {
        let message = format!("a file of unnoticed changes has no `{}`", key.get_ref());
        let mut problem = Problem::new(file.span(key.span()), message);
        problem.help = problem::did_you_mean(key.get_ref(), ["unnoticed"]);
        reader.problems.push(problem);
    }
    let mut found = Vec::new();
    if let Some(DeValue::Array(list)) = document.table().get("unnoticed").map(Spanned::get_ref) {
        for value in list {
            if let DeValue::Table(table) = value.get_ref() {
                found.extend(reader.one(table, file.span(value.span())));
            }
        }
    }
    (found, reader.problems)
}

/// Makes what a change is of from its name.
type Way = fn(String) -> ChangeOf;

struct Reader<'f> {
    file: &'f File,
    problems: Vec<Problem>,
}

impl Reader<'_> {
    fn one(&mut self, table: &DeTable<'_>, header: Span) -> Option<Excuse> {
        for key in table.keys().filter(|key| !KEYS.contains(&key.get_ref().as_ref())) {
            let span = self.file.span(key.span());
            let mut problem = Problem::new(span, format!("an unnoticed change has no `{}`", key.get_ref()));
            problem.help = problem::did_you_mean(key.get_ref(), KEYS);
            self.problems.push(problem);
        }
        let ways: [(&str, Way); 4] = [
            ("rule", ChangeOf::Rule),
            ("define", ChangeOf::Define),
            ("exception", ChangeOf::Exception),
            ("entry", ChangeOf::Entry),
        ];
        let mut named = ways
            .into_iter()
            .filter_map(|(key, of)| self.text(table, key).map(|(name, span)| (of(name), span)))
            .collect::<Vec<_>>()
            .into_iter();
        let of = named.next();
        if of.is_none() {
            let problem = Problem::new(header, "this does not say what is changed");
            self.problems.push(problem.help("write `rule = \"its-id\"` or `entry = \"its.name\"`"));
        }
        for (_, span) in named {
            self.problems.push(Problem::new(span, "a change is one of a single thing: take this out"));
        }
        let change = self.required(table, "change", header);
        let reason = self.required(table, "reason", header);
        let ((change, span), (reason, reason_span)) = (change?, reason?);
        if reason.trim().is_empty() {
            self.problems.push(Problem::new(reason_span, "the reason is empty").help("say why nothing comes of it"));
        }
        Some(Excuse { of: of?.0, change, reason, span })
    }

    fn required(&mut self, table: &DeTable<'_>, key: &str, header: Span) -> Option<(String, Span)> {
        if table.get(key).is_none() {
            let problem = Problem::new(header, format!("this unnoticed change has no `{key}`"));
            self.problems.push(problem.label(format!("no `{key}`")));
        }
        self.text(table, key)
    }

    fn text(&mut self, table: &DeTable<'_>, key: &str) -> Option<(String, Span)> {
        let value = table.get(key)?;
        let span = self.file.span(value.span());
        match value.get_ref() {
            DeValue::String(text) => Some((text.as_ref().to_owned(), span)),
            _ => {
                self.problems.push(Problem::new(span, format!("`{key}` is a text")).help("put it in quotes"));
                None
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::Files;

    fn read(text: &str) -> (Vec<Excuse>, Vec<String>) {
        let mut files = Files::new();
        let file = files.add("unnoticed.toml", text.to_owned()).unwrap();
        let (found, problems) = excuses(&file);
        (found, problems.into_iter().map(|problem| problem.message).collect())
    }

    #[test]
    fn a_change_has_a_reason() {
        let (found, problems) = read(
            "[[unnoticed]]\nrule = \"a\"\nchange = \"x\"\nreason = \"because\"\n\
             [[unnoticed]]\nentry = \"b.c\"\nchange = \"y\"\nreason = \"because\"\n",
        );
        assert_eq!(problems, [""; 0]);
        let of: Vec<ChangeOf> = found.into_iter().map(|excuse| excuse.of).collect();
        assert_eq!(of, [ChangeOf::Rule("a".into()), ChangeOf::Entry("b.c".into())]);
    }

    #[test]
    fn all_slips_are_told_at_once() {
        let (found, problems) = read(
            "other = 1\n[[unnoticed]]\nchange = \"x\"\nreason = \" \"\n[[unnoticed]]\nrule = \"a\"\nentry = \"b\"\nresaon = 3\n",
        );
        assert_eq!(found, []);
        assert_eq!(
            problems,
            [
                "a file of unnoticed changes has no `other`",
                "this does not say what is changed",
                "the reason is empty",
                "an unnoticed change has no `resaon`",
                "a change is one of a single thing: take this out",
                "this unnoticed change has no `change`",
                "this unnoticed change has no `reason`",
            ]
        );
    }
}
