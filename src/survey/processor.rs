//! Processors, cores, threads and kinds of cores.

use std::collections::{BTreeMap, BTreeSet};

use super::parse::{self, cpulist};
use super::root::Root;
use super::table::HostTable;
use crate::lab::keys::Section;
use crate::model::DAY;
use crate::unit::format::{self, plural};

const CPUS: &str = "sys/devices/system/cpu";

/// Ticks a second in `/proc/stat`, whatever the kernel's own timer does.
pub(super) const TICKS: f64 = 100.0;

/// No core has more threads than this.
const MOST_THREADS: usize = 8;

/// Equal cores.
#[derive(Debug, Clone, PartialEq)]
struct Group {
    /// What the kernel calls the kind; empty where all are alike.
    kind: String,
    threads: usize,
    cores: usize,
    /// The kernel's rating of the fastest of them, if it has one.
    rating: Option<f64>,
}

/// Writes `[host.cpu]`; `guests` is how many run now, if that is known.
pub(super) fn read(root: &Root, guests: Option<u64>, table: &mut HostTable) {
    table.open(Section::Cpu);
    let Some((online, origin)) = online(root) else {
        let why = format!("neither /{CPUS}/online nor /proc/cpuinfo lists processors");
        return table.to_add("groups", why);
    };
    let found = groups(root, &online);
    let origin = format!("{origin} and the topology beside it");
    table.put_text("groups", &list(&found.groups), origin);
    kinds(&found, table);
    if found.unclear > 0 {
        table.note(format!(
            "{} of the processors list more than {MOST_THREADS} beside them on one core, which no core has: each is \
             counted as a core of its own, so correct cores and threads by hand",
            found.unclear
        ));
    }
    let present = root.text(&format!("{CPUS}/present")).ok();
    let present = present.and_then(|text| cpulist(&text)).unwrap_or_default();
    match present.difference(&online).count() {
        0 => {}
        1 => table.note("1 more processor is there but switched off; it is not counted"),
        off => table.note(format!(
            "{off} more processors are there but switched off; they are not counted"
        )),
    }
    if is_guest(root) {
        table.note("this machine is itself a guest: what it sees is what its host gives it (/proc/cpuinfo, flags)");
    }
    base_cores(root, guests, table);
}

/// The host's own processor use: what was used since boot less what guests ran, per second.
///
/// # Source
/// Kernel documentation, proc file system, `/proc/stat`: user, nice, system, idle, iowait, irq, softirq, steal, guest and
/// guest_nice, in ticks of 1/100 s; user and nice hold the time of guests too.
fn base_cores(root: &Root, guests: Option<u64>, table: &mut HostTable) {
    let key = "base_cores";
    let up = root.text("proc/uptime").ok();
    let up = up.and_then(|text| parse::uptime(&text));
    let ticks = root.text("proc/stat").ok().and_then(|text| {
        let line = text.lines().find_map(|line| line.strip_prefix("cpu "))?;
        let words = line.split_whitespace().map(str::parse);
        words.collect::<Result<Vec<f64>, _>>().ok()
    });
    // user + nice + system + irq + softirq − guest − guest_nice
    let own = ticks.and_then(|ticks| {
        let used: f64 = [0, 1, 2, 5, 6]
            .map(|place| ticks.get(place).copied().unwrap_or(0.0))
            .iter()
            .sum();
        Some((used - ticks.get(8)? - ticks.get(9)?).max(0.0))
    });
    let (Some(own), Some(seconds)) = (own, up) else {
        let why = "watch the idle host's processor use and give it in cores";
        return table.not_read(key, why);
    };
    let cores = (own / TICKS / seconds * 1000.0).round() / 1000.0;
    let since = format::seconds(seconds);
    match guests {
        Some(0) if seconds >= DAY => {
            let origin = format!("/proc/stat, average of {since}, no guest running now");
            table.put(key, cores, origin);
        }
        Some(0) => {
            let why = format!("{cores} on average of {since}, which is less than a day");
            table.not_read(key, why);
        }
        _ => {
            let why = format!(
                "{cores} on average of {since} beside what guests ran (/proc/stat), and the processes that run guests \
                 and page sharing are in there; watch the idle host and give it in cores"
            );
            table.not_read(key, why);
        }
    }
}

