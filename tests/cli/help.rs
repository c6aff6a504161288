//! The examples of the help, pasted one after the other.
#![cfg(unix)]

use std::fs;
use std::path::Path;
use std::process::Command;

use crate::support::run;

const COMMANDS: [&str; 13] = [
    "new",
    "check",
    "fit",
    "compare",
    "rollout",
    "upgrade",
    "fleet",
    "explain",
    "calibrate",
    "survey",
    "schema",
    "completions",
    "manual",
];

/// The calls that a help text shows.
fn shown(help: &str) -> Vec<String> {
    help.lines()
        .map(|line| line.trim_start().trim_start_matches("Example: "))
        .filter(|line| line.starts_with("berthage "))
        .map(str::to_owned)
        .collect()
}

/// Copies a folder with all that is in it.
fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap().map(Result::unwrap) {
        let target = to.join(entry.file_name());
        if entry.file_type().unwrap().is_dir() {
            copy(&entry.path(), &target);
        } else {
            fs::copy(entry.path(), target).unwrap();
        }
    }
}

#[test]
fn every_example_of_the_help_works_when_pasted() {
    let folder = tempfile::tempdir().unwrap();
    copy(Path::new("examples"), &folder.path().join("examples"));
    for place in [
        ".local/share/man/man1",
        ".local/share/bash-completion/completions",
    ] {
        fs::create_dir_all(folder.path().join(place)).unwrap();
    }
    let program = Path::new(env!("CARGO_BIN_EXE_berthage"));
    let path = std::env::var("PATH").unwrap_or_default();
    let path = format!("{}:{path}", program.parent().unwrap().display());
    for command in COMMANDS {
        let long = run(&[command, "--help"]).stdout;
        let calls = shown(&long);
        assert!(!calls.is_empty(), "{command} shows no example");
        assert_eq!(
            calls,
            shown(&run(&[command, "-h"]).stdout),
            "short and long help differ"
        );
        for call in calls {
            // This machine's own files, which need not be a host's; made-up hosts are surveyed in tests/survey.
            if call.contains("survey") {
                continue;
            }
            let ended = Command::new("sh")
                .args(["-c", &call])
                .current_dir(folder.path())
                .env("PATH", &path)
                .env("HOME", folder.path())
                .output()
                .unwrap();
            let said = String::from_utf8_lossy(&ended.stderr);
            // 1 is an answer too: something asked for does not fit.
            assert!(
                matches!(ended.status.code(), Some(0 | 1)) && said.is_empty(),
                "{call}\n{said}"
            );
        }
    }
}
