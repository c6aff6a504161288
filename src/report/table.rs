//! A table, declared by its columns: heading, alignment, and how a row's cell follows from what the row is about.

/// A table with a heading row.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// Columns from left to right.
    pub columns: Vec<Column>,
    /// Rows; each has as many cells as there are columns.
    pub rows: Vec<Vec<Cell>>,
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
    /// Text with weight.
    pub fn strong(text: impl Into<String>) -> Self {
        Self::Strong(text.into())
    }

    /// Text, with weight where it stands out.
    pub fn strong_if(stands_out: bool, text: impl Into<String>) -> Self {
        if stands_out {
            Self::Strong(text.into())
        } else {
            Self::Text(text.into())
        }
    }
}

impl From<&str> for Cell {
    fn from(text: &str) -> Self {
        Self::Text(text.to_owned())
    }
}

impl From<String> for Cell {
    fn from(text: String) -> Self {
        Self::Text(text)
    }
}

/// A table on its way: what its rows are about, and the columns so far.
#[derive(Debug)]
pub struct Rows<T> {
    subjects: Vec<T>,
    table: Table,
}

impl Table {
    /// A table with a row for each subject and no column yet.
    ///
    /// # Example
    ///
    /// ```
    /// use berthage::report::table::{Cell, Table};
    ///
    /// let table: Table = Table::of([("memory", 62), ("processor", 131)])
    ///     .left("runs out", |(name, _)| Cell::strong(*name))
    ///     .right("holds", |(_, n)| n.to_string())
    ///     .into();
    /// assert_eq!(table.rows[1], [Cell::strong("processor"), "131".into()]);
    /// ```
    pub fn of<T>(subjects: impl IntoIterator<Item = T>) -> Rows<T> {
        let subjects: Vec<T> = subjects.into_iter().collect();
        Rows {
            table: Table {
                columns: Vec::new(),
                rows: vec![Vec::new(); subjects.len()],
            },
            subjects,
        }
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

impl<T> Rows<T> {
    /// Adds a column of words.
    #[must_use]
    pub fn left<C: Into<Cell>>(self, heading: impl Into<String>, cell: impl Fn(&T) -> C) -> Self {
        self.column(heading.into(), Align::Left, cell)
    }

    /// Adds a column of numbers.
    #[must_use]
    pub fn right<C: Into<Cell>>(self, heading: impl Into<String>, cell: impl Fn(&T) -> C) -> Self {
        self.column(heading.into(), Align::Right, cell)
    }

    fn column<C: Into<Cell>>(
        mut self,
        heading: String,
        align: Align,
        cell: impl Fn(&T) -> C,
    ) -> Self {
        self.table.columns.push(Column { heading, align });
        for (row, subject) in self.table.rows.iter_mut().zip(&self.subjects) {
            row.push(cell(subject).into());
        }
        self
    }
}

impl<T> From<Rows<T>> for Table {
    fn from(rows: Rows<T>) -> Table {
        rows.table
    }
}
