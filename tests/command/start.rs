//! `start`: a job file from a few answers.

use std::io::Write;
use std::process::Stdio;

use crate::support::{Folder, Ran, ran};

const ROOM: &str = "bedroom 12x14 \"North bedroom\" @2; door south 3 32in latch-end; window north 4 5ft sill 30in";

fn start(folder: &Folder, args: &[&str]) -> Ran {
    ran(folder.command().arg("start").args(args).output().unwrap())
}

#[test]
fn flags_make_a_job_file_that_inspect_takes() {
    let folder = Folder::empty();
    let made = start(
        &folder,
        &[
            "job.toml",
            "--name",
            "4 Alder Row",
            "--place",
            "demo/harlow-county",
            "--permit-date",
            "2023-05-10",
            "--room",
            ROOM,
        ],
    );
    assert_eq!((made.status, made.err.as_str()), (0, ""), "{made:?}");
    let text = folder.read("job.toml");
    for line in [
        "id = \"north-bedroom\"",
        "length = \"12 ft\"",
        "width = \"14 ft\"",
        "storey = 2",
        "latch = \"end\"",
        "width = \"2 ft 8 in\"",
    ] {
        assert!(text.contains(line), "`{line}` is not in:\n{text}");
    }
    let inspected = folder.run("inspect job.toml");
    assert!(inspected.status < 2, "{inspected:?}");
}

#[test]
fn appliances_come_with_their_nameplates() {
    let folder = Folder::empty();
    let place = ["--place", "demo/harlow-county", "--permit-date", "2023-05-10", "--room"];
    let rooms = [
        "kitchen 12x10; appliances range 8.8kW 240V, dishwasher plug",
        "outdoors 60x40; appliances heat-pump 13A minimum 17A breaker 25A",
    ];
    let made = start(&folder, &[&["job.toml"], &place[..], &rooms[..1], &place[4..], &rooms[1..]].concat());
    assert_eq!(made.status, 0, "{made:?}");
    let text = folder.read("job.toml");
    for lines in [
        "id = \"range\"\nroom = \"kitchen\"\nkind = \"range\"\nload = \"8800 VA\"\nvoltage = \"240 V\"\n",
        "kind = \"dishwasher\"\ncord_and_plug = true\n",
        "current = \"13 A\"\nmin_ampacity = \"17 A\"\nmax_breaker = \"25 A\"\n",
    ] {
        assert!(text.contains(lines), "`{lines}` is not in:\n{text}");
    }
    folder.write(
        "answers.txt",
        "place us-wa\npermit-date 2024-05-01\nroom kitchen 10x10\nappliances dishwaser, range 8Z\n",
    );
    start(&folder, &["--answers", "answers.txt"]).refused("`dishwasher`");
}

#[test]
fn metres_make_a_metric_job() {
    let folder = Folder::empty();
    let made = start(
        &folder,
        &[
            "--place",
            "uk/england",
            "--permit-date",
            "2023-05-10",
            "--units",
            "metric",
            "--room",
            "bedroom 3.6x4.2; door south 0.5 838mm",
        ],
    );
    assert_eq!(made.status, 0, "{made:?}");
    assert!(
        made.out.contains("units = \"metric\"") && made.out.contains("3600 mm") && made.out.contains("838 mm"),
        "{}",
        made.out
    );
}

#[test]
fn answers_come_from_standard_input() {
    let folder = Folder::empty();
    let mut child = folder
        .command()
        .args(["start", "job.toml"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(b"place us-wa\npermit-date 2024-05-01\nroom kitchen 10x10\nsink\n").unwrap();
    let made = ran(child.wait_with_output().unwrap());
    assert_eq!(made.status, 0, "{made:?}");
    assert!(folder.read("job.toml").contains("has_sink = true"));
}

#[test]
fn a_file_that_is_there_stays() {
    let folder = Folder::empty();
    folder.write("job.toml", "mine");
    let flags = ["job.toml", "--place", "us-wa", "--permit-date", "2024-05-01"];
    start(&folder, &flags).refused("is there already");
    assert_eq!(folder.read("job.toml"), "mine");
    let forced = start(&folder, &[&flags[..], &["--force"]].concat());
    assert_eq!(forced.status, 0, "{forced:?}");
    assert_ne!(folder.read("job.toml"), "mine");
}

#[test]
fn every_wrong_answer_is_told_at_once_with_the_nearest_word() {
    let folder = Folder::empty();
    folder.write("answers.txt", "place demo/harlow\npermit-date 2023-5-1\nrom x\nroom bedrom 12x14\nroom hallway 10x4\ndoor nort 3 3\ndoor north 9 3 to kitchn\nstage finall\n");
    let told = start(&folder, &["job.toml", "--answers", "answers.txt"]);
    for says in [
        "demo/harlow-county",
        "YEAR-MONTH-DAY",
        "`room`",
        "`bedroom`",
        "`north`",
        "does not fit into the north wall",
        "`final`",
        "answers.txt:4:6",
    ] {
        told.refused(says);
    }
    assert!(!folder.path().join("job.toml").exists());
}

#[test]
fn a_date_on_which_nothing_is_in_force_is_told_at_its_answer() {
    let folder = Folder::empty();
    let told = start(&folder, &["--place", "demo/harlow-county", "--permit-date", "1999-01-01"]);
    told.refused("1999-01-01");
}
