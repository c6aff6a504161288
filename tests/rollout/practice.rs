//! One real host as its owner reports it. Common practice, no source.

use super::lab;
use berthage::lab::{Lab, Mode};
use berthage::model::{GIB, MIB};
use berthage::rollout::{BatchRun, Options, Run, Schedule, Stagger, Watch, simulate};
use berthage::sizing::host::HostModel;

/// Counts that the batches bring the host to; what happened past 250 is not reported.
const COUNTS: [u64; 17] = [
    50, 80, 100, 115, 125, 140, 150, 180, 200, 210, 220, 230, 240, 250, 260, 270, 280,
];
/// Time between batches and between the starts of two guests `[s]`: not reported, one choice for the whole run.
const WAIT: f64 = 3600.0;
const STAGGER: f64 = 10.0;

/// 96 GiB in two modules, 8 cores of 2 threads, one disk of 2 TB, 8 GiB of swap, an adaptive scanner on a kernel from
/// before 6.11; idle clones of one server image with 2 GiB and 2 virtual processors.
///
/// The guest is one profile found from the step at 200 → 210, the settled value at 200 and the reading at 125; that takes
/// pages that are rewritten every 45 minutes. Near the cliff a few MiB more or less move a loss from one batch to the next:
/// of 54 profiles tried around it (touched, overhead, rewriting) this one has its losses per batch in the range reported too.
fn host() -> Lab {
    let mut merging = lab::merging(Mode::Adaptive);
    merging.visits = 1.0;
    let mut host = lab::host(96.0 * GIB, merging);
    host.memory.modules = vec![48.0 * GIB; 2];
    host.memory.firmware_reserved = 0.5 * GIB;
    host.memory.swap = 8.0 * GIB;
    let mut guest = lab::guest("server", (0, Some(1.0)));
    guest.vcpus = 2;
    guest.memory = 2.0 * GIB;
    guest.touched = (270.0 + 380.0 + 60.0) * MIB;
    guest.touched_busy = 1.94 * GIB;
    guest.common = 380.0 * MIB;
    guest.repeats = 60.0 * MIB;
    guest.overhead = 72.0 * MIB;
    guest.rewrite_interval = 2700.0;
    lab::lab(host, vec![guest])
}

fn run(lab: &Lab) -> Run {
    let model = HostModel::new(lab, &lab.hosts[0]);
    let options = Options {
        stagger: Stagger::Every(STAGGER),
        watch: Watch::For(WAIT),
        ..Options::default()
    };
    simulate(&model, &Schedule::steps(&COUNTS, WAIT), &options)
}

fn at(run: &Run, count: u64) -> &BatchRun {
    let index = COUNTS
        .iter()
        .position(|one| *one == count)
        .expect("a count of the run");
    &run.batches[index]
}

#[test]
fn an_owner_s_run_to_250_clones() {
    // Common practice, no source.
    let run = run(&host());
    let within = |what: &str, value: f64, low: f64, high: f64| {
        assert!(
            (low..=high).contains(&value),
            "{what}: {value} not in {low}..{high}"
        );
    };
    within("saving begins at 80 %", at(&run, 80).settled, 0.6, 0.8);
    assert!(
        at(&run, 125).settled <= 0.78 && at(&run, 125).peak >= 0.78,
        "{:?}",
        at(&run, 125)
    );
    within("settled at 200", at(&run, 200).settled, 0.76, 0.84);
    within("peak at 200", at(&run, 200).peak, 0.86, 0.98);
    within(
        "step to 210",
        at(&run, 210).peak - at(&run, 200).settled,
        0.07,
        0.11,
    );
    within("full at 250", at(&run, 250).peak, 0.98, 1.0);
    let lossy: Vec<(u64, u64)> = COUNTS
        .iter()
        .zip(&run.batches)
        .filter(|(_, batch)| batch.killed > 0)
        .map(|(count, batch)| (*count, batch.killed))
        .collect();
    within("first loss", lossy[0].0 as f64, 235.0, 270.0);
    // About five a batch are reported, two to ten; a host that stays full loses as many as are started.
    assert!(lossy.len() >= 3, "{lossy:?}");
    for (count, lost) in lossy {
        within(
            &format!("lost on the way to {count}"),
            lost as f64,
            2.0,
            10.0,
        );
    }
}

#[test]
fn cloning_ten_keeps_the_disk_busy() {
    // Common practice, no source: the disk is nearly 100 % busy while ten are cloned.
    use berthage::lab::CloneKind;
    let mut lab = host();
    lab.guests[0].clone = CloneKind::Copy;
    let model = HostModel::new(&lab, &lab.hosts[0]);
    let run = simulate(&model, &Schedule::rule(10, 10, 0.0), &Options::default());
    // 10 images of 2 GB and 4 GiB used, at 1 GB/s.
    let clone_s = run.batches[0].clone_s.unwrap_or(0.0);
    assert!((clone_s - 62.95).abs() < 0.01, "{clone_s}");
    let cloning = run
        .timeline
        .iter()
        .filter(|moment| moment.t_s > 0.0 && moment.t_s < clone_s);
    assert!(cloning.clone().count() > 1);
    assert!(
        cloning
            .into_iter()
            .all(|moment| moment.disk_busy == 1.0 && moment.guests == 0)
    );
}
