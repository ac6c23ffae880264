//! What is asked of the shelf: the code in force at a place on a day.

use jiff::civil::Date;

use crate::source::Span;

/// The place, the dates and the choices that decide which code is in force.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ask {
    /// Ruleset of the place.
    pub jurisdiction: String,
    /// Day of the permit.
    pub permit_date: Date,
    /// Day the permit was applied for.
    pub application_date: Option<Date>,
    /// Day the permit was bought.
    pub purchase_date: Option<Date>,
    /// Day the home was made.
    pub manufacture_date: Option<Date>,
    /// The edition chosen, where the place leaves a choice.
    pub edition: Option<String>,
    /// Ruleset of the shop.
    pub shop: Option<String>,
    /// Whether accessibility requirements apply.
    pub accessible: bool,
    /// Kind of dwelling, a word of the site's field `dwelling`; none for the job format's default.
    pub dwelling: Option<String>,
    /// Whether an accessibility or shop ruleset may stand alone in the place's stead, as in its own trials.
    /// What it amends of the code below it is then left aside.
    pub alone: bool,
    /// Where the above was written, for messages.
    pub at: AskSpans,
}

/// Where the values of an [`Ask`] were written; [`Span::NONE`] for one that stands in no file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct AskSpans {
    /// The site's header.
    pub site: Span,
    /// The place.
    pub jurisdiction: Span,
    /// Day of the permit.
    pub permit_date: Span,
    /// Day of application.
    pub application_date: Span,
    /// Day of purchase.
    pub purchase_date: Span,
    /// Day of manufacture.
    pub manufacture_date: Span,
    /// The chosen edition.
    pub edition: Span,
    /// The shop.
    pub shop: Span,
    /// Whether accessibility requirements apply.
    pub accessible: Span,
}

impl Ask {
    /// Asks for the code of a place on a day, whatever date the place counts.
    pub fn on(jurisdiction: impl Into<String>, day: Date) -> Ask {
        Ask {
            jurisdiction: jurisdiction.into(),
            permit_date: day,
            application_date: Some(day),
            purchase_date: Some(day),
            manufacture_date: Some(day),
            edition: None,
            shop: None,
            accessible: false,
            dwelling: None,
            alone: false,
            at: AskSpans::default(),
        }
    }

    /// Returns a date of the job, if it is recorded.
    pub(super) fn date(&self, kind: DateKind) -> Option<Date> {
        match kind {
            DateKind::Permit => Some(self.permit_date),
            DateKind::Application => self.application_date,
            DateKind::Purchase => self.purchase_date,
            DateKind::Manufacture => self.manufacture_date,
        }
    }

    /// Returns where a date is written, or the best place to point at instead.
    pub(super) fn date_span(&self, kind: DateKind) -> Span {
        let own = match kind {
            DateKind::Permit => self.at.permit_date,
            DateKind::Application => self.at.application_date,
            DateKind::Purchase => self.at.purchase_date,
            DateKind::Manufacture => self.at.manufacture_date,
        };
        [own, self.at.permit_date, self.at.site].into_iter().find(|span| span.is_some()).unwrap_or(Span::NONE)
    }
}

/// A date of the job that a place may count.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum DateKind {
    /// Day of the permit.
    Permit,
    /// Day the permit was applied for.
    Application,
    /// Day the permit was bought.
    Purchase,
    /// Day the home was made.
    Manufacture,
}

impl DateKind {
    /// All dates with their words, which are the names of the site's fields.
    pub const ALL: [(DateKind, &'static str); 4] = [
        (DateKind::Permit, "permit_date"),
        (DateKind::Application, "application_date"),
        (DateKind::Purchase, "purchase_date"),
        (DateKind::Manufacture, "manufacture_date"),
    ];

    /// Returns the name of the site's field.
    pub fn word(self) -> &'static str {
        match self {
            DateKind::Permit => "permit_date",
            DateKind::Application => "application_date",
            DateKind::Purchase => "purchase_date",
            DateKind::Manufacture => "manufacture_date",
        }
    }

    /// Returns the date of a word.
    pub fn of(word: &str) -> Option<DateKind> {
        DateKind::ALL.iter().find(|(_, name)| *name == word).map(|&(kind, _)| kind)
    }

    /// Returns what people call it: `permit date`.
    pub fn name(self) -> &'static str {
        match self {
            DateKind::Permit => "permit date",
            DateKind::Application => "application date",
            DateKind::Purchase => "purchase date",
            DateKind::Manufacture => "manufacture date",
        }
    }
}
