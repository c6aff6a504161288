//! A less certain input never makes the answer look more certain: how far that is true, and where it ends.
//!
//! Draws are quantiles, one number for each input and draw, so a wider input changes each draw and nothing else. Added
//! to both sides alike, `low − e, likely, high + e`, a beta-PERT moves outward at every chance below 0.489 and above
//! 0.511, however lopsided it is (`model::pert`). Scaled about `likely` it does so below and above the chance of
//! `likely` itself, which lies between 5 % and 95 % unless `likely` is within 1.2 % of the range of one end. Where the
//! count follows one uncertain input, and only ever falls or only ever rises with it, both ends of the interval
//! therefore move outward or stay, without any guest of slack and whatever else limits the count.
//!
//! With several uncertain inputs that is not a law: where another resource holds the high end, a wider input sends some
//! draws below it and none above, and both ends fall. `another_resource_at_the_high_end_can_narrow_it` is such a lab.

use berthage::sizing::uncertainty::{Draws, IntervalAnswer, interval};
use proptest::prelude::{Strategy, prop_assert, proptest};
use proptest::test_runner::Config;

use crate::support::lab;

fn answer(text: &str, draws: Draws) -> IntervalAnswer {
    let mut lab = lab(text);
    // As if all that is not given were known.
    lab.guessed.clear();
    interval(&lab, &lab.hosts[0].name, draws, &|_| true).expect("the host is there")
}

/// Ends of an interval that can be compared: a draw in which nothing runs out holds more than any other.
fn ends(one: &IntervalAnswer) -> (u64, u64) {
    (one.low.unwrap_or(0), one.high.unwrap_or(u64::MAX))
}

/// The inputs that are made uncertain one at a time: key, unit, likely value, most below it, most above it.
const INPUTS: [(&str, &str, f64, f64, f64); 9] = [
    ("touched", " MiB", 600.0, 590.0, 600.0),
    ("touched_busy", " MiB", 1600.0, 390.0, 440.0),
    ("busy", " %", 8.0, 8.0, 60.0),
    ("keeps", " %", 60.0, 60.0, 40.0),
    ("written", " GB/day", 2.0, 2.0, 20.0),
    ("busy_load", " %", 50.0, 48.0, 50.0),
    ("base", " GiB", 6.0, 6.0, 8.0),
    ("firmware_reserved", " GiB", 2.0, 2.0, 3.0),
    ("endurance", " TB", 600.0, 590.0, 3000.0),
];

/// One uncertain input; what is below and above the likely value are shares of the room there is.
#[derive(Debug, Clone)]
struct One {
    input: usize,
    below: f64,
    above: f64,
    wider: f64,
    modules: usize,
    cores: u32,
    endurance: u32,
    mode: &'static str,
}

impl One {
    /// How far the ends are from the likely value.
    fn sides(&self) -> (f64, f64) {
        let (_, _, _, down, up) = INPUTS[self.input];
        (0.5 * self.below * down, 0.5 * self.above * up)
    }

    /// The same amount on both sides, so that both ends stay in the room there is.
    fn added(&self) -> (f64, f64) {
        let (_, _, _, down, up) = INPUTS[self.input];
        let (below, above) = self.sides();
        let more = self.wider * (down - below).min(up - above);
        (below + more, above + more)
    }

    /// Both sides times the same number.
    fn scaled(&self) -> (f64, f64) {
        let (below, above) = self.sides();
        (below * (1.0 + self.wider), above * (1.0 + self.wider))
    }

    fn text(&self, (below, above): (f64, f64)) -> String {
        let (key, unit, likely, _, _) = INPUTS[self.input];
        let range = format!(
            "{{ low = \"{:.6}{unit}\", likely = \"{likely}{unit}\", high = \"{:.6}{unit}\" }}",
            likely - below,
            likely + above
        );
        let of = |name: &str, plain: &str| {
            if name == key {
                format!("{name} = {range}\n")
            } else {
                format!("{name} = \"{plain}\"\n")
            }
        };
        let guest = of("touched", "600 MiB")
            + &of("touched_busy", "1600 MiB")
            + &of("busy", "8 %")
            + &of("keeps", "60 %")
            + &of("written", "2 GB/day")
            + &of("busy_load", "50 %");
        let endurance = of("endurance", &format!("{} TB", self.endurance));
        let memory = of("base", "3 GiB") + &of("firmware_reserved", "0.5 GiB");
        format!(
            "[[host]]\nname = \"box\"\ncpu.groups = [{{ cores = {} }}]\nmerging.mode = \"{}\"\n[host.memory]\n\
             modules = [{}]\n{memory}[[host.disk]]\nname = \"d\"\ncapacity = \"4 TB\"\n{endurance}\
             [[guest]]\nname = \"web\"\nmemory = \"2048 MiB\"\ncommon = \"0 MiB\"\nrepeats = \"0 MiB\"\n{guest}",
            self.cores,
            self.mode,
            vec!["\"16 GiB\""; self.modules].join(", "),
        )
    }
}

