//! Laws that a run keeps to, whatever the lab.

use super::arbitrary::any_lab;
use super::lab;
use crate::support::cases;
use berthage::lab::{Lab, Mode};
use berthage::model::footprint::Age;
use berthage::model::scanner::Scan;
use berthage::model::{GIB, MIB};
use berthage::rollout::{
    Change, Disks, End, Options, Run, Schedule, Stagger, Stop, Watch, load_line, restart, simulate,
};
use berthage::sizing::fit::fit_host;
use berthage::sizing::host::HostModel;
use berthage::sizing::memory::Activity;
use proptest::prelude::{ProptestConfig, prop, prop_assert, prop_assume, proptest};

/// A run to `n` scaling guests in batches of `batch` and its end as a share of the steady state's use.
fn end_over_steady(lab: &Lab, n: u64, options: &Options) -> f64 {
    let model = HostModel::new(lab, &lab.hosts[0]);
    let counts = model.composition.counts(n);
    let run = simulate(
        &model,
        &Schedule::rule(counts.iter().sum(), 10, 600.0),
        options,
    );
    assert_eq!(run.guests, counts, "all guests run");
    let steady = model
        .settled_used(&counts, Age::Fresh, Activity::Mean)
        .min(model.visible);
    run.batches.last().map_or(0.0, |batch| batch.settled) * model.visible / steady
}

/// Two images, a profile without sharing, a container and a pinned machine, fixed and scaling ones.
fn mixed(mode: Mode) -> Lab {
    use berthage::lab::Kind;
    let mut small = lab::guest("small", (0, Some(1.0)));
    small.common = 60.0 * MIB;
    small.touched = 120.0 * MIB;
    let mut desktop = lab::guest("desktop", (0, Some(0.5)));
    desktop.image = Some(1);
    desktop.memory = 2.0 * GIB;
    desktop.touched = 900.0 * MIB;
    desktop.touched_busy = 1900.0 * MIB;
    desktop.common = 300.0 * MIB;
    desktop.repeats = 200.0 * MIB;
    desktop.boot_time = 60.0;
    let mut alone = lab::guest("alone", (2, None));
    alone.merge = false;
    alone.image = None;
    let mut service = lab::guest("service", (0, Some(2.0)));
    service.kind = Kind::Container;
    service.merge = false;
    service.keeps = 0.0;
    service.busy_breaks = 0.0;
    service.boot_time = 2.0;
    let mut passed = lab::guest("passed", (1, None));
    passed.pinned = true;
    passed.touched = passed.memory;
    let mut merging = lab::merging(mode);
    merging.pages_per_wake = 1000.0;
    lab::lab(
        lab::host(64.0 * GIB, merging),
        vec![
            lab::guest("server", (0, Some(2.0))),
            small,
            desktop,
            alone,
            service,
            passed,
        ],
    )
}

fn close(ratio: f64, tolerance: f64) {
    assert!((ratio - 1.0).abs() <= tolerance, "{ratio}");
}

#[test]
fn without_a_scanner_the_end_is_the_plain_steady_state() {
    close(
        end_over_steady(&mixed(Mode::Off), 60, &Options::default()),
        1e-9,
    );
}

#[test]
fn with_a_scanner_memory_settles_at_the_steady_state() {
    for pages in [200.0, 1000.0, 4000.0] {
        for visits in [1.0, 2.0] {
            for rewrite in [1800.0, 6.0 * 3600.0] {
                let mut lab = mixed(Mode::Fixed);
                lab.hosts[0].merging.pages_per_wake = pages;
                lab.hosts[0].merging.visits = visits;
                lab.guests
                    .iter_mut()
                    .for_each(|guest| guest.rewrite_interval = rewrite);
                let ratio = end_over_steady(&lab, 60, &Options::default());
                close(ratio, 0.01);
            }
        }
    }
}

#[test]
fn more_guests_than_users_per_copy_keep_more_copies() {
    let mut lab = mixed(Mode::Fixed);
    lab.guests.truncate(1);
    lab.hosts[0].merging.users_per_copy = 16.0;
    close(end_over_steady(&lab, 100, &Options::default()), 0.01);
}

