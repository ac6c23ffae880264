//! The network of a dwelling: runs with their conductors, devices and loads with their terminals, breakers and bars.
//!
//! A [`Point`] is a place where something can be joined: the end of a conductor, or a terminal. What is joined to what in a
//! box is no part of the network; it is the box's make-up.

use crate::model::ItemIndex;
use crate::quantity::Quantity;

macro_rules! ids {
    ($($(#[$doc:meta])* $name:ident;)+) => { $(
        $(#[$doc])*
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
        pub struct $name(pub u32);
        impl $name {
            /// Returns the number as an index.
            pub fn at(self) -> usize {
                self.0 as usize
            }
        }
    )+ };
}

ids! {
    /// A box, panel or wiring compartment, by its number in a [`Network`].
    PlaceId;
    /// A cable, or the conductors of one circuit in a raceway.
    RunId;
    /// One conductor of a run.
    WireId;
    /// A device, luminaire, appliance, breaker or metal box.
    UnitId;
    /// An end of a conductor, or a terminal.
    PointId;
}

/// Colour of a conductor's insulation, or none.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Colour {
    /// Black.
    Black,
    /// White (or gray): the grounded conductor, unless it is re-marked.
    White,
    /// Red.
    Red,
    /// Blue.
    Blue,
    /// Yellow, in a raceway only.
    Yellow,
    /// Orange, in a raceway only.
    Orange,
    /// Brown, in a raceway only.
    Brown,
    /// Bare or green: the equipment grounding conductor.
    Bare,
}

impl Colour {
    const ALL: [(Colour, &'static str); 8] = [
        (Colour::Black, "black"),
        (Colour::White, "white"),
        (Colour::Red, "red"),
        (Colour::Blue, "blue"),
        (Colour::Yellow, "yellow"),
        (Colour::Orange, "orange"),
        (Colour::Brown, "brown"),
        (Colour::Bare, "bare"),
    ];

    /// Returns the colour's word.
    pub fn word(self) -> &'static str {
        Colour::ALL[self as usize].1
    }

    /// Returns the colours of a cable's insulated conductors in the order of manufacture (ICEA S-73-532, method 1 for power
    /// cable begins alike; black-white, black-white-red, black-white-red-blue are universal in building cable).
    pub fn insulated(count: usize) -> Vec<Colour> {
        const ORDER: [Colour; 7] =
            [Colour::Black, Colour::White, Colour::Red, Colour::Blue, Colour::Yellow, Colour::Orange, Colour::Brown];
        // More than seven of one circuit repeat brown: no dwelling circuit has them, and none may be lost from count.
        (0..count).map(|at| ORDER.get(at).copied().unwrap_or(Colour::Brown)).collect()
    }
}

/// A terminal or lead by its place on the device.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Terminal {
    /// Brass screw: ungrounded; upper half of a receptacle, one side of a switch.
    Brass,
    /// Second brass screw: lower half of a receptacle, other side of a switch.
    Brass2,
    /// Silver screw: grounded.
    Silver,
    /// Second silver screw.
    Silver2,
    /// Green screw.
    Green,
    /// Ungrounded line terminal of a GFCI.
    LineHot,
    /// Grounded line terminal of a GFCI.
    LineNeutral,
    /// Ungrounded load terminal of a GFCI.
    LoadHot,
    /// Grounded load terminal of a GFCI.
    LoadNeutral,
    /// Common of a three-way switch.
    Common,
    /// First traveller terminal of a three-way switch.
    Traveller,
    /// Second traveller terminal.
    Traveller2,
    /// First of the one traveller pair of a four-way switch.
    In,
    /// Second of that pair.
    In2,
    /// First of the other pair.
    Out,
    /// Second of the other pair.
    Out2,
    /// Line side of the first pole.
    Line,
    /// Load side of the first pole.
    Load,
    /// Line side of the second pole.
    Line2,
    /// Load side of the second pole.
    Load2,
    /// Ungrounded lead or terminal of a load.
    Hot,
    /// Second ungrounded lead or terminal of a load.
    Hot2,
    /// Grounded lead or terminal of a load; at a breaker its circuit's place on the neutral bar.
    Neutral,
    /// Equipment-grounding lead of a load; at a breaker its circuit's place on the ground bar.
    Ground,
    /// Interconnect lead of an alarm.
    Signal,
    /// A breaker's terminal.
    Breaker,
    /// Terminal of a breaker's second pole.
    Breaker2,
    /// The grounding screw of a metal box.
    BoxScrew,
}

