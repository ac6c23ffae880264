//! Panels in answers: `panel 200A main 200A spaces 40 in garage`, `existing-panel 200A spaces 40 free 20-24 in garage`,
//! `sub-panel 100A spaces 12 fed 60A in workshop`.

use storystick_engine::problem::Problem;
use storystick_engine::quantity::{self, Dimension, Quantity};

use super::line::{Line, wrong};

/// Which panel an answer is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Which {
    /// A new one, with the service of the dwelling.
    New,
    /// The one that is there.
    Existing,
    /// One that the panel of the dwelling feeds.
    Sub,
}

impl Which {
    /// Returns how such an answer is written.
    fn shape(self) -> &'static str {
        match self {
            Which::New => "write its rating, and what you know of the rest: `panel 200A main 200A spaces 40 in garage`",
            Which::Existing => {
                "write its rating, and what you know of the rest: `existing-panel 200A main 200A spaces 40 free 20-24,30 in garage`; \
                 `free none` where no position is free"
            }
            Which::Sub => {
                "write its rating, the breaker that feeds it, and what you know of the rest: `sub-panel 100A spaces 12 fed 60A in workshop`"
            }
        }
    }
}

/// Most spaces that a panel of a dwelling has: a slip of the keyboard is told, not written out.
const MOST: i64 = 120;

/// A panel.
#[derive(Clone, Debug)]
pub(super) struct Panel {
    pub(super) which: Which,
    pub(super) rating: Quantity,
    pub(super) main: Option<Quantity>,
    pub(super) spaces: Option<i64>,
    pub(super) free: Option<Vec<i64>>,
    /// Rating of the breaker that feeds a sub-panel.
    pub(super) fed: Option<Quantity>,
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

/// Reads a panel.
///
/// # Errors
/// What is wrong with the answer.
pub(super) fn panel(line: &Line<'_>, which: Which) -> Result<Panel, Box<Problem>> {
    let shape = which.shape();
    let mut parts = line.rest.split_whitespace();
    let first = parts.next().unwrap_or_default();
    let Some(rating) = current(first) else {
        return Err(wrong(line, format!("`{first}` is no rating of a panel"), shape));
    };
    let mut panel = Panel { which, rating, main: None, spaces: None, free: None, fed: None, room: None };
    while let Some(word) = parts.next() {
        let value = parts.next().unwrap_or_default();
        let read = match word {
            "main" => current(value).map(|main| panel.main = Some(main)),
            "spaces" => {
                value.parse().ok().filter(|count| (1..=MOST).contains(count)).map(|count| panel.spaces = Some(count))
            }
            "fed" if which == Which::Sub => current(value).map(|fed| panel.fed = Some(fed)),
            "free" if which == Which::Existing => positions(value).map(|free| panel.free = Some(free)),
            "in" => (!value.is_empty()).then(|| panel.room = Some(value.to_owned())),
            _ => return Err(wrong(line, format!("`{word}` does not belong to a panel"), shape)),
        };
        if read.is_none() {
            return Err(wrong(line, format!("`{word} {value}` can't be read"), shape));
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
