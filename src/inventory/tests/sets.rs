//! `--set PATH=VALUE`.

use super::super::load_text;
use super::{EVERYTHING, GUEST, HOST};
use crate::diagnose::ErrorKind;
use crate::lab::Source;

fn set(arguments: &[&str]) -> Result<super::Lab, super::Diagnostics> {
    let arguments: Vec<String> = arguments.iter().map(ToString::to_string).collect();
    load_text("lab.toml", EVERYTHING, &arguments)
}

#[test]
fn values_are_put_over_the_file() {
    let lab = set(&[
        "guest.web.memory=\"4 GiB\"",
        "host.\"shelf a\".disk.fast.devices = 2",
        "host.'shelf a'.cpu.groups=[{ cores = 4 }]",
        "policy.memory_risk=0.01",
        "lab.years=7",
        "image.small.size=\"2 GB\"",
        "host.\"shelf a\".memory.module_prices.\"64 GiB\"=250",
        "guest.web.count=4",
        "guest.web.touched=\"300 MiB\"",
        "guest.web.common=\"100 MiB\"",
    ])
    .unwrap_or_else(|errors| panic!("{errors}"));
    let host = &lab.hosts[0];
    assert_eq!(lab.guests[0].memory, 4.0 * 1024.0 * 1024.0 * 1024.0);
    assert_eq!(
        (
            host.disks[0].devices,
            host.cpu.groups.len(),
            host.cpu.groups[0].cores
        ),
        (2, 1, 4)
    );
    assert_eq!(
        (lab.policy.memory_risk, lab.years, lab.images[0].size),
        (0.01, 7.0, 2e9)
    );
    assert_eq!(host.memory.module_prices.len(), 3);
    assert_eq!((lab.guests[0].count, lab.guests[0].share), (4, None));
    assert_eq!(lab.origins["guest.web.memory"].source, Source::CommandLine);
    assert_eq!(lab.origins["guest.web.memory"].text, "4 GiB");
    assert!(lab.uncertain.is_empty());
}

#[test]
fn a_share_takes_the_place_of_a_count() {
    let guest = "[[guest]]\nname = \"c\"\nmemory = \"1 GiB\"\ncount = 3\n";
    let arguments = ["guest.c.share=2".to_owned()];
    let lab = load_text("lab.toml", &format!("{HOST}{guest}"), &arguments)
        .unwrap_or_else(|errors| panic!("{errors}"));
    assert_eq!((lab.guests[0].count, lab.guests[0].share), (0, Some(2.0)));
}

#[test]
fn the_last_one_wins_and_groups_have_numbers() {
    let lab = set(&[
        "lab.years=7",
        "lab.years=8",
        "host.\"shelf a\".cpu.groups.2.cores=16",
    ]);
    let lab = lab.unwrap_or_else(|errors| panic!("{errors}"));
    assert_eq!((lab.years, lab.hosts[0].cpu.groups[1].cores), (8.0, 16));
}

#[test]
fn what_the_file_leaves_out_can_be_set() {
    let arguments = [
        "policy.cpu_slowdown=3",
        "host.shelf-a.network.link=\"1 Gbit/s\"",
        "lab.name=\"x\"",
    ]
    .map(str::to_owned);
    let lab = load_text("lab.toml", &format!("{HOST}{GUEST}"), &arguments)
        .unwrap_or_else(|errors| panic!("{errors}"));
    assert_eq!(
        (
            lab.policy.cpu_slowdown,
            lab.hosts[0].link,
            lab.name.as_str()
        ),
        (3.0, Some(1e9), "x")
    );
}

#[test]
fn wrong_paths_and_values_are_refused_together() {
    let cases = [
        (
            "guest.wbe.memory=\"4 GiB\"",
            ErrorKind::UnknownPath,
            "did you mean `web`?",
        ),
        (
            "guest.web.memroy=\"4 GiB\"",
            ErrorKind::UnknownPath,
            "did you mean `memory`?",
        ),
        (
            "guests.web.memory=\"4 GiB\"",
            ErrorKind::UnknownPath,
            "did you mean `guest`?",
        ),
        (
            "host.\"shelf a\".disk.fats.devices=2",
            ErrorKind::UnknownPath,
            "did you mean `fast`?",
        ),
        (
            "host.\"shelf a\".cpu.groups.3.cores=2",
            ErrorKind::UnknownPath,
            "from 1 to 2",
        ),
        (
            "host.\"shelf a\".price.x=2",
            ErrorKind::UnknownPath,
            "end the path",
        ),
        ("guest.web=2", ErrorKind::UnknownPath, "go on"),
        ("guest=2", ErrorKind::UnknownPath, "go on"),
        (
            "guest.web.memory",
            ErrorKind::InvalidSet,
            "--set 'guest.web",
        ),
        (
            "guest.web.memory=",
            ErrorKind::InvalidSet,
            "--set 'guest.web",
        ),
        (
            "guest.web.memory=4 GiB",
            ErrorKind::InvalidSet,
            "--set 'guest.web",
        ),
        ("host.shelf a.price=2", ErrorKind::InvalidSet, "quote names"),
        ("=2", ErrorKind::InvalidSet, "quote names"),
        ("", ErrorKind::InvalidSet, "--set 'guest.web"),
        (
            "guest.web.memory=4",
            ErrorKind::MissingUnit,
            "\"4 GiB\" or \"4 GB\"",
        ),
        (
            "guest.web.memory=\"900 MiB\"",
            ErrorKind::PartExceedsWhole,
            "lower the one",
        ),
    ];
    let all: Vec<&str> = cases.iter().map(|case| case.0).collect();
    for (argument, code, hint) in cases {
        let errors = set(&[argument]).expect_err(argument);
        assert_eq!(errors.list()[0].kind, code, "{argument}: {errors}");
        let told = errors.to_string().to_lowercase();
        assert!(told.contains(&hint.to_lowercase()), "{argument}: {errors}");
    }
    let together = set(&all).expect_err("all of them");
    assert!(together.list().len() >= cases.len() - 2, "{together}");
}
