//! What Rhai sees of a job and a book: one type for every value, with what it was made from.

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, OnceLock};

use rhai::{EvalAltResult, ImmutableString, Position};

use super::super::check::Exception;
use super::super::detail::{Operand, OperandSource, Shown};
use super::super::native::Natives;
use super::super::syntax;
use crate::book::{Book, Matching, Scalar, ScalarType, Value};
use crate::facts::Facts;
use crate::model::{Cell, FieldId, Filled, ItemIndex, Job, KindId, Type, kinds};
use crate::quantity::Quantity;
use crate::source::Span;

/// A value, found while the rule runs.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum What {
    /// Nobody has recorded it.
    Unknown,
    /// An amount.
    Amount(Quantity),
    /// The sum of no amounts: nothing says of what dimension.
    Zero,
    /// Yes or no.
    Flag(bool),
    /// A text.
    Text(String),
    /// An item.
    Item(ItemIndex),
    /// What a link holds that is recorded as leading nowhere.
    None,
    /// There is nothing that could have a value.
    Undefined(Fate),
    /// A list.
    List(Vec<Seen>),
    /// The start of an entry's name.
    Code(ImmutableString),
}

/// What a check makes of something that there is not.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Fate {
    /// It says nothing.
    Absent,
    /// The rule says that it is met: `or met`.
    Met,
    /// The rule says that it fails: `or fail`.
    Fail,
}

/// A value with all that it was made from.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Seen {
    pub(super) what: What,
    /// The field that was read, where nobody has recorded it.
    pub(super) gap: Option<(ItemIndex, FieldId)>,
    /// The link that puts the members into a list.
    pub(super) placed_by: Option<(KindId, FieldId)>,
    pub(super) missing: Vec<(ItemIndex, FieldId)>,
    pub(super) sources: Vec<OperandSource>,
}

/// A presumption that a value rests on: its number, the item and the field.
pub(super) type Resting = (u8, ItemIndex, FieldId);

/// Returns the link that puts members into a list.
fn placed_by(job: &Job, filled: &Filled) -> Option<(KindId, FieldId)> {
    let Filled::Inverse { kind, via } = filled else { return None };
    let kind = job.schema.kind(kind)?;
    Some((kind, job.schema.field(kind, via)?))
}

/// What Rhai's functions return.
pub(super) type Given = Result<Seen, Box<EvalAltResult>>;

/// Returns a fault.
pub(super) fn fault(message: impl Into<String>) -> Box<EvalAltResult> {
    EvalAltResult::ErrorRuntime(message.into().into(), Position::NONE).into()
}

impl Seen {
    pub(super) fn of(what: What) -> Seen {
        Seen { what, gap: None, placed_by: None, missing: Vec::new(), sources: Vec::new() }
    }

    pub(super) fn item(item: ItemIndex) -> Seen {
        Seen::of(What::Item(item))
    }

    pub(super) fn code(name: impl Into<ImmutableString>) -> Seen {
        Seen::of(What::Code(name.into()))
    }

    pub(super) fn is_unknown(&self) -> bool {
        self.what == What::Unknown
    }

    /// Returns what is to be made of something that there is not.
    pub(super) fn fate(&self) -> Option<Fate> {
        match self.what {
            What::Undefined(fate) => Some(fate),
            _ => None,
        }
    }

    /// Returns whether it is the `or fail` or `or met` of a quantifier itself.
    pub(super) fn is_said(&self) -> bool {
        self.sources == [OperandSource::Literal(Span::NONE)]
    }

    /// Returns what comes of operands of which one is not known, or not there: the first of the less certain ones.
    pub(super) fn wanting(from: &[&Seen]) -> Option<What> {
        if from.iter().any(|one| one.is_unknown()) {
            return Some(What::Unknown);
        }
        from.iter().find_map(|one| one.fate()).map(What::Undefined)
    }

    /// Returns what a comparison comes to whose operands are not all known.
    pub(super) fn uncompared(from: &[&Seen], unequal: bool) -> Option<What> {
        Some(match Seen::wanting(from)? {
            What::Undefined(fate) => What::Flag(unequal || fate == Fate::Met),
            other => other,
        })
    }

    /// Returns the opposite of a condition.
    pub(super) fn opposite(&self) -> What {
        self.flag().map_or(What::Unknown, |flag| What::Flag(!flag))
    }

