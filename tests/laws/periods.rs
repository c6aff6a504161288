//! Periods of the time: what they change, and what they do not.

use berthage::lab::{Lab, Period};
use berthage::model::GIB;
use berthage::model::periods::over_time;
use berthage::sizing::answer::HostAnswer;
use berthage::sizing::fit::fit_host;
use proptest::prelude::{prop_assert, prop_assert_eq, proptest};
use proptest::test_runner::Config;

use super::sizing::small;
use crate::support::{lab, lab_with};

/// Distribution of a sum of guests with these levels and chances, by convolution: value and chance.
fn sums(guests: usize, levels: [u32; 3], chances: [f64; 3]) -> Vec<f64> {
    let most = guests * *levels.iter().max().unwrap() as usize;
    let mut all = vec![0.0; most + 1];
    all[0] = 1.0;
    for _ in 0..guests {
        let mut next = vec![0.0; most + 1];
        for (sum, chance) in all.iter().enumerate().filter(|(_, chance)| **chance > 0.0) {
            for (level, own) in levels.iter().zip(chances) {
                next[sum + *level as usize] += chance * own;
            }
        }
        all = next;
    }
    all
}

/// The specification's example: ten guests of loads 0.02, 0.2, 0.9, three periods; exact enumeration.
#[test]
fn the_mixture_of_three_periods() {
    let shares = [0.6, 0.3, 0.1];
    let chances = [[0.93, 0.05, 0.02], [0.85, 0.09, 0.06], [0.70, 0.15, 0.15]];
    // In hundredths of a load.
    let levels = [2, 20, 90];
    let sums = chances.map(|chances| sums(10, levels, chances));
    let mixed = |of: &dyn Fn(&[f64]) -> f64| {
        over_time(shares.iter().copied().zip(sums.iter().map(|sums| of(sums))))
    };
    let tail = |limit: usize| mixed(&|sums| sums[limit + 1..].iter().sum());
    let mean = mixed(&|sums| {
        sums.iter()
            .enumerate()
            .map(|(sum, chance)| sum as f64 * chance / 100.0)
            .sum()
    });
    assert!((mean - 0.7256).abs() < 5e-5, "{mean}");
    assert!((tail(300) - 0.017992671).abs() < 5e-10, "{}", tail(300));
    let point = |risk: f64| (0..900).find(|limit| tail(*limit) <= risk);
    assert_eq!((point(0.05), point(0.005)), (Some(214), Some(372)));
}

/// Day desktops and night backups on a host of some memory and cores.
fn shifts(cores: u32) -> String {
    format!(
        r#"
[[period]]
name = "day"
hours = "8-20"
[[host]]
name = "box"
cpu.groups = [{{ cores = {cores} }}]
memory.modules = ["32 GiB"]
merging.mode = "off"
[host.power]
idle = "20 W"
busy = "80 W"
[[guest]]
name = "desk"
memory = "2 GiB"
touched = "500 MiB"
keeps = "50 %"
share = 1
busy_load = "90 %"
busy = {{ day = "40 %", otherwise = "0 %" }}
[[guest]]
name = "backup"
memory = "2 GiB"
touched = "500 MiB"
keeps = "50 %"
share = 1
busy_load = "90 %"
busy = {{ day = "0 %", otherwise = "60 %" }}
"#
    )
}

fn answer(lab: &Lab) -> HostAnswer {
    fit_host(lab, &lab.hosts[0])
}

/// Three ways to say when the two kinds are busy: each in its shift, both at once, and both as rarely as in the other's.
#[test]
fn kinds_busy_at_other_times_fit_between_both_at_once_and_never_in_each_others_time() {
    for (cores, first) in [(4, "cpu"), (64, "memory")] {
        let apart = answer(&lab(&shifts(cores)));
        let both = ["guest.desk.busy=\"40 %\"", "guest.backup.busy=\"60 %\""];
        let together = answer(&lab_with(&shifts(cores), &both));
        assert!(
            apart.fits >= together.fits,
            "{cores}: {:?} {:?}",
            apart.fits,
            together.fits
        );
        assert_eq!(apart.binds, [first]);
        // One kind at a time, the other never busy but as lived-in as before.
        for (desk, backup) in [("40 %", "0.001 %"), ("0.001 %", "60 %")] {
            let one = [
                format!("guest.desk.busy=\"{desk}\""),
                format!("guest.backup.busy=\"{backup}\""),
            ];
            let alone = answer(&lab_with(&shifts(cores), &[&one[0], &one[1]]));
            assert!(
                apart.fits <= alone.fits,
                "{cores}: {:?} {:?}",
                apart.fits,
                alone.fits
            );
        }
        assert!(
            apart.fits > together.fits,
            "{cores}: shifts save something here"
        );
    }
}

