//! The columns of a survey of guests: a line a guest and moment.

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
/// use berthage::survey::line::without_number;
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
