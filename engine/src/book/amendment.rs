//! Amendments of the code: what they change, from when, and on whose word.

use jiff::civil::Date;

use super::days;
use super::entry::Checked;
use super::fields::Written;
use super::literal::Literal;
use super::origins::Evidence;
use crate::book::Weight;
use crate::source::Span;

/// An amendment of the code below.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Amendment {
    /// What it changes.
    pub change: Change,
    /// Citation, source, and how it was checked.
    pub(super) evidence: Evidence,
    /// First day in force.
    pub from: Option<Date>,
    /// Last day in force.
    pub until: Option<Date>,
    /// The editions under which it is in force; under all of them when there is none.
    pub editions: Vec<Written>,
    /// The header of the amendment.
    pub span: Span,
}

impl Amendment {
    /// Returns the citation.
    pub fn cites(&self) -> &str {
        &self.evidence.cites
    }

    /// Returns where it was read.
    pub fn source(&self) -> &str {
        &self.evidence.source
    }

    /// Returns how it was checked.
    pub fn checked(&self) -> Checked {
        self.evidence.checked
    }

    /// Returns whether it is in force on a day under an adopted edition.
    pub fn is_in_force(&self, day: Date, edition: Option<&str>) -> bool {
        days::hold(self.from, self.until, day)
            && (self.editions.is_empty() || self.editions.iter().any(|named| Some(named.text.as_str()) == edition))
    }

    /// Returns whether it has a condition of time or edition.
    pub fn is_limited(&self) -> bool {
        self.from.is_some() || self.until.is_some() || !self.editions.is_empty()
    }
}

/// What an amendment changes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Change {
    /// An entry's whole value.
    Entry {
        /// The entry.
        entry: Written,
        /// Its new value.
        value: NewValue,
    },
    /// The value of one row of a table.
    Row {
        /// The table.
        entry: Written,
        /// The row.
        key: Literal,
        /// Its new value.
        value: Literal,
    },
    /// Members of a list, or rows of a table.
    Members {
        /// The list or table.
        entry: Written,
        /// Members that are added to a list.
        add: Vec<Literal>,
        /// Rows that are added to a table.
        add_rows: Vec<(Literal, Literal)>,
        /// Members of a list, or keys of rows, that are taken away.
        remove: Vec<Literal>,
    },
    /// A rule is not in force.
    Omit {
        /// The rule.
        rule: Written,
    },
    /// An exception of a rule is not in force.
    OmitException {
        /// The rule.
        rule: Written,
        /// The exception, by its name or section.
        exception: Written,
    },
    /// A rule has another weight.
    Reweigh {
        /// The rule.
        rule: Written,
        /// Its new weight.
        weight: Weight,
    },
}

/// A whole value as it is written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NewValue {
    /// One value.
    Scalar(Literal),
    /// A list and the place of its key.
    List(Vec<Literal>, Span),
    /// A table and the place of its key.
    Rows(Vec<(Literal, Literal)>, Span),
}

impl NewValue {
    /// Returns the line to point at: the value, or the key of a list or table.
    pub(super) fn span(&self) -> Span {
        match self {
            NewValue::Scalar(literal) => literal.span,
            NewValue::List(_, span) | NewValue::Rows(_, span) => *span,
        }
    }

    /// Returns what sort of value it is, for messages.
    pub(super) fn shape(&self) -> String {
        match self {
            NewValue::Scalar(literal) => format!("one value ({})", literal.scalar.ty().name()),
            NewValue::List(..) => String::from("a list"),
            NewValue::Rows(..) => String::from("a table"),
        }
    }

    /// Returns the value as a chain shows it.
    pub(super) fn text(&self) -> String {
        match self {
            NewValue::Scalar(literal) => literal.text.clone(),
            NewValue::List(members, _) if members.is_empty() => String::from("nothing"),
            NewValue::List(members, _) => joined(members.iter()),
            NewValue::Rows(rows, _) if rows.len() == 1 => String::from("1 row"),
            NewValue::Rows(rows, _) => format!("{} rows", rows.len()),
        }
    }

