//! Properties of draws: the quick search finds what the full one finds, threads change nothing, wider inputs give no
//! narrower answers.

use berthage::inventory::load_text;
use berthage::lab::Uncertain;
use berthage::lab::draw::Redraw;
use berthage::lab::keys::{Kind, key_of};
use berthage::report::json;
use berthage::sizing::count::find_all;
use berthage::sizing::host::HostModel;
use berthage::sizing::lowest::{Hint, lowest};
use berthage::sizing::search::Largest;
use berthage::sizing::uncertainty::{Draws, IntervalAnswer, interval};
use berthage::unit::parse::Dimension;
use proptest::prelude::{Strategy, prop_assert, prop_assert_eq, proptest};
use proptest::test_runner::Config;

use super::sizing::small;
use crate::support::lab;

const UNDECIDED: &str = include_str!("../../examples/undecided.toml");

fn answer(text: &str, draws: Draws) -> IntervalAnswer {
    let mut lab = lab(text);
    // As if all that is not given were known.
    lab.guessed.clear();
    interval(&lab, &lab.hosts[0].name, draws, &|_| true).expect("the host is there")
}

/// Two inputs of the guests, `touched` symmetric about its likely value.
#[derive(Debug, Clone)]
struct Spread {
    touched: u32,
    half: u32,
    wider: u32,
    busy_high: u32,
    modules: usize,
    mode: &'static str,
}

impl Spread {
    fn text(&self, half: u32) -> String {
        format!(
            r#"
[[host]]
name = "box"
cpu.groups = [{{ cores = 16, threads = 2 }}]
memory.modules = [{}]
merging.mode = "{}"
[[guest]]
name = "web"
memory = "2 GiB"
touched = {{ low = "{} MiB", likely = "{} MiB", high = "{} MiB" }}
touched_busy = "1.8 GiB"
common = "100 MiB"
busy = {{ low = "2 %", likely = "5 %", high = "{} %" }}
"#,
            vec!["\"16 GiB\""; self.modules].join(", "),
            self.mode,
            self.touched - half,
            self.touched,
            self.touched + half,
            self.busy_high,
        )
    }
}

fn spread() -> impl Strategy<Value = Spread> {
    let mode = proptest::sample::select(vec!["off", "fixed"]);
    (
        500u32..1200,
        10u32..150,
        10u32..200,
        6u32..30,
        1usize..5,
        mode,
    )
        .prop_map(|(touched, half, wider, busy_high, modules, mode)| Spread {
            touched,
            half,
            wider,
            busy_high,
            modules,
            mode,
        })
}

proptest! {
    #![proptest_config(Config { cases: 48, ..Config::default() })]

    #[test]
    fn the_quick_search_finds_what_the_full_one_finds(small in small(), other in small()) {
        let lab = lab(&small.text());
        let model = HostModel::new(&lab, &lab.hosts[0]);
        let found = find_all(&model);
        let first = found.first().map_or(Largest::Unbounded, |one| one.largest);
        // The hint is of another lab on purpose: it may cost time but not change the answer.
        let far = crate::support::lab(&other.text());
        for hint in [Hint::of(&model), Hint::of(&HostModel::new(&far, &far.hosts[0]))] {
            let quick = lowest(&model, &hint);
            prop_assert_eq!(quick.largest, first);
            let mut binds = quick.binds;
            binds.sort();
            let all = found.iter().filter(|one| one.largest == first && first != Largest::Unbounded);
            prop_assert_eq!(binds, all.map(|one| one.resource).collect::<Vec<_>>());
        }
    }

    #[test]
    fn a_wider_input_never_narrows_the_interval(spread in spread()) {
        let draws = Draws { count: 200, seed: 7 };
        let narrow = answer(&spread.text(spread.half), draws);
        let wide = answer(&spread.text(spread.half + spread.wider), draws);
        let width = |one: &IntervalAnswer| one.high.unwrap_or(1_000_000) - one.low.unwrap_or(0);
        prop_assert!(width(&wide) + 1 >= width(&narrow), "{:?} then {:?}", narrow, wide);
    }
}

#[test]
fn threads_change_nothing() {
    let on = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .expect("threads");
        let draws = Draws {
            count: 333,
            seed: 5,
        };
        json::render(&pool.install(|| answer(UNDECIDED, draws)))
    };
    let one = on(1);
    assert_eq!(one, on(2));
    assert_eq!(one, on(7));
}

#[test]
fn another_seed_draws_other_numbers() {
    let with = |seed| answer(UNDECIDED, Draws { count: 500, seed });
    assert_eq!(json::render(&with(3)), json::render(&with(3)));
    assert_ne!(json::render(&with(3)), json::render(&with(4)));
}

