//! How long the program takes as a person meets it: the binary started, a file read, a report written; and the memory it
//! needs at most for it, where the system tells.

mod made_up;

use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;

use criterion::{Criterion, criterion_group, criterion_main};

const PROGRAM: &str = env!("CARGO_BIN_EXE_berthage");

fn program(args: &[&str]) -> Command {
    let mut command = Command::new(PROGRAM);
    command
        .args(args)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::inherit());
    command
}

/// Largest resident memory of a run `[KiB]`, by looking at the system's own peak until the run ends: near the peak for
/// all but the shortest runs, and none where there is no such file.
fn peak_memory(args: &[&str]) -> Option<u64> {
    let mut child = program(args).spawn().ok()?;
    let status = format!("/proc/{}/status", child.id());
    let mut peak = None;
    while child.try_wait().ok()?.is_none() {
        peak = read_peak(Path::new(&status)).max(peak);
        std::thread::sleep(Duration::from_micros(100));
    }
    peak
}

/// The line `VmHWM: 4711 kB` of a process's status; kB is KiB there.
fn read_peak(status: &Path) -> Option<u64> {
    let text = std::fs::read_to_string(status).ok()?;
    let line = text.lines().find(|line| line.starts_with("VmHWM:"))?;
    line.split_whitespace().nth(1)?.parse().ok()
}

fn runs(criterion: &mut Criterion) {
    let folder = tempfile::tempdir().expect("a folder for the lab");
    let large = folder.path().join("large.toml");
    std::fs::write(&large, made_up::text(64, 100)).expect("the lab written");
    let large = large.to_string_lossy();
    let mut group = criterion.benchmark_group("whole run");
    group.sample_size(20);
    for (name, args) in [
        ("--version", vec!["--version"]),
        ("fit shelf", vec!["fit", "examples/shelf.toml"]),
        ("fit classroom", vec!["fit", "examples/classroom.toml"]),
        (
            "compare two-boxes",
            vec!["compare", "examples/two-boxes.toml"],
        ),
        ("explain shelf", vec!["explain", "examples/shelf.toml"]),
        (
            "fit 10,000 guests in 100 profiles",
            vec!["fit", large.as_ref()],
        ),
    ] {
        let finished = program(&args).status().expect("the program starts");
        assert!(finished.success(), "{name}: {finished}");
        let peak = (0..5).filter_map(|_| peak_memory(&args)).max();
        match peak {
            Some(kib) => println!("{name}: at most {:.1} MiB resident", kib as f64 / 1024.0),
            None => println!("{name}: this system does not tell the memory of a run"),
        }
        group.bench_function(name, |bencher| {
            bencher.iter(|| program(&args).status().expect("the program starts"));
        });
    }
    group.finish();
}

criterion_group!(benches, runs);
criterion_main!(benches);
