//! Limits of the processor, the link, the backup and the policy, each with a count worked out by hand: the numbers are
//! computed from the definition in the comment beside them.

use berthage::model::network::backup_speed;
use berthage::sizing::answer::{HostAnswer, State};
use berthage::sizing::fit::fit_host;

use crate::support::lab;

/// Memory that never runs out first, cores of speed 1 as given, and a guest that always does the same.
fn answer(cpu: &str, host: &str, guest: &str, policy: &str) -> HostAnswer {
    let lab = lab(&format!(
        r#"
[policy]
{policy}
[[host]]
name = "box"
memory.modules = ["4000 GiB"]
{cpu}
{host}
[[guest]]
name = "g"
memory = "1 GiB"
touched = "100 MiB"
busy = 0
{guest}
"#
    ));
    fit_host(&lab, &lab.hosts[0])
}

fn holds(answer: &HostAnswer, name: &str) -> Option<u64> {
    let found = answer.resources.iter().find(|one| one.name == name);
    found.unwrap_or_else(|| panic!("no {name}")).fits
}

const CORES: &str = "cpu.groups = [{ cores = 1000, threads = 2 }]";

#[test]
fn backup_goes_at_the_lower_of_target_and_link() {
    // min(100 MB/s, 0.7·1 Gbit/s/8 = 87.5 MB/s)
    assert_eq!(backup_speed(Some(100e6), Some(1e9), 0.7), 87.5e6);
    assert_eq!(backup_speed(Some(50e6), Some(1e9), 0.7), 50e6);
    assert_eq!(backup_speed(Some(50e6), None, 0.7), 50e6);
    assert_eq!(backup_speed(None, Some(8e9), 0.5), 500e6);
    assert_eq!(backup_speed(None, None, 0.5), f64::INFINITY);
}

#[test]
fn a_backup_must_end_in_its_window() {
    let backup = |link: &str, target: &str| {
        let host = format!("{link}\n[host.backup]\nwindow = \"4 h\"\n{target}");
        let found = answer(
            CORES,
            &host,
            "backup = \"10 GB/day\"",
            "network_ceiling = 0.7",
        );
        holds(&found, "backup")
    };
    // 10 GB at 100 MB/s take 100 s: 14,400/100.
    assert_eq!(backup("", "speed = \"100 MB/s\""), Some(144));
    // At 87.5 MB/s, 70 % of the link, 114.2857 s: 126 fill the window exactly, and equal is within.
    let link = "network.link = \"1 Gbit/s\"";
    assert_eq!(backup(link, "speed = \"100 MB/s\""), Some(126));
    assert_eq!(backup(link, ""), Some(126));
}

#[test]
fn vcpus_per_hardware_thread() {
    // 4·16/2
    let found = answer(
        "cpu.groups = [{ cores = 8, threads = 2 }]",
        "",
        "vcpus = 2\nidle_load = 0.001",
        "max_vcpus_per_thread = 4",
    );
    assert_eq!(holds(&found, "vcpus"), Some(32));
    assert_eq!(
        (found.cpu.vcpus, found.cpu.vcpus_per_thread),
        (64.0, 4.0),
        "at fits"
    );
}

#[test]
fn most_guests_counts_those_that_must_run() {
    let fixed = "\n[[guest]]\nname = \"must\"\ncount = 3\nmemory = \"1 GiB\"\n";
    let found = answer(CORES, "", fixed, "max_guests = 40");
    assert_eq!(holds(&found, "guests"), Some(37));
    assert_eq!((found.fits, found.guests), (Some(37), 40));
}

#[test]
fn the_wait_in_the_run_queue() {
    // Two cores, each guest a tenth of one: at 10 guests A = 1 and K = 10; the states of the finite source, computed as
    // exact fractions from its definition, give a chance of 0.25791784718756916 and a wait of 0.5837252090610478 ms; at 11
    // the wait is 0.7490079694408539 ms.
    let found = |limit: &str| {
        answer(
            "cpu.groups = [{ cores = 2 }]\ncpu.base_cores = 0",
            "",
            "idle_load = \"10 %\"\nbusy_load = \"10 %\"",
            &format!("cpu_slice = \"3 ms\"\nmax_mean_wait = \"{limit}\""),
        )
    };
    let one = found("0.5838 ms");
    assert_eq!(holds(&one, "cpu_wait"), Some(10));
    assert!((one.cpu.wait_chance.unwrap() - 0.25791784718756916).abs() < 1e-12);
    assert!((one.cpu.mean_wait_s.unwrap() - 0.5837252090610478e-3).abs() < 1e-15);
    assert_eq!(holds(&found("0.5837 ms"), "cpu_wait"), Some(9));
    // Mean demand fills the supply at 20, where the wait is 4.166186198980665 ms: it has a bound, unlike an endless queue's.
    assert_eq!(holds(&found("4.17 ms"), "cpu_wait"), Some(20));
    assert_eq!(holds(&found("4.16 ms"), "cpu_wait"), Some(19));
    assert_eq!(holds(&found("1 day"), "cpu"), Some(20));
}

