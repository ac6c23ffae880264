//! Holds what places may only tighten against the rules that read it.

use std::sync::Arc;

use super::Inspector;
use crate::book::{Book, RuleInForce, RuleSource, Scalar, Table, Tightened, Value};
use crate::problem::Problem;
use crate::script::{Direction, Rule};
use crate::source::Span;

impl Inspector {
    /// Returns the amendments of places that may only tighten and do not, by the rules that read what they change.
    pub(super) fn not_stricter(&mut self, book: &Book) -> Vec<Problem> {
        if book.tightened.is_empty() {
            return Vec::new();
        }
        let files = self.shelf().files();
        let text = |span: Span| files.text(span);
        // What a shared condition reads, every rule may read.
        let shared: Vec<&str> = book.defines.iter().map(|define| text(define.source.body)).collect();
        let all = may_read(book, &shared);
        let reads = |rule: &&RuleInForce| {
            let added = rule.exceptions.iter().map(|added| text(added.source.body));
            let texts: Vec<&str> = added.chain([text(rule.source.body)]).collect();
            all || may_read(book, &texts)
        };
        let reading: Vec<Arc<RuleSource>> =
            book.rules.iter().filter(reads).map(|rule| Arc::clone(&rule.source)).collect();
        // A rule with mistakes is told of them where it is used.
        let compiled = reading.iter().filter_map(|source| {
            let rule = self.rule(source, book).ok()?;
            Some(Reader { rule, id_span: source.id_span })
        });
        let readers: Vec<Reader> = compiled.collect();
        check(book, &readers)
    }
}

/// A rule that reads an entry, and where its id is written.
struct Reader {
    rule: Rule,
    id_span: Span,
}

/// Returns the amendments that ask for less than what they change, or of which that can't be told.
fn check(book: &Book, readers: &[Reader]) -> Vec<Problem> {
    book.tightened.iter().filter_map(|tightened| one(book, tightened, readers)).collect()
}

fn one(book: &Book, tightened: &Tightened, readers: &[Reader]) -> Option<Problem> {
    let mut read = false;
    for reader in readers {
        for reading in reader.rule.readings(tightened.entry, book) {
            read = true;
            let id = reader.rule.id();
            let Some(direction) = reading.stricter else {
                return Some(
                    refused(tightened, format!("whether it asks for more can't be told from rule `{id}`"))
                        .mark(reading.span, format!("rule `{id}` reads it here otherwise than as a limit"))
                        .help("add a rule of your own that asks for more"),
                );
            };
            let loose = match (&tightened.before, &tightened.after) {
                (Value::Scalar(before), Value::Scalar(after)) => looser(*before, *after, direction),
                (Value::Table(before), Value::Table(after)) => looser_row(before, after, direction),
                _ => Some(String::from("another sort of value")),
            };
            if let Some(what) = loose {
                let limit = match direction {
                    Direction::Smaller => "the most that it allows",
                    Direction::Larger => "the least that it asks for",
                };
                let may = match direction {
                    Direction::Smaller => "not larger",
                    Direction::Larger => "not smaller",
                };
                return Some(
                    refused(tightened, format!("{what}, which asks for less under rule `{id}`"))
                        .mark(reader.id_span, format!("this rule reads it as {limit}"))
                        .help(format!("write a value that is {may} than the one below")),
                );
            }
        }
    }
    (!read).then(|| {
        refused(
            tightened,
            String::from("no rule in force holds a limit against it, so that nothing tells what asks for more"),
        )
        .help("add a rule of your own that asks for more")
    })
}

fn refused(tightened: &Tightened, why: String) -> Problem {
    let Tightened { key, place, by, .. } = tightened;
    Problem::new(tightened.span, format!("`{place}` may only tighten `{key}`: {why}"))
        .label("not stricter")
        .mark(tightened.by_span, format!("`{by}` lets places inside only tighten"))
}

/// Returns what is looser about a value, if it is.
fn looser(before: Scalar, after: Scalar, direction: Direction) -> Option<String> {
    let (Scalar::Quantity(before), Scalar::Quantity(after)) = (before, after) else {
        return (before != after).then(|| String::from("it is no amount"));
    };
    let loose = match direction {
        Direction::Smaller => after.amount() > before.amount(),
        Direction::Larger => after.amount() < before.amount(),
    };
    let word = if after.amount() > before.amount() { "more" } else { "less" };
    let print = |quantity: crate::quantity::Quantity| quantity.print(crate::quantity::UnitSystem::Customary);
    loose.then(|| format!("{} is {word} than {}", print(after), print(before)))
}

