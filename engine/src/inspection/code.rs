//! The code of one place and date, compiled.

use std::sync::{Arc, OnceLock};

use crate::book::{Book, RuleInForce, RuleName, RuleSource};
use crate::model::{Stage, Symbol, Symbols};
use crate::problem::{Problem, did_you_mean};
use crate::script::{Bound, Compiler, Rule};
use crate::source::Files;

/// A rule that is compiled when the first job needs it, once for all places and dates. Mistakes are not kept: what one book lacks
/// another may have.
#[derive(Debug, Default)]
pub(super) struct Lazy {
    made: OnceLock<Made>,
}

/// A compiled rule.
#[derive(Debug)]
pub(super) struct Made {
    pub(super) rule: Rule,
    /// Its own texts that the rulesets have no numbers for: every job gives them some.
    texts: Vec<String>,
}

/// What a rule is compiled from.
pub(super) struct Source<'a> {
    pub(super) source: &'a RuleSource,
    pub(super) files: &'a Files,
    pub(super) book: &'a Book,
    pub(super) symbols: &'a Arc<Symbols>,
}

impl Lazy {
    /// Returns the rule, compiled if it is not yet.
    ///
    /// # Errors
    /// All mistakes of the rule.
    pub(super) fn made(&self, compiler: &Compiler, from: &Source<'_>) -> Result<&Made, Vec<Problem>> {
        if let Some(made) = self.made.get() {
            return Ok(made);
        }
        // A table of its own: what a rule's numbers are may not hang on who came first.
        let first = from.symbols.len();
        let mut symbols = Symbols::on(Arc::clone(from.symbols));
        let rule = compiler.compile(from.files, from.source, from.book, &mut symbols)?;
        let texts = (first..symbols.len()).map(|number| symbols.text(Symbol(number)).to_owned()).collect();
        Ok(self.made.get_or_init(|| Made { rule, texts }))
    }
}

/// A rule in force, with the values of its book once it is compiled.
#[derive(Debug)]
pub(super) struct Compiled {
    pub(super) in_force: RuleInForce,
    lazy: Arc<Lazy>,
    bound: OnceLock<Result<Bound, Vec<Problem>>>,
}

impl Compiled {
    pub(super) fn new(in_force: RuleInForce, lazy: Arc<Lazy>) -> Compiled {
        Compiled { in_force, lazy, bound: OnceLock::new() }
    }

    /// Returns what is compiled once for all places and dates.
    pub(super) fn lazy(&self) -> Arc<Lazy> {
        Arc::clone(&self.lazy)
    }

    /// Takes a rule that is compiled and bound already, unless there is one.
    pub(super) fn bind_to(&self, bound: Bound) {
        let _ = self.bound.set(Ok(bound));
    }

    /// Returns the rule with the values of its book, if it has been made and without a fault.
    pub(super) fn bound(&self) -> Option<&Bound> {
        self.bound.get()?.as_ref().ok()
    }

    /// Returns what is wrong with amendments that take exceptions out of the rule, if it has been made: it has none of that name.
    pub(super) fn slips(&self) -> Vec<Problem> {
        let Some(bound) = self.bound() else { return Vec::new() };
        let names: Vec<&str> = bound
            .rule()
            .checks()
            .iter()
            .filter_map(|check| check.exception.as_ref())
            .flat_map(|exception| [exception.name.as_str(), exception.section.as_str()])
            .collect();
        let omitted = self.in_force.omitted_exceptions.iter();
        omitted
            .filter(|(name, _)| !names.contains(&name.as_str()))
            .map(|(name, by)| {
                let id = &self.in_force.source.id;
                let mut problem = Problem::new(by.span, format!("rule `{id}` has no exception `{name}`"))
                    .label("takes nothing out")
                    .mark(self.in_force.source.id_span, "the rule");
                problem.help = did_you_mean(name, names.iter().copied());
                problem
            })
            .collect()
    }

    /// Returns what is wrong with the rule, if it has been made.
    pub(super) fn faults(&self) -> &[Problem] {
        match self.bound.get() {
            Some(Err(problems)) => problems,
            _ => &[],
        }
    }

    /// Compiles and binds the rule unless that is done, and returns its own texts.
    pub(super) fn make(&self, compiler: &Compiler, code: &Code) -> &[String] {
        self.bound.get_or_init(|| {
            let (files, symbols) = (&code.files, &code.symbols);
            let from = Source { source: &self.in_force.source, files, book: &code.book, symbols };
            self.lazy.made(compiler, &from).map(|made| made.rule.bind(&code.book))
        });
        self.lazy.made.get().map_or(&[], |made| made.texts.as_slice())
    }
}

/// The code of one place and date up to one stage, ready to run on any number of jobs. Its rules are compiled as jobs come to
/// need them: a job without a raceway needs none of the rules for raceways.
#[derive(Debug)]
pub struct Code {
    /// The book in force.
    pub book: Arc<Book>,
    /// The latest stage whose rules are in it.
    pub stage: Stage,
    pub(super) rules: Vec<Compiled>,
    pub(super) files: Files,
    pub(super) symbols: Arc<Symbols>,
}

impl Code {
    /// Returns the files of the rulesets.
    pub fn files(&self) -> &Files {
        &self.files
    }

    /// Returns whether a name that somebody wrote, which may be an earlier id, stands for the rule with this id.
    pub(super) fn names(&self, written: &str, id: &str) -> bool {
        written == id || self.present(written) == Some(id)
    }

    /// Returns the present id of a rule in force that somebody wrote by its present or an earlier id.
    pub fn present(&self, written: &str) -> Option<&str> {
        present(&self.book, written)
    }
}

/// Returns the present id of a rule in force.
pub(super) fn present<'b>(book: &'b Book, written: &str) -> Option<&'b str> {
    match book.rule_named(written)? {
        RuleName::Current(rule) | RuleName::Renamed(rule) => Some(&rule.source.id),
        RuleName::Omitted(_) => None,
    }
}
