//! Rules that mean harm: they are refused with an error, soon, and nothing else happens.

use std::time::{Duration, Instant};

use proptest::prelude::*;

use super::world::World;

/// Compiles statements; they must be refused. Returns the first message.
fn refused(body: &str) -> String {
    let mut world = World::new();
    let start = Instant::now();
    let problems = world.try_rule("box", body).map(|_| ()).expect_err(body.get(..60).unwrap_or(body));
    assert!(start.elapsed() < Duration::from_secs(5));
    for problem in &problems {
        assert!(world.files.file_of(problem.span).is_some_and(|file| file.name().ends_with("all.rhai")), "{problem:?}");
    }
    problems[0].message.clone()
}

#[test]
fn nothing_runs_loops_reaches_out_or_prints() {
    for (body, word) in [
        ("loop {}", "loop"),
        ("loop { try { loop {} } catch {} }", "loop"),
        ("while true {}", "while"),
        ("do {} until false", "do"),
        ("for x in 0..1000000000 {}", "for"),
        ("import \"/etc/passwd\" as x;", "import"),
        ("import \"../../x\";", "import"),
        ("let x = eval(\"loop {}\"); look \"y\";", "eval"),
        ("need eval(\"true\");", "eval"),
        ("print(\"x\"); look \"y\";", "print"),
        ("debug(\"x\"); look \"y\";", "debug"),
        ("fn f(x) { f(x) } f(1);", "fn"),
        ("private fn f() {}", "private"),
        ("let f = Fn(\"print\"); look \"y\";", "Fn"),
        ("let f = Fn(\"sleep\").call(10); look \"y\";", "Fn"),
        ("throw \"x\";", "throw"),
        ("export box;", "export"),
        ("return 1;", "return"),
        ("let x = type_of(box); look \"y\";", "type_of"),
        ("need is_def_var(\"x\");", "is_def_var"),
    ] {
        assert_eq!(refused(body), format!("`{word}` is not part of the rule language"), "{body}");
    }
    for (body, message) in [
        ("sleep(10); look \"y\";", "there is no function `sleep`"),
        ("let x = 1.sleep(); look \"y\";", "only an item has fields"),
        ("let x = timestamp(); look \"y\";", "there is no function `timestamp`"),
        ("let x = rand(); look \"y\";", "there is no function `rand`"),
        ("let x = blob(1000000000); look \"y\";", "there is no function `blob`"),
        ("let x = \"ab\".pad(1000000000, \"x\"); look \"y\";", "only an item has fields"),
        ("let x = box.top + \"x\"; look \"y\";", "a length and the text `x` can't be added"),
        ("let x = 2 ** 1000; look \"y\";", "`**` is not part of the rule language"),
        ("let x = 1 << 100; look \"y\";", "`<<` is not part of the rule language"),
        ("let x = 0..10; look \"y\";", "`..` is not part of the rule language"),
        ("let x = box.call(1); look \"y\";", "expected the name of a field, found `call`"),
        ("let f = |x| x; look \"y\";", "`|` can't stand here"),
        ("box.top = box.bottom; look \"y\";", "`=` is not part of the rule language"),
        ("let x = 99999999999; keep x at_most 1;", "`99999999999` is too large"),
        (
            "let x = 99999999999999999999999; keep x at_most 1;",
            "`99999999999999999999999` has more digits than can be kept",
        ),
    ] {
        assert_eq!(refused(body), message, "{body}");
    }
}

#[test]
fn what_is_nested_too_deep_is_refused() {
    for depth in [500, 5_000, 9_000] {
        for (open, middle, close) in [
            ("(", "box.clamps", ")"),
            ("!", "box.clamps", ""),
            ("-", "box.top", ""),
            ("max(box.top, ", "box.top", ")"),
            ("{", "", "}"),
            ("[", "1", "]"),
            ("any d in ", "box.devices", ""),
            ("box.a[", "1", "]"),
        ] {
            let body = format!("need {}{middle}{};", open.repeat(depth), close.repeat(depth));
            if body.len() < 50_000 {
                refused(&body);
            }
        }
        for (open, close) in [("if box.clamps {", "}"), ("{", "}")] {
            let body = format!("{} look \"x\"; {}", open.repeat(depth), close.repeat(depth));
            if body.len() < 50_000 {
                assert_eq!(refused(&body), "this is nested too deep");
            }
        }
    }
    for (first, more) in
        [("need box.clamps", " == box.clamps"), ("keep box.top at_most box.top", " + box.top"), ("need box", ".room")]
    {
        refused(&format!("{first}{};", more.repeat(3_000)));
    }
    refused(&format!("if box.clamps {{ look \"x\"; }} {}", "else if box.clamps { look \"x\"; } ".repeat(1_500)));
}

#[test]
fn long_chains_of_one_sign_are_no_nesting() {
    let mut world = World::new();
    let many = |sign: &str| format!("need box.clamps{};", format!(" {sign} box.wet_rated").repeat(40));
    assert!(world.try_rule("box", &many("&&")).is_ok());
    assert!(world.try_rule("box", &many("||")).is_ok());
}

