//! Impossible places.

use super::{HEAD, ROOM, fault, read};

const DOOR: &str = "[[room.opening]]\nwall = \"south\"\nkind = \"door\"\nat = \"2 ft\"\nwidth = \"32 in\"\n";

fn boxed(more: &str) -> String {
    format!("[[box]]\nid = \"B1\"\nroom = \"hobby\"\n{more}")
}

#[track_caller]
fn fine(text: &str) {
    assert_eq!(read(&format!("{HEAD}{text}")).problems, [], "in\n{text}");
}

#[test]
fn a_box_past_the_end_of_its_wall() {
    let along = |at: &str| format!("{ROOM}{}", boxed(&format!("wall = \"east\"\nalong = \"{at}\"\n")));
    let help = "check `along` and `wall` of the box, and the wall's `length`";
    let problem = fault(&along("13 ft"), "box `B1` lies 12 in past the end of its wall", help, "\"13 ft\"");
    assert_eq!(problem.marks[0].says, "wall `hobby/east` is 12 ft long");
    assert_eq!(read(&format!("{HEAD}{}", along("13 ft"))).files.text(problem.marks[0].span), "\"12 ft\"");
    fine(&along("12 ft"));
    // The papers' units are those of messages.
    let metric = format!("{}{}", HEAD.replace("[site]\n", "[site]\nunits = \"metric\"\n"), along("13 ft"));
    assert_eq!(read(&metric).problems[0].message, "box `B1` lies 304.8 mm past the end of its wall");
}

#[test]
fn a_box_in_an_opening() {
    let at = |along: &str, more: &str, opening: &str| {
        format!("{ROOM}{opening}{}", boxed(&format!("wall = \"south\"\nalong = \"{along}\"\n{more}")))
    };
    let help =
        "check `along` of the box and the place of the opening; give the opening its `height` if the box is above it";
    let problem =
        fault(&at("3 ft", "top = \"48 in\"\n", DOOR), "box `B1` lies in opening `hobby/opening-1`", help, "\"3 ft\"");
    assert_eq!(problem.label, "inside the door");
    assert_eq!(problem.marks[0].says, "the door runs from 2 ft to 4 ft 8 in");
    fault(&at("3 ft", "", DOOR), "box `B1` lies in opening `hobby/opening-1`", help, "\"3 ft\"");
    let tall = format!("{DOOR}height = \"80 in\"\n");
    let below = "check `along` and the height of the box, and the place of the opening";
    fault(&at("3 ft", "bottom = \"79 in\"\n", &tall), "box `B1` lies in opening `hobby/opening-1`", below, "\"3 ft\"");
    fine(&at("3 ft", "bottom = \"80 in\"\n", &tall));
    fine(&at("3 ft", "", &tall));
    fine(&at("2 ft", "top = \"48 in\"\n", DOOR));
    fine(&at("56 in", "top = \"48 in\"\n", DOOR));
    fine(&at("3 ft", "top = \"48 in\"\nmounted = \"ceiling\"\n", DOOR));
    let window = "[[room.opening]]\nwall = \"south\"\nkind = \"window\"\nat = \"2 ft\"\nwidth = \"32 in\"\nsill = \"42 in\"\nheight = \"3 ft\"\n";
    fine(&at("3 ft", "top = \"42 in\"\n", window));
    fault(
        &at("3 ft", "height = \"41 in\"\nbody_height = \"4 in\"\n", window),
        "box `B1` lies in opening `hobby/opening-1`",
        below,
        "\"3 ft\"",
    );
    // A fireplace has a wall above it, and a cabinet one behind it.
    fine(&at("3 ft", "top = \"48 in\"\n", &DOOR.replace("door", "fireplace")));
}

