//! Brings everything together: a shelf of rulesets, the rules compiled once, and jobs held against them.

use std::collections::HashMap;
use std::sync::Arc;

use jiff::civil::Date;

use super::compose;
use super::finding::{Report, Weight};
use super::outcomes::Outcomes;
use super::settle::{Answers, Permissions};
use crate::book::{Ask, Book, RuleInForce, RulesetText, Shelf};
use crate::calc;
use crate::facts::Facts;
use crate::job::{self, Site};
use crate::model::{Job, KindId, Schema, Stage, Symbols};
use crate::problem::{self, Problem, Severity};
use crate::script::{Compiler, Rule};
use crate::source::{Files, Span};

/// A job file as text.
#[derive(Clone, Debug)]
pub struct JobText {
    /// Its name: a path, as the user gave it.
    pub name: String,
    /// Its text.
    pub text: Arc<str>,
}

/// How to inspect.
#[derive(Clone, Debug)]
pub struct Options {
    /// Inspect as at this stage instead of the job's own.
    pub stage: Option<Stage>,
    /// Inspect as if the job stood in this place.
    pub at: Option<String>,
    /// Inspect as if the permit had this date.
    pub permit_date: Option<Date>,
    /// The day of the inspection, which decides whether permissions have lapsed.
    pub on: Date,
    /// Only these rules; all where none is named.
    pub rules: Vec<String>,
    /// Only these items; all where none is named.
    pub items: Vec<String>,
    /// Findings of rules that weigh less are left out.
    pub lightest: Weight,
    /// Keep the met checks in the report.
    pub met: bool,
    /// Run the rules on the script evaluator instead of their lowered form.
    pub reference: bool,
}

impl Options {
    /// Returns the options of a plain inspection on a day.
    pub fn on(day: Date) -> Options {
        Options {
            stage: None,
            at: None,
            permit_date: None,
            on: day,
            rules: Vec::new(),
            items: Vec::new(),
            lightest: Weight::Note,
            met: false,
            reference: false,
        }
    }
}

/// A rule in force, compiled.
#[derive(Debug)]
pub(super) struct Compiled {
    pub(super) in_force: RuleInForce,
    pub(super) rule: Arc<Rule>,
}

/// The code of one place and date up to one stage, ready to run.
#[derive(Debug)]
pub struct Code {
    pub(super) book: Arc<Book>,
    pub(super) rules: Vec<Compiled>,
    /// Rules that did not compile: faults of every job they would have been run on.
    pub(super) faults: Vec<Problem>,
    files: Files,
    symbols: Arc<Symbols>,
}

/// A job whose code is ready. The job itself is not read yet.
#[derive(Clone, Debug)]
pub struct Prepared {
    text: JobText,
    code: Arc<Code>,
    stage: Stage,
}

/// What is wrong with the input, with the files that the places are in.
#[derive(Clone, Debug)]
pub struct Failure {
    /// The problems.
    pub problems: Vec<Problem>,
    /// The files.
    pub files: Files,
}

/// A job after its inspection.
#[derive(Debug)]
pub struct Inspected {
    /// What was found.
    pub report: Report,
    /// The job, for papers and for the places of findings.
    pub job: Job,
    /// The code it was held against.
    pub code: Arc<Code>,
}

/// Holds jobs against the code of their places.
#[derive(Debug)]
pub struct Inspector {
    schema: Arc<Schema>,
    shelf: Shelf,
    compiler: Compiler,
    library: calc::Library,
    rules: HashMap<Span, Result<Arc<Rule>, Vec<Problem>>>,
    codes: HashMap<(Ask, Stage), Arc<Code>>,
}

impl Inspector {
    /// Returns an inspector over rulesets, with the kinds and calculations of a dwelling.
    pub fn new(rulesets: Vec<RulesetText>) -> Inspector {
        let schema = Arc::new(Schema::dwelling());
        let library = calc::Library::standard(&schema);
        Inspector::with(schema, library, rulesets)
    }

    /// Returns an inspector over kinds and calculations of the caller's own.
    pub fn with(schema: Arc<Schema>, library: calc::Library, rulesets: Vec<RulesetText>) -> Inspector {
        Inspector {
            shelf: Shelf::read(Arc::clone(&schema), rulesets),
            compiler: Compiler::new(Arc::clone(&schema)),
            schema,
            library,
            rules: HashMap::new(),
            codes: HashMap::new(),
        }
    }

    /// Returns the shelf of rulesets.
    pub fn shelf(&mut self) -> &mut Shelf {
        &mut self.shelf
    }

    /// Finds the code of a job's place and date and compiles its rules, if another job has not brought that about already.
    ///
    /// # Errors
    /// Everything that is wrong with the job's `[site]` or with the rulesets it needs.
    pub fn prepare(&mut self, text: JobText, options: &Options) -> Result<Prepared, Failure> {
        let mut files = self.shelf.files().clone();
        let failure = |problems: Vec<Problem>, files: &Files| Failure { problems, files: files.clone() };
        let file = match files.add(text.name.clone(), text.text.as_ref()) {
            Ok(file) => file,
            Err(error) => return Err(failure(vec![Problem::new(Span::NONE, error.to_string())], &files)),
        };
        let site = job::peek(&file).map_err(|problems| failure(problems, &files))?;
        let ask = ask(&site, options);
        let stage = options.stage.unwrap_or(site.stage);
        let code = self.code(&ask, stage).map_err(|problems| failure(problems, &files))?;
        Ok(Prepared { text, code, stage })
    }

