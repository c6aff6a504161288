//! When a host is full if guests keep coming, against a loop by hand.

use berthage::inventory::load_text;
use berthage::model::growth::MONTH;
use berthage::model::{DAY, YEAR};
use berthage::sizing::answer::HostAnswer;
use berthage::sizing::fit::fit_host;
use berthage::sizing::growth::{lasts, lasts_with};
use berthage::sizing::host::HostModel;
use proptest::prelude::{prop_assert, proptest};
use proptest::test_runner::Config;

use crate::support::lab_with;

/// Three guests of one GiB and more that come, on 64 GiB, one pool.
const LAB: &str = r#"
[policy]
disk_keep_free = "0 %"
service_life = "5 years"
[[host]]
name = "box"
price = 600
cpu.groups = [{ cores = 64 }]
memory.modules = ["64 GiB"]
merging.mode = "off"
[[host.disk]]
name = "pool"
capacity = "1 TB"
base_used = "0 B"
base_written = "0 B/day"
[[guest]]
name = "web"
count = 3
grows = "2/month"
memory = "1 GiB"
touched = "1 GiB"
common = "0 B"
repeats = "0 B"
overhead = "0 B"
busy = 0
disk_used = "10 GB"
disk_size = "40 GB"
disk_grows = "0 B/day"
written = "0 B/day"
"#;

fn answer(sets: &[&str]) -> HostAnswer {
    let lab = lab_with(LAB, sets);
    fit_host(&lab, &lab.hosts[0])
}

fn months_of(answer: &HostAnswer, name: &str) -> Option<f64> {
    let one = answer.resources.iter().find(|one| one.name == name);
    one.expect(name).full_in_months
}

/// Memory: every half month a guest more, until one set does not fit any more.
#[test]
fn memory_is_full_when_the_first_guest_too_many_comes() {
    let found = answer(&[]);
    let full = found.full_in.as_ref().expect("guests come");
    // By hand: the limit over what a guest holds, 1 GiB and 16/4096 of it for page tables.
    let each = berthage::model::GIB * (1.0 + 16.0 / 4096.0);
    let limit = found
        .resources
        .iter()
        .find(|one| one.name == "memory")
        .expect("considered")
        .limit;
    let most = (limit / each).floor();
    let expected = (most - 3.0 + 1.0) / 2.0;
    let months = full.months.expect("within 20 years");
    assert!(
        (months - expected).abs() < 2.0 / MONTH,
        "{months} {expected}"
    );
    assert_eq!(full.guests, most as u64 + 1);
    assert_eq!(full.resource.as_ref().expect("one is first").name, "memory");
    assert!((full.price_per_month.expect("a price") - 600.0 / expected).abs() < 1e-3);
}

/// Disk space, a loop over days by hand: 3 + ⌊2·t⌋ guests of 10 GB, each growing by 20 MB a day up to 40 GB.
#[test]
fn disk_space_fills_between_the_guests_that_come() {
    let found = answer(&[
        "guest.web.disk_grows=\"20 MB/day\"",
        "guest.web.grows=\"1/month\"",
        "host.box.disk.pool.capacity=\"300 GB\"",
    ]);
    let full_day = (0..10_000).find(|day| {
        let time = f64::from(*day) * DAY;
        let guests = 3.0 + (time / MONTH * (1.0 + 1e-9)).floor();
        let each = (10e9 + 20e6 * f64::from(*day)).min(40e9);
        guests * each > 300e9
    });
    let day = f64::from(full_day.expect("fills"));
    let months = months_of(&found, "disk_space").expect("within 20 years");
    assert!(
        (months * MONTH / DAY - day).abs() <= 1.0,
        "{months} months, {day} days"
    );
}

