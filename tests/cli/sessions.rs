//! Calls as a person makes them: exit status, where words go, files written whole or not at all.

use std::fs;
use std::io::{self, Write};

use berthage::command::run::run as run_program;

use crate::support::{Session, json, piped, run};

const TINY: &str = r#"
[[host]]
name = "tiny"
cpu.groups = [{ cores = 2 }]
memory.modules = ["4 GiB"]
"#;

#[test]
fn three_lines_of_host_and_three_of_guest_give_an_answer() {
    let session = Session::lab(&format!(
        "{TINY}[[guest]]\nname = \"g\"\nmemory = \"1 GiB\"\n"
    ));
    session
        .run(&["fit", "@lab.toml"])
        .answers()
        .says("tiny safely holds");
}

#[test]
fn fixed_guests_that_do_not_fit_exit_1_and_name_what_they_break() {
    let guests = "[[guest]]\nname = \"big\"\ncount = 3\nmemory = \"4 GiB\"\n[[guest]]\nname = \"g\"\nmemory = \"1 GiB\"\n";
    let session = Session::lab(&format!("{TINY}{guests}"));
    let session = session.run(&["fit", "@lab.toml", "--width", "200"]);
    session.exits(1).is_silent();
    assert!(
        session
            .stdout
            .contains("The 3 guests do not fit on tiny: memory would need "),
        "{}",
        session.stdout
    );
}

