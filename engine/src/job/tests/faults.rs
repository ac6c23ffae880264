//! One test for each sort of fault: the message, the help and exactly what is underlined.

use super::{HEAD, ROOM, fault, one, read};

fn marks(problem: &crate::problem::Problem, read: &super::Read) -> Vec<(String, String)> {
    problem.marks.iter().map(|mark| (read.files.text(mark.span).to_owned(), mark.says.clone())).collect()
}

#[test]
fn unknown_key() {
    fault(
        "[[box]]\nid = \"B1\"\nheigth = \"48 in\"\n",
        "unknown key `heigth` in box `B1`",
        "did you mean `height`?",
        "heigth",
    );
    fault(
        "[[panel]]\nid = \"P\"\n\"x y\" = 1\n",
        "unknown key `x y` in panel `P`",
        "what a panel can have is listed in the job-file schema",
        "\"x y\"",
    );
    fault(
        "[[pin]]\nruleset = \"us/model-2020\"\nhash = \"1\"\n",
        "unknown key `hash` in pin `pin-1`",
        "known here: content, id, ruleset, version",
        "hash",
    );
}

#[test]
fn unknown_table_and_key_at_the_top() {
    fault("[[boxes]]\nid = \"B1\"\n", "unknown table `boxes`", "did you mean `box`?", "boxes");
    one(
        &format!("zzz = 1\n{HEAD}"),
        "unknown key `zzz`",
        "known here: site, panel, circuit, room, box, device, luminaire, appliance, cable, raceway, inspection, permission, answer, measure, pin, feeder, building, electrode, format, defaults",
        "zzz",
    );
    one(&format!("ceiling = \"8 ft\"\n{HEAD}"), "unknown key `ceiling`", "write `ceiling` under `[site]`", "ceiling");
    fault(
        "[[wall]]\nlength = \"3 ft\"\n",
        "a wall stands inside its room",
        "write `[[room.wall]]` below the room it belongs to",
        "wall",
    );
    fault(
        "[[break]]\nat = \"3 ft\"\n",
        "a counter break stands inside its counter",
        "write `[[counter.break]]` below the counter it belongs to",
        "break",
    );
    fault(
        "[cable_end]\nat = \"B1\"\n",
        "a cable end stands inside its cable",
        "write `[cable.from]` below the cable it belongs to",
        "cable_end",
    );
}

#[test]
fn a_top_key_that_slid_under_a_table() {
    let read = read(&HEAD.replace("format = 1\n", "").replace("[site]\n", "[site]\nformat = 1\n"));
    let told: Vec<_> = read
        .problems
        .iter()
        .map(|p| (p.message.as_str(), p.help.as_deref().unwrap_or(""), read.underlined(p)))
        .collect();
    assert_eq!(
        told,
        [
            (
                "the job file does not state its `format`",
                "write `format = 2` in the first line; this version reads formats 1 and 2",
                ""
            ),
            (
                "unknown key `format` in the site",
                "`format` stands at the top of the file, before the first `[table]`",
                "format"
            ),
        ]
    );
}

#[test]
fn keys_that_are_not_written() {
    fault("[[box]]\nid = \"B\"\ncentre = \"4 ft\"\n", "`centre` of a box is computed", "leave it out", "centre");
    fault(
        "[[box]]\nid = \"B\"\ndevices = [\"R1\"]\n",
        "`devices` of a box is gathered from the job",
        "write `box` in each device",
        "devices",
    );
    fault(
        "[[luminaire]]\nid = \"L\"\nkind = \"wall\"\ncontrolled_by = [\"S\"]\n",
        "`controlled_by` of a luminaire is gathered from the job",
        "write `controls` in each device",
        "controlled_by",
    );
    fault("[[cable]]\nsize = \"12 AWG\"\n", "`size` of a cable is taken from `make`", "write `make`", "size");
    fault(
        &format!("{ROOM}[[room.wall]]\nroom = \"hobby\"\nlength = \"1 ft\"\n"),
        "`room` of a wall is known from where its table stands",
        "leave it out",
        "room",
    );
}

