//! The make-up sheet of a box, as plain data: what a person does at it, in order.

use std::collections::BTreeMap;

use crate::calc::{Ctx, Datum, Derived, Line, Match, box_contents, box_fill, capacity};
use crate::model::ItemIndex;
use crate::quantity::{Conductor, Dimension, Quantity, UnitSystem};
use crate::wiring::{
    Colour, Difference, Joint, PlaceId, PlaceKind, Point, PointId, Signal, Wiring, WiringFault, compare, name,
};

/// Stands on every make-up sheet.
pub const CAUTION: &str = "Before you open a box: circuit off, breaker locked out and tagged, absence of voltage verified at every conductor with a tester \
that was proved on a live source before and after. Boxes may hold more than one circuit. This sheet is worked out from the job \
file; the code in force, the authority having jurisdiction and the instructions of the device stand above it.";

/// A conductor that enters the box.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ConductorIn {
    /// Its name: `C1/to.black`.
    pub name: String,
    /// Its colour.
    pub colour: Colour,
    /// Its size.
    pub size: Option<Quantity>,
    /// Whether it is stranded rather than solid, where it is recorded.
    pub stranded: Option<bool>,
    /// What it is for, in words; `spare` for one without function.
    pub function: String,
    /// Whether it is a white conductor that must be re-marked.
    pub re_mark: bool,
}

/// A splice.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Splice {
    /// What it is for, in words.
    pub function: String,
    /// Conductors in it.
    pub conductors: Vec<String>,
    /// Terminals that a pigtail runs to.
    pub pigtails: Vec<String>,
    /// Length of each pigtail, by the shop's book.
    pub pigtail: Option<Quantity>,
    /// Conductors under the connector, pigtails counted.
    pub count: usize,
    /// How many of each size, the largest first; a pigtail counts as of the largest. Empty where a size is not recorded.
    pub sizes: Vec<(usize, Quantity)>,
    /// The connector that the shop's book gives for that number and size.
    pub connector: Option<String>,
}

/// A conductor that lands straight on a terminal, or a jumper between two terminals.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Landing {
    /// What it is for, in words.
    pub function: String,
    /// The conductor, or the terminal that a jumper comes from.
    pub from: String,
    /// The terminal.
    pub terminal: String,
}

/// Everything about the make-up of one box.
#[derive(Clone, Debug)]
pub struct MakeUpSheet {
    /// The box.
    pub item: ItemIndex,
    /// Its id.
    pub id: String,
    /// Whether it is written as built.
    pub as_built: bool,
    /// Conductors in it, cable by cable.
    pub conductors: Vec<ConductorIn>,
    /// Splices: grounds, then neutrals, then the rest.
    pub splices: Vec<Splice>,
    /// Landings in the same order.
    pub landings: Vec<Landing>,
    /// Conductors that get a cap of their own.
    pub caps: Vec<String>,
    /// What to do, in order.
    pub steps: Vec<String>,
    /// Fill and capacity with the worksheet, where they are known.
    pub fill: Option<(Quantity, Quantity)>,
    /// Worksheet of the fill.
    pub fill_lines: Vec<Line>,
    /// Where the box as built differs from the plan.
    pub differences: Vec<Difference>,
    /// What following the current found here.
    pub faults: Vec<WiringFault>,
    /// The caution.
    pub caution: &'static str,
}

/// Returns the sheet of a box; nothing for an item that is no box, or one that no cable enters.
pub fn make_up_sheet(ctx: &Ctx<'_>, item: ItemIndex) -> Option<MakeUpSheet> {
    let wiring = ctx.wiring();
    let place = wiring.network.find_place(item).filter(|&place| wiring.network.place(place).kind == PlaceKind::Box)?;
    let writer = Writer { ctx, wiring, place };
    let conductors = writer.conductors();
    if conductors.is_empty() {
        return None;
    }
    let mut joints: Vec<&Joint> = wiring.makeup(place).joints.iter().filter(|joint| joint.points.len() > 1).collect();
    joints.sort_by_key(|joint| writer.rank(joint));
    let net = &wiring.network;
    let splices: Vec<Splice> =
        joints.iter().filter(|joint| joint.is_splice(net)).map(|joint| writer.splice(joint)).collect();
    let landings: Vec<Landing> =
        joints.iter().filter(|joint| !joint.is_splice(net)).filter_map(|joint| writer.landing(joint)).collect();
    let caps = wiring.makeup(place).caps.iter().map(|&point| name(ctx.job, net, point)).collect();
    let (fill, fill_lines) = fill(ctx, item);
    let differences = compare(ctx.job, net, &wiring.plan, &wiring.makeups);
    let mut sheet = MakeUpSheet {
        item,
        id: ctx.job.id(item).to_string(),
        as_built: wiring.makeup(place).as_built,
        conductors,
        splices,
        landings,
        caps,
        steps: Vec::new(),
        fill,
        fill_lines,
        differences: differences.into_iter().filter(|difference| difference.place == place).collect(),
        faults: wiring.followed.faults.iter().filter(|fault| fault.place == Some(item)).cloned().collect(),
        caution: CAUTION,
    };
    sheet.steps = steps(&sheet);
    Some(sheet)
}

