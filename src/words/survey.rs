//! What `survey` says beside its lines: what the caller may not read, and how it goes on.

use crate::survey::each::{Denied, Watch};
use crate::unit::format::plural;

/// What is not read and which privilege would tell it, a line each; nothing where all was read.
pub fn not_measured(watch: &Watch, guests: usize) -> String {
    let mut lines = Vec::new();
    for denied in watch.denied() {
        lines.push(match denied {
            Denied::Processes => {
                "Not read: memory of the guests' processes and what they write (ram_held, process_held, merged, zero, written, \
                 read, net_in, net_out). The user that runs the guests may read them, and root."
            }
            Denied::Pages => "Not read: which pages guests hold together (common). Root may read it.",
            Denied::Groups => {
                "Not read: control groups past the first 20,000 in one folder. Name the folder that the guests are in with --under."
            }
            Denied::Machines => {
                "Not read: which processes of other users hold a virtual machine. Root may read it; --under and --process find \
                 guests without."
            }
        });
    }
    if guests == 0 {
        lines.push(
            "No guest was found: name the control group that they are in with --under, or their program with --process.",
        );
    }
    lines.iter().map(|line| format!("{line}\n")).collect()
}

/// The line that a person who waits sees.
pub fn live(guests: usize, lines: usize) -> String {
    let guests = plural(guests as u64, "guest", "guests");
    format!(
        "{guests} seen, {} written",
        plural(lines as u64, "line", "lines")
    )
}
