//! `upgrade`, `fleet` and `compare --need` as a person calls them.

use crate::support::run;

const NODES: &str = "examples/three-nodes.toml";
const UNDECIDED: &str = "examples/undecided.toml";
const THREE: [&str; 6] = ["--host", "north", "--host", "south", "--host", "attic"];

/// Answers with status 0 in a format, says nothing on stderr, and holds what is wanted.
fn holds(args: &[&str], format: &str, wanted: &str) {
    run(&[args, &["--format", format]].concat())
        .answers()
        .says(wanted);
}

#[test]
fn every_format_has_the_purchases() {
    for (format, wanted) in [
        ("text", "memory: 2 × 32 GiB (replaces 2 × 16 GiB)"),
        ("markdown", "replaces 2 × 16 GiB"),
        ("csv", ",price,190\n"),
        ("json", "\"report\": \"upgrade\""),
    ] {
        holds(&["upgrade", UNDECIDED, "--width", "140"], format, wanted);
    }
}

#[test]
fn upgrade_answers_for_one_host() {
    run(&["upgrade", NODES]).exits(2).reports("ambiguous-host");
    run(&["upgrade", NODES, "--host", "north"]).exits(0);
    run(&["upgrade", UNDECIDED, "--budget", "-5"]).exits(2);
}

#[test]
fn every_format_has_the_placement() {
    let args = [&["fleet", NODES, "--spare", "1"][..], &THREE].concat();
    for (format, wanted) in [
        ("text", "survives losing any 1"),
        ("markdown", "survives losing any 1"),
        ("csv", ",,survives,true\n"),
        ("json", "\"survives\": true"),
    ] {
        holds(&args, format, wanted);
    }
}

#[test]
fn guests_left_over_exit_1_with_the_reason_and_two_hosts_have_no_majority() {
    let session = run(&[
        "fleet",
        NODES,
        "--spare",
        "1",
        "--need",
        "web=10,desk=2",
        "--host",
        "north",
        "--host",
        "south",
    ]);
    session.exits(1);
    for wanted in ["left over", "not after the loss of any 1", "no majority"] {
        session.says(wanted);
    }
}

#[test]
fn wrong_needs_are_refused() {
    run(&["fleet", NODES, "--need", "web=2,"]).exits(0);
    for (need, code) in [
        ("web", "invalid-need"),
        ("web=few", "invalid-need"),
        ("webb=3", "unknown-need"),
        ("", "invalid-need"),
        ("web=2,,desk=1", "invalid-need"),
    ] {
        run(&["fleet", NODES, "--need", need])
            .exits(2)
            .reports(code);
    }
    run(&["fleet", UNDECIDED, "--need", "web=0"]).reports("nothing-to-place");
    run(&["fleet", NODES, "--spare", "4"]).reports("too-many-spares");
}

#[test]
fn every_format_has_the_ranking() {
    for (format, wanted) in [
        ("text", "2 × north"),
        ("markdown", "pays back in"),
        ("csv", "choice/replacing/by,north,price,"),
        ("json", "\"replacing\": {"),
    ] {
        run(&[
            "compare",
            NODES,
            "--need",
            "web=24,desk=3",
            "--old",
            "rack",
            "--format",
            format,
            "--width",
            "120",
        ])
        .answers()
        .says(wanted);
    }
}

#[test]
fn a_need_that_no_host_holds_exits_1() {
    run(&["compare", NODES, "--need", "web=900"])
        .exits(1)
        .says("0 of 4 hosts hold");
    run(&["compare", NODES, "--need", "web=4"]).exits(0);
    run(&["compare", NODES, "--old", "rick"]).exits(2);
    // The old host alone, in the lab or in the call: nothing to put in its place, so nothing is answered.
    for call in [
        &["compare", UNDECIDED, "--old", "box"][..],
        &["compare", NODES, "--host", "rack", "--old", "rack"],
    ] {
        run(call)
            .refuses()
            .reports("too-few-hosts")
            .reports("Add a [[host]]");
    }
}

#[test]
fn side_by_side_says_when_the_dearer_one_has_paid_back() {
    let call = ["compare", "examples/two-boxes.toml", "--format", "markdown"];
    // The dearer host holds more, so it is not said to never pay back.
    run(&call).says("and holds 77 more; with the same guests it saves no energy");
    let equal = ["--set", "policy.max_guests=12"];
    run(&[&call[..], &equal].concat()).says("never pays back");
}
