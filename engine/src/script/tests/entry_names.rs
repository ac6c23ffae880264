//! Entries whose names are words of the rule language: those that rules can't name, the book refuses where they are written.

use std::sync::Arc;

use jiff::civil::date;

use crate::book::{Ask, RESERVED, RulesetText, Shelf};
use crate::model::{Schema, Symbols};
use crate::problem::Problem;
use crate::script::{Compiler, syntax};

const MANIFEST: &str = "id = \"test/code\"\ntitle = \"Test\"\nkind = \"edition\"\nversion = \"1\"\nreviewed = 2026-01-01\n\
    source = \"invented\"\nchecked = \"law_text\"\n";

/// Writes an entry whose name has the word in the middle and one that ends with it, and a rule that reads both.
fn try_word(word: &str) -> Result<(), Vec<Problem>> {
    let text = |path: &str, text: String| RulesetText::in_folder("rulesets", format!("test/code/{path}"), text);
    let code = format!("[a.{word}.b]\nvalue = true\ncites = \"1\"\n[c.{word}]\nvalue = true\ncites = \"1\"\n");
    let rule = format!(
        "/// Test.\nrule \"test\" on site at final cites \"1\" {{ need code.a.{word}.b && code.c.{word} else \"x\"; }}"
    );
    let sources =
        vec![text("ruleset.toml", MANIFEST.into()), text("code/all.toml", code), text("rules/all.rhai", rule)];
    let schema = Arc::new(Schema::dwelling());
    let mut shelf = Shelf::read(Arc::clone(&schema), sources);
    let book = shelf.resolve(&Ask::on("test/code", date(2026, 1, 1)))?;
    let files = shelf.files().clone();
    Compiler::new(schema).compile(&files, &book.rules[0].source, &book, &mut Symbols::new()).map(|_| ())
}

#[test]
fn every_name_that_the_book_takes_can_be_read_by_rules() {
    let language = syntax::WORDS.into_iter().chain(syntax::SHUT).filter(|word| word.chars().all(|c| !c.is_uppercase()));
    let others = "if else let true false in where of known min max qty code site until is because named fail met with default case use match new null \
        at_most at_least between equal_to one_of on at cites weighs was replaces checked let_go anyway";
    for word in language.chain(others.split_whitespace()) {
        match try_word(word) {
            Ok(()) => assert!(!RESERVED.contains(&word), "`{word}` is refused without need"),
            Err(problems) => {
                assert!(RESERVED.contains(&word), "`{word}` breaks the rule that reads it: {problems:#?}");
                assert_eq!(problems.len(), 2, "{problems:#?}");
                assert!(problems[0].message.contains(&format!("`{word}` can't be part of an entry's name")));
                assert!(problems[0].span.is_some());
            }
        }
    }
    assert!(RESERVED.is_sorted());
}
