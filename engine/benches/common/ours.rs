//! Our side of the comparison: the rules as a ruleset, the items as a job, and the same by hand in Rust.

#![allow(unreachable_pub, dead_code, reason = "shared by several programs, each of which uses a part")]

use std::sync::Arc;

use storystick_engine::book::{Ask, Book, RulesetText, Shelf};
use storystick_engine::facts::Facts;
use storystick_engine::model::{
    Cell, Default as Supplied, FieldId, FieldSpec, Filled, IdRule, ItemIndex, Job, JobBuilder, KindSpec, Nest, Schema,
    Symbols, Type,
};
use storystick_engine::quantity::{Dimension, Quantity};
use storystick_engine::script::{Bound, Compiler, Datum, Recorder, Verdict, run_together};
use storystick_engine::source::Span;

use crate::common::{Check, FIELDS, LISTED, PLACES, ROWS, Reading, SUM_BELOW, nm};

const PLACE_WORDS: &[&str] = &PLACES;
const METHODS: &[&str] = &["NM", "MC"];
const NAMES: [&str; FIELDS] = [
    "f0", "f1", "f2", "f3", "f4", "f5", "f6", "f7", "f8", "f9", "f10", "f11", "f12", "f13", "f14", "f15", "f16", "f17",
    "f18", "f19",
];

/// One check of one item, kept as the engine keeps it: 16 bytes.
#[derive(Clone, Copy)]
pub struct Kept {
    /// Base units to spare, negative when missed.
    pub margin: i64,
    /// The item.
    pub item: u32,
    /// The rule.
    pub rule: u16,
    /// The statement.
    pub statement: u8,
    /// Met or not.
    pub failed: bool,
}

/// Keeps every check.
#[derive(Default)]
pub struct Keeper {
    /// All checks.
    pub kept: Vec<Kept>,
    failed: usize,
    item: u32,
    rule: u16,
}

impl Recorder for Keeper {
    fn rule(&mut self, rule: u16, _: usize) {
        self.rule = rule;
    }

    /// As the engine does: what is met is counted, what failed is told.
    fn pause(&mut self) {
        self.failed += self.kept.iter().filter(|check| check.failed).count();
        self.kept.clear();
    }

    fn item(&mut self, item: ItemIndex) {
        self.item = item.0;
    }

    fn row(&mut self, check: u8, items: &[ItemIndex], given: &[(Verdict, i64)]) {
        let rule = self.rule;
        self.kept.extend(items.iter().zip(given).map(|(item, &(verdict, margin))| Kept {
            margin,
            item: item.0,
            rule,
            statement: check,
            failed: verdict != Verdict::Met,
        }));
    }

    fn record(&mut self, check: u8, verdict: Verdict, margin: i64) {
        let failed = verdict != Verdict::Met;
        self.kept.push(Kept { margin, item: self.item, rule: self.rule, statement: check, failed });
    }
}

fn field(name: &'static str, ty: Type) -> FieldSpec {
    let filled = Filled::Written { required: false, as_built: false };
    FieldSpec { name, ty, filled, default: Supplied::None, doc: "Invented for the measurement." }
}

/// Returns the kinds of a dwelling and one of invented readings.
pub fn schema() -> Arc<Schema> {
    let mut schema = Schema::dwelling();
    let mut fields: Vec<FieldSpec> = NAMES.iter().map(|name| field(name, Type::Quantity(Dimension::Length))).collect();
    fields.push(field("method", Type::Word(METHODS)));
    fields.push(field("ok", Type::Flag));
    fields.push(field("place", Type::Word(PLACE_WORDS)));
    let kind = KindSpec {
        name: "reading",
        word: "reading",
        nest: Nest::Top("reading"),
        id: IdRule::Made,
        doc: "Invented readings.",
        fields,
    };
    schema.add_kind(kind).expect("a new kind");
    Arc::new(schema)
}

