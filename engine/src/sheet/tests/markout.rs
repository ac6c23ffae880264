//! The mark-out: heights at the point that the crew marks, the story stick, and stretches out of reach.

use super::support::{Opened, site};
use crate::sheet::mark_out;

fn den(more: &str) -> String {
    format!(
        "[[panel]]\nid = \"P\"\n[[circuit]]\nid = \"1\"\nrating = \"15 A\"\n\
         [[room]]\nid = \"den\"\nkind = \"den\"\nlength = \"30 ft\"\nwidth = \"10 ft\"\nceiling = \"8 ft\"\n\
         [[box]]\nid = \"B1\"\nroom = \"den\"\nwall = \"north\"\nalong = \"2 ft\"\npurpose = \"receptacle\"\n\
         [[device]]\nid = \"R1\"\nbox = \"B1\"\ncircuit = \"1\"\nkind = \"receptacle\"\n\
         [[box]]\nid = \"B2\"\nroom = \"den\"\nwall = \"south\"\nalong = \"2 ft\"\npurpose = \"switch\"\n\
         [[device]]\nid = \"S1\"\nbox = \"B2\"\ncircuit = \"1\"\nkind = \"switch\"\n{more}"
    )
}

#[test]
fn heights_are_those_of_the_point_that_the_shop_marks_and_stand_above_the_subfloor_too() {
    let text = format!("{}floor_build_up = \"3/4 in\"\n{}", site(true), den(""));
    let opened = Opened::new(&text);
    let desk = opened.desk();
    let paper = mark_out(&desk);
    let marks: Vec<(String, String)> = paper
        .stick
        .marks
        .iter()
        .map(|mark| (desk.print(mark.height), mark.from_subfloor.map(|up| desk.print(up)).unwrap_or_default()))
        .collect();
    // The shop's tops: 20 in for receptacles, 48 in for switches.
    assert_eq!(marks, [("20 in".into(), "20 3/4 in".into()), ("4 ft".into(), String::from("4 ft 3/4 in"))]);
}

#[test]
fn without_a_shop_book_the_centre_stands_in_and_the_paper_says_so() {
    let heights = den("").replace("along = \"2 ft\"", "along = \"2 ft\"\nheight = \"18 in\"");
    let opened = Opened::new(&format!("{}{heights}", site(false)));
    let paper = mark_out(&opened.desk());
    assert!(paper.mark.is_none());
    assert!(paper.open.iter().any(|line| line.contains("heights.mark")), "{:?}", paper.open);
    assert_eq!(paper.stick.marks.len(), 1);
}

#[test]
fn a_stretch_out_of_reach_lies_on_the_walls_that_it_runs_along() {
    let opened = Opened::new(&format!("{}{}", site(true), den("")));
    let paper = mark_out(&opened.desk());
    let walls = &paper.rooms[0].walls;
    let bare: i64 = walls.iter().flat_map(|wall| &wall.bare).map(|bare| bare.length().amount()).sum();
    // One receptacle reaches 6 ft each way on an outline of 80 ft.
    assert_eq!(bare, 68 * 304_800_000);
    assert!(walls.iter().all(|wall| wall.bare.iter().all(|bare| bare.to.amount() <= wall.length.amount())));
}

#[test]
fn a_box_without_a_place_is_named_with_what_it_lacks() {
    let text = den("[[box]]\nid = \"B3\"\nroom = \"den\"\nwall = \"east\"\n[[box]]\nid = \"B4\"\nroom = \"den\"\n");
    let opened = Opened::new(&format!("{}{text}", site(true)));
    let paper = mark_out(&opened.desk());
    let room = &paper.rooms[0];
    let lost = room.walls.iter().flat_map(|wall| &wall.boxes).find(|mark| mark.id == "B3").unwrap();
    assert_eq!(lost.lacks, ["distance along the wall", "height"]);
    assert_eq!(room.elsewhere.iter().map(|mark| mark.id.as_str()).collect::<Vec<_>>(), ["B4"]);
}
