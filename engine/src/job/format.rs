//! The number of the job-file format.

use toml::de::DeValue;

use super::document::{At, Part};
use crate::problem::{Problem, Topic};

/// The oldest format that this version reads, as `format = 1` states it at the top of a job file.
pub const FORMAT: i64 = 1;

/// The newest one. It has the words of the format alone where the first also takes those of the trade; both are read alike.
pub const NEWEST_FORMAT: i64 = 2;

/// What an error says of the formats that are read.
const READS: &str = "this version reads formats 1 and 2";

/// What is wrong with the format number.
#[derive(Debug)]
pub(super) enum Trouble {
    /// There is none, or it is no number: the rest can be read all the same.
    Unstated(Problem),
    /// It is another format, whose keys may mean something else.
    Unknown(Problem),
}

/// Checks the format number. `due` is whether there must be one.
pub(super) fn check(parts: &[Part<'_>], due: bool) -> Result<(), Trouble> {
    let stated: Vec<At<'_>> =
        parts.iter().filter_map(|part| part.table.get("format").map(|value| part.at(value))).collect();
    for at in &stated {
        let DeValue::Integer(number) = at.value.get_ref() else {
            let problem = Problem::new(at.span(), format!("`format` wants a whole number, not {}", at.what()));
            return Err(Trouble::Unstated(problem.label(at.what()).help(format!("write `format = {NEWEST_FORMAT}`"))));
        };
        let stated = i64::from_str_radix(number.as_str(), number.radix());
        if !stated.is_ok_and(|stated| (FORMAT..=NEWEST_FORMAT).contains(&stated)) {
            let problem = Problem::new(at.span(), format!("job files of format {} are not known", at.raw()));
            let help = format!("{READS}; a newer version may read this file");
            return Err(Trouble::Unknown(problem.label("unknown format").help(help)));
        }
    }
    match parts.last() {
        Some(last) if due && stated.is_empty() => {
            let problem = Problem::new(last.header, "the job file does not state its `format`")
                .label("no `format`")
                .about(Topic::JobHead);
            Err(Trouble::Unstated(problem.help(format!("write `format = {NEWEST_FORMAT}` in the first line; {READS}"))))
        }
        _ => Ok(()),
    }
}
