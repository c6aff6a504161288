//! Complete trees of made-up hosts, and the machine that the tests run on: what is printed is a valid inventory.

use std::fs;
use std::path::{Path, PathBuf};

use berthage::lab::{Host, Layout, Mode};
use berthage::model::{GIB, MIB};
use berthage::survey::{Counters, EntryKind, Known, ReadError, Root, Tree, parse, survey};

use super::held::{Held, Node};
use crate::support::{lab, run};

/// A guest, so that the table becomes a lab.
pub const GUEST: &str = "\n[[guest]]\nname = \"web\"\nmemory = \"1 GiB\"\n";

/// The folder of a made-up host.
pub fn tree(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/survey")
        .join(name)
}

/// The text of a host's table.
fn table(name: &str) -> String {
    let root = Root::new(&tree(name)).expect("a tree");
    survey(&root, &Known::default()).text()
}

fn host(text: &str) -> Host {
    lab(&format!("{text}{GUEST}")).hosts.remove(0)
}

/// What the kernel sees is what the model says it sees.
fn sees(host: &Host, kib: f64) {
    let installed = host.memory.modules.iter().sum();
    let visible = berthage::model::memory::visible(installed, host.memory.firmware_reserved);
    assert!(
        (visible - kib * 1024.0).abs() <= 1024.0,
        "{visible} against {kib} KiB"
    );
}

#[test]
fn comments_end_where_most_screens_end() {
    for name in ["plain", "hybrid", "mirror", "odd"] {
        let text = table(name);
        let comments = text.lines().filter(|line| line.contains('#'));
        assert!(comments.clone().count() > 10, "{text}");
        let long = comments.clone().find(|line| line.chars().count() > 80);
        // Beside its value a comment is only where both have room.
        assert_eq!(long, None, "{name}");
    }
}

#[test]
fn a_plain_host() {
    let text = table("plain");
    let host = host(&text);
    assert_eq!(host.name, "shelf-a");
    assert_eq!(
        (
            host.cpu.groups.len(),
            host.cpu.groups[0].cores,
            host.cpu.groups[0].threads
        ),
        (1, 8, 2)
    );
    assert_eq!(host.memory.modules, [64.0 * GIB]);
    sees(&host, 65_536_000.0);
    assert_eq!(host.memory.swap, 8_388_604.0 * 1024.0);
    assert_eq!(
        (
            host.merging.mode,
            host.merging.pages_per_wake,
            host.merging.visits
        ),
        (Mode::Fixed, 1000.0, 2.0)
    );
    assert_eq!(
        (host.merging.sleep, host.merging.tick),
        (Some(0.020), 0.004)
    );
    // CHECKS: /sys/block/D/size counts 512-byte sectors.
    assert_eq!(
        host.disks.len(),
        1,
        "neither the loop device nor the stick counts"
    );
    assert_eq!(host.disks[0].capacity, 512_110_190_592.0);
    assert_eq!(host.link, Some(2.5e9));
    for said in [
        "gains 3.13 GiB",
        "base: not read",
        "sda: left out",
        "eno2 is down",
        "3.03 GB/day",
    ] {
        assert!(text.contains(said), "{said} in {text}");
    }
}

#[test]
fn a_hybrid_host_with_a_tuning_daemon() {
    let text = table("hybrid");
    let host = host(&text);
    let groups: Vec<(u64, u64, f64)> = host
        .cpu
        .groups
        .iter()
        .map(|group| (group.cores, group.threads, group.speed))
        .collect();
    assert_eq!(groups, [(2, 2, 1.0), (4, 1, 0.65)]);
    assert_eq!(host.memory.modules, [16.0 * GIB; 2]);
    sees(&host, 32_500_000.0);
    assert_eq!(
        (host.memory.file_cache, host.memory.file_cache_floor),
        (4.0 * GIB, GIB)
    );
    let merging = &host.merging;
    assert_eq!(
        (
            merging.mode,
            merging.boost,
            merging.threshold,
            merging.visits
        ),
        (Mode::Adaptive, 400.0, 0.25, 1.0)
    );
    assert!(!merging.smart_scan);
    assert_eq!(host.disks.len(), 2);
    // CHECKS: sharing that costs memory is reported so.
    for said in [
        "costs 192 MiB",
        "2 more processors",
        "cpu_atom",
        "wlan0 tells no speed",
        "copy-on-write pools found: pool",
    ] {
        assert!(text.contains(said), "{said} in {text}");
    }
}

