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

/// Which row of a table a value finds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Default)]
pub enum Matching {
    /// The row of exactly this key.
    #[default]
    Exact,
    /// The row of the least key that is not below the value: each row reaches up to its key.
    UpTo,
    /// The row of the greatest key that is not above the value: each row reaches from its key on.
    From,
}

impl Matching {
    /// All ways with their words.
    pub const ALL: [(Matching, &'static str); 3] =
        [(Matching::Exact, "exact"), (Matching::UpTo, "up_to"), (Matching::From, "from")];

    /// Returns the word.
    pub fn word(self) -> &'static str {
        match self {
            Matching::Exact => "exact",
            Matching::UpTo => "up_to",
            Matching::From => "from",
        }
    }

    /// Returns the way of a word.
    pub fn of(word: &str) -> Option<Matching> {
        Matching::ALL.iter().find(|(_, name)| *name == word).map(|&(matching, _)| matching)
    }

    /// Returns what stands before a key where a row is shown: `up to `, `from `, or nothing.
    pub fn before_key(self) -> &'static str {
        match self {
            Matching::Exact => "",
            Matching::UpTo => "up to ",
            Matching::From => "from ",
        }
    }

    /// Returns the position of the row that a value finds among rows that are sorted by the bits of their keys.
    #[inline]
    pub(crate) fn position<R>(self, rows: &[R], key: impl Fn(&R) -> i64, value: i64) -> Option<usize> {
        match self {
            Matching::Exact => rows.binary_search_by(|row| key(row).cmp(&value)).ok(),
            Matching::UpTo => Some(rows.partition_point(|row| key(row) < value)).filter(|at| *at < rows.len()),
            Matching::From => rows.partition_point(|row| key(row) <= value).checked_sub(1),
        }
    }
}

/// A table of the code: one value for each key, or for each range of keys.
///
/// Rows stand in the order of their keys: by amount, no before yes, texts alphabetically.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Table {
    key: ScalarType,
    value: ScalarType,
    matching: Matching,
    rows: Vec<Row>,
}

impl Table {
    /// Returns a table of rows whose keys are all different and of type `key`, whose values are all of type `value`.
    /// A way of matching other than exact needs keys that are amounts.
    pub(super) fn new(key: ScalarType, value: ScalarType, matching: Matching, mut rows: Vec<Row>) -> Table {
        // Numbers of texts depend on what was read before; only their letters give an order that is the same every run.
        match key {
            ScalarType::Text => rows.sort_by(|a, b| a.key_text.cmp(&b.key_text)),
            ScalarType::Quantity(_) | ScalarType::Flag => rows.sort_by_key(|row| row.key.bits()),
        }
        Table { key, value, matching, rows }
    }

    /// Returns a table of the same types and way of matching with other rows.
    pub(super) fn with_rows(&self, rows: Vec<Row>) -> Table {
        Table::new(self.key, self.value, self.matching, rows)
    }

    /// Returns which row a value finds.
    pub fn matching(&self) -> Matching {
        self.matching
    }

    /// Returns the row that a value finds, by the table's own way of matching.
    pub fn find(&self, value: Scalar) -> Option<&Row> {
        self.rows.get(self.find_index(value)?)
    }

    /// Returns the position of the row that a value finds.
    pub fn find_index(&self, value: Scalar) -> Option<usize> {
        match self.matching {
            Matching::Exact => self.row_index(value),
            by_range => {
                self.ordered(value)?;
                by_range.position(&self.rows, |row| row.key.bits(), value.bits())
            }
        }
    }

    /// Returns which rows there are, for whoever asked for one that is not: all of them, or where the table ends.
    pub fn extent(&self) -> String {
        let key = |row: Option<&Row>| row.map_or("", |row| row.key_text.as_str()).to_owned();
        match self.matching {
            _ if self.rows.is_empty() => String::from("the table has no rows"),
            Matching::Exact => {
                let rows: Vec<&str> = self.rows.iter().map(|row| row.key_text.as_str()).collect();
                format!("its rows are {}", rows.join(", "))
            }
            Matching::UpTo => format!("the table ends at {}", key(self.rows.last())),
            Matching::From => format!("the table begins at {}", key(self.rows.first())),
        }
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
        let table = Table::new(ty, ty, Matching::Exact, rows.into());
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
    fn a_table_by_range_finds_the_row_that_reaches_the_value() {
        let ty = ScalarType::Quantity(Dimension::Length);
        let found = |matching, at: i64| {
            let rows = [30, 10, 20].map(|key| row(length(key), &key.to_string(), key * 2));
            Table::new(ty, ty, matching, rows.into()).find(length(at)).map(|row| row.value.bits())
        };
        for (at, exact, up_to, from) in [
            (9, None, Some(20), None),
            (10, Some(20), Some(20), Some(20)),
            (11, None, Some(40), Some(20)),
            (29, None, Some(60), Some(40)),
            (30, Some(60), Some(60), Some(60)),
            (31, None, None, Some(60)),
        ] {
            assert_eq!(found(Matching::Exact, at), exact, "{at}");
            assert_eq!(found(Matching::UpTo, at), up_to, "{at}");
            assert_eq!(found(Matching::From, at), from, "{at}");
        }
        let rows = [30, 10].map(|key| row(length(key), &key.to_string(), key));
        let extent = |matching| Table::new(ty, ty, matching, rows.to_vec()).extent();
        assert_eq!(extent(Matching::Exact), "its rows are 10, 30");
        assert_eq!(extent(Matching::UpTo), "the table ends at 30");
        assert_eq!(extent(Matching::From), "the table begins at 10");
        let current = Scalar::Quantity(Quantity::new(Dimension::Current, 20));
        assert_eq!(Table::new(ty, ty, Matching::UpTo, rows.to_vec()).find(current), None);
    }

    #[test]
    fn texts_stand_in_the_order_of_their_letters_whatever_their_numbers() {
        let rows = vec![row(Scalar::Text(Symbol(1)), "pvc", 1), row(Scalar::Text(Symbol(2)), "emt", 2)];
        let table = Table::new(ScalarType::Text, ScalarType::Quantity(Dimension::Length), Matching::Exact, rows);
        assert_eq!(table.rows().iter().map(|row| row.key_text.as_str()).collect::<Vec<_>>(), ["emt", "pvc"]);
        assert_eq!(table.row(Scalar::Text(Symbol(1))).map(|row| row.value.bits()), Some(1));
        assert_eq!(table.at_or_below(Scalar::Text(Symbol(1))), None);
    }
}
