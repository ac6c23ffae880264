//! Changes a ruleset in every small way that there is, and tells which changes none of its trials notices.
//!
//! Each change is one of a rule's text (a line of scope, an exception or a side of an `&&` left out, a condition turned round, a
//! comparison made strict) or of a value that a rule reads. The trials of that rule, or those that read the value, are held against the code with
//! the change made; a change that leaves all of them as they were is one that an author could slip into unseen.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::Arc;

use super::coverage;
use super::read::{Trial, trials};
use super::run::{Ground, Held, joined, judge, stage};
use super::unnoticed::{ChangeOf, Excuse, excuses};
use crate::book::{
    Book, Contents, DefineSource, EntryId, Nudge, NudgedPart, RuleInForce, RuleName, RuleSource, Ruleset,
};
use crate::calc;
use crate::inspection::{Code, Inspector, Options, Prepared};
use crate::job::Document;
use crate::model::{Job, Stage};
use crate::problem::Problem;
use crate::script::{ChangeSort, changes};
use crate::source::{Files, Span};

/// A change of a ruleset.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mutant {
    /// What is changed.
    pub of: ChangeOf,
    /// In which way.
    pub sort: ChangeSort,
    /// What is done, in words.
    pub says: String,
    /// The place of what is changed.
    pub span: Span,
    /// How many trials were there to notice it.
    pub trials: usize,
}

/// What became of a change.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fate {
    /// A trial came out otherwise.
    Noticed,
    /// All trials came out as before.
    Unnoticed,
    /// The changed rule is no rule of the language, so that it could not slip in.
    NotMade,
}

/// The changes of a ruleset, ready to be tried one by one, in any order and at the same time.
#[derive(Debug)]
pub struct Mutants {
    ruleset: String,
    mutants: Vec<(Mutant, What)>,
    trials: Vec<Staged>,
    /// Trials that do not come out as written even without a change.
    set_aside: usize,
    excuses: Vec<Excuse>,
    problems: Vec<Problem>,
}

/// What is done to make a change.
#[derive(Debug)]
enum What {
    /// A block has another text. Each rule that is made of it comes with a code in which it is in force.
    Block { at: Span, block: String, rules: Arc<[(Arc<RuleSource>, Arc<Code>)]> },
    /// An entry has another value.
    Value { id: EntryId, nudge: Nudge },
}

/// A trial whose job is read.
#[derive(Debug)]
struct Staged {
    trial: Trial<'static>,
    /// Present id of its rule.
    rule: String,
    prepared: Prepared,
    options: Options,
    job: Job,
    problems: Vec<Problem>,
    /// What its rule reads, and what the calculations that the rule asks for do.
    reads: BTreeSet<EntryId>,
}

/// A ruleset after its changes were tried.
#[derive(Clone, Debug, Default)]
pub struct MutantsTried {
    /// Its id.
    pub ruleset: String,
    /// How many changes of each sort were tried, and how many of them a trial noticed; sorts without a change are left out.
    pub sorts: Vec<(ChangeSort, usize, usize)>,
    /// Changes that no trial notices, in the order of their places.
    pub unnoticed: Vec<Mutant>,
    /// Changes that no trial need notice, with the reason.
    pub excused: Vec<(Mutant, String)>,
    /// How many trials were left aside because they do not come out as written.
    pub set_aside: usize,
    /// What is wrong with the ruleset, its trials or its list of unnoticed changes.
    pub problems: Vec<Problem>,
}

impl MutantsTried {
    /// Returns how many changes were tried.
    pub fn tried(&self) -> usize {
        self.sorts.iter().map(|(_, tried, _)| tried).sum()
    }

    /// Returns how many of them a trial noticed.
    pub fn noticed(&self) -> usize {
        self.sorts.iter().map(|(_, _, noticed)| noticed).sum()
    }
}

impl Mutants {
    /// Makes the changes of a ruleset ready: its own rules, and the values that it sets or amends.
    pub fn of(inspector: &mut Inspector, id: &str) -> Mutants {
        let mut mutants = Mutants {
            ruleset: id.to_owned(),
            mutants: Vec::new(),
            trials: Vec::new(),
            set_aside: 0,
            excuses: Vec::new(),
            problems: Vec::new(),
        };
        let contents = match inspector.shelf_mut().open(id) {
            Ok(contents) => contents,
            Err(problems) => {
                mutants.problems = problems;
                return mutants;
            }
        };
        let Some(ruleset) = inspector.shelf().ruleset(id).cloned() else { return mutants };
        if let Some(file) = ruleset.unnoticed() {
            (mutants.excuses, mutants.problems) = excuses(file);
        }
        mutants.stage(inspector, &ruleset);
        let codes = mutants.codes(inspector, &ruleset);
        mutants.of_blocks(inspector, &contents, &codes);
        mutants.of_values(inspector, &codes);
        mutants
            .mutants
            .sort_by(|(a, _), (b, _)| (a.span, a.sort, &a.of, &a.says).cmp(&(b.span, b.sort, &b.of, &b.says)));
        mutants
    }

