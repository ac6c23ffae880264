//! The packet and the book of a ruleset in a real browser: nothing is fetched, nothing fails, every box stands where its data says, pages print whole, and
//! an accessibility checker (axe-core) finds nothing serious.
//!
//! Needs Chromium, Node and the modules of `package.json` beside this file; `.ci/run` sees to all three. Without them a test says
//! so and passes, unless `STORYSTICK_BROWSER=required`.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "a test fails by a panic and tells what it saw"
)]

use std::path::{Path, PathBuf};
use std::process::Command;

use serde_json::Value;
use storystick_engine::quantity::Dimension;

const INCH: f64 = 25_400_000.0;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..").canonicalize().unwrap()
}

/// Returns the path of a browser: the one that `CHROMIUM` names, or the first of the usual names on the search path.
fn browser() -> Option<PathBuf> {
    let names = ["chromium", "chromium-browser", "google-chrome-stable", "google-chrome"];
    let named = std::env::var_os("CHROMIUM").map(PathBuf::from);
    let path = std::env::var_os("PATH").unwrap_or_default();
    let folders: Vec<PathBuf> = std::env::split_paths(&path).collect();
    let usual = names.iter().flat_map(|name| folders.iter().map(move |folder| folder.join(name)));
    named.into_iter().chain(usual).find(|path| path.is_file())
}

fn runs(name: &str) -> bool {
    Command::new(name).arg("--version").output().is_ok_and(|out| out.status.success())
}

/// Makes the packet of a job and returns what the browser saw.
fn seen(job: &str, print: bool) -> Option<Value> {
    page(&["packet", job, "--on", "2023-08-01"], &format!("{}.html", job.replace(['/', '.'], "-")), print)
}

/// Makes a page by a command and returns what the browser saw.
fn page(words: &[&str], name: &str, print: bool) -> Option<Value> {
    let page = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
    let made = Command::new(env!("CARGO_BIN_EXE_storystick"))
        .args(words)
        .arg("-o")
        .arg(&page)
        .current_dir(root().join("examples"))
        .output()
        .unwrap();
    assert!(page.is_file(), "{}", String::from_utf8_lossy(&made.stderr));
    looked_at(&page, print)
}

/// Returns what the browser saw of a page; nothing where there is no browser.
fn looked_at(page: &Path, print: bool) -> Option<Value> {
    let modules = root().join("tests/browser");
    let browser = browser().filter(|_| runs("node") && modules.join("node_modules/puppeteer-core").is_dir());
    let Some(browser) = browser else {
        let required = std::env::var("STORYSTICK_BROWSER").is_ok_and(|value| value == "required");
        assert!(!required, "Chromium, Node or the modules of tests/browser/package.json are missing");
        eprintln!("no browser here: not tried (.ci/run installs one)");
        return None;
    };
    let mut node = Command::new("node");
    node.arg(modules.join("page.mjs")).arg(browser).arg(page).arg(&modules);
    if print {
        node.arg("--print");
    }
    let out = node.output().unwrap();
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    Some(serde_json::from_slice(&out.stdout).unwrap())
}

fn check_page(seen: &Value) {
    assert_eq!(seen["messages"], serde_json::json!([]), "the console stays silent");
    assert_eq!(seen["requests"].as_array().unwrap().len(), 1, "the page alone is fetched: {}", seen["requests"]);
    assert_eq!(seen["scripts"], 0);
    for width in ["360", "768", "1366"] {
        let wide = seen["width"][width].as_f64().unwrap();
        assert!(wide <= width.parse::<f64>().unwrap(), "at {width} px the page is {wide} px wide");
    }
    let serious: Vec<&Value> = seen["axe"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|one| matches!(one["impact"].as_str(), Some("serious" | "critical")))
        .collect();
    assert!(serious.is_empty(), "{serious:#?}");
}

/// Reads a length of a job file, in inches.
fn inches(text: &str) -> f64 {
    storystick_engine::quantity::parse(text, Dimension::Length).unwrap().amount() as f64 / INCH
}

/// A field of a box as the job file has it: its own value, else the shop's default for what the box is for, under what was measured.
fn field(job: &toml::Table, shop: &toml::Table, one: &toml::Value, name: &str) -> Option<String> {
    let id = one.get("id")?.as_str()?;
    let measured = job.get("measure").and_then(|list| {
        let mut list = list.as_array()?.iter();
        list.rfind(|it| it["item"].as_str() == Some(id) && it["field"].as_str() == Some(name))
    });
    let own = one.get("purpose").and_then(|purpose| purpose.as_str());
    let defaults = [job.get("defaults").and_then(|it| it.get("box")), shop.get("box")];
    let default = |table: &toml::Value| {
        let by_purpose = own.and_then(|purpose| table.get(purpose)?.get(name));
        by_purpose.or_else(|| table.get(name)).cloned()
    };
    let default = || defaults.iter().flatten().find_map(|table| default(table));
    let written = measured.and_then(|it| it.get("value")).or_else(|| one.get(name)).cloned();
    written.or_else(default)?.as_str().map(str::to_owned)
}