/// Returns the ruleset with its limits as entries.
fn ruleset(checks: &[Check]) -> Vec<RulesetText> {
    let entry_end = "cites = \"x\"\nchecked = \"memory\"\nsource = \"invented\"\n";
    let listed: Vec<&str> = LISTED.iter().map(|&at| PLACES[at]).collect();
    let rows: Vec<String> = PLACES.iter().zip(ROWS).map(|(word, row)| format!("{word} = \"{row}/16 in\"")).collect();
    let mut code = format!(
        "[shared.listed]\nlist = {listed:?}\n{entry_end}[shared.by_place]\nrows = {{ {} }}\n{entry_end}\
         [shared.sum_below]\nvalue = \"{SUM_BELOW}/16 in\"\n{entry_end}",
        rows.join(", ")
    );
    let mut rules = String::new();
    let mut entry = |at: usize, side: &str, sixteenths: i64| {
        let name = format!("limit.r{at}{side}");
        code.push_str(&format!("[{name}]\nvalue = \"{sixteenths}/16 in\"\n{entry_end}"));
        format!("code.{name}")
    };
    for (at, check) in checks.iter().copied().enumerate() {
        let body = match check {
            Check::AtMost(f, k) => format!("keep reading.f{f} at_most {};", entry(at, "", k)),
            Check::AtLeast(f, k) => format!("keep reading.f{f} at_least {};", entry(at, "", k)),
            Check::Between(f, a, b) => {
                format!("keep reading.f{f} between {} and {};", entry(at, "low", a), entry(at, "high", b))
            }
            Check::NmAtMost(f, k) => {
                format!("applies where reading.method == \"NM\"; keep reading.f{f} at_most {};", entry(at, "", k))
            }
            Check::SumAtMost(a, b, k) => {
                format!("let run = reading.f{a} + reading.f{b}; keep run at_most {};", entry(at, "", k))
            }
            Check::Ok => String::from("need reading.ok;"),
            Check::LetIf([a, b, c], more, limit) => format!(
                "let run = reading.f{a} + reading.f{b}; if reading.f{c} > {} && run < code.shared.sum_below {{ keep run at_most {}; }}",
                entry(at, "more", more),
                entry(at, "", limit)
            ),
            Check::Listed(f, k) => {
                format!("if reading.place in code.shared.listed {{ keep reading.f{f} at_most {}; }}", entry(at, "", k))
            }
            Check::Row(f) => format!("keep reading.f{f} at_most code.shared.by_place[reading.place];"),
            Check::Gap(a, b, k) => format!("keep gap(reading.f{a}, reading.f{b}) at_most {};", entry(at, "", k)),
        };
        rules.push_str(&format!("/// Invented.\nrule \"r-{at}\" on reading at final cites \"x\" {{ {body} }}\n"));
    }
    let manifest = "id = \"bench\"\ntitle = \"Bench\"\nkind = \"edition\"\nversion = \"1\"\nreviewed = 2026-11-25\nsource = \"invented\"\nchecked = \"memory\"\n";
    vec![
        RulesetText::in_folder("bench", "bench/ruleset.toml", manifest),
        RulesetText::in_folder("bench", "bench/code/limits.toml", code),
        RulesetText::in_folder("bench", "bench/rules/all.rhai", rules),
    ]
}

/// The compiled rules and what they stand on.
pub struct Rules {
    /// Bound rules, in order.
    pub bound: Vec<Bound>,
    shelf: Shelf,
    book: Arc<Book>,
}

impl Rules {
    /// Compiles the rules.
    pub fn new(schema: &Arc<Schema>, checks: &[Check]) -> Rules {
        let mut shelf = Shelf::read(Arc::clone(schema), ruleset(checks));
        let ask = Ask::on("bench", jiff::civil::date(2026, 11, 25));
        let book = shelf.resolve(&ask).expect("a sound ruleset");
        let mut compiler = Compiler::new(Arc::clone(schema));
        let length = || Type::Quantity(Dimension::Length);
        let gap = compiler.native("gap", &[length(), length()], length(), |call| match call.arguments {
            [Datum::Quantity(a), Datum::Quantity(b)] => {
                let gap = (a.amount() - b.amount()).abs();
                Ok(Some(Datum::Quantity(Quantity::new(Dimension::Length, gap))))
            }
            _ => Err(String::from("two lengths are due")),
        });
        gap.expect("a new name");
        let files = shelf.files().clone();
        let bound = book
            .rules
            .iter()
            .map(|rule| {
                compiler.compile(&files, &rule.source, &book, shelf.symbols_mut()).expect("a sound rule").bind(&book)
            })
            .collect();
        Rules { bound, shelf, book }
    }