    /// Returns how many changes there are.
    pub fn len(&self) -> usize {
        self.mutants.len()
    }

    /// Returns whether there is nothing to change.
    pub fn is_empty(&self) -> bool {
        self.mutants.is_empty()
    }

    /// Reads the jobs of all trials and runs each once as it stands.
    fn stage(&mut self, inspector: &mut Inspector, ruleset: &Ruleset) {
        let day = inspector.shelf_mut().newest_start(&ruleset.id).unwrap_or(jiff::civil::date(2026, 1, 1));
        let ground: Ground<'_> = (&ruleset.id, ruleset.kind, day);
        for file in ruleset.trials() {
            let document = Document::parse(file);
            let (list, problems) = trials(file, &document);
            self.problems.extend(problems);
            for trial in list {
                match staged(inspector, ground, trial) {
                    Some(staged) if staged.passes(inspector, &staged.prepared, false) => self.trials.push(staged),
                    _ => self.set_aside += 1,
                }
            }
        }
    }

    /// Returns every code that a trial is held against or that the ruleset has been part of, each once.
    fn codes(&mut self, inspector: &mut Inspector, ruleset: &Ruleset) -> Vec<Arc<Code>> {
        let mut codes: Vec<Arc<Code>> = Vec::new();
        let mut add = |code: Arc<Code>| {
            if !codes.iter().any(|known| Arc::ptr_eq(&known.book, &code.book)) {
                codes.push(code);
            }
        };
        self.trials.iter().for_each(|staged| add(staged.prepared.code()));
        for (ask, _) in coverage::books(inspector, ruleset, &mut self.problems) {
            if let Ok(code) = inspector.code(&ask, Stage::Final) {
                add(code);
            }
        }
        codes
    }

    /// Adds the changes of rules, shared conditions and added exceptions.
    fn of_blocks(&mut self, inspector: &mut Inspector, contents: &Contents, codes: &[Arc<Code>]) {
        let files = inspector.shelf().files().clone();
        // A code that a trial is held against comes before one that none is.
        let of_trials = self.trials.iter().map(|staged| Arc::clone(&staged.prepared.code));
        let codes: Vec<Arc<Code>> = of_trials.chain(codes.iter().rev().cloned()).collect();
        for source in &contents.rules {
            let is_it = |rule: &RuleInForce, _: &Book| rule.source.text == source.text;
            self.of_block(inspector, &files, ChangeOf::Rule(source.id.clone()), source.body, &codes, is_it);
        }
        for define in &contents.defines {
            let reads = |rule: &RuleInForce, book: &Book| reads_define(rule, book, &files, define);
            self.of_block(inspector, &files, ChangeOf::Define(define.name.clone()), define.body, &codes, reads);
        }
        for added in &contents.exceptions {
            let has = |rule: &RuleInForce, _: &Book| rule.exceptions.iter().any(|one| one.source.body == added.body);
            self.of_block(inspector, &files, ChangeOf::Exception(added.name.text.clone()), added.body, &codes, has);
        }
    }

    /// Adds the changes of one block, of which all rules are made that `concerns` says so of.
    fn of_block(
        &mut self,
        inspector: &mut Inspector,
        files: &Files,
        of: ChangeOf,
        at: Span,
        codes: &[Arc<Code>],
        concerns: impl Fn(&RuleInForce, &Book) -> bool,
    ) {
        let mut rules: Vec<(Arc<RuleSource>, Arc<Code>)> = Vec::new();
        let mut seen: Vec<*const Book> = Vec::new();
        for code in codes {
            if seen.contains(&Arc::as_ptr(&code.book)) {
                continue;
            }
            seen.push(Arc::as_ptr(&code.book));
            for rule in &code.book.rules {
                let known = rules.iter().any(|(source, _)| source.id == rule.source.id);
                // A rule that can't be used as it stands is told by the plain check.
                if !known && concerns(rule, &code.book) && inspector.rule(&rule.source, &code.book).is_ok() {
                    rules.push((Arc::clone(&rule.source), Arc::clone(code)));
                }
            }
        }
        if rules.is_empty() {
            return;
        }
        let is_concerned = |staged: &&Staged| rules.iter().any(|(source, _)| source.id == staged.rule);
        let trials = self.trials.iter().filter(is_concerned).count();
        let rules: Arc<[_]> = rules.into();
        let block = files.text(at);
        for change in changes(block) {
            let (start, length) = (change.at.start as u32, change.at.len() as u32);
            let (sort, says, span) = (change.sort, change.says.clone(), Span::new(at.start() + start, length));
            let mutant = Mutant { of: of.clone(), sort, says, span, trials };
            let what = What::Block { at, block: change.made(block), rules: Arc::clone(&rules) };
            self.mutants.push((mutant, what));
        }
    }

