//! `explain` as it is called: one host, its exit status, cautions, kinds of errors.

use crate::support::run;

#[test]
fn one_host_is_explained_and_more_are_refused() {
    let lab = "examples/two-boxes.toml";
    run(&["explain", lab, "--host", "tall", "--host", "small"])
        .refuses()
        .reports("ambiguous-host");
    run(&["explain", lab, "--host", "tall", "--host", "tall"]).exits(0);
}

#[test]
fn what_must_run_and_does_not_fit_is_status_1_here_too() {
    let small = "host.lectern.memory.modules=[\"8 GiB\"]";
    let swap = "host.lectern.memory.compressed_swap=\"0 B\"";
    for command in ["fit", "explain"] {
        run(&[
            command,
            "examples/classroom.toml",
            "--set",
            small,
            "--set",
            swap,
        ])
        .exits(1)
        .is_silent();
    }
}

#[test]
fn cautions_stand_in_every_format() {
    let lab = "examples/shelf.toml";
    for format in ["text", "markdown", "json", "csv"] {
        let session = run(&["explain", lab, "--format", format, "--width", "1000"]);
        let text = session
            .stdout
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ");
        assert!(text.contains("estimate from the numbers given"), "{format}");
    }
}

#[test]
fn examples_of_codes_can_be_copied() {
    let text = run(&["explain", "syntax-error"]).stdout;
    assert!(!text.contains("\n- "), "{text}");
    assert!(text.contains("\n    "), "{text}");
    let markdown = run(&["explain", "syntax-error", "--format", "markdown"]).stdout;
    assert!(markdown.contains("~~~text\n"), "{markdown}");
}
