//! `grade`: the example class, and small classes of a test's own.

use std::collections::{BTreeMap, BTreeSet};

use crate::support::{Folder, examples, flat};

fn class(words: &str) -> crate::support::Ran {
    let class = examples().join("class");
    let (folder, key) = (class.join("handed-in"), class.join("key/key.toml"));
    Folder::empty().run(&format!("grade {} --key {} {words}", folder.display(), key.display()))
}

/// Returns percent by trainee and competency.
fn percents(csv: &str) -> BTreeMap<(String, String), i64> {
    let rows = csv.lines().skip(1).map(|row| row.split(',').map(str::to_owned).collect::<Vec<_>>());
    rows.filter_map(|row| Some(((row[0].clone(), row[1].clone()), row[3].parse().ok()?))).collect()
}

#[test]
fn the_example_class_gets_the_marks_that_a_hand_count_gives() {
    let ran = class("--format csv");
    assert_eq!(ran.status, 0, "{}", ran.err);
    let marks = percents(&ran.out);
    let of = |name: &str, competency: &str| marks.get(&(name.to_owned(), competency.to_owned())).copied();
    assert_eq!(of("Alma", "all"), Some(100));
    // B5: 3 of 5 lines; B2: nothing of 7; B6: no line, the figure: 1 of 5. Of 6 + 7 + 5 marks 3 + 0 + 1.
    assert_eq!(of("Bert", "box-fill"), Some(22));
    // Two of four put right, less half a mistake for one new one: 1.5 of 4.
    assert_eq!(of("Bert", "fault-finding"), Some(38));
    // One with its section, one with another for half, one false call: 1 of 4.
    assert_eq!(of("Bert", "inspector-eye"), Some(25));
    // Of 1 + 2 + 4 + 5 + 5 marks: one sum, one without its step, two steps of a wrong sum.
    assert_eq!(of("Bert", "ohms-law"), Some(24));
    // Of 1 + 1 + 2 + 1 marks two.
    assert_eq!(of("Bert", "measure"), Some(40), "a tape has no tolerance");
    // Three of nine terms.
    assert_eq!(of("Bert", "definitions"), Some(33));
    // The multiplier is one mark of 3 + 2 + 3.
    assert_eq!(of("Bert", "bend"), Some(13));
    // Two with their sections, less half a mistake for a false one.
    assert_eq!(of("Cleo", "inspector-eye"), Some(38));
    assert_eq!(of("Cleo", "fault-finding"), None, "without a job nothing shows it");
}

#[test]
fn the_sheet_says_where_it_went_wrong() {
    let text = flat(&class("").out);
    for said in [
        "box.fill of B5: cable clamps inside, all together, 2 in3 (314.16(B)(2)): MISSING OR WRONG",
        "box.fill of B5: device on its yoke, 4 in3 (314.16(B)(4)): right",
        "missed: box.fill of B5: 16 in3 given, 18 in3 is right",
        "false: B1 (314.16) box too small",
        "B4: sound before, now against box-firmly-fastened",
        "missed: B6: two conductors in a box have changed places",
        "no job was handed in",
        "Marks are an aid for the trainer, who decides.",
    ] {
        assert!(text.contains(said), "`{said}` is not in {text}");
    }
}

#[test]
fn the_page_stands_alone_and_escapes_what_trainees_write() {
    let page = class("--format html").out;
    for part in ["<!DOCTYPE html>", "lang=\"en\"", "scope=\"col\"", "scope=\"row\"", "<caption>", "break-before:page"] {
        assert!(page.contains(part), "{part}");
    }
    assert!(!page.contains("<script") && !page.contains("http"), "no script and no network");
    let folder = Folder::empty();
    folder.write("in/x.answers.toml", "name = \"<script>alert(1)</script>\"\n[[correction]]\nitem = \"=1+1\"\n");
    let key = examples().join("class/key/key.toml");
    let page = folder.run(&format!("grade in --key {} --format html", key.display())).out;
    assert!(page.contains("&lt;script&gt;") && !page.contains("<script>"));
}

