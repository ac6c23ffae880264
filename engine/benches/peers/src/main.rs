//! Times the rules of `common` on 10,000 items in general-purpose engines, next to storystick, in one run.
//!
//! Each engine gets the way that serves it best: compiled once, items in its own value model before the clock starts.

#[path = "../../common/mod.rs"]
mod common;
#[path = "../../common/ours.rs"]
mod ours;

mod cel_peer;
mod lua_peer;
mod rego_peer;

use std::time::Instant;

use common::{Check, Reading, failures, readings, sets};

const ITEMS: usize = 10_000;
const ROUNDS: usize = 9;

/// One engine, ready to go through all items and count the failed checks.
pub struct Peer<'a> {
    name: &'static str,
    records: &'static str,
    run: Box<dyn FnMut() -> usize + 'a>,
}

fn main() {
    let items = readings(ITEMS);
    println!("{ITEMS} items; median of {ROUNDS} runs in turn, in nanoseconds a check, and as a multiple of storystick\n");
    for (name, checks) in sets() {
        measure(name, &checks, &items);
    }
}

fn measure(name: &str, checks: &[Check], items: &[Reading]) {
    let expected = failures(items, checks);
    let schema = ours::schema();
    let rules = ours::Rules::new(&schema, checks);
    let job = rules.job(&schema, items);
    let facts = storystick_engine::facts::Facts::new(&job);
    let (mut kept, mut keeper) = (Vec::new(), ours::Keeper::default());
    let mut peers = vec![
        Peer {
            name: "hand-written Rust",
            records: "rule, item, margin, verdict",
            run: Box::new(|| ours::by_hand(items, checks, &mut kept)),
        },
        Peer {
            name: "storystick",
            records: "rule, item, margin, verdict; origins on demand",
            run: Box::new(|| ours::run(&rules, &facts, &mut keeper)),
        },
    ];
    peers.push(lua_peer::peer(items, checks));
    peers.extend(rego_peer::peers(items, checks));
    peers.push(cel_peer::peer(items, checks));
    let per_run = (ITEMS * checks.len()) as f64;
    let mut times = vec![Vec::new(); peers.len()];
    // In turn, so that a slow moment of the machine hits all of them.
    for round in 0..=ROUNDS {
        for (peer, times) in peers.iter_mut().zip(&mut times) {
            let start = Instant::now();
            let found = (peer.run)();
            let nanoseconds = start.elapsed().as_nanos() as f64 / per_run;
            assert_eq!(found, expected, "{} disagrees on the failed checks", peer.name);
            if round > 0 {
                times.push(nanoseconds);
            }
        }
    }
    for list in &mut times {
        list.sort_by(f64::total_cmp);
    }
    let median = |at: usize| times[at][times[at].len() / 2];
    println!("### {name} ({} rules, {expected} failed checks)\n", checks.len());
    println!("| engine | median ns | best ns | / by hand | / storystick | records |");
    println!("| --- | ---: | ---: | ---: | ---: | --- |");
    for (at, peer) in peers.iter().enumerate() {
        println!(
            "| {} | {:.1} | {:.1} | {:.1} | {:.2} | {} |",
            peer.name,
            median(at),
            times[at][0],
            median(at) / median(0),
            median(at) / median(1),
            peer.records
        );
    }
    println!();
}
