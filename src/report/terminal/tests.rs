//! Whole documents on terminals of several widths, exactly as printed.

use proptest::prelude::{prop_assert, prop_assert_eq, proptest};

use super::super::document::{Block, Document};
use super::super::table::{Align, Cell};
use super::super::tests::{documents, table};
use super::super::text::columns;
use super::{Look, render};

fn sample() -> Document {
    let mut document = Document::new();
    let rows = [
        (
            "memory",
            "98 %",
            "62",
            "62.4 GiB",
            "the kernel starts killing guests at about 71",
        ),
        ("cpu", "47 %", "131", "15.2 cores", "guests wait"),
        (
            "disk_space:pool",
            "104 %",
            "59",
            "1.9 TB",
            "every guest on the pool stops",
        ),
    ]
    .map(|(name, load, fits, limit, note)| {
        vec![
            name.into(),
            load.into(),
            Cell::strong(fits),
            limit.into(),
            note.into(),
        ]
    });
    let columns = [
        ("Resource", Align::Left),
        ("Load", Align::Right),
        ("Fits", Align::Right),
        ("Limit", Align::Right),
        ("What happens then", Align::Left),
    ];
    let table = table(&columns, rows.to_vec());
    document
        .heading(1, "shelf-a")
        .lead("shelf-a safely holds 62 guests; memory runs out first; the kernel starts killing guests at about 71.")
        .heading(2, "What runs out, in this order")
        .table(table)
        .heading(3, "Guesses")
        .list(["memory_keep_free is 10 %, from common practice, because the file does not give it", "cpu_slice is 3 ms"])
        .caution("estimate", "This answer is an estimate from the numbers given; a host that runs shows how good they are.")
        .caution("data", "Guests lose data when the kernel kills them.");
    document
}

fn shown(width: usize, look: Look) -> String {
    render(&sample(), &Look { width, ..look })
}

const PLAIN: Look = Look {
    width: 80,
    color: false,
    ascii: false,
};
const ASCII: Look = Look {
    ascii: true,
    ..PLAIN
};
const BOLD: Look = Look {
    color: true,
    ..PLAIN
};

#[test]
fn at_eighty_columns() {
    let expected = "\
shelf-a

shelf-a safely holds 62 guests; memory runs out first; the kernel starts killing
guests at about 71.

What runs out, in this order

  Resource          Load  Fits       Limit  What happens then
  ─────────────────────────────────────────────────────────────────────────────
  memory            98 %    62    62.4 GiB  the kernel starts killing guests at
                                            about 71
  cpu               47 %   131  15.2 cores  guests wait
  disk_space:pool  104 %    59      1.9 TB  every guest on the pool stops

Guesses

- memory_keep_free is 10 %, from common practice, because the file does not give
  it
- cpu_slice is 3 ms

! This answer is an estimate from the numbers given; a host that runs shows how
  good they are.
! Guests lose data when the kernel kills them.
";
    assert_eq!(shown(80, PLAIN), expected);
}

#[test]
fn text_is_wrapped_before_words_are_broken() {
    let expected = "
                                            What happens
  Resource          Load  Fits       Limit  then
  ---------------------------------------------------------
  memory            98 %    62    62.4 GiB  the kernel
                                            starts killing
                                            guests at about
                                            71
";
    assert!(shown(60, ASCII).contains(expected), "{}", shown(60, ASCII));
}

#[test]
fn a_table_that_cannot_fit_is_told_row_by_row() {
    let expected = "
  Resource: memory
  Load: 98 %
  Fits: 62
  Limit: 62.4 GiB
  What happens then: the kernel starts
    killing guests at about 71

  Resource: cpu
";
    assert!(shown(40, PLAIN).contains(expected), "{}", shown(40, PLAIN));
}

#[test]
fn a_wide_terminal_has_prose_of_a_readable_length() {
    let wide = shown(160, PLAIN);
    let longest_prose = wide
        .lines()
        .filter(|line| !line.starts_with(' '))
        .map(columns)
        .max();
    assert!(longest_prose <= Some(96), "{wide}");
}

