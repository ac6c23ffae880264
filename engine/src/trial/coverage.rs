//! What a ruleset covers and how far it can be trusted: every rule compiled on every day of change, every trial run, and what
//! nothing reads, nobody cites and no trial shows.

use std::collections::BTreeSet;
use std::sync::Arc;

use jiff::civil::Date;

use super::run::{Lacking, RulesetTried, Tried, try_and_watch};
use crate::book::{Ask, Book, Checked, Contents, Ruleset, RulesetKind};
use crate::calc;
use crate::inspection::Inspector;
use crate::model::kinds::site;
use crate::model::{Schema, Type};
use crate::problem::Problem;
use crate::script::Verb;
use crate::source::Span;

/// How many of something were checked in each way, in the order of [`Checked::ALL`].
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Ways(pub [usize; 4]);

impl Ways {
    fn add(&mut self, checked: Checked) {
        if let Some(count) = self.0.get_mut(checked as usize) {
            *count += 1;
        }
    }

    /// Returns how many there are.
    pub fn total(&self) -> usize {
        self.0.iter().sum()
    }

    /// Returns how many somebody compared with the law or with a page of the authority.
    pub fn verified(&self) -> usize {
        Checked::ALL.iter().zip(self.0).filter(|((checked, _), _)| checked.is_verified()).map(|(_, count)| count).sum()
    }

    /// Returns the count of each way with its word.
    pub fn by_word(&self) -> impl Iterator<Item = (&'static str, usize)> {
        Checked::ALL.iter().map(|(_, word)| *word).zip(self.0)
    }
}

/// Something in a ruleset, and its place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Noted {
    /// What it is called.
    pub name: String,
    /// Where.
    pub span: Span,
}

/// What a ruleset covers.
#[derive(Clone, Debug, Default)]
pub struct Coverage {
    /// Its id.
    pub ruleset: String,
    /// Its title.
    pub title: String,
    /// What it is; none for one that is not known.
    pub kind: Option<RulesetKind>,
    /// Day of its last review.
    pub reviewed: Option<Date>,
    /// Why it is a draft, if it is one.
    pub draft: Option<String>,
    /// Its own rules.
    pub rules: usize,
    /// Rules that decide by what is recorded: they have a `keep` or a `need`.
    pub decide: usize,
    /// Rules that ask for nothing but a look.
    pub look: usize,
    /// Rules that can't be used, and why: they have mistakes, or stand where nothing is in force.
    pub unusable: Vec<(String, String)>,
    /// Its own entries.
    pub entries: usize,
    /// Its amendments of entries and rules.
    pub amendments: usize,
    /// Its adoptions.
    pub adoptions: usize,
    /// How entries and amendments were checked.
    pub values: Ways,
    /// How rules were checked.
    pub asked: Ways,
    /// Entries that no rule of any ruleset reads, and that no calculation and no paper asks for.
    pub unread: Vec<Noted>,
    /// Entries that calculations or papers alone ask for, and no calculation did while the trials of all rulesets ran.
    pub unshown: Vec<Noted>,
    /// Entries, amendments, rules and adoptions without citation, source, or a word on how they were checked.
    pub unfounded: Vec<Noted>,
    /// Number of trials.
    pub trials: usize,
    /// Trials that did not come out as written.
    pub failed: Vec<Tried>,
    /// Rules that lack a trial.
    pub lacking: Vec<Lacking>,
    /// What is wrong with its files, its rules and its trials.
    pub problems: Vec<Problem>,
}

impl Coverage {
    /// Returns the rules that no trial fails or no trial meets.
    pub fn untried(&self) -> impl Iterator<Item = &Lacking> {
        self.lacking.iter().filter(|rule| rule.met || rule.failed)
    }

    /// Returns whether everything holds: it loads, every trial passes, every rule is shown both ways, everything is founded.
    pub fn is_sound(&self) -> bool {
        self.problems.is_empty()
            && self.failed.is_empty()
            && self.unfounded.is_empty()
            && self.untried().next().is_none()
    }
}

