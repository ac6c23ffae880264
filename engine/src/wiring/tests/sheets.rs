//! Make-up sheets and the facts that rules see.

use super::*;
use crate::calc::testing::Tables;
use crate::calc::{Ctx, Library, facts};
use crate::model::kinds::{cable, circuit, device, luminaire, outlet_box};
use crate::quantity::UnitSystem;
use crate::sheet::makeup::{CAUTION, make_up_sheet};

const STOCK: &str = r#"
[make_up.pigtail]
value = "6 in"
[make_up.connector_14_awg]
rows = { "2" = "small", "3" = "small", "4" = "medium" }
"#;

const LOOP: &str = "circuit 1\nbox A\nbox L\nbox B\ncable C1 14/2 1 P1 A\ncable C2 14/2 1 A L\ncable C3 14/3 1 A B\nswitch S A 1 L1 single_pole\nlight L1 L 1\nreceptacle R1 B 1";

#[test]
fn a_sheet_says_what_to_splice_with_what_and_in_which_order() {
    let job = job(&short(LOOP));
    let code = Tables::of(&[STOCK]);
    let ctx = Ctx::new(&job, &code);
    let sheet = make_up_sheet(&ctx, job.find("A").unwrap()).unwrap();
    assert_eq!(sheet.conductors.len(), 10);
    let splices: Vec<_> = sheet
        .splices
        .iter()
        .map(|splice| (splice.function.as_str(), splice.count, splice.connector.as_deref(), splice.pigtails.join(" ")))
        .collect();
    assert_eq!(
        splices,
        [
            ("grounds", 4, Some("medium"), "S.green".to_string()),
            ("neutral of circuit 1", 3, Some("small"), String::new()),
            ("hot of circuit 1", 3, Some("small"), "S.brass".to_string()),
        ]
    );
    let landings: Vec<_> =
        sheet.landings.iter().map(|landing| (landing.from.as_str(), landing.terminal.as_str())).collect();
    assert_eq!(landings, [("C2/from.black", "S.brass_2")]);
    assert_eq!(sheet.caps, ["C3/from.red"]);
    assert_eq!(sheet.caution, CAUTION);
    assert_eq!(sheet.steps.first().map(String::as_str), Some("circuit off, locked out, absence of voltage verified"));
    assert_eq!(
        sheet.steps.last().map(String::as_str),
        Some(
            "land on S: green from the grounds splice, brass from the hot of circuit 1 splice, brass_2 from C2/from.black"
        )
    );
    assert!(sheet.steps.iter().any(|step| step.contains("6 in pigtail to S.brass")), "{:?}", sheet.steps);
}

#[test]
fn conductors_of_two_sizes_are_counted_by_size_and_a_pigtail_as_the_larger() {
    let job = job(&short(&LOOP.replace("cable C1 14/2", "cable C1 12/2")));
    let code = Tables::of(&[STOCK]);
    let ctx = Ctx::new(&job, &code);
    let sheet = make_up_sheet(&ctx, job.find("A").unwrap()).unwrap();
    let grounds = sheet.splices.first().unwrap();
    let sizes: Vec<String> =
        grounds.sizes.iter().map(|(count, size)| format!("{count} of {}", size.print(UnitSystem::Customary))).collect();
    assert_eq!((grounds.count, sizes.join(", ")), (4, "2 of 12 AWG, 2 of 14 AWG".to_string()));
    assert!(
        sheet.steps.iter().any(|step| step.contains("(4 conductors, 2 of 12 AWG and 2 of 14 AWG,")),
        "{:?}",
        sheet.steps
    );
}

#[test]
fn stranded_conductors_are_told_from_solid_ones() {
    let text = short(LOOP);
    let job = job(&text.replacen("id = \"C1\"", "id = \"C1\"\nstranded = true", 1));
    let code = Tables::of(&[STOCK]);
    let ctx = Ctx::new(&job, &code);
    let sheet = make_up_sheet(&ctx, job.find("A").unwrap()).unwrap();
    let stranded = |name: &str| sheet.conductors.iter().find(|one| one.name == name).unwrap().stranded;
    assert_eq!(stranded("C1/to.black"), Some(true));
    assert_eq!(stranded("C1/to.bare"), None, "what is said of the insulated conductors holds for them alone");
    assert_eq!(stranded("C2/from.black"), None);
}

#[test]
fn a_size_that_the_shop_does_not_list_gets_no_connector() {
    let job = job(&short(&LOOP.replace("14/", "8/")));
    let code = Tables::of(&[STOCK]);
    let ctx = Ctx::new(&job, &code);
    let sheet = make_up_sheet(&ctx, job.find("A").unwrap()).unwrap();
    assert!(sheet.splices.iter().all(|splice| splice.connector.is_none()));
    assert!(make_up_sheet(&ctx, job.find("P1").unwrap()).is_none(), "a panel has no make-up sheet");
}

#[test]
fn facts_are_known_where_the_circuit_is_wired_up_whole() {
    let text = "circuit 1\ncircuit 2\nbox A\nbox L\ncable C1 14/2 1 P1 L\ncable C2 14/2 1 L A\nswitch S A 1 L1 single_pole\nlight L1 L 1\nreceptacle R2 L 2";
    let job = job(&short(text));
    let code = Tables::of(&[]);
    let library = Library::standard(&job.schema);
    let facts = facts(&job, &code, &library, library.fields());
    let item = |id: &str| job.find(id).unwrap();
    let flag = |id: &str, field| {
        let cell = facts.cell(item(id), field);
        (!cell.is_missing()).then(|| cell.to_flag())
    };
    assert_eq!(flag("S", device::BREAKS_UNGROUNDED), Some(true));
    assert_eq!(flag("S", device::NEUTRAL_IN_BOX), Some(false));
    assert_eq!(flag("C2", cable::WHITE_CARRIES_HOT), Some(true));
    assert_eq!(flag("C1", cable::WHITE_CARRIES_HOT), Some(false));
    assert_eq!(flag("C2", cable::WHITE_COMES_BACK), Some(false));
    assert_eq!(flag("L1", luminaire::WORKS_AS_WIRED), Some(true));
    assert_eq!(flag("A", outlet_box::GROUNDS_SPLICED), Some(true));
    assert_eq!(flag("1", circuit::IS_FOLLOWED), Some(true));
    // Circuit 2 has no cable: nothing can be said of its receptacle, and the circuit is what would decide it.
    assert_eq!(flag("2", circuit::IS_FOLLOWED), Some(false));
    assert_eq!(flag("R2", device::WORKS_AS_WIRED), None);
    assert_eq!(facts.missing_for(item("R2"), device::WORKS_AS_WIRED), [(item("2"), circuit::CABLES)]);
}
