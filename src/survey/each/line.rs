//! A line of a survey of guests and its columns.

use std::collections::BTreeMap;

use crate::survey::reading::{decimal, whole};
use crate::unit::printable::printable;

/// The figures of a guest in the order of their columns, each with the digits after its point: sizes in bytes, counters from
/// the guest's start; empty where nothing could be read.
const FIGURES: [(&str, usize); 16] = [
    ("vcpus", 0),
    ("memory", 0),
    ("cpu_s", 3),
    ("dispatches", 0),
    ("run_wait_s", 4),
    ("held", 0),
    ("ram_held", 0),
    ("process_held", 0),
    ("merged", 0),
    ("zero", 0),
    ("common", 0),
    ("written", 0),
    ("read", 0),
    ("net_in", 0),
    ("net_out", 0),
    ("pressure_s", 3),
];

/// The headings in their order.
pub fn headings() -> Vec<&'static str> {
    let figures = FIGURES.iter().map(|(name, _)| *name);
    ["time", GUEST, "kind"].into_iter().chain(figures).collect()
}

/// The column that distinguishes such lines from readings of the host.
pub const GUEST: &str = "guest";

/// A guest's name without the number at its end, which guests of one kind differ by.
///
/// # Example
/// ```
/// use berthage::survey::each::line::without_number;
/// assert_eq!(without_number("web-12"), "web");
/// assert_eq!((without_number("db"), without_number("101")), ("db", "101"));
/// ```
pub fn without_number(name: &str) -> &str {
    let rest = name.trim_end_matches(|letter: char| letter.is_ascii_digit());
    match rest.trim_end_matches(['-', '_', '.', '@']) {
        "" => name,
        rest => rest,
    }
}

/// A guest at a moment `[s]`.
#[derive(Debug, Clone)]
pub(super) struct Line {
    pub at: f64,
    pub guest: String,
    pub kind: String,
    pub figures: BTreeMap<&'static str, f64>,
}

impl Line {
    /// Its cells, divided by commas.
    pub fn text(&self) -> String {
        let mut cells = vec![
            format!("{:.1}", self.at),
            cell(&self.guest),
            cell(&self.kind),
        ];
        let figures = FIGURES.iter();
        cells.extend(figures.map(|(name, digits)| match digits {
            0 => whole(self.figure(name)),
            digits => decimal(self.figure(name), *digits),
        }));
        cells.join(",")
    }

    /// A figure by its heading.
    pub fn figure(&self, name: &str) -> Option<f64> {
        self.figures.get(name).copied()
    }
}

/// A name as a cell: in quotes where it needs them, on one line, and no formula for a spreadsheet.
fn cell(name: &str) -> String {
    let mut name = printable(name);
    if name.starts_with(['=', '+', '-', '@', '#']) {
        name.insert(0, '\'');
    }
    if name.contains([',', '"', ';', '\t']) {
        format!("\"{}\"", name.replace('"', "\"\""))
    } else {
        name
    }
}

#[cfg(test)]
mod tests {
    use super::cell;

    #[test]
    fn names_stay_one_cell_of_one_line() {
        assert_eq!(cell("web-1"), "web-1");
        assert_eq!(cell("a,b\n\"c\""), "\"a,b \"\"c\"\"\"");
        assert_eq!(cell("=1+1"), "'=1+1");
    }
}
