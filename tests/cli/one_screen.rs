//! The default screens: one screen each, a line a caution, one term a thing, nothing that is one program's mark.

use std::fs;

use berthage::calibrate::cautions::{CalibrateCaution, LateStep, OddReading};
use berthage::fleet::answer::FleetCaution;
use berthage::rollout::RolloutCaution;
use berthage::sizing::caution::HostCaution;
use berthage::words::caution::{Caution, Worded};

use crate::support::{json, run};

const READINGS: &str = "examples/readings.csv";
const LABS: [&str; 5] = [
    "examples/shelf.toml",
    "examples/two-boxes.toml",
    "examples/undecided.toml",
    "examples/three-nodes.toml",
    "examples/classroom.toml",
];

/// The calls of the six commands that examples are made for, every host by itself too.
fn calls() -> Vec<Vec<String>> {
    let mut calls: Vec<String> = vec![
        "compare examples/two-boxes.toml".to_owned(),
        "compare examples/three-nodes.toml".to_owned(),
        "compare examples/three-nodes.toml --need web=12,desk=1".to_owned(),
        "compare examples/three-nodes.toml --need web=12,desk=1 --old rack".to_owned(),
        "rollout examples/shelf.toml --target 60 --stagger 0s".to_owned(),
        "rollout examples/shelf.toml --target 100 --batch 5 --wait 1min".to_owned(),
        "fleet examples/three-nodes.toml --spare 1".to_owned(),
        "fleet examples/three-nodes.toml --need web=90,desk=9 --spare 1".to_owned(),
        "upgrade examples/undecided.toml --budget 400".to_owned(),
        format!("calibrate examples/shelf.toml {READINGS} --guest web"),
        format!("calibrate examples/shelf.toml {READINGS} --guest web --fresh --hold-out 1"),
        "fit examples/undecided.toml --draws 1000".to_owned(),
        "fit examples/undecided.toml --observed tests/calibrate/mix_guests.csv --set guest.web.matches=\"*\""
            .to_owned(),
    ];
    for lab in LABS {
        calls.push(format!("fit {lab}"));
        let answer = json(&["fit", lab]);
        for host in answer["hosts"].as_array().expect("hosts") {
            let host = host["name"].as_str().expect("a name");
            for command in ["fit", "rollout", "upgrade"] {
                calls.push(format!("{command} {lab} --host {host}"));
            }
        }
    }
    let words = |call: &String| call.split(' ').map(str::to_owned).collect();
    calls.iter().map(words).collect()
}

#[test]
fn the_default_screens_of_all_examples_fit_24_lines_of_80_columns() {
    for call in calls() {
        let mut args: Vec<&str> = call.iter().map(String::as_str).collect();
        args.extend(["--width", "80"]);
        // Fewer draws give the same lines sooner.
        if ["fit", "compare", "upgrade"].contains(&args[0]) && !args.contains(&"--draws") {
            args.extend(["--draws", "100"]);
        }
        let screen = run(&args);
        screen.is_silent();
        let lines = screen.stdout.lines().count();
        assert!(lines <= 24, "{call:?}: {lines} lines\n{}", screen.stdout);
        let wide = screen.stdout.lines().find(|line| line.chars().count() > 80);
        assert_eq!(wide, None, "{call:?}");
        // Everything says more, the answer first in the same words.
        args.push("--full");
        let full = run(&args).stdout;
        assert!(full.lines().count() > lines, "{call:?}: {full}");
    }
}

#[test]
fn json_and_csv_do_not_depend_on_full_and_a_page_is_full() {
    for format in ["json", "csv", "markdown"] {
        let args = ["fit", "examples/shelf.toml", "--format", format];
        let full = run(&[&args[..], &["--full"]].concat()).stdout;
        // A page ends in its call.
        assert_eq!(run(&args).stdout, full.replace(" --full", ""), "{format}");
    }
}

#[test]
fn a_share_of_the_time_is_shown_as_a_share() {
    let lines = "tests/calibrate/mix_guests.csv";
    let screen = run(&["calibrate", "examples/shelf.toml", lines]).stdout;
    // By the lines, B is busy 35 % of the time: on top and in the table.
    let row = screen.lines().find(|line| line.starts_with("  B "));
    assert!(screen.contains("busy 35 % of the time"), "{screen}");
    assert!(row.is_some_and(|row| row.contains("35 %")), "{screen}");
}

