//! Speed of the rollout engine: 250 guests over 8 simulated hours under 100 ms, 10,000 guests under 5 s.

use std::hint::black_box;

use berthage::lab::{Lab, Mode};
use berthage::model::GIB;
use berthage::rollout::{Options, Schedule, Spells, Watch, restart, simulate};
use berthage::sizing::host::HostModel;
use criterion::{Criterion, criterion_group, criterion_main};

#[path = "../rollout/lab.rs"]
mod lab;

fn shelf(memory: f64, cores: u64) -> Lab {
    let mut merging = lab::merging(Mode::Fixed);
    merging.pages_per_wake = 1000.0;
    let mut host = lab::host(memory, merging);
    host.cpu.groups[0].cores = cores;
    let mut server = lab::guest("server", (0, Some(2.0)));
    server.busy = 0.05.into();
    lab::lab(host, vec![server, lab::guest("web", (0, Some(1.0)))])
}

fn benches(criterion: &mut Criterion) {
    let lab = shelf(64.0 * GIB, 8);
    let model = HostModel::new(&lab, &lab.hosts[0]);
    let day = Options {
        watch: Watch::For(6.0 * 3600.0),
        ..Options::default()
    };
    let lived_in = Options {
        spells: Spells::Sampled {
            seed: 1,
            mean_s: 900.0,
            at_s: None,
        },
        ..day.clone()
    };
    let schedule = Schedule::rule(250, 10, 300.0);
    criterion.bench_function("250 guests, 8 hours", |bench| {
        bench.iter(|| simulate(black_box(&model), &schedule, &day));
    });
    criterion.bench_function("250 guests, 8 hours, busy spells", |bench| {
        bench.iter(|| simulate(black_box(&model), &schedule, &lived_in));
    });
    criterion.bench_function("plan to 250 guests", |bench| {
        bench.iter(|| lab::plan(black_box(&model), 250, None, &Options::default()));
    });
    criterion.bench_function("restart of 400 guests", |bench| {
        bench.iter(|| restart(black_box(&model), 400));
    });
    let large_lab = shelf(4096.0 * GIB, 256);
    let large = HostModel::new(&large_lab, &large_lab.hosts[0]);
    let schedule = Schedule::rule(10_000, 50, 600.0);
    criterion.bench_function("10,000 guests", |bench| {
        bench.iter(|| simulate(black_box(&large), &schedule, &Options::default()));
    });
}

criterion_group! {
    name = rollout;
    config = Criterion::default().sample_size(10);
    targets = benches
}
criterion_main!(rollout);
