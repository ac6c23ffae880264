//! Limits of public documents, through real inspections: the edge that is still right and the next mark that is not.
//!
//! Each case names its source and how it was checked. Whoever has the document at hand can hold a case against it without
//! knowing anything of the program.

use std::sync::{Mutex, OnceLock};

use storystick_engine::book::RulesetText;
use storystick_engine::inspection::finding::{Outcome, Weight};
use storystick_engine::inspection::{Inspector, JobText, Options};

/// How sure a figure is.
#[derive(Clone, Copy, Debug)]
enum Known {
    /// The document itself was read, or a public body's page that prints it.
    Read,
    /// Read in a document that speaks of it.
    SecondHand,
    /// Recalled by the author; the document is still to be read.
    FromMemory,
    /// Lore of the trade that no document prints.
    CommonPracticeNoSource,
}

/// What one check must say.
struct Case {
    source: &'static str,
    known: Known,
    rule: &'static str,
    item: &'static str,
    job: String,
    outcome: Outcome,
    found: Option<&'static str>,
}

/// What a finding says.
#[derive(Debug)]
struct Told {
    outcome: Outcome,
    found: Option<String>,
    allowed: Option<String>,
    margin: Option<String>,
    missing: usize,
    weight: Weight,
    set_by: Option<String>,
    unverified: bool,
}

/// Returns the worst finding of a rule on an item.
fn inspected(rule: &str, item: &str, job: &str) -> Option<Told> {
    static INSPECTOR: OnceLock<Mutex<Inspector>> = OnceLock::new();
    let shipped = || storystick_rulesets::FILES.iter().map(|&(path, text)| RulesetText::shipped(path, text)).collect();
    let inspector = INSPECTOR.get_or_init(|| Mutex::new(Inspector::new(shipped())));
    let mut inspector = inspector.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
    let mut options = Options::on(jiff::civil::date(2023, 6, 1));
    options.rules = vec![rule.to_owned()];
    options.met = true;
    let job = JobText { name: String::from("job.toml"), text: job.into() };
    let prepared = inspector.prepare(job, &options).unwrap_or_else(|failure| panic!("{:#?}", failure.problems));
    let inspected = inspector.inspect(&prepared, &options).unwrap_or_else(|failure| panic!("{:#?}", failure.problems));
    assert!(inspected.report.faults.is_empty(), "{:#?}", inspected.report.faults);
    let words = inspected.words();
    let findings = inspected.report.findings.iter().filter(|finding| finding.item == item);
    findings.min_by_key(|finding| finding.outcome).map(|finding| Told {
        outcome: finding.outcome,
        found: words.found(finding),
        allowed: words.allowed(finding),
        margin: words.margin(finding),
        missing: finding.missing.len(),
        weight: finding.weight,
        set_by: finding.set_by.first().map(|set| set.checked.clone()),
        unverified: !finding.unverified.is_empty(),
    })
}

