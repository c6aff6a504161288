//! The valid lab: what every later room works on.
//!
//! Sizes are bytes `[B]`, rates per second `[B/s]`, `[bit/s]`, `[1/s]`, shares 0–1, times seconds `[s]`,
//! power watts `[W]`, money in `Lab::currency`. `inventory::load` is the only maker of a [`Lab`]; after it every number
//! is finite and within its range, every reference points at something that exists, and nothing later knows TOML.

use std::collections::BTreeMap;

/// Everything one inventory says, valid and complete.
#[derive(Debug, Clone)]
pub struct Lab {
    /// Name of the lab, empty if not given.
    pub name: String,
    /// Currency that all money is in, empty if not given.
    pub currency: String,
    /// Price of energy `[money/kWh]`.
    pub tariff: Option<f64>,
    /// Cost horizon `[years of 365.25 d]`.
    pub years: f64,
    /// What the owner accepts as safe.
    pub policy: Policy,
    /// Hosts in the order of the file, at least one.
    pub hosts: Vec<Host>,
    /// Images in the order of the file.
    pub images: Vec<Image>,
    /// Guest profiles in the order of the file, at least one.
    pub guests: Vec<Guest>,
    /// Where each value comes from, by key path (`guest.web.memory`, `host.shelf-a.disk.pool.devices`, `policy.memory_risk`).
    pub origins: BTreeMap<String, Origin>,
    /// The uncertain values, in key path order; a plain run uses `likely`.
    pub uncertain: Vec<Uncertain>,
}

impl Lab {
    /// The same lab with one of its hosts alone, without origins and uncertain values: what a search needs.
    #[must_use]
    pub fn alone(&self, host: usize) -> Lab {
        Lab {
            name: self.name.clone(),
            currency: self.currency.clone(),
            tariff: self.tariff,
            years: self.years,
            policy: self.policy.clone(),
            hosts: vec![self.hosts[host].clone()],
            images: self.images.clone(),
            guests: self.guests.clone(),
            origins: BTreeMap::new(),
            uncertain: Vec::new(),
        }
    }
}

/// Where a value comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct Origin {
    /// The value as a person would write it: the text of the file, or the default.
    pub text: String,
    /// Who said so.
    pub source: Source,
}

impl Origin {
    /// Where the value comes from, in words.
    #[must_use]
    pub fn words(&self) -> String {
        match &self.source {
            Source::File { file, line } => format!("{file}:{line}"),
            Source::CommandLine => "--set".to_owned(),
            Source::Default(origin) => match origin {
                DefaultOrigin::Published(source) => format!("default, {source}"),
                DefaultOrigin::Measured => "default, measured for this project".to_owned(),
                DefaultOrigin::Reported(sources) => {
                    format!("default, reported by owners, {sources} sources")
                }
                DefaultOrigin::CommonPractice => "default, common practice, no source".to_owned(),
                DefaultOrigin::Assumption => "default, an assumption".to_owned(),
                DefaultOrigin::Derived => "default, follows from other keys".to_owned(),
            },
        }
    }
}

/// Who gave a value.
#[derive(Debug, Clone, PartialEq)]
pub enum Source {
    /// A line of an inventory file.
    File {
        /// File name as the user gave it (or as `include` named it).
        file: String,
        /// Line, counted from 1.
        line: usize,
    },
    /// `--set` on the command line.
    CommandLine,
    /// Nobody: a default with its stated origin.
    Default(DefaultOrigin),
}

/// What a default rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DefaultOrigin {
    /// A published source, named.
    Published(&'static str),
    /// Measured for this project.
    Measured,
    /// Readings and advice that owners report, from so many independent sources.
    Reported(u32),
    /// Reported practice without a source that can be cited.
    CommonPractice,
    /// A guess; listed as such in every report.
    Assumption,
    /// Follows from other keys (`file_cache_floor` from `file_cache`); the text says how.
    Derived,
}

impl DefaultOrigin {
    /// Whether a default is a guess that a report has to list: nothing published or measured stands behind it.
    #[must_use]
    pub fn is_guess(self) -> bool {
        matches!(self, DefaultOrigin::Assumption | DefaultOrigin::Reported(_))
    }
}

/// An uncertain value (beta-PERT): low ≤ likely ≤ high.
#[derive(Debug, Clone, PartialEq)]
pub struct Uncertain {
    /// Key path.
    pub path: String,
    /// Smallest value.
    pub low: f64,
    /// Most likely value.
    pub likely: f64,
    /// Largest value.
    pub high: f64,
}

