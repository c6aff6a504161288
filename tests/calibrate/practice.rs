//! Readings of one real small host. Common practice, no source: 96 GiB in two modules, 8 cores of 2 threads, adaptive
//! scanner, about 8 GiB of swap, a kernel from before 6.11, idle clones of one server image with 2 GiB and 2 vCPUs, never
//! busy: 200 → 80 % settled, then 210 → 89 % just started; 125 → 78 % of unknown state.

use berthage::calibrate::answer::{CalibrateAnswer, answer};
use berthage::calibrate::estimate::estimate;
use berthage::calibrate::estimates::Provenance;
use berthage::calibrate::question::Question;
use berthage::calibrate::readings::read;
use berthage::model::MIB;
use berthage::model::footprint::Age;
use berthage::words::caution::Caution;

use crate::support::lab;

const HOST: &str = r#"
[[host]]
name = "reported"
cpu.groups = [{ cores = 8, threads = 2 }]
memory = { modules = ["48 GiB", "48 GiB"], swap = "8 GiB" }
merging = { mode = "adaptive", visits = 1 }
[[host.disk]]
name = "nvme"
capacity = "2 TB"
[[guest]]
name = "clone"
memory = "2 GiB"
vcpus = 2
"#;

fn calibrated(more: &str, text: &str, lived: Age) -> CalibrateAnswer {
    let lab = lab(&format!("{HOST}{more}"));
    let visible = berthage::model::memory::visible(96.0 * 1024.0 * MIB, 512.0 * MIB);
    let readings = read("readings.csv", text, visible).unwrap_or_else(|errors| panic!("{errors}"));
    let question = Question {
        lab: &lab,
        host: 0,
        guest: 0,
        age: lived,
        readings: &readings.list,
        held_out: 0,
    };
    let found = estimate(&question).expect("an estimate");
    answer(&question, &readings, &found, None)
}

const READINGS: &str = "guests,memory_used,settled\n125,78 %,unknown\n200,80 %,yes\n210,89 %,no\n";

#[test]
fn what_a_clone_touches_and_keeps_comes_out_and_the_cliff_with_it() {
    for (more, lived) in [
        ("busy = 0", Age::LivedIn),
        ("busy = 0", Age::Fresh),
        ("", Age::Fresh),
    ] {
        let answer = calibrated(more, READINGS, lived);
        // Nine points of 94 GiB over ten guests, less the process around each.
        let touched = &answer.estimates["touched"];
        assert!(
            (700.0 * MIB..900.0 * MIB).contains(&touched.value),
            "{touched:?}"
        );
        let unique = &answer.estimates["unique"];
        assert!(
            (300.0 * MIB..430.0 * MIB).contains(&unique.value),
            "{unique:?}"
        );
        let cliff = answer.predicts.breaks_at_fresh;
        assert!(
            (230..=280).contains(&cliff.value.expect("a cliff")),
            "{cliff:?}"
        );
        if more == "busy = 0" {
            assert_eq!(answer.predicts.breaks_at, cliff);
        }
        assert_eq!(
            answer.readings[1].used_as.to_string(),
            "settled: at the scanner's threshold, taken as merged"
        );
        assert_eq!(answer.estimates["base"].from, Provenance::Lab);
        // 94 GiB, of which 80 % is the threshold: about 76 GiB and 3 % clear of it, at 360 MiB a guest from 200 on.
        let next = answer.next.expect("a reading to take");
        assert!((205..=220).contains(&next.guests), "{next:?}");
        assert!(
            next.reading.to_string().contains("above its threshold"),
            "{next:?}"
        );
        let unknown = &answer.readings[0];
        let most = unknown.modelled_most.expect("a bound");
        assert!(
            unknown.modelled <= unknown.read && unknown.read <= most,
            "{unknown:?}"
        );
        assert!(
            !answer
                .cautions
                .iter()
                .any(|caution| caution.worded().id == "outside_bounds")
        );
    }
}

#[test]
fn a_better_reading_than_one_at_the_threshold_is_preferred() {
    // Above the threshold the scanner works at its fastest, so that reading is of merged guests (invented).
    let text = "guests,memory_used,settled\n200,80 %,yes\n215,84.5 %,yes\n225,93.5 %,no\n";
    let answer = calibrated("busy = 0", text, Age::LivedIn);
    assert_eq!(
        answer.readings[0].used_as.to_string(),
        "bound: at the scanner's threshold"
    );
    assert_eq!(answer.readings[1].used_as.to_string(), "settled");
    // Below it nothing merges (invented).
    let text = "guests,memory_used,settled\n30,27 %,yes\n60,52 %,yes\n";
    let answer = calibrated("busy = 0", text, Age::LivedIn);
    assert_eq!(
        answer.readings[0].used_as.to_string(),
        "settled, nothing merged"
    );
    let touched = &answer.estimates["touched"];
    assert!(
        (700.0 * MIB..800.0 * MIB).contains(&touched.value),
        "{touched:?}"
    );
}
