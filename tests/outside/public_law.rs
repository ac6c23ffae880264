//! Concrete cases of public law, held against the shipped rulesets in the whole stack of their place.

use std::fmt::Write as _;

use jiff::civil::Date;
use storystick_engine::book::{Ask, RuleName, RulesetText};
use storystick_engine::inspection::{Inspector, JobText, Options};

const VECTORS: &str = include_str!("data/public-law.toml");

fn text<'t>(table: &'t toml::Table, key: &str) -> Option<&'t str> {
    table.get(key).map(|value| value.as_str().unwrap_or_else(|| panic!("`{key}` is a text")))
}

fn day(table: &toml::Table) -> Date {
    table["day"].as_datetime().unwrap().to_string().parse().unwrap()
}

/// Writes the job that a short description stands for.
fn job(case: &toml::Table, what: &str) -> String {
    let place = text(case, "place").unwrap();
    let mut out = format!(
        "format = 1\n[site]\njurisdiction = {place:?}\npermit_date = {0}\napplication_date = {0}\npurchase_date = {0}\n\
         manufacture_date = {0}\nstage = \"final\"\n",
        day(case)
    );
    if case.get("accessible").is_some() {
        out.push_str("accessible = true\n");
    }
    if let Some(dwelling) = text(case, "dwelling") {
        let _ = writeln!(out, "dwelling = {dwelling:?}");
    }
    let parts: Vec<&str> = what.split(", ").collect();
    let room = "[[room]]\nid = \"bed\"\nkind = \"bedroom\"\nlength = \"12 ft\"\nwidth = \"10 ft\"\n";
    match parts.as_slice() {
        ["bedroom", reach, depth, height] => {
            let _ = write!(
                out,
                "{room}[[box]]\nid = \"B1\"\nroom = \"bed\"\nwall = \"north\"\nalong = \"4 ft\"\nreach = {reach:?}\n\
                 obstruction = \"counter\"\nobstruction_depth = {depth:?}\nobstruction_height = \"34 in\"\n\
                 [[device]]\nid = \"D1\"\nbox = \"B1\"\nkind = \"receptacle\"\noperable_part = {height:?}\n"
            );
        }
        ["socket", height] => {
            let _ = write!(
                out,
                "units = \"metric\"\n{room}[[box]]\nid = \"B1\"\nroom = \"bed\"\nwall = \"north\"\nalong = \"4 ft\"\nheight = {height:?}\n\
                 [[device]]\nid = \"D1\"\nbox = \"B1\"\nkind = \"receptacle\"\n"
            );
        }
        ["lighting", count, rating] => {
            out.push_str("floor_area = \"924 ft2\"\n");
            for number in 1..=count.parse().unwrap() {
                let _ = write!(out, "[[circuit]]\nid = \"{number}\"\nrating = {rating:?}\nserves = \"lighting\"\n");
            }
        }
        ["dielectric", voltage, time] => {
            let _ =
                write!(out, "dielectric_voltage = {voltage:?}\ndielectric_time = {time:?}\ndielectric_held = true\n");
        }
        ["unfinished", area, boxes] => {
            let _ = write!(out, "[[room]]\nid = \"base\"\nkind = \"basement\"\nfinished = false\narea = {area:?}\n");
            for number in 1..=boxes.parse().unwrap() {
                let _ = write!(
                    out,
                    "[[box]]\nid = \"J{number}\"\nroom = \"base\"\npurpose = \"junction\"\nmounted = \"ceiling\"\n"
                );
            }
        }
        ["receptacles", count] => {
            out.push_str(room);
            out.push_str("[[circuit]]\nid = \"1\"\nrating = \"20 A\"\n");
            for number in 1..=count.parse().unwrap() {
                let _ = write!(
                    out,
                    "[[device]]\nid = \"D{number}\"\nroom = \"bed\"\ncircuit = \"1\"\nkind = \"receptacle\"\n"
                );
            }
        }
        ["cable", method] => {
            out.push_str(room);
            for (id, wall) in [("B1", "north"), ("B2", "south")] {
                let _ = write!(out, "[[box]]\nid = {id:?}\nroom = \"bed\"\nwall = {wall:?}\nalong = \"2 ft\"\n");
            }
            let _ = write!(
                out,
                "[[cable]]\nid = \"C1\"\nmake = \"12/2\"\nfrom = \"B1\"\nto = \"B2\"\nwiring_method = {method:?}\n"
            );
        }
        ["kitchen", small_appliance] => {
            out.push_str("[[room]]\nid = \"kitchen\"\nkind = \"kitchen\"\n");
            for number in 1..=small_appliance.parse().unwrap() {
                let _ =
                    write!(out, "[[circuit]]\nid = \"{number}\"\nrating = \"20 A\"\nserves = \"small_appliance\"\n");
            }
        }
        ["counter", circuits @ ..] => {
            out.push_str(
                "[[room]]\nid = \"kitchen\"\nkind = \"kitchen\"\nlength = \"14 ft\"\nwidth = \"10 ft\"\n\
                 [[room.counter]]\nname = \"run\"\nkind = \"wall\"\nwall = \"north\"\nat = \"0 ft\"\nlength = \"12 ft\"\n",
            );
            for circuit in circuits.iter().collect::<std::collections::BTreeSet<_>>() {
                let _ = write!(out, "[[circuit]]\nid = {circuit:?}\nrating = \"20 A\"\nserves = \"small_appliance\"\n");
            }
            for (number, circuit) in circuits.iter().enumerate() {
                let _ = write!(
                    out,
                    "[[box]]\nid = \"B{number}\"\nroom = \"kitchen\"\nwall = \"north\"\nalong = \"{} ft\"\n\
                     [[device]]\nid = \"D{number}\"\nbox = \"B{number}\"\ncircuit = {circuit:?}\nkind = \"receptacle\"\ncounter = \"kitchen/run\"\n",
                    2 + 3 * number
                );
            }
        }
        ["laundry receptacle", voltage] => {
            let _ = write!(
                out,
                "[[room]]\nid = \"laundry\"\nkind = \"laundry\"\n[[circuit]]\nid = \"1\"\nrating = \"30 A\"\n\
                 [[device]]\nid = \"D1\"\nroom = \"laundry\"\ncircuit = \"1\"\nkind = \"receptacle\"\nvoltage = {voltage:?}\nrating = \"30 A\"\n"
            );
        }
        ["operable", kind, mounted, height, exempt] => {
            let place = if *mounted == "wall" { "wall = \"north\"\nalong = \"4 ft\"\n" } else { "" };
            let _ = write!(
                out,
                "{room}[[box]]\nid = \"B1\"\nroom = \"bed\"\nmounted = {mounted:?}\n{place}\
                 [[device]]\nid = \"D1\"\nbox = \"B1\"\nkind = {kind:?}\noperable_part = {height:?}\nis_exempt_from_reach = {}\n",
                *exempt == "exempt"
            );
        }
        ["service", rating] => {
            out = out.replacen(
                "[site]\n",
                &format!(
                    "[site]\nnew_service = true\nservice_rating = {rating:?}\nfloor_area = \"1500 ft2\"\n\
                     line_to_neutral = \"115 V\"\nline_to_line = \"230 V\"\n"
                ),
                1,
            );
            out.push_str("[[room]]\nid = \"kitchen\"\nkind = \"kitchen\"\n");
            for (id, serves) in [("1", "small_appliance"), ("2", "small_appliance"), ("3", "laundry")] {
                let _ = write!(out, "[[circuit]]\nid = {id:?}\nrating = \"20 A\"\nserves = {serves:?}\n");
            }
            out.push_str(
                "[[circuit]]\nid = \"4\"\nrating = \"40 A\"\nvoltage = \"230 V\"\npoles = 2\n\
                 [[appliance]]\nid = \"range\"\nkind = \"range\"\nroom = \"kitchen\"\ncircuit = \"4\"\nload = \"12 kVA\"\nvoltage = \"230 V\"\n",
            );
        }
        ["supply", rating] => {
            out = out.replacen(
                "[site]\n",
                &format!("[site]\nservice_rating = {rating:?}\nfloor_area = \"700 ft2\"\n"),
                1,
            );
            out.push_str("[[room]]\nid = \"kitchen\"\nkind = \"kitchen\"\n");
            for (id, serves) in [("1", "small_appliance"), ("2", "small_appliance"), ("3", "laundry")] {
                let _ = write!(out, "[[circuit]]\nid = {id:?}\nrating = \"20 A\"\nserves = {serves:?}\n");
            }
            for (id, kind, load, voltage, motor) in [
                ("heater", "electric_heat", "1000 VA", "240 V", false),
                ("fan", "other", "200 VA", "120 V", true),
                ("dishwasher", "dishwasher", "400 VA", "120 V", false),
                ("range", "range", "7 kVA", "240 V", false),
            ] {
                let _ = write!(
                    out,
                    "[[appliance]]\nid = {id:?}\nkind = {kind:?}\nroom = \"kitchen\"\nload = {load:?}\nvoltage = {voltage:?}\n\
                     is_motor = {motor}\nfastened = true\n"
                );
            }
        }
        _ => panic!("no job is called `{what}`"),
    }
    out
}

