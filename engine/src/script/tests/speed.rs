//! How long checks take, against the same checks written by hand. Run with
//! `cargo test --release -p storystick-engine speed -- --ignored --nocapture`.

use std::hint::black_box;
use std::time::Instant;

use super::world::World;
use crate::facts::Facts;
use crate::model::{ItemIndex, Job, Symbol};
use crate::script::{Recorder, Verdict};

const ITEMS: usize = 10_000;

#[derive(Clone, Copy)]
#[allow(dead_code, reason = "written as a real recorder would")]
struct Out {
    item: u32,
    check: u8,
    verdict: Verdict,
    margin: i64,
}

struct Outs {
    item: u32,
    outs: Vec<Out>,
}

impl Recorder for Outs {
    #[inline]
    fn item(&mut self, item: ItemIndex) {
        self.item = item.0;
    }
    #[inline]
    fn record(&mut self, check: u8, verdict: Verdict, margin: i64) {
        self.outs.push(Out { item: self.item, check, verdict, margin });
    }
}

fn job(world: &World) -> (Job, Vec<ItemIndex>) {
    let mut job = world.job();
    let mut ends = Vec::new();
    for at in 0..ITEMS {
        let method = if at % 5 == 0 { "MC" } else { "NM" };
        job.add("cable", &format!("C{at}"), &[("wiring_method", method)]);
        let mut fields = vec![("is_at_box", if at % 7 == 0 { "false" } else { "true" })];
        let cable = format!("C{at}");
        fields.push(("cable", &cable));
        let lengths: Vec<String> = (0..4).map(|n| format!("{} in", (at * 31 + n * 7) % 20 + 1)).collect();
        for (name, value) in
            ["first_support", "entry_to_support", "sheath_inside", "free_conductor"].iter().zip(&lengths)
        {
            fields.push((name, value));
        }
        ends.push(job.add("cable_end", &format!("E{at}"), &fields));
    }
    (job.done(), ends)
}

fn rounds() -> usize {
    std::env::var("ROUNDS").ok().and_then(|text| text.parse().ok()).unwrap_or(60)
}

fn best(mut run: impl FnMut()) -> f64 {
    let mut best = f64::MAX;
    for _ in 0..rounds() {
        let start = Instant::now();
        run();
        best = best.min(start.elapsed().as_nanos() as f64 / ITEMS as f64);
    }
    best
}

#[test]
#[ignore = "a measurement"]
fn speed_of_checks() {
    let mut world = World::new();
    let (job, ends) = job(&world);
    let facts = Facts::new(&job);
    let kind = job.item(ends[0]).kind;
    let f = |name: &str| world.schema.field(kind, name).unwrap();
    let cable_kind = world.schema.kind("cable").unwrap();
    let (first, entry, sheath, free) =
        (f("first_support"), f("entry_to_support"), f("sheath_inside"), f("free_conductor"));
    let (at_box, cable, method) =
        (f("is_at_box"), f("cable"), world.schema.field(cable_kind, "wiring_method").unwrap());
    let nm: Symbol = job.symbols.find("NM").unwrap();
    let foot = 304_800_000_i64;
    let mut outs = Outs { item: 0, outs: Vec::with_capacity(ITEMS * 3) };

    let native_plain = best(|| {
        outs.outs.clear();
        let limit = black_box(foot);
        for &item in &ends {
            let cell = facts.cell(item, first);
            let (verdict, margin) = match cell.is_missing() {
                true => (Verdict::Open, 0),
                false => {
                    let margin = limit - cell.bits();
                    (if margin < 0 { Verdict::Failed } else { Verdict::Met }, margin)
                }
            };
            outs.outs.push(Out { item: item.0, check: 0, verdict, margin });
        }
        black_box(&outs.outs);
    });
    let native_guarded = best(|| {
        outs.outs.clear();
        let limit = black_box(foot);
        for &item in &ends {
            let at = facts.cell(item, at_box);
            let link = facts.cell(item, cable);
            if at.is_missing() || link.is_missing() {
                continue;
            }
            if !at.to_flag() {
                continue;
            }
            let word = facts.cell(link.to_item(), method);
            if word.is_missing() || word.to_symbol() != nm {
                continue;
            }
            let cell = facts.cell(item, first);
            let (verdict, margin) = match cell.is_missing() {
                true => (Verdict::Open, 0),
                false => {
                    let margin = limit - cell.bits();
                    (if margin < 0 { Verdict::Failed } else { Verdict::Met }, margin)
                }
            };
            outs.outs.push(Out { item: item.0, check: 0, verdict, margin });
        }
        black_box(&outs.outs);
    });
    let native_rich = best(|| {
        outs.outs.clear();
        let (limit, low, three) = (black_box(foot), black_box(foot / 4), black_box(76_200_000_i64));
        for &item in &ends {
            let cells = [first, entry, sheath, free].map(|field| facts.cell(item, field));
            if cells.iter().any(|cell| cell.is_missing()) {
                outs.outs.push(Out { item: item.0, check: 0, verdict: Verdict::Open, margin: 0 });
                continue;
            }
            let [a, b, c, d] = cells.map(|cell| cell.bits());
            let Some(run) = a.checked_add(b) else { continue };
            let mut push = |check, margin: i64| {
                let verdict = if margin < 0 { Verdict::Failed } else { Verdict::Met };
                outs.outs.push(Out { item: item.0, check, verdict, margin });
            };
            if c > three && run < limit * 2 {
                push(0, limit - run);
            }
            push(1, d + d / 4 - low);
        }
        black_box(&outs.outs);
    });

    let rules = [
        ("plain", native_plain, "keep end.first_support at_most code.nm.secured_from_box;"),
        (
            "guarded",
            native_guarded,
            "if !end.is_at_box || end.cable.wiring_method != \"NM\" { skip; } keep end.first_support at_most code.nm.secured_from_box;",
        ),
        (
            "rich",
            native_rich,
            "let run = end.first_support + end.entry_to_support; \
             if end.sheath_inside > qty(\"3 in\") && run < code.nm.secured_along_run { keep run at_most code.nm.secured_from_box; } \
             keep end.free_conductor * 1.25 at_least code.reach.low;",
        ),
        ("between", native_plain, "keep end.first_support between code.reach.low and code.reach.high;"),
        ("one word", native_plain, "need end.cable.wiring_method == \"NM\";"),
    ];
    for (name, native, text) in rules {
        if std::env::var("ONLY").is_ok_and(|only| only != name) {
            continue;
        }
        let rule = world.rule("cable_end", text);
        let bound = rule.bind(&world.book);
        let mut runner = bound.on(&facts);
        let lowered = best(|| {
            outs.outs.clear();
            runner.run_all(&ends, &mut outs);
            black_box(&outs.outs);
        });
        println!("{name:10} {lowered:6.1} ns a rule and item, by hand {native:5.1} ns, {:4.1} times", lowered / native);
    }
}
