//! Named pipes in the place of files: a wait for the other end is told, and what comes then is taken.

use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Output, Stdio};
use std::sync::mpsc;
use std::thread;
use std::time::Duration;

use rustix::fs::{CWD, FileType, Mode, mknodat};

use crate::support::{Session, run};

/// Long after this a program that says nothing is taken to hang.
const HANGS: Duration = Duration::from_secs(120);

/// A pipe in this folder that nobody has opened.
fn pipe(folder: &Path, name: &str) -> PathBuf {
    let path = folder.join(name);
    mknodat(CWD, &path, FileType::Fifo, Mode::RUSR | Mode::WUSR, 0).unwrap();
    path
}

/// Starts the program and waits until it says that it waits; returns it with what it said.
fn waiting(args: &[&str]) -> (Child, String) {
    let mut program = Session::new().process(args).spawn().unwrap();
    let errors = program.stderr.take().unwrap();
    let (line, heard) = mpsc::channel();
    thread::spawn(move || {
        let mut said = String::new();
        BufReader::new(errors).read_line(&mut said).unwrap();
        line.send(said)
    });
    let Ok(said) = heard.recv_timeout(HANGS) else {
        program.kill().unwrap();
        panic!("{args:?} waits without a word");
    };
    (program, said)
}

/// Runs the program with a lab piped in.
fn fed(args: &[&str]) -> Output {
    let mut process = Session::new().process(args);
    let mut program = process.stdin(Stdio::piped()).spawn().unwrap();
    let lab = fs::read("examples/shelf.toml").unwrap();
    program.stdin.take().unwrap().write_all(&lab).unwrap();
    program.wait_with_output().unwrap()
}

/// What the program wrote, and whether it answered.
fn finished(mut program: Child) -> (Option<i32>, String) {
    let mut written = String::new();
    let mut answers = program.stdout.take().unwrap();
    answers.read_to_string(&mut written).unwrap();
    (program.wait().unwrap().code(), written)
}

#[test]
fn a_pipe_that_nobody_writes_to_is_told_and_waited_for() {
    let folder = tempfile::tempdir().unwrap();
    let lab = "examples/shelf.toml";
    let readings = "examples/readings.csv";
    let pipe = pipe(folder.path(), "pipe");
    let name = pipe.to_str().unwrap();
    for (args, from) in [
        (vec!["fit", name], lab),
        (vec!["check", name], lab),
        (vec!["calibrate", lab, name, "--guest", "web"], readings),
    ] {
        let (program, said) = waiting(&args);
        assert!(said.contains(name), "{args:?}: {said}");
        assert!(
            said.contains("waiting for what writes to it"),
            "{args:?}: {said}"
        );
        fs::OpenOptions::new()
            .write(true)
            .open(&pipe)
            .unwrap()
            .write_all(&fs::read(from).unwrap())
            .unwrap();
        let (status, written) = finished(program);
        assert_eq!(status, Some(0), "{args:?}");
        assert!(
            written.contains("shelf") || written.contains("is valid"),
            "{written}"
        );
    }
}

#[test]
fn a_pipe_that_nobody_reads_is_told_and_waited_for() {
    let folder = tempfile::tempdir().unwrap();
    let pipe = pipe(folder.path(), "pipe.svg");
    let name = pipe.to_str().unwrap();
    for (args, first) in [
        (
            vec!["fit", "examples/shelf.toml", "--output", name],
            "shelf-a safely",
        ),
        (vec!["fit", "examples/shelf.toml", "--chart", name], "<svg"),
        (
            vec![
                "survey",
                "--root",
                "tests/survey/plain",
                "--guests",
                "1",
                "--reading",
                "--output",
                name,
            ],
            "time,guests",
        ),
    ] {
        let (program, said) = waiting(&args);
        assert!(
            said.contains("waiting for what reads from it"),
            "{args:?}: {said}"
        );
        let read = fs::read_to_string(&pipe).unwrap();
        assert!(read.starts_with(first), "{args:?}: {read}");
        assert_eq!(finished(program).0, Some(0), "{args:?}");
    }
}

#[test]
fn what_is_piped_in_is_read_without_a_word() {
    let done = fed(&["fit", "/dev/stdin"]);
    assert!(done.status.success());
    assert_eq!(String::from_utf8_lossy(&done.stderr), "");
    assert!(String::from_utf8_lossy(&done.stdout).contains("shelf-a safely holds"));
}

#[test]
fn a_pipe_is_no_host_and_no_lab_that_can_be_copied() {
    let folder = tempfile::tempdir().unwrap();
    let pipe = pipe(folder.path(), "pipe");
    run(&["survey", "--root", pipe.to_str().unwrap()])
        .exits(2)
        .reports("it is no folder");
    let copy = folder.path().join("new.toml");
    let args = [
        "calibrate",
        "/dev/stdin",
        "examples/readings.csv",
        "--guest",
        "web",
        "--write",
        copy.to_str().unwrap(),
    ];
    let done = fed(&args);
    let told = String::from_utf8_lossy(&done.stderr).into_owned();
    assert_eq!(done.status.code(), Some(2), "{told}");
    assert!(told.contains("can be read only once"), "{told}");
    assert!(!copy.exists());
}

#[test]
fn a_lab_that_is_piped_in_is_read_once_whatever_is_set() {
    let output = fed(&["fit", "/dev/stdin", "--set", "guest.web.share=1"]);
    let text = String::from_utf8(output.stdout).expect("text");
    assert_eq!(output.status.code(), Some(0), "{text}");
    assert!(text.contains("By --set, shelf-a:"), "{text}");
}
