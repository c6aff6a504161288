//! Lines of readings: rates between two of them, and files that are appended to.

use std::fs;

use berthage::calibrate::readings::read;
use berthage::survey::Root;
use berthage::survey::reading::{Settled, Snapshot, headings};

use super::tables::tree;
use crate::support::{Session, run};

/// One cell of a line.
fn cell<'a>(line: &'a str, column: &str) -> &'a str {
    let index = headings()
        .iter()
        .position(|name| *name == column)
        .expect("a column");
    line.split(',').nth(index).expect("a cell")
}

#[test]
fn a_single_reading_of_a_copied_tree() {
    let root = Root::new(&tree("plain")).expect("a tree");
    let line = Snapshot::take(&root, 0.0).line(None, 12, Settled::Yes);
    assert_eq!(cell(&line, "time"), "1970-01-01T00:00:00Z");
    assert_eq!(
        (cell(&line, "guests"), cell(&line, "settled")),
        ("12", "yes")
    );
    assert_eq!(
        cell(&line, "memory_used"),
        (25_536_000u64 * 1024).to_string()
    );
    assert_eq!(cell(&line, "profit"), "3356895232");
    // Without a second look there are averages of the last minute, and no rates.
    assert_eq!(
        (cell(&line, "cpu_pressure"), cell(&line, "swap_in")),
        ("0.0125", "")
    );
    assert!(line.ends_with(",3032090624"), "{line}");
}

#[test]
fn calibrate_reads_every_column() {
    let root = Root::new(&tree("mirror")).expect("a tree");
    let snapshot = Snapshot::take(&root, 1e9);
    let line = snapshot.line(Some(&snapshot), 12, Settled::Yes);
    let text = format!("{}\n{line}\n", snapshot.header());
    let readings = read("readings.csv", &text, 16_100_000.0 * 1024.0)
        .unwrap_or_else(|errors| panic!("{errors}"));
    let reading = &readings.list[0];
    assert!(readings.unused.is_empty(), "{:?}", readings.unused);
    assert_eq!(
        (reading.at, reading.guests, reading.settled),
        (Some(1e9), 12, Settled::Yes)
    );
    assert_eq!(reading.used, 10_100_000.0 * 1024.0);
    assert_eq!(reading.swap_used, Some(4_582_908.0 * 1024.0));
    assert_eq!(reading.written, Some((2000.0 + 2000.0 + 4000.0) * 512.0));
}

#[test]
fn rates_are_over_the_time_between() {
    let folder = tempfile::tempdir().expect("a folder");
    let proc = folder.path().join("proc");
    fs::create_dir_all(proc.join("pressure")).expect("a folder");
    let write = |pressure: &str, swap: &str| {
        fs::write(
            proc.join("pressure/memory"),
            format!("some avg10=0 avg60=90.0 avg300=0 total={pressure}\n"),
        )
        .expect("a file");
        fs::write(
            proc.join("vmstat"),
            format!("pswpin {swap}\npswpout {swap}\n"),
        )
        .expect("a file");
    };
    let root = Root::new(folder.path()).expect("a tree");
    write("1000000", "100");
    let before = Snapshot::take(&root, 1000.0);
    write("4000000", "700");
    let line = Snapshot::take(&root, 1060.0).line(Some(&before), 1, Settled::Unknown);
    // Kernel documentation, pressure stall information: 3 s of 60 s.
    assert_eq!(cell(&line, "memory_pressure"), "0.0500");
    assert_eq!(cell(&line, "swap_in"), "40960");
    // A host that was started again counts from nothing.
    write("10", "0");
    let after = Snapshot::take(&root, 1120.0).line(Some(&before), 1, Settled::Unknown);
    assert_eq!(
        (cell(&after, "memory_pressure"), cell(&after, "swap_in")),
        ("0.9000", "")
    );
}

#[test]
fn whole_lines_are_appended() {
    let tree_name = tree("plain");
    let root = tree_name.to_str().expect("a path");
    let session = Session::new();
    let call = ["--reading", "--guests", "3", "--output", "@readings.csv"];
    let take =
        |more: &[&str]| session.run(&[&["survey", "--root", root], &call[..], more].concat());
    let file = session.path("readings.csv");
    let ended = take(&["--every", "20ms", "--for", "50 ms"]);
    assert_eq!(ended.answers().stdout, "");
    let text = fs::read_to_string(&file).expect("a file");
    assert_eq!(text.lines().count(), 4, "{text}");
    assert!(text.ends_with('\n'));
    // An editor left the last line open; a further reading still starts on a line of its own.
    fs::write(&file, text.trim_end()).expect("a file");
    take(&[]).exits(0);
    let longer = fs::read_to_string(&file).expect("a file");
    assert_eq!(longer.lines().count(), 5);
    let cells: Vec<usize> = longer.lines().map(|line| line.split(',').count()).collect();
    assert!(cells.iter().all(|count| *count == cells[0]), "{longer}");
    // Readings of another host do not belong below these headings.
    let other = tree("odd");
    let root = other.to_str().expect("a path");
    session
        .run(&[&["survey", "--root", root], &call[..]].concat())
        .exits(2)
        .reports("different-columns");
    assert_eq!(fs::read_to_string(&file).expect("a file"), longer);
}

#[test]
fn calls_that_make_no_sense_are_refused() {
    for args in [
        &["survey", "--reading"][..],
        &["survey", "--every", "1 s", "--guests", "1"],
        &["survey", "--reading", "--guests", "1", "--for", "1 s"],
        &["survey", "--reading", "--guests", "1", "--every", "1"],
        &["survey", "--reading", "--guests", "1", "--every", "0 s"],
        &["survey", "--name", ""],
    ] {
        run(args).exits(2);
    }
}
