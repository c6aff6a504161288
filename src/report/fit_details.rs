//! The details of `fit` at the count that fits.

use super::document::{Align, Cell, Table};
use crate::lab::{Lab, Mode};
use crate::sizing::answer::{DiskAnswer, HostAnswer};
use crate::unit::format;
use crate::words::name::wait;

pub(super) fn details(host: &HostAnswer, lab: &Lab) -> Table {
    let mut table = Table::new(&[("", Align::Left), ("", Align::Left)]);
    let mut add = |label: String, value: String| {
        table.row([Cell::text(label), Cell::text(value)]);
    };
    let memory = &host.memory;
    add(
        "memory seen by the kernel".into(),
        format::bytes(memory.visible),
    );
    add("safe limit for guests".into(), format::bytes(memory.usable));
    add("cliff for guests".into(), format::bytes(memory.cliff));
    add(
        "assigned to guests".into(),
        format!(
            "{}, {} what is there",
            format::bytes(memory.promised),
            format::ratio(memory.overcommit)
        ),
    );
    let settled = format::share(memory.settled / memory.visible);
    add(
        "memory in use once settled".into(),
        format!("{} ({settled})", format::bytes(memory.settled)),
    );
    if let Some(pass) = memory.scan_pass_s {
        add(sharing_label(host, lab), format::bytes(memory.shared_saved));
        add(
            "mergeable pages found merged".into(),
            format::share(memory.kappa),
        );
        add("one pass of the scanner".into(), format::seconds(pass));
    }
    let cpu = &host.cpu;
    add(
        "processor left for guests".into(),
        format!(
            "{}; at the worst moment {} times as much may be asked for",
            format::numbered(cpu.supply, "core", "cores"),
            format::number(lab.policy.cpu_slowdown)
        ),
    );
    add(
        "vCPUs per hardware thread".into(),
        format!(
            "{} ({} on {})",
            format::number(cpu.vcpus_per_thread),
            format::number(cpu.vcpus),
            format::number(cpu.threads)
        ),
    );
    add(
        "wait for a processor".into(),
        match (cpu.wait_chance, cpu.mean_wait_s) {
            (Some(chance), Some(mean)) => format!(
                "at mean load {} of the time, {} on average",
                format::share(chance),
                wait(mean)
            ),
            _ => "no bound: more is asked for than there is".to_owned(),
        },
    );
    for disk in &host.disk {
        disk_details(disk, &mut add);
    }
    if let Some(power) = &host.power {
        add("at the wall, busy hour".into(), format::power(power.watts));
        add(
            "energy a year, at most".into(),
            format::energy(power.kwh_per_year),
        );
    }
    if let Some(cost) = &host.cost {
        let money = |amount: f64| format::money(amount, &lab.currency);
        let years = format::years(lab.years);
        for (label, amount) in [
            ("price".to_owned(), cost.price),
            (format!("energy over {years}, at most"), cost.running),
            (
                format!("price and energy over {years}"),
                cost.total.filter(|_| cost.running.is_some()),
            ),
            ("per guest".to_owned(), cost.per_guest),
            ("per GiB assigned".to_owned(), cost.per_gib),
        ] {
            if let Some(amount) = amount {
                add(label, money(amount));
            }
        }
    }
    table
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

fn disk_details(disk: &DiskAnswer, add: &mut impl FnMut(String, String)) {
    let name = &disk.name;
    add(
        format!("{name}: filled"),
        format!(
            "{} of {} ({})",
            format::bytes(disk.used),
            format::bytes(disk.owned),
            format::share(disk.fill)
        ),
    );
    add(
        format!("{name}: promised to guests"),
        format::bytes(disk.promised),
    );
    let full = disk.full_in_days.map_or_else(
        || "never at today's growth".to_owned(),
        |days| format::seconds(days * crate::model::DAY),
    );
    add(format!("{name}: full in"), full);
    add(
        format!("{name}: written by guests and host (their own counters)"),
        format::bytes_per_day(disk.written_per_day),
    );
    add(
        format!("{name}: written to the devices together (their own logs)"),
        format::bytes_per_day(disk.device_written_per_day),
    );
    if let Some(years) = disk.life_years {
        add(
            format!("{name}: rated writes used up in"),
            format::seconds(years * crate::model::YEAR),
        );
    }
}
