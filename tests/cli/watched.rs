//! The program itself, run on a terminal that somebody watches: signs of life come and go and never stop it.

use std::fs::{OpenOptions, read_to_string};
use std::io::Read;
use std::process::ExitStatus;
use std::thread;
use std::time::{Duration, Instant};

use rustix::process::{Pid, Signal, kill_process};
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};

use serde_json::Value;

use crate::support::Session;

/// Purchases of memory take long to draw; invented.
const MANY_SLOTS: &str = r#"
[[host]]
name = "box"
cpu.groups = [{ cores = 8, threads = 2 }]
memory.modules = ["16 GiB", "16 GiB"]
memory.slots = 1000000
memory.module_prices = { "16 GiB" = 40, "32 GiB" = 75, "48 GiB" = 120 }
"#;
/// Long after this a run that goes on is taken to hang.
const HANGS: Duration = Duration::from_secs(300);

/// Runs the program with both its outputs on one terminal; returns its status and all that it wrote.
fn watched(args: &[&str], variables: &[(&str, &str)]) -> (ExitStatus, String) {
    let terminal = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY).unwrap();
    grantpt(&terminal).unwrap();
    unlockpt(&terminal).unwrap();
    let name = ptsname(&terminal, Vec::new())
        .unwrap()
        .into_string()
        .unwrap();
    let screen = OpenOptions::new()
        .read(true)
        .write(true)
        .open(name)
        .unwrap();
    let mut program = Session::new()
        .process(args)
        .env_remove("NO_COLOR")
        .env_remove("TERM")
        .envs(variables.iter().copied())
        .stdout(screen.try_clone().unwrap())
        .stderr(screen)
        .spawn()
        .unwrap();
    let reader = thread::spawn(move || {
        let (mut terminal, mut written, mut some) =
            (std::fs::File::from(terminal), Vec::new(), [0; 4096]);
        // A terminal that its last writer has left ends in an error.
        while let Ok(read @ 1..) = terminal.read(&mut some) {
            written.extend_from_slice(&some[..read]);
        }
        String::from_utf8(written).unwrap()
    });
    let begun = Instant::now();
    let status = loop {
        if let Some(status) = program.try_wait().unwrap() {
            break status;
        }
        if begun.elapsed() > HANGS {
            program.kill().unwrap();
            panic!("{args:?} hangs on a terminal");
        }
        thread::sleep(Duration::from_millis(20));
    };
    (status, reader.join().unwrap())
}

#[test]
fn a_long_run_shows_that_it_is_at_work_and_comes_to_its_end() {
    for (args, sign) in [
        (
            ["fit", "examples/shelf.toml", "--draws", "12000"].as_slice(),
            "of 12,000",
        ),
        (
            &[
                "rollout",
                "examples/classroom.toml",
                "--host",
                "lectern",
                "--target",
                "400",
            ],
            "simulating",
        ),
        (&["upgrade", "examples/shelf.toml"], "evaluating purchases"),
        (
            &["fleet", "examples/three-nodes.toml", "--spare", "1"],
            "placing guests",
        ),
    ] {
        let (status, written) = watched(args, &[("TERM", "xterm")]);
        assert!(matches!(status.code(), Some(0 | 1)), "{status} {written}");
        assert!(written.contains(sign), "{sign}: {written}");
        assert!(written.contains("An estimate: "), "{written}");
    }
}

#[test]
fn who_watches_guests_sees_how_many_and_how_many_lines() {
    let session = Session::new();
    let group = session
        .folder()
        .join("sys/fs/cgroup/machine.slice/web-1.scope");
    let proc = session.folder().join("proc");
    for folder in [&group, &proc] {
        std::fs::create_dir_all(folder).unwrap();
    }
    for (file, text) in [
        (proc.join("meminfo"), "MemTotal: 1000000 kB\n"),
        (
            session.folder().join("sys/fs/cgroup/cgroup.controllers"),
            "cpu\n",
        ),
        (group.join("cgroup.procs"), "7\n"),
        (group.join("cpu.stat"), "usage_usec 5\n"),
    ] {
        std::fs::write(file, text).unwrap();
    }
    let (root, file) = (
        session.folder().to_str().unwrap(),
        session.path("guests.csv"),
    );
    let call = [
        "survey", "--each", "--root", root, "--output", &file, "--every", "100ms", "--for", "500ms",
    ];
    let (status, written) = watched(&call, &[("TERM", "xterm")]);
    assert_eq!(status.code(), Some(0), "{written}");
    assert!(
        written.contains("1 guest seen, 1 line written"),
        "{written:?}"
    );
    assert!(
        written.contains("1 guest seen, 5 lines written"),
        "{written:?}"
    );
    assert_eq!(session.read("guests.csv").lines().count(), 7);
}

