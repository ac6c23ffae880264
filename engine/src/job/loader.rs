//! The state of a load, and the order of its steps.

use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use super::Setting;
use super::document::Part;
use super::noted::{Levels, Link, Measure, Value};
use super::shape::{How, Shape};
use super::words;
use crate::model::{Cell, FieldId, IdRule, ItemIndex, Job, JobBuilder, KindId, Nest, Schema};
use crate::problem::{Problem, Severity};
use crate::source::Span;

/// What is known of an item beyond its cells.
#[derive(Clone, Copy, Debug)]
pub(super) struct Origin {
    /// Where its id is written, or its header.
    pub(super) id: Span,
    /// The item around it.
    pub(super) parent: Option<ItemIndex>,
}

/// A job in the making.
pub(super) struct Loader<'a> {
    pub(super) shape: &'a Shape<'a>,
    pub(super) builder: JobBuilder,
    /// By item number.
    pub(super) origins: Vec<Origin>,
    /// References of items to others, to be looked up once all are known.
    pub(super) links: Vec<Link<'a>>,
    /// Fields that were written, but wrongly: they are not missing as well.
    pub(super) faulty: HashSet<(ItemIndex, FieldId)>,
    pub(super) levels: Levels<'a>,
    pub(super) measures: Vec<Measure<'a>>,
    /// Items inside a parent whose written id differs from `PARENT/NAME`.
    pub(super) aliases: HashMap<(ItemIndex, &'a str), ItemIndex>,
    /// Walls made for rectangular rooms.
    pub(super) made_walls: HashMap<ItemIndex, [ItemIndex; 4]>,
    /// What chains of links lead to, as far as it is recorded.
    pub(super) reached: HashMap<(ItemIndex, FieldId), Vec<Cell>>,
    /// Whether the parts are a whole job file; a trial's tables tell only what its rule needs.
    pub(super) whole_file: bool,
    /// How many more ids may be compared in search of a nearest one: a file with thousands of wrong ids needs no thousands of hints.
    pub(super) comparisons: usize,
    problems: Vec<Problem>,
    /// Problems that may only follow from a syntax error elsewhere.
    consequences: Vec<Problem>,
}

impl<'a> Loader<'a> {
    pub(super) fn new(shape: &'a Shape<'a>, schema: Arc<Schema>, setting: &Setting<'_>) -> Loader<'a> {
        Loader {
            shape,
            builder: JobBuilder::new(schema, setting.files.clone(), setting.symbols.clone()),
            origins: Vec::new(),
            links: Vec::new(),
            faulty: HashSet::new(),
            levels: Levels::default(),
            measures: Vec::new(),
            aliases: HashMap::new(),
            made_walls: HashMap::new(),
            reached: HashMap::new(),
            whole_file: setting.whole_file,
            comparisons: 100_000,
            problems: Vec::new(),
            consequences: Vec::new(),
        }
    }

    /// Does all steps.
    pub(super) fn run(mut self, parts: &[Part<'a>], setting: &Setting<'a>) -> (Option<Job>, Vec<Problem>) {
        self.read_defaults(parts, setting.shop_defaults);
        self.check_top_keys(parts);
        for (kind, spec) in self.shape.schema.kinds() {
            match spec.nest {
                Nest::Single(key) => self.read_single(kind, key, parts),
                Nest::Top(key) => self.read_all(kind, key, parts),
                Nest::Inside { .. } => {}
            }
        }
        self.resolve_links();
        self.link_feeders();
        self.apply_defaults();
        self.apply_measures();
        self.fill_feeders();
        self.fill_nothing();
        self.check_required();
        self.check_records();
        self.check_places();
        self.fill_inverse(false);
        self.fill_through();
        self.fill_inverse(true);
        self.fill_existing();
        self.check_geometry();
        self.finish(parts)
    }

    fn finish(self, parts: &[Part<'a>]) -> (Option<Job>, Vec<Problem>) {
        let Loader { builder, mut problems, consequences, .. } = self;
        let job = builder.finish();
        let faults: Vec<&Problem> = parts.iter().flat_map(|part| part.faults).collect();
        if faults.is_empty() {
            problems.extend(consequences);
        } else {
            let line = |span: Span| {
                job.files.file_of(span).map(|file| (file.base(), file.line_of(span.start() - file.base())))
            };
            let broken: HashSet<_> = faults.iter().map(|fault| line(fault.span)).collect();
            problems.retain(|problem| !broken.contains(&line(problem.span)));
            problems.extend(faults.into_iter().cloned());
        }
        super::sort(&mut problems);
        let whole = problems.iter().all(|problem| problem.severity != Severity::Error);
        (whole.then_some(job), problems)
    }

    /// Notes a problem.
    pub(super) fn problem(&mut self, problem: Problem) {
        self.problems.push(problem);
    }

    /// Notes a problem that a syntax error elsewhere may have brought about.
    pub(super) fn consequence(&mut self, problem: Problem) {
        self.consequences.push(problem);
    }

    /// Returns the value, or notes the problem.
    pub(super) fn noted<T>(&mut self, read: Result<T, Problem>) -> Option<T> {
        read.map_err(|problem| self.problem(problem)).ok()
    }

    /// Returns an item's cell.
    pub(super) fn cell(&self, item: ItemIndex, field: FieldId) -> Cell {
        self.builder.job().cell(item, field)
    }

    /// Returns an item's kind.
    pub(super) fn kind_of(&self, item: ItemIndex) -> KindId {
        self.builder.job().item(item).kind
    }

    /// Returns an item as a message calls it: ``box `B1` ``, or `the site`.
    pub(super) fn called(&self, item: ItemIndex) -> String {
        let job = self.builder.job();
        let kind = self.shape.schema.spec(job.item(item).kind);
        match kind.id {
            IdRule::Only => format!("the {}", words::said(kind)),
            IdRule::Required | IdRule::Made => format!("{} `{}`", words::said(kind), words::short(self.id(item))),
        }
    }

    /// Returns an item's id, without the mark that tells a second bearer of it apart.
    pub(super) fn id(&self, item: ItemIndex) -> &str {
        let id = self.builder.job().id(item);
        id.split('\0').next().unwrap_or(id)
    }

    /// Puts a value into an item, or notes the references in it for later.
    pub(super) fn store(&mut self, item: ItemIndex, field: FieldId, value: Value<'a>) {
        match value {
            Value::Cell(cell) => self.builder.set(item, field, cell),
            Value::Make { make, size, conductors } => {
                self.builder.set(item, field, make);
                if let How::Make { size: size_field, conductors: conductors_field } =
                    self.shape.field(self.kind_of(item), field).how
                {
                    for (field, cell) in [(size_field, size), (conductors_field, conductors)] {
                        if let Some(field) = field {
                            self.builder.set(item, field, cell);
                        }
                    }
                }
            }
            Value::Names { names, span, cell } => {
                if let Some(cell) = cell {
                    self.builder.set(item, field, cell);
                }
                self.links.push(Link { item, field, names, span });
            }
        }
    }
}
