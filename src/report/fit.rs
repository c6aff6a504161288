//! The document of `fit`.

use super::document::{Align, Cell, Document, Sheet, Table};
use super::sentence::sentence;
use super::words::{count_or, counted, holds, load, resource_label};
use crate::inventory::lab::{Lab, Mode};
use crate::sizing::answer::{DiskAnswer, FitAnswer, Guess, HostAnswer, State};
use crate::unit::format;

/// Builds the document of an answer of `fit`.
#[must_use]
pub fn document(answer: &FitAnswer, lab: &Lab) -> Document {
    let mut document = Document::new();
    let title = if answer.lab.is_empty() {
        "How many guests fit".to_owned()
    } else {
        format!("How many guests fit: {}", answer.lab)
    };
    document.heading(1, title);
    for host in &answer.hosts {
        host_blocks(&mut document, host, lab, answer.hosts.len());
    }
    document.sheet = sheet(&answer.hosts);
    document
}

fn host_blocks(document: &mut Document, host: &HostAnswer, lab: &Lab, hosts: usize) {
    if hosts > 1 {
        document.heading(2, host.name.clone());
    }
    document.lead(sentence(host, lab));
    document.paragraph(mix(host, lab));
    document.heading(3, "What runs out, in order");
    document.table(resources(host));
    if let Some(note) = not_considered(host, lab) {
        document.paragraph(note);
    }
    document.heading(3, "Memory, counted in other ways");
    document.table(memory_counts(host));
    document.paragraph(
        "The kernel's limit is an upper bound: a host whose guests use all their memory at once thrashes earlier, and \
         watchdogs in user space act earlier still.",
    );
    document.heading(3, format!("At {}", counted(host, host.fits.unwrap_or(0))));
    document.table(details(host, lab));
    if let Some(guessed) = guesses(host, lab) {
        document.heading(3, "Guessed, because nobody gave it");
        document.list(guessed);
    }
    document.heading(3, "Cautions");
    for caution in &host.cautions {
        document.caution(caution.id, caution.text.clone());
    }
}

/// "62 guests: 41 web and 21 build."
fn mix(host: &HostAnswer, lab: &Lab) -> String {
    let parts: Vec<String> = lab
        .guests
        .iter()
        .filter_map(|guest| {
            host.mix
                .get(&guest.name)
                .map(|n| format!("{} {}", format::count(*n), guest.name))
        })
        .collect();
    format!(
        "{}: {}.",
        format::plural(host.guests, "guest", "guests"),
        super::words::listed(&parts)
    )
}

fn resources(host: &HostAnswer) -> Table {
    let at = counted(host, host.fits.unwrap_or(0));
    let mut table = Table::new(&[
        ("runs out", Align::Left),
        ("holds", Align::Right),
        (&format!("needs at {at}"), Align::Right),
        ("limit", Align::Right),
        ("load", Align::Right),
        ("", Align::Left),
    ]);
    for one in &host.resources {
        let label = resource_label(one.resource, &one.name);
        let binds = host.binds.contains(&one.name);
        let first = |text: String| {
            if binds {
                Cell::strong(text)
            } else {
                Cell::text(text)
            }
        };
        let label = if binds && one.state == State::Bound {
            format!("{label} (first)")
        } else {
            label
        };
        table.row([
            first(label),
            first(holds(one)),
            Cell::text(one.resource.text(one.at_risk)),
            Cell::text(one.resource.text(one.limit)),
            Cell::text(load(one.load)),
            Cell::bar(one.load.min(9.99)),
        ]);
    }
    table
}

/// What was left out, and what would bring it in.
fn not_considered(host: &HostAnswer, lab: &Lab) -> Option<String> {
    let mut facts = Vec::new();
    let mut limits = Vec::new();
    for name in &host.not_considered {
        let base = name.split(':').next().unwrap_or(name);
        match base {
            "disk_space" => facts.push(format!("{name} (no [[host.disk]] given)")),
            "disk_iops" => facts.push(format!("{name} (no read_iops and write_iops given)")),
            "disk_writes" => facts.push(format!("{name} (no endurance given)")),
            "network" => facts.push(format!("{name} (no [host.network] given)")),
            "backup" => facts.push(format!("{name} (no [host.backup] given)")),
            "power" if lab.policy.power_budget.is_some() => {
                facts.push(format!("{name} (no [host.power] given)"))
            }
            _ => limits.push(name.clone()),
        }
    }
    let mut text = String::new();
    if !facts.is_empty() {
        text.push_str(&format!("Not considered: {}.", facts.join(", ")));
    }
    if !limits.is_empty() {
        let gap = if text.is_empty() { "" } else { " " };
        text.push_str(&format!(
            "{gap}No limit set in [policy] for: {}.",
            limits.join(", ")
        ));
    }
    (!text.is_empty()).then_some(text)
}

