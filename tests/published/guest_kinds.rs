//! What each kind of guest holds, computed by hand from the memory law; every expected number is computed from the
//! definition, sum by sum, in the comment beside it.
//!
//! The scanner of these labs visits 1000 pages (4 µs each, one tick of 4 ms) after a sleep of 16 ms: 50,000 pages a
//! second. Rewrite intervals are chosen so that κ comes out as a simple fraction.

use berthage::model::MIB;
use berthage::model::footprint::Age;
use berthage::model::held::Held;
use berthage::model::scanner::Scan;
use berthage::sizing::host::HostModel;

use crate::support::lab_with;

/// A host with that scanner, `merging` added to it.
fn host(merging: &str) -> String {
    format!(
        r#"
[[image]]
name = "one"
size = "1 GiB"
[[host]]
name = "box"
cpu.groups = [{{ cores = 8 }}]
memory.modules = ["64 GiB"]
[host.merging]
mode = "fixed"
pages_per_wake = 1000
sleep = "16 ms"
tick = "4 ms"
scan_cost = "4 us"
{merging}
"#
    )
}

/// Eight machines: c = 200, s = 50, u = 450 and o = 50 MiB. v = 250 + 450/9 = 300 MiB = 76,800 pages, so a pass over all
/// takes 8·76,800/50,000 = 12.288 s, and κ = 1/(1 + 12.288·1.5/18.432) = ½.
fn eight(name: &str) -> String {
    format!(
        r#"
[[guest]]
name = "{name}"
count = 8
image = "one"
memory = "2 GiB"
touched = "700 MiB"
touched_busy = "800 MiB"
common = "200 MiB"
repeats = "50 MiB"
overhead = "50 MiB"
busy_breaks = "40 %"
rewrite_interval = "18.432 s"
"#
    )
}

/// Memory of the fixed guests of a lab, κ of each profile and mean memory `[MiB]`.
struct Figures {
    load: Held,
    kappa: Vec<f64>,
    mean: f64,
}

fn held(text: &str, age: Age, scan: Scan) -> Figures {
    held_with(text, &[], age, scan)
}

fn held_with(text: &str, sets: &[&str], age: Age, scan: Scan) -> Figures {
    let lab = lab_with(text, sets);
    let model = HostModel::new(&lab, &lab.hosts[0]);
    let counts: Vec<u64> = lab.guests.iter().map(|guest| guest.count).collect();
    let sharing = model.sharing(&counts, age, scan);
    let load = model.memory(&counts, age, &sharing);
    let mean = model.mean_memory(&counts, &load) / MIB;
    Figures {
        load,
        kappa: sharing.kappa,
        mean,
    }
}

/// Compares sizes in MiB.
fn same(found: f64, expected: f64) {
    assert!(
        (found / expected - 1.0).abs() < 1e-12,
        "{found} for {expected}"
    );
}

#[test]
fn machines_of_one_image() {
    let guests = eight("g") + "busy = \"5 %\"\n";
    let held = held(&(host("") + &guests), Age::Fresh, Scan::Steady);
    same(held.kappa[0], 0.5);
    // 8·(50 + 450 + 700·80/4096)
    same(held.load.private / MIB, 4109.375);
    // ½·200·⌈8/256⌉ + ½·8·50/256
    same(held.load.merged / MIB, 100.78125);
    // ½·8·(200 + 50)
    same(held.load.unmerged / MIB, 1000.0);
    // Fresh, so k = 0: 1·(800 − 700)·(1 + 80/4096) + ½·0.4·250
    same(held.load.extras[0] / MIB, 151.953125);
    // 5210.15625 + 8·0.05·151.953125
    same(held.mean, 5270.9375);
}

#[test]
fn one_visit_merges_more_than_two() {
    // κ = 1/(1 + 12.288·0.5/18.432) = ¾ where a page merges at its first visit, ½ where it takes two.
    let kappa = |visits| {
        let text = host(&format!("visits = {visits}")) + &eight("g");
        held(&text, Age::Fresh, Scan::Steady).kappa[0]
    };
    same(kappa(1), 0.75);
    same(kappa(2), 0.5);
}

#[test]
fn few_users_a_copy_keep_more_copies() {
    // ½·200·⌈8/4⌉ + ½·8·50/4
    let text = host("users_per_copy = 4") + &eight("g");
    same(
        held(&text, Age::Fresh, Scan::Steady).load.merged / MIB,
        250.0,
    );
}

#[test]
fn zeroed_pages_need_no_copy() {
    // ½·200 + ½·8·50·(1 − 0.4)/256; the share alone does nothing.
    let text = host("use_zero_pages = true\nzero_share = \"40 %\"") + &eight("g");
    same(
        held(&text, Age::Fresh, Scan::Steady).load.merged / MIB,
        100.46875,
    );
    let text = host("use_zero_pages = false\nzero_share = \"40 %\"") + &eight("g");
    same(
        held(&text, Age::Fresh, Scan::Steady).load.merged / MIB,
        100.78125,
    );
}

