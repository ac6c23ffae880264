//! Demand of household cooking appliances.

use super::super::arith::{ONE, divide, whole};
use super::super::worksheet::{Line, Sheet};
use super::super::{Code, Known, Match, shown};
use super::{Apparatus, by, power, sum};
use crate::problem::Problem;
use crate::quantity::{Dimension, Quantity};

/// Returns the demand of the cooking appliances of a dwelling.
///
/// Large ones go by the column of whole demands, enlarged where they pass its rating. Smaller ones may go by their sum and a
/// factor for their number instead; of the ways allowed, the one that gives least is taken.
///
/// # Errors
/// When the code lacks an entry, an appliance is larger than its tables reach, or there are more than they know.
pub fn cooking_demand(cooking: &[Apparatus], code: &dyn Code, sheet: &mut Sheet) -> Result<i64, Problem> {
    let least = code.quantity("load.cooking_least", Dimension::Power)?;
    let a_below = code.quantity("load.cooking_a_below", Dimension::Power)?;
    let b_to = code.quantity("load.cooking_b_to", Dimension::Power)?;
    let (counted, small): (Vec<&Apparatus>, Vec<&Apparatus>) =
        cooking.iter().partition(|one| one.load.amount() > least.amount());
    // Up to the least rating there is no reduction.
    let small: Vec<Apparatus> = small.into_iter().cloned().collect();
    let plain = sum(&small)?;
    if counted.is_empty() {
        super::list(&small, sheet);
        return Ok(plain);
    }
    let group = |keep: &dyn Fn(i64) -> bool| -> Vec<Apparatus> {
        counted.iter().filter(|one| keep(one.load.amount())).map(|one| (*one).clone()).collect()
    };
    let all = group(&|_| true);
    let a = group(&|load| load < a_below.amount());
    let b = group(&|load| load >= a_below.amount() && load <= b_to.amount());
    let c = group(&|load| load > b_to.amount());
    let mut by_column = Sheet::wanted(sheet.is_wanted());
    let together = column_c(&all, code, &mut by_column)?;
    let mut apart = Sheet::wanted(sheet.is_wanted());
    let by_parts = column_factor(&a, "load.cooking_a", code, &mut apart)?
        + column_factor(&b, "load.cooking_b", code, &mut apart)?
        + column_c(&c, code, &mut apart)?;
    let (demand, lines) = if by_parts < together { (by_parts, apart) } else { (together, by_column) };
    super::list(&small, sheet);
    sheet.append(lines);
    demand.checked_add(plain).ok_or_else(|| super::too_large(least.span))
}

/// By the sum and a factor for the number.
fn column_factor(cooking: &[Apparatus], key: &str, code: &dyn Code, sheet: &mut Sheet) -> Result<i64, Problem> {
    let Some(first) = cooking.first() else { return Ok(0) };
    let sum = sum(cooking)?;
    let factor = row(cooking.len(), key, Dimension::Ratio, first, code)?;
    let demand = by(sum, factor.amount(), first.load.span)?;
    sheet.line(|| {
        let what = format!("{}, sum by the factor for {}", names(cooking), cooking.len());
        Line::new(what)
            .count(factor.quantity)
            .each(power(sum))
            .total(power(demand))
            .by(factor)
            .all(cooking.iter().map(|one| one.load.span))
    });
    Ok(demand)
}

/// By whole demands for the number, enlarged for the part of the rating that passes the column's own.
fn column_c(cooking: &[Apparatus], code: &dyn Code, sheet: &mut Sheet) -> Result<i64, Problem> {
    let Some(first) = cooking.first() else { return Ok(0) };
    let c_to = code.quantity("load.cooking_c_to", Dimension::Power)?;
    let most = code.quantity("load.cooking_most", Dimension::Power)?;
    if let Some(huge) = cooking.iter().find(|one| one.load.amount() > most.amount()) {
        let message =
            format!("the code in force has no demand for a cooking appliance of {}", shown(huge.load.quantity));
        return Err(Problem::new(huge.load.span, message)
            .label("this load")
            .mark(most.span, format!("its table reaches to {}", shown(most.quantity))));
    }
    let base = row(cooking.len(), "load.cooking_c", Dimension::Power, first, code)?;
    let steps = steps_over(cooking, c_to, code)?;
    let factor = code.quantity("load.cooking_step_factor", Dimension::Ratio)?;
    let share = ONE.saturating_add(factor.amount().saturating_mul(steps));
    let demand = by(base.amount(), share, first.load.span)?;
    sheet.line(|| {
        let line = Line::new(format!("{}, by the column for {}", names(cooking), cooking.len()))
            .each(base.quantity)
            .total(power(demand))
            .by(base)
            .all(cooking.iter().map(|one| one.load.span));
        if steps > 0 { line.count(Quantity::new(Dimension::Ratio, share)).at(factor.span) } else { line }
    });
    Ok(demand)
}

/// Returns by how many steps the rating passes the column's own: of a single or equal appliances their rating, of unlike ones
/// their average with none below the column's rating. A major part of a step is a step.
fn steps_over(cooking: &[Apparatus], c_to: Known<'_>, code: &dyn Code) -> Result<i64, Problem> {
    let step = code.quantity("load.cooking_step", Dimension::Power)?;
    let raised = cooking.iter().map(|one| i128::from(one.load.amount().max(c_to.amount()))).sum();
    let average = divide(raised, cooking.len() as i128).unwrap_or(0);
    let over = average.saturating_sub(c_to.amount());
    if step.amount() <= 0 {
        return Err(Problem::new(step.span, "a step must be more than zero").label("this step"));
    }
    Ok(over / step.amount() + i64::from(2 * (over % step.amount()) >= step.amount()))
}

fn row<'c>(
    count: usize,
    key: &str,
    dimension: Dimension,
    first: &Apparatus,
    code: &'c dyn Code,
) -> Result<Known<'c>, Problem> {
    let number = Quantity::new(Dimension::Number, whole(i64::try_from(count).unwrap_or(i64::MAX)));
    code.row_at(key, number, Match::Exact, dimension)?.ok_or_else(|| {
        let message = format!("the code in force has no demand for {count} cooking appliances of this rating");
        Problem::new(first.load.span, message).label("one of them")
    })
}

fn names(cooking: &[Apparatus]) -> String {
    cooking.iter().map(|one| one.name.as_str()).collect::<Vec<_>>().join(", ")
}