/// Every box of the job that is on a wall is on exactly one elevation, at the height that the job file and the shop's defaults
/// give it. The drawing is measured; the heights come from the files.
fn check_boxes(seen: &Value, name: &str) -> usize {
    let read = |path: PathBuf| std::fs::read_to_string(path).unwrap().parse::<toml::Table>().unwrap();
    let job = read(root().join("examples").join(name));
    let shop = read(root().join("rulesets/shop/three-gable/job-defaults.toml"));
    let boxes = seen["boxes"].as_array().unwrap();
    let mut counted = 0;
    for one in job["box"].as_array().unwrap() {
        let id = one["id"].as_str().unwrap();
        let drawn: Vec<&Value> = boxes.iter().filter(|it| it["box"] == id).collect();
        if one.get("wall").is_none() {
            assert!(drawn.is_empty(), "{id} is on no wall");
            continue;
        }
        let [drawn] = drawn[..] else { panic!("{id} is drawn {} times", drawn.len()) };
        let number = |name: &str| drawn[name].as_f64().unwrap();
        let above = |y: f64| (number("floor") - y) / number("scale");
        let top = inches(&field(&job, &shop, one, "top").unwrap());
        // A box of unknown size is drawn round its mark.
        let (edge, height) = match field(&job, &shop, one, "body_height") {
            Some(_) => ("top edge", above(number("top"))),
            None => ("mark", above(number("middle"))),
        };
        assert!((height - top).abs() < 0.1, "{id}: {edge} drawn at {height} in, the job file says {top} in");
        counted += 1;
    }
    counted
}

#[test]
fn the_packet_of_the_dwelling_shows_every_box_at_its_height_and_is_accessible() {
    let Some(seen) = seen("alder-row/dwelling.toml", true) else { return };
    check_page(&seen);
    assert!(check_boxes(&seen, "alder-row/dwelling.toml") > 90);
    // Two boxes with their make-up, or two walls with their lists, go on a page; the sheet of the panel takes two of its own.
    check_print(&seen, 150..210);
}

/// Nothing is cut off at the right edge, and there are as many pages as the sheets take up.
fn check_print(seen: &Value, pages: std::ops::Range<u64>) {
    for format in ["Letter", "A4"] {
        let page = &seen["print"][format];
        assert_eq!(page["wide"], serde_json::json!([]), "nothing is cut off at the right edge of {format}");
        let count = page["pages"].as_u64().unwrap();
        assert!(pages.contains(&count), "{count} pages on {format}");
    }
}

#[test]
fn the_packet_of_the_hobby_room_prints_whole_on_letter_and_a4() {
    let Some(seen) = seen("hobby-room.toml", true) else { return };
    check_page(&seen);
    assert_eq!(check_boxes(&seen, "hobby-room.toml"), 5);
    // Nine sheets, each beginning a page of its own, and the cover.
    check_print(&seen, 11..40);
}

#[test]
fn the_marks_of_a_class_are_accessible_and_print_whole() {
    let page = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("class.html");
    let made = Command::new(env!("CARGO_BIN_EXE_storystick"))
        .args(["grade", "class/handed-in", "--key", "class/key/key.toml", "--format", "html"])
        .current_dir(root().join("examples"))
        .output()
        .unwrap();
    std::fs::write(&page, made.stdout).unwrap();
    let Some(seen) = looked_at(&page, true) else { return };
    check_page(&seen);
    // The class, and a sheet for each of three trainees.
    check_print(&seen, 4..30);
}

#[test]
fn the_questions_of_a_drill_are_accessible_with_their_drawings() {
    let page = root().join("examples/class/drill/questions.html");
    let Some(seen) = looked_at(&page, true) else { return };
    check_page(&seen);
    check_print(&seen, 3..20);
}

#[test]
fn the_book_of_a_ruleset_is_accessible_and_prints_whole() {
    // A place with amendments and rules; tables, examples and unverified values; an edition of hundreds of entries.
    for (id, pages) in [("demo/harlow-county", 1..12), ("us/accessible-2010", 3..40), ("us/model-2020", 60..400)] {
        let name = format!("book-{}.html", id.replace('/', "-"));
        let words = ["ruleset", "guide", id, "--format", "html"];
        let Some(seen) = page(&words, &name, true) else { return };
        check_page(&seen);
        check_print(&seen, pages);
    }
}