#[test]
fn the_advisor_settles_at_its_steady_state() {
    for target in [60.0, 200.0, 1000.0] {
        let mut lab = mixed(Mode::ScanTime);
        lab.hosts[0].merging.target_pass = target;
        close(end_over_steady(&lab, 60, &Options::default()), 0.01);
    }
}

#[test]
fn an_adaptive_scanner_settles_at_its_steady_state() {
    for (n, rewrite) in [
        (60, 6.0),
        (120, 6.0),
        (160, 6.0),
        (160, 1.0),
        (200, 6.0),
        (200, 1.0),
        (250, 6.0),
        (300, 2.0),
    ] {
        let mut lab = mixed(Mode::Adaptive);
        lab.guests
            .iter_mut()
            .for_each(|guest| guest.rewrite_interval = rewrite * 3600.0);
        close(end_over_steady(&lab, n, &Options::default()), 0.01);
    }
}

#[test]
fn a_smaller_batch_has_no_higher_peak() {
    // Three passes of the full host fit into every wait.
    let mut lab = mixed(Mode::Fixed);
    lab.guests.truncate(1);
    let model = HostModel::new(&lab, &lab.hosts[0]);
    for stagger in [Stagger::BootTime, Stagger::Every(5.0), Stagger::Every(0.0)] {
        let options = Options {
            stagger,
            ..Options::default()
        };
        let peaks: Vec<f64> = [1, 2, 4, 5, 10, 20, 40, 120]
            .iter()
            .map(|batch| simulate(&model, &Schedule::rule(120, *batch, 400.0), &options).peak)
            .collect();
        assert!(
            peaks.windows(2).all(|pair| pair[0] <= pair[1] + 0.005),
            "{peaks:?}"
        );
    }
}

fn check(run: &Run, model: &HostModel) {
    let mut last = -1.0;
    for moment in &run.timeline {
        assert!(moment.t_s >= last, "time goes on");
        last = moment.t_s;
        let numbers = [
            moment.used,
            moment.merged_bytes,
            moment.scan_pages_per_s,
            moment.swap_used,
            moment.disk_busy,
        ];
        assert!(
            numbers
                .iter()
                .all(|number| number.is_finite() && *number >= 0.0),
            "{moment:?}"
        );
        assert!(moment.used <= 1.0 && moment.disk_busy <= 1.0, "{moment:?}");
        let swap = model.host.memory.swap + model.host.memory.compressed_swap;
        assert!(moment.swap_used <= swap * (1.0 + 1e-9), "{moment:?}");
    }
    assert!(run.timeline.len() <= 2_100 + run.batches.len());
    let started: u64 = run.batches.iter().map(|batch| batch.started).sum();
    let killed: u64 = run.batches.iter().map(|batch| batch.killed).sum();
    assert_eq!(started - killed, run.guests.iter().sum::<u64>());
    for batch in &run.batches {
        assert!(batch.killed <= batch.killed_most, "{batch:?}");
        assert!(batch.peak >= batch.settled - 1e-12, "{batch:?}");
    }
}

/// Passes in the shortest rewrite interval, at least, for the formula to be held against a run: it counts a page as seen
/// half a pass after it was rewritten, on average, which is so only if few are rewritten within a pass.
const REWRITES: f64 = 2.0;

