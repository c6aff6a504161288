//! Runs of real guests on a real kernel, measured for this project: 2 processors, 24,105 MiB, no swap, kernel 6.18 with a
//! 250 Hz timer; clones of one plain server image with 512 MiB and one virtual processor each.

use super::lab;
use berthage::lab::{CoreGroup, Lab, Mode};
use berthage::model::{MIB, PAGE};
use berthage::rollout::{
    EventKind, Options, Run, Schedule, Spell, Spells, Stagger, Watch, simulate,
};
use berthage::sizing::host::HostModel;

/// Guest memory settled at 79.1 MiB once and 63.5 MiB a guest (least squares), out of 151.2 MiB a guest resident.
/// Measured for this project.
const COMMON: f64 = 79.1;
const RESIDENT: f64 = 151.2;
const REPEATS: f64 = RESIDENT - COMMON - 63.5;
/// The guest process beyond guest memory, software emulation included `[MiB]`. Measured for this project.
const OVERHEAD: f64 = 99.5;

/// The measured host and its guests, up at once.
fn measured(pages_per_wake: f64) -> Lab {
    let mut merging = lab::merging(Mode::Fixed);
    merging.pages_per_wake = pages_per_wake;
    let mut host = lab::host(24_105.0 * MIB, merging);
    host.cpu.groups = vec![CoreGroup {
        cores: 2,
        threads: 1,
        speed: 1.0,
        smt_gain: 0.0,
    }];
    let mut guest = lab::guest("server", (0, Some(1.0)));
    guest.touched = RESIDENT * MIB;
    guest.touched_busy = 0.97 * 512.0 * MIB;
    guest.common = COMMON * MIB;
    guest.repeats = REPEATS * MIB;
    guest.overhead = OVERHEAD * MIB;
    guest.boot_time = 0.0;
    guest.boot_writes = 0.0;
    lab::lab(host, vec![guest])
}

/// Guest memory of a use of visible memory: without base, overhead, page tables and bookkeeping `[MiB]`.
fn guest_memory(run: &Run, used: f64, guests: f64) -> f64 {
    let beside = 2048.0 + guests * (OVERHEAD + RESIDENT * (16.0 + 64.0) / PAGE);
    used * run.visible / MIB - beside
}

/// Times until shares of the plateau are merged `[s]`.
fn times(run: &Run) -> [f64; 3] {
    let plateau = run
        .timeline
        .last()
        .map_or(0.0, |moment| moment.merged_bytes);
    [0.5, 0.9, 0.99].map(|share| {
        let reached = run
            .timeline
            .iter()
            .find(|moment| moment.merged_bytes >= share * plateau);
        reached.map_or(f64::NAN, |moment| moment.t_s)
    })
}

#[test]
fn cold_guests_merge_in_the_second_pass() {
    // 16 idle guests, 620,700 pages, all unmerged when merging is switched on. Measured for this project: times to 50, 90
    // and 99 % of the plateau, end of the first pass, plateau [pages].
    for (pages, zero_pages, times_s, first_pass, plateau) in [
        (1000.0, 0.0, [27.0, 33.0, 35.0], 15.0, 337_900.0),
        (250.0, 0.0, [93.0, 115.0, 121.0], 61.0, 337_900.0),
        (1000.0, 8114.0, [25.0, 35.0, 37.0], 15.0, 337_899.0),
    ] {
        let mut lab = measured(pages);
        lab.hosts[0].merging.use_zero_pages = zero_pages > 0.0;
        lab.hosts[0].merging.zero_share = zero_pages * PAGE / (16.0 * REPEATS * MIB);
        let model = HostModel::new(&lab, &lab.hosts[0]);
        let run = simulate(&model, &Schedule::rule(16, 16, 0.0), &Options::default());
        for (found, measured) in times(&run).into_iter().zip(times_s) {
            assert!(
                (found / measured - 1.0).abs() < 0.15,
                "{pages}: {found} s, measured {measured} s"
            );
        }
        let before = run
            .timeline
            .iter()
            .rfind(|moment| moment.t_s <= 0.95 * first_pass);
        assert!(
            before.is_some_and(|moment| moment.merged_bytes == 0.0),
            "nothing in the first pass"
        );
        let merged = run
            .timeline
            .last()
            .map_or(0.0, |moment| moment.merged_bytes)
            / PAGE;
        assert!((merged / plateau - 1.0).abs() < 0.01, "{merged}");
    }
}

