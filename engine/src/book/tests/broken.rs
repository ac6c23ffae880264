//! Broken rulesets: never a panic, never a hang, and always a reason.

use proptest::prelude::*;

use super::*;

const MODEL: &str = "[nm.secured]\nvalue = \"12 in\"\ncites = \"334.30\"\n[places]\nlist = [\"garage\", \"attic\"]\ncites = \"x\"\n\
    [max]\nrows = { \"14 AWG\" = \"15 A\", \"12 AWG\" = \"20 A\" }\ncites = \"x\"\nkey = \"size\"\n";
const RULES: &str = "/// Guide.\nrule \"a-rule\" on box at rough_in cites \"x\" weighs note was \"b-rule\" {\n  keep box.top at_most code.nm.secured; \
    let s = `a ${\"}\"} b`; /* { */ // }\n  let c = '{'; let m = #{ a: 1 }; let r = #\"}\"#;\n}\n";
const PLACE: &str = "id = \"demo/place\"\ntitle = \"place\"\nkind = \"jurisdiction\"\nversion = \"1\"\nreviewed = 2026-11-25\nsource = \"x\"\n\
    [[adopts]]\nruleset = \"us/model\"\nfrom = 2020-01-01\nchoice_until = 2020-06-30\nby = \"permit_date\"\ncites = \"x\"\n\
    [[amends]]\nentry = \"max\"\nrow = \"14 AWG\"\nvalue = \"10 A\"\ncites = \"x\"\nfrom = 2021-01-01\n\
    [[amends]]\nentry = \"places\"\nadd = [\"deck\"]\nremove = [\"attic\"]\ncites = \"x\"\n\
    [[amends]]\nreweigh = \"b-rule\"\nweight = \"caution\"\ncites = \"x\"\n";

/// Reads and resolves, and demands a reason with a place for every failure.
fn try_all(model: &str, rules: &str, place: &str) {
    let edition = manifest("us/model", "edition", "");
    let mut shelf = shelf(&[
        ("us/model/ruleset.toml", &edition),
        ("us/model/code/a.toml", model),
        ("us/model/rules/a.rhai", rules),
        ("demo/place/ruleset.toml", place),
    ]);
    let asked = ask("demo/place", "2023-05-10");
    let result = shelf.resolve(&asked);
    for problem in shelf.problems().iter().chain(result.as_ref().err().into_iter().flatten()) {
        assert!(!problem.message.is_empty() && !problem.message.contains('\n'), "{problem:?}");
        assert!(problem.span.is_none() || shelf.files().file_of(problem.span).is_some(), "{problem:?}");
    }
    match result {
        Ok(book) => assert!(!book.layers.is_empty()),
        Err(problems) => assert!(!problems.is_empty()),
    }
}

/// Returns a text with a piece taken out and another put in.
fn mutate(text: &str, at: prop::sample::Index, len: usize, new: &str) -> String {
    let chars: Vec<char> = text.chars().collect();
    let start = at.index(chars.len());
    let end = (start + len).min(chars.len());
    chars[..start].iter().chain(new.chars().collect::<Vec<_>>().iter()).chain(&chars[end..]).collect()
}

fn piece() -> impl Strategy<Value = String> {
    prop_oneof![
        Just(String::new()),
        prop::sample::select(vec![
            "\"",
            "'",
            "`",
            "{",
            "}",
            "${",
            "/*",
            "*/",
            "//",
            "#\"",
            "[[amends]]\n",
            "\n[a.b]\n",
            "= ",
            "\nrule \"x\" ",
            "½",
            "\\",
            "rows = {}",
            "[[",
            "]]",
            "2021-02-30",
            "99999999999999999999",
            "\n\n",
            "was",
            "replaces \"a-rule\"",
            "follows = \"us/model\"\n",
        ])
        .prop_map(str::to_owned),
        any::<String>(),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

    #[test]
    fn mutated_rulesets_give_a_book_or_a_reason(
        which in 0..3usize, at in any::<prop::sample::Index>(), len in 0..12usize, new in piece(),
        which2 in 0..3usize, at2 in any::<prop::sample::Index>(), len2 in 0..40usize, new2 in piece(),
    ) {
        let mut texts = [MODEL.to_owned(), RULES.to_owned(), PLACE.to_owned()];
        texts[which] = mutate(&texts[which], at, len, &new);
        texts[which2] = mutate(&texts[which2], at2, len2, &new2);
        try_all(&texts[0], &texts[1], &texts[2]);
    }

    #[test]
    fn any_text_gives_a_book_or_a_reason(model in any::<String>(), rules in any::<String>(), place in any::<String>()) {
        try_all(&model, &rules, &place);
    }

    #[test]
    fn any_mix_of_pieces_is_no_hang_for_the_search_of_rules(pieces in prop::collection::vec(piece(), 0..40)) {
        try_all(MODEL, &pieces.concat(), PLACE);
    }
}

#[test]
fn the_unbroken_rulesets_of_this_test_resolve() {
    let edition = manifest("us/model", "edition", "");
    let files = [
        ("us/model/ruleset.toml", edition.as_str()),
        ("us/model/code/a.toml", MODEL),
        ("us/model/rules/a.rhai", RULES),
        ("demo/place/ruleset.toml", PLACE),
    ];
    let mut shelf = shelf(&files);
    let book = book(&mut shelf, &ask("demo/place", "2023-05-10"));
    assert_eq!(parts(&book, "places"), "garage, deck");
    assert_eq!(book.rules[0].weight.word(), "caution");
}

#[test]
fn deep_nesting_is_refused() {
    try_all(&"[".repeat(50_000), &"{".repeat(50_000), &format!("a = {}", "[".repeat(50_000)));
    try_all(&format!("x = {}1", "{ a = ".repeat(20_000)), &"/*".repeat(50_000), &format!("[{}]", "a.".repeat(20_000)));
    try_all(&format!("[{}]\nvalue = 1", "a.".repeat(20_000).trim_end_matches('.')), &"`${".repeat(50_000), PLACE);
}
