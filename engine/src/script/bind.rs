//! Puts the values of a book into the slots of a rule.
//!
//! A rule is lowered once; a book only fills its slots. So one rule serves every place and permit date.

use super::plan::{ExceptionTerms, Plan, SlotSource, Use};
use super::reckon::in_lowest_terms;
use super::types::Ty;
use super::value::Val;
use crate::book::{Book, EntryType, Matching, Scalar, ScalarType, Value};
use crate::model::Symbols;
use crate::quantity::{Dimension, Quantity};

/// A table of the book, ordered by the bits of its keys.
#[derive(Clone, Debug)]
pub(super) struct Rows {
    keys: Vec<i64>,
    values: Vec<i64>,
    /// Position of each row in the book's table.
    places: Vec<usize>,
    matching: Matching,
}

impl Rows {
    /// Returns the position here of the row that a key finds.
    #[inline]
    pub(super) fn find(&self, key: i64) -> Option<usize> {
        self.matching.position(&self.keys, |own| *own, key)
    }

    /// Returns a row's value.
    #[inline]
    pub(super) fn value(&self, at: usize) -> i64 {
        self.values.get(at).copied().unwrap_or(0)
    }

    /// Returns a row's position in the book's table.
    pub(super) fn place(&self, at: usize) -> usize {
        self.places.get(at).copied().unwrap_or(0)
    }
}

/// The values of a book in the slots of a rule. What is not in force, or of another type, is a fault where it is used.
#[derive(Clone, Debug)]
pub(super) struct Slots {
    pub(super) values: Vec<Val>,
    /// The numbers and ratios among the values as fractions in lowest terms.
    factors: Vec<Option<(i64, i64)>>,
    pub(super) lists: Vec<Option<Box<[i64]>>>,
    pub(super) tables: Vec<Option<Rows>>,
}

impl Slots {
    /// Fills the slots of a rule.
    pub(super) fn fill(plan: &Plan, book: &Book) -> Slots {
        let values = plan.slots.iter().map(|slot| match &slot.source {
            SlotSource::Literal(bits) => Val::known(*bits),
            SlotSource::Text(_, symbol) => Val::known(i64::from(symbol.0)),
            SlotSource::Entry(id) => match book.entry(*id).map(|entry| &entry.value) {
                Some(Value::Scalar(scalar)) if fits(scalar.ty(), &slot.ty) => Val::known(scalar.bits()),
                _ => Val::FAULT,
            },
            SlotSource::Exception(terms) => Val::flag(in_force(terms, book)),
        });
        let values: Vec<Val> = values.collect();
        let factors = plan.slots.iter().zip(&values).map(|(slot, value)| factor(&slot.ty, *value));
        Slots {
            factors: factors.collect(),
            values,
            lists: plan.lists.iter().map(|used| list(used, book)).collect(),
            tables: plan.tables.iter().map(|used| table(used, book)).collect(),
        }
    }

    /// Returns the number or ratio in a slot as a fraction in lowest terms.
    #[inline(always)]
    pub(super) fn factor(&self, slot: u16) -> Option<(i64, i64)> {
        self.factors.get(usize::from(slot)).copied().flatten()
    }

    /// Returns the single values as a job's table of texts has them. Its numbers of the rule's own texts are other ones
    /// when the job was read before the rule was compiled.
    pub(super) fn values_in(&self, plan: &Plan, symbols: &Symbols) -> Vec<Val> {
        let mut values = self.values.clone();
        for (slot, value) in plan.slots.iter().zip(&mut values) {
            match &slot.source {
                SlotSource::Text(text, symbol) if symbols.text(*symbol) != &**text => {
                    *value = symbols.find(text).map_or(NEVER, |symbol| Val::known(i64::from(symbol.0)));
                }
                _ => {}
            }
        }
        values
    }
}

/// Returns a number or ratio as a fraction in lowest terms.
fn factor(ty: &Ty, value: Val) -> Option<(i64, i64)> {
    let one = Quantity::number(1).amount();
    match ty {
        Ty::Quantity(Dimension::Number | Dimension::Ratio) if value.is_known() => {
            Some(in_lowest_terms(value.bits, one))
        }
        _ => None,
    }
}

/// Returns whether an exception of a rule is in force: by the day, and unless the place has taken it out.
fn in_force(terms: &ExceptionTerms, book: &Book) -> bool {
    let Some(rule) = book.rules.iter().find(|rule| rule.source.id == terms.rule) else { return true };
    let omitted = rule.omitted_exceptions.iter().any(|(name, _)| *name == terms.name || *name == terms.section);
    !omitted && book.holds(rule.layer, terms.from, terms.until)
}

/// A text that no job can hold.
const NEVER: Val = Val::known(u32::MAX as i64);

/// Returns whether a value of the book is what the rule was checked against.
pub(super) fn fits(found: ScalarType, due: &Ty) -> bool {
    match (found, due) {
        (ScalarType::Quantity(found), Ty::Quantity(due)) => found == *due,
        (ScalarType::Flag, Ty::Flag) => true,
        (ScalarType::Text, due) => due.is_text(),
        _ => false,
    }
}

fn list(used: &Use, book: &Book) -> Option<Box<[i64]>> {
    let entry = book.entry(used.entry)?;
    match (&entry.value, &entry.ty) {
        (Value::List(members), EntryType::List(ty)) if fits(*ty, &used.key_type) => {
            Some(members.iter().map(|member| member.value.bits()).collect())
        }
        _ => None,
    }
}

fn table(used: &Use, book: &Book) -> Option<Rows> {
    let Value::Table(table) = &book.entry(used.entry)?.value else { return None };
    if !fits(table.key_type(), &used.key_type) || !fits(table.value_type(), &used.value_type) {
        return None;
    }
    let bits = |scalar: Scalar| scalar.bits();
    let mut rows: Vec<(i64, i64, usize)> =
        table.rows().iter().enumerate().map(|(at, row)| (bits(row.key), bits(row.value), at)).collect();
    rows.sort_unstable();
    Some(Rows {
        keys: rows.iter().map(|row| row.0).collect(),
        values: rows.iter().map(|row| row.1).collect(),
        places: rows.iter().map(|row| row.2).collect(),
        matching: table.matching(),
    })
}
