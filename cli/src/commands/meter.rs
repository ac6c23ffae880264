//! `meter`: a reading between two points of the wiring of a drill, with the planted fault in it.

use std::path::{Path, PathBuf};

use storystick_engine::calc::Code;
use storystick_engine::inspection::{Inspected, Inspector, JobText, Options};
use storystick_engine::model::kinds::{appliance, circuit, device, luminaire};
use storystick_engine::model::{ItemIndex, Job};
use storystick_engine::problem::did_you_mean;
use storystick_engine::quantity::{Dimension, Quantity, UnitSystem};
use storystick_engine::wiring::follow::{LoadAt, Meter, Reading, State, Trips};
use storystick_engine::wiring::{self, PointId, Terminal, UnitId, UnitKind, Wiring};
use storystick_engine::world::World;

use super::next;
use crate::Answer;
use crate::args;
use crate::args::Common;
use crate::render::wrap::{visible, wrap};
use crate::teach;
use crate::teach::fault::{self, FAULT_FILE, Wrong, changed, place_of, points};
use crate::teach::papers::Change;
use crate::teach::readings::{Log, READINGS_FILE as LOG};
use crate::world::{self, Machine};

/// Said with a live reading where no book has the current.
const NO_TRIPS: &str =
    "Ground faults trip nothing here: no book in force sets `tests.gfci_trip_high`, from which a GFCI trips.";

/// Watts of a luminaire or appliance whose load the job does not state (common practice, no source).
const PLAIN_WATTS: f64 = 100.0;

/// Watts of an alarm, a doorbell or the electronics of an appliance (common practice, no source).
const LITTLE_WATTS: f64 = 2.0;

const DEAD: &str = "On a real circuit: off, locked out and tagged, absence of voltage proved with a tester that was tried on a live source \
                    before and after; then ohms. Never put an ohmmeter on a live circuit.";

const LIVE: &str = "On a real circuit live readings are for qualified persons alone, with rated meter, leads and gloves, and only where the \
                    circuit can't be off. Before anything is touched or lifted: off, locked out and tagged, absence of voltage proved.";

/// What to do where the files of a drill have been changed.
const AGAIN: &str = "take the files of the drill again, as they were handed out";

/// Runs the command.
pub(crate) fn run(common: &Common, args: &args::Meter) -> Answer {
    reading(common, args).map_or_else(Answer::fault, Answer::clean)
}

/// The wiring of the drill as it is at the meter.
struct Bench {
    inspected: Inspected,
    wiring: Wiring,
    wrong: Wrong,
    drill: u64,
}

fn reading(common: &Common, args: &args::Meter) -> Result<String, String> {
    let folder = Path::new(&args.folder);
    let bench = open(common, folder)?;
    if let Some(id) = &args.at_box {
        return bench.names(id);
    }
    let (Some(first), Some(second)) = (&args.first, &args.second) else {
        return Ok(bench.overview(&args.folder));
    };
    let (a, b) = (bench.point(first)?, bench.point(second)?);
    if a == b {
        return Err(format!("both probes are on `{first}`: name another point for the second\n"));
    }
    let lifted = args.lift.iter().map(|name| bench.point(name)).collect::<Result<Vec<PointId>, String>>()?;
    let state = State {
        on: args.on.iter().map(|id| bench.switch(id)).collect::<Result<Vec<UnitId>, String>>()?,
        open: args.open.iter().map(|id| bench.circuit(id)).collect::<Result<Vec<ItemIndex>, String>>()?,
        tripped: Vec::new(),
    };
    let meter = bench.meter()?.lifted(&lifted);
    let shown = if args.ohms { meter.ohms(a, b, &state) } else { meter.volts(a, b, &state) };
    let mut shows = Bench::words(&shown);
    if !args.ohms {
        shows.push_str(&bench.tripping(&meter.trips(&state)));
    }
    let of = bench.described(args, a, b);
    let path = folder.join(LOG);
    let mut log = log(&path)?;
    if !log.is_whole(bench.drill) {
        let why = format!("`{}` is not the log of this drill as the meter wrote it", path.display());
        return Err(next::with(&why, &["take it away and begin again"]));
    }
    log.add(bench.drill, of.clone(), shows.clone());
    let text = toml::to_string(&log).map_err(|error| format!("the log can't be written: {error}\n"))?;
    let head = "# Readings taken on a drill, in their order. `storystick grade` counts them; what is changed by hand does not count.\n";
    world::replace(&path.to_string_lossy(), &format!("{head}{text}"))
        .map_err(|why| next::with(&why, &["copy the drill into a folder in which you may write"]))?;
    let columns = world::columns();
    let count = log.reading.len();
    let caution = match (args.ohms, bench.trip_current()) {
        (true, _) => String::from(DEAD),
        (false, Some(_)) => String::from(LIVE),
        (false, None) => format!("{LIVE} {NO_TRIPS}"),
    };
    Ok(format!(
        "{}{}\n{}",
        wrap(&visible(&of), columns, "  "),
        format_args!("  {shows}\n  reading {count}, logged in {}\n", path.display()),
        wrap(&caution, columns, "")
    ))
}