#[test]
fn a_key_grades_the_sound_job_as_wholly_repaired_and_the_drill_as_not_at_all() {
    let folder = Folder::empty();
    let job = examples().join("three-bedroom.toml");
    let ran = folder.run(&format!("drill {} --seed 21 --mistakes 5 -o out --key key", job.display()));
    assert_eq!(ran.status, 0, "{}", ran.err);
    folder.write("in/sound/job.toml", &std::fs::read_to_string(job).unwrap());
    folder.write("in/untouched/job.toml", &folder.read("out/job.toml"));
    let marks = percents(&folder.run("grade in --key key/key.toml --format csv").out);
    assert!(marks.iter().filter(|((name, _), _)| name == "sound").all(|(_, percent)| *percent == 100), "{marks:?}");
    assert!(marks.iter().filter(|((name, _), _)| name == "untouched").all(|(_, percent)| *percent == 0), "{marks:?}");
    assert!(marks.keys().any(|(_, competency)| competency == "fault-finding"));
}

#[test]
fn a_rubric_and_a_rule_of_the_trainers_own_decide() {
    let folder = Folder::little();
    folder.write(
        "rubric.toml",
        "title = \"Staples\"\n[[competency]]\nid = \"staples\"\ntitle = \"staple\"\nrules = [\"staple-*\"]\n\
         [[competency]]\nid = \"circuits\"\ntitle = \"circuits\"\nweight = 3\nfields = [\"device.circuit\", \"cable.make\"]\n",
    );
    let job = folder.read("job.toml");
    folder.write(
        "in/one.toml",
        &job.replace("13 in", "8 in").replace("to = \"B2\"", "to = { at = \"B2\", first_support = \"7 in\" }"),
    );
    folder.write("in/two.toml", &job.replace("12/2", "14/2"));
    let ran = folder.run("grade in --reference job.toml --rubric rubric.toml --rulesets book --format csv");
    let marks = percents(&ran.out);
    let of = |name: &str, competency: &str| marks[&(name.to_owned(), competency.to_owned())];
    // Ends at a box: C1/to met, C2/from at 13 in not; C2/to is not recorded in the reference either.
    assert_eq!((of("one", "staples"), of("two", "staples")), (100, 50));
    // The device's circuit and two makes: one make differs.
    assert_eq!((of("one", "circuits"), of("two", "circuits")), (100, 67));
    assert_eq!(of("two", "all"), 63, "(50 + 3 × 66.7) / 4");
}

#[test]
fn faults_are_told_and_the_others_are_graded_all_the_same() {
    let folder = Folder::empty();
    folder.run("grade nowhere").refused("nowhere");
    folder.write("empty/readme.md", "");
    folder.run("grade empty").refused("holds nothing to grade");
    folder.write("in/a.answers.toml", "[[correction]]\nitm = \"B1\"\n");
    folder.write("in/b.answers.toml", "[[correction]]\nitem = \"B7\"\ncites = \"110.14\"\n");
    folder.write("in/c/job.toml", "format = 1\n[site]\n");
    let key = examples().join("class/key/key.toml");
    let ran = folder.run(&format!("grade in --key {} --format csv", key.display()));
    assert_eq!(ran.status, 1);
    assert!(ran.err.contains("a.answers.toml") && ran.err.contains("itm") && ran.err.contains("line 2"), "{}", ran.err);
    assert!(flat(&ran.err).contains("c/job.toml"), "{}", ran.err);
    assert_eq!(percents(&ran.out)[&(String::from("b"), String::from("inspector-eye"))], 25);
    folder.write("own/reference.toml", "format = 1\n[site\n");
    folder.write("own/e.toml", "what = \"no job at all\"\n");
    let own = folder.run(&format!("grade own --key {} --format csv", key.display()));
    assert!(
        own.status == 1 && own.out.contains("reference") && own.out.contains("\ne,all"),
        "broken work is work: {own:?}"
    );
    folder.write("own/key.toml", &std::fs::read_to_string(&key).unwrap());
    assert_eq!(folder.run("grade own --key own/key.toml --format csv").out, own.out, "the key is nobody's work");
    folder.write("twice/d/one.toml", "format = 1\n");
    folder.write("twice/d/two.toml", "format = 1\n");
    folder.run("grade twice").refused("keep one of them");
    let rubric = folder.run("grade --print-rubric").out;
    folder.write("own.toml", &rubric);
    assert_eq!(folder.run(&format!("grade in --key {} --rubric own.toml --format csv", key.display())).out, ran.out);
}

