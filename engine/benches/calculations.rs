//! The calculations of the demo dwelling, from a job that is read and a book that is resolved.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use storystick_engine::book::RulesetText;
use storystick_engine::calc::load::{Method, dwelling_of_job, optional_load, standard_load};
use storystick_engine::calc::{Ctx, Library, Sheet};
use storystick_engine::inspection::{Inspected, Inspector, JobText, Options};
use storystick_engine::model::kinds::{counter, outlet_box, room};
use storystick_engine::model::{FieldId, Schema};
use storystick_engine::wiring::Wiring;

const DWELLING: &str = include_str!("../../examples/alder-row/dwelling.toml");

fn inspected() -> Inspected {
    let texts = storystick_rulesets::FILES.iter().map(|&(path, text)| RulesetText::shipped(path, text)).collect();
    let mut inspector = Inspector::new(texts);
    let options = Options::on(jiff::civil::date(2023, 6, 1));
    let job = JobText { name: String::from("dwelling.toml"), text: DWELLING.into() };
    let prepared = inspector.prepare(job, &options).expect("the code of the demo resolves");
    inspector.inspect(&prepared, &options).expect("the demo is sound")
}

/// Computes fields of all items of a kind and returns how many are known.
fn derive(ctx: &Ctx<'_>, library: &Library, kind: &str, fields: &[FieldId]) -> usize {
    let kind = ctx.job.schema.kind(kind).expect("a kind of the dwelling");
    let items = ctx.job.of_kind(kind);
    let each = items.iter().flat_map(|&item| fields.iter().map(move |&field| (item, field)));
    each.filter_map(|(item, field)| library.derive(ctx, item, field)).filter(|one| !one.cell.is_missing()).count()
}

fn calculations(c: &mut Criterion) {
    let inspected = inspected();
    let job = &inspected.job;
    let book = &*inspected.code.book;
    let library = Library::standard(&Schema::dwelling());
    c.bench_function("box fill and coverage of the demo dwelling", |b| {
        b.iter(|| {
            let ctx = Ctx::figures(black_box(job), book);
            derive(&ctx, &library, outlet_box::NAME, &[outlet_box::FILL, outlet_box::CAPACITY])
                + derive(&ctx, &library, room::NAME, &[room::WALL_UNCOVERED])
                + derive(&ctx, &library, counter::NAME, &[counter::WALL_UNCOVERED])
        });
    });
    let ctx = Ctx::figures(job, book);
    c.bench_function("load by both methods", |b| {
        b.iter(|| {
            let dwelling = |method| dwelling_of_job(black_box(&ctx), method).expect("the demo records its loads");
            let standard = standard_load(&dwelling(Method::Standard), book, &mut Sheet::none()).expect("a load");
            let optional = optional_load(&dwelling(Method::Optional), book, &mut Sheet::none()).expect("a load");
            (standard.total, optional.total)
        });
    });
    c.bench_function("wiring of the demo dwelling derived and followed through all states", |b| {
        b.iter(|| Wiring::of(black_box(job)).notices().len());
    });
}

criterion_group!(benches, calculations);
criterion_main!(benches);