/// Opens the drill of a folder: its job and its fault.
fn open(common: &Common, folder: &Path) -> Result<Bench, String> {
    let line = |message: String| format!("{message}\n");
    let named = |name: &str| -> (PathBuf, String) {
        let path = folder.join(name);
        let text = path.to_string_lossy().into_owned();
        (path, text)
    };
    let (sealed, sealed_name) = named(FAULT_FILE);
    if !sealed.is_file() {
        let near = if folder.exists() { None } else { world::beside(&folder.to_string_lossy()) };
        let near = near.map_or_else(String::new, |near| format!("; {near}"));
        let why = format!("`{sealed_name}` is not there: a drill has it that was made with `--fault`{near}");
        return Err(next::with(&why, &[next::FAULT]));
    }
    let sealed = Machine.read(&sealed_name).and_then(|text| fault::open(&sealed_name, &text));
    let (drill, wrong) = sealed.map_err(|why| next::with(&why, &[AGAIN]))?;
    let (_, job_name) = named("job.toml");
    let look = super::look(common, world::stderr_is_terminal());
    let mut inspector = Inspector::new(super::rulesets(common).map_err(line)?);
    let text = Machine.read(&job_name).map_err(|why| next::with(&why, &[AGAIN]))?;
    let text = JobText { name: job_name.clone(), text: text.into() };
    let options = Options::on(jiff::civil::date(2000, 1, 1));
    let failed = |failure: storystick_engine::inspection::Failure| super::draw(&failure.problems, &failure.files, look);
    let prepared = inspector.prepare(text, &options).map_err(failed)?;
    let inspected = inspector.inspect(&prepared, &options).map_err(failed)?;
    let wiring = Wiring::of(&inspected.job);
    Ok(Bench { inspected, wiring, wrong, drill })
}

fn log(path: &Path) -> Result<Log, String> {
    if !path.is_file() {
        return Ok(Log::default());
    }
    let name = path.to_string_lossy();
    let read = Machine.read(&name).and_then(|text| teach::read(&name, &text));
    read.map_err(|why| next::with(&why, &["take it away and begin again"]))
}

/// Returns the nearest of some names as help, behind a message, and how to see all of them.
fn not_there(what: &str, wanted: &str, names: &[String], otherwise: &str) -> String {
    let help = did_you_mean(wanted, names.iter().map(String::as_str)).unwrap_or_else(|| otherwise.to_owned());
    next::with(&format!("{what} `{wanted}`: {help}"), &[next::POINTS])
}

impl Bench {
    fn job(&self) -> &Job {
        &self.inspected.job
    }

    fn name(&self, point: PointId) -> String {
        wiring::name(self.job(), &self.wiring.network, point)
    }

    fn ids(&self, kind: &str) -> Vec<String> {
        let job = self.job();
        let items = job.schema.kind(kind).map_or(&[][..], |kind| job.of_kind(kind));
        items.iter().map(|&item| job.id(item).to_owned()).collect()
    }

    /// Names what can be probed and set, for whoever begins.
    fn overview(&self, folder: &str) -> String {
        let net = &self.wiring.network;
        let id = |item: ItemIndex| self.job().id(item).to_owned();
        let places: Vec<String> = net.places.iter().map(|place| id(place.item)).collect();
        let switches: Vec<String> =
            net.units.iter().filter(|unit| unit.is_switch()).map(|unit| id(unit.item)).collect();
        let columns = world::columns();
        let line = |word: &str, names: &[String]| match names {
            [] => String::new(),
            names => wrap(&format!("{word}: {}", names.join(", ")), columns, "  "),
        };
        let text = [
            line("boxes and panels", &places),
            line("switches", &switches),
            line("circuits", &self.ids(circuit::NAME)),
            next::block(
                &[
                    &format!("`storystick meter {folder} --box BOX` names the points of a box"),
                    &format!("`storystick meter {folder} POINT POINT` takes a reading between two of them"),
                ],
                columns,
            ),
        ];
        text.concat()
    }

