//! Markdown is checked by reading it with a parser that is not ours, with all extensions that it knows.

use proptest::prelude::{prop_assert_eq, proptest};
use pulldown_cmark::{Alignment, Event, Options, Parser, Tag, TagEnd};

use super::super::document::{Block, Document};
use super::super::table::{Align, Cell, Table};
use super::super::tests::{documents, table};
use super::super::text::{clean, verbatim};
use super::render;

/// What a reader of the rendered page sees.
#[derive(Debug, PartialEq)]
enum Seen {
    Heading(usize, String),
    Paragraph(String),
    Caution(String),
    List(Vec<String>),
    Table(Vec<Alignment>, Vec<Vec<String>>),
    Code(String),
}

/// Reads Markdown; panics on markup that no document asks for.
fn read(markdown: &str) -> Vec<Seen> {
    let mut seen = Vec::new();
    let mut text = String::new();
    let mut in_quote = false;
    // Quotes are made typographic by this one, on purpose; it says nothing about escaping.
    for event in Parser::new_ext(markdown, Options::all() - Options::ENABLE_SMART_PUNCTUATION) {
        match event {
            Event::Text(piece) => text.push_str(&piece),
            Event::Start(Tag::Strong | Tag::Paragraph | Tag::Heading { .. } | Tag::Item) => {}
            Event::Start(Tag::TableHead | Tag::TableRow | Tag::TableCell) => {
                if let (Some(Seen::Table(_, rows)), true) = (
                    seen.last_mut(),
                    !matches!(event, Event::Start(Tag::TableCell)),
                ) {
                    rows.push(Vec::new());
                }
            }
            Event::End(
                TagEnd::Strong
                | TagEnd::List(_)
                | TagEnd::Table
                | TagEnd::TableHead
                | TagEnd::TableRow,
            ) => {}
            Event::Start(Tag::BlockQuote(None)) => in_quote = true,
            Event::End(TagEnd::BlockQuote(None)) => in_quote = false,
            Event::Start(Tag::List(None)) => seen.push(Seen::List(Vec::new())),
            Event::Start(Tag::Table(alignments)) => seen.push(Seen::Table(alignments, Vec::new())),
            Event::Start(Tag::CodeBlock(_)) => {}
            Event::End(TagEnd::CodeBlock) => {
                seen.push(Seen::Code(std::mem::take(&mut text).trim_end().to_owned()));
            }
            Event::End(end) => {
                let text = std::mem::take(&mut text).trim().to_owned();
                match (end, seen.last_mut()) {
                    (TagEnd::Heading(level), _) => seen.push(Seen::Heading(level as usize, text)),
                    (TagEnd::Paragraph, _) if in_quote => seen.push(Seen::Caution(text)),
                    (TagEnd::Paragraph, _) => seen.push(Seen::Paragraph(text)),
                    (TagEnd::Item, Some(Seen::List(items))) => items.push(text),
                    (TagEnd::TableCell, Some(Seen::Table(_, rows))) => {
                        rows.last_mut().expect("a row is open").push(text);
                    }
                    (end, _) => panic!("{end:?} in {markdown}"),
                }
            }
            event => panic!("{event:?} in {markdown}"),
        }
    }
    seen
}

/// What a reader should see.
fn expected(document: &Document) -> Vec<Seen> {
    let shown = |text: &str| clean(text).trim().to_owned();
    let mut seen = Vec::new();
    for block in document.blocks() {
        match block {
            Block::Heading { level, text } => {
                seen.push(Seen::Heading(usize::from((*level).max(1)), shown(text)));
            }
            Block::Lead(text) | Block::Paragraph(text) => seen.push(Seen::Paragraph(shown(text))),
            Block::Caution { text, .. } if shown(text).is_empty() => {}
            Block::Caution { text, .. } => {
                seen.push(Seen::Caution(format!("Caution. {}", shown(text))));
            }
            Block::List(notes) => {
                let items = notes
                    .iter()
                    .map(|note| shown(note))
                    .filter(|note| !note.is_empty());
                seen.push(Seen::List(items.collect()));
            }
            Block::Table(table) => seen.push(expected_table(table)),
            Block::Code(text) => seen.push(Seen::Code(verbatim(text).join("\n"))),
            Block::Chart { .. } | Block::Equation { .. } => {
                unreachable!("pictures have tests of their own")
            }
        }
    }
    seen.retain(|seen| match seen {
        Seen::Heading(_, text) | Seen::Paragraph(text) | Seen::Caution(text) | Seen::Code(text) => {
            !text.is_empty()
        }
        Seen::List(items) => !items.is_empty(),
        Seen::Table(columns, _) => !columns.is_empty(),
    });
    seen
}

