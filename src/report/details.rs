//! The details of `fit` at the count that fits.

use super::table::{Rows, Table};
use crate::lab::{Lab, Mode};
use crate::model::{DAY, YEAR};
use crate::sizing::answer::{DiskAnswer, HostAnswer};
use crate::unit::format::{
    self, bytes, bytes_per_day, energy, number, numbered, power, seconds, share, years,
};
use crate::words::name::wait;

/// What one line of the details says: a label, a value; none where it is not known.
type Line<'a> = (&'a str, Option<String>);

pub(super) fn details(host: &HostAnswer, lab: &Lab) -> Rows<(String, String)> {
    let mut lines = known("", memory(host, lab));
    lines.extend(known("", processor(host, lab)));
    for disk in &host.disk {
        lines.extend(known(&format!("{}: ", disk.name), pool(disk)));
    }
    let power_of = host.power.as_ref();
    let watts = power_of.map(|one| power(one.watts));
    let a_year = power_of.map(|one| energy(one.kwh_per_year));
    let at_wall = ("at the wall, busy hour", watts);
    lines.extend(known("", [at_wall, ("energy a year, at most", a_year)]));
    lines.extend(money(host, lab));
    Table::of(lines)
        .left("", |(label, _)| label.clone())
        .left("", |(_, value)| value.clone())
}

/// The lines whose value is known; `whose` stands before their labels.
fn known<const N: usize>(whose: &str, lines: [Line; N]) -> Vec<(String, String)> {
    let lines = lines.into_iter();
    let lines = lines.filter_map(|(label, value)| Some((format!("{whose}{label}"), value?)));
    lines.collect()
}

fn memory(host: &HostAnswer, lab: &Lab) -> [Line<'static>; 8] {
    let memory = &host.memory;
    let (promised, times) = (bytes(memory.promised), format::ratio(memory.overcommit));
    let assigned = format!("{promised}, {times} what is there");
    let settled = share(memory.settled / memory.visible);
    let settled = format!("{} ({settled})", bytes(memory.settled));
    let scans = memory.scan_pass_s.is_some();
    [
        ("memory seen by the kernel", Some(bytes(memory.visible))),
        ("safe limit for guests", Some(bytes(memory.usable))),
        ("cliff for guests", Some(bytes(memory.cliff))),
        ("assigned to guests", Some(assigned)),
        ("memory in use once settled", Some(settled)),
        (
            sharing_label(host, lab),
            scans.then(|| bytes(memory.shared_saved)),
        ),
        (
            "mergeable pages found merged",
            scans.then(|| share(memory.kappa)),
        ),
        ("one pass of the scanner", memory.scan_pass_s.map(seconds)),
    ]
}

fn processor(host: &HostAnswer, lab: &Lab) -> [Line<'static>; 3] {
    let (cpu, slowdown) = (&host.cpu, number(lab.policy.cpu_slowdown));
    let supply = numbered(cpu.supply, "core", "cores");
    let left = format!("{supply}; at the worst moment {slowdown} times as much may be demanded");
    let [a_thread, vcpus, threads] = [cpu.vcpus_per_thread, cpu.vcpus, cpu.threads].map(number);
    let vcpus = format!("{a_thread} ({vcpus} on {threads})");
    let waits = cpu.wait_chance.zip(cpu.mean_wait_s).map_or_else(
        || "no bound: the demand exceeds the supply".to_owned(),
        |(chance, mean)| {
            let (chance, mean) = (share(chance), wait(mean));
            format!("{chance} of bursts at the worst moment, {mean} on average")
        },
    );
    [
        ("processor left for guests", Some(left)),
        ("vCPUs per hardware thread", Some(vcpus)),
        ("wait for a processor", Some(waits)),
    ]
}

fn money(host: &HostAnswer, lab: &Lab) -> Vec<(String, String)> {
    let Some(cost) = &host.cost else {
        return Vec::new();
    };
    let years = years(lab.years);
    let total = cost.total.filter(|_| cost.running.is_some());
    let amounts = [
        ("price", cost.price),
        (&format!("energy over {years}, at most"), cost.running),
        (&format!("price and energy over {years}"), total),
        ("per guest", cost.per_guest),
        ("per GiB assigned", cost.per_gib),
    ];
    let money = |amount: f64| format::money(amount, &lab.currency);
    known("", amounts.map(|(label, one)| (label, one.map(money))))
}

/// An adaptive scanner saves only once memory is short, so its figure is what it could save.
fn sharing_label(host: &HostAnswer, lab: &Lab) -> &'static str {
    let asked = lab.hosts.iter().find(|one| one.name == host.name);
    match asked.map(|one| one.merging.mode) {
        Some(Mode::Adaptive) => "page sharing saves, once it runs",
        _ => "page sharing saves",
    }
}

fn pool(disk: &DiskAnswer) -> [Line<'static>; 6] {
    let [used, owned] = [disk.used, disk.owned].map(bytes);
    let filled = format!("{used} of {owned} ({})", share(disk.fill));
    let (by_guests, to_device) = (disk.written_per_day, disk.device_written_per_day);
    // The same bytes on one device are said once.
    let to_device = (to_device != by_guests).then(|| bytes_per_day(to_device));
    let by_guests = Some(bytes_per_day(by_guests));
    let full = disk.full_in_days.map(|days| seconds(days * DAY));
    let worn = disk.life_years.map(|years| seconds(years * YEAR));
    let both = "written by guests and host (their own counters)";
    let devices = "written to the devices together (their own logs)";
    [
        ("filled", Some(filled)),
        ("assigned to guests", Some(bytes(disk.promised))),
        ("full in", full),
        (both, by_guests),
        (devices, to_device),
        ("rated writes used up in", worn),
    ]
}