/// Returns the worst outcome of a rule on a job.
fn outcome(inspector: &mut Inspector, rule: &str, text: String) -> String {
    let mut options = Options::on(jiff::civil::date(2026, 1, 1));
    options.rules = vec![rule.to_owned()];
    options.met = true;
    let prepared = inspector.prepare(JobText { name: String::from("case.toml"), text: text.clone().into() }, &options);
    let inspected = prepared.and_then(|prepared| inspector.inspect(&prepared, &options));
    let inspected = inspected.unwrap_or_else(|failure| panic!("{:#?}\n{text}", failure.problems));
    assert!(inspected.report.faults.is_empty(), "{:#?}\n{text}", inspected.report.faults);
    let worst = inspected.report.findings.iter().map(|finding| finding.outcome).min();
    worst.map_or("none", |outcome| outcome.word()).to_owned()
}

#[test]
fn cases_of_public_law_come_out_as_the_law_says() {
    let texts = storystick_rulesets::FILES.iter().map(|&(path, text)| RulesetText::shipped(path, text)).collect();
    let mut inspector = Inspector::new(texts);
    let data: toml::Table = VECTORS.parse().unwrap();
    let mut wrong = Vec::new();
    let mut cases = 0;
    for vector in data["vector"].as_array().unwrap() {
        let vector = vector.as_table().unwrap();
        let id = text(vector, "id").unwrap();
        assert!(text(vector, "basis").is_some_and(|basis| !basis.is_empty()), "{id} has no basis");
        assert!(["law_text", "official_page", "secondary", "memory"].contains(&text(vector, "checked").unwrap()));
        for case in vector["case"].as_array().unwrap() {
            let case = case.as_table().unwrap();
            cases += 1;
            let mut ask = Ask::on(text(case, "place").unwrap(), day(case));
            ask.accessible = case.get("accessible").is_some();
            ask.dwelling = text(case, "dwelling").map(str::to_owned);
            let book = inspector.shelf_mut().resolve(&ask).unwrap_or_else(|problems| panic!("{id}: {problems:#?}"));
            let mut held = |what: &str, is: String, want: String| {
                if is != want {
                    wrong.push(format!(
                        "{id}: {} on {}: {what} is {is}, must be {want}",
                        ask.jurisdiction, ask.permit_date
                    ));
                }
            };
            if let Some(edition) = text(case, "edition") {
                held("the edition", book.edition.clone(), edition.to_owned());
            } else if let Some(key) = text(case, "entry") {
                let value = book.get(key).and_then(|entry| book.shown(entry).value).unwrap_or_default();
                held(key, value, text(case, "value").unwrap().to_owned());
            } else if let Some(in_force) = case.get("in_force") {
                let rule = text(case, "rule").unwrap();
                let is = matches!(book.rule_named(rule), Some(RuleName::Current(_) | RuleName::Renamed(_)));
                held(rule, is.to_string(), in_force.as_bool().unwrap().to_string());
            } else {
                let (rule, what) = (text(case, "rule").unwrap(), text(case, "job").unwrap());
                let is = outcome(&mut inspector, rule, job(case, what));
                let want = text(case, "expect").unwrap();
                // What the law says nothing of is out of a rule's scope, or comes under one of its exceptions.
                let is = if want == "none" && is == "excepted" { String::from(want) } else { is };
                held(&format!("{rule} on {what}"), is, want.to_owned());
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(cases >= 60, "only {cases} cases");
}
