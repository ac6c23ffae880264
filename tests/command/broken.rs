//! Broken input through the library: job files, rulesets, scripts and trials with bytes flipped, pieces taken out, pieces twice,
//! and brackets thousands deep. Whatever comes in, nothing panics, nothing hangs, and every error points into its file.
//!
//! The cases are the same in every run. `STORYSTICK_FUZZ=N` tries N rounds of other ones.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::mpsc::channel;
use std::time::Duration;

use storystick_engine::book::RulesetText;
use storystick_engine::inspection::{Inspector, JobText, Options};
use storystick_engine::problem::Problem;
use storystick_engine::source::Files;
use storystick_engine::trial::try_ruleset;

use crate::support::examples;

/// Numbers that look random and are the same every time (xorshift, after G. Marsaglia's public description).
struct Dice(u64);

impl Dice {
    fn new(seed: u64) -> Dice {
        Dice(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1)
    }

    fn roll(&mut self, below: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as usize % below.max(1)
    }

    fn pick<'a, T: ?Sized>(&mut self, from: &[&'a T]) -> &'a T {
        from[self.roll(from.len())]
    }
}

/// Breaks a text in one to four places.
fn broken(text: &str, dice: &mut Dice) -> String {
    let mut bytes = text.as_bytes().to_vec();
    for _ in 0..=dice.roll(4) {
        if bytes.is_empty() {
            break;
        }
        let at = dice.roll(bytes.len());
        let end = (at + 1 + dice.roll(40)).min(bytes.len());
        match dice.roll(8) {
            0 => bytes[at] ^= 1 << dice.roll(8),
            1 => drop(bytes.drain(at..end)),
            2 => {
                let piece = bytes[at..end].to_vec();
                bytes.splice(at..at, piece);
            }
            3 => drop(bytes.drain(at..)),
            4 => {
                let bracket = dice.pick(&["(", "[", "{", "[[", "!", "-", "\"", "if x {", "any d in ", "a.", "code.x["]);
                let deep = dice.pick(&[&1_usize, &7, &60, &3000]);
                let nested = bracket.repeat(*deep);
                bytes.splice(at..at, nested.into_bytes());
            }
            5 => {
                let odd = dice.pick(&[
                    "999999999999999999999",
                    "-1",
                    "0",
                    "1e308",
                    "nan",
                    "½",
                    "\u{0}",
                    "\r\n",
                    "\u{feff}",
                    "'",
                    "\\u0000",
                    "2023-02-30",
                    "\"\"",
                    "true",
                    "1/0 in",
                    "9223372036854775807 ft",
                ]);
                bytes.splice(at..end, odd.bytes());
            }
            6 => swap_lines(&mut bytes, dice),
            _ => {
                // A value of another key of the same file.
                let from = dice.roll(bytes.len());
                let piece = bytes[from..(from + 12).min(bytes.len())].to_vec();
                bytes.splice(at..end, piece);
            }
        }
    }
    String::from_utf8_lossy(&bytes).into_owned()
}

fn swap_lines(bytes: &mut Vec<u8>, dice: &mut Dice) {
    let mut lines: Vec<Vec<u8>> = bytes.split(|&byte| byte == b'\n').map(<[u8]>::to_vec).collect();
    let (a, b) = (dice.roll(lines.len()), dice.roll(lines.len()));
    lines.swap(a, b);
    *bytes = lines.join(&b'\n');
}

fn sound(problems: &[Problem], files: &Files) {
    for problem in problems {
        assert!(!problem.message.is_empty());
        for span in problem.marks.iter().map(|mark| mark.span).chain([problem.span]) {
            assert!(span.is_none() || files.place(span).is_some(), "`{}` points nowhere: {span:?}", problem.message);
        }
    }
}

/// Inspects a job and looks at every error.
fn inspect(inspector: &mut Inspector, text: &str) {
    let options = Options { met: true, ..Options::on(jiff::civil::date(2023, 6, 1)) };
    let job = JobText { name: String::from("job.toml"), text: text.into() };
    let prepared = match inspector.prepare(job, &options) {
        Ok(prepared) => prepared,
        Err(failure) => return sound(&failure.problems, &failure.files),
    };
    match inspector.inspect(&prepared, &options) {
        Err(failure) => sound(&failure.problems, &failure.files),
        Ok(inspected) => {
            let files = &inspected.job.files;
            sound(&inspected.report.faults, files);
            sound(&inspected.report.notices, files);
            for finding in &inspected.report.findings {
                assert!(files.place(finding.at).is_some(), "{finding:?}");
            }
        }
    }
}

