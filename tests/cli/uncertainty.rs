//! `fit --draws` as a person calls it.

use crate::support::run;

const LAB: &str = "examples/undecided.toml";

#[test]
fn every_format_has_the_interval_and_nothing_goes_to_stderr() {
    let with = |format| {
        run(&[
            "fit", LAB, "--draws", "300", "--format", format, "--width", "100",
        ])
    };
    for (format, wanted) in [
        ("text", "90 % hold between"),
        ("markdown", "measure first"),
        ("csv", "box,interval,,median,"),
        (
            "json",
            "\"interval\": {\n        \"draws\": 300,\n        \"seed\": 1,",
        ),
    ] {
        let session = with(format);
        assert_eq!((session.status, session.stderr.as_str()), (0, ""));
        assert!(
            session.stdout.contains(wanted),
            "{format}: {}",
            session.stdout
        );
    }
}

#[test]
fn without_draws_there_is_no_interval() {
    let session = run(&["fit", LAB, "--format", "json"]);
    assert!(!session.stdout.contains("\"interval\""));
    assert_eq!(run(&["fit", LAB, "--seed", "3"]).status, 2);
    assert_eq!(run(&["fit", LAB, "--draws", "0"]).status, 2);
}

#[test]
fn a_lab_without_uncertain_values_says_so() {
    let session = run(&[
        "fit",
        "examples/shelf.toml",
        "--draws",
        "10",
        "--width",
        "200",
    ]);
    assert_eq!(session.status, 0);
    assert!(
        session
            .stdout
            .contains("Nothing that this answer depends on"),
        "{}",
        session.stdout
    );
}