/// The groups as the inventory writes them.
fn list(groups: &[Group]) -> String {
    let ratings = groups.iter().filter_map(|group| group.rating);
    let fastest = ratings.fold(0.0, f64::max);
    let row = |group: &Group| {
        // A kind without a rating beside others that have one stays at the reference speed.
        let speed = group.rating.map_or(1.0, |rating| {
            (rating / fastest * 100.0).round().max(1.0) / 100.0
        });
        let speed = match groups {
            [_] => String::new(),
            _ => format!(", speed = {speed}"),
        };
        let Group { cores, threads, .. } = group;
        format!("{{ cores = {cores}, threads = {threads}{speed} }}")
    };
    match groups {
        [one] => format!("[{}]", row(one)),
        many => {
            let rows: Vec<String> = many.iter().map(row).collect();
            format!("[\n    {},\n]", rows.join(",\n    "))
        }
    }
}

/// Adds which kinds there are and what their speeds rest on.
fn kinds(found: &Groups, table: &mut HostTable) {
    let named = found.groups.iter().filter(|group| !group.kind.is_empty());
    let cores = |group: &Group| plural(group.cores as u64, "core", "cores");
    let named: Vec<String> = named
        .map(|group| format!("{} of {}", cores(group), group.kind))
        .collect();
    if !named.is_empty() {
        table.note(format!("kinds of cores: {}", named.join(", ")));
    }
    match found.rating {
        _ if found.groups.len() < 2 => {}
        Some(file) => table.note(format!(
            "speed: each kind's {file} against the fastest; a first guess, measure your own work on each kind"
        )),
        None => table.note("speed: no rating of the kinds could be read; measure your own work on each kind"),
    }
}

/// Whether this machine is itself a guest: the processor's flags say that a hypervisor is beneath.
pub(super) fn is_guest(root: &Root) -> bool {
    let cpuinfo = root.text("proc/cpuinfo").unwrap_or_default();
    let flags = cpuinfo.lines().find(|line| line.starts_with("flags"));
    flags.is_some_and(|line| line.split_whitespace().any(|flag| flag == "hypervisor"))
}

/// The processors that are switched on, and where that was read.
fn online(root: &Root) -> Option<(BTreeSet<u32>, String)> {
    let file = format!("{CPUS}/online");
    let list = root.text(&file).ok().and_then(|text| cpulist(&text));
    if let Some(list) = list.filter(|list| !list.is_empty()) {
        return Some((list, format!("/{file}")));
    }
    let cpuinfo = root.text("proc/cpuinfo").ok()?;
    let list: BTreeSet<u32> = blocks(&cpuinfo)
        .filter_map(|block| block.get("processor")?.parse().ok())
        .collect();
    (!list.is_empty()).then(|| (list, "/proc/cpuinfo".to_owned()))
}

/// The blocks of `/proc/cpuinfo`, a processor each.
fn blocks(cpuinfo: &str) -> impl Iterator<Item = BTreeMap<&str, &str>> {
    cpuinfo.split("\n\n").map(|block| {
        block
            .lines()
            .filter_map(|line| line.split_once(':'))
            .map(|(name, value)| (name.trim(), value.trim()))
            .collect()
    })
}

/// The cores of a host.
struct Groups {
    /// Groups of equal cores, the fastest first.
    groups: Vec<Group>,
    /// The file that rates them.
    rating: Option<&'static str>,
    /// Processors that list more beside them than a core can have.
    unclear: usize,
}

