//! Which keys of a lab an answer about a host uses.

use crate::lab::keys::{Command, Needs, key_of};
use crate::lab::{Host, Lab, Layout, Mode, key_steps};

/// Whether a command uses a key of this lab and host: what belongs to a disk, link, scanner or tariff that is not there does
/// not count.
pub(super) fn is_used(lab: &Lab, host: &Host, path: &str, command: Command) -> bool {
    let Some(key) = key_of(path) else {
        return true;
    };
    if key.first != Command::Fit && key.first != command {
        return false;
    }
    let mode = host.merging.mode;
    match key.needs {
        Needs::Nothing => true,
        Needs::Costs => lab.tariff.is_some() || host.price.is_some(),
        Needs::Disks => !host.disks.is_empty(),
        Needs::Mirror => is_mirror(host, path),
        Needs::Link => host.link.is_some(),
        Needs::Backup => host.backup.is_some(),
        Needs::Sharing => mode != Mode::Off,
        Needs::ZeroPages => mode != Mode::Off && host.merging.use_zero_pages,
        Needs::Fixed => mode == Mode::Fixed,
        Needs::ScanTime => mode == Mode::ScanTime,
        Needs::Adaptive => mode == Mode::Adaptive,
    }
}

/// Whether the pool that the path leads to is a mirror.
fn is_mirror(host: &Host, path: &str) -> bool {
    let steps = key_steps(path);
    let name = steps.iter().rev().nth(1);
    let pool = host.disks.iter().find(|one| Some(&one.name) == name);
    pool.is_some_and(|pool| matches!(pool.layout, Layout::Mirror { .. }))
}