    /// Returns a value made from this one and others.
    pub(super) fn joined(what: What, from: &[&Seen]) -> Seen {
        let mut seen = Seen::of(what);
        for one in from {
            for source in &one.sources {
                if !seen.sources.contains(source) {
                    seen.sources.push(*source);
                }
            }
            for missing in &one.missing {
                if !seen.missing.contains(missing) {
                    seen.missing.push(*missing);
                }
            }
        }
        if !seen.is_unknown() {
            seen.missing.clear();
        }
        seen
    }

    pub(super) fn flag(&self) -> Option<bool> {
        match self.what {
            What::Flag(flag) => Some(flag),
            // As a yes or no, what is not there is a no, and its opposite a yes.
            What::Undefined(fate) => Some(fate != Fate::Absent),
            _ => None,
        }
    }

    pub(super) fn amount(&self) -> Option<Quantity> {
        match self.what {
            What::Amount(amount) => Some(amount),
            What::Zero => Some(Quantity::number(0)),
            _ => None,
        }
    }

    pub(super) fn shown(&self) -> Shown {
        match &self.what {
            What::Unknown | What::Undefined(_) | What::Code(_) => Shown::Unknown,
            What::None => Shown::Item(NOWHERE),
            What::Amount(amount) => Shown::Quantity(*amount),
            What::Zero => Shown::Quantity(Quantity::number(0)),
            What::Flag(flag) => Shown::Flag(*flag),
            What::Text(text) => Shown::Text(text.clone()),
            What::Item(item) => Shown::Item(*item),
            What::List(members) => Shown::List(members.iter().map(Seen::shown).collect()),
        }
    }

    pub(super) fn operand(&self) -> Operand {
        Operand { value: self.shown(), sources: self.sources.clone() }
    }
}

/// How an item is shown that a link holds which leads nowhere.
const NOWHERE: ItemIndex = ItemIndex(u32::MAX);

/// What a rule presumes of a field that nobody has recorded.
#[derive(Clone, Debug)]
pub(super) enum Presumed {
    /// A value, or the name of an entry.
    Value(Seen),
    /// Another field, by the names that lead to it from the item.
    Field(Vec<String>),
}

/// A copy of the facts, which Rhai's functions can hold on to.
#[derive(Debug)]
pub(super) struct Sight {
    pub(super) job: Job,
    pub(super) book: Arc<Book>,
    /// Id of the rule.
    rule: String,
    pub(super) natives: Natives,
    /// Whether it is told where values come from and what they lack, or only how the checks come out.
    telling: AtomicBool,
    cells: Vec<Cell>,
    lists: BTreeMap<(ItemIndex, FieldId), Vec<Cell>>,
    behind: BTreeMap<(ItemIndex, FieldId), Vec<(ItemIndex, FieldId)>>,
    /// Items of a kind whose link nobody has recorded.
    unplaced: BTreeMap<(KindId, FieldId), Vec<ItemIndex>>,
    /// What the rule presumes of which fields, by the numbers of the presumptions.
    pub(super) presumptions: OnceLock<Vec<(KindId, FieldId, Presumed)>>,
}

impl Sight {
    pub(super) fn new(facts: &Facts<'_>, book: &Arc<Book>, natives: &Natives, rule: &str) -> Sight {
        let job = facts.job();
        let (mut lists, mut behind, mut unplaced) = (BTreeMap::new(), BTreeMap::new(), BTreeMap::new());
        for (_, kind) in job.schema.kinds() {
            for placed_by in kind.fields.iter().filter_map(|field| placed_by(job, &field.filled)) {
                unplaced.insert(placed_by, facts.unplaced(placed_by.0, placed_by.1).to_vec());
            }
        }
        for (index, item) in job.items() {
            for (at, field) in job.schema.spec(item.kind).fields.iter().enumerate() {
                let id = FieldId(at as u16);
                let cell = facts.cell(index, id);
                if let (Type::List(_), false) = (&field.ty, cell.is_missing()) {
                    lists.insert((index, id), facts.list(cell.to_list()).to_vec());
                }
                let missing = facts.missing_for(index, id);
                if !missing.is_empty() {
                    behind.insert((index, id), missing.to_vec());
                }
            }
        }
        Sight {
            job: job.clone(),
            book: Arc::clone(book),
            rule: rule.to_owned(),
            natives: natives.clone(),
            telling: AtomicBool::new(true),
            cells: facts.cells().to_vec(),
            lists,
            behind,
            unplaced,
            presumptions: OnceLock::new(),
        }
    }

    /// Returns the items that may belong into a list as well.
    pub(super) fn unplaced(&self, list: &Seen) -> Vec<ItemIndex> {
        list.placed_by.and_then(|placed_by| self.unplaced.get(&placed_by)).cloned().unwrap_or_default()
    }

