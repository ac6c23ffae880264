//! Small jobs with one thing right or wrong in each, whose verdicts people of the trade wrote down without looking at any rule.
//!
//! The jobs are in `audit_jobs/jobs`, what must come out of them in `audit_jobs/expected.toml`, with the section and what the verdict
//! rests on. Where the program still disagrees the table says so with `open`: such a job must disagree, so that the list shrinks with
//! every mended line.

use std::collections::BTreeSet;
use std::path::Path;

use jiff::civil::Date;
use serde::Deserialize;
use storystick_engine::book::RulesetText;
use storystick_engine::calc::{Code, Ctx};
use storystick_engine::inspection::finding::{Finding, Outcome};
use storystick_engine::inspection::{Inspected, Inspector, JobText, Options};
use storystick_engine::model::Type;
use storystick_engine::quantity::parse;

const FOLDER: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../tests/outside/audit_jobs");

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    job: Vec<Row>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    file: String,
    on: Option<toml::value::Datetime>,
    at: Option<String>,
    says: String,
    section: String,
    grade: String,
    expect: Vec<Expect>,
    open: Option<String>,
}

/// One thing that must hold of an inspection.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Expect {
    correction: Option<String>,
    measure: Option<String>,
    asked: Option<String>,
    none: Option<String>,
    section: Option<String>,
    of: Option<Of>,
    figure: Option<String>,
    is: Option<String>,
    no_code: Option<bool>,
    edition: Option<String>,
}

/// One item, or several of which one must do.
#[derive(Deserialize)]
#[serde(untagged)]
enum Of {
    One(String),
    Any(Vec<String>),
}

impl Of {
    fn has(&self, item: &str) -> bool {
        match self {
            Of::One(one) => one == item,
            Of::Any(all) => all.iter().any(|one| one == item),
        }
    }
}

/// Whether a citation names a section or a part of it: `240.4` stands in `240.4(D)`, not in `240.40`.
fn cites(cite: &str, section: &str) -> bool {
    section == "*"
        || cite.match_indices(section).any(|(at, _)| {
            let (before, after) = (cite[..at].chars().next_back(), cite[at + section.len()..].chars().next());
            !before.is_some_and(|c| c.is_ascii_digit() || c == '.') && !after.is_some_and(|c| c.is_ascii_digit())
        })
}

impl Expect {
    /// Returns what is wrong with what came out, if anything is.
    fn missed(&self, inspected: &Inspected, inspector: &Inspector) -> Option<String> {
        let concerns = |finding: &Finding, section: &str| {
            cites(&finding.cite, section) && self.of.as_ref().is_none_or(|of| of.has(&finding.item))
        };
        let any = |section: &str, outcomes: &[Outcome]| {
            let mut findings = inspected.report.findings.iter();
            findings.find(|it| concerns(it, section) && outcomes.contains(&it.outcome))
        };
        if let Some(section) = &self.correction {
            let found = any(section, &[Outcome::Correction]);
            return found.is_none().then(|| format!("no correction by {section}"));
        }
        if let Some(section) = &self.asked {
            let found = any(section, &[Outcome::Correction, Outcome::ToMeasure]);
            return found.is_none().then(|| format!("nothing to correct or to measure by {section}"));
        }
        if let Some(section) = &self.none {
            let found = any(section, &[Outcome::Correction]);
            return found.map(|it| format!("{}: a correction by {} ({})", it.item, it.cite, it.rule));
        }
        if let Some(field) = &self.measure {
            let section = self.section.as_deref().unwrap_or("*");
            let wants =
                |it: &Finding| it.outcome == Outcome::ToMeasure && it.missing.iter().any(|one| one.field == *field);
            let found = inspected.report.findings.iter().any(|it| concerns(it, section) && wants(it));
            return (!found).then(|| format!("no question for {field}"));
        }
        if let Some(edition) = &self.edition {
            let found = inspected.report.code.edition == *edition;
            return (!found).then(|| format!("the edition is {}", inspected.report.code.edition));
        }
        self.figure_missed(inspected, inspector)
    }