#[test]
fn weight_adds_nothing_but_weight() {
    let bold = shown(80, BOLD);
    assert!(bold.starts_with("\u{1b}[1mshelf-a\u{1b}[0m\n\n"), "{bold}");
    assert!(bold.contains("  \u{1b}[1m62\u{1b}[0m  "), "{bold}");
    assert_eq!(without_escapes(&bold), shown(80, PLAIN));
}

#[test]
fn ascii_draws_nothing_else() {
    let mut document = sample();
    document.paragraph("1.5 µs – 1.4 × … ≤ ≥ → −3\u{a0}%");
    let text = render(&document, &ASCII);
    assert!(text.is_ascii(), "{text}");
    assert!(
        text.ends_with("1.5 us - 1.4 x ... <= >= -> -3 %\n"),
        "{text}"
    );
}

#[test]
fn code_keeps_its_lines_and_its_letters() {
    let long = "x".repeat(100);
    let mut document = Document::new();
    document.code(format!("[[host]]\nname  = \"µ\"\n  {long}\u{1b}\n"));
    assert_eq!(
        render(&document, &ASCII),
        format!("    [[host]]\n    name  = \"µ\"\n      {long}\u{FFFD}\n")
    );
}

#[test]
fn a_name_cannot_reach_the_terminal() {
    let mut document = Document::new();
    document
        .lead("\u{1b}]0;owned\u{7} \u{9b}31m \u{2061}bold\u{2062} \u{202e}evil")
        .heading(1, "a\nb\rc");
    let text = render(&document, &PLAIN);
    assert!(
        text.chars()
            .all(|letter| letter == '\n' || !letter.is_control()),
        "{text:?}"
    );
    assert!(
        !text.contains(['\u{2061}', '\u{2062}', '\u{202e}']),
        "{text:?}"
    );
    assert!(text.contains("a b c\n"));
}

#[test]
fn columns_of_wide_letters_line_up() {
    let columns = [("名前", Align::Left), ("Fits", Align::Right)];
    let rows = [["倉庫", "7"], ["web", "62"]].map(|row| row.map(Cell::from).to_vec());
    let table = table(&columns, rows.to_vec());
    let mut document = Document::new();
    document.table(table);
    let expected = "  名前  Fits\n  ──────────\n  倉庫     7\n  web     62\n";
    assert_eq!(render(&document, &PLAIN), expected);
}

#[test]
fn nothing_to_show_is_shown_as_nothing() {
    let mut document = Document::new();
    document
        .lead("")
        .table(table(&[], Vec::new()))
        .list(Vec::<String>::new())
        .caution("id", " \n ");
    assert_eq!(render(&document, &PLAIN), "");
    document.table(table(&[("Name", Align::Left)], Vec::new()));
    assert_eq!(render(&document, &PLAIN), "  Name\n  ────\n");
}

fn without_escapes(text: &str) -> String {
    text.replace("\u{1b}[1m", "").replace("\u{1b}[0m", "")
}

proptest! {
    #[test]
    fn every_document_keeps_to_the_width(document in documents(), width in 0usize..200, ascii: bool) {
        let mut document = document;
        // Text that is to be copied keeps its lines, however long.
        for section in &mut document.sections {
            section.blocks.retain(|block| !matches!(block, Block::Code(_)));
        }
        let plain = render(&document, &Look { width, color: false, ascii });
        for line in plain.lines() {
            prop_assert!(columns(line) <= width.max(20), "{} columns: {line:?}", columns(line));
            prop_assert!(!line.ends_with(' '), "{line:?}");
            prop_assert!(!line.contains(char::is_control), "{line:?}");
        }
        prop_assert!(plain.is_empty() || plain.ends_with('\n'));
        let bold = render(&document, &Look { width, color: true, ascii });
        prop_assert_eq!(without_escapes(&bold), plain);
    }
}
