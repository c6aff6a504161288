//! Three labs worked out by independent code that follows the laws as they are written down (tests/worked/*.toml).

use std::collections::BTreeMap;

use berthage::sizing::answer::HostAnswer;
use berthage::sizing::fit::fit;

use crate::support::lab;

fn answer(text: &str) -> HostAnswer {
    let lab = lab(text);
    fit(&lab, &[&lab.hosts[0]]).hosts.remove(0)
}

/// What the independent code found.
struct Expected {
    fits: u64,
    binds: &'static str,
    breaks_at: u64,
    unshared: u64,
    fresh: u64,
    resources: [(&'static str, u64); 6],
    mix: &'static [(&'static str, u64)],
}

fn check(text: &str, expected: &Expected) {
    let answer = answer(text);
    assert_eq!(answer.fits, Some(expected.fits));
    assert_eq!(answer.binds, [expected.binds]);
    assert_eq!(answer.breaks_at, Some(expected.breaks_at));
    assert_eq!(answer.unshared.bound(), Some(expected.unshared));
    assert_eq!(answer.fresh.bound(), Some(expected.fresh));
    let found: BTreeMap<&str, Option<u64>> = answer
        .resources
        .iter()
        .map(|one| (one.name.as_str(), one.fits))
        .collect();
    let wanted: BTreeMap<&str, Option<u64>> = expected
        .resources
        .iter()
        .map(|(name, n)| (*name, Some(*n)))
        .collect();
    assert_eq!(found, wanted);
    let mix: BTreeMap<String, u64> = expected
        .mix
        .iter()
        .map(|(name, n)| ((*name).to_owned(), *n))
        .collect();
    assert_eq!(answer.mix, mix);
}

#[test]
fn one_fixed_scanner_and_mirrored_disks() {
    check(
        include_str!("../worked/one.toml"),
        &Expected {
            fits: 16,
            binds: "cpu",
            breaks_at: 44,
            unshared: 28,
            fresh: 48,
            resources: [
                ("memory", 34),
                ("cpu", 16),
                ("disk_space", 73),
                ("disk_iops", 1306),
                ("disk_writes", 40),
                ("network", 101),
            ],
            mix: &[("web", 11), ("build", 5)],
        },
    );
}

#[test]
fn two_must_run_guests_hybrid_processor_adaptive_scanner() {
    check(
        include_str!("../worked/two.toml"),
        &Expected {
            fits: 37,
            binds: "cpu",
            breaks_at: 61,
            unshared: 32,
            fresh: 62,
            resources: [
                ("memory", 42),
                ("cpu", 37),
                ("disk_space", 467),
                ("disk_iops", 727),
                ("disk_writes", 432),
                ("network", 67),
            ],
            mix: &[("database", 3), ("clone", 30), ("runner", 7)],
        },
    );
}

#[test]
fn three_more_clones_than_users_of_a_copy_kernel_advisor() {
    check(
        include_str!("../worked/three.toml"),
        &Expected {
            fits: 278,
            binds: "memory",
            breaks_at: 332,
            unshared: 216,
            fresh: 400,
            resources: [
                ("memory", 278),
                ("cpu", 376),
                ("disk_space", 4469),
                ("disk_iops", 4236),
                ("disk_writes", 3008),
                ("network", 10489),
            ],
            mix: &[("sensor", 139), ("broker", 139)],
        },
    );
}
