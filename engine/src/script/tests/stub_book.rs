//! Books for tests, written as `a.b = "12 in"` lines.

use crate::book::{Book, Entry, EntryId, EntryType, Member, Row, Scalar, Setting, Table, Value};
use crate::model::Symbols;
use crate::quantity::{Quantity, parse_any};
use crate::source::{Files, Span};

pub(super) fn read(text: &str, files: &mut Files, symbols: &mut Symbols) -> Book {
    let file = files.add("code.toml", text).unwrap();
    let table: toml::Table = text.parse().unwrap();
    let mut book = Book::default();
    walk(&mut book, String::new(), &table, symbols, file.span(0..1));
    book
}

fn walk(book: &mut Book, prefix: String, table: &toml::Table, symbols: &mut Symbols, span: Span) {
    for (key, value) in table {
        let key = if prefix.is_empty() { key.clone() } else { format!("{prefix}.{key}") };
        match value {
            toml::Value::Table(inner) if !is_rows(&key) => walk(book, key, inner, symbols, span),
            value => add(book, &key, value, symbols, span),
        }
    }
}

fn is_rows(key: &str) -> bool {
    matches!(key, "protection.copper" | "height.by_use")
}

fn scalar(value: &toml::Value, symbols: &mut Symbols) -> Scalar {
    match value {
        toml::Value::Integer(number) => Scalar::Quantity(Quantity::number(*number)),
        toml::Value::Boolean(flag) => Scalar::Flag(*flag),
        toml::Value::String(text) => text_scalar(text, symbols),
        other => panic!("{other:?}"),
    }
}

fn text_scalar(text: &str, symbols: &mut Symbols) -> Scalar {
    parse_any(text).map_or_else(|| Scalar::Text(symbols.intern(text)), Scalar::Quantity)
}

fn add(book: &mut Book, key: &str, value: &toml::Value, symbols: &mut Symbols, span: Span) {
    let (ty, value) = match value {
        toml::Value::Array(members) => {
            let members: Vec<Member> = members
                .iter()
                .map(|member| Member {
                    value: scalar(member, symbols),
                    text: member.as_str().unwrap_or("").to_owned(),
                    span,
                    setting: 0,
                })
                .collect();
            (EntryType::List(members[0].value.ty()), Value::List(members))
        }
        toml::Value::Table(rows) => {
            let rows: Vec<Row> = rows
                .iter()
                .map(|(key, value)| Row {
                    key: text_scalar(key, symbols),
                    key_text: key.clone(),
                    value: scalar(value, symbols),
                    text: value.as_str().unwrap_or("").to_owned(),
                    span,
                    setting: 0,
                    earlier: Vec::new(),
                })
                .collect();
            let (key, value) = (rows[0].key.ty(), rows[0].value.ty());
            (EntryType::Table { key, value }, Value::Table(Table::new(key, value, rows)))
        }
        single => {
            let scalar = scalar(single, symbols);
            (EntryType::Scalar(scalar.ty()), Value::Scalar(scalar))
        }
    };
    let id = EntryId(book.entries.len() as u32);
    book.ids.insert(key.to_owned(), id);
    let chain: Vec<Setting> = Vec::new();
    book.entries.push(Some(Entry { key: key.to_owned(), ty, value, key_label: None, chain }));
}
