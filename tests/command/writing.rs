//! Writing rulesets: a new one, a copy of a shipped one, the book of one, schemas for editors.

use serde_json::{Value, json};

use crate::support::{Folder, examples};

fn to_json(value: &toml::Value) -> Value {
    match value {
        toml::Value::Datetime(date) => json!(date.to_string()),
        toml::Value::Array(values) => values.iter().map(to_json).collect(),
        toml::Value::Table(table) => table.iter().map(|(key, value)| (key.clone(), to_json(value))).collect(),
        toml::Value::String(text) => json!(text),
        toml::Value::Integer(number) => json!(number),
        toml::Value::Float(number) => json!(number),
        toml::Value::Boolean(flag) => json!(flag),
    }
}

fn faults(validator: &jsonschema::Validator, text: &str) -> Vec<String> {
    let value: toml::Value = toml::from_str(text).unwrap();
    validator.iter_errors(&to_json(&value)).map(|error| format!("{}: {error}", error.instance_path())).collect()
}

#[test]
fn every_shipped_file_fits_its_schema_and_slips_do_not() {
    let folder = Folder::empty();
    let schema = |which: &str| {
        let schema = folder.run(&format!("schema {which}")).json();
        jsonschema::draft7::meta::validate(&schema).unwrap();
        jsonschema::draft7::new(&schema).unwrap()
    };
    let (manifest, code, trials) = (schema("manifest"), schema("code"), schema("trials"));
    let mut seen = [0; 3];
    for (path, text) in storystick_rulesets::FILES.iter().filter(|(path, _)| path.ends_with(".toml")) {
        let (at, validator) = if path.ends_with("/ruleset.toml") {
            (0, &manifest)
        } else if path.contains("/code/") {
            (1, &code)
        } else if path.contains("/trials/") {
            (2, &trials)
        } else {
            continue;
        };
        seen[at] += 1;
        assert_eq!(faults(validator, text), Vec::<String>::new(), "{path}");
    }
    assert!(seen.iter().all(|seen| *seen > 10), "{seen:?}");
    for (validator, slip) in [
        (
            &manifest,
            "id = \"a\"\ntitle = \"A\"\nkind = \"place\"\nversion = \"1\"\nreviewed = 2023-01-01\nsource = \"x\"\n",
        ),
        (&manifest, "id = \"a\"\n"),
        (&code, "[nm.a]\nvalue = \"1 in\"\ncite = \"1\"\n"),
        (&code, "[nm.a]\nvalue = \"1 in\"\nlist = [\"a\"]\ncites = \"1\"\n"),
        (&code, "[[amends]]\nvalue = \"1 in\"\ncites = \"1\"\n"),
        (&trials, "[[trial]]\nrule = \"a\"\nexpect = \"mett\"\n"),
        (&trials, "[[trial]]\nrule = \"a\"\nexpect = \"met\"\njob.box = [{ id = \"B1\", tpo = \"1 in\" }]\n"),
    ] {
        assert!(!faults(validator, slip).is_empty(), "{slip}");
    }
}

#[test]
fn a_new_ruleset_of_every_kind_loads_and_passes_at_once() {
    let folder = Folder::empty();
    for words in [
        "our-town --within demo/millrace",
        "us-xx/our-state",
        "shop/our-shop --kind shop",
        "reach --kind accessibility",
        "if --kind edition",
    ] {
        let ran = folder.run(&format!("ruleset new {words}"));
        assert_eq!((ran.status, ran.err.as_str()), (0, ""), "{words}");
        assert!(ran.out.contains("Next: storystick ruleset try rulesets"), "{}", ran.out);
    }
    let ran = folder.run("ruleset try rulesets");
    assert_eq!(ran.status, 0, "{}", ran.out);
    assert_eq!(ran.out.matches("1 rules, 3 trials, 0 failed").count(), 5, "{}", ran.out);
    assert!(!ran.out.contains("no trial"), "{}", ran.out);
    let ran = folder.run("ruleset check our-town us-xx/our-state shop/our-shop reach if --rulesets rulesets");
    assert_eq!(ran.status, 0, "{}", ran.out);
    // A shop's amendment stands on top of any place.
    folder.write(
        "job.toml",
        "format = 1\n[site]\njurisdiction = \"demo/millrace\"\npermit_date = 2024-01-01\nshop = \"shop/our-shop\"\n",
    );
    let code = folder.run("code job.toml nm.secured_from_box --rulesets rulesets");
    assert!(code.out.contains("nm.secured_from_box = 6 in") && code.out.contains("Our Shop book 2"), "{}", code.out);
    // The amendment holds: another value than the place around has.
    let code = folder.run("code --at our-town --on 2024-01-01 nm.secured_from_box --rulesets rulesets");
    assert!(code.out.contains("nm.secured_from_box = 6 in"), "{}{}", code.out, code.err);
}

#[test]
fn a_new_ruleset_never_overwrites_and_a_bad_name_or_place_is_refused() {
    let folder = Folder::empty();
    assert_eq!(folder.run("ruleset new our-town").status, 0);
    folder.run("ruleset new our-town").refused("is there already");
    folder.run("ruleset new Our-Town").refused("can't be a ruleset's id");
    folder.run("ruleset new ../town").refused("can't be a ruleset's id");
    folder.run("ruleset new town --within demo/milrace").refused("did you mean `demo/millrace`?");
    folder.run("ruleset export demo/milrace").refused("next: `storystick ruleset list` names all");
}

