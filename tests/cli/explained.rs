//! `explain`: every number of the answer is there, and its formula comes to it.

use std::collections::{BTreeMap, BTreeSet};

use berthage::lab::key_path;
use berthage::lab::keys::key_of;
use serde_json::Value;

use super::arithmetic::{About, work_out, worth};
use crate::support::Session;

/// A lab with something of everything.
const EVERYTHING: &str = include_str!("everything.toml");

/// Calls of `explain` and `fit` that between them meet every law.
const CALLS: [&[&str]; 13] = [
    &["examples/shelf.toml"],
    &["examples/classroom.toml"],
    &["examples/two-boxes.toml", "--host", "small"],
    &["examples/two-boxes.toml", "--host", "tall"],
    &["@everything.toml"],
    &["@everything.toml", "--set", "host.all.merging.mode=\"off\""],
    &[
        "@everything.toml",
        "--set",
        "host.all.merging.mode=\"scan_time\"",
    ],
    &[
        "@everything.toml",
        "--set",
        "host.all.merging.mode=\"scan_time\"",
        "--set",
        "host.all.merging.target_pass=\"1 s\"",
    ],
    &[
        "@everything.toml",
        "--set",
        "host.all.merging.mode=\"adaptive\"",
    ],
    // The scanner starts only after the safe limit has been passed.
    &[
        "@everything.toml",
        "--set",
        "host.all.merging.mode=\"adaptive\"",
        "--set",
        "policy.memory_keep_free=\"40 %\"",
    ],
    &["tests/cli/growing.toml", "--host", "box"],
    // What must run does not fit.
    &[
        "@everything.toml",
        "--set",
        "guest.fixed.memory=\"1 TiB\"",
        "--set",
        "guest.fixed.vcpus=200",
    ],
    &[
        "@everything.toml",
        "--set",
        "guest.web.busy=\"0 %\"",
        "--set",
        "host.all.memory.compressed_swap=\"0 B\"",
    ],
];

fn json(command: &str, call: &[&str], more: &[&str]) -> Value {
    let session = Session::new().file("everything.toml", EVERYTHING);
    session.args(&[command]).args(call).json(more)
}

fn steps(explained: &Value) -> Vec<&Value> {
    let sections = explained["sections"].as_array().unwrap();
    sections
        .iter()
        .flat_map(|section| section["steps"].as_array().unwrap())
        .collect()
}

/// Every number of an answer by its path, entries of lists by their name; null is a number too.
fn numbers(value: &Value, path: &[&str], found: &mut BTreeMap<String, Option<f64>>) {
    match value {
        Value::Object(entries) => {
            for (key, inner) in entries {
                numbers(inner, &[path, &[key]].concat(), found);
            }
        }
        Value::Array(entries) => {
            for entry in entries {
                if let Some(name) = entry["name"].as_str() {
                    numbers(entry, &[path, &[name]].concat(), found);
                }
            }
        }
        Value::Number(number) => {
            found.insert(key_path(path), number.as_f64());
        }
        Value::Null => {
            found.insert(key_path(path), None);
        }
        Value::Bool(_) | Value::String(_) => {}
    }
}

#[test]
fn every_number_of_the_answer_is_explained_by_its_name() {
    for call in CALLS {
        let explained = json("explain", call, &[]);
        let fit = json("fit", call, &["--draws", "0"]);
        let mut wanted = BTreeMap::new();
        let host = fit["hosts"].as_array().unwrap();
        let host = host.iter().find(|host| host["name"] == explained["host"]);
        numbers(host.unwrap(), &[], &mut wanted);
        // No power or no money at all is one null, not a number of its own; what one guest more would need, and the guests
        // that run, are explained with `--guests`; the parts of profiles add up to what is explained (laws/running.rs).
        wanted.retain(|key, _| {
            let group = key.split('.').next().unwrap_or(key);
            !["power", "cost"].contains(&key.as_str())
                && !["next", "restart", "running", "profiles"].contains(&group)
        });
        assert!(wanted.len() > 40, "{call:?}");
        let mut given = BTreeMap::new();
        for step in steps(&explained) {
            if let Some(key) = step["key"].as_str() {
                let before = given.insert(key.to_owned(), step["value"].as_f64());
                assert_eq!(before, None, "{call:?}: {key} is explained twice");
            }
        }
        assert_eq!(given, wanted, "{call:?}");
        assert_eq!(explained["cautions"], host.unwrap()["cautions"], "{call:?}");
    }
}

/// What is told in words because it is no formula with numbers.
fn is_told(step: &Value) -> bool {
    let name = step["name"].as_str().unwrap();
    let filled = step["filled"].as_str().unwrap();
    step["value"].is_null()
        // The states of the queue are summed, not written.
        || filled.starts_with("c = ")
        || name.starts_with("write amplification")
        || (name.starts_with("guests of") && filled.starts_with("N = "))
}

