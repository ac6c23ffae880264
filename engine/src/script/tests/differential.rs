//! Generated rules on generated items, lowered and on Rhai's evaluator: both must say the same.

use proptest::prelude::*;

use super::world::{JobMaker, World, agree};
use crate::facts::Facts;
use crate::model::ItemIndex;
use crate::model::Type;
use crate::quantity::{Dimension, Quantity};
use crate::script::{Datum, Detail, NoAnswer, Operand, OperandSource, Reference, Rule, Shown, Verb, Verdict};

/// Numbers that decide what is generated; when they run out the first and simplest choice is taken.
struct Choices<'a> {
    numbers: &'a [u16],
    at: usize,
}

impl Choices<'_> {
    fn of(&mut self, number: usize) -> usize {
        let choice = self.numbers.get(self.at).copied().unwrap_or(0);
        self.at += 1;
        usize::from(choice) % number
    }

    fn one<'t>(&mut self, from: &[&'t str]) -> &'t str {
        from[self.of(from.len())]
    }
}

/// What can be named where an expression stands.
#[derive(Clone, Default)]
struct Names {
    lengths: Vec<String>,
    numbers: Vec<String>,
    flags: Vec<String>,
    device: bool,
    made: usize,
}

fn pick(choices: &mut Choices<'_>, fixed: &[&str], own: &[String]) -> String {
    let at = choices.of(fixed.len() + own.len());
    fixed.get(at).map_or_else(|| own[at - fixed.len()].clone(), |name| (*name).to_owned())
}

fn length(c: &mut Choices<'_>, names: &Names, depth: usize) -> String {
    let simple = c.of(8);
    if depth == 0 || simple < 4 {
        let mut fixed = vec![
            "box.top",
            "box.bottom",
            "box.gap",
            "code.reach.low",
            "qty(\"10 in\")",
            "box.room.ceiling",
            "code.height.by_use[box.purpose]",
        ];
        if names.device {
            fixed.extend(["d.from_sink", "d.from_tub"]);
        }
        return pick(c, &fixed, &names.lengths);
    }
    let (a, b) = (length(c, names, depth - 1), length(c, names, depth - 1));
    match c.of(11) {
        10 => format!("distance({a}, {b})"),
        0 => format!("({a} + {b})"),
        1 => format!("({a} - {b})"),
        2 => format!("{a} * {}", number(c, names, depth - 1)),
        3 => format!("({a} / {})", number(c, names, depth - 1)),
        4 => format!("min({a}, {b})"),
        5 => format!("max({a}, {b}, box.top)"),
        6 => format!("(-{a})"),
        7 => format!("half({a})"),
        _ => quantified(c, names, depth, &["sum", "least", "most", "nearest", "farthest"], length),
    }
}

fn number(c: &mut Choices<'_>, names: &Names, depth: usize) -> String {
    if depth == 0 || c.of(8) < 5 {
        let fixed = ["box.gangs", "1", "2", "0.5", "1.25", "-3", "0", "box.fixture_wires", "code.load.twice", "1_000"];
        return pick(c, &fixed, &names.numbers);
    }
    let (a, b) = (number(c, names, depth - 1), number(c, names, depth - 1));
    match c.of(8) {
        6 => format!("distance({a}, {b})"),
        7 if !names.device => {
            let of = c.one(&["d.kind", "d.from_sink", "d.gfci", "d.box.room", "d.from_tub * 2"]);
            match c.of(2) {
                0 => format!("(distinct d in box.devices of {of})"),
                _ => format!("(distinct d in box.devices where {} of {of})", about_device(c, names, depth - 1)),
            }
        }
        0 => format!("({a} + {b})"),
        1 => format!("({a} * {b})"),
        2 => format!("({a} / {b})"),
        3 => format!("({} / {})", length(c, names, depth - 1), length(c, names, depth - 1)),
        4 if !names.device => {
            format!("(count d in box.devices where {})", about_device(c, names, depth - 1))
        }
        _ => String::from("code.load.twice * code.load.share"),
    }
}

