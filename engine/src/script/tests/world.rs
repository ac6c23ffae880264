//! A small world for tests: kinds, a book written in a few lines, jobs, and rules on them.

use std::sync::Arc;

use jiff::civil::date;

use crate::book::{Ask, Book, RulesetText, Shelf};
use crate::facts::Facts;
use crate::model::{Cell, ItemIndex, Job, JobBuilder, Schema, Symbols, Type};
use crate::problem::Problem;
use crate::quantity::parse;
use crate::script::{Compiler, Detail, Recorder, Rule, Verdict};
use crate::source::{Files, Span};

/// The code of most tests.
pub(super) const CODE: &str = r#"
nm.secured_from_box = "12 in"
nm.secured_along_run = "4 ft 6 in"
nm.allowed = true
reach.low = "15 in"
reach.high = "48 in"
load.share = "80 %"
load.twice = 2
wire.smallest = "14 AWG"
room.best = "kitchen"
gfci.places = ["bathroom", "kitchen", "garage"]
widths = ["1 in", "2 in"]
height.by_use = { switch = "48 in", receptacle = "18 in" }
protection.copper = { "14 AWG" = "15 A", "12 AWG" = "20 A" }
"#;

const MANIFEST: &str = r#"
id = "test/code"
title = "Code of the tests"
kind = "edition"
version = "1"
reviewed = 2026-01-01
source = "invented"
checked = "law_text"
"#;

/// Kinds, texts, a book and a compiler.
pub(super) struct World {
    pub(super) schema: Arc<Schema>,
    pub(super) symbols: Symbols,
    pub(super) files: Files,
    pub(super) book: Arc<Book>,
    pub(super) compiler: Compiler,
    code: String,
}

impl World {
    pub(super) fn new() -> World {
        World::of(CODE)
    }

    /// Returns a world with the code of a text: a line for each entry.
    pub(super) fn of(code: &str) -> World {
        let schema = Arc::new(Schema::dwelling());
        let code = written(code);
        let (shelf, book) = shelf(&schema, &code, "");
        let compiler = Compiler::new(Arc::clone(&schema)).with_literals();
        World { compiler, schema, symbols: shelf.symbols().clone(), files: shelf.files().clone(), book, code }
    }

    /// Compiles all rules of a file. Jobs and books are those of the last file compiled.
    pub(super) fn compile(&mut self, text: &str) -> Vec<Result<Rule, Vec<Problem>>> {
        let (shelf, book) = shelf(&self.schema, &self.code, text);
        self.compile_all(shelf, book)
    }

    /// Compiles all rules of a file, unless it is no file of rules.
    pub(super) fn try_compile(&mut self, text: &str) -> Option<Vec<Result<Rule, Vec<Problem>>>> {
        let (shelf, book) = try_shelf(&self.schema, &self.code, text).ok()?;
        Some(self.compile_all(shelf, book))
    }

    fn compile_all(&mut self, mut shelf: Shelf, book: Arc<Book>) -> Vec<Result<Rule, Vec<Problem>>> {
        let files = shelf.files().clone();
        let compile = |rule: &crate::book::RuleInForce, symbols: &mut Symbols| {
            self.compiler.compile(&files, &rule.source, &book, symbols)
        };
        let rules = book.rules.iter().map(|rule| compile(rule, shelf.symbols_mut())).collect();
        self.symbols = shelf.symbols().clone();
        self.files = files;
        self.book = book;
        rules
    }

    /// Compiles a rule with these statements for a kind.
    pub(super) fn rule(&mut self, kind: &str, body: &str) -> Rule {
        self.try_rule(kind, body).unwrap_or_else(|problems| panic!("{body}: {problems:#?}"))
    }

    pub(super) fn try_rule(&mut self, kind: &str, body: &str) -> Result<Rule, Vec<Problem>> {
        let mut rules =
            self.compile(&format!("/// Guide.\nrule \"test\" on {kind} at rough_in cites \"1.1\" {{ {body} }}"));
        rules.remove(0)
    }

    pub(super) fn job(&self) -> JobMaker {
        let symbols = Symbols::on(Arc::new(self.symbols.clone()));
        let mut files = self.files.clone();
        // A file as large as the tests ever point into: every value gets a place of its own.
        let file = files.add("job.toml", "x".repeat(10_000)).unwrap();
        let mut maker =
            JobMaker { builder: JobBuilder::new(Arc::clone(&self.schema), files, symbols), next: file.base() };
        maker.add("site", "site", &[]);
        maker
    }
}

