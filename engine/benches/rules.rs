//! Cost of one rule on one item by what the rule says, against the same written by hand in Rust on the same cells.
//!
//! Read the ratios of one run, not the times: see the developers' guide.

use std::hint::black_box;
use std::sync::Arc;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use storystick_engine::book::{Ask, Book, RulesetText, Shelf};
use storystick_engine::facts::Facts;
use storystick_engine::model::kinds::{cable, cable_end, device, outlet_box, room};
use storystick_engine::model::{Cell, FieldId, ItemIndex, Job, JobBuilder, Schema, Symbol, Symbols, Type};
use storystick_engine::quantity::{Dimension, Quantity};
use storystick_engine::script::{Bound, Compiler, Datum, Recorder, Verdict};
use storystick_engine::source::Span;

/// As in the command: the evaluator takes memory for every call.
#[global_allocator]
static MEMORY: mimalloc::MiMalloc = mimalloc::MiMalloc;

/// Cable ends of a very large dwelling. Ten times as many no longer fit into a cache, and then memory is measured.
const ITEMS: usize = 1_000;
const INCH: i64 = 25_400_000;

const CODE: &str = r#"
[limit]
value = "12 in"
cites = "x"
[run]
value = "24 in"
cites = "x"
[shortest]
value = "3 in"
cites = "x"
[reserve]
value = 1.25
cites = "x"
[places]
list = ["bathroom", "kitchen", "garage", "laundry", "basement", "outdoors"]
cites = "x"
[heights]
rows = { switch = "48 in", receptacle = "18 in", junction = "60 in" }
cites = "x"
"#;

/// What a rule is called here, its statements on a cable end, and the same by hand.
type Case = (&'static str, &'static str, fn(&World, ItemIndex, &mut Kept));

const CASES: [Case; 7] = [
    ("limit", "keep end.first_support at_most code.limit;", limit),
    (
        "scope by a word, limit",
        "applies where end.is_at_box && end.cable.wiring_method == \"NM\"; keep end.first_support at_most code.limit;",
        guarded,
    ),
    (
        "let, sum, if, two limits",
        "let run = end.first_support + end.entry_to_support; \
         if end.sheath_inside > code.shortest && run < code.run { keep run at_most code.limit; } \
         keep end.free_conductor * code.reserve at_least code.shortest;",
        rich,
    ),
    ("list of the code", "need end.box.room.kind in code.places;", listed),
    ("row of a table", "keep end.first_support at_most code.heights[end.box.purpose];", row),
    ("quantifier", "need any d in end.box.devices where d.gfci;", any_gfci),
    ("native function", "keep doubled(end.first_support) at_most code.run;", native),
];

#[derive(Clone, Copy)]
struct Check {
    margin: i64,
    item: u32,
    check: u8,
    verdict: Verdict,
}

#[derive(Default)]
struct Kept {
    checks: Vec<Check>,
    item: u32,
}

impl Kept {
    fn margin(&mut self, check: u8, margin: i64) {
        let verdict = if margin < 0 { Verdict::Failed } else { Verdict::Met };
        self.record(check, verdict, margin);
    }

    fn open(&mut self, check: u8) {
        self.record(check, Verdict::Open, 0);
    }
}

impl Recorder for Kept {
    fn item(&mut self, item: ItemIndex) {
        self.item = item.0;
    }

    fn record(&mut self, check: u8, verdict: Verdict, margin: i64) {
        self.checks.push(Check { margin, item: self.item, check, verdict });
    }
}

struct World {
    job: Job,
    ends: Vec<ItemIndex>,
    bound: Vec<Bound>,
    book: Arc<Book>,
    nm: Symbol,
    places: Vec<Symbol>,
    heights: Vec<(Symbol, i64)>,
}

fn shelf(schema: &Arc<Schema>) -> (Shelf, Arc<Book>) {
    let manifest = "id = \"bench\"\ntitle = \"Bench\"\nkind = \"edition\"\nversion = \"1\"\nreviewed = 2026-11-25\nsource = \"invented\"\nchecked = \"memory\"\n";
    let rule = |(at, (_, body, _)): (usize, &Case)| {
        format!("/// Invented.\nrule \"r-{at}\" on cable_end at final cites \"x\" {{ {body} }}\n")
    };
    let rules: String = CASES.iter().enumerate().map(rule).collect();
    let text = |path: &str, text: String| RulesetText::in_folder("bench", format!("bench/{path}"), text);
    let texts = vec![
        text("ruleset.toml", manifest.to_owned()),
        text("code/all.toml", CODE.to_owned()),
        text("rules/all.rhai", rules),
    ];
    let mut shelf = Shelf::read(Arc::clone(schema), texts);
    let book = shelf.resolve(&Ask::on("bench", jiff::civil::date(2026, 11, 25))).expect("a sound ruleset");
    (shelf, book)
}