fn quantified(
    c: &mut Choices<'_>,
    names: &Names,
    depth: usize,
    words: &[&str],
    of: fn(&mut Choices<'_>, &Names, usize) -> String,
) -> String {
    if names.device {
        return of(c, names, 0);
    }
    let inner = Names { device: true, ..names.clone() };
    let word = c.one(words);
    // What picks one of the members says what holds where there is none; a sum may.
    let otherwise = match c.of(if word == "sum" { 6 } else { 3 }) {
        0 => String::from(" or fail"),
        1 => String::from(" or met"),
        2 => format!(" or {}", of(c, names, 0)),
        _ => String::new(),
    };
    let list = c.one(&["box.devices", "box.devices", "box.room.devices"]);
    match c.of(2) {
        0 => format!("({word} d in {list} of {}{otherwise})", of(c, &inner, depth - 1)),
        _ => {
            let condition = about_device(c, names, depth - 1);
            format!("({word} d in {list} where {condition} of {}{otherwise})", of(c, &inner, depth - 1))
        }
    }
}

/// Makes the condition of a quantifier. Of its parts none may leave the member out, so all of it is one part.
fn about_device(c: &mut Choices<'_>, names: &Names, depth: usize) -> String {
    let inner = Names { device: true, ..names.clone() };
    match c.of(3) {
        0 => flag(c, &inner, 0),
        1 => format!("!({})", flag(c, &inner, depth)),
        _ => format!("d.gfci && (d.box == none) != ({})", flag(c, &inner, depth)),
    }
}

fn flag(c: &mut Choices<'_>, names: &Names, depth: usize) -> String {
    if depth == 0 || c.of(8) < 3 {
        let mut fixed = vec![
            "box.clamps",
            "box.wet_rated",
            "box.purpose == \"switch\"",
            "box.purpose != \"receptacle\"",
            "box.room.kind in code.gfci.places",
            "!(box.room.kind in code.gfci.places)",
            "box.room.kind !in code.gfci.places",
            "box.room == none",
            "box.room != none",
            "box.mounted == \"wall\"",
            "box.room.kind == code.room.best",
            "box.room.kind != \"bedroom\"",
            "true == box.clamps",
            "code.nm.allowed",
        ];
        if names.device {
            fixed.extend(["d.gfci", "d.kind == \"receptacle\"", "d.box.clamps", "d.box == box", "d.box != none"]);
        }
        return pick(c, &fixed, &names.flags);
    }
    match c.of(8) {
        0 => format!("({} && {})", flag(c, names, depth - 1), flag(c, names, depth - 1)),
        1 => format!("({} || {})", flag(c, names, depth - 1), flag(c, names, depth - 1)),
        2 => format!("!({})", flag(c, names, depth - 1)),
        3 => {
            let relation = c.one(&["<", "<=", ">", ">=", "==", "!="]);
            format!("{} {relation} {}", length(c, names, depth - 1), length(c, names, depth - 1))
        }
        4 => {
            let relation = c.one(&["<", ">", "==", "!="]);
            format!("{} {relation} {}", number(c, names, depth - 1), number(c, names, depth - 1))
        }
        5 if !names.device => {
            let word = c.one(&["any", "every"]);
            let list = c.one(&["box.devices", "box.room.devices"]);
            match (c.of(5), word) {
                (0, "any") => format!("(any d in {list})"),
                _ => format!("({word} d in {list} where {})", about_device(c, names, depth - 1)),
            }
        }
        6 => {
            let sign = c.one(&["&&", "||"]);
            let parts = [0; 3].map(|_| flag(c, names, depth - 1));
            format!("({})", parts.join(&format!(" {sign} ")))
        }
        _ => format!("(({}) == ({}))", flag(c, names, depth - 1), flag(c, names, depth - 1)),
    }
}

fn check(c: &mut Choices<'_>, names: &Names) -> String {
    let fix = c.one(&["", " else \"put it right\""]);
    match c.of(9) {
        0 => format!("keep {} at_most {}{fix};", length(c, names, 2), length(c, names, 1)),
        1 => format!("keep {} at_least {}{fix};", length(c, names, 2), length(c, names, 1)),
        2 => format!("keep {} between {} and {}{fix};", length(c, names, 1), length(c, names, 1), length(c, names, 1)),
        3 => format!("keep {} equal_to {}{fix};", length(c, names, 1), length(c, names, 1)),
        4 => format!("keep {} at_most {}{fix};", number(c, names, 2), number(c, names, 1)),
        5 => format!("keep box.room.kind one_of code.gfci.places{fix};"),
        6 => format!("keep box.purpose equal_to \"switch\"{fix};"),
        7 => format!("look \"the box\"{fix};"),
        _ => format!("need {}{fix};", flag(c, names, 3)),
    }
}

/// Whom the rule concerns, its exceptions, and what it takes for granted.
fn top(c: &mut Choices<'_>, names: &mut Names) -> String {
    const PRESUMED: [&[&str]; 8] = [
        &[
            "box.top is code.reach.low",
            "box.top is qty(\"10 in\")",
            "box.top is box.bottom",
            "box.top is box.room.ceiling",
        ],
        &["box.clamps is true", "box.clamps is false", "box.clamps is box.wet_rated"],
        &["box.purpose is \"switch\"", "box.purpose is \"receptacle\""],
        &["box.room.kind is code.room.best", "box.room.kind is \"bedroom\""],
        &["box.room.ceiling is qty(\"48 in\")"],
        &["box.room is none"],
        &["device.gfci is true", "device.gfci is false"],
        &["device.from_sink is device.from_tub", "device.from_sink is qty(\"15 in\")"],
    ];
    let mut out = String::new();
    for presumed in PRESUMED {
        if c.of(4) == 1 {
            out.push_str(&format!("presume {} because \"common practice, no source\"; ", c.one(presumed)));
        }
    }
    if c.of(3) == 1 {
        names.made += 1;
        let name = format!("v{}", names.made);
        out.push_str(&format!("let {name} = {}; ", flag(c, names, 1)));
        names.flags.push(name);
    }
    for _ in 0..c.of(3) {
        out.push_str(&format!("applies where {}; ", flag(c, names, 1)));
    }
    for number in 0..c.of(4) {
        let named = c.one(&["", " named \"other\""]).replace("other", &format!("other-{number}"));
        let from = c.one(&["", "", " from \"2020-01-01\"", " from \"2027-01-01\""]);
        let until = c.one(&["", "", " until \"2028-01-01\"", " until \"2025-01-01\""]);
        let until = if from.contains("2027") { "" } else { until };
        out.push_str(&format!("except \"1.{number}\"{named}{from}{until} where {}; ", flag(c, names, 1)));
    }
    out
}

/// A block; it always ends with a check.
fn block(c: &mut Choices<'_>, names: &mut Names, depth: usize) -> String {
    let outer = (names.lengths.len(), names.numbers.len(), names.flags.len());
    let mut out = String::new();
    if depth == 3 {
        out.push_str(&top(c, names));
    }
    for _ in 0..c.of(4) {
        match c.of(7) {
            0 => {
                names.made += 1;
                let name = format!("v{}", names.made);
                let sort = c.of(3);
                let of = |c: &mut Choices<'_>| match sort {
                    0 => length(c, names, 2),
                    1 => number(c, names, 2),
                    _ => flag(c, names, 2),
                };
                let value = of(c);
                let value = match c.of(3) {
                    0 => format!("if {} {{ {value} }} else {{ {} }}", flag(c, names, 1), of(c)),
                    _ => value,
                };
                let names_of_type = match sort {
                    0 => &mut names.lengths,
                    1 => &mut names.numbers,
                    _ => &mut names.flags,
                };
                out.push_str(&format!("let {name} = {value}; "));
                names_of_type.push(name);
            }
            1..=3 if depth > 0 => {
                let condition = flag(c, names, 2);
                out.push_str(&format!("if {condition} {{ {} }}", block(c, names, depth - 1)));
                if c.of(2) == 1 {
                    out.push_str(&format!(" else {{ {} }}", block(c, names, depth - 1)));
                }
                out.push(' ');
            }
            _ => out.push_str(&format!("{} ", check(c, names))),
        }
    }
    out.push_str(&check(c, names));
    names.lengths.truncate(outer.0);
    names.numbers.truncate(outer.1);
    names.flags.truncate(outer.2);
    out
}