    /// Returns the code that an [`Ask`] leads to, compiled up to a stage.
    ///
    /// # Errors
    /// Everything that is wrong with the rulesets that the ask needs.
    pub fn code(&mut self, ask: &Ask, stage: Stage) -> Result<Arc<Code>, Vec<Problem>> {
        if let Some(code) = self.codes.get(&(ask.clone(), stage)) {
            return Ok(Arc::clone(code));
        }
        let book = self.shelf.resolve(ask)?;
        let mut rules = Vec::new();
        let mut faults = Vec::new();
        for in_force in book.rules.iter().filter(|rule| rule.source.stage <= stage) {
            let compiled = self.rules.entry(in_force.source.text).or_insert_with(|| {
                let files = self.shelf.files().clone();
                self.compiler.compile(&files, &in_force.source, &book, self.shelf.symbols_mut()).map(Arc::new)
            });
            match compiled {
                Ok(rule) => rules.push(Compiled { in_force: in_force.clone(), rule: Arc::clone(rule) }),
                Err(problems) => faults.extend(problems.iter().cloned()),
            }
        }
        let code = Arc::new(Code {
            book,
            rules,
            faults,
            files: self.shelf.files().clone(),
            symbols: Arc::new(self.shelf.symbols().clone()),
        });
        self.codes.insert((ask.clone(), stage), Arc::clone(&code));
        Ok(code)
    }

    /// Reads a prepared job and holds every item of it against every rule.
    ///
    /// # Errors
    /// Everything that is wrong with the job file.
    pub fn inspect(&self, prepared: &Prepared, options: &Options) -> Result<Inspected, Failure> {
        let code = &prepared.code;
        let mut files = code.files.clone();
        let file = match files.add(prepared.text.name.clone(), prepared.text.text.as_ref()) {
            Ok(file) => file,
            Err(error) => {
                return Err(Failure { problems: vec![Problem::new(Span::NONE, error.to_string())], files });
            }
        };
        let (job, problems) = job::load_file(
            &file,
            Arc::clone(&self.schema),
            files.clone(),
            Symbols::on(Arc::clone(&code.symbols)),
            code.book.defaults(),
        );
        self.hold(job, problems, files, prepared, options)
    }

    /// Holds a job that has been read against its code.
    fn hold(
        &self,
        job: Option<Job>,
        mut problems: Vec<Problem>,
        files: Files,
        prepared: &Prepared,
        options: &Options,
    ) -> Result<Inspected, Failure> {
        let code = &prepared.code;
        let Some(job) = job else { return Err(Failure { problems, files }) };
        let permissions = Permissions::of(&job, &code.book, options.on, &mut problems);
        let answers = Answers::of(&job, &code.book, &mut problems);
        check_names(&job, code, options, &mut problems);
        if problems.iter().any(|problem| problem.severity == Severity::Error) {
            return Err(Failure { problems, files });
        }
        let wanted = code.rules.iter().flat_map(|compiled| compiled.rule.fields().iter().copied());
        let facts = calc::facts(&job, &code.book, &self.library, wanted);
        let mut outcomes = Outcomes::default();
        run(code, &facts, &job, options, &mut outcomes);
        let mut report = compose::report(&compose::Scene {
            job: &job,
            facts: &facts,
            code,
            library: &self.library,
            stage: prepared.stage,
            file: &prepared.text.name,
            options,
            permissions: &permissions,
            answers: &answers,
        }, &outcomes);
        report.notices.extend(problems);
        drop(facts);
        Ok(Inspected { report, job, code: Arc::clone(code) })
    }
}

/// Runs every rule on every item of its kind.
fn run(code: &Code, facts: &Facts<'_>, job: &Job, options: &Options, outcomes: &mut Outcomes) {
    outcomes.begin(code.rules.len());
    let chosen: Vec<_> = options.items.iter().filter_map(|id| job.find(id)).collect();
    for (number, compiled) in code.rules.iter().enumerate() {
        let id = &compiled.in_force.source.id;
        if !options.rules.is_empty() && !options.rules.iter().any(|wanted| code.book.is_rule(wanted, id)) {
            continue;
        }
        let kind: KindId = compiled.in_force.source.kind;
        for &item in job.of_kind(kind) {
            if !chosen.is_empty() && !chosen.contains(&item) {
                continue;
            }
            outcomes.open(number as u16, item);
            if options.reference {
                compiled.rule.run_reference(item, facts, &code.book, outcomes);
            } else {
                compiled.rule.run(item, facts, &code.book, outcomes);
            }
            outcomes.close();
        }
    }
}

/// Refuses rules and items of the options that don't exist: a typo never narrows an inspection to nothing.
fn check_names(job: &Job, code: &Code, options: &Options, problems: &mut Vec<Problem>) {
    for id in &options.items {
        if job.find(id).is_none() {
            let known: Vec<&str> = job.items().map(|(item, _)| job.id(item)).collect();
            problems.push(unknown("item", id, &known));
        }
    }
    for id in &options.rules {
        if code.book.rule_named(id).is_none() {
            let known: Vec<&str> = code.book.rules.iter().map(|rule| rule.source.id.as_str()).collect();
            problems.push(unknown("rule", id, &known));
        }
    }
}

fn unknown(what: &str, id: &str, known: &[&str]) -> Problem {
    let mut problem = Problem::new(Span::NONE, format!("there is no {what} `{id}` here"));
    problem.help = problem::did_you_mean(id, known.iter().copied());
    problem
}

fn ask(site: &Site, options: &Options) -> Ask {
    let mut ask = site.ask.clone();
    if let Some(place) = &options.at {
        ask.jurisdiction.clone_from(place);
        // An edition chosen for another place says nothing here.
        ask.edition = None;
    }
    if let Some(day) = options.permit_date {
        ask.permit_date = day;
    }
    ask
}