#[test]
fn a_mirror_compressed_swap_and_huge_pages() {
    let text = table("mirror");
    let host = host(&text);
    let pool = &host.disks[0];
    assert_eq!(
        (pool.name.as_str(), pool.devices, pool.layout),
        ("md1", 2, Layout::Mirror { ways: 2 })
    );
    assert_eq!(pool.capacity, 1_951_867_904.0 * 1024.0);
    assert_eq!(
        host.disks.len(),
        2,
        "members of the array are no pools of their own"
    );
    let memory = &host.memory;
    assert_eq!(
        (memory.swap, memory.compressed_swap),
        (4.0 * GIB, 8_388_604.0 * 1024.0)
    );
    assert_eq!(memory.compressed_swap_ratio, 2.5);
    assert_eq!(host.link, Some(2e9));
    assert_eq!(host.merging.mode, Mode::Off);
    for said in [
        "huge pages: 3 GiB",
        "CAUTION: 1 of its devices is missing",
        "md0: raid1",
        "1 mapped volume",
    ] {
        assert!(text.contains(said), "{said} in {text}");
    }
}

#[test]
fn odd_and_missing_files_are_said_plainly() {
    let text = table("odd");
    let host = host(&text);
    assert_eq!(host.name, "host");
    let cores: Vec<(u64, u64)> = host
        .cpu
        .groups
        .iter()
        .map(|group| (group.cores, group.threads))
        .collect();
    assert_eq!(cores, [(1, 2), (1, 1)]);
    sees(&host, 4_000_000.0);
    assert_eq!(host.disks[0].name, "vdc");
    for said in [
        "no usable name",
        "itself a guest",
        "swap: not read, /proc/swaps: it is no text",
        "it says \"abc\", which is no number",
        "vda: left out",
        "vdb: left out, it has no size",
        "eth0 tells no speed",
    ] {
        assert!(text.contains(said), "{said} in {text}");
    }
}

#[test]
fn a_host_without_guests_tells_its_own_memory() {
    let root = Root::new(&tree("plain")).expect("a tree");
    let known = Known {
        name: Some("new \"name\"".to_owned()),
        guests: Some(0),
    };
    let host = host(&survey(&root, &known).text());
    assert_eq!(host.name, "new \"name\"");
    assert_eq!(host.memory.base, (65_536_000.0 - 40_000_000.0) * 1024.0);
}

#[test]
fn the_machine_that_the_tests_run_on() {
    if !Path::new("/proc/meminfo").exists() {
        return;
    }
    let session = run(&["survey", "--guests", "0"]);
    session.answers();
    let host = host(&session.stdout);
    let seen = parse::meminfo(&fs::read_to_string("/proc/meminfo").expect("meminfo"));
    sees(&host, seen["MemTotal"] / 1024.0);
    let session = run(&["survey", "--reading", "--guests", "0", "--settled", "yes"]);
    session.exits(0);
    let mut lines = session.stdout.lines();
    let (header, line) = (
        lines.next().expect("headings"),
        lines.next().expect("a reading"),
    );
    assert_eq!(header.split(',').count(), line.split(',').count());
}

