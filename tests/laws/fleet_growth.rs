//! Guests that keep coming to several hosts, and periods there, held against counting by hand and against `fit`.

use berthage::fleet::answer::FleetAnswer;
use berthage::fleet::fleet;
use berthage::fleet::hosts::Bounds;
use berthage::lab::{Host, Lab};
use berthage::sizing::fit::fit_host;
use proptest::prelude::{prop_assert, prop_assert_eq, proptest};

use crate::support::{cases, lab};

/// Hosts of so many GiB of memory.
fn hosts(gib: &[u64]) -> String {
    let hosts = gib.iter().enumerate().map(|(i, gib)| {
        format!(
            "[[host]]\nname = \"h{i}\"\ncpu.groups = [{{ cores = 16 }}]\nmemory.modules = [\"{gib} GiB\"]\n\
             memory.base = \"1 GiB\"\nmerging.mode = \"off\"\n"
        )
    });
    hosts.collect()
}

/// What a lab answers for the guests that must run.
fn must_run(lab: &Lab, spare: usize) -> FleetAnswer {
    let hosts: Vec<&Host> = lab.hosts.iter().collect();
    let guests: Vec<u64> = lab.guests.iter().map(|guest| guest.count).collect();
    fleet(lab, &hosts, Some(&guests), spare, Bounds::default())
}

/// Never busy, so that a host holds as many as fit beside one another, just restarted or not.
const WEB: &str =
    "[[guest]]\nname = \"web\"\ncount = 3\ngrows = \"2/month\"\nmemory = \"1 GiB\"\nbusy = 0\n";

#[test]
fn a_fleet_is_full_when_its_hosts_are() {
    let two = lab(&[hosts(&[8, 8]), WEB.to_owned()].concat());
    let clones = "[[guest]]\nname = \"clone\"\nmemory = \"1 GiB\"\nbusy = 0\n";
    let one = lab(&[hosts(&[8]), clones.to_owned()].concat());
    let each = fit_host(&one, &one.hosts[0]).fits.expect("a bound");
    assert!(each > 5, "{each}");
    for (spare, room) in [(0, 2 * each), (1, each)] {
        let full = must_run(&two, spare).full_in.expect("guests come");
        // The first guest too many is the (room + 1)th: at two a month it comes (room + 1 − 3)/2 months from now.
        let months = (room + 1 - 3) as f64 / 2.0;
        let found = full.months.expect("a date");
        assert!((found - months).abs() < 0.001, "{spare}: {found}, {months}");
        assert_eq!(full.guests["web"], room + 1);
        assert!(full.reasons.contains_key("web"));
        let fullest = full.fullest.expect("two hosts");
        assert!(
            fullest.resource.name == "memory" && fullest.period.is_none() && fullest.load <= 1.0
        );
    }
    // Guests that are multiplied are left out of what grows.
    let mixed = lab(&[hosts(&[8, 8]), WEB.to_owned(), clones.to_owned()].concat());
    let pair: Vec<&Host> = mixed.hosts.iter().collect();
    let answer = fleet(&mixed, &pair, None, 0, Bounds::default());
    assert_eq!(answer.holds, Some(2 * each - 3));
    let full = answer.full_in.expect("guests come").months.expect("a date");
    assert!((full - (2 * each - 2) as f64 / 2.0).abs() < 0.001, "{full}");
}

#[test]
fn what_is_full_now_and_what_never_is() {
    let full = |gib: u64, grows: &str| {
        let web = WEB.replace("2/month", grows);
        must_run(&lab(&[hosts(&[gib, gib]), web].concat()), 0).full_in
    };
    assert_eq!(full(2, "2/month").expect("guests come").months, Some(0.0));
    let never = full(512, "1/month").expect("guests come");
    assert_eq!((never.months, never.guests["web"]), (None, 3 + 240));
    assert!(full(8, "0/month").is_none());
}

/// Two kinds of guests, one busy by night and one by day.
const SHIFTS: &str = "[[period]]\nname = \"night\"\nhours = \"22-6\"\n\
[[guest]]\nname = \"batch\"\ncount = 4\nmemory = \"2 GiB\"\ntouched = \"256 MiB\"\nkeeps = 0\nbusy = { night = \"100 %\", otherwise = 0 }\n\
[[guest]]\nname = \"desk\"\ncount = 4\ngrows = \"1/month\"\nmemory = \"2 GiB\"\ntouched = \"256 MiB\"\nkeeps = 0\nbusy = { night = 0, otherwise = \"100 %\" }\n";

#[test]
fn a_fleet_is_full_in_its_worst_period() {
    let both = lab(&[hosts(&[10, 10]), SHIFTS.to_owned()].concat());
    let answer = must_run(&both, 0);
    // All of them busy at once would not fit beside one another: 8 of about 2 GiB in 2·(0.9·10 − 1) GiB.
    let always = SHIFTS.replace("night = 0,", "night = \"100 %\",");
    let always = lab(&[hosts(&[10, 10]), always].concat());
    assert!(answer.unplaced.is_empty());
    let full = answer.full_in.expect("guests come");
    assert!(full.months > must_run(&always, 0).full_in.expect("guests come").months);
    // Desks come, so days bind at last; each host says by which period it is fullest now.
    assert_eq!(
        full.fullest.expect("hosts").period.as_deref(),
        Some("otherwise")
    );
    for host in &answer.hosts {
        let more_by_night = host.guests.get("batch") > host.guests.get("desk");
        let more_by_day = host.guests.get("batch") < host.guests.get("desk");
        let period = host.periods["memory"].as_str();
        assert!(!(more_by_night && period != "night"), "{host:?}");
        assert!(!(more_by_day && period != "otherwise"), "{host:?}");
    }
}

proptest! {
    #![proptest_config(cases(10))]

    /// One host that none may leave is a host of `fit`.
    #[test]
    fn a_fleet_of_one_is_full_when_fit_says(
        gib in 6u64..40, mib in 512u64..3000, night in 0u32..60, day in 0u32..60, rate in 1u32..6,
    ) {
        let one = lab(&format!(
            "[[period]]\nname = \"night\"\nhours = \"22-6\"\n{}[[guest]]\nname = \"web\"\ncount = 1\ngrows = \"{rate}/month\"\n\
             memory = \"{mib} MiB\"\nbusy = {{ night = \"{night} %\", otherwise = \"{day} %\" }}\n",
            hosts(&[gib])
        ));
        let fit = fit_host(&one, &one.hosts[0]).full_in.expect("guests come");
        let fleet = must_run(&one, 0).full_in.expect("guests come");
        match (fit.months, fleet.months) {
            (Some(fit), Some(fleet)) => prop_assert!((fit - fleet).abs() < 0.001, "{fit} {fleet}"),
            (fit, fleet) => prop_assert_eq!(fit, fleet),
        }
        if fit.months > Some(0.0) {
            prop_assert_eq!(fit.guests, fleet.guests.values().sum::<u64>());
        }
    }
}
