//! Tests of diagnostics.

use super::kinds::{Example, entries, find};
use super::source::{Medium, Place, Sources};
use super::suggest::{closest, list};
use super::{Diagnostic, Diagnostics, ErrorKind};
use crate::inventory::load_text;

const HOST: &str =
    "\n[[host]]\nname = \"shelf-a\"\ncpu.groups = [{ cores = 8 }]\nmemory.modules = [\"32 GiB\"]\n";
const GUEST: &str = "\n[[guest]]\nname = \"web\"\nmemory = \"2 GiB\"\n";

/// What an example gives when it is read, as kinds.
fn outcome(example: &Example) -> Option<Vec<ErrorKind>> {
    let (text, sets) = match example {
        Example::Text(_) => return None,
        Example::Set(argument) => (format!("{HOST}{GUEST}"), vec![argument.clone()]),
        Example::File(part) => {
            // The part goes first, because keys at the top of a file can stand nowhere else.
            let host = if part.contains("[[host]]") { "" } else { HOST };
            let guest = if part.contains("guest]]") || part.contains("guest =") {
                ""
            } else {
                GUEST
            };
            (format!("{part}\n{host}{guest}"), Vec::new())
        }
    };
    let kinds = match load_text("lab.toml", &text, &sets) {
        Ok(_) => Vec::new(),
        Err(errors) => errors.list().iter().map(|error| error.kind).collect(),
    };
    Some(kinds)
}

#[test]
fn every_kind_has_an_entry_and_its_examples_are_true() {
    let named: Vec<ErrorKind> = entries().map(|entry| entry.kind).collect();
    let sections = include_str!("kinds.txt").matches("\n== ").count();
    assert_eq!(named.len(), sections);
    let has_none = |kind: &&ErrorKind| !named.contains(kind);
    let without: Vec<&ErrorKind> = ErrorKind::ALL.iter().filter(has_none).collect();
    assert_eq!(without, Vec::<&ErrorKind>::new(), "without an entry");
    assert_eq!(named.len(), ErrorKind::ALL.len(), "one entry each");
    for entry in entries() {
        let (name, kind) = (entry.kind.name(), entry.kind);
        assert!(
            name.bytes()
                .all(|byte| byte.is_ascii_lowercase() || matches!(byte, b'-' | b'8')),
            "{name}"
        );
        assert_eq!(find(&name.to_uppercase()), Some(entry));
        let explanation = &entry.explanation;
        assert!(
            !entry.title.is_empty() && explanation.ends_with('.') && !explanation.contains("  "),
            "{name}"
        );
        if let Some(kinds) = outcome(&entry.wrong) {
            assert_eq!(kinds, [kind], "{name} wrong: {}", entry.wrong.text());
        }
        if let Some(kinds) = outcome(&entry.right) {
            assert_eq!(kinds, [], "{name} right: {}", entry.right.text());
        }
    }
    assert!(find("no-such-kind").is_none());
}

/// Shows one diagnostic about part of a text.
fn shown(text: &str, start: usize, end: usize, color: Color) -> String {
    let mut sources = Sources::default();
    let source = sources.add("lab.toml", text, Medium::File);
    let at = |at: usize| u32::try_from(at).expect("small");
    let place = Place {
        source,
        start: at(start),
        end: at(end),
    };
    let diagnostic = Diagnostic::new(ErrorKind::OutOfRange, "too much")
        .at(place, "this")
        .hint("less");
    Diagnostics::new(sources, vec![diagnostic]).render(color == Color::On, 80)
}

#[derive(PartialEq)]
enum Color {
    On,
    Off,
}

#[test]
fn long_lines_are_cut_and_keep_their_column() {
    let text = format!(
        "first\n{}VALUE{}\n",
        "ä".repeat(3_000_000),
        "z".repeat(3_000_000)
    );
    let at = text.find("VALUE").expect("there");
    let shown = shown(&text, at, at + 5, Color::Off);
    assert!(shown.len() < 1000, "{shown}");
    assert!(
        shown.contains("lab.toml:2:3000001")
            && shown.contains("VALUE")
            && shown.contains("^^^^^ this"),
        "{shown}"
    );
}

#[test]
fn only_the_first_line_of_a_long_value_is_shown() {
    let text = format!("groups = [\n{}]\n", "  1,\n".repeat(10_000));
    let shown = shown(&text, 9, text.len() - 1, Color::Off);
    assert!(shown.lines().count() < 10, "{shown}");
}

#[test]
fn color_is_used_only_if_asked_for() {
    assert!(!shown("a = 1", 4, 5, Color::Off).contains('\u{1b}'));
    assert!(shown("a = 1", 4, 5, Color::On).contains('\u{1b}'));
}

#[test]
fn escape_sequences_of_the_input_do_not_reach_the_terminal() {
    let mut sources = Sources::default();
    let source = sources.add("lab\u{1b}[31m.toml", "a = \u{1b}[31m", Medium::File);
    let place = Place {
        source,
        start: 4,
        end: 9,
    };
    let diagnostic = Diagnostic::new(ErrorKind::SyntaxError, "bad \u{1b}[31m")
        .at(place, "\u{7}")
        .hint("\u{1b}]0;x");
    let shown = Diagnostics::new(sources, vec![diagnostic]).render(false, 80);
    assert!(!shown.contains(['\u{1b}', '\u{7}']), "{shown:?}");
}

#[test]
fn places_outside_the_text_are_no_panic() {
    for (start, end) in [(0, 0), (5, 5), (3, 99), (99, 120), (5, 2)] {
        assert!(shown("a = 1", start, end, Color::Off).contains("too much"));
        assert!(shown("", start, end, Color::Off).contains("too much"));
        assert!(shown("ä\r\nö", start, end, Color::Off).contains("too much"));
    }
}

#[test]
fn slips_are_recognised_and_other_words_are_not() {
    let keys = ["memory", "touched", "touched_busy", "busy", "vcpus"];
    assert_eq!(closest("memroy", keys), Some("memory"));
    assert_eq!(closest("Touched-Busy", keys), Some("touched_busy"));
    assert_eq!(closest("vcpu", keys), Some("vcpus"));
    assert_eq!(closest("colour", keys), None);
    assert_eq!(closest("", keys), None);
    assert_eq!(closest("a", ["b"]), None);
    assert_eq!(list(["a", "b", "c"], 3), "`a`, `b` or `c`");
    assert_eq!(list(["a", "b", "c"], 2), "`a`, `b` and 1 more");
    assert_eq!(list([], 2), "none");
}