fn expected_table(table: &Table) -> Seen {
    let columns = || table.columns.iter();
    let alignments = columns().map(|column| match column.align {
        Align::Left => Alignment::Left,
        Align::Right => Alignment::Right,
    });
    let shown = |text: &str| clean(text).trim().to_owned();
    let mut rows = vec![columns().map(|column| shown(&column.heading)).collect()];
    rows.extend(table.rows.iter().map(|row| {
        let cells = (0..table.columns.len()).map(|column| row.get(column));
        let texts = cells.map(|cell| cell.map_or_else(String::new, |cell| shown(&cell.text)));
        texts.collect::<Vec<_>>()
    }));
    Seen::Table(alignments.collect(), rows)
}

#[test]
fn a_document_in_markdown() {
    let columns = [("Resource", Align::Left), ("Load", Align::Right)];
    let first = vec!["disk_space:a|b".into(), Cell::strong("98 %")];
    let table = table(&columns, vec![first, vec!["cpu".into()]]);
    let mut document = Document::new();
    document
        .heading(1, "shelf #1")
        .lead("shelf #1 safely holds 62 guests.")
        .table(table)
        .list(["1. first", "- second"])
        .list(["another list"])
        .caution("estimate", "An estimate from 3 < 4 numbers.");
    let expected = "\
# shelf \\#1

**shelf \\#1 safely holds 62 guests.**

| Resource             |     Load |
| :------------------- | -------: |
| disk\\_space:a&#124;b | **98 %** |
| cpu                  |          |

- 1\\. first
- \\- second

* another list

> **Caution.** An estimate from 3 \\< 4 numbers.
";
    assert_eq!(render(&document), expected);
}

#[test]
fn hostile_names_are_shown_as_they_are() {
    for name in [
        "a|b",
        "a\\|b",
        "a\\",
        "`code`",
        "``",
        "*b*",
        "__init__",
        "<script>alert(1)</script>",
        "&lt;",
        "&#124;",
        "[x](http://example.org)",
        "![i](u)",
        "<http://example.org>",
        "# no heading",
        "trailing #",
        "--- ",
        "===",
        "- item",
        "+ item",
        "1. item",
        "12) item",
        "> quote",
        "    code",
        "~~gone~~",
        "$x$",
        "x^2^",
        "[^1]: note",
        ": definition",
        "{.class}",
        "```",
        "~~~",
        "|",
        "||",
        "[ ] task",
        "[[wiki]]",
        "a  \nb",
        "\u{1b}[31m",
        "**",
        "\u{a0}x\u{a0}",
        "| --- |",
    ] {
        let columns = [(name, Align::Left), ("Fits", Align::Right)];
        let rows = vec![
            vec![name.into(), Cell::strong(name)],
            vec![Cell::strong("x"), name.into()],
        ];
        let table = table(&columns, rows);
        let mut document = Document::new();
        document
            .heading(1, name)
            .lead(name)
            .paragraph(name)
            .list([name, name])
            .table(table)
            .caution("id", name);
        assert_eq!(read(&render(&document)), expected(&document), "{name}");
    }
}

proptest! {
    #[test]
    fn every_document_is_shown_as_it_is(document in documents()) {
        prop_assert_eq!(read(&render(&document)), expected(&document), "{}", render(&document));
    }
}

#[test]
fn a_picture_is_an_image_where_it_was_drawn_and_characters_where_not() {
    use super::super::chart::{Chart, Measure, Panel, Series, Shape};
    let series = Series {
        name: String::new(),
        points: vec![(0.0, 0.2), (60.0, 0.8)],
        shape: Shape::Line,
    };
    let panel = Panel {
        y_label: "memory".to_owned(),
        y: Measure::Share,
        weight: 2,
        at_least: 1.0,
        series: vec![series],
        band: None,
        levels: Vec::new(),
        marks: Vec::new(),
    };
    let chart = Chart {
        title: "memory | time".to_owned(),
        alt: "memory [grows]".to_owned(),
        x_label: "time".to_owned(),
        x: Measure::Time,
        panels: vec![panel],
    };
    let mut document = Document::new();
    document.chart(chart.clone(), Some("a <b> c.svg".to_owned()));
    document.chart(chart, None);
    let markdown = render(&document);
    let events: Vec<Event> = Parser::new(&markdown).collect();
    let images: Vec<String> = events
        .iter()
        .filter_map(|event| match event {
            Event::Start(Tag::Image { dest_url, .. }) => Some(dest_url.to_string()),
            _ => None,
        })
        .collect();
    assert_eq!(images, ["a <b> c.svg"], "{markdown}");
    assert!(events.contains(&Event::Text("memory [grows]".into())) || markdown.contains("grows"));
    let blocks = events
        .iter()
        .filter(|event| matches!(event, Event::Start(Tag::CodeBlock(_))));
    assert_eq!(blocks.count(), 1, "{markdown}");
}
