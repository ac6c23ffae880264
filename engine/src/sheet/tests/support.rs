//! Jobs under the shipped rulesets, opened and inspected.

use jiff::civil::date;

use crate::book::RulesetText;
use crate::inspection::{Inspected, Inspector, JobText, Options};
use crate::sheet::Desk;

pub(super) struct Opened {
    inspector: Inspector,
    inspected: Inspected,
}

impl Opened {
    pub(super) fn new(text: &str) -> Opened {
        let rulesets =
            storystick_rulesets::FILES.iter().map(|&(path, text)| RulesetText::shipped(path, text)).collect();
        let mut inspector = Inspector::new(rulesets);
        let mut options = Options::on(date(2023, 8, 1));
        options.met = true;
        let text = JobText { name: String::from("job.toml"), text: text.into() };
        let prepared = inspector.prepare(text, &options).unwrap_or_else(|failure| panic!("{:?}", failure.problems));
        let inspected =
            inspector.inspect(&prepared, &options).unwrap_or_else(|failure| panic!("{:?}", failure.problems));
        Opened { inspector, inspected }
    }

    pub(super) fn desk(&self) -> Desk<'_> {
        let inspected = &self.inspected;
        Desk::new(&inspected.job, &inspected.code.book, &inspected.report, self.inspector.library())
    }
}

/// The head of a job in Harlow County, with the shop's book or without.
pub(super) fn site(shop: bool) -> String {
    let shop = if shop { "shop = \"shop/three-gable\"\n" } else { "" };
    format!(
        "format = 1\n[site]\npermit_date = 2023-05-10\njurisdiction = \"demo/harlow-county\"\nstage = \"layout\"\n{shop}"
    )
}
