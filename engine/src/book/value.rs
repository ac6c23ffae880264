//! Values of the code: scalars, lists whose members remember who put them there, and tables whose rows do.

use crate::model::Symbol;
use crate::quantity::{Dimension, Quantity};
use crate::source::Span;

/// One value of the code.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Scalar {
    /// An amount with its dimension.
    Quantity(Quantity),
    /// Yes or no.
    Flag(bool),
    /// A word or text.
    Text(Symbol),
}

impl Scalar {
    /// Returns what the value is.
    pub const fn ty(self) -> ScalarType {
        match self {
            Scalar::Quantity(quantity) => ScalarType::Quantity(quantity.dimension()),
            Scalar::Flag(_) => ScalarType::Flag,
            Scalar::Text(_) => ScalarType::Text,
        }
    }

    /// Returns the value as the bits that a job's cell holds for it: base units, 0 or 1, or the number of the text.
    pub const fn bits(self) -> i64 {
        match self {
            Scalar::Quantity(quantity) => quantity.amount(),
            Scalar::Flag(flag) => flag as i64,
            Scalar::Text(symbol) => symbol.0 as i64,
        }
    }
}

/// What a scalar is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum ScalarType {
    /// An amount of this dimension.
    Quantity(Dimension),
    /// Yes or no.
    Flag,
    /// A word or text.
    Text,
}

impl ScalarType {
    /// Returns what the type is called in messages: `length`, `yes or no`, `text`.
    pub fn name(self) -> &'static str {
        match self {
            ScalarType::Quantity(dimension) => dimension.name(),
            ScalarType::Flag => "yes or no",
            ScalarType::Text => "text",
        }
    }
}

/// What an entry holds. The first ruleset that sets an entry fixes it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum EntryType {
    /// One value.
    Scalar(ScalarType),
    /// A list of values.
    List(ScalarType),
    /// A table of one value for each key.
    Table {
        /// What the keys are.
        key: ScalarType,
        /// What the values are.
        value: ScalarType,
    },
}

impl EntryType {
    /// Returns what the type is called in messages: `a length`, `a list of text`, `a table from conductor size to current`.
    pub fn described(self) -> String {
        match self {
            EntryType::Scalar(ty) => format!("one value ({})", ty.name()),
            EntryType::List(ty) => format!("a list ({})", ty.name()),
            EntryType::Table { key, value } => format!("a table ({} to {})", key.name(), value.name()),
        }
    }
}

/// The value of an entry.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Value {
    /// One value.
    Scalar(Scalar),
    /// A list, in the order in which its members were written.
    List(Vec<Member>),
    /// A table.
    Table(Table),
}

/// A member of a list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Member {
    /// The value.
    pub value: Scalar,
    /// The value as it was written.
    pub text: String,
    /// Where it was written.
    pub span: Span,
    /// Who put it there: a position in [`Entry::chain`](super::Entry).
    pub setting: usize,
}

/// A row of a table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row {
    /// The key.
    pub key: Scalar,
    /// The key as it was written.
    pub key_text: String,
    /// The value.
    pub value: Scalar,
    /// The value as it was written.
    pub text: String,
    /// Where the value was written.
    pub span: Span,
    /// Who set it last: a position in [`Entry::chain`](super::Entry).
    pub setting: usize,
    /// Who set it before, oldest first.
    pub earlier: Vec<EarlierRow>,
}

/// What a row said before it was amended.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct EarlierRow {
    /// The value as it was written.
    pub text: String,
    /// Where it was written.
    pub span: Span,
    /// Who set it: a position in [`Entry::chain`](super::Entry).
    pub setting: usize,
}

/// A table of the code: one value for each key.
///
/// Rows stand in the order of their keys: by amount, no before yes, texts alphabetically.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Table {
    key: ScalarType,
    value: ScalarType,
    rows: Vec<Row>,
}

impl Table {
    /// Returns a table of rows whose keys are all different and of type `key`, whose values are all of type `value`.
    pub(super) fn new(key: ScalarType, value: ScalarType, mut rows: Vec<Row>) -> Table {
        // Numbers of texts depend on what was read before; only their letters give an order that is the same every run.
        match key {
            ScalarType::Text => rows.sort_by(|a, b| a.key_text.cmp(&b.key_text)),
            ScalarType::Quantity(_) | ScalarType::Flag => rows.sort_by_key(|row| row.key.bits()),
        }
        Table { key, value, rows }
    }

