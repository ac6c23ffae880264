//! What calculations ask of the code in force.
//!
//! The narrow face of the book: entries, lists and tables by key, each value with its citation and the line that set
//! it. Calculations take it as [`Code`], so that they run on any set of values, the shipped rulesets included.

use crate::problem::{Problem, Topic};
use crate::quantity::{Dimension, Quantity};
use crate::source::Span;

/// One value of the code.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Datum<'a> {
    /// An amount.
    Quantity(Quantity),
    /// Yes or no.
    Flag(bool),
    /// A word.
    Text(&'a str),
}

/// A value of the code with its citation and the line that set it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Clause<'a> {
    /// The value.
    pub datum: Datum<'a>,
    /// Citation of the requirement it comes from.
    pub cite: &'a str,
    /// The line of the ruleset that set it.
    pub span: Span,
}

/// Which row of a table is meant when none has exactly the key asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Match {
    /// Only the row of the key itself.
    Exact,
    /// The row of the least key that is not below it.
    AtOrAbove,
    /// The row of the greatest key that is not above it.
    AtOrBelow,
}

/// The code in force, as calculations see it.
pub trait Code {
    /// Returns an entry that is a single value.
    fn scalar(&self, key: &str) -> Option<Clause<'_>>;

    /// Returns the members of an entry that is a list, in its order.
    fn list(&self, key: &str) -> Option<Vec<Clause<'_>>>;

    /// Returns whether a list holds a word; nothing when there is no such list.
    fn has_word(&self, key: &str, word: &str) -> Option<bool> {
        Some(self.list(key)?.iter().any(|member| member.datum == Datum::Text(word)))
    }

    /// Returns whether there is such a table.
    fn has_table(&self, key: &str) -> bool {
        self.rows(key).is_some()
    }

    /// Returns the row of a table. The outer `None`: there is no such table.
    fn row(&self, key: &str, at: Datum<'_>, how: Match) -> Option<Option<Clause<'_>>>;

    /// Returns all rows of a table, ordered by key.
    fn rows(&self, key: &str) -> Option<Vec<(Datum<'_>, Clause<'_>)>>;
}

/// A quantity of the code.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Known<'a> {
    /// The amount.
    pub quantity: Quantity,
    /// Citation.
    pub cite: &'a str,
    /// The line of the ruleset that set it.
    pub span: Span,
}

impl Known<'_> {
    /// Returns the amount in base units.
    pub fn amount(self) -> i64 {
        self.quantity.amount()
    }
}

fn no_entry(key: &str) -> Problem {
    Problem::new(Span::NONE, format!("the code in force has no entry `{key}`, which this calculation needs"))
        .help(format!("add `[{key}]` to the code files of the edition, or of the place, with its citation"))
        .about(Topic::Lacking(key.to_owned()))
}

fn unlike(key: &str, span: Span, want: &str) -> Problem {
    Problem::new(span, format!("entry `{key}` must be {want}")).label("this value")
}

fn known<'a>(key: &str, clause: Clause<'a>, dimension: Dimension) -> Result<Known<'a>, Problem> {
    match clause.datum {
        Datum::Quantity(quantity) if quantity.dimension() == dimension => {
            Ok(Known { quantity, cite: clause.cite, span: clause.span })
        }
        _ => Err(unlike(key, clause.span, dimension.with_article())),
    }
}

