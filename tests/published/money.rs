//! Power and money, worked out by hand from the definitions; the linear model of power is that of Fan, Weber & Barroso,
//! Power provisioning for a warehouse-sized computer, ISCA 2007.

use berthage::model::cost::running;
use berthage::model::power::{kwh_per_year, load, watts};
use berthage::sizing::answer::HostAnswer;
use berthage::sizing::fit::fit_host;

use crate::support::lab;

/// Four cores, 20 W idle and 100 W busy, so 20 W a core; a guest keeps half a core busy, always.
fn answer(lab_keys: &str, policy: &str, host: &str) -> HostAnswer {
    let lab = lab(&format!(
        r#"
[lab]
{lab_keys}
[policy]
{policy}
[[host]]
name = "box"
cpu = {{ groups = [{{ cores = 4 }}], base_cores = 0 }}
memory.modules = ["64 GiB"]
{host}
[[guest]]
name = "g"
memory = "2 GiB"
touched = "100 MiB"
busy = 0
idle_load = 0.5
busy_load = 0.5
"#
    ));
    fit_host(&lab, &lab.hosts[0])
}

fn power_holds(answer: &HostAnswer) -> Option<u64> {
    let found = answer.resources.iter().find(|one| one.name == "power");
    found.expect("power").fits
}

#[test]
fn half_load_is_half_way() {
    // Fan, Weber & Barroso 2007, secondary source: 100 W idle, 200 W busy, half load: 150 W.
    assert_eq!(watts(100.0, 200.0, 0.0, 0.5), 150.0);
    // 1 W for a year: 8.76 kWh, computed from 24·365 h.
    assert_eq!(kwh_per_year(1.0), 8.76);
}

#[test]
fn load_is_all_that_runs_over_all_there_is() {
    // (3 + 0.5 + 0.5)/8, and no more than everything.
    assert_eq!(load(3.0, 0.5, 0.5, 8.0), 0.5);
    assert_eq!(load(30.0, 0.5, 0.5, 8.0), 1.0);
    assert_eq!(watts(20.0, 100.0, 5.0, load(30.0, 0.0, 0.0, 8.0)), 105.0);
}

#[test]
fn running_cost() {
    // 4 years·525.6 kWh·0.25
    assert_eq!(running(4.0, 525.6, 0.25), 525.6);
    assert_eq!(running(0.0, 525.6, 0.25), 0.0);
}

#[test]
fn a_power_budget_is_a_limit() {
    let power = "power = { idle = \"20 W\", busy = \"100 W\" }";
    let extra = "power = { idle = \"20 W\", busy = \"100 W\", extra = \"5 W\" }";
    let budget = |watts: u32| format!("power_budget = \"{watts} W\"");
    // 20 + 10·n ≤ 60
    assert_eq!(power_holds(&answer("", &budget(60), power)), Some(4));
    // 25 + 10·n ≤ 60, ≤ 104
    assert_eq!(power_holds(&answer("", &budget(60), extra)), Some(3));
    assert_eq!(power_holds(&answer("", &budget(104), extra)), Some(7));
    // All cores busy take 105 W, and no guest can make it more.
    assert_eq!(power_holds(&answer("", &budget(105), extra)), None);
    // Idle is past it already.
    let broken = answer("", &budget(24), extra);
    assert_eq!((broken.fits, power_holds(&broken)), (None, None));
    assert_eq!(broken.binds, ["power"]);
}

#[test]
fn what_a_host_costs() {
    // 4 guests, half of the cores: 60 W, 525.6 kWh a year; 4 years at 0.25: 525.6; with the price 1025.6, per guest
    // 256.4, per GiB promised 128.2.
    let lab_keys = "tariff = 0.25\nyears = 4";
    let host = "price = 500\npower = { idle = \"20 W\", busy = \"100 W\" }";
    let found = answer(lab_keys, "max_guests = 4", host);
    let power = found.power.unwrap();
    assert!((power.watts - 60.0).abs() < 1e-12);
    assert!((power.kwh_per_year - 525.6).abs() < 1e-9);
    let cost = found.cost.unwrap();
    for (value, expected) in [
        (cost.price, 500.0),
        (cost.running, 525.6),
        (cost.total, 1025.6),
        (cost.per_guest, 256.4),
        (cost.per_gib, 128.2),
    ] {
        assert!(
            (value.unwrap() - expected).abs() < 1e-9,
            "{value:?} for {expected}"
        );
    }
}

#[test]
fn what_is_not_known_is_not_counted() {
    let power = "power = { idle = \"20 W\", busy = \"100 W\" }";
    // No tariff: the price alone. No price: the running cost alone, no total.
    let cost = answer("", "max_guests = 4", &format!("price = 500\n{power}"))
        .cost
        .unwrap();
    assert_eq!(
        (cost.running, cost.total, cost.per_guest),
        (None, Some(500.0), Some(125.0))
    );
    let cost = answer("tariff = 0.25", "max_guests = 4", power)
        .cost
        .unwrap();
    assert_eq!((cost.price, cost.total, cost.per_guest), (None, None, None));
    assert!(cost.running.is_some());
    // Neither: nothing about money, and without power nothing about watts.
    let found = answer("", "max_guests = 4", "");
    assert!(found.cost.is_none() && found.power.is_none());
}
