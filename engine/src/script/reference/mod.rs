//! The same rules on Rhai's own evaluator: slow, and made in another way, so that the lowered rules can be held against it.
//!
//! Rhai evaluates the statements, names and operators; what it lacks (three values, checks, quantifiers) is given to it as
//! types, operators and syntax. Types are found while it runs, a condition that is not known is tried both ways by running
//! the rule again, and the outcomes of all ways are compared in the end. Nothing here is shared with the lowered form but the
//! grammar, the arithmetic of quantities and the form of the answer.

mod amount;
mod logic;
mod rewrite;
mod sight;
mod verbs;
mod ways;

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::{Arc, Mutex};

use rhai::{AST, Engine, EvalAltResult, Scope, Stmt};

use super::check::Check;
use super::detail::{Detail, Recorder};
use super::native::Natives;
use super::place::Places;
use super::plan::Presumption;
use super::syntax;
use crate::book::Book;
use crate::facts::Facts;
use crate::model::{ItemIndex, KindId};
use crate::source::Span;

use sight::{Seen, Sight, What};
use verbs::{Brief, Course, OneFound};

/// Most conditions that may be unknown on one way. Each doubles the number of ways.
const MOST_UNKNOWN: usize = 10;

/// Items that are run in one go: few enough for the limit on operations.
const TOGETHER: usize = 256;

/// Why the reference has no answer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NoAnswer {
    /// A part of the rule stands in another text: a shared condition, or an exception that a place has added.
    Elsewhere,
    /// The rule does not parse.
    Unparsed(String),
    /// Too many conditions are not known.
    TooManyWays,
    /// The evaluator stopped: a limit, or something that the checks at load should have refused.
    Stopped(String),
}

/// A rule on Rhai's evaluator, with the facts of a job and a book.
pub struct Reference {
    engine: Engine,
    ast: AST,
    /// The same rule once for each of several items, in one go of the evaluator.
    each: AST,
    sight: Arc<Sight>,
    course: Arc<Mutex<Course>>,
    word: String,
}

impl std::fmt::Debug for Reference {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Reference").field("word", &self.word).finish_non_exhaustive()
    }
}

/// A rule as the reference needs it.
#[derive(Debug)]
pub(super) struct Written<'a> {
    pub(super) id: &'a str,
    pub(super) text: &'a str,
    pub(super) body: Span,
    pub(super) kind: KindId,
    pub(super) checks: &'a [Check],
    pub(super) natives: &'a Natives,
    pub(super) presumptions: &'a [Presumption],
}

impl Reference {
    /// Parses a rule for the evaluator and copies the facts.
    pub(super) fn new(rule: &Written<'_>, facts: &Facts<'_>, book: &Arc<Book>) -> Result<Reference, NoAnswer> {
        let mut engine = Engine::new_raw();
        syntax::restrict(&mut engine);
        let sight = Arc::new(Sight::new(facts, book, rule.natives, rule.id));
        let checks: Arc<[Check]> = rule.checks.into();
        let course = Arc::new(Mutex::new(Course::new(Arc::clone(&checks))));
        amount::register(&mut engine, &sight);
        logic::register(&mut engine, &sight);
        verbs::register(&mut engine, &sight, &checks, &course);
        let parsed = engine.compile(rule.text).map_err(|error| NoAnswer::Unparsed(error.to_string()))?;
        let [Stmt::Block(block)] = parsed.statements() else {
            return Err(NoAnswer::Unparsed(String::from("the rule has no block of its own")));
        };
        let places = Places::new(rule.text, rule.body);
        let rewrite::Rewritten { statements, names, presumed } = rewrite::rule(block.statements(), &places);
        let is_added = |check: &Check| check.exception.as_ref().is_some_and(|exception| exception.added_by.is_some());
        let schema = &sight.job.schema;
        let is_field = |name: &str| schema.kinds().any(|(kind, _)| schema.field(kind, name).is_some());
        let is_shared = |name: &str| book.defines.iter().any(|define| define.source.name == name) && !is_field(name);
        if rule.checks.iter().any(is_added) || names.iter().any(|name| is_shared(syntax::name(name))) {
            return Err(NoAnswer::Elsewhere);
        }
        let presumed = rule.presumptions.iter().zip(presumed);
        let presumed = presumed.map(|(says, stands_in)| (says.kind, says.field, stands_in)).collect();
        sight.presumptions.get_or_init(|| presumed);
        logic::register_names(&mut engine, &sight, names);
        let word = sight.job.schema.spec(rule.kind).word.to_owned();
        verbs::register_each(&mut engine, &course, &word);
        let each = AST::new([rewrite::each(&statements, block.span())], rhai::Module::new());
        let ast = AST::new(statements, rhai::Module::new());
        Ok(Reference { engine, ast, each, sight, course, word })
    }

