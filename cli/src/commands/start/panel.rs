//! The panel of a remodel in answers: `existing-panel 200A spaces 40 free 20-24 in garage`.

use storystick_engine::problem::Problem;
use storystick_engine::quantity::{self, Dimension, Quantity};

use super::line::{Line, wrong};

const SHAPE: &str = "write its rating, and what you know of the rest: `existing-panel 200A main 200A spaces 40 free 20-24,30 in garage`; \
                     `free none` where no position is free";

/// Most spaces that a panel of a dwelling has: a slip of the keyboard is told, not written out.
const MOST: i64 = 120;

/// An existing panel.
#[derive(Clone, Debug)]
pub(super) struct OldPanel {
    pub(super) rating: Quantity,
    pub(super) main: Option<Quantity>,
    pub(super) spaces: Option<i64>,
    pub(super) free: Option<Vec<i64>>,
    /// Id of the room that it is in.
    pub(super) room: Option<String>,
}

fn current(text: &str) -> Option<Quantity> {
    let spaced = text.find(|c: char| c.is_ascii_alphabetic()).map(|at| {
        let (number, unit) = text.split_at(at);
        format!("{number} {unit}")
    });
    let read = quantity::parse(&spaced.unwrap_or_else(|| format!("{text} A")), Dimension::Current).ok()?;
    (read.amount() > 0).then_some(read)
}

/// Reads positions such as `20-24,30`; `none` is an empty list.
fn positions(text: &str) -> Option<Vec<i64>> {
    if text == "none" {
        return Some(Vec::new());
    }
    let mut all = Vec::new();
    for part in text.split(',').filter(|part| !part.is_empty()) {
        let (first, last) = part.split_once('-').unwrap_or((part, part));
        let (first, last) = (first.parse::<i64>().ok()?, last.parse::<i64>().ok()?);
        if first < 1 || last < first || last > MOST {
            return None;
        }
        all.extend(first..=last);
    }
    all.sort_unstable();
    all.dedup();
    (!all.is_empty()).then_some(all)
}

/// Reads an existing panel.
///
/// # Errors
/// What is wrong with the answer.
pub(super) fn panel(line: &Line<'_>) -> Result<OldPanel, Box<Problem>> {
    let mut parts = line.rest.split_whitespace();
    let first = parts.next().unwrap_or_default();
    let Some(rating) = current(first) else {
        return Err(wrong(line, format!("`{first}` is no rating of a panel"), SHAPE));
    };
    let mut panel = OldPanel { rating, main: None, spaces: None, free: None, room: None };
    while let Some(word) = parts.next() {
        let value = parts.next().unwrap_or_default();
        let read = match word {
            "main" => current(value).map(|main| panel.main = Some(main)),
            "spaces" => {
                value.parse().ok().filter(|count| (1..=MOST).contains(count)).map(|count| panel.spaces = Some(count))
            }
            "free" => positions(value).map(|free| panel.free = Some(free)),
            "in" => (!value.is_empty()).then(|| panel.room = Some(value.to_owned())),
            _ => return Err(wrong(line, format!("`{word}` does not belong to a panel"), SHAPE)),
        };
        if read.is_none() {
            return Err(wrong(line, format!("`{word} {value}` can't be read"), SHAPE));
        }
    }
    if let (Some(spaces), Some(last)) = (panel.spaces, panel.free.as_ref().and_then(|free| free.last()))
        && *last > spaces
    {
        let help = format!("the panel has {spaces} spaces: write the positions that are free in it");
        return Err(wrong(line, format!("position {last} is not in the panel"), help));
    }
    Ok(panel)
}