fn items(c: &mut Choices<'_>, job: &mut JobMaker) -> Vec<ItemIndex> {
    let lengths = ["10 in", "15 in", "1/2 in", "48 in", "-3 in"];
    let mut boxes = Vec::new();
    for room in 0..2 {
        let kind = c.one(&["kitchen", "bedroom"]);
        let id = format!("R{room}");
        let room = job.add("room", &id, &[("kind", kind)]);
        if c.of(2) == 1 {
            job.set(room, "ceiling", c.one(&lengths));
        }
    }
    for at in 0..4 {
        let id = format!("B{at}");
        let item = job.add("box", &id, &[("mounted", "wall")]);
        for field in ["top", "bottom", "gap"] {
            if c.of(3) > 0 {
                job.set(item, field, c.one(&lengths));
            }
        }
        for field in ["gangs", "fixture_wires"] {
            if c.of(3) > 0 {
                job.set(item, field, c.one(&["1", "0", "2", "0.3"]));
            }
        }
        for field in ["clamps", "wet_rated"] {
            if c.of(3) > 0 {
                job.set(item, field, c.one(&["true", "false"]));
            }
        }
        if c.of(3) > 0 {
            job.set(item, "purpose", c.one(&["switch", "receptacle", "junction"]));
        }
        if c.of(3) > 0 {
            job.set(item, "room", c.one(&["R0", "R1", "none"]));
        }
        let mut devices = Vec::new();
        for device in 0..c.of(3) {
            let id = format!("D{at}-{device}");
            let own = format!("B{at}");
            let its_box = [own.as_str(), "none"][usize::from(c.of(4) == 1)];
            let device = job.add("device", &id, &[("kind", c.one(&["receptacle", "switch"])), ("box", its_box)]);
            if c.of(3) > 0 {
                job.set(device, "gfci", c.one(&["true", "false"]));
            }
            for field in ["from_sink", "from_tub"] {
                if c.of(3) > 0 {
                    job.set(device, field, c.one(&lengths));
                }
            }
            devices.push(id);
        }
        if !devices.is_empty() {
            job.set(item, "devices", &devices.join(","));
        }
        boxes.push(item);
    }
    boxes
}

