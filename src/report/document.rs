//! What a report says, before any markup: headings, sentences, tables, notes, and one flat sheet of numbers.
//!
//! Commands build one [`Document`]; `terminal`, `markdown` and `csv` each write it in their own markup, so that the
//! formats cannot disagree. JSON is written from the answer that the document was built from.

use super::chart::Chart;
use crate::words::caution::Caution;

/// A report in reading order, and the same numbers as a flat sheet.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Document {
    /// What a person reads.
    pub blocks: Vec<Block>,
    /// What a spreadsheet reads.
    pub sheet: Sheet,
}

impl Document {
    /// An empty document.
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a heading; level 1 is the title.
    pub fn heading(&mut self, level: u8, text: impl Into<String>) -> &mut Self {
        self.push(Block::Heading {
            level,
            text: text.into(),
        })
    }

    /// Adds the sentence a person quotes.
    pub fn lead(&mut self, text: impl Into<String>) -> &mut Self {
        self.push(Block::Lead(text.into()))
    }

    /// Adds a paragraph of plain prose.
    pub fn paragraph(&mut self, text: impl Into<String>) -> &mut Self {
        self.push(Block::Paragraph(text.into()))
    }

    /// Adds a table.
    pub fn table(&mut self, table: Table) -> &mut Self {
        self.push(Block::Table(table))
    }

    /// Adds a picture, and the file it was drawn to.
    pub fn chart(&mut self, chart: Chart, file: Option<String>) -> &mut Self {
        self.push(Block::Chart { chart, file })
    }

    /// Adds short notes, one bullet each; no notes, no list.
    pub fn list<T: Into<String>>(&mut self, notes: impl IntoIterator<Item = T>) -> &mut Self {
        let notes: Vec<String> = notes.into_iter().map(Into::into).collect();
        if notes.is_empty() {
            self
        } else {
            self.push(Block::List(notes))
        }
    }

    /// Adds a caution.
    pub fn caution(&mut self, id: impl Into<String>, text: impl Into<String>) -> &mut Self {
        self.push(Block::Caution {
            id: id.into(),
            text: text.into(),
        })
    }

    /// Adds all cautions.
    pub fn cautions(&mut self, cautions: &[impl Caution]) -> &mut Self {
        for caution in cautions {
            let (id, text) = caution.worded();
            self.caution(id, text);
        }
        self
    }

    /// Adds text that is to be copied as it stands.
    pub fn code(&mut self, text: impl Into<String>) -> &mut Self {
        self.push(Block::Code(text.into()))
    }

    /// Writes every sentence, note and name of a file anew. Titles, tables and numbers hold no paths and stay.
    pub fn reword(&mut self, anew: impl Fn(&str) -> String) {
        for block in &mut self.blocks {
            match block {
                Block::Lead(text)
                | Block::Paragraph(text)
                | Block::Chart {
                    file: Some(text), ..
                } => *text = anew(text),
                Block::List(notes) => {
                    for note in notes {
                        *note = anew(note);
                    }
                }
                _ => {}
            }
        }
    }

    /// Writes every text of the blocks anew but what is to be copied as it stands and the names of files.
    pub fn respell(&mut self, anew: impl Fn(&str) -> String) {
        let again = |text: &mut String| *text = anew(text);
        for block in &mut self.blocks {
            match block {
                Block::Heading { text, .. }
                | Block::Lead(text)
                | Block::Paragraph(text)
                | Block::Caution { text, .. } => again(text),
                Block::Equation {
                    name,
                    sides,
                    source,
                } => {
                    again(name);
                    sides.iter_mut().for_each(again);
                    again(source);
                }
                Block::Table(table) => {
                    let headings = table.columns.iter_mut().map(|column| &mut column.heading);
                    headings.for_each(again);
                    for cell in table.rows.iter_mut().flatten() {
                        if let Cell::Text(text) | Cell::Strong(text) = cell {
                            again(text);
                        }
                    }
                }
                Block::List(notes) => notes.iter_mut().for_each(again),
                Block::Chart { chart, .. } => again(&mut chart.alt),
                Block::Code(_) => {}
            }
        }
    }

    /// Adds any block.
    pub fn push(&mut self, block: Block) -> &mut Self {
        self.blocks.push(block);
        self
    }
}