fn world() -> World {
    let schema = Arc::new(Schema::dwelling());
    let (mut shelf, book) = shelf(&schema);
    let mut compiler = Compiler::new(Arc::clone(&schema));
    let length = || Type::Quantity(Dimension::Length);
    let doubled = compiler.native("doubled", &[length()], length(), |call| match call.arguments {
        [Datum::Quantity(amount)] => {
            let doubled = amount.amount().checked_mul(2).ok_or("too long")?;
            Ok(Some(Datum::Quantity(Quantity::new(Dimension::Length, doubled))))
        }
        _ => Err(String::from("no length")),
    });
    doubled.expect("a free name");
    let files = shelf.files().clone();
    let compile = |rule: &storystick_engine::book::RuleInForce, symbols: &mut Symbols| {
        compiler.compile(&files, &rule.source, &book, symbols).expect("a sound rule").bind(&book)
    };
    let bound = book.rules.iter().map(|rule| compile(rule, shelf.symbols_mut())).collect();
    let symbols = Symbols::on(Arc::new(shelf.symbols().clone()));
    let mut job = JobBuilder::new(Arc::clone(&schema), files.clone(), symbols);
    let ends = items(&schema, &mut job);
    let nm = job.intern("NM");
    let places = ["bathroom", "kitchen", "garage", "laundry", "basement", "outdoors"].map(|word| job.intern(word));
    let heights = [("switch", 48), ("receptacle", 18), ("junction", 60)];
    let heights = heights.map(|(word, inches)| (job.intern(word), inches * INCH)).to_vec();
    World { job: job.finish(), ends, bound, book, nm, places: places.to_vec(), heights }
}

/// Makes boxes with devices in rooms, and cable ends at them; deterministic, and not in step with each other.
fn items(schema: &Schema, job: &mut JobBuilder) -> Vec<ItemIndex> {
    let at = Span::new(1, 1);
    let kind = |name: &str| schema.kind(name).expect("a kind of a dwelling");
    let add = |job: &mut JobBuilder, name: &str, id: String| job.add(kind(name), &id, at).expect("a new id");
    let rooms: Vec<ItemIndex> = ["kitchen", "bedroom", "garage", "hallway"]
        .iter()
        .map(|word| {
            let item = add(job, room::NAME, format!("room {word}"));
            let word = job.intern(word);
            job.set(item, room::KIND, Cell::text(word, at));
            item
        })
        .collect();
    let mut state = 1_u32;
    let mut next = |number: u32| {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (state >> 16) % number
    };
    let mut ends = Vec::new();
    for number in 0..ITEMS {
        let outlet = add(job, outlet_box::NAME, format!("B{number}"));
        job.set(outlet, outlet_box::ROOM, Cell::item(rooms[next(4) as usize], at));
        let purpose = job.intern(["switch", "receptacle", "junction"][next(3) as usize]);
        job.set(outlet, outlet_box::PURPOSE, Cell::text(purpose, at));
        let devices: Vec<Cell> = (0..2)
            .map(|which| {
                let item = add(job, device::NAME, format!("D{number}-{which}"));
                job.set(item, device::GFCI, Cell::flag(next(3) == 0, at));
                job.set(item, device::BOX, Cell::item(outlet, at));
                Cell::item(item, at)
            })
            .collect();
        let devices = job.list(&devices);
        job.set(outlet, outlet_box::DEVICES, Cell::list(devices, at));
        let run = add(job, cable::NAME, format!("C{number}"));
        let method = job.intern(if next(5) == 0 { "MC" } else { "NM" });
        job.set(run, cable::WIRING_METHOD, Cell::text(method, at));
        let end = add(job, cable_end::NAME, format!("C{number}/to"));
        job.set(end, cable_end::CABLE, Cell::item(run, at));
        job.set(end, cable_end::BOX, Cell::item(outlet, at));
        job.set(end, cable_end::IS_AT_BOX, Cell::flag(next(7) > 0, at));
        for field in
            [cable_end::FIRST_SUPPORT, cable_end::ENTRY_TO_SUPPORT, cable_end::SHEATH_INSIDE, cable_end::FREE_CONDUCTOR]
        {
            job.set(end, field, Cell::raw(i64::from(next(20) + 1) * INCH, at));
        }
        ends.push(end);
    }
    ends
}

fn amount(world: &World, item: ItemIndex, field: FieldId) -> Option<i64> {
    let cell = world.job.cell(item, field);
    (!cell.is_missing()).then(|| cell.bits())
}

fn limit(world: &World, end: ItemIndex, kept: &mut Kept) {
    match amount(world, end, cable_end::FIRST_SUPPORT) {
        Some(found) => kept.margin(0, black_box(12 * INCH) - found),
        None => kept.open(0),
    }
}

fn guarded(world: &World, end: ItemIndex, kept: &mut Kept) {
    let job = &world.job;
    match (job.flag(end, cable_end::IS_AT_BOX), job.link(end, cable_end::CABLE)) {
        (Some(false), _) => {}
        (Some(true), Some(run)) => match amount(world, run, cable::WIRING_METHOD) {
            Some(method) if method == i64::from(world.nm.0) => limit(world, end, kept),
            Some(_) => {}
            None => kept.open(0),
        },
        _ => kept.open(0),
    }
}