/// What trainers must teach and a program can grade whole: own reading of public syllabuses and work process schedules for residential
/// wiring (federal schedule for electricians, state curriculum rules, college course outlines).
const FULL: [&str; 30] = [
    "plan-reading",
    "outlet-count",
    "switch-place",
    "code-lookup",
    "definitions",
    "measure",
    "ohms-law",
    "box-fill",
    "box-kind",
    "wire-size",
    "ocpd-size",
    "voltage-drop",
    "circuit-load",
    "dwelling-load",
    "leg-balance",
    "panel-schedule",
    "cable-choice",
    "support-protect",
    "raceway-fill",
    "switching-single",
    "switching-3-4-way",
    "split-receptacle",
    "gfci-afci",
    "grounding",
    "special-circuits",
    "alarms",
    "take-off",
    "fault-finding",
    "inspector-eye",
    "edition-compare",
];

/// Sums, terms, sections: what the key of a drill asks, since no job shows it.
const ASKED: [&str; 9] = [
    "plan-reading",
    "code-lookup",
    "definitions",
    "measure",
    "ohms-law",
    "circuit-load",
    "leg-balance",
    "take-off",
    "edition-compare",
];

#[test]
fn every_competency_that_can_be_graded_whole_is_graded() {
    let folder = Folder::empty();
    let rubric: toml::Table = folder.run("grade --print-rubric").out.parse().unwrap();
    let mut questions: BTreeMap<String, usize> = BTreeMap::new();
    let mut figures: Vec<String> = Vec::new();
    for job in ["three-bedroom.toml", "alder-row/dwelling.toml"] {
        let job = examples().join(job);
        let ran = folder.run(&format!("drill {} --seed 3 --figures --force -o out --key key", job.display()));
        assert_eq!(ran.status, 0, "{}", ran.err);
        let key: toml::Table = folder.read("key/key.toml").parse().unwrap();
        for one in key["question"].as_array().unwrap() {
            *questions.entry(one["competency"].as_str().unwrap().to_owned()).or_default() += 1;
        }
        figures.extend(key["asked"].as_array().unwrap().iter().map(|one| one["figure"].as_str().unwrap().to_owned()));
    }
    let rows = rubric["competency"].as_array().unwrap();
    for id in FULL {
        let row = rows.iter().find(|row| row["id"].as_str() == Some(id)).unwrap_or_else(|| panic!("no row for {id}"));
        let lists = |name: &str| row.get(name).and_then(toml::Value::as_array).is_some_and(|list| !list.is_empty());
        let is = |name: &str| row.get(name).and_then(toml::Value::as_bool) == Some(true);
        let by_job =
            ["rules", "fields", "takeoff"].into_iter().any(lists) || ["repairs", "corrections"].into_iter().any(is);
        assert!(by_job || questions.contains_key(id), "nothing grades {id}");
        assert!(!ASKED.contains(&id) || questions.contains_key(id), "no example is asked about {id}: {questions:?}");
        if id == "fault-finding" {
            assert!(is("meter") && is("repairs"));
        }
    }
    for figure in [
        "box.fill",
        "cable.ampacity",
        "cable.largest_breaker",
        "cable.ground_needed",
        "circuit.voltage_drop",
        "circuit.load",
        "circuit.load_counted",
        "panel.leg_1_load",
        "panel.leg_2_load",
        "panel.leg_difference",
        "raceway.fill",
        "site.load_standard",
        "site.load_optional",
        "site.service_load",
    ] {
        let graded = rows.iter().filter_map(|row| row.get("figures")?.as_array());
        assert!(graded.flatten().any(|one| one.as_str() == Some(figure)), "nobody grades {figure}");
        assert!(figures.iter().any(|one| one == figure), "no example is asked for {figure}");
    }
}

#[test]
fn a_take_off_is_held_against_the_reference_kind_by_kind() {
    let folder = Folder::empty();
    let job = std::fs::read_to_string(examples().join("three-bedroom.toml")).unwrap();
    folder.write("reference.toml", &job);
    folder.write("in/same.toml", &job);
    // A run that is longer within the band, and one breaker of another rating: two kinds of breakers are off.
    let other = job.replacen("length = \"29 ft\"", "length = \"30 ft\"", 1).replacen(
        "rating = \"15 A\"",
        "rating = \"20 A\"",
        1,
    );
    folder.write("in/other.toml", &other);
    folder.write(
        "rubric.toml",
        "title = \"Parts\"\nfalse_call = 0.5\n[[competency]]\nid = \"take-off\"\ntitle = \"parts\"\ntolerance = 10.0\n\
         takeoff = [\"Cable\", \"Boxes\", \"Devices\", \"Plates and covers\", \"Panels and breakers\"]\n",
    );
    let ran = folder.run("grade in --reference reference.toml --rubric rubric.toml");
    let text = flat(&ran.out);
    assert!(text.contains("[2] same — 100 %"), "{text}");
    // One breaker too few of the one kind, and one of a kind that the reference has none of.
    assert!(text.contains("missed: Panels and breakers: breaker, 15 A"), "{text}");
    assert!(text.contains("false: Panels and breakers: breaker, 20 A") && text.contains("1 missed, 1 false"), "{text}");
    assert!(
        !text.contains("missed: Cable") && !text.contains("missed: Boxes") && !text.contains("missed: Devices"),
        "{text}"
    );
}

