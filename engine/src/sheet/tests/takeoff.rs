//! The take-off is the sum over the job: of generated jobs, and of one small one counted by hand.

use std::collections::BTreeMap;

use proptest::prelude::*;

use super::support::{Opened, site};
use crate::sheet::{Amount, Group, TakeOff, take_off};

const FOOT: i64 = 304_800_000;

/// A run of a generated job: make, feet, whether from the panel, and which box it goes to.
type Run = (bool, i64, bool, usize);

fn job(rooms: usize, boxes: &[(usize, bool)], runs: &[Run]) -> String {
    let mut text = site(true);
    text.push_str("[[panel]]\nid = \"P\"\n[[circuit]]\nid = \"1\"\nrating = \"20 A\"\n");
    for room in 0..rooms {
        text.push_str(&format!(
            "[[room]]\nid = \"room-{room}\"\nkind = \"bedroom\"\nlength = \"40 ft\"\nwidth = \"12 ft\"\n"
        ));
    }
    for (at, (room, switch)) in boxes.iter().enumerate() {
        let purpose = if *switch { "switch" } else { "receptacle" };
        let room = room % rooms;
        text.push_str(&format!(
            "[[box]]\nid = \"B{at}\"\nroom = \"room-{room}\"\nwall = \"north\"\nalong = \"{} in\"\npurpose = \"{purpose}\"\nvolume = \"18 in3\"\n",
            6 + at * 8
        ));
        text.push_str(&format!("[[device]]\nid = \"D{at}\"\nbox = \"B{at}\"\ncircuit = \"1\"\nkind = \"{purpose}\"\n"));
    }
    for (at, (heavy, feet, home, to)) in runs.iter().enumerate() {
        let make = if *heavy { "12/2" } else { "14/2" };
        let to = to % boxes.len();
        let from = if *home { String::from("P") } else { format!("B{}", (to + 1) % boxes.len()) };
        text.push_str(&format!(
            "[[cable]]\nid = \"C{at}\"\nmake = \"{make}\"\ncircuit = \"1\"\nlength = \"{feet} ft\"\nfrom = \"{from}\"\nto = \"B{to}\"\n"
        ));
    }
    text
}

fn count(paper: &TakeOff, group: Group, beginning: &str) -> i64 {
    let lines = paper.lines.iter().filter(|line| line.group == group && line.what.starts_with(beginning));
    lines
        .map(|line| match line.net {
            Amount::Count(count) => count,
            Amount::Length(length) => length.amount(),
        })
        .sum()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn totals_equal_sums_over_the_job(
        rooms in 1_usize..4,
        boxes in prop::collection::vec((0_usize..4, any::<bool>()), 2..20),
        runs in prop::collection::vec((any::<bool>(), 1_i64..90, any::<bool>(), 0_usize..20), 0..25),
    ) {
        let opened = Opened::new(&job(rooms, &boxes, &runs));
        let paper = take_off(&opened.desk());
        // Reckoned anew from what was generated: 1 ft of slack at a box, 3 ft at the panel, as the shop's book has it.
        let sum = |heavy: bool| -> i64 {
            let own = runs.iter().filter(|run| run.0 == heavy);
            own.map(|run| (run.1 + if run.2 { 4 } else { 2 }) * FOOT).sum()
        };
        prop_assert_eq!(count(&paper, Group::Cable, "NM 12/2"), sum(true));
        prop_assert_eq!(count(&paper, Group::Cable, "NM 14/2"), sum(false));
        prop_assert_eq!(count(&paper, Group::Boxes, ""), boxes.len() as i64);
        prop_assert_eq!(count(&paper, Group::Devices, "switch"), boxes.iter().filter(|it| it.1).count() as i64);
        prop_assert_eq!(count(&paper, Group::Devices, "receptacle"), boxes.iter().filter(|it| !it.1).count() as i64);
        prop_assert_eq!(count(&paper, Group::Plates, ""), boxes.len() as i64);
        for line in &paper.lines {
            // What the rooms need is what the line says, and no item is counted for two rooms.
            let mut all = 0;
            let mut owners: BTreeMap<&str, usize> = BTreeMap::new();
            for part in &line.rooms {
                all += match part.amount { Amount::Count(count) => count, Amount::Length(length) => length.amount() };
                let mut ids: Vec<&str> = part.items.iter().map(String::as_str).collect();
                ids.dedup();
                for id in ids {
                    *owners.entry(id).or_default() += 1;
                }
            }
            let net = match line.net { Amount::Count(count) => count, Amount::Length(length) => length.amount() };
            prop_assert_eq!(all, net, "{}", line.what);
            prop_assert!(owners.values().all(|&rooms| rooms == 1), "{}", line.what);
            let order = match line.order { Amount::Count(count) => count, Amount::Length(length) => length.amount() };
            prop_assert!(order >= net, "{}", line.what);
            if line.group == Group::Cable {
                prop_assert_eq!(order % FOOT, 0);
                // 10 % of waste, and less than a foot of rounding.
                prop_assert!(order * 10 >= net * 11 && (order - FOOT) * 10 < net * 11, "{} {}", net, order);
            }
        }
    }
}