fn hold(cases: &[Case]) {
    let mut wrong = Vec::new();
    for case in cases {
        let finding = inspected(case.rule, case.item, &case.job);
        let outcome = finding.as_ref().map(|finding| finding.outcome);
        let found = finding.as_ref().and_then(|finding| finding.found.clone());
        if outcome != Some(case.outcome) || case.found.is_some_and(|expected| found.as_deref() != Some(expected)) {
            wrong.push(format!(
                "{} ({:?}): {} on {}: expected {:?} {:?}, got {outcome:?} {found:?}",
                case.source, case.known, case.rule, case.item, case.outcome, case.found
            ));
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

/// One switch or receptacle in an accessible bedroom.
fn operable(kind: &str, at: &str, obstruction: &str) -> String {
    format!(
        "format = 1\n[site]\njurisdiction = \"demo/harlow-county\"\npermit_date = 2023-05-10\nstage = \"final\"\naccessible = true\n\
         [[room]]\nid = \"bed\"\nkind = \"bedroom\"\nlength = \"12 ft\"\nwidth = \"10 ft\"\n\
         [[box]]\nid = \"B1\"\nroom = \"bed\"\nwall = \"north\"\nalong = \"4 ft\"\n{obstruction}\n\
         [[device]]\nid = \"D1\"\nbox = \"B1\"\nkind = \"{kind}\"\noperable_part = \"{at}\"\n"
    )
}

fn reach(source: &'static str, known: Known, rule: &'static str, job: String, met: bool) -> Case {
    let outcome = if met { Outcome::Met } else { Outcome::Correction };
    Case { source, known, rule, item: "D1", job, outcome, found: None }
}

const WITHIN: &str = "operable-part-within-reach";
const FORWARD: &str = "forward-reach-over-obstruction";
const SIDE: &str = "side-reach-over-obstruction";

#[test]
fn unobstructed_reach_of_the_2010_ada_standards() {
    let mut cases = Vec::new();
    for source in ["2010 ADA Standards, 308.2.1 (forward)", "2010 ADA Standards, 308.3.1 (side)"] {
        for (kind, at, met) in [
            ("switch", "48 in", true),
            ("switch", "48 1/8 in", false),
            ("switch", "1219.2 mm", true),
            ("switch", "1220 mm", false),
            ("receptacle", "15 in", true),
            ("receptacle", "14 7/8 in", false),
            ("thermostat", "15 in", true),
            ("thermostat", "4 ft 1/16 in", false),
        ] {
            cases.push(reach(source, Known::Read, WITHIN, operable(kind, at, ""), met));
        }
    }
    let too_low = inspected(WITHIN, "D1", &operable("receptacle", "14 7/8 in", "")).unwrap();
    assert_eq!((too_low.found.as_deref(), too_low.allowed.as_deref()), (Some("14 7/8 in"), Some("15 in min")));
    assert_eq!(too_low.margin.as_deref(), Some("-1/8 in"));
    hold(&cases);
}

#[test]
fn forward_reach_over_an_obstruction_of_the_2010_ada_standards() {
    let over = |depth: &str| {
        format!(
            "reach = \"forward\"\nobstruction = \"counter\"\nobstruction_depth = \"{depth}\"\nobstruction_height = \"34 in\""
        )
    };
    let source = "2010 ADA Standards, 308.2.2: 48 in up to 20 in deep, 44 in beyond, 25 in at most";
    let case =
        |depth: &str, at: &str, met| reach(source, Known::Read, FORWARD, operable("switch", at, &over(depth)), met);
    hold(&[
        case("20 in", "48 in", true),
        case("20 in", "48 1/8 in", false),
        case("20 1/8 in", "44 in", true),
        case("20 1/8 in", "44 1/8 in", false),
        case("20 1/8 in", "48 in", false),
        case("25 in", "44 in", true),
        case("25 1/8 in", "40 in", false),
    ]);
}

#[test]
fn side_reach_over_an_obstruction_of_the_2010_ada_standards() {
    let over = |depth: &str, height: &str| {
        format!(
            "reach = \"side\"\nobstruction = \"counter\"\nobstruction_depth = \"{depth}\"\nobstruction_height = \"{height}\""
        )
    };
    let case = |source, known, depth: &str, height: &str, at: &str, met| {
        reach(source, known, SIDE, operable("switch", at, &over(depth, height)), met)
    };
    let height = "2010 ADA Standards, 308.3.2: an obstruction 34 in high at most";
    let reached = "2010 ADA Standards, 308.3.2: 46 in over more than 10 in, 24 in at most";
    hold(&[
        case(height, Known::Read, "12 in", "34 in", "46 in", true),
        case(height, Known::Read, "12 in", "34 1/8 in", "46 in", false),
        case(reached, Known::SecondHand, "10 1/8 in", "34 in", "46 in", true),
        case(reached, Known::SecondHand, "10 1/8 in", "34 in", "46 1/8 in", false),
        case(reached, Known::SecondHand, "24 in", "34 in", "46 in", true),
        case(reached, Known::SecondHand, "24 1/8 in", "34 in", "40 in", false),
    ]);
    // 308.3.1, exception: an obstruction 10 in deep or less counts as none.
    let shallow = operable("switch", "48 in", &over("10 in", "40 in"));
    assert_eq!(inspected(SIDE, "D1", &shallow).unwrap().outcome, Outcome::Excepted, "10 in deep counts as none");
    assert_eq!(inspected(WITHIN, "D1", &shallow).unwrap().outcome, Outcome::Met);
}

#[test]
fn a_height_that_nobody_wrote_down_is_to_be_measured() {
    let job = operable("switch", "48 in", "").replace("operable_part = \"48 in\"\n", "");
    let finding = inspected(WITHIN, "D1", &job).unwrap();
    assert_eq!(finding.outcome, Outcome::ToMeasure);
    assert!(finding.missing > 0);
}

/// A manufactured home with a bedroom, and more.
fn manufactured(more: &str) -> String {
    format!(
        "format = 1\n[site]\njurisdiction = \"us/manufactured\"\npermit_date = 2023-05-10\nmanufacture_date = 2022-05-01\n\
         stage = \"final\"\ndwelling = \"manufactured\"\n[[panel]]\nid = \"P1\"\n[[circuit]]\nid = \"1\"\nrating = \"15 A\"\n\
         [[room]]\nid = \"bed\"\nkind = \"bedroom\"\nlength = \"12 ft\"\nwidth = \"12 ft\"\n\
         [[room]]\nid = \"bath\"\nkind = \"bathroom\"\nhas_tub_or_shower = true\nlength = \"8 ft\"\nwidth = \"6 ft\"\n\
         [[box]]\nid = \"B1\"\nroom = \"bed\"\nwall = \"north\"\nalong = \"6 ft\"\n\
         [[box]]\nid = \"B2\"\nroom = \"bath\"\nwall = \"north\"\nalong = \"4 ft\"\n{more}\n"
    )
}

fn federal(
    source: &'static str,
    known: Known,
    rule: &'static str,
    item: &'static str,
    more: String,
    met: bool,
) -> Case {
    let outcome = if met { Outcome::Met } else { Outcome::Correction };
    Case { source, known, rule, item, job: manufactured(&more), outcome, found: None }
}

#[test]
fn distances_to_cables_of_24_cfr_3280_808() {
    let end = |key: &str, value: &str| {
        format!(
            "[[cable]]\nid = \"C1\"\nmake = \"14/2\"\nwiring_method = \"NM\"\ncircuit = \"1\"\nroute = \"along_framing\"\n\
             from = \"P1\"\nto = {{ at = \"B1\", {key} = \"{value}\" }}"
        )
    };
    let run = |key: &str, value: &str| {
        format!(
            "[[cable]]\nid = \"C1\"\nmake = \"14/2\"\nwiring_method = \"NM\"\ncircuit = \"1\"\nroute = \"along_framing\"\n\
             from = \"P1\"\nto = \"B1\"\n{key} = \"{value}\""
        )
    };
    let hole =
        |edge: &str| format!("{}\n[[cable.hole]]\nedge_distance = \"{edge}\"\nplate = false", run("length", "20 ft"));
    let at_box = "24 CFR 3280.808(d): fastened within 12 in of a box";
    let along = "24 CFR 3280.808(d): fastened at most 4 ft 6 in apart";
    let edge = "24 CFR 3280.808(e): 1 1/2 in from the surface of a stud, or a plate";
    let free = "24 CFR 3280.808(j): 4 in of free conductor";
    use Known::FromMemory;
    hold(&[
        federal(at_box, FromMemory, "manufactured-nm-secured-at-box", "C1/to", end("first_support", "12 in"), true),
        federal(
            at_box,
            FromMemory,
            "manufactured-nm-secured-at-box",
            "C1/to",
            end("first_support", "12 1/8 in"),
            false,
        ),
        federal(along, FromMemory, "manufactured-nm-secured-along-run", "C1", run("support_gap", "4 ft 6 in"), true),
        federal(
            along,
            FromMemory,
            "manufactured-nm-secured-along-run",
            "C1",
            run("support_gap", "4 ft 6 1/8 in"),
            false,
        ),
        federal(edge, FromMemory, "manufactured-bored-hole-edge", "C1/hole-1", hole("1 1/2 in"), true),
        federal(edge, FromMemory, "manufactured-bored-hole-edge", "C1/hole-1", hole("1 7/16 in"), false),
        federal(free, FromMemory, "manufactured-free-conductor", "C1/to", end("free_conductor", "4 in"), true),
        federal(free, FromMemory, "manufactured-free-conductor", "C1/to", end("free_conductor", "3 7/8 in"), false),
    ]);
}

#[test]
fn distances_to_receptacles_of_24_cfr_3280_806() {
    let walls = |along: &str| {
        let outlet = |wall: &str| {
            format!(
                "[[box]]\nid = \"W-{wall}\"\nroom = \"bed\"\nwall = \"{wall}\"\nalong = \"{along}\"\nheight = \"16 in\"\n\
                 [[device]]\nid = \"R-{wall}\"\nbox = \"W-{wall}\"\ncircuit = \"1\"\nkind = \"receptacle\"\n"
            )
        };
        ["north", "east", "south", "west"].map(outlet).concat()
    };
    let device = |key: &str, value: &str| {
        format!("[[device]]\nid = \"R1\"\nbox = \"B2\"\ncircuit = \"1\"\nkind = \"receptacle\"\n{key} = \"{value}\"")
    };
    let reach = "24 CFR 3280.806(d): no point of the floor line more than 6 ft from a receptacle";
    let basin = "24 CFR 3280.806(d)(9): within 36 in of the basin";
    let tub = "24 CFR 3280.806(e): not within 30 in of a tub";
    let spacing = "manufactured-wall-receptacle-spacing";
    hold(&[
        federal(reach, Known::SecondHand, spacing, "bed", walls("6 ft"), true),
        federal(basin, Known::FromMemory, "manufactured-basin-receptacle", "bath", device("from_basin", "36 in"), true),
        federal(
            basin,
            Known::FromMemory,
            "manufactured-basin-receptacle",
            "bath",
            device("from_basin", "36 1/8 in"),
            false,
        ),
        federal(
            tub,
            Known::FromMemory,
            "manufactured-receptacle-clear-of-tub",
            "R1",
            device("from_tub", "30 in"),
            true,
        ),
        federal(
            tub,
            Known::FromMemory,
            "manufactured-receptacle-clear-of-tub",
            "R1",
            device("from_tub", "29 7/8 in"),
            false,
        ),
    ]);
    // A wall without any receptacle, 12 ft long between two that have theirs at 6 ft: its far point lies 12 ft away.
    let one_wall = walls("6 ft")
        .replace("[[device]]\nid = \"R-north\"\nbox = \"W-north\"\ncircuit = \"1\"\nkind = \"receptacle\"\n", "");
    let finding = inspected(spacing, "bed", &manufactured(&one_wall)).unwrap();
    assert_eq!(finding.outcome, Outcome::Correction, "{finding:?}");
}

#[test]
fn the_gfci_distance_of_24_cfr_3280_806() {
    // 24 CFR 3280.806(b), from memory: receptacles that serve a counter within 6 ft of the kitchen sink.
    let kitchen = |from_sink: &str| {
        manufactured(&format!(
            "[[room]]\nid = \"kitchen\"\nkind = \"kitchen\"\nlength = \"12 ft\"\nwidth = \"10 ft\"\nhas_sink = true\n\
             [[room.counter]]\nname = \"run\"\nkind = \"wall\"\nwall = \"north\"\nat = \"0 ft\"\nlength = \"10 ft\"\n\
             [[box]]\nid = \"B3\"\nroom = \"kitchen\"\nwall = \"north\"\nalong = \"4 ft\"\n\
             [[device]]\nid = \"R1\"\nbox = \"B3\"\ncircuit = \"1\"\nkind = \"receptacle\"\ncounter = \"run\"\nfrom_sink = \"{from_sink}\"\n"
        ))
    };
    let rule = "manufactured-gfci-near-kitchen-sink";
    assert_eq!(inspected(rule, "R1", &kitchen("6 ft")).unwrap().outcome, Outcome::Correction);
    assert!(inspected(rule, "R1", &kitchen("6 ft 1/8 in")).is_none(), "farther off it is not asked for");
}

/// A box of the shop's own book.
fn shop(purpose: &str, top: &str, accessible: bool) -> String {
    format!(
        "format = 1\n[site]\njurisdiction = \"demo/harlow-county\"\nshop = \"shop/three-gable\"\npermit_date = 2023-05-10\n\
         stage = \"layout\"\naccessible = {accessible}\n\
         [[room]]\nid = \"bed\"\nkind = \"bedroom\"\nlength = \"12 ft\"\nwidth = \"10 ft\"\n\
         [[box]]\nid = \"B1\"\nroom = \"bed\"\nwall = \"north\"\nalong = \"4 ft\"\npurpose = \"{purpose}\"\n{top}\n"
    )
}

/// Common practice, no source: a switch box about 48 in to its top, a receptacle box about 20 in, an accessible switch box
/// about 40 in. "About" is the shop's half inch, up or down.
#[test]
fn heights_of_common_practice() {
    let case = |purpose: &str, top: &str, accessible, rule, met| {
        let outcome = if met { Outcome::Met } else { Outcome::Correction };
        let job = shop(purpose, &format!("top = \"{top}\""), accessible);
        let source = "common practice, no source";
        Case { source, known: Known::CommonPracticeNoSource, rule, item: "B1", job, outcome, found: None }
    };
    let (switch, receptacle) = ("three-gable-switch-height", "three-gable-receptacle-height");
    hold(&[
        case("switch", "48 in", false, switch, true),
        case("switch", "48 1/2 in", false, switch, true),
        case("switch", "48 9/16 in", false, switch, false),
        case("switch", "47 7/16 in", false, switch, false),
        case("switch", "40 in", true, switch, true),
        case("switch", "48 in", true, switch, false),
        case("receptacle", "20 in", false, receptacle, true),
        case("receptacle", "19 1/2 in", false, receptacle, true),
        case("receptacle", "19 7/16 in", false, receptacle, false),
    ]);
    // The shop's defaults put a box at its mark without a word in the job.
    let unwritten = inspected(switch, "B1", &shop("switch", "", false)).unwrap();
    assert_eq!(unwritten.outcome, Outcome::Met, "{unwritten:?}");
    // It never speaks with the weight of a code.
    let off = inspected(switch, "B1", &shop("switch", "top = \"50 in\"", false)).unwrap();
    assert_eq!(off.weight.word(), "note");
    assert_eq!(off.set_by.as_deref(), Some("memory"));
    assert!(off.unverified);
}