    /// Names the points of a box or panel.
    fn names(&self, id: &str) -> Result<String, String> {
        let net = &self.wiring.network;
        let Some(place) = place_of(self.job(), net, id) else {
            let places: Vec<String> = net.places.iter().map(|place| self.job().id(place.item).to_owned()).collect();
            return Err(not_there("no conductor ends in a box or panel", id, &places, "look at the boxes of job.toml"));
        };
        let (mut ends, mut terminals) = (Vec::new(), Vec::new());
        for &point in &net.place(place).points {
            match net.point(point) {
                wiring::Point::End(..) => ends.push(self.name(point)),
                wiring::Point::Terminal(..) => terminals.push(self.name(point)),
            }
        }
        let columns = world::columns();
        let line = |word: &str, names: &[String]| wrap(&format!("{word}: {}", names.join(", ")), columns, "  ");
        let how = "`storystick makeup` says what is to be joined with what here; whether it is, the meter tells.";
        Ok(format!("{}{}{}", line("conductors", &ends), line("terminals", &terminals), wrap(how, columns, "")))
    }

    /// Returns the point of a name, behind the id of its box and a colon where several have it.
    fn point(&self, wanted: &str) -> Result<PointId, String> {
        let (job, net) = (self.job(), &self.wiring.network);
        let (place, name) = match wanted.split_once(':') {
            Some((place, name)) => (Some(place), name),
            None => (None, wanted),
        };
        let at = match place {
            Some(id) => Some(place_of(job, net, id).ok_or_else(|| {
                let places: Vec<String> = net.places.iter().map(|place| job.id(place.item).to_owned()).collect();
                not_there("no conductor ends in a box or panel", id, &places, "look at the boxes of job.toml")
            })?),
            None => None,
        };
        match points(job, net, at, name).as_slice() {
            [] => {
                let names: Vec<String> =
                    net.places().flat_map(|(_, place)| &place.points).map(|&it| self.name(it)).collect();
                let otherwise = "`storystick meter DRILL --box BOX` names the points of a box";
                Err(not_there("there is no point", wanted, &names, otherwise))
            }
            [one] => Ok(*one),
            [first, ..] if at.is_some() => Ok(*first),
            several => {
                let place = |&it: &PointId| job.id(net.place(net.place_of(it)).item).to_owned();
                let places: Vec<String> = several.iter().map(place).collect();
                let first = places.first().map_or("", String::as_str);
                Err(format!(
                    "`{wanted}` is at {}: put the one that is meant before it, such as `{first}:{wanted}`\n",
                    places.join(" and ")
                ))
            }
        }
    }

    fn switch(&self, id: &str) -> Result<UnitId, String> {
        let net = &self.wiring.network;
        let found = self.job().find(id).and_then(|item| net.find_unit(item));
        found.filter(|&unit| net.unit(unit).is_switch()).ok_or_else(|| {
            let switches = net.units.iter().filter(|unit| unit.is_switch());
            let ids: Vec<String> = switches.map(|unit| self.job().id(unit.item).to_owned()).collect();
            not_there("there is no wired switch", id, &ids, &format!("the switches are {}", ids.join(", ")))
        })
    }

    fn circuit(&self, id: &str) -> Result<ItemIndex, String> {
        let job = self.job();
        let found = job.find(id).filter(|&item| job.schema.kind(circuit::NAME) == Some(job.item(item).kind));
        found.ok_or_else(|| {
            let ids = self.ids(circuit::NAME);
            not_there("there is no circuit", id, &ids, &format!("the circuits are {}", ids.join(", ")))
        })
    }

    /// Returns the meter on the wiring with the fault in it.
    fn meter(&self) -> Result<Meter, String> {
        let net = &self.wiring.network;
        let (place, points) = self
            .wrong
            .found(self.job(), net)
            .ok_or("job.toml is not the one that the drill made: conductors of the fault are gone")
            .map_err(|why| next::with(why, &[AGAIN]))?;
        let mut makeups = self.wiring.makeups.clone();
        let touching = match self.wrong.change {
            Change::Touch => points.windows(2).map(|pair| (pair[0], pair[1])).collect(),
            change => {
                if let Some(slot) = makeups.get_mut(place.at()) {
                    *slot = changed(self.wiring.makeup(place), change, &points);
                }
                Vec::new()
            }
        };
        let volts = self.volts();
        let meter = Meter::new(net, &makeups, &touching, |unit, load| self.ohms(unit, load, volts), volts);
        let job = self.job();
        let circuits = job.schema.kind(circuit::NAME).map_or(&[][..], |kind| job.of_kind(kind));
        let guarded: Vec<ItemIndex> =
            circuits.iter().copied().filter(|&item| job.flag(item, circuit::GFCI) == Some(true)).collect();
        Ok(match self.trip_current() {
            Some(amperes) => meter.guarded(&guarded, amperes),
            None => meter,
        })
    }

    /// Returns the amperes from which an interrupter trips on a ground fault, where the book says.
    fn trip_current(&self) -> Option<f64> {
        let book: &dyn Code = &*self.inspected.code.book;
        let set = book.quantity_if("tests.gfci_trip_high", Dimension::Current).ok().flatten()?;
        let one = storystick_engine::quantity::parse("1 A", Dimension::Current).ok()?;
        Some(set.quantity.amount() as f64 / one.amount() as f64)
    }

