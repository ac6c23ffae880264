//! What a report is made from.

use jiff::civil::Date;

use super::code::{Code, Compiled};
use super::options::Options;
use super::settle::{Answers, Permissions};
use crate::facts::Facts;
use crate::model::Job;
use crate::source::Span;

/// What a report is made from.
pub(super) struct Scene<'a> {
    pub(super) job: &'a Job,
    pub(super) facts: &'a Facts<'a>,
    pub(super) code: &'a Code,
    /// The rules that were to run.
    pub(super) playing: &'a [(usize, &'a Compiled)],
    pub(super) permit_date: Date,
    pub(super) file: &'a str,
    /// Where the job names its shop.
    pub(super) shop: Span,
    pub(super) options: &'a Options,
    pub(super) permissions: &'a Permissions,
    pub(super) answers: &'a Answers,
}
