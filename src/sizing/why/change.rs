//! The changes that could move a resource: hardware that an owner can buy, and decisions an owner can take.

use crate::lab::{Host, Lab, Layout, Mode, Pool};
use crate::model::YEAR;
use crate::sizing::resource::Resource;
use crate::unit::format;

/// A lab with one thing changed.
#[derive(Debug)]
pub(super) struct Change {
    /// What is changed, in words after "with".
    pub words: String,
    /// The lab with the changed policy and guests.
    pub lab: Lab,
    /// The changed host.
    pub host: Host,
}

/// Collects changes, each from the same start.
struct Changes<'a> {
    lab: &'a Lab,
    host: &'a Host,
    all: Vec<Change>,
}

impl Changes<'_> {
    fn add(&mut self, words: String, change: impl FnOnce(&mut Lab, &mut Host)) {
        let (mut lab, mut host) = (self.lab.clone(), self.host.clone());
        change(&mut lab, &mut host);
        self.all.push(Change { words, lab, host });
    }
}

/// The changes that could move a resource of a host.
pub(super) fn changes(lab: &Lab, host: &Host, resource: Resource) -> Vec<Change> {
    let mut changes = Changes {
        lab,
        host,
        all: Vec::new(),
    };
    match resource {
        Resource::Memory => memory(&mut changes),
        Resource::Cpu => processor(&mut changes),
        Resource::CpuWait => wait(&mut changes),
        Resource::Vcpus => vcpus(&mut changes),
        Resource::DiskSpace(pool) => space(&mut changes, pool),
        Resource::DiskIops(pool) => operations(&mut changes, pool),
        Resource::DiskWrites(pool) => writes(&mut changes, pool),
        Resource::Network => network(&mut changes),
        Resource::Backup => backup(&mut changes),
        Resource::Power => power(&mut changes),
        Resource::Guests => guests(&mut changes),
    }
    changes.all
}

fn memory(changes: &mut Changes) {
    let memory = &changes.host.memory;
    let largest = memory.modules.iter().copied().fold(0.0, f64::max);
    let is_full = memory
        .slots
        .is_some_and(|slots| memory.modules.len() as u64 >= slots);
    if !is_full {
        let words = format!("one more module of {}", format::bytes(largest));
        changes.add(words, |_, host| host.memory.modules.push(largest));
    } else if memory.max_module.is_none_or(|most| 2.0 * largest <= most) {
        changes.add("modules twice as large".to_owned(), |_, host| {
            host.memory.modules.iter_mut().for_each(|size| *size *= 2.0);
        });
    }
    if changes.host.merging.mode == Mode::Off {
        changes.add("page sharing on".to_owned(), |_, host| {
            host.merging.mode = Mode::Fixed;
        });
    }
    if changes.lab.guests.iter().any(|guest| guest.keeps > 0.0) {
        let words = "guests that report free memory to the host".to_owned();
        changes.add(words, |lab, _| {
            lab.guests.iter_mut().for_each(|guest| guest.keeps = 0.0);
        });
    }
    let kept = changes.lab.policy.memory_keep_free;
    if kept > 0.0 {
        let words = format!("{} of memory kept free", format::share(kept / 2.0));
        changes.add(words, |lab, _| lab.policy.memory_keep_free = kept / 2.0);
    }
    let risk = (2.0 * changes.lab.policy.memory_risk).min(0.5);
    let words = format!("a risk of {}", format::share(risk));
    changes.add(words, |lab, _| lab.policy.memory_risk = risk);
}

fn more_cores(changes: &mut Changes) {
    let words = format!(
        "{} in the first group",
        format::plural(changes.host.cpu.groups[0].cores + 2, "core", "cores")
    );
    changes.add(words, |_, host| host.cpu.groups[0].cores += 2);
}

fn processor(changes: &mut Changes) {
    more_cores(changes);
    let policy = &changes.lab.policy;
    let slowdown = policy.cpu_slowdown + 0.5;
    let words = format!("a slowdown of {} accepted", format::number(slowdown));
    changes.add(words, |lab, _| lab.policy.cpu_slowdown = slowdown);
    slow_risk(changes);
}

fn slow_risk(changes: &mut Changes) {
    let risk = (2.0 * changes.lab.policy.slow_risk).min(0.5);
    let words = format!("a risk of {}", format::share(risk));
    changes.add(words, |lab, _| lab.policy.slow_risk = risk);
}