    /// Says what trips, behind a reading.
    fn tripping(&self, trips: &Trips) -> String {
        let of = |items: &[ItemIndex]| items.iter().map(|&item| self.job().id(item)).collect::<Vec<_>>().join(", ");
        let devices: Vec<ItemIndex> = trips.devices.iter().map(|&unit| self.wiring.network.unit(unit).item).collect();
        let mut text = String::new();
        if !devices.is_empty() {
            text.push_str(&format!("; GFCI {} trips", of(&devices)));
        }
        if !trips.ground_fault.is_empty() {
            text.push_str(&format!("; the GFCI breaker of circuit {} trips", of(&trips.ground_fault)));
        }
        if !trips.short.is_empty() {
            text.push_str(&format!("; the breaker of circuit {} trips as soon as it is closed", of(&trips.short)));
        }
        text
    }

    /// Returns the voltage of a leg to the neutral: that of the first circuit with one pole, half of that of one with two.
    fn volts(&self) -> f64 {
        let job = self.job();
        let circuits = job.schema.kind(circuit::NAME).map_or(&[][..], |kind| job.of_kind(kind));
        let of = |&item: &ItemIndex| {
            let volts = job.quantity(item, circuit::VOLTAGE)?.amount() as f64 / 1.0e6;
            let poles = job.quantity(item, circuit::POLES).and_then(Quantity::whole).unwrap_or(1);
            Some((poles, volts))
        };
        let known: Vec<(i64, f64)> = circuits.iter().filter_map(of).collect();
        let single = known.iter().find(|(poles, _)| *poles == 1).map(|(_, volts)| *volts);
        single.or_else(|| known.first().map(|(_, volts)| volts / 2.0)).unwrap_or(120.0)
    }

    /// Returns the resistance of a load at its full voltage; nothing is plugged into a receptacle.
    fn ohms(&self, unit: UnitId, load: &LoadAt, volts: f64) -> Option<f64> {
        let job = self.job();
        let net = &self.wiring.network;
        let one = net.unit(unit);
        let is = |kind: &str| job.schema.kind(kind) == Some(job.item(one.item).kind);
        let neutral = matches!(net.point(load.back), wiring::Point::Terminal(_, Terminal::Neutral));
        let stated = |field| job.quantity(one.item, field).map(|load| load.print(UnitSystem::Customary));
        let watts = match one.kind {
            UnitKind::Load | UnitKind::Load240 if is(luminaire::NAME) => watts(stated(luminaire::LOAD)),
            UnitKind::Load240 if is(appliance::NAME) && neutral => LITTLE_WATTS,
            UnitKind::Load | UnitKind::Load240 if is(appliance::NAME) => watts(stated(appliance::LOAD)),
            UnitKind::Load if is(device::NAME) => LITTLE_WATTS,
            // What a sub-panel feeds is not part of this circuit.
            _ => return None,
        };
        let volts = if one.kind == UnitKind::Load240 && !neutral { 2.0 * volts } else { volts };
        Some(volts * volts / watts)
    }

    fn words(reading: &Reading) -> String {
        match reading {
            Reading::Volts(volts) => format!("{} V", short(*volts)),
            Reading::Ohms(ohms) => format!("{} ohm", short(*ohms)),
            Reading::Open => String::from("open: no path"),
        }
    }

    /// Says where the probes are and in which state.
    fn described(&self, args: &args::Meter, a: PointId, b: PointId) -> String {
        let net = &self.wiring.network;
        let at =
            |point: PointId| format!("{} in {}", self.name(point), self.job().id(net.place(net.place_of(point)).item));
        let mut text = format!("{} between {} and {}", if args.ohms { "ohms" } else { "volts" }, at(a), at(b));
        let breakers = match (args.ohms, args.open.as_slice()) {
            (true, _) => String::from("all breakers open"),
            (false, []) => String::from("all breakers closed"),
            (false, open) => format!("breaker of {} open", open.join(", ")),
        };
        text.push_str(&format!("; {breakers}"));
        for (word, list) in [("in the second position", &args.on), ("lifted", &args.lift)] {
            if !list.is_empty() {
                text.push_str(&format!("; {}: {}", word, list.join(", ")));
            }
        }
        text
    }
}

/// Reads watts as a job prints them; a load that is not stated is a plain one.
fn watts(stated: Option<String>) -> f64 {
    let amount = stated.and_then(|text| storystick_engine::quantity::parse(&text, Dimension::Power).ok());
    let unit = storystick_engine::quantity::parse("1 VA", Dimension::Power).ok();
    match (amount, unit) {
        (Some(amount), Some(unit)) if amount.amount() > 0 => amount.amount() as f64 / unit.amount() as f64,
        _ => PLAIN_WATTS,
    }
}

fn short(value: f64) -> String {
    let text = format!("{value:.1}");
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}
