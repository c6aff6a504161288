//! A document's sheet as comma-separated values (RFC 4180, lines ending in a line feed).

use super::document::{Document, Sheet};
use super::text::clean;

/// Writes the sheet: one line of headings, then one line a row.
///
/// A cell that a spreadsheet would run as a formula begins with an apostrophe, numbers excepted: a guest may be called
/// `=cmd|...`. Line breaks and control characters within a cell are replaced, so that every row is one line.
///
/// # Example
///
/// ```
/// use berthage::report::{csv, document::{Document, Sheet}};
///
/// let mut document = Document::new();
/// document.sheet = Sheet::new(["name", "fits"]);
/// document.sheet.row(["shelf-a", "62"]);
/// assert_eq!(csv::render(&document), "name,fits\nshelf-a,62\n");
/// ```
pub fn render(document: &Document) -> String {
    let Sheet { header, rows } = &document.sheet;
    if header.is_empty() && rows.is_empty() {
        return String::new();
    }
    let mut writer = csv::WriterBuilder::new()
        .flexible(true)
        .terminator(csv::Terminator::Any(b'\n'))
        .from_writer(Vec::new());
    for row in std::iter::once(header).chain(rows) {
        writer
            .write_record(row.iter().map(|cell| guarded(cell)))
            .expect("writing to memory succeeds");
    }
    let bytes = writer.into_inner().expect("writing to memory succeeds");
    String::from_utf8(bytes).expect("cells are UTF-8")
}

/// The cell as text that no spreadsheet takes for a formula.
fn guarded(cell: &str) -> String {
    let cell = clean(cell);
    // The wide forms are read as their ASCII twins where an East Asian locale is set.
    let looks_like_a_formula = cell.starts_with(['=', '+', '-', '@', '＝', '＋', '－', '＠']);
    // `parse` also takes "-inf", which a spreadsheet reads as a name.
    let is_number = cell.parse::<f64>().is_ok_and(f64::is_finite);
    if looks_like_a_formula && !is_number {
        format!("'{cell}")
    } else {
        cell
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::{prop_assert, prop_assert_eq, proptest};

    use super::super::arbitrary::documents;
    use super::{Document, Sheet, guarded, render};

    #[test]
    fn formulas_are_defused_and_numbers_left_alone() {
        for (cell, written) in [
            ("=1+1", "'=1+1"),
            ("+49 30", "'+49 30"),
            ("-x", "'-x"),
            ("@SUM(A1)", "'@SUM(A1)"),
            ("\t=1+1", "'=1+1"),
            ("＝1", "'＝1"),
            ("-inf", "'-inf"),
            ("-1.5e9", "-1.5e9"),
            ("+5", "+5"),
            ("web=1", "web=1"),
            ("", ""),
        ] {
            assert_eq!(guarded(cell), written);
        }
    }

    #[test]
    fn cells_are_quoted_where_they_must_be() {
        let mut document = Document::new();
        document.sheet = Sheet::new(["name", "note"]);
        document
            .sheet
            .row(["a,b", "say \"hi\""])
            .row(["two\nlines", ""])
            .row(["only"]);
        assert_eq!(
            render(&document),
            "name,note\n\"a,b\",\"say \"\"hi\"\"\"\ntwo lines,\nonly,\n"
        );
    }

    #[test]
    fn what_is_written_reads_back() {
        let mut document = Document::new();
        document.sheet = Sheet::new(["name", "Größe"]);
        document
            .sheet
            .row(["倉庫", "1"])
            .row(["'", ""])
            .row(["", ""]);
        let text = render(&document);
        let mut reader = csv::ReaderBuilder::new().from_reader(text.as_bytes());
        let rows: Vec<Vec<String>> = reader
            .records()
            .map(|record| {
                record
                    .expect("a record")
                    .iter()
                    .map(str::to_owned)
                    .collect()
            })
            .collect();
        assert_eq!(rows, document.sheet.rows);
    }

    #[test]
    fn no_sheet_no_text() {
        assert_eq!(render(&Document::new()), "");
    }

    proptest! {
        #[test]
        fn every_sheet_is_one_line_a_row(document in documents()) {
            let text = render(&document);
            let sheet = &document.sheet;
            let lines = if sheet.header.is_empty() && sheet.rows.is_empty() { 0 } else { sheet.rows.len() + 1 };
            prop_assert_eq!(text.lines().count(), lines);
            prop_assert!(text.chars().all(|letter| letter == '\n' || !letter.is_control()));
        }
    }
}
