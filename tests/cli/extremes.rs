//! Every key of a lab at its extremes, and mistakes planted in a lab: no panic, no endless run, and the line is named.
//!
//! `cargo test` tries a share of it. All of it, every key in every command, with the slowest and the largest ten:
//! `BERTHAGE_EXTREMES=all cargo test --release --test all extremes -- --nocapture`.

use std::io::Read;
use std::process::{Child, ExitStatus};
use std::thread::sleep;
use std::time::{Duration, Instant};
use std::{env, fs};

use berthage::inventory::load_text;

use crate::support::{Session, lab, run};

const EVERYTHING: &str = include_str!("everything.toml");
const FILE: &str = "tests/cli/everything.toml";

/// Values at the ends of what can be written, of every kind.
const EXTREMES: [&str; 30] = [
    "0",
    "1",
    "-1",
    "1e308",
    "1e-300",
    "nan",
    "inf",
    "18446744073709551616",
    "1000000",
    "\"0 B\"",
    "\"1 B\"",
    "\"1000 PB\"",
    "\"1e300 GiB\"",
    "\"1 B/s\"",
    "\"1000 TB/s\"",
    "\"1 bit/s\"",
    "\"1000 Tbit/s\"",
    "\"0 s\"",
    "\"1 us\"",
    "\"1000 years\"",
    "\"0 %\"",
    "\"1e-9 %\"",
    "\"100 %\"",
    "\"1e9/s\"",
    "\"1e-9/s\"",
    "\"1 GW\"",
    "\"\"",
    "true",
    "[]",
    "{ low = 0, likely = 1, high = 1e9 }",
];
/// Commands that read a lab, with what keeps their work in bounds.
const COMMANDS: [&[&str]; 6] = [
    &["fit", "--draws", "20"],
    &["explain"],
    &["compare"],
    &["upgrade", "--host", "all"],
    &["fleet"],
    &["rollout", "--host", "all"],
];
/// A run that lasts longer is taken to hang.
const HANGS: Duration = Duration::from_secs(120);

/// Every key path of the lab, given or not, at each extreme.
fn sets() -> Vec<String> {
    let lab = lab(EVERYTHING);
    let paths = lab.origins.keys();
    let sets = paths.flat_map(|path| EXTREMES.map(|value| format!("{path}={value}")));
    sets.collect()
}

fn is_all() -> bool {
    env::var("BERTHAGE_EXTREMES").is_ok_and(|asked| asked == "all")
}

/// What a run took.
struct Taken {
    call: String,
    seconds: f64,
    kibibytes: u64,
}

/// Waits for a process and sees how much memory it holds; none where it has to be ended.
fn watched(child: &mut Child) -> Option<(ExitStatus, u64)> {
    let (start, status) = (Instant::now(), format!("/proc/{}/status", child.id()));
    let mut most = 0;
    while start.elapsed() < HANGS {
        let text = fs::read_to_string(&status).unwrap_or_default();
        let line = text.lines().find_map(|line| line.strip_prefix("VmHWM:"));
        let held = line.and_then(|line| line.split_whitespace().next()?.parse().ok());
        most = most.max(held.unwrap_or(0));
        if let Some(status) = child.try_wait().expect("a process") {
            return Some((status, most));
        }
        sleep(Duration::from_millis(2));
    }
    child.kill().expect("a process that runs");
    child.wait().expect("a process that was ended");
    None
}

/// Runs a command with a value set as a process of its own.
fn tried(command: &[&str], set: &str) -> Taken {
    let call = [
        &[command[0], FILE],
        &command[1..],
        &["--format", "json", "--set", set],
    ]
    .concat();
    let start = Instant::now();
    let mut child = Session::new().process(&call).spawn().expect("a process");
    let (mut stdout, mut stderr) = (child.stdout.take(), child.stderr.take());
    let reader = std::thread::spawn(move || {
        // Read, so that a full pipe does not keep it waiting.
        let (mut text, mut errors) = (Vec::new(), String::new());
        if let Some(stdout) = &mut stdout {
            let _ = stdout.read_to_end(&mut text);
        }
        if let Some(stderr) = &mut stderr {
            let _ = stderr.read_to_string(&mut errors);
        }
        errors
    });
    let call = call.join(" ");
    let Some((status, kibibytes)) = watched(&mut child) else {
        panic!("{call} hangs");
    };
    let errors = reader.join().expect("a reader");
    assert!(
        matches!(status.code(), Some(0..=2)) && !errors.contains("panicked"),
        "{call}: {status}: {errors}"
    );
    Taken {
        call,
        seconds: start.elapsed().as_secs_f64(),
        kibibytes,
    }
}

#[test]
fn every_key_is_checked_at_its_extremes() {
    let (sets, step) = (sets(), if is_all() { 1 } else { 11 });
    assert!(sets.len() > 4_000, "{}", sets.len());
    for set in sets.iter().step_by(step) {
        let ended = run(&["check", FILE, "--set", set]);
        // Either it is taken, or what is wrong is said of what was set.
        match ended.status {
            0 => assert_eq!(ended.stderr, "", "{set}"),
            2 => assert!(!ended.stderr.is_empty() && ended.stdout.is_empty(), "{set}"),
            status => panic!("{set}: {status}"),
        }
    }
}

#[test]
fn no_key_at_an_extreme_ends_a_command_in_a_panic_or_never() {
    let (sets, step) = (sets(), if is_all() { 1 } else { 331 });
    let mut taken: Vec<Taken> = Vec::new();
    for (index, set) in sets.iter().step_by(step).enumerate() {
        if run(&["check", FILE, "--set", set]).status != 0 {
            continue;
        }
        let command = COMMANDS[index % COMMANDS.len()];
        let commands: &[&[&str]] = if is_all() { &COMMANDS } else { &[command] };
        taken.extend(commands.iter().map(|command| tried(command, set)));
    }
    assert!(!taken.is_empty());
    if !is_all() {
        return;
    }
    println!("{} runs", taken.len());
    taken.sort_by(|one, other| other.seconds.total_cmp(&one.seconds));
    for one in taken.iter().take(10) {
        println!("{:8.2} s    {}", one.seconds, one.call);
    }
    taken.sort_by_key(|one| std::cmp::Reverse(one.kibibytes));
    for one in taken.iter().take(10) {
        println!("{:8} KiB  {}", one.kibibytes, one.call);
    }
}

#[test]
fn a_planted_mistake_is_reported_with_its_line() {
    let lines: Vec<&str> = EVERYTHING.lines().collect();
    let mut planted = 0;
    for (index, line) in lines.iter().enumerate() {
        let Some((key, _)) = line.split_once(" = ") else {
            continue;
        };
        // A text where a key takes none, a key that does not exist, no TOML at all.
        for wrong in [
            format!("{key} = {{ low = \"x\" }}"),
            format!("{key}_x = 1"),
            format!("{key} = = 1"),
        ] {
            let mut text = lines.clone();
            text[index] = &wrong;
            let text = text.join("\n");
            let errors = load_text("lab.toml", &text, &[]).expect_err(&wrong);
            let shown = errors.to_string();
            let named = format!("lab.toml:{}:", index + 1);
            assert!(
                shown.contains(&named),
                "line {}: {wrong}: {shown}",
                index + 1
            );
            planted += 1;
        }
    }
    assert!(planted > 200, "{planted}");
}