#[test]
fn a_dumb_terminal_gets_no_control_sequences_and_one_without_colour_none_of_colour() {
    let long = ["fit", "examples/shelf.toml", "--draws", "12000"];
    let wrong = ["fit", "no-such.toml"];
    for variables in [&[("TERM", "dumb")][..], &[]] {
        for args in [&long[..], &wrong] {
            let (_, written) = watched(args, variables);
            assert!(!written.contains('\u{1b}'), "{variables:?} {written:?}");
        }
    }
    for (variables, colour) in [
        (&[("TERM", "xterm"), ("NO_COLOR", "1")][..], false),
        (&[("TERM", "xterm")], true),
    ] {
        let (_, written) = watched(&long, variables);
        // The line of progress is drawn over and over, and taken away in the end.
        assert!(written.contains("\u{1b}[2K"), "{written:?}");
        for args in [&long[..], &wrong] {
            let (_, written) = watched(args, variables);
            assert_eq!(written.contains("\u{1b}[1m"), colour, "{written:?}");
        }
    }
}

/// Whether the process has a handler of its own for interrupts. Source: proc(5), `SigCgt`; SIGINT is signal 2.
fn hears_interrupts(process: u32) -> bool {
    let status = read_to_string(format!("/proc/{process}/status")).unwrap();
    let caught = status.lines().find_map(|line| line.strip_prefix("SigCgt:"));
    let caught = u64::from_str_radix(caught.unwrap().trim(), 16).unwrap();
    caught & 0b10 != 0
}

/// What a program says that hears an interrupt once it can end early, and has worked for a while more.
fn interrupted(session: &Session, args: &[&str], after: Duration) -> String {
    let mut program = session.process(args);
    // On one thread, so that it is at work for long enough everywhere.
    let program = program.env("RAYON_NUM_THREADS", "1").spawn().unwrap();
    let begun = Instant::now();
    while !hears_interrupts(program.id()) {
        assert!(begun.elapsed() < HANGS);
        thread::sleep(Duration::from_millis(5));
    }
    thread::sleep(after);
    kill_process(Pid::from_child(&program), Signal::INT).unwrap();
    let ended = program.wait_with_output().unwrap();
    assert!(matches!(ended.status.code(), Some(0 | 1)), "{args:?}");
    String::from_utf8(ended.stdout).unwrap()
}

/// The same as JSON.
fn interrupted_json(session: &Session, args: &[&str], after: Duration) -> Value {
    let text = interrupted(session, &[args, &["--format", "json"]].concat(), after);
    serde_json::from_str(&text).expect("an answer")
}

#[test]
fn a_million_draws_end_at_the_first_interrupt_with_those_that_were_made() {
    let args = ["fit", "examples/undecided.toml", "--draws", "1000000"];
    let session = Session::new();
    let text = interrupted(&session, &args, Duration::ZERO);
    assert!(text.contains("Stopped after "), "{text}");
    assert!(text.contains(" of 1,000,000 draws."), "{text}");
    let answer = interrupted_json(&session, &args, Duration::ZERO);
    let interval = &answer["hosts"][0]["interval"];
    assert_eq!(interval["asked"], 1_000_000);
    let made = interval["draws"].as_u64().unwrap();
    assert!((1..1_000_000).contains(&made), "{interval}");
    let few = session
        .args(&args[..2])
        .json(&["--draws", &made.to_string()]);
    assert_eq!(few["hosts"][0]["interval"]["low"], interval["low"]);
    assert_eq!(few["hosts"][0]["interval"]["moves"], interval["moves"]);
}

#[test]
fn purchases_end_at_the_first_interrupt_with_the_best_so_far() {
    let lab = format!(
        "{MANY_SLOTS}\n[[guest]]\nname = \"web\"\nmemory = \"1 GiB\"\nshare = 1\nbusy = \"10 %\"\n"
    );
    let session = Session::lab(&lab);
    let args = ["upgrade", "@lab.toml"];
    let answer = interrupted_json(&session, &args, Duration::ZERO);
    let stopped = &answer["stopped"];
    let number = |key: &str| stopped[key].as_u64().expect(key);
    assert!(
        number("evaluated") < number("purchases") || number("draws") < number("asked"),
        "{stopped}"
    );
    // Long after all have been evaluated, and long before all draws of them are made.
    let answer = interrupted_json(&session, &args, Duration::from_secs(1));
    assert!(!answer["options"].as_array().unwrap().is_empty());
    let text = interrupted(&session, &args, Duration::from_secs(1));
    assert!(text.contains("Stopped after "), "{text}");
    assert!(text.contains(": this is the best so far."), "{text}");
    assert!(text.contains("holds"), "{text}");
}

#[test]
fn a_fleet_ends_at_the_first_interrupt_with_the_best_so_far() {
    let host = |index: usize| {
        format!(
            "[[host]]\nname = \"h{index}\"\ncpu.groups = [{{ cores = 8 }}]\nmemory.modules = [\"{} GiB\"]\n",
            32 + index
        )
    };
    let hosts: String = (0..200).map(host).collect();
    let lab = format!("{hosts}[[guest]]\nname = \"web\"\nmemory = \"2 GiB\"\nshare = 1\n");
    let session = Session::lab(&lab);
    let answer = interrupted_json(
        &session,
        &["fleet", "@lab.toml"],
        Duration::from_millis(300),
    );
    assert_eq!(answer["stopped"], true);
    let args = ["fleet", "@lab.toml", "--spare", "1"];
    let text = interrupted(&session, &args, Duration::from_millis(300));
    assert!(
        text.contains("Stopped before everything was tried"),
        "{text}"
    );
}
