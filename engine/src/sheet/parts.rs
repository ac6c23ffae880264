//! What parts are called on papers: by what one would ask for at the counter of a supply house.

use super::Desk;
use super::desk::words;
use super::panel::{BreakerKind, PanelBreaker};
use super::takeoff::Group;
use crate::calc::configuration::configuration;
use crate::calc::{Clause, Code, Datum, Match};
use crate::model::kinds::{cable, circuit, device, feeder, luminaire, outlet_box, raceway, raceway_conductor};
use crate::model::{ItemIndex, Job};
use crate::quantity::Quantity;

/// Joins what is there with commas.
fn comma(parts: impl IntoIterator<Item = Option<String>>) -> String {
    parts.into_iter().flatten().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(", ")
}

fn yes(job: &Job, item: ItemIndex, field: crate::model::FieldId, word: &str) -> Option<String> {
    (job.flag(item, field) == Some(true)).then(|| word.to_owned())
}

/// Cable or conductors of a feeder.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FeederPart {
    /// Its group in the take-off.
    pub group: Group,
    /// The part.
    pub what: String,
    /// How many times the length of the feeder.
    pub count: i64,
}

impl Desk<'_> {
    fn size(&self, item: ItemIndex, field: crate::model::FieldId) -> Option<String> {
        self.job.quantity(item, field).map(|quantity| self.print(quantity))
    }

    /// Returns what kind of cable a run is: `NM 12/2 with ground`.
    pub fn cable_part(&self, item: ItemIndex) -> String {
        let job = self.job;
        let make = job.text(item, cable::KEY_MAKE).unwrap_or("(make not recorded)");
        let method = job.text(item, cable::WIRING_METHOD).unwrap_or("cable");
        let material = job.text(item, cable::MATERIAL).filter(|material| *material != "copper").map(words);
        let ground = if job.flag(item, cable::GROUND) == Some(false) { "without ground" } else { "with ground" };
        comma([Some(format!("{method} {make} {ground}")), material])
    }

    /// Returns what kind of raceway a run is: `EMT 1/2 in`.
    pub fn raceway_part(&self, item: ItemIndex) -> String {
        let method = words(self.job.text(item, raceway::WIRING_METHOD).unwrap_or("raceway"));
        format!("{method} {}", self.size(item, raceway::TRADE_SIZE).unwrap_or_default())
    }

    /// Returns what conductors are in a raceway: `THHN 12 AWG`.
    pub fn conductor_part(&self, item: ItemIndex) -> String {
        let job = self.job;
        let insulation = job.text(item, raceway_conductor::INSULATION).unwrap_or("conductor");
        let material = job.text(item, raceway_conductor::MATERIAL).filter(|material| *material != "copper").map(words);
        let ground = yes(job, item, raceway_conductor::IS_GROUND, "green or bare");
        let size = self.size(item, raceway_conductor::SIZE).unwrap_or_default();
        comma([Some(format!("{insulation} {size}")), material, ground])
    }

    /// Returns the cable, or the conductors, of a feeder that is written with its own; nothing for one whose cable or conductors the job lists
    /// itself. Without the number of its wires, those are left open.
    pub fn feeder_parts(&self, item: ItemIndex) -> Vec<FeederPart> {
        let job = self.job;
        let circuit = job.link(item, feeder::CIRCUIT);
        let listed = circuit.is_some_and(|circuit| {
            let run = job.links(circuit, circuit::CABLES).chain(job.links(circuit, circuit::RACEWAYS)).next();
            run.is_some()
        });
        let Some(size) = self.size(item, feeder::SIZE).filter(|_| !listed) else { return Vec::new() };
        let material = job.text(item, feeder::MATERIAL).filter(|material| *material != "copper").map(words);
        let ground = self.size(item, feeder::GROUND_SIZE);
        let wires = self.count(item, feeder::WIRES);
        let method = job.text(item, feeder::WIRING_METHOD).unwrap_or("cable");
        if method != "in_raceway" {
            let wires = wires.map(|wires| format!("{wires} wires"));
            let ground = ground.map(|size| format!("ground {size}"));
            let what = comma([Some(format!("{method} {size}, feeder")), wires, ground, material]);
            return vec![FeederPart { group: Group::Cable, what, count: 1 }];
        }
        let with_ground = ground.is_some();
        let others = wires.unwrap_or(0) - i64::from(with_ground);
        let wire = FeederPart {
            group: Group::Raceway,
            what: comma([Some(format!("conductor {size}")), material.clone()]),
            count: others,
        };
        let ground = ground.map(|size| FeederPart {
            group: Group::Raceway,
            what: comma([Some(format!("conductor {size}")), material, Some(String::from("green or bare"))]),
            count: 1,
        });
        [Some(wire).filter(|wire| wire.count > 0), ground].into_iter().flatten().collect()
    }

    /// Returns what kind of box it is: `1-gang box, nonmetallic, 22.5 in3`.
    pub fn box_part(&self, item: ItemIndex) -> String {
        let job = self.job;
        let gangs = self.count(item, outlet_box::GANGS).unwrap_or(1);
        let purpose = job.text(item, outlet_box::PURPOSE);
        let kind = match (purpose, job.text(item, outlet_box::MOUNTED)) {
            (Some("luminaire"), Some("ceiling")) => String::from("ceiling box for a luminaire"),
            (Some("ceiling_fan"), _) => String::from("ceiling box for a fan"),
            (Some("alarm"), Some("ceiling")) => String::from("ceiling box for an alarm"),
            (Some("luminaire"), _) => String::from("wall box for a luminaire"),
            (Some("junction"), _) => String::from("junction box"),
            (_, Some("floor")) => String::from("floor box"),
            _ => format!("{gangs}-gang box"),
        };
        comma([
            Some(kind),
            job.text(item, outlet_box::SHAPE).map(str::to_owned),
            job.text(item, outlet_box::MATERIAL).map(words),
            self.size(item, outlet_box::VOLUME),
            yes(job, item, outlet_box::FAN_RATED, "marked for a fan"),
            yes(job, item, outlet_box::WET_RATED, "for wet places"),
        ])
    }

    /// Returns what kind of device it is: `receptacle, duplex, 15 A, tamper-resistant`.
    pub fn device_part(&self, item: ItemIndex) -> String {
        let job = self.job;
        let kind = job.text(item, device::KIND).unwrap_or("device");
        let contacts = match (kind, self.count(item, device::CONTACTS)) {
            ("receptacle", Some(1)) => Some(String::from("single")),
            ("receptacle", Some(2)) => Some(String::from("duplex")),
            ("receptacle", Some(count)) => Some(format!("{count} outlets")),
            _ => None,
        };
        let volts = self.size(item, device::VOLTAGE).filter(|volts| kind != "receptacle" || volts != "120 V");
        comma([
            Some(words(kind).replace("co alarm", "CO alarm")),
            contacts,
            job.text(item, device::ACTION).map(|action| action.replace('_', "-")),
            configuration(&self.ctx, item).map(str::to_owned),
            self.size(item, device::RATING),
            volts,
            yes(job, item, device::GFCI, "GFCI"),
            yes(job, item, device::AFCI, "AFCI"),
            yes(job, item, device::TAMPER_RESISTANT, "tamper-resistant")
                .filter(|_| self.is_made_tamper_resistant(item)),
            yes(job, item, device::WEATHER_RESISTANT, "weather-resistant"),
            yes(job, item, device::BATTERY_BACKED, "with battery"),
        ])
    }

    /// Returns the configuration of a receptacle by NEMA WD 6, where it is known.
    pub fn configuration(&self, item: ItemIndex) -> Option<&str> {
        configuration(&self.ctx, item)
    }

    /// Returns the configuration of a receptacle that is not one of those of general use.
    pub fn special_configuration(&self, item: ItemIndex) -> Option<&str> {
        self.configuration(item).filter(|name| !self.is_listed(name, "receptacle.general_use"))
    }

    /// Returns whether a voltage is none of those of general-use outlets. Where the code in force does not say which these are, none is.
    pub(super) fn is_special_voltage(&self, volts: Quantity) -> bool {
        Code::list(self.book, "receptacle.general_voltage")
            .is_some_and(|all| all.iter().all(|one| one.datum != Datum::Quantity(volts)))
    }

    /// Returns the contacts of a configuration: `leg leg neutral ground`.
    pub(super) fn contacts(&self, configuration: &str) -> Option<&str> {
        match self.ctx.book.row("receptacle.contacts", Datum::Text(configuration), Match::Exact)??.datum {
            Datum::Text(words) => Some(words),
            _ => None,
        }
    }

    fn is_listed(&self, name: &str, list: &str) -> bool {
        Code::list(self.book, list).is_some_and(|all| all.iter().any(|one| one.datum == Datum::Text(name)))
    }

    /// Returns whether receptacles like this one are made tamper-resistant at all: by configuration, else by rating. Where the code in
    /// force does not say, they are.
    fn is_made_tamper_resistant(&self, item: ItemIndex) -> bool {
        if let (Some(name), true) = (self.configuration(item), Code::list(self.book, "tamper.configurations").is_some())
        {
            return self.is_listed(name, "tamper.configurations");
        }
        let Some(rating) = self.job.quantity(item, device::RATING) else { return true };
        let made = |ratings: Vec<Clause<'_>>| ratings.iter().any(|one| one.datum == Datum::Quantity(rating));
        Code::list(self.book, "tamper.ratings").is_none_or(made)
    }

    /// Returns what kind of luminaire it is.
    pub fn luminaire_part(&self, item: ItemIndex) -> String {
        let job = self.job;
        let kind = words(job.text(item, luminaire::KIND).unwrap_or("luminaire"));
        let name = match kind.as_str() {
            "ceiling fan" | "exhaust fan" | "lampholder" => kind,
            _ => format!("luminaire, {kind}"),
        };
        comma([
            Some(name),
            job.text(item, luminaire::LAMP).map(|lamp| lamp.replace("led", "LED")),
            yes(job, item, luminaire::WET_RATED, "for wet places"),
            yes(job, item, luminaire::DAMP_RATED, "for damp places"),
            yes(job, item, luminaire::IC_RATED, "may touch insulation"),
        ])
    }

    /// Returns what plate or cover closes a box, where it needs one of its own.
    pub fn plate_part(&self, item: ItemIndex) -> Option<String> {
        let job = self.job;
        let devices: Vec<ItemIndex> = job.links(item, outlet_box::DEVICES).collect();
        let purpose = job.text(item, outlet_box::PURPOSE);
        if devices.is_empty() {
            // A canopy closes the box of a luminaire or an alarm.
            return (purpose == Some("junction")).then(|| String::from("blank cover"));
        }
        if devices.iter().any(|&it| job.flag(it, device::IN_USE_COVER) == Some(true)) {
            let extra = devices.iter().any(|&it| job.flag(it, device::EXTRA_DUTY_COVER) == Some(true));
            return Some(format!("in-use cover{}", if extra { ", extra duty" } else { "" }));
        }
        let mut faces: Vec<&str> = Vec::new();
        for &it in &devices {
            match job.text(it, device::KIND) {
                Some("smoke_alarm" | "co_alarm" | "doorbell" | "thermostat" | "disconnect") => {}
                Some("receptacle") if job.flag(it, device::GFCI) == Some(true) => faces.push("rectangular"),
                Some("receptacle") if self.count(it, device::CONTACTS) == Some(1) => faces.push("single receptacle"),
                Some("receptacle") => faces.push("duplex"),
                Some("blank") => faces.push("blank"),
                Some(_) => faces.push("switch"),
                None => {}
            }
        }
        if faces.is_empty() {
            return None;
        }
        faces.sort_unstable();
        let gangs = self.count(item, outlet_box::GANGS).unwrap_or(1);
        Some(format!("{gangs}-gang plate, {}", faces.join(" + ")))
    }

    /// Returns what to order for a breaker of a panel, each part with the circuit that it is counted for.
    pub(super) fn breaker_parts(&self, breaker: &PanelBreaker) -> Vec<(String, ItemIndex)> {
        let ratings = |gap: &str| {
            let each = breaker.circuits.iter().map(|one| self.size(one.item, circuit::RATING));
            each.map(|size| size.unwrap_or_else(|| String::from("?"))).collect::<Vec<_>>().join(gap)
        };
        let named =
            |kind: &str| breaker.circuits.first().map(|one| (format!("breaker, {kind}, {}", ratings(" + ")), one.item));
        let each = || breaker.circuits.iter().map(|one| (self.breaker_part(one.item), one.item));
        match breaker.kind {
            BreakerKind::Tandem => named("tandem").into_iter().collect(),
            BreakerKind::Quad => named("quad").into_iter().collect(),
            BreakerKind::TwoPole => each().take(1).map(|(_, item)| (self.breaker_of(item, 2), item)).collect(),
            BreakerKind::TiedSingles => {
                let poles = breaker.circuits.iter().flat_map(|one| (0..one.poles.clamp(1, 2)).map(|_| one.item));
                let mut parts: Vec<(String, ItemIndex)> = poles.map(|item| (self.breaker_of(item, 1), item)).collect();
                if let Some(one) = breaker.circuits.first() {
                    parts.push((String::from("handle tie, listed for the breakers"), one.item));
                }
                parts
            }
            BreakerKind::Single | BreakerKind::OpensTogether => each().collect(),
        }
    }

    fn breaker_of(&self, item: ItemIndex, poles: i64) -> String {
        comma([
            Some(String::from("breaker")),
            Some(self.size(item, circuit::RATING).unwrap_or_else(|| String::from("(rating not recorded)"))),
            Some(format!("{poles}-pole")),
            yes(self.job, item, circuit::AFCI, "AFCI"),
            yes(self.job, item, circuit::GFCI, "GFCI"),
        ])
    }

    /// Returns what kind of breaker a circuit has: `breaker, 20 A, 1-pole, AFCI, GFCI`.
    pub fn breaker_part(&self, item: ItemIndex) -> String {
        let poles = self.count(item, circuit::POLES).unwrap_or(1);
        comma([
            Some(self.breaker_of(item, poles)),
            yes(self.job, item, circuit::COMMON_TRIP, "common trip with its partner"),
        ])
    }
}
