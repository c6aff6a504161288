//! How long a choice from ten thousand hosts takes, from the text of the catalogue to the ranking.

use std::hint::black_box;
use std::sync::atomic::AtomicBool;

use berthage::fleet::fleet;
use berthage::fleet::hosts::Bounds;
use berthage::inventory::load_text;
use berthage::lab::Host;
use berthage::purchase::choose::choose;
use berthage::purchase::choose::criteria::{Criteria, Sort};
use berthage::purchase::upgrade::upgrade;
use criterion::{Criterion, criterion_group, criterion_main};

const GUESTS: &str = r#"
[[image]]
name = "server"
size = "3 GiB"
[[guest]]
name = "web"
image = "server"
share = 5
memory = "2 GiB"
busy = "6 %"
reads_busy = 60
writes_busy = 80
net_busy = "60 Mbit/s"
[[guest]]
name = "runner"
image = "server"
memory = "4 GiB"
busy = "12 %"
reads_busy = 300
writes_busy = 350
net_busy = "120 Mbit/s"
"#;

/// Hosts that are all different, in numbers that follow from their place.
fn catalogue(hosts: usize) -> String {
    let host = |i: usize| {
        format!(
            "[[host]]\nname = \"host-{i}\"\nprice = {}\ncpu.groups = [{{ cores = {}, threads = {} }}]\n\
             memory.modules = [\"{} GiB\", \"{} GiB\"]\nmerging.mode = \"fixed\"\nmerging.pages_per_wake = 1000\n\
             network.link = \"{} Gbit/s\"\npower.idle = \"{} W\"\npower.busy = \"{} W\"\n\
             [[host.disk]]\nname = \"flash\"\ncapacity = \"{} TB\"\nread_iops = {}\nwrite_iops = {}\nendurance = \"600 TB\"\n",
            150 + i * 37 % 2800,
            2 + i % 23,
            1 + i % 2,
            8 + 8 * (i % 7),
            8 + 8 * (i % 5),
            1 + i % 10,
            5 + i % 57,
            70 + i % 230,
            1 + i % 4,
            5000 + i % 40_000,
            2000 + i % 15_000,
        )
    };
    let hosts: String = (0..hosts).map(host).collect();
    format!("lab.tariff = 0.3\n{hosts}{GUESTS}")
}

fn ten_thousand(criterion: &mut Criterion) {
    let text = catalogue(10_000);
    let mut group = criterion.benchmark_group("purchase");
    group.sample_size(10);
    for (name, need) in [("a need", Some(vec![20, 4])), ("the mix multiplied", None)] {
        group.bench_function(
            format!("10,000 hosts by {name}, text to ranking"),
            |bencher| {
                bencher.iter(|| {
                    let lab = load_text("lab.toml", black_box(&text), &[]).expect("a valid lab");
                    let hosts: Vec<&Host> = lab.hosts.iter().collect();
                    let criteria = Criteria {
                        need: need.clone(),
                        budget: Some(900.0),
                        max_watts: None,
                        sort: Sort::Cost,
                    };
                    choose(&lab, &hosts, None, &criteria).holding
                });
            },
        );
    }
    let undecided = include_str!("../../examples/undecided.toml");
    group.bench_function("upgrade of an example within a budget", |bencher| {
        bencher.iter(|| {
            let lab = load_text("lab.toml", black_box(undecided), &[]).expect("a valid lab");
            upgrade(
                &lab,
                &lab.hosts[0],
                Some(2000.0),
                None,
                &AtomicBool::new(false),
            )
            .options
            .len()
        });
    });
    let lab = load_text("lab.toml", &catalogue(12), &[]).expect("a valid lab");
    let hosts: Vec<&Host> = lab.hosts.iter().collect();
    group.bench_function("fleet of 12 hosts, 200 guests, 1 to spare", |bencher| {
        bencher.iter(|| {
            fleet(
                &lab,
                black_box(&hosts),
                Some(&[160, 40]),
                1,
                Bounds::default(),
            )
            .survives
        });
    });
    group.finish();
}

criterion_group!(benches, ten_thousand);
criterion_main!(benches);
