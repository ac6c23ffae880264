//! The book in force as calculations see it.

use super::code::{Clause, Code, Datum, Match};
use crate::book::{Book, Entry, Matching, Member, Row, Scalar, Value};

impl Code for Book {
    fn scalar(&self, key: &str) -> Option<Clause<'_>> {
        let entry = self.get(key)?;
        let (Value::Scalar(scalar), Some(setting)) = (&entry.value, entry.latest()) else { return None };
        Some(Clause { datum: datum(*scalar, &setting.value), cite: &setting.cites, span: setting.span })
    }

    fn list(&self, key: &str) -> Option<Vec<Clause<'_>>> {
        let entry = self.get(key)?;
        let Value::List(members) = &entry.value else { return None };
        let clause = |member| of_member(entry, member);
        Some(members.iter().map(clause).collect())
    }

    fn has_word(&self, key: &str, word: &str) -> Option<bool> {
        let Value::List(members) = &self.get(key)?.value else { return None };
        Some(members.iter().any(|member| matches!(member.value, Scalar::Text(_)) && member.text == word))
    }

    fn row(&self, key: &str, at: Datum<'_>, how: Match) -> Option<Option<Clause<'_>>> {
        let entry = self.get(key)?;
        let Value::Table(table) = &entry.value else { return None };
        // A table that says itself how its rows are found is not to be asked in another way.
        let how = match table.matching() {
            Matching::Exact => how,
            Matching::UpTo => Match::AtOrAbove,
            Matching::From => Match::AtOrBelow,
        };
        let row = match (at, how) {
            (Datum::Quantity(at), Match::Exact) => table.row(Scalar::Quantity(at)),
            (Datum::Quantity(at), Match::AtOrAbove) => table.at_or_above(Scalar::Quantity(at)),
            (Datum::Quantity(at), Match::AtOrBelow) => table.at_or_below(Scalar::Quantity(at)),
            (Datum::Flag(at), _) => table.row(Scalar::Flag(at)),
            (Datum::Text(at), _) => {
                table.rows().iter().find(|row| matches!(row.key, Scalar::Text(_)) && row.key_text == at)
            }
        };
        Some(row.map(|row| of_row(entry, row)))
    }

    fn rows(&self, key: &str) -> Option<Vec<(Datum<'_>, Clause<'_>)>> {
        let entry = self.get(key)?;
        let Value::Table(table) = &entry.value else { return None };
        Some(table.rows().iter().map(|row| (datum(row.key, &row.key_text), of_row(entry, row))).collect())
    }

    fn has_table(&self, key: &str) -> bool {
        self.get(key).is_some_and(|entry| matches!(entry.value, Value::Table(_)))
    }
}

fn of_member<'b>(entry: &'b Entry, member: &'b Member) -> Clause<'b> {
    Clause { datum: datum(member.value, &member.text), cite: cite(entry, member.setting), span: member.span }
}

fn of_row<'b>(entry: &'b Entry, row: &'b Row) -> Clause<'b> {
    Clause { datum: datum(row.value, &row.text), cite: cite(entry, row.setting), span: row.span }
}

fn cite(entry: &Entry, setting: usize) -> &str {
    entry.chain.get(setting).map_or("", |setting| setting.cites.as_str())
}

fn datum(scalar: Scalar, text: &str) -> Datum<'_> {
    match scalar {
        Scalar::Quantity(quantity) => Datum::Quantity(quantity),
        Scalar::Flag(flag) => Datum::Flag(flag),
        Scalar::Text(_) => Datum::Text(text),
    }
}
