//! The outline of a room: its walls one after another, round to where they began.

use super::arith::divide;
use super::derive::Ctx;
use super::given::{Gap, Gaps, Traced};
use super::worksheet::{Line, Sheet};
use crate::model::ItemIndex;
use crate::model::kinds::{room, wall};
use crate::problem::Problem;
use crate::quantity::Dimension;
use crate::source::Span;

/// A full turn, in the base unit of [`Dimension::Angle`].
const FULL_TURN: i64 = 360_000_000;
const QUARTER: i64 = FULL_TURN / 4;
/// An outline measured by tape counts as closed when its end lies within this part of its length from its beginning.
const CLOSES_WITHIN: i64 = 100;

/// One wall in the outline of its room.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Side {
    /// The wall.
    pub wall: ItemIndex,
    /// Where it begins, measured along the outline \[nm\].
    pub start: i64,
    /// Its length \[nm\].
    pub length: i64,
    /// Corner where it begins: across and along the first wall, in a plan with the first wall running to the right and y downwards \[nm\].
    pub from: (i64, i64),
    /// Corner where it ends.
    pub to: (i64, i64),
}

/// The outline of a room.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Outline {
    /// The walls in order, the room on their right-hand side.
    pub sides: Vec<Side>,
    /// Length of all of them \[nm\].
    pub length: i64,
    /// Floor area inside \[µm²\].
    pub area: i64,
}

impl Outline {
    /// Returns where a wall begins along the outline, and its length.
    pub fn side(&self, wall: ItemIndex) -> Option<&Side> {
        self.sides.iter().find(|side| side.wall == wall)
    }

    /// Returns the wall and the distance from its start of a point along the outline.
    pub fn at(&self, along: i64) -> Option<(ItemIndex, i64)> {
        let along = along.checked_rem_euclid(self.length)?;
        let behind = self.sides.partition_point(|side| side.start <= along);
        let side = self.sides.get(behind.checked_sub(1)?)?;
        Some((side.wall, along - side.start))
    }
}

/// Returns the outline of a room from its walls.
///
/// # Errors
/// The fields of a rectangle when there is no wall at all; a fault when the walls do not lead back to where they began.
pub fn outline(ctx: &Ctx<'_>, room: ItemIndex) -> Result<Outline, Gap> {
    let walls: Vec<ItemIndex> = ctx.job.links(room, room::WALLS).collect();
    if walls.is_empty() {
        return Err(Gap::Missing(vec![(room, room::LENGTH), (room, room::WIDTH)]));
    }
    let mut gaps = Gaps::default();
    let mut walk = Walk::default();
    for &wall in &walls {
        let length = gaps.keep(ctx.need(wall, wall::LENGTH).and_then(positive));
        let turn = gaps.keep(ctx.need(wall, wall::TURN));
        if let (Some(length), Some(turn)) = (length, turn) {
            walk.wall(wall, length.amount(), turn.amount());
        }
    }
    gaps.none()?;
    walk.close(ctx.job.item(room).header)
}

fn positive(length: Traced) -> Result<Traced, Gap> {
    if length.amount() > 0 {
        return Ok(length);
    }
    Err(Problem::new(length.span, "a wall cannot have a length of zero or less").label("this length").into())
}

/// A walk along the walls.
#[derive(Default)]
struct Walk {
    sides: Vec<Side>,
    length: i64,
    at: (i64, i64),
    heading: i64,
    turned: i64,
    twice_area: i128,
}

impl Walk {
    fn wall(&mut self, wall: ItemIndex, length: i64, turn: i64) {
        let (cos, sin) = direction(self.heading);
        let to = (self.at.0.saturating_add(along(length, cos)), self.at.1.saturating_add(along(length, sin)));
        self.twice_area += i128::from(self.at.0) * i128::from(to.1) - i128::from(to.0) * i128::from(self.at.1);
        self.sides.push(Side { wall, start: self.length, length, from: self.at, to });
        self.length = self.length.saturating_add(length);
        self.at = to;
        self.turned = self.turned.saturating_add(turn);
        // The plan's y axis points down, so that a turn to the right adds to the heading.
        self.heading = (self.heading + turn).rem_euclid(FULL_TURN);
    }

    fn close(self, at: Span) -> Result<Outline, Gap> {
        let (x, y) = self.at;
        let apart = x.unsigned_abs().max(y.unsigned_abs());
        let open = apart > (self.length / CLOSES_WITHIN).unsigned_abs();
        if self.turned != FULL_TURN || open {
            let message = if self.turned == FULL_TURN {
                "the walls of this room do not lead back to where they began"
            } else {
                "the turns between the walls of this room do not add up to one full turn to the right"
            };
            return Err(Problem::new(at, message)
                .label("this room")
                .help("list every side in order with the room on the right-hand side; an open side is a wall of kind `open`, an outer corner a negative `turn`")
                .into());
        }
        let area = divide(self.twice_area.abs(), 2_000_000)
            .ok_or_else(|| Gap::from(Problem::new(at, "this room is too large to compute").label("this room")))?;
        Ok(Outline { sides: self.sides, length: self.length, area })
    }
}

fn along(length: i64, share: f64) -> i64 {
    // Right angles are exact: the share is then 0, 1 or -1.
    (length as f64 * share).round() as i64
}

/// Returns cosine and sine of an angle. Only basic arithmetic, so that every machine gets the same bits.
fn direction(angle: i64) -> (f64, f64) {
    let quarters = angle.div_euclid(QUARTER).rem_euclid(4);
    let rest = angle.rem_euclid(QUARTER);
    let x = rest as f64 / 1e6 * std::f64::consts::PI / 180.0;
    let (mut cos, mut sin) = (0.0, 0.0);
    let mut term = 1.0;
    for n in 0..24 {
        match n % 4 {
            0 => cos += term,
            1 => sin += term,
            2 => cos -= term,
            _ => sin -= term,
        }
        term *= x / f64::from(n + 1);
    }
    match quarters {
        0 => (cos, sin),
        1 => (-sin, cos),
        2 => (-cos, -sin),
        _ => (sin, -cos),
    }
}

/// Returns the floor area of a room: as written, or from its walls.
pub(super) fn floor_area(ctx: &Ctx<'_>, room: ItemIndex, sheet: &mut Sheet) -> Result<Traced, Gap> {
    if let Some(area) = ctx.given(room, room::AREA) {
        sheet.line(|| Line::new("floor area, as written").total(area.quantity).of(area));
        return Ok(area);
    }
    let outline = outline(ctx, room)?;
    let area = Traced::new(Dimension::Area, outline.area, ctx.place(room, room::LENGTH));
    sheet.line(|| {
        let spans = outline.sides.iter().map(|side| ctx.place(side.wall, wall::LENGTH));
        Line::new("floor area inside the walls").total(area.quantity).all(spans)
    });
    Ok(area)
}
