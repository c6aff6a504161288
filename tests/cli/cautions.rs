//! Every caution that depends on something: a lab where it is said, and the same lab with one thing changed where it is
//! not. Only identifiers are compared; the words belong to the report.

use crate::support::run;
use std::fs;

/// A lab to change: a host with much to spare and six guests of 4 GiB.
const LAB: &str = r#"
[policy]
memory_keep_free = "10 %"
service_life = "5 years"
[[host]]
name = "box"
[host.cpu]
groups = [{ cores = 16, threads = 2, speed = 1 }]
[host.memory]
modules = ["64 GiB"]
swap = "4 GiB"
file_cache = "2 GiB"
file_cache_floor = "2 GiB"
[host.merging]
mode = "off"
[[host.disk]]
name = "pool"
devices = 2
capacity = "4 TB"
endurance = "600 TB"
read_iops = 50000
write_iops = 5000
[[guest]]
name = "g"
count = 6
vcpus = 2
memory = "4 GiB"
touched = "1 GiB"
common = "300 MiB"
repeats = "100 MiB"
busy_load = 0.6
disk_used = "10 GB"
disk_size = "20 GB"
disk_grows = "1 GB/day"
written = "1 GB/day"
[[guest]]
name = "extra"
memory = "4 GiB"
share = 1
"#;