#[test]
fn what_is_no_host_is_refused_and_what_is_incomplete_says_so() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().to_str().expect("a path");
    run(&["survey", "--root", path])
        .refuses()
        .reports("not-a-linux-host");
    fs::create_dir_all(folder.path().join("proc")).expect("a folder");
    fs::write(folder.path().join("proc/meminfo"), "MemFree: 1 kB\n").expect("a file");
    let session = run(&["survey", "--root", path]);
    session.exits(1).is_silent();
    for key in ["groups = ???", "modules = ???"] {
        session.says(key);
    }
    run(&["survey", "--root", "no-such-tree"]).exits(2);
}

#[test]
fn files_of_the_kernel_read_as_its_documentation_says() {
    // Kernel documentation: proc file system ("kB" is KiB), iostats (the line), cputopology (the list), pressure stall
    // information (totals in microseconds, read 60 s apart).
    assert_eq!(parse::meminfo("MemTotal: 1 kB")["MemTotal"], 1024.0);
    let line = "   3       0 hda 446216 784926 9550688 4382310 424847 312726 5922052 19310380 0 3376340 23705160";
    let traffic = &parse::diskstats(line)[0];
    assert_eq!(
        (traffic.read, traffic.written),
        (4_889_952_256.0, 3_032_090_624.0)
    );
    assert_eq!(
        parse::cpulist("0-3,8-11,14,17").map(|list| list.len()),
        Some(10)
    );
    let total = |micro: &str| {
        parse::pressure(&format!("some avg10=0 avg60=0 avg300=0 total={micro}"))
            .expect("a line")
            .total
    };
    let share = parse::pressure_between(total("1000000"), total("4000000"), 60.0);
    assert!((share - 0.05).abs() < 1e-12);
}

/// The table of a made-up host with these files changed.
fn changed(name: &str, guests: Option<u64>, files: &[(&str, &str)]) -> String {
    let mut held = Held::copy(&tree(name)).expect("a tree");
    for (file, text) in files {
        held.put(file, Node::File(text.as_bytes().to_vec()));
    }
    let known = Known { name: None, guests };
    survey(&Root::of(held), &known).text().replace("\n#", "")
}

#[test]
fn a_rate_a_day_takes_a_day() {
    let young = changed("plain", None, &[("proc/uptime", "7200.00 1.0\n")]);
    assert!(young.contains("3.03 GB in 2 h"), "{young}");
    assert!(
        young.contains("less than a day") && !young.contains("GB/day"),
        "{young}"
    );
}

#[test]
fn the_hosts_own_processor_use_is_what_guests_did_not_take() {
    // Two days up; 500,000 ticks of user of which 200,000 are guests, and 45,600 of system: 2 × 86,400 s · 0.02 cores.
    let stat = "cpu  500000 0 45600 9 9 0 0 0 200000 0\ncpu0 1 1\n";
    let files = [("proc/stat", stat), ("proc/uptime", "172800.00 1.0\n")];
    let text = changed("plain", Some(0), &files);
    assert!(text.contains("base_cores = 0.02\n"), "{text}");
    let text = changed("plain", None, &files);
    assert!(
        text.contains("base_cores: not read, 0.02 on average"),
        "{text}"
    );
    let text = changed(
        "plain",
        Some(0),
        &[("proc/stat", stat), ("proc/uptime", "60 1")],
    );
    assert!(text.contains("which is less than a day"), "{text}");
}

#[test]
fn what_a_guest_says_of_its_disk_is_doubted() {
    assert!(table("odd").contains("itself a guest"));
    let text = changed("odd", None, &[("sys/block/vdc/queue/rotational", "1\n")]);
    assert!(text.contains("as it does for most virtual disks"), "{text}");
    let text = changed("hybrid", None, &[("sys/block/sda/queue/rotational", "1\n")]);
    assert!(text.contains("a rotational disk: expect"), "{text}");
}

#[test]
fn settings_of_sharing_are_read_while_it_is_off() {
    let text = changed(
        "mirror",
        None,
        &[("sys/kernel/mm/ksm/pages_to_scan", "640\n")],
    );
    assert!(
        text.contains("mode = \"off\"") && text.contains("pages_per_wake = 640"),
        "{text}"
    );
}

