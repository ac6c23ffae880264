//! The dwelling of a job as far as loads go.

use super::super::derive::Ctx;
use super::super::given::{Gap, Traced};
use super::super::worksheet::Sheet;
use super::apparatus::{Heading, apparatus, heading, on_own_circuit};
use super::area::area_of_dwelling;
use super::{Dwelling, Method, optional_load, standard_load};
use crate::model::kinds::{appliance, circuit, site};
use crate::model::{FieldId, ItemIndex};
use crate::quantity::{Dimension, Quantity};

/// What a job says is connected in its dwelling, as far as it is recorded.
#[derive(Clone, Debug)]
pub struct KnownDwelling {
    /// The dwelling; what is not recorded stands in it with the least that the code lets it be.
    pub dwelling: Dwelling,
    missing: Vec<(ItemIndex, FieldId)>,
    /// What the optional method lacks besides.
    of_optional: Vec<(ItemIndex, FieldId)>,
}

impl KnownDwelling {
    /// Returns the fields that would make a figure of a method final; none where it is.
    pub fn missing(&self, method: Method) -> Vec<(ItemIndex, FieldId)> {
        let more: &[_] = if method == Method::Optional { &self.of_optional } else { &[] };
        self.missing.iter().chain(more).copied().collect()
    }

    fn open(&mut self, gap: Gap, method: Method) -> Result<(), Gap> {
        let fields = match method {
            Method::Standard => &mut self.missing,
            Method::Optional => &mut self.of_optional,
        };
        match gap {
            Gap::Missing(gap) => {
                for field in gap {
                    if !fields.contains(&field) {
                        fields.push(field);
                    }
                }
                Ok(())
            }
            fault @ Gap::Fault(_) => Err(fault),
        }
    }
}

/// Returns what a job says is connected in its dwelling, with nothing lacking that a method reads.
///
/// # Errors
/// The fields to record: floor area, loads of appliances, whether an appliance is fastened in place where its kind does not tell.
pub fn dwelling_of_job(ctx: &Ctx<'_>, method: Method) -> Result<Dwelling, Gap> {
    let known = known_dwelling(ctx, &mut Sheet::none())?;
    let missing = known.missing(method);
    if missing.is_empty() { Ok(known.dwelling) } else { Err(Gap::Missing(missing)) }
}

/// Returns what a job says is connected in its dwelling as far as it is recorded, with the lines of its floor area.
///
/// # Errors
/// Where nothing tells the floor area: it, and all else that is missing. A value of the job that is at fault.
pub fn known_dwelling(ctx: &Ctx<'_>, sheet: &mut Sheet) -> Result<KnownDwelling, Gap> {
    let site = ctx.site().ok_or_else(|| Gap::Missing(Vec::new()))?;
    let (area, no_area) = match area_of_dwelling(ctx, site, sheet) {
        Ok(known) => (Some(known), Vec::new()),
        Err(Gap::Missing(fields)) => (None, fields),
        Err(fault) => return Err(fault),
    };
    let nothing = Traced::new(Dimension::Area, 0, ctx.job.item(site).header);
    let mut known = KnownDwelling {
        dwelling: Dwelling::of(area.as_ref().map_or(nothing, |known| known.area)),
        missing: no_area.clone(),
        of_optional: Vec::new(),
    };
    if let Some(gap) = area.and_then(|known| known.gap) {
        known.open(gap, Method::Standard)?;
    }
    known.dwelling.small_appliance = circuits(ctx, site, "small_appliance");
    known.dwelling.laundry = circuits(ctx, site, "laundry");
    for item in ctx.job.links(site, site::APPLIANCES) {
        file(ctx, item, &mut known)?;
    }
    if !no_area.is_empty() {
        return Err(Gap::Missing(known.missing));
    }
    let climate = &mut known.dwelling.climate;
    if !climate.heat_pumps.is_empty() {
        // Electric heat beside a heat pump runs together with it.
        let heaters = std::mem::take(&mut climate.units);
        climate.supplement.extend(heaters);
    }
    Ok(known)
}

fn circuits(ctx: &Ctx<'_>, site: ItemIndex, serves: &str) -> i64 {
    ctx.job.links(site, site::CIRCUITS).filter(|it| ctx.job.text(*it, circuit::SERVES) == Some(serves)).count() as i64
}

