//! All formats say the same, in the same bytes each time.

use std::collections::BTreeMap;

use serde_json::Value;

use crate::support::{Session, json, piped, run};

/// A sheet: the values of an object by (section, item), and within it by quantity.
pub fn sheet(text: &str) -> BTreeMap<(String, String), BTreeMap<String, String>> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let columns = reader.headers().unwrap();
    assert_eq!(columns, ["section", "item", "quantity", "value"].as_slice());
    let mut sheet = BTreeMap::<_, BTreeMap<_, _>>::new();
    for row in reader.records() {
        let row = row.unwrap();
        let object = (row[0].to_owned(), row[1].to_owned());
        let values = sheet.entry(object).or_default();
        values.insert(row[2].to_owned(), row[3].to_owned());
    }
    sheet
}

/// Whether a cell says what a JSON value says; readers of JSON may differ in the last bit of a fraction.
pub fn agrees(cell: &str, value: &Value) -> bool {
    match value {
        Value::Null => cell.is_empty(),
        Value::String(text) => cell == text,
        Value::Bool(value) => cell == value.to_string(),
        other => {
            let (cell, value): (f64, f64) = (cell.parse().unwrap(), other.as_f64().unwrap());
            (cell - value).abs() <= 1e-14 * value.abs()
        }
    }
}

#[test]
fn csv_holds_every_number_of_json() {
    for lab in [
        "examples/shelf.toml",
        "examples/two-boxes.toml",
        "examples/classroom.toml",
    ] {
        let answer = json(&["fit", lab]);
        let sheet = sheet(&run(&["fit", lab, "--format", "csv"]).stdout);
        for host in answer["hosts"].as_array().unwrap() {
            let name = host["name"].as_str().unwrap();
            let holds = |section: &str, item: &str, object: &Value| {
                let cells = &sheet[&(section.to_owned(), item.to_owned())];
                for (key, value) in object.as_object().unwrap() {
                    if !value.is_array() && !value.is_object() {
                        assert!(agrees(&cells[key], value), "{lab} {section} {item} {key}");
                    }
                }
            };
            holds("hosts", name, host);
            let cells = &sheet[&("hosts".to_owned(), name.to_owned())];
            let binds = host["binds"].as_array().unwrap().iter();
            let binds: Vec<&str> = binds.map(|one| one.as_str().unwrap()).collect();
            assert_eq!(cells["binds"], binds.join(" "), "{lab}");
            for section in ["mix", "memory", "cpu", "power", "cost", "restart"] {
                if host[section].is_object() {
                    holds(&format!("hosts/{section}"), name, &host[section]);
                }
            }
            for (section, named) in [
                ("resources", "name"),
                ("disk", "name"),
                ("guesses", "key"),
                ("defaults", "key"),
                ("cautions", "id"),
            ] {
                for one in host[section].as_array().unwrap() {
                    let item = format!("{name}/{}", one[named].as_str().unwrap());
                    holds(&format!("hosts/{section}"), &item, one);
                }
            }
        }
    }
}

#[test]
fn text_and_markdown_name_what_json_answers() {
    for lab in [
        "examples/shelf.toml",
        "examples/two-boxes.toml",
        "examples/classroom.toml",
    ] {
        let answer = json(&["fit", lab]);
        let text = run(&["fit", lab, "--full", "--width", "400"]).stdout;
        let markdown = run(&["fit", lab, "--format", "markdown"])
            .stdout
            .replace('\\', "");
        for host in answer["hosts"].as_array().unwrap() {
            // Tables count all guests that run: those that must, in one of these labs, beside those that fit, or sets.
            let guests = host["guests"].as_u64().unwrap();
            let fits = host["fits"].as_u64().unwrap();
            let all = |n: &Value| match host["unit"].as_str().unwrap() {
                "sets" => n.as_u64().unwrap() * guests / fits,
                _ => n.as_u64().unwrap() + guests - fits,
            };
            for report in [&text, &markdown] {
                // Prose is wrapped, so words are compared, not lines.
                let words = report.split_whitespace().collect::<Vec<_>>().join(" ");
                for (row, n) in [
                    ("by the plain sum of assigned memory", &host["plain_sum"]),
                    (
                        "thrashes or kills guests at the latest at about",
                        &host["breaks_at"],
                    ),
                ] {
                    let part = format!("{row} {}", all(n));
                    assert!(
                        words.replace("| ", "").contains(&part),
                        "{lab}: no {part:?} in {words}"
                    );
                }
                for caution in host["cautions"].as_array().unwrap() {
                    let wanted = caution["text"].as_str().unwrap();
                    assert!(
                        words.replace("> ", "").contains(wanted),
                        "{lab}: no {wanted:?}"
                    );
                }
            }
        }
    }
}