/// A caution of each kind, with names as long as owners give them.
fn cautions() -> Vec<Worded> {
    let profiles = || {
        ["plain-server", "database", "desktop"]
            .map(String::from)
            .to_vec()
    };
    let pool = || "flash".to_owned();
    let reading = OddReading {
        line: 12,
        guests: 20,
        read: 26e9,
    };
    let hosts = [
        HostCaution::KindMissing {
            profiles: profiles(),
            guests: 35,
        },
        HostCaution::Overcommit,
        HostCaution::SideChannel,
        HostCaution::ScannerLate,
        HostCaution::SharingCosts,
        HostCaution::CacheLetsGoSlowly,
        HostCaution::SwapInUse,
        HostCaution::Pinned,
        HostCaution::SlowCores {
            profiles: profiles(),
            speed: 0.6,
        },
        HostCaution::TooManyVcpus {
            profiles: profiles(),
            threads: 16.0,
        },
        HostCaution::DiskWear {
            pool: pool(),
            life: 1e8,
        },
        HostCaution::SameAge { pool: pool() },
        HostCaution::ThinSpace { pool: pool() },
        HostCaution::DataSheet { pool: pool() },
        HostCaution::GrowthCapped {
            profiles: profiles(),
        },
        HostCaution::NothingBackedUp,
        HostCaution::Circuits,
        HostCaution::Restart { left_off: 3 },
        HostCaution::Estimate,
    ];
    let rollouts = [
        RolloutCaution::Killed,
        RolloutCaution::Overcommit,
        RolloutCaution::SwapInUse,
        RolloutCaution::SideChannel,
        RolloutCaution::LivedIn { busy_spells: true },
        RolloutCaution::Estimate,
    ];
    let fleets = [
        FleetCaution::NoMajority,
        FleetCaution::Restart,
        FleetCaution::Pinned,
        FleetCaution::Estimate,
    ];
    let calibrations = [
        CalibrateCaution::Outlier(reading, 25e9),
        CalibrateCaution::OutsideBounds(reading, [1e9, 2e9]),
        CalibrateCaution::LateStep(LateStep::HardlyShared {
            shared: 0.0,
            touched: 1e9,
        }),
        CalibrateCaution::FreshFlatters,
        CalibrateCaution::HeldAtBound,
        CalibrateCaution::Estimate,
    ];
    let worded = hosts.iter().map(Caution::worded);
    worded
        .chain(rollouts.iter().map(Caution::worded))
        .chain(fleets.iter().map(Caution::worded))
        .chain(calibrations.iter().map(Caution::worded))
        .collect()
}

#[test]
fn every_caution_has_a_line_of_at_most_76_characters_and_a_text() {
    for caution in cautions() {
        // What a power cut does has a sentence of its own on every screen.
        let is_said_elsewhere = caution.id == "restart" && caution.line.is_empty();
        let letters = caution.line.chars().count();
        assert!(
            (20..=76).contains(&letters) || is_said_elsewhere,
            "{letters}: {caution:?}"
        );
        assert!(caution.text.chars().count() >= letters, "{caution:?}");
    }
}

/// What is never said, and what is said for it: one term a thing, plain English, no mark of one program.
const NOT_SAID: [(&str, &str); 25] = [
    ("can be told", "can be estimated"),
    ("nothing tells", "not known"),
    ("asked about", "not part of the call"),
    ("will do", "is enough"),
    ("told by", "from"),
    ("nobody gave", "not given"),
    ("nobody knows", "not known"),
    ("mended", "corrected"),
    ("to mend", "to correct"),
    ("one that turns", "rotational"),
    ("nine times of ten", "90 % interval"),
    ("Nine times of ten", "90 % interval"),
    (
        "kernel starts killing",
        "thrashes or kills guests at the latest",
    ),
    ("kernel kills guests at", "cliff"),
    ("load line", "safe limit"),
    ("headroom", "room"),
    ("unique memory", "what a guest holds"),
    ("hypervisor", "host"),
    ("deduplicat", "page sharing"),
    ("over-commit", "overcommit"),
    ("bottleneck", "runs out first"),
    ("lets go", "shrinks"),
    ("error[", "the kind of an error is a word"),
    ("--> ", "file:line:column"),
    (" = help", "a sentence"),
];

#[test]
fn one_term_a_thing_on_screens_and_in_the_readme_help_and_manual() {
    let mut texts: Vec<(String, String)> = Vec::new();
    for file in fs::read_dir("tests/cli").expect("the folder of sessions") {
        let path = file.expect("a file").path();
        if path.extension().is_some_and(|end| end == "md") {
            texts.push((
                path.display().to_string(),
                fs::read_to_string(&path).expect("UTF-8"),
            ));
        }
    }
    assert!(texts.len() >= 4, "{}", texts.len());
    texts.push((
        "README.md".to_owned(),
        fs::read_to_string("README.md").expect("UTF-8"),
    ));
    texts.push(("manual".to_owned(), run(&["manual"]).stdout));
    for command in [
        "fit",
        "compare",
        "rollout",
        "upgrade",
        "fleet",
        "calibrate",
        "survey",
    ] {
        texts.push((command.to_owned(), run(&[command, "--help"]).stdout));
    }
    for caution in cautions() {
        texts.push((
            caution.id.to_string(),
            format!("{} {}", caution.line, caution.text),
        ));
    }
    for (name, text) in &texts {
        // Where a line ends does not matter.
        let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
        for (odd, plain) in NOT_SAID {
            let at = text.find(odd);
            let around = at.map(|at| text[..at].chars().rev().take(60).collect::<String>());
            let around = around.map(|text| text.chars().rev().collect::<String>());
            assert_eq!(around, None, "{name}: {odd:?}; say {plain:?}");
        }
    }
}
