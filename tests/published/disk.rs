//! Disks and the processor against values that this project did not make; laws with a single row stand in their docs.

use berthage::sizing::host::HostModel;
use berthage::sizing::resource::Resource;

use crate::support::{PLAIN_HOST, lab};

/// Ten clones of a 20 GB image that hold 2 GB each, on a pool of their own.
fn clones(clone: &str) -> f64 {
    let lab = lab(&format!(
        r#"{PLAIN_HOST}
[[host.disk]]
name = "pool"
capacity = "1 TB"
base_used = "0 B"
[[image]]
name = "desk"
size = "20 GB"
[[guest]]
name = "clone"
image = "desk"
memory = "1 GiB"
clone = "{clone}"
disk_used = "2 GB"
"#
    ));
    let model = HostModel::new(&lab, &lab.hosts[0]);
    model.space_used(0, &model.composition.counts(10), 0.0)
}

#[test]
fn overlay_clones_hold_the_image_once() {
    // qcow2 format, backing files; computed: 20 + 10·2 GB, against 10·(20 + 2) GB as copies.
    assert_eq!(clones("overlay"), 40e9);
    assert_eq!(clones("copy"), 220e9);
}

#[test]
fn default_load_is_that_of_most_real_guests() {
    // Cortez et al., Resource Central, SOSP 2017: 68 % of guests average at most 20 % of their processors, and 44 % have a
    // 95th percentile of at most 50 %. A default guest is one of the first group; one that is busy at most one time in
    // twenty is one of the second too.
    let percentile = |busy: &str, quantity: fn(&berthage::sizing::resource::Constraint) -> f64| {
        let lab = lab(&format!(
            "{PLAIN_HOST}[[guest]]\nname = \"g\"\nmemory = \"1 GiB\"\n{busy}\n[policy]\nslow_risk = \"5 %\"\n"
        ));
        let model = HostModel::new(&lab, &lab.hosts[0]);
        quantity(&Resource::Cpu.constraint(&model, &[1]).unwrap())
    };
    // Computed from the defaults: 1.5 % idle, 70 % busy, busy 8 % of the time.
    assert!(
        (percentile("", berthage::sizing::resource::Constraint::mean) - (0.015 + 0.08 * 0.685))
            .abs()
            < 1e-12
    );
    assert!(percentile("", berthage::sizing::resource::Constraint::mean) <= 0.20);
    let seldom = percentile(
        "busy = \"5 %\"",
        berthage::sizing::resource::Constraint::at_risk,
    );
    assert!((seldom - 0.015).abs() < 1e-9);
    assert!(
        (percentile(
            "busy = \"5.1 %\"",
            berthage::sizing::resource::Constraint::at_risk
        ) - 0.70)
            .abs()
            < 1e-9
    );
}
