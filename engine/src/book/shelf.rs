//! The shelf: every ruleset that is known. Manifests are read at once, contents when a book needs them.

use std::borrow::Cow;
use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

use jiff::civil::Date;

use super::ask::Ask;
use super::contents::{self, Contents};
use super::manifest::Ruleset;
use super::{Book, entry::EntryId, gather, references, resolve, stack};
use crate::model::{Schema, Symbols};
use crate::problem::Problem;
use crate::source::Files;

/// Where a ruleset comes from.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum Origin {
    /// From the binary.
    Shipped,
    /// From a folder, under the name by which the user knows it.
    Folder(String),
}

impl Origin {
    /// Returns the name under which a file of this origin is shown.
    pub(super) fn file_name(&self, path: &str) -> String {
        match self {
            Origin::Shipped => format!("ruleset:{path}"),
            Origin::Folder(folder) => format!("{}/{path}", folder.trim_end_matches('/')),
        }
    }
}

impl std::fmt::Display for Origin {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Origin::Shipped => f.write_str("the shipped rulesets"),
            Origin::Folder(folder) => f.write_str(folder),
        }
    }
}

/// One text file of some ruleset.
#[derive(Clone, Debug)]
pub struct RulesetText {
    /// Where it comes from.
    pub origin: Origin,
    /// Its path below the folder of rulesets, with `/`: `us/model-2020/code/nm.toml`.
    pub path: String,
    /// Its text.
    pub text: Cow<'static, str>,
}

impl RulesetText {
    /// Returns a file that the binary carries.
    pub fn shipped(path: impl Into<String>, text: &'static str) -> RulesetText {
        RulesetText { origin: Origin::Shipped, path: path.into(), text: Cow::Borrowed(text) }
    }

    /// Returns a file of a folder of rulesets, or of a single ruleset's own folder.
    pub fn in_folder(folder: impl Into<String>, path: impl Into<String>, text: impl Into<String>) -> RulesetText {
        let path = path.into().replace('\\', "/");
        RulesetText { origin: Origin::Folder(folder.into()), path, text: Cow::Owned(text.into()) }
    }
}

/// The names of all entries met so far, each with its number.
#[derive(Clone, Debug, Default)]
pub(super) struct Names {
    keys: Vec<Arc<str>>,
    ids: HashMap<Arc<str>, EntryId, ahash::RandomState>,
}

impl Names {
    pub(super) fn id(&mut self, key: &str) -> EntryId {
        if let Some(&id) = self.ids.get(key) {
            return id;
        }
        let id = EntryId(self.keys.len() as u32);
        let key: Arc<str> = Arc::from(key);
        self.keys.push(Arc::clone(&key));
        self.ids.insert(key, id);
        id
    }

    pub(super) fn find(&self, key: &str) -> Option<EntryId> {
        self.ids.get(key).copied()
    }

    pub(super) fn len(&self) -> usize {
        self.keys.len()
    }
}

/// Every ruleset that is known.
#[derive(Debug)]
pub struct Shelf {
    pub(super) schema: Arc<Schema>,
    pub(super) files: Files,
    pub(super) symbols: Symbols,
    pub(super) names: Names,
    /// Sorted by id.
    pub(super) rulesets: Vec<Ruleset>,
    by_id: BTreeMap<String, usize>,
    contents: Vec<Option<Arc<Contents>>>,
    books: Vec<Arc<Book>>,
    problems: Vec<Problem>,
    /// The ruleset to blame for each problem.
    blame: Vec<Option<usize>>,
}

impl Shelf {
    /// Reads the manifests of all rulesets. Of two with the same id, the one whose origin comes later stands in front of
    /// the other as a whole.
    pub fn read(schema: Arc<Schema>, sources: Vec<RulesetText>) -> Shelf {
        let mut files = Files::new();
        let mut symbols = Symbols::new();
        let gathered = gather::gather(sources, &schema, &mut files, &mut symbols);
        files.share();
        let mut shelf = Shelf {
            schema,
            files,
            symbols,
            names: Names::default(),
            by_id: gathered.rulesets.iter().enumerate().map(|(at, ruleset)| (ruleset.id.clone(), at)).collect(),
            contents: gathered.rulesets.iter().map(|_| None).collect(),
            rulesets: gathered.rulesets,
            books: Vec::new(),
            problems: Vec::new(),
            blame: Vec::new(),
        };
        let manifests =
            gathered.problems.into_iter().map(|(id, problem)| (id.and_then(|id| shelf.index(&id)), problem));
        let references = references::check(&shelf).into_iter().map(|(at, problem)| (Some(at), problem));
        let mut problems: Vec<(Option<usize>, Problem)> = manifests.chain(references).collect();
        problems.sort_by_key(|(_, problem)| problem.span);
        for (blame, problem) in problems {
            shelf.blame(blame, problem);
        }
        shelf
    }

    fn blame(&mut self, ruleset: Option<usize>, problem: Problem) {
        if let Some(ruleset) = ruleset.and_then(|at| self.rulesets.get_mut(at)) {
            ruleset.broken = true;
        }
        self.problems.push(problem);
        self.blame.push(ruleset);
    }

    /// Returns what is wrong with the manifests, and files that belong to no ruleset.
    pub fn problems(&self) -> &[Problem] {
        &self.problems
    }

    /// Returns what is wrong with the manifests of some rulesets.
    pub(super) fn problems_of(&self, rulesets: &[usize]) -> Vec<Problem> {
        let with = self.problems.iter().zip(&self.blame);
        with.filter(|(_, blame)| blame.is_some_and(|at| rulesets.contains(&at))).map(|(p, _)| p.clone()).collect()
    }

