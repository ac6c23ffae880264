//! regorus: the bytecode machine and the interpreter, on the same policy. Both collect the failures only.

use std::fmt::Write as _;
use std::sync::Arc;

use regorus::languages::rego::compiler::Compiler;
use regorus::rvm::vm::RegoVM;
use regorus::{Engine, Value};

use crate::Peer;
use crate::common::{Check, LISTED, PLACES, ROWS, Reading, SUM_BELOW, nm};

fn policy(checks: &[Check]) -> String {
    let listed: Vec<&str> = LISTED.iter().map(|&at| PLACES[at]).collect();
    let rows: Vec<String> = PLACES.iter().zip(ROWS).map(|(word, row)| format!("{word:?}: {}", nm(row))).collect();
    // Sets are written with braces: `{listed:?}` gives brackets, which would be a list that is searched from the front.
    let listed = format!("{listed:?}").replace('[', "{").replace(']', "}");
    let mut text = format!("package site\nlisted := {listed}\nrows := {{{}}}\n", rows.join(", "));
    for (at, check) in checks.iter().copied().enumerate() {
        let bodies = match check {
            Check::AtMost(f, k) => vec![format!("r.f{f} > {}", nm(k))],
            Check::AtLeast(f, k) => vec![format!("r.f{f} < {}", nm(k))],
            Check::Between(f, a, b) => vec![format!("r.f{f} < {}", nm(a)), format!("r.f{f} > {}", nm(b))],
            Check::NmAtMost(f, k) => vec![format!("r.method == \"NM\"; r.f{f} > {}", nm(k))],
            Check::SumAtMost(a, b, k) => vec![format!("r.f{a} + r.f{b} > {}", nm(k))],
            Check::Ok => vec![String::from("not r.ok")],
            Check::LetIf([a, b, c], more, k) => vec![format!(
                "run := r.f{a} + r.f{b}; r.f{c} > {}; run < {}; run > {}",
                nm(more),
                nm(SUM_BELOW),
                nm(k)
            )],
            Check::Listed(f, k) => vec![format!("r.place in listed; r.f{f} > {}", nm(k))],
            Check::Row(f) => vec![format!("r.f{f} > rows[r.place]")],
            // Its own built-in function: it takes no others into its bytecode.
            Check::Gap(a, b, k) => vec![format!("abs(r.f{a} - r.f{b}) > {}", nm(k))],
        };
        for body in bodies {
            writeln!(text, "found contains [i, {at}] if {{ some i; r := input.items[i]; {body} }}").expect("a string takes everything");
        }
    }
    text
}

fn input(items: &[Reading]) -> Value {
    let rows: Vec<serde_json::Value> = items
        .iter()
        .map(|item| {
            let mut row = serde_json::Map::new();
            for (f, value) in item.f.iter().enumerate() {
                row.insert(format!("f{f}"), (*value).into());
            }
            row.insert("method".into(), if item.is_nm { "NM" } else { "MC" }.into());
            row.insert("place".into(), PLACES[item.place].into());
            row.insert("ok".into(), item.ok.into());
            row.into()
        })
        .collect();
    let text = serde_json::json!({ "items": rows }).to_string();
    Value::from_json_str(&text).expect("the input is well formed")
}

fn count(value: &Value) -> usize {
    value.as_set().expect("the rule makes a set").len()
}

pub fn peers(items: &[Reading], checks: &[Check]) -> Vec<Peer<'static>> {
    let data = input(items);
    let mut engine = Engine::new();
    engine.add_policy("site.rego".into(), policy(checks)).expect("the policy is well formed");
    let entry: regorus::Rc<str> = "data.site.found".into();
    let compiled = engine.compile_with_entrypoint(&entry).expect("the policy compiles");
    let program = Compiler::compile_from_policy(&compiled, &["data.site.found"]).expect("the policy compiles to bytecode");
    let mut machine = RegoVM::new();
    machine.load_program(Arc::clone(&program));
    machine.set_max_instructions(usize::MAX);
    machine.set_data(Value::new_object()).expect("no data");
    let mut interpreter = Engine::new();
    interpreter.add_policy("site.rego".into(), policy(checks)).expect("the policy is well formed");
    let input = data.clone();
    vec![
        Peer {
            name: "regorus, bytecode machine",
            records: "failures only",
            run: Box::new(move || {
                machine.set_input(data.clone());
                count(&machine.execute().expect("the policy does not fail"))
            }),
        },
        Peer {
            name: "regorus, interpreter",
            records: "failures only",
            run: Box::new(move || {
                interpreter.set_input(input.clone());
                count(&interpreter.eval_rule("data.site.found".into()).expect("the policy does not fail"))
            }),
        },
    ]
}
