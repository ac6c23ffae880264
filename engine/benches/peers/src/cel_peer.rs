//! cel: one program for each rule, an inner context for each item.

use std::collections::HashMap;

use cel::{Context, Program, Value};

use crate::Peer;
use crate::common::{Check, LISTED, PLACES, ROWS, Reading, SUM_BELOW, nm};

pub fn peer(items: &[Reading], checks: &[Check]) -> Peer<'static> {
    let programs: Vec<Program> = checks
        .iter()
        .copied()
        .map(|check| {
            let text = match check {
                Check::AtMost(f, k) => format!("r.f{f} > {}", nm(k)),
                Check::AtLeast(f, k) => format!("r.f{f} < {}", nm(k)),
                Check::Between(f, a, b) => format!("r.f{f} < {} || r.f{f} > {}", nm(a), nm(b)),
                Check::NmAtMost(f, k) => format!("r.method == 'NM' && r.f{f} > {}", nm(k)),
                Check::SumAtMost(a, b, k) => format!("r.f{a} + r.f{b} > {}", nm(k)),
                Check::Ok => String::from("!r.ok"),
                Check::LetIf([a, b, c], more, k) => format!(
                    "r.f{c} > {} && r.f{a} + r.f{b} < {} && r.f{a} + r.f{b} > {}",
                    nm(more),
                    nm(SUM_BELOW),
                    nm(k)
                ),
                Check::Listed(f, k) => format!("r.place in listed && r.f{f} > {}", nm(k)),
                Check::Row(f) => format!("r.f{f} > rows[r.place]"),
                Check::Gap(a, b, k) => format!("gap(r.f{a}, r.f{b}) > {}", nm(k)),
            };
            Program::compile(&text).expect("the expression is well formed")
        })
        .collect();
    let rows: Vec<Value> = items
        .iter()
        .map(|item| {
            let mut row: HashMap<String, Value> = HashMap::new();
            for (f, value) in item.f.iter().enumerate() {
                row.insert(format!("f{f}"), Value::Int(*value));
            }
            row.insert("method".into(), Value::String(String::from(if item.is_nm { "NM" } else { "MC" }).into()));
            row.insert("place".into(), Value::String(String::from(PLACES[item.place]).into()));
            row.insert("ok".into(), Value::Bool(item.ok));
            Value::from(row)
        })
        .collect();
    let mut outer = Context::default();
    let listed: Vec<Value> = LISTED.iter().map(|&at| Value::String(String::from(PLACES[at]).into())).collect();
    outer.add_variable_from_value("listed", listed);
    let rows_of: HashMap<String, Value> =
        PLACES.iter().zip(ROWS).map(|(word, row)| ((*word).to_owned(), Value::Int(nm(row)))).collect();
    outer.add_variable_from_value("rows", rows_of);
    outer.add_function("gap", |a: i64, b: i64| (a - b).abs()).expect("a new name");
    Peer {
        name: "cel, inner context for each item",
        records: "results only",
        run: Box::new(move || {
            let mut found = 0;
            for row in &rows {
                let mut inner = outer.new_inner_scope();
                inner.add_variable_from_value("r", row.clone());
                for program in &programs {
                    found += usize::from(program.execute(&inner).is_ok_and(|value| value == Value::Bool(true)));
                }
            }
            found
        }),
    }
}
