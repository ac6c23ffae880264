//! Generated dwellings against the whole stack of shipped rulesets: reading, calculations, rules and findings, without printing.

#[path = "common/dwelling.rs"]
mod dwelling;
#[path = "common/numbers.rs"]
mod numbers;

use std::hint::black_box;
use std::sync::Arc;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use storystick_engine::book::RulesetText;
use storystick_engine::inspection::{Inspector, JobText, Options};

fn inspector() -> Inspector {
    Inspector::new(storystick_rulesets::FILES.iter().map(|&(path, text)| RulesetText::shipped(path, text)).collect())
}

fn job(number: u64) -> JobText {
    JobText { name: format!("house-{number}.toml"), text: Arc::from(dwelling::dwelling(number)) }
}

fn batch(c: &mut Criterion) {
    let options = Options::on(jiff::civil::date(2023, 6, 1));
    let mut group = c.benchmark_group("dwellings");
    group.sample_size(10);
    group.bench_function("the first, from nothing", |b| {
        b.iter(|| {
            let mut inspector = inspector();
            let prepared = inspector.prepare(job(0), &options).expect("a sound job");
            inspector.inspect(&prepared, &options).expect("a sound job").report.tally
        });
    });
    let mut inspector = inspector();
    let jobs: Vec<JobText> = (0..20).map(job).collect();
    group.throughput(Throughput::Elements(jobs.len() as u64));
    group.bench_function("twenty, rules compiled", |b| {
        b.iter(|| {
            let mut met = 0;
            for job in &jobs {
                let prepared = inspector.prepare(black_box(job).clone(), &options).expect("a sound job");
                met += inspector.inspect(&prepared, &options).expect("a sound job").report.tally.met;
            }
            met
        });
    });
    group.finish();
}

criterion_group!(benches, batch);
criterion_main!(benches);
