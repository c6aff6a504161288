//! The cliff of a host with swap, worked out by hand from the definitions in the comments beside each number.

use berthage::model::MIB;
use berthage::sizing::count::breaks_at;
use berthage::sizing::host::HostModel;

use crate::support::lab;

/// 64,512 MiB visible, 1024 of them the host's; swap of 4096 MiB on disk and 8192 MiB compressed 2 : 1 in memory. A guest
/// holds 24 + 1000·(1 + 16/4096) = 1027.90625 MiB, never busy.
const HOST: &str = r#"
[[host]]
name = "box"
cpu.groups = [{ cores = 64 }]
[host.memory]
modules = ["64 GiB"]
firmware_reserved = "0 B"
base = "1 GiB"
swap = "4 GiB"
compressed_swap = "8 GiB"
compressed_swap_ratio = 2
[[guest]]
name = "g"
memory = "2 GiB"
touched = "1000 MiB"
common = "0 B"
repeats = "0 B"
overhead = "24 MiB"
busy = 0
"#;

/// One guest that can never be swapped out: 24 + 8192 MiB.
fn stays(kind: &str) -> String {
    format!(
        "[[guest]]\nname = \"stays\"\ncount = 1\nmemory = \"8 GiB\"\noverhead = \"24 MiB\"\n{kind} = true\nbusy = 0\n"
    )
}

#[test]
fn swap_helps_as_far_as_there_is_something_to_swap() {
    let lab = lab(&(HOST.to_owned() + &stays("pinned")));
    let model = HostModel::new(&lab, &lab.hosts[0]);
    let cliff = |n| {
        let (mean, cliff) = model.cliff(&model.composition.counts(n), 0.0);
        (mean / MIB, cliff / MIB)
    };
    let close = |found: (f64, f64), mean: f64, cliff: f64| {
        assert!((found.0 - mean).abs() < 1e-6, "{found:?} for {mean}");
        assert!((found.1 - cliff).abs() < 1e-6, "{found:?} for {cliff}");
    };
    // Pinned alone, with 32 MiB of page tables: nothing can be swapped.
    close(cliff(0), 8248.0, 63_488.0);
    // Two guests fit into the compressed part and take half of it.
    close(
        cliff(2),
        8248.0 + 2055.8125,
        63_488.0 + 2055.8125 - 1027.90625,
    );
    // Forty fill both: 4096 + 8192 − 8192/2.
    close(cliff(40), 8248.0 + 41_116.25, 71_680.0);
    // (71,680 − 8248)/1027.90625 = 61.7
    assert_eq!(breaks_at(&model, 0.0), Some(62));
}

#[test]
fn reserved_huge_pages_stay_too() {
    // Without page tables: (71,680 − 8216)/1027.90625 = 61.7, and at N = 0 nothing is swapped.
    let lab = lab(&(HOST.to_owned() + &stays("huge_pages")));
    let model = HostModel::new(&lab, &lab.hosts[0]);
    let (mean, cliff) = model.cliff(&model.composition.counts(0), 0.0);
    assert_eq!((mean / MIB, cliff / MIB), (8216.0, 63_488.0));
    assert_eq!(breaks_at(&model, 0.0), Some(62));
}

#[test]
fn guests_that_can_be_swapped_get_all_of_it() {
    // 71,680/1027.90625 = 69.7
    let lab = lab(HOST);
    let model = HostModel::new(&lab, &lab.hosts[0]);
    assert_eq!(breaks_at(&model, 0.0), Some(70));
}
