//! Raceway fill: how much of a raceway its conductors take, how much they may, and what fits.

#[cfg(test)]
mod tests;

use super::arith::{ONE, divide, times, whole};
use super::derive::Ctx;
use super::given::{Gap, Gaps, Traced};
use super::worksheet::{Line, Sheet};
use super::{Code, Known, Match, count_of, shown};
use crate::model::ItemIndex;
use crate::model::kinds::{raceway, raceway_conductor};
use crate::problem::Problem;
use crate::quantity::{Dimension, Quantity};

/// Conductors of one size and insulation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Strand<'a> {
    /// Insulation, in the words of the job file; `bare` for none.
    pub insulation: &'a str,
    /// Size ([`Dimension::Conductor`]).
    pub size: Traced,
    /// How many.
    pub count: i64,
}

/// A raceway without its conductors.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Duct<'a> {
    /// Kind, in the words of the job file: `EMT`, `PVC_40`.
    pub method: &'a str,
    /// Trade size.
    pub trade_size: Traced,
    /// Whether it is short enough to be filled further.
    pub nipple: bool,
}

/// How full a raceway is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RacewayFill {
    /// Conductors in it.
    pub count: i64,
    /// Area that they take.
    pub used: Quantity,
    /// Area inside.
    pub inside: Quantity,
    /// Share that they take ([`Dimension::Ratio`]).
    pub share: Quantity,
    /// Share that they may take ([`Dimension::Ratio`]).
    pub allowed: Quantity,
}

impl RacewayFill {
    /// Returns whether they fit.
    pub fn fits(&self) -> bool {
        // By the areas themselves: a share is rounded.
        i128::from(self.used.amount()) * i128::from(ONE)
            <= i128::from(self.inside.amount()) * i128::from(self.allowed.amount())
    }

    /// Returns the area that may still be filled.
    pub fn left(&self) -> Quantity {
        let most = times(self.inside.amount(), self.allowed.amount()).unwrap_or(0);
        Quantity::new(Dimension::Area, most.saturating_sub(self.used.amount()))
    }
}

/// Returns how full a raceway is with these conductors.
///
/// # Errors
/// When the code has no area for the raceway or a conductor, or there is no conductor.
pub fn raceway_fill(
    duct: &Duct<'_>,
    strands: &[Strand<'_>],
    code: &dyn Code,
    sheet: &mut Sheet,
) -> Result<RacewayFill, Problem> {
    let inside = inside(duct, code)?;
    let mut used: i64 = 0;
    let mut count: i64 = 0;
    for strand in strands {
        let each = conductor_area(strand, code)?;
        let area = each.amount().saturating_mul(strand.count);
        used = used.saturating_add(area);
        count = count.saturating_add(strand.count);
        sheet.line(|| {
            Line::new(format!("{} {}", shown(strand.size.quantity), strand.insulation))
                .count(Quantity::number(strand.count))
                .each(each.quantity)
                .total(Quantity::new(Dimension::Area, area))
                .by(each)
                .of(strand.size)
        });
    }
    let allowed = allowed(duct, count, code)?;
    let share = divide(i128::from(used) * i128::from(ONE), i128::from(inside.amount()))
        .ok_or_else(|| Problem::new(inside.span, "a raceway must have some area inside").label("this area"))?;
    let fill = RacewayFill {
        count,
        used: Quantity::new(Dimension::Area, used),
        inside: inside.quantity,
        share: Quantity::new(Dimension::Ratio, share),
        allowed: allowed.quantity,
    };
    sheet.line(|| Line::new("area of all conductors").total(fill.used));
    sheet.line(|| {
        let what = format!("area inside {} {}", duct.method, shown(duct.trade_size.quantity));
        Line::new(what).total(fill.inside).by(inside).of(duct.trade_size)
    });
    sheet.line(|| Line::new("share taken").total(fill.share));
    sheet.line(|| Line::new(format!("share allowed for {count}")).total(fill.allowed).by(allowed));
    Ok(fill)
}

/// Returns how many more conductors of one kind fit beside those already there.
///
/// # Errors
/// When the code has no area for the raceway or a conductor.
pub fn room_for(duct: &Duct<'_>, there: &[Strand<'_>], more: &Strand<'_>, code: &dyn Code) -> Result<i64, Problem> {
    let each = conductor_area(more, code)?;
    if each.amount() <= 0 {
        return Err(Problem::new(each.span, "a conductor must have some area").label("this area"));
    }
    let (mut fits, mut step) = (0_i64, 1_i64 << 20);
    // The share allowed falls and rises with the number, so look at the largest number that fits.
    while step > 0 {
        let tried = fits.saturating_add(step);
        let mut all = there.to_vec();
        all.push(Strand { count: tried, ..*more });
        if raceway_fill(duct, &all, code, &mut Sheet::none())?.fits() {
            fits = tried;
        }
        step /= 2;
    }
    Ok(fits)
}