/// Mean use over the last so many seconds of a run: pages merge when the cursor comes by and are rewritten all the time,
/// so that one moment of a pass is above the mean and another below.
fn mean_of_last(run: &Run, seconds: f64) -> f64 {
    let end = run.timeline.last().map_or(0.0, |moment| moment.t_s);
    let begin = (end - seconds).max(0.0);
    let (mut time, mut sum) = (0.0, 0.0);
    for pair in run.timeline.windows(2) {
        let (from, to) = (pair[0].t_s.max(begin), pair[1].t_s);
        if to > from {
            time += to - from;
            sum += (to - from) * (pair[0].used + pair[1].used) / 2.0;
        }
    }
    if time > 0.0 {
        sum / time
    } else {
        run.timeline.last().map_or(0.0, |moment| moment.used)
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn any_lab_runs_to_an_end(lab in any_lab(), guests in 0u64..60, batch in 1u64..30, wait in 0.0f64..2000.0) {
        let model = HostModel::new(&lab, &lab.hosts[0]);
        let options = Options { watch: Watch::UntilSettled { at_most_s: 3600.0 }, ..Options::default() };
        let run = simulate(&model, &Schedule::rule(guests, batch, wait), &options);
        check(&run, &model);
        let again = simulate(&model, &Schedule::rule(guests, batch, wait), &options);
        prop_assert!(run == again);
    }

    #[test]
    fn no_guest_is_lost_below_the_load_line(lab in any_lab(), guests in 0u64..60, batch in 1u64..30) {
        let model = HostModel::new(&lab, &lab.hosts[0]);
        let run = simulate(&model, &Schedule::rule(guests, batch, 300.0), &Options::default());
        prop_assume!(lab.policy.memory_keep_free >= 0.01);
        if run.peak <= load_line(&model) {
            prop_assert!(run.killed == 0);
        }
    }

    #[test]
    fn a_fixed_scanner_reaches_the_steady_state(lab in any_lab(), n in 0u64..40) {
        let mut lab = lab;
        if lab.hosts[0].merging.mode == Mode::Adaptive {
            lab.hosts[0].merging.mode = Mode::Fixed;
        }
        let model = HostModel::new(&lab, &lab.hosts[0]);
        let counts = model.composition.counts(n);
        let sharing = model.sharing(&counts, Age::Fresh, Scan::Steady);
        let shortest = lab.guests.iter().map(|guest| guest.rewrite_interval).fold(f64::INFINITY, f64::min);
        prop_assume!(sharing.pass.is_none_or(|pass| pass < shortest / REWRITES));
        let run = simulate(&model, &Schedule::rule(counts.iter().sum(), 10, 60.0), &Options::default());
        prop_assume!(run.peak < 0.98);
        let memory = &lab.hosts[0].memory;
        let guests = model.memory(&counts, Age::Fresh, &sharing).always();
        let steady = (memory.base + memory.file_cache + guests) / model.visible;
        let end = mean_of_last(&run, sharing.pass.unwrap_or(0.0));
        // Not divided: a host without base and guests uses nothing.
        prop_assert!((end - steady).abs() <= 0.01 * steady, "{end} {steady} pass {:?}", sharing.pass);
    }
}

// A plan is many runs, and so is a comparison of batches.
proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    #[test]
    fn a_smaller_batch_never_has_a_higher_peak(lab in any_lab(), target in prop::sample::select(vec![12u64, 24, 36])) {
        let mut lab = lab;
        lab.hosts[0].merging.mode = Mode::Fixed;
        // Of unlike guests, two large ones that a batch of three parts may start together in one of two.
        lab.guests.truncate(1);
        (lab.guests[0].count, lab.guests[0].share) = (0, Some(1.0));
        // Where guests come up as far apart as a pass takes, the early ones of a large batch merge before the late ones.
        lab.guests[0].boot_time = 0.0;
        lab.guests[0].boot_cpu = 0.0;
        let model = HostModel::new(&lab, &lab.hosts[0]);
        let sharing = model.sharing(&model.composition.counts(target), Age::Fresh, Scan::Steady);
        // A pass that visits all pages: the steady state's skips those that never merge eight times of nine.
        let pass = 9.0 * sharing.pass.unwrap_or(0.0);
        let shortest = lab.guests.iter().map(|guest| guest.rewrite_interval).fold(f64::INFINITY, f64::min);
        prop_assume!(pass < shortest);
        let wait = 3.0 * pass;
        let options = Options {
            stagger: Stagger::Every(0.0),
            disks: Disks::Ready,
            watch: Watch::For(wait),
            ..Options::default()
        };
        let runs = [1, 2, 3, 4, 6, 12].map(|part| simulate(&model, &Schedule::rule(target, target / part, wait), &options));
        for pair in runs.windows(2) {
            // Larger batch, smaller batch; a full host peaks at the same in both.
            let [larger, smaller] = [0, 1].map(|index| pair[index].peak.min(0.99));
            prop_assert!(smaller <= larger + 0.005, "{larger} {smaller}");
        }
    }

    #[test]
    fn a_plan_keeps_its_limit(lab in any_lab(), n in 1u64..60) {
        let model = HostModel::new(&lab, &lab.hosts[0]);
        let plan = lab::plan(&model, n, None, &Options::default());
        prop_assert!(plan.reached <= n);
        prop_assert!((plan.reached == n && plan.shortfall.is_none()) || plan.shortfall.is_some());
        for run in plan.rule.iter().map(|(_, run)| run) {
            prop_assert!(run.killed == 0 && run.peak <= plan.limit + 1e-6, "{} {}", run.peak, plan.limit);
        }
        let back = restart(&model, n);
        prop_assert!(back.left_off <= model.composition.counts(n).iter().sum());
        prop_assert!(back.total_s.is_finite());
    }
    #[test]
    fn a_higher_target_never_reaches_fewer(lab in any_lab(), n in 1u64..60, more in 1u64..60) {
        let model = HostModel::new(&lab, &lab.hosts[0]);
        let reached = |n| lab::plan(&model, n, None, &Options::default()).reached;
        prop_assert!(reached(n) <= reached(n + more));
    }

    #[test]
    fn what_would_change_it_does(lab in any_lab(), n in 1u64..60) {
        let model = HostModel::new(&lab, &lab.hosts[0]);
        let limit = load_line(&model);
        let options = Options::default();
        let Some(shortfall) = lab::plan(&model, n, Some(limit), &options).shortfall else { return Ok(()) };
        for change in &shortfall.changes {
            let (mut host, mut limit) = (lab.hosts[0].clone(), limit);
            match *change {
                Change::Memory(bytes) => host.memory.modules.push(bytes),
                Change::Limit(higher) => limit = higher,
                Change::Sharing(pages) => {
                    host.merging.mode = Mode::Fixed;
                    host.merging.pages_per_wake = pages;
                }
            }
            let changed = lab::plan(&HostModel::new(&lab, &host), n, Some(limit), &options);
            prop_assert!(changed.reached == n, "{change:?}: {}", changed.reached);
        }
    }
}

