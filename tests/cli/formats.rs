//! All formats say the same, in the same bytes each time.

use std::collections::BTreeMap;

use serde_json::Value;

use crate::support::{Session, json, piped, run};

/// The flat sheet of `fit`: (host, section, item, quantity) to value.
pub fn sheet(text: &str) -> BTreeMap<[String; 4], String> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    assert_eq!(
        reader.headers().unwrap().iter().collect::<Vec<_>>(),
        ["host", "section", "item", "quantity", "value", "unit"]
    );
    let rows = reader.records().map(|row| {
        let row = row.unwrap();
        (
            std::array::from_fn(|i| row[i].to_owned()),
            row[4].to_owned(),
        )
    });
    rows.collect()
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
            let cell = |section: &str, item: &str, quantity: &str| {
                let key = [name, section, item, quantity].map(str::to_owned);
                sheet
                    .get(&key)
                    .unwrap_or_else(|| panic!("{lab}: no row {key:?}"))
                    .clone()
            };
            for key in [
                "fits",
                "breaks_at",
                "breaks_at_sudden",
                "fresh",
                "unshared",
                "stretched",
                "plain_sum",
            ] {
                assert!(agrees(&cell("answer", "", key), &host[key]), "{lab} {key}");
            }
            for (guest, count) in host["mix"].as_object().unwrap() {
                assert!(agrees(&cell("mix", guest, "count"), count));
            }
            for one in host["resources"].as_array().unwrap() {
                let resource = one["name"].as_str().unwrap();
                for key in ["state", "fits", "limit", "mean", "at_risk", "load"] {
                    assert!(
                        agrees(&cell("resource", resource, key), &one[key]),
                        "{lab} {resource} {key}"
                    );
                }
            }
            for section in ["memory", "cpu", "power", "cost"] {
                for (key, value) in host[section].as_object().into_iter().flatten() {
                    assert!(
                        agrees(&cell(section, "", key), value),
                        "{lab} {section} {key}"
                    );
                }
            }
            for pool in host["disk"].as_array().unwrap() {
                for (key, value) in pool
                    .as_object()
                    .unwrap()
                    .iter()
                    .filter(|(key, _)| *key != "name")
                {
                    assert!(
                        agrees(&cell("disk", pool["name"].as_str().unwrap(), key), value),
                        "{lab} {key}"
                    );
                }
            }
            for caution in host["cautions"].as_array().unwrap() {
                assert!(agrees(
                    &cell("caution", caution["id"].as_str().unwrap(), "text"),
                    &caution["text"]
                ));
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
        let text = run(&["fit", lab, "--width", "400"]).stdout;
        let markdown = run(&["fit", lab, "--format", "markdown"])
            .stdout
            .replace('\\', "");
        for host in answer["hosts"].as_array().unwrap() {
            let fits = host["fits"].as_u64().unwrap();
            let sentence = format!("{} safely holds {fits} ", host["name"].as_str().unwrap());
            let cliff = format!("killing guests at about {}", host["breaks_at"]);
            // Of these labs one has guests that must run, two of them.
            let beside = if lab == "examples/two-boxes.toml" {
                " beside those that must run"
            } else {
                ""
            };
            let sum = format!("By the plain sum: {}{beside}.", host["plain_sum"]);
            for report in [&text, &markdown] {
                // Prose is wrapped, so words are compared, not lines.
                let words = report.split_whitespace().collect::<Vec<_>>().join(" ");
                for part in [&sentence, &cliff, &sum] {
                    assert!(
                        words.contains(part.as_str()),
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
