//! What a report says, before any markup: headings, sentences, tables, notes.
//!
//! Commands build one [`Document`]; `terminal` and `markdown` each write it in their own markup, so that they cannot
//! disagree. JSON and CSV are written from the answer that the document was built from.

use super::chart::Chart;
use super::table::Table;
use crate::words::caution::Caution;

/// A report in reading order.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Document {
    /// Its parts, each below one heading.
    pub sections: Vec<Section>,
}

/// The content below one heading.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Section {
    /// Where it is shown.
    pub rank: Rank,
    /// The heading and what follows it.
    pub blocks: Vec<Block>,
}

/// Where a section is shown.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Rank {
    /// Always: the answer itself.
    #[default]
    Answer,
    /// On a short screen alone: what the full sections say at length, in a line each.
    Brief,
    /// Where everything is wanted.
    Full,
}

impl Document {
    /// An empty document.
    pub fn new() -> Self {
        Self::default()
    }

    /// A document that begins with its title and the sentence a person quotes.
    pub fn answering(title: impl Into<String>, lead: impl Into<String>) -> Self {
        let mut document = Self::new();
        document.heading(1, title);
        document.section(Rank::Answer).lead(lead);
        document
    }

    /// Begins a section of everything, with its heading; level 1 is the title.
    pub fn heading(&mut self, level: u8, text: impl Into<String>) -> &mut Self {
        self.section(Rank::Full).push(Block::Heading {
            level,
            text: text.into(),
        })
    }

    /// Begins a section without a heading.
    pub fn section(&mut self, rank: Rank) -> &mut Self {
        let blocks = Vec::new();
        self.sections.push(Section { rank, blocks });
        self
    }

    /// Leaves out what a short screen does not show, or what it alone shows.
    pub fn cut(&mut self, full: bool) {
        let other = if full { Rank::Brief } else { Rank::Full };
        self.sections.retain(|section| section.rank != other);
    }

    /// Everything in reading order.
    pub fn blocks(&self) -> impl Iterator<Item = &Block> {
        self.sections.iter().flat_map(|section| &section.blocks)
    }

    fn blocks_mut(&mut self) -> impl Iterator<Item = &mut Block> {
        let sections = self.sections.iter_mut();
        sections.flat_map(|section| &mut section.blocks)
    }

    /// Adds the sentence a person quotes.
    pub fn lead(&mut self, text: impl Into<String>) -> &mut Self {
        self.push(Block::Lead(text.into()))
    }

    /// Adds a paragraph of plain prose.
    pub fn paragraph(&mut self, text: impl Into<String>) -> &mut Self {
        self.push(Block::Paragraph(text.into()))
    }

    /// Adds a paragraph for each sentence that there is.
    pub fn say<T: Into<String>>(&mut self, sentences: impl IntoIterator<Item = T>) -> &mut Self {
        for sentence in sentences {
            self.paragraph(sentence);
        }
        self
    }

    /// Adds a table.
    pub fn table(&mut self, table: impl Into<Table>) -> &mut Self {
        self.push(Block::Table(table.into()))
    }

    /// Adds a picture, and the file it was drawn to.
    pub fn chart(&mut self, chart: Chart, file: Option<String>) -> &mut Self {
        self.push(Block::Chart { chart, file })
    }

    /// Adds short notes, one bullet each; no notes, no list.
    pub fn list<T: Into<String>>(&mut self, notes: impl IntoIterator<Item = T>) -> &mut Self {
        let notes: Vec<String> = notes.into_iter().map(Into::into).collect();
        match notes.is_empty() {
            true => self,
            false => self.push(Block::List(notes)),
        }
    }

    /// Adds a caution.
    pub fn caution(&mut self, id: impl Into<String>, text: impl Into<String>) -> &mut Self {
        self.push(Block::Caution {
            id: id.into(),
            text: text.into(),
        })
    }

    /// Ends a short screen: a line each, and how to see more.
    pub fn caution_lines(&mut self, cautions: &[impl Caution], more: &str) -> &mut Self {
        self.section(Rank::Brief);
        let worded = cautions.iter().map(Caution::worded);
        for one in worded.filter(|one| !one.line.is_empty()) {
            self.caution(one.id, one.line);
        }
        self.paragraph(more)
    }

    /// Adds all cautions with their text, below a heading.
    pub fn cautions(&mut self, level: u8, cautions: &[impl Caution]) -> &mut Self {
        self.heading(level, "Cautions");
        for one in cautions.iter().map(Caution::worded) {
            self.caution(one.id, one.text);
        }
        self
    }

    /// Adds text that is copied verbatim.
    pub fn code(&mut self, text: impl Into<String>) -> &mut Self {
        self.push(Block::Code(text.into()))
    }

    /// Writes every sentence, note and name of a file anew. Titles, tables and numbers hold no paths and stay.
    pub fn reword(&mut self, anew: impl Fn(&str) -> String) {
        for block in self.blocks_mut() {
            match block {
                Block::Chart { file, .. } => *file = file.as_deref().map(&anew),
                Block::Lead(_) | Block::Paragraph(_) | Block::List(_) => {
                    block.texts(|text| *text = anew(text));
                }
                _ => {}
            }
        }
    }

    /// Writes every text of the blocks anew but what is copied verbatim and the names of files.
    pub fn respell(&mut self, anew: impl Fn(&str) -> String) {
        for block in self.blocks_mut() {
            block.texts(|text| *text = anew(text));
        }
    }

    /// Adds any block.
    pub fn push(&mut self, block: Block) -> &mut Self {
        if self.sections.is_empty() {
            self.sections.push(Section::default());
        }
        if let Some(section) = self.sections.last_mut() {
            section.blocks.push(block);
        }
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
    /// Text that is copied verbatim, line by line.
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

impl Block {
    /// Every text in it but what is copied verbatim and the name of a file.
    fn texts(&mut self, mut each: impl FnMut(&mut String)) {
        match self {
            Block::Heading { text, .. }
            | Block::Lead(text)
            | Block::Paragraph(text)
            | Block::Caution { text, .. } => each(text),
            Block::Equation {
                name,
                sides,
                source,
            } => {
                each(name);
                sides.iter_mut().for_each(&mut each);
                each(source);
            }
            Block::Table(table) => {
                let headings = table.columns.iter_mut();
                headings.for_each(|column| each(&mut column.heading));
                let cells = table.rows.iter_mut().flatten();
                cells.for_each(|cell| each(&mut cell.text));
            }
            Block::List(notes) => notes.iter_mut().for_each(each),
            Block::Chart { chart, .. } => each(&mut chart.alt),
            Block::Code(_) => {}
        }
    }
}
