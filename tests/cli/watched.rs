//! The program itself, run on a terminal that somebody watches: signs of life come and go and never stop it.

use std::fs::{OpenOptions, read_to_string};
use std::io::Read;
use std::process::ExitStatus;
use std::thread;
use std::time::{Duration, Instant};

use rustix::process::{Pid, Signal, kill_process};
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};

use serde_json::{Value, from_slice};

use crate::support::Session;

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

#[test]
fn a_million_draws_end_at_the_first_interrupt_with_those_that_were_made() {
    let args = ["fit", "examples/undecided.toml", "--draws", "1000000"];
    for format in ["json", "text"] {
        let mut call = Session::new().process(&[&args[..], &["--format", format]].concat());
        let program = call.spawn().unwrap();
        let begun = Instant::now();
        while !hears_interrupts(program.id()) {
            assert!(begun.elapsed() < HANGS);
            thread::sleep(Duration::from_millis(5));
        }
        kill_process(Pid::from_child(&program), Signal::INT).unwrap();
        let ended = program.wait_with_output().unwrap();
        assert_eq!(ended.status.code(), Some(0));
        if format == "text" {
            let text = String::from_utf8(ended.stdout).unwrap();
            assert!(text.contains("Stopped after "), "{text}");
            assert!(text.contains(" of 1,000,000 draws."), "{text}");
            continue;
        }
        let answer: Value = from_slice(&ended.stdout).unwrap();
        let interval = &answer["hosts"][0]["interval"];
        assert_eq!(interval["asked"], 1_000_000);
        let made = interval["draws"].as_u64().unwrap();
        assert!((1..1_000_000).contains(&made), "{interval}");
        let few = Session::new()
            .args(&args[..2])
            .json(&["--draws", &made.to_string()]);
        assert_eq!(few["hosts"][0]["interval"]["low"], interval["low"]);
        assert_eq!(few["hosts"][0]["interval"]["moves"], interval["moves"]);
    }
}