#[test]
fn wrong_type() {
    fault(
        "[[box]]\nid = \"B\"\ntop = 48\n",
        "`top` has no unit",
        "put it in quotes with its unit; a length is written in `in`, `ft`, `mm`, `cm` or `m`, such as `12 in`, `4 ft 6 in` or `300 mm`",
        "48",
    );
    fault(
        "[[box]]\nid = \"B\"\nclamps = \"yes\"\n",
        "`clamps` wants yes or no, not text",
        "write `true` or `false`, without quotes",
        "\"yes\"",
    );
    fault(
        "[[box]]\nid = \"B\"\ngangs = \"2\"\n",
        "`gangs` wants a number, not text",
        "write the number without quotes",
        "\"2\"",
    );
    fault("[[box]]\nid = \"B\"\nshape = 4\n", "`shape` wants text, not a number", "put it in quotes: `\"4\"`", "4");
    fault(
        "[[box]]\nid = \"B\"\nroom = [\"a\"]\n",
        "`room` wants text, not a list",
        "write text in quotes: `\"…\"`",
        "[\"a\"]",
    );
    fault("[[circuit]]\nid = 12\n", "`id` wants text, not a number", "put it in quotes: `\"12\"`", "12");
    fault("[[circuit]]\nid = \"1\"\npositions = 5\n", "`positions` wants a list, not a number", "write `[5]`", "5");
    fault(
        "[[circuit]]\nid = \"1\"\npositions = [1, \"2\"]\n",
        "`positions` wants a number, not text",
        "write the number without quotes",
        "\"2\"",
    );
    fault(
        "[[box]]\nid = \"B\"\ntop = true\n",
        "`top` wants a length, not yes or no",
        crate::quantity::Dimension::Length.units_help(),
        "true",
    );
    fault(
        "[[box]]\nid = \"B\"\ntop = { x = 1 }\n",
        "`top` wants a length, not a table",
        crate::quantity::Dimension::Length.units_help(),
        "{ x = 1 }",
    );
}

#[test]
fn wrong_shape_of_tables() {
    fault(
        "[box]\nid = \"B\"\n",
        "`box` is a list of tables",
        "write `[[box]]`, with two brackets on either side",
        "[box]",
    );
    fault(
        "[[cable]]\nhole = { plate = true }\n",
        "`hole` is a list of tables",
        "write `[[cable.hole]]`, with two brackets on either side",
        "{ plate = true }",
    );
    one(
        &format!("box = 3\n{HEAD}"),
        "`box` wants a list of tables, not a number",
        "write each as a table of its own under `[[box]]`",
        "3",
    );
    one(
        &format!("box = [3]\n{HEAD}"),
        "`box` wants a table, not a number",
        "write each as a table of its own under `[[box]]`",
        "3",
    );
    fault(
        "[[cable]]\nfrom = 3\n",
        "`from` wants a table, not a number",
        "write `from = \"…\"` for its `at`, or a table `{ at = \"…\" }`",
        "3",
    );
    one("format = 1\nsite = 3\n", "`site` wants a table, not a number", "write `[site]`", "3");
}

#[test]
fn wrong_unit_or_no_quantity() {
    fault(
        "[[box]]\nid = \"B\"\ntop = \"48 A\"\n",
        "`top`: expected a length such as `12 in` or `300 mm`, found a current `48 A`",
        crate::quantity::Dimension::Length.units_help(),
        "48 A",
    );
    // With an escape in it the whole value is underlined.
    let read = read(&format!("{HEAD}[[box]]\nid = \"B\"\ntop = \"48\\u0020inn\"\n"));
    assert_eq!(read.underlined(&read.problems[0]), "\"48\\u0020inn\"");
    fault(
        "[[cable]]\nmake = \"12\"\n",
        "`make`: expected a cable make such as `12/2` or `2.5 mm2/2`, found `12`",
        "write the size of the insulated conductors and their number: `12/2`, `14/3`, `2.5 mm2/2`, `250 kcmil/3`",
        "12",
    );
}