/// A grid of rules.
const BATCHES: [u64; 7] = [1, 2, 4, 8, 16, 32, 64];
const WAITS: [f64; 7] = [0.0, 10.0, 60.0, 300.0, 1200.0, 3600.0, 7200.0];

// PROPTEST_CASES=500 tries 500 hosts.
proptest! {
    #![proptest_config(cases(6))]

    #[test]
    fn no_rule_of_a_grid_reaches_more_than_the_plan(lab in any_lab()) {
        let model = HostModel::new(&lab, &lab.hosts[0]);
        let limit = load_line(&model);
        let options = Options { stop: Stop::Past(limit), ..Options::default() };
        let reached = lab::plan(&model, 60, Some(limit), &Options::default()).reached;
        prop_assume!(reached < 60);
        let more: u64 = model.composition.counts(reached + 1).iter().sum();
        for (batch, wait) in BATCHES.iter().flat_map(|batch| WAITS.map(|wait| (*batch, wait))) {
            let run = simulate(&model, &Schedule::rule(more, batch, wait), &options);
            let safe = run.end == End::Complete && run.safe(limit);
            prop_assert!(!safe, "{batch} every {wait} s reach {}, the plan {reached}", reached + 1);
        }
    }
}

proptest! {
    #![proptest_config(cases(4))]

    /// 500 hosts: `PROPTEST_CASES=500 cargo test --release planner`.
    #[test]
    fn the_planner_reaches_what_any_rule_of_a_grid_reaches(lab in any_lab()) {
        let model = HostModel::new(&lab, &lab.hosts[0]);
        let fits = fit_host(&lab, &lab.hosts[0]).fits;
        prop_assume!(fits.is_some_and(|n| (1..60).contains(&n)));
        let options = Options::default();
        let (limit, target) = (load_line(&model), 2 * fits.unwrap_or(1));
        let plan = lab::plan(&model, target, None, &options);
        prop_assume!(!plan.stopped);
        let more: u64 = model.composition.counts(plan.reached + 1).iter().sum();
        let grid = [1, 2, 4, 8, 16, 32, 64].into_iter().flat_map(|batch| {
            [0.0, 60.0, 300.0, 1200.0, 3600.0, 7200.0].map(|wait_s| (batch, wait_s))
        });
        for (batch, wait_s) in grid.filter(|_| plan.reached < target) {
            let stop = Options { stop: Stop::Past(limit), ..options.clone() };
            let run = simulate(&model, &Schedule::rule(more, batch, wait_s), &stop);
            let complete = run.end == End::Complete && run.running() == more && run.safe(limit);
            prop_assert!(!complete, "{batch} every {wait_s} s reaches {more}: {:?}", plan.reached);
        }
    }
}

