//! Cost of one check: our rules against hand-written Rust on the same items, shape by shape, and its growth with the number of items.
//!
//! Read the ratios of one run, not the times: see the developers' guide. The peers (other engines) are in `peers`.

#[path = "common/mod.rs"]
mod common;
#[path = "common/ours.rs"]
mod ours;

use std::hint::black_box;

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use storystick_engine::facts::Facts;

use common::Check;

fn compare(c: &mut Criterion, name: &str, checks: &[Check], counts: &[usize]) {
    let schema = ours::schema();
    let rules = ours::Rules::new(&schema, checks);
    let mut group = c.benchmark_group(name);
    group.sample_size(20);
    for &count in counts {
        let items = common::readings(count);
        let expected = common::failures(&items, checks);
        let job = rules.job(&schema, &items);
        let facts = Facts::new(&job);
        group.throughput(Throughput::Elements((count * checks.len()) as u64));
        let mut kept = Vec::new();
        group.bench_with_input(BenchmarkId::new("by hand", count), &items, |b, items| {
            b.iter(|| assert_eq!(ours::by_hand(black_box(items), checks, &mut kept), expected));
        });
        let mut keeper = ours::Keeper::default();
        group.bench_with_input(BenchmarkId::new("rules", count), &facts, |b, facts| {
            b.iter(|| assert_eq!(ours::run(&rules, black_box(facts), &mut keeper), expected));
        });
    }
    group.finish();
}

fn shapes(c: &mut Criterion) {
    for (name, checks) in common::sets() {
        compare(c, name, &checks, &[10_000]);
    }
}

fn growth(c: &mut Criterion) {
    compare(c, "growth", &common::checks(), &[1_000, 10_000, 100_000, 1_000_000]);
}

criterion_group!(benches, shapes, growth);
criterion_main!(benches);
