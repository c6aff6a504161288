//! Documents of every kind for property tests: hostile names, long words, empty tables, uneven rows.

use proptest::collection::vec;
use proptest::prelude::{Just, Strategy, any, prop_oneof};

use super::document::{Block, Document, Rank, Section};
use super::table::{Align, Cell, Column, Table};

/// A table as it is written down; rows may lack cells on the right.
pub(super) fn table(columns: &[(&str, Align)], rows: Vec<Vec<Cell>>) -> Table {
    let columns = columns.iter().map(|&(heading, align)| Column {
        heading: heading.to_owned(),
        align,
    });
    Table {
        columns: columns.collect(),
        rows,
    }
}

/// Text as nobody should type it.
pub(super) fn texts() -> impl Strategy<Value = String> {
    prop_oneof![
        3 => "[a-z]{1,9}( [a-z0-9.]{1,9}){0,20}",
        3 => "[ |*_`<>#\\[\\]()!\\\\~=+.:0-9a-c\n\t\u{1b}@&;$^{}\"'/-]{0,30}",
        2 => vec(any::<char>(), 0..40).prop_map(|letters| letters.into_iter().collect()),
        1 => "[a-z/_-]{100,300}",
        1 => "[倉庫ー🚀é]{1,60}",
        1 => Just("https://example.org www.example.org a@example.org".to_owned()),
        1 => Just(String::new()),
    ]
}

fn cells() -> impl Strategy<Value = Cell> {
    prop_oneof![
        2 => texts().prop_map(Cell::from),
        1 => texts().prop_map(Cell::strong),
    ]
}

fn tables() -> impl Strategy<Value = Table> {
    let align = prop_oneof![Just(Align::Left), Just(Align::Right)];
    let column = (texts(), align).prop_map(|(heading, align)| Column { heading, align });
    (vec(column, 0..12), vec(vec(cells(), 0..12), 0..6))
        .prop_map(|(columns, rows)| Table { columns, rows })
}

fn blocks() -> impl Strategy<Value = Block> {
    prop_oneof![
        (any::<u8>(), texts()).prop_map(|(level, text)| Block::Heading {
            level: level % 5,
            text
        }),
        texts().prop_map(Block::Lead),
        texts().prop_map(Block::Paragraph),
        tables().prop_map(Block::Table),
        tables().prop_map(Block::Table),
        vec(texts(), 0..4).prop_map(Block::List),
        texts().prop_map(Block::Code),
        texts().prop_map(|text| Block::Caution {
            id: "caution".to_owned(),
            text
        }),
    ]
}

/// Any document.
pub(super) fn documents() -> impl Strategy<Value = Document> {
    vec(blocks(), 0..6).prop_map(|blocks| Document {
        sections: vec![Section {
            rank: Rank::Answer,
            blocks,
        }],
    })
}
