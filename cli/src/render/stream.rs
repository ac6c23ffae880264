//! Lists of JSON that are written as their members come, so that a batch holds no more than it is working on.
//!
//! Byte for byte it is what the list printed as a whole would be, as a value of the outermost object.

use serde_json::Value;

/// Returns a member of the list as it is printed inside of it.
pub(crate) fn member(value: &Value) -> String {
    // A text in JSON holds no line break: each one here is between two values.
    serde_json::to_string_pretty(value).unwrap_or_default().replace('\n', "\n    ")
}

/// Returns what comes before a member.
pub(crate) fn before(first: bool) -> &'static str {
    if first { "\n    " } else { ",\n    " }
}

/// Returns the end of a list.
pub(crate) fn end(empty: bool) -> &'static str {
    if empty { "]" } else { "\n  ]" }
}

#[cfg(test)]
mod tests {
    use super::{before, end, member};

    #[test]
    fn members_that_come_one_by_one_make_the_list_as_it_is_printed_whole() {
        let all = [serde_json::json!({ "a": [1, { "b": "x\ny" }], "c": [] }), serde_json::json!("z")];
        for some in [&all[..0], &all[..1], &all[..]] {
            let mut text = String::from("{\n  \"list\": [");
            for (at, value) in some.iter().enumerate() {
                text.push_str(before(at == 0));
                text.push_str(&member(value));
            }
            text = text + end(some.is_empty()) + "\n}";
            assert_eq!(text, serde_json::to_string_pretty(&serde_json::json!({ "list": some })).unwrap());
        }
    }
}
