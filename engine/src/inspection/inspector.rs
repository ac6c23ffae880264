//! Brings everything together: a shelf of rulesets, the rules compiled once, and jobs held against them.

use std::borrow::Cow;
use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

use jiff::civil::Date;

use super::code::{Code, Compiled, Lazy, Source};
use super::compose;
use super::finding::Report;
use super::hands::Hands;
use super::options::Options;
use super::outcomes::Buffers;
use super::pins;
use super::scene::Scene;
use super::settle::{Answers, Permissions};
use crate::book::{Ask, AskSpans, Book, RuleInForce, RuleSource, RulesetText, Shelf};
use crate::calc;
use crate::facts::Facts;
use crate::job::{self, Document, Part, SiteFacts};
use crate::model::{ItemIndex, Job, KindId, Nest, Schema, SchemaError, Stage, Symbols};
use crate::problem::{self, Problem, Severity, Topic};
use crate::script::{Bound, Compiler, ExistingWork, Recorder, Rule, run_together};
use crate::source::{File, Files, Span};

/// A job file as text.
#[derive(Clone, Debug)]
pub struct JobText {
    /// Its name: a path, as the user gave it.
    pub name: String,
    /// Its text.
    pub text: Arc<str>,
}

/// A job whose code is ready. The job itself is not read yet.
#[derive(Clone, Debug)]
pub struct Prepared {
    pub(crate) text: JobText,
    pub(crate) code: Arc<Code>,
    pub(crate) ask: Ask,
}

impl Prepared {
    /// Returns the name of the job's file.
    pub fn name(&self) -> &str {
        &self.text.name
    }

    /// Returns the code that the job will be held against.
    pub fn code(&self) -> Arc<Code> {
        Arc::clone(&self.code)
    }
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
    /// By the place of a rule's text, and by what is read into it from elsewhere.
    rules: HashMap<(Span, u64), Arc<Lazy>>,
    codes: HashMap<CodeKey, Arc<Code>>,
    buffers: Buffers,
}

/// What decides the compiled code: the book, told apart by its address, and the latest stage.
type CodeKey = (usize, Stage);

/// Returns a number that tells apart what a rule may read into it: the exceptions that places add to it, and the shared conditions.
fn read_beside(book: &Book, rule: &RuleInForce) -> u64 {
    let exceptions = rule.exceptions.iter().map(|added| added.source.content());
    let texts = exceptions.chain(book.defines.iter().map(|define| define.source.content()));
    texts.fold(0, |so_far, text| (so_far ^ text).wrapping_mul(0x9e37_79b9_7f4a_7c15).rotate_left(23))
}

impl Inspector {
    /// Returns an inspector over rulesets, with the kinds and calculations of a dwelling.
    pub fn new(rulesets: Vec<RulesetText>) -> Inspector {
        let schema = Arc::new(Schema::dwelling());
        let library = calc::Library::standard(&schema);
        let compiler = Compiler::new(Arc::clone(&schema));
        Inspector::over(schema, library, compiler, rulesets)
    }

    /// Returns an inspector over kinds, calculations and native functions of the caller's own.
    ///
    /// # Errors
    /// All mistakes of the table of kinds (see [`Schema::check`]), computed fields that no function fills, and calculations or a compiler
    /// that were made for another table: what would be a wrong verdict later.
    pub fn with(
        schema: Arc<Schema>,
        library: calc::Library,
        compiler: Compiler,
        rulesets: Vec<RulesetText>,
    ) -> Result<Inspector, SchemaError> {
        super::parts::check(&schema, &library, &compiler)?;
        Ok(Inspector::over(schema, library, compiler, rulesets))
    }

    fn over(schema: Arc<Schema>, library: calc::Library, compiler: Compiler, rulesets: Vec<RulesetText>) -> Inspector {
        let shelf = Shelf::read(schema, rulesets);
        // With what the rulesets declare; numbers of kinds and fields are still those of the table that all was made for.
        let schema = Arc::clone(shelf.schema());
        Inspector {
            compiler: compiler.over(Arc::clone(&schema)),
            schema,
            shelf,
            library,
            rules: HashMap::new(),
            codes: HashMap::new(),
            buffers: Buffers::default(),
        }
    }

    /// Returns the shelf of rulesets.
    pub fn shelf(&self) -> &Shelf {
        &self.shelf
    }

