//! A table as spreadsheets write it, cut into cells that know their place.

use crate::calibrate::error;
use crate::diagnose::source::{Place, position};
use crate::diagnose::{Diagnostic, MOST_KEPT};

/// Most lines that are taken; a reading every second for a day is fewer.
const MOST_LINES: usize = 200_000;

/// A cell: its text without quotes and blanks around it, and its place.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::calibrate) struct Cell {
    /// The text.
    pub text: String,
    /// Its place, quotes and blanks left out.
    pub place: Place,
}

/// A line of cells.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::calibrate) struct Line {
    /// The cells; those beyond the end of the line are not there.
    pub cells: Vec<Cell>,
    /// The whole line.
    pub place: Place,
}

impl Line {
    /// The cell at a place, where it is filled.
    pub fn filled(&self, index: usize) -> Option<&Cell> {
        self.cells.get(index).filter(|cell| !cell.text.is_empty())
    }
}

/// A text with its headings cut, whose lines are cut one after another.
pub(in crate::calibrate) struct OpenTable<I: Iterator<Item = Line>> {
    /// The headings.
    pub header: Vec<Cell>,
    /// What divides cells.
    divider: char,
    /// The lines below the headings; repeated headings are left out.
    pub lines: I,
}

/// Cuts the headings of a text.
///
/// Cells are divided by the one of semicolon, tab and comma that the line of headings has most of; `sep=;` on the first
/// line, blank lines, lines that begin with `#`, quotes, and lines ending in CR LF are taken as spreadsheets mean them.
///
/// # Errors
/// Where there are no headings.
pub(in crate::calibrate) fn open(
    text: &str,
    source: u32,
) -> Result<OpenTable<impl Iterator<Item = Line>>, Diagnostic> {
    let is_blank = |line: &str| line.is_empty() || line.starts_with('#');
    let mut lines = lines(text, source).filter(move |(line, _)| !is_blank(line.trim()));
    let mut first = lines.next();
    let named = first.and_then(|(line, _)| line.trim().strip_prefix("sep="));
    if named.is_some() {
        first = lines.next();
    }
    let (line, place) = first.ok_or_else(error::empty_table)?;
    let named = named.and_then(|named| named.chars().next());
    let divider = named.unwrap_or_else(|| most_frequent(line));
    let header = cells(line, place, divider);
    let headings: Vec<String> = header.iter().map(|cell| cell.text.clone()).collect();
    let lines = lines.map(move |(line, place)| Line {
        cells: cells(line, place, divider),
        place,
    });
    Ok(OpenTable {
        header,
        divider,
        // Series that were appended to by hand repeat their headings.
        lines: lines.filter(move |line| !line.cells.iter().map(|cell| &cell.text).eq(&headings)),
    })
}

/// Cuts a text into cells: the headings and the lines below them; empty ones and repeated headings are left out.
///
/// # Errors
/// What is no table, each with its line.
pub(super) fn table(text: &str, source: u32) -> Result<(Vec<Cell>, Vec<Line>), Vec<Diagnostic>> {
    let table = open(text, source).map_err(|error| vec![error])?;
    let header = table.header;
    let mut errors = Vec::new();
    let mut rows = Vec::new();
    let is_filled = |cell: &&Cell| !cell.text.is_empty();
    for line in table
        .lines
        .filter(|line| line.cells.iter().any(|cell| is_filled(&cell)))
    {
        if let Some(extra) = line.cells.iter().skip(header.len()).find(is_filled) {
            let counts = [line.cells.len(), header.len()];
            errors.push(error::extra_cell(counts, table.divider == ',', extra.place));
        }
        if errors.len() >= MOST_KEPT || rows.len() >= MOST_LINES {
            break;
        }
        rows.push(line);
    }
    if errors.is_empty() {
        Ok((header, rows))
    } else {
        Err(errors)
    }
}

/// The lines of a text without their ends.
fn lines(text: &str, source: u32) -> impl Iterator<Item = (&str, Place)> {
    let mut start = 0;
    text.split('\n').map(move |line| {
        let own = line.strip_suffix('\r').unwrap_or(line);
        let place = Place {
            source,
            start: position(start),
            end: position(start + own.len()),
        };
        start += line.len() + 1;
        (own, place)
    })
}

/// The divider that a line has most of; a comma where it has none.
fn most_frequent(line: &str) -> char {
    let all = ['\t', ';', ','].into_iter();
    all.max_by_key(|divider| line.matches(*divider).count())
        .unwrap_or(',')
}

/// The cells of a line.
fn cells(line: &str, place: Place, divider: char) -> Vec<Cell> {
    let mut found = Vec::new();
    let mut start = 0;
    let mut is_quoted = false;
    for (at, letter) in line.char_indices().chain([(line.len(), divider)]) {
        // The end of the line ends an open quote too.
        if at == line.len() || (letter == divider && !is_quoted) {
            found.push(cell(line, start, at, place));
            start = at + letter.len_utf8();
        } else if letter == '"' {
            is_quoted = !is_quoted;
        }
    }
    found
}

/// One cell without blanks and quotes around it.
fn cell(line: &str, start: usize, end: usize, place: Place) -> Cell {
    let whole = line.get(start..end).unwrap_or_default();
    let mut inner = whole.trim();
    let mut from = start + (whole.len() - whole.trim_start().len());
    if let Some(bare) = inner.strip_prefix('"') {
        inner = bare.strip_suffix('"').unwrap_or(bare);
        from += 1;
    }
    let begin = place.start.saturating_add(position(from));
    // Spreadsheets put a blank that does not break between number and unit.
    let text = inner
        .replace("\"\"", "\"")
        .replace(['\u{a0}', '\u{202f}'], " ")
        .trim()
        .to_owned();
    Cell {
        text,
        place: Place {
            start: begin,
            end: begin.saturating_add(position(inner.len())),
            ..place
        },
    }
}

#[cfg(test)]
mod tests {
    use super::table;

    fn texts(text: &str) -> Vec<Vec<String>> {
        let (header, lines) = table(text, 0).unwrap();
        let headings = header.len();
        std::iter::once(&header)
            .chain(lines.iter().map(|line| &line.cells))
            .map(|cells| {
                let texts = cells.iter().map(|cell| cell.text.clone());
                texts.chain([String::new()]).take(headings).collect()
            })
            .collect()
    }

    #[test]
    fn spreadsheets_habits_are_taken_as_meant() {
        let wanted = vec![
            vec!["guests", "memory_used"],
            vec!["10", "78 %"],
            vec!["20", ""],
        ];
        for text in [
            "guests,memory_used\n10,78 %\n20\n",
            "guests;memory_used\r\n10;78\u{a0}%\r\n20;\r\n",
            "sep=;\r\nguests;memory_used\r\n\r\n# a note\r\n10;\"78 %\";\r\n20;;;\r\n",
            "guests\tmemory_used\n10\t 78 % \nguests\tmemory_used\n20\t\n",
        ] {
            assert_eq!(texts(text), wanted, "{text:?}");
        }
    }

    #[test]
    fn what_is_no_table_is_refused() {
        for text in ["", "\n\n", "# only\n", "a,b\n1,2,3\n"] {
            assert!(table(text, 0).is_err(), "{text:?}");
        }
    }
}
