//! Compiled rules, and what compiles them.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;

use rhai::Stmt;

use super::bind::Slots;
use super::check::{Check, ExistingWork, Outline};
use super::detail::{Detail, Recorder, Shown};
use super::lower::{self, Ground};
use super::machine::Machine;
use super::native::{Call, Given, NativeError, Natives};
use super::place::Places;
use super::plan::{Plan, Presumption, SlotSource};
use super::program::Program;
#[cfg(any(test, feature = "reference"))]
use super::reference::{NoAnswer, Reference, Written};
use super::run::Runner;
use super::working::Workings;
use super::{explain, mistakes, syntax};
use crate::book::{Book, EntryId, RuleSource};
use crate::facts::Facts;
use crate::model::{FieldId, ItemIndex, KindId, Schema, Symbols, Type};
use crate::problem::Problem;
use crate::source::{Files, Span};

/// Compiles rules over a table of kinds.
pub struct Compiler {
    schema: Arc<Schema>,
    engine: rhai::Engine,
    natives: Natives,
    literals: bool,
}

impl std::fmt::Debug for Compiler {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Compiler").field("natives", &self.natives).finish_non_exhaustive()
    }
}

impl Compiler {
    /// Returns a compiler of rules over these kinds.
    pub fn new(schema: Arc<Schema>) -> Compiler {
        Compiler { schema, engine: syntax::engine(), natives: Natives::default(), literals: false }
    }

    /// Returns the kinds over which rules are compiled.
    pub fn schema(&self) -> &Arc<Schema> {
        &self.schema
    }

    /// Returns the same compiler over these kinds: those that it had, with what rulesets declare.
    #[must_use]
    pub(crate) fn over(self, schema: Arc<Schema>) -> Compiler {
        Compiler { schema, ..self }
    }

    /// Lets amounts stand in rules: what the language does with them is tested so, without a book for each.
    #[cfg(test)]
    pub(crate) fn with_literals(mut self) -> Compiler {
        self.literals = true;
        self
    }

    /// Adds a function that rules may call. Rules compiled before do not know it.
    ///
    /// It takes and gives amounts ([`Type::Quantity`]), yes or no, texts and items. It is only called when all its arguments
    /// are recorded; `Ok(None)` is a value that nobody can know, an error is a fault of the rule that calls it.
    ///
    /// # Errors
    /// When the name is taken or no name, or a type is a list or a vocabulary.
    pub fn native(
        &mut self,
        name: &str,
        parameters: &[Type],
        returns: Type,
        function: impl Fn(Call<'_>) -> Given + Send + Sync + 'static,
    ) -> Result<(), NativeError> {
        self.natives.add(name, parameters, returns, function)
    }

    /// Compiles a rule against a book. Books of other places and dates serve the same rule, see [`Rule::bind`].
    ///
    /// Texts of the rule are added to `symbols`.
    ///
    /// # Errors
    /// All mistakes of the rule, each at its place; a rule that Rhai can't parse has one.
    pub fn compile(
        &self,
        files: &Files,
        source: &RuleSource,
        book: &Book,
        symbols: &mut Symbols,
    ) -> Result<Rule, Vec<Problem>> {
        let text = files.text(source.body);
        let places = Places::new(text, source.body);
        let ast = self.parse(text, &places, source.id_span).map_err(|problem| vec![problem])?;
        let body = match ast.statements() {
            [Stmt::Block(block)] => block.statements(),
            _ => {
                return Err(vec![
                    Problem::new(source.id_span, "the rule has no block of its own")
                        .help("a rule ends with its block: `{ … }`"),
                ]);
            }
        };
        let ground = Ground {
            schema: &self.schema,
            book,
            natives: &self.natives,
            kind: source.kind,
            rule: &source.id,
            literals: self.literals,
            compiler: self,
            files,
            added: book.rules.iter().find(|rule| rule.source.id == source.id).map_or(&[], |rule| &rule.exceptions[..]),
        };
        let (plan, checks) = lower::lower(body, source.id_span, ground, places, symbols)?;
        let program = Program::of(&plan, &self.natives);
        Ok(Rule {
            inner: Arc::new(Inner {
                id: source.id.clone(),
                kind: source.kind,
                #[cfg(any(test, feature = "reference"))]
                text: text.to_owned(),
                #[cfg(any(test, feature = "reference"))]
                body: source.body,
                plan,
                program,
                checks,
                natives: self.natives.clone(),
            }),
        })
    }

    /// Parses a block. What is wrong with it as a whole is told at `whole`.
    pub(super) fn parse(&self, text: &str, places: &Places<'_>, whole: Span) -> Result<rhai::AST, Problem> {
        if text.len() > syntax::LONGEST_RULE {
            return Err(Problem::new(whole, format!("the rule is longer than {} bytes", syntax::LONGEST_RULE))
                .help("make several rules of it"));
        }
        // The parser is not ours, and rulesets are written by people.
        let parsed = catch_unwind(AssertUnwindSafe(|| self.engine.compile(text)));
        match parsed {
            Ok(parsed) => parsed.map_err(|error| mistakes::of_parser(&error, places)),
            Err(_) => Err(Problem::new(whole, "the rule can't be parsed").help("write it in a simpler way")),
        }
    }
}

#[derive(Debug)]
struct Inner {
    id: String,
    kind: KindId,
    /// The block of the rule, for the reference.
    #[cfg(any(test, feature = "reference"))]
    text: String,
    #[cfg(any(test, feature = "reference"))]
    body: Span,
    plan: Plan,
    program: Program,
    checks: Vec<Check>,
    natives: Natives,
}

/// A compiled rule. Cloning is cheap.
#[derive(Clone, Debug)]
pub struct Rule {
    inner: Arc<Inner>,
}

impl Rule {
    /// Returns its id.
    pub fn id(&self) -> &str {
        &self.inner.id
    }

