//! Why a resource runs out first, and how its numbers are worked out.

use crate::support::{json, run};

/// The paragraph below title and answer.
fn why(args: &[&str]) -> String {
    let mut args = args.to_vec();
    args.extend(["--why", "--format", "markdown"]);
    let session = run(&args);
    session.is_silent();
    let paragraphs: Vec<&str> = session.stdout.split("\n\n").collect();
    paragraphs[2].to_owned()
}

#[test]
fn three_sentences_say_why_who_and_what_would_help() {
    let text = why(&["fit", "examples/shelf.toml"]);
    assert!(
        text.starts_with("Memory runs out first because 35 guests need 53.1 GiB of 54.3 GiB"),
        "{text}"
    );
    assert!(
        text.contains("Most of it goes to web (") && text.contains("The count would be "),
        "{text}"
    );
    assert_eq!(text.matches(". ").count() + 1, 3, "{text}");
}

#[test]
fn what_would_help_is_what_the_change_gives() {
    let answer = json(&["fit", "examples/shelf.toml", "--why"]);
    let changes = answer["hosts"][0]["why"]["changes"]
        .as_array()
        .expect("changes");
    let moved = |words: &str| {
        let found = changes.iter().find(|one| one["change"] == words);
        found.unwrap_or_else(|| panic!("{words}: {changes:?}"))["fits"].clone()
    };
    for (words, set) in [
        (
            "one more module of 32 GiB",
            "host.shelf-a.memory.modules=[\"32 GiB\", \"32 GiB\", \"32 GiB\"]",
        ),
        ("5 % of memory kept free", "policy.memory_keep_free=\"5 %\""),
        ("a risk of 1 %", "policy.memory_risk=\"1 %\""),
    ] {
        let again = json(&["fit", "examples/shelf.toml", "--set", set]);
        assert_eq!(moved(words), again["hosts"][0]["fits"], "{words}");
    }
}

#[test]
fn every_resource_has_a_reason() {
    for (set, start) in [
        (
            "policy.max_guests=12",
            "The guest limit runs out first because 12 guests need 12 of 12",
        ),
        (
            "policy.power_budget=\"30 W\"",
            "The power budget runs out first because",
        ),
        (
            "policy.max_vcpus_per_thread=1",
            "vCPUs per thread run out first because",
        ),
        (
            "policy.max_mean_wait=\"1 us\"",
            "The wait for a processor runs out first because",
        ),
        (
            "host.shelf-a.network.link=\"200 Mbit/s\"",
            "The network runs out first because",
        ),
        (
            "host.shelf-a.disk.nvme.capacity=\"60 GB\"",
            "Disk space runs out first because",
        ),
        (
            "host.shelf-a.disk.nvme.endurance=\"90 TB\"",
            "Rated disk writes run out first because",
        ),
        (
            "host.shelf-a.disk.nvme.write_iops=400",
            "Disk speed runs out first because",
        ),
        (
            "host.shelf-a.cpu.groups.1.cores=1",
            "The processor runs out first because",
        ),
        (
            "guest.web.count=400",
            "Memory is past its safe limit before any scaling guest",
        ),
    ] {
        let text = why(&["fit", "examples/shelf.toml", "--set", set]);
        assert!(text.starts_with(start), "{set}: {text}");
        assert!(
            text.contains("The count would be ") || text.contains("None of these"),
            "{set}: {text}"
        );
    }
}

#[test]
fn numbers_are_worked_out_line_by_line() {
    let text = run(&["explain", "examples/shelf.toml"]).stdout;
    let wanted = "visible\n  = (Σ modules − firmware_reserved)·(1 − 64/4096)\n  = (32 GiB + 32 GiB − 512 MiB)·(1 − 64/4096)\n  = 62.5 GiB\n";
    assert!(text.contains(wanted), "{text}");
    let page = run(&["explain", "examples/shelf.toml", "--format", "markdown"]).stdout;
    assert!(page.contains("**visible**\\\n\\= (Σ modules"), "{page}");
}

/// The changes that were tried for what runs out first on a host of two boxes.
fn tried(host: &str, sets: &[&str]) -> Vec<String> {
    let mut args = vec!["fit", "examples/two-boxes.toml", "--host", host, "--why"];
    args.extend(sets.iter().flat_map(|set| ["--set", set]));
    let answer = json(&args);
    let changes = answer["hosts"][0]["why"]["changes"]
        .as_array()
        .expect("changes");
    let words = changes
        .iter()
        .map(|one| one["change"].as_str().expect("words").to_owned());
    words.collect()
}

#[test]
fn changes_keep_to_what_the_host_can_have() {
    // The one slot is taken, and the board takes no larger module.
    let free = "policy.max_vcpus_per_thread=100";
    let taken = tried("small", &[free, "host.small.cpu.groups.1.cores=64"]);
    assert!(
        taken.iter().any(|one| one == "modules twice as large"),
        "{taken:?}"
    );
    let full = tried(
        "small",
        &[
            free,
            "host.small.cpu.groups.1.cores=64",
            "host.small.memory.max_module=\"32 GiB\"",
        ],
    );
    assert!(!full.iter().any(|one| one.contains("module")), "{full:?}");
    // Sharing is on already.
    assert!(
        !full.iter().any(|one| one.contains("page sharing")),
        "{full:?}"
    );
    let backup = tried("small", &["host.small.backup.window=\"1 min\""]);
    assert_eq!(
        backup,
        ["a window of 1.5 min", "a backup target that takes 200 MB/s"]
    );
    // A mirror grows by whole sets of copies.
    let mirror = tried(
        "tall",
        &[
            "host.tall.disk.flash.capacity=\"100 GB\"",
            "policy.power_budget=\"900 W\"",
        ],
    );
    assert!(
        mirror.iter().any(|one| one == "4 devices in flash"),
        "{mirror:?}"
    );
}
