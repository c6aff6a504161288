//! `fit --draws` as a person calls it.

use crate::support::run;

const LAB: &str = "examples/undecided.toml";

#[test]
fn every_format_has_the_interval_and_nothing_goes_to_stderr() {
    let with = |format| {
        run(&[
            "fit", LAB, "--full", "--draws", "300", "--format", format, "--width", "100",
        ])
    };
    for (format, wanted) in [
        ("text", "90 % hold between"),
        ("markdown", "measure first"),
        ("csv", "hosts/interval,box,draws,300\n"),
        (
            "json",
            "\"interval\": {\n        \"draws\": 300,\n        \"seed\": 1,",
        ),
    ] {
        let session = with(format);
        session.answers().says(wanted);
    }
}

#[test]
fn without_draws_there_is_no_interval() {
    let session = run(&["fit", LAB, "--format", "json"]);
    assert!(!session.stdout.contains("\"interval\""));
    run(&["fit", LAB, "--seed", "3"]).exits(2);
    run(&["fit", LAB, "--draws", "0"]).exits(2);
}

#[test]
fn a_lab_without_uncertain_values_says_so() {
    run(&[
        "fit",
        "examples/shelf.toml",
        "--draws",
        "10",
        "--full",
        "--width",
        "200",
    ])
    .exits(0)
    .says("Nothing that this answer depends on");
}