/// What is accepted as safe.
#[derive(Debug, Clone, PartialEq)]
pub struct Policy {
    /// Accepted probability of passing a hard limit, (0, 0.5].
    pub memory_risk: f64,
    /// Accepted probability of passing a soft limit, (0, 0.5].
    pub slow_risk: f64,
    /// Correlation of the guests' busy spells, [0, 1).
    pub correlation: f64,
    /// Share of visible memory kept free, [0, 0.9].
    pub memory_keep_free: f64,
    /// Share of a pool's usable space kept free, [0, 0.9].
    pub disk_keep_free: f64,
    /// At the accepted worst moment a busy guest gets 1/this of what it asks for, ≥ 1.
    pub cpu_slowdown: f64,
    /// Highest accepted busy share of a pool's devices, (0, 1].
    pub disk_ceiling: f64,
    /// Highest accepted share of the link, (0, 1].
    pub network_ceiling: f64,
    /// How long disks must last `[s]`.
    pub service_life: f64,
    /// Accepted power draw `[W]`.
    pub power_budget: Option<f64>,
    /// Accepted vCPUs per hardware thread.
    pub max_vcpus_per_thread: Option<f64>,
    /// Accepted mean wait in the run queue `[s]`.
    pub max_mean_wait: Option<f64>,
    /// Mean time a vCPU holds a hardware thread `[s]`.
    pub cpu_slice: f64,
    /// How far ahead disk growth is planned for `[s]`.
    pub disk_horizon: f64,
    /// Most guests accepted, fixed ones included.
    pub max_guests: Option<u64>,
}

/// A host that could be bought or is owned.
#[derive(Debug, Clone, PartialEq)]
pub struct Host {
    /// Unique name.
    pub name: String,
    /// Purchase price `[money]`.
    pub price: Option<f64>,
    /// Processor.
    pub cpu: Cpu,
    /// Memory.
    pub memory: HostMemory,
    /// Page sharing (same-page merging).
    pub merging: Merging,
    /// Disk pools in the order of the file; the first is where guests without `disk` lie.
    pub disks: Vec<Pool>,
    /// Link speed in each direction `[bit/s]`.
    pub link: Option<f64>,
    /// Prices of faster links: (speed `[bit/s]`, price `[money]`).
    pub link_prices: Vec<(f64, f64)>,
    /// Power draw.
    pub power: Option<Power>,
    /// Backup window.
    pub backup: Option<Backup>,
}

/// Processor of a host.
#[derive(Debug, Clone, PartialEq)]
pub struct Cpu {
    /// Groups of equal cores, at least one.
    pub groups: Vec<CoreGroup>,
    /// What the host itself uses `[cores of speed 1]`.
    pub base_cores: f64,
}

/// Equal cores.
#[derive(Debug, Clone, PartialEq)]
pub struct CoreGroup {
    /// Number of cores.
    pub cores: u64,
    /// Hardware threads per core.
    pub threads: u64,
    /// Speed of one core, 1 = the reference core that loads are stated in.
    pub speed: f64,
    /// Throughput gained per further thread of a core, [0, 1].
    pub smt_gain: f64,
}

/// Memory of a host.
#[derive(Debug, Clone, PartialEq)]
pub struct HostMemory {
    /// Sizes of the modules `[B]`, at least one.
    pub modules: Vec<f64>,
    /// Number of module slots.
    pub slots: Option<u64>,
    /// Largest module the board takes `[B]`.
    pub max_module: Option<f64>,
    /// Held back by firmware and devices `[B]`.
    pub firmware_reserved: f64,
    /// Operating system and management services `[B]`.
    pub base: f64,
    /// File-system cache that does not shrink `[B]`.
    pub file_cache: f64,
    /// Its minimum under pressure `[B]`, ≤ file_cache.
    pub file_cache_floor: f64,
    /// Swap on disk `[B]`.
    pub swap: f64,
    /// Uncompressed size of the compressed swap held in memory `[B]`.
    pub compressed_swap: f64,
    /// Its compression ratio, ≥ 1.
    pub compressed_swap_ratio: f64,
    /// Prices of modules: (size `[B]`, price `[money]`).
    pub module_prices: Vec<(f64, f64)>,
}