/// Makes two answers comparable: the order of sources and the dimension of the sum of nothing are of no account, and of a
/// fault only that it is one.
pub(super) fn plain(details: Vec<Detail>) -> Vec<Detail> {
    let operand = |mut operand: Operand| {
        operand.sources.retain(|source| !matches!(source, OperandSource::Literal(_)));
        operand.sources.sort_unstable();
        if let Shown::Quantity(amount) = operand.value
            && amount.amount() == 0
        {
            operand.value = Shown::Quantity(Quantity::number(0));
        }
        operand
    };
    // Rhai stops at a fault, the lowered form reads the other operands as well: what they presume is no matter then.
    let asks = |detail: &Detail| !matches!(detail.verb, Verb::Look | Verb::Except);
    let faulty =
        details.iter().any(|detail| detail.verdict == Verdict::Fault || (asks(detail) && detail.found.is_none()));
    details
        .into_iter()
        .map(|mut detail| {
            if faulty {
                detail.presumed.clear();
            }
            if detail.verdict == Verdict::Fault {
                detail.found = None;
                detail.allowed.clear();
                detail.fault = None;
            }
            detail.presumed.sort_unstable();
            detail.found = detail.found.map(operand);
            detail.allowed = detail.allowed.into_iter().map(operand).collect();
            detail
        })
        .collect()
}

fn same(
    world: &World,
    rule: &Rule,
    text: &str,
    facts: &Facts<'_>,
    boxes: &[ItemIndex],
) -> Result<usize, TestCaseError> {
    let mut reference =
        rule.reference(facts, &world.book).map_err(|error| TestCaseError::fail(format!("{text}: {error:?}")))?;
    let mut compared = 0;
    for &item in boxes {
        let lowered = agree(rule, facts, &world.book, item);
        match reference.explain(item) {
            Ok(details) => {
                prop_assert_eq!(plain(lowered), plain(details), "{}", text);
                compared += 1;
            }
            Err(NoAnswer::TooManyWays) => {}
            Err(error) => return Err(TestCaseError::fail(format!("{text}: {error:?}"))),
        }
    }
    verdicts_alone(rule, text, facts, world, boxes, &mut reference)?;
    Ok(compared)
}

