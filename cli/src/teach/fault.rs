//! A fault in the wiring of a box: planting it in a make-up, and sealing it so that nobody reads it by accident.

use serde::{Deserialize, Serialize};
use storystick_engine::model::Job;
use storystick_engine::wiring::{self, Joint, MakeUp, Network, Place, PlaceId, PointId};

use super::papers::Change;
use super::seed::Seed;

/// The file of a sealed fault in the folder of a drill.
pub(crate) const FAULT_FILE: &str = "fault.sealed";

/// A fault, as far as the wiring goes.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Wrong {
    /// Id of the box.
    #[serde(rename = "box")]
    pub(crate) place: String,
    /// What is done.
    pub(crate) change: Change,
    /// To which conductors or terminals, as job files name them.
    pub(crate) points: Vec<String>,
}

/// Returns the points of a name in a place, or anywhere.
pub(crate) fn points(job: &Job, net: &Network, place: Option<PlaceId>, wanted: &str) -> Vec<PointId> {
    let of = |place: &Place| -> Vec<PointId> {
        place.points.iter().copied().filter(|&point| wiring::name(job, net, point) == wanted).collect()
    };
    match place {
        Some(place) => of(net.place(place)),
        None => net.places().flat_map(|(_, place)| of(place)).collect(),
    }
}

/// Returns the place of a box or panel by its id.
pub(crate) fn place_of(job: &Job, net: &Network, id: &str) -> Option<PlaceId> {
    net.find_place(job.find(id)?)
}

impl Wrong {
    /// Returns its place and points in a network; nothing where one of them is not there.
    pub(crate) fn found(&self, job: &Job, net: &Network) -> Option<(PlaceId, Vec<PointId>)> {
        let place = place_of(job, net, &self.place)?;
        let of = |name: &String| points(job, net, Some(place), name).first().copied();
        Some((place, self.points.iter().map(of).collect::<Option<Vec<PointId>>>()?))
    }
}

/// Returns a make-up with a change made to points of it. What touches is joined; `touching` says so where that is kept apart.
pub(crate) fn changed(makeup: &MakeUp, change: Change, points: &[PointId]) -> MakeUp {
    let mut makeup = makeup.clone();
    makeup.as_built = true;
    match (change, points) {
        (Change::Open, points) => {
            for joint in &mut makeup.joints {
                joint.points.retain(|point| !points.contains(point));
            }
            makeup.joints.retain(|joint| joint.points.len() > 1);
        }
        (Change::Swap, &[a, b]) => {
            for point in makeup.joints.iter_mut().flat_map(|joint| &mut joint.points) {
                *point = match *point {
                    it if it == a => b,
                    it if it == b => a,
                    it => it,
                };
            }
        }
        (Change::Touch, points) => makeup.joints.push(Joint {
            function: None,
            points: points.to_vec(),
            span: storystick_engine::source::Span::NONE,
        }),
        (Change::Swap, _) => {}
    }
    makeup
}

/// A sealed fault, as its file has it.
#[derive(Debug, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
struct Sealed {
    drill: u64,
    sealed: String,
}

/// Kept apart from the seeds of drills, which people choose.
const SALT: u64 = 0x5ea1_ed0f_ab0c_5eed;

fn mixed(bytes: impl Iterator<Item = u8>, drill: u64) -> Vec<u8> {
    let mut chance = Seed::new(drill ^ SALT);
    bytes.map(|byte| byte ^ chance.below(256) as u8).collect()
}

/// Returns the file of a sealed fault: kept from a glance, not from somebody who takes the program apart.
///
/// # Errors
/// When it can't be written as TOML.
pub(crate) fn seal(wrong: &Wrong, drill: u64) -> Result<String, toml::ser::Error> {
    let text = toml::to_string(wrong)?;
    let sealed = mixed(text.bytes(), drill).iter().map(|byte| format!("{byte:02x}")).collect();
    let body = toml::to_string(&Sealed { drill, sealed })?;
    Ok(format!("# The fault of a drill, sealed. `storystick meter` takes readings on it.\n{body}"))
}

/// Reads the file of a sealed fault: the number of the drill, and the fault.
///
/// # Errors
/// What the user should read.
pub(crate) fn open(name: &str, text: &str) -> Result<(u64, Wrong), String> {
    let sealed: Sealed = super::read(name, text)?;
    let broken = || format!("`{name}` is not as the drill made it");
    let digits: Vec<char> = sealed.sealed.chars().collect();
    let byte = |pair: &[char]| u8::from_str_radix(&pair.iter().collect::<String>(), 16).ok();
    let bytes: Option<Vec<u8>> = digits.chunks(2).map(byte).collect();
    let text = String::from_utf8(mixed(bytes.ok_or_else(broken)?.into_iter(), sealed.drill)).map_err(|_| broken())?;
    Ok((sealed.drill, toml::from_str(&text).map_err(|_| broken())?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sealed_fault_opens_again_and_cannot_be_read_as_it_stands() {
        let wrong = Wrong { place: "B1".into(), change: Change::Open, points: vec!["C1/to.white".into()] };
        let text = seal(&wrong, 7).unwrap();
        assert!(!text.contains("B1") && !text.contains("white"), "{text}");
        assert_eq!(open("fault.sealed", &text).unwrap(), (7, wrong));
        assert!(open("fault.sealed", &text.replace("drill = 7", "drill = 8")).is_err());
        assert!(open("fault.sealed", "drill = 1\nsealed = \"0g\"\n").is_err());
    }
}
