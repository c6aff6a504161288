//! The details of `fit` at the count that fits.

use super::table::{Rows, Table};
use crate::lab::{Lab, Mode};
use crate::model::{DAY, YEAR};
use crate::sizing::answer::{DiskAnswer, HostAnswer};
use crate::unit::format;
use crate::words::name::wait;

/// What one line of the details says: a label, a value.
type Line = (String, String);

pub(super) fn details(host: &HostAnswer, lab: &Lab) -> Rows<Line> {
    let mut lines = memory(host, lab);
    lines.extend(processor(host, lab));
    for disk in &host.disk {
        lines.extend(pool(disk));
    }
    if let Some(power) = &host.power {
        lines.push(line("at the wall, busy hour", format::power(power.watts)));
        lines.push(line(
            "energy a year, at most",
            format::energy(power.kwh_per_year),
        ));
    }
    lines.extend(money(host, lab));
    Table::of(lines)
        .left("", |(label, _)| label.clone())
        .left("", |(_, value)| value.clone())
}

fn line(label: impl Into<String>, value: String) -> Line {
    (label.into(), value)
}

fn memory(host: &HostAnswer, lab: &Lab) -> Vec<Line> {
    let memory = &host.memory;
    let assigned = format!(
        "{}, {} what is there",
        format::bytes(memory.promised),
        format::ratio(memory.overcommit)
    );
    let settled = format::share(memory.settled / memory.visible);
    let settled = format!("{} ({settled})", format::bytes(memory.settled));
    let mut lines = vec![
        line("memory seen by the kernel", format::bytes(memory.visible)),
        line("safe limit for guests", format::bytes(memory.usable)),
        line("cliff for guests", format::bytes(memory.cliff)),
        line("assigned to guests", assigned),
        line("memory in use once settled", settled),
    ];
    if let Some(pass) = memory.scan_pass_s {
        lines.extend([
            line(sharing_label(host, lab), format::bytes(memory.shared_saved)),
            line("mergeable pages found merged", format::share(memory.kappa)),
            line("one pass of the scanner", format::seconds(pass)),
        ]);
    }
    lines
}

fn processor(host: &HostAnswer, lab: &Lab) -> [Line; 3] {
    let cpu = &host.cpu;
    let left = format!(
        "{}; at the worst moment {} times as much may be demanded",
        format::numbered(cpu.supply, "core", "cores"),
        format::number(lab.policy.cpu_slowdown)
    );
    let vcpus = format!(
        "{} ({} on {})",
        format::number(cpu.vcpus_per_thread),
        format::number(cpu.vcpus),
        format::number(cpu.threads)
    );
    let waits = match (cpu.wait_chance, cpu.mean_wait_s) {
        (Some(chance), Some(mean)) => format!(
            "{} of bursts at the worst moment, {} on average",
            format::share(chance),
            wait(mean)
        ),
        _ => "no bound: the demand exceeds the supply".to_owned(),
    };
    [
        line("processor left for guests", left),
        line("vCPUs per hardware thread", vcpus),
        line("wait for a processor", waits),
    ]
}

fn money(host: &HostAnswer, lab: &Lab) -> Vec<Line> {
    let Some(cost) = &host.cost else {
        return Vec::new();
    };
    let years = format::years(lab.years);
    let total = cost.total.filter(|_| cost.running.is_some());
    let amounts = [
        ("price".to_owned(), cost.price),
        (format!("energy over {years}, at most"), cost.running),
        (format!("price and energy over {years}"), total),
        ("per guest".to_owned(), cost.per_guest),
        ("per GiB assigned".to_owned(), cost.per_gib),
    ];
    let known = amounts
        .into_iter()
        .filter_map(|(label, amount)| Some((label, format::money(amount?, &lab.currency))));
    known.collect()
}

/// An adaptive scanner saves only once memory is short, so its figure is what it could save.
fn sharing_label(host: &HostAnswer, lab: &Lab) -> String {
    let merging = lab
        .hosts
        .iter()
        .find(|one| one.name == host.name)
        .map(|one| one.merging.mode);
    match merging {
        Some(Mode::Adaptive) => "page sharing saves, once it runs".to_owned(),
        _ => "page sharing saves".to_owned(),
    }
}

fn pool(disk: &DiskAnswer) -> Vec<Line> {
    let filled = format!(
        "{} of {} ({})",
        format::bytes(disk.used),
        format::bytes(disk.owned),
        format::share(disk.fill)
    );
    let full = disk.full_in_days.map(|days| format::seconds(days * DAY));
    // The same bytes on one device are said once.
    let device = (disk.device_written_per_day != disk.written_per_day)
        .then(|| format::bytes_per_day(disk.device_written_per_day));
    let worn = disk.life_years.map(|years| format::seconds(years * YEAR));
    let lines = [
        ("filled", Some(filled)),
        ("assigned to guests", Some(format::bytes(disk.promised))),
        ("full in", full),
        (
            "written by guests and host (their own counters)",
            Some(format::bytes_per_day(disk.written_per_day)),
        ),
        ("written to the devices together (their own logs)", device),
        ("rated writes used up in", worn),
    ];
    let known = lines
        .into_iter()
        .filter_map(|(what, value)| Some(line(format!("{}: {what}", disk.name), value?)));
    known.collect()
}
