//! Containers and balloons, computed by hand from the memory law; the numbers are computed from the definition.

use berthage::model::footprint::{Age, Footprint};
use berthage::model::held::Held;
use berthage::model::scanner::Scan;
use berthage::model::{MIB, PAGE};
use berthage::sizing::count::{breaks_at, memory_count};
use berthage::sizing::fit::fit_host;
use berthage::sizing::host::HostModel;
use berthage::sizing::memory::MemoryCount;
use berthage::sizing::search::Largest;

use crate::support::{lab, lab_with};

/// 50,000 pages a second: 1000 pages of 4 µs (one tick of 4 ms) after a sleep of 16 ms.
const HOST: &str = r#"
[[image]]
name = "one"
size = "1 GiB"
[[host]]
name = "box"
cpu.groups = [{ cores = 8 }]
memory.modules = ["64 GiB"]
[host.merging]
mode = "fixed"
pages_per_wake = 1000
sleep = "16 ms"
scan_cost = "4 us"
users_per_copy = 8
"#;

/// c = 200, s = 50, u = 450, o = 10 MiB.
fn guest(name: &str, keys: &str) -> String {
    format!(
        r#"
[[guest]]
name = "{name}"
{keys}
image = "one"
memory = "2 GiB"
touched = "700 MiB"
touched_busy = "800 MiB"
common = "200 MiB"
repeats = "50 MiB"
overhead = "10 MiB"
rewrite_interval = "6.144 s"
"#
    )
}

/// Such a container.
fn container() -> String {
    guest("c", "kind = \"container\"")
}

fn load(text: &str, counts: &[u64], scan: Scan) -> Held {
    let lab = lab(text);
    let model = HostModel::new(&lab, &lab.hosts[0]);
    let sharing = model.sharing(counts, Age::LivedIn, scan);
    model.memory(counts, Age::LivedIn, &sharing)
}

fn same(found: f64, expected: f64) {
    assert!(
        (found / expected - 1.0).abs() < 1e-12,
        "{found} for {expected}"
    );
}

#[test]
fn containers_of_an_image_share_one_copy_without_a_scanner() {
    // One copy of c whatever the number of users; s private; page tables of 8 B a page on ti; `keeps` 0 by default.
    for scan in [Scan::Steady, Scan::Off] {
        for n in [1, 8, 300] {
            let load = load(&(HOST.to_owned() + &container()), &[n], scan);
            same(load.merged / MIB, 200.0);
            same(load.unmerged / MIB, 50.0 * n as f64);
            // n·(10 + 450 + 700·8/4096)
            same(load.private / MIB, 461.3671875 * n as f64);
            // 100·(1 + 8/4096): β = 0.
            same(load.extras[0] / MIB, 100.1953125);
        }
    }
}

#[test]
fn containers_are_not_pooled_with_machines_of_the_image() {
    let text = HOST.to_owned() + &container() + &guest("m", "busy = 0");
    // Without the scanner: the containers' one copy, and c + s of every machine.
    let off = load(&text, &[8, 4], Scan::Off);
    same(off.merged / MIB, 200.0);
    same(off.unmerged / MIB, 8.0 * 50.0 + 4.0 * 250.0);
    // With it: 4 machines visit 4·300 MiB = 307,200 pages, T = 6.144 s, κ = 1/(1 + 1.5) = 0.4. They keep ⌈4/8⌉ = 1 copy of
    // their own at κ: 200 + 0.4·200 + 0.4·4·50/8. Pooled with the containers it would be ⌈12/8⌉ = 2.
    let on = load(&text, &[8, 4], Scan::Steady);
    same(on.merged / MIB, 290.0);
    same(on.unmerged / MIB, 8.0 * 50.0 + 0.6 * 4.0 * 250.0);
}

#[test]
fn private_pages_of_containers_may_merge_too() {
    // merge = true: v = s + u/9 = 100 MiB = 25,600 pages, T = 8·25,600/50,000 = 4.096 s, κ = 1/(1 + 4.096·1.5/6.144) = ½.
    let load = load(
        &(HOST.to_owned() + &container() + "merge = true\n"),
        &[8],
        Scan::Steady,
    );
    // 8·(10 + 450 + 700·8/4096 + 500·64/4096): no bookkeeping on the image's files.
    same(load.private / MIB, 3753.4375);
    // 200 + ½·8·50/8
    same(load.merged / MIB, 225.0);
    // ½·8·50
    same(load.unmerged / MIB, 200.0);
}

#[test]
fn without_smart_scan_all_but_the_files_is_visited() {
    // v = ti − c = 500 MiB: 8·128,000 pages.
    let text = HOST.to_owned() + "smart_scan = false\n" + &container() + "merge = true\n";
    let lab = lab(&text);
    let model = HostModel::new(&lab, &lab.hosts[0]);
    let sharing = model.sharing(&[8], Age::LivedIn, Scan::Steady);
    assert_eq!(sharing.pages, 1_024_000.0);
    same(sharing.pass.unwrap(), 20.48);
}