    /// Returns the shelf of rulesets, to open some of them.
    pub fn shelf_mut(&mut self) -> &mut Shelf {
        &mut self.shelf
    }

    /// Returns the calculations.
    pub fn library(&self) -> &calc::Library {
        &self.library
    }

    /// Returns what compiles rules.
    pub(crate) fn compiler(&self) -> &Compiler {
        &self.compiler
    }

    /// Finds the code of a job's place and dates, if another job has not brought that about already.
    ///
    /// # Errors
    /// Everything that is wrong with the job's `[site]` or with the rulesets that it needs.
    pub fn prepare(&mut self, text: JobText, options: &Options) -> Result<Prepared, Failure> {
        let (file, files) = self.file(&text)?;
        let (ask, stage) = self.asked(&file, &files, options)?;
        match self.code(&ask, stage) {
            Ok(code) => Ok(Prepared { text, code, ask }),
            Err(problems) => Err(self.without_code(&Document::parse(&file), files, problems)),
        }
    }

    /// Reads what decides the code and the latest stage. Mostly the head of the file tells, and the rest of it is not looked at.
    fn asked(&self, file: &File, files: &Files, options: &Options) -> Result<(Ask, Stage), Failure> {
        let told = |document: &Document<'_>, site: &SiteFacts| {
            let stage = options.stage.or(stage_of(&document.part())).unwrap_or(Stage::Final);
            (ask(site, options), stage)
        };
        if let Some(head) = Document::head(file)
            && let (Some(site), problems) = job::peek(&[head.part()])
            && problems.is_empty()
        {
            return Ok(told(&head, &site));
        }
        let whole = Document::parse(file);
        let (site, problems) = job::peek(&[whole.part()]);
        if let Some(site) = site {
            return Ok(told(&whole, &site));
        }
        // Without its place a job can still be read, so that all that is wrong with it shows at once.
        let (_, all) = self.load(&[whole.part()], files, self.shelf.symbols().clone(), None, true);
        Err(Failure { problems: if all.is_empty() { problems } else { all }, files: files.clone() })
    }

    /// Adds what is wrong with a job to what is wrong with the rulesets that it needs.
    fn without_code(&self, document: &Document<'_>, files: Files, mut problems: Vec<Problem>) -> Failure {
        let (_, more) = self.load(&[document.part()], &files, self.shelf.symbols().clone(), None, true);
        problems.extend(more.into_iter().filter(|problem| problem.severity == Severity::Error));
        Failure { problems, files }
    }

    /// Returns the code that an [`Ask`] leads to, with the rules up to a stage.
    ///
    /// # Errors
    /// Everything that is wrong with the rulesets that the ask needs.
    pub fn code(&mut self, ask: &Ask, stage: Stage) -> Result<Arc<Code>, Vec<Problem>> {
        let book = self.shelf.resolve(ask)?;
        let key = (Arc::as_ptr(&book) as usize, stage);
        if let Some(code) = self.codes.get(&key) {
            return Ok(Arc::clone(code));
        }
        let loose = self.not_stricter(&book);
        if !loose.is_empty() {
            return Err(loose);
        }
        let in_force = book.rules.iter().filter(|rule| rule.source.stage <= stage);
        let rules = in_force.map(|rule| {
            let lazy = self.rules.entry((rule.source.text, read_beside(&book, rule))).or_default();
            Compiled::new(rule.clone(), Arc::clone(lazy))
        });
        let rules = rules.collect();
        let symbols = Arc::new(self.shelf.symbols().clone());
        let code = Arc::new(Code { rules, stage, files: self.shelf.files().clone(), symbols, book });
        self.codes.insert(key, Arc::clone(&code));
        Ok(code)
    }

    /// Returns a rule, compiled against a book if no other has brought that about already.
    ///
    /// # Errors
    /// All mistakes of the rule. What another book may have is not held against the rule there.
    pub fn rule(&mut self, source: &RuleSource, book: &Book) -> Result<Rule, Vec<Problem>> {
        let symbols = Arc::new(self.shelf.symbols().clone());
        let from = Source { source, files: self.shelf.files(), book, symbols: &symbols };
        let beside =
            book.rules.iter().find(|rule| rule.source.id == source.id).map_or(0, |rule| read_beside(book, rule));
        let lazy = self.rules.entry((source.text, beside)).or_default();
        lazy.made(&self.compiler, &from).map(|made| made.rule.clone())
    }

    /// Reads a prepared job and holds every item of it against every rule.
    ///
    /// # Errors
    /// Everything that is wrong with the job file.
    pub fn inspect(&self, prepared: &Prepared, options: &Options) -> Result<Inspected, Failure> {
        let code = &prepared.code;
        let (file, files) = self.file(&prepared.text)?;
        let document = Document::parse(&file);
        self.inspect_parts(&[document.part()], &files, true, prepared, options)
            .map_err(|problems| Failure { problems, files: files.clone() })
            .map(|(report, job)| Inspected { report, job, code: Arc::clone(code) })
    }

    /// Prepares and inspects a single job, as [`Inspector::prepare`] and [`Inspector::inspect`] do, with another pair of hands:
    /// one reads the rulesets while the other parses the job, and both compile the rules.
    ///
    /// # Errors
    /// As both.
    pub fn inspect_alone(&mut self, text: JobText, options: &Options, hands: &dyn Hands) -> Result<Inspected, Failure> {
        let (file, files) = self.file(&text)?;
        let (ask, stage) = self.asked(&file, &files, options)?;
        let (mut code, mut document) = (None, None);
        hands.both(&mut || code = Some(self.code(&ask, stage)), &mut || document = Some(Document::parse(&file)));
        let document = document.unwrap_or_else(|| Document::parse(&file));
        let code = match code.unwrap_or_else(|| self.code(&ask, stage)) {
            Ok(code) => code,
            Err(problems) => return Err(self.without_code(&document, files, problems)),
        };
        let parts = [document.part()];
        let prepared = Prepared { text, code, ask };
        let (mut read, code) = (None, &prepared.code);
        hands.both(
            &mut || {
                let (job, problems) = self.read(&parts, &files, true, code);
                // The other pair of hands begins at the other end.
                let playing = job.iter().flat_map(|job| in_play(code, job, options));
                playing
                    .collect::<Vec<_>>()
                    .iter()
                    .rev()
                    .for_each(|(_, compiled)| _ = compiled.make(&self.compiler, code));
                read = Some((job, problems));
            },
            &mut || self.compile_ahead(&parts, code, options),
        );
        let (job, problems) = read.unwrap_or_else(|| self.read(&parts, &files, true, code));
        match self.hold(job, problems, &prepared, options) {
            Ok((report, job)) => Ok(Inspected { report, job, code: Arc::clone(code) }),
            Err(problems) => Err(Failure { problems, files }),
        }
    }

    /// Compiles the rules that a job will need as far as its tables tell; what it misses is compiled later.
    fn compile_ahead(&self, parts: &[Part<'_>], code: &Code, options: &Options) {
        let written = |key: &str| parts.iter().any(|part| part.table.contains_key(key));
        for compiled in code.rules.iter().filter(|compiled| asked_for(code, compiled, options)) {
            let mut spec = self.schema.spec(compiled.in_force.source.kind);
            // Kinds nest three deep at most.
            for _ in 0..4 {
                match spec.nest {
                    Nest::Inside { parent, .. } => match self.schema.kind(parent) {
                        Some(parent) => spec = self.schema.spec(parent),
                        None => break,
                    },
                    Nest::Single(key) | Nest::Top(key) => {
                        if written(key) {
                            compiled.make(&self.compiler, code);
                        }
                        break;
                    }
                }
            }
        }
    }

    /// Reads a job from its parts and holds it against a code; a trial lays its own part over a base.
    pub(crate) fn inspect_parts(
        &self,
        parts: &[Part<'_>],
        files: &Files,
        whole_file: bool,
        prepared: &Prepared,
        options: &Options,
    ) -> Result<(Report, Job), Vec<Problem>> {
        let (job, problems) = self.read(parts, files, whole_file, &prepared.code);
        self.hold(job, problems, prepared, options)
    }

    /// Reads a job, with its shop's defaults.
    pub(crate) fn read(
        &self,
        parts: &[Part<'_>],
        files: &Files,
        whole_file: bool,
        code: &Code,
    ) -> (Option<Job>, Vec<Problem>) {
        let defaults = code.book.defaults().map(|file| Document::parse(file));
        let shop = defaults.as_ref().map(Document::part);
        self.load(parts, files, Symbols::on(Arc::clone(&code.symbols)), shop, whole_file)
    }

    /// Holds a job against a code.
    pub(crate) fn hold(
        &self,
        job: Option<Job>,
        mut problems: Vec<Problem>,
        prepared: &Prepared,
        options: &Options,
    ) -> Result<(Report, Job), Vec<Problem>> {
        let code = &prepared.code;
        let Some(mut job) = job else { return Err(problems) };
        let permissions = Permissions::of(&job, &code.book, options.on, &mut problems);
        let answers = Answers::of(&job, &code.book, &mut problems);
        pins::check(&job, &code.book, options.at.is_some() || options.permit_date.is_some(), &mut problems);
        check_names(&job, code, options, &mut problems);
        if problems.iter().any(|problem| problem.severity == Severity::Error) {
            return Err(problems);
        }
        problems.extend(code.book.notices(&prepared.ask.at));
        let playing = in_play(code, &job, options);
        for (_, compiled) in &playing {
            for text in compiled.make(&self.compiler, code) {
                job.symbols.intern(text);
            }
        }
        let bound = playing.iter().filter_map(|(_, compiled)| compiled.bound());
        let mut wanted: Vec<_> = bound.flat_map(|bound| bound.rule().fields().iter().copied()).collect();
        wanted.sort_unstable();
        wanted.dedup();
        let facts = calc::facts(&job, &*code.book, &self.library, wanted);
        let scene = Scene {
            job: &job,
            facts: &facts,
            code,
            playing: &playing,
            permit_date: prepared.ask.permit_date,
            file: &prepared.text.name,
            shop: prepared.ask.at.shop,
            options,
            permissions: &permissions,
            answers: &answers,
        };
        let mut composer = compose::Composer::begin(&scene, self.buffers.take());
        run(&playing, &facts, &job, options, &mut composer);
        let (mut report, buffer) = composer.end();
        report.notices.extend(problems);
        report.notices.extend(facts.notices().iter().cloned());
        drop(facts);
        self.buffers.give_back(buffer);
        Ok((report, job))
    }

    fn file(&self, text: &JobText) -> Result<(Arc<File>, Files), Failure> {
        let mut files = self.shelf.files().clone();
        match files.add(text.name.clone(), Arc::clone(&text.text)) {
            Ok(file) => Ok((file, files)),
            Err(error) => Err(Failure { problems: vec![Problem::new(Span::NONE, error.to_string())], files }),
        }
    }

    fn load<'a>(
        &self,
        parts: &[Part<'a>],
        files: &Files,
        symbols: Symbols,
        shop_defaults: Option<Part<'a>>,
        whole_file: bool,
    ) -> (Option<Job>, Vec<Problem>) {
        let setting =
            job::Setting { schema: Arc::clone(&self.schema), files: files.clone(), symbols, shop_defaults, whole_file };
        job::load(parts, &setting)
    }
}

/// Returns whether a rule is among those asked for.
fn asked_for(code: &Code, compiled: &Compiled, options: &Options) -> bool {
    let id = &compiled.in_force.source.id;
    options.rules.is_empty() || options.rules.iter().any(|wanted| code.names(wanted, id))
}

/// Returns the rules that a job has items for, of those asked for, each with its place in the code.
fn in_play<'c>(code: &'c Code, job: &Job, options: &Options) -> Vec<(usize, &'c Compiled)> {
    let has_items = |compiled: &Compiled| !job.of_kind(compiled.in_force.source.kind).is_empty();
    let rules = code.rules.iter().enumerate();
    rules.filter(|(_, compiled)| has_items(compiled) && asked_for(code, compiled, options)).collect()
}

/// Runs rules on the items of their kinds.
fn run(playing: &[(usize, &Compiled)], facts: &Facts<'_>, job: &Job, options: &Options, recorder: &mut impl Recorder) {
    let mut by_kind: BTreeMap<KindId, Vec<(u16, &Bound)>> = BTreeMap::new();
    for (number, compiled) in playing {
        if let Some(bound) = compiled.bound() {
            by_kind.entry(compiled.in_force.source.kind).or_default().push((*number as u16, bound));
        }
    }
    for (kind, rules) in &by_kind {
        let items = items_of(*kind, job, options);
        if !job.has_existing() {
            run_together(rules, &items, facts, recorder);
            continue;
        }
        let (existing, new): (Vec<ItemIndex>, Vec<ItemIndex>) = items.iter().partition(|&&item| job.is_existing(item));
        run_together(rules, &new, facts, recorder);
        let asked = |bound: &Bound| bound.rule().existing_work() != ExistingWork::LeftOut;
        let of_existing: Vec<(u16, &Bound)> = rules.iter().copied().filter(|(_, bound)| asked(bound)).collect();
        run_together(&of_existing, &existing, facts, recorder);
    }
}

/// Returns the items of a kind that are to be looked at.
fn items_of<'j>(kind: KindId, job: &'j Job, options: &Options) -> Cow<'j, [ItemIndex]> {
    let of_kind = job.of_kind(kind);
    if options.items.is_empty() {
        return Cow::Borrowed(of_kind);
    }
    let chosen: Vec<ItemIndex> = options.items.iter().filter_map(|id| job.find(id)).collect();
    Cow::Owned(of_kind.iter().copied().filter(|item| chosen.contains(item)).collect())
}