#[test]
fn cores_of_two_kinds() {
    // 4·(1 + 0.25) + 4·0.5 − 0.5 = 6.5 cores; 2·0.05 a guest: 65 fill it, and though 97 were within 1.5 times that, the
    // mean may not pass the supply.
    let found = answer(
        "cpu.groups = [{ cores = 4, threads = 2, smt_gain = 0.25 }, { cores = 4, speed = 0.5 }]\ncpu.base_cores = 0.5",
        "",
        "vcpus = 2\nidle_load = 0.05\nbusy_load = 0.05",
        "cpu_slowdown = 1.5",
    );
    assert_eq!(holds(&found, "cpu"), Some(65));
    assert!((found.cpu.supply - 6.5).abs() < 1e-12);
    let cpu = found
        .resources
        .iter()
        .find(|one| one.name == "cpu")
        .unwrap();
    assert!((cpu.limit - 9.75).abs() < 1e-12);
    assert!((cpu.load - 1.0).abs() < 1e-9, "mean over supply");
}

#[test]
fn slowdown_is_for_the_worst_moment() {
    // Two guests busy half the time, one core each then, tied to nothing: P(both) = ¼ > 5 %, so the supply of 2·1 must
    // carry 2/cpu_slowdown; 3 guests are all busy with ⅛ and at least two with ½: at_risk is 3 > 1.5·1.9.
    let found = answer(
        "cpu.groups = [{ cores = 2 }]\ncpu.base_cores = 0.1",
        "",
        "idle_load = 0\nbusy_load = 1",
        "correlation = 0\ncpu_slowdown = 1.5\nslow_risk = 0.05",
    );
    // Never busy (the base lab): nothing is asked for, no bound.
    assert_eq!(holds(&found, "cpu"), None);
    let lab = lab(
        "policy = { correlation = 0, cpu_slowdown = 1.5, slow_risk = 0.05 }\n[[host]]\nname = \"box\"\n\
         cpu = { groups = [{ cores = 2 }], base_cores = 0.1 }\nmemory.modules = [\"64 GiB\"]\n[[guest]]\nname = \"g\"\n\
         memory = \"1 GiB\"\nbusy = 0.5\nidle_load = 0\nbusy_load = 1\n",
    );
    let found = fit_host(&lab, &lab.hosts[0]);
    assert_eq!(holds(&found, "cpu"), Some(2));
    let cpu = &found.resources[0];
    assert_eq!((cpu.name.as_str(), cpu.state), ("cpu", State::Bound));
    assert!((cpu.mean - 1.0).abs() < 1e-12 && (cpu.at_risk - 2.0).abs() < 1e-9);
    // max(2/(1.5·1.9), 1/1.9)
    assert!((cpu.load - 2.0 / 2.85).abs() < 1e-9);
}

#[test]
fn the_busier_direction_of_the_link() {
    // 0.7·1 Gbit/s over 10 Mbit/s; bytes are bits times 8: 1.25 MB/s are the same.
    for rate in ["10 Mbit/s", "1.25 MB/s"] {
        let found = answer(
            CORES,
            "network.link = \"1 Gbit/s\"",
            &format!("net_idle = \"{rate}\""),
            "network_ceiling = 0.7",
        );
        assert_eq!(holds(&found, "network"), Some(70), "{rate}");
    }
}

#[test]
fn what_ties_binds_together() {
    // 70 by the link (as above), 70 by max_guests: both bind, in the order of the names.
    let found = answer(
        CORES,
        "network.link = \"1 Gbit/s\"",
        "net_idle = \"10 Mbit/s\"",
        "network_ceiling = 0.7\nmax_guests = 70",
    );
    assert_eq!(found.binds, ["network", "guests"]);
    assert_eq!(found.fits, Some(70));
}