#[test]
fn the_ladder_settles_where_and_when_it_did() {
    // Batches of four, two guests booting at a time. Measured for this project: guests, settled guest memory [MiB], time
    // from the last guest up to the plateau [s], time of the batch's boots [s].
    let steps = [
        (8, 592.2, 18.0, 108.0),
        (12, 838.2, 28.0, 130.0),
        (16, 1095.8, 40.0, 104.0),
    ];
    for (boots_s, at_a_time) in [(108.0, 2.0), (104.0, 1.0), (130.0, 2.0)] {
        let mut lab = measured(1000.0);
        lab.guests[0].boot_time = at_a_time * boots_s / (4.0 + at_a_time - 1.0);
        lab.guests[0].boot_cpu = 27.0;
        let model = HostModel::new(&lab, &lab.hosts[0]);
        let stagger = Stagger::Every(lab.guests[0].boot_time / at_a_time);
        let options = Options {
            stagger,
            ..Options::default()
        };
        let run = simulate(&model, &Schedule::steps(&[4, 8, 12, 16], 300.0), &options);
        let first = guest_memory(&run, run.batches[0].settled, 4.0);
        assert!(
            (first / 330.3 - 1.0).abs() < 0.03,
            "4 guests: {first} MiB, measured 330.3"
        );
        for (batch, (guests, settled, settle_s, _)) in run.batches.iter().skip(1).zip(steps) {
            let found = guest_memory(&run, batch.settled, f64::from(guests));
            assert!(
                (found / settled - 1.0).abs() < 0.03,
                "{guests}: {found} MiB, measured {settled}"
            );
            let found = batch.settle_s.unwrap_or(f64::NAN);
            assert!(
                (found / settle_s - 1.0).abs() < 0.25,
                "{guests}: {found} s, measured {settle_s} s"
            );
        }
    }
}

#[test]
fn a_busy_guest_grows_and_keeps_most_of_it() {
    // 16 merged idle guests, 2000 pages per 20 ms; one works for 45 s. Measured for this project: physical guest memory
    // grows by 350 MiB newly touched and 7 % of that in broken sharing, 91 % of 350 MiB stay, neighbours lose nothing.
    let mut lab = measured(2000.0);
    lab.guests[0].keeps = 0.91;
    let model = HostModel::new(&lab, &lab.hosts[0]);
    let spell = Spell {
        at_s: 200.0,
        profile: 0,
        guests: 1,
        lasts_s: 45.0,
    };
    let options = Options {
        spells: Spells::At(vec![spell]),
        ..Options::default()
    };
    let run = simulate(&model, &Schedule::rule(16, 16, 0.0), &options);
    let at = |t_s: f64| {
        let moment = run.timeline.iter().rfind(|moment| moment.t_s <= t_s);
        moment.map_or((0.0, 0.0), |moment| {
            (moment.used * run.visible / MIB, moment.merged_bytes / MIB)
        })
    };
    let (before, merged_before) = at(199.0);
    let (busy, merged_busy) = at(245.0);
    let (after, merged_after) = at(run.end_s);
    assert!(
        ((busy - before) / (350.0 * 1.07) - 1.0).abs() < 0.1,
        "grows by {}",
        busy - before
    );
    assert!(
        ((after - before) / (0.91 * 350.0) - 1.0).abs() < 0.1,
        "{} stay",
        after - before
    );
    let broken = merged_before - merged_busy;
    assert!(
        (broken / (0.07 * 350.0) - 1.0).abs() < 0.15,
        "{broken} MiB broken"
    );
    assert!(
        (merged_after / merged_before - 1.0).abs() < 0.01,
        "it merges again"
    );
    assert!(run.batches[0].settle_s.is_some());
}

#[test]
fn killing_a_merged_guest_returns_only_what_was_its_own() {
    // Measured for this project: 263–273 MiB announced, 149–164 returned, software emulation included.
    let mut lab = measured(1000.0);
    lab.guests[0].boot_time = 30.0;
    lab.guests[0].boot_cpu = 5.0;
    lab.hosts[0].memory.modules = vec![8192.0 * MIB];
    let model = HostModel::new(&lab, &lab.hosts[0]);
    let options = Options {
        stagger: Stagger::Every(0.0),
        ..Options::default()
    };
    let run = simulate(&model, &Schedule::rule(40, 4, 300.0), &options);
    let killed: Vec<(f64, f64)> = run
        .events
        .iter()
        .filter_map(|event| match event.kind {
            EventKind::Killed {
                announced,
                returned,
                ..
            } => Some((announced / MIB, returned / MIB)),
            _ => None,
        })
        .collect();
    assert!(!killed.is_empty());
    for (announced, returned) in killed {
        assert!((announced / 268.0 - 1.0).abs() < 0.1, "{announced}");
        assert!((returned / 157.0 - 1.0).abs() < 0.1, "{returned}");
    }
    let losing = run.batches.iter().find(|batch| batch.killed > 0);
    assert!(
        losing.is_some_and(|batch| batch.killed_most >= batch.killed && batch.killed_most <= 5)
    );
}

#[test]
fn a_day_after_the_boots_is_no_longer_a_record() {
    let lab = measured(1000.0);
    let model = HostModel::new(&lab, &lab.hosts[0]);
    let options = Options {
        watch: Watch::For(86_400.0),
        ..Options::default()
    };
    let run = simulate(&model, &Schedule::rule(16, 4, 60.0), &options);
    assert!(run.end_s >= 86_400.0);
    assert!(run.timeline.len() <= 2010, "{}", run.timeline.len());
}