/// Looks through rulesets. To tell what nothing reads, all others on the shelf are compiled and tried as well.
pub fn cover(inspector: &mut Inspector, wanted: &[String]) -> Vec<Coverage> {
    let all: Vec<String> = inspector.shelf().ids().map(str::to_owned).collect();
    let mut read = BTreeSet::new();
    let mut covered: Vec<Coverage> = wanted.iter().map(|id| of_one(inspector, id, &mut read)).collect();
    let others: Vec<&String> = all.iter().filter(|id| !wanted.contains(id)).collect();
    for id in &others {
        of_one(inspector, id, &mut read);
    }
    for coverage in &mut covered {
        let tried = try_reading(inspector, &coverage.ruleset, &mut read);
        take_trials(coverage, tried);
    }
    let left = |read: &BTreeSet<String>, covered: &[Coverage]| {
        covered.iter().any(|one| one.unread.iter().any(|entry| !read.contains(&entry.name)))
    };
    for id in &others {
        if !left(&read, &covered) {
            break;
        }
        try_reading(inspector, id, &mut read);
    }
    for coverage in &mut covered {
        coverage.unread.retain(|entry| !read.contains(&entry.name));
        // A rule that can't be used may read any of them.
        if !coverage.unusable.is_empty() {
            coverage.unread.clear();
        }
        let (asked, unread) =
            std::mem::take(&mut coverage.unread).into_iter().partition(|entry| calc::may_ask(&entry.name));
        (coverage.unshown, coverage.unread) = (asked, unread);
    }
    covered
}

/// Runs the trials of a ruleset and adds what calculations read while they run.
fn try_reading(inspector: &mut Inspector, id: &str, read: &mut BTreeSet<String>) -> RulesetTried {
    try_and_watch(inspector, id, &mut |inspector, job, code| {
        let library = inspector.library();
        read.append(&mut calc::entries_asked(job, &*code.book, library, library.fields()));
    })
}

fn take_trials(coverage: &mut Coverage, tried: RulesetTried) {
    coverage.trials = tried.trials.len();
    coverage.failed = tried.trials.into_iter().filter(|trial| trial.problem.is_some()).collect();
    coverage.lacking = tried.lacking;
    // Those of loading are known already.
    for problem in tried.problems {
        if !coverage.problems.contains(&problem) {
            coverage.problems.push(problem);
        }
    }
}

/// Opens one ruleset and compiles its rules. All its entries count as unread for now.
fn of_one(inspector: &mut Inspector, id: &str, read: &mut BTreeSet<String>) -> Coverage {
    let mut coverage = Coverage { ruleset: id.to_owned(), ..Coverage::default() };
    let contents = match inspector.shelf_mut().open(id) {
        Ok(contents) => contents,
        Err(problems) => {
            coverage.problems = problems;
            return coverage;
        }
    };
    let Some(ruleset) = inspector.shelf().ruleset(id).cloned() else { return coverage };
    founded(&mut coverage, &ruleset, &contents);
    let books = books(inspector, &ruleset, &mut coverage.problems);
    rules(inspector, &mut coverage, &ruleset, &contents, &books, read);
    coverage
}

/// Fills in what the files say of themselves.
fn founded(coverage: &mut Coverage, ruleset: &Ruleset, contents: &Contents) {
    coverage.title.clone_from(&ruleset.title);
    coverage.kind = Some(ruleset.kind);
    coverage.reviewed = ruleset.reviewed;
    coverage.draft.clone_from(&ruleset.draft);
    coverage.rules = contents.rules.len();
    coverage.entries = contents.entries.len();
    coverage.amendments = contents.amends.len();
    coverage.adoptions = ruleset.adopts.len();
    let mut noted = Vec::new();
    let mut unfounded = |what: String, span, said: [&str; 2], is_checked: bool| {
        let lacks = [said[0].trim().is_empty(), said[1].trim().is_empty(), !is_checked];
        let words = ["no citation", "no source", "not said how it was checked"];
        for (word, _) in words.iter().zip(lacks).filter(|(_, lacks)| *lacks) {
            noted.push(Noted { name: format!("{what}: {word}"), span });
        }
    };
    for entry in &contents.entries {
        coverage.values.add(entry.checked());
        unfounded(format!("entry {}", entry.key), entry.span, [entry.cites(), entry.source()], true);
        coverage.unread.push(Noted { name: entry.key.clone(), span: entry.span });
    }
    for amendment in &contents.amends {
        coverage.values.add(amendment.checked());
        unfounded(String::from("amendment"), amendment.span, [amendment.cites(), amendment.source()], true);
    }
    for rule in &contents.rules {
        coverage.asked.add(ruleset.checked_rule(rule));
        unfounded(format!("rule {}", rule.id), rule.id_span, [&rule.cites, &ruleset.source], true);
    }
    for adoption in &ruleset.adopts {
        let what = format!("adoption of {}", adoption.ruleset.text);
        let is_checked = ruleset.checked_adoption(adoption).is_some();
        unfounded(what, adoption.span, [&adoption.cites, &adoption.source], is_checked);
    }
    coverage.unfounded = noted;
    if ruleset.reviewed.is_none() {
        coverage.unfounded.push(Noted { name: String::from("ruleset: no day of review"), span: ruleset.span });
    }
}

