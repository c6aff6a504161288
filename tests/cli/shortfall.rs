//! What `rollout` says is missing for a target, and what it names as a cure: one number, and a cure that cures.

use serde_json::Value;

use crate::support::Session;

/// A host and guests of these keys; swap would blur where memory ends (invented).
fn lab(memory: &str, merging: &str, guests: &[&str]) -> Session {
    let host = format!(
        "[[host]]\nname = \"box\"\ncpu.groups = [{{ cores = 8, threads = 2 }}]\nmemory.modules = [\"{memory}\"]\n\
         memory.swap = \"0 B\"\n{merging}\n[[image]]\nname = \"i\"\nsize = \"4 GB\"\n"
    );
    let guests = guests.iter().enumerate().map(|(place, keys)| {
        format!("[[guest]]\nname = \"g{place}\"\nimage = \"i\"\nboot_time = \"10 s\"\n{keys}\n")
    });
    Session::lab(&[host, guests.collect()].concat()).args(&["rollout", "@lab.toml", "--draws", "0"])
}

const FIXED: &str = "merging.mode = \"fixed\"\nmerging.pages_per_wake = 500";
const ADAPTIVE: &str = "merging.mode = \"adaptive\"";
const OFF: &str = "merging.mode = \"off\"";
const WEB: &str =
    "share = 1\nmemory = \"1 GiB\"\ntouched = \"600 MiB\"\ncommon = \"300 MiB\"\nbusy = \"5 %\"";
const DB: &str =
    "count = 2\nmemory = \"2 GiB\"\ntouched = \"1.5 GiB\"\ncommon = \"200 MiB\"\nbusy = \"30 %\"";
const LIGHT: &str =
    "share = 3\nmemory = \"512 MiB\"\ntouched = \"200 MiB\"\ncommon = \"150 MiB\"\nbusy = 0";

/// The labs, each with a target that it does not reach safely and more of the call.
fn calls() -> Vec<(Session, Vec<&'static str>)> {
    vec![
        (lab("16 GiB", OFF, &[WEB]), vec!["--target", "40"]),
        (lab("16 GiB", OFF, &[WEB]), vec!["--target", "13"]),
        (
            lab("16 GiB", OFF, &[WEB]),
            vec!["--target", "26", "--fresh"],
        ),
        (
            lab("6 GiB", FIXED, &[WEB]),
            vec!["--target", "11", "--fresh"],
        ),
        (lab("16 GiB", FIXED, &[WEB, DB]), vec!["--target", "20"]),
        (lab("8 GiB", OFF, &[LIGHT]), vec!["--target", "32"]),
        (
            lab("3 GiB", FIXED, &[LIGHT]),
            vec!["--target", "14", "--stagger", "0s", "--fresh"],
        ),
        (lab("6 GiB", OFF, &[DB]), vec![]),
        (lab("2 GiB", FIXED, &[DB, WEB]), vec!["--target", "3"]),
        (
            lab("12 GiB", ADAPTIVE, &[LIGHT, WEB]),
            vec!["--target", "70"],
        ),
    ]
}

/// Whether the call is safe with more typed.
fn safe(session: &Session, call: &[&str], more: &[&str]) -> bool {
    let ended = session.run(&[call, more, &["--format", "json"]].concat());
    let answer: Value = ended.json();
    assert_eq!(answer["safe"].as_bool(), Some(ended.status == 0));
    ended.status == 0
}

/// Whether it is safe with another module of so many bytes.
fn safe_with(session: &Session, call: &[&str], bytes: f64) -> bool {
    let lab = session.read("lab.toml");
    let modules = lab
        .lines()
        .find_map(|line| line.strip_prefix("memory.modules = ["));
    let modules = modules
        .and_then(|line| line.strip_suffix(']'))
        .expect("modules");
    let set = format!(
        "host.box.memory.modules=[{modules}, \"{} B\"]",
        bytes.round()
    );
    safe(session, call, &["--set", &set])
}

#[test]
fn what_is_missing_is_what_cures() {
    let mut named = [0; 3];
    for (session, call) in calls() {
        let ended = session.run(&[&call[..], &["--format", "json"]].concat());
        let answer: Value = ended.exits(1).json();
        let shortfall = &answer["shortfall"];
        let missing = shortfall["missing"].as_f64().expect("bytes");
        let text = session
            .run(&[&call[..], &["--width", "200"]].concat())
            .words();
        for change in shortfall["changes"].as_array().expect("a list") {
            let change = change.as_str().expect("words");
            assert!(text.contains(&format!("- {change}")), "{change}: {text}");
            if let Some(memory) = change.strip_suffix(" more memory in the host") {
                named[0] += 1;
                assert!(
                    text.contains(&format!("; {memory} are missing.")),
                    "{memory}: {text}"
                );
                assert!(safe_with(&session, &call, missing), "{call:?}: {memory}");
                assert!(
                    !safe_with(&session, &call, missing * 15.0 / 16.0),
                    "{call:?}: less than {memory}"
                );
            } else if let Some(limit) = change.strip_prefix("a limit of ") {
                named[1] += 1;
                let percent: u64 = limit
                    .split(' ')
                    .next()
                    .and_then(|n| n.parse().ok())
                    .expect("percent");
                let at_most = |percent: u64| format!("--at-most={percent} %");
                assert!(
                    safe(&session, &call, &[&at_most(percent)]),
                    "{call:?}: {limit}"
                );
                assert!(
                    !safe(&session, &call, &[&at_most(percent - 1)]),
                    "{call:?}: below {limit}"
                );
            } else {
                named[2] += 1;
                let pages = change
                    .split(" at ")
                    .nth(1)
                    .and_then(|rest| rest.split(' ').next())
                    .expect("pages");
                let pages = format!("host.box.merging.pages_per_wake={}", pages.replace(',', ""));
                let sets = ["--set", "host.box.merging.mode=\"fixed\"", "--set", &pages];
                assert!(safe(&session, &call, &sets), "{call:?}: {change}");
            }
        }
    }
    assert!(named[0] >= 8 && named[1] >= 1 && named[2] >= 2, "{named:?}");
}