    /// Returns the book.
    pub fn book(&self) -> &Book {
        &self.book
    }

    /// Makes a job of the items.
    pub fn job(&self, schema: &Arc<Schema>, items: &[Reading]) -> Job {
        let symbols = Symbols::on(Arc::new(self.shelf.symbols().clone()));
        let mut builder = JobBuilder::new(Arc::clone(schema), self.shelf.files().clone(), symbols);
        let kind = schema.kind("reading").expect("the kind is there");
        let at = Span::new(1, 1);
        let words = [builder.intern(METHODS[0]), builder.intern(METHODS[1])];
        let places = PLACES.map(|word| builder.intern(word));
        for (number, reading) in items.iter().enumerate() {
            let item = builder.add(kind, &format!("reading-{number}"), at).expect("a new id");
            for (f, value) in reading.f.iter().enumerate() {
                builder.set(item, FieldId(f as u16), Cell::raw(*value, at));
            }
            builder.set(item, FieldId(FIELDS as u16), Cell::text(words[usize::from(!reading.is_nm)], at));
            builder.set(item, FieldId(FIELDS as u16 + 1), Cell::flag(reading.ok, at));
            builder.set(item, FieldId(FIELDS as u16 + 2), Cell::text(places[reading.place], at));
        }
        builder.finish()
    }
}

/// Runs all rules on all readings of the facts and returns the number of failed checks.
pub fn run(rules: &Rules, facts: &Facts<'_>, keeper: &mut Keeper) -> usize {
    keeper.failed = 0;
    let job = facts.job();
    let kind = job.schema.kind("reading").expect("the kind is there");
    let numbered: Vec<(u16, &Bound)> = (0..).zip(&rules.bound).collect();
    run_together(&numbered, job.of_kind(kind), facts, keeper);
    keeper.failed
}

/// The same by hand: each check with its item, rule and margin kept in the same 16 bytes, as many items at a time.
pub fn by_hand(items: &[Reading], checks: &[Check], kept: &mut Vec<Kept>) -> usize {
    let mut failed = 0;
    for (first, some) in (0..).step_by(512).zip(items.chunks(512)) {
        kept.clear();
        by_hand_some(first, some, checks, kept);
        failed += kept.iter().filter(|check| check.failed).count();
    }
    failed
}

fn by_hand_some(first: usize, items: &[Reading], checks: &[Check], kept: &mut Vec<Kept>) {
    for (rule, check) in checks.iter().copied().enumerate() {
        for (item, reading) in items.iter().enumerate() {
            let margin = match check {
                Check::AtMost(f, limit) => nm(limit) - reading.f[f],
                Check::AtLeast(f, limit) => reading.f[f] - nm(limit),
                Check::Between(f, low, high) => (reading.f[f] - nm(low)).min(nm(high) - reading.f[f]),
                Check::NmAtMost(_, _) if !reading.is_nm => continue,
                Check::NmAtMost(f, limit) => nm(limit) - reading.f[f],
                Check::SumAtMost(a, b, limit) => nm(limit) - reading.f[a] - reading.f[b],
                Check::Ok => i64::from(reading.ok) - 1,
                Check::LetIf([a, b, c], more, limit) => {
                    let run = reading.f[a] + reading.f[b];
                    if reading.f[c] <= nm(more) || run >= nm(SUM_BELOW) {
                        continue;
                    }
                    nm(limit) - run
                }
                Check::Listed(_, _) if !LISTED.contains(&reading.place) => continue,
                Check::Listed(f, limit) => nm(limit) - reading.f[f],
                Check::Row(f) => nm(ROWS[reading.place]) - reading.f[f],
                Check::Gap(a, b, limit) => nm(limit) - (reading.f[a] - reading.f[b]).abs(),
            };
            kept.push(Kept {
                margin,
                item: (first + item) as u32,
                rule: rule as u16,
                statement: 0,
                failed: margin < 0,
            });
        }
    }
}
