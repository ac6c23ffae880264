//! Every shipped rule on every item of the example jobs, lowered and on Rhai's evaluator: all that a finding is made of is the same.

use std::sync::Arc;

use super::differential::plain;
use crate::book::{Ask, RulesetText, Shelf};
use crate::calc;
use crate::job::{self, Document};
use crate::model::{ItemIndex, Schema, Symbols};
use crate::script::{Compiler, NoAnswer, Verdict};

#[test]
fn every_shipped_rule_says_what_rhai_says() {
    let mut compared = 0;
    let mut verdicts = std::collections::BTreeMap::new();
    let mut elsewhere = std::collections::BTreeSet::new();
    let mut all = std::collections::BTreeSet::new();
    for name in ["hobby-room", "alder-row/dwelling"] {
        let path = format!("{}/../examples/{name}.toml", env!("CARGO_MANIFEST_DIR"));
        let text = std::fs::read_to_string(path).unwrap();
        let schema = Arc::new(Schema::dwelling());
        let shipped = storystick_rulesets::FILES.iter().map(|(path, text)| RulesetText::shipped(*path, text)).collect();
        let mut shelf = Shelf::read(Arc::clone(&schema), shipped);
        let mut files = shelf.files().clone();
        let file = files.add(name, text).unwrap();
        let document = Document::parse(&file);
        let site = job::peek(&[document.part()]).0.unwrap();
        let ask = Ask {
            shop: site.shop.map(|shop| shop.value),
            accessible: true,
            ..Ask::on(site.jurisdiction.value, site.permit_date.value)
        };
        let book = shelf.resolve(&ask).unwrap_or_else(|problems| panic!("{problems:#?}"));
        let compiler = Compiler::new(Arc::clone(&schema));
        // That every shipped rule compiles is for the trials of the rulesets to show.
        let compile = |rule: &crate::book::RuleInForce, symbols: &mut Symbols| {
            compiler.compile(&files, &rule.source, &book, symbols).ok()
        };
        let rules: Vec<_> = book.rules.iter().filter_map(|rule| compile(rule, shelf.symbols_mut())).collect();
        assert!(rules.len() > 250, "{}", rules.len());
        let symbols = Symbols::on(Arc::new(shelf.symbols().clone()));
        let defaults = book.defaults().map(|file| Document::parse(file));
        let shop_defaults = defaults.as_ref().map(Document::part);
        let setting = job::Setting { schema, files: files.clone(), symbols, shop_defaults, whole_file: true };
        let job = job::load(&[document.part()], &setting).0.unwrap();
        let library = calc::Library::standard(&job.schema);
        let mut wanted: Vec<_> = rules.iter().flat_map(|rule| rule.fields().iter().copied()).collect();
        wanted.sort_unstable();
        wanted.dedup();
        let facts = calc::facts(&job, &*book, &library, wanted);
        for rule in &rules {
            all.insert(rule.id().to_owned());
            let mut reference = match rule.reference(&facts, &book) {
                Ok(reference) => Some(reference),
                // The rule is read together with texts of its own; how it runs and what is told of it agree all the same.
                Err(NoAnswer::Elsewhere) => {
                    elsewhere.insert(rule.id().to_owned());
                    None
                }
                Err(error) => panic!("{}: {error:?}", rule.id()),
            };
            let items: &[ItemIndex] = job.of_kind(rule.kind());
            let (mut lowered, mut there) = (Vec::new(), Vec::new());
            rule.bind(&book).on(&facts).run_all(items, &mut lowered);
            if let Some(reference) = &mut reference
                && reference.run_all(items, &mut there) != Err(NoAnswer::TooManyWays)
            {
                assert_eq!(lowered, there, "{}", rule.id());
            }
            for &item in items {
                let lowered = super::world::agree(rule, &facts, &book, item);
                for detail in &lowered {
                    *verdicts.entry(detail.verdict).or_insert(0) += 1;
                }
                let Some(reference) = &mut reference else { continue };
                match reference.explain(item) {
                    Ok(details) => {
                        assert_eq!(plain(lowered), plain(details), "{} on {}", rule.id(), job.id(item));
                        compared += 1;
                    }
                    Err(NoAnswer::TooManyWays) => {}
                    Err(error) => panic!("{} on {}: {error:?}", rule.id(), job.id(item)),
                }
            }
        }
    }
    assert!(compared > 2_000, "only {compared}");
    // Few rules are read together with shared conditions or with exceptions of a place.
    assert!(
        elsewhere.len() > 5 && elsewhere.len() * 4 < all.len(),
        "{} of {}: {elsewhere:?}",
        elsewhere.len(),
        all.len()
    );
    for verdict in [Verdict::Met, Verdict::Excepted, Verdict::Open, Verdict::Failed] {
        assert!(verdicts.get(&verdict).is_some_and(|&number| number > 5), "{verdicts:?}");
    }
}