#[test]
fn an_export_is_the_shipped_ruleset_byte_for_byte_and_takes_its_place() {
    let folder = Folder::empty();
    let ran = folder.run("ruleset export demo/harlow-county --dir own");
    assert_eq!(ran.status, 0, "{}", ran.err);
    let shipped: Vec<_> =
        storystick_rulesets::FILES.iter().filter(|(path, _)| path.starts_with("demo/harlow-county/")).collect();
    assert!(shipped.len() >= 4);
    for (path, text) in shipped {
        assert_eq!(folder.read(&format!("own/{path}")), *text, "{path}");
    }
    folder.change("own/demo/harlow-county/code/amendments.toml", "value = \"8 in\"", "value = \"7 in\"");
    let code = folder.run("code --at demo/harlow-county --on 2024-01-01 nm.secured_from_box --rulesets own");
    assert!(code.out.contains("nm.secured_from_box = 7 in"), "{}", code.out);
    folder.run("ruleset export demo/harlow-county --dir own").refused("is there already");
}

#[test]
fn the_book_of_a_ruleset_tells_values_rules_sources_and_examples() {
    let folder = Folder::little();
    let text = folder.run("ruleset guide little/edition --rulesets book").out;
    for says in [
        "# Little edition (`little/edition`)",
        "### `staple.from_box`\n\n12 in\n\n1.1; read in the law",
        "| 14 AWG | 15 A |",
        "1.3; NOT VERIFIED: from memory",
        "A staple holds the cable close to its box.",
        "looks at every cable end, from rough in on; weighs correction",
        "end.first\\_support at most staple.from\\_box (12 in) — otherwise: add a staple closer to the box",
        "| a staple at 13 in | correction, found 13 in |",
    ] {
        assert!(text.contains(says), "`{says}` is not in:\n{text}");
    }
    let ran = folder.run("ruleset guide little/edition --rulesets book --format html -o guide.html");
    assert_eq!((ran.status, ran.out.as_str()), (0, "guide.html\n"));
    let page = folder.read("guide.html");
    let page = page.strip_prefix("<!DOCTYPE html>").unwrap();
    for outside in ["http:", "https:", "<script", "src="] {
        assert!(!page.contains(outside), "{outside}");
    }
    assert!(page.contains("NOT VERIFIED") && page.contains("12 in"));
    folder.run("ruleset guide little/editon --rulesets book").refused("did you mean `little/edition`?");
}

#[test]
fn completions_and_manual_pages_know_the_commands_and_how_they_end() {
    let folder = Folder::empty();
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let ran = folder.run(&format!("completions {shell}"));
        assert!(ran.status == 0 && ran.out.contains("permit-date"), "{shell}");
    }
    assert_eq!(folder.run("man pages").status, 0);
    assert!(folder.read("pages/storystick.1").contains("Exit status"));
    assert!(folder.read("pages/storystick-ruleset-new.1").contains("within"));
    let page = folder.read("pages/storystick-ruleset-try.1");
    assert!(page.contains("a trial did not") && page.contains("status of the last run"), "{page}");
    assert!(folder.run("--help").out.contains("Exit status of every command"));
}

/// The commands of the guide for trainers, in the order in which it gives them, with what it has people write between them.
#[test]
fn the_trainers_guide_does_what_it_says() {
    let guide = std::fs::read_to_string(examples().join("../DEVELOPERS.md")).unwrap();
    let part = guide.split("## Ten minutes to your own rule").nth(1).unwrap().split("\n## ").next().unwrap();
    let folder = Folder::empty();
    folder.write("JOB.toml", &std::fs::read_to_string(examples().join("hobby-room.toml")).unwrap());
    let mut commands = 0;
    let mut file = "";
    for (at, block) in part.split("```").enumerate() {
        if at % 2 == 0 {
            // The file that a block is to be written at the end of is named before it.
            let named = block.rsplit("at the end of `").next().filter(|rest| rest.len() < block.len());
            let named =
                named.or_else(|| block.rsplit("At the end of `").next().filter(|rest| rest.len() < block.len()));
            file = named.and_then(|rest| rest.split('`').next()).unwrap_or("");
            if block.contains("make the `48 in` a `46 in`") {
                folder.change("our-rules/our-town/code/values.toml", "48 in", "46 in");
            }
            if block.contains("Write `46 in` and `46 1/2 in`") {
                folder.change("our-rules/our-town/trials/trials.toml", "48 in", "46 in");
                folder.change("our-rules/our-town/trials/trials.toml", "48 1/2 in", "46 1/2 in");
            }
            continue;
        }
        let text = block.split_once('\n').unwrap().1;
        if !text.starts_with("$ ") {
            assert!(!file.is_empty(), "it is not said where this is written:\n{text}");
            folder.append(&format!("our-rules/our-town/{file}"), &format!("\n{text}"));
            continue;
        }
        for words in text.lines().filter_map(|line| line.strip_prefix("$ storystick ")) {
            commands += 1;
            let ran = folder.run(words);
            // With the changed number a trial fails, until it is written anew.
            let expected = i32::from(commands == 3);
            assert!(ran.status == expected || words.starts_with("inspect") && ran.status < 2, "{words}: {ran:?}");
            if words.contains("ruleset check") {
                assert!(!ran.out.contains("no trial") && !ran.out.contains("read by no"), "{words}: {}", ran.out);
            }
        }
    }
    assert!(commands >= 8, "{commands}");
    let tried = folder.run("ruleset try our-rules").out;
    assert!(tried.contains("our-town: 2 rules, 7 trials, 0 failed") && !tried.contains("no trial"), "{tried}");
}