#[test]
fn dates() {
    let at = |date: &str| HEAD.replace("2023-05-10", date);
    one(
        &at("2023-05-10T10:00:00Z"),
        "`permit_date` wants a day without a time",
        "write the day alone: `2023-05-10`",
        "2023-05-10T10:00:00Z",
    );
    one(&at("2023"), "`permit_date` wants a date, not a number", crate::quantity::Dimension::Date.units_help(), "2023");
    one(
        &at("\"5/10/2023\""),
        "`permit_date`: `5/10/2023` does not say which number is the month",
        crate::quantity::Dimension::Date.units_help(),
        "5/10/2023",
    );
}

#[test]
fn impossible_amounts() {
    fault("[[box]]\nid = \"B\"\nvolume = \"0 in3\"\n", "`volume` can't be zero", "check the number", "\"0 in3\"");
    fault("[[box]]\nid = \"B\"\nalong = \"-2 in\"\n", "`along` can't be negative", "check the number", "\"-2 in\"");
    fault(
        "[[box]]\nid = \"B\"\ngangs = 1.5\n",
        "`gangs` is a count and can't be a broken number",
        "check the number",
        "1.5",
    );
    fault(
        "[[box]]\nid = \"B\"\nfixture_wires = 99999999999999999999\n",
        "`fixture_wires` is too large",
        "check the number",
        "99999999999999999999",
    );
    assert!(read(&format!("{HEAD}[[box]]\nid = \"B\"\nset_back = \"-1/8 in\"\nalong = \"0 in\"\n")).job.is_some());
}

#[test]
fn wrong_word() {
    fault(
        "[[device]]\nid = \"R\"\nkind = \"recptacle\"\n",
        "`recptacle` is no `kind`",
        "did you mean `receptacle`?",
        "\"recptacle\"",
    );
    fault(
        "[[box]]\nid = \"B\"\nmaterial = \"wood\"\n",
        "`wood` is no `material`",
        "known here: metal, nonmetallic",
        "\"wood\"",
    );
}

#[test]
fn duplicate_id_marks_both() {
    let text = "[[box]]\nid = \"B1\"\n[[panel]]\nid = \"B1\"\n";
    let help = "every id stands for one thing in the whole job; give one of them another";
    let problem = fault(text, "id `B1` is given twice", help, "\"B1\"");
    let read = read(&format!("{HEAD}{text}"));
    assert_eq!(marks(&problem, &read), [("\"B1\"".to_owned(), "first: panel `B1`".to_owned())]);
    assert!(problem.span < problem.marks[0].span, "panels are read before boxes");
    fault(
        &format!("{ROOM}wall = [{{ name = \"n\", length = \"1 ft\" }}, {{ name = \"n\", length = \"1 ft\" }}]\n"),
        "id `hobby/n` is given twice",
        help,
        "\"n\"",
    );
    fault("[[cable]]\n[[cable]]\nid = \"cable-1\"\n", "id `cable-1` is given twice", help, "\"cable-1\"");
}

#[test]
fn ids_that_are_none() {
    fault(
        "[[box]]\n",
        "a box has no `id`",
        "add an `id` that nothing else in the job has, such as `id = \"B1\"`",
        "[[box]]",
    );
    fault("[[box]]\nid = \"\"\n", "`id` is empty", "write an id, such as `\"B1\"`", "\"\"");
    fault(
        "[[box]]\nid = \" B1\"\n",
        "`id` has space round it or an unprintable character in it",
        "write an id as it is said, such as `\"B1\"`",
        " B1",
    );
}

