//! Lua 5.4: one call for each item that returns the number of failed checks; results only, no origins, no margins.

use std::fmt::Write as _;

use mlua::{Function, Lua, Table};

use crate::Peer;
use crate::common::{Check, LISTED, PLACES, ROWS, Reading, SUM_BELOW, nm};

pub fn peer(items: &[Reading], checks: &[Check]) -> Peer<'static> {
    let lua = Lua::new();
    let mut code = String::from("local listed, rows, gap = ...\nreturn function(items)\n local n = 0\n for i = 1, #items do\n  local r = items[i]\n");
    for check in checks.iter().copied() {
        let condition = match check {
            Check::AtMost(f, k) => format!("r.f{f} > {}", nm(k)),
            Check::AtLeast(f, k) => format!("r.f{f} < {}", nm(k)),
            Check::Between(f, a, b) => format!("r.f{f} < {} or r.f{f} > {}", nm(a), nm(b)),
            Check::NmAtMost(f, k) => format!("r.method == 'NM' and r.f{f} > {}", nm(k)),
            Check::SumAtMost(a, b, k) => format!("r.f{a} + r.f{b} > {}", nm(k)),
            Check::Ok => String::from("not r.ok"),
            Check::LetIf([a, b, c], more, k) => {
                writeln!(code, "  do local run = r.f{a} + r.f{b}; if r.f{c} > {} and run < {} and run > {} then n = n + 1 end end", nm(more), nm(SUM_BELOW), nm(k))
                    .expect("a string takes everything");
                continue;
            }
            Check::Listed(f, k) => format!("listed[r.place] and r.f{f} > {}", nm(k)),
            Check::Row(f) => format!("r.f{f} > rows[r.place]"),
            Check::Gap(a, b, k) => format!("gap(r.f{a}, r.f{b}) > {}", nm(k)),
        };
        writeln!(code, "  if {condition} then n = n + 1 end").expect("a string takes everything");
    }
    code.push_str(" end\n return n\nend");
    let (listed, rows) = (lua.create_table().expect("room for a table"), lua.create_table().expect("room for a table"));
    for at in LISTED {
        listed.set(PLACES[at], true).expect("a flag is a value");
    }
    for (word, row) in PLACES.iter().zip(ROWS) {
        rows.set(*word, nm(row)).expect("a number is a value");
    }
    let gap = lua.create_function(|_, (a, b): (i64, i64)| Ok((a - b).abs())).expect("room for a function");
    let run: Function = lua.load(&code).call((listed, rows, gap)).expect("the script is well formed");
    let table = lua.create_table().expect("room for a table");
    for (at, item) in items.iter().enumerate() {
        let row: Table = lua.create_table().expect("room for a table");
        for (f, value) in item.f.iter().enumerate() {
            row.set(format!("f{f}"), *value).expect("a number is a value");
        }
        row.set("method", if item.is_nm { "NM" } else { "MC" }).expect("a text is a value");
        row.set("place", PLACES[item.place]).expect("a text is a value");
        row.set("ok", item.ok).expect("a flag is a value");
        table.set(at + 1, row).expect("a table is a value");
    }
    Peer {
        name: "Lua 5.4",
        records: "number of failures only",
        run: Box::new(move || {
            let _keep = &lua;
            run.call(&table).expect("the script does not fail")
        }),
    }
}
