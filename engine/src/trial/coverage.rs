//! What a ruleset covers and how far it can be trusted: every rule compiled on every day of change, every trial run, and what
//! nothing reads, nobody cites and no trial shows.

use std::collections::BTreeSet;
use std::sync::Arc;

use jiff::civil::Date;

use super::below::{Otherwise, below};
use super::run::{Lacking, RulesetTried, Tried, try_and_watch};
use crate::book::{Ask, Book, Checked, Contents, Ruleset, RulesetKind, Shelf};
use crate::calc;
use crate::inspection::Inspector;
use crate::model::kinds::site;
use crate::model::{FieldId, KindId, Schema, Stage, Type};
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
    /// Facts that it declares and no rule of any ruleset reads.
    pub unread_facts: Vec<Noted>,
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
    /// Rules in force, its own or others', that what it amends or adopts switches off.
    pub broken: Vec<Problem>,
    /// Amendments that change nothing.
    pub idle: Vec<Problem>,
    /// Trials of the rulesets below that come out otherwise with what it amends, as they may.
    pub otherwise: Vec<Otherwise>,
}

impl Coverage {
    /// Returns the rules that no trial fails or no trial meets, or with an exception that no trial shows.
    pub fn untried(&self) -> impl Iterator<Item = &Lacking> {
        self.lacking.iter().filter(|rule| rule.met || rule.failed || !rule.exceptions.is_empty())
    }

    /// Returns whether everything holds: it loads, every trial passes, every rule is shown both ways, everything is founded.
    pub fn is_sound(&self) -> bool {
        self.problems.is_empty()
            && self.broken.is_empty()
            && self.failed.is_empty()
            && self.unfounded.is_empty()
            && self.untried().next().is_none()
    }
}

