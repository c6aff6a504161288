//! `upgrade`, `fleet` and `compare --need` as a person calls them.

use crate::support::{Session, run};

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

/// Several of a kind beside one large host: as many as hold the need, what they cost together, what one failure leaves.
#[test]
fn several_small_hosts_stand_beside_a_large_one() {
    let call = ["compare", "examples/two-boxes.toml", "--draws", "0"];
    let answer = run(&[&call[..], &["--format", "json"]].concat()).json();
    let multiples = answer["multiples"].as_array().expect("multiples");
    let most = answer["hosts"].as_array().expect("hosts").iter();
    let most = most.filter_map(|host| host["guests"].as_u64()).max();
    for one in multiples {
        let number = |key: &str| one[key].as_f64().expect(key);
        assert_eq!(one["guests"].as_u64(), most);
        let hosts = answer["hosts"].as_array().expect("hosts").iter();
        let alone = hosts
            .clone()
            .find(|host| host["name"] == one["name"])
            .expect("a host");
        let price = alone["cost"]["price"].as_f64().expect("a price");
        assert!((number("price") - number("hosts") * price).abs() < 1e-6);
        assert!(number("after_failure") <= number("guests"));
        if number("hosts") <= 1.0 {
            assert_eq!(number("after_failure"), 0.0, "nothing is left of one");
        }
    }
    let small = |all: bool| {
        let mut small = multiples.iter().filter(|one| one["name"] == "small");
        small.find(|one| (one["after_failure"] == one["guests"]) == all)
    };
    assert!(small(true).is_some(), "one number that survives a failure");
    run(&call).says(" × small hold the ").says("if one fails, ");
    run(&[&call[..], &["--full"]].concat()).says("How many of each kind hold 99 guests");
    run(&["compare", NODES, "--need", "web=24,desk=3"]).says("run on.");
    // In place of an old host they leave the same.
    let need = ["compare", NODES, "--need", "web=12,desk=1"];
    let several = run(&[&need[..], &["--format", "json"]].concat()).json();
    let old = [&need[..], &["--old", "rack"]].concat();
    let replacing = run(&[&old[..], &["--format", "json"]].concat()).json();
    let by = replacing["choice"]["replacing"]["by"]
        .as_array()
        .expect("hosts");
    assert!(by.len() > 2, "{replacing}");
    for one in by {
        let mut same = several["multiples"].as_array().expect("multiples").iter();
        let same =
            same.find(|other| (&other["name"], &other["hosts"]) == (&one["name"], &one["hosts"]));
        assert_eq!(
            same.expect("the same hosts")["after_failure"],
            one["after_failure"]
        );
    }
    run(&old).says("one fails").says("12 of 14");
}

#[test]
fn two_labs_side_by_side_say_what_is_different() {
    let labs = ["examples/shelf.toml", "examples/undecided.toml"];
    let session = Session::new().args(&["compare", labs[0], labs[1]]);
    let [before, after] =
        labs.map(|lab| run(&["fit", lab, "--draws", "0", "--format", "json"]).json());
    let answer = session.run(&["--draws", "0", "--format", "json"]).json();
    assert_eq!(
        answer["change"]["before"][0]["fits"],
        before["hosts"][0]["fits"]
    );
    let figures = answer["change"]["changes"][0]["figures"]
        .as_array()
        .expect("figures");
    let fits = figures
        .iter()
        .find(|one| one["figure"] == "fits")
        .expect("moves");
    assert_eq!(fits["before"].as_f64(), before["hosts"][0]["fits"].as_f64());
    assert_eq!(fits["after"].as_f64(), after["hosts"][0]["fits"].as_f64());
    session
        .run(&["--draws", "0"])
        .says("box in place of shelf-a: 16 guests, 35 before")
        .says("after");
    // The same lab: nothing.
    run(&["compare", "examples/shelf.toml", "examples/shelf.toml"])
        .says("the change moves nothing");
    session.run(&["--need", "web=3"]).refuses();
    run(&["compare", "examples/shelf.toml", "missing.toml"])
        .refuses()
        .reports("missing.toml");
}

#[test]
fn a_value_that_is_set_says_what_it_did() {
    let call = ["fit", "examples/shelf.toml", "--draws", "0", "--set"];
    let set = |value: &str| run(&[&call[..], &[value]].concat());
    set("host.shelf-a.memory.modules=[\"48 GiB\", \"48 GiB\"]")
        .says("By --set, shelf-a: ")
        .says("35 before");
    set("lab.name=\"other\"").says("the change moves nothing");
    // More to read at each boot changes no count, and how long all of them take.
    let slower = set("guest.web.boot_reads=200000");
    assert!(
        !slower.stdout.contains("moves nothing"),
        "{}",
        slower.stdout
    );
    run(&[&call[..], &["guest.web.boot_reads=200000", "--full"]].concat())
        .says("all guests up after a power cut in");
    assert!(!run(&call[..4]).stdout.contains("--set, "));
}
