//! The papers of a job: their text at 80 columns, what every one of them names, CSV, drawings and the packet.

use std::collections::BTreeMap;
use std::path::Path;

use crate::support::{Folder, Ran, examples, ran};

const DWELLING: &str = "alder-row/dwelling.toml";
const HOBBY: &str = "hobby-room.toml";

fn run(words: &[&str]) -> Ran {
    let mut command = Folder::empty().command();
    command.current_dir(examples()).args(words);
    if !words.contains(&"--on") {
        command.args(["--on", "2023-08-01"]);
    }
    ran(command.output().unwrap())
}

/// The paper between its head, which changes with every ruleset, and its foot.
fn body(words: &[&str]) -> String {
    let ran = run(words);
    assert_eq!(ran.status, 0, "{}", ran.err);
    let (_, rest) = ran.out.split_once("\n\n").unwrap();
    let (body, _) = rest.split_once("\n! Before hands go").unwrap();
    body.to_owned()
}

const TEXTS: &[&[&str]] = &[
    &["takeoff"],
    &["takeoff", "--by-room"],
    &["directory"],
    &["walk", "--print", "--evidence"],
    &["readings"],
    &["markout"],
    &["makeup"],
];

#[test]
fn every_paper_names_place_edition_amendments_dates_doubts_and_cautions_and_keeps_to_the_columns() {
    for words in TEXTS {
        let mut all = words.to_vec();
        all.insert(1, DWELLING);
        let ran = run(&all);
        assert_eq!(ran.status, 0, "{words:?}: {}", ran.err);
        for wanted in [
            "Lot 14, Alder Row",
            "demo/millrace",
            "permit 2023-05-10",
            "2020 edition",
            "reviewed 2026-",
            "amended here: ",
            "nm.secured_from_box",
            "unverified: ",
            "Before hands go into a box",
            "it approves nothing",
        ] {
            let flat = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(flat.contains(wanted), "{words:?} lacks `{wanted}`");
        }
        for line in ran.out.lines() {
            assert!(line.chars().count() <= 80, "{words:?}: {line}");
        }
    }
}

#[test]
fn the_papers_of_the_hobby_room() {
    insta::assert_snapshot!("takeoff", body(&["takeoff", HOBBY]));
    insta::assert_snapshot!("directory", body(&["directory", HOBBY]));
    insta::assert_snapshot!("markout", body(&["markout", HOBBY]));
    insta::assert_snapshot!("makeup", body(&["makeup", HOBBY, "B5"]));
    insta::assert_snapshot!("readings", body(&["readings", HOBBY]));
    insta::assert_snapshot!("walk", body(&["walk", "--print", HOBBY]));
}

#[test]
fn the_walk_list_has_a_blank_and_a_limit_for_what_is_not_recorded() {
    let text = body(&["walk", HOBBY, "--print"]);
    let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat.contains("put right: end C2/to: first support is 13 in; 8 in max"), "{text}");
    // One question is asked once of all the ends that it concerns, each with a blank.
    let asked = flat.split("measure: first support, 8 in max").nth(1).and_then(|rest| rest.split("measure: ").next());
    assert!(asked.is_some_and(|blanks| blanks.contains("C7/to [________]")), "{text}");
    assert!(flat.contains("[ ] look: "), "{text}");
}

/// Reads a take-off as a spreadsheet would.
fn rows(text: &str) -> Vec<csv::StringRecord> {
    csv::Reader::from_reader(text.as_bytes()).records().map(Result::unwrap).collect()
}

