//! How long `fit` takes: the example labs as a person runs them, and how time grows with guests and profiles.

use std::hint::black_box;

use berthage::inventory::lab::Lab;
use berthage::inventory::{lab, load_text};
use berthage::sizing::fit::fit;
use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};

fn answer(lab: &Lab) -> Option<u64> {
    let hosts: Vec<&lab::Host> = lab.hosts.iter().collect();
    fit(black_box(lab), &hosts).hosts[0].fits
}

/// A host with `modules` of 256 GiB and `profiles` guest profiles, alike but for their numbers.
fn made_up(modules: usize, profiles: usize) -> Lab {
    let modules = vec!["\"256 GiB\""; modules].join(", ");
    let guests: String = (0..profiles)
        .map(|i| {
            format!(
                "[[guest]]\nname = \"g{i}\"\nshare = {}\nmemory = \"{} MiB\"\nbusy = \"{} %\"\nreads_busy = {}\n\
                 writes_busy = {}\nnet_busy = \"{} Mbit/s\"\n",
                1 + i % 7,
                900 + 37 * (i % 41),
                2 + i % 17,
                10 + i,
                20 + i,
                5 + i % 50,
            )
        })
        .collect();
    let text = format!(
        "[[host]]\nname = \"h\"\ncpu.groups = [{{ cores = 20000, threads = 2 }}]\nmemory.modules = [{modules}]\n\
         merging.mode = \"fixed\"\nmerging.pages_per_wake = 20000\nnetwork.link = \"1000 Gbit/s\"\n\
         [[host.disk]]\nname = \"d\"\ndevices = 90\ncapacity = \"20 TB\"\nread_iops = 200000\nwrite_iops = 200000\n\
         {guests}"
    );
    load_text("bench.toml", &text, &[]).expect("a valid lab")
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
        let lab = made_up(modules, 3);
        let found = answer(&lab).unwrap_or(0);
        group.bench_with_input(BenchmarkId::from_parameter(found), &lab, |bencher, lab| {
            bencher.iter(|| answer(lab))
        });
    }
    group.finish();
}

/// Time against profiles at about the same number of guests.
fn profiles(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("fit, about 10,000 guests, by profiles");
    group.sample_size(20);
    for profiles in [1, 10, 100] {
        let lab = made_up(64, profiles);
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