/// How the scanner of page sharing runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mode {
    /// No page sharing.
    Off,
    /// A fixed number of pages per wake.
    Fixed,
    /// A daemon starts it when memory runs short and tunes its speed.
    Adaptive,
    /// The kernel's advisor aims at a time per pass.
    ScanTime,
}

/// Page sharing (same-page merging).
#[derive(Debug, Clone, PartialEq)]
pub struct Merging {
    /// Scanner mode.
    pub mode: Mode,
    /// Pages per wake (fixed).
    pub pages_per_wake: f64,
    /// Sleep between wakes `[s]`; none: the mode's default (`model::scanner::sleep`).
    pub sleep: Option<f64>,
    /// Timer tick `[s]`.
    pub tick: f64,
    /// Processor time per visited page in the steady state `[s]`.
    pub scan_cost: f64,
    /// Processor time per page in the pass that merges `[s]`.
    pub merge_cost: f64,
    /// Most users of one merged copy.
    pub users_per_copy: f64,
    /// Visits until an unchanged page merges, 1 or 2.
    pub visits: f64,
    /// Old pages that never merged are skipped 8 passes of 9.
    pub smart_scan: bool,
    /// Zero pages merge with the kernel's zero page.
    pub use_zero_pages: bool,
    /// Zero-filled part of `repeats`, [0, 1].
    pub zero_share: f64,
    /// Adaptive: works while less than this share of visible memory is free.
    pub threshold: f64,
    /// Adaptive: pages per wake added each interval.
    pub boost: f64,
    /// Adaptive: pages per wake taken away each interval.
    pub decay: f64,
    /// Adaptive: fewest pages per wake.
    pub least: f64,
    /// Adaptive: most pages per wake.
    pub most: f64,
    /// Adaptive: time between two decisions `[s]`.
    pub interval: f64,
    /// Scan time: aimed time per pass `[s]`.
    pub target_pass: f64,
}

/// How a pool spreads data over its devices.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Layout {
    /// Spread without a copy (also: one device).
    Stripe,
    /// Every block on `ways` devices.
    Mirror {
        /// Copies of each block, ≥ 2; `devices` is a multiple.
        ways: u64,
    },
    /// One device's worth of parity.
    Parity1,
    /// Two devices' worth of parity.
    Parity2,
}

/// A pool of equal devices.
#[derive(Debug, Clone, PartialEq)]
pub struct Pool {
    /// Unique name within the host.
    pub name: String,
    /// Number of devices.
    pub devices: u64,
    /// Capacity of one device `[B]`.
    pub capacity: f64,
    /// Layout.
    pub layout: Layout,
    /// Steady small reads of one device `[1/s]`.
    pub read_iops: Option<f64>,
    /// Steady small writes of one device `[1/s]`.
    pub write_iops: Option<f64>,
    /// Steady sequential write speed of one device `[B/s]`.
    pub sustained_speed: Option<f64>,
    /// Size of the fast phase of one device `[B]`.
    pub burst: Option<f64>,
    /// Write speed of the fast phase of one device `[B/s]`.
    pub burst_speed: Option<f64>,
    /// Rated host writes of one device `[B]`.
    pub endurance: Option<f64>,
    /// Already written to each device `[B]`.
    pub already_written: f64,
    /// Real write amplification inside the device over the one of the rating workload.
    pub wa_ratio: f64,
    /// Device bytes per guest byte in the file system.
    pub amplification: f64,
    /// Space the host itself uses `[B]`.
    pub base_used: f64,
    /// What the host itself writes `[B/s]`.
    pub base_written: f64,
    /// Price of the pool's devices together `[money]`.
    pub price: Option<f64>,
    /// Prices of one device of other capacities: (capacity `[B]`, price `[money]`).
    pub capacity_prices: Vec<(f64, f64)>,
}

/// Power draw at the wall.
#[derive(Debug, Clone, PartialEq)]
pub struct Power {
    /// Idle `[W]`.
    pub idle: f64,
    /// Every core busy `[W]`.
    pub busy: f64,
    /// Switches, disks outside and the like, added always `[W]`.
    pub extra: f64,
}

/// The nightly backup.
#[derive(Debug, Clone, PartialEq)]
pub struct Backup {
    /// Time allowed for one day's backup `[s]`.
    pub window: f64,
    /// Speed to the backup target `[B/s]`; none: the network's share alone limits it.
    pub speed: Option<f64>,
}

