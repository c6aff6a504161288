//! Schemas, completions and the manual say what the program does.

use jsonschema::{Validator, validator_for};
use serde_json::{Value, json};

use crate::support::run;

fn printed(args: &[&str]) -> String {
    let session = run(args);
    session.answers();
    session.stdout
}

/// Closes every table of a schema, so that a key it does not know is an error.
fn close(schema: &mut Value) {
    match schema {
        Value::Object(table) => {
            if table.contains_key("properties") {
                table.insert("additionalProperties".to_owned(), json!(false));
            }
            table.values_mut().for_each(close);
        }
        Value::Array(list) => list.iter_mut().for_each(close),
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => {}
    }
}

/// The schema of reports, with no room for keys it does not name.
fn strict() -> Validator {
    let mut schema: Value = serde_json::from_str(&printed(&["schema", "report"])).expect("JSON");
    close(&mut schema);
    validator_for(&schema).expect("a valid schema")
}

const LABS: [&str; 3] = [
    "examples/shelf.toml",
    "examples/two-boxes.toml",
    "examples/classroom.toml",
];

#[test]
fn every_report_is_what_its_schema_says() {
    let validator = strict();
    let mut calls: Vec<Vec<&str>> = vec![
        vec!["compare", "examples/two-boxes.toml"],
        vec!["explain", "out-of-range"],
    ];
    for lab in LABS {
        for command in ["fit", "check", "explain"] {
            calls.push(vec![command, lab]);
        }
    }
    calls.push(vec!["fit", LABS[0], "--plot", "--why"]);
    let recorded = "tests/calibrate/mix_guests.csv";
    let named = ["--set", "guest.web.matches=\"A*\""];
    calls.push([&["fit", LABS[0], "--observed", recorded][..], &named].concat());
    // Nothing fits and some numbers have no bound.
    calls.push(vec![
        "fit",
        LABS[0],
        "--set",
        "policy.max_mean_wait=\"1 us\"",
        "--set",
        "guest.web.count=4000",
    ]);
    for mut call in calls {
        call.extend(["--format", "json"]);
        let report: Value = serde_json::from_str(&run(&call).stdout).expect("JSON");
        let errors: Vec<String> = validator
            .iter_errors(&report)
            .map(|error| format!("{error} at {}", error.instance_path()))
            .collect();
        assert_eq!(errors, Vec::<String>::new(), "{call:?}");
    }
}

#[test]
fn a_report_that_lacks_a_key_is_refused() {
    let validator = strict();
    let text = printed(&["fit", LABS[0], "--format", "json"]);
    let mut report: Value = serde_json::from_str(&text).expect("JSON");
    report["hosts"][0]["surprise"] = json!(1);
    assert!(!validator.is_valid(&report));
    let mut report: Value = serde_json::from_str(&text).expect("JSON");
    report["hosts"][0]
        .as_object_mut()
        .expect("a host")
        .remove("fits");
    assert!(!validator.is_valid(&report));
}

#[test]
fn completions_know_every_command_and_option() {
    for shell in ["bash", "zsh", "fish", "powershell"] {
        let text = printed(&["completions", shell]);
        for word in [
            "fit",
            "compare",
            "check",
            "explain",
            "new",
            "schema",
            "completions",
            "manual",
            "host",
            "format",
        ] {
            assert!(text.contains(word), "{shell}: {word}");
        }
    }
}

#[test]
fn the_manual_has_a_section_for_each_command() {
    let text = printed(&["manual"]);
    // Formatters read other characters each in their own way, and the checkers complain of blanks at a line's end.
    assert!(text.is_ascii() && text.lines().all(|line| line == line.trim_end()));
    for command in [
        "FIT",
        "COMPARE",
        "CHECK",
        "EXPLAIN",
        "NEW",
        "SCHEMA",
        "COMPLETIONS",
        "MANUAL",
    ] {
        assert!(
            text.contains(&format!(".SH \"BERTHAGE {command}\"")),
            "{command}"
        );
    }
    assert_eq!(text.matches(".SH NAME").count(), 1);
    assert!(text.contains(".SH \"EXIT STATUS\""));
    assert!(!text.contains("EXTRA"), "{text}");
    // The name of each value stands in the call, and a version where formatters look for one.
    assert!(
        text.contains("[\\fB\\-\\-host\\fR\\ \\fINAME\\fR]"),
        "{text}"
    );
    let title = format!(
        ".TH BERTHAGE 1 \"\" \"berthage {}\"\n",
        env!("CARGO_PKG_VERSION")
    );
    assert!(text.contains(&title), "{text}");
    // What checkers complain of: definitions said again, breaks beside breaks, long lines of prose.
    assert_eq!(text.matches(".ie ").count(), 1);
    assert!(!text.contains(".br\n") && !text.contains("\n\n"), "{text}");
    let prose = text.lines().filter(|line| !line.starts_with(['.', '\\']));
    assert!(
        prose.clone().count() > 100 && prose.map(str::len).max() <= Some(80),
        "{text}"
    );
    assert!(!text.contains("\nExamples:"), "{text}");
}

#[test]
fn every_help_shows_an_example() {
    for command in [
        "fit",
        "compare",
        "check",
        "explain",
        "new",
        "schema",
        "completions",
        "manual",
    ] {
        let help = printed(&[command, "--help"]);
        assert!(help.contains("Example"), "{command}");
        assert!(help.contains(&format!("berthage {command}")), "{command}");
    }
}