fn shelf(schema: &Arc<Schema>, code: &str, rules: &str) -> (Shelf, Arc<Book>) {
    try_shelf(schema, code, rules).unwrap_or_else(|problems| panic!("{problems:#?}"))
}

fn try_shelf(schema: &Arc<Schema>, code: &str, rules: &str) -> Result<(Shelf, Arc<Book>), Vec<Problem>> {
    let text = |path: &str, text: &str| RulesetText::in_folder("rulesets", format!("test/code/{path}"), text);
    let sources = vec![text("ruleset.toml", MANIFEST), text("code/all.toml", code), text("rules/all.rhai", rules)];
    let mut shelf = Shelf::read(Arc::clone(schema), sources);
    assert_eq!(shelf.problems(), []);
    let book = shelf.resolve(&Ask::on("test/code", date(2026, 1, 1)))?;
    Ok((shelf, book))
}

/// Writes `name = value` lines as the tables of a code file.
fn written(code: &str) -> String {
    let mut out = String::new();
    for line in code.lines().filter(|line| !line.trim().is_empty()) {
        let (key, value) = line.split_once(" = ").unwrap();
        let what = match value.chars().next() {
            Some('[') => "list",
            Some('{') => "rows",
            _ => "value",
        };
        out.push_str(&format!("[{key}]\n{what} = {value}\ncites = \"1.1\"\n"));
    }
    out
}

/// Makes jobs from texts.
pub(super) struct JobMaker {
    builder: JobBuilder,
    next: u32,
}

impl JobMaker {
    /// Adds an item with some fields.
    pub(super) fn add(&mut self, kind: &str, id: &str, fields: &[(&str, &str)]) -> ItemIndex {
        let schema = Arc::clone(&self.builder.job().schema);
        let kind = schema.kind(kind).unwrap();
        let span = self.place();
        let item = self.builder.add(kind, id, span).unwrap();
        for (field, value) in fields {
            self.set(item, field, value);
        }
        item
    }

    fn place(&mut self) -> Span {
        self.next += 2;
        Span::new(self.next, 1)
    }

    /// Sets a field from text: `12 in`, `true`, a word, an item's id, or several of these with commas for a list.
    pub(super) fn set(&mut self, item: ItemIndex, field: &str, value: &str) {
        let schema = Arc::clone(&self.builder.job().schema);
        let kind = self.builder.job().item(item).kind;
        let id = schema.field(kind, field).unwrap_or_else(|| panic!("no field {field}"));
        let ty = schema.field_spec(kind, id).ty.clone();
        let cell = self.cell(&ty, value);
        self.builder.set(item, id, cell);
    }

    fn cell(&mut self, ty: &Type, value: &str) -> Cell {
        let span = self.place();
        match ty {
            Type::Flag => Cell::flag(value == "true", span),
            Type::Text | Type::Word(_) => Cell::text(self.builder.intern(value), span),
            Type::Quantity(dimension) => Cell::quantity(parse(value, *dimension).unwrap(), span),
            Type::Item(_) if value == "none" => Cell::item(ItemIndex(u32::MAX), span),
            Type::Item(_) => {
                Cell::item(self.builder.job().find(value).unwrap_or_else(|| panic!("no item {value}")), span)
            }
            Type::List(inner) => {
                let parts: Vec<&str> = value.split(',').map(str::trim).filter(|part| !part.is_empty()).collect();
                let cells: Vec<Cell> = parts.iter().map(|part| self.cell(inner, part)).collect();
                Cell::list(self.builder.list(&cells), span)
            }
        }
    }

    pub(super) fn done(self) -> Job {
        self.builder.finish()
    }
}

/// A run and an explanation of one item, which must agree.
pub(super) fn look(world: &World, rule: &Rule, job: &Job, item: ItemIndex) -> Vec<Detail> {
    let facts = Facts::new(job);
    agree(rule, &facts, &world.book, item)
}

/// Verdicts as they are recorded, each with its margin and whether it rests on something presumed.
#[derive(Debug, Default, PartialEq)]
struct Told(Vec<(u8, Verdict, i64, bool)>);

impl Recorder for Told {
    fn record(&mut self, check: u8, verdict: Verdict, margin: i64) {
        self.0.push((check, verdict, margin, false));
    }

    fn presumed(&mut self) {
        if let Some(last) = self.0.last_mut() {
            last.3 = true;
        }
    }
}