/// Returns what is looser about a table, if anything is: every key of either finds rows in both.
fn looser_row(before: &Table, after: &Table, direction: Direction) -> Option<String> {
    if before.matching() != after.matching() {
        return Some(String::from("its rows are found in another way"));
    }
    let keys = before.rows().iter().chain(after.rows());
    for row in keys {
        let key = &row.key_text;
        match (before.find(row.key), after.find(row.key)) {
            (Some(below), Some(above)) => {
                if let Some(what) = looser(below.value, above.value, direction) {
                    return Some(format!("for {key} {what}"));
                }
            }
            (Some(_), None) => return Some(format!("it has no row for {key} any more")),
            // Where there was nothing the rule could not be held; now it can.
            (None, _) => {}
        }
    }
    None
}

/// Returns whether a rule's text, or what is read into it, may name an entry that was changed.
fn may_read(book: &Book, texts: &[&str]) -> bool {
    let names = |key: &str| texts.iter().any(|text| text.contains(key));
    book.tightened.iter().any(|tightened| names(&tightened.key))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::{Ask, Origin, RulesetText};
    use crate::model::Stage;

    const CODE: &str = r#"
[a.top]
value = "12 in"
cites = "x"
[a.floor]
value = "12 in"
cites = "x"
[a.low]
value = "12 in"
cites = "x"
[a.high]
value = "48 in"
cites = "x"
[a.twice]
value = 2
cites = "x"
[a.scope]
value = "12 in"
cites = "x"
[a.same]
value = "12 in"
cites = "x"
[a.unread]
value = "12 in"
cites = "x"
[a.sizes]
rows = { "15 A" = "14 AWG", "30 A" = "10 AWG" }
match = "up_to"
cites = "x"
[a.kinds]
list = ["kitchen", "laundry"]
cites = "x"
[a.shared]
value = "12 in"
cites = "x"
"#;

    const RULES: &str = r#"
/// A height above a shared one.
define above_shared on box cites "x" { box.bottom > code.a.shared }
/// One.
rule "at-most" on box at rough_in cites "x" { keep box.bottom at_most code.a.top * code.a.twice; }
/// Two.
rule "at-least" on box at rough_in cites "x" { let floor = code.a.floor; keep box.bottom - floor at_least box.along; }
/// Three.
rule "within" on box at rough_in cites "x" { keep box.bottom between code.a.low and code.a.high; }
/// Four.
rule "in-scope" on box at rough_in cites "x" {
    applies where box.bottom < code.a.scope;
    need box.along > box.bottom;
}
/// Five.
rule "the-same" on box at rough_in cites "x" { keep box.bottom equal_to code.a.same; }
/// Six.
rule "rows" on cable at rough_in cites "x" { keep cable.size at_least code.a.sizes[cable.circuit.rating]; }
/// Seven.
rule "shared" on box at rough_in cites "x" { need box.above_shared; }
/// Eight.
rule "in-list" on room at rough_in cites "x" { applies where room.kind in code.a.kinds; look "the floor"; }
"#;

    fn manifest(id: &str, kind: &str, more: &str) -> String {
        format!(
            "id = \"{id}\"\ntitle = \"{id}\"\nkind = \"{kind}\"\nversion = \"1\"\nreviewed = 2026-11-25\n\
             source = \"invented\"\nchecked = \"law_text\"\n{more}"
        )
    }

    /// Returns what is wrong with a town inside a state that lets places inside only tighten.
    fn town(amends: &str, rules: &str) -> Vec<String> {
        let adopts = "locals = \"stricter\"\n[[adopts]]\nruleset = \"us/model\"\nfrom = 2020-01-01\ncites = \"x\"\n";
        let within = format!("within = \"demo/state\"\n{amends}");
        let files = [
            ("us/model/ruleset.toml", manifest("us/model", "edition", "")),
            ("us/model/code/a.toml", CODE.to_owned()),
            ("us/model/rules/a.rhai", RULES.to_owned()),
            ("demo/state/ruleset.toml", manifest("demo/state", "jurisdiction", adopts)),
            ("demo/town/ruleset.toml", manifest("demo/town", "jurisdiction", &within)),
            ("demo/town/rules/a.rhai", rules.to_owned()),
        ];
        let text = |(path, text): (&str, String)| RulesetText {
            origin: Origin::Shipped,
            path: path.to_owned(),
            text: text.into(),
        };
        let mut inspector = Inspector::new(files.into_iter().map(text).collect());
        let ask = Ask::on("demo/town", "2024-01-01".parse().unwrap());
        let problems = inspector.code(&ask, Stage::Final).err().unwrap_or_default();
        let files = inspector.shelf().files().clone();
        problems.iter().map(|problem| format!("{} @ {}", problem.message, files.text(problem.span))).collect()
    }

    fn amend(entry: &str, value: &str) -> String {
        format!("[[amends]]\nentry = \"a.{entry}\"\nvalue = \"{value}\"\ncites = \"Town 1\"\n")
    }

    #[test]
    fn a_value_may_change_the_way_in_which_its_rules_ask_for_more() {
        let stricter = [
            ("top", "8 in"),
            ("floor", "14 in"),
            ("low", "14 in"),
            ("high", "46 in"),
            ("scope", "14 in"),
            ("shared", "14 in"),
        ];
        for (entry, value) in stricter {
            assert_eq!(town(&amend(entry, value), ""), Vec::<String>::new(), "{entry}");
        }
        let looser = [
            ("top", "14 in", "14 in is more than 12 in, which asks for less under rule `at-most`"),
            ("floor", "8 in", "8 in is less than 12 in, which asks for less under rule `at-least`"),
            ("low", "8 in", "8 in is less than 12 in, which asks for less under rule `within`"),
            ("high", "50 in", "4 ft 2 in is more than 4 ft, which asks for less under rule `within`"),
            ("scope", "8 in", "8 in is less than 12 in, which asks for less under rule `in-scope`"),
            ("shared", "8 in", "8 in is less than 12 in, which asks for less under rule `shared`"),
            ("same", "8 in", "whether it asks for more can't be told from rule `the-same`"),
            ("unread", "8 in", "no rule in force holds a limit against it, so that nothing tells what asks for more"),
        ];
        for (entry, value, why) in looser {
            let expected = format!("`demo/town` may only tighten `a.{entry}`: {why} @ \"{value}\"");
            assert_eq!(town(&amend(entry, value), ""), [expected], "{entry}");
        }
    }

    #[test]
    fn rows_may_tighten_and_stay() {
        let of = |what: &str| format!("[[amends]]\nentry = \"a.sizes\"\n{what}\ncites = \"Town 1\"\n");
        assert!(town(&of("row = \"15 A\"\nvalue = \"12 AWG\""), "").is_empty());
        assert!(town(&of("add = { \"60 A\" = \"6 AWG\" }"), "").is_empty());
        assert_eq!(
            town(&of("row = \"30 A\"\nvalue = \"12 AWG\""), ""),
            [
                "`demo/town` may only tighten `a.sizes`: for 30 A 12 AWG is less than 10 AWG, which asks for less under rule `rows` \
              @ \"12 AWG\""
            ]
        );
        // A row between would let 20 A have less than the row of 30 A asks for.
        assert_eq!(
            town(&of("add = { \"20 A\" = \"12 AWG\" }"), ""),
            [
                "`demo/town` may only tighten `a.sizes`: for 20 A 12 AWG is less than 10 AWG, which asks for less under rule `rows` \
              @ \"a.sizes\""
            ]
        );
        assert_eq!(
            town(&of("remove = [\"30 A\"]"), ""),
            [
                "`demo/town` may only tighten `a.sizes`: it has no row for 30 A any more, which asks for less under rule `rows` \
              @ \"a.sizes\""
            ]
        );
    }

    #[test]
    fn what_no_rule_can_decide_is_refused_with_the_reason() {
        let says = "`demo/state` lets places inside only tighten";
        let amends = "[[amends]]\nomit = \"at-most\"\ncites = \"x\"\n\
                      [[amends]]\nreweigh = \"at-least\"\nweight = \"note\"\ncites = \"x\"\n\
                      [[amends]]\nentry = \"a.kinds\"\nadd = [\"bathroom\"]\ncites = \"x\"\n";
        let rules = r#"
/// Another.
rule "other" on box at rough_in cites "x" replaces "within" { need box.along > box.bottom; }
/// Anew.
define above_shared on box cites "x" { box.bottom > box.along }
/// Out.
exception "out" to "rows" cites "x" { cable.size == cable.size }
/// Mine alone.
rule "mine" on box at rough_in cites "x" { need box.along > box.bottom; }
"#;
        assert_eq!(
            town(amends, rules),
            [
                format!("`demo/town` may not replace a rule: {says} @ within"),
                format!("`demo/town` may not define a condition anew: {says} @ above_shared"),
                format!("`demo/town` may not add an exception: {says} @ \"out\""),
                format!("`demo/town` may not leave a rule out: {says} @ \"at-most\""),
                format!("`demo/town` may not make a rule weigh less: {says} @ \"at-least\""),
                format!("`demo/town` may not change a list: {says} @ \"a.kinds\""),
            ]
        );
        let adopts = "[[adopts]]\nruleset = \"us/model\"\nfrom = 2021-01-01\ncites = \"x\"\n";
        assert_eq!(
            town(adopts, ""),
            [
                "`demo/town` may not adopt a code of its own: `demo/state` lets places inside only tighten, and which of two codes is \
              stricter can't be told @ \"us/model\""
            ]
        );
    }
}