#[test]
fn the_take_off_as_csv_reads_back_and_its_totals_are_the_sums_of_the_rooms() {
    let ran = run(&["takeoff", DWELLING, "--format", "csv"]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    let rows = rows(&ran.out);
    let mut sums: BTreeMap<(String, String), f64> = BTreeMap::new();
    let mut totals = 0;
    for row in &rows {
        let key = (row[0].to_owned(), row[1].to_owned());
        let net: f64 = row[3].parse().unwrap();
        if &row[2] == "TOTAL" {
            totals += 1;
            let sum = sums.get(&key).copied().unwrap();
            // Each figure is rounded to a thousandth of a foot.
            assert!((sum - net).abs() < 0.02, "{key:?}: {sum} {net}");
            assert!(row[5].parse::<f64>().unwrap() >= net - 0.001, "{key:?}");
        } else {
            *sums.entry(key).or_default() += net;
        }
    }
    assert_eq!(totals, sums.len());
    assert!(totals > 50);
    let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    writer.write_record(csv::Reader::from_reader(ran.out.as_bytes()).headers().unwrap()).unwrap();
    for row in &rows {
        writer.write_record(row).unwrap();
    }
    assert_eq!(String::from_utf8(writer.into_inner().unwrap()).unwrap(), ran.out);
}

#[test]
fn the_directory_as_csv_has_every_position_of_the_panel() {
    let ran = run(&["directory", DWELLING, "--format", "csv"]);
    let positions: Vec<usize> = rows(&ran.out).iter().map(|row| row[1].parse().unwrap()).collect();
    assert_eq!(positions, (1..=42).collect::<Vec<_>>());
}

#[test]
fn a_packet_may_hold_some_of_the_papers() {
    let whole = run(&["packet", HOBBY]).out;
    let some = run(&["packet", HOBBY, "--sheet", "directory", "--sheet", "walk"]).out;
    let has = |page: &str, id: &str| page.contains(&format!("<section class=\"sheet\" id=\"{id}\""));
    for id in ["findings", "walk", "mark-out", "make-up", "take-off", "directory", "loads", "tests", "met", "code"] {
        assert!(has(&whole, id), "{id}");
        assert_eq!(has(&some, id), ["walk", "directory"].contains(&id), "{id}");
    }
    assert!(some.contains("absence of voltage"), "the cautions come along");
    assert_eq!(run(&["packet", HOBBY, "--sheet", "wok"]).status, 2);
}

#[test]
fn make_up_sheets_as_json_hold_what_the_text_holds() {
    let ran = run(&["makeup", HOBBY, "B2", "B4", "--format", "json"]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    let whole: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    assert!(whole["caution"].as_str().unwrap().contains("absence of voltage verified"));
    let boxes = whole["boxes"].as_array().unwrap();
    assert_eq!(boxes.iter().map(|one| one["box"].as_str().unwrap()).collect::<Vec<_>>(), ["B2", "B4"]);
    let text = run(&["makeup", HOBBY, "B2", "B4"]).out;
    // The text breaks lines; words and their order are the same.
    let words = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    for one in boxes {
        for step in one["steps"].as_array().unwrap() {
            assert!(words(&text).contains(&words(step.as_str().unwrap())), "{step}");
        }
        let conductors = one["conductors"].as_array().unwrap();
        let joined =
            one["splices"].as_array().unwrap().iter().flat_map(|splice| splice["conductors"].as_array().unwrap());
        let landed = one["landings"].as_array().unwrap().iter().map(|landing| &landing["from"]);
        let used: Vec<&serde_json::Value> = joined.chain(landed).chain(one["caps"].as_array().unwrap()).collect();
        assert!(conductors.iter().all(|conductor| used.contains(&&conductor["name"])), "every conductor has its place");
        assert!(one["fill"]["needed"].as_str().unwrap().ends_with(" in3"));
    }
}

#[test]
fn the_sheet_of_a_panel_has_every_position_once_and_every_conductor_in_text_drawing_and_json() {
    let text = run(&["makeup", DWELLING, "P1"]);
    assert_eq!(text.status, 0, "{}", text.err);
    assert!(text.out.lines().all(|line| line.chars().count() <= 80), "{}", text.out);
    assert!(text.out.contains("PANEL P1") && !text.out.contains("BOX "), "the panel alone");
    let ran = run(&["makeup", DWELLING, "P1", "--format", "json"]);
    let whole: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(whole["boxes"], serde_json::json!([]));
    let panel = &whole["panels"][0];
    // 42 spaces in the job file: each is on one breaker or open.
    let on = |one: &serde_json::Value| one["positions"].as_array().unwrap().clone();
    let mut positions: Vec<i64> =
        panel["breakers"].as_array().unwrap().iter().flat_map(on).map(|it| it.as_i64().unwrap()).collect();
    positions.extend(panel["open"].as_array().unwrap().iter().map(|it| it.as_i64().unwrap()));
    positions.sort_unstable();
    assert_eq!(positions, (1..=42).collect::<Vec<i64>>());
    let conductors = panel["conductors"].as_array().unwrap();
    let grounds = conductors.iter().filter(|one| one["lands"] == "ground_bar").count();
    assert_eq!(panel["ground_bar"]["conductors"], grounds);
    // Home runs of the job file: cables with an end at the panel, each with one ground.
    let job = std::fs::read_to_string(examples().join(DWELLING)).unwrap();
    let home_runs = job.matches("at = \"P1\"").count();
    assert_eq!(grounds, home_runs);
    let folder = Folder::empty();
    let to = folder.path().to_str().unwrap();
    assert_eq!(run(&["makeup", DWELLING, "P1", "--svg", to]).status, 0);
    let drawing = folder.read("panel-P1.svg");
    assert_eq!(drawing.matches("data-breaker=").count(), panel["breakers"].as_array().unwrap().len());
}

#[test]
fn a_room_or_box_that_is_not_there_is_refused_with_the_nearest() {
    let room = run(&["markout", DWELLING, "--room", "kitchn"]);
    assert_eq!((room.status, room.out.as_str()), (2, ""));
    assert!(room.err.contains("no room `kitchn`") && room.err.contains("`kitchen`"), "{}", room.err);
    let outlet = run(&["makeup", HOBBY, "B44"]);
    assert_eq!(outlet.status, 2);
    assert!(outlet.err.contains("no box or panel `B44`"), "{}", outlet.err);
}

#[test]
fn a_job_that_cannot_be_read_gives_no_paper() {
    for paper in ["takeoff", "directory", "packet", "markout"] {
        let ran = run(&[paper, "invalid/unknown-key.toml"]);
        assert_eq!((ran.status, ran.out.as_str()), (2, ""), "{paper}");
        assert!(!ran.err.is_empty());
    }
}

#[test]
fn the_drawings_beside_the_dwelling_are_what_the_command_draws() {
    let folder = Folder::empty();
    let to = folder.path().to_str().unwrap();
    assert_eq!(run(&["markout", DWELLING, "--room", "kitchen", "--svg", to]).status, 0);
    assert_eq!(run(&["makeup", DWELLING, "F-4", "P1", "--svg", to]).status, 0);
    for name in ["kitchen-north.svg", "make-up-F-4.svg", "panel-P1.svg", "story-stick.svg", "plan-kitchen.svg"] {
        let kept = std::fs::read_to_string(examples().join("alder-row/drawings").join(name)).unwrap();
        assert!(kept == folder.read(name), "draw {name} anew: `storystick markout … --svg` or `makeup … --svg`");
    }
}

#[test]
fn the_packet_is_one_page_without_a_script_or_an_address_and_the_same_every_time() {
    let folder = Folder::empty();
    let path = folder.path().join("packet.html");
    let ran = run(&["packet", DWELLING, "-o", path.to_str().unwrap()]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    let page = folder.read("packet.html");
    assert!(page.len() < 3 * 1024 * 1024, "{} bytes", page.len());
    let plain = page.replace("http://www.w3.org/2000/svg", "");
    for no in ["<script", "http:", "https:", "src=", "@import", "url(h"] {
        assert!(!plain.contains(no), "{no}");
    }
    for yes in [
        "What to put right",
        "Walk list",
        "Mark-out",
        "Make-up sheets",
        "Take-off",
        "Circuit directory",
        "Load worksheet",
        "Test record",
        "The code in force",
    ] {
        assert!(page.contains(yes), "{yes}");
    }
    assert_eq!(page, run(&["packet", DWELLING]).out);
    assert!(Path::new(&path).is_file());
}

#[test]
fn text_of_a_job_file_cannot_become_markup() {
    let folder = Folder::little();
    folder.change("job.toml", "name = \"Shed, ", "name = \"</style><script>alert(1)</script> & ");
    let ran = ran(folder.command().args(["packet", "job.toml", "--rulesets", "book"]).output().unwrap());
    assert!(!ran.out.contains("<script"), "{}", ran.err);
    assert!(ran.out.contains("&lt;script&gt;"), "{}{}", ran.err, ran.out);
}
