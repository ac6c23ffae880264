//! What findings say.

use super::first_sentence;
use super::names::listed;

#[test]
fn the_first_sentence_begins_small_unless_it_is_an_abbreviation() {
    assert_eq!(first_sentence("A staple close to the box. It keeps…"), "a staple close to the box");
    assert_eq!(first_sentence("GFCI protection by 210.8\nholds."), "GFCI protection by 210.8 holds");
    assert_eq!(first_sentence(""), "");
}

#[test]
fn a_long_list_names_the_first_and_says_how_many_more() {
    let names: Vec<String> = ["A", "B", "C", "D", "E"].map(String::from).to_vec();
    assert_eq!(listed(&names[..1], 3), "A");
    assert_eq!(listed(&names[..3], 3), "A, B and C");
    assert_eq!(listed(&names, 3), "A, B, C and 2 more");
}