#[test]
fn heights_from_the_subfloor_are_lowered_by_what_is_known_of_the_floor() {
    let window = "[[room.opening]]\nwall = \"south\"\nkind = \"window\"\nat = \"2 ft\"\nwidth = \"32 in\"\nsill = \"42 in\"\nheight = \"3 ft\"\n";
    let text = |site: &str| {
        let head = HEAD.replace("[site]\n", &format!("[site]\n{site}"));
        format!("{head}{ROOM}{window}{}", boxed("wall = \"south\"\nalong = \"3 ft\"\ntop = \"42 1/2 in\"\n"))
    };
    assert_eq!(read(&text("")).problems.len(), 1);
    assert_eq!(read(&text("heights_from = \"subfloor\"\nfloor_build_up = \"3/4 in\"\n")).problems.len(), 0);
    assert_eq!(read(&text("heights_from = \"subfloor\"\nfloor_build_up = \"1/4 in\"\n")).problems.len(), 1);
    assert_eq!(read(&text("heights_from = \"subfloor\"\n")).problems.len(), 0);
}

#[test]
fn a_box_above_the_ceiling() {
    let text = |ceiling: &str| format!("{ROOM}{ceiling}{}", boxed("top = \"48 ft\"\n"));
    let problem = fault(
        &text("ceiling = \"8 ft\"\n"),
        "box `B1` lies 40 ft above the ceiling",
        "check the height of the box, and the `ceiling` of its room",
        "\"48 ft\"",
    );
    assert_eq!(problem.marks[0].says, "the ceiling is 8 ft high");
    fine(&text(""));
    fine(&text("ceiling = \"48 ft\"\n"));
}

#[test]
fn an_opening_past_the_end_of_its_wall() {
    let door = |at: &str, width: &str| format!("{ROOM}{}", DOOR.replace("2 ft", at).replace("32 in", width));
    let help = "check `at` and `width` of the opening, and the wall's `length`";
    fault(&door("12 ft", "3 ft"), "opening `hobby/opening-1` ends 12 in past the end of its wall", help, "\"3 ft\"");
    fault(&door("15 ft", "3 ft"), "opening `hobby/opening-1` ends 4 ft past the end of its wall", help, "\"15 ft\"");
    fine(&door("11 ft", "3 ft"));
}

#[test]
fn overlapping_openings() {
    let two = |at: &str, more: &str| format!("{ROOM}{DOOR}height = \"80 in\"\n{}{more}", DOOR.replace("2 ft", at));
    let help = "check `at` and `width` of both; for one above the other give `sill` and `height`";
    let problem =
        fault(&two("4 ft", ""), "opening `hobby/opening-1` and opening `hobby/opening-2` overlap", help, "\"4 ft\"");
    assert_eq!(problem.label, "begins before 4 ft 8 in from the wall's start");
    fine(&two("56 in", ""));
    fine(&two("4 ft", "sill = \"80 in\"\n"));
    // A window above a cabinet is no clash.
    let cabinet = DOOR.replace("\"door\"", "\"fixed_cabinet\"");
    fine(&format!("{ROOM}{DOOR}{cabinet}"));
    // Three in a row, the first of them ended: the third meets the second alone.
    let three = format!("{ROOM}{DOOR}{}{}", DOOR.replace("2 ft", "6 ft"), DOOR.replace("2 ft", "7 ft"));
    fault(&three, "opening `hobby/opening-2` and opening `hobby/opening-3` overlap", help, "\"7 ft\"");
}

fn walls(walls: &[(&str, &str)]) -> String {
    let walls: String =
        walls.iter().map(|(length, more)| format!("[[room.wall]]\nlength = \"{length}\"\n{more}")).collect();
    format!("[[room]]\nid = \"den\"\nkind = \"den\"\n{walls}")
}