/// Returns how many conductors of one kind, and nothing else, a raceway holds; a broken number of `raceway.round_up_from` or more
/// counts as a whole one.
///
/// # Errors
/// When the code has no area for the raceway or the conductor.
pub fn most_in_raceway(duct: &Duct<'_>, strand: &Strand<'_>, code: &dyn Code) -> Result<i64, Problem> {
    let fits = room_for(duct, &[], strand, code)?;
    let round_up = code.quantity("raceway.round_up_from", Dimension::Number)?;
    let each = conductor_area(strand, code)?;
    let most = allowed(duct, fits.saturating_add(1), code)?;
    let room = i128::from(inside(duct, code)?.amount()) * i128::from(most.amount()) / i128::from(ONE);
    let rest = room - i128::from(each.amount()) * i128::from(fits);
    let nearly = rest * i128::from(ONE) >= i128::from(each.amount()) * i128::from(round_up.amount());
    Ok(if nearly { fits + 1 } else { fits })
}

/// Returns the smallest trade size of a kind of raceway that holds these conductors, or nothing when none does.
///
/// # Errors
/// When the code has no table for the kind, or no area for a conductor.
pub fn smallest_raceway(
    method: &str,
    nipple: bool,
    strands: &[Strand<'_>],
    code: &dyn Code,
) -> Result<Option<Quantity>, Problem> {
    for (trade_size, inside) in code.table(&area_key(method), Dimension::Length, Dimension::Area)? {
        let duct = Duct { method, trade_size: Traced { quantity: trade_size, span: inside.span }, nipple };
        if raceway_fill(&duct, strands, code, &mut Sheet::none())?.fits() {
            return Ok(Some(trade_size));
        }
    }
    Ok(None)
}

fn area_key(method: &str) -> String {
    format!("raceway.area_{}", method.to_ascii_lowercase())
}

fn inside<'a>(duct: &Duct<'_>, code: &'a dyn Code) -> Result<Known<'a>, Problem> {
    let row = code.row_at(&area_key(duct.method), duct.trade_size.quantity, Match::Exact, Dimension::Area)?;
    row.ok_or_else(|| {
        let message =
            format!("the code in force has no {} of trade size {}", duct.method, shown(duct.trade_size.quantity));
        Problem::new(duct.trade_size.span, message).label("this trade size").help("use a trade size of the table")
    })
}

/// Returns the area of one conductor with its insulation.
fn conductor_area<'a>(strand: &Strand<'_>, code: &'a dyn Code) -> Result<Known<'a>, Problem> {
    let unknown = |what: String| Problem::new(strand.size.span, what).label("this conductor");
    let group = code.word_of("raceway.insulation", strand.insulation)?.ok_or_else(|| {
        unknown(format!("the code in force has no areas of conductors with {} insulation", strand.insulation))
    })?;
    let key = format!("raceway.wire_{group}");
    code.row_at(&key, strand.size.quantity, Match::Exact, Dimension::Area)?.ok_or_else(|| {
        unknown(format!("the code in force has no area of {} {}", shown(strand.size.quantity), strand.insulation))
            .help("use a size of the table; nothing between or beyond is taken")
    })
}

fn allowed<'a>(duct: &Duct<'_>, count: i64, code: &'a dyn Code) -> Result<Known<'a>, Problem> {
    if duct.nipple {
        return code.quantity("raceway.fill_nipple", Dimension::Ratio);
    }
    let number = Quantity::new(Dimension::Number, whole(count.max(1)));
    code.row_at("raceway.fill", number, Match::AtOrBelow, Dimension::Ratio)?.ok_or_else(|| {
        Problem::new(
            duct.trade_size.span,
            format!("the code in force does not say how far {count} conductors may fill a raceway"),
        )
    })
}

/// Returns how full a raceway of a job is.
///
/// # Errors
/// The fields to record, or a fault in one of them. An unrecorded length matters only where a short piece may be filled further.
pub fn fill_of_raceway(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<RacewayFill, Gap> {
    let mut gaps = Gaps::default();
    let method = gaps.keep(ctx.need_text(item, raceway::WIRING_METHOD));
    let trade_size = gaps.keep(ctx.need(item, raceway::TRADE_SIZE));
    let mut strands = Vec::new();
    for group in ctx.job.links(item, raceway::CONDUCTORS) {
        let insulation = gaps.keep(ctx.need_text(group, raceway_conductor::INSULATION));
        let size = gaps.keep(ctx.need(group, raceway_conductor::SIZE));
        let count =
            gaps.keep(ctx.need(group, raceway_conductor::COUNT).and_then(|number| Ok(count_of(number, 1, 1000)?)));
        if let (Some(insulation), Some(size), Some(count)) = (insulation, size, count) {
            strands.push(Strand { insulation, size, count });
        }
    }
    gaps.none()?;
    let (Some(method), Some(trade_size)) = (method, trade_size) else { return Err(Gap::Missing(Vec::new())) };
    if strands.is_empty() {
        return Err(Gap::field(item, raceway::CONDUCTORS));
    }
    let duct = |nipple| Duct { method, trade_size, nipple };
    let longest = ctx.book.quantity("raceway.nipple_length", Dimension::Length)?;
    let named = ctx.job.flag(item, raceway::NIPPLE) == Some(true);
    if let Some(length) = ctx.given(item, raceway::LENGTH) {
        if length.amount() <= 0 {
            return Err(Problem::new(length.span, "a raceway cannot have a length of zero or less")
                .label("this length")
                .into());
        }
        let short = length.amount() <= longest.amount();
        if named && !short {
            return Err(Problem::new(length.span, "this raceway is too long for a nipple")
                .label("this length")
                .mark(ctx.place(item, raceway::NIPPLE), "written as a nipple")
                .mark(longest.span, "the longest that one may be")
                .into());
        }
        return Ok(rounded(&duct(short), &strands, ctx.book, sheet)?);
    }
    if named {
        return Ok(rounded(&duct(true), &strands, ctx.book, sheet)?);
    }
    let fill = rounded(&duct(false), &strands, ctx.book, sheet)?;
    if !fill.fits() && rounded(&duct(true), &strands, ctx.book, &mut Sheet::none())?.fits() {
        return Err(Gap::field(item, raceway::LENGTH));
    }
    Ok(fill)
}

/// Returns how full a raceway is; conductors that are all alike may be as many as the number rounded up by the code allows (chapter 9,
/// note 7), and the share allowed is then what they take.
fn rounded(
    duct: &Duct<'_>,
    strands: &[Strand<'_>],
    code: &dyn Code,
    sheet: &mut Sheet,
) -> Result<RacewayFill, Problem> {
    let fill = raceway_fill(duct, strands, code, sheet)?;
    let Some(first) = strands.first().filter(|_| !fill.fits()) else { return Ok(fill) };
    let alike = |one: &Strand<'_>| one.size.amount() == first.size.amount() && one.insulation == first.insulation;
    if !strands.iter().all(alike) || fill.count > most_in_raceway(duct, first, code)? {
        return Ok(fill);
    }
    let round_up = code.quantity("raceway.round_up_from", Dimension::Number)?;
    sheet.line(|| Line::new(format!("{} alike, the last one rounded up", fill.count)).total(fill.share).by(round_up));
    Ok(RacewayFill { allowed: fill.share, ..fill })
}