    /// Returns the kind of the items that it is for.
    pub fn kind(&self) -> KindId {
        self.inner.kind
    }

    /// Returns its checks; a check's number is its position here.
    pub fn checks(&self) -> &[Check] {
        &self.inner.checks
    }

    /// Returns the fields that it reads, links and derived ones included, sorted.
    pub fn fields(&self) -> &[(KindId, FieldId)] {
        &self.inner.plan.fields
    }

    /// Returns what it says, statement by statement.
    pub fn outline(&self) -> &[Outline] {
        &self.inner.plan.outline
    }

    /// Returns what it has to do with existing work.
    pub fn existing_work(&self) -> ExistingWork {
        self.inner.plan.existing
    }

    /// Returns what it takes for granted unless a job says otherwise.
    pub fn presumptions(&self) -> &[Presumption] {
        &self.inner.plan.presumptions
    }

    /// Returns what it does.
    pub(super) fn plan(&self) -> &Plan {
        &self.inner.plan
    }

    /// Returns the entries of the code that it reads, with the places where it names them.
    pub fn entries(&self) -> impl Iterator<Item = (EntryId, Span)> + '_ {
        let plan = &self.inner.plan;
        let scalars = plan.slots.iter().filter_map(|slot| match slot.source {
            SlotSource::Entry(id) => Some((id, slot.span)),
            _ => None,
        });
        scalars.chain(plan.lists.iter().chain(&plan.tables).map(|used| (used.entry, used.span)))
    }

    /// Puts the values of a book into the rule's slots.
    pub fn bind(&self, book: &Arc<Book>) -> Bound {
        Bound { rule: self.clone(), book: Arc::clone(book), slots: Slots::fill(&self.inner.plan, book) }
    }

    /// Holds one item against the rule. For many items, [`Rule::bind`] once and use a [`Runner`].
    pub fn run(&self, item: ItemIndex, facts: &Facts<'_>, book: &Book, recorder: &mut impl Recorder) {
        let slots = Slots::fill(&self.inner.plan, book);
        Runner::new(&self.inner.plan, &self.inner.program, &slots, book, facts).run(item, recorder);
    }

    /// Holds one item against the rule and tells everything about each check. It agrees with [`Rule::run`].
    pub fn explain(&self, item: ItemIndex, facts: &Facts<'_>, book: &Book) -> Vec<Detail> {
        let all = self.inner.explain(&Slots::fill(&self.inner.plan, book), item, facts, book);
        all.into_iter().map(|(detail, _)| detail).collect()
    }

    #[cfg(any(test, feature = "reference"))]
    /// Sets the rule on Rhai's own evaluator, with a copy of the facts: the reference that lowered rules are held against.
    ///
    /// # Errors
    /// [`NoAnswer`] when the rule can't be set up there.
    pub fn reference(&self, facts: &Facts<'_>, book: &Arc<Book>) -> Result<Reference, NoAnswer> {
        let inner = &*self.inner;
        let written = Written {
            id: &inner.id,
            text: &inner.text,
            body: inner.body,
            kind: inner.kind,
            checks: &inner.checks,
            natives: &inner.natives,
            presumptions: &inner.plan.presumptions,
        };
        Reference::new(&written, facts, book)
    }
}

impl Inner {
    fn explain(&self, slots: &Slots, item: ItemIndex, facts: &Facts<'_>, book: &Book) -> Vec<(Detail, Workings)> {
        let values = slots.values_in(&self.plan, &facts.job().symbols);
        let mut machine = Machine::new(slots, values, self.plan.locals, book, facts);
        explain::explain(&mut machine, &self.plan, &self.natives, &self.checks, item)
    }
}

/// A rule with the values of one book.
#[derive(Clone, Debug)]
pub struct Bound {
    rule: Rule,
    book: Arc<Book>,
    slots: Slots,
}

impl Bound {
    /// Returns the rule.
    pub fn rule(&self) -> &Rule {
        &self.rule
    }

    /// Returns the book.
    pub fn book(&self) -> &Arc<Book> {
        &self.book
    }

    /// Returns what the rule presumes, by the number of the presumption, of a field of an item.
    pub fn presumed(&self, number: u8, item: ItemIndex, facts: &Facts<'_>) -> Shown {
        let inner = &self.rule.inner;
        let Some((stand, ty)) = inner.plan.stands.get(usize::from(number)) else { return Shown::Unknown };
        let values = self.slots.values_in(&inner.plan, &facts.job().symbols);
        let machine = Machine::new(&self.slots, values, inner.plan.locals, &self.book, facts);
        let val = machine.stand_in(item, stand);
        if val.is_known() { Shown::of(val.bits, ty, facts) } else { Shown::Unknown }
    }

    /// Sets the rule on the facts of a job.
    pub fn on<'a>(&'a self, facts: &'a Facts<'a>) -> Runner<'a> {
        let inner = &self.rule.inner;
        Runner::new(&inner.plan, &inner.program, &self.slots, &self.book, facts)
    }

    /// Tells everything about the checks of one item, with the workings of both sides and all that was read.
    pub fn explain(&self, item: ItemIndex, facts: &Facts<'_>) -> Vec<(Detail, Workings)> {
        self.rule.inner.explain(&self.slots, item, facts, &self.book)
    }
}
