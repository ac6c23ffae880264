//! Heating and cooling: the larger of what does not run at the same time.

use super::super::worksheet::{Line, Sheet};
use super::super::{Code, Known};
use super::{Apparatus, at_least, by, power, sum};
use crate::problem::Problem;
use crate::quantity::Dimension;

/// Heating and cooling equipment of a dwelling.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Climate {
    /// Air conditioners.
    pub cooling: Vec<Apparatus>,
    /// Compressors of heat pumps: they heat and cool.
    pub heat_pumps: Vec<Apparatus>,
    /// Electric heat that can run together with a heat pump.
    pub supplement: Vec<Apparatus>,
    /// Central electric heat.
    pub central: Vec<Apparatus>,
    /// Electric heaters with controls of their own.
    pub units: Vec<Apparatus>,
    /// Fans and the like that run with heating and with cooling.
    pub with_both: Vec<Apparatus>,
}

impl Climate {
    /// Returns what runs when it is cold.
    pub fn winter(&self) -> impl Iterator<Item = &Apparatus> {
        [&self.heat_pumps, &self.supplement, &self.central, &self.units, &self.with_both].into_iter().flatten()
    }

    /// Returns what runs when it is hot.
    pub fn summer(&self) -> impl Iterator<Item = &Apparatus> {
        [&self.cooling, &self.heat_pumps, &self.with_both].into_iter().flatten()
    }
}

/// Which season was the larger.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Season {
    Winter,
    Summer,
}

/// Returns the load of heating or cooling by the standard method: the larger of the two \[µW\].
///
/// # Errors
/// When a load is negative or too large.
pub fn standard_climate(climate: &Climate, code: &dyn Code, sheet: &mut Sheet) -> Result<i64, Problem> {
    season(climate, code, sheet).map(|(load, _)| load)
}

pub(super) fn season(climate: &Climate, code: &dyn Code, sheet: &mut Sheet) -> Result<(i64, Season), Problem> {
    let factor = code.quantity("load.heating_factor", Dimension::Ratio)?;
    let heating: Vec<Apparatus> =
        [&climate.supplement, &climate.central, &climate.units].into_iter().flatten().cloned().collect();
    let running: Vec<Apparatus> = climate.heat_pumps.iter().chain(&climate.with_both).cloned().collect();
    let winter = by(sum(&heating)?, factor.amount(), factor.span)?.saturating_add(sum(&running)?);
    let summer: Vec<Apparatus> = climate.summer().cloned().collect();
    let summer = sum(&summer)?;
    if winter == 0 && summer == 0 {
        return Ok((0, Season::Winter));
    }
    let (load, season) = if winter >= summer { (winter, Season::Winter) } else { (summer, Season::Summer) };
    let spans = || climate.winter().chain(climate.summer()).map(|one| one.load.span);
    sheet.line(|| Line::new("heating, with what runs beside it").total(power(winter)));
    sheet.line(|| Line::new("cooling, with what runs beside it").total(power(summer)));
    sheet.line(|| Line::new("the larger of heating and cooling").total(power(load)).by(factor).all(spans()));
    Ok((load, season))
}

/// Returns the load of heating or cooling by the optional method: the largest of its cases \[µW\].
///
/// # Errors
/// When the code lacks an entry, or a load is negative or too large.
pub fn optional_climate(climate: &Climate, code: &dyn Code, sheet: &mut Sheet) -> Result<i64, Problem> {
    let factor = |key: &str| code.quantity(key, Dimension::Ratio);
    let beside = sum(&climate.with_both)?;
    let many_from = code.quantity("load.optional_units_many_from", Dimension::Number)?;
    let many = at_least(climate.units.len(), many_from.amount());
    let unit_key = if many { "load.optional_units_many" } else { "load.optional_units_few" };
    let cooling = part(&climate.cooling, factor("load.optional_cooling")?)?;
    let heat_pump = part(&climate.heat_pumps, factor("load.optional_heat_pump")?)?;
    let supplement = part(&climate.supplement, factor("load.optional_supplement")?)?;
    let central = part(&climate.central, factor("load.optional_central")?)?;
    let units = part(&climate.units, factor(unit_key)?)?;
    let cases = [("cooling", vec![cooling, heat_pump]), ("heating", vec![heat_pump, supplement, central, units])];
    let mut best: Option<(i64, &str)> = None;
    for (name, parts) in cases {
        let load = parts.iter().map(|part| part.load).sum::<i64>();
        if load == 0 {
            continue;
        }
        let load = load.saturating_add(beside);
        sheet.line(|| {
            let parts = parts.iter().filter(|part| part.load > 0);
            parts.fold(Line::new(format!("{name}, each part by its factor")).total(power(load)), |line, part| {
                line.by(part.factor)
            })
        });
        if best.is_none_or(|(most, _)| load > most) {
            best = Some((load, name));
        }
    }
    let Some((load, name)) = best else { return Ok(beside) };
    sheet.line(|| Line::new(format!("the larger: {name}")).total(power(load)));
    Ok(load)
}

#[derive(Clone, Copy)]
struct Part<'c> {
    load: i64,
    factor: Known<'c>,
}

fn part<'c>(apparatus: &[Apparatus], factor: Known<'c>) -> Result<Part<'c>, Problem> {
    Ok(Part { load: by(sum(apparatus)?, factor.amount(), factor.span)?, factor })
}