#[test]
fn lived_in_machines_keep_what_they_touched() {
    // k = ½: ti = 750, of the 50 kept 20 are common: c = 220, u = 750 − 220 − 50 = 480 MiB. Without smart scan v = ti =
    // 192,000 pages, T = 8·192,000/50,000 = 30.72 s, κ = 1/(1 + 30.72·1.5/46.08) = ½.
    let held = held_with(
        &(host("smart_scan = false") + &eight("g")),
        &[
            "guest.g.rewrite_interval=\"46.08 s\"",
            "guest.g.keeps=\"50 %\"",
            "guest.g.common_busy=\"20 MiB\"",
            "guest.g.busy=\"25 %\"",
        ],
        Age::LivedIn,
        Scan::Steady,
    );
    same(held.kappa[0], 0.5);
    // 8·(50 + 480 + 750·80/4096)
    same(held.load.private / MIB, 4357.1875);
    // ½·220 + ½·8·50/256
    same(held.load.merged / MIB, 110.78125);
    // ½·8·270
    same(held.load.unmerged / MIB, 1080.0);
    // ½·100·(1 + 80/4096) + ½·0.4·270
    same(held.load.extras[0] / MIB, 104.9765625);
    // 5547.96875 + 8·¼·104.9765625
    same(held.mean, 5757.921875);
}

#[test]
fn never_busy_keeps_nothing() {
    let guest = eight("g") + "busy = 0\nkeeps = \"50 %\"\n";
    let held = held(&(host("") + &guest), Age::LivedIn, Scan::Steady);
    same(held.load.private / MIB, 4109.375);
    same(held.mean, 5210.15625);
}

#[test]
fn nested_common_sets_of_one_image() {
    // Four a: c = 200, s = 50, v = 300 MiB, κ = ½. Four b: c = 100, s = 50, u = 1350, v = 150 + 150 = 300 MiB, κ =
    // 1/(1 + 12.288·1.5/6.144) = ¼. κ of the image = (4·200·½ + 4·100·¼)/(4·200 + 4·100) = 5/12.
    let held = held_with(
        &(host("users_per_copy = 3") + &eight("g") + &eight("b")),
        &[
            "guest.g.count=4",
            "guest.b.count=4",
            "guest.b.touched=\"1500 MiB\"",
            "guest.b.touched_busy=\"1500 MiB\"",
            "guest.b.common=\"100 MiB\"",
            "guest.b.rewrite_interval=\"6.144 s\"",
        ],
        Age::Fresh,
        Scan::Steady,
    );
    same(held.kappa[0], 0.5);
    same(held.kappa[1], 0.25);
    // 5/12·(100·⌈8/3⌉ + 100·⌈4/3⌉) + ½·4·50/3 + ¼·4·50/3
    same(
        held.load.merged / MIB,
        5.0 / 12.0 * 500.0 + 100.0 / 3.0 + 50.0 / 3.0,
    );
    // ½·4·250 + ¾·4·150
    same(held.load.unmerged / MIB, 950.0);
}

#[test]
fn machines_that_may_not_merge_keep_everything_to_themselves() {
    // Eight more with merge = false: not scanned (κ of the others stays ½), not users of a copy (⌈8/8⌉ = 1, with them
    // it would be 2), no bookkeeping: 8·(50 + 450 + 700·16/4096) private and 8·250 not merged.
    let other = eight("own") + "merge = false\n";
    let held = held(
        &(host("users_per_copy = 8") + &eight("g") + &other),
        Age::Fresh,
        Scan::Steady,
    );
    same(held.kappa[0], 0.5);
    assert_eq!(held.kappa[1], 0.0);
    same(held.load.private / MIB, 4109.375 + 4021.875);
    // ½·200·1 + ½·8·50/8
    same(held.load.merged / MIB, 125.0);
    same(held.load.unmerged / MIB, 1000.0 + 2000.0);
    // 1·100·(1 + 16/4096): nothing merged that a busy spell could break.
    same(held.load.extras[1] / MIB, 100.390625);
}

#[test]
fn pinned_and_huge_guests_hold_all_they_were_given() {
    let guest = |kind: &str| {
        format!(
            "[[guest]]\nname = \"g\"\nimage = \"one\"\ncount = 8\nmemory = \"1001 MiB\"\noverhead = \"50 MiB\"\n\
             {kind} = true\nballoon_floor = \"1 MiB\"\n"
        )
    };
    // Page tables are counted for a pinned guest: 8·(50 + 1001·(1 + 16/4096)).
    let pinned = held(&(host("") + &guest("pinned")), Age::LivedIn, Scan::Steady);
    same(pinned.mean, 8.0 * (50.0 + 1001.0 + 3.91015625));
    // Reserved huge pages are of 2 MiB, without page tables: 8·(50 + 1002).
    let huge = held(
        &(host("") + &guest("huge_pages")),
        Age::LivedIn,
        Scan::Steady,
    );
    same(huge.mean, 8416.0);
    for held in [pinned, huge] {
        assert_eq!(held.load.merged + held.load.unmerged, 0.0);
        assert_eq!(held.load.extras, [0.0]);
        assert_eq!(held.load.fixed_in_memory, held.load.private);
    }
}
