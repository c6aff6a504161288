//! How long `fit` takes: the example labs as a person runs them, and how time grows with guests and profiles.

mod made_up;

use std::hint::black_box;

use berthage::inventory::load_text;
use berthage::lab;
use berthage::lab::Lab;
use berthage::sizing::fit::fit;
use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};

fn answer(lab: &Lab) -> Option<u64> {
    let hosts: Vec<&lab::Host> = lab.hosts.iter().collect();
    fit(black_box(lab), &hosts).hosts[0].fits
}

/// The made-up lab, read.
fn read(modules: usize, profiles: usize) -> Lab {
    load_text("bench.toml", &made_up::text(modules, profiles), &[]).expect("a valid lab")
}

fn examples(criterion: &mut Criterion) {
    for (name, text) in [
        ("shelf", include_str!("../../examples/shelf.toml")),
        ("classroom", include_str!("../../examples/classroom.toml")),
    ] {
        criterion.bench_function(&format!("fit example {name}, text to answer"), |bencher| {
            bencher.iter(|| {
                answer(&load_text("lab.toml", black_box(text), &[]).expect("a valid lab"))
            });
        });
    }
}

/// Time against guests: each step has ten times the memory and so about ten times the guests.
fn guests(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("fit, 3 profiles, by guests");
    for modules in [1, 10, 100] {
        let lab = read(modules, 3);
        let found = answer(&lab).unwrap_or(0);
        group.bench_with_input(BenchmarkId::from_parameter(found), &lab, |bencher, lab| {
            bencher.iter(|| answer(lab));
        });
    }
    group.finish();
}

/// Time against profiles at about the same number of guests.
fn profiles(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("fit, about 10,000 guests, by profiles");
    group.sample_size(20);
    for profiles in [1, 10, 100] {
        let lab = read(64, profiles);
        group.bench_with_input(
            BenchmarkId::from_parameter(profiles),
            &lab,
            |bencher, lab| {
                bencher.iter(|| answer(lab));
            },
        );
    }
    group.finish();
}

criterion_group!(benches, examples, guests, profiles);
criterion_main!(benches);