#[test]
fn half_a_name_is_no_answer_and_a_heap_of_numbers_no_working() {
    let folder = Folder::empty();
    let question = "[[question]]\ncompetency = \"plan-reading\"\nid = \"plan-reading-1\"\nasks = \"what?\"\nanswer = \"duplex receptacle, GFCI\"\n\
                    choices = [\"duplex receptacle\", \"duplex receptacle, GFCI\"]\n\
                    [[question]]\ncompetency = \"ohms-law\"\nid = \"ohms-law-1\"\nasks = \"what?\"\nanswer = \"6 V\"\n\
                    lines = [{ what = \"a\", total = \"2 A\" }, { what = \"b\", total = \"3 ohm\" }]\n\
                    [[question]]\ncompetency = \"take-off\"\nid = \"take-off-1\"\nasks = \"what?\"\nanswer = \"5\"\nlisted = true\n\
                    lines = [{ what = \"box\", total = \"2\" }, { what = \"plate\", total = \"3\" }]\n";
    folder.write("key.toml", &format!("key_format = 1\njob = \"j\"\nseed = 1\n{question}"));
    let reply = |id: &str, value: &str, lines: &str| {
        format!("[[reply]]\nquestion = \"{id}\"\nvalue = \"{value}\"\nlines = [{lines}]\n")
    };
    let heap: String = (0..100).map(|at| format!("{{ total = \"{at} ohm\" }}, ")).collect();
    folder.write(
        "in/half.answers.toml",
        &[
            reply("plan-reading-1", "duplex receptacle", ""),
            reply("ohms-law-1", "6 V", "{ total = \"3 ohm\" }"),
            reply("take-off-1", "5", "{ what = \"plate\", total = \"2\" }, { what = \"box\", total = \"3\" }"),
        ]
        .concat(),
    );
    folder.write("in/heap.answers.toml", &reply("ohms-law-1", "6 V", &format!("{} {{ total = \"2 A\" }}", heap)));
    let marks = percents(&folder.run("grade in --key key.toml --format csv").out);
    let of = |name: &str, competency: &str| marks[&(name.to_owned(), competency.to_owned())];
    assert_eq!(of("half", "plan-reading"), 0, "the other choice");
    assert_eq!(of("half", "ohms-law"), 67, "one line of two, and the figure");
    assert_eq!(of("half", "take-off"), 33, "the numbers stand under each other's names");
    // The first lines alone are read: 3 ohm is among them, 2 A is not.
    assert_eq!(of("heap", "ohms-law"), 67);
}

#[test]
fn the_example_of_readings_gets_the_marks_that_a_hand_count_gives() {
    let class = examples().join("class/meter");
    let (folder, key) = (class.join("handed-in"), class.join("key/key.toml"));
    let ran = Folder::empty().run(&format!("grade {} --key {} --format csv", folder.display(), key.display()));
    let marks = percents(&ran.out);
    let of = |name: &str| marks[&(name.to_owned(), String::from("fault-finding"))];
    assert_eq!(of("Alma"), 100);
    // The kind is right, box and conductor are not; readings count once the fault is found.
    assert_eq!(of("Bert"), 25);
    // One of two faults is of the right kind, the other is none: a quarter, less half a mark of four.
    assert_eq!(of("Cleo"), 13);
}

