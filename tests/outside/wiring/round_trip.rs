//! The demo dwelling, written as built and read back; and a thousand seeded mistakes in it.

use std::collections::{BTreeMap, BTreeSet};

use super::edit::{as_built, drop_point, move_point, swap};
use super::generate::Seeded;
use super::{found, read};
use storystick_engine::wiring::follow::{Joined, Nets};
use storystick_engine::wiring::{Colour, MakeUp, Network, PlaceKind, Point, PointId, Terminal, UnitKind, Wiring};

const DEMO: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../examples/alder-row/dwelling.toml");

fn demo() -> String {
    std::fs::read_to_string(DEMO).unwrap()
}

#[test]
fn the_plan_of_the_demo_dwelling_written_as_built_gives_no_finding_of_its_own() {
    let before = demo();
    let job = read(&before);
    let plan = Wiring::of(&job);
    assert_eq!(plan.plan.gaps, []);
    let boxes: Vec<_> = plan
        .makeups
        .iter()
        .filter(|makeup| {
            plan.network.place(makeup.place).kind == PlaceKind::Box
                && !(makeup.joints.is_empty() && makeup.caps.is_empty())
        })
        .collect();
    let after = boxes.iter().fold(before, |text, makeup| as_built(&text, &job, &plan.network, makeup));
    let built_job = read(&after);
    let built = Wiring::of(&built_job);
    assert_eq!(built.problems, []);
    // What is wrong on the plan itself (a white that was not re-marked) is wrong as built too; nothing else is.
    assert_eq!(found(&built_job, &built), found(&job, &plan));
    assert!(found(&job, &plan).iter().all(|fault| fault.starts_with("white_not_marked")), "{:?}", found(&job, &plan));
    assert_eq!(storystick_engine::wiring::compare(&built_job, &built.network, &built.plan, &built.makeups), []);
    assert!(boxes.len() > 100, "{}", boxes.len());
}

/// A pair of terminals that a switch is blind to: the travellers of a three-way, either pair of a four-way.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Side {
    In,
    Out,
}

/// Two make-ups are the same in function if the terminals fall into the same nets: then the same things are joined in every
/// position of every switch, with every breaker and GFCI. Conductors count by what runs in a cable: each function with its colour.
/// Terminals that a device is blind to are named alike: the screws of a single-pole switch, the travellers of a three-way.
fn function(net: &Network, makeups: &[MakeUp], swapped: &BTreeSet<(u32, Side)>) -> Vec<Vec<String>> {
    let nets = Nets::of(net, makeups, Joined::default());
    let mut all: BTreeMap<usize, Vec<String>> = BTreeMap::new();
    for (at, (point, _)) in net.points.iter().enumerate() {
        let id = PointId(at as u32);
        let name = match *point {
            Point::Terminal(unit, terminal) => {
                let turned = |side| swapped.contains(&(unit.0, side));
                let terminal = match (net.unit(unit).kind, terminal) {
                    // A pole joins its two screws or does not: it has no direction.
                    (UnitKind::SinglePole, Terminal::Brass2) => Terminal::Brass,
                    // A load across both legs has no direction either.
                    (_, Terminal::Hot2) => Terminal::Hot,
                    (UnitKind::DoublePole, Terminal::Load) => Terminal::Line,
                    (UnitKind::DoublePole, Terminal::Load2) => Terminal::Line2,
                    (UnitKind::ThreeWay, Terminal::Traveller) if turned(Side::In) => Terminal::Traveller2,
                    (UnitKind::ThreeWay, Terminal::Traveller2) if turned(Side::In) => Terminal::Traveller,
                    (UnitKind::FourWay, Terminal::In) if turned(Side::In) => Terminal::In2,
                    (UnitKind::FourWay, Terminal::In2) if turned(Side::In) => Terminal::In,
                    (UnitKind::FourWay, Terminal::Out) if turned(Side::Out) => Terminal::Out2,
                    (UnitKind::FourWay, Terminal::Out2) if turned(Side::Out) => Terminal::Out,
                    _ => terminal,
                };
                format!("{} {}", unit.0, terminal.word())
            }
            Point::End(wire, 0) => {
                let wire = net.wire(wire);
                let white =
                    if matches!(wire.colour, Colour::White | Colour::Bare) { wire.colour.word() } else { "dark" };
                format!("cable {} {white}", wire.run.0)
            }
            Point::End(..) => continue,
        };
        all.entry(nets.net(id)).or_default().push(name);
    }
    let mut nets: Vec<Vec<String>> = all
        .into_values()
        .map(|mut names| {
            names.sort();
            names
        })
        // A conductor that reaches nothing is the same wherever it lies.
        .filter(|names| names.iter().any(|name| !name.starts_with("cable")))
        .collect();
    nets.sort();
    nets
}