fn rich(world: &World, end: ItemIndex, kept: &mut Kept) {
    let field = |field| amount(world, end, field);
    let first = field(cable_end::FIRST_SUPPORT);
    let (entry, sheath) = (field(cable_end::ENTRY_TO_SUPPORT), field(cable_end::SHEATH_INSIDE));
    match (first, entry, sheath) {
        (Some(first), Some(entry), Some(sheath)) => {
            let Some(run) = first.checked_add(entry) else { return };
            if sheath > black_box(3 * INCH) && run < black_box(24 * INCH) {
                kept.margin(0, black_box(12 * INCH) - run);
            }
        }
        _ => kept.open(0),
    }
    match field(cable_end::FREE_CONDUCTOR).and_then(|free| free.checked_mul(5)) {
        // A whole number of nanometres times 5, over 4: to the nearest, a half to the even one.
        Some(scaled) => {
            let (whole, rest) = (scaled.div_euclid(4), scaled.rem_euclid(4));
            let up = i64::from(rest > 2 || (rest == 2 && whole % 2 != 0));
            kept.margin(1, whole + up - black_box(3 * INCH));
        }
        None => kept.open(1),
    }
}

fn listed(world: &World, end: ItemIndex, kept: &mut Kept) {
    let outlet = world.job.link(end, cable_end::BOX);
    let place = outlet.and_then(|outlet| world.job.link(outlet, outlet_box::ROOM));
    match place.and_then(|place| amount(world, place, room::KIND)) {
        Some(kind) => {
            let holds = world.places.iter().any(|place| i64::from(place.0) == kind);
            kept.record(0, if holds { Verdict::Met } else { Verdict::Failed }, 0);
        }
        None => kept.open(0),
    }
}

fn row(world: &World, end: ItemIndex, kept: &mut Kept) {
    let outlet = world.job.link(end, cable_end::BOX);
    let purpose = outlet.and_then(|outlet| amount(world, outlet, outlet_box::PURPOSE));
    match (amount(world, end, cable_end::FIRST_SUPPORT), purpose) {
        (Some(found), Some(purpose)) => match world.heights.iter().find(|(word, _)| i64::from(word.0) == purpose) {
            Some((_, height)) => kept.margin(0, height - found),
            None => kept.record(0, Verdict::Fault, 0),
        },
        _ => kept.open(0),
    }
}

fn any_gfci(world: &World, end: ItemIndex, kept: &mut Kept) {
    let Some(outlet) = world.job.link(end, cable_end::BOX) else { return kept.open(0) };
    let mut open = false;
    for item in world.job.links(outlet, outlet_box::DEVICES) {
        match world.job.flag(item, device::GFCI) {
            Some(true) => return kept.record(0, Verdict::Met, 0),
            Some(false) => {}
            None => open = true,
        }
    }
    kept.record(0, if open { Verdict::Open } else { Verdict::Failed }, 0);
}

fn native(world: &World, end: ItemIndex, kept: &mut Kept) {
    match amount(world, end, cable_end::FIRST_SUPPORT) {
        Some(found) => match found.checked_mul(2) {
            Some(doubled) => kept.margin(0, black_box(24 * INCH) - doubled),
            None => kept.record(0, Verdict::Fault, 0),
        },
        None => kept.open(0),
    }
}

fn rules(c: &mut Criterion) {
    let world = world();
    let facts = Facts::new(&world.job);
    for (at, (name, _, by_hand)) in CASES.iter().enumerate() {
        let mut group = c.benchmark_group(*name);
        group.throughput(Throughput::Elements(ITEMS as u64));
        let mut hand = Kept::default();
        group.bench_function("by hand", |b| {
            b.iter(|| {
                hand.checks.clear();
                for &end in &world.ends {
                    hand.item(end);
                    by_hand(black_box(&world), end, &mut hand);
                }
            });
        });
        let mut ours = Kept::default();
        let mut runner = world.bound[at].on(&facts);
        group.bench_function("rule", |b| {
            b.iter(|| {
                ours.checks.clear();
                runner.run_all(black_box(&world.ends), &mut ours);
            });
        });
        let mut reference = world.bound[at].rule().reference(&facts, &world.book).expect("it runs on the evaluator");
        group.bench_function("on the evaluator", |b| {
            b.iter(|| {
                world
                    .ends
                    .iter()
                    .map(|&end| reference.explain(black_box(end)).map_or(0, |found| found.len()))
                    .sum::<usize>()
            });
        });
        let mut there = Kept::default();
        group.bench_function("on the evaluator, verdicts alone", |b| {
            b.iter(|| {
                there.checks.clear();
                reference.run_all(black_box(&world.ends), &mut there).expect("it runs on the evaluator");
            });
        });
        group.finish();
        let plain =
            |kept: &Kept| kept.checks.iter().map(|c| (c.item, c.check, c.verdict, c.margin)).collect::<Vec<_>>();
        assert!(hand.checks.is_empty() || ours.checks.is_empty() || plain(&hand) == plain(&ours), "{name}");
    }
}

criterion_group!(benches, rules);
criterion_main!(benches);
