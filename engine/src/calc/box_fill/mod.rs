//! Box fill: the volume that conductors, devices, clamps and fittings of a box need, and the box that holds them.
//!
//! Each allowance is a volume by conductor size (`box_fill.allowance`); what counts how many of them are entries of the
//! code, so that editions which count equipment grounds differently differ in entries alone.

mod catalogue;
mod contents;
#[cfg(test)]
mod tests;

pub use catalogue::{Family, Offered, capacity, proposal, smallest_box};
pub use contents::box_contents;

use super::arith;
use super::worksheet::{Line, Sheet};
use super::{Code, Known, Match};
use crate::problem::Problem;
use crate::quantity::{Dimension, Quantity};
use crate::source::Span;

/// Conductors of one size.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Wires {
    /// Their size ([`Dimension::Conductor`]).
    pub size: Quantity,
    /// How many.
    pub count: i64,
    /// Where they are written.
    pub span: Span,
}

/// A device on its yoke.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Yoke {
    /// The largest conductor connected to it.
    pub size: Quantity,
    /// Gangs that it takes.
    pub gangs: i64,
    /// Where it is written.
    pub span: Span,
}

/// What is in a box. Pigtails, wire connectors and whatever never leaves the box are left out: they take no allowance.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct BoxContents {
    /// Insulated conductors from outside that end or are spliced in it.
    pub conductors: Vec<Wires>,
    /// Those that run through unbroken.
    pub through: Vec<Wires>,
    /// Those that run through in a loop long enough to be spliced later.
    pub looped: Vec<Wires>,
    /// Luminaire wires that count.
    pub fixture_wires: Vec<Wires>,
    /// Equipment grounding conductors and bonding jumpers from outside.
    pub grounds: Vec<Wires>,
    /// The additional set of isolated equipment grounding conductors.
    pub isolated_grounds: Vec<Wires>,
    /// Whether there is any cable clamp inside, and where that is written.
    pub clamps: Option<Span>,
    /// Kinds of support fitting (stud, hickey), and where that is written.
    pub fittings: (i64, Span),
    /// Devices.
    pub yokes: Vec<Yoke>,
    /// Terminal blocks, and where they are written.
    pub terminal_blocks: (i64, Span),
}

/// The volume that a box needs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BoxFill {
    /// Volume ([`Dimension::Volume`]).
    pub volume: Quantity,
    /// Sum of the allowances behind it, of whatever size ([`Dimension::Number`]).
    pub allowances: Quantity,
}

/// Returns the volume that the contents of a box need.
///
/// # Errors
/// When the code lacks an entry or has no allowance for a size, or clamps, fittings or blocks stand alone in a box without conductors.
pub fn box_fill(contents: &BoxContents, code: &dyn Code, sheet: &mut Sheet) -> Result<BoxFill, Problem> {
    let mut sum = Sum { code, sheet, volume: 0, allowances: 0 };
    sum.wires("conductors that end or are spliced here", "box_fill.conductor", &contents.conductors)?;
    sum.wires("conductors that run through", "box_fill.through", &contents.through)?;
    sum.wires("conductors that run through in a loop", "box_fill.looped", &contents.looped)?;
    sum.wires("luminaire wires", "box_fill.fixture_wire", &contents.fixture_wires)?;
    sum.grounds(contents)?;
    let largest = contents.largest();
    if let Some(span) = contents.clamps {
        sum.together("cable clamps inside, all together", "box_fill.clamps", 1, largest, span)?;
    }
    let (fittings, span) = contents.fittings;
    sum.together("kinds of stud or hickey", "box_fill.fitting", fittings, largest, span)?;
    for yoke in &contents.yokes {
        sum.yoke(yoke)?;
    }
    let (blocks, span) = contents.terminal_blocks;
    sum.together("terminal blocks", "box_fill.terminal_block", blocks, largest, span)?;
    let (volume, allowances) = (sum.volume, sum.allowances);
    let fill = BoxFill {
        volume: Quantity::new(Dimension::Volume, volume),
        allowances: Quantity::new(Dimension::Number, allowances),
    };
    sheet.line(|| Line::new("volume needed").total(fill.volume));
    Ok(fill)
}

impl BoxContents {
    /// Returns the largest conductor of the box.
    fn largest(&self) -> Option<Wires> {
        let all = [&self.conductors, &self.through, &self.looped, &self.fixture_wires, &self.grounds];
        all.into_iter().flatten().filter(|wires| wires.count > 0).max_by_key(|wires| wires.size.amount()).copied()
    }
}

struct Sum<'a, 'b> {
    code: &'a dyn Code,
    sheet: &'b mut Sheet,
    volume: i64,
    allowances: i64,
}

impl Sum<'_, '_> {
    /// Adds conductors, each by its own size, one line a size.
    fn wires(&mut self, what: &str, key: &str, wires: &[Wires]) -> Result<(), Problem> {
        if wires.iter().all(|wires| wires.count == 0) {
            return Ok(());
        }
        let each = self.code.quantity(key, Dimension::Number)?;
        let mut sizes: Vec<Quantity> = wires.iter().map(|wires| wires.size).collect();
        sizes.sort_by_key(|size| size.amount());
        sizes.dedup();
        for size in sizes {
            let same: Vec<&Wires> = wires.iter().filter(|wires| wires.size == size && wires.count > 0).collect();
            let count: i64 = same.iter().map(|wires| wires.count).sum();
            let Some(first) = same.first() else { continue };
            let factor = each.amount().saturating_mul(count);
            self.add(what, factor, **first, Some(each), same.iter().map(|wires| wires.span))?;
        }
        Ok(())
    }

