//! The facts of the site that decide which code is in force.

use jiff::civil::Date;
use toml::de::DeValue;

use super::document::{At, Part, Parts};
use super::format;
use super::limits::{Least, Limit};
use super::noted::Form;
use super::value;
use crate::problem::{Problem, Topic};
use crate::quantity::Dimension;
use crate::source::Span;

/// A value and where it was written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Told<T> {
    /// The value.
    pub value: T,
    /// Where; [`Span::DEFAULT`] for a value that the job format supplies.
    pub span: Span,
}

/// What a job says about its place: enough to find the code in force.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SiteFacts {
    /// Ruleset of the place.
    pub jurisdiction: Told<String>,
    /// Day of the permit.
    pub permit_date: Told<Date>,
    /// Day the permit was applied for.
    pub application_date: Option<Told<Date>>,
    /// Day the permit was bought.
    pub purchase_date: Option<Told<Date>>,
    /// Day a manufactured home was made.
    pub manufacture_date: Option<Told<Date>>,
    /// Ruleset of the edition, where the place leaves a choice.
    pub edition: Option<Told<String>>,
    /// Ruleset of the shop.
    pub shop: Option<Told<String>>,
    /// Whether accessibility requirements apply.
    pub accessible: Told<bool>,
    /// Kind of dwelling, for adoptions that hold for some kinds alone.
    pub dwelling: Option<Told<String>>,
}

/// Reads the facts of the site and nothing else, from the same parts as a later [`load`](super::load).
///
/// Where they don't come back, a load (without a shop's defaults) tells of the same problems and of all others.
pub fn peek(parts: &[Part<'_>]) -> (Option<SiteFacts>, Vec<Problem>) {
    let mut problems: Vec<Problem> = parts.iter().flat_map(|part| part.faults).cloned().collect();
    if let Err(format::Trouble::Unknown(problem)) = format::check(parts, false) {
        problems.push(problem);
        return (None, problems);
    }
    let mut site = Parts::default();
    for part in parts {
        if let Some(value) = part.table.get("site")
            && let DeValue::Table(table) = value.get_ref()
        {
            site.push(part.inside(table, part.at(value).span()));
        }
    }
    let mut reader = Reader { header: Span::NONE, site: &site, problems };
    reader.header = site.iter().next().or(parts.last().copied()).map_or(Span::NONE, |part| part.header);
    let jurisdiction = reader.required("jurisdiction", Reader::filled);
    let permit_date = reader.required("permit_date", Reader::date);
    let application_date = reader.date("application_date");
    let purchase_date = reader.date("purchase_date");
    let manufacture_date = reader.date("manufacture_date");
    let edition = reader.text("edition");
    let shop = reader.text("shop");
    let accessible = reader.read("accessible", |name, at| value::flag(name, at, Form::Plain));
    let accessible = accessible.unwrap_or(Told { value: false, span: Span::DEFAULT });
    let dwelling = reader.text("dwelling");
    let facts = jurisdiction.zip(permit_date).map(|(jurisdiction, permit_date)| SiteFacts {
        jurisdiction,
        permit_date,
        application_date,
        purchase_date,
        manufacture_date,
        edition,
        shop,
        accessible,
        dwelling,
    });
    let Reader { problems, .. } = reader;
    (facts, problems)
}

struct Reader<'p, 'a> {
    header: Span,
    site: &'p Parts<'a>,
    problems: Vec<Problem>,
}

impl<'a> Reader<'_, 'a> {
    fn read<T>(&mut self, name: &str, read: impl FnOnce(&str, At<'a>) -> Result<T, Problem>) -> Option<Told<T>> {
        let at = self.site.get(name)?;
        match read(name, at) {
            Ok(value) => Some(Told { value, span: at.span() }),
            Err(problem) => {
                self.problems.push(problem);
                None
            }
        }
    }

    fn text(&mut self, name: &str) -> Option<Told<String>> {
        self.read(name, |name, at| value::text(name, at).map(str::to_owned))
    }

    fn filled(&mut self, name: &str) -> Option<Told<String>> {
        self.read(name, |name, at| value::filled_text(name, at).map(str::to_owned))
    }

    fn date(&mut self, name: &str) -> Option<Told<Date>> {
        let limit = Limit { least: Least::Any, whole: false };
        let told = self.read(name, |name, at| value::amount(name, Dimension::Date, limit, at, Form::Plain))?;
        told.value.to_date().map(|value| Told { value, span: told.span })
    }

    fn required<T>(&mut self, name: &str, read: impl FnOnce(&mut Self, &str) -> Option<Told<T>>) -> Option<Told<T>> {
        if self.site.get(name).is_none() {
            let problem = Problem::new(self.header, format!("the site has no `{name}`")).label(format!("no `{name}`"));
            let problem = problem.about(Topic::JobHead);
            self.problems.push(problem.help(format!("add `{name}` under `[site]`")));
        }
        read(self, name)
    }
}