    fn of_values(&mut self, inspector: &mut Inspector, codes: &[Arc<Code>]) {
        let mut readers: HashMap<EntryId, usize> = HashMap::new();
        for id in self.trials.iter().flat_map(|staged| &staged.reads) {
            *readers.entry(*id).or_default() += 1;
        }
        let mut found: BTreeMap<(Span, String), (Mutant, What)> = BTreeMap::new();
        for code in codes {
            let own = code.book.layers.iter().position(|layer| layer.id == self.ruleset);
            let mut read: BTreeSet<EntryId> = readers.keys().copied().collect();
            for rule in &code.book.rules {
                if let Ok(rule) = inspector.rule(&rule.source, &code.book) {
                    read.extend(rule.entries().map(|(id, _)| id));
                }
            }
            for id in read {
                let Some(entry) = code.book.entry(id) else { continue };
                for nudge in entry.nudges() {
                    if entry.chain.get(nudge.setting).map(|step| step.ruleset) != own {
                        continue;
                    }
                    let mutant = Mutant {
                        of: ChangeOf::Entry(entry.key.clone()),
                        sort: match nudge.part {
                            NudgedPart::Value => ChangeSort::Value,
                            NudgedPart::Member => ChangeSort::Member,
                            NudgedPart::Row => ChangeSort::Row,
                        },
                        says: nudge.says.clone(),
                        span: nudge.span,
                        trials: readers.get(&id).copied().unwrap_or(0),
                    };
                    let key = (mutant.span, format!("{} {}", entry.key, mutant.says));
                    found.entry(key).or_insert((mutant, What::Value { id, nudge }));
                }
            }
        }
        self.mutants.extend(found.into_values());
    }

    /// Makes one change and runs the trials that could notice it, until one does.
    pub fn attempt(&self, inspector: &Inspector, nth: usize) -> Fate {
        let Some((mutant, what)) = self.mutants.get(nth) else { return Fate::NotMade };
        let noticed = match what {
            What::Block { at, block, rules } => {
                // What is found has no limit there, so that only the outcome can be told.
                let outcome_alone = mutant.sort == ChangeSort::Limit;
                let mut noticed = false;
                for (nth, (source, code)) in rules.iter().enumerate() {
                    let of_rule = |staged: &&Staged| staged.rule == source.id;
                    // Whether a change can be made at all is asked of one rule even where no trial could notice it.
                    if nth > 0 && !self.trials.iter().any(|staged| of_rule(&staged)) {
                        continue;
                    }
                    let Ok(rule) = code.compile_changed(inspector.compiler(), source, *at, block) else {
                        return Fate::NotMade;
                    };
                    noticed = self.trials.iter().filter(of_rule).any(|staged| {
                        staged.notices(inspector, &staged.prepared.code.book, Some(&rule), outcome_alone)
                    });
                    if noticed {
                        break;
                    }
                }
                noticed
            }
            What::Value { id, nudge } => {
                let mut books: Vec<(*const Book, Option<Arc<Book>>)> = Vec::new();
                self.trials.iter().filter(|staged| staged.reads.contains(id)).any(|staged| {
                    let book = &staged.prepared.code.book;
                    let at = books.iter().position(|(known, _)| *known == Arc::as_ptr(book)).unwrap_or_else(|| {
                        let value = book.entry(*id).and_then(|entry| entry.nudged(nudge));
                        books.push((Arc::as_ptr(book), value.map(|value| Arc::new(book.with_value(*id, value)))));
                        books.len() - 1
                    });
                    let changed = books.get(at).and_then(|(_, book)| book.clone());
                    changed.is_some_and(|book| staged.notices(inspector, &book, None, false))
                })
            }
        };
        if noticed { Fate::Noticed } else { Fate::Unnoticed }
    }