#[test]
fn json_keeps_the_contract() {
    let answer = json(&["fit", "examples/shelf.toml"]);
    assert_eq!(answer["report"], "fit");
    assert_eq!(answer["version"], 1);
    let host = &answer["hosts"][0];
    for key in [
        "name",
        "fits",
        "binds",
        "breaks_at",
        "breaks_at_sudden",
        "fresh",
        "unshared",
        "stretched",
        "plain_sum",
        "guests",
        "mix",
        "unit",
        "resources",
        "not_considered",
        "guesses",
        "memory",
        "cpu",
        "disk",
        "power",
        "cost",
        "cautions",
    ] {
        assert!(host.get(key).is_some(), "{key}");
    }
    for key in [
        "visible",
        "usable",
        "cliff",
        "promised",
        "overcommit",
        "shared_saved",
        "kappa",
        "scan_pass_s",
    ] {
        assert!(host["memory"].get(key).is_some(), "memory.{key}");
    }
    for key in [
        "supply",
        "vcpus",
        "threads",
        "vcpus_per_thread",
        "wait_chance",
        "mean_wait_s",
    ] {
        assert!(host["cpu"].get(key).is_some(), "cpu.{key}");
    }
    for key in [
        "name",
        "life_years",
        "fill",
        "promised",
        "owned",
        "full_in_days",
    ] {
        assert!(host["disk"][0].get(key).is_some(), "disk.{key}");
    }
    let compared = json(&["compare", "examples/two-boxes.toml"]);
    assert_eq!(compared["report"], "compare");
    for key in ["guests", "cost_per_guest", "watts_per_guest", "life"] {
        assert!(compared["best"].get(key).is_some(), "best.{key}");
    }
}

#[test]
fn the_same_bytes_twice_in_every_format() {
    for format in ["text", "markdown", "json", "csv"] {
        for command in ["fit", "compare", "check", "explain"] {
            let args = [command, "examples/two-boxes.toml", "--format", format];
            assert_eq!(run(&args).stdout, run(&args).stdout, "{command} {format}");
        }
    }
}

#[test]
fn no_line_is_wider_than_asked() {
    for width in ["40", "60", "80", "160"] {
        for command in ["fit", "compare", "explain"] {
            let text = run(&[command, "examples/two-boxes.toml", "--width", width]).stdout;
            let widest = text.lines().map(|line| line.chars().count()).max().unwrap();
            assert!(
                widest <= width.parse().unwrap(),
                "{command} at {width}: {widest}"
            );
        }
    }
}

#[test]
fn ascii_means_ascii() {
    for command in ["fit", "compare", "check", "explain"] {
        let text = run(&[command, "examples/two-boxes.toml", "--ascii"]).stdout;
        assert!(
            text.is_ascii(),
            "{command}: {:?}",
            text.chars().find(|letter| !letter.is_ascii())
        );
    }
}

#[test]
fn bold_only_where_asked_and_nothing_lost_without() {
    let bold = run(&["fit", "examples/shelf.toml", "--color", "always"]).stdout;
    let plain = run(&["fit", "examples/shelf.toml"]).stdout;
    assert!(bold.contains('\u{1b}') && !plain.contains('\u{1b}'));
    let mut terminal = piped();
    terminal.stdout_is_terminal = true;
    terminal.width = Some(80);
    terminal.no_color = true;
    let silent = Session::new()
        .on(terminal)
        .run(&["fit", "examples/shelf.toml"])
        .stdout;
    assert!(!silent.contains('\u{1b}'), "NO_COLOR");
}