impl Terminal {
    const ALL: [(Terminal, &'static str); 28] = [
        (Terminal::Brass, "brass"),
        (Terminal::Brass2, "brass_2"),
        (Terminal::Silver, "silver"),
        (Terminal::Silver2, "silver_2"),
        (Terminal::Green, "green"),
        (Terminal::LineHot, "line_hot"),
        (Terminal::LineNeutral, "line_neutral"),
        (Terminal::LoadHot, "load_hot"),
        (Terminal::LoadNeutral, "load_neutral"),
        (Terminal::Common, "common"),
        (Terminal::Traveller, "traveller"),
        (Terminal::Traveller2, "traveller_2"),
        (Terminal::In, "in"),
        (Terminal::In2, "in_2"),
        (Terminal::Out, "out"),
        (Terminal::Out2, "out_2"),
        (Terminal::Line, "line"),
        (Terminal::Load, "load"),
        (Terminal::Line2, "line_2"),
        (Terminal::Load2, "load_2"),
        (Terminal::Hot, "hot"),
        (Terminal::Hot2, "hot_2"),
        (Terminal::Neutral, "neutral"),
        (Terminal::Ground, "ground"),
        (Terminal::Signal, "signal"),
        (Terminal::Breaker, "breaker"),
        (Terminal::Breaker2, "breaker_2"),
        (Terminal::BoxScrew, "screw"),
    ];

    /// Returns the terminal's word in job files and on papers.
    pub fn word(self) -> &'static str {
        Terminal::ALL[self as usize].1
    }

    /// Returns whether it is for the equipment grounding conductor.
    pub fn is_grounding(self) -> bool {
        matches!(self, Terminal::Green | Terminal::Ground | Terminal::BoxScrew)
    }

    /// Returns whether it is for the grounded conductor.
    pub fn is_grounded(self) -> bool {
        matches!(
            self,
            Terminal::Silver | Terminal::Silver2 | Terminal::LineNeutral | Terminal::LoadNeutral | Terminal::Neutral
        )
    }
}

/// What a place is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum PlaceKind {
    /// A box.
    Box,
    /// A panel.
    Panel,
    /// The wiring compartment of a luminaire or appliance that a cable runs straight to.
    Compartment,
}

/// Where conductors end and are joined.
#[derive(Clone, Debug)]
pub struct Place {
    /// The box, panel, luminaire or appliance.
    pub item: ItemIndex,
    /// What it is.
    pub kind: PlaceKind,
    /// Ends of conductors and terminals in it.
    pub points: Vec<PointId>,
}

/// A cable, or the conductors of one circuit in a raceway.
#[derive(Clone, Debug)]
pub struct Run {
    /// The cable or raceway.
    pub item: ItemIndex,
    /// The circuits it carries.
    pub circuits: Vec<ItemIndex>,
    /// Where it begins and ends.
    pub ends: [PlaceId; 2],
    /// The items that stand for its ends in a job file: cable ends, or the raceway twice.
    pub end_items: [ItemIndex; 2],
    /// Its conductors, the grounding one last.
    pub wires: Vec<WireId>,
    /// Whether a metal raceway itself is the grounding path.
    pub is_raceway: bool,
}

/// One conductor.
#[derive(Clone, Debug)]
pub struct Wire {
    /// Its run.
    pub run: RunId,
    /// Its colour.
    pub colour: Colour,
    /// Its ends.
    pub ends: [PointId; 2],
    /// Its size, where it is recorded.
    pub size: Option<Quantity>,
    /// Whether it is stranded rather than solid, where it is recorded.
    pub stranded: Option<bool>,
}

