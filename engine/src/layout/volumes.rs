//! Boxes large enough for what a draft puts into them.

use std::collections::BTreeMap;

use super::item::{Proposed, Written};
use crate::calc::{Code, Ctx, Family, Sheet, box_contents, box_fill, capacity, smallest_box};
use crate::inspection::Inspected;
use crate::model::kinds::outlet_box;
use crate::quantity::{Dimension, Quantity, UnitSystem};

/// Largest number of gangs that is tried.
const MOST_GANGS: i64 = 6;

/// How large a box has to be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Size {
    /// Volume to be marked in it, or the trade size of a standard box.
    pub field: (&'static str, Written),
    /// Its gangs.
    pub gangs: i64,
    /// Whether it is metal.
    pub metal: bool,
}

/// Returns the sizes of proposed boxes that are too small, or of unknown size, in a draft.
pub fn sizes(
    inspected: &Inspected,
    items: &[Proposed],
    metal: impl Fn(&str) -> bool,
    units: UnitSystem,
) -> BTreeMap<String, Size> {
    let book: &dyn Code = &*inspected.code.book;
    let job = &inspected.job;
    let ctx = Ctx::figures(job, book);
    let share = book.quantity_if("make_up.fill_share", Dimension::Ratio).ok().flatten().map(|share| share.amount());
    let mut sizes = BTreeMap::new();
    for item in items.iter().filter(|item| item.kind == "box") {
        let Some(index) = job.find(&item.id) else { continue };
        let Ok(contents) = box_contents(&ctx, index) else { continue };
        let Ok(fill) = box_fill(&contents, book, &mut Sheet::none()) else { continue };
        let need = match share {
            Some(share) if share > 0 => {
                i64::try_from(i128::from(fill.volume.amount()) * 1_000_000_000 / i128::from(share)).unwrap_or(i64::MAX)
            }
            _ => fill.volume.amount(),
        };
        let need = Quantity::new(Dimension::Volume, need);
        let metal = metal(&item.id) || job.text(index, outlet_box::MATERIAL) == Some("metal");
        if !metal
            && capacity(&ctx, index, &mut Sheet::none()).is_ok_and(|holds| holds.quantity.amount() >= need.amount())
        {
            continue;
        }
        let gangs = job.quantity(index, outlet_box::GANGS).map_or(1, |gangs| gangs.amount() / 1_000_000_000);
        let found = (gangs..=MOST_GANGS).find_map(|gangs| {
            let family = if metal { Family::Standard { word: "square", gangs } } else { Family::Nonmetallic { gangs } };
            smallest_box(need, family, book).ok().flatten().map(|offered| (gangs, offered))
        });
        if let Some((gangs, offered)) = found {
            let field = if metal {
                ("shape", Written::Text(offered.name))
            } else {
                ("volume", Written::Text(offered.volume.exact(units)))
            };
            sizes.insert(item.id.clone(), Size { field, gangs, metal });
        }
    }
    sizes
}