fn groups(root: &Root, online: &BTreeSet<u32>) -> Groups {
    let kinds = kinds_of(root);
    let by_number = cores_by_number(root);
    let rating = [
        "cpu_capacity",
        "acpi_cppc/highest_perf",
        "cpufreq/cpuinfo_max_freq",
    ]
    .into_iter()
    .find(|file| online.iter().all(|cpu| rate(root, *cpu, file).is_some()));
    let mut groups: Vec<Group> = Vec::new();
    let mut unclear = 0;
    let mut left = online.clone();
    while let Some(cpu) = left.pop_first() {
        let mut siblings = siblings(root, cpu, &by_number);
        if siblings.len() > MOST_THREADS {
            unclear += 1;
            siblings.clear();
        }
        let threads = 1 + siblings.iter().filter(|cpu| left.remove(cpu)).count();
        let rated = rating.and_then(|file| rate(root, cpu, file));
        let kind = match kinds.iter().find(|(_, list)| list.contains(&cpu)) {
            Some((kind, _)) => kind.clone(),
            // Without named kinds the kernel's capacity distinguishes them.
            None => rated
                .filter(|_| rating == Some("cpu_capacity"))
                .map_or_else(String::new, |rated| format!("capacity {rated}")),
        };
        let equal = |group: &&mut Group| group.kind == kind && group.threads == threads;
        match groups.iter_mut().find(equal) {
            Some(group) => {
                group.cores += 1;
                group.rating = group.rating.into_iter().chain(rated).reduce(f64::max);
            }
            None => groups.push(Group {
                kind,
                threads,
                cores: 1,
                rating: rated,
            }),
        }
    }
    if let [one] = groups.as_mut_slice() {
        one.kind.clear();
    }
    let speed = |group: &Group| group.rating.unwrap_or(0.0);
    groups.sort_by(|one, other| speed(other).total_cmp(&speed(one)));
    Groups {
        groups,
        rating,
        unclear,
    }
}

/// The kinds that the kernel lists, with their processors.
fn kinds_of(root: &Root) -> Vec<(String, BTreeSet<u32>)> {
    let named = root
        .names("sys/devices")
        .into_iter()
        .filter(|name| name.starts_with("cpu_"));
    named
        .filter_map(|name| {
            let list = cpulist(&root.text(&format!("sys/devices/{name}/cpus")).ok()?)?;
            Some((name, list))
        })
        .collect()
}

/// A positive rating of one processor.
fn rate(root: &Root, cpu: u32, file: &str) -> Option<f64> {
    let rating = root.number(&format!("{CPUS}/cpu{cpu}/{file}")).ok();
    rating.filter(|rating| *rating > 0.0)
}

/// Processors that share a core, by the numbers in `/proc/cpuinfo`, for kernels that show no topology.
fn cores_by_number(root: &Root) -> BTreeMap<u32, BTreeSet<u32>> {
    let cpuinfo = root.text("proc/cpuinfo").unwrap_or_default();
    let mut cores: BTreeMap<(&str, &str), BTreeSet<u32>> = BTreeMap::new();
    for block in blocks(&cpuinfo) {
        let number = block.get("processor").and_then(|cpu| cpu.parse().ok());
        let socket = block.get("physical id").copied().unwrap_or_default();
        if let (Some(cpu), Some(core)) = (number, block.get("core id")) {
            cores.entry((socket, core)).or_default().insert(cpu);
        }
    }
    let pairs = cores
        .into_values()
        .flat_map(|core| core.clone().into_iter().map(move |cpu| (cpu, core.clone())));
    pairs.collect()
}

/// Processors on the core of one.
fn siblings(root: &Root, cpu: u32, by_number: &BTreeMap<u32, BTreeSet<u32>>) -> BTreeSet<u32> {
    let listed = ["core_cpus_list", "thread_siblings_list"]
        .iter()
        .find_map(|file| {
            let text = root.text(&format!("{CPUS}/cpu{cpu}/topology/{file}"));
            cpulist(&text.ok()?)
        });
    listed
        .or_else(|| by_number.get(&cpu).cloned())
        .unwrap_or_default()
}