/// Runs cases in a thread of their own, so that one that hangs is told of by its number.
fn cases(count: u64, longest: Duration, case: impl Fn(u64) + Send + 'static) {
    let rounds: u64 = std::env::var("STORYSTICK_FUZZ").ok().and_then(|rounds| rounds.parse().ok()).unwrap_or(0);
    let seeds = if rounds == 0 { 0..count } else { 1_000_000..1_000_000 + rounds * count };
    let (send, receive) = channel();
    let last = seeds.end;
    let first = seeds.start;
    std::thread::Builder::new()
        .stack_size(8 << 20)
        .spawn(move || {
            for seed in seeds {
                let panicked = catch_unwind(AssertUnwindSafe(|| case(seed))).is_err();
                let _ = send.send((seed, panicked));
            }
        })
        .unwrap();
    for seed in first..last {
        match receive.recv_timeout(longest) {
            Ok((_, panicked)) => assert!(!panicked, "case {seed} panicked: see above"),
            Err(_) => panic!("case {seed} hangs"),
        }
    }
}

const LONGEST: Duration = Duration::from_secs(60);

fn shipped(wanted: impl Fn(&str) -> bool) -> Vec<(&'static str, &'static str)> {
    storystick_rulesets::FILES.iter().copied().filter(|(path, _)| wanted(path)).collect()
}

fn texts(files: &[(&str, &str)]) -> Vec<RulesetText> {
    files.iter().map(|(path, text)| RulesetText::in_folder("book", *path, (*text).to_owned())).collect()
}

#[test]
fn job_files() {
    let read = |name: &str| std::fs::read_to_string(examples().join(name)).unwrap();
    let hobby = read("hobby-room.toml");
    let jobs =
        [hobby.clone(), hobby, read("same-job-two-places/kitchen-and-garage.toml"), read("invalid/two-heights.toml")];
    let rulesets =
        shipped(|path| path.starts_with("us/model-2020") || path.starts_with("demo/") || path.starts_with("shop/"));
    // Rules are compiled once and serve every case.
    let inspector = std::sync::Mutex::new(Inspector::new(texts(&rulesets)));
    cases(160, LONGEST, move |seed| {
        let mut dice = Dice::new(seed);
        let text = &jobs[dice.roll(jobs.len())];
        let mut inspector = inspector.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        inspect(&mut inspector, &broken(text, &mut dice));
    });
}

#[test]
fn rulesets() {
    let rulesets = shipped(|path| {
        path.starts_with("us/accessible-2010") || path.starts_with("demo/") || path.starts_with("shop/")
    });
    let edition =
        shipped(|path| path.starts_with("us/model-2020/") && !path.contains("/rules/") && !path.contains("/trials/"));
    let all: Vec<_> = edition.into_iter().chain(rulesets).filter(|(path, _)| !path.contains("/trials/")).collect();
    let job = std::fs::read_to_string(examples().join("invalid/two-heights.toml"))
        .unwrap()
        .replace("bottom = \"16 in\"\n", "");
    cases(120, LONGEST, move |seed| {
        let mut dice = Dice::new(seed);
        let mut all = all.clone();
        let at = dice.roll(all.len());
        let text = broken(all[at].1, &mut dice);
        let path = all[at].0;
        all.remove(at);
        let mut given = texts(&all);
        given.push(RulesetText::in_folder("book", path, text));
        inspect(&mut Inspector::new(given), &job);
    });
}

#[test]
fn scripts() {
    let code =
        shipped(|path| path.starts_with("us/model-2020/") && !path.contains("/rules/") && !path.contains("/trials/"));
    let rules = shipped(|path| path.starts_with("us/model-2020/rules/"));
    let job = std::fs::read_to_string(examples().join("hobby-room.toml")).unwrap();
    let job = job.replace("demo/harlow-county", "us/model-2020").replace("site.shop = \"shop/three-gable\"\n", "");
    cases(120, LONGEST, move |seed| {
        let mut dice = Dice::new(seed);
        let (path, text) = rules[dice.roll(rules.len())];
        let mut given = texts(&code);
        given.push(RulesetText::in_folder("book", path, broken(text, &mut dice)));
        inspect(&mut Inspector::new(given), &job);
    });
}

#[test]
fn trials() {
    let all = shipped(|path| path.starts_with("us/accessible-2010"));
    cases(60, LONGEST, move |seed| {
        let mut dice = Dice::new(seed);
        let mut given: Vec<RulesetText> = Vec::new();
        for (path, text) in &all {
            let text = if path.contains("/trials/") { broken(text, &mut dice) } else { (*text).to_owned() };
            given.push(RulesetText::in_folder("book", *path, text));
        }
        let mut inspector = Inspector::new(given);
        let tried = try_ruleset(&mut inspector, "us/accessible-2010");
        let files = inspector.shelf().files();
        sound(&tried.problems, files);
        let problems: Vec<Problem> = tried.trials.into_iter().filter_map(|trial| trial.problem).collect();
        sound(&problems, files);
    });
}