    /// Returns what the keys are.
    pub fn key_type(&self) -> ScalarType {
        self.key
    }

    /// Returns what the values are.
    pub fn value_type(&self) -> ScalarType {
        self.value
    }

    /// Returns all rows, in the order of their keys.
    pub fn rows(&self) -> &[Row] {
        &self.rows
    }

    /// Returns the row of exactly this key.
    pub fn row(&self, key: Scalar) -> Option<&Row> {
        self.rows.get(self.row_index(key)?)
    }

    /// Returns the position of the row of exactly this key.
    pub fn row_index(&self, key: Scalar) -> Option<usize> {
        if key.ty() != self.key {
            return None;
        }
        match self.key {
            ScalarType::Text => self.rows.iter().position(|row| row.key == key),
            ScalarType::Quantity(_) | ScalarType::Flag => {
                self.rows.binary_search_by_key(&key.bits(), |row| row.key.bits()).ok()
            }
        }
    }

    /// Gives the row of a key another value; who set it stays as it is.
    pub(super) fn set(&mut self, key: Scalar, value: Scalar) {
        if let Some(row) = self.row_index(key).and_then(|at| self.rows.get_mut(at)) {
            row.value = value;
        }
    }

    /// Returns the row of the largest key that is not above `key`; nothing for texts, or when all keys are above it.
    pub fn at_or_below(&self, key: Scalar) -> Option<&Row> {
        let behind = self.rows_at_most(key)?;
        self.rows.get(behind.checked_sub(1)?)
    }

    /// Returns the row of the smallest key that is not below `key`; nothing for texts, or when all keys are below it.
    pub fn at_or_above(&self, key: Scalar) -> Option<&Row> {
        self.ordered(key)?;
        self.rows.get(self.rows.partition_point(|row| row.key.bits() < key.bits()))
    }

    fn rows_at_most(&self, key: Scalar) -> Option<usize> {
        self.ordered(key)?;
        Some(self.rows.partition_point(|row| row.key.bits() <= key.bits()))
    }

    fn ordered(&self, key: Scalar) -> Option<()> {
        (key.ty() == self.key && matches!(self.key, ScalarType::Quantity(_))).then_some(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn length(nm: i64) -> Scalar {
        Scalar::Quantity(Quantity::new(Dimension::Length, nm))
    }

    fn row(key: Scalar, key_text: &str, value: i64) -> Row {
        Row {
            key,
            key_text: key_text.into(),
            value: length(value),
            text: value.to_string(),
            span: Span::NONE,
            setting: 0,
            earlier: Vec::new(),
        }
    }

    #[test]
    fn a_table_is_read_at_below_and_above_a_key() {
        let ty = ScalarType::Quantity(Dimension::Length);
        let rows = [30, 10, 20].map(|key| row(length(key), &key.to_string(), key * 2));
        let table = Table::new(ty, ty, rows.into());
        let value = |row: Option<&Row>| row.map(|row| row.value.bits());
        assert_eq!(value(table.row(length(20))), Some(40));
        assert_eq!(value(table.row(length(21))), None);
        assert_eq!(value(table.at_or_below(length(29))), Some(40));
        assert_eq!(value(table.at_or_below(length(9))), None);
        assert_eq!(value(table.at_or_above(length(11))), Some(40));
        assert_eq!(value(table.at_or_above(length(30))), Some(60));
        assert_eq!(value(table.at_or_above(length(31))), None);
        let current = Scalar::Quantity(Quantity::new(Dimension::Current, 20));
        assert_eq!(value(table.row(current)), None);
        assert_eq!(value(table.at_or_below(current)), None);
    }

    #[test]
    fn texts_stand_in_the_order_of_their_letters_whatever_their_numbers() {
        let rows = vec![row(Scalar::Text(Symbol(1)), "pvc", 1), row(Scalar::Text(Symbol(2)), "emt", 2)];
        let table = Table::new(ScalarType::Text, ScalarType::Quantity(Dimension::Length), rows);
        assert_eq!(table.rows().iter().map(|row| row.key_text.as_str()).collect::<Vec<_>>(), ["emt", "pvc"]);
        assert_eq!(table.row(Scalar::Text(Symbol(1))).map(|row| row.value.bits()), Some(1));
        assert_eq!(table.at_or_below(Scalar::Text(Symbol(1))), None);
    }
}
