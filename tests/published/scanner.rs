//! The scanner at work on a host: the advisor's guess, where an adaptive scanner lets memory settle, and what it takes of
//! the processor. Expected numbers are computed from the definitions, step by step in the comments.

use berthage::model::footprint::Age;
use berthage::model::scanner::Scan;
use berthage::model::scanner::{advisor_first_guess, advisor_speed, speed};
use berthage::model::{GIB, MIB, PAGE};
use berthage::sizing::caution::HostCaution;
use berthage::sizing::fit::fit_host;
use berthage::sizing::host::HostModel;
use berthage::sizing::memory::Activity;

use crate::support::{lab, lab_with};

/// 64,512 MiB visible, of which an adaptive scanner lets 20 %, 12,902.4 MiB, be free; it sleeps 10 ms (12 with the tick).
/// A guest holds o = 24, c = 600, u = 400 MiB and is never busy: resident 1024, unmerged 1024 + 1000·16/4096 =
/// 1027.90625 MiB; with bookkeeping 24 + 400 + 1000·80/4096 = 443.53125 MiB beside c. v = 600 + 400/9 MiB.
fn adaptive(rewrites: &str, keep_free: &str) -> String {
    format!(
        r#"
policy.memory_keep_free = "{keep_free}"
[[host]]
name = "box"
cpu.groups = [{{ cores = 64 }}]
merging.mode = "adaptive"
[host.memory]
modules = ["64 GiB"]
firmware_reserved = "0 B"
base = "1 GiB"
[[guest]]
name = "g"
memory = "2 GiB"
touched = "1000 MiB"
common = "600 MiB"
repeats = "0 B"
overhead = "24 MiB"
busy = 0
rewrite_interval = "{rewrites}"
"#
    )
}

const CEILING: f64 = 0.8 * 64_512.0;

/// κ of `n` of those guests at a scanner speed `[pages/s]`.
fn kappa(n: u64, speed: f64, rewrites: f64) -> f64 {
    let pass = n as f64 * (600.0 + 400.0 / 9.0) * 256.0 / speed;
    1.0 / (1.0 + pass * 1.5 / rewrites)
}

/// Memory of `n ≤ 256` of them `[MiB]`.
fn merged(n: u64, kappa: f64) -> f64 {
    n as f64 * (443.53125 + (1.0 - kappa) * 600.0) + kappa * 600.0
}

/// Most pages: 1250·5.3 µs is 2 ticks of 4 ms after 12 ms. Least: 64·5.3 µs is 1 tick.
const MOST: f64 = 1250.0 / 0.020;
const LEAST: f64 = 64.0 / 0.016;

/// Where use settles with `n` guests `[MiB]`, and what the scanner takes of the processor `[cores]`.
fn settled(rewrites: &str, n: u64) -> (f64, f64) {
    let lab = lab(&adaptive(rewrites, "10 %"));
    let model = HostModel::new(&lab, &lab.hosts[0]);
    let used = model.settled_used(&[n], Age::LivedIn, Activity::Mean) / MIB;
    (used, model.scan_load(&[n]))
}

fn same(found: f64, expected: f64) {
    assert!(
        (found / expected - 1.0).abs() < 1e-9,
        "{found} for {expected}"
    );
}

#[test]
fn it_rests_while_a_fifth_is_free() {
    // 40·1024 + 12,902.4 < 64,512, and 1024 + 40·1027.90625 is below the ceiling of 51,609.6.
    assert_eq!(settled("300 s", 40), (1024.0 + 40.0 * 1027.90625, 0.0));
}

#[test]
fn it_works_once_use_passes_the_ceiling() {
    // 50·1024 + 12,902.4 < 64,512 still (guests alone would let it rest), but 1024 + 50·1027.90625 = 52,419 is past the
    // ceiling: it works until use is back there, at 62,500·5.3 µs of a core.
    let (used, load) = settled("6 h", 50);
    same(used, CEILING);
    same(load, 0.331_25);
}

