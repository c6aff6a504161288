//! Single mechanisms of a run.

use super::lab;
use berthage::lab::{Lab, Mode};
use berthage::model::footprint::Age;
use berthage::model::scanner::Scan;
use berthage::model::{GIB, MIB};
use berthage::rollout::{
    Change, Choice, Disks, EventKind, Goal, Options, Rollout, Rule, Schedule, Spells, Stagger,
    Stop, Watch, Why, load_line, plan, restart, simulate,
};
use berthage::sizing::host::HostModel;

use crate::support::{BATCH_KEYS, MOMENT_KEYS};

fn plain(memory: f64, mode: Mode) -> Lab {
    let mut merging = lab::merging(mode);
    merging.pages_per_wake = 1000.0;
    lab::lab(
        lab::host(memory, merging),
        vec![lab::guest("server", (0, Some(1.0)))],
    )
}

#[test]
fn booting_slows_when_the_processor_is_short() {
    let mut lab = plain(64.0 * GIB, Mode::Off);
    lab.guests[0].idle_load = 0.0;
    let model = HostModel::new(&lab, &lab.hosts[0]);
    let options = Options {
        stagger: Stagger::Every(0.0),
        disks: Disks::Ready,
        ..Options::default()
    };
    let up = |guests| {
        simulate(&model, &Schedule::rule(guests, guests, 0.0), &options)
            .up_s
            .unwrap_or(f64::NAN)
    };
    assert!((up(4) - 30.0).abs() < 0.1, "enough for everyone");
    // 100 boots of 15 core-seconds on 8 cores of 2 threads less the host's own: 10 − 0.2 cores.
    assert!((up(100) - 100.0 * 15.0 / 9.8).abs() < 0.5, "{}", up(100));
}

#[test]
fn booting_slows_when_the_disk_is_short() {
    let mut lab = plain(64.0 * GIB, Mode::Off);
    lab.guests[0].boot_cpu = 0.0;
    lab.guests[0].writes_idle = 0.0;
    lab.hosts[0].disks[0].read_iops = Some(1000.0);
    let model = HostModel::new(&lab, &lab.hosts[0]);
    let options = Options {
        stagger: Stagger::Every(0.0),
        disks: Disks::Ready,
        ..Options::default()
    };
    let run = simulate(&model, &Schedule::rule(60, 60, 0.0), &options);
    // 60 boots of 2,000 reads at 1,000 a second.
    assert!(
        (run.up_s.unwrap_or(f64::NAN) - 120.0).abs() < 0.5,
        "{:?}",
        run.up_s
    );
    assert!(
        run.timeline
            .iter()
            .filter(|moment| moment.t_s > 1.0 && moment.t_s < 119.0)
            .all(|m| m.disk_busy == 1.0)
    );
}

#[test]
fn swap_fills_before_anyone_is_killed() {
    let mut lab = plain(8.0 * GIB, Mode::Off);
    lab.hosts[0].memory.swap = 2.0 * GIB;
    let model = HostModel::new(&lab, &lab.hosts[0]);
    let run = simulate(&model, &Schedule::rule(60, 1, 60.0), &Options::default());
    let first = run
        .events
        .iter()
        .find(|event| matches!(event.kind, EventKind::Killed { .. }));
    let first = first.map_or(f64::NAN, |event| event.t_s);
    let before = run
        .timeline
        .iter()
        .rfind(|moment| moment.t_s < first)
        .map_or(0.0, |moment| moment.swap_used);
    assert!(before > 1.8 * GIB, "{before}");
    assert!(run.peak > 0.985, "memory is full");
    // Guests that memory and swap hold, the watermark kept back.
    let room = 0.99 * model.visible - 2.0 * GIB + 2.0 * GIB;
    let one = (60.0 + 160.0 * (1.0 + 16.0 / 4096.0)) * MIB;
    assert_eq!(run.guests[0], (room / one).floor() as u64);
}

#[test]
fn sampled_spells_make_a_host_lived_in() {
    let mut lab = plain(64.0 * GIB, Mode::Fixed);
    lab.guests[0].busy = 0.1.into();
    let model = HostModel::new(&lab, &lab.hosts[0]);
    let options = |seed| Options {
        spells: Spells::Sampled {
            seed,
            mean_s: 300.0,
            at_s: None,
        },
        watch: Watch::For(12.0 * 3600.0),
        ..Options::default()
    };
    let run = simulate(&model, &Schedule::rule(60, 10, 300.0), &options(1));
    assert_eq!(
        run,
        simulate(&model, &Schedule::rule(60, 10, 300.0), &options(1)),
        "a seed gives one run"
    );
    assert_ne!(
        run,
        simulate(&model, &Schedule::rule(60, 10, 300.0), &options(2))
    );
    let late: Vec<f64> = run
        .timeline
        .iter()
        .filter(|m| m.t_s > 8.0 * 3600.0)
        .map(|m| m.used)
        .collect();
    let mean = late.iter().sum::<f64>() / late.len() as f64;
    let lived_in = model.mean_used(&[60], Age::LivedIn, Scan::Steady) / model.visible;
    assert!((mean / lived_in - 1.0).abs() < 0.03, "{mean} {lived_in}");
}

#[test]
fn fixed_guests_start_first() {
    let mut lab = plain(64.0 * GIB, Mode::Off);
    lab.guests.push(lab::guest("must", (3, None)));
    let model = HostModel::new(&lab, &lab.hosts[0]);
    let run = simulate(&model, &Schedule::rule(4, 4, 0.0), &Options::default());
    assert_eq!(run.guests, [1, 3]);
}

