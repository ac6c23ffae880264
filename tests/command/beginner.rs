//! Slips of somebody who writes the first ruleset: each is told at its place, once, with what to write.

use crate::support::{Folder, flat};

const VALUES: &str = "our-rules/our-town/code/values.toml";
const RULES: &str = "our-rules/our-town/rules/rules.rhai";
const MANIFEST: &str = "our-rules/our-town/ruleset.toml";

/// Returns the folder of the guide for trainers, whole.
fn begun() -> Folder {
    let folder = Folder::empty();
    let made = folder.run("ruleset new our-town --within demo/millrace --dir our-rules");
    assert_eq!(made.status, 0, "{made:?}");
    folder
}

fn checked(folder: &Folder) -> (i32, String) {
    let ran = folder.run("ruleset check our-town --rulesets our-rules");
    (ran.status, format!("{}{}", ran.out, ran.err))
}

#[test]
fn a_slip_is_told_once_with_what_to_write() {
    for (path, old, new, at, tells) in [
        (VALUES, "\"48 in\"", "“48 in”", "values.toml:3:9", "straight quote"),
        (VALUES, "\"48 in\"", "48 in", "values.toml:3:9", "double quotes"),
        (VALUES, "\"48 in\"", "\"48 in", "values.toml:3:15", "second quote"),
        (VALUES, "\"48 in\"", "\"48\"\"", "values.toml:3:13", "inches as `in`"),
        (VALUES, "\"48 in\"", "48", "values.toml:3:9", "write the unit into the entry"),
        (VALUES, "value =", "value:", "values.toml:3", "name = value"),
        (MANIFEST, "version = \"1\"", "version = 1", "ruleset.toml:5:11", "version = \"1\""),
        (RULES, "\"switch\"", "“switch”", "rules.rhai:3:34", "straight quote"),
        (
            RULES,
            "rule \"our-town-switch-box-top\"",
            "rule “our-town-switch-box-top”",
            "rules.rhai:2:6",
            "straight quote",
        ),
        (RULES, "wall is closed\";", "wall is closed”;", "rules.rhai:5", "straight quote"),
        (RULES, "keep box.top_edge", "keep\u{a0}box.top_edge", "rules.rhai:4:9", "space bar"),
        (RULES, "box.purpose == ", "box.purpose = ", "rules.rhai:3:31", "write `==`"),
        (RULES, "box.purpose == ", "box.purpose is ", "rules.rhai:3:31", "`==` for is"),
        (RULES, "\"switch\";", "\"switch\" and box.top_edge > box.bottom_edge;", "rules.rhai:3", "`&&` for and"),
        (RULES, "\"switch\"", "'switch'", "rules.rhai:3:34", "double quotes"),
        (RULES, "at_most", "<=", "rules.rhai:5", "`at_most` is `<=`"),
        (RULES, "at_most", "at most", "rules.rhai:4", "one word with `_`"),
        (RULES, "Code 3\" {", "Code 3\"", "rules.rhai:2", "write `{ … }` after the header"),
        (RULES, "    keep", "\tkeep", "", ""),
    ] {
        let folder = begun();
        folder.change(path, old, new);
        let (status, told) = checked(&folder);
        if tells.is_empty() {
            assert_eq!(status, 0, "{new}: {told}");
            continue;
        }
        assert_eq!(status, 2, "{new}: {told}");
        assert!(told.contains(at), "{new} at {at}: {told}");
        assert!(flat(&told).contains(tells), "{new}: {told}");
        // One slip, one report.
        assert_eq!(told.matches('×').count(), 1, "{new}: {told}");
    }
}

#[test]
fn a_tab_is_shown_as_a_blank() {
    let folder = begun();
    folder.change(RULES, "    keep box.top_edge", "\tkeep box.top_edgee");
    let (_, told) = checked(&folder);
    assert!(told.contains(" keep box.top_edgee") && !told.contains('\u{fffd}'), "{told}");
}

#[test]
fn marks_of_the_encoding_and_other_line_ends_are_read_over() {
    let folder = begun();
    for path in [VALUES, RULES, MANIFEST, "our-rules/our-town/trials/trials.toml"] {
        let text = folder.read(path);
        folder.write(path, &format!("\u{feff}{}", text.replace('\n', "\r\n")));
    }
    let (status, told) = checked(&folder);
    assert_eq!(status, 0, "{told}");
}

#[test]
fn a_file_that_would_not_be_read_is_named() {
    let folder = begun();
    folder.write(&format!("{RULES}.txt"), "");
    let (status, told) = checked(&folder);
    assert_eq!(status, 2, "{told}");
    assert!(flat(&told).contains("rename it to"), "{told}");
}

#[test]
fn trials_of_a_rule_that_cannot_be_used_are_counted_not_repeated() {
    let folder = begun();
    folder.change(RULES, "box.top_edge at_most", "box.top_edgee at_most");
    for command in ["ruleset try our-rules", "ruleset check our-town --rulesets our-rules"] {
        let ran = folder.run(command);
        assert_eq!(ran.out.matches("top_edgee at_most").count(), 1, "{}", ran.out);
        assert!(
            flat(&ran.out).contains("can't run until that is put right: 3 of our-town-switch-box-top"),
            "{}",
            ran.out
        );
    }
}
