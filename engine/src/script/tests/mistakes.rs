//! Mistakes in rules: each with its message, the exact characters it points at, and its help.

use super::world::World;
use crate::model::{Filled, Schema};

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
        "if !ende.is_at_box { skip; }\n\
         if end.cable.wiring_metod != \"NM\" { skip; }\n\
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
                "a value with its unit belongs in an entry of the code; as a literal it is written `qty(…)`, `12 in` or `300 mm` inside",
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
                "if end.box.devices { skip; } look \"x\";",
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
            ("keep most e in end.box.ends of e.entry at_most 3;", "a word has no more and less", "e.entry"),
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
            ("need any d in box.devices where true && e.gfci;", "there is no `e` here", "e"),
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
    mistakes("cable", "need known(cable.make);", &[("`make` is only a way of writing", "make", help)]);
}

#[test]
fn calls() {
    each(
        "box",
        &[
            ("need known();", "`known` takes one value", "known"),
            ("need known(box.room, box.wall);", "`known` takes one value", "known"),
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
            ("need knwon(box.room);", "there is no function `knwon`", "knwon"),
            ("known(box.room);", "this states nothing", "known(box.room)"),
            ("box.top > box.bottom;", "this states nothing", "box.top > box.bottom"),
            ("need known!(box.room);", "`known` can't be called so", "known"),
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
            ("need any d in box.devices;", "expected `where`, found `;`", ";"),
            ("look box.top;", "expected a text in double quotes, found `box`", "box"),
            ("keep box.top at_most ;", "`;` can't stand here", ";"),
            ("need box.;", "expected the name of a field, found `;`", ";"),
            ("let 3 = box.top;", "expected a name, found `3`", "3"),
            ("keep box.top at_most 0x1g;", "expected `;`, found `g`", "g"),
            ("need box.top === box.bottom;", "`===` is not part of the rule language", "==="),
            ("if box.top = box.bottom { skip; }", "a single `=` does not compare", "="),
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
        ("let x = if true { 1 } else { 2 }; look \"y\";", "a block as a value", "if"),
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
    mistake("box", "if box.clamps { skip; }", "the rule holds nothing against the code", "test");
    mistake("box", "look \"x\"; if box.clamps { skip; }", "nothing is checked behind this", "if");
    mistake("box", "look \"x\"; let y = box.top;", "nothing is checked behind this", "let");
    mistake("box", "if box.clamps { skip; look \"x\"; } look \"y\";", "nothing behind `skip` is ever done", "look");
}

#[test]
fn every_field_can_be_named_in_a_rule() {
    let schema = Schema::dwelling();
    let mut world = World::new();
    let mut rules = String::new();
    for (_, kind) in schema.kinds() {
        for field in kind.fields.iter().filter(|field| !matches!(field.filled, Filled::Key { .. })) {
            rules.push_str(&format!(
                "rule \"{}-{}\" on {} at final cites \"1\" {{ need known({}.{}); }}\n",
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
    assert_eq!(lines, [Some(1), None, Some(5)]);
    let problems = rules[2].as_ref().unwrap_err();
    assert_eq!(world.files.text(problems[0].span), "usse");
}