struct Writer<'a> {
    ctx: &'a Ctx<'a>,
    wiring: &'a Wiring,
    place: PlaceId,
}

impl Writer<'_> {
    fn words(&self, signal: Signal) -> String {
        signal.words(self.ctx.job, &self.wiring.network, &self.wiring.plan.groups)
    }

    fn name(&self, point: PointId) -> String {
        name(self.ctx.job, &self.wiring.network, point)
    }

    fn conductors(&self) -> Vec<ConductorIn> {
        let net = &self.wiring.network;
        let points = net.place(self.place).points.iter().copied();
        points
            .filter_map(|point| match net.point(point) {
                Point::End(id, _) => {
                    let wire = net.wire(id);
                    let function = match (wire.colour, self.wiring.plan.functions.get(id.at()).copied().flatten()) {
                        (Colour::Bare, _) => String::from("equipment ground"),
                        (_, Some(signal)) => self.words(signal),
                        (_, None) => String::from("spare"),
                    };
                    let re_mark = wire.colour == Colour::White && self.wiring.is_ever_live(id);
                    Some(ConductorIn {
                        name: self.name(point),
                        colour: wire.colour,
                        size: wire.size,
                        stranded: wire.stranded,
                        function,
                        re_mark,
                    })
                }
                Point::Terminal(..) => None,
            })
            .collect()
    }

    /// Function of a joint: as planned, or for one as built that of the first conductor with one.
    fn function(&self, joint: &Joint) -> Option<Signal> {
        let net = &self.wiring.network;
        joint.function.or_else(|| {
            joint.points.iter().find_map(|&point| match net.point(point) {
                Point::End(wire, _) if net.wire(wire).colour == Colour::Bare => Some(Signal::Ground),
                Point::End(wire, _) => self.wiring.plan.functions.get(wire.at()).copied().flatten(),
                Point::Terminal(_, terminal) => terminal.is_grounding().then_some(Signal::Ground),
            })
        })
    }

    /// Ground first, then neutral, then ungrounded.
    fn rank(&self, joint: &Joint) -> u8 {
        match self.function(joint) {
            Some(Signal::Ground) => 0,
            Some(signal) if signal.is_grounded() => 1,
            _ => 2,
        }
    }

    fn function_words(&self, joint: &Joint) -> String {
        self.function(joint).map_or_else(|| String::from("as built"), |signal| self.words(signal))
    }

    fn splice(&self, joint: &Joint) -> Splice {
        let net = &self.wiring.network;
        let recorded = joint.ends(net).map(|point| match net.point(point) {
            Point::End(wire, _) => net.wire(wire).size,
            Point::Terminal(..) => None,
        });
        let conductors: Vec<String> = joint.ends(net).map(|point| self.name(point)).collect();
        let pigtails: Vec<String> = joint.terminals(net).map(|point| self.name(point)).collect();
        let count = conductors.len() + pigtails.len();
        let sizes = recorded.collect::<Option<Vec<Quantity>>>().map(|sizes| by_size(sizes, pigtails.len()));
        let sizes = sizes.unwrap_or_default();
        let connector = self.connector(count, sizes.first().map(|&(_, largest)| largest));
        Splice {
            function: self.function_words(joint),
            conductors,
            pigtail: self
                .ctx
                .book
                .quantity_if("make_up.pigtail", Dimension::Length)
                .ok()
                .flatten()
                .map(|known| known.quantity),
            pigtails,
            count,
            sizes,
            connector,
        }
    }

    /// The shop's table for the largest size gives the connector for a number of conductors.
    fn connector(&self, count: usize, size: Option<Quantity>) -> Option<String> {
        let gauge = Conductor::of(size?)?.gauge()?;
        let key = format!("make_up.connector_{gauge}_awg");
        let row = self.ctx.book.row(&key, Datum::Quantity(Quantity::number(count as i64)), Match::Exact)??;
        match row.datum {
            Datum::Text(text) => Some(text.to_string()),
            _ => None,
        }
    }

    fn landing(&self, joint: &Joint) -> Option<Landing> {
        let net = &self.wiring.network;
        let terminals: Vec<PointId> = joint.terminals(net).collect();
        let (from, terminal) = match (joint.ends(net).next(), &terminals[..]) {
            (Some(end), [terminal]) => (end, *terminal),
            (None, [from, terminal]) => (*from, *terminal),
            _ => return None,
        };
        Some(Landing { function: self.function_words(joint), from: self.name(from), terminal: self.name(terminal) })
    }
}

