//! `inspect --working`: how computed figures came about.

use crate::support::{Folder, examples};

#[test]
fn a_box_shows_its_heights_line_by_line() {
    let folder = Folder::little();
    let ran = folder.inspect("--working B2");
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    assert!(ran.out.contains("box B2, with its working"), "{}", ran.out);
    let json = folder.inspect("--working B2 --format json").json();
    let working = &json["working"][0];
    assert_eq!(
        (&working["item"], &working["kind"], &working["file"]),
        (&"B2".into(), &"box".into(), &"job.toml".into())
    );
    let field = |name: &str| working["fields"].as_array().unwrap().iter().find(|f| f["field"] == name).unwrap().clone();
    let top = field("top_edge");
    assert_eq!(top["value"], "4 ft 2 in");
    assert_eq!(top["lines"][0]["from"][0]["line"], 37);
    // Without the height of the box nobody knows its bottom: the fields that would decide it are named.
    let bottom = field("bottom_edge");
    assert_eq!(bottom["value"], serde_json::Value::Null);
    assert!(!bottom["missing"].as_array().unwrap().is_empty(), "{bottom}");
}

#[test]
fn box_fill_is_reckoned_in_front_of_the_reader() {
    let folder = Folder::empty();
    let run = |form: &str| {
        let mut command = folder.command();
        command.arg("inspect").arg(examples().join("hobby-room.toml")).args(["--working", "B1", "--format", form]);
        crate::support::ran(command.output().unwrap())
    };
    let json = run("json").json();
    let fill = json["working"][0]["fields"].as_array().unwrap().iter().find(|f| f["field"] == "fill").unwrap().clone();
    let lines = fill["lines"].as_array().unwrap();
    assert!(lines.len() >= 3, "{fill}");
    for line in lines.iter().filter(|line| !line["each"].is_null()) {
        assert!(line["cite"].as_str().is_some_and(|cite| cite.starts_with("314.16")), "{line}");
        assert!(!line["from"].as_array().unwrap().is_empty(), "{line}");
    }
    assert!(run("text").out.contains("volume needed"));
    let csv = run("csv").out;
    let rows: Vec<&str> = csv.split("\r\n").collect();
    assert_eq!(rows[0], "file,item,field,line,count,each,total,cite,from");
    let result = rows.iter().find(|row| row.contains(",fill,result,")).unwrap();
    assert!(result.contains(fill["value"].as_str().unwrap()), "{result}");
    assert!(
        rows.iter().filter(|row| row.contains(",fill,")).count() > lines.len(),
        "a row for each line and one for the result"
    );
}

#[test]
fn several_items_and_an_unknown_one() {
    let folder = Folder::little();
    let json = folder.inspect("--working B1 --working C2 --format json").json();
    assert_eq!(json["working"].as_array().unwrap().len(), 2);
    folder.inspect("--working B22").refused("there is no item `B22` here");
    folder.inspect("--working B2 --format sarif").refused("worksheets come as text, json or csv");
    folder.inspect("--working B2 --since x.json").refused("--since");
}

#[test]
fn a_correction_of_a_computed_figure_says_where_its_working_is() {
    let ran = Folder::little().inspect("--rule switch-not-too-high");
    assert!(ran.out.contains("`--working B2` shows the math"), "{}", ran.out);
    let ran = Folder::little().inspect("--rule staple-near-box");
    assert!(!ran.out.contains("--working"), "a measured value has no working: {}", ran.out);
}