/// Written bytes, a loop over hours by hand: what is left must last for the rest of five years at the rate then.
#[test]
fn written_bytes_accumulate() {
    let sets = [
        "guest.web.written=\"30 GB/day\"",
        "host.box.disk.pool.endurance=\"1000 TB\"",
        "host.box.disk.pool.amplification=2",
    ];
    let found = answer(&sets);
    let (mut left, mut hours) = (1000e12, 0_u32);
    loop {
        let time = f64::from(hours) * 3600.0;
        let rate = 2.0 * 30e9 / DAY * (3.0 + (2.0 * time / MONTH * (1.0 + 1e-9)).floor());
        if left < rate * (5.0 * YEAR - time).max(0.0) {
            break;
        }
        left -= rate * 3600.0;
        hours += 1;
    }
    let months = months_of(&found, "disk_writes").expect("within 20 years");
    assert!(
        (months * MONTH / 3600.0 - f64::from(hours)).abs() <= 1.0,
        "{months} months, {hours} hours"
    );
}

#[test]
fn nothing_is_said_where_none_come_and_no_end_where_it_is_far() {
    assert!(answer(&["guest.web.grows=0"]).full_in.is_none());
    let slow = answer(&["guest.web.grows=\"1/year\""])
        .full_in
        .expect("guests come");
    assert!(slow.months.is_none() && slow.resource.is_none());
    assert_eq!(slow.guests, 23);
    let now = answer(&["guest.web.count=200"])
        .full_in
        .expect("guests come");
    assert_eq!((now.months, now.guests), (Some(0.0), 200));
}

/// Further hosts take those who come once the one before is full; by hand, one guest every half month.
#[test]
fn a_further_host_takes_the_guests_that_come() {
    let lab = lab_with(LAB, &[]);
    let model = HostModel::new(&lab, &lab.hosts[0]);
    let most = |months: f64, had: f64| (2.0 * months).round() + had - 1.0;
    let alone = lasts(&model, None).expect("guests come");
    let held = most(alone, 3.0);
    for further in [1, 2, 5] {
        let expected = alone + further as f64 * (held + 1.0) / 2.0;
        let found = lasts_with(&model, further).expect("guests come");
        assert!(
            (found - expected).abs() < 1e-4,
            "{further}: {found} {expected}"
        );
    }
    // What the disks of the first still get ends it, however many hosts there are.
    let lab = lab_with(
        LAB,
        &[
            "guest.web.disk_grows=\"20 MB/day\"",
            "host.box.disk.pool.capacity=\"2000 GB\"",
        ],
    );
    let model = HostModel::new(&lab, &lab.hosts[0]);
    let [two, ten] = [2, 10].map(|further| lasts_with(&model, further).expect("guests come"));
    assert!(
        two == ten && two > lasts(&model, None).expect("guests come"),
        "{two} {ten}"
    );
    let other = lab_with(LAB, &["guest.web.grows=0"]);
    assert_eq!(lasts(&HostModel::new(&other, &other.hosts[0]), None), None);
}

#[test]
fn growth_needs_a_count() {
    let share = LAB.split("count = 3\n").collect::<String>();
    let errors = load_text("lab.toml", &share, &[]).expect_err("no count");
    assert!(
        errors
            .render(false, 120)
            .contains("`grows` needs `count` beside it")
    );
}

proptest! {
    #![proptest_config(Config::with_cases(24))]

    /// More that come are never full later, of any resource.
    #[test]
    fn monotone_in_the_rate(rate in 0.05f64..20.0, more in 1.0f64..4.0, grows in 0u32..200, written in 0u32..100) {
        let dates = |rate: f64| {
            let sets = [
                format!("guest.web.grows=\"{rate}/month\""),
                format!("guest.web.disk_grows=\"{grows} MB/day\""),
                format!("guest.web.written=\"{written} GB/day\""),
                "host.box.disk.pool.endurance=\"800 TB\"".to_owned(),
            ];
            let sets: Vec<&str> = sets.iter().map(String::as_str).collect();
            let found = answer(&sets);
            ["memory", "disk_space", "disk_writes"].map(|name| months_of(&found, name).unwrap_or(f64::INFINITY))
        };
        let (slow, fast) = (dates(rate), dates(rate * more));
        for (slow, fast) in slow.iter().zip(fast) {
            prop_assert!(fast <= slow + 2.0 / MONTH, "{fast} {slow}");
        }
    }
}
