//! Counters that run past their wall, what interrupts them, and supports out of order.

use super::{Length, Loader};
use crate::model::kinds::{appliance, basin, cable, counter, counter_break, wall};
use crate::model::{Cell, ItemIndex};
use crate::problem::Problem;

impl<'a> Loader<'a> {
    pub(super) fn check_runs(&mut self) {
        for item in self.items(counter::NAME) {
            let Some(wall) = self.builder.job().link(item, counter::WALL) else { continue };
            let (at, length) = (self.length(item, counter::AT), self.length(item, counter::LENGTH));
            self.check_fit(item, at, length, (wall, self.length(wall, wall::LENGTH)), "its wall");
        }
        for item in self.items(counter_break::NAME) {
            let Some(around) = self.builder.job().link(item, counter_break::COUNTER) else { continue };
            let (at, width) = (self.length(item, counter_break::AT), self.length(item, counter_break::WIDTH));
            self.check_fit(item, at, width, (around, self.length(around, counter::LENGTH)), "its counter");
        }
        for item in self.items(basin::NAME) {
            let Some(wall) = self.builder.job().link(item, basin::WALL) else { continue };
            let (at, width) = (self.length(item, basin::AT), self.length(item, basin::WIDTH));
            self.check_fit(item, at, width, (wall, self.length(wall, wall::LENGTH)), "its wall");
        }
        for item in self.items(appliance::NAME) {
            let Some(wall) = self.builder.job().link(item, appliance::WALL) else { continue };
            let Some(along) = self.length(item, appliance::ALONG) else { continue };
            self.check_fit(item, None, Some(along), (wall, self.length(wall, wall::LENGTH)), "its wall");
        }
        for item in self.items(cable::NAME) {
            self.check_supports(item);
        }
    }

    /// Holds a stretch against what it lies on.
    fn check_fit(
        &mut self,
        item: ItemIndex,
        at: Option<Length>,
        length: Option<Length>,
        on: (ItemIndex, Option<Length>),
        whose: &str,
    ) {
        let (Some(length), (base, Some(whole))) = (length, on) else { return };
        let start = at.map_or(0, |at| at.nm);
        let past = start + length.nm - whole.nm;
        if past <= 0 {
            return;
        }
        let span = at.filter(|at| at.nm >= whole.nm).map_or(length.span, |at| at.span);
        let message = format!("{} ends {} past the end of {whose}", self.called(item), self.shown(past));
        let problem = Problem::new(span, message).label("past the end");
        let problem = problem.mark(whole.span, format!("{} is {} long", self.called(base), self.shown(whole.nm)));
        self.consequence(problem.help(format!("check where {} begins and how long it is", self.called(item))));
    }

    fn check_supports(&mut self, item: ItemIndex) {
        let supports = self.cell(item, cable::SUPPORTS);
        if supports.is_missing() {
            return;
        }
        let supports: Vec<Cell> = self.builder.job().list(supports.to_list()).to_vec();
        for pair in supports.windows(2) {
            let [before, after] = pair else { continue };
            if after.bits() <= before.bits() {
                let message = format!("the supports of {} are not in order", self.called(item));
                let problem = Problem::new(after.span(), message).label("not farther along than the one before");
                let problem = problem.mark(before.span(), "the one before");
                self.consequence(problem.help("give the distance of each from the `from` end, nearest first"));
                break;
            }
        }
        let Some(length) = self.length(item, cable::LENGTH) else { return };
        let beyond = supports.iter().find(|support| i128::from(support.bits()) > length.nm);
        if let Some(support) = beyond {
            let message = format!("a support of {} lies beyond its end", self.called(item));
            let problem = Problem::new(support.span(), message).label("beyond the end");
            let problem = problem.mark(length.span, format!("the cable is {} long", self.shown(length.nm)));
            self.consequence(problem.help("check `supports` and the cable's `length`"));
        }
    }
}