#[test]
fn walls_that_do_not_close() {
    let help = "check the `length` and `turn` of each wall; an open side is a wall of the kind `open`";
    let four = [("10 ft", ""), ("8 ft", ""), ("12 ft", ""), ("8 ft 1/2 in", "")];
    let problem = fault(
        &walls(&four),
        "the walls of room `den` do not close: they end 2 ft from where they begin",
        help,
        "\"8 ft 1/2 in\"",
    );
    assert_eq!((problem.label.as_str(), problem.marks[0].says.as_str()), ("last wall", "first wall"));
    // What a tape measure may be off by.
    fine(&walls(&[("10 ft", ""), ("8 ft", ""), ("10 ft 1/2 in", ""), ("8 ft 1/4 in", "")]));
    // Part of a room.
    fine(&walls(&[("10 ft", ""), ("8 ft", "")]));
}

#[test]
fn corners_that_do_not_add_up() {
    let turn = "turn = \"-90 deg\"\n";
    let ell = |outer| walls(&[("10 ft", ""), ("4 ft", ""), ("5 ft", outer), ("4 ft", ""), ("5 ft", ""), ("8 ft", "")]);
    fine(&ell(turn));
    let help = "state the `turn` at the end of each wall where it is not a square corner to the right, negative at an outer corner; an open side is a wall of the kind `open`";
    fault(&ell(""), "the walls of room `den` turn by 540 degrees in all, not by 360", help, "\"8 ft\"");
    let round = [("10 ft", turn), ("8 ft", turn), ("10 ft", turn), ("8 ft", turn)];
    fault(
        &walls(&round),
        "the walls of room `den` turn by -360 degrees in all, not by 360",
        "list the walls the other way round: the room lies on their right-hand side",
        "\"8 ft\"",
    );
    // A bay at 45 degrees: 3 ft legs need 4 ft 2 29/32 in of slope each.
    let half = "turn = \"45 deg\"\n";
    fine(&walls(&[("10 ft", half), ("50 15/16 in", half), ("8 ft", ""), ("13 ft", ""), ("11 ft", "")]));
}

#[test]
fn counters_and_what_interrupts_them() {
    let counter =
        |more: &str| format!("{ROOM}[[room.counter]]\nkind = \"wall\"\nwall = \"east\"\nlength = \"8 ft\"\n{more}");
    fault(
        &counter("at = \"5 ft\"\n"),
        "counter `hobby/counter-1` ends 12 in past the end of its wall",
        "check where counter `hobby/counter-1` begins and how long it is",
        "\"8 ft\"",
    );
    fine(&counter("at = \"4 ft\"\n"));
    let sink = "[[room.counter.break]]\nkind = \"sink\"\nwidth = \"3 ft\"\n";
    fault(
        &counter(&format!("{sink}at = \"6 ft\"\n")),
        "counter break `hobby/counter-1/break-1` ends 12 in past the end of its counter",
        "check where counter break `hobby/counter-1/break-1` begins and how long it is",
        "\"3 ft\"",
    );
}

#[test]
fn supports_out_of_order_or_beyond_the_end() {
    let cable = |supports: &str| format!("[[cable]]\nid = \"C1\"\nlength = \"10 ft\"\nsupports = {supports}\n");
    fault(
        &cable("[\"1 ft\", \"6 ft\", \"4 ft\", \"3 ft\"]"),
        "the supports of cable `C1` are not in order",
        "give the distance of each from the `from` end, nearest first",
        "\"4 ft\"",
    );
    fault(
        &cable("[\"1 ft\", \"11 ft\"]"),
        "a support of cable `C1` lies beyond its end",
        "check `supports` and the cable's `length`",
        "\"11 ft\"",
    );
    fine(&cable("[\"1 ft\", \"5 ft 6 in\", \"10 ft\"]"));
}

#[test]
fn what_is_measured_must_be_possible_too() {
    let text = format!(
        "{ROOM}{}[[measure]]\nitem = \"B1\"\nfield = \"along\"\nvalue = \"20 ft\"\n",
        boxed("wall = \"east\"\nalong = \"3 ft\"\n")
    );
    fault(
        &text,
        "box `B1` lies 8 ft past the end of its wall",
        "check `along` and `wall` of the box, and the wall's `length`",
        "\"20 ft\"",
    );
}