/// Holds what both record of many items in one go against each other.
fn verdicts_alone(
    rule: &Rule,
    text: &str,
    facts: &Facts<'_>,
    world: &World,
    boxes: &[ItemIndex],
    reference: &mut Reference,
) -> Result<(), TestCaseError> {
    let (mut lowered, mut there) = (Vec::new(), Vec::new());
    rule.bind(&world.book).on(facts).run_all(boxes, &mut lowered);
    match reference.run_all(boxes, &mut there) {
        Ok(()) => {
            prop_assert_eq!(&lowered, &there, "{}", text);
            // What the last item left behind is not the first one's.
            there.clear();
            let again = reference.run_all(boxes, &mut there);
            prop_assert!(again.is_ok() && lowered == there, "{text}: {again:?}");
        }
        Err(NoAnswer::TooManyWays) => {}
        Err(error) => return Err(TestCaseError::fail(format!("{text}: {error:?}"))),
    }
    Ok(())
}

/// Adds a native function that knows, does not know, and refuses.
fn world() -> World {
    let mut world = World::new();
    let length = || Type::Quantity(Dimension::Length);
    let half = world.compiler.native("half", &[length()], length(), |call| match call.arguments {
        [Datum::Quantity(amount)] if amount.amount() < 0 => Err(String::from("less than nothing")),
        [Datum::Quantity(amount)] if amount.amount() == 254_000_000 => Ok(None),
        [Datum::Quantity(amount)] => Ok(Some(Datum::Quantity(Quantity::new(Dimension::Length, amount.amount() / 2)))),
        _ => Err(String::from("no length")),
    });
    half.unwrap();
    world
}

/// What is said of statements that can never come out otherwise.
const NEVER: [&str; 5] = ["can never", "lets everything go", "no item is ever", "no value is between", "never fail"];

/// Makes a rule and items from numbers and compares; returns the verdicts seen, each with whether it rests on a presumption, and how
/// many items were compared.
fn try_one(rule: &[u16], facts: &[u16]) -> Result<(Vec<(Verdict, bool)>, usize), TestCaseError> {
    let body = block(&mut Choices { numbers: rule, at: 0 }, &mut Names::default(), 3);
    let mut world = world();
    let rule = match world.try_rule("box", &body) {
        Ok(rule) => rule,
        // What can never come out otherwise is refused, and chance writes it now and then.
        Err(problems) if problems.iter().all(|problem| NEVER.iter().any(|never| problem.message.contains(never))) => {
            return Ok((Vec::new(), 0));
        }
        Err(problems) => return Err(TestCaseError::fail(format!("{body}: {problems:#?}"))),
    };
    let mut job = world.job();
    let boxes = items(&mut Choices { numbers: facts, at: 0 }, &mut job);
    let job = job.done();
    let facts = Facts::new(&job);
    let compared = same(&world, &rule, &body, &facts, &boxes)?;
    let details = boxes.iter().flat_map(|&item| agree(&rule, &facts, &world.book, item));
    Ok((details.map(|detail| (detail.verdict, !detail.presumed.is_empty())).collect(), compared))
}

proptest! {
    #![proptest_config(ProptestConfig { max_shrink_iters: 4000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn lowered_rules_say_what_rhai_says(
        rule in prop::collection::vec(any::<u16>(), 0..200),
        facts in prop::collection::vec(any::<u16>(), 0..80),
    ) {
        try_one(&rule, &facts)?;
    }
}

/// What is generated must be worth comparing: every verdict comes up often, and few rules have too many ways.
#[test]
fn generated_rules_reach_every_verdict() {
    let mut state = 1_u64;
    let mut numbers = |len: usize| -> Vec<u16> {
        let next = |_| {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (state >> 40) as u16
        };
        (0..len).map(next).collect()
    };
    let mut seen = std::collections::BTreeMap::new();
    let (mut compared, mut out, mut presumed) = (0, 0, 0);
    for _ in 0..400 {
        let (verdicts, number) = try_one(&numbers(200), &numbers(80)).unwrap();
        compared += number;
        out += usize::from(number > 0 && verdicts.is_empty());
        for (verdict, rests) in verdicts {
            *seen.entry(verdict).or_insert(0) += 1;
            presumed += usize::from(rests);
        }
    }
    assert!(compared > 1_100, "only {compared} of 1,600 items were compared");
    assert!(out > 2, "only {out} rules leave every item out");
    assert!(presumed > 100, "only {presumed} verdicts rest on a presumption");
    for verdict in [Verdict::Met, Verdict::Excepted, Verdict::Open, Verdict::Failed, Verdict::Fault] {
        assert!(seen.get(&verdict).is_some_and(|&number| number > 20), "{seen:?}");
    }
}