/// Files an appliance under its heading.
fn file(ctx: &Ctx<'_>, item: ItemIndex, known: &mut KnownDwelling) -> Result<(), Gap> {
    let heading = match heading(ctx, item) {
        Ok(heading) => heading,
        Err(gap) => {
            // Covered or fastened: one more appliance of which nothing counts yet.
            known.open(gap, Method::Standard)?;
            Heading::Fastened
        }
    };
    if matches!(heading, Heading::Covered) {
        return match on_own_circuit(ctx, item) {
            Ok(true) => {
                let (one, gap) = apparatus(ctx, item)?;
                known.dwelling.own_circuit.push(one);
                gap.map_or(Ok(()), |gap| known.open(gap, Method::Optional))
            }
            Ok(false) => Ok(()),
            Err(gap) => known.open(gap, Method::Optional),
        };
    }
    let (mut one, gap) = apparatus(ctx, item)?;
    if let Some(gap) = gap {
        known.open(gap, Method::Standard)?;
    }
    if known.missing.contains(&(item, appliance::FASTENED)) {
        one = one.unsettled();
    }
    let dwelling = &mut known.dwelling;
    let climate = &mut dwelling.climate;
    let list = match heading {
        Heading::Covered => &mut dwelling.own_circuit,
        Heading::Cooking => &mut dwelling.cooking,
        Heading::Dryer => &mut dwelling.dryers,
        Heading::Fastened => &mut dwelling.fastened,
        Heading::Charger => &mut dwelling.chargers,
        Heading::Cooling => &mut climate.cooling,
        Heading::HeatPump => &mut climate.heat_pumps,
        Heading::Heater => &mut climate.units,
        Heading::Central => &mut climate.central,
        Heading::WithBoth => &mut climate.with_both,
    };
    list.push(one);
    Ok(())
}

/// Returns the voltage that a calculated load is divided by: between the lines of the service, as written for the site, or the one
/// voltage of its two-pole circuits.
///
/// # Errors
/// The field of the site, when nothing tells it.
pub fn load_voltage(ctx: &Ctx<'_>) -> Result<Traced, Gap> {
    let site = ctx.site().ok_or_else(|| Gap::Missing(Vec::new()))?;
    if let Some(written) = ctx.given(site, site::LINE_TO_LINE) {
        return Ok(written);
    }
    let asked = || Gap::field(site, site::LINE_TO_LINE);
    let Some(from) = ctx.book.quantity_if("circuit.two_pole_from", Dimension::Voltage)? else { return Err(asked()) };
    let circuits = ctx.job.links(site, site::CIRCUITS).filter_map(|it| ctx.given(it, circuit::VOLTAGE));
    let mut between_lines = circuits.filter(|voltage| voltage.amount() >= from.amount());
    let first = between_lines.next().ok_or_else(asked)?;
    if between_lines.all(|voltage| voltage.amount() == first.amount()) { Ok(first) } else { Err(asked()) }
}

/// Returns the current that the service has to carry: of the smaller of both methods, as far as they are known. Where the optional
/// method lacks something, the standard one decides alone if the service covers it: the code lets either be taken.
///
/// # Errors
/// The fields to record, or a load that is at fault.
pub fn service_load(ctx: &Ctx<'_>, sheet: &mut Sheet) -> Result<(Quantity, Traced), Gap> {
    let known = known_dwelling(ctx, &mut Sheet::none())?;
    let missing = known.missing(Method::Standard);
    if !missing.is_empty() {
        return Err(Gap::Missing(known.missing(Method::Optional)));
    }
    let voltage = load_voltage(ctx)?;
    let code = ctx.book;
    let lacking = known.missing(Method::Optional);
    let standard = standard_load(&known.dwelling, code, sheet)?.total;
    let optional = optional_load(&known.dwelling, code, &mut Sheet::none())?.total;
    if optional.amount() >= standard.amount() {
        return Ok((standard, voltage));
    }
    if lacking.is_empty() {
        optional_load(&known.dwelling, code, sheet)?;
        return Ok((optional, voltage));
    }
    let current = super::amperes(standard, voltage, code)?.counted;
    match super::installed::rating(ctx) {
        Some(rating) if rating.amount() >= current.amount() => Ok((standard, voltage)),
        _ => Err(Gap::Missing(lacking)),
    }
}
