//! Disk pools on a host: space over time, images in pools, operations and rated writes, worked out by hand from the
//! definitions in the comments beside them.

use berthage::model::DAY;
use berthage::model::disk::{Trims, guest_used};
use berthage::sizing::answer::HostAnswer;
use berthage::sizing::fit::fit_host;
use berthage::sizing::host::HostModel;

use crate::support::lab;

const HOST: &str = r#"
[[host]]
name = "box"
cpu.groups = [{ cores = 1000 }]
memory.modules = ["4000 GiB"]
"#;

fn guest(keys: &str) -> String {
    format!(
        "[[guest]]\nname = \"g\"\nmemory = \"1 GiB\"\ntouched = \"100 MiB\"\nbusy = 0\nwritten = \"10 GB/day\"\n\
         idle_load = 0.001\n{keys}\n"
    )
}

fn answer(text: &str) -> HostAnswer {
    let lab = lab(text);
    fit_host(&lab, &lab.hosts[0])
}

fn holds(answer: &HostAnswer, name: &str) -> Option<u64> {
    let found = answer.resources.iter().find(|one| one.name == name);
    found.unwrap_or_else(|| panic!("no {name}")).fits
}

#[test]
fn a_disk_grows_up_to_its_size() {
    let gb = 1e9;
    let at = |days: f64, trims| guest_used(10.0 * gb, 50.0 * gb, gb / DAY, days * DAY, trims);
    assert!((at(0.0, Trims::Yes) - 10.0 * gb).abs() < 1.0);
    assert!((at(20.0, Trims::Yes) - 30.0 * gb).abs() < 1.0);
    assert_eq!(at(100.0, Trims::Yes), 50.0 * gb);
    assert_eq!(at(0.0, Trims::No), 50.0 * gb);
}

#[test]
fn space_is_planned_for_a_horizon() {
    let fits = |horizon: &str, trims: &str| {
        let text = format!(
            "policy = {{ disk_horizon = \"{horizon}\", disk_keep_free = 0.2 }}\n{HOST}[[host.disk]]\nname = \"pool\"\n\
             capacity = \"1 TB\"\nbase_used = \"100 GB\"\n{}",
            guest(&format!(
                "disk_used = \"10 GB\"\ndisk_size = \"50 GB\"\ndisk_grows = \"1 GB/day\"\n{trims}"
            ))
        );
        holds(&answer(&text), "disk_space")
    };
    // (1000·0.8 − 100)/10, /30 after 20 days, /50 after 100 (grown to its size) or when freed blocks never come back.
    assert_eq!(fits("0 days", ""), Some(70));
    assert_eq!(fits("20 days", ""), Some(23));
    assert_eq!(fits("100 days", ""), Some(14));
    assert_eq!(fits("0 days", "trims = false"), Some(14));
}

#[test]
fn a_pool_fills_at_todays_growth() {
    // 8 guests of 10 GB beside 100 GB: 820 GB are left of 1 TB, 8 GB a day: 102.5 days. Of 50 GB disks, 40 GB of room
    // each, they fill only 320 GB and then stop: never.
    let full = |size: &str| {
        let text = format!(
            "policy.max_guests = 8\n{HOST}[[host.disk]]\nname = \"pool\"\ncapacity = \"1 TB\"\nbase_used = \"100 GB\"\n{}",
            guest(&format!(
                "disk_used = \"10 GB\"\ndisk_size = \"{size}\"\ndisk_grows = \"1 GB/day\""
            ))
        );
        let found = answer(&text);
        (found.disk[0].full_in_days, found.disk[0].promised)
    };
    let (days, promised) = full("500 GB");
    assert!((days.unwrap() - 102.5).abs() < 1e-9);
    assert_eq!(promised, 4000e9);
    assert_eq!(full("50 GB"), (None, 400e9));
}

/// Two pools, and clones of a 20 GB image that hold 2 GB each on the second.
fn two_pools(image: &str, clone: &str) -> String {
    format!(
        "{HOST}[[host.disk]]\nname = \"fast\"\ncapacity = \"100 GB\"\nbase_used = \"5 GB\"\n\
         [[host.disk]]\nname = \"slow\"\ncapacity = \"1 TB\"\nbase_used = \"0 B\"\n\
         [[image]]\nname = \"desk\"\nsize = \"20 GB\"\n{image}\n{}",
        guest(&format!(
            "image = \"desk\"\ndisk = \"slow\"\ndisk_used = \"2 GB\"\nclone = \"{clone}\""
        ))
    )
}

