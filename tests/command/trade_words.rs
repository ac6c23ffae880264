//! Words as crews write them, in a job file and in the answers of `start`. What they mean is common practice, no source.

use crate::support::{Folder, flat, ran};

const JOB: &str = r#"format = 1

[site]
jurisdiction = "us/model-2020"
permit_date = 2021-06-01
stage = "rough-in"

[[panel]]
id = "P1"

[[room]]
id = "k"
kind = "Kitchen"

[[room]]
id = "l"
kind = "living room"

[[circuit]]
id = "1"
rating = "20 A"
voltage = "120 V"

[[box]]
id = "B1"
room = "k"

[[appliance]]
id = "D"
kind = "disposal"
room = "k"
circuit = "1"

[[cable]]
id = "C1"
make = "12-2"
wiring_method = "nm-b"
material = "cu"
circuit = "1"
from = "P1"
to = "B1"
"#;

#[test]
fn a_job_in_the_words_of_the_trade_is_read() {
    let folder = Folder::empty();
    folder.write("job.toml", JOB);
    let ran = folder.run("inspect job.toml --rule copper-wire-fits-breaker --all");
    assert_eq!(ran.status, 0, "{}{}", ran.out, ran.err);
    assert!(flat(&ran.out).contains("C1 copper-wire-fits-breaker 20 A"), "{}", ran.out);
}

#[test]
fn a_word_that_may_mean_several_things_is_asked_with_all_of_them() {
    let folder = Folder::empty();
    folder.write("job.toml", &JOB.replace("\"living room\"", "\"study\""));
    let ran = folder.run("inspect job.toml");
    assert_eq!(ran.status, 2, "{}", ran.out);
    let said = flat(&ran.err);
    assert!(said.contains("`study` may mean several things here"), "{}", ran.err);
    for kind in ["den", "office", "library"] {
        assert!(said.contains(&format!("`kind = \"{kind}\"`")), "{}", ran.err);
    }
}

#[test]
fn start_takes_the_names_of_rooms_and_appliances_that_people_say() {
    let folder = Folder::empty();
    let args = [
        "start",
        "house.toml",
        "--place",
        "us/model-2020",
        "--permit-date",
        "2021-06-01",
        "--room",
        "living room 14x16",
        "--room",
        "Hall 4x12",
    ];
    let ran = ran(folder.command().args(args).output().unwrap());
    assert_eq!(ran.status, 0, "{}{}", ran.out, ran.err);
    let text = folder.read("house.toml");
    assert!(text.contains("kind = \"living_room\"") && text.contains("kind = \"hallway\""), "{text}");
}
