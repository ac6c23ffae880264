//! The make-up sheets: per box, the conductors in it, what is spliced and landed, and the worksheet of its fill.

mod of_box;

pub use of_box::{CAUTION, ConductorIn, Landing, MakeUpSheet, Splice, make_up_sheet};

use super::Desk;
use crate::model::ItemIndex;
use crate::model::kinds::outlet_box;

/// The make-up of a box, with the room it is in.
#[derive(Clone, Debug)]
pub struct BoxSheet {
    /// Name of the room.
    pub room: String,
    /// What the box is.
    pub part: String,
    /// The receptacles in it with their configurations, where these are known: `K-1: 14-50R`.
    pub receptacles: Vec<String>,
    /// Its make-up.
    pub sheet: MakeUpSheet,
    /// What is wrong in it, in sentences.
    pub faults: Vec<String>,
}

/// Returns the make-up sheets of all boxes that cables enter, or of those asked for, in the order of the job file.
pub fn make_ups(desk: &Desk<'_>, only: &[ItemIndex]) -> Vec<BoxSheet> {
    let boxes = desk.items(outlet_box::NAME).iter().filter(|item| only.is_empty() || only.contains(item));
    boxes
        .filter_map(|&item| {
            let sheet = make_up_sheet(&desk.ctx, item)?;
            Some(BoxSheet {
                room: desk.place_name(item),
                part: if desk.job.is_existing(item) {
                    format!("existing {}", desk.box_part(item))
                } else {
                    desk.box_part(item)
                },
                receptacles: receptacles(desk, item),
                faults: sheet.faults.iter().map(|fault| fault.message.clone()).collect(),
                sheet,
            })
        })
        .collect()
}

fn receptacles(desk: &Desk<'_>, item: ItemIndex) -> Vec<String> {
    let devices = desk.job.links(item, outlet_box::DEVICES);
    devices.filter_map(|it| Some(format!("{}: {}", desk.job.id(it), desk.configuration(it)?))).collect()
}
