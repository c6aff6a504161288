//! Inputs that a program of this kind has been broken with: each is refused or answered, soon and truly.

use std::fs::read_to_string;

use berthage::model::GIB;
use berthage::unit::printable::is_printable;
use serde_json::{Value, from_str};

use crate::support::{PLAIN_HOST, Session, lab, run};

const SHELF: &str = "examples/shelf.toml";

#[test]
fn guests_that_must_run_and_do_not_all_start_are_not_safe() {
    for count in ["1000", "100000"] {
        let set = format!("guest.web.count={count}");
        let ended = run(&["rollout", SHELF, "--draws", "0", "--set", &set]);
        ended.exits(1).says("Not safe");
        let json = run(&[
            "rollout", SHELF, "--draws", "0", "--format", "json", "--set", &set,
        ]);
        let answer: Value = json.exits(1).json();
        assert_eq!(answer["safe"], false, "{answer}");
    }
}

#[test]
fn values_that_are_a_mistake_are_refused_with_one_that_would_do() {
    for (set, range, example) in [
        (
            "guest.web.boot_time=\"1000 years\"",
            "between 0 s and 1 day",
            "boot_time = \"20 ms\"",
        ),
        (
            "guest.web.boot_cpu=1e7",
            "between 0 and 1,000,000",
            "boot_cpu = 2",
        ),
        (
            "host.shelf-a.merging.interval=\"17 us\"",
            "between 100 ms and 1 day",
            "interval = \"6 h\"",
        ),
        (
            "host.shelf-a.disk.nvme.sustained_speed=\"10 B/s\"",
            "between 100 kB/s and",
            "sustained_speed = \"450 MB/s\"",
        ),
    ] {
        let ended = run(&["fit", SHELF, "--set", set]);
        ended.refuses().reports(range).reports(example);
    }
}

/// Work that grows with what was typed has a bound: none of these may take minutes.
#[test]
fn large_numbers_are_answered() {
    for args in [
        &["rollout", SHELF, "--draws", "0", "--target", "1000000"][..],
        &[
            "rollout", SHELF, "--draws", "0", "--seed", "1", "--spell", "1s",
        ],
        &[
            "rollout", SHELF, "--draws", "0", "--wait", "30 days", "--batch", "1",
        ],
        &[
            "fit",
            SHELF,
            "--draws",
            "20",
            "--set",
            "guest.web.count=1000000",
        ],
        &[
            "upgrade",
            SHELF,
            "--draws",
            "20",
            "--set",
            "guest.web.count=1000000",
        ],
    ] {
        let ended = run(args);
        assert!(ended.status <= 1 && ended.stderr.is_empty(), "{args:?}");
    }
}

#[test]
fn compressed_swap_is_refused_from_what_the_kernel_sees_on() {
    let text = format!(
        "{PLAIN_HOST}memory.base = \"1 GiB\"\n[[guest]]\nname = \"web\"\nmemory = \"1 GiB\"\n"
    );
    let memory = &lab(&text).hosts[0].memory;
    // Modules less what firmware holds back and 64 bytes for each page of 4 KiB, stored at half the size.
    let bound = 2.0 * (64.0 * GIB - memory.firmware_reserved) * (1.0 - 64.0 / 4096.0) / GIB;
    let set = |gib: f64| {
        let set = format!("host.box.memory.compressed_swap=\"{gib} GiB\"");
        Session::lab(&text)
            .args(&["check", "@lab.toml"])
            .set(&[&set])
            .run(&[])
    };
    set(bound - 0.01).answers();
    set(bound + 0.01)
        .refuses()
        .reports("must be less than the kernel sees");
    let schema = run(&["schema", "inventory"]);
    schema
        .answers()
        .says("over its ratio less than the kernel sees");
}

