//! The first minutes: a lab to start from, and what helps to work with it.

use std::fs;

use crate::support::{Session, run};

#[test]
fn a_new_lab_is_answered_at_once() {
    let session = Session::new();
    let lab = session.path("lab.toml");
    run(&["new", &lab]).answers().says("berthage fit");
    for command in ["check", "fit", "explain"] {
        run(&[command, &lab]).answers();
    }
    let short = fs::read_to_string(&lab).unwrap();
    let keys = short.lines().filter(|line| line.contains(" = ")).count();
    assert_eq!(keys, 5, "{short}");
    run(&["new", &lab, "--all", "--force"]).answers();
    assert!(fs::read_to_string(&lab).unwrap().starts_with("#:schema "));
    run(&["fit", &lab]).answers();
}

#[test]
fn each_profile_alone_is_answered_too() {
    let session = Session::new();
    for profile in [
        "server",
        "container",
        "desktop",
        "database",
        "metrics",
        "control",
    ] {
        let lab = session.path(&format!("{profile}.toml"));
        run(&["new", &lab, "--guest", profile]).exits(0);
        run(&["fit", &lab]).answers();
    }
}

#[test]
fn a_lab_that_is_there_stays_unless_forced() {
    let session = Session::new();
    let lab = session.path("lab.toml");
    fs::write(&lab, "mine").unwrap();
    run(&["new", &lab]).refuses().reports("file-exists");
    assert_eq!(fs::read_to_string(&lab).unwrap(), "mine");
    run(&["new", &lab, "--force"]).exits(0);
    assert_ne!(fs::read_to_string(&lab).unwrap(), "mine");
    let missing = session.path("missing/lab.toml");
    run(&["new", &missing]).reports("cannot-write");
    // No draft stays behind.
    assert_eq!(fs::read_dir(session.folder()).unwrap().count(), 1);
}

#[test]
fn a_lab_from_the_survey_of_a_host_is_answered_too() {
    let session = Session::new();
    for tree in ["plain", "hybrid", "mirror"] {
        let lab = session.path(&format!("{tree}.toml"));
        let root = format!("tests/survey/{tree}");
        run(&["new", &lab, "--from-survey", "--root", &root]).answers();
        let surveyed = run(&["survey", "--root", &root]).stdout;
        let text = fs::read_to_string(&lab).unwrap();
        let modules = surveyed
            .lines()
            .find(|line| line.starts_with("modules"))
            .unwrap();
        assert!(text.contains(modules), "{tree}: {text}");
        assert_eq!(text.matches("\n[[host]]").count(), 1, "{tree}");
        let session = run(&["fit", &lab]);
        assert!(session.status < 2, "{tree}: {}", session.stderr);
    }
    run(&[
        "new",
        &session.path("x.toml"),
        "--from-survey",
        "--root",
        "examples",
    ])
    .exits(2);
    assert!(!session.folder().join("x.toml").exists());
}

#[test]
fn the_starter_can_be_upgraded_at_prices_that_are_said_to_be_invented() {
    let session = Session::new();
    let lab = session.path("lab.toml");
    let lab = lab.as_str();
    run(&["new", lab, "--all"]).exits(0);
    let answer = session.json(&["upgrade", lab]);
    let options = answer["options"].as_array().unwrap();
    let best = &options[usize::try_from(answer["best"].as_u64().unwrap()).unwrap()];
    assert!(best["gain"].as_u64().unwrap() > 0, "{best}");
    let mut memory = options.iter();
    let memory = memory.find(|one| one["change"].as_str().unwrap().starts_with("memory: "));
    let memory = memory.expect("modules to buy");
    assert!(memory["gain"].as_u64().unwrap() > 0, "{memory}");
    assert!(
        memory["note"]
            .as_str()
            .unwrap()
            .starts_with("All memory slots are taken"),
        "{memory}"
    );
    for one in options {
        assert!(one["price"].is_number(), "{one}");
    }
    let text = std::fs::read_to_string(lab).unwrap();
    let lines: Vec<&str> = text.lines().collect();
    for (index, line) in lines.iter().enumerate() {
        if line.starts_with("price") || line.contains("_prices = ") {
            let told = format!("{} {line}", lines[index - 1]);
            assert!(told.contains("invented"), "{line}");
        }
    }
}