    /// Returns what came of all changes, given the fate of each by its number.
    pub fn tell(self, fates: &[Fate]) -> MutantsTried {
        let mut tried = MutantsTried {
            ruleset: self.ruleset,
            set_aside: self.set_aside,
            problems: self.problems,
            ..MutantsTried::default()
        };
        let mut sorts: BTreeMap<ChangeSort, (usize, usize)> = BTreeMap::new();
        let mut used = vec![false; self.excuses.len()];
        for ((mutant, _), fate) in self.mutants.into_iter().zip(fates) {
            if *fate == Fate::NotMade {
                continue;
            }
            let (all, noticed) = sorts.entry(mutant.sort).or_default();
            *all += 1;
            if *fate == Fate::Noticed {
                *noticed += 1;
                continue;
            }
            let is_it = |excuse: &Excuse| excuse.of == mutant.of && excuse.change == mutant.says;
            match self.excuses.iter().position(is_it) {
                Some(at) => {
                    used[at] = true;
                    tried.excused.push((mutant, self.excuses[at].reason.clone()));
                }
                None => tried.unnoticed.push(mutant),
            }
        }
        tried.sorts = sorts.into_iter().map(|(sort, (all, noticed))| (sort, all, noticed)).collect();
        for (excuse, _) in self.excuses.iter().zip(used).filter(|(_, used)| !used) {
            let message =
                format!("no change `{}` of {} `{}` goes unnoticed", excuse.change, excuse.of.word(), excuse.of.name());
            let problem = Problem::new(excuse.span, message).label("nothing to excuse");
            tried
                .problems
                .push(problem.help("take it out, or write the change as `ruleset check --mutants` prints it"));
        }
        tried
    }
}

/// Returns whether a rule reads a shared condition, in its own text or through another shared condition or an added exception.
fn reads_define(rule: &RuleInForce, book: &Book, files: &Files, define: &DefineSource) -> bool {
    let named = |text: &str, name: &str| {
        text.match_indices(name).any(|(at, _)| {
            let is_name = |c: char| c.is_alphanumeric() || c == '_';
            let after = text.get(at + name.len()..).and_then(|rest| rest.chars().next());
            text.get(..at).is_some_and(|before| before.ends_with('.')) && !after.is_some_and(is_name)
        })
    };
    let mut names = vec![define.name.as_str()];
    let mut at = 0;
    while let Some(name) = names.get(at).copied() {
        for other in &book.defines {
            let other = &other.source;
            if !names.contains(&other.name.as_str()) && named(files.text(other.body), name) {
                names.push(&other.name);
            }
        }
        at += 1;
    }
    let blocks = std::iter::once(rule.source.body).chain(rule.exceptions.iter().map(|one| one.source.body));
    blocks.into_iter().any(|block| names.iter().any(|name| named(files.text(block), name)))
}

/// Reads the job of a trial; nothing where that can't be done, which running the trials tells.
fn staged(inspector: &mut Inspector, ground: Ground<'_>, trial: Trial<'_>) -> Option<Staged> {
    let super::run::Staged { prepared, options, job, problems, files: _ } = stage(inspector, ground, &trial).ok()?;
    let code = prepared.code();
    let (RuleName::Current(rule) | RuleName::Renamed(rule)) = code.book.rule_named(&trial.rule.0)? else { return None };
    let (id, source) = (rule.source.id.clone(), Arc::clone(&rule.source));
    let rule = inspector.rule(&source, &code.book).ok()?;
    let asked = calc::entries_asked(&job, &*code.book, inspector.library(), rule.fields().iter().copied());
    let mut reads: BTreeSet<EntryId> = rule.entries().map(|(id, _)| id).collect();
    reads.extend(asked.iter().filter_map(|key| code.book.id(key)));
    Some(Staged { trial: trial.without_parts(), rule: id, prepared, options, job, problems, reads })
}

impl Staged {
    /// Returns whether the trial comes out as written against a code.
    fn passes(&self, inspector: &Inspector, prepared: &Prepared, outcome_alone: bool) -> bool {
        let held = inspector.hold(Some(self.job.clone()), self.problems.clone(), prepared, &self.options);
        let files = Files::new();
        let held = held.map(|(report, job)| Held { report, job, book: Arc::clone(&prepared.code.book) });
        let held = held.map_err(|problems| joined(&problems, &files, self.trial.rule.1).into());
        if outcome_alone && self.trial.found.is_some() {
            return judge(&Trial { found: None, ..self.trial.clone() }, held).problem.is_none();
        }
        judge(&self.trial, held).problem.is_none()
    }

    /// Returns whether the trial comes out otherwise with another book, or another text of its rule.
    fn notices(
        &self,
        inspector: &Inspector,
        book: &Arc<Book>,
        rule: Option<&crate::script::Rule>,
        outcome_alone: bool,
    ) -> bool {
        let Some(code) = self.prepared.code.only(&self.rule, book, rule) else { return false };
        let prepared = Prepared { code: Arc::new(code), ..self.prepared.clone() };
        !self.passes(inspector, &prepared, outcome_alone)
    }
}
