//! Three sentences: why this resource runs out first, who takes most of it, what would move it.

use std::fmt::{self, Display, Formatter};

use super::caution::written_as_text;
use super::fit::{capitalised, is_past, total};
use super::name::{in_sentence, runs_out_first};
use crate::lab::Lab;
use crate::sizing::answer::{HostAnswer, ResourceAnswer};
use crate::sizing::resource::Resource;
use crate::sizing::why::change::Change;
use crate::sizing::why::{Moved, Why};
use crate::unit::format;

/// Changes that a sentence names.
const NAMED: usize = 3;

written_as_text!(Change);

impl Display for Change {
    /// What is changed, after "with".
    fn fmt(&self, f: &mut Formatter) -> fmt::Result {
        f.write_str(&hardware(self).unwrap_or_else(|| decision(self)))
    }
}

/// A change of the hardware.
fn hardware(change: &Change) -> Option<String> {
    Some(match change {
        Change::OneModule(size) => format!("one more module of {}", format::bytes(*size)),
        Change::LargerModules => "modules twice as large".to_owned(),
        Change::Cores(cores) => {
            let cores = format::plural(*cores, "core", "cores");
            format!("{cores} in the first group")
        }
        Change::Devices(_, pool, devices) => {
            let devices = format::plural(*devices, "device", "devices");
            format!("{devices} in {pool}")
        }
        Change::Endurance(_, rated) => {
            format!("devices rated for {}", format::decimal_bytes(*rated))
        }
        Change::Link(speed) => format!("a link of {}", format::bit_rate(*speed)),
        Change::BackupSpeed(speed) => {
            let speed = format::byte_rate(*speed);
            format!("a backup target that takes {speed}")
        }
        _ => return None,
    })
}

/// A change of settings, or of what is accepted.
fn decision(change: &Change) -> String {
    let accepted = |what: String| format!("{what} accepted");
    match change {
        Change::Sharing => "page sharing on".to_owned(),
        Change::FreeMemoryReports => "guests that report unused pages to the host".to_owned(),
        Change::KeepFree(share) => format!("{} of memory kept free", format::share(*share)),
        Change::DiskKeepFree(share) => format!("{} of the space kept free", format::share(*share)),
        Change::MemoryRisk(risk) | Change::SlowRisk(risk) => {
            format!("a risk of {}", format::share(*risk))
        }
        Change::Slowdown(times) => accepted(format!("a slowdown of {}", format::number(*times))),
        Change::MeanWait(wait) => accepted(format!("a mean wait of {}", format::seconds(*wait))),
        Change::VcpusPerThread(most) => {
            accepted(format!("{} vCPUs per thread", format::number(*most)))
        }
        Change::DiskCeiling(share) => accepted(format!("disks {} busy", format::share(*share))),
        Change::ServiceLife(life) => format!("a service life of {}", format::seconds(*life)),
        Change::BackupWindow(window) => format!("a window of {}", format::seconds(*window)),
        Change::PowerBudget(budget) => format!("a budget of {}", format::power(*budget)),
        Change::MostGuests(most) => {
            format!("{} allowed", format::plural(*most, "guest", "guests"))
        }
        // Hardware.
        Change::OneModule(_)
        | Change::LargerModules
        | Change::Cores(_)
        | Change::Devices(..)
        | Change::Endurance(..)
        | Change::Link(_)
        | Change::BackupSpeed(_) => String::new(),
    }
}

/// The sentences for one host; one sentence where nothing runs out.
pub fn sentences(host: &HostAnswer, lab: &Lab) -> String {
    let Some((why, first)) = host.why.as_ref().and_then(|why| {
        let first = host.resources.iter().find(|one| one.name == why.resource)?;
        Some((why, first))
    }) else {
        return "Nothing that was considered runs out.".to_owned();
    };
    [
        reason(host, lab, why, first),
        takers(why),
        moves(host, lab, why),
    ]
    .into_iter()
    .filter(|sentence| !sentence.is_empty())
    .collect::<Vec<_>>()
    .join(" ")
}

fn reason(host: &HostAnswer, lab: &Lab, why: &Why, first: &ResourceAnswer) -> String {
    let text = |value: f64| first.resource.text(value);
    let Some(n) = host.fits else {
        let left = if first.limit > 0.0 {
            format!("{} is there", text(first.limit))
        } else {
            "nothing is left for it".to_owned()
        };
        return format!(
            "{} before any scaling guest: what must run needs {}, and {left}.",
            capitalised(&is_past(first)),
            text(first.at_risk),
        );
    };
    let one_more = match why.at_next {
        Some(demand) if text(demand) == text(first.limit) => {
            "and one more would just pass it".to_owned()
        }
        Some(demand) => format!("and one more would need {}", text(demand)),
        None => "and one more would be past every bound".to_owned(),
    };
    let verb = if total(host, lab, n) == 1 {
        "needs"
    } else {
        "need"
    };
    let moment = if depends_on_chance(first.resource) {
        " at the accepted worst moment"
    } else {
        ""
    };
    format!(
        "{} because {} {verb} {} of {}{moment}, {one_more}.",
        capitalised(&runs_out_first(&[first])),
        format::plural(total(host, lab, n), "guest", "guests"),
        text(first.at_risk),
        text(first.limit)
    )
}

/// Whether a demand depends on how many guests are busy at once.
fn depends_on_chance(resource: Resource) -> bool {
    match resource {
        Resource::Memory
        | Resource::Cpu
        | Resource::DiskIops(_)
        | Resource::Network
        | Resource::Power => true,
        Resource::CpuWait
        | Resource::Vcpus
        | Resource::DiskSpace(_)
        | Resource::DiskWrites(_)
        | Resource::Backup
        | Resource::Guests => false,
    }
}

fn takers(why: &Why) -> String {
    let named: Vec<String> = why
        .shares
        .iter()
        .filter(|one| one.share >= 0.005)
        .take(2)
        .map(|one| format!("{} ({})", one.guest, format::share(one.share)))
        .collect();
    if named.is_empty() {
        String::new()
    } else {
        format!("Most of it goes to {}.", format::listed(&named))
    }
}

fn moves(host: &HostAnswer, lab: &Lab, why: &Why) -> String {
    let helps = |moved: &&Moved| moved.fits.is_some() && moved.fits > host.fits;
    let useful: Vec<&Moved> = why.changes.iter().filter(helps).collect();
    if useful.is_empty() {
        let tried: Vec<String> = why
            .changes
            .iter()
            .map(|moved| moved.change.to_string())
            .collect();
        return if tried.is_empty() {
            String::new()
        } else {
            format!("None of these alone would move it: {}.", tried.join(", "))
        };
    }
    let texts: Vec<String> = useful
        .iter()
        .take(NAMED)
        .map(|moved| count_with(host, lab, why, moved))
        .collect();
    format!("The count would be {}.", texts.join("; "))
}

/// "46 with one more module of 32 GiB (then the processor)".
fn count_with(host: &HostAnswer, lab: &Lab, why: &Why, moved: &Moved) -> String {
    let count = moved.fits.map(|n| total(host, lab, n));
    let count = count.map_or_else(String::new, format::count);
    let others: Vec<&ResourceAnswer> = host
        .resources
        .iter()
        .filter(|one| moved.binds.contains(&one.name) && one.name != why.resource)
        .collect();
    let then = if others.is_empty() {
        String::new()
    } else {
        format!(" (then {} first)", in_sentence(&others))
    };
    format!("{count} with {}{then}", moved.change)
}