#[test]
fn the_timer_is_read_wherever_the_kernel_keeps_its_settings() {
    let release = fs::read_to_string(tree("mirror").join("proc/sys/kernel/osrelease"));
    let file = format!("lib/modules/{}/config", release.expect("a release").trim());
    let text = changed(
        "mirror",
        None,
        &[(&file, "CONFIG_HZ_1000=y\nCONFIG_HZ=1000\n")],
    );
    assert!(text.contains("tick = \"1 ms\""), "{text}");
    let text = changed("mirror", None, &[("proc/config.gz", "\u{1f}")]);
    assert!(text.contains("/proc/config.gz does not say it"), "{text}");
    // "CONFIG_HZ_100=y\nCONFIG_HZ=100\n" packed by gzip -n9.
    let packed = [
        0x1f, 0x8b, 0x08, 0x00, 0x00, 0x00, 0x00, 0x00, 0x02, 0x03, 0x73, 0xf6, 0xf7, 0x73, 0xf3,
        0x74, 0x8f, 0xf7, 0x88, 0x8a, 0x37, 0x34, 0x30, 0xb0, 0xad, 0xe4, 0x72, 0x86, 0xf1, 0x6d,
        0x81, 0x7c, 0x2e, 0x00, 0x00, 0xab, 0xde, 0xe5, 0x1e, 0x00, 0x00, 0x00,
    ];
    for (length, tick) in [
        (packed.len(), "tick = \"10 ms\""),
        (packed.len() / 2, "does not say it"),
    ] {
        let mut held = Held::copy(&tree("mirror")).expect("a tree");
        held.put("proc/config.gz", Node::File(packed[..length].to_vec()));
        let known = Known {
            name: None,
            guests: None,
        };
        let text = survey(&Root::of(held), &known).text().replace("\n#", "");
        assert!(text.contains(tick), "{text}");
    }
}

#[test]
fn cores_of_two_threads() {
    // CHECKS: core_cpus_list 0,4 1,5 2,6 3,7 over 8 processors is 4 cores of 2 threads.
    let folder = tempfile::tempdir().expect("a folder");
    let cpus = folder.path().join("sys/devices/system/cpu");
    fs::create_dir_all(&cpus).expect("a folder");
    fs::write(cpus.join("online"), "0-7\n").expect("a file");
    for cpu in 0..8 {
        let topology = cpus.join(format!("cpu{cpu}/topology"));
        fs::create_dir_all(&topology).expect("a folder");
        fs::write(
            topology.join("core_cpus_list"),
            format!("{},{}\n", cpu % 4, cpu % 4 + 4),
        )
        .expect("a file");
    }
    let text = survey(
        &Root::new(folder.path()).expect("a tree"),
        &Known::default(),
    )
    .text();
    assert!(
        text.contains("groups = [{ cores = 4, threads = 2 }]"),
        "{text}"
    );
}

#[test]
fn a_core_of_more_threads_than_there_are_is_not_believed() {
    let mut held = Held::copy(&tree("plain")).expect("a tree");
    // The whole chip where the threads of one core should be.
    for cpu in 0..16 {
        let file = format!("sys/devices/system/cpu/cpu{cpu}/topology/core_cpus_list");
        held.put(&file, Node::File(b"0-15\n".to_vec()));
    }
    let text = survey(&Root::of(held), &Known::default()).text();
    let host = host(&text);
    assert_eq!(host.cpu.groups.len(), 1);
    assert_eq!(
        (host.cpu.groups[0].cores, host.cpu.groups[0].threads),
        (16, 1)
    );
    let words = text.replace("\n#", "");
    assert!(
        words.contains("16 of the processors list more than 8"),
        "{text}"
    );
}