fn wait(changes: &mut Changes) {
    more_cores(changes);
    if let Some(limit) = changes.lab.policy.max_mean_wait {
        let words = format!("a mean wait of {} accepted", format::seconds(2.0 * limit));
        changes.add(words, |lab, _| lab.policy.max_mean_wait = Some(2.0 * limit));
    }
}

fn vcpus(changes: &mut Changes) {
    more_cores(changes);
    if let Some(limit) = changes.lab.policy.max_vcpus_per_thread {
        let words = format!("{} vCPUs per thread accepted", format::number(limit + 1.0));
        changes.add(words, |lab, _| {
            lab.policy.max_vcpus_per_thread = Some(limit + 1.0);
        });
    }
}

/// Devices that a layout grows by at a time.
fn step(pool: &Pool) -> u64 {
    match pool.layout {
        Layout::Mirror { ways } => ways,
        Layout::Stripe | Layout::Parity1 | Layout::Parity2 => 1,
    }
}

fn more_devices(changes: &mut Changes, pool: usize) {
    let Some(devices) = changes.host.disks.get(pool) else {
        return;
    };
    let more = step(devices);
    let words = format!(
        "{} in {}",
        format::plural(devices.devices + more, "device", "devices"),
        devices.name
    );
    changes.add(words, |_, host| host.disks[pool].devices += more);
}

fn space(changes: &mut Changes, pool: usize) {
    more_devices(changes, pool);
    let kept = changes.lab.policy.disk_keep_free;
    if kept > 0.0 {
        let words = format!("{} of the space kept free", format::share(kept / 2.0));
        changes.add(words, |lab, _| lab.policy.disk_keep_free = kept / 2.0);
    }
}

fn operations(changes: &mut Changes, pool: usize) {
    more_devices(changes, pool);
    let ceiling = changes.lab.policy.disk_ceiling;
    let higher = (ceiling + 1.0) / 2.0;
    if higher > ceiling {
        let words = format!("disks {} busy accepted", format::share(higher));
        changes.add(words, |lab, _| lab.policy.disk_ceiling = higher);
    }
    slow_risk(changes);
}

fn writes(changes: &mut Changes, pool: usize) {
    more_devices(changes, pool);
    if let Some(rated) = changes.host.disks.get(pool).and_then(|pool| pool.endurance) {
        let words = format!("devices rated for {}", format::decimal_bytes(2.0 * rated));
        changes.add(words, |_, host| {
            host.disks[pool].endurance = Some(2.0 * rated);
        });
    }
    let life = changes.lab.policy.service_life;
    if life > 1.5 * YEAR {
        let words = format!("a service life of {}", format::seconds(life - YEAR));
        changes.add(words, |lab, _| lab.policy.service_life = life - YEAR);
    }
}

fn network(changes: &mut Changes) {
    if let Some(link) = changes.host.link {
        let words = format!("a link of {}", format::bit_rate(2.0 * link));
        changes.add(words, |_, host| host.link = Some(2.0 * link));
    }
    slow_risk(changes);
}

fn backup(changes: &mut Changes) {
    let Some(backup) = changes.host.backup.clone() else {
        return;
    };
    let words = format!("a window of {}", format::seconds(backup.window * 1.5));
    changes.add(words, |_, host| {
        if let Some(backup) = &mut host.backup {
            backup.window *= 1.5;
        }
    });
    if let Some(speed) = backup.speed {
        let words = format!(
            "a backup target that takes {}",
            format::byte_rate(2.0 * speed)
        );
        changes.add(words, |_, host| {
            if let Some(backup) = &mut host.backup {
                backup.speed = Some(2.0 * speed);
            }
        });
    }
}

fn power(changes: &mut Changes) {
    if let Some(budget) = changes.lab.policy.power_budget {
        let words = format!("a budget of {}", format::power(1.2 * budget));
        changes.add(words, |lab, _| lab.policy.power_budget = Some(1.2 * budget));
    }
    slow_risk(changes);
}

fn guests(changes: &mut Changes) {
    if let Some(limit) = changes.lab.policy.max_guests {
        let words = format!("{} allowed", format::plural(2 * limit, "guest", "guests"));
        changes.add(words, |lab, _| lab.policy.max_guests = Some(2 * limit));
    }
}