/// One piece of a document.
#[derive(Debug, Clone, PartialEq)]
pub enum Block {
    /// A heading; level 1 is the title.
    Heading {
        /// 1, 2 or 3.
        level: u8,
        /// Plain text.
        text: String,
    },
    /// The sentence a person quotes.
    Lead(String),
    /// Plain prose, one paragraph.
    Paragraph(String),
    /// A table.
    Table(Table),
    /// A number worked out: its name, the sides that are equal (formula, numbers put in, result), the law's source.
    Equation {
        /// Name of the number.
        name: String,
        /// The sides, the result last.
        sides: Vec<String>,
        /// Who says so.
        source: String,
    },
    /// Short notes, one bullet each.
    List(Vec<String>),
    /// Text that is to be copied as it stands, line by line.
    Code(String),
    /// A picture.
    Chart {
        /// The picture.
        chart: Chart,
        /// The file it was drawn to, as text and page refer to it.
        file: Option<String>,
    },
    /// A caution: a stable id and its text.
    Caution {
        /// Stable identifier, as in JSON.
        id: String,
        /// Plain text.
        text: String,
    },
}

/// A table with a heading row.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// Columns from left to right.
    pub columns: Vec<Column>,
    /// Rows; each has as many cells as there are columns.
    pub rows: Vec<Vec<Cell>>,
}

impl Table {
    /// A table without rows: its headings from left to right, and how each column is set.
    pub fn new(columns: &[(&str, Align)]) -> Self {
        let columns = columns.iter().map(|&(heading, align)| Column {
            heading: heading.to_owned(),
            align,
        });
        Self {
            columns: columns.collect(),
            rows: Vec::new(),
        }
    }

    /// Adds a row. Cells that are missing on the right are empty.
    pub fn row(&mut self, cells: impl IntoIterator<Item = Cell>) -> &mut Self {
        let mut row: Vec<Cell> = cells.into_iter().collect();
        debug_assert!(
            row.len() <= self.columns.len(),
            "a row has more cells than there are columns"
        );
        row.resize(self.columns.len(), Cell::Text(String::new()));
        self.rows.push(row);
        self
    }

    /// Whether a column holds bars and no words, so that a renderer may leave it out.
    pub fn is_only_bars(&self, column: usize) -> bool {
        let cells = || self.rows.iter().filter_map(|row| row.get(column));
        cells().any(|cell| matches!(cell, Cell::Bar(_)))
            && cells().all(|cell| match cell {
                Cell::Text(text) | Cell::Strong(text) => text.is_empty(),
                Cell::Bar(_) => true,
            })
    }
}

/// A column.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// Heading.
    pub heading: String,
    /// How its cells are set.
    pub align: Align,
}

/// How cells are set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Align {
    /// Words.
    Left,
    /// Numbers.
    Right,
}

/// A cell.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Plain text.
    Text(String),
    /// Text with weight: bold where the markup has it. The words alone must carry the meaning.
    Strong(String),
    /// A share drawn as a bar, 1 = the limit; the number stands in another cell. A renderer may leave the bar out.
    Bar(f64),
}

impl Cell {
    /// Plain text.
    pub fn text(text: impl Into<String>) -> Self {
        Self::Text(text.into())
    }

    /// Text with weight.
    pub fn strong(text: impl Into<String>) -> Self {
        Self::Strong(text.into())
    }

    /// A share as a bar.
    pub fn bar(share: f64) -> Self {
        Self::Bar(share)
    }
}

impl From<&str> for Cell {
    fn from(text: &str) -> Self {
        Self::text(text)
    }
}

impl From<String> for Cell {
    fn from(text: String) -> Self {
        Self::text(text)
    }
}

/// A flat table for a spreadsheet: one heading row, then rows of equal length.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Sheet {
    /// Headings.
    pub header: Vec<String>,
    /// Rows, each as long as `header`.
    pub rows: Vec<Vec<String>>,
}

impl Sheet {
    /// A sheet without rows.
    pub fn new<T: Into<String>>(header: impl IntoIterator<Item = T>) -> Self {
        Self {
            header: header.into_iter().map(Into::into).collect(),
            rows: Vec::new(),
        }
    }

    /// Adds a row. Cells that are missing on the right are empty.
    pub fn row<T: Into<String>>(&mut self, cells: impl IntoIterator<Item = T>) -> &mut Self {
        let mut row: Vec<String> = cells.into_iter().map(Into::into).collect();
        debug_assert!(
            row.len() <= self.header.len(),
            "a row has more cells than the sheet has headings"
        );
        row.resize(self.header.len(), String::new());
        self.rows.push(row);
        self
    }
}
