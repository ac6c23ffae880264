//! `--format junit`, read by an XML parser that is not ours.

use roxmltree::{Document, Node};

use crate::support::Folder;

fn number(node: Node<'_, '_>, name: &str) -> usize {
    node.attribute(name).unwrap().parse().unwrap()
}

fn named<'a>(node: Node<'a, 'a>, name: &'static str) -> impl Iterator<Item = Node<'a, 'a>> {
    node.descendants().filter(move |node| node.has_tag_name(name))
}

/// Every suite counts what it holds, and no case has two failures: readers show one.
fn sound(text: &str) {
    let document = Document::parse(text).unwrap_or_else(|error| panic!("{error}\n{text}"));
    let mut suites = 0;
    for suite in named(document.root(), "testsuite") {
        suites += 1;
        let cases: Vec<_> = suite.children().filter(|node| node.has_tag_name("testcase")).collect();
        assert_eq!(number(suite, "tests"), cases.len());
        for (count, tag) in [("failures", "failure"), ("errors", "error"), ("skipped", "skipped")] {
            assert_eq!(number(suite, count), named(suite, tag).count(), "{count}");
        }
        for case in cases {
            assert!(case.children().filter(Node::is_element).count() <= 1);
            assert!(case.attribute("name").is_some() && case.attribute("classname").is_some());
        }
    }
    assert!(suites > 0);
}

#[test]
fn a_suite_for_each_ruleset_and_a_case_for_each_rule_and_item() {
    let text = Folder::little().inspect("--format junit").out;
    sound(&text);
    let document = Document::parse(&text).unwrap();
    let suite = named(document.root(), "testsuite").next().unwrap();
    assert_eq!(suite.attribute("name"), Some("Shed, 5 Alder Row: little/edition"));
    assert_eq!((number(suite, "tests"), number(suite, "failures"), number(suite, "skipped")), (8, 2, 2));
    let case = named(suite, "testcase").find(|case| case.attribute("name") == Some("C2/from")).unwrap();
    assert_eq!(case.attribute("classname"), Some("staple-near-box"));
    let failure = case.first_element_child().unwrap();
    assert_eq!(
        failure.attribute("message"),
        Some("first support is 13 in; 8 in max at job.toml:56:37 (1.1); to put right: add a staple closer to the box")
    );
}

#[test]
fn nothing_in_a_job_breaks_the_xml() {
    let folder = Folder::little();
    folder.change("job.toml", "name = \"Shed, 5 Alder Row\"", r#"name = "<Shed> & \"co\" ]]> \u0007\u001b \uFFFE ½""#);
    folder.change("job.toml", "id = \"C2\"", "id = \"C2<&>'\\\"\"");
    sound(&folder.inspect("--format junit").out);
}

#[test]
fn faults_and_files_that_cannot_be_used_are_errors() {
    let folder = Folder::little();
    folder.write("broken.toml", "format = 1\n[site]\nnam = 3\n");
    folder.change("book/little/edition/rules/rules.rhai", "box.top_edge", "box.top_edgee");
    let ran = folder.run("inspect job.toml broken.toml none.toml --rulesets book --format junit");
    assert_eq!(ran.status, 2);
    sound(&ran.out);
    let document = Document::parse(&ran.out).unwrap();
    let suites: Vec<&str> = named(document.root(), "testsuite").filter_map(|suite| suite.attribute("name")).collect();
    let expected = [
        "Shed, 5 Alder Row: little/edition",
        "Shed, 5 Alder Row: faults of rules",
        "broken.toml: not read",
        "none.toml: not read",
    ];
    assert_eq!(suites, expected);
}
