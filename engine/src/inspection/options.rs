//! What is wanted of an inspection.

use jiff::civil::Date;

use super::finding::Weight;
use crate::model::Stage;

/// How to inspect.
#[derive(Clone, Debug)]
pub struct Options {
    /// Inspect as at this stage instead of the job's own.
    pub stage: Option<Stage>,
    /// Inspect as if the job stood in this place.
    pub at: Option<String>,
    /// Inspect as if the permit had this date.
    pub permit_date: Option<Date>,
    /// With `permit_date`: whichever date of the job the place counts is that day, and the job's choice of an edition is left aside.
    pub every_date: bool,
    /// The day of the inspection, which decides whether permissions have lapsed.
    pub on: Date,
    /// Only these rules; all where none is named.
    pub rules: Vec<String>,
    /// Only these items; all where none is named.
    pub items: Vec<String>,
    /// Findings of rules that weigh less are left out.
    pub lightest: Weight,
    /// Keep the met checks in the report.
    pub met: bool,
    /// Keep both findings of a pair, each told from its own side. Else the second is left out.
    pub both_ways: bool,
}

impl Options {
    /// Returns the options of a plain inspection on a day.
    pub fn on(day: Date) -> Options {
        Options {
            stage: None,
            at: None,
            permit_date: None,
            every_date: false,
            on: day,
            rules: Vec::new(),
            items: Vec::new(),
            lightest: Weight::Note,
            met: false,
            both_ways: false,
        }
    }
}
