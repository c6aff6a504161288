//! A line of a survey of guests and its columns.

use super::process::Seen;
use crate::unit::printable::printable;

/// The columns in their order: time in seconds, sizes in bytes, counters from the guest's start; empty where nothing could be
/// read.
pub const COLUMNS: [&str; 19] = [
    "time",
    "guest",
    "kind",
    "vcpus",
    "memory",
    "cpu_s",
    "dispatches",
    "run_wait_s",
    "held",
    "ram_held",
    "process_held",
    "merged",
    "zero",
    "common",
    "written",
    "read",
    "net_in",
    "net_out",
    "pressure_s",
];

/// The column that tells such lines from readings of the host.
pub const GUEST: &str = "guest";

/// A guest's name without the number at its end, which guests of one kind differ by.
///
/// # Example
/// ```
/// use berthage::survey::each::line::without_number;
/// assert_eq!(without_number("web-12"), "web");
/// assert_eq!((without_number("db"), without_number("101")), ("db", "101"));
/// ```
#[must_use]
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
    pub seen: Seen,
}

impl Line {
    /// Its cells, divided by commas.
    pub fn text(&self) -> String {
        let whole = |value: Option<f64>| {
            value.map_or_else(String::new, |value| format!("{:.0}", value.round()))
        };
        let net = |way: usize| whole(self.net.map(|net| net[way]));
        let cells = [
            format!("{:.1}", self.at),
            cell(&self.guest),
            cell(&self.kind),
            whole(self.vcpus),
            whole(self.memory),
            format!("{:.3}", self.cpu),
            whole(self.dispatches),
            self.run_wait
                .map_or_else(String::new, |wait| format!("{wait:.4}")),
            whole(self.held),
            whole(self.seen.ram),
            whole(self.seen.process),
            whole(self.seen.merged),
            whole(self.seen.zero),
            whole(self.common),
            whole(self.written),
            whole(self.read),
            net(0),
            net(1),
            self.pressure
                .map_or_else(String::new, |waited| format!("{waited:.3}")),
        ];
        cells.join(",")
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