#[test]
fn without_a_shop_book_the_paper_says_what_is_missing_and_adds_nothing() {
    let text = job(1, &[(0, true), (0, false)], &[(false, 20, true, 0)]).replace("shop = \"shop/three-gable\"\n", "");
    let text = text.replace("make = \"14/2\"", "make = \"14/2\"\nwiring_method = \"NM\"");
    let opened = Opened::new(&text);
    let paper = take_off(&opened.desk());
    assert_eq!(count(&paper, Group::Cable, "NM 14/2"), 20 * FOOT);
    for key in ["takeoff.slack_at_box", "takeoff.slack_at_panel", "takeoff.waste"] {
        assert!(paper.open.iter().any(|line| line.contains(key)), "{key}: {:?}", paper.open);
    }
}

#[test]
fn a_run_between_two_walls_of_a_room_is_reckoned_along_them_and_named() {
    let mut text = site(true);
    text.push_str(
        "[[panel]]\nid = \"P\"\n[[circuit]]\nid = \"1\"\nrating = \"15 A\"\n\
         [[room]]\nid = \"den\"\nkind = \"den\"\nlength = \"10 ft\"\nwidth = \"8 ft\"\n\
         [[box]]\nid = \"B1\"\nroom = \"den\"\nwall = \"north\"\nalong = \"9 ft\"\nheight = \"18 in\"\n\
         [[box]]\nid = \"B2\"\nroom = \"den\"\nwall = \"east\"\nalong = \"3 ft\"\nheight = \"48 in\"\n\
         [[cable]]\nid = \"C\"\nmake = \"14/2\"\ncircuit = \"1\"\nfrom = \"B1\"\nto = \"B2\"\n\
         [[cable]]\nid = \"H\"\nmake = \"14/2\"\ncircuit = \"1\"\nfrom = \"P\"\nto = \"B1\"\n",
    );
    let opened = Opened::new(&text);
    let paper = take_off(&opened.desk());
    // 1 ft to the corner, 3 ft on, 2 ft 6 in up, and 1 ft of slack at each end.
    assert_eq!(count(&paper, Group::Cable, "NM 14/2"), 8 * FOOT + FOOT / 2);
    assert!(
        paper.open.iter().any(|line| line.starts_with("length reckoned") && line.ends_with(": C")),
        "{:?}",
        paper.open
    );
    assert!(
        paper.open.iter().any(|line| line.starts_with("length not recorded") && line.ends_with(": H")),
        "{:?}",
        paper.open
    );
}

#[test]
fn a_raceway_comes_with_its_conductors_their_slack_connectors_and_straps() {
    let mut text = site(true);
    text.push_str(
        "[[panel]]\nid = \"P\"\n[[circuit]]\nid = \"1\"\nrating = \"20 A\"\n[[box]]\nid = \"B1\"\n\
         [[raceway]]\nid = \"W\"\nfrom = \"P\"\nto = \"B1\"\nwiring_method = \"EMT\"\ntrade_size = \"1/2 in\"\nlength = \"22 ft\"\n\
         conductor = [{ circuit = \"1\", size = \"12 AWG\", number = 2, insulation = \"THHN\" }]\n",
    );
    let opened = Opened::new(&text);
    let paper = take_off(&opened.desk());
    assert_eq!(count(&paper, Group::Raceway, "EMT 1/2 in"), 22 * FOOT);
    // Two conductors, each longer by 3 ft at the panel and 1 ft at the box.
    assert_eq!(count(&paper, Group::Raceway, "THHN 12 AWG"), 2 * (22 + 4) * FOOT);
    assert_eq!(count(&paper, Group::Connectors, "connector for EMT"), 2);
    // One at each end, and at 10 ft and 20 ft between them.
    assert_eq!(count(&paper, Group::Fastenings, "strap for EMT"), 4);
    // The waste of the shop, a tenth, and whole feet.
    let order = paper.lines.iter().find(|line| line.what.starts_with("THHN")).map(|line| line.order);
    assert!(matches!(order, Some(Amount::Length(length)) if length.amount() == 58 * FOOT), "{order:?}");
}

#[test]
fn a_feeder_with_its_own_wires_is_listed_and_one_that_lacks_a_length_is_named() {
    let mut text = site(true);
    text.push_str(
        "[[panel]]\nid = \"P1\"\n[[panel]]\nid = \"P2\"\n[[panel]]\nid = \"P3\"\n[[panel]]\nid = \"P4\"\n\
         [[feeder]]\nid = \"F\"\nfrom = \"P1\"\nto = \"P2\"\nwiring_method = \"in_raceway\"\nsize = \"6 AWG\"\nmaterial = \"copper\"\n\
         wires = 4\nground_size = \"10 AWG\"\nlength = \"90 ft\"\n\
         [[feeder]]\nid = \"G\"\nfrom = \"P1\"\nto = \"P3\"\nwiring_method = \"SE\"\nsize = \"2 AWG\"\nmaterial = \"aluminum\"\nwires = 4\n\
         length = \"20 ft\"\n\
         [[feeder]]\nid = \"H\"\nfrom = \"P1\"\nto = \"P4\"\nwiring_method = \"SE\"\nsize = \"2 AWG\"\nmaterial = \"aluminum\"\nwires = 4\n",
    );
    let opened = Opened::new(&text);
    let paper = take_off(&opened.desk());
    // Each longer by 3 ft at both panels.
    assert_eq!(count(&paper, Group::Raceway, "conductor 6 AWG"), 3 * 96 * FOOT);
    assert_eq!(count(&paper, Group::Raceway, "conductor 10 AWG, green"), 96 * FOOT);
    assert_eq!(count(&paper, Group::Cable, "SE 2 AWG, feeder, 4 wires, aluminum"), 26 * FOOT);
    assert_eq!(paper.open.iter().filter(|line| line.contains("feeder H")).count(), 1, "{:?}", paper.open);
}