#[test]
fn formulas_come_to_the_numbers_printed_beside_them() {
    let (mut worked, mut claimed) = (0, 0);
    for call in CALLS {
        for guests in [None, Some("0"), Some("7"), Some("300")] {
            let more: Vec<&str> = guests.iter().flat_map(|n| ["--guests", n]).collect();
            let explained = json("explain", call, &more);
            for step in steps(&explained) {
                let filled = step["filled"].as_str().unwrap();
                let place = format!(
                    "{call:?} {guests:?} {}: {filled} = {}",
                    step["name"], step["value"]
                );
                if filled.contains(": ") {
                    filled.split("; ").for_each(|claim| holds(claim, &place));
                    claimed += 1;
                } else if !is_told(step) {
                    let found = work_out(filled).unwrap_or_else(|| panic!("{place}"));
                    let value =
                        step["value"].as_f64().unwrap() * worth(step["unit"].as_str().unwrap());
                    assert!(
                        (found.value - value).abs() <= found.error + 1e-9 * value.abs(),
                        "{place}: comes to {found:?}"
                    );
                    worked += 1;
                }
            }
        }
    }
    assert!(worked > 3_000 && claimed > 500, "{worked}, {claimed}");
}

/// Letters that a formula itself says the meaning of.
const SAID_THERE: [(&str, &str); 5] = [
    ("v", "v = "),
    ("x", "smallest x"),
    ("z", "one z for all"),
    ("W", "W of Lambert"),
    ("e", "e^"),
];

#[test]
fn every_letter_of_a_formula_is_told_and_every_key_it_stands_for_is_one() {
    let mut keys = BTreeSet::new();
    for call in CALLS {
        let explained = json("explain", call, &[]);
        let mut told: BTreeSet<String> = ["a".to_owned()].into();
        for section in explained["sections"].as_array().unwrap() {
            for symbol in section["symbols"].as_array().unwrap() {
                let stands_for = symbol["stands_for"].as_str().unwrap();
                if stands_for.contains('.') {
                    keys.insert(stands_for.to_owned());
                }
                told.insert(symbol["symbol"].as_str().unwrap().replace("(…)", ""));
            }
            let steps = section["steps"].as_array().unwrap();
            // A step that is called by its letter tells it.
            told.extend(steps.iter().map(|step| {
                let name = step["name"].as_str().unwrap();
                name.split([' ', ',']).next().unwrap().to_owned()
            }));
            for step in steps {
                let formula = step["formula"].as_str().unwrap();
                let words = formula.split(|c: char| !c.is_alphanumeric() && !"_'".contains(c));
                for word in words {
                    let is_symbol = ["t0", "t1", "ti"].contains(&word)
                        || (word.chars().count() == 1 && word.chars().all(char::is_alphabetic));
                    let said = SAID_THERE
                        .iter()
                        .any(|(letter, words)| *letter == word && formula.contains(words));
                    assert!(
                        !is_symbol || said || told.contains(word),
                        "{call:?}: {word} in {formula}"
                    );
                }
            }
        }
    }
    assert!(keys.len() >= 10, "{keys:?}");
    for key in keys {
        // As a path in a lab: the names of things between.
        let (table, name) = key.split_once('.').unwrap();
        let path = match table {
            "policy" => key.clone(),
            _ => format!("{table}.x.{}", name.replace("disk.", "disk.x.")),
        };
        assert!(key_of(&path).is_some(), "{key} is no key of the inventory");
    }
}

/// "at 62: 47.9 GiB ≤ 48.1 GiB"
fn holds(claim: &str, place: &str) {
    let Some((_, sides)) = claim.split_once(": ") else {
        panic!("{place}");
    };
    // Told, not compared.
    let Some((relation, (left, right))) = [" ≤ ", " > ", " ≥ ", " = "]
        .iter()
        .find_map(|relation| Some((*relation, sides.split_once(relation)?)))
    else {
        return;
    };
    let [left, right] =
        [left, right].map(|side| work_out(side).unwrap_or_else(|| panic!("{place}")));
    let (over, slack) = over(left, right);
    let fine = match relation {
        " ≤ " => over <= slack,
        " > " | " ≥ " => over >= -slack,
        _ => over.abs() <= slack,
    };
    assert!(fine, "{place}: {left:?} {relation} {right:?}");
}

fn over(left: About, right: About) -> (f64, f64) {
    (left.value - right.value, left.error + right.error)
}

#[test]
fn every_input_has_its_origin_and_nothing_of_other_pools() {
    let explained = json("explain", CALLS[4], &[]);
    let inputs = |title: &str, name: &str| -> Vec<String> {
        let sections = explained["sections"].as_array().unwrap();
        let section = sections.iter().find(|section| section["title"] == title);
        let steps = section.unwrap()["steps"].as_array().unwrap();
        let step = steps.iter().find(|step| step["name"] == name).unwrap();
        let inputs = step["inputs"].as_array().unwrap().iter();
        inputs
            .map(|input| format!("{} = {}", input["key"], input["value"]))
            .collect()
    };
    let space = inputs("Resource disk_space:slow", "mean").concat();
    assert!(space.contains("guest.copied.disk_used"), "{space}");
    assert!(!space.contains("guest.web."), "{space}");
    let all = serde_json::to_string(&explained).unwrap();
    for key in [
        "host.all.price",
        "guest.web.kind",
        "host.all.disk.fast.sustained_speed",
        "guest.web.busy",
    ] {
        assert!(all.contains(&format!("\"{key}\"")), "{key}");
    }
    let ranges = explained.to_string();
    assert!(ranges.contains("\"range\":\"0.7 to 2.5 times that\""));
    let adaptive = serde_json::to_string(&json("explain", CALLS[8], &[])).unwrap();
    assert!(adaptive.contains("\"host.all.merging.least\""));
    assert!(all.contains("58 MiB by the rule: "), "so has the overhead");
    assert!(
        adaptive.contains("10 ms by the rule: "),
        "the sleep has a value"
    );
}
