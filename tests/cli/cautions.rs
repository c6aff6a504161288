//! Every caution that depends on something: a lab where it is said, and the same lab with one thing changed where it is
//! not. Only identifiers are compared; the words belong to the report.

use crate::support::Session;

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
disk_grows = "1 GB/day"
written = "1 GB/day"
[[guest]]
name = "extra"
memory = "4 GiB"
busy_load = 0.6
share = 1
"#;

/// Cautions of the lab with these values set, in the order they are said.
fn cautions(changes: &[&str]) -> Vec<String> {
    let session = Session::lab(LAB).args(&["fit", "@lab.toml"]).set(changes);
    let answer = session.json(&[]);
    let said = answer["hosts"][0]["cautions"].as_array().unwrap();
    said.iter()
        .map(|one| one["id"].as_str().unwrap().to_owned())
        .collect()
}

/// Said after `with`, not said after `without`.
fn only_where(id: &str, with: &[&str], without: &[&str]) {
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

const FIXED: &str = "host.box.merging.mode=\"fixed\"";
const ADAPTIVE: &str = "host.box.merging.mode=\"adaptive\"";
const RATED: &str = "host.box.disk.pool.endurance=\"600 TB\"";
const MIRROR: &str = "host.box.disk.pool.layout=\"mirror\"";

#[test]
fn an_estimate_is_called_one_everywhere() {
    assert!(cautions(&[]).iter().any(|id| id == "estimate"));
}

#[test]
fn more_memory_promised_than_there_is() {
    // Six guests that must run and the few beside them that fit: 60 GiB stay beside the base; 9 times 4 GiB are within, 6
    // times 16 GiB are not.
    let few = "policy.max_guests=9";
    only_where(
        "overcommit",
        &[
            few,
            "guest.g.memory=\"16 GiB\"",
            "guest.g.touched_busy=\"1 GiB\"",
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
    let (early, late) = (
        "policy.memory_keep_free=\"21 %\"",
        "policy.memory_keep_free=\"20 %\"",
    );
    only_where("scanner_late", &[ADAPTIVE, early], &[ADAPTIVE, late]);
    only_where("scanner_late", &[ADAPTIVE, early], &[FIXED, early]);
}

#[test]
fn sharing_that_costs_more_than_it_saves() {
    let none = [
        FIXED,
        "guest.g.common=\"0 B\"",
        "guest.g.repeats=\"0 B\"",
        "guest.extra.common=\"0 B\"",
        "guest.extra.repeats=\"0 B\"",
    ];
    only_where("sharing_costs", &none, &none[1..]);
    only_where(
        "sharing_costs",
        &none,
        &[FIXED, "host.box.merging.pages_per_wake=2000"],
    );
}

#[test]
fn a_cache_that_shrinks() {
    let lower = "host.box.memory.file_cache_floor=\"1 GiB\"";
    only_where("cache_lets_go_slowly", &[lower], &[]);
}

#[test]
fn swap_in_use() {
    // 80 guests that hold more than the host has, with swap and without.
    let many = "guest.g.count=80";
    only_where("swap_in_use", &[many], &[]);
    only_where(
        "swap_in_use",
        &[many],
        &[many, "host.box.memory.swap=\"0 B\""],
    );
}

#[test]
fn a_passed_through_device() {
    only_where("pinned", &["guest.extra.pinned=true"], &[]);
}

#[test]
fn circuits_where_power_is_planned() {
    let power = [
        "host.box.power.idle=\"20 W\"",
        "host.box.power.busy=\"90 W\"",
    ];
    only_where("circuits", &power, &[]);
}

#[test]
fn cores_slower_than_a_busy_vcpu() {
    // Busy at 0.6 of the reference core: 0.5 is slower, 0.6 is not.
    only_where(
        "slow_cores",
        &["host.box.cpu.groups.1.speed=0.5"],
        &["host.box.cpu.groups.1.speed=0.6"],
    );
}

#[test]
fn more_vcpus_than_threads() {
    only_where(
        "too_many_vcpus",
        &["guest.g.vcpus=33"],
        &["guest.g.vcpus=32"],
    );
}

#[test]
fn disks_that_wear_out() {
    // Two of 600 TB: 1200 TB over 7.5 years (half more than the service life) are 438 GB a day; six guests of 60 GB write
    // 360 and those of 80 GB 480, with max_guests at six and the host's own 4 GB.
    let few = "policy.max_guests=6";
    only_where(
        "disk_wear",
        &[RATED, few, "guest.g.written=\"80 GB/day\""],
        &[RATED, few, "guest.g.written=\"60 GB/day\""],
    );
}

#[test]
fn mirrored_devices_of_one_age() {
    only_where("same_age", &[RATED, MIRROR], &[RATED]);
    only_where("same_age", &[RATED, MIRROR], &[MIRROR]);
}

#[test]
fn thin_space() {
    // 8 TB owned; six promised 20 GB or 2 TB.
    only_where(
        "thin_space",
        &["guest.g.disk_size=\"2 TB\""],
        &["guest.g.disk_size=\"20 GB\""],
    );
}

#[test]
fn speeds_of_a_data_sheet() {
    let fast = "host.box.disk.pool.write_iops=60000";
    only_where(
        "data_sheet",
        &[fast],
        &["host.box.disk.pool.write_iops=50000"],
    );
    let sustained = "host.box.disk.pool.sustained_speed=\"500 MB/s\"";
    only_where("data_sheet", &[fast], &[fast, sustained]);
}

#[test]
fn growth_that_has_no_room() {
    only_where("growth_capped", &[], &["guest.g.disk_size=\"20 GB\""]);
}

/// Six guests, busy 5 % of the time each: P(one or more) = 26 %, of one alone 5 %, which is the risk accepted.
#[test]
fn a_lone_guest_within_the_risk_counts_as_idle() {
    let lone = |busy: &'static str| {
        let alone = [
            "policy.max_guests=1",
            "guest.g.count=1",
            "guest.extra.share=1",
        ];
        [&alone[..], &[busy]].concat()
    };
    only_where(
        "counted_idle",
        &lone("guest.g.busy=\"5 %\""),
        &lone("guest.g.busy=\"8 %\""),
    );
}

#[test]
fn a_backup_window_without_backups() {
    let window = [
        "host.box.backup.window=\"4 h\"",
        "host.box.backup.speed=\"100 MB/s\"",
    ];
    let backed_up = [&window[..], &["guest.g.backup=\"1 GB/day\""]].concat();
    only_where("nothing_backed_up", &window, &backed_up);
}

#[test]
fn a_container_that_keeps_what_was_touched() {
    only_where(
        "containers_keep",
        &["guest.g.kind=\"container\"", "guest.g.keeps=\"50 %\""],
        &["guest.g.kind=\"container\""],
    );
}
