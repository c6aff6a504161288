//! What an interval promises: the true count lies in it nine times of ten, and it shrinks as values are given.
//!
//! The "true" values of a lab are drawn here from the ranges of its guesses, by a generator of its own and the inverse of
//! the distribution itself. What they give counts as the truth; the program is told none, half or all of them.

use berthage::inventory::load_text;
use berthage::lab::draw::Redraw;
use berthage::lab::{Lab, Uncertain};
use berthage::model::pert::Pert;
use berthage::sizing::host::HostModel;
use berthage::sizing::lowest::{Hint, lowest};
use berthage::sizing::uncertainty::{Draws, each_draw, is_certain};

/// Numbers between 0 and 1: the 64-bit linear congruential generator of D. E. Knuth, *The Art of Computer Programming*,
/// volume 2, section 3.3.4 (MMIX), its upper bits.
struct Chance(u64);

impl Chance {
    fn next(&mut self) -> f64 {
        const TIMES: u64 = 6_364_136_223_846_793_005;
        const PLUS: u64 = 1_442_695_040_888_963_407;
        self.0 = self.0.wrapping_mul(TIMES).wrapping_add(PLUS);
        ((self.0 >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
    }

    fn below(&mut self, most: u64) -> u64 {
        (self.next() * most as f64) as u64
    }
}

/// A host that holds some hundred guests, so that a whole number more or less is little.
fn text(chance: &mut Chance) -> String {
    let modules = vec!["\"64 GiB\""; 4 + chance.below(8) as usize].join(", ");
    let cores = 24 + 8 * chance.below(8);
    let mode = ["off", "fixed"][chance.below(2) as usize];
    let [memory, vcpus] = [512 * (1 + chance.below(4)), 1 + chance.below(2)];
    format!(
        "[[host]]\nname = \"box\"\ncpu.groups = [{{ cores = {cores}, threads = 2 }}]\nmemory.modules = [{modules}]\n\
         merging.mode = \"{mode}\"\n[[guest]]\nname = \"web\"\nmemory = \"{memory} MiB\"\nvcpus = {vcpus}\n"
    )
}

fn lab(text: &str, sets: &[String]) -> Lab {
    load_text("lab.toml", text, sets).unwrap_or_else(|errors| panic!("{errors}"))
}

/// The lab with a true value for each guess.
fn truth(lab: &Lab, chance: &mut Chance) -> Lab {
    let guessed: Vec<&Uncertain> = lab.guessed.iter().collect();
    let drawn = guessed
        .iter()
        .map(|one| Pert::new(one.low, one.likely, one.high).quantile(chance.next()));
    let numbers: Vec<f64> = drawn.collect();
    let redraw = Redraw::new(lab, 0, &guessed);
    let mut truth = redraw.likely();
    redraw.put(&mut truth, &numbers);
    truth
}

fn held(lab: &Lab) -> u64 {
    let model = HostModel::new(lab, &lab.hosts[0]);
    lowest(&model, &Hint::plain(&model)).largest.number()
}

/// What an owner who has measured a value writes; a size stays one where the default is a share.
fn given(path: &str, truth: &Lab) -> String {
    let (host, guest) = (&truth.hosts[0], &truth.guests[0]);
    let size = |bytes: f64| format!("\"{bytes} B\"");
    let value = match path.rsplit('.').next().expect("a key") {
        "base" => size(host.memory.base),
        "firmware_reserved" => size(host.memory.firmware_reserved),
        "base_cores" => host.cpu.base_cores.to_string(),
        "smt_gain" => host.cpu.groups[0].smt_gain.to_string(),
        "correlation" => truth.policy.correlation.to_string(),
        "touched" => size(guest.touched),
        "touched_busy" => size(guest.touched_busy),
        "common" => size(guest.common),
        "repeats" => size(guest.repeats),
        "keeps" => guest.keeps.to_string(),
        "overhead" => size(guest.overhead),
        "busy_breaks" => guest.busy_breaks.to_string(),
        "rewrite_interval" => format!("\"{} s\"", guest.rewrite_interval),
        "busy" => guest.busy.in_period(0).to_string(),
        "idle_load" => guest.idle_load.to_string(),
        "busy_load" => guest.busy_load.to_string(),
        "disk_used" => size(guest.disk_used),
        "writes_idle" => guest.writes_idle.to_string(),
        "written" => format!("\"{} B/s\"", guest.written),
        other => panic!("a guess without a line here: {other}"),
    };
    format!("{path}={value}")
}

/// The counts of the draws in ascending order.
fn drawn(lab: &Lab, count: u64) -> Vec<u64> {
    let draws = Draws { count, seed: 1 };
    let count = |lab: &Lab, hint: &Hint| {
        let found = lowest(&HostModel::new(lab, &lab.hosts[0]), hint);
        found.largest.bound().unwrap_or(0)
    };
    let mut drawn = each_draw(lab, "box", draws, count).expect("the host is there, and draws");
    drawn.sort_unstable();
    drawn
}

/// Shares of true counts within the 90 % interval of a lab that is told nothing, and of one that is told half. Counts are
/// whole, so an end itself is half in.
fn coverage(labs: u64, truths: u64, draws: u64) -> [f64; 2] {
    let mut chance = Chance(13);
    let mut within = [0.0; 2];
    let is_in = |drawn: &[u64], held: u64| {
        let end = |share: f64| drawn[(share * draws as f64).ceil() as usize - 1];
        let (low, high) = (end(0.05), end(0.95));
        0.5 * (f64::from(low <= held && held <= high) + f64::from(low < held && held < high))
    };
    for _ in 0..labs {
        let text = text(&mut chance);
        let guessed = lab(&text, &[]);
        let by_guesses = drawn(&guessed, draws);
        for _ in 0..truths {
            let truth = truth(&guessed, &mut chance);
            let paths = guessed.guessed.iter().map(|one| &one.path);
            let half = paths.filter(|_| chance.next() < 0.5);
            let half: Vec<String> = half.map(|path| given(path, &truth)).collect();
            let held = held(&truth);
            within[0] += is_in(&by_guesses, held);
            within[1] += is_in(&drawn(&lab(&text, &half), draws), held);
        }
    }
    within.map(|within| within / (labs * truths) as f64)
}

/// With `BERTHAGE_COVERAGE` set 300 labs are tried, where chance alone moves the shares by 1.7 % (a standard deviation); they
/// came to 87.3 % and, half of the values given, 91.0 %. Else it is 300 truths of fewer labs and draws, whose ends are less
/// sure.
#[test]
fn the_true_count_lies_in_the_interval_nine_times_of_ten() {
    let (shares, off) = match std::env::var_os("BERTHAGE_COVERAGE") {
        Some(_) => (coverage(300, 1, 1_000), 0.03),
        None => (coverage(100, 3, 80), 0.04),
    };
    println!("{shares:?}");
    for share in shares {
        assert!((share - 0.9).abs() <= off, "{shares:?}");
    }
}

/// What is learned narrows the draws on average over what it may turn out to be (the law of total variance), not each
/// time: a value at the steep end of what it does can widen them. So the mean over labs is looked at.
#[test]
fn an_interval_shrinks_as_values_are_given() {
    const LABS: u64 = 24;
    let mut chance = Chance(7);
    let mut variances: Vec<f64> = Vec::new();
    for _ in 0..LABS {
        let text = text(&mut chance);
        let guessed = lab(&text, &[]);
        let truth = truth(&guessed, &mut chance);
        let mut sets: Vec<String> = Vec::new();
        for (place, one) in guessed.guessed.iter().enumerate() {
            let known = lab(&text, &sets);
            if variances.len() <= place {
                variances.push(0.0);
            }
            if !is_certain(&known, "box") {
                let drawn = drawn(&known, 100);
                let mean = drawn.iter().sum::<u64>() as f64 / drawn.len() as f64;
                let off = drawn.iter().map(|n| (*n as f64 / mean - 1.0).powi(2));
                variances[place] += off.sum::<f64>() / drawn.len() as f64;
            }
            sets.push(given(&one.path, &truth));
        }
        assert!(is_certain(&lab(&text, &sets), "box"), "{sets:?}");
    }
    let first = variances[0];
    for pair in variances.windows(2) {
        // A tenth of the first for what chance there is in so few labs.
        assert!(pair[1] <= pair[0] + 0.1 * first, "{variances:?}");
    }
    let middle = variances[variances.len() / 2];
    assert!(middle < 0.9 * first, "{variances:?}");
}
