//! Simulated truth: hosts whose numbers are known, read with 2 % noise. The stated intervals must hold the truth about as
//! often as they say.

use berthage::calibrate::estimate::{Estimate, estimate};
use berthage::calibrate::fit::{CONFIDENCE, Interval};
use berthage::calibrate::memory::Unknown;
use berthage::calibrate::predict::predict;
use berthage::calibrate::question::{Question, counts};
use berthage::calibrate::readings::{Reading, read};
use berthage::lab::Lab;
use berthage::model::footprint::{Age, TABLES_MACHINE};
use berthage::model::scanner::Scan;
use berthage::model::{GIB, MIB};
use berthage::sizing::host::HostModel;

use crate::support::lab;

/// Numbers that look random and are the same on every machine (SplitMix64; Steele, Lea & Flood, OOPSLA 2014).
pub struct Dice(pub u64);

impl Dice {
    pub fn share(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((mixed ^ (mixed >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.share()
    }

    /// Standard normal (Box & Muller 1958).
    pub fn normal(&mut self) -> f64 {
        let (radius, turn) = (self.share().max(1e-300), self.share());
        (-2.0 * radius.ln()).sqrt() * (2.0 * std::f64::consts::PI * turn).cos()
    }
}

const NOISE: f64 = 0.02;

/// A made-up lab, what is true of it, and what its owner believes.
struct Truth {
    lab: Lab,
    believed: Lab,
    age: Age,
    base: f64,
}

fn truth(dice: &mut Dice, lived: Age) -> Truth {
    let touched = dice.between(350.0, 700.0);
    let common = touched * dice.between(0.15, 0.45);
    let repeats = touched * dice.between(0.02, 0.15);
    let base = dice.between(1.0, 6.0);
    let text = |touched: f64, common: f64, repeats: f64, base: f64| {
        format!(
            "[[host]]\nname = \"made-up\"\ncpu.groups = [{{ cores = 16 }}]\n\
             memory = {{ modules = [\"128 GiB\"], base = \"{base} GiB\" }}\n\
             merging = {{ mode = \"fixed\", pages_per_wake = 4000 }}\n\
             [[guest]]\nname = \"clone\"\nmemory = \"2 GiB\"\ntouched = \"{touched} MiB\"\n\
             common = \"{common} MiB\"\nrepeats = \"{repeats} MiB\"\n"
        )
    };
    // The owner knows only in what proportion common and repeated pages stand.
    let believed = text(400.0, 100.0, 100.0 * repeats / common, 2.0);
    Truth {
        lab: lab(&text(touched, common, repeats, base)),
        believed: lab(&believed),
        age: lived,
        base: base * GIB,
    }
}

/// Settled readings at several counts, and two steps of fresh guests.
fn readings(truth: &Truth, dice: &mut Dice) -> Vec<Reading> {
    let model = HostModel::new(&truth.lab, &truth.lab.hosts[0]);
    let age = truth.age;
    let guest = &truth.lab.guests[0];
    let settled = |n: u64| {
        let counts = counts(&truth.lab, 0, n);
        truth.base
            + model
                .memory(&counts, age, &model.sharing(&counts, age, Scan::Steady))
                .always()
    };
    let step = guest.overhead + guest.touched * (1.0 + TABLES_MACHINE);
    let rows = [
        (5, 0, "yes"),
        (10, 0, "yes"),
        (10, 15, "no"),
        (25, 0, "yes"),
        (25, 20, "no"),
        (45, 0, "yes"),
        (55, 0, "yes"),
    ];
    let mut text = "guests,memory_used,settled\n".to_owned();
    for (n, started, state) in rows {
        let used = (settled(n) + started as f64 * step) * (1.0 + NOISE * dice.normal());
        text.push_str(&format!("{},{used:.0},{state}\n", n + started));
    }
    read("made-up.csv", &text, model.visible)
        .unwrap_or_else(|errors| panic!("{errors}"))
        .list
}

fn question<'a>(truth: &'a Truth, readings: &'a [Reading]) -> Question<'a> {
    Question {
        lab: &truth.believed,
        host: 0,
        guest: 0,
        age: truth.age,
        readings,
        held_out: 0,
    }
}

/// The four numbers and their true values.
fn checked(truth: &Truth, found: &Estimate) -> [(Interval, f64); 4] {
    let guest = &truth.lab.guests[0];
    let model = HostModel::new(&truth.lab, &truth.lab.hosts[0]);
    let age = truth.age;
    let footprint = model.footprints(age)[0];
    let slope = footprint.overhead
        + footprint.unique
        + footprint.meta(berthage::model::footprint::Tracking::On);
    [
        (found.interval(&Unknown::Slope.affine()), slope),
        (
            found.interval(
                &Unknown::Shared
                    .affine()
                    .scaled(found.fit.model.common_share),
            ),
            guest.common,
        ),
        (found.interval(&found.fit.model.fresh()), guest.touched),
        (found.interval(&Unknown::Base.affine()), truth.base),
    ]
}

#[test]
fn stated_intervals_hold_the_truth_as_often_as_they_say() {
    let mut dice = Dice(20_251_125);
    for lived in [Age::Fresh, Age::LivedIn] {
        let (mut held, mut refused) = ([0; 4], 0);
        let labs = 200;
        for _ in 0..labs {
            let truth = truth(&mut dice, lived);
            let readings = readings(&truth, &mut dice);
            match estimate(&question(&truth, &readings)) {
                Ok(found) => {
                    for (count, (interval, truth)) in held.iter_mut().zip(checked(&truth, &found)) {
                        *count += usize::from((interval.low..=interval.high).contains(&truth));
                    }
                }
                // A refusal of sound readings holds no truth.
                Err(_) => refused += 1,
            }
        }
        println!("{lived:?}: held {held:?} of {labs}, refused {refused}");
        assert_eq!(CONFIDENCE, 0.9);
        for (name, count) in ["unique", "common", "touched", "base"].iter().zip(held) {
            let share = f64::from(u32::try_from(count).unwrap()) / f64::from(labs);
            assert!((0.85..=0.95).contains(&share), "{lived:?} {name}: {share}");
        }
        assert!(refused <= labs / 20, "{refused}");
    }
}

/// Settled memory of one reading of `n` guests, exact.
fn settled(truth: &Truth, n: u64) -> f64 {
    let model = HostModel::new(&truth.lab, &truth.lab.hosts[0]);
    let age = truth.age;
    let counts = counts(&truth.lab, 0, n);
    let sharing = model.sharing(&counts, age, Scan::Steady);
    truth.base + model.memory(&counts, age, &sharing).always()
}

/// A host whose own memory is drawn from the range that its owner gives, and one settled reading of it, off by 1 %.
///
/// How often the interval of what one more guest takes holds the truth, with `base` given as the text `believed`.
fn held_by_one_reading(believed: &str) -> f64 {
    let mut dice = Dice(20_261_125);
    let range = berthage::model::pert::Pert::new(1.0, 2.0, 4.0);
    let labs = 200;
    let mut held = 0;
    for _ in 0..labs {
        let base = range.quantile(dice.share());
        let touched = dice.between(350.0, 700.0);
        let text = |base: &str, touched: f64, kept: f64| {
            format!(
                "[[host]]\nname = \"made-up\"\ncpu.groups = [{{ cores = 16 }}]\n\
                 memory = {{ modules = [\"128 GiB\"], base = {base} }}\n\
                 merging = {{ mode = \"fixed\", pages_per_wake = 4000 }}\n\
                 [[guest]]\nname = \"clone\"\nmemory = \"2 GiB\"\nbusy = 0\n\
                 touched = \"{touched} MiB\"\ncommon = \"{kept} MiB\"\nrepeats = \"20 MiB\"\n"
            )
        };
        let truth = Truth {
            lab: lab(&text(&format!("\"{base} GiB\""), touched, 100.0)),
            // What guests share is believed rightly: one reading cannot tell it.
            believed: lab(&text(believed, 400.0, 100.0)),
            age: Age::Fresh,
            base: base * GIB,
        };
        let used = settled(&truth, 25) * (1.0 + 0.01 * dice.normal());
        let text = format!("guests,memory_used,settled\n25,{used:.0},yes\n");
        let model = HostModel::new(&truth.lab, &truth.lab.hosts[0]);
        let readings = read("one.csv", &text, model.visible)
            .unwrap_or_else(|errors| panic!("{errors}"))
            .list;
        let found = estimate(&question(&truth, &readings)).expect("an estimate");
        let (interval, slope) = checked(&truth, &found)[0];
        held += i32::from((interval.low..=interval.high).contains(&slope));
    }
    f64::from(held) / f64::from(labs)
}

#[test]
fn one_reading_leaves_the_doubt_about_the_host_itself() {
    let ranged = "{ low = \"1 GiB\", likely = \"2 GiB\", high = \"4 GiB\" }";
    let share = held_by_one_reading(ranged);
    assert!((0.85..=0.95).contains(&share), "{share}");
    // As one value, the doubt is not there, and the interval is too narrow for a host drawn from the range.
    let share = held_by_one_reading("\"2 GiB\"");
    assert!(share < 0.6, "{share}");
}

#[test]
fn predicted_counts_hold_the_true_ones() {
    let mut dice = Dice(7);
    let labs = 60;
    let mut held = [0; 2];
    for turn in 0..labs {
        let truth = truth(
            &mut dice,
            if turn % 2 == 0 {
                Age::LivedIn
            } else {
                Age::Fresh
            },
        );
        let readings = readings(&truth, &mut dice);
        let question = question(&truth, &readings);
        let Ok(found) = estimate(&question) else {
            continue;
        };
        let predicted = predict(&question, &found, None);
        let model = HostModel::new(&truth.lab, &truth.lab.hosts[0]);
        let memory = &truth.lab.hosts[0].memory;
        let true_break =
            berthage::sizing::count::breaks_at(&model, memory.file_cache_floor).expect("a cliff");
        let true_fresh = berthage::sizing::count::memory_count(
            &model,
            berthage::sizing::memory::MemoryCount::Fresh,
        )
        .bound()
        .expect("a count");
        for (count, (prediction, truth)) in held.iter_mut().zip([
            (predicted.breaks_at, true_break),
            (predicted.fresh, true_fresh),
        ]) {
            let within = prediction.low.unwrap_or(0) <= truth
                && prediction.high.is_none_or(|high| truth <= high);
            *count += i32::from(within);
        }
    }
    println!("held {held:?} of {labs}");
    assert!(held.iter().all(|count| *count >= labs * 8 / 10), "{held:?}");
}

#[test]
fn an_outlier_is_named_and_still_used() {
    let mut dice = Dice(3);
    let truth = truth(&mut dice, Age::Fresh);
    let mut readings = readings(&truth, &mut dice);
    // Noise out, one reading 25 % too high in.
    let exact = |readings: &mut Vec<Reading>| {
        let model = HostModel::new(&truth.lab, &truth.lab.hosts[0]);
        readings.retain(|reading| reading.settled == berthage::survey::reading::Settled::Yes);
        for (index, n) in [5, 10, 20, 25, 30, 40, 45, 55].into_iter().enumerate() {
            let counts = counts(&truth.lab, 0, n);
            let used = truth.base
                + model
                    .memory(
                        &counts,
                        Age::Fresh,
                        &model.sharing(&counts, Age::Fresh, Scan::Steady),
                    )
                    .always();
            let wobble = if index % 2 == 0 { 1.002 } else { 0.998 };
            let reading = Reading {
                guests: n,
                used: used * wobble,
                rounding: 0.0,
                ..readings[0].clone()
            };
            if index < readings.len() {
                readings[index] = reading;
            } else {
                readings.push(reading);
            }
        }
    };
    exact(&mut readings);
    assert_eq!(
        estimate(&question(&truth, &readings))
            .expect("an estimate")
            .outliers,
        [0usize; 0]
    );
    let before = estimate(&question(&truth, &readings))
        .expect("an estimate")
        .fit
        .values;
    readings[3].used *= 1.25;
    let found = estimate(&question(&truth, &readings)).expect("an estimate");
    assert_eq!(found.outliers, [3]);
    assert!(
        (found.fit.values[1] - before[1]).abs() > MIB,
        "used all the same"
    );
}