/// Refuses rules and items of the options that don't exist: a typo never narrows an inspection to nothing.
fn check_names(job: &Job, code: &Code, options: &Options, problems: &mut Vec<Problem>) {
    for id in options.items.iter().filter(|id| job.find(id).is_none()) {
        let known: Vec<&str> = job.items().map(|(item, _)| job.id(item)).collect();
        problems.push(unknown("item", id, &known).about(Topic::Item));
    }
    for id in options.rules.iter().filter(|id| code.book.rule_named(id).is_none()) {
        let known: Vec<&str> = code.book.rule_ids().collect();
        problems.push(unknown("rule", id, &known).about(Topic::Rule));
    }
}

fn unknown(what: &str, id: &str, known: &[&str]) -> Problem {
    let mut problem = Problem::new(Span::NONE, format!("there is no {what} `{id}` here"));
    problem.help = problem::did_you_mean(id, known.iter().copied());
    problem
}

/// Reads the stage of a job without loading it; a wrong word is told by the load that follows.
fn stage_of(part: &Part<'_>) -> Option<Stage> {
    part.table.get("site")?.get_ref().get("stage")?.get_ref().as_str().and_then(Stage::of)
}

fn ask(site: &SiteFacts, options: &Options) -> Ask {
    let span = |told: &Option<job::Told<Date>>| told.as_ref().map_or(Span::NONE, |told| told.span);
    let day = |told: &Option<job::Told<Date>>| told.as_ref().map(|told| told.value);
    let mut ask = Ask::on(site.jurisdiction.value.clone(), site.permit_date.value);
    ask.application_date = day(&site.application_date);
    ask.purchase_date = day(&site.purchase_date);
    ask.manufacture_date = day(&site.manufacture_date);
    ask.edition = site.edition.as_ref().map(|told| told.value.clone());
    ask.shop = site.shop.as_ref().map(|told| told.value.clone());
    ask.accessible = site.accessible.value;
    ask.dwelling = site.dwelling.as_ref().map(|told| told.value.clone());
    ask.at = AskSpans {
        site: Span::NONE,
        jurisdiction: site.jurisdiction.span,
        permit_date: site.permit_date.span,
        application_date: span(&site.application_date),
        purchase_date: span(&site.purchase_date),
        manufacture_date: span(&site.manufacture_date),
        edition: site.edition.as_ref().map_or(Span::NONE, |told| told.span),
        shop: site.shop.as_ref().map_or(Span::NONE, |told| told.span),
        accessible: site.accessible.span,
    };
    if let Some(place) = &options.at {
        ask.jurisdiction.clone_from(place);
        // An edition chosen for another place says nothing here, and the job's own place is not to blame for this one.
        ask.edition = None;
        ask.at.jurisdiction = Span::NONE;
    }
    if let Some(day) = options.permit_date {
        ask.permit_date = day;
        ask.at.permit_date = Span::NONE;
        if options.every_date {
            (ask.application_date, ask.purchase_date, ask.manufacture_date) = (Some(day), Some(day), Some(day));
            ask.edition = None;
        }
    }
    ask
}