    /// Adds the equipment grounds: one allowance for the first few, a part of one for each further.
    fn grounds(&mut self, contents: &BoxContents) -> Result<(), Problem> {
        let first_set = self.code.quantity_if("box_fill.isolated_grounds", Dimension::Number)?;
        let isolated_apart = first_set.filter(|apart| apart.amount() > 0);
        let mut ordinary = contents.grounds.clone();
        if isolated_apart.is_none() {
            ordinary.extend(contents.isolated_grounds.iter().copied());
        }
        self.ground_set(&ordinary)?;
        if let (Some(apart), Some(largest)) = (isolated_apart, largest_of(&contents.isolated_grounds)) {
            let spans = contents.isolated_grounds.iter().map(|wires| wires.span);
            self.add("isolated equipment grounds, all together", apart.amount(), largest, Some(apart), spans)?;
        }
        Ok(())
    }

    fn ground_set(&mut self, grounds: &[Wires]) -> Result<(), Problem> {
        let count: i64 = grounds.iter().map(|wires| wires.count).sum();
        let Some(largest) = largest_of(grounds) else { return Ok(()) };
        let together = self.code.quantity("box_fill.grounds", Dimension::Number)?;
        let covered = self.code.quantity("box_fill.grounds_first", Dimension::Number)?;
        let further = self.code.quantity("box_fill.grounds_each_further", Dimension::Number)?;
        let spans = || grounds.iter().map(|wires| wires.span);
        self.add("equipment grounds, the first ones together", together.amount(), largest, Some(together), spans())?;
        let beyond = arith::whole(count).saturating_sub(covered.amount()) / arith::ONE;
        if beyond > 0 && further.amount() > 0 {
            let factor = further.amount().saturating_mul(beyond);
            self.add("equipment grounds beyond those", factor, largest, Some(further), spans())?;
        }
        Ok(())
    }

    /// Adds what counts by the largest conductor of the box.
    fn together(
        &mut self,
        what: &str,
        key: &str,
        count: i64,
        largest: Option<Wires>,
        span: Span,
    ) -> Result<(), Problem> {
        if count <= 0 {
            return Ok(());
        }
        let each = self.code.quantity(key, Dimension::Number)?;
        let largest = largest.ok_or_else(|| {
            Problem::new(span, format!("{what} count by the largest conductor, and this box has none"))
                .label("in a box without conductors")
                .help("write the cables that end in the box")
        })?;
        self.add(what, each.amount().saturating_mul(count), largest, Some(each), [span])
    }

    fn yoke(&mut self, yoke: &Yoke) -> Result<(), Problem> {
        let each = self.code.quantity("box_fill.device", Dimension::Number)?;
        let what = if yoke.gangs > 1 { "device, by the gangs it takes" } else { "device on its yoke" };
        let wires = Wires { size: yoke.size, count: 1, span: yoke.span };
        self.add(what, each.amount().saturating_mul(yoke.gangs.max(1)), wires, Some(each), [yoke.span])
    }

    fn add(
        &mut self,
        what: &str,
        factor: i64,
        size: Wires,
        by: Option<Known<'_>>,
        spans: impl IntoIterator<Item = Span>,
    ) -> Result<(), Problem> {
        let allowance = allowance(self.code, size)?;
        let volume = arith::times(allowance.amount(), factor).ok_or_else(|| too_much(size.span))?;
        self.volume = self.volume.checked_add(volume).ok_or_else(|| too_much(size.span))?;
        self.allowances = self.allowances.saturating_add(factor);
        self.sheet.line(|| {
            let line = Line::new(what)
                .count(Quantity::new(Dimension::Number, factor))
                .each(allowance.quantity)
                .total(Quantity::new(Dimension::Volume, volume))
                .all(spans)
                .at(allowance.span);
            match by {
                Some(known) => line.by(known),
                None => line,
            }
        });
        Ok(())
    }
}

fn largest_of(wires: &[Wires]) -> Option<Wires> {
    wires.iter().filter(|wires| wires.count > 0).max_by_key(|wires| wires.size.amount()).copied()
}

/// Returns the volume allowance of a conductor size.
///
/// # Errors
/// When the table has no row for it: boxes with such conductors are sized in another way.
pub fn allowance<'a>(code: &'a dyn Code, wires: Wires) -> Result<Known<'a>, Problem> {
    code.row_at("box_fill.allowance", wires.size, Match::Exact, Dimension::Volume)?.ok_or_else(|| {
        let size = super::shown(wires.size);
        Problem::new(wires.span, format!("the code in force has no volume allowance for {size}"))
            .label("this size")
            .help("boxes with conductors outside `box_fill.allowance` are sized by the distances of their entries; check such a box by hand")
    })
}

fn too_much(span: Span) -> Problem {
    Problem::new(span, "this adds up to more than can be computed").label("from this number")
}

/// Returns how many conductors of one size, and nothing else, a box holds.
///
/// # Errors
/// When the code has no allowance for the size.
pub fn most_conductors(volume: Quantity, size: Quantity, code: &dyn Code) -> Result<i64, Problem> {
    let each = allowance(code, Wires { size, count: 1, span: Span::NONE })?;
    if each.amount() <= 0 {
        return Err(Problem::new(each.span, "a volume allowance must be more than zero").label("this allowance"));
    }
    Ok(volume.amount() / each.amount())
}
