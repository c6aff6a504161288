//! Purchases: each row is what `fit` says of the changed lab, and a larger budget never gives less.

use std::sync::atomic::AtomicBool;

use berthage::lab::Lab;
use berthage::purchase::upgrade::answer::{Choice, UpgradeAnswer};
use berthage::purchase::upgrade::upgrade;
use berthage::sizing::fit::fit;
use proptest::prelude::{prop_assert, proptest};
use proptest::test_runner::Config;

use crate::support::{lab, lab_with};

const UNDECIDED: &str = include_str!("../../examples/undecided.toml");

fn fits(sets: &[&str]) -> Option<u64> {
    let lab = lab_with(UNDECIDED, sets);
    fit(&lab, &[&lab.hosts[0]]).hosts[0].fits
}

fn answer_of(lab: &Lab, budget: Option<f64>) -> UpgradeAnswer {
    upgrade(lab, &lab.hosts[0], budget, None, &AtomicBool::new(false))
}

fn answer(budget: Option<f64>) -> UpgradeAnswer {
    answer_of(&lab(UNDECIDED), budget)
}

fn option<'a>(answer: &'a UpgradeAnswer, change: &str) -> &'a Choice {
    answer
        .options
        .iter()
        .find(|one| one.change.to_string() == change)
        .unwrap_or_else(|| panic!("{change} in {:#?}", answer.options))
}

#[test]
fn rows_are_what_fit_says_of_the_changed_lab() {
    let answer = answer(None);
    assert_eq!(answer.now.fits, fits(&[]));
    for (change, price, set) in [
        (
            "memory: 2 × 32 GiB (replaces 2 × 16 GiB)",
            190.0,
            "host.box.memory.modules=[\"32 GiB\", \"32 GiB\"]",
        ),
        (
            "memory: 2 × 48 GiB (replaces 2 × 16 GiB)",
            278.0,
            "host.box.memory.modules=[\"48 GiB\", \"48 GiB\"]",
        ),
        (
            "nvme: 1 device more of the same",
            85.0,
            "host.box.disk.nvme.devices=2",
        ),
        (
            "nvme: 1 × 2 TB (replaces 1 × 1 TB)",
            150.0,
            "host.box.disk.nvme.capacity=\"2 TB\"",
        ),
        (
            "link: 10 Gbit/s (replaces 1 Gbit/s)",
            90.0,
            "host.box.network.link=\"10 Gbit/s\"",
        ),
    ] {
        let row = option(&answer, change);
        assert_eq!(
            (row.fits, row.price),
            (fits(&[set]), Some(price)),
            "{change}"
        );
    }
    let twice = option(&answer, "1 more host of the kind");
    assert_eq!(twice.fits, fits(&[]).map(|n| 2 * n));
    let containers = option(&answer, "run the same guests as containers");
    assert_eq!(containers.fits, fits(AS_CONTAINERS));
    assert!(containers.containers && containers.price == Some(0.0));
}

/// The guests of the example as containers, by hand: what is kept after a busy spell is for machines.
const AS_CONTAINERS: &[&str] = &[
    "guest.web.kind=\"container\"",
    "guest.web.keeps=0",
    "guest.runner.kind=\"container\"",
];

#[test]
fn containers_with_a_purchase_are_rows_where_that_holds_more_than_either() {
    // With more cores and a faster link, so that memory runs out first for containers too.
    let wider = [
        "host.box.cpu.groups.1.cores=40",
        "host.box.network.link=\"10 Gbit/s\"",
    ];
    let lab = lab_with(UNDECIDED, &wider);
    let with = |sets: &[&str]| {
        let lab = lab_with(UNDECIDED, &[&wider, sets].concat());
        fit(&lab, &[&lab.hosts[0]]).hosts[0].fits
    };
    for budget in [None, Some(400.0), Some(1500.0)] {
        let answer = answer_of(&lab, budget);
        let alone = option(&answer, "run the same guests as containers");
        let both = option(
            &answer,
            "run the same guests as containers, memory: 2 × 48 GiB (replaces 2 × 16 GiB)",
        );
        let set = "host.box.memory.modules=[\"48 GiB\", \"48 GiB\"]";
        assert_eq!(alone.fits, with(AS_CONTAINERS));
        assert_eq!(both.fits, with(&[AS_CONTAINERS, &[set]].concat()));
        assert_eq!(both.price, Some(278.0));
        let machines = option(&answer, "memory: 2 × 48 GiB (replaces 2 × 16 GiB)");
        assert!(both.fits > alone.fits.max(machines.fits));
        // Whatever is a row with containers holds more than containers alone, and is never what is recommended.
        for row in answer.options.iter().filter(|row| row.containers) {
            assert!(row.change == alone.change || row.fits > alone.fits);
        }
        assert!(!answer.options[answer.best.expect("memory helps")].containers);
    }
}

#[test]
fn what_costs_nothing_and_gains_comes_first_and_is_best() {
    let free = lab_with(UNDECIDED, &["host.box.memory.module_prices.\"48 GiB\"=0"]);
    for budget in [None, Some(0.0)] {
        let answer = answer_of(&free, budget);
        let best = &answer.options[answer.best.expect("a free module helps")];
        assert_eq!(
            best.change.to_string(),
            "memory: 2 × 48 GiB (replaces 2 × 16 GiB)"
        );
        assert_eq!((best.price, best.gain_per_100), (Some(0.0), None));
    }
    // What costs nothing and gains nothing does not come before what gains.
    let free = lab_with(UNDECIDED, &["host.box.network.link_prices.\"10 Gbit/s\"=0"]);
    let answer = answer_of(&free, None);
    let place = |change: &str| {
        let found = answer
            .options
            .iter()
            .position(|one| one.change.to_string() == change);
        found.unwrap_or_else(|| panic!("{change}"))
    };
    assert!(
        place("link: 10 Gbit/s (replaces 1 Gbit/s)")
            > place("memory: 2 × 32 GiB (replaces 2 × 16 GiB)")
    );
}