#[test]
fn tables_drawn_again_are_those_of_a_whole_reading() {
    let lab = lab(UNDECIDED);
    let inputs: Vec<&Uncertain> = lab.uncertain.iter().collect();
    let drawn = |one: &Uncertain| 0.25 * one.low + 0.75 * one.high;
    let numbers: Vec<f64> = inputs.iter().map(|one| drawn(one)).collect();
    let redraw = Redraw::new(&lab, 0, &inputs);
    let mut again = redraw.likely();
    redraw.put(&mut again, &numbers);
    let set = |one: &Uncertain| {
        let number = drawn(one);
        match key_of(&one.path).expect("a key").kind {
            Kind::Quantity(Dimension::Bytes) | Kind::SizeOrShare => {
                format!("{}=\"{number} B\"", one.path)
            }
            Kind::Quantity(Dimension::ByteRate) => format!("{}=\"{number} B/s\"", one.path),
            _ => format!("{}={number}", one.path),
        }
    };
    let sets: Vec<String> = lab.uncertain.iter().map(set).collect();
    let whole = load_text("lab.toml", UNDECIDED, &sets).unwrap_or_else(|errors| panic!("{errors}"));
    assert_eq!(again.hosts, whole.hosts);
    assert_eq!(again.guests, whole.guests);
    assert_eq!(again.images, whole.images);
}

/// What is drawn too low beside a value that was given plainly gives way, and not that value.
#[test]
fn a_draw_never_changes_what_is_given_plainly() {
    let lab = lab(r#"
[[host]]
name = "box"
cpu.groups = [{ cores = 8 }]
memory.modules = ["32 GiB"]
[[guest]]
name = "range"
memory = "2 GiB"
touched = { low = "200 MiB", likely = "600 MiB", high = "900 MiB" }
touched_busy = { low = "250 MiB", likely = "1 GiB", high = "1.5 GiB" }
common = "300 MiB"
repeats = "50 MiB"
idle_load = "40 %"
busy_load = { low = "20 %", likely = "60 %", high = "90 %" }
[[guest]]
name = "guess"
memory = "2 GiB"
touched_busy = { low = "500 MiB", likely = "1.5 GiB", high = "2 GiB" }
common = "600 MiB"
repeats = "10 %"
"#);
    let inputs: Vec<&Uncertain> = lab.uncertain.iter().chain(&lab.guessed).collect();
    let lowest: Vec<f64> = inputs.iter().map(|one| one.low).collect();
    let redraw = Redraw::new(&lab, 0, &inputs);
    let mut drawn = redraw.likely();
    redraw.put(&mut drawn, &lowest);
    let mib = |bytes: f64| (bytes / 1_048_576.0 * 1e6).round() / 1e6;
    let range = &drawn.guests[0];
    assert_eq!(
        [
            range.common,
            range.repeats,
            range.touched,
            range.touched_busy
        ]
        .map(mib),
        [300.0, 50.0, 350.0, 350.0]
    );
    assert_eq!((range.idle_load, range.busy_load), (0.4, 0.4));
    // A tenth of touched and 600 MiB are all of touched: 600 MiB/0.9.
    let guess = &drawn.guests[1];
    assert_eq!(mib(guess.common), 600.0);
    assert_eq!(mib(guess.touched), mib(600.0 * 1_048_576.0 / 0.9));
    assert!((guess.touched_busy / guess.touched - 1.0).abs() < 1e-12);
}

#[test]
fn the_swing_names_what_matters_and_nothing_else() {
    let found = answer(
        UNDECIDED,
        Draws {
            count: 200,
            seed: 1,
        },
    );
    assert_eq!(found.moves.len(), 3);
    assert!(
        found
            .moves
            .windows(2)
            .all(|pair| pair[0].swing >= pair[1].swing)
    );
    assert!(found.moves.iter().all(|one| !one.key.ends_with("written")));
    let shares: f64 = found.binds.values().sum();
    assert!(shares >= 1.0 - 1e-12, "{shares}");
}

#[test]
fn draws_in_which_the_guests_that_must_run_do_not_fit_are_told() {
    let text = r#"
[[host]]
name = "box"
cpu.groups = [{ cores = 8 }]
memory.modules = ["8 GiB"]
memory.base = { low = "1 GiB", likely = "2 GiB", high = "6 GiB" }
[[guest]]
name = "must"
count = 1
memory = "4 GiB"
[[guest]]
name = "web"
memory = "512 MiB"
"#;
    let found = answer(
        text,
        Draws {
            count: 1000,
            seed: 1,
        },
    );
    assert!(
        found.broken > 0.05 && found.broken < 0.9,
        "{}",
        found.broken
    );
    assert_eq!(found.low, None);
    assert!(found.high.is_some());
}
