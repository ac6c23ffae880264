//! What a service needs beside what is installed.

use super::super::derive::Ctx;
use super::super::given::Traced;
use super::super::shown;
use crate::model::kinds::{panel, site};
use crate::problem::Problem;
use crate::quantity::{Dimension, Quantity};

/// What the load needs, and what there is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Installed {
    /// The smallest standard rating that serves the load.
    pub needs: Quantity,
    /// Whether the load is not wholly recorded, so that it may need more.
    pub at_least: bool,
    /// The rating of the service, where it is recorded.
    pub rating: Option<Quantity>,
    /// Whether that is enough; none where nobody can tell yet.
    pub enough: Option<bool>,
}

impl Installed {
    /// Returns it in a sentence: `needs 175 A; 200 A installed: enough`.
    pub fn sentence(&self) -> String {
        let needs = if self.at_least { "needs at least" } else { "needs" };
        let installed = match (self.rating, self.enough) {
            (None, _) => String::from("rating of the service not recorded"),
            (Some(rating), Some(true)) => format!("{} installed: enough", shown(rating)),
            (Some(rating), Some(false)) => format!("{} installed: too small", shown(rating)),
            (Some(rating), None) => format!("{} installed: open until every load is recorded", shown(rating)),
        };
        format!("{needs} {}; {installed}", shown(self.needs))
    }
}

/// Returns what a load needs beside what a job has installed.
///
/// `needs` is the smallest standard rating, `current` what the load draws, `at_least` whether it may be more.
///
/// # Errors
/// When the code lacks the least rating of a service.
pub fn installed(ctx: &Ctx<'_>, needs: Quantity, current: Quantity, at_least: bool) -> Result<Installed, Problem> {
    let least = ctx.book.quantity("service.smallest", Dimension::Current)?;
    let rating = rating(ctx).map(|rating| rating.quantity);
    let enough = rating.and_then(|rating| match rating.amount() >= current.amount().max(least.amount()) {
        true if at_least => None,
        covered => Some(covered),
    });
    Ok(Installed { needs, at_least, rating, enough })
}

/// Returns the rating of the service: as written for the site, or the main breaker of the one panel that no other feeds.
pub(super) fn rating(ctx: &Ctx<'_>) -> Option<Traced> {
    let site = ctx.site()?;
    if let Some(written) = ctx.given(site, site::SERVICE_RATING) {
        return Some(written);
    }
    let mut first = ctx.job.links(site, site::PANELS).filter(|it| ctx.job.link(*it, panel::FED_BY).is_none());
    let own = first.next()?;
    if first.next().is_some() {
        return None;
    }
    ctx.given(own, panel::MAIN)
}