#[test]
fn replaced_modules_are_named_and_what_gains_nothing_is_listed_as_such() {
    let answer = answer(None);
    let modules = option(&answer, "memory: 2 × 32 GiB (replaces 2 × 16 GiB)");
    assert_eq!(modules.replaces.len(), 1);
    assert_eq!(modules.replaces[0].to_string(), "2 × 16 GiB");
    let link = option(&answer, "link: 2.5 Gbit/s (replaces 1 Gbit/s)");
    assert_eq!((link.gain, link.gain_per_100), (Some(0), Some(0.0)));
    assert_eq!(link.binds, answer.now.binds);
    let gains: Vec<Option<i64>> = answer.options.iter().map(|one| one.gain).collect();
    let first_nothing = gains
        .iter()
        .position(|gain| *gain == Some(0))
        .expect("some gain nothing");
    assert!(gains[first_nothing..].iter().all(|gain| *gain == Some(0)));
}

#[test]
fn the_guests_that_must_run_are_bought_for_once() {
    let text = r#"
[[host]]
name = "box"
price = 300
cpu.groups = [{ cores = 32 }]
memory.modules = ["16 GiB"]
[[guest]]
name = "must"
count = 2
memory = "4 GiB"
[[guest]]
name = "web"
memory = "1 GiB"
"#;
    let with = lab(text);
    let without = lab_with(text, &["guest.must.count=1"]);
    let answer = answer_of(&with, None);
    let more = option(&answer, "1 more host of the kind");
    // A host without the guests that must run holds more than one that has a smaller one of them.
    let one = fit(&without, &[&without.hosts[0]]).hosts[0]
        .fits
        .expect("bound");
    assert!(more.gain.expect("bound") >= i64::try_from(one).expect("small"));
}

/// The best that money can buy, by the rows.
fn best(answer: &UpgradeAnswer) -> u64 {
    let now = answer.now.fits.unwrap_or(0);
    answer
        .best
        .map_or(now, |index| answer.options[index].fits.unwrap_or(u64::MAX))
}

proptest! {
    #![proptest_config(Config { cases: 24, ..Config::default() })]

    #[test]
    fn a_larger_budget_never_gives_fewer_guests(budget in 0u32..3000, more in 0u32..2000) {
        let budget = f64::from(budget);
        let (small, large) = (answer(Some(budget)), answer(Some(budget + f64::from(more))));
        prop_assert!(best(&large) >= best(&small));
        for answer in [small, large] {
            let limit = answer.budget.expect("given");
            prop_assert!(answer.options.iter().all(|one| one.price.is_some_and(|price| price <= limit)));
        }
    }
}

#[test]
fn within_a_budget_nothing_holds_more_by_brute_force() {
    let memory = [
        (0.0, None),
        (
            190.0,
            Some("host.box.memory.modules=[\"32 GiB\", \"32 GiB\"]"),
        ),
        (
            278.0,
            Some("host.box.memory.modules=[\"48 GiB\", \"48 GiB\"]"),
        ),
    ];
    let disk = [
        (0.0, None),
        (85.0, Some("host.box.disk.nvme.devices=2")),
        (150.0, Some("host.box.disk.nvme.capacity=\"2 TB\"")),
    ];
    let link = [
        (0.0, None),
        (25.0, Some("host.box.network.link=\"2.5 Gbit/s\"")),
        (90.0, Some("host.box.network.link=\"10 Gbit/s\"")),
    ];
    let each = fits(&[]).expect("bound");
    let mut all: Vec<(f64, u64)> = Vec::new();
    for (memory_price, memory) in memory {
        for (disk_price, disk) in disk {
            for (link_price, link) in link {
                let sets: Vec<&str> = [memory, disk, link].into_iter().flatten().collect();
                let first = fits(&sets).expect("bound");
                let price = memory_price + disk_price + link_price;
                all.extend((0..=8).map(|k| (price + 690.0 * k as f64, first + k * each)));
            }
        }
    }
    for budget in [0.0, 100.0, 200.0, 300.0, 700.0, 900.0, 1500.0, 5000.0] {
        let affordable = all.iter().filter(|(price, _)| *price <= budget);
        let most = affordable
            .map(|(_, n)| *n)
            .max()
            .expect("nothing is always affordable");
        // Containers cost nothing and are another question.
        let machines = answer(Some(budget));
        let held = machines
            .options
            .iter()
            .filter(|one| !one.containers)
            .filter_map(|one| one.fits)
            .max()
            .unwrap_or(each);
        assert_eq!(held.max(each), most, "{budget}");
    }
}

#[test]
fn a_host_too_small_for_what_must_run_gains_it_with_the_scaling_guests() {
    let text = r#"
[[host]]
name = "box"
cpu.groups = [{ cores = 32 }]
memory.modules = ["8 GiB"]
memory.slots = 2
memory.module_prices = { "8 GiB" = 20, "32 GiB" = 75 }
[[guest]]
name = "must"
count = 2
memory = "4 GiB"
[[guest]]
name = "web"
memory = "1 GiB"
"#;
    let answer = answer_of(&lab(text), Some(200.0));
    assert_eq!(answer.now.fits, None);
    let best = &answer.options[answer.best.expect("memory helps")];
    assert_eq!(best.price, Some(150.0));
    let fits = best.fits.expect("bound");
    assert_eq!(best.gain, Some(i64::try_from(fits + 2).expect("small")));
}