#[test]
fn one_host_that_holds_them_is_enough() {
    let large = "[[host]]
name = \"large\"
cpu.groups = [{ cores = 16 }]
memory.modules = [\"64 GiB\"]
";
    let guest = "[[guest]]\nname = \"big\"\ncount = 3\nmemory = \"4 GiB\"\n[[guest]]\nname = \"g\"\nmemory = \"1 GiB\"\n";
    let session = Session::lab(&format!("{TINY}{large}{guest}"));
    session.run(&["fit", "@lab.toml"]).exits(0);
    session
        .run(&["fit", "@lab.toml", "--host", "tiny"])
        .exits(1);
    session.run(&["compare", "@lab.toml"]).exits(0);
}

#[test]
fn wrong_calls_exit_2_and_say_how() {
    for (args, wanted) in [
        (vec!["fit", "no-such.toml"], "no-such.toml"),
        (
            vec!["fit", "examples/shelf.toml", "--host", "shelf-b"],
            "Did you mean \"shelf-a\"",
        ),
        (vec!["compare", "examples/shelf.toml"], "at least 2 hosts"),
        (
            vec!["explain", "mising-unit"],
            "Did you mean \"missing-unit\"",
        ),
        (
            vec!["explain", "no-such-kind"],
            "no kind of error `no-such-kind`",
        ),
        (
            vec!["fit", "examples/shelf.toml", "examples/two-boxes.toml"],
            "A command reads one lab",
        ),
        (
            vec!["check", "examples/shelf.toml", "--draws", "3"],
            "take --draws",
        ),
        (
            vec!["fit", "examples/shelf.toml", "--tolerance"],
            "does not take `--tolerance`",
        ),
        (
            vec!["fleet", "examples/shelf.toml", "--need", "web=3,web=4"],
            "names \"web\" twice",
        ),
        (
            vec!["fleet", "examples/shelf.toml", "--need", "web=3;runner=2"],
            "Put commas between guests",
        ),
        (vec!["fit", "examples/readings.csv"], "a table of readings"),
        (vec!["fit", "-"], "/dev/stdin"),
        (
            vec![
                "fit",
                "examples/shelf.toml",
                "--set",
                "guest.web.memori=\"4 GiB\"",
            ],
            "memory",
        ),
        (
            vec!["fit", "examples/shelf.toml", "--width", "3"],
            "from 20 to 1,000",
        ),
        (vec!["frobnicate"], "no command `frobnicate`"),
        (vec!["fti"], "Did you mean `fit`?"),
        (
            vec!["examples/shelf.toml"],
            "`berthage fit examples/shelf.toml`",
        ),
        (
            vec!["fit", "examples/shelf.toml", "--format", "jsn"],
            "Did you mean `json`?",
        ),
        (
            vec!["fit", "examples/shelf.toml", "--widht", "80"],
            "Did you mean `--width`?",
        ),
        (vec!["calibrate", "examples/shelf.toml"], "<READINGS.csv>"),
        (
            vec!["rollout", "--batch", "5", "--steps", "9", "--wait", "5min"],
            "cannot be given together",
        ),
        (vec!["fit", "examples"], "directory"),
    ] {
        let session = run(&args);
        session.exits(2);
        assert_eq!(session.stdout, "", "{args:?}");
        assert!(!session.stderr.contains("as a value, use"), "{args:?}");
        session.reports(wanted);
    }
}

#[test]
fn set_replaces_one_value() {
    let set = "host.shelf-a.memory.modules=[\"48 GiB\", \"48 GiB\"]";
    let more = json(&["fit", "examples/shelf.toml", "--set", set]);
    let plain = json(&["fit", "examples/shelf.toml"]);
    let visible =
        |answer: &serde_json::Value| answer["hosts"][0]["memory"]["visible"].as_f64().unwrap();
    // 32 GiB more, less the frame table's 64 B of 4096.
    assert_eq!(
        visible(&more) - visible(&plain),
        32.0 * 1073741824.0 * (1.0 - 64.0 / 4096.0)
    );
}

#[test]
fn output_is_written_whole_or_not_at_all() {
    let shelf = Session::new().args(&["fit", "examples/shelf.toml"]);
    let page = shelf.run(&["--format", "markdown"]).stdout;
    let session = Session::new();
    let call = [
        "fit",
        "examples/shelf.toml",
        "--format",
        "markdown",
        "--output",
        "@log.md",
    ];
    assert_eq!(session.run(&call).answers().stdout, "");
    assert_eq!(session.read("log.md"), page);
    // A wrong call later leaves it as it was, and no draft stays behind.
    session
        .run(&["fit", "no-such.toml", "--output", "@log.md"])
        .exits(2);
    assert_eq!(session.read("log.md"), page);
    assert_eq!(fs::read_dir(session.folder()).unwrap().count(), 1);
    shelf
        .run(&["--output", "@missing/log.md"])
        .exits(2)
        .reports("cannot-write");
}

#[test]
fn kinds_are_explained_in_either_case() {
    for kind in ["out-of-range", "Out-Of-Range"] {
        let heading = "out-of-range: a number";
        run(&["explain", kind]).answers().says(heading);
    }
}

#[test]
fn a_reader_that_has_gone_away_is_no_error() {
    struct Closed;
    impl Write for Closed {
        fn write(&mut self, _: &[u8]) -> io::Result<usize> {
            Err(io::ErrorKind::BrokenPipe.into())
        }
        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }
    let args = ["berthage", "fit", "examples/shelf.toml"].map(Into::into);
    let mut errors = Vec::new();
    assert_eq!(run_program(args, &piped(), &mut Closed, &mut errors), 0);
    assert!(errors.is_empty());
}

#[test]
fn help_and_version_go_to_stdout() {
    for args in [
        &["--help"][..],
        &["--version"],
        &["fit", "--help"],
        &["explain", "-h"],
        &["help"],
        &["help", "fit"],
    ] {
        let session = run(args);
        session.answers();
        assert!(!session.stdout.is_empty());
    }
}

#[test]
fn what_is_wrong_with_a_call_is_told_at_once() {
    let shelf = "examples/shelf.toml";
    for (args, parts) in [
        // Before what is missing in the lab.
        (
            vec!["compare", shelf, "--need", "web=x,nope=3", "--old", "attic"],
            vec![
                "\"web\" a whole number",
                "\"nope\" names",
                "\"attic\" names",
            ],
        ),
        (
            vec!["calibrate", shelf, "no-such.csv"],
            vec!["Name one with --guest", "no file of readings"],
        ),
        (
            vec!["fleet", shelf, "--need", "web", "--host", "attic"],
            vec!["\"web\" has no =", "\"attic\" names"],
        ),
        (
            vec![
                "rollout",
                "examples/two-boxes.toml",
                "--wait=soon",
                "--watch=-1s",
                "--at-most=0",
                "--busy-at=x",
                "--stagger=9",
            ],
            vec![
                "Name one with --host",
                "--wait must",
                "--watch must",
                "--at-most must",
                "--busy-at \"x\"",
                "--stagger must",
            ],
        ),
        (
            vec![
                "fit",
                shelf,
                "--draws",
                "1000000",
                "--chart",
                "picture.png",
                "--output",
                "no-such-folder/log.md",
            ],
            vec!["picture.png is none", "there is no folder no-such-folder"],
        ),
    ] {
        let session = run(&args);
        session.exits(2);
        assert!(
            !session.stderr.contains("at least 2 hosts"),
            "{}",
            session.stderr
        );
        for part in parts {
            session.reports(part);
        }
    }
}

#[test]
fn readings_are_refused_with_what_would_do() {
    let shelf = ["calibrate", "examples/shelf.toml", "--guest", "web"];
    let session = Session::new()
        .file(
            "readings.csv",
            "guests,memory_used
5,1e300 GiB
",
        )
        .args(&shelf);
    session
        .run(&["@readings.csv"])
        .exits(2)
        .reports("`1e300 GiB`, but the host sees");
    session
        .run(&["examples/readings.csv", "--hold-out", "5"])
        .exits(2)
        .reports("Hold out at most 4");
}

#[test]
fn a_host_that_is_too_small_for_itself_kills_no_guests() {
    let session = Session::lab(&format!(
        "{TINY}memory.base = \"3.44 GiB\"\n[[guest]]\nname = \"g\"\nmemory = \"1 GiB\"\n"
    ));
    let session = session.run(&["fit", "@lab.toml", "--width", "200"]);
    let words = session.exits(1).words();
    let told = "tiny cannot be run safely even without guests: nothing is left of memory.";
    assert!(words.contains(told), "{words}");
    assert!(!words.contains("killed"), "{words}");
}

#[test]
fn an_output_that_is_full_is_told_as_that() {
    struct Full;
    impl Write for Full {
        fn write(&mut self, _: &[u8]) -> io::Result<usize> {
            Err(io::ErrorKind::StorageFull.into())
        }
        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }
    let args = ["berthage", "fit", "examples/shelf.toml"].map(Into::into);
    let mut errors = Vec::new();
    assert_eq!(run_program(args, &piped(), &mut Full, &mut errors), 2);
    let told = String::from_utf8(errors).unwrap();
    assert!(told.contains("Make room"), "{told}");
}
