//! Files that a call writes: all of them or none, where they lead to, and what they keep.
#![cfg(unix)]

use std::fs;
use std::os::unix::fs::{MetadataExt, PermissionsExt, chown, symlink};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, SystemTime};

use crate::support::{Session, run};

const SHELF: &str = "examples/shelf.toml";
const TREE: &str = "tests/survey/plain";

/// A run of the program as a process of its own.
fn process(args: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_berthage"));
    command.args(args).stdin(Stdio::null());
    command
}

fn names(session: &Session) -> Vec<String> {
    let entries = fs::read_dir(session.folder()).unwrap();
    let mut names: Vec<String> = entries
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort_unstable();
    names
}

#[test]
fn one_file_for_two_things_is_refused_also_by_a_link() {
    let session = Session::new();
    symlink(session.path("load.svg"), session.path("log.svg")).unwrap();
    for output in ["@load.svg", "@log.svg"] {
        let call = ["fit", SHELF, "--chart", "@load.svg", "--output", output];
        session
            .run(&call)
            .refuses()
            .reports("--chart and --output both name");
    }
    assert_eq!(names(&session), ["log.svg"]);
    fs::write(session.path("one.svg"), "kept").unwrap();
    fs::hard_link(session.path("one.svg"), session.path("two.svg")).unwrap();
    let call = ["fit", SHELF, "--chart", "@one.svg", "--output", "@two.svg"];
    session.run(&call).refuses().reports("both name");
    assert_eq!(session.read("one.svg"), "kept");
}

#[test]
fn where_the_report_cannot_be_written_the_picture_is_not_either() {
    let session = Session::new();
    let call = [
        "fit",
        SHELF,
        "--chart",
        "@load.svg",
        "--output",
        "/dev/full",
    ];
    session.run(&call).refuses().reports("nothing was written");
    assert_eq!(names(&session), Vec::<String>::new());
    // The same where it goes to a standard output that takes nothing.
    let full = fs::File::options().write(true).open("/dev/full").unwrap();
    let chart = session.path("load.svg");
    let ended = process(&["fit", SHELF, "--chart", &chart])
        .stdout(full)
        .output()
        .unwrap();
    assert_eq!(ended.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&ended.stderr).contains("nothing was written"));
    assert_eq!(names(&session), Vec::<String>::new());
}

#[test]
fn help_that_cannot_be_written_is_an_error() {
    for args in [
        &["--help"][..],
        &["--version"],
        &["help", "fit"],
        &["fit", "-h"],
    ] {
        let full = fs::File::options().write(true).open("/dev/full").unwrap();
        let ended = process(args).stdout(full).output().unwrap();
        assert_eq!(ended.status.code(), Some(2), "{args:?}");
        assert!(
            String::from_utf8_lossy(&ended.stderr).contains("(cannot-write)"),
            "{args:?}"
        );
    }
}

#[test]
fn a_link_to_nothing_yet_stays_a_link() {
    let session = Session::new();
    fs::create_dir(session.path("pages")).unwrap();
    symlink("pages/log.md", session.path("log.md")).unwrap();
    session
        .run(&["fit", SHELF, "--output", "@log.md"])
        .answers();
    assert!(
        fs::symlink_metadata(session.path("log.md"))
            .unwrap()
            .is_symlink()
    );
    assert!(session.read("pages/log.md").contains("shelf-a"));
    symlink("nowhere/log.md", session.path("lost.md")).unwrap();
    session
        .run(&["fit", SHELF, "--output", "@lost.md"])
        .refuses()
        .reports("there is no folder");
}

#[test]
fn a_read_only_file_is_refused_and_stays() {
    let session = Session::new().file("log.md", "mine");
    let path = session.path("log.md");
    fs::set_permissions(&path, fs::Permissions::from_mode(0o444)).unwrap();
    session
        .run(&["fit", SHELF, "--output", "@log.md"])
        .refuses()
        .reports("you may only read it");
    assert_eq!(session.read("log.md"), "mine");
}

