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
pub struct Cell {
    /// What it says.
    pub text: String,
    /// Whether it has weight: bold where the markup has it. The words alone must carry the meaning.
    pub strong: bool,
}

impl Cell {
    /// Text with weight.
    pub fn strong(text: impl Into<String>) -> Self {
        Self::strong_if(true, text)
    }

    /// Text, bold where it is emphasised.
    pub fn strong_if(stands_out: bool, text: impl Into<String>) -> Self {
        Self {
            text: text.into(),
            strong: stands_out,
        }
    }
}

impl<T: Into<String>> From<T> for Cell {
    fn from(text: T) -> Self {
        Self::strong_if(false, text)
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

    /// Adds a column of numbers where there is something to say in it.
    #[must_use]
    pub fn right_if<C: Into<Cell>>(
        self,
        is_said: bool,
        heading: impl Into<String>,
        cell: impl Fn(&T) -> C,
    ) -> Self {
        match is_said {
            true => self.right(heading, cell),
            false => self,
        }
    }

    /// Gives weight to rows, in the columns so far.
    #[must_use]
    pub fn strong_if(mut self, stands_out: impl Fn(&T) -> bool) -> Self {
        for (row, subject) in self.table.rows.iter_mut().zip(&self.subjects) {
            let strong = stands_out(subject);
            row.iter_mut().for_each(|cell| cell.strong |= strong);
        }
        self
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