    fn says_the_same(&self, other: &NewValue) -> bool {
        let alike = |a: &Literal, b: &Literal| a.scalar == b.scalar;
        match (self, other) {
            (NewValue::Scalar(a), NewValue::Scalar(b)) => alike(a, b),
            (NewValue::List(a, _), NewValue::List(b, _)) => {
                a.len() == b.len() && a.iter().all(|a| b.iter().any(|b| alike(a, b)))
            }
            (NewValue::Rows(a, _), NewValue::Rows(b, _)) => {
                let found = |a: &(Literal, Literal)| b.iter().any(|b| alike(&a.0, &b.0) && alike(&a.1, &b.1));
                a.len() == b.len() && a.iter().all(found)
            }
            _ => false,
        }
    }
}

fn joined<'l>(literals: impl Iterator<Item = &'l Literal>) -> String {
    literals.map(|literal| literal.text.as_str()).collect::<Vec<_>>().join(", ")
}

impl Change {
    /// Returns the line to point at.
    pub(super) fn span(&self) -> Span {
        match self {
            Change::Entry { value, .. } => value.span(),
            Change::Row { value, .. } => value.span,
            Change::Members { entry, .. } => entry.span,
            Change::Omit { rule } | Change::Reweigh { rule, .. } => rule.span,
            Change::OmitException { exception, .. } => exception.span,
        }
    }

    /// Returns what it changes as a chain shows it.
    pub(super) fn text(&self) -> String {
        match self {
            Change::Entry { value, .. } => value.text(),
            Change::Row { key, value, .. } => format!("{} = {}", key.text, value.text),
            Change::Members { add, add_rows, remove, .. } => {
                let added = add.iter().map(|new| format!("with {}", new.text));
                let rows = add_rows.iter().map(|(key, value)| format!("with {} = {}", key.text, value.text));
                let removed = remove.iter().map(|gone| format!("without {}", gone.text));
                added.chain(rows).chain(removed).collect::<Vec<_>>().join(", ")
            }
            Change::Omit { .. } => String::from("omitted"),
            Change::OmitException { exception, .. } => format!("without exception {}", exception.text),
            Change::Reweigh { weight, .. } => String::from(weight.word()),
        }
    }

    /// Returns whether two changes of one entry or rule can't both hold.
    pub(super) fn contradicts(&self, other: &Change) -> bool {
        match (self, other) {
            (Change::Entry { value: a, .. }, Change::Entry { value: b, .. }) => !a.says_the_same(b),
            (Change::Row { key: a, value: x, .. }, Change::Row { key: b, value: y, .. }) => {
                a.scalar == b.scalar && x.scalar != y.scalar
            }
            (Change::Row { key, .. }, Change::Members { add_rows, remove, .. })
            | (Change::Members { add_rows, remove, .. }, Change::Row { key, .. }) => {
                let mut touched = add_rows.iter().map(|(key, _)| key).chain(remove);
                touched.any(|touched| touched.scalar == key.scalar)
            }
            (Change::Members { .. }, Change::Members { .. }) => self.adds_what(other) || other.adds_what(self),
            (Change::Omit { .. }, Change::Omit { .. })
            | (Change::OmitException { .. }, Change::OmitException { .. } | Change::Reweigh { .. })
            | (Change::Reweigh { .. }, Change::OmitException { .. }) => false,
            (Change::Reweigh { weight: a, .. }, Change::Reweigh { weight: b, .. }) => a != b,
            _ => true,
        }
    }

    /// Returns whether this adds what the other takes away, or a row that the other adds with another value.
    fn adds_what(&self, other: &Change) -> bool {
        let (Change::Members { add, add_rows, .. }, Change::Members { add_rows: others, remove, .. }) = (self, other)
        else {
            return false;
        };
        let removes = |literal: &Literal| remove.iter().any(|gone| gone.scalar == literal.scalar);
        let differs = |(key, value): &(Literal, Literal)| {
            others.iter().any(|(other, said)| other.scalar == key.scalar && said.scalar != value.scalar)
        };
        add.iter().any(removes) || add_rows.iter().any(|row| removes(&row.0) || differs(row))
    }
}