/// Whether two make-ups are the same in function, whichever way round the blind terminals of the units in the box are read.
fn equivalent(wiring: &Wiring, base: &[MakeUp], changed: &[MakeUp], units: &[(u32, Side)]) -> bool {
    let wanted = function(&wiring.network, base, &BTreeSet::new());
    (0..1u32 << units.len().min(6)).any(|bits| {
        let turned = units.iter().enumerate().filter(|(at, _)| bits >> at & 1 == 1).map(|(_, unit)| *unit).collect();
        function(&wiring.network, changed, &turned) == wanted
    })
}

#[test]
fn a_thousand_seeded_mistakes_are_found_or_change_nothing() {
    let job = read(&demo());
    let wiring = Wiring::of(&job);
    let net = &wiring.network;
    let base = found(&job, &wiring);
    let mut random = Seeded::new(20_230_510);
    let boxes: Vec<usize> = wiring
        .makeups
        .iter()
        .filter(|makeup| net.place(makeup.place).kind == PlaceKind::Box && makeup.joints.len() > 1)
        .map(|makeup| makeup.place.at())
        .collect();
    let mut count: BTreeMap<&str, [usize; 3]> = BTreeMap::new();
    let mut missed = Vec::new();
    let mut made = 0;
    while made < 1000 {
        let mut makeups = wiring.makeups.clone();
        let makeup = &mut makeups[*random.pick(&boxes)];
        makeup.as_built = true;
        let before = makeup.clone();
        let points: Vec<PointId> =
            makeup.joints.iter().flat_map(|joint| joint.points.clone()).chain(makeup.caps.clone()).collect();
        let (a, b) = (*random.pick(&points), *random.pick(&points));
        let is_end = |point: PointId| matches!(net.point(point), Point::End(..));
        let kind = match random.below(4) {
            0 if is_end(a) && is_end(b) => {
                swap(makeup, a, b);
                "two conductors swapped"
            }
            1 => {
                drop_point(makeup, a);
                "left out of its splice or off its terminal"
            }
            2 if !is_end(b) => {
                let terminals =
                    net.place(makeup.place).points.iter().copied().filter(|&point| !is_end(point)).collect::<Vec<_>>();
                let other = *random.pick(&terminals);
                swap(makeup, b, other);
                "landed on the wrong terminal"
            }
            3 if is_end(a) => {
                move_point(makeup, a, b);
                "in the wrong splice or cable"
            }
            _ => continue,
        };
        makeup.joints.retain(|joint| !joint.points.is_empty());
        if *makeup == before {
            continue;
        }
        let units: Vec<(u32, Side)> = before
            .joints
            .iter()
            .flat_map(|joint| &joint.points)
            .flat_map(|&point| match net.point(point) {
                Point::Terminal(unit, _) if net.unit(unit).kind == UnitKind::FourWay => {
                    vec![(unit.0, Side::In), (unit.0, Side::Out)]
                }
                Point::Terminal(unit, _) if net.unit(unit).is_switch() => vec![(unit.0, Side::In)],
                _ => Vec::new(),
            })
            .collect::<BTreeSet<_>>()
            .into_iter()
            .collect();
        made += 1;
        let followed = wiring.follow_with(&job, &makeups);
        let now: Vec<String> =
            followed.faults.iter().map(|fault| format!("{} {}", fault.kind.word(), job.id(fault.item))).collect();
        let slot = count.entry(kind).or_default();
        if now != base {
            slot[0] += 1;
        } else if equivalent(&wiring, &wiring.makeups, &makeups, &units) {
            slot[1] += 1;
        } else {
            slot[2] += 1;
            let names = |point| storystick_engine::wiring::name(&job, net, point);
            missed.push(format!("{kind}: {} / {} in {}", names(a), names(b), job.id(net.place(before.place).item)));
        }
    }
    for (kind, [found, same, missed]) in &count {
        println!("{kind}: {found} found, {same} the same in function, {missed} missed");
    }
    let total = |at: usize| count.values().map(|slot| slot[at]).sum::<usize>();
    println!("of {made} mistakes {} found, {} the same in function, {} missed", total(0), total(1), total(2));
    assert!(missed.is_empty(), "{} missed:\n{}", missed.len(), missed.join("\n"));
    assert!(total(0) * 10 >= made * 7, "most mistakes matter: {}", total(0));
}
