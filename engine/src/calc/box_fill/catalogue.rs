//! The volume of a box, and the smallest box on the market that holds a given fill.

use super::super::arith::whole;
use super::super::derive::Ctx;
use super::super::given::{Gap, Gaps, Traced};
use super::super::worksheet::{Line, Sheet};
use super::super::{Code, count_of};
use super::{box_contents, box_fill};
use crate::model::ItemIndex;
use crate::model::kinds::outlet_box;
use crate::problem::{Problem, did_you_mean};
use crate::quantity::{Dimension, Quantity};
use crate::source::Span;

/// Which boxes may be proposed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Family<'a> {
    /// Standard metal boxes whose name ends in this word: `octagon`, `square`, `device`.
    Standard {
        /// The word.
        word: &'a str,
        /// Boxes joined side by side, for kinds whose volumes add up.
        gangs: i64,
    },
    /// Nonmetallic boxes of a number of gangs, with their volume marked.
    Nonmetallic {
        /// Gangs.
        gangs: i64,
    },
}

/// A box on the market.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Offered {
    /// What to ask for: `4 x 2-1/8 square`, `2 gang`.
    pub name: String,
    /// Its volume.
    pub volume: Quantity,
    /// Citation of the table it stands in.
    pub cite: String,
    /// The line of the ruleset.
    pub span: Span,
}

/// Returns the smallest box of a family that holds a fill, or nothing when none does.
///
/// # Errors
/// When the code has no such catalogue.
pub fn smallest_box(need: Quantity, family: Family<'_>, code: &dyn Code) -> Result<Option<Offered>, Problem> {
    let offered: Vec<Offered> = match family {
        Family::Standard { word, gangs } => {
            let times = if by_gang(code, word)? { gangs.max(1) } else { 1 };
            code.table_of_words("box_fill.standard_boxes", Dimension::Volume)?
                .into_iter()
                .filter(|(name, _)| family_word(name) == word)
                .map(|(name, volume)| Offered {
                    name: if times > 1 { format!("{times} joined {name}") } else { String::from(name) },
                    volume: Quantity::new(Dimension::Volume, volume.amount().saturating_mul(times)),
                    cite: String::from(volume.cite),
                    span: volume.span,
                })
                .collect()
        }
        Family::Nonmetallic { gangs } => {
            let key = format!("box_fill.nonmetallic.gangs_{gangs}");
            let name = format!("nonmetallic, {gangs} gang");
            code.quantities(&key, Dimension::Volume)?
                .into_iter()
                .map(|volume| Offered {
                    name: name.clone(),
                    volume: volume.quantity,
                    cite: String::from(volume.cite),
                    span: volume.span,
                })
                .collect()
        }
    };
    Ok(offered
        .into_iter()
        .filter(|offered| offered.volume.amount() >= need.amount())
        .min_by(|a, b| a.volume.amount().cmp(&b.volume.amount()).then_with(|| a.name.cmp(&b.name))))
}

/// Returns the smallest box of a box's own family that holds what is in it, where the box itself does not; nothing where it does,
/// or where no box of the family is large enough.
///
/// The family is that of its written shape; without one, nonmetallic boxes of its gangs, metal ones square, on a ceiling octagonal.
///
/// # Errors
/// The fields to record, or a fault in one of them.
pub fn proposal(ctx: &Ctx<'_>, item: ItemIndex) -> Result<Option<Offered>, Gap> {
    let mut gaps = Gaps::default();
    let holds = gaps.keep(capacity(ctx, item, &mut Sheet::none()));
    let contents = gaps.keep(box_contents(ctx, item));
    gaps.none()?;
    let (Some(holds), Some(contents)) = (holds, contents) else { return Ok(None) };
    let need = box_fill(&contents, ctx.book, &mut Sheet::none())?.volume;
    if need.amount() <= holds.amount() {
        return Ok(None);
    }
    let gangs = count_of(ctx.need(item, outlet_box::GANGS)?, 1, 20)?;
    let family = match (ctx.job.text(item, outlet_box::SHAPE), ctx.job.text(item, outlet_box::MATERIAL)) {
        (Some(shape), _) => Family::Standard { word: family_word(shape), gangs },
        (None, Some("metal")) if ctx.job.text(item, outlet_box::MOUNTED) == Some("ceiling") => {
            Family::Standard { word: "octagon", gangs }
        }
        (None, Some("metal")) => Family::Standard { word: "square", gangs },
        _ => Family::Nonmetallic { gangs },
    };
    Ok(smallest_box(need, family, ctx.book)?)
}