/// What a conductor is made as.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Core {
    /// Its size, where it is recorded.
    pub(super) size: Option<Quantity>,
    /// Whether it is stranded, where it is recorded.
    pub(super) stranded: Option<bool>,
}

/// What a unit is, as far as current is concerned.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum UnitKind {
    /// A breaker with its places on the bars.
    Breaker,
    /// A receptacle; `half`: the tab between its brass screws is taken off.
    Receptacle {
        /// Whether the tab is off.
        half: bool,
    },
    /// A receptacle across both ungrounded conductors, with or without a neutral.
    Receptacle240,
    /// A GFCI device, with or without a face to plug into.
    Gfci {
        /// Whether something can be plugged into it.
        face: bool,
    },
    /// A switch, dimmer or other control that opens one conductor.
    SinglePole,
    /// A switch that opens two conductors together.
    DoublePole,
    /// A three-way switch.
    ThreeWay,
    /// A four-way switch.
    FourWay,
    /// A luminaire, alarm or appliance between one ungrounded conductor and the neutral.
    Load,
    /// An appliance across both ungrounded conductors, with or without a neutral.
    Load240,
    /// A metal box.
    MetalBox,
}

/// Something with terminals.
#[derive(Clone, Debug)]
pub struct Unit {
    /// The device, luminaire, appliance, circuit (for its breaker) or box.
    pub item: ItemIndex,
    /// What it is.
    pub kind: UnitKind,
    /// Where it is.
    pub place: PlaceId,
    /// Its circuit.
    pub circuit: Option<ItemIndex>,
    /// Its terminals.
    pub terminals: Vec<(Terminal, PointId)>,
}

impl Unit {
    /// Returns the point of a terminal.
    pub fn terminal(&self, name: Terminal) -> Option<PointId> {
        self.terminals.iter().find(|(terminal, _)| *terminal == name).map(|(_, point)| *point)
    }

    /// Returns whether it has positions to set by hand.
    pub fn is_switch(&self) -> bool {
        matches!(self.kind, UnitKind::SinglePole | UnitKind::DoublePole | UnitKind::ThreeWay | UnitKind::FourWay)
    }
}

/// What a point is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Point {
    /// The end of a conductor: 0 at the run's first place, 1 at its second.
    End(WireId, u8),
    /// A terminal.
    Terminal(UnitId, Terminal),
}

/// What joins two points inside a unit.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Element {
    /// A tab or strap: always joined.
    Tie(PointId, PointId),
    /// Joined in one position of a switch (0 or 1).
    Contact(PointId, PointId, u8),
    /// Joined while a GFCI has not tripped.
    Trip(PointId, PointId),
    /// A load: current flows between them when their potentials differ. The first is the one meant to be ungrounded.
    Load(PointId, PointId),
}

/// An element with its unit.
#[derive(Clone, Copy, Debug)]
pub struct UnitElement {
    /// The unit.
    pub unit: UnitId,
    /// The element.
    pub element: Element,
}

/// Where potential comes from.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Source {
    /// A pole of a circuit's breaker.
    Line {
        /// The circuit.
        circuit: ItemIndex,
        /// Its pole: 0 or 1.
        pole: u8,
        /// The leg of the service: 0 or 1.
        leg: u8,
    },
    /// The neutral bar, at the place of a circuit.
    Neutral(ItemIndex),
    /// The ground bar.
    Ground,
}

/// The whole network.
#[derive(Clone, Debug, Default)]
pub struct Network {
    /// Places.
    pub places: Vec<Place>,
    /// Runs.
    pub runs: Vec<Run>,
    /// Conductors.
    pub wires: Vec<Wire>,
    /// Units.
    pub units: Vec<Unit>,
    /// Points with their places.
    pub points: Vec<(Point, PlaceId)>,
    /// What is inside the units.
    pub elements: Vec<UnitElement>,
    /// Terminals that potential comes from.
    pub sources: Vec<(PointId, Source)>,
    /// For each circuit of a multiwire branch circuit, the one that stands for its neutral; circuits not in it stand for themselves.
    pub neutral_of: std::collections::BTreeMap<ItemIndex, ItemIndex>,
}

