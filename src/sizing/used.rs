//! Which keys of a lab an answer about a host uses.

use crate::lab::keys::{Command, later_command};
use crate::lab::{Host, Lab, Mode, key_steps};

/// Whether a command uses a key of this lab and host: what belongs to a disk, link, scanner or tariff that is not there does
/// not count.
pub(super) fn is_used(lab: &Lab, host: &Host, key: &str, command: Command) -> bool {
    if later_command(key).is_some_and(|later| later != command.name()) {
        return false;
    }
    let steps = key_steps(key);
    let words: Vec<&str> = steps.iter().map(String::as_str).collect();
    match words.as_slice() {
        ["lab", "years"] => lab.tariff.is_some() || host.price.is_some(),
        ["guest", _, last] => match *last {
            "disk_used" | "disk_size" | "disk_grows" | "trims" | "clone" | "written" | "disk"
            | "reads_idle" | "reads_busy" | "writes_idle" | "writes_busy" => !host.disks.is_empty(),
            "net_idle" | "net_busy" => host.link.is_some(),
            "backup" => host.backup.is_some(),
            "common_busy" | "rewrite_interval" | "busy_breaks" => host.merging.mode != Mode::Off,
            _ => true,
        },
        ["policy", last] => match *last {
            "disk_horizon" | "disk_keep_free" | "disk_ceiling" | "service_life" => {
                !host.disks.is_empty()
            }
            "network_ceiling" => host.link.is_some(),
            _ => true,
        },
        ["host", _, "merging", last] => merging_is_used(host, last),
        ["host", _, "disk", pool, "ways"] => {
            let pool = host.disks.iter().find(|one| one.name == *pool);
            pool.is_some_and(|pool| matches!(pool.layout, crate::lab::Layout::Mirror { .. }))
        }
        _ => true,
    }
}

fn merging_is_used(host: &Host, key: &str) -> bool {
    let merging = &host.merging;
    match key {
        "mode" => true,
        _ if merging.mode == Mode::Off => false,
        "zero_share" => merging.use_zero_pages,
        "pages_per_wake" => merging.mode == Mode::Fixed,
        "target_pass" => merging.mode == Mode::ScanTime,
        "threshold" | "least" | "most" => merging.mode == Mode::Adaptive,
        _ => true,
    }
}