#[test]
fn where_nothing_runs_nothing_comes_back() {
    let session = Session::lab(&format!(
        "{PLAIN_HOST}memory.base = \"1 GiB\"\n[[guest]]\nname = \"web\"\nmemory = \"1 GiB\"\n"
    ));
    let restart = |memory: &str| {
        let set = format!("guest.web.memory=\"{memory}\"");
        let answer = session.run(&["fit", "@lab.toml", "--format", "json", "--set", &set]);
        let host = answer.json()["hosts"][0].take();
        // Null, and not left out.
        host.get("restart").expect("a value").clone()
    };
    assert!(restart("1 GiB").is_object());
    assert_eq!(restart("100 GiB"), Value::Null);
}

/// More than is weighed together is refused, whatever room the files have for it.
#[test]
fn more_than_a_command_can_weigh_is_refused() {
    let many =
        |number: usize, table: &dyn Fn(usize) -> String| (0..number).map(table).collect::<String>();
    let guest = |i: usize| format!("[[guest]]\nname = \"g{i}\"\nmemory = \"1 GiB\"\n");
    let host = |i: usize| format!("{}\n", PLAIN_HOST.replace("box", &format!("h{i}")));
    let pool = |i: usize| format!("[[host.disk]]\nname = \"p{i}\"\ncapacity = \"1 TB\"\n");
    let missing = "\"x\", ".repeat(2_000);
    for (lab, reason) in [
        (
            PLAIN_HOST.to_owned() + &many(1_001, &guest),
            "more than 1000 tables [[guest]]",
        ),
        (
            many(10_001, &host) + &guest(0),
            "more than 10000 tables [[host]]",
        ),
        (
            PLAIN_HOST.to_owned() + &many(1_025, &pool) + &guest(0),
            "more than 1024 tables [[host.disk]]",
        ),
        (
            format!("include = [{missing}]\n{PLAIN_HOST}{}", guest(0)),
            "there is no file",
        ),
        (
            many(501, &host) + &guest(0),
            "at most 500 hosts, but 501 are meant",
        ),
    ] {
        let ended = Session::lab(&lab).run(&["fit", "@lab.toml"]);
        ended.refuses().reports(reason);
        assert!(ended.stderr.len() < 200_000, "{reason}");
    }
}

/// Letters that move the cursor, turn the order or hide: no text of a lab may hold them, but the name of its file may.
#[test]
fn no_answer_shows_a_letter_that_is_none() {
    let odd = "x\u{9b}31m\u{202e}\u{e0041}\u{fffe}\u{61c}y";
    let text = read_to_string(SHELF).unwrap();
    let is_shown = |letter: &char| *letter == '\n' || is_printable(*letter);
    for key in ["name", "currency", "matches", "image"] {
        let line = format!("{key} = \"{odd}\"\n");
        let lab = match key {
            "name" | "currency" => {
                text.replacen(&format!("{key} = \""), &line.replace("\"\n", ""), 1)
            }
            _ => format!("{text}\n[[guest]]\nname = \"more\"\nmemory = \"1 GiB\"\n{line}"),
        };
        let ended = Session::lab(&lab).run(&["check", "@lab.toml"]);
        assert!(
            ended
                .refuses()
                .stderr
                .chars()
                .all(|letter| is_shown(&letter)),
            "{key}"
        );
    }
    let name = format!("{odd}.toml");
    let session = Session::new().file(&name, &text);
    let (file, picture) = (format!("@{name}"), session.path("run.svg"));
    for command in ["fit", "compare", "explain", "upgrade", "fleet", "check"] {
        for format in ["text", "markdown", "csv", "json"] {
            let draws: &[&str] = match command {
                "fit" | "compare" | "upgrade" => &["--draws", "20"],
                _ => &[],
            };
            let ended = session.run(&[&[command, &file, "--format", format], draws].concat());
            let mut shown = ended.stdout.chars().chain(ended.stderr.chars());
            assert_eq!(
                shown.find(|letter| !is_shown(letter)),
                None,
                "{command} {format}"
            );
            if format == "json" && ended.status < 2 {
                from_str::<Value>(&ended.stdout).expect("JSON");
            }
        }
    }
    session
        .run(&["fit", &file, "--draws", "0", "--chart", &picture])
        .exits(0);
    let drawn = session.read("run.svg");
    assert_eq!(drawn.chars().find(|letter| !is_shown(letter)), None);
}
