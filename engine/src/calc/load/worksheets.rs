//! The load worksheet of a job: both methods, the neutral, and the service that they ask for.

use super::super::derive::Ctx;
use super::super::given::{Gap, Traced};
use super::super::worksheet::{Line, Sheet};
use super::{
    Dwelling, dwelling_of_job, load_voltage, neutral_load, optional_load, service_conductor, service_for, standard_load,
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
    /// The figure; none while something is unrecorded or at fault.
    pub value: Option<Quantity>,
    /// Its lines.
    pub lines: Vec<Line>,
    /// Fields that would decide it.
    pub missing: Vec<(ItemIndex, FieldId)>,
    /// Why it can't be computed.
    pub fault: Option<Problem>,
}

impl LoadSheet {
    fn of(
        title: &'static str,
        about: &'static str,
        compute: impl FnOnce(&mut Sheet) -> Result<Quantity, Gap>,
    ) -> LoadSheet {
        let mut sheet = Sheet::new();
        let (value, missing, fault) = match compute(&mut sheet) {
            Ok(value) => (Some(value), Vec::new(), None),
            Err(Gap::Missing(fields)) => (None, fields, None),
            Err(Gap::Fault(problem)) => (None, Vec::new(), Some(*problem)),
        };
        LoadSheet { title, about, value, lines: sheet.into_lines(), missing, fault }
    }
}

/// Returns the load worksheet of a job: standard method, optional method, neutral, service rating, and the conductors of the
/// service in the material that the job names, or in both.
pub fn load_worksheets(ctx: &Ctx<'_>) -> Vec<LoadSheet> {
    let code = ctx.book;
    let dwelling = || dwelling_of_job(ctx);
    let mut sheets = vec![
        LoadSheet::of("standard method", "calculated load of the dwelling, heading by heading", |sheet| {
            Ok(standard_load(&dwelling()?, code, sheet)?.total)
        }),
        LoadSheet::of("optional method", "calculated load of the dwelling, all general loads together", |sheet| {
            Ok(optional_load(&dwelling()?, code, sheet)?.total)
        }),
        LoadSheet::of("neutral", "greatest load of the neutral, by the standard method", |sheet| {
            Ok(neutral_load(&dwelling()?, load_voltage(ctx)?, code, sheet)?.current)
        }),
        LoadSheet::of("service", "smallest standard rating for the smaller of both loads", |sheet| {
            Ok(service(ctx, &dwelling()?, sheet)?.quantity)
        }),
    ];
    for (material, title) in [("copper", "copper service conductors"), ("aluminum", "aluminum service conductors")] {
        let named = ctx.site().and_then(|item| ctx.job.text(item, site::SERVICE_MATERIAL));
        if named.is_none_or(|named| named == material) {
            sheets.push(LoadSheet::of(title, "size of each ungrounded conductor of that service", |sheet| {
                let rating = match ctx.site().and_then(|item| ctx.given(item, site::SERVICE_RATING)) {
                    Some(written) => written,
                    None => service(ctx, &dwelling()?, &mut Sheet::none())?,
                };
                Ok(service_conductor(rating, material, code, sheet)?.0)
            }));
        }
    }
    sheets
}

/// Returns the rating of the service for the smaller of both loads.
fn service(ctx: &Ctx<'_>, dwelling: &Dwelling, sheet: &mut Sheet) -> Result<Traced, Gap> {
    let voltage = load_voltage(ctx)?;
    let load = super::smaller_method(dwelling, ctx.book, &mut Sheet::none())?;
    sheet.line(|| Line::new("the smaller of both calculated loads").total(load));
    let service = service_for(load, voltage, ctx.book, sheet)?;
    Ok(Traced { quantity: service.rating, span: voltage.span })
}
