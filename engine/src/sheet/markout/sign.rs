//! What a device is drawn as: the general-purpose outline symbols of published electrical drawing standards.

use crate::model::ItemIndex;
use crate::model::kinds::{device, luminaire, outlet_box};
use crate::sheet::Desk;

/// The outline of a symbol.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Shape {
    /// Circle with one line: a single receptacle.
    SingleReceptacle,
    /// Circle with two lines: a duplex receptacle.
    DuplexReceptacle,
    /// Circle with two lines, half filled: a receptacle of which a switch controls a part.
    SplitReceptacle,
    /// Circle with three lines: a receptacle of another voltage or rating, as for a range.
    SpecialReceptacle,
    /// The letter S: a switch.
    Switch,
    /// Circle with four rays: a luminaire.
    Luminaire,
    /// Circle with four rays on a short line: a luminaire on the wall.
    WallLuminaire,
    /// Circle in a square: a recessed luminaire.
    Recessed,
    /// Circle with blades: a ceiling fan.
    CeilingFan,
    /// Circle with a letter: junction, exhaust fan, alarm, thermostat, doorbell and so on.
    Lettered,
    /// Square with a letter: a disconnect.
    Disconnect,
}

/// A symbol with the letters beside or in it.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Sign {
    /// Its outline.
    pub shape: Shape,
    /// Letters that go with it: `3`, `GFCI`, `WP`, `SD`.
    pub letters: String,
    /// What it stands for, in words.
    pub meaning: String,
}

impl Sign {
    fn new(shape: Shape, letters: impl Into<String>, meaning: impl Into<String>) -> Sign {
        Sign { shape, letters: letters.into(), meaning: meaning.into() }
    }
}

/// Returns the symbols of what is in a box.
pub(super) fn signs(desk: &Desk<'_>, item: ItemIndex) -> Vec<Sign> {
    let job = desk.job;
    let mut signs: Vec<Sign> = job.links(item, outlet_box::DEVICES).filter_map(|it| of_device(desk, it)).collect();
    signs.extend(job.links(item, outlet_box::LUMINAIRES).filter_map(|it| of_luminaire(desk, it)));
    if signs.is_empty() {
        let appliance = job.text(item, outlet_box::PURPOSE) == Some("appliance");
        signs.push(match appliance {
            true => Sign::new(Shape::Lettered, "A", "outlet for an appliance, wired direct"),
            false => Sign::new(Shape::Lettered, "J", "junction box, or box without a device yet"),
        });
    }
    signs
}

fn of_device(desk: &Desk<'_>, item: ItemIndex) -> Option<Sign> {
    let job = desk.job;
    Some(match job.text(item, device::KIND)? {
        "receptacle" => receptacle(desk, item),
        "switch" => match job.text(item, device::ACTION) {
            Some("double_pole") => Sign::new(Shape::Switch, "2", "double-pole switch"),
            Some("three_way") => Sign::new(Shape::Switch, "3", "three-way switch"),
            Some("four_way") => Sign::new(Shape::Switch, "4", "four-way switch"),
            _ => Sign::new(Shape::Switch, "", "switch"),
        },
        "dimmer" => match job.text(item, device::ACTION) {
            Some("three_way") => Sign::new(Shape::Switch, "D3", "dimmer, three-way"),
            _ => Sign::new(Shape::Switch, "D", "dimmer"),
        },
        "fan_control" => Sign::new(Shape::Switch, "F", "fan control"),
        "timer" => Sign::new(Shape::Switch, "T", "timer"),
        "occupancy_sensor" => Sign::new(Shape::Switch, "OS", "occupancy sensor"),
        "thermostat" => Sign::new(Shape::Lettered, "T", "thermostat"),
        "disconnect" => Sign::new(Shape::Disconnect, "D", "disconnect"),
        "smoke_alarm" => Sign::new(Shape::Lettered, "SD", "smoke alarm"),
        "co_alarm" => Sign::new(Shape::Lettered, "CO", "carbon monoxide alarm"),
        "doorbell" => Sign::new(Shape::Lettered, "DB", "doorbell"),
        _ => Sign::new(Shape::Lettered, "B", "blank cover"),
    })
}

fn receptacle(desk: &Desk<'_>, item: ItemIndex) -> Sign {
    let job = desk.job;
    let flag = |field| job.flag(item, field) == Some(true);
    let contacts = desk.count(item, device::CONTACTS);
    // A receptacle between the lines, or for more than a general circuit gives, has the symbol of a special outlet.
    let configuration = desk.special_configuration(item);
    let special = configuration.is_some()
        || job.quantity(item, device::VOLTAGE).is_some_and(|volts| desk.is_special_voltage(volts));
    let (shape, name) = match (special, job.text(item, device::SWITCHED), contacts) {
        (true, ..) => (Shape::SpecialReceptacle, "special-purpose receptacle"),
        (_, Some("half" | "whole"), _) => (Shape::SplitReceptacle, "receptacle, switched"),
        (_, _, Some(1)) => (Shape::SingleReceptacle, "single receptacle"),
        _ => (Shape::DuplexReceptacle, "duplex receptacle"),
    };
    let mut letters: Vec<&str> = configuration.into_iter().collect();
    let mut meaning = name.to_owned();
    if let Some(configuration) = configuration {
        meaning.push_str(", ");
        meaning.push_str(configuration);
    }
    for (is, short, long) in [
        (flag(device::GFCI), "GFCI", ", GFCI"),
        (flag(device::AFCI), "AFCI", ", AFCI"),
        (flag(device::WEATHER_RESISTANT), "WP", ", weatherproof"),
    ] {
        if is {
            letters.push(short);
            meaning.push_str(long);
        }
    }
    Sign::new(shape, letters.join(" "), meaning)
}

fn of_luminaire(desk: &Desk<'_>, item: ItemIndex) -> Option<Sign> {
    Some(match desk.job.text(item, luminaire::KIND)? {
        "wall" | "under_cabinet" => Sign::new(Shape::WallLuminaire, "", "luminaire on the wall"),
        "recessed" => Sign::new(Shape::Recessed, "", "recessed luminaire"),
        "ceiling_fan" => Sign::new(Shape::CeilingFan, "", "ceiling fan"),
        "exhaust_fan" => Sign::new(Shape::Lettered, "EF", "exhaust fan"),
        "lampholder" => Sign::new(Shape::Lettered, "L", "lampholder"),
        "pendant" => Sign::new(Shape::Luminaire, "P", "pendant"),
        "chandelier" => Sign::new(Shape::Luminaire, "CH", "chandelier"),
        "track" => Sign::new(Shape::Luminaire, "TR", "track light"),
        _ => Sign::new(Shape::Luminaire, "", "luminaire"),
    })
}