#[test]
fn a_file_that_is_replaced_keeps_its_mode_and_its_owner() {
    let session = Session::new().file("log.md", "old");
    let path = session.path("log.md");
    // Only an administrator may give a file away; for others it is theirs before and after.
    let other = chown(&path, Some(12_345), Some(12_346)).is_ok();
    fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).unwrap();
    session
        .run(&["fit", SHELF, "--output", "@log.md"])
        .answers();
    let there = fs::metadata(&path).unwrap();
    assert!(session.read("log.md").contains("shelf-a"));
    assert_eq!(there.mode() & 0o7777, 0o640);
    if other {
        assert_eq!((there.uid(), there.gid()), (12_345, 12_346));
    }
}

#[test]
fn drafts_that_an_ended_run_left_are_cleared_by_the_next() {
    let session = Session::new();
    let old = session.path(".berthage-Ab12Cd.draft");
    let aged = fs::File::create(&old).unwrap();
    let long_ago = SystemTime::now() - Duration::from_secs(3600);
    aged.set_modified(long_ago).unwrap();
    let fresh = session.path(".berthage-Ef34Gh.draft");
    fs::write(&fresh, "of a run that goes on").unwrap();
    session
        .run(&["fit", SHELF, "--output", "@log.md"])
        .answers();
    assert!(!Path::new(&old).exists() && Path::new(&fresh).exists());
}

#[test]
fn several_processes_that_append_write_one_header() {
    let session = Session::new();
    let file = session.path("readings.csv");
    let args = [
        "survey",
        "--root",
        TREE,
        "--reading",
        "--guests",
        "3",
        "--output",
        &file,
    ];
    let children: Vec<_> = (0..12)
        .map(|_| process(&args).spawn().expect("a process"))
        .collect();
    for mut child in children {
        assert!(child.wait().unwrap().success());
    }
    let text = session.read("readings.csv");
    let headers = text
        .lines()
        .filter(|line| line.starts_with("taken") || line.contains("memory_used"));
    assert_eq!(headers.count(), 1, "{text}");
    assert_eq!(text.lines().count(), 13, "{text}");
}

#[test]
fn threads_that_are_refused_or_absurdly_many_change_nothing() {
    let call = [
        "fit",
        "examples/undecided.toml",
        "--draws",
        "40",
        "--format",
        "json",
    ];
    let plain = run(&call).stdout;
    // No machine has room for a stack of 2^46 bytes, so that every thread is refused.
    for (variable, value) in [
        ("RUST_MIN_STACK", "70368744177664"),
        ("RAYON_NUM_THREADS", "1000000"),
        ("RAYON_NUM_THREADS", "none"),
    ] {
        let ended = process(&call).env(variable, value).output().unwrap();
        let errors = String::from_utf8_lossy(&ended.stderr);
        assert_eq!(ended.status.code(), Some(0), "{variable}: {errors}");
        assert_eq!(String::from_utf8_lossy(&ended.stdout), plain, "{variable}");
    }
}

#[test]
fn no_text_of_a_lab_moves_the_cursor_or_turns_letters() {
    let odd = "a\u{9b}31m\u{202e}b\u{e0041}\u{fffe}";
    let lab = format!(
        "[[host]]\nname = \"{odd}\"\n{odd} = 1\ncpu.groups = [{{ cores = 2 }}]\nmemory.modules = [\"4 GiB\"]\n"
    );
    let session = Session::lab(&lab);
    for args in [
        &["fit", "@lab.toml"][..],
        &["fit", SHELF, "--host", odd],
        &[odd],
        &["fit", SHELF, "--set", odd],
    ] {
        let ended = session.run(args);
        ended.exits(2);
        let shown = |letter: &char| {
            matches!(
                letter,
                '\u{80}'..='\u{9f}' | '\u{202e}' | '\u{e0041}' | '\u{fffe}'
            )
        };
        assert_eq!(ended.stderr.chars().find(shown), None, "{args:?}");
        assert!(
            ended.stderr.contains('\u{fffd}') || ended.stderr.contains("\\u{"),
            "{args:?}"
        );
    }
}