/// 63 GiB = 64,512 MiB visible; a guest holds 24 + 1000·(1 + 16/4096) = 1027.90625 MiB, never busy, nothing shared.
const BALLOONS: &str = r#"
[[host]]
name = "box"
cpu.groups = [{ cores = 64 }]
[host.memory]
modules = ["64 GiB"]
firmware_reserved = "0 B"
base = "1 GiB"
file_cache = "4 GiB"
file_cache_floor = "2 GiB"
[[guest]]
name = "g"
memory = "2 GiB"
touched = "1000 MiB"
common = "0 B"
repeats = "0 B"
overhead = "24 MiB"
busy = 0
"#;

#[test]
fn every_count_of_memory() {
    let lab = lab(&format!(
        "{BALLOONS}balloon_floor = \"400 MiB\"\nworking_set = \"500 MiB\"\n"
    ));
    let answer = fit_host(&lab, &lab.hosts[0]);
    // usable = 64,512 − 1024 − 4096 − 10 % = 52,940.8 MiB; 52,940.8/1027.90625 = 51.5
    assert_eq!(
        (answer.fits, answer.fresh.bound(), answer.unshared.bound()),
        (Some(51), Some(51), Some(51))
    );
    // give = 1000 − max(400, 500); (64,512 − 1024 − 2048)/527.90625 = 116.4
    assert_eq!(answer.stretched.bound(), Some(116));
    // (64,512 − 1024 − 2048)/1027.90625 = 59.8: the 60th passes the cliff; 59,392/1027.90625 = 57.8 while the cache stands
    assert_eq!(answer.breaks_at, Some(60));
    assert_eq!(answer.breaks_at_sudden, Some(58));
    // (64,512 − 1024)/2048 = 31
    assert_eq!(answer.plain_sum.bound(), Some(31));
}

#[test]
fn a_balloon_line_given_alone_counts_alone() {
    for (line, stretched) in [
        // 61,440/(1027.90625 − 600) = 143.6
        ("balloon_floor = \"400 MiB\"", 143),
        // 61,440/527.90625 = 116.4
        ("working_set = \"500 MiB\"", 116),
        // Nothing to give: 61,440/1027.90625 = 59.8
        ("", 59),
        ("balloon_floor = \"1500 MiB\"", 59),
    ] {
        let lab = lab(&format!("{BALLOONS}{line}\n"));
        let model = HostModel::new(&lab, &lab.hosts[0]);
        assert_eq!(
            memory_count(&model, MemoryCount::Stretched),
            Largest::Bound(stretched),
            "{line}"
        );
        assert_eq!(breaks_at(&model, 0.0), Some(62), "63,488/1027.90625 = 61.8");
    }
}

#[test]
fn only_unique_pages_of_idle_guests_go_into_the_balloon() {
    // u = 1000 − 700 = 300 MiB is less than 1000 − 400.
    let shared = lab_with(
        BALLOONS,
        &[
            "guest.g.common=\"700 MiB\"",
            "guest.g.balloon_floor=\"400 MiB\"",
        ],
    );
    assert_eq!(
        Footprint::of(&shared.guests[0], Age::LivedIn).give / MIB,
        300.0
    );
    // Two guests, each busy one time in ten and alone in that: both are with chance 1 %, and one keeps its 500 MiB.
    let sets = [
        "guest.g.busy=\"10 %\"",
        "guest.g.touched_busy=\"1000 MiB\"",
        "guest.g.balloon_floor=\"500 MiB\"",
        "policy.correlation=0",
    ];
    let lab = lab_with(BALLOONS, &sets);
    let model = HostModel::new(&lab, &lab.hosts[0]);
    let (demand, _) = model.memory_demand(&[2], MemoryCount::Stretched);
    let idle = 2.0 * 527.90625;
    same(demand.mean() / MIB, idle + 2.0 * 0.1 * 500.0);
    same(demand.tail((idle + 501.0) * MIB), 0.01);
    same(demand.tail((idle + 1.0) * MIB), 0.19);
}

#[test]
fn a_balloon_of_1_gib_is_262144_pages() {
    // OASIS virtio 1.x, balloon device: pages of 4 KiB. A guest of 1000 MiB that needs none of it gives what it holds.
    let sets = ["guest.g.touched=\"1 GiB\"", "guest.g.balloon_floor=\"0 B\""];
    let lab = lab_with(BALLOONS, &sets);
    assert_eq!(
        Footprint::of(&lab.guests[0], Age::LivedIn).give / PAGE,
        262_144.0
    );
}