#[test]
fn it_drifts_at_its_slowest_where_that_is_enough() {
    // κ at the slowest = 1/(1 + 2474.7·1.5/21,600) = 0.853: about 33,000 MiB, below the ceiling.
    let expected = 1024.0 + merged(60, kappa(60, LEAST, 21_600.0));
    assert!(expected < CEILING);
    same(settled("6 h", 60).0, expected);
}

#[test]
fn it_hovers_at_the_ceiling_between_its_speeds() {
    // At the slowest about 61,000 MiB, at the fastest about 44,000.
    assert!(1024.0 + merged(60, kappa(60, LEAST, 300.0)) > CEILING);
    assert!(1024.0 + merged(60, kappa(60, MOST, 300.0)) < CEILING);
    same(settled("300 s", 60).0, CEILING);
}

#[test]
fn at_its_fastest_it_can_do_no_more() {
    let expected = 1024.0 + merged(60, kappa(60, MOST, 60.0));
    assert!(expected > CEILING);
    same(settled("60 s", 60).0, expected);
}

#[test]
fn a_scanner_that_starts_past_the_safe_limit_does_not_count() {
    // keep_free 21 % > threshold: usable = 0.79·64,512 − 1024 = 49,940.48 MiB holds 48.6 unmerged guests.
    let lab_late = lab(&adaptive("300 s", "21 %"));
    let late = fit_host(&lab_late, &lab_late.hosts[0]);
    assert_eq!((late.fits, late.unshared.bound()), (Some(48), Some(48)));
    assert_eq!(
        (late.memory.kappa, late.memory.shared_saved),
        (0.0, 0.0),
        "nothing saved is counted"
    );
    assert!(
        late.cautions
            .iter()
            .any(|one| matches!(one, HostCaution::ScannerLate))
    );
    // keep_free 20 % ≤ threshold: usable = CEILING − 1024, and merged memory at the fastest counts, walked to its limit.
    let lab_in_time = lab(&adaptive("300 s", "20 %"));
    let in_time = fit_host(&lab_in_time, &lab_in_time.hosts[0]);
    let held = |n: u64| merged(n, kappa(n, MOST, 300.0));
    let first_past = (1..256).find(|n| held(*n) > CEILING - 1024.0).unwrap();
    assert!(first_past > 60);
    assert_eq!(in_time.fits, Some(first_past - 1));
    // Unmerged 49.2 of them.
    assert_eq!(in_time.unshared.bound(), Some(49));
}

#[test]
fn the_advisor_needs_more_than_its_first_guess() {
    // Kernel admin guide, mm/ksm, advisor: 64 GiB in 200 s, waking every 20 ms: about 1,678 pages (±10 %) if the work took
    // no time. With 5.3 µs a page and ticks of 4 ms the target takes 83,886.08 pages/s: 4 ticks of work give at most
    // ⌊4·4 ms/5.3 µs⌋ = 3018 pages in 36 ms, 83,833/s; 5 ticks need 83,886.08·0.040 = 3355.4.
    let pages = 64.0 * GIB / PAGE;
    let guess = advisor_first_guess(pages, 200.0, 0.020);
    assert!((guess / 1678.0 - 1.0).abs() < 0.10);
    let pace = |w: u32| speed(f64::from(w), 0.020, 0.004, 5.3e-6);
    let needed = (1..30_000).find(|w| pace(*w) >= pages / 200.0).unwrap();
    assert_eq!(needed, 3356);
    assert!(f64::from(needed) > guess);
    // The advisor gets there: a pass takes its 200 s.
    assert_eq!(
        pages / advisor_speed(pages, 200.0, 0.020, 0.004, 5.3e-6),
        200.0
    );
}

#[test]
fn a_scanner_without_work_takes_no_processor_time() {
    let fixed = "host.box.merging.mode=\"fixed\"";
    let lab = lab_with(&adaptive("6 h", "10 %"), &[fixed]);
    let model = HostModel::new(&lab, &lab.hosts[0]);
    assert_eq!(model.scan_load(&[0]), 0.0);
    assert_eq!(model.sharing(&[0], Age::LivedIn, Scan::Steady).pass, None);
    // 100 pages of 5.3 µs, one tick of 4 ms after 20 ms: 100/0.024 pages/s.
    same(model.scan_load(&[1]), 100.0 / 0.024 * 5.3e-6);
}