    /// Returns the files of all rulesets. Nothing is added to them later, so that a job may lay its own files behind a copy.
    pub fn files(&self) -> &Files {
        &self.files
    }

    /// Returns the texts of all values read so far.
    pub fn symbols(&self) -> &Symbols {
        &self.symbols
    }

    /// Returns the same, to add the words of rules to.
    pub fn symbols_mut(&mut self) -> &mut Symbols {
        &mut self.symbols
    }

    /// Returns the table of kinds that rules are read by.
    pub fn schema(&self) -> &Arc<Schema> {
        &self.schema
    }

    /// Returns the ids of all rulesets, sorted.
    pub fn ids(&self) -> impl Iterator<Item = &str> + Clone {
        self.rulesets.iter().map(|ruleset| ruleset.id.as_str())
    }

    /// Returns a ruleset's manifest.
    pub fn ruleset(&self, id: &str) -> Option<&Ruleset> {
        self.rulesets.get(self.index(id)?)
    }

    pub(super) fn index(&self, id: &str) -> Option<usize> {
        self.by_id.get(id).copied()
    }

    /// Opens a ruleset: its code, amendments, rule headers and defaults.
    ///
    /// # Errors
    /// Everything that is wrong with its manifest and its files.
    pub fn open(&mut self, id: &str) -> Result<Arc<Contents>, Vec<Problem>> {
        let Some(at) = self.index(id) else {
            return Err(vec![references::unknown(self, &crate::source::Span::NONE, "ruleset", id, |_| true)]);
        };
        let contents = self.open_at(at);
        let mut problems = self.problems_of(&[at]);
        problems.extend_from_slice(&contents.problems);
        if problems.is_empty() { Ok(contents) } else { Err(problems) }
    }

    /// Opens a ruleset by its position, its errors kept inside.
    pub(super) fn open_at(&mut self, at: usize) -> Arc<Contents> {
        if let Some(Some(contents)) = self.contents.get(at) {
            return Arc::clone(contents);
        }
        let contents = Arc::new(contents::open(self, at));
        if let Some(slot) = self.contents.get_mut(at) {
            *slot = Some(Arc::clone(&contents));
        }
        contents
    }

    /// Resolves the code in force for a place, its dates and a shop.
    ///
    /// # Errors
    /// Everything that is wrong with the rulesets involved, or with what is asked: a place, shop or edition that is not there
    /// or does not fit, a day with nothing in force, a date that the place counts and the job does not record.
    pub fn resolve(&mut self, ask: &Ask) -> Result<Arc<Book>, Vec<Problem>> {
        let stack = stack::build(self, ask)?;
        // Many days give one and the same code: it is resolved once.
        if let Some(book) = self.books.iter().find(|book| book.stack == stack.key) {
            return Ok(Arc::clone(book));
        }
        let book = Arc::new(resolve::resolve(self, stack)?);
        self.books.push(Arc::clone(&book));
        Ok(book)
    }

    /// Returns whether nothing is in force for what is asked, so that [`Shelf::resolve`] would fail without any fault of a ruleset.
    pub fn nothing_in_force(&self, ask: &Ask) -> bool {
        stack::nothing_in_force(self, ask)
    }

    /// Returns the days on which something changes in a ruleset or what it stands on: starts of adoptions and amendments,
    /// and the days after their ends; sorted. On the first ones a place may not yet have an edition in force.
    pub fn days_of_change(&mut self, id: &str) -> Vec<Date> {
        self.changes(id).into_iter().map(|(day, _)| day).collect()
    }

    /// Returns the day on which the newest adoption or amendment of a ruleset starts or an amendment has ended, or the day of
    /// its last review where it states no day: the day on which its own trials take place.
    pub fn newest_start(&mut self, id: &str) -> Option<Date> {
        let starts = self.changes(id).into_iter().filter(|(_, change)| *change != Turn::AdoptionEnds);
        starts.map(|(day, _)| day).next_back().or_else(|| self.ruleset(id)?.reviewed)
    }

    fn changes(&mut self, id: &str) -> Vec<(Date, Turn)> {
        let Some(at) = self.index(id) else { return Vec::new() };
        let after = |last: Option<Date>| last.and_then(|day| day.tomorrow().ok());
        let mut days = Vec::new();
        for at in references::with_parents(self, at) {
            let contents = self.open_at(at);
            let Some(ruleset) = self.rulesets.get(at) else { continue };
            days.extend(ruleset.from.map(|day| (day, Turn::Other)));
            for adoption in &ruleset.adopts {
                days.push((adoption.from, Turn::Other));
                days.extend(adoption.choice_from.map(|day| (day, Turn::Other)));
                days.extend(after(adoption.choice_until).map(|day| (day, Turn::Other)));
                days.extend(after(adoption.until).map(|day| (day, Turn::AdoptionEnds)));
            }
            for amendment in &contents.amends {
                days.extend(amendment.from.map(|day| (day, Turn::Other)));
                days.extend(after(amendment.until).map(|day| (day, Turn::Other)));
            }
        }
        days.sort_unstable();
        days.dedup_by_key(|(day, _)| *day);
        days
    }
}

/// What changes on a day.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Turn {
    /// Something begins, or an amendment has ended.
    Other,
    /// An adoption has ended, and nothing may be in force.
    AdoptionEnds,
}