    /// Holds one item against the rule.
    ///
    /// # Errors
    /// [`NoAnswer`]; the lowered form always has one.
    pub fn explain(&mut self, item: ItemIndex) -> Result<Vec<Detail>, NoAnswer> {
        Ok(self.all_ways(item)?.into_iter().map(|found| found.detail).collect())
    }

    /// Holds several items against the rule and records verdicts and margins alone, as [`Runner::run_all`](super::Runner::run_all) does.
    ///
    /// # Errors
    /// [`NoAnswer`]; the lowered form always has one.
    pub fn run_all(&mut self, items: &[ItemIndex], recorder: &mut impl Recorder) -> Result<(), NoAnswer> {
        for some in items.chunks(TOGETHER) {
            let records = self.brief(some)?;
            let mut records = records.iter().peekable();
            for &item in some {
                recorder.item(item);
                while let Some((_, record)) = records.next_if(|(of, _)| *of == item) {
                    match record {
                        Some((check, verdict, margin)) => recorder.record(*check, *verdict, *margin),
                        // More than one way leads through the rule.
                        None => self.all_ways(item)?.iter().for_each(|found| {
                            recorder.record(found.detail.check, found.detail.verdict, found.amount);
                        }),
                    }
                }
            }
        }
        Ok(())
    }

    /// Runs the rule on several items at once; where a condition is not known, that is all that is recorded of an item.
    fn brief(&mut self, items: &[ItemIndex]) -> Result<Vec<Brief>, NoAnswer> {
        self.course.lock().map_err(|_| stopped("a check failed"))?.begin(items);
        let mut scope = self.scope();
        self.sight.tell(false);
        let run = self.evaluate(&mut scope, &self.each);
        self.sight.tell(true);
        run?;
        Ok(self.course.lock().map_err(|_| stopped("a check failed"))?.end())
    }

    fn all_ways(&mut self, item: ItemIndex) -> Result<Vec<OneFound>, NoAnswer> {
        let mut all = Vec::new();
        let mut decisions: Vec<bool> = Vec::new();
        loop {
            let (found, decided) = self.one_way(item, &decisions)?;
            if decided.len() > MOST_UNKNOWN {
                return Err(NoAnswer::TooManyWays);
            }
            decisions = decided;
            all.push(found);
            // The next way: the last condition that was taken to hold is now taken not to.
            while decisions.last() == Some(&false) {
                decisions.pop();
            }
            match decisions.last_mut() {
                Some(last) => *last = false,
                None => break,
            }
        }
        Ok(ways::agreed(all))
    }

    /// Runs the rule once; conditions that are not known are decided as told, further ones to hold.
    fn one_way(&self, item: ItemIndex, decisions: &[bool]) -> Result<(Vec<OneFound>, Vec<bool>), NoAnswer> {
        self.course.lock().map_err(|_| stopped("a check failed"))?.restart(decisions);
        let mut scope = self.scope();
        scope.push(self.word.as_str(), Seen::item(item));
        self.evaluate(&mut scope, &self.ast)?;
        let mut course = self.course.lock().map_err(|_| stopped("a check failed"))?;
        Ok((std::mem::take(&mut course.found), std::mem::take(&mut course.decisions)))
    }

    /// Returns the names that hold for every item.
    fn scope(&self) -> Scope<'static> {
        let mut scope = Scope::new();
        if let Some(site) = self.sight.site() {
            scope.push("site", Seen::item(site));
        }
        scope.push("code", Seen::code(""));
        scope.push("none", Seen::of(What::None));
        scope
    }

    fn evaluate(&self, scope: &mut Scope<'_>, ast: &AST) -> Result<(), NoAnswer> {
        match catch_unwind(AssertUnwindSafe(|| self.engine.run_ast_with_scope(scope, ast))) {
            Ok(Ok(())) => Ok(()),
            Ok(Err(error)) if matches!(*error, EvalAltResult::Return(..)) => Ok(()),
            Ok(Err(error)) => Err(NoAnswer::Stopped(error.to_string())),
            Err(_) => Err(stopped("the evaluator panicked")),
        }
    }
}

fn stopped(what: &str) -> NoAnswer {
    NoAnswer::Stopped(what.to_owned())
}
