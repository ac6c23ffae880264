//! What Rhai sees of a job and a book: one type for every value, with what it was made from.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use rhai::{EvalAltResult, ImmutableString, Position};

use super::super::detail::{Operand, OperandSource, Shown};
use super::super::native::Natives;
use super::super::syntax;
use crate::book::{Book, Matching, Scalar, ScalarType, Value};
use crate::facts::Facts;
use crate::model::{Cell, FieldId, Filled, ItemIndex, Job, Type, kinds};
use crate::quantity::Quantity;

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
    /// A list.
    List(Vec<Seen>),
    /// The start of an entry's name.
    Code(ImmutableString),
}

/// A value with all that it was made from.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Seen {
    pub(super) what: What,
    pub(super) missing: Vec<(ItemIndex, FieldId)>,
    pub(super) sources: Vec<OperandSource>,
}

/// What Rhai's functions return.
pub(super) type Given = Result<Seen, Box<EvalAltResult>>;

/// Returns a fault.
pub(super) fn fault(message: impl Into<String>) -> Box<EvalAltResult> {
    EvalAltResult::ErrorRuntime(message.into().into(), Position::NONE).into()
}

impl Seen {
    pub(super) fn of(what: What) -> Seen {
        Seen { what, missing: Vec::new(), sources: Vec::new() }
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
            What::Unknown | What::Code(_) => Shown::Unknown,
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

/// A copy of the facts, which Rhai's functions can hold on to.
#[derive(Debug)]
pub(super) struct Sight {
    pub(super) job: Job,
    pub(super) book: Arc<Book>,
    pub(super) natives: Natives,
    /// Whether it is told where values come from and what they lack, or only how the checks come out.
    telling: AtomicBool,
    cells: Vec<Cell>,
    lists: BTreeMap<(ItemIndex, FieldId), Vec<Cell>>,
    behind: BTreeMap<(ItemIndex, FieldId), Vec<(ItemIndex, FieldId)>>,
}

impl Sight {
    pub(super) fn new(facts: &Facts<'_>, book: &Arc<Book>, natives: &Natives) -> Sight {
        let job = facts.job();
        let (mut lists, mut behind) = (BTreeMap::new(), BTreeMap::new());
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
            natives: natives.clone(),
            telling: AtomicBool::new(true),
            cells: facts.cells().to_vec(),
            lists,
            behind,
        }
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
            What::Unknown => return Ok(of.clone()),
            _ => return Err(fault(format!("no field `{name}` here"))),
        };
        let kind = self.job.item(item).kind;
        let field = self.job.schema.field(kind, name).ok_or_else(|| fault(format!("no field `{name}`")))?;
        let spec = self.job.schema.field_spec(kind, field);
        let cell = self.cells.get(self.job.cell_at(item, field)).copied().unwrap_or(Cell::MISSING);
        let mut seen = Seen::of(What::Unknown);
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
        Ok(Seen { what, missing: Vec::new(), sources })
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
        if key.is_unknown() {
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