fn memory_counts(host: &HostAnswer) -> Table {
    let mut table = Table::new(&[("count", Align::Left), (host.unit, Align::Right)]);
    let own = host.resources.iter().find(|one| one.name == "memory");
    table.row([
        Cell::strong("within the safe limit, guests that have been busy"),
        Cell::strong(own.map_or_else(String::new, holds)),
    ]);
    for (words, count) in [
        (
            "the same with fresh guests, never busy since they started",
            count_or(host.fresh, "none or no limit"),
        ),
        (
            "the same without page sharing (same-page merging)",
            count_or(host.unshared, "none or no limit"),
        ),
        (
            "balloons in, swap still empty",
            count_or(host.stretched, "none or no limit"),
        ),
        (
            "cliff: the kernel starts killing guests at about",
            count_or(host.breaks_at, "not reached"),
        ),
        (
            "cliff when guests grow faster than the file cache lets go",
            count_or(host.breaks_at_sudden, "not reached"),
        ),
        (
            "by the plain sum of assigned memory",
            count_or(host.plain_sum, "none or no limit"),
        ),
    ] {
        table.row([Cell::text(words), Cell::text(count)]);
    }
    table
}

fn details(host: &HostAnswer, lab: &Lab) -> Table {
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
            (Some(chance), Some(wait)) => format!(
                "{} of the time, {} on average",
                format::share(chance),
                format::seconds(wait)
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
        let years = format::number(lab.years);
        for (label, amount) in [
            ("price".to_owned(), cost.price),
            (format!("energy over {years} years, at most"), cost.running),
            (
                format!("price and energy over {years} years"),
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
        |days| format::seconds(days * 86_400.0),
    );
    add(format!("{name}: full in"), full);
    add(
        format!("{name}: written, by the guests' and host's counters"),
        format::bytes_per_day(disk.written_per_day),
    );
    add(
        format!("{name}: written, by all devices' own logs"),
        format::bytes_per_day(disk.device_written_per_day),
    );
    if let Some(years) = disk.life_years {
        add(
            format!("{name}: rated writes used up in"),
            format::seconds(years * crate::model::YEAR),
        );
    }
}

/// One line for what was guessed alike for every guest, then one for each table with guesses of its own.
fn guesses(host: &HostAnswer, lab: &Lab) -> Option<Vec<String>> {
    let mut owners: Vec<(String, Vec<String>)> = Vec::new();
    let mut add =
        |owner: &str, text: String| match owners.iter_mut().find(|(name, _)| name == owner) {
            Some((_, texts)) if texts.contains(&text) => {}
            Some((_, texts)) => texts.push(text),
            None => owners.push((owner.to_owned(), vec![text])),
        };
    let told = |guess: &Guess| {
        let (owner, key) = guess.key.rsplit_once('.').unwrap_or(("", &guess.key));
        (owner.to_owned(), format!("{key} = {}", guess.value))
    };
    let all: Vec<(String, String)> = host.guesses.iter().map(told).collect();
    for (owner, text) in &all {
        let alike = all
            .iter()
            .filter(|(other, same)| other.starts_with("guest.") && same == text)
            .count();
        let of_every_guest =
            owner.starts_with("guest.") && lab.guests.len() > 1 && alike == lab.guests.len();
        add(
            if of_every_guest { "every guest" } else { owner },
            text.clone(),
        );
    }
    let lines: Vec<String> = owners
        .into_iter()
        .map(|(owner, keys)| format!("{owner}: {}", keys.join(", ")))
        .collect();
    (!lines.is_empty()).then_some(lines)
}

/// Every number of the answer, one a row.
fn sheet(hosts: &[HostAnswer]) -> Sheet {
    let mut sheet = Sheet::new(["host", "section", "item", "quantity", "value", "unit"]);
    for host in hosts {
        let mut add = |section: &str, item: &str, quantity: &str, value: String, unit: &str| {
            sheet.row([host.name.as_str(), section, item, quantity, &value, unit]);
        };
        let whole = |value: Option<u64>| value.map_or_else(String::new, |value| value.to_string());
        for (quantity, value) in [
            ("fits", host.fits),
            ("breaks_at", host.breaks_at),
            ("breaks_at_sudden", host.breaks_at_sudden),
            ("fresh", host.fresh),
            ("unshared", host.unshared),
            ("stretched", host.stretched),
            ("plain_sum", host.plain_sum),
        ] {
            add("answer", "", quantity, whole(value), host.unit);
        }
        add("answer", "", "binds", host.binds.join(" "), "");
        add("answer", "", "guests", host.guests.to_string(), "guests");
        for (name, count) in &host.mix {
            add("mix", name, "count", count.to_string(), "guests");
        }
        for one in &host.resources {
            let state = match one.state {
                State::Bound => "bound",
                State::Unbounded => "unbounded",
                State::Broken => "broken",
            };
            add("resource", &one.name, "state", state.to_owned(), "");
            add("resource", &one.name, "fits", whole(one.fits), host.unit);
            for (quantity, value) in [
                ("limit", one.limit),
                ("mean", one.mean),
                ("at_risk", one.at_risk),
            ] {
                add("resource", &one.name, quantity, finite(value), one.unit);
            }
            add("resource", &one.name, "load", finite(one.load), "share");
        }
        figures(host, &mut add);
        for name in &host.not_considered {
            add("not_considered", name, "", String::new(), "");
        }
        for guess in &host.guesses {
            add("guess", &guess.key, "value", guess.value.clone(), "");
        }
        for caution in &host.cautions {
            add("caution", caution.id, "text", caution.text.clone(), "");
        }
    }
    sheet
}

fn finite(value: f64) -> String {
    if value.is_finite() {
        value.to_string()
    } else {
        String::new()
    }
}

/// The figures beside the resources.
fn figures(host: &HostAnswer, add: &mut impl FnMut(&str, &str, &str, String, &str)) {
    let known = |value: Option<f64>| value.map_or_else(String::new, finite);
    let memory = &host.memory;
    for (quantity, value, unit) in [
        ("visible", Some(memory.visible), "B"),
        ("usable", Some(memory.usable), "B"),
        ("cliff", Some(memory.cliff), "B"),
        ("promised", Some(memory.promised), "B"),
        ("overcommit", Some(memory.overcommit), "ratio"),
        ("shared_saved", Some(memory.shared_saved), "B"),
        ("kappa", Some(memory.kappa), "share"),
        ("scan_pass_s", memory.scan_pass_s, "s"),
        ("settled", Some(memory.settled), "B"),
    ] {
        add("memory", "", quantity, known(value), unit);
    }
    let cpu = &host.cpu;
    for (quantity, value, unit) in [
        ("supply", Some(cpu.supply), "cores"),
        ("vcpus", Some(cpu.vcpus), "vCPUs"),
        ("threads", Some(cpu.threads), "threads"),
        (
            "vcpus_per_thread",
            Some(cpu.vcpus_per_thread),
            "vCPUs/thread",
        ),
        ("wait_chance", cpu.wait_chance, "share"),
        ("mean_wait_s", cpu.mean_wait_s, "s"),
    ] {
        add("cpu", "", quantity, known(value), unit);
    }
    for disk in &host.disk {
        for (quantity, value, unit) in [
            ("life_years", disk.life_years, "years"),
            ("fill", Some(disk.fill), "share"),
            ("promised", Some(disk.promised), "B"),
            ("owned", Some(disk.owned), "B"),
            ("full_in_days", disk.full_in_days, "days"),
            ("used", Some(disk.used), "B"),
            ("written_per_day", Some(disk.written_per_day), "B/day"),
            (
                "device_written_per_day",
                Some(disk.device_written_per_day),
                "B/day",
            ),
        ] {
            add("disk", &disk.name, quantity, known(value), unit);
        }
    }
    if let Some(power) = &host.power {
        add("power", "", "watts", finite(power.watts), "W");
        add(
            "power",
            "",
            "kwh_per_year",
            finite(power.kwh_per_year),
            "kWh",
        );
    }
    if let Some(cost) = &host.cost {
        for (quantity, value) in [
            ("price", cost.price),
            ("running", cost.running),
            ("total", cost.total),
            ("per_guest", cost.per_guest),
            ("per_gib", cost.per_gib),
        ] {
            add("cost", "", quantity, known(value), "money");
        }
    }
}
