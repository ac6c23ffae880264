//! What a tripped GFCI device must take off, and what its neutral must pass through.

use super::super::needs::supply;
use super::super::network::{Terminal, UnitId, UnitKind};
use super::super::signal::Signal;
use super::{FaultKind, Joined, Nets, View};

impl View<'_> {
    pub(super) fn trips(&mut self) {
        let devices: Vec<UnitId> =
            self.net.units().filter(|(_, unit)| matches!(unit.kind, UnitKind::Gfci { .. })).map(|(id, _)| id).collect();
        for gfci in devices {
            let open = Nets::of(self.net, self.makeups, Joined { tripped: Some(gfci), contacts: true, removed: None });
            self.line_and_load(gfci, &open);
            self.protected(gfci, &open);
        }
    }

    fn line_and_load(&mut self, gfci: UnitId, open: &Nets) {
        let at = |name| self.net.unit(gfci).terminal(name);
        let (Some(line), Some(load)) = (at(Terminal::LineHot), at(Terminal::LoadHot)) else { return };
        if open.is_line(load) && !open.is_line(line) {
            let message = format!("GFCI `{}` is fed from its load terminals", self.id(self.unit_item(gfci)));
            self.tell_unit(
                FaultKind::LineLoadReversed,
                gfci,
                message,
                "land the feed on the terminals marked LINE and what it protects on those marked LOAD",
            );
        } else if open.is_line(load) {
            let message = format!("the face of GFCI `{}` stays live when it trips", self.id(self.unit_item(gfci)));
            self.tell_unit(FaultKind::NotBehindGfci, gfci, message, "take the other feed off its load terminals");
        }
    }

    fn protected(&mut self, gfci: UnitId, open: &Nets) {
        let behind = |unit: UnitId| matches!(supply(self.job, self.net, unit, &self.plan.groups), Some((Signal::LoadHot(by), _)) if by == gfci);
        let mut past = Vec::new();
        for load in &self.loads {
            if load.unit != gfci && behind(load.unit) {
                past.push((load.unit, open.is_line(load.hot), open.is_neutral(load.back) && !open.is_line(load.hot)));
            }
        }
        for (unit, live, round) in past {
            let (name, by) = (self.id(self.unit_item(unit)).to_string(), self.id(self.unit_item(gfci)).to_string());
            if live {
                let message = format!("`{name}` stays live when GFCI `{by}`, which is to protect it, trips");
                self.tell_unit(FaultKind::NotBehindGfci, unit, message, "feed it from the load terminals of the GFCI");
            }
            if round {
                let message = format!("the neutral of `{name}` goes round GFCI `{by}`, which will trip under load");
                self.tell_unit(
                    FaultKind::NeutralPastGfci,
                    unit,
                    message,
                    "bring its neutral to the load terminals of the GFCI, apart from the line neutrals",
                );
            }
        }
    }
}
