//! Broken job files: each of `examples/invalid` says its one thing, at its place, with what to do.

use crate::support::{Folder, examples, flat, ran};

/// File, where it points, what it says, what it advises.
const FILES: &[(&str, &[&str], &[&str])] = &[
    ("bare-number", &["35:7"], &["`top` has no unit", "such as `12 in`"]),
    (
        "box-in-a-door",
        &["26:6", "33:9"],
        &["box `B1` lies in opening `shed/opening-1`", "the door runs from 2 ft to 4 ft 8 in"],
    ),
    ("box-past-its-wall", &["20:10", "33:9"], &["box `B1` lies 12 in past the end of its wall", "check `along`"]),
    (
        "broken-syntax",
        &["5:26", "39:5", "49:"],
        &["expected `\"`", "string values must be quoted", "unclosed inline table"],
    ),
    ("dangling-reference", &["40:7", "49:6"], &["there is no box `B11`", "did you mean `B1`?", "`B12`"]),
    (
        "default-of-a-measurement",
        &["11:1"],
        &["is seen or measured on site and can't have a default", "a default is no evidence"],
    ),
    ("duplicate-id", &["30:6", "39:6"], &["id `B1` is given twice", "second time"]),
    ("later-format", &["2:10"], &["job files of format 7 are not known", "this version reads formats 1 and 2"]),
    ("measured-field-unknown", &["53:9"], &["unknown key `hight` in box `B1`", "did you mean `height`?"]),
    ("missing-required", &["4:1", "37:1"], &["the site has no `permit_date`", "device `R1` has no `kind`"]),
    ("negative-length", &["48:10"], &["`length` can't be negative"]),
    ("opening-past-its-wall", &["20:10", "27:9"], &["opening `shed/opening-1` ends 14 in past the end of its wall"]),
    (
        "two-heights",
        &["35:7"],
        &["box `B1` has both `top` and `bottom`", "bottom = \"16 in\" · ┬ · says it a second time", "keep one of"],
    ),
    ("unknown-key", &["35:1"], &["unknown key `hieght` in box `B1`", "did you mean `height`?"]),
    ("unknown-word", &["42:8"], &["`recptacle` is no `kind`", "did you mean `receptacle`?"]),
    ("wrong-kind-of-item", &["11:6", "40:7"], &["`P1` is a panel, not a box"]),
    ("wrong-unit", &["35:8"], &["`top`: expected a length", "found a current `20 A`"]),
];

#[test]
fn each_broken_file_says_what_is_wrong_where_and_what_to_do() {
    let folder = Folder::empty();
    for (name, places, says) in FILES {
        let mut command = folder.command();
        command.current_dir(examples().join("invalid")).args([
            "inspect",
            &format!("{name}.toml"),
            "--on",
            "2023-06-01",
        ]);
        let ran = ran(command.output().unwrap());
        assert_eq!((ran.status, ran.out.as_str()), (2, ""), "{name}");
        for place in *places {
            assert!(ran.err.contains(&format!("─[{name}.toml:{place}")), "`{place}` is not in:\n{}", ran.err);
        }
        for said in *says {
            assert!(flat(&ran.err).contains(said), "`{said}` is not in:\n{}", ran.err);
        }
        assert_eq!(ran.err.matches("  × ").count(), errors(name), "{}", ran.err);
    }
}

/// Most of the files hold one fault, some hold several that must not hide each other.
fn errors(name: &str) -> usize {
    match name {
        "broken-syntax" => 3,
        "dangling-reference" | "missing-required" => 2,
        _ => 1,
    }
}

#[test]
fn the_list_is_whole() {
    let mut names: Vec<String> = std::fs::read_dir(examples().join("invalid"))
        .unwrap()
        .map(|entry| entry.unwrap().path().file_stem().unwrap().to_str().unwrap().to_owned())
        .collect();
    names.sort();
    assert_eq!(names, FILES.iter().map(|(name, ..)| *name).collect::<Vec<_>>());
}
