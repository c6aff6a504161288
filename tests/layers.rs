//! The shape of the sources: which room may use which, no circle of files, no long function.

mod paths;
mod source;

use std::collections::BTreeSet;
use std::fmt::Write as _;

use paths::{Use, circles, functions, uses};
use source::{Source, sources};

/// What each room may use, a row a room.
const ROOMS: &[(&str, &str)] = &[
    ("pipe", ""),
    ("unit", ""),
    ("diagnose", "unit"),
    ("lab", "unit diagnose"),
    ("inventory", "lab unit diagnose pipe"),
    ("model", "lab unit"),
    ("sizing", "model lab unit"),
    ("rollout", "sizing model lab unit"),
    ("explain", "sizing model lab unit"),
    ("fleet", "rollout sizing model lab unit"),
    ("purchase", "fleet rollout sizing model lab unit"),
    ("survey", "model inventory lab unit diagnose"),
    (
        "calibrate",
        "survey sizing model inventory lab unit diagnose",
    ),
    (
        "words",
        "calibrate survey purchase fleet explain rollout sizing model lab unit",
    ),
    (
        "report",
        "words calibrate survey purchase fleet explain rollout sizing model lab unit",
    ),
    ("cli", "purchase survey inventory lab unit diagnose"),
    (
        "command",
        "cli report words calibrate survey purchase fleet explain rollout sizing model inventory \
         lab diagnose unit pipe",
    ),
    ("main", "command"),
];

/// Uses against the table: a file and a room. This list may only shrink.
const KNOWN_USES: &[(&str, &str)] = &[];

/// Files that are still part of a circle. This list may only shrink.
const KNOWN_CIRCLES: &[&str] = &[];

/// Functions that are still too long. This list may only shrink.
const KNOWN_LONG: &[&str] = &[];

/// The most lines of code in a function.
const MOST_LINES: usize = 60;

#[test]
fn rooms_use_only_rooms_below_them() {
    let sources = sources();
    let uses = uses(&sources);
    let mut wrong = BTreeSet::new();
    let mut message = String::new();
    for step in &uses {
        let (from, to) = (room(&step.from), room(&step.to));
        let allowed = ROOMS.iter().find(|(room, _)| *room == from);
        let (_, allowed) = allowed.unwrap_or_else(|| panic!("{from} has no row in ROOMS"));
        if from == to || allowed.split_whitespace().any(|room| room == to) {
            continue;
        }
        wrong.insert((step.from.clone(), to.to_owned()));
        let known = KNOWN_USES.contains(&(step.from.as_str(), to));
        if !known {
            let _ = writeln!(message, "{}", sentence(step));
        }
    }
    assert!(
        message.is_empty(),
        "rooms that may not be used from there:\n{message}"
    );
    let is_wrong =
        |(file, room): &&(&str, &str)| !wrong.contains(&((*file).to_owned(), (*room).to_owned()));
    let gone: Vec<_> = KNOWN_USES.iter().filter(is_wrong).collect();
    assert!(
        gone.is_empty(),
        "no longer so, take out of KNOWN_USES: {gone:?}"
    );
}

#[test]
fn no_circle_of_files() {
    let sources = sources();
    let uses = uses(&sources);
    let circles = circles(&uses);
    let mut message = String::new();
    for circle in &circles {
        if circle.iter().all(|file| KNOWN_CIRCLES.contains(file)) {
            continue;
        }
        let _ = writeln!(message, "{} files in a circle:", circle.len());
        for step in uses
            .iter()
            .filter(|step| circle.contains(step.from.as_str()))
        {
            if circle.contains(step.to.as_str()) {
                let _ = writeln!(message, "    {}", sentence(step));
            }
        }
    }
    assert!(message.is_empty(), "files that use each other:\n{message}");
    let in_circles: BTreeSet<&str> = circles.iter().flatten().copied().collect();
    let gone: Vec<_> = KNOWN_CIRCLES
        .iter()
        .filter(|file| !in_circles.contains(*file))
        .collect();
    assert!(
        gone.is_empty(),
        "no longer so, take out of KNOWN_CIRCLES: {gone:?}"
    );
}

#[test]
fn functions_are_short() {
    let sources = sources();
    let long: Vec<_> = sources
        .iter()
        .flat_map(functions)
        .filter(|function| function.lines > MOST_LINES)
        .collect();
    let mut message = String::new();
    for function in long
        .iter()
        .filter(|function| !KNOWN_LONG.contains(&function.name.as_str()))
    {
        let _ = writeln!(message, "{}: {} lines", function.name, function.lines);
    }
    assert!(
        message.is_empty(),
        "functions of more than {MOST_LINES} lines of code:\n{message}"
    );
    let is_long = |name: &&&str| !long.iter().any(|function| function.name == **name);
    let gone: Vec<_> = KNOWN_LONG.iter().filter(is_long).collect();
    assert!(
        gone.is_empty(),
        "no longer so, take out of KNOWN_LONG: {gone:?}"
    );
}

#[test]
fn rows_name_only_rooms_of_rows_above() {
    for (row, (room, allowed)) in ROOMS.iter().enumerate() {
        for used in allowed.split_whitespace() {
            let is_above = ROOMS[..row].iter().any(|(above, _)| *above == used);
            assert!(is_above, "{room} may use {used}, which has no row above it");
        }
    }
}

#[test]
fn uses_are_followed_to_where_the_item_is() {
    let made_up = [
        ("lib.rs", "pub mod a; pub mod b;"),
        ("a/mod.rs", "mod c; pub use c::Item; // use crate::b::B;"),
        (
            "a/c.rs",
            "pub struct Item; pub fn f() -> &'static str { \"crate::b::B\" }",
        ),
        (
            "b.rs",
            "use crate::a::{self, Item as Thing}; fn g() { a::f(); Thing::h(super::a::Item) }",
        ),
    ];
    let sources = made_up.map(|(name, text)| Source::of(name, text));
    let found = uses(&sources);
    let pairs: Vec<_> = found
        .iter()
        .map(|step| (step.from.as_str(), step.to.as_str()))
        .collect();
    assert_eq!(
        pairs,
        [
            ("a/mod.rs", "a/c.rs"),
            ("b.rs", "a/c.rs"),
            ("b.rs", "a/mod.rs")
        ]
    );
    assert!(circles(&found).is_empty());
    let back = Source::of("a/c.rs", "use crate::b::B;");
    let [root, a, _, b] = sources;
    let found = uses(&[root, a, back, b]);
    assert_eq!(
        circles(&found),
        [BTreeSet::from(["a/c.rs", "a/mod.rs", "b.rs"])]
    );
}

/// `report` for `report/fit.rs`, `pipe` for `pipe.rs`.
fn room(name: &str) -> &str {
    name.split('/')
        .next()
        .unwrap_or(name)
        .trim_end_matches(".rs")
}

fn sentence(step: &Use) -> String {
    format!(
        "{}:{} uses {} ({})",
        step.from, step.line, step.to, step.path
    )
}