/// Returns every code that a ruleset has been part of as the place, the latest day last: on each day of change, for each kind of
/// dwelling, with and without accessibility requirements.
fn books(inspector: &mut Inspector, ruleset: &Ruleset, problems: &mut Vec<Problem>) -> Vec<Arc<Book>> {
    let id = ruleset.id.as_str();
    let alone = matches!(ruleset.kind, RulesetKind::Accessibility | RulesetKind::Shop);
    let mut days = inspector.shelf_mut().days_of_change(id);
    if days.is_empty() {
        days.extend(inspector.shelf_mut().newest_start(id));
    }
    let dwellings = dwellings(inspector.shelf().schema());
    let mut books: Vec<Arc<Book>> = Vec::new();
    let mut found: Vec<Problem> = Vec::new();
    for day in days {
        for (dwelling, accessible) in dwellings.iter().flat_map(|word| [(word, false), (word, true)]) {
            let ask = Ask { alone, accessible, dwelling: Some((*dwelling).to_owned()), ..Ask::on(id, day) };
            if inspector.shelf().nothing_in_force(&ask) {
                continue;
            }
            match inspector.shelf_mut().resolve(&ask) {
                Ok(book) if books.iter().any(|known| Arc::ptr_eq(known, &book)) => {}
                Ok(book) => books.push(book),
                Err(faults) => found.extend(faults),
            }
        }
    }
    for problem in found {
        if !problems.contains(&problem) {
            problems.push(problem);
        }
    }
    // A place may stand around others and adopt nothing itself but accessibility requirements.
    if books.is_empty() && problems.is_empty() && ruleset.adopts.is_empty() {
        problems.push(
            Problem::new(ruleset.span, format!("nothing is ever in force in `{id}`"))
                .label("adopts no edition")
                .help("write an [[adopts]] with the edition and its first day, or `within` for a place around it"),
        );
    }
    books
}

/// Returns the kinds of dwelling that a job may name.
fn dwellings(schema: &Schema) -> Vec<&'static str> {
    let field = schema.kind(site::NAME).and_then(|kind| Some((kind, schema.field(kind, "dwelling")?)));
    match field.map(|(kind, field)| &schema.field_spec(kind, field).ty) {
        Some(Type::Word(words)) => words.to_vec(),
        _ => vec![""],
    }
}

/// Compiles a ruleset's rules, and holds the entries that they read against every code in which they are in force.
fn rules(
    inspector: &mut Inspector,
    coverage: &mut Coverage,
    ruleset: &Ruleset,
    contents: &Contents,
    books: &[Arc<Book>],
    read: &mut BTreeSet<String>,
) {
    for source in &contents.rules {
        let in_force = |book: &&Arc<Book>| book.rules.iter().any(|rule| rule.source.text == source.text);
        let mut own: Vec<&Arc<Book>> = books.iter().rev().filter(in_force).collect();
        // A rule may be in force only above other places, or not any more: its mistakes are told all the same.
        if own.is_empty() {
            own.extend(books.last());
        }
        let mut problems = Vec::new();
        let rule = own.iter().find_map(|book| match inspector.rule(source, book) {
            Ok(rule) => Some(rule),
            Err(faults) => {
                if problems.is_empty() {
                    problems = faults;
                }
                None
            }
        });
        let Some(rule) = rule else {
            let why = problems.first().map_or("nothing is in force", |problem| problem.message.as_str()).to_owned();
            coverage.unusable.push((source.id.clone(), why));
            coverage.problems.append(&mut problems);
            continue;
        };
        let decides = rule.checks().iter().any(|check| check.verb != Verb::Look);
        coverage.decide += usize::from(decides);
        coverage.look += usize::from(!decides);
        for (entry, span) in rule.entries() {
            read.extend(own.iter().find_map(|book| book.entry(entry)).map(|entry| entry.key.clone()));
            if let Some(book) = own.iter().find(|book| book.entry(entry).is_none()) {
                let under = if book.edition.is_empty() { &book.jurisdiction } else { &book.edition };
                let message = format!("rule `{}` reads an entry that is not there under `{under}`", source.id);
                let help = format!("add the entry to `{}`, or to what it adopts", ruleset.id);
                coverage.problems.push(Problem::new(span, message).label("no such entry there").help(help));
            }
        }
    }
}
