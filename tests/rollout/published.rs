//! Values printed by others.

use super::lab;
use berthage::lab::{Lab, Merging, Mode};
use berthage::model::scanner::speed;
use berthage::model::{GIB, MIB, PAGE};
use berthage::rollout::{EventKind, Options, Run, Schedule, Stagger, Watch, simulate};
use berthage::sizing::host::HostModel;

fn one_profile(memory: f64, merging: Merging, touched: f64, common: f64, repeats: f64) -> Lab {
    let mut guest = lab::guest("server", (0, Some(1.0)));
    guest.memory = 2.0 * touched;
    (guest.touched, guest.touched_busy) = (touched, touched);
    (guest.common, guest.repeats) = (common, repeats);
    guest.boot_time = 0.0;
    lab::lab(lab::host(memory, merging), vec![guest])
}

fn at_once(lab: &Lab, guests: u64) -> Run {
    simulate(
        &HostModel::new(lab, &lab.hosts[0]),
        &Schedule::rule(guests, guests, 0.0),
        &Options::default(),
    )
}

fn merged_at_end(run: &Run) -> f64 {
    run.timeline
        .last()
        .map_or(0.0, |moment| moment.merged_bytes)
}

#[test]
fn a_first_pass_over_16_gib_takes_at_least_838_9_s() {
    // Kernel admin guide, mm/ksm: defaults of 100 pages every 20 ms scan at most 5,000 pages/s. A tick for the work makes
    // it 24 ms, and the first to save anything is the second guest of the second pass.
    let lab = one_profile(
        64.0 * GIB,
        lab::merging(Mode::Fixed),
        2.0 * GIB,
        1.0 * GIB,
        0.0,
    );
    let run = at_once(&lab, 8);
    let first = run
        .timeline
        .iter()
        .find(|moment| moment.merged_bytes > 0.0)
        .map_or(0.0, |moment| moment.t_s);
    assert!((838.9..1.4 * 838.9).contains(&first), "{first}");
}

#[test]
fn copies_are_kept_for_every_256_users() {
    // Linux mm/ksm.c: 257 clones keep 2 copies of each common page.
    let merging = Merging {
        pages_per_wake: 5000.0,
        ..lab::merging(Mode::Fixed)
    };
    let lab = one_profile(64.0 * GIB, merging, 60.0 * MIB, 40.0 * MIB, 0.0);
    let saved = merged_at_end(&at_once(&lab, 257)) / (40.0 * MIB);
    assert!((saved - 255.0).abs() < 1.0, "{saved}");
}

#[test]
fn equal_pages_keep_a_64th() {
    // Read off a 6.18 kernel for this project: 16,384 identical pages keep 64 copies and save 16,320.
    let size = 16_384.0 * PAGE;
    let lab = one_profile(
        64.0 * GIB,
        Merging {
            pages_per_wake: 1000.0,
            ..lab::merging(Mode::Fixed)
        },
        size,
        0.0,
        size,
    );
    let saved = merged_at_end(&at_once(&lab, 1)) / PAGE;
    assert!((saved - 16_320.0).abs() < 1.0, "{saved}");
}

#[test]
fn older_kernels_merge_at_the_first_visit_once_a_copy_exists() {
    // Linux mm/ksm.c, two ages: 16 guests merged, 16 more start. Newer kernels merge them a pass later.
    let first_merge = |visits: f64| {
        let merging = Merging {
            pages_per_wake: 1000.0,
            visits,
            ..lab::merging(Mode::Fixed)
        };
        let lab = one_profile(64.0 * GIB, merging, 160.0 * MIB, 80.0 * MIB, 0.0);
        let model = HostModel::new(&lab, &lab.hosts[0]);
        let run = simulate(&model, &Schedule::rule(32, 16, 400.0), &Options::default());
        let before = run
            .timeline
            .iter()
            .rfind(|moment| moment.t_s < 400.0)
            .map_or(0.0, |moment| moment.merged_bytes);
        let more = run
            .timeline
            .iter()
            .find(|moment| moment.t_s > 400.0 && moment.merged_bytes > 1.01 * before);
        more.map_or(f64::NAN, |moment| moment.t_s - 400.0)
    };
    let (old, new) = (first_merge(1.0), first_merge(2.0));
    // One pass over 16 merged guests, then over the 16 new ones.
    assert!(new - old > 10.0 && old < 30.0, "{old} {new}");
}

#[test]
fn the_adaptive_ramp_is_that_of_the_daemon() {
    // Default configuration of the public tuning daemon: from rest 300, 600, 900, 1200, 1250 pages, one decision a minute.
    let merging = lab::merging(Mode::Adaptive);
    let lab = one_profile(16.0 * GIB, merging, 1.2 * GIB, 0.0, 0.0);
    let model = HostModel::new(&lab, &lab.hosts[0]);
    let run = simulate(
        &model,
        &Schedule::rule(10, 10, 0.0),
        &Options {
            watch: Watch::For(400.0),
            ..Options::default()
        },
    );
    assert!(run.peak > 0.8);
    for (minute, pages) in [
        (1.0, 300.0),
        (2.0, 600.0),
        (3.0, 900.0),
        (4.0, 1200.0),
        (5.0, 1250.0),
    ] {
        let moment = run
            .timeline
            .iter()
            .rfind(|moment| moment.t_s < 60.0 * minute + 40.0);
        let found = moment.map_or(0.0, |moment| moment.scan_pages_per_s);
        let sleep = 0.010 * 16.0 * GIB / model.visible;
        // 1.4 µs a page at the first visit, 10 µs at the second, 5.3 µs later.
        let (slow, fast) = (
            speed(pages, sleep, 0.004, 10e-6),
            speed(pages, sleep, 0.004, 1.4e-6),
        );
        assert!(
            found >= slow * 0.999 && found <= fast * 1.001,
            "{minute} min: {found}, {slow}–{fast}"
        );
    }
}

#[test]
fn an_adaptive_scanner_rests_while_everything_fits() {
    // Default configuration of the public tuning daemon: 16 GiB, 12.0 GiB resident and 3.5 free rests, 13.0 works.
    for (resident, works) in [(12.0, false), (13.0, true)] {
        let mut lab = one_profile(
            16.0 * GIB,
            lab::merging(Mode::Adaptive),
            resident / 10.0 * GIB,
            0.0,
            0.0,
        );
        lab.guests[0].overhead = 0.0;
        lab.hosts[0].memory.base = 0.2 * GIB;
        let run = at_once(&lab, 10);
        assert_eq!(
            run.events
                .iter()
                .any(|event| event.kind == EventKind::ScannerStarted),
            works,
            "{resident}"
        );
    }
}

#[test]
fn the_largest_guest_is_killed_first() {
    // Linux mm/oom_kill.c: guests of 4, 8 and 2 GiB resident.
    let guests = [4.0, 8.0, 2.0].iter().enumerate().map(|(index, size)| {
        let mut guest = lab::guest(["a", "b", "c"][index], (1, None));
        (guest.memory, guest.touched, guest.touched_busy) = (16.0 * GIB, size * GIB, size * GIB);
        guest
    });
    let lab = lab::lab(
        lab::host(15.0 * GIB, lab::merging(Mode::Off)),
        guests.collect(),
    );
    let model = HostModel::new(&lab, &lab.hosts[0]);
    let options = Options {
        stagger: Stagger::Every(60.0),
        ..Options::default()
    };
    let run = simulate(&model, &Schedule::rule(3, 3, 0.0), &options);
    assert_eq!(
        (run.killed, run.guests.as_slice()),
        (1, [1, 0, 1].as_slice())
    );
}
