//! Damaged readings: never a panic, never a number that is none.
//!
//! `PROPTEST_CASES=1000000 cargo test --release damaged` runs a million of each.

use berthage::calibrate::answer::answer;
use berthage::calibrate::estimate::estimate;
use berthage::calibrate::question::Question;
use berthage::calibrate::readings::read;
use berthage::model::footprint::Age;
use berthage::sizing::host::HostModel;
use proptest::test_runner::TestRunner;

use crate::support::{Damage, cases, damage, lab};

/// Invented readings of every kind.
const READINGS: &str = "\u{feff}time;guests;settled;memory_used;memory_total;pages_sharing;swap_used;swap_in;swap_out;memory_pressure;guest_highest;written_a;written_b\r\n\
2026-01-01T00:00:00Z;0;yes;2.1 GiB;66063433728;0;0;0;0;0.0;;0;0\r\n\
2026-01-01T00:10:00Z;10;yes;7.9 GiB;66063433728;200000;0;0;0;0.0;700 MiB;5000000;5000000\r\n\
2026-01-01T00:20:00Z;10;yes;8.0 GiB;66063433728;210000;0;0;0;0.0;700 MiB;15000000;15000000\r\n\
2026-01-01T00:30:00Z;20;no;14.2 GiB;66063433728;;1048576;4096;0;0.01;900 MiB;25000000;25000000\r\n\
2026-01-01T00:40:00Z;20;unknown;13 GiB;66063433728;;1048576;4096;0;0.01;900 MiB;35000000;35000000\r\n\
2026-01-01T00:50:00Z;20;yes;20 %;66063433728;480000;1048576;4096;0;0.01;900 MiB;65000000;65000000\r\n\
2026-01-01T01:00:00Z;30;yes;0.29;66063433728;750000;1048576;4096;0;0.01;900 MiB;99000000;99000000\r\n";

#[test]
fn damaged_readings() {
    let labs = ["off", "fixed", "adaptive", "scan_time"].map(|mode| {
        lab(&format!(
            "[[host]]\nname = \"box\"\ncpu.groups = [{{ cores = 8 }}]\nmemory = {{ modules = [\"63 GiB\"], swap = \"4 GiB\" }}\n\
             merging.mode = \"{mode}\"\n[[guest]]\nname = \"web\"\nmemory = \"2 GiB\"\n[[guest]]\nname = \"db\"\nmemory = \"1 GiB\"\n"
        ))
    });
    let mut runner = TestRunner::new(cases(512));
    let strategy = (
        0..labs.len(),
        proptest::bool::ANY,
        0..3usize,
        proptest::collection::vec(damage(), 0..6),
    );
    runner
        .run(
            &strategy,
            |(mode, fresh, held_out, damages): (usize, bool, usize, Vec<Damage>)| {
                let bytes = damages
                    .iter()
                    .fold(READINGS.as_bytes().to_vec(), |bytes, damage| {
                        damage.done(bytes)
                    });
                let text = String::from_utf8_lossy(&bytes);
                let lab = &labs[mode];
                let readings = match read(
                    "damaged.csv",
                    &text,
                    HostModel::new(lab, &lab.hosts[0]).visible,
                ) {
                    Ok(readings) => readings,
                    Err(errors) => {
                        assert!(
                            !errors.list().is_empty() && errors.render(false, 80).len() < 100_000
                        );
                        return Ok(());
                    }
                };
                let lived = if fresh { Age::Fresh } else { Age::LivedIn };
                let question = Question {
                    lab,
                    host: 0,
                    guest: 0,
                    age: lived,
                    readings: &readings.list,
                    held_out,
                };
                match estimate(&question) {
                    Ok(found) => {
                        let answer = answer(&question, &readings, &found, None);
                        for (name, one) in &answer.estimates {
                            let ends = [0.0, one.low, one.value, one.high, f64::MAX];
                            assert!(
                                ends.windows(2).all(|pair| pair[0] <= pair[1]),
                                "{name}: {one:?}\n{text}"
                            );
                        }
                        assert!(answer.residual_rms.is_finite());
                    }
                    Err(error) => assert!(!error.message.is_empty() && !error.hints.is_empty()),
                }
                Ok(())
            },
        )
        .unwrap();
}