#[test]
fn an_image_lies_in_its_own_pool_or_beside_its_overlays() {
    let used = |text: &str, n: u64| {
        let lab = lab(text);
        let model = HostModel::new(&lab, &lab.hosts[0]);
        let counts = model.composition.counts(n);
        [0, 1].map(|pool| model.space_used(pool, &counts, 0.0) / 1e9)
    };
    let own = "disk = \"fast\"";
    assert_eq!(used(&two_pools(own, "overlay"), 10), [25.0, 20.0]);
    assert_eq!(used(&two_pools("", "overlay"), 10), [5.0, 40.0]);
    // Whole copies need no base copy.
    assert_eq!(used(&two_pools(own, "copy"), 10), [5.0, 220.0]);
    // Nothing runs, nothing lies there.
    assert_eq!(used(&two_pools(own, "overlay"), 0), [5.0, 0.0]);
}

#[test]
fn an_image_lies_once_in_each_pool_that_holds_overlays() {
    let text = two_pools("", "overlay")
        + "[[guest]]\nname = \"h\"\nmemory = \"1 GiB\"\nimage = \"desk\"\ndisk_used = \"3 GB\"\n";
    let lab = lab(&text);
    let model = HostModel::new(&lab, &lab.hosts[0]);
    // h names no pool and lies on the first: 5 + 20 + 4·3, and 20 + 4·2.
    let used = [0, 1].map(|pool| model.space_used(pool, &[4, 4], 0.0) / 1e9);
    assert_eq!(used, [37.0, 28.0]);
}

#[test]
fn pools_run_out_by_themselves_and_are_named() {
    // slow: (800 − 20)/2; fast holds no guests, so any number is within.
    let found = answer(&two_pools("", "overlay"));
    assert_eq!(holds(&found, "disk_space:slow"), Some(390));
    assert_eq!(holds(&found, "disk_space:fast"), None);
    assert_eq!(found.disk[0].name, "fast");
    assert!((found.disk[0].fill - 0.05).abs() < 1e-12);
}

#[test]
fn operations_of_a_parity_pool() {
    // A guest reads 10 and writes 5 a second; with one parity 2·5 reads back and 2·5 writes: (10 + 10)/(3·1000) +
    // 10/(3·500) = 1/75 of the devices' time; 0.7·75 = 52.5.
    let text = format!(
        "policy.disk_ceiling = 0.7\n{HOST}[[host.disk]]\nname = \"pool\"\ndevices = 3\nlayout = \"parity1\"\n\
         capacity = \"4 TB\"\nread_iops = 1000\nwrite_iops = 500\n{}",
        guest("reads_idle = 10\nwrites_idle = 5")
    );
    let found = answer(&text);
    assert_eq!(holds(&found, "disk_iops"), Some(52));
    let speed = found
        .resources
        .iter()
        .find(|one| one.name == "disk_iops")
        .unwrap();
    assert!((speed.mean / (found.fits.unwrap() as f64 / 75.0) - 1.0).abs() < 1e-12);
}

#[test]
fn rated_writes_and_their_three_factors() {
    // Two mirrored devices of 600 TB with 100 TB behind them: 1000 TB left; each byte becomes 2 (file system)·2 (mirror)·
    // 1.25 (device) = 5. Over 5 years of 365.25 days 1e15/1826.25/5 = 109.514 GB a day, 10 of them the host's own:
    // 9.95 guests. At 9 it is 100 GB/day: 1e15/(5·100e9)/365.25 = 5.4757 years.
    let text = format!(
        "policy.service_life = \"5 years\"\n{HOST}[[host.disk]]\nname = \"pool\"\ndevices = 2\nlayout = \"mirror\"\n\
         capacity = \"4 TB\"\nendurance = \"600 TB\"\nalready_written = \"100 TB\"\namplification = 2\nwa_ratio = 1.25\n\
         base_written = \"10 GB/day\"\n{}",
        guest("")
    );
    let found = answer(&text);
    assert_eq!(holds(&found, "disk_writes"), Some(9));
    assert_eq!(found.binds, ["disk_writes"]);
    assert!((found.disk[0].life_years.unwrap() - 5.4757).abs() < 5e-5);
    assert!((found.disk[0].written_per_day / 100e9 - 1.0).abs() < 1e-12);
    // What the devices' own logs show: without the factor inside the device.
    assert!((found.disk[0].device_written_per_day / 400e9 - 1.0).abs() < 1e-12);
    let writes = &found.resources[0];
    assert!((writes.limit / 1e9 - 109.514).abs() < 5e-4);
}