/// Looks through rulesets. To tell what nothing reads, all others on the shelf are compiled and tried as well.
pub fn cover(inspector: &mut Inspector, wanted: &[String]) -> Vec<Coverage> {
    let all: Vec<String> = inspector.shelf().ids().map(str::to_owned).collect();
    let mut read = BTreeSet::new();
    let mut covered: Vec<Coverage> = wanted.iter().map(|id| of_one(inspector, id, true, &mut read)).collect();
    let others: Vec<&String> = all.iter().filter(|id| !wanted.contains(id)).collect();
    for id in &others {
        of_one(inspector, id, false, &mut read);
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
        coverage.unread_facts.retain(|fact| !read.contains(&key_of_fact(&fact.name)));
        // A rule that can't be used may read any of them.
        if !coverage.unusable.is_empty() {
            coverage.unread.clear();
            coverage.unread_facts.clear();
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

/// Opens one ruleset and compiles its rules, and all that lie below it where that is wanted. All its entries count as unread for now.
fn of_one(inspector: &mut Inspector, id: &str, and_below: bool, read: &mut BTreeSet<String>) -> Coverage {
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
    coverage.unread_facts = facts_of(inspector.shelf().schema(), id);
    let books = books(inspector, &ruleset, &mut coverage.problems);
    rules(inspector, &mut coverage, &ruleset, &contents, &books, read);
    if and_below {
        let below = below(inspector, &ruleset, &contents, &books);
        let told = |problem: &Problem| coverage.problems.iter().any(|known| known.span == problem.span);
        coverage.broken = below.problems.into_iter().filter(|problem| !told(problem)).collect();
        (coverage.idle, coverage.otherwise) = (below.idle, below.otherwise);
    }
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

/// Returns the facts that a ruleset declares.
fn facts_of(schema: &Schema, ruleset: &str) -> Vec<Noted> {
    let own = schema.all_declared().filter(|(_, _, declared)| declared.rulesets.iter().any(|id| id == ruleset));
    own.map(|(kind, field, declared)| Noted { name: name_of_fact(schema, kind, field), span: declared.span }).collect()
}

fn name_of_fact(schema: &Schema, kind: KindId, field: FieldId) -> String {
    format!("{}.{}", schema.spec(kind).name, schema.field_spec(kind, field).name)
}

/// Returns the key of a fact among those of entries, none of which has a blank.
fn key_of_fact(name: &str) -> String {
    format!("fact {name}")
}

/// A way to ask for a code that a ruleset is part of, and the code.
pub(super) type Asked = (Ask, Arc<Book>);

/// Returns every code that a ruleset has been part of as the place, the latest day last: on each day of change, under each edition
/// that may be chosen, for each kind of dwelling, with and without accessibility requirements.
pub(super) fn books(inspector: &mut Inspector, ruleset: &Ruleset, problems: &mut Vec<Problem>) -> Vec<Asked> {
    let id = ruleset.id.as_str();
    let alone = matches!(ruleset.kind, RulesetKind::Accessibility | RulesetKind::Shop);
    let mut days = inspector.shelf_mut().days_of_change(id);
    if days.is_empty() {
        days.extend(inspector.shelf_mut().newest_start(id));
    }
    let dwellings = dwellings(inspector.shelf().schema());
    let editions = editions(inspector.shelf(), ruleset);
    let mut books: Vec<Asked> = Vec::new();
    let mut found: Vec<Problem> = Vec::new();
    for day in days {
        let ways = dwellings.iter().flat_map(|word| [(word, false), (word, true)]);
        for ((dwelling, accessible), edition) in ways.flat_map(|way| editions.iter().map(move |edition| (way, edition)))
        {
            let dwelling = Some((*dwelling).to_owned());
            let ask = Ask { alone, accessible, dwelling, edition: edition.clone(), ..Ask::on(id, day) };
            if inspector.shelf().nothing_in_force(&ask) {
                continue;
            }
            // With its code it is also told whether a place that may only tighten does.
            match inspector.code(&ask, Stage::Final).map(|code| Arc::clone(&code.book)) {
                Ok(book) if books.iter().any(|(_, known)| Arc::ptr_eq(known, &book)) => {}
                Ok(book) => books.push((ask, book)),
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

/// Returns the choices of an edition that a job may make in a place: none, or one of those that are known.
fn editions(shelf: &Shelf, ruleset: &Ruleset) -> Vec<Option<String>> {
    let mut choices = vec![None];
    if ruleset.kind == RulesetKind::Jurisdiction {
        let is_edition = |id: &&str| shelf.ruleset(id).is_some_and(|known| known.kind == RulesetKind::Edition);
        choices.extend(shelf.ids().filter(is_edition).map(|id| Some(id.to_owned())));
    }
    choices
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
    books: &[Asked],
    read: &mut BTreeSet<String>,
) {
    for source in &contents.rules {
        let in_force = |book: &&Arc<Book>| book.rules.iter().any(|rule| rule.source.text == source.text);
        let mut own: Vec<&Arc<Book>> = books.iter().rev().map(|(_, book)| book).filter(in_force).collect();
        // A rule may be in force only above other places, or not any more: its mistakes are told all the same.
        if own.is_empty() {
            own.extend(books.last().map(|(_, book)| book));
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
        let schema = inspector.shelf().schema();
        let declared = rule.fields().iter().filter(|&&(kind, field)| schema.declared(kind, field).is_some());
        read.extend(declared.map(|&(kind, field)| key_of_fact(&name_of_fact(schema, kind, field))));
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
    // What a ruleset's shared conditions and added exceptions read is read by the rules of others that are made of them.
    if !contents.exceptions.is_empty() || !contents.defines.is_empty() {
        for (_, book) in books {
            for in_force in book.rules.iter().filter(|rule| rule.source.ruleset != ruleset.id) {
                if let Ok(rule) = inspector.rule(&in_force.source, book) {
                    read.extend(rule.entries().filter_map(|(id, _)| book.entry(id)).map(|entry| entry.key.clone()));
                }
            }
        }
    }
}
