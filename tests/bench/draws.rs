//! How long `fit --draws` takes, and how that compares with the same draws in plain Python and numpy (`draws.py`).
//!
//! The comparison needs `python3` with numpy; without it only the program is timed.

use std::hint::black_box;
use std::process::Command;
use std::time::Instant;

use berthage::inventory::load_text;
use berthage::sizing::search::Largest;
use berthage::sizing::uncertainty::{Draws, interval};
use criterion::{Criterion, criterion_group, criterion_main};

const LAB: &str = include_str!("../../examples/undecided.toml");
/// Draws of the Python program, which takes its time.
const FEW: u64 = 200;

fn ten_thousand(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("draws");
    group.sample_size(10);
    group.bench_function("10,000 of an example lab, text to interval", |bencher| {
        bencher.iter(|| {
            let lab = load_text("lab.toml", black_box(LAB), &[]).expect("a valid lab");
            let draws = Draws {
                count: 10_000,
                seed: 1,
            };
            interval(&lab, "box", draws, &|_| true)
        });
    });
    group.finish();
    beside_python();
}

/// Times both on the same draws, one thread each, and compares the counts one by one.
fn beside_python() {
    let lab = load_text("lab.toml", LAB, &[]).expect("a valid lab");
    let draws = Draws {
        count: FEW,
        seed: 1,
    };
    let Ok(one) = rayon::ThreadPoolBuilder::new().num_threads(1).build() else {
        return;
    };
    let began = Instant::now();
    let ours = one
        .install(|| interval(&lab, "box", draws, &|_| true))
        .expect("the host is there, and draws");
    let took = began.elapsed().as_secs_f64();
    let folder = env!("CARGO_MANIFEST_DIR");
    let python = Command::new("python3")
        .current_dir(folder)
        .args([
            "tests/bench/draws.py",
            "examples/undecided.toml",
            &FEW.to_string(),
        ])
        .output();
    let Some(python) = python.ok().filter(|output| output.status.success()) else {
        println!("python3 with numpy did not run; nothing to compare with");
        return;
    };
    let text = String::from_utf8_lossy(&python.stdout);
    let theirs: Vec<Option<u64>> = text.lines().map(|line| line.parse().ok()).collect();
    let ours = ours.counts.iter().copied().map(Largest::bound);
    let alike = ours
        .clone()
        .zip(&theirs)
        .filter(|(one, other)| one == *other)
        .count();
    let seconds: f64 = String::from_utf8_lossy(&python.stderr)
        .trim()
        .parse()
        .unwrap_or(f64::NAN);
    println!(
        "{FEW} draws on one thread: {took:.4} s here, {seconds:.2} s in Python, {:.0} times as long; {alike} of {} counts alike",
        seconds / took,
        theirs.len()
    );
}

criterion_group!(benches, ten_thousand);
criterion_main!(benches);