#[test]
fn dangling_reference() {
    let circuits = "[[panel]]\nid = \"P1\"\n[[circuit]]\nid = \"kitchen 1\"\n";
    fault(
        &format!("{circuits}[[device]]\nid = \"R\"\nkind = \"blank\"\ncircuit = \"kitchn 1\"\n"),
        "there is no circuit `kitchn 1`",
        "did you mean `kitchen 1`?",
        "\"kitchn 1\"",
    );
    fault(
        "[[device]]\nid = \"R\"\nkind = \"blank\"\ncircuit = \"9\"\n",
        "there is no circuit `9`",
        "write the id of an item that is in the job",
        "\"9\"",
    );
    fault(&format!("{circuits}[[cable]]\nto = \"P2\"\n"), "there is no item `P2`", "known here: P1", "\"P2\"");
    fault(
        &format!("{ROOM}[[box]]\nid = \"B\"\nroom = \"hobby\"\nwall = \"nroth\"\n"),
        "there is no wall `nroth`",
        "did you mean `north`?",
        "\"nroth\"",
    );
    fault(
        &format!("{circuits}[[device]]\nid = \"S\"\nkind = \"switch\"\ncontrols = [\"L9\"]\n"),
        "there is no luminaire, device or appliance `L9`",
        "known here: S",
        "\"L9\"",
    );
    fault(
        &format!(
            "{circuits}[[raceway]]\nid = \"W\"\nwiring_method = \"EMT\"\ntrade_size = \"1/2 in\"\nfrom = \"P9\"\n"
        ),
        "there is no item `P9`",
        "known here: P1",
        "\"P9\"",
    );
}

#[test]
fn reference_to_the_wrong_kind() {
    let text = "[[panel]]\nid = \"P1\"\n[[device]]\nid = \"R\"\nkind = \"blank\"\nbox = \"P1\"\n";
    let problem = fault(text, "`P1` is a panel, not a box", "write the id of a box", "\"P1\"");
    assert_eq!(
        marks(&problem, &read(&format!("{HEAD}{text}"))),
        [("\"P1\"".to_owned(), "a panel, defined here".to_owned())]
    );
    fault(
        &format!("{ROOM}[[cable]]\nto = \"hobby\"\n"),
        "`hobby` is a room, not a box, a panel, a luminaire or an appliance",
        "write the id of a box, a panel, a luminaire or an appliance",
        "\"hobby\"",
    );
}

#[test]
fn ids_in_records() {
    let permission = |items: &str| {
        format!(
            "{ROOM}[[permission]]\nrule = \"x\"\nitems = {items}\ngranted_by = \"a\"\nreason = \"b\"\nuntil = 2024-01-01\n"
        )
    };
    fault(&permission("[\"hobby\", \"hobbi\"]"), "there is no item `hobbi`", "did you mean `hobby`?", "\"hobbi\"");
    fault(&permission("\"hobby\""), "`items` wants a list, not text", "write `[\"hobby\"]`", "\"hobby\"");
    fault(&permission("[\"hobby\"]").replace("\"b\"", "\" \""), "`reason` is empty", "fill it in", "\" \"");
    fault(
        &format!("{ROOM}[[answer]]\nrule = \"x\"\nitem = \"hobby/nort\"\nok = true\nby = \"a\"\non = 2024-01-01\n"),
        "there is no item `hobby/nort`",
        "did you mean `hobby/north`?",
        "\"hobby/nort\"",
    );
}

#[test]
fn missing_required_key_points_at_the_header() {
    fault(
        "[[luminaire]]\nid = \"L1\"\n",
        "luminaire `L1` has no `kind`",
        "add `kind`: one of `surface`, `recessed`, `pendant`, `chandelier`, `track`, `wall`, `lampholder`, `ceiling_fan`, `exhaust_fan` or `under_cabinet`",
        "[[luminaire]]",
    );
    fault(
        "[[cable]]\nfrom = { entry = \"connector\" }\n",
        "cable end `cable-1/from` has no `at`",
        "add `at`: id of the box, panel, luminaire or appliance it ends at",
        "{ entry = \"connector\" }",
    );
    one(
        &HEAD.replace("permit_date = 2023-05-10\n", ""),
        "the site has no `permit_date`",
        "add `permit_date`: a date, such as `2023-05-10`",
        "[site]",
    );
    one("format = 1\n", "there is no `[site]`", "add `[site]` with `permit_date`, `jurisdiction`, `stage`", "");
    // A wrong value is not missing as well.
    fault(
        "[[luminaire]]\nid = \"L1\"\nkind = 3\n",
        "`kind` wants text, not a number",
        "put it in quotes: `\"3\"`",
        "3",
    );
}