#[test]
fn a_plan_says_how_far_and_why() {
    let lab = plain(16.0 * GIB, Mode::Off);
    let model = HostModel::new(&lab, &lab.hosts[0]);
    let far = lab::plan(&model, 80, None, &Options::default());
    assert!(far.reached > 40 && far.reached < 80);
    let shortfall = far
        .shortfall
        .expect("80 guests of 220 MiB do not fit into 16 GiB");
    assert!(matches!(shortfall.why, Why::Settled { .. }));
    assert!(
        shortfall
            .changes
            .iter()
            .any(|change| matches!(change, Change::Sharing(_))),
        "{shortfall:?}"
    );
    let near = lab::plan(&model, far.reached, None, &Options::default());
    assert!(near.shortfall.is_none() && near.rule.is_some());
    assert!(near.list.peak <= load_line(&model) + 1e-9);
    let none = lab::plan(&model, 10, Some(0.1), &Options::default());
    assert_eq!(
        (none.reached, none.shortfall.map(|shortfall| shortfall.why)),
        (0, Some(Why::NothingFits))
    );
}

#[test]
fn sharing_decides_how_a_host_comes_back() {
    let mut lab = plain(16.0 * GIB, Mode::Fixed);
    lab.hosts[0].merging.pages_per_wake = 500.0;
    let model = HostModel::new(&lab, &lab.hosts[0]);
    let few = restart(&model, 40);
    assert!(
        few.all_at_once && few.left_off == 0 && few.wait_s == 0.0,
        "{few:?}"
    );
    let many = restart(&model, 75);
    assert!(
        !many.all_at_once && many.left_off == 0 && many.batch > 0 && many.wait_s > 0.0,
        "{many:?}"
    );
    let batches = Schedule::rule(75, many.batch, many.wait_s);
    let options = Options {
        stagger: Stagger::Every(0.0),
        disks: Disks::Ready,
        ..Options::default()
    };
    let run = simulate(&model, &batches, &options);
    assert!(run.peak <= load_line(&model) && run.killed == 0);
    let over = restart(&model, 200);
    assert!(over.left_off > 0 && over.left_off < 200, "{over:?}");
    assert_eq!(restart(&model, 0).batch, 0);
}

#[test]
fn a_reader_s_own_batch_gets_its_wait() {
    let lab = plain(16.0 * GIB, Mode::Fixed);
    let model = HostModel::new(&lab, &lab.hosts[0]);
    let options = Options {
        stagger: Stagger::Every(0.0),
        ..Options::default()
    };
    let goal = Goal {
        target: 70,
        limit: load_line(&model),
        fresh: true,
        options: &options,
    };
    let choice = Choice {
        batch: Some(5),
        wait_s: None,
    };
    let five = plan(&model, goal, choice);
    let (rule, run) = five.rule.expect("five at a time work");
    assert!(rule.batch == 5 && rule.wait_s > 0.0);
    let schedule = Schedule::rule(70, 5, rule.wait_s / 2.0);
    let stop = Options {
        stop: Stop::Past(five.limit),
        ..options
    };
    assert!(
        simulate(&model, &schedule, &stop).peak >= run.peak - 1e-9,
        "half the wait is no better"
    );
}

#[test]
fn the_answer_has_the_keys_of_the_contract() {
    let lab = plain(16.0 * GIB, Mode::Fixed);
    let model = HostModel::new(&lab, &lab.hosts[0]);
    let run = simulate(&model, &Schedule::rule(20, 10, 300.0), &Options::default());
    let rule = Rule {
        batch: 10,
        wait_s: 300.0,
    };
    let goal = Goal {
        target: 20,
        limit: load_line(&model),
        fresh: true,
        options: &Options::default(),
    };
    let answer = Rollout::new(&model, goal, None, run, Some(rule), None);
    let json = serde_json::to_value(&answer).expect("a plain value");
    for key in [
        "report", "version", "host", "target", "reached", "safe", "total_s", "plan", "batches",
        "timeline",
    ] {
        assert!(json.get(key).is_some(), "{key}");
    }
    for key in BATCH_KEYS {
        assert!(json["batches"][1].get(key).is_some(), "{key}");
    }
    for key in MOMENT_KEYS {
        assert!(json["timeline"][0].get(key).is_some(), "{key}");
    }
    assert_eq!(
        (json["safe"].as_bool(), json["reached"].as_u64()),
        (Some(true), Some(20))
    );
}

#[test]
fn pages_touched_while_a_pass_runs_are_visited_in_it_or_in_the_next() {
    // A pass takes 17 s, and all guests start at once.
    let merged_after = |boot_time: f64| {
        let mut lab = plain(64.0 * GIB, Mode::Fixed);
        lab.guests[0].boot_time = boot_time;
        lab.guests[0].boot_cpu = 0.0;
        lab.guests[0].boot_reads = 0.0;
        let model = HostModel::new(&lab, &lab.hosts[0]);
        let options = Options {
            stagger: Stagger::Every(0.0),
            disks: Disks::Ready,
            ..Options::default()
        };
        let run = simulate(&model, &Schedule::rule(16, 16, 0.0), &options);
        let most = run.timeline.iter().map(|moment| moment.merged_bytes);
        let most = most.fold(0.0, f64::max);
        let mut moments = run.timeline.iter();
        let moment = moments.find(|moment| moment.merged_bytes >= 0.9 * most);
        moment.map_or(f64::INFINITY, |moment| moment.t_s)
    };
    let at_once = merged_after(0.0);
    for boot_time in [0.1, 1.0, 5.0] {
        let after = merged_after(boot_time);
        assert!(
            after <= at_once + boot_time + 1.0,
            "{boot_time}: {after}, {at_once}"
        );
    }
}
