//! cel: one program for each rule, an inner context for each item.

use std::collections::HashMap;

use cel::{Context, Program, Value};

use crate::Peer;
use crate::common::{Check, Reading, checks, nm};

pub fn peer(items: &[Reading]) -> Peer<'static> {
    let programs: Vec<Program> = checks()
        .into_iter()
        .map(|check| {
            let text = match check {
                Check::AtMost(f, k) => format!("r.f{f} > {}", nm(k)),
                Check::AtLeast(f, k) => format!("r.f{f} < {}", nm(k)),
                Check::Between(f, a, b) => format!("r.f{f} < {} || r.f{f} > {}", nm(a), nm(b)),
                Check::NmAtMost(f, k) => format!("r.method == 'NM' && r.f{f} > {}", nm(k)),
                Check::SumAtMost(a, b, k) => format!("r.f{a} + r.f{b} > {}", nm(k)),
                Check::Ok => String::from("!r.ok"),
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
            row.insert("ok".into(), Value::Bool(item.ok));
            Value::from(row)
        })
        .collect();
    let outer = Context::default();
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