#[test]
fn the_worst_period_is_named_and_the_time_past_the_limit_told() {
    let cpu_of = |sets: &[&str]| {
        let own = [
            "policy.cpu_slowdown=1",
            "host.box.memory.modules=[\"1 TiB\"]",
        ];
        let sets = [&own[..], sets].concat();
        let found = answer(&lab_with(&shifts(16), &sets));
        let cpu = found.resources.into_iter().find(|one| one.name == "cpu");
        cpu.expect("considered")
    };
    // At equal numbers 60 % busy at night are more than 40 % by day.
    let night = cpu_of(&[]);
    assert_eq!(night.period.as_deref(), Some("otherwise"));
    // At most the accepted 5 % of the night's half of the time, and of the day's.
    let past = night.past_limit.expect("periods are given");
    assert!(past > 0.0 && past <= 0.05, "{past}");
    let day = cpu_of(&["guest.backup.busy.otherwise=\"20 %\""]);
    assert_eq!(day.period.as_deref(), Some("day"));
}

/// By hand: one core kept for the host, N desks and N backups of one vCPU; 20 + 60/4·(load + 0.1) watts in each period.
#[test]
fn energy_is_that_of_each_period_in_its_time() {
    let lab = lab_with(
        &shifts(4),
        &["policy.max_guests=2", "host.box.cpu.base_cores=0.1"],
    );
    let found = answer(&lab);
    assert_eq!(found.guests, 2);
    let load = |desk: f64, backup: f64| 0.01 * 2.0 + (0.9 - 0.01) * (desk + backup);
    let watts = |load: f64| 20.0 + 60.0 * (load + 0.1) / 4.0;
    let idle = lab.guests[0].idle_load;
    assert!(
        (idle - 0.01).abs() < 1e-12 || (idle - 0.015).abs() < 1e-12,
        "{idle}"
    );
    let load = |desk: f64, backup: f64| load(desk, backup) + (idle - 0.01) * (2.0 - desk - backup);
    let (day, night) = (watts(load(0.4, 0.0)), watts(load(0.0, 0.6)));
    let power = found.power.expect("given");
    assert!(
        (power.watts - night).abs() < 1e-9,
        "{} {night}",
        power.watts
    );
    let year = (0.5 * day + 0.5 * night) * 8.766;
    assert!(
        (power.kwh_per_year / year - 1.0).abs() < 1e-3,
        "{} {year}",
        power.kwh_per_year
    );
}

/// The largest mean counts for the cliff, and a guest that is busy in any period is lived-in.
#[test]
fn the_cliff_is_that_of_the_fullest_period() {
    let text = shifts(64);
    let found = answer(&lab(&text));
    let night = [
        "guest.desk.busy=\"0.000001 %\"",
        "guest.backup.busy=\"60 %\"",
    ];
    let alone = answer(&lab_with(&text, &night));
    assert_eq!(found.breaks_at, alone.breaks_at);
    assert!((found.memory.cliff - alone.memory.cliff).abs() < 1e-6 * GIB);
}

proptest! {
    #![proptest_config(Config::with_cases(32))]

    /// One period that is all the time is none, equal periods are one, and no guest is more room than a period more.
    #[test]
    fn equal_periods_are_one(small in small(), share in 0.05f64..0.95) {
        let plain = lab(&small.text());
        let period = |name: &str, share| Period { name: name.to_owned(), ..Period::otherwise(share) };
        let with = |periods| answer(&Lab { periods, ..plain.clone() });
        let none = answer(&plain);
        let one = with(vec![period("all", 1.0)]);
        let two = with(vec![period("a", share), period("b", 1.0 - share)]);
        for found in [&one, &two] {
            prop_assert_eq!((found.fits, found.breaks_at, found.fresh, found.unshared, found.stretched),
                (none.fits, none.breaks_at, none.fresh, none.unshared, none.stretched));
            prop_assert_eq!(&found.binds, &none.binds);
            for (one, other) in found.resources.iter().zip(&none.resources) {
                prop_assert_eq!((one.mean, one.at_risk, one.limit, one.fits), (other.mean, other.at_risk, other.limit, other.fits));
                prop_assert!(one.period.is_some() && other.period.is_none());
            }
        }
        // A period with its own correlation can only take room.
        let closer = Period { correlation: Some(0.6), ..period("b", 1.0 - share) };
        let worse = with(vec![period("a", share), closer]);
        prop_assert!(worse.fits <= none.fits || none.fits.is_none());
    }
}