#[test]
fn a_cache_larger_than_any_memory_is_left_out_with_its_floor() {
    let mut held = Held::copy(&tree("hybrid")).expect("a tree");
    let file = held
        .paths()
        .into_iter()
        .find(|path| path.ends_with("arcstats"))
        .expect("a cache");
    let steps: Vec<String> = file.split('/').map(str::to_owned).collect();
    let Some(Node::File(bytes)) = held.at(&steps) else {
        panic!("no file")
    };
    let said = String::from_utf8(bytes.clone()).expect("text");
    let lines = said
        .lines()
        .map(|line| match line.split_whitespace().next() {
            Some("c_max") => "c_max 4 18446744073709551616",
            _ => line,
        });
    let damaged = lines.collect::<Vec<_>>().join("\n");
    held.put(&file, Node::File(damaged.into_bytes()));
    let text = survey(&Root::of(held), &Known::default()).text();
    assert!(text.contains("# file_cache: not read"), "{text}");
    assert_eq!(host(&text).memory.file_cache_floor, 0.0);
}

#[test]
fn published_counters() {
    // A published counter reading of two 2 GB guests, 2011; the profit identity is the kernel admin guide's.
    let counters = |shared, sharing, unshared| Counters {
        runs: true,
        shared,
        sharing,
        unshared,
        volatile: 0.0,
        zero: 0.0,
        general_profit: None,
    };
    let gain = counters(60_887.0, 835_511.0, 124_818.0);
    assert_eq!(gain.profit(), 3_356_895_232.0);
    assert!((835_511.0 * 4096.0 / MIB - 3263.7).abs() < 0.05);
    assert!((gain.bookkeeping() / MIB - 62.3).abs() < 0.05);
    assert!(gain.words().contains("gains"));
    // A published host diary: sharing can cost memory.
    let loss = counters(10.0, 52.0, 3_149_896.0);
    assert_eq!(loss.profit(), -201_384_320.0);
    assert!(loss.words().contains("costs 192 MiB"));
}

/// A copied host with file systems in use of which something is known.
struct Mounted(Held);

impl Tree for Mounted {
    fn kind(&self, place: &[String]) -> Result<EntryKind, ReadError> {
        self.0.kind(place)
    }

    fn bytes(&self, place: &[String], from: u64, most: u64) -> Result<Vec<u8>, ReadError> {
        self.0.bytes(place, from, most)
    }

    fn names(&self, place: &[String], most: usize) -> Vec<String> {
        self.0.names(place, most)
    }

    fn in_use(&self, place: &[String]) -> Option<f64> {
        match place.join("/").as_str() {
            "" => Some(30.0 * GIB),
            "srv/my data" => Some(5.0 * GIB),
            _ => None,
        }
    }
}

#[test]
fn space_in_use_is_the_hosts_own_where_no_guest_runs() {
    let mut held = Held::copy(&tree("plain")).expect("a tree");
    let disk = "nvme0n1";
    let mounts = format!(
        "proc /proc proc rw 0 0\n/dev/{disk} / ext4 rw 0 0\n/dev/{disk}p2 /srv/my\\040data ext4 rw 0 0\n\
         /dev/{disk}p2 /mnt/bind ext4 rw 0 0\n/dev/elsewhere /x ext4 rw 0 0\n"
    );
    held.put("proc/mounts", Node::File(mounts.into_bytes()));
    held.put(
        &format!("sys/block/{disk}/{disk}p2/size"),
        Node::File(b"8\n".to_vec()),
    );
    held.put("srv/my data/file", Node::File(Vec::new()));
    let text = |guests| {
        let known = Known { name: None, guests };
        survey(&Root::of(Mounted(held.clone())), &known).text()
    };
    // Both file systems once, however often they are mounted.
    let used = host(&text(Some(0))).disks[0].base_used;
    assert!((used / (35.0 * GIB) - 1.0).abs() < 1e-6, "{used}");
    let running = text(Some(3));
    assert!(
        running.contains("37.6 GB in use of its file systems"),
        "{running}"
    );
    assert!(!running.contains("\nbase_used ="), "{running}");
}
