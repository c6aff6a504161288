//! A line of a survey of guests and its columns.

use super::process::Resident;
use crate::survey::reading::whole;
use crate::unit::printable::printable;

/// A column: its heading and its cell.
type Column = (&'static str, fn(&Line) -> String);

/// The columns in their order: time in seconds, sizes in bytes, counters from the guest's start; empty where nothing could be
/// read.
const COLUMNS: [Column; 19] = [
    ("time", |line| format!("{:.1}", line.at)),
    ("guest", |line| cell(&line.guest)),
    ("kind", |line| cell(&line.kind)),
    ("vcpus", |line| whole(line.vcpus)),
    ("memory", |line| whole(line.memory)),
    ("cpu_s", |line| format!("{:.3}", line.cpu)),
    ("dispatches", |line| whole(line.dispatches)),
    ("run_wait_s", |line| decimal(line.run_wait, 4)),
    ("held", |line| whole(line.held)),
    ("ram_held", |line| whole(line.resident.ram)),
    ("process_held", |line| whole(line.resident.process)),
    ("merged", |line| whole(line.resident.merged)),
    ("zero", |line| whole(line.resident.zero)),
    ("common", |line| whole(line.common)),
    ("written", |line| whole(line.written)),
    ("read", |line| whole(line.read)),
    ("net_in", |line| whole(line.net.map(|net| net[0]))),
    ("net_out", |line| whole(line.net.map(|net| net[1]))),
    ("pressure_s", |line| decimal(line.pressure, 3)),
];

/// The headings in their order.
pub fn headings() -> [&'static str; 19] {
    COLUMNS.map(|(name, _)| name)
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

/// A guest at a moment.
#[derive(Debug, Clone)]
pub(super) struct Line {
    pub at: f64,
    pub guest: String,
    pub kind: String,
    pub vcpus: Option<f64>,
    pub memory: Option<f64>,
    pub cpu: f64,
    pub dispatches: Option<f64>,
    pub run_wait: Option<f64>,
    pub held: Option<f64>,
    pub common: Option<f64>,
    pub written: Option<f64>,
    pub read: Option<f64>,
    pub net: Option<[f64; 2]>,
    pub pressure: Option<f64>,
    pub resident: Resident,
}

impl Line {
    /// Its cells, divided by commas.
    pub fn text(&self) -> String {
        let cells = COLUMNS.map(|(_, cell)| cell(self));
        cells.join(",")
    }
}

/// A number with so many digits after the point; empty where there is none.
fn decimal(value: Option<f64>, digits: usize) -> String {
    value.map_or_else(String::new, |value| format!("{value:.digits$}"))
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