/// An image that guests are cloned from.
#[derive(Debug, Clone, PartialEq)]
pub struct Image {
    /// Unique name.
    pub name: String,
    /// Size on disk `[B]`.
    pub size: f64,
    /// Pool of its one base copy; none: one in each pool that holds overlays of it.
    pub disk: Option<String>,
}

/// What a guest is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A virtual machine with its own kernel.
    Machine,
    /// A container: no guest kernel, files shared through the host's page cache.
    Container,
}

/// How many of a profile run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Number {
    /// `count`: these must run.
    Fixed(u64),
    /// `share`: weight in the mix that is multiplied, > 0.
    Share(f64),
}

/// How a guest's disk is made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CloneKind {
    /// Only what differs from the image is stored (also called linked or thin clone).
    Overlay,
    /// A full copy of the image.
    Copy,
}

/// A guest profile.
#[derive(Debug, Clone, PartialEq)]
pub struct Guest {
    /// Unique name.
    pub name: String,
    /// Machine or container.
    pub kind: Kind,
    /// Index into `Lab::images`; none: an image of its own, of size 0.
    pub image: Option<usize>,
    /// Fixed count or share of the mix.
    pub number: Number,
    /// Virtual processors.
    pub vcpus: u64,
    /// m, configured memory `[B]`.
    pub memory: f64,
    /// t0, resident when idle and never busy `[B]`.
    pub touched: f64,
    /// t1, resident when busy `[B]`.
    pub touched_busy: f64,
    /// c, part of t0 equal in every guest of the image `[B]`.
    pub common: f64,
    /// Part of t1 − t0 equal in all lived-in guests of the image `[B]`.
    pub common_busy: f64,
    /// s, part of t0 whose pages equal others inside the same guest `[B]`.
    pub repeats: f64,
    /// k, share of t1 − t0 that stays resident after a busy spell.
    pub keeps: f64,
    /// o, process that runs the guest, outside guest memory `[B]`.
    pub overhead: f64,
    /// β, share of c + s that a busy guest rewrites.
    pub busy_breaks: f64,
    /// Mean time between rewrites of a mergeable page `[s]`.
    pub rewrite_interval: f64,
    /// w, memory in active use that a balloon may not take `[B]`.
    pub working_set: Option<f64>,
    /// f, memory that a balloon may not take `[B]`.
    pub balloon_floor: Option<f64>,
    /// Whether its pages may merge.
    pub merge: bool,
    /// Backed by reserved huge pages.
    pub huge_pages: bool,
    /// Pinned in memory (a passed-through device).
    pub pinned: bool,
    /// a, probability of being busy at the busy hour.
    pub busy: f64,
    /// Load of one vCPU when idle `[cores of speed 1]`.
    pub idle_load: f64,
    /// Load of one vCPU when busy `[cores of speed 1]`, ≥ idle_load.
    pub busy_load: f64,
    /// Pool name; none: the host's first.
    pub disk: Option<String>,
    /// Overlay or copy.
    pub clone: CloneKind,
    /// Disk used now `[B]`, ≤ disk_size.
    pub disk_used: f64,
    /// Disk promised `[B]`.
    pub disk_size: f64,
    /// Growth of disk_used `[B/s]`.
    pub disk_grows: f64,
    /// Whether freed blocks are given back; if not, the whole disk_size is taken at once.
    pub trims: bool,
    /// Backed up each day `[B/s]`.
    pub backup: f64,
    /// Disk reads when idle `[1/s]`.
    pub reads_idle: f64,
    /// Disk reads when busy `[1/s]`, ≥ reads_idle.
    pub reads_busy: f64,
    /// Disk writes when idle `[1/s]`.
    pub writes_idle: f64,
    /// Disk writes when busy `[1/s]`, ≥ writes_idle.
    pub writes_busy: f64,
    /// Written to disk on average `[B/s]`.
    pub written: f64,
    /// Network traffic in the busier direction when idle `[bit/s]`.
    pub net_idle: f64,
    /// The same when busy `[bit/s]`, ≥ net_idle.
    pub net_busy: f64,
    /// Time from start to settled `[s]`.
    pub boot_time: f64,
    /// Processor time of a boot `[core-seconds of speed 1]`.
    pub boot_cpu: f64,
    /// Disk reads of a boot `[operations]`.
    pub boot_reads: f64,
    /// Bytes written by a boot `[B]`.
    pub boot_writes: f64,
}