/// Counts conductors by size, the largest first, with so many pigtails of the largest.
fn by_size(mut sizes: Vec<Quantity>, pigtails: usize) -> Vec<(usize, Quantity)> {
    sizes.sort_by_key(|size| std::cmp::Reverse(size.amount()));
    let alike = sizes.chunk_by(|a, b| a.amount() == b.amount());
    let mut counted: Vec<(usize, Quantity)> =
        alike.filter_map(|some| some.first().map(|&size| (some.len(), size))).collect();
    if let Some((count, _)) = counted.first_mut() {
        *count += pigtails;
    }
    counted
}

fn fill(ctx: &Ctx<'_>, item: ItemIndex) -> (Option<(Quantity, Quantity)>, Vec<Line>) {
    let mut both = None;
    let derived = Derived::of(ctx, |sheet| {
        let needed = box_fill(&box_contents(ctx, item)?, ctx.book, sheet)?.volume;
        let room = capacity(ctx, item, sheet)?.quantity;
        both = Some((needed, room));
        Ok(crate::model::Cell::MISSING)
    });
    (both, derived.lines)
}

/// What to do at the box, in the order of good practice: re-mark, grounds, neutrals, the rest, caps, terminals, folding.
fn steps(sheet: &MakeUpSheet) -> Vec<String> {
    let mut steps = vec![String::from("circuit off, locked out, absence of voltage verified")];
    let marked: Vec<&str> = sheet
        .conductors
        .iter()
        .filter(|conductor| conductor.re_mark)
        .map(|conductor| conductor.name.as_str())
        .collect();
    if !marked.is_empty() {
        steps.push(format!("re-mark the white conductors used as ungrounded ones: {}", marked.join(", ")));
    }
    for splice in &sheet.splices {
        let sizes = sizes_in_words(&splice.sizes);
        let with =
            splice.connector.as_ref().map_or_else(String::new, |connector| format!(" under a {connector} connector"));
        let mut text = format!(
            "splice {} ({} conductors{sizes}{with}): {}",
            splice.function,
            splice.count,
            splice.conductors.join(", ")
        );
        if !splice.pigtails.is_empty() {
            let length =
                splice.pigtail.map_or_else(String::new, |length| format!("{} ", length.print(UnitSystem::Customary)));
            text.push_str(&format!("; {length}pigtail to {}", splice.pigtails.join(", ")));
        }
        steps.push(text);
    }
    if !sheet.caps.is_empty() {
        steps.push(format!("cap singly: {}", sheet.caps.join(", ")));
    }
    steps.push(String::from("fold grounds to the back, then neutrals, then the rest; leave what lands on devices in front, folded inside the box before the board goes on"));
    for (device, terminals) in by_device(sheet) {
        steps.push(format!("land on {device}: {}", terminals.join(", ")));
    }
    steps
}

/// ` of 12 AWG`, or `, 2 of 12 AWG and 1 of 14 AWG,`.
fn sizes_in_words(sizes: &[(usize, Quantity)]) -> String {
    let print = |size: &Quantity| size.print(UnitSystem::Customary);
    match sizes {
        [] => String::new(),
        [(_, size)] => format!(" of {}", print(size)),
        several => {
            let each: Vec<String> = several.iter().map(|(count, size)| format!("{count} of {}", print(size))).collect();
            format!(", {},", each.join(" and "))
        }
    }
}

/// Terminals of each device in the order ground, neutral, ungrounded, each with what lands on it.
fn by_device(sheet: &MakeUpSheet) -> Vec<(String, Vec<String>)> {
    let mut order: Vec<String> = Vec::new();
    let mut all: BTreeMap<String, Vec<String>> = BTreeMap::new();
    let mut add = |terminal: &str, what: String| {
        let (device, screw) = terminal.rsplit_once('.').unwrap_or((terminal, ""));
        if !all.contains_key(device) {
            order.push(device.to_string());
        }
        all.entry(device.to_string()).or_default().push(format!("{screw} from {what}"));
    };
    let of = |rank: fn(&str) -> bool| {
        let splices = sheet.splices.iter().filter(move |splice| rank(&splice.function));
        let landings = sheet.landings.iter().filter(move |landing| rank(&landing.function));
        (splices, landings)
    };
    let ranks: [fn(&str) -> bool; 3] = [
        |function| function == "grounds",
        |function| function.starts_with("neutral"),
        |function| function != "grounds" && !function.starts_with("neutral"),
    ];
    for rank in ranks {
        let (splices, landings) = of(rank);
        for splice in splices {
            for terminal in &splice.pigtails {
                add(terminal, format!("the {} splice", splice.function));
            }
        }
        for landing in landings {
            add(&landing.terminal, landing.from.clone());
        }
    }
    order.into_iter().filter_map(|device| all.remove(&device).map(|terminals| (device, terminals))).collect()
}