#[test]
fn what_is_too_long_or_too_much_is_refused() {
    assert_eq!(refused(&format!("look \"{}\";", "x".repeat(70_000))), "the rule is longer than 60000 bytes");
    assert_eq!(refused(&format!("look \"{}\";", "x".repeat(5_000))), "the text or name is longer than 4096 bytes");
    assert_eq!(refused(&format!("need box.{};", "x".repeat(5_000))).chars().count(), 301);
    assert_eq!(refused(&"look \"x\"; ".repeat(65)), "the rule has more than 64 checks");
    let names: String = (0..40).map(|at| format!("let x{at} = box.top; ")).collect();
    assert_eq!(refused(&format!("{names} look \"x\";")), "the rule has more than 32 names");
    let slots = format!("need 1 == 1{};", " && 1 == 1".repeat(20)).repeat(30);
    assert_eq!(refused(&slots), "the rule has more than 1000 values");
    assert_eq!(refused(&format!("need {};", "1 == 1 && ".repeat(20_000))), "the rule is longer than 60000 bytes");
}

#[test]
fn positions_hold_behind_65535_lines_and_columns() {
    let mut world = World::new();
    let rule = |name: &str| {
        format!("/// Test.\nrule \"{name}\" on box at final cites \"1\" {{\n keep box.topp at_most code.reach.low; }}")
    };
    let text = format!("{}{}\n/* {} */\n{}", "// a line\n".repeat(70_000), rule("a"), "½".repeat(70_000), rule("b"));
    let rules = world.compile(&text);
    let lines: Vec<usize> = rules
        .iter()
        .map(|rule| {
            let problems = rule.as_ref().err().unwrap();
            assert_eq!(world.files.text(problems[0].span), "topp");
            world.files.place(problems[0].span).unwrap().line
        })
        .collect();
    assert_eq!(lines, [70_003, 70_007]);
}

#[test]
fn no_text_makes_it_panic() {
    // Cut and doubled at every byte: none of these is expected to compile, and none may do worse than that.
    let rule = "presume box.top is box.bottom because \"½\"; applies where box.room != none; except \"1\" from \"2020-01-01\" where any d in box.devices; if !box.clamps { let x = -1.25 * min(box.top, qty(\"½ in\")); keep x between 0 and 1 else \"½\"; } else { need any d in box.devices where d.kind == \"switch\"; }";
    for at in (0..rule.len()).filter(|at| rule.is_char_boundary(*at)) {
        let again = (0..=at.saturating_sub(3)).rev().find(|at| rule.is_char_boundary(*at)).unwrap_or(0);
        for text in [rule[..at].to_owned(), rule[at..].to_owned(), format!("{}{}", &rule[..at], &rule[again..])] {
            // Braces and quotes are the business of the reader of rule files; only what it lets through comes here.
            if let Some(problems) = try_compile(&text) {
                assert!(!problems.is_empty());
            }
        }
    }
}

const TOKENS: [&str; 68] = [
    "applies where",
    "except \"1\" where",
    "presume",
    "is",
    "because \"x\"",
    "none",
    "distinct",
    "nearest",
    "or",
    "fail",
    "keep",
    "need",
    "look",
    "skip",
    "any",
    "every",
    "count",
    "sum",
    "least",
    "most",
    "d",
    "in",
    "where",
    "of",
    "at_most",
    "between",
    "and",
    "else",
    "if",
    "let",
    "x",
    "=",
    "==",
    "!=",
    "<",
    "&&",
    "||",
    "!",
    "!in",
    "+",
    "-",
    "*",
    "/",
    "(",
    ")",
    "[",
    "]",
    ";",
    ",",
    ".",
    "?.",
    "::",
    "??",
    "..",
    "|",
    "=>",
    "box",
    "box.top",
    "box.devices",
    "code.reach.low",
    "code.gfci.places",
    "code.height.by_use",
    "distance(box.top, box.top)",
    "min(1, 2)",
    "\"switch\"",
    "1.5",
    "true",
    "'c'",
];

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_soup_of_words_is_refused_and_no_more(words in prop::collection::vec(0..TOKENS.len(), 0..40)) {
        let body: Vec<&str> = words.iter().filter_map(|&at| TOKENS.get(at).copied()).collect();
        if let Some(problems) = try_compile(&body.join(" ")) {
            for problem in problems {
                prop_assert!(problem.span.is_some());
                prop_assert!(!problem.message.ends_with('.'), "{}", problem.message);
                prop_assert!(!problem.message.starts_with(char::is_uppercase), "{}", problem.message);
            }
        }
    }
}

/// Compiles what may not even be a rule. Returns its mistakes, if it has any.
fn try_compile(body: &str) -> Option<Vec<crate::problem::Problem>> {
    let text = format!("/// Test.\nrule \"test\" on box at final cites \"1\" {{ {body} }}");
    let mut world = World::new();
    world.try_compile(&text)?.into_iter().next()?.err()
}
