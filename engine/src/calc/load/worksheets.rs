//! The load worksheet of a job: both methods, the neutral, and the service that they ask for.

use super::super::derive::Ctx;
use super::super::given::{Gap, Traced};
use super::super::worksheet::{Line, Sheet};
use super::installed::rating;
use super::{
    Installed, KnownDwelling, Method, installed, known_dwelling, load_voltage, neutral_load, optional_load,
    service_conductor, service_for, standard_load,
};
use crate::model::kinds::site;
use crate::model::{FieldId, ItemIndex};
use crate::problem::Problem;
use crate::quantity::Quantity;

/// One part of the load worksheet of a dwelling.
#[derive(Clone, Debug)]
pub struct LoadSheet {
    /// What it gives.
    pub title: &'static str,
    /// In a sentence.
    pub about: &'static str,
    /// The figure; none while nothing can be computed. With something in `missing` it is the least that it can be.
    pub value: Option<Quantity>,
    /// What the service needs beside what is installed: of the service alone.
    pub installed: Option<Installed>,
    /// Its lines.
    pub lines: Vec<Line>,
    /// Fields that would decide it, or make it final.
    pub missing: Vec<(ItemIndex, FieldId)>,
    /// Why it can't be computed.
    pub fault: Option<Problem>,
}

/// A figure and the fields that would make it final.
type Figure = (Quantity, Vec<(ItemIndex, FieldId)>);

impl LoadSheet {
    fn of(
        title: &'static str,
        about: &'static str,
        compute: impl FnOnce(&mut Sheet) -> Result<Figure, Gap>,
    ) -> LoadSheet {
        let mut sheet = Sheet::new();
        let (value, missing, fault) = match compute(&mut sheet) {
            Ok((value, missing)) => (Some(value), missing, None),
            Err(Gap::Missing(fields)) => (None, fields, None),
            Err(Gap::Fault(problem)) => (None, Vec::new(), Some(*problem)),
        };
        LoadSheet { title, about, value, installed: None, lines: sheet.into_lines(), missing, fault }
    }

    /// Returns whether the figure is the least that it can be, since something of it is not recorded.
    pub fn is_at_least(&self) -> bool {
        self.value.is_some() && !self.missing.is_empty()
    }
}

/// Returns the load worksheet of a job: standard method, optional method, neutral, service rating, and the conductors of the
/// service in the material that the job names, or in both.
pub fn load_worksheets(ctx: &Ctx<'_>) -> Vec<LoadSheet> {
    let code = ctx.book;
    let mut sheets = vec![
        LoadSheet::of("standard method", "calculated load of the dwelling, heading by heading", |sheet| {
            let known = known_dwelling(ctx, sheet)?;
            Ok((standard_load(&known.dwelling, code, sheet)?.total, known.missing(Method::Standard)))
        }),
        LoadSheet::of("optional method", "calculated load of the dwelling, all general loads together", |sheet| {
            let known = known_dwelling(ctx, sheet)?;
            Ok((optional_load(&known.dwelling, code, sheet)?.total, known.missing(Method::Optional)))
        }),
        LoadSheet::of("neutral", "greatest load of the neutral, by the standard method", |sheet| {
            let known = known_dwelling(ctx, &mut Sheet::none())?;
            let current = neutral_load(&known.dwelling, load_voltage(ctx)?, code, sheet)?.current;
            Ok((current, known.missing(Method::Standard)))
        }),
        service_sheet(ctx),
    ];
    for (material, title) in [("copper", "copper service conductors"), ("aluminum", "aluminum service conductors")] {
        let named = ctx.site().and_then(|item| ctx.job.text(item, site::SERVICE_MATERIAL));
        if named.is_none_or(|named| named == material) {
            sheets.push(LoadSheet::of(title, "size of each ungrounded conductor of that service", |sheet| {
                let (rating, missing) = match rating(ctx) {
                    Some(recorded) => (recorded, Vec::new()),
                    None => {
                        let needed = needed(ctx, &mut Sheet::none())?;
                        (Traced { quantity: needed.rating, span: needed.voltage.span }, needed.missing)
                    }
                };
                Ok((service_conductor(rating, material, code, sheet)?.0, missing))
            }));
        }
    }
    sheets
}

fn service_sheet(ctx: &Ctx<'_>) -> LoadSheet {
    let mut beside = None;
    let mut sheet = LoadSheet::of("service", "smallest standard rating for the smaller of both loads", |sheet| {
        let needed = needed(ctx, sheet)?;
        beside = Some(installed(ctx, needed.rating, needed.current, !needed.missing.is_empty())?);
        Ok((needed.rating, needed.missing))
    });
    sheet.installed = beside;
    sheet
}

/// What the load of a job needs of its service.
struct Needed {
    /// Smallest standard rating.
    rating: Quantity,
    /// Current of the load.
    current: Quantity,
    voltage: Traced,
    missing: Vec<(ItemIndex, FieldId)>,
}

/// Returns what the smaller of both loads needs. Where the smaller one is not wholly recorded, neither is what it needs.
fn needed(ctx: &Ctx<'_>, sheet: &mut Sheet) -> Result<Needed, Gap> {
    let none = &mut Sheet::none();
    let known: KnownDwelling = known_dwelling(ctx, none)?;
    let standard = standard_load(&known.dwelling, ctx.book, none)?.total;
    let optional = optional_load(&known.dwelling, ctx.book, none)?.total;
    let (load, method) =
        if optional.amount() < standard.amount() { (optional, Method::Optional) } else { (standard, Method::Standard) };
    let missing = known.missing(method);
    let voltage = load_voltage(ctx)?;
    sheet.line(|| {
        let at_least = if missing.is_empty() { "" } else { ", at least" };
        Line::new(format!("the smaller of both calculated loads{at_least}")).total(load)
    });
    let service = service_for(load, voltage, ctx.book, sheet)?;
    Ok(Needed { rating: service.rating, current: service.current.counted, voltage, missing })
}