fn one() -> impl Strategy<Value = One> {
    // Either side may be nothing: `likely` at an end.
    let side = || proptest::prop_oneof![1 => proptest::strategy::Just(0.0), 3 => 0.0f64..1.0];
    let mode = proptest::sample::select(vec!["off", "fixed"]);
    let room = (1usize..6, 1u32..24, 100u32..3000);
    (0..INPUTS.len(), side(), side(), 0.01f64..1.0, room, mode).prop_map(
        |(input, below, above, wider, (modules, cores, endurance), mode)| One {
            input,
            below,
            above,
            wider,
            modules,
            cores,
            endurance,
            mode,
        },
    )
}

const DRAWS: Draws = Draws {
    count: 100,
    seed: 7,
};

proptest! {
    #![proptest_config(Config { cases: 32, ..Config::default() })]

    #[test]
    fn the_same_on_both_sides_moves_both_ends_outward_however_lopsided(one in one()) {
        let (narrow, wide) = (answer(&one.text(one.sides()), DRAWS), answer(&one.text(one.added()), DRAWS));
        let ((low, high), (lower, higher)) = (ends(&narrow), ends(&wide));
        prop_assert!(lower <= low && high <= higher, "{:?} then {:?}", narrow, wide);
    }

    #[test]
    fn scaled_about_likely_moves_both_ends_outward_unless_likely_is_an_end(one in one()) {
        let (below, above) = one.sides();
        // Near 1.2 % the drawn 5 % decides, so 3 % here.
        if below.min(above) < 0.03 * (below + above) {
            return Ok(());
        }
        let (narrow, wide) = (answer(&one.text((below, above)), DRAWS), answer(&one.text(one.scaled()), DRAWS));
        let ((low, high), (lower, higher)) = (ends(&narrow), ends(&wide));
        prop_assert!(lower <= low && high <= higher, "{:?} then {:?}", narrow, wide);
    }
}

/// Guests that are only memory, 184 GiB of it, and written bytes.
fn two_limits(touched: &str, written: &str, endurance: &str) -> String {
    format!(
        "[policy]\nmemory_keep_free = 0\n[[host]]\nname = \"box\"\ncpu.groups = [{{ cores = 999 }}]\n[host.memory]\n\
         modules = [\"128 GiB\", \"64 GiB\"]\nbase = \"4 GiB\"\n[[host.disk]]\nname = \"d\"\ncapacity = \"90 TB\"\n\
         endurance = {endurance}\n[[guest]]\nname = \"web\"\nmemory = \"4 GiB\"\nbusy = 0\ncommon = \"0 MiB\"\n\
         repeats = \"0 MiB\"\noverhead = \"0 MiB\"\ndisk_used = \"1 GiB\"\nwritten = {written}\ntouched = {touched}\n"
    )
}

fn range(low: f64, likely: f64, high: f64, unit: &str) -> String {
    format!("{{ low = \"{low} {unit}\", likely = \"{likely} {unit}\", high = \"{high} {unit}\" }}")
}

const MANY: Draws = Draws {
    count: 2000,
    seed: 1,
};

#[test]
fn scaled_with_likely_at_an_end_it_can_narrow() {
    // The border of the reading by scale: nothing is drawn below `likely`, so the low end rises with the scale, and the
    // high end is held by memory.
    let text = |high| {
        two_limits(
            "\"1050 MiB\"",
            "\"1 GB/day\"",
            &range(200.0, 200.0, high, "TB"),
        )
    };
    let (narrow, wide) = (answer(&text(800.0), MANY), answer(&text(3200.0), MANY));
    let ((low, high), (lower, higher)) = (ends(&narrow), ends(&wide));
    assert!(
        high == higher && higher - lower + 1 < high - low,
        "{narrow:?} then {wide:?}"
    );
}

#[test]
fn another_resource_at_the_high_end_can_narrow_it() {
    let text = |less, more| {
        two_limits(
            &range(650.0 - less, 650.0, 650.0 + more, "MiB"),
            &range(0.4, 1.0, 1.56, "GB/day"),
            "\"350 TB\"",
        )
    };
    let narrow = answer(&text(5.0, 45.0), MANY);
    let wide = answer(&text(535.0, 575.0), MANY);
    let ((low, high), (lower, higher)) = (ends(&narrow), ends(&wide));
    assert!(
        lower <= low && higher - lower + 1 < high - low,
        "{narrow:?} then {wide:?}"
    );
}
