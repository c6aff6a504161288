//! The search equals a walk from 0 upwards.

use berthage::sizing::count::{breaks_at, find_all, memory_count, plain_sum};
use berthage::sizing::host::HostModel;
use berthage::sizing::memory::MemoryCount;
use berthage::sizing::search::Largest;
use proptest::prelude::{prop_assert_eq, proptest};
use proptest::test_runner::Config;

use super::sizing::small;
use crate::support::lab;

/// How far the walk goes; labs that hold more are compared up to here.
const WALK: u64 = 400;

/// The last N of an unbroken run of `within` from 0, if it ends before the walk does.
fn walk(within: impl Fn(u64) -> bool) -> Option<Largest> {
    let past = (0..WALK).find(|n| !within(*n))?;
    Some(if past == 0 {
        Largest::Infeasible
    } else {
        Largest::Bound(past - 1)
    })
}

proptest! {
    #![proptest_config(Config { cases: 24, ..Config::default() })]

    #[test]
    fn every_resource_and_count_equals_the_walk(small in small()) {
        let lab = lab(&small.text());
        let host = &lab.hosts[0];
        let model = HostModel::new(&lab, host);
        for found in find_all(&model) {
            let walked = walk(|n| found.resource.constraint(&model, &model.composition.counts(n)).unwrap().within());
            if let Some(walked) = walked {
                prop_assert_eq!(found.largest, walked, "{:?}", found.resource);
            }
        }
        for count in [MemoryCount::Fresh, MemoryCount::Unshared, MemoryCount::Stretched] {
            let walked = walk(|n| {
                let (demand, limit) = model.memory_demand(&model.composition.counts(n), count);
                demand.tail(limit) <= lab.policy.memory_risk
            });
            if let Some(walked) = walked {
                prop_assert_eq!(memory_count(&model, count), walked, "{:?}", count);
            }
        }
        let holds = |n: u64| {
            let (mean, cliff) = model.cliff(&model.composition.counts(n), host.memory.file_cache_floor);
            mean <= cliff
        };
        if let Some(first) = (0..WALK).find(|n| !holds(*n)) {
            prop_assert_eq!(breaks_at(&model, host.memory.file_cache_floor), Some(first));
        }
        let assigned = |n: u64| -> f64 {
            let counts = model.composition.counts(n);
            counts.iter().zip(&lab.guests).map(|(n, guest)| *n as f64 * guest.memory).sum()
        };
        if let Some(first) = (0..WALK).find(|n| assigned(*n) > model.visible - host.memory.base) {
            let expected = first.checked_sub(1).map_or(Largest::Infeasible, Largest::Bound);
            prop_assert_eq!(plain_sum(&model), expected);
        }
    }
}
