//! Cost of one check: our rules against hand-written Rust on the same items, and its growth with the number of items.
//!
//! Read the ratios of one run, not the times: see the developers' guide. The peers (other engines) are in `peers`.

#[path = "common/mod.rs"]
mod common;
#[path = "common/ours.rs"]
mod ours;

use std::hint::black_box;

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use storystick_engine::facts::Facts;

fn checks(c: &mut Criterion) {
    let schema = ours::schema();
    let rules = ours::Rules::new(&schema);
    let mut group = c.benchmark_group("20 rules");
    for count in [1_000, 10_000, 100_000] {
        let items = common::readings(count);
        let expected = common::failures(&items);
        let job = rules.job(&schema, &items);
        let facts = Facts::new(&job);
        group.throughput(Throughput::Elements((count * common::checks().len()) as u64));
        let mut kept = Vec::new();
        group.bench_with_input(BenchmarkId::new("by hand", count), &items, |b, items| {
            b.iter(|| assert_eq!(ours::by_hand(black_box(items), &mut kept), expected));
        });
        let mut keeper = ours::Keeper::default();
        group.bench_with_input(BenchmarkId::new("rules", count), &facts, |b, facts| {
            b.iter(|| assert_eq!(ours::run(&rules, black_box(facts), &mut keeper), expected));
        });
    }
    group.finish();
}

criterion_group!(benches, checks);
criterion_main!(benches);