/// So many guests at once that rewrite what merged, on a host with 24 GiB and as much swap as they need; all invented.
fn rewriting(
    guests: u64,
    pages_per_wake: f64,
    smart_scan: bool,
    rewrite_s: f64,
    watch: Watch,
) -> Run {
    let mut web = lab::guest("web", (0, Some(1.0)));
    web.memory = 2.0 * GIB;
    web.touched = GIB;
    web.touched_busy = GIB;
    web.common = 500.0 * MIB;
    web.repeats = 100.0 * MIB;
    web.rewrite_interval = rewrite_s;
    let mut merging = lab::merging(Mode::Fixed);
    merging.smart_scan = smart_scan;
    merging.pages_per_wake = pages_per_wake;
    let mut lab = lab::lab(lab::host(24.0 * GIB, merging), vec![web]);
    lab.hosts[0].memory.swap = 16.0 * GIB;
    let model = HostModel::new(&lab, &lab.hosts[0]);
    let options = Options {
        watch,
        ..Options::default()
    };
    simulate(&model, &Schedule::rule(guests, guests, 0.0), &options)
}

/// What merging frees is filled again from swap for hours after the scanner has nothing left to do.
#[test]
fn a_run_has_not_settled_while_swap_drains() {
    let mut drained = 0;
    for smart_scan in [false, true] {
        for rewrite in [2.0, 8.0] {
            let run = rewriting(
                36,
                1000.0,
                smart_scan,
                rewrite * 3600.0,
                Options::default().watch,
            );
            let batch = &run.batches[0];
            assert!(batch.settle_s.is_some());
            let end = run.timeline.last().expect("an end");
            // What is in swap and finds room stays under half a per cent of what the guests hold.
            let room = (0.99 - end.used) * run.visible;
            assert!(end.swap_used.min(room) < 0.006 * run.visible, "{end:?}");
            let most = run.timeline.iter().map(|moment| moment.swap_used);
            drained += u32::from(most.fold(0.0, f64::max) > 0.05 * run.visible && room > 0.0);
        }
    }
    assert!(drained > 0);
}

/// Memory that goes up and down with the passes, with smart scan over many of them: what is said of it does not depend on
/// the moment at which one looks.
#[test]
fn where_memory_goes_up_and_down_its_mean_over_a_cycle_is_said() {
    for (pages, smart_scan, rewrite_s) in [(300.0, true, 60.0), (300.0, false, 60.0)] {
        let (mut said, mut samples) = (Vec::new(), Vec::new());
        for minutes in [600.0, 607.0, 615.0, 622.0, 640.0] {
            let watch = Watch::For(60.0 * minutes);
            let run = rewriting(20, pages, smart_scan, rewrite_s, watch);
            let batch = &run.batches[0];
            assert_eq!(batch.settle_s, None);
            said.push(batch.settled);
            samples.push(run.timeline.last().expect("an end").used);
        }
        let spread = |all: &[f64]| {
            let most = all.iter().copied().fold(0.0, f64::max);
            most - all.iter().copied().fold(1.0, f64::min)
        };
        assert!(spread(&samples) > 0.004, "{samples:?}");
        assert!(
            spread(&said) < spread(&samples) / 3.0,
            "{said:?} {samples:?}"
        );
    }
}