/// Returns the last word of a box's trade name, which tells its family.
pub(crate) fn family_word(name: &str) -> &str {
    name.rsplit(' ').next().unwrap_or(name)
}

/// Returns whether boxes of a family are joined side by side, so that their volumes add up.
fn by_gang(code: &dyn Code, word: &str) -> Result<bool, Problem> {
    code.lists("box_fill.counted_by_gang", word)
}

/// Returns the volume of a box with its rings: as marked in it, or from the table of standard boxes.
///
/// # Errors
/// The fields to record, or a fault when the box is in no table.
pub fn capacity(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Traced, Gap> {
    let body = body_volume(ctx, item, sheet)?;
    let Some(ring) = ctx.given(item, outlet_box::RING_VOLUME) else { return Ok(body) };
    positive(ring, "ring")?;
    sheet.line(|| Line::new("volume marked on its rings").total(ring.quantity).of(ring));
    let all = body.plus(ring.amount());
    sheet.line(|| Line::new("volume of the box with its rings").total(all.quantity));
    Ok(all)
}

fn body_volume(ctx: &Ctx<'_>, item: ItemIndex, sheet: &mut Sheet) -> Result<Traced, Gap> {
    if let Some(volume) = ctx.given(item, outlet_box::VOLUME) {
        positive(volume, "box")?;
        sheet.line(|| Line::new("volume marked in the box").total(volume.quantity).of(volume));
        return Ok(volume);
    }
    let Some(shape) = ctx.job.text(item, outlet_box::SHAPE) else {
        return Err(Gap::field(item, outlet_box::VOLUME));
    };
    let at = ctx.place(item, outlet_box::SHAPE);
    if ctx.job.text(item, outlet_box::MATERIAL) == Some("nonmetallic") {
        return Err(Problem::new(at, "the table of standard boxes holds metal boxes only")
            .label("shape of a nonmetallic box")
            .mark(ctx.place(item, outlet_box::MATERIAL), "this box is not metal")
            .help("write the `volume` that is marked in the box")
            .into());
    }
    let row = ctx.book.row_of("box_fill.standard_boxes", shape, Dimension::Volume)?;
    let Some(volume) = row else { return Err(unlisted(ctx.book, shape, at).into()) };
    let gangs = count_of(ctx.need(item, outlet_box::GANGS)?, 1, 20)?;
    let times = if by_gang(ctx.book, family_word(shape))? { gangs } else { 1 };
    let total = Traced::new(Dimension::Volume, volume.amount().saturating_mul(times), at);
    sheet.line(|| {
        let line = Line::new(format!("standard box {shape}")).total(total.quantity).by(volume).at(at);
        if times > 1 { line.count(Quantity::new(Dimension::Number, whole(times))).each(volume.quantity) } else { line }
    });
    Ok(total)
}

fn positive(volume: Traced, of: &str) -> Result<(), Gap> {
    if volume.amount() > 0 {
        return Ok(());
    }
    Err(Problem::new(volume.span, format!("a {of} cannot have a volume of zero or less"))
        .label("this volume")
        .help("write the volume that is marked on it, such as `18 in3`")
        .into())
}

fn unlisted(code: &dyn Code, shape: &str, at: Span) -> Problem {
    let names: Vec<&str> = code
        .table_of_words("box_fill.standard_boxes", Dimension::Volume)
        .map(|rows| rows.into_iter().map(|(name, _)| name).collect())
        .unwrap_or_default();
    let help = did_you_mean(shape, names.iter().copied())
        .unwrap_or_else(|| String::from("write the `volume` that is marked in the box instead"));
    Problem::new(at, format!("there is no standard box `{shape}`")).label("this shape").help(help)
}