/// Cautions of the lab with pieces of its text replaced, in the order they are said.
fn cautions(changes: &[(&str, &str)]) -> Vec<String> {
    let mut text = LAB.to_owned();
    for (from, to) in changes {
        assert!(text.contains(from), "{from:?} is not in the lab");
        text = text.replace(from, to);
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("lab.toml");
    fs::write(&path, text).unwrap();
    let session = run(&["fit", path.to_str().unwrap(), "--format", "json"]);
    session.is_silent();
    let answer: serde_json::Value = serde_json::from_str(&session.stdout).unwrap();
    let said = answer["hosts"][0]["cautions"].as_array().unwrap();
    said.iter()
        .map(|one| one["id"].as_str().unwrap().to_owned())
        .collect()
}

/// Said after `with`, not said after `without`.
fn only_where(id: &str, with: &[(&str, &str)], without: &[(&str, &str)]) {
    let said = cautions(with);
    assert!(
        said.iter().any(|one| one == id),
        "{id} with {with:?}: {said:?}"
    );
    let said = cautions(without);
    assert!(
        said.iter().all(|one| one != id),
        "{id} without {without:?}: {said:?}"
    );
}

const MODE: &str = "mode = \"off\"";
const FIXED: (&str, &str) = (MODE, "mode = \"fixed\"");
const ADAPTIVE: (&str, &str) = (MODE, "mode = \"adaptive\"");

#[test]
fn an_estimate_is_called_one_everywhere() {
    assert!(cautions(&[]).iter().any(|id| id == "estimate"));
}

#[test]
fn more_memory_promised_than_there_is() {
    // Six guests that must run and the few beside them that fit: 60 GiB stay beside the base; 9 times 4 GiB are within, 6
    // times 16 GiB are not.
    let few = ("[policy]\n", "[policy]\nmax_guests = 9\n");
    only_where(
        "overcommit",
        &[
            few,
            (
                "count = 6\nvcpus = 2\nmemory = \"4 GiB\"",
                "count = 6\nvcpus = 2\nmemory = \"16 GiB\"\ntouched_busy = \"1 GiB\"",
            ),
        ],
        &[few],
    );
}

#[test]
fn sharing_between_guests() {
    only_where("side_channel", &[FIXED], &[]);
    only_where("side_channel", &[ADAPTIVE], &[]);
}

#[test]
fn a_scanner_that_starts_too_late() {
    let free = |share| ("memory_keep_free = \"10 %\"", share);
    only_where(
        "scanner_late",
        &[ADAPTIVE, free("memory_keep_free = \"21 %\"")],
        &[ADAPTIVE, free("memory_keep_free = \"20 %\"")],
    );
    only_where(
        "scanner_late",
        &[ADAPTIVE, free("memory_keep_free = \"21 %\"")],
        &[FIXED, free("memory_keep_free = \"21 %\"")],
    );
}

#[test]
fn sharing_that_costs_more_than_it_saves() {
    let none = [
        FIXED,
        ("common = \"300 MiB\"", "common = \"0 B\""),
        ("repeats = \"100 MiB\"", "repeats = \"0 B\""),
        (
            "share = 1",
            "share = 1\ncommon = \"0 B\"\nrepeats = \"0 B\"",
        ),
    ];
    only_where("sharing_costs", &none, &none[1..]);
    only_where(
        "sharing_costs",
        &none,
        &[("mode = \"off\"", "mode = \"fixed\"\npages_per_wake = 2000")],
    );
}

#[test]
fn a_cache_that_shrinks() {
    only_where(
        "cache_lets_go_slowly",
        &[(
            "file_cache_floor = \"2 GiB\"",
            "file_cache_floor = \"1 GiB\"",
        )],
        &[],
    );
}

#[test]
fn swap_in_use() {
    // 40 guests that hold more than the host has, with swap and without.
    let many = ("count = 6", "count = 80");
    only_where("swap_in_use", &[many], &[]);
    only_where(
        "swap_in_use",
        &[many],
        &[many, ("swap = \"4 GiB\"", "swap = \"0 B\"")],
    );
}

#[test]
fn a_passed_through_device() {
    only_where("pinned", &[("share = 1", "share = 1\npinned = true")], &[]);
}

#[test]
fn circuits_where_power_is_planned() {
    let power = (
        "[host.merging]",
        "[host.power]\nidle = \"20 W\"\nbusy = \"90 W\"\n[host.merging]",
    );
    only_where("circuits", &[power], &[]);
}

#[test]
fn cores_slower_than_a_busy_vcpu() {
    // Busy at 0.6 of the reference core: 0.5 is slower, 0.6 is not.
    let speed = |to| ("speed = 1", to);
    only_where(
        "slow_cores",
        &[speed("speed = 0.5")],
        &[speed("speed = 0.6")],
    );
}

#[test]
fn more_vcpus_than_threads() {
    let vcpus = |to| ("vcpus = 2", to);
    only_where(
        "too_many_vcpus",
        &[vcpus("vcpus = 33")],
        &[vcpus("vcpus = 32")],
    );
}

#[test]
fn disks_that_wear_out() {
    // Two of 600 TB: 1200 TB over 7.5 years (half more than the service life) are 438 GB a day; six guests of 60 GB write
    // 360 and those of 80 GB 480, with max_guests at six and the host's own 4 GB.
    let few = ("[policy]\n", "[policy]\nmax_guests = 6\n");
    let written = |to| ("written = \"1 GB/day\"", to);
    only_where(
        "disk_wear",
        &[few, written("written = \"80 GB/day\"")],
        &[few, written("written = \"60 GB/day\"")],
    );
}

#[test]
fn mirrored_devices_of_one_age() {
    let mirror = ("devices = 2", "devices = 2\nlayout = \"mirror\"");
    only_where("same_age", &[mirror], &[]);
    only_where(
        "same_age",
        &[mirror],
        &[mirror, ("endurance = \"600 TB\"\n", "")],
    );
}

#[test]
fn thin_space() {
    // 8 TB owned; six promised 20 GB or 2 TB.
    only_where(
        "thin_space",
        &[("disk_size = \"20 GB\"", "disk_size = \"2 TB\"")],
        &[],
    );
}

#[test]
fn speeds_of_a_data_sheet() {
    let rate = |to| ("write_iops = 5000", to);
    only_where(
        "data_sheet",
        &[rate("write_iops = 60000")],
        &[rate("write_iops = 50000")],
    );
    only_where(
        "data_sheet",
        &[rate("write_iops = 60000")],
        &[rate("write_iops = 60000\nsustained_speed = \"500 MB/s\"")],
    );
}

#[test]
fn growth_that_has_no_room() {
    only_where("growth_capped", &[("disk_size = \"20 GB\"\n", "")], &[]);
}