#[test]
fn a_class_in_which_each_had_another_seed_is_graded_by_a_folder_of_keys() {
    let folder = Folder::empty();
    let job = examples().join("hobby-room.toml");
    let sound = std::fs::read_to_string(&job).unwrap();
    for (name, seed) in [("ann", 31), ("bo", 32), ("cy", 33)] {
        let ran = folder
            .run(&format!("drill {} --seed {seed} --mistakes 3 -o drills/{name} --key keys/{name}", job.display()));
        assert_eq!(ran.status, 0, "{}", ran.err);
    }
    folder.write("in/ann.toml", &sound);
    folder.write("in/bo/job.toml", &folder.read("drills/bo/job.toml"));
    folder.write("in/cy.toml", &folder.read("drills/ann/job.toml"));
    folder.write("in/dora.toml", &sound);
    let ran = folder.run("grade in --key keys --format csv");
    assert_eq!(ran.status, 1, "one of them has no key");
    assert!(ran.err.contains("no key for `dora`"), "{}", ran.err);
    let marks = percents(&ran.out);
    let of = |name: &str| marks.get(&(name.to_owned(), String::from("fault-finding"))).copied();
    assert_eq!((of("ann"), of("bo"), of("dora")), (Some(100), Some(0), None));
    // Cy handed in the drill of another: Cy's own mistakes are not in it, but Ann's are, each a false call.
    assert!(of("cy") < Some(100), "{:?}", of("cy"));
}

/// What a trainer may name without thinking: the folder of the key, the folder of a drill, a single job.
#[test]
fn the_folder_of_a_key_a_drill_and_a_single_file_will_do() {
    let folder = Folder::empty();
    let job = examples().join("hobby-room.toml");
    let ran = folder.run(&format!("drill {} --seed 31 --mistakes 3 -o drill --key key", job.display()));
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert!(flat(&ran.out).contains("next: `storystick grade HANDED-IN --key key/key.toml`"), "{}", ran.out);
    let by_file = folder.run("grade drill --key key/key.toml --format csv");
    assert_eq!(by_file.status, 0, "{}", by_file.err);
    let names: BTreeSet<&str> = by_file.out.lines().skip(1).filter_map(|row| row.split(',').next()).collect();
    assert_eq!(names, BTreeSet::from(["drill"]), "job and answers of one folder are of one trainee");
    assert_eq!(folder.run("grade drill --key key --format csv").out, by_file.out);
    folder.write("ann.toml", &std::fs::read_to_string(&job).unwrap());
    let alone = folder.run("grade ann.toml --key key");
    assert!(alone.out.contains("1 trainee, in percent") && alone.out.contains("[1] ann — "), "{}", alone.out);
    // A key that lies among what was handed in is nobody's work.
    folder.write("all/key.toml", &folder.read("key/key.toml"));
    folder.write("all/ann.toml", &std::fs::read_to_string(&job).unwrap());
    let among = folder.run("grade all --key all");
    assert!(among.status == 0 && among.out.contains("1 trainee, in percent"), "{}{}", among.out, among.err);
    // Nobody's key is no key.
    std::fs::create_dir(folder.path().join("none")).unwrap();
    folder.run("grade ann.toml --key none").refused("no key for anybody who handed in");
}

/// On a phone nothing scrolls sideways: every mark stands behind the name of its trainee.
#[test]
fn the_page_of_a_class_names_the_trainee_at_every_mark() {
    let folder = Folder::empty();
    let class = examples().join("class");
    let (handed_in, key) = (class.join("handed-in"), class.join("key/key.toml"));
    let page = folder.run(&format!("grade {} --key {} --format html", handed_in.display(), key.display())).out;
    let rows = page.split("<tr ").filter(|row| row.contains("scope=\"row\"")).count();
    for name in ["Alma", "Bert", "Cleo"] {
        assert!(page.matches(&format!("data-of=\"{name}\"")).count() >= 17, "{name}");
        assert!(page.contains(&format!("<span>{name}</span>")), "{name} has a card that leads to the sheet");
    }
    assert_eq!(page.matches("role=\"rowheader\"").count(), rows);
    assert!(!page.contains("marks many"), "three names need not stand upright");
    for number in 0..9 {
        folder.write(&format!("in/t{number}.answers.toml"), "");
    }
    let page = folder.run(&format!("grade in --key {} --format html", key.display())).out;
    assert!(page.contains("marks many"), "nine do");
    // On a terminal they stand in as many tables as it takes.
    for number in 9..30 {
        folder.write(&format!("in/t{number}.answers.toml"), "");
    }
    let text = folder.run(&format!("grade in --key {}", key.display())).out;
    let tables: Vec<&str> = text.lines().filter(|line| line.starts_with("  competency")).collect();
    assert!(tables.len() == 3 && tables[0].contains("[1]") && tables[2].contains("[30]"), "{tables:?}");
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
}