/// Runs and explains one item; both must say the same.
pub(super) fn agree(rule: &Rule, facts: &Facts<'_>, book: &Arc<Book>, item: ItemIndex) -> Vec<Detail> {
    let mut told = Told::default();
    rule.run(item, facts, book, &mut told);
    let bound = rule.bind(book);
    let mut again = Told::default();
    let mut runner = bound.on(facts);
    runner.run_all(&[item, item], &mut again);
    assert_eq!(again.0, [told.0.clone(), told.0.clone()].concat());
    let presumed: Vec<bool> = told.0.iter().map(|one| one.3).collect();
    let recorded: Vec<(u8, Verdict, i64)> = told.0.iter().map(|one| (one.0, one.1, one.2)).collect();
    let details = rule.explain(item, facts, book);
    let explained: Vec<(u8, Verdict)> = details.iter().map(|detail| (detail.check, detail.verdict)).collect();
    assert_eq!(recorded.iter().map(|&(check, verdict, _)| (check, verdict)).collect::<Vec<_>>(), explained);
    let explained: Vec<bool> = details.iter().map(|detail| !detail.presumed.is_empty()).collect();
    assert_eq!(presumed, explained, "what rests on a presumption");
    for ((_, verdict, margin), detail) in recorded.iter().zip(&details) {
        let check = &rule.checks()[usize::from(detail.check)];
        assert_eq!(detail.span, check.span);
        if let Some(shown) = detail.margin.filter(|shown| Some(shown.dimension()) == check.dimension) {
            assert_eq!(shown.amount(), *margin);
        }
        assert_eq!(detail.fault.is_some(), *verdict == Verdict::Fault, "{detail:?}");
        assert!(detail.missing.is_empty() || *verdict == Verdict::Open, "{detail:?}");
    }
    details
}

/// Returns the verdicts of a rule's checks on an item.
pub(super) fn verdicts(world: &World, rule: &Rule, job: &Job, item: ItemIndex) -> Vec<(u8, Verdict)> {
    look(world, rule, job, item).iter().map(|detail| (detail.check, detail.verdict)).collect()
}

/// Returns what is missing in words: `C1/to.first_support`.
pub(super) fn missing(job: &Job, detail: &Detail) -> Vec<String> {
    let name = |&(item, field): &(ItemIndex, crate::model::FieldId)| {
        format!("{}.{}", job.id(item), job.schema.field_spec(job.item(item).kind, field).name)
    };
    detail.missing.iter().map(name).collect()
}

/// Returns the outcome of a rule on one item in words: `met`, `excepted`, `failed`, `open X.top`, `fault: …`, or `skipped`; the check's
/// number before each when there are several checks in the rule.
pub(super) fn outcome(world: &World, rule: &Rule, job: &Job, item: ItemIndex) -> String {
    let details = look(world, rule, job, item);
    let says = |detail: &Detail| {
        let what = match detail.verdict {
            Verdict::Met => "met".to_owned(),
            Verdict::Excepted => "excepted".to_owned(),
            Verdict::Absent => "absent".to_owned(),
            Verdict::Failed => "failed".to_owned(),
            Verdict::Open => format!("open {}", missing(job, detail).join(" ")).trim_end().to_owned(),
            Verdict::Fault => format!("fault: {}", detail.fault.as_ref().unwrap().message),
        };
        if rule.checks().len() > 1 { format!("{} {what}", detail.check) } else { what }
    };
    let all: Vec<String> = details.iter().map(says).collect();
    if all.is_empty() { "skipped".to_owned() } else { all.join(", ") }
}

/// Statements, the fields of an item, and the outcome.
pub(super) type Case<'a> = (&'a str, &'a [(&'a str, &'a str)], &'a str);

/// Tries rules for a kind on one item each.
pub(super) fn try_all(kind: &str, cases: &[Case<'_>]) {
    let mut wrong = Vec::new();
    for &(body, fields, expected) in cases {
        let mut world = World::new();
        let rule = world.rule(kind, body);
        let mut job = world.job();
        job.add("panel", "P", &[]);
        job.add("circuit", "20", &[("rating", "20 A"), ("panel", "P")]);
        job.add("room", "R", &[("kind", "kitchen")]);
        let item = job.add(kind, "X", fields);
        let job = job.done();
        let found = outcome(&world, &rule, &job, item);
        if found != expected {
            wrong.push((body.to_owned(), fields.to_vec(), found, expected.to_owned()));
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}
