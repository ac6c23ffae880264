//! Derived fields: which function fills which field, and the facts they make of a job.

use std::collections::BTreeMap;

use super::Code;
use super::given::Gap;
use super::index::Index;
use super::worksheet::{Line, Sheet};
use crate::facts::Facts;
use crate::model::{Cell, FieldId, Filled, ItemIndex, Job, KindId, Schema};
use crate::problem::Problem;

/// What a computation works on.
pub struct Ctx<'a> {
    /// The job.
    pub job: &'a Job,
    /// The code in force.
    pub book: &'a dyn Code,
    /// Look-ups over the job.
    pub index: Index,
    /// Whether worksheet lines are wanted, or only the figures.
    pub working: bool,
    wiring: std::sync::OnceLock<crate::wiring::Wiring>,
}

impl std::fmt::Debug for Ctx<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Ctx").field("items", &self.job.len()).field("working", &self.working).finish_non_exhaustive()
    }
}

impl<'a> Ctx<'a> {
    /// Returns a context that keeps worksheets.
    pub fn new(job: &'a Job, book: &'a dyn Code) -> Ctx<'a> {
        Ctx { job, book, index: Index::new(job), working: true, wiring: std::sync::OnceLock::new() }
    }

    /// Returns a context that computes figures alone.
    pub fn figures(job: &'a Job, book: &'a dyn Code) -> Ctx<'a> {
        Ctx { working: false, ..Ctx::new(job, book) }
    }

    /// Returns the wiring of the job, worked out when it is first asked for.
    pub fn wiring(&self) -> &crate::wiring::Wiring {
        self.wiring.get_or_init(|| crate::wiring::Wiring::of(self.job))
    }
}

/// The value of a derived field, with its worksheet, or why it has none.
#[derive(Clone, Debug)]
pub struct Derived {
    /// The value and the place to point at; [`Cell::MISSING`] where it is not known.
    pub cell: Cell,
    /// The written fields that would decide it, where it is not known.
    pub missing: Vec<(ItemIndex, FieldId)>,
    /// The worksheet.
    pub lines: Vec<Line>,
    /// What is wrong with the job file or the code in force, where that is why it is not known.
    pub fault: Option<Problem>,
}

impl Derived {
    /// Runs a computation on a worksheet and returns what came of it.
    pub fn of(ctx: &Ctx<'_>, compute: impl FnOnce(&mut Sheet) -> Result<Cell, Gap>) -> Derived {
        let mut sheet = Sheet::wanted(ctx.working);
        let (cell, missing, fault) = match compute(&mut sheet) {
            Ok(cell) => (cell, Vec::new(), None),
            Err(Gap::Missing(fields)) => (Cell::MISSING, fields, None),
            Err(Gap::Fault(problem)) => (Cell::MISSING, Vec::new(), Some(*problem)),
        };
        Derived { cell, missing, lines: sheet.into_lines(), fault }
    }
}

/// Computes one derived field of an item.
pub type DeriveFn = fn(&Ctx<'_>, ItemIndex) -> Derived;

/// Which function computes which field.
#[derive(Clone, Debug, Default)]
pub struct Library {
    functions: BTreeMap<(KindId, FieldId), DeriveFn>,
    /// The kinds and fields of the table that it was made for, where it was made for one.
    made_for: Option<Vec<&'static str>>,
}

impl Library {
    /// Returns a library without any function.
    pub fn new() -> Library {
        Library::default()
    }

    /// Adds a computation, in place of an earlier one for the same field.
    pub fn add(&mut self, kind: KindId, field: FieldId, function: DeriveFn) {
        self.functions.insert((kind, field), function);
    }

    /// Notes the table of kinds that the numbers of kinds and fields are those of.
    #[must_use]
    pub fn made_for(mut self, schema: &Schema) -> Library {
        self.made_for = Some(schema.names().collect());
        self
    }

    /// Returns whether its numbers of kinds and fields are those of a table of kinds.
    pub fn is_for(&self, schema: &Schema) -> bool {
        let is_derived = |&(kind, field): &(KindId, FieldId)| {
            let spec = schema.kinds().find(|(known, _)| *known == kind).map(|(_, spec)| spec);
            let field = spec.and_then(|spec| spec.fields.get(usize::from(field.0)));
            field.is_some_and(|field| field.filled == Filled::Derived)
        };
        self.made_for.as_ref().is_none_or(|names| names.iter().copied().eq(schema.names()))
            && self.functions.keys().all(is_derived)
    }

    /// Returns every field that has a computation, by kind.
    pub fn fields(&self) -> impl Iterator<Item = (KindId, FieldId)> + '_ {
        self.functions.keys().copied()
    }

    /// Returns the derived fields of a schema that have no computation here: none, for the standard library.
    pub fn lacking(&self, schema: &Schema) -> Vec<(KindId, FieldId)> {
        let mut lacking = Vec::new();
        for (kind, spec) in schema.kinds() {
            for (at, field) in spec.fields.iter().enumerate() {
                let field_id = FieldId(at as u16);
                if field.filled == Filled::Derived && !self.functions.contains_key(&(kind, field_id)) {
                    lacking.push((kind, field_id));
                }
            }
        }
        lacking
    }

    /// Computes one field of an item, with its worksheet if the context wants it.
    pub fn derive(&self, ctx: &Ctx<'_>, item: ItemIndex, field: FieldId) -> Option<Derived> {
        let function = self.functions.get(&(ctx.job.item(item).kind, field))?;
        Some(located(ctx, item, function(ctx, item)))
    }
}

/// A fault that no written place is to blame for points at its item.
fn located(ctx: &Ctx<'_>, item: ItemIndex, mut derived: Derived) -> Derived {
    if let Some(fault) = &mut derived.fault
        && !fault.span.is_some()
    {
        fault.span = ctx.job.item(item).header;
    }
    derived
}

/// Returns a job's cells with the wanted derived fields filled. Fields without a computation stay as they are.
pub fn facts<'a>(
    job: &'a Job,
    book: &dyn Code,
    library: &Library,
    wanted: impl IntoIterator<Item = (KindId, FieldId)>,
) -> Facts<'a> {
    let ctx = Ctx::figures(job, book);
    let mut facts = Facts::new(job);
    for (kind, field) in wanted {
        let Some(function) = library.functions.get(&(kind, field)) else { continue };
        for &item in job.of_kind(kind) {
            let derived = located(&ctx, item, function(&ctx, item));
            facts.set(item, field, derived.cell);
            if !derived.missing.is_empty() {
                facts.set_missing(item, field, derived.missing);
            }
            if let Some(fault) = derived.fault {
                facts.set_fault(item, field, fault);
            }
        }
    }
    // Only a rule that reads the wiring has it worked out; what it could not make out is worth knowing then.
    if let Some(wiring) = ctx.wiring.get() {
        facts.add_notices(wiring.notices().into_iter().map(Problem::notice).collect());
    }
    facts
}
