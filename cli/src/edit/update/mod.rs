//! Rewrites a job file from an older spelling of the format to the newest one, in place: comments, order and layout stay.
//!
//! What an older file may say otherwise is a table of rows ([`Row`]); words of the trade that the reader takes become the words of the
//! format. What the table cannot decide is told and left as it is.

mod moves;
mod rows;
mod walk;

use storystick_engine::job::{FORMAT, NEWEST_FORMAT};
use storystick_engine::model::Schema;

pub(crate) use rows::{ROWS, Row};

/// One change, or one thing that is left to the writer of the file.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Note {
    /// Line of the file as it was, from 1.
    pub(crate) line: usize,
    /// What, in a few words.
    pub(crate) what: String,
}

/// A job file after the update.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Updated {
    /// The text.
    pub(crate) text: String,
    /// What was changed, in the order of the file.
    pub(crate) changes: Vec<Note>,
    /// What could not be decided.
    pub(crate) left: Vec<Note>,
}

/// Returns a job file in the newest format.
///
/// # Errors
/// What the user should read: the text is no TOML, or of a format that is not known.
pub(crate) fn updated(text: &str, schema: &Schema, rows: &[Row]) -> Result<Updated, String> {
    let spliced = walk::spliced(text, schema, rows)?;
    let moved = moves::moved(&spliced.text, rows)?;
    let mut changes = spliced.changes;
    changes.extend(moved.changes);
    let mut left = spliced.left;
    left.extend(moved.left);
    changes.sort();
    left.sort();
    Ok(Updated { text: moved.text, changes, left })
}

/// Returns whether a number is a format that can be brought up to the newest one.
fn is_known(format: i64) -> bool {
    (FORMAT..=NEWEST_FORMAT).contains(&format)
}

/// Returns the line of a place in a text, from 1.
fn line_of(text: &str, at: usize) -> usize {
    text.bytes().take(at).filter(|byte| *byte == b'\n').count() + 1
}

#[cfg(test)]
mod tests {
    use super::*;

    const RENAMED: &[Row] = &[Row::Renamed { kind: "box", from: "corner", to: "along" }];
    const MOVED: &[Row] = &[Row::Moved {
        kind: "panel",
        keys: &[("feeder_size", "size"), ("feeder_wires", "wires")],
        into: "feeder",
        link: "to",
    }];

    fn update(text: &str, rows: &[Row]) -> Updated {
        updated(text, &Schema::dwelling(), rows).unwrap()
    }

    fn whats(notes: &[Note]) -> Vec<(usize, &str)> {
        notes.iter().map(|note| (note.line, note.what.as_str())).collect()
    }

    #[test]
    fn words_of_the_trade_become_those_of_the_format_and_all_else_stays() {
        let text = "# mine\nformat = 1 # old\n\n[[appliance]]   # under the sink\nid = 'D'\nkind = 'disposal' # loud\n\n\
                    [[cable]]\nmake = \"12-2\"\nwiring_method = \"nm-b\"\nfrom = \"D\"\nto = { at = \"P\" }\n";
        let out = update(text, &[]);
        assert_eq!(
            out.text,
            text.replace("format = 1", "format = 2")
                .replace("'disposal'", "'disposer'")
                .replace("12-2", "12/2")
                .replace("nm-b", "NM")
        );
        assert_eq!(
            whats(&out.changes),
            [
                (2, "format 2"),
                (6, "appliance kind: `disposal` is `disposer`"),
                (9, "cable make: `12-2` is `12/2`"),
                (10, "cable wiring_method: `nm-b` is `NM`"),
            ]
        );
        assert!(out.left.is_empty());
        // Once more changes nothing.
        let again = update(&out.text, &[]);
        assert_eq!((again.text.as_str(), again.changes.len()), (out.text.as_str(), 0));
    }

    #[test]
    fn a_file_without_a_format_gets_one_and_parts_inside_items_are_read_too() {
        let text = "room = [{ id = \"k\", kind = \"Kitchen\", counter = [{ kind = \"wall\", break = [{ kind = \"Sink\" }] }] }]\n";
        let out = update(text, &[]);
        assert!(out.text.starts_with("format = 2\nroom = [{ id = \"k\", kind = \"kitchen\""), "{}", out.text);
        assert!(out.text.contains("break = [{ kind = \"sink\" }]"), "{}", out.text);
    }

    #[test]
    fn a_word_with_two_meanings_is_left_and_told() {
        let out = update("format = 2\n[site]\nstage = \"finish\"\n", &[]);
        assert!(out.changes.is_empty());
        assert_eq!(whats(&out.left), [(3, "site stage: `finish` may be `trim_out` or `final`")]);
    }

    #[test]
    fn a_renamed_key_goes_by_its_new_name_unless_both_are_there() {
        let out = update("format = 2\nbox = [{ id = \"B1\", corner = \"1 ft\" }] # one\n", RENAMED);
        assert_eq!(out.text, "format = 2\nbox = [{ id = \"B1\", along = \"1 ft\" }] # one\n");
        assert_eq!(whats(&out.changes), [(2, "box: `corner` is `along`")]);
        let both = update("format = 2\n[[box]]\nid = \"B1\"\ncorner = \"1 ft\"\nalong = \"2 ft\"\n", RENAMED);
        assert!(both.changes.is_empty());
        assert_eq!(whats(&both.left), [(4, "box `B1`: has both `corner` and `along`, which is the same field")]);
    }

    #[test]
    fn keys_that_became_an_item_move_into_one() {
        let text = "format = 2\n[[panel]]\nid = \"P2\" # the shop\nfeeder_size = \"4 AWG\"\nfeeder_wires = 4\nspaces = 20 # all\n";
        let out = update(text, MOVED);
        assert_eq!(
            out.text,
            "format = 2\n[[panel]]\nid = \"P2\" # the shop\nspaces = 20 # all\n\n[[feeder]]\nid = \"feeder-P2\"\nto = \"P2\"\n\
             size = \"4 AWG\"\nwires = 4\n"
        );
        assert_eq!(
            whats(&out.changes),
            [(3, "panel `P2`: its feeder_size, feeder_wires stand in feeder `feeder-P2` now")]
        );
        assert_eq!(update(&out.text, MOVED).text, out.text);
    }

    #[test]
    fn what_is_no_job_file_of_a_known_format_is_refused() {
        let schema = Schema::dwelling();
        assert!(updated("format = 3\n", &schema, &[]).unwrap_err().contains("format 3"));
        assert!(updated("format = \"two\"\n", &schema, &[]).is_err());
        assert!(updated("[[box\n", &schema, &[]).is_err());
    }
}