    /// Returns whether an exception is in force: by the day, and unless the place has taken it out.
    pub(super) fn is_in_force(&self, exception: &Exception) -> bool {
        let Some(rule) = self.book.rules.iter().find(|rule| rule.source.id == self.rule) else { return true };
        let is_out =
            rule.omitted_exceptions.iter().any(|(out, _)| [&exception.name, &exception.section].contains(&out));
        !is_out && self.book.holds(rule.layer, exception.from, exception.until)
    }

    /// Returns what the rule presumes where the field that was read is not recorded, with the presumption.
    ///
    /// What stands in may be presumed in turn; where it is not known in the end, nothing is presumed.
    pub(super) fn presumed(&self, read: &Seen) -> Result<Option<(Seen, Vec<Resting>)>, Box<EvalAltResult>> {
        self.presumed_before(read, usize::MAX)
    }

    /// Does the same with the presumptions that stand before one of them.
    fn presumed_before(&self, read: &Seen, end: usize) -> Result<Option<(Seen, Vec<Resting>)>, Box<EvalAltResult>> {
        let (Some((item, field)), Some(presumptions)) = (read.gap, self.presumptions.get()) else { return Ok(None) };
        let kind = self.job.item(item).kind;
        let is_it = |(of, own, _): &(KindId, FieldId, Presumed)| (*of, *own) == (kind, field);
        let Some(number) = presumptions.iter().take(end).position(is_it) else { return Ok(None) };
        let mut rests = Vec::new();
        let mut seen = match presumptions.get(number) {
            Some((_, _, Presumed::Value(value))) => self.value(value)?,
            Some((_, _, Presumed::Field(names))) => {
                let mut seen = Seen::item(item);
                for name in names {
                    seen = self.property(&seen, &name.as_str().into())?;
                }
                match self.presumed_before(&seen, number)? {
                    Some((stands_in, before)) => {
                        rests = before;
                        stands_in
                    }
                    None => seen,
                }
            }
            None => return Ok(None),
        };
        if seen.is_unknown() {
            return Ok(None);
        }
        let number = number as u8;
        if self.is_telling() {
            seen.sources.insert(0, OperandSource::Presumed(number, item, field));
        }
        rests.push((number, item, field));
        Ok(Some((seen, rests)))
    }

    /// Says whether origins and gaps are wanted.
    pub(super) fn tell(&self, telling: bool) {
        self.telling.store(telling, Ordering::Relaxed);
    }

    fn is_telling(&self) -> bool {
        self.telling.load(Ordering::Relaxed)
    }

