//! The schema takes what the program takes, and refuses what it can refuse.

use std::fs;
use std::path::Path;

use serde_json::Value;

use super::schema;
use crate::diagnose::kinds::{ErrorKind, Example, entries};
use crate::inventory::starter::starter;

fn validator() -> jsonschema::Validator {
    jsonschema::validator_for(&schema()).expect("a valid schema")
}

/// A TOML text as JSON.
fn json(text: &str) -> Value {
    let table: toml::de::DeTable = toml::de::DeTable::parse(text).expect("TOML").into_inner();
    serde_json::to_value(plain(&toml::de::DeValue::Table(table))).expect("JSON")
}

/// A TOML value as a JSON value.
fn plain(value: &toml::de::DeValue) -> Value {
    use toml::de::DeValue;
    match value {
        DeValue::String(text) => Value::String(text.to_string()),
        DeValue::Integer(number) => number
            .as_str()
            .replace('_', "")
            .parse::<i64>()
            .map_or(Value::Null, Value::from),
        DeValue::Float(number) => number
            .as_str()
            .replace('_', "")
            .parse::<f64>()
            .map_or(Value::Null, Value::from),
        DeValue::Boolean(flag) => Value::Bool(*flag),
        DeValue::Datetime(date) => Value::String(date.to_string()),
        DeValue::Array(list) => list.iter().map(|one| plain(one.get_ref())).collect(),
        DeValue::Table(table) => table
            .iter()
            .map(|(key, one)| (key.get_ref().to_string(), plain(one.get_ref())))
            .collect(),
    }
}

/// What the schema has against a text.
fn errors(validator: &jsonschema::Validator, text: &str) -> Vec<String> {
    validator
        .iter_errors(&json(text))
        .map(|error| format!("{} at {}", error, error.instance_path()))
        .collect()
}

/// All TOML files below a directory.
fn files(directory: &Path, all: &mut Vec<std::path::PathBuf>) {
    for entry in fs::read_dir(directory).expect("a directory") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            files(&path, all);
        } else if path.extension().is_some_and(|end| end == "toml") {
            all.push(path);
        }
    }
}

#[test]
fn every_example_and_the_starter_are_taken() {
    let validator = validator();
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut all = vec![root.join("src/inventory/tests/everything.toml")];
    files(&root.join("examples"), &mut all);
    files(&root.join("tests/worked"), &mut all);
    assert!(all.len() >= 8);
    let texts = all.iter().map(|path| {
        (
            path.display().to_string(),
            fs::read_to_string(path).expect("a file"),
        )
    });
    for (name, text) in texts.chain([("starter".to_owned(), starter(&[]))]) {
        assert_eq!(errors(&validator, &text), Vec::<String>::new(), "{name}");
    }
}

#[test]
fn what_one_value_is_enough_to_refuse_is_refused() {
    let validator = validator();
    let mut refused = 0;
    for entry in entries() {
        let (Example::File(wrong), Example::File(right)) = (&entry.wrong, &entry.right) else {
            continue;
        };
        let seen = matches!(
            entry.kind,
            ErrorKind::WrongType
                | ErrorKind::WrongUnit
                | ErrorKind::MissingUnit
                | ErrorKind::UnknownChoice
                | ErrorKind::NotWhole
                | ErrorKind::UnknownKey
                | ErrorKind::MissingKey
        );
        if seen {
            assert_ne!(
                errors(&validator, wrong),
                Vec::<String>::new(),
                "{}",
                entry.kind.name()
            );
            refused += 1;
        }
        // Examples of files may hold part of a table only.
        if entry.kind != ErrorKind::SyntaxError && entry.kind != ErrorKind::MissingKey {
            let missing = |error: &String| !error.contains("required");
            let left: Vec<String> = errors(&validator, right)
                .into_iter()
                .filter(missing)
                .collect();
            assert_eq!(left, Vec::<String>::new(), "{}", entry.kind.name());
        }
    }
    assert!(refused >= 5, "{refused}");
}

#[test]
fn decisions_cannot_be_uncertain_and_quantities_can() {
    let validator = validator();
    let uncertain = "{ low = 0.1, likely = 0.2, high = 0.3 }";
    let policy = format!("[policy]\nmemory_keep_free = {uncertain}\n");
    let guest = format!("[[guest]]\nname = \"web\"\nmemory = \"2 GiB\"\nbusy = {uncertain}\n");
    assert_ne!(errors(&validator, &policy), Vec::<String>::new());
    assert_eq!(errors(&validator, &guest), Vec::<String>::new());
}