    fn figure_missed(&self, inspected: &Inspected, inspector: &Inspector) -> Option<String> {
        let (Some(name), Some(Of::One(of)), Some(is)) = (&self.figure, &self.of, &self.is) else {
            panic!("an expectation says nothing");
        };
        let (job, schema) = (&inspected.job, inspector.shelf().schema());
        let item = job.find(of).unwrap_or_else(|| panic!("no item {of}"));
        let kind = job.item(item).kind;
        let field = schema.field(kind, name).unwrap_or_else(|| panic!("no field {name}"));
        let Type::Quantity(dimension) = schema.field_spec(kind, field).ty else { panic!("{name} is no amount") };
        let book: &dyn Code = &*inspected.code.book;
        let derived = inspector.library().derive(&Ctx::figures(job, book), item, field).unwrap();
        let expected = parse(is, dimension).unwrap_or_else(|error| panic!("{is}: {error}"));
        let right = !derived.cell.is_missing() && derived.cell.to_quantity(dimension) == expected;
        (!right).then(|| format!("{name} is not {is}"))
    }
}

fn inspected(inspector: &mut Inspector, row: &Row) -> Result<Inspected, String> {
    let path = Path::new(FOLDER).join("jobs").join(format!("{}.toml", row.file));
    let text = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    let mut options = Options::on(jiff::civil::date(2026, 12, 1));
    options.met = true;
    options.at.clone_from(&row.at);
    options.permit_date = row.on.map(|day| day.to_string().parse::<Date>().unwrap());
    let text = JobText { name: row.file.clone(), text: text.into() };
    let told = |failure: storystick_engine::inspection::Failure| {
        failure.problems.iter().map(|it| it.message.clone()).collect::<Vec<_>>().join("; ")
    };
    let prepared = inspector.prepare(text, &options).map_err(told)?;
    inspector.inspect(&prepared, &options).map_err(told)
}

/// Returns what of a row does not hold.
fn missed(inspector: &mut Inspector, row: &Row) -> Vec<String> {
    let wants_code = !row.expect.iter().any(|it| it.no_code == Some(true));
    match inspected(inspector, row) {
        Ok(_) if !wants_code => vec![String::from("a code is in force")],
        Ok(inspected) => {
            let faults = inspected.report.faults.iter().map(|it| format!("fault: {}", it.message));
            let missed = row.expect.iter().filter_map(|it| it.missed(&inspected, inspector));
            faults.chain(missed).collect()
        }
        Err(_) if !wants_code => Vec::new(),
        Err(told) => vec![format!("unreadable: {told}")],
    }
}

#[test]
fn each_job_gives_the_verdict_that_people_of_the_trade_expect() {
    let table = std::fs::read_to_string(Path::new(FOLDER).join("expected.toml")).unwrap();
    let table: Table = toml::from_str(&table).unwrap_or_else(|error| panic!("{error}"));
    let texts = storystick_rulesets::FILES.iter().map(|&(path, text)| RulesetText::shipped(path, text)).collect();
    let mut inspector = Inspector::new(texts);
    let mut wrong = Vec::new();
    let mut open = 0;
    for row in &table.job {
        assert!(!row.says.is_empty() && !row.section.is_empty() && !row.grade.is_empty() && !row.expect.is_empty());
        let missed = missed(&mut inspector, row);
        match &row.open {
            Some(_) if missed.is_empty() => wrong.push(format!("{}: agrees by now: take `open` out", row.file)),
            Some(why) => {
                assert!(!why.is_empty(), "{}: say why it is open", row.file);
                open += 1;
            }
            None if !missed.is_empty() => wrong.push(format!("{} ({}): {}", row.file, row.section, missed.join("; "))),
            None => {}
        }
    }
    println!("{} jobs: {} agree, {open} open", table.job.len(), table.job.len() - open - wrong.len());
    assert!(wrong.is_empty(), "{} of {} jobs:\n{}", wrong.len(), table.job.len(), wrong.join("\n"));
    // No job lies there without a verdict.
    let named: BTreeSet<&str> = table.job.iter().map(|row| row.file.as_str()).collect();
    for entry in std::fs::read_dir(Path::new(FOLDER).join("jobs")).unwrap() {
        let name = entry.unwrap().file_name().to_string_lossy().into_owned();
        assert!(named.contains(name.trim_end_matches(".toml")), "{name} has no expected verdict");
    }
}

#[test]
fn a_section_is_found_in_citations_that_name_it() {
    assert!(cites("240.4(D), Table 310.16", "240.4"));
    assert!(cites("240.4(D), Table 310.16", "240.4(D)"));
    assert!(!cites("240.40", "240.4"));
    assert!(!cites("1240.4", "240.4"));
    assert!(!cites("240.4(D)", "240.4(B)"));
}