impl Network {
    /// Returns a place.
    pub fn place(&self, id: PlaceId) -> &Place {
        &self.places[id.at()]
    }

    /// Returns a run.
    pub fn run(&self, id: RunId) -> &Run {
        &self.runs[id.at()]
    }

    /// Returns a conductor.
    pub fn wire(&self, id: WireId) -> &Wire {
        &self.wires[id.at()]
    }

    /// Returns a unit.
    pub fn unit(&self, id: UnitId) -> &Unit {
        &self.units[id.at()]
    }

    /// Returns all points.
    pub fn points(&self) -> impl Iterator<Item = (PointId, Point)> + '_ {
        self.points.iter().enumerate().map(|(at, (point, _))| (PointId(at as u32), *point))
    }

    /// Returns what a point is.
    pub fn point(&self, id: PointId) -> Point {
        self.points[id.at()].0
    }

    /// Returns the place of a point.
    pub fn place_of(&self, id: PointId) -> PlaceId {
        self.points[id.at()].1
    }

    /// Returns the colour of a conductor's end; nothing for a terminal.
    pub fn colour(&self, id: PointId) -> Option<Colour> {
        match self.point(id) {
            Point::End(wire, _) => Some(self.wire(wire).colour),
            Point::Terminal(..) => None,
        }
    }

    /// Returns the circuit that stands for a circuit's neutral.
    pub fn neutral_owner(&self, circuit: ItemIndex) -> ItemIndex {
        self.neutral_of.get(&circuit).copied().unwrap_or(circuit)
    }

    /// Returns units with their numbers.
    pub fn units(&self) -> impl Iterator<Item = (UnitId, &Unit)> {
        self.units.iter().enumerate().map(|(at, unit)| (UnitId(at as u32), unit))
    }

    /// Returns places with their numbers.
    pub fn places(&self) -> impl Iterator<Item = (PlaceId, &Place)> {
        self.places.iter().enumerate().map(|(at, place)| (PlaceId(at as u32), place))
    }

    /// Returns runs with their numbers.
    pub fn runs(&self) -> impl Iterator<Item = (RunId, &Run)> {
        self.runs.iter().enumerate().map(|(at, run)| (RunId(at as u32), run))
    }

    /// Returns the place of an item, if conductors end there.
    pub fn find_place(&self, item: ItemIndex) -> Option<PlaceId> {
        self.places().find(|(_, place)| place.item == item).map(|(id, _)| id)
    }

    /// Returns the unit of an item.
    pub fn find_unit(&self, item: ItemIndex) -> Option<UnitId> {
        self.units().find(|(_, unit)| unit.item == item && unit.kind != UnitKind::MetalBox).map(|(id, _)| id)
    }

    pub(super) fn add_place(&mut self, item: ItemIndex, kind: PlaceKind) -> PlaceId {
        self.places.push(Place { item, kind, points: Vec::new() });
        PlaceId(self.places.len() as u32 - 1)
    }

    pub(super) fn add_point(&mut self, point: Point, place: PlaceId) -> PointId {
        let id = PointId(self.points.len() as u32);
        self.points.push((point, place));
        self.places[place.at()].points.push(id);
        id
    }

    /// Adds a run with conductors of these colours and sizes.
    pub(super) fn add_run(&mut self, mut run: Run, wires: &[(Colour, Core)]) -> RunId {
        let id = RunId(self.runs.len() as u32);
        for &(colour, Core { size, stranded }) in wires {
            let wire = WireId(self.wires.len() as u32);
            let ends = [0, 1].map(|side| self.add_point(Point::End(wire, side), run.ends[side as usize]));
            self.wires.push(Wire { run: id, colour, ends, size, stranded });
            run.wires.push(wire);
        }
        self.runs.push(run);
        id
    }
}
