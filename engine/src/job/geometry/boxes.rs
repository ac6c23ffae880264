//! Boxes past the end of their wall, above the ceiling, or where the wall has a hole.

use super::{Hole, Length, Loader, NO_TOP};
use crate::model::ItemIndex;
use crate::model::kinds::{opening, outlet_box, room, site, wall};
use crate::problem::Problem;

/// What is known of a box in height \[nm\]: from edge to edge, or a point that lies in it.
#[derive(Clone, Copy)]
struct Rise {
    low: i128,
    high: i128,
    written: Length,
}

impl<'a> Loader<'a> {
    pub(super) fn check_boxes(&mut self) {
        let site = self.builder.job().find(site::NAME);
        let lowered = site.and_then(|site| self.floor_offset(site));
        for wall in self.items(wall::NAME) {
            let boxes: Vec<ItemIndex> = self.builder.job().links(wall, wall::BOXES).collect();
            if boxes.is_empty() {
                continue;
            }
            let holes = self.holes(wall);
            // How far the holes up to each one reach, so that a search back can stop.
            let mut reach = i128::MIN;
            let reaches: Vec<i128> = holes
                .iter()
                .map(|hole| {
                    reach = reach.max(hole.to);
                    reach
                })
                .collect();
            for item in boxes {
                self.check_end(item, wall);
                if self.builder.job().text(item, outlet_box::MOUNTED) == Some("wall") {
                    self.check_holes(item, &holes, &reaches, lowered);
                }
            }
        }
        for item in self.items(outlet_box::NAME) {
            if self.builder.job().text(item, outlet_box::MOUNTED) == Some("wall") {
                self.check_ceiling(item, site, lowered);
            }
        }
    }

    /// Returns what to take off written heights to have them from the finished floor, if it is known.
    fn floor_offset(&self, site: ItemIndex) -> Option<i128> {
        match self.builder.job().text(site, site::HEIGHTS_FROM) {
            Some("subfloor") => self.length(site, site::FLOOR_BUILD_UP).map(|length| length.nm),
            _ => Some(0),
        }
    }

    fn rise(&self, item: ItemIndex, lowered: Option<i128>) -> Option<Rise> {
        let lowered = lowered?;
        let body = self.length(item, outlet_box::BODY_HEIGHT).map_or(0, |body| body.nm);
        let rise = |written: Length, below: i128, above: i128| Rise {
            low: written.nm - lowered - below,
            high: written.nm - lowered + above,
            written,
        };
        let top = self.length(item, outlet_box::TOP).map(|top| rise(top, body, 0));
        let bottom = || self.length(item, outlet_box::BOTTOM).map(|bottom| rise(bottom, 0, body));
        let centre = || self.length(item, outlet_box::KEY_HEIGHT).map(|height| rise(height, body / 2, body / 2));
        top.or_else(bottom).or_else(centre)
    }

    fn check_end(&mut self, item: ItemIndex, wall: ItemIndex) {
        let (Some(along), Some(length)) = (self.length(item, outlet_box::ALONG), self.length(wall, wall::LENGTH))
        else {
            return;
        };
        let past = along.nm - length.nm;
        if past <= 0 {
            return;
        }
        let message = format!("{} lies {} past the end of its wall", self.called(item), self.shown(past));
        let problem = Problem::new(along.span, message).label("past the end");
        let problem = problem.mark(length.span, format!("{} is {} long", self.called(wall), self.shown(length.nm)));
        self.consequence(problem.help("check `along` and `wall` of the box, and the wall's `length`"));
    }

    fn check_holes(&mut self, item: ItemIndex, holes: &[Hole], reaches: &[i128], lowered: Option<i128>) {
        let Some(along) = self.length(item, outlet_box::ALONG) else { return };
        let rise = self.rise(item, lowered);
        let before = holes.partition_point(|hole| hole.from < along.nm);
        let candidates = holes.iter().zip(reaches).take(before).rev().take_while(|(_, reach)| **reach > along.nm);
        let inside = candidates.map(|(hole, _)| hole).find(|hole| {
            let in_height = match rise {
                Some(rise) => rise.low < hole.high && rise.high > hole.low,
                None => hole.low == 0 && hole.high == NO_TOP,
            };
            hole.to > along.nm && in_height
        });
        let Some(&hole) = inside else { return };
        let kind = self.builder.job().text(hole.item, opening::KIND).unwrap_or("opening").replace('_', " ");
        let message = format!("{} lies in {}", self.called(item), self.called(hole.item));
        let problem = Problem::new(along.span, message).label(format!("inside the {kind}"));
        let where_ = format!("the {kind} runs from {} to {}", self.shown(hole.from), self.shown(hole.to));
        let problem = problem.mark(self.cell(hole.item, opening::AT).span(), where_);
        let help = if hole.high == NO_TOP {
            "check `along` of the box and the place of the opening; give the opening its `height` if the box is above it"
        } else {
            "check `along` and the height of the box, and the place of the opening"
        };
        self.consequence(problem.help(help));
    }

    fn check_ceiling(&mut self, item: ItemIndex, site: Option<ItemIndex>, lowered: Option<i128>) {
        let room = self.room_of(item).and_then(|room| self.length(room, room::CEILING));
        let Some(ceiling) = room.or_else(|| self.length(site?, site::CEILING)) else { return };
        let Some(rise) = self.rise(item, lowered).filter(|rise| rise.high > ceiling.nm) else { return };
        let message = format!("{} lies {} above the ceiling", self.called(item), self.shown(rise.high - ceiling.nm));
        let problem = Problem::new(rise.written.span, message).label("above the ceiling");
        let problem = problem.mark(ceiling.span, format!("the ceiling is {} high", self.shown(ceiling.nm)));
        self.consequence(problem.help("check the height of the box, and the `ceiling` of its room"));
    }
}