impl<'a> dyn Code + 'a {
    /// Returns an entry that must be a quantity of a dimension.
    ///
    /// # Errors
    /// When there is no such entry, or it is something else.
    pub fn quantity(&self, key: &str, dimension: Dimension) -> Result<Known<'_>, Problem> {
        known(key, self.scalar(key).ok_or_else(|| no_entry(key))?, dimension)
    }

    /// Returns an entry that may be there, as a quantity of a dimension.
    ///
    /// # Errors
    /// When it is something else.
    pub fn quantity_if(&self, key: &str, dimension: Dimension) -> Result<Option<Known<'_>>, Problem> {
        self.scalar(key).map(|clause| known(key, clause, dimension)).transpose()
    }

    /// Returns an entry that must be yes or no.
    ///
    /// # Errors
    /// When there is no such entry, or it is something else.
    pub fn flag(&self, key: &str) -> Result<bool, Problem> {
        let clause = self.scalar(key).ok_or_else(|| no_entry(key))?;
        match clause.datum {
            Datum::Flag(flag) => Ok(flag),
            _ => Err(unlike(key, clause.span, "true or false")),
        }
    }

    /// Returns whether a list holds a word.
    ///
    /// # Errors
    /// When there is no such list.
    pub fn lists(&self, key: &str, word: &str) -> Result<bool, Problem> {
        self.has_word(key, word).ok_or_else(|| no_entry(key))
    }

    /// Returns the quantities of a list, in its order.
    ///
    /// # Errors
    /// When there is no such list, or a member is something else.
    pub fn quantities(&self, key: &str, dimension: Dimension) -> Result<Vec<Known<'_>>, Problem> {
        let members = self.list(key).ok_or_else(|| no_entry(key))?;
        members.into_iter().map(|clause| known(key, clause, dimension)).collect()
    }

    /// Returns a row of a table by a quantity, or nothing when the table has no such row.
    ///
    /// # Errors
    /// When there is no such table, or the row is something else.
    pub fn row_at(
        &self,
        key: &str,
        at: Quantity,
        how: Match,
        dimension: Dimension,
    ) -> Result<Option<Known<'_>>, Problem> {
        let row = self.row(key, Datum::Quantity(at), how).ok_or_else(|| no_entry(key))?;
        row.map(|clause| known(key, clause, dimension)).transpose()
    }

    /// Returns a row of a table by a word, or nothing when the table has no such row.
    ///
    /// # Errors
    /// When there is no such table, or the row is something else.
    pub fn row_of(&self, key: &str, word: &str, dimension: Dimension) -> Result<Option<Known<'_>>, Problem> {
        let row = self.row(key, Datum::Text(word), Match::Exact).ok_or_else(|| no_entry(key))?;
        row.map(|clause| known(key, clause, dimension)).transpose()
    }

    /// Returns the word that a table gives for a word, or nothing when the table has no such row.
    ///
    /// # Errors
    /// When there is no such table, or the row is no word.
    pub fn word_of(&self, key: &str, word: &str) -> Result<Option<&str>, Problem> {
        match self.row(key, Datum::Text(word), Match::Exact).ok_or_else(|| no_entry(key))? {
            None => Ok(None),
            Some(Clause { datum: Datum::Text(text), .. }) => Ok(Some(text)),
            Some(clause) => Err(unlike(key, clause.span, "a table of words")),
        }
    }

    /// Returns the rows of a table whose keys and values are quantities, ordered by key.
    ///
    /// # Errors
    /// When there is no such table, or a row is something else.
    pub fn table(&self, key: &str, keys: Dimension, values: Dimension) -> Result<Vec<(Quantity, Known<'_>)>, Problem> {
        let rows = self.rows(key).ok_or_else(|| no_entry(key))?;
        rows.into_iter()
            .map(|(at, clause)| match at {
                Datum::Quantity(at) if at.dimension() == keys => Ok((at, known(key, clause, values)?)),
                _ => Err(unlike(key, clause.span, &format!("a table by {}", keys.name()))),
            })
            .collect()
    }

    /// Returns the rows of a table whose keys are words and whose values are quantities, ordered by key.
    ///
    /// # Errors
    /// When there is no such table, or a row is something else.
    pub fn table_of_words(&self, key: &str, values: Dimension) -> Result<Vec<(&str, Known<'_>)>, Problem> {
        let rows = self.rows(key).ok_or_else(|| no_entry(key))?;
        rows.into_iter()
            .map(|(at, clause)| match at {
                Datum::Text(word) => Ok((word, known(key, clause, values)?)),
                _ => Err(unlike(key, clause.span, "a table by names")),
            })
            .collect()
    }
}
