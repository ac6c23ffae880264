//! Mistakes in rules: each with its message, the exact characters it points at, and its help.

use super::world::World;
use crate::model::{Filled, Schema};
use crate::script::Compiler;

/// What is said of a mistake: message, text pointed at, help.
type Said<'a> = (&'a str, &'a str, &'a str);

fn mistakes(kind: &str, body: &str, expected: &[Said<'_>]) {
    let mut world = World::new();
    let problems = world.try_rule(kind, body).map(|_| ()).expect_err(body);
    let found: Vec<(String, String, String)> = problems
        .iter()
        .map(|problem| {
            let at = world.files.text(problem.span).to_owned();
            (problem.message.clone(), at, problem.help.clone().unwrap_or_default())
        })
        .collect();
    let found: Vec<Said<'_>> = found.iter().map(|(m, a, h)| (m.as_str(), a.as_str(), h.as_str())).collect();
    assert_eq!(found, expected, "{body}");
}

/// Checks the first mistake of each of several rules: statements, message, text pointed at.
fn each(kind: &str, cases: &[(&str, &str, &str)]) {
    let mut wrong = Vec::new();
    for &(body, message, at) in cases {
        let mut world = World::new();
        let problems = world.try_rule(kind, body).map(|_| ()).err().unwrap_or_default();
        let first =
            problems.first().map(|problem| (problem.message.clone(), world.files.text(problem.span).to_owned()));
        if first != Some((message.to_owned(), at.to_owned())) {
            wrong.push((body.to_owned(), first));
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

/// Checks one mistake whose help is of no interest.
fn mistake(kind: &str, body: &str, message: &str, at: &str) {
    let mut world = World::new();
    let problems = world.try_rule(kind, body).map(|_| ()).expect_err(body);
    let found: Vec<(&str, &str)> =
        problems.iter().map(|problem| (problem.message.as_str(), world.files.text(problem.span))).collect();
    assert_eq!(found, [(message, at)], "{body}");
}

#[test]
fn all_mistakes_of_a_rule_are_told_at_once_with_the_nearest_name() {
    mistakes(
        "cable_end",
        "applies where ende.is_at_box;\n\
         applies where end.cable.wiring_metod == \"NM\";\n\
         keep end.first_suport at_most code.nm.secured_form_box;\n\
         need end.cable.wiring_method == \"NMM\" else \"½\";\n\
         keep min(end.first_support, 3) at_most cod.x;",
        &[
            ("there is no `ende` here", "ende", "did you mean `end`?"),
            ("a cable has no field `wiring_metod`", "wiring_metod", "did you mean `wiring_method`?"),
            ("an end has no field `first_suport`", "first_suport", "did you mean `first_support`?"),
            (
                "the code in force has no entry `nm.secured_form_box`",
                "secured_form_box",
                "did you mean `code.nm.secured_from_box`?",
            ),
            ("`NMM` is none of the words that can stand here", "\"NMM\"", "did you mean `NM`?"),
            (
                "a length can't be compared with a number",
                "3",
                "a value with its unit, such as `12 in` or `300 mm`, is an entry of the code: `code.…`",
            ),
            ("there is no `cod` here", "cod", "did you mean `code`?"),
        ],
    );
}

#[test]
fn unlike_things_are_never_compared() {
    each(
        "cable_end",
        &[
            ("need end.first_support == 3;", "a length can't be compared with a number", "3"),
            ("need end.first_support < 3;", "a length can't be compared with a number", "3"),
            ("need end.first_support != \"NM\";", "a length can't be compared with the text `NM`", "\"NM\""),
            ("need end.is_at_box == \"true\";", "a yes or no can't be compared with the text `true`", "\"true\""),
            ("need end.is_at_box == 1;", "a yes or no can't be compared with a number", "1"),
            ("need end.is_at_box < end.is_at_panel;", "a yes or no has no more and less", "end.is_at_box"),
            ("need end.cable.wiring_method < \"NM\";", "a word has no more and less", "end.cable.wiring_method"),
            ("need end.cable == end.box;", "a cable can't be compared with a box", "end.box"),
            ("need end.cable.wiring_method == end.entry;", "these two can never be the same word", "end.entry"),
            ("need end.box.devices == end.box.ends;", "a list can't be compared", "end.box.devices"),
            (
                "keep end.first_support at_most code.load.twice;",
                "a length can't be kept `at_most` with a number",
                "code.load.twice",
            ),
            (
                "keep end.first_support equal_to end.cable.size;",
                "a length can't be kept `equal_to` with a conductor size",
                "end.cable.size",
            ),
            ("keep end.is_at_box at_least true;", "a yes or no has no more and less", "end.is_at_box"),
            (
                "keep end.first_support between code.nm.secured_from_box and code.load.share;",
                "a length can't be kept `between` with a percentage",
                "code.load.share",
            ),
            (
                "keep end.first_support one_of code.gfci.places;",
                "a length can't be one of a list of words",
                "end.first_support",
            ),
            (
                "need end.first_support in code.gfci.places;",
                "a length can't be in a list of words",
                "end.first_support",
            ),
            (
                "need end.cable.size in code.widths;",
                "a conductor size can't be in a list of length values",
                "end.cable.size",
            ),
            ("need end.first_support;", "a condition is due here, found a length", "end.first_support"),
            ("need !end.first_support;", "a condition is due here, found a length", "end.first_support"),
            ("need end.is_at_box && end.cable;", "a condition is due here, found a cable", "end.cable"),
            (
                "applies where end.box.devices; look \"x\";",
                "a condition is due here, found a list of device items",
                "end.box.devices",
            ),
        ],
    );
}

#[test]
fn dimensions_are_reckoned_with_at_load() {
    each(
        "cable_end",
        &[
            (
                "keep end.first_support + end.cable.size at_most code.reach.low;",
                "a length and a conductor size can't be added",
                "+",
            ),
            ("keep end.first_support - 2 at_most code.reach.low;", "a number can't be taken from a length", "-"),
            (
                "keep end.first_support * end.cable.size at_most code.reach.low;",
                "a length can't be multiplied by a conductor size",
                "*",
            ),
            (
                "keep end.first_support / end.cable.circuit.rating at_most code.reach.low;",
                "a length can't be divided by a current",
                "/",
            ),
            ("keep end.is_at_box + 1 at_most code.load.twice;", "a yes or no and a number can't be added", "+"),
            ("keep -end.cable.size at_most code.wire.smallest;", "a conductor size has no sign", "-"),
            ("keep end.first_support % 2 at_most code.reach.low;", "`%` is not part of the rule language", "%"),
            (
                "keep sum e in end.box.ends of e.cable.size at_most code.wire.smallest;",
                "a conductor size can't be added up",
                "e.cable.size",
            ),
            ("keep sum e in end.box.ends of e.is_at_box at_most 3;", "a yes or no can't be added up", "e.is_at_box"),
            ("keep (most e in end.box.ends of e.entry or fail) at_most 3;", "a word has no more and less", "e.entry"),
            (
                "keep end.first_support * end.sheath_inside at_most code.reach.low;",
                "an area can't be kept `at_most` with a length",
                "code.reach.low",
            ),
        ],
    );
}

#[test]
fn entries_are_used_as_what_they_are() {
    each(
        "room",
        &[
            ("need room.kind == code.gfci.places;", "`code.gfci.places` is a list", "code.gfci.places"),
            ("need code.gfci.places;", "`code.gfci.places` is a list", "code.gfci.places"),
            (
                "need room.kind in code.room.best;",
                "a list is due here, and `code.room.best` is one value (text)",
                "code.room.best",
            ),
            ("keep room.length at_most code.height.by_use;", "`code.height.by_use` is a table", "code.height.by_use"),
            (
                "keep room.length at_most code.height.by_use[room.length];",
                "the rows of `code.height.by_use` are found by a text, not by a length",
                "room.length",
            ),
            ("keep room.length at_most code.height.by_use[\"swich\"];", "the table has no row `swich`", "\"swich\""),
            ("keep room.length at_most code.reach.low[3];", "`code.reach.low` has no rows", "["),
            (
                "keep room.length at_most code.height.by_use[room.kind].x;",
                "nothing can follow a value of the code",
                "x",
            ),
            ("keep room.length at_most code;", "`code` alone is no value", "code"),
            ("keep room.length at_most code.reech.low;", "the code in force has no entry `reech.low`", "reech.low"),
            ("keep room.length at_most code.reach;", "the code in force has no entry `reach`", "code.reach"),
            (
                "need room.damp in code.gfci.places;",
                "`bathroom` is none of the words that `gfci.places` is held against",
                "\"bathroom\"",
            ),
        ],
    );
    mistake(
        "circuit",
        "keep circuit.rating at_most code.protection.copper[\"13 AWG\"];",
        "the table has no row `13 AWG`",
        "\"13 AWG\"",
    );
    mistake(
        "circuit",
        "keep circuit.rating at_most code.protection.copper[\"13 in\"];",
        "expected a conductor size such as `12 AWG` or `2.5 mm2`, found a length `13 in`",
        "\"13 in\"",
    );
}

#[test]
fn names_and_chains() {
    each(
        "box",
        &[
            ("let x = 1; let x = 2; keep x at_most 3;", "there is already a `x` here", "x"),
            ("let site = 1; keep site at_most 3;", "`site` is a word of the rule language", "site"),
            ("let box = 1; look \"x\";", "`box` is a word of the rule language", "box"),
            ("need any box in site.boxes where box.clamps;", "`box` is a word of the rule language", "box"),
            ("let x; look \"x\";", "a name needs its value at once", "let"),
            ("if box.clamps { let x = 1; keep x at_most 2; } keep x at_most 3;", "there is no `x` here", "x"),
            ("need any d in box.devices where d.gfci && d.box == e.box;", "there is no `e` here", "e"),
            ("need device.gfci;", "there is no `device` here", "device"),
            ("need box.devices.gfci;", "a list of device items has no field `gfci`", "gfci"),
            ("need box.devices[0].gfci;", "only a table of the code has rows", "["),
            ("need box.room.kind.x == \"kitchen\";", "a word has no field `x`", "x"),
            ("need box.room?.kind == \"kitchen\";", "`?` is not part of the rule language", "?"),
            ("need box.room.size();", "`.size(…)` is not part of the rule language", "size"),
            ("need room::kind;", "`::` is not part of the rule language", "kind"),
            ("need \"x\".kind;", "only an item has fields", "\"x\""),
            ("need any d in box.gangs where d;", "a list is due here, found a number", "box.gangs"),
            (
                "need (any d in box.devices where d.gfci) in code.gfci.places;",
                "a yes or no can't be in a list of words",
                "any d in box.devices where d.gfci",
            ),
            ("need !box.purpose in code.gfci.places;", "a condition is due here, found a word", "box.purpose"),
        ],
    );
}

#[test]
fn a_way_of_writing_is_no_value() {
    let help = "read what it stands for: `size`, `conductors`";
    mistakes("cable", "need cable.make == \"x\";", &[("`make` is only a way of writing", "make", help)]);
}

#[test]
fn calls() {
    each(
        "box",
        &[
            ("need known(box.room);", "`known` is no longer part of the rule language", "known"),
            ("keep distance(box.top) at_most box.top;", "`distance` takes two places", "distance"),
            (
                "keep distance(box.top, box.gangs) at_most box.top;",
                "a length and a number are not apart",
                "distance(box.top, box.gangs)",
            ),
            ("keep min(box.top) at_most code.reach.low;", "`min` takes two amounts or more", "min(box.top)"),
            (
                "keep max(box.top, box.purpose) at_most code.reach.low;",
                "a length can't be compared with a word",
                "box.purpose",
            ),
            ("keep box.top at_most qty(\"3\");", "a length can't be kept `at_most` with a number", "qty(\"3\")"),
            (
                "keep box.top at_most qty(\"3 foot long\");",
                "`3 foot long` is no amount with a unit of the trade",
                "\"3 foot long\"",
            ),
            ("keep box.top at_most qty(3);", "`qty` takes one text with an amount and its unit", "qty"),
            ("need distanse(box.room);", "there is no function `distanse`", "distanse"),
            ("min(box.top, box.gap);", "this states nothing", "min(box.top, box.gap)"),
            ("box.top > box.bottom;", "this states nothing", "box.top > box.bottom"),
            ("need max!(box.room);", "`max` can't be called so", "max"),
        ],
    );
}

#[test]
fn what_the_parser_finds_is_told_in_the_words_of_the_language() {
    each(
        "box",
        &[
            (
                "keep box.top at_mots code.reach.low;",
                "expected `at_most`, `at_least`, `between`, `equal_to` or `one_of`, found `at_mots`; did you mean `at_most`?",
                "at_mots",
            ),
            ("keep box.top between code.reach.low;", "expected `and`, found `;`", ";"),
            ("keep box.top at_most code.reach.low else;", "expected a text in double quotes, found `;`", ";"),
            ("keep box.top at_most code.reach.low look \"x\";", "expected `;`, found `look`", "look"),
            ("need every d in box.devices;", "expected `where`, found `;`", ";"),
            ("keep sum d in box.devices at_most 1;", "expected `of`, found `at_most`", "at_most"),
            ("applies box.clamps; look \"x\";", "expected `where`, found `box`", "box"),
            ("except where box.clamps; look \"x\";", "expected a text in double quotes, found `where`", "where"),
            ("except \"1\" box.clamps; look \"x\";", "expected `where`, found `box`", "box"),
            ("presume box.clamps; look \"x\";", "expected `is`, found `;`", ";"),
            ("presume box.clamps is true; look \"x\";", "expected `because`, found `;`", ";"),
            ("look box.top;", "expected a text in double quotes, found `box`", "box"),
            ("keep box.top at_most ;", "`;` can't stand here", ";"),
            ("need box.;", "expected the name of a field, found `;`", ";"),
            ("let 3 = box.top;", "expected a name, found `3`", "3"),
            ("keep box.top at_most 0x1g;", "expected `;`, found `g`", "g"),
            ("need box.top === box.bottom;", "`===` is not part of the rule language", "==="),
            ("if box.top = box.bottom { look \"x\"; }", "a single `=` does not compare", "="),
            ("need true && \"x\";", "a condition is due here", "\"x\""),
        ],
    );
}

#[test]
fn what_rhai_has_and_rules_have_not() {
    for (body, word) in [
        ("loop { }", "loop"),
        ("while true { }", "while"),
        ("do { } while true", "do"),
        ("for x in box.devices { }", "for"),
        ("fn f() { }", "fn"),
        ("import \"../x\" as y;", "import"),
        ("export box;", "export"),
        ("eval(\"1\");", "eval"),
        ("print(1);", "print"),
        ("debug(1);", "debug"),
        ("try { } catch { }", "try"),
        ("throw 1;", "throw"),
        ("return;", "return"),
        ("switch box.top { 1 => 2 }", "switch"),
        ("const X = 1;", "const"),
        ("let f = Fn(\"sleep\");", "Fn"),
        ("need type_of(box) == 1;", "type_of"),
        ("need this.x;", "this"),
        ("x = 1;", "="),
        ("let x = 1; x += 1; look \"y\";", "+="),
    ] {
        each("box", &[(body, &format!("`{word}` is not part of the rule language"), word)]);
    }
    for (body, what, at) in [
        ("need box.purpose in [\"switch\"];", "a list", "["),
        ("let x = #{a: 1}; look \"y\";", "a table", "#"),
        ("let x = 'a'; look \"y\";", "a text in single quotes", "'"),
        ("let x = `a ${box.top}`; look \"y\";", "a text with values in it", "`a ${box.top}`"),
        ("let x = box.top ?? box.bottom; look \"y\";", "`??`", "box"),
        ("let x = (); look \"y\";", "an empty pair of brackets", "("),
    ] {
        each("box", &[(body, &format!("{what} is not part of the rule language"), at)]);
    }
    mistake("box", "let f = |x| x; look \"y\";", "`|` can't stand here", "|");
    mistake("box", "sleep(10);", "there is no function `sleep`", "sleep");
    mistake("box", "need sleep(10);", "there is no function `sleep`", "sleep");
}

#[test]
fn pointless_statements_are_mistakes() {
    mistake("box", "", "the rule holds nothing against the code", "test");
    mistake("box", "applies where box.clamps;", "the rule holds nothing against the code", "test");
    mistake("box", "except \"1\" where box.clamps;", "the rule holds nothing against the code", "test");
    mistake("box", "look \"x\"; if box.clamps { }", "nothing is checked behind this", "if");
    mistake("box", "look \"x\"; let y = box.top;", "nothing is checked behind this", "let");
}

#[test]
fn what_rules_said_before_is_told_with_the_new_line() {
    let scope = |line: &str| {
        format!(
            "write `applies where {line};` or, where a section makes an exception, `except \"SECTION\" where …;`; what is not \
             recorded leaves the outcome open by itself"
        )
    };
    for (condition, line) in [
        ("!box.clamps", "box.clamps"),
        ("box.clamps", "!box.clamps"),
        ("box.purpose != \"switch\" || box.top < box.gap", "box.purpose == \"switch\" && box.top >= box.gap"),
        ("box.clamps && box.wet_rated || box.fan_rated", "(!box.clamps || !box.wet_rated) && !box.fan_rated"),
        ("known(box.room) && box.clamps", "!box.clamps"),
        ("!known(box.room) || !(box.clamps && box.wet_rated)", "box.clamps && box.wet_rated"),
        ("box.room.kind in code.gfci.places", "!(box.room.kind in code.gfci.places)"),
    ] {
        let said = "`skip` is no longer part of the rule language";
        let mut world = World::new();
        let body = format!("if {condition} {{ skip; }} look \"x\";");
        let problems = world.try_rule("box", &body).map(|_| ()).expect_err(&body);
        let told: Vec<_> =
            problems.iter().map(|one| (one.message.as_str(), one.help.clone().unwrap_or_default())).collect();
        assert_eq!(told, [(said, scope(line))], "{body}");
    }
    mistake("box", "skip; look \"x\";", "`skip` is no longer part of the rule language", "skip");
    mistakes(
        "box",
        "need box.clamps || !known(box.room.kind);",
        &[(
            "`known` is no longer part of the rule language",
            "known",
            "leave it out: where `box.room.kind` is not recorded the outcome is open by itself; where the trade takes something for \
             granted write `presume box.room.kind is VALUE because \"…\";`; whether a link leads nowhere is asked with \
             `box.room.kind == none`",
        )],
    );
}

#[test]
fn scope_exceptions_and_presumptions_stand_at_the_top() {
    each(
        "box",
        &[
            (
                "if box.clamps { applies where box.wet_rated; look \"x\"; }",
                "`applies` stands inside an `if`",
                "applies",
            ),
            (
                "if box.clamps { except \"1\" where box.wet_rated; look \"x\"; }",
                "`except` stands inside an `if`",
                "except",
            ),
            ("look \"x\"; applies where box.clamps; look \"y\";", "`applies` stands behind a check", "applies"),
            ("look \"x\"; includes existing work; look \"y\";", "`includes` stands behind a check", "includes"),
            ("if box.clamps { includes existing work; look \"x\"; }", "`includes` stands inside an `if`", "includes"),
            (
                "includes existing work; includes faults of existing work; look \"x\";",
                "what holds for existing work is said above",
                "includes",
            ),
            ("look \"x\"; except \"1\" where box.clamps; look \"y\";", "`except` stands behind a check", "except"),
            (
                "except \"1\" where box.clamps; except \"1\" where box.wet_rated; look \"x\";",
                "there is already an exception `1` in this rule",
                "\"1\"",
            ),
            (
                "except \"1\" named \"a\" where box.clamps; except \"2\" named \"a\" where box.wet_rated; look \"x\";",
                "there is already an exception `a` in this rule",
                "\"a\"",
            ),
            ("except \" \" where box.clamps; look \"x\";", "an exception names its section", "\" \""),
            ("except \"1\" from \"May\" where box.clamps; look \"x\";", "`May` is not a day", "\"May\""),
            (
                "except \"1\" until \"2026-02-30\" where box.clamps; look \"x\";",
                "`2026-02-30` is not a day",
                "\"2026-02-30\"",
            ),
            (
                "except \"1\" from \"2026-02-01\" until \"2026-01-01\" where box.clamps; look \"x\";",
                "the exception ends on 2026-01-01, before it begins on 2026-02-01",
                "\"1\"",
            ),
            ("applies where box.top; look \"x\";", "a condition is due here, found a length", "box.top"),
            (
                "look \"x\"; presume box.clamps is true because \"x\"; look \"y\";",
                "`presume` stands at the top of a rule",
                "presume",
            ),
            ("presume box is none because \"x\"; look \"y\";", "only a field can be presumed", "box"),
            (
                "presume code.nm.allowed is true because \"x\"; look \"y\";",
                "only a field can be presumed",
                "code.nm.allowed",
            ),
            ("presume box.clamp is true because \"x\"; look \"y\";", "a box has no field `clamp`", "clamp"),
            (
                "presume box.clamps is box.top > box.gap because \"x\"; look \"y\";",
                "what is presumed is a value, an entry of the code, or another field",
                "box.top > box.gap",
            ),
            (
                "presume box.clamps is \"yes\" because \"x\"; look \"y\";",
                "a yes or no can't be presumed to be with the text `yes`",
                "\"yes\"",
            ),
            ("presume box.clamps is true because \"\"; look \"y\";", "a presumption says why it may be made", "\"\""),
            (
                "presume box.clamps is true because \"x\"; presume box.clamps is false because \"x\"; look \"y\";",
                "this is presumed already",
                "box.clamps",
            ),
            (
                "applies where box.clamps; presume box.clamps is true because \"x\"; look \"y\";",
                "this is read above, before it is presumed",
                "box.clamps",
            ),
        ],
    );
}

#[test]
fn quantifiers_and_values_by_a_condition() {
    each(
        "box",
        &[
            (
                "need any d in box.devices where d.gfci && box.clamps;",
                "this says nothing of `d`, and stands in its condition",
                "box",
            ),
            (
                "need box.wet_rated && any d in box.devices where d.gfci || box.clamps;",
                "this says nothing of `d`, and stands in its condition",
                "box",
            ),
            (
                "keep (least d in box.devices of d.from_sink) at_most box.top;",
                "`least` does not say what holds where there is none",
                "least",
            ),
            (
                "keep (farthest d in box.devices where d.gfci of d.from_sink) at_most box.top;",
                "`farthest` does not say what holds where there is none",
                "farthest",
            ),
            (
                "keep (most d in box.devices of d.from_sink or 1) at_most box.top;",
                "a length can't stand for one value with a number",
                "1",
            ),
            (
                "keep (distinct d in box.devices of d.box.ends) at_most 1;",
                "a list of end items is no single value",
                "d.box.ends",
            ),
            (
                "let x = if box.clamps { 1 }; keep x at_most 1;",
                "a value by a condition has one value in each branch",
                "if",
            ),
            (
                "let x = if box.clamps { 1 } else { box.top }; keep x at_most 1;",
                "a number can't stand for one value with a length",
                "box.top",
            ),
            (
                "let x = if box.top { 1 } else { 2 }; keep x at_most 1;",
                "a condition is due here, found a length",
                "box.top",
            ),
            ("need box.top == none;", "a length can't be compared with `none`", "none"),
        ],
    );
}

#[test]
fn what_can_never_come_out_otherwise_is_told() {
    each(
        "box",
        &[
            (
                "applies where box.purpose == \"switch\"; applies where box.purpose == \"receptacle\"; look \"x\";",
                "no item is ever in this scope",
                "applies where box.purpose == \"receptacle\"",
            ),
            (
                "applies where box.clamps; except \"1\" where box.clamps; look \"x\";",
                "this exception lets everything go that the rule concerns",
                "except \"1\" where box.clamps",
            ),
            (
                "applies where box.clamps; except \"1\" where !box.clamps; look \"x\";",
                "this exception can never hold",
                "except \"1\" where !box.clamps",
            ),
            ("applies where box.clamps; need box.clamps;", "this check can never fail", "need box.clamps"),
            ("applies where box.clamps; need !box.clamps;", "this check can never be met", "need !box.clamps"),
            ("need box.clamps || !box.clamps;", "this check can never fail", "need box.clamps || !box.clamps"),
            ("keep box.top at_most box.top;", "this check can never fail", "keep box.top at_most box.top"),
            (
                "keep (count d in box.devices) at_least 0;",
                "this check can never fail",
                "keep (count d in box.devices) at_least 0",
            ),
            (
                "keep box.gangs between 4 and 1;",
                "no value is between these two: the first is the greater one",
                "keep box.gangs between 4 and 1",
            ),
        ],
    );
}

/// A value of the code in a rule is refused with the entry to write instead; 0 and 1 are counting, not values.
#[test]
fn amounts_belong_into_entries_of_the_code() {
    let without = |body: &str| {
        let mut world = World::new();
        world.compiler = Compiler::new(std::sync::Arc::clone(&world.schema));
        let problems = world.try_rule("box", body).map(|_| ()).err().unwrap_or_default();
        let told = |problem: &crate::problem::Problem| {
            (
                problem.message.clone(),
                world.files.text(problem.span).to_owned(),
                problem.help.clone().unwrap_or_default(),
            )
        };
        problems.iter().map(told).collect::<Vec<_>>()
    };
    let said = |value: &str, at: &str| {
        let entry = format!(
            "put it into a file of `code/`:\n[limits.test]\nvalue = {value}\ncites = \"…\"\nand write `code.limits.test` here"
        );
        vec![(format!("{value} stands in the rule, where no place could amend it"), at.to_owned(), entry)]
    };
    assert_eq!(without("keep box.gangs at_most 4;"), said("4", "4"));
    assert_eq!(without("keep box.gangs at_most 1.5;"), said("1.5", "1.5"));
    assert_eq!(without("keep box.gangs at_least -1;"), said("-1", "-1"));
    assert_eq!(without("keep box.top at_most qty(\"3 ft\");"), said("\"3 ft\"", "qty"));
    assert_eq!(without("keep box.gangs between 0 and 1;"), []);
    assert_eq!(without("keep box.top at_most code.reach.high;"), []);
}

#[test]
fn every_field_can_be_named_in_a_rule() {
    let schema = Schema::dwelling();
    let mut world = World::new();
    let mut rules = String::new();
    for (_, kind) in schema.kinds() {
        for field in kind.fields.iter().filter(|field| !matches!(field.filled, Filled::Key { .. })) {
            rules.push_str(&format!(
                "/// Test.\nrule \"{}-{}\" on {} at final cites \"1\" {{ let x = {}.{}; look \"x\"; }}\n",
                kind.name.replace('_', "-"),
                field.name.replace('_', "-"),
                kind.name,
                kind.word,
                field.name
            ));
        }
    }
    for rule in world.compile(&rules) {
        let rule = rule.unwrap_or_else(|problems| panic!("{problems:#?}"));
        assert_eq!(rule.fields().len(), 1);
    }
}

#[test]
fn each_rule_of_a_file_has_its_own_errors() {
    let mut world = World::new();
    let rules = world.compile(
        "/// Test.\nrule \"a\" on box at final cites \"1\" { keep box.top at_mots code.reach.low; }\n\
         // ½ in between\r\n\
         /// Test.\nrule \"b\" on box at final cites \"1\" { keep box.top at_most code.reach.low; }\n\
         /// Test.\nrule \"c\" on box at final cites \"1\" {\n\tneed box.usse == \"switch\";\n}\n",
    );
    let lines: Vec<Option<usize>> = rules
        .iter()
        .map(|rule| rule.as_ref().err().map(|problems| world.files.place(problems[0].span).unwrap().line))
        .collect();
    assert_eq!(lines, [Some(2), None, Some(8)]);
    let problems = rules[2].as_ref().unwrap_err();
    assert_eq!(world.files.text(problems[0].span), "usse");
}