#[test]
fn one_height_of_a_box() {
    let text = "[[box]]\nid = \"B1\"\ntop = \"48 in\"\nheight = \"46 in\"\n";
    let problem = fault(
        text,
        "box `B1` has both `top` and `height`",
        "keep one of `height`, `top`, `bottom` of a box",
        "\"46 in\"",
    );
    assert_eq!(
        marks(&problem, &read(&format!("{HEAD}{text}"))),
        [("\"48 in\"".to_owned(), "first said here".to_owned())]
    );
}

#[test]
fn format_number() {
    one(
        &HEAD.replace("format = 1\n", ""),
        "the job file does not state its `format`",
        "write `format = 2` in the first line; this version reads formats 1 and 2",
        "",
    );
    one(
        &HEAD.replace("format = 1", "format = \"1\""),
        "`format` wants a whole number, not text",
        "write `format = 2`",
        "\"1\"",
    );
    // Nothing else is told of a file whose keys may mean something else.
    one(
        &format!("{}[[boxes]]\n", HEAD.replace("format = 1", "format = 3")),
        "job files of format 3 are not known",
        "this version reads formats 1 and 2; a newer version may read this file",
        "3",
    );
}

#[test]
fn syntax_errors_are_told_together_without_what_follows_from_them() {
    let text = format!(
        "{HEAD}[[box]]\nid = \"B1\"\ntop = 48 in\n[[device]]\nid = \"R1\"\nbox = \"B1\nkind = \"receptacle\"\n[[device]]\nid = \"R2\"\nkin = \"switch\"\n"
    );
    let read = read(&text);
    let told: Vec<_> = read.problems.iter().map(|p| (p.message.as_str(), read.underlined(p))).collect();
    assert_eq!(
        told,
        [
            ("string values must be quoted, expected literal string", "48 in"),
            ("invalid basic string, expected `\"`", ""),
            ("unknown key `kin` in device `R2`", "kin"),
        ]
    );
    assert_eq!(
        read.problems[0].help.as_deref(),
        Some(
            "put text and amounts with a unit in quotes: `\"48 in\"`, or `'4 ft 6 1/2\"'` where inches are marked by a quote"
        )
    );
    one(
        &format!("{HEAD}stage = \"final\"\n"),
        "duplicate key",
        "write each key and each `[table]` once; a list of tables is written `[[box]]`",
        "stage",
    );
}

#[test]
fn all_faults_of_a_file_in_the_order_of_their_places() {
    let text = format!(
        "{HEAD}[[box]]\nid = \"B1\"\ntop = 48\npurpose = \"swich\"\nwat = 1\n[[device]]\nid = \"B1\"\nbox = \"B2\"\n[[circuit]]\nid = \"1\"\nrating = \"20 in\"\n"
    );
    let read = read(&text);
    let told: Vec<_> = read.problems.iter().map(|p| read.underlined(p)).collect();
    assert_eq!(told, ["48", "\"swich\"", "wat", "[[device]]", "\"B1\"", "\"B2\"", "20 in"]);
}

#[test]
fn a_wall_of_another_room() {
    let text = format!(
        "{ROOM}[[room]]\nid = \"den\"\nkind = \"den\"\n[[box]]\nid = \"B\"\nroom = \"den\"\nwall = \"hobby/north\"\n"
    );
    let problem = fault(
        &text,
        "box `B` is in room `den`, but its wall is not",
        "name a wall of that room, or another room",
        "\"hobby/north\"",
    );
    assert_eq!(problem.label, "wall `hobby/north`");
}

#[test]
fn peek_tells_what_keeps_the_code_from_being_found() {
    let mut files = crate::source::Files::new();
    let file = files.add("job.toml", "format = 1\n[site]\njurisdiction = 3\naccessible = \"no\"\n").unwrap();
    let document = crate::job::Document::parse(&file);
    let (facts, problems) = crate::job::peek(&[document.part()]);
    assert_eq!(facts, None);
    let told: Vec<_> = problems.iter().map(|p| (p.message.as_str(), files.text(p.span))).collect();
    assert_eq!(
        told,
        [
            ("`jurisdiction` wants text, not a number", "3"),
            ("the site has no `permit_date`", "[site]"),
            ("`accessible` wants yes or no, not text", "\"no\""),
        ]
    );
}