    /// Returns the facts that native functions are given.
    pub(super) fn facts(&self) -> Facts<'_> {
        Facts::of_cells(&self.job, &self.cells)
    }

    pub(super) fn site(&self) -> Option<ItemIndex> {
        let kind = self.job.schema.kind(kinds::site::NAME)?;
        self.job.of_kind(kind).first().copied()
    }

    /// Reads a field of an item, or goes deeper into an entry's name.
    pub(super) fn property(&self, of: &Seen, written: &ImmutableString) -> Given {
        let name = syntax::name(written);
        let item = match &of.what {
            What::Item(item) => *item,
            What::Code(start) if start.is_empty() && name.len() == written.len() => {
                return Ok(Seen::code(written.clone()));
            }
            What::Code(start) if start.is_empty() => return Ok(Seen::code(name)),
            What::Code(start) => return Ok(Seen::code(format!("{start}.{name}"))),
            What::Unknown | What::Undefined(_) => return Ok(Seen { gap: None, ..of.clone() }),
            What::None => return Ok(Seen { what: What::Undefined(Fate::Absent), ..of.clone() }),
            _ => return Err(fault(format!("no field `{name}` here"))),
        };
        let kind = self.job.item(item).kind;
        let field = self.job.schema.field(kind, name).ok_or_else(|| fault(format!("no field `{name}`")))?;
        let spec = self.job.schema.field_spec(kind, field);
        let cell = self.cells.get(self.job.cell_at(item, field)).copied().unwrap_or(Cell::MISSING);
        let mut seen = Seen::of(What::Unknown);
        seen.placed_by = placed_by(&self.job, &spec.filled);
        let is_list = matches!((&spec.ty, &spec.filled), (Type::List(_), Filled::Inverse { .. }));
        seen.gap = (cell.is_missing() && !is_list).then_some((item, field));
        let telling = self.is_telling();
        if telling {
            seen.sources.push(OperandSource::Field(item, field));
        }
        seen.what = match (&spec.ty, cell.is_missing(), &spec.filled) {
            (Type::List(_), true, Filled::Inverse { .. }) => What::List(Vec::new()),
            (_, true, _) if !telling => What::Unknown,
            (_, true, _) => {
                match self.behind.get(&(item, field)) {
                    Some(behind) => seen.missing.clone_from(behind),
                    None => seen.missing.push((item, field)),
                }
                What::Unknown
            }
            (Type::List(member), false, _) => {
                let cells = self.lists.get(&(item, field)).map_or(&[][..], Vec::as_slice);
                What::List(cells.iter().map(|cell| Seen::of(self.read(*cell, member))).collect())
            }
            (ty, false, _) => self.read(cell, ty),
        };
        // Only the end of a chain is where a value comes from.
        Ok(seen)
    }

    fn read(&self, cell: Cell, ty: &Type) -> What {
        match ty {
            _ if cell.is_missing() => What::Unknown,
            Type::Flag => What::Flag(cell.to_flag()),
            Type::Text | Type::Word(_) => What::Text(self.job.symbols.text(cell.to_symbol()).to_owned()),
            Type::Quantity(dimension) => What::Amount(cell.to_quantity(*dimension)),
            Type::Item(_) if cell.to_item() == NOWHERE => What::None,
            Type::Item(_) => What::Item(cell.to_item()),
            Type::List(_) => What::Unknown,
        }
    }

    /// Returns a value as it is; for the name of an entry, what the book says.
    pub(super) fn value(&self, seen: &Seen) -> Given {
        self.taken(seen.clone())
    }

    /// Does the same with a value that nobody else needs.
    pub(super) fn taken(&self, seen: Seen) -> Given {
        let What::Code(name) = &seen.what else { return Ok(seen) };
        let found = self.book.id(name).and_then(|id| Some((id, self.book.entry(id)?)));
        let (id, entry) = found.ok_or_else(|| fault(format!("`code.{name}` is not in force here")))?;
        let what = match &entry.value {
            Value::Scalar(scalar) => self.scalar(*scalar),
            Value::List(members) => {
                What::List(members.iter().map(|member| Seen::of(self.scalar(member.value))).collect())
            }
            Value::Table(_) => return Err(fault(format!("`code.{name}` is a table"))),
        };
        let sources = if self.is_telling() { vec![OperandSource::Entry(id, None)] } else { Vec::new() };
        Ok(Seen { sources, ..Seen::of(what) })
    }

    pub(super) fn scalar(&self, scalar: Scalar) -> What {
        match scalar {
            Scalar::Quantity(quantity) => What::Amount(quantity),
            Scalar::Flag(flag) => What::Flag(flag),
            Scalar::Text(symbol) => What::Text(self.job.symbols.text(symbol).to_owned()),
        }
    }

    /// Reads a row of a table of the code.
    pub(super) fn row(&self, table: &Seen, key: &Seen) -> Given {
        let What::Code(name) = &table.what else { return Err(fault("only a table of the code has rows")) };
        let (Some(id), Some(entry)) = (self.book.id(name), self.book.get(name)) else {
            return Err(fault(format!("`code.{name}` is not in force here")));
        };
        let Value::Table(rows) = &entry.value else { return Err(fault(format!("`code.{name}` is no table"))) };
        let key = self.value(key)?;
        if key.is_unknown() || key.fate().is_some() {
            return Ok(key);
        }
        let fits = |row: &Scalar| match (self.scalar(*row), &key.what) {
            (What::Amount(row), What::Text(key)) => {
                crate::quantity::parse(key, row.dimension()).is_ok_and(|key| key == row)
            }
            (row, key) => row == *key,
        };
        let found = match (rows.matching(), rows.key_type(), &key.what) {
            (Matching::Exact, ..) => rows.rows().iter().enumerate().find(|(_, row)| fits(&row.key)),
            (_, ScalarType::Quantity(due), what) => {
                let at = match what {
                    What::Amount(amount) => Some(*amount),
                    What::Text(text) => crate::quantity::parse(text, due).ok(),
                    _ => None,
                };
                let at = at.and_then(|amount| rows.find_index(Scalar::Quantity(amount)));
                at.and_then(|at| Some((at, rows.rows().get(at)?)))
            }
            _ => None,
        };
        let (at, row) = found.ok_or_else(|| fault(format!("no row for `{:?}` in `{name}`", key.what)))?;
        let mut seen = Seen::joined(self.scalar(row.value), &[&key]);
        seen.sources.push(OperandSource::Entry(id, Some(at)));
        Ok(seen)
    }
}
