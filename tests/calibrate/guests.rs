//! Lines of guests: a mixed host that was measured, hosts that are simulated, and files that are damaged.

use berthage::calibrate::guests::lines::{Moment, Record, Run, Watched, read};
use berthage::calibrate::guests::profile::{ProfileAnswer, profiles};
use berthage::lab::Guest;
use berthage::model::MIB;
use berthage::survey::each::line::headings;
use serde_json::Value;

use super::simulated::Dice;
use crate::support::{Session, run};

/// Measured for this project: 6 guests of a kind A that idle, 3 of a kind B that work in spells, one image, 22 minutes.
const MIX: &str = include_str!("mix_guests.csv");

/// The host of the measurement.
const HOST: &str = r#"
[[host]]
name = "bench"
cpu.groups = [{ cores = 2 }]
memory = { modules = ["24105 MiB"], firmware_reserved = "0 B", base = "1 GiB" }
merging = { mode = "fixed", pages_per_wake = 1000 }
"#;
/// What its owner knew of A.
const KNOWN: &str = "[[guest]]\nname = \"A\"\nmemory = \"160 MiB\"\n";

fn mixed(lines: &str) -> Session {
    Session::lab(&format!("{HOST}{KNOWN}")).file("guests.csv", lines)
}

/// A lab of that host and a guest that is busy for a share of the time, or of each period.
fn web(busy: &str) -> String {
    format!("{HOST}[[guest]]\nname = \"web\"\nmemory = \"2 GiB\"\nbusy = {busy}\n")
}

fn calibrated(lines: &str) -> Value {
    mixed(lines).json(&["calibrate", "@lab.toml", "@guests.csv"])
}

fn estimate(answer: &Value, kind: usize, key: &str) -> f64 {
    let value = &answer["profiles"][kind]["estimates"][key]["value"];
    value
        .as_f64()
        .unwrap_or_else(|| panic!("{key} of {kind}: {answer}"))
}

/// The lines with these columns emptied.
fn without(columns: &[&str]) -> String {
    let headings: Vec<&str> = MIX.lines().next().expect("headings").split(',').collect();
    let cut = |line: &str| {
        let cells = line.split(',').zip(&headings);
        let kept = cells.map(|(cell, name)| if columns.contains(name) { "" } else { cell });
        kept.collect::<Vec<_>>().join(",")
    };
    let lines = MIX.lines().skip(1).map(cut);
    let lines: Vec<String> = std::iter::once(headings.join(",")).chain(lines).collect();
    lines.join("\n")
}

#[test]
fn a_measured_mix_gives_the_profile_of_each_kind() {
    let answer = calibrated(MIX);
    let of = |kind, key| estimate(&answer, kind, key);
    let close = |found: f64, wanted: f64, off: f64, what: &str| {
        assert!(
            (found / wanted - 1.0).abs() < off,
            "{what}: {found} {wanted}"
        );
    };
    // The truth is what root and the guests' own logs say (measured for this project): A holds its process, 63.7 MiB, and what
    // is resident and not merged, 101.9 less 64.4 MiB; B was busy 0.317 of the time, touched 224 MiB, and kept 0.987 of it.
    close(
        of(0, "unique"),
        (63.7 + 101.9 - 64.4) * MIB,
        0.01,
        "held by A",
    );
    close(of(0, "overhead"), 63.7 * MIB, 0.02, "overhead of A");
    close(of(1, "overhead"), 64.1 * MIB, 0.02, "overhead of B");
    close(of(0, "touched"), 125.6 * MIB, 0.03, "touched of A");
    close(of(1, "touched"), 158.5 * MIB, 0.05, "touched of B");
    close(of(1, "touched_busy"), 224.0 * MIB, 0.05, "touched_busy");
    assert!((of(1, "keeps") - 0.987).abs() < 0.03);
    assert!((of(1, "busy") - 0.317).abs() < 0.06);
    assert_eq!(of(0, "busy"), 0.0);
    close(of(0, "idle_load"), 0.0126, 0.25, "idle_load of A");
    close(of(1, "idle_load"), 0.0129, 0.25, "idle_load of B");
    close(of(1, "busy_load"), 0.0786, 0.25, "busy_load of B");
    // The three guests of B were started apart from each other; so few leave a wide interval.
    let correlation = &answer["correlation"];
    assert!(
        correlation["value"] == 0.0
            && correlation["low"].as_f64() == Some(0.0)
            && correlation["high"].as_f64().expect("an end") < 0.5
    );
    // Who watched could not see which pages are common.
    let untold = answer["profiles"][0]["untold"].as_array().expect("a list");
    assert!(untold.iter().any(|one| {
        one["key"] == "common"
            && one["needs"]
                .as_str()
                .is_some_and(|text| text.contains("root"))
    }));
    assert_eq!(answer["profiles"][0]["estimates"]["common"]["from"], "both");
    let cautions = answer["cautions"].as_array().expect("a list");
    assert_eq!(
        cautions.iter().filter(|one| one["id"] == "little").count(),
        2
    );
}

#[test]
fn what_root_sees_of_pages_splits_what_is_merged() {
    // By root A had 46.1 MiB in common with others, B 45.0 before its first spell and 43.7 more after it (measured for this
    // project, at the end of the run; put into its lines here).
    let column = headings()
        .iter()
        .position(|name| *name == "common")
        .expect("a column");
    let with_common = |line: &str| {
        let mut cells: Vec<String> = line.split(',').map(str::to_owned).collect();
        // Until its first spell B has at most 160 MiB resident.
        let resident: f64 = cells[9].parse().expect("a size");
        let mib = match (cells[2].as_str(), resident < 165.0 * MIB) {
            ("A", _) => 46.1,
            (_, true) => 45.0,
            (_, false) => 88.7,
        };
        cells[column] = format!("{:.0}", mib * MIB);
        cells.join(",")
    };
    let lines = MIX.lines().skip(1).map(with_common);
    let text: Vec<String> = std::iter::once(headings().join(",")).chain(lines).collect();
    let answer = calibrated(&text.join("\n"));
    for (kind, key, mib) in [
        (0, "common", 46.1),
        (1, "common", 45.0),
        (1, "common_busy", 43.7),
    ] {
        let found = estimate(&answer, kind, key);
        assert!(
            (found / (mib * MIB) - 1.0).abs() < 0.03,
            "{key} of {kind}: {found}"
        );
        assert_eq!(
            answer["profiles"][kind]["estimates"][key]["from"],
            "readings"
        );
    }
    // 64.4 MiB of A were merged by root, and empty parts of huge pages came back beside them.
    let repeats = estimate(&answer, 0, "repeats");
    assert!(
        repeats > (64.4 - 46.1) * MIB && repeats < 45.0 * MIB,
        "{repeats}"
    );
}

#[test]
fn what_anybody_may_read_is_enough_for_what_a_guest_holds() {
    let answer = calibrated(&without(&[
        "ram_held",
        "process_held",
        "merged",
        "zero",
        "common",
        "written",
    ]));
    let held = estimate(&answer, 0, "unique");
    assert!((held / (101.2 * MIB) - 1.0).abs() < 0.01, "{held}");
    assert_eq!(
        answer["profiles"][0]["estimates"]["touched"]["from"],
        "both"
    );
    // Put into the lab it is what was read: o + t0 − c − s by the lab's o, c and s.
    let lab = Guest::with_defaults("A", 160.0 * MIB);
    let touched = estimate(&answer, 0, "touched");
    assert!((lab.overhead + touched - lab.common - lab.repeats - held).abs() < 1.0);
    let untold = answer["profiles"][0]["untold"].to_string();
    assert!(
        untold.contains("overhead") && untold.contains("user that runs"),
        "{untold}"
    );
    let answer = calibrated(&without(&["dispatches"]));
    let untold = answer["profiles"][1]["untold"].to_string();
    assert!(
        untold.contains("busy") && untold.contains("schedstat"),
        "{untold}"
    );
    assert!(answer["profiles"][1]["estimates"]["busy"].is_null());
}

#[test]
fn the_copy_has_the_kinds_and_answers_what_was_predicted() {
    let session = mixed(MIX);
    let answer = session.json(&[
        "calibrate",
        "@lab.toml",
        "@guests.csv",
        "--write",
        "@new.toml",
    ]);
    let text = session.read("new.toml");
    assert!(
        text.contains("[[guest]]\nname = \"B\"") && text.contains("count = 3"),
        "{text}"
    );
    assert!(text.contains("busy = { low = \"29"), "{text}");
    let fit = run(&["fit", &session.path("new.toml"), "--format", "json"]).json();
    let found = &fit["hosts"][0];
    for key in ["fits", "breaks_at"] {
        let [wanted, found] = [&answer["predicts"][key]["value"], &found[key]]
            .map(|count| count.as_f64().expect("a count"));
        // What is written has two decimals of a MiB.
        assert!((wanted - found).abs() <= 1.0, "{key}: {wanted} {found}");
    }
    // Once more it is known, and its values are replaced.
    let again = session.json(&["calibrate", "@new.toml", "@guests.csv"]);
    assert_eq!(again["profiles"][1]["added"], false);
    session
        .run(&["calibrate", "@lab.toml", "@guests.csv"])
        .says("thrashes or kills guests");
    // What the lab gives by period is not overwritten with one share.
    let by_period = "[[period]]\nname = \"night\"\nshare = 0.3\n";
    let by_period = format!("{HOST}{KNOWN}busy = {{ night = 0.5, otherwise = 0.1 }}\n{by_period}");
    let session = Session::lab(&by_period).file("guests.csv", MIX);
    session
        .run(&[
            "calibrate",
            "@lab.toml",
            "@guests.csv",
            "--write",
            "@new.toml",
        ])
        .answers();
    assert!(
        session
            .read("new.toml")
            .contains("busy = { night = 0.5, otherwise = 0.1 }")
    );
}

/// Lines every 10 minutes from midnight on, for some days, of six guests that are busy from 8 to 10 on nine days of ten and, every
/// second day, for an hour at another time; and the shares of both times that they were busy.
fn mornings(days: usize) -> (String, [f64; 2]) {
    let mut dice = Dice(20_261_129);
    let mut text = "time,guest,kind,vcpus,memory,cpu_s,dispatches,held\n".to_owned();
    let mut busy = vec![vec![false; 144 * days + 1]; 6];
    let (mut counts, mut all) = ([0.0; 2], [0.0; 2]);
    for row in &mut busy {
        for day in 0..days {
            let comes = dice.share() < 0.9;
            row[144 * day + 48..144 * day + 60].fill(comes);
            let extra = 144 * day + 66 + (dice.share() * 60.0) as usize;
            row[extra..extra + 6].fill(dice.share() < 0.5);
        }
        for (place, is_busy) in row.iter().enumerate().take(144 * days) {
            let which = usize::from(!(48..60).contains(&(place % 144)));
            counts[which] += f64::from(u8::from(*is_busy));
            all[which] += 1.0;
        }
    }
    let mut counters = [(1000.0, 1000.0); 6];
    for moment in 0..=144 * days {
        let guests = counters.iter_mut().zip(&busy).enumerate();
        for (guest, ((cpu, count), row)) in guests {
            text.push_str(&format!(
                "{},box-{guest},web,1,2147483648,{cpu:.1},{count:.0},1e9\n",
                600 * moment
            ));
            let is_busy = row[moment];
            *cpu += 600.0 * if is_busy { 0.6 } else { 0.01 };
            *count += 600.0 * if is_busy { 900.0 } else { 60.0 } * dice.between(0.8, 1.2);
        }
    }
    (text, [counts[0] / all[0], counts[1] / all[1]])
}

#[test]
fn busy_times_become_periods_and_else_a_correlation_is_written() {
    let (lines, truth) = mornings(8);
    let lab = web("\"8 %\"");
    let call = [
        "calibrate",
        "@lab.toml",
        "@guests.csv",
        "--write",
        "@new.toml",
    ];
    // By rank of the load, the highest tenth and part of the next are the mornings.
    let session = Session::lab(&lab).file("guests.csv", &lines);
    let answer = session.json(&call);
    let text = session.read("new.toml");
    assert!(
        text.contains("[[period]]\nname = \"peak\"\nshare = \"10 %\""),
        "{text}"
    );
    assert!(text.contains("busy = { quiet = "), "{text}");
    let of = |place: usize| &answer["periods"][place];
    let peak = of(2)["busy"]["web"].as_f64().expect("a share");
    assert!(
        peak > 0.6 && of(0)["busy"]["web"].as_f64() < Some(0.05),
        "{answer}"
    );
    let ends = of(2)["intervals"]["web"].as_array().expect("ends");
    assert!(
        ends[0].as_f64() <= Some(peak) && ends[1].as_f64() >= Some(peak),
        "{ends:?}"
    );
    assert!(!text.contains("correlation"), "{text}");
    let fits = |session: &Session| {
        session.json(&["fit", "@new.toml", "--draws", "0"])["hosts"][0]["fits"].clone()
    };
    assert_eq!(fits(&session), answer["predicts"]["fits"]["value"]);
    session
        .run(&["calibrate", "@lab.toml", "@guests.csv", "--full"])
        .says("When guests are busy");
    // The lab's own periods go by the clock.
    let clock = format!("{lab}[[period]]\nname = \"morning\"\nhours = \"8-10\"\n");
    let session = Session::lab(&clock).file("guests.csv", &lines);
    let answer = session.json(&call);
    for (place, truth) in truth.into_iter().enumerate() {
        let period = &answer["periods"][place];
        let found = period["busy"]["web"].as_f64().expect("a share");
        assert!((found - truth).abs() < 0.04, "{period} {truth}");
    }
    let text = session.read("new.toml");
    assert!(
        text.contains("busy = { morning = ") && text.contains("otherwise = "),
        "{text}"
    );
    assert_eq!(text.matches("[[period]]").count(), 1);
    assert_eq!(fits(&session), answer["predicts"]["fits"]["value"]);
    // Once more: values by period are replaced by values by period.
    let again = [
        "calibrate",
        "@new.toml",
        "@guests.csv",
        "--write",
        "@newer.toml",
    ];
    session.run(&again).answers();
    assert_eq!(session.read("newer.toml").matches("morning = ").count(), 1);
    // A period that is a share of the time shows on no clock.
    let by_period = web("{ morning = 0.5, otherwise = 0 }");
    let share = format!("{by_period}[[period]]\nname = \"morning\"\nshare = 0.1\n");
    let session = Session::lab(&share).file("guests.csv", &lines);
    let answer = session.json(&call);
    assert_eq!(answer["periods"], serde_json::json!([]));
    assert!(
        answer["profiles"][0]["untold"]
            .to_string()
            .contains("`hours` of the lab's periods")
    );
    // Of one day there are no periods by rank, but a correlation, with its range; into the policy that is there, or a new one.
    let (day, _) = mornings(1);
    for policy in [
        "",
        "[policy]\nslow_risk = 0.04 # mine\n",
        "[policy]\ncorrelation = 0.1 # mine\n",
    ] {
        let session = Session::lab(&format!("{policy}{lab}")).file("guests.csv", &day);
        let answer = session.json(&call);
        let found = answer["correlation"]["value"]
            .as_f64()
            .expect("a correlation");
        assert!(found > 0.5, "{found}");
        let text = session.read("new.toml");
        assert!(
            text.contains("# correlation: calibrated from guests.csv"),
            "{text}"
        );
        assert_eq!(text.matches("\ncorrelation = ").count(), 1, "{text}");
        assert_eq!(text.contains("# mine"), !policy.is_empty());
        assert_eq!(fits(&session), answer["predicts"]["fits"]["value"]);
    }
}

#[test]
fn damaged_lines_are_refused_with_their_place_and_odd_ones_are_taken() {
    let head = "time,guest,kind,memory,cpu_s,dispatches\n";
    for (lines, said) in [
        (
            format!("{head}0,a,web,1e9,x,1\n"),
            "no number that cpu_s can hold",
        ),
        (format!("{head}0,,web,1e9,1,1\n"), "`guest` is empty"),
        (format!("{head}soon,a,web,1e9,1,1\n"), "no time"),
        (head.to_owned(), "no guests below"),
        (format!("{head}0,a,web,,1,1\n"), "how much memory"),
        ("guest,kind\na,b\n".to_owned(), "`time` has to be there"),
        ("time,guest,hled\n0,a,1\n".to_owned(), "Did you mean `held`"),
        ("time,guest,guest\n0,a,1\n".to_owned(), "two columns"),
        (
            format!("{head}0,a,web,-1,1,1\n"),
            "no number that memory can hold",
        ),
    ] {
        let ended = mixed(&lines).run(&["calibrate", "@lab.toml", "@guests.csv"]);
        ended.refuses();
        let words = ended
            .stderr
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ");
        assert!(words.contains(said), "{lines}: {words}");
    }
    let ended = mixed(MIX).run(&["calibrate", "@lab.toml", "@guests.csv", "--hold-out", "1"]);
    ended
        .refuses()
        .reports("--hold-out is for readings of a host");
    // A name with a comma, a clock that goes back, a restart, repeated headings, one line only.
    let odd = format!(
        "{head}10,\"a,b-1\",,1e9,100,5\n5,\"a,b-1\",,1e9,101,6\n{head}20,\"a,b-1\",,1e9,1,1\n"
    );
    let record = read("guests.csv", &odd).unwrap_or_else(|errors| panic!("{errors}"));
    assert_eq!(
        (
            record.guests[0].name.as_str(),
            record.guests[0].kind.as_str()
        ),
        ("a,b-1", "a,b")
    );
    let starts: Vec<bool> = record.guests[0]
        .runs
        .iter()
        .map(|run| run.from_start)
        .collect();
    assert_eq!(starts, [false, false, true]);
    calibrated(&odd);
}

#[test]
fn counters_that_fall_leave_the_rest_of_the_record_as_it_is() {
    let headings: Vec<&str> = MIX.lines().next().expect("headings").split(',').collect();
    let counters = [
        "cpu_s",
        "dispatches",
        "run_wait_s",
        "written",
        "read",
        "pressure_s",
    ];
    let column = |name: &str| headings.iter().position(|heading| *heading == name);
    for name in counters {
        let column = column(name).expect("a column");
        // B01 begins to count anew in the middle of the record.
        let mut before = None;
        let mut fallen = |line: &str| {
            let mut cells: Vec<String> = line.split(',').map(str::to_owned).collect();
            let late = cells[0].parse::<f64>().is_ok_and(|time| time >= 660.0);
            if let Ok(number) = cells[column].parse::<f64>()
                && cells[1] == "B01"
                && late
            {
                let start = *before.get_or_insert(number);
                cells[column] = (number - start).to_string();
            }
            cells.join(",")
        };
        let lines: Vec<String> = MIX.lines().map(&mut fallen).collect();
        let answer = calibrated(&lines.join("\n"));
        let busy = estimate(&answer, 1, "busy");
        assert!((busy - 0.317).abs() < 0.08, "{name}: {busy}");
        let overhead = estimate(&answer, 1, "overhead");
        assert!(
            (overhead / (64.1 * MIB) - 1.0).abs() < 0.02,
            "{name}: {overhead}"
        );
        for kind in answer["profiles"].as_array().expect("kinds") {
            for (key, one) in kind["estimates"].as_object().expect("estimates") {
                let [low, value, high] =
                    ["low", "value", "high"].map(|end| one[end].as_f64().expect("a number"));
                assert!(
                    0.0 <= low && low <= value && value <= high,
                    "{name} {key}: {one}"
                );
            }
        }
    }
}

/// Seconds between two lines of a simulated week.
const STEP: f64 = 1200.0;
/// Lines of a week.
const WEEK: usize = 504;

/// A kind whose numbers are known.
struct Truth {
    overhead: f64,
    touched: f64,
    busy_touched: f64,
    keeps: f64,
    merged: f64,
    busy: f64,
    loads: [f64; 2],
    written: f64,
}

fn truth(dice: &mut Dice) -> Truth {
    let touched = dice.between(200.0, 500.0) * MIB;
    Truth {
        overhead: dice.between(50.0, 120.0) * MIB,
        touched,
        busy_touched: touched * dice.between(1.5, 2.5),
        keeps: dice.between(0.5, 0.95),
        merged: touched * dice.between(0.2, 0.4),
        busy: dice.between(0.08, 0.4),
        loads: [dice.between(0.005, 0.02), dice.between(0.3, 0.8)],
        written: dice.between(1e3, 1e5),
    }
}

/// A week of one guest; guests of a kind differ by a few percent.
fn week(dice: &mut Dice, truth: &Truth, number: usize) -> Watched {
    let mut near = |value: f64, off: f64| value * (1.0 + off * dice.normal());
    let overhead = near(truth.overhead, 0.03);
    let (fresh, highest) = (near(truth.touched, 0.03), near(truth.busy_touched, 0.03));
    let (keeps, merged) = (near(truth.keeps, 0.03).min(1.0), near(truth.merged, 0.03));
    let idle_load = near(truth.loads[0], 0.1);
    let busy_load = near(truth.loads[1], 0.1);
    let written = near(truth.written, 0.1);
    // Two steps at least, and as many more as an exponential distribution has it.
    let on = 6.0;
    let off = on * (1.0 - truth.busy) / truth.busy;
    let length =
        |mean: f64, dice: &mut Dice| 2.0 + (mean - 2.0).max(0.0) * -(1.0 - dice.share()).ln();
    let (mut is_busy, mut left) = (false, length(off, dice).max(4.0));
    let mut now = Moment {
        cpu: Some(5.0),
        dispatches: Some(100.0),
        written: Some(0.0),
        ..Moment::default()
    };
    let mut resident = fresh;
    let mut moments = Vec::new();
    for step in 0..WEEK {
        let boots = step == 1;
        let moment_busy = is_busy || boots;
        let load =
            if moment_busy { busy_load } else { idle_load } * (1.0 + 0.2 * dice.normal()).max(0.1);
        let rate = if moment_busy { 900.0 } else { 60.0 } * (0.3 * dice.normal()).exp();
        now.at = step as f64 * STEP;
        if step > 0 {
            now.cpu = now.cpu.map(|cpu| cpu + load * STEP);
            now.dispatches = now.dispatches.map(|count| count + rate * STEP);
            now.written = now.written.map(|bytes| bytes + written * STEP);
        }
        let touched = if is_busy { highest } else { resident };
        now.ram = Some(touched);
        now.process = Some(overhead * (1.0 + 0.005 * dice.normal()));
        now.merged = Some(merged);
        now.held = Some(overhead + touched - merged);
        moments.push(now);
        left -= 1.0;
        if left <= 0.0 {
            if is_busy {
                resident = fresh + keeps * (highest - fresh);
            }
            is_busy = !is_busy;
            left = length(if is_busy { on } else { off }, dice).round();
        }
    }
    Watched {
        name: format!("web-{number}"),
        kind: "web".to_owned(),
        vcpus: Some(1),
        memory: Some(3.0 * truth.busy_touched),
        runs: vec![Run {
            from_start: true,
            moments,
        }],
    }
}

#[test]
fn intervals_of_simulated_hosts_hold_the_truth_as_often_as_they_say() {
    let mut dice = Dice(20_261_128);
    let hosts = 200;
    let keys = [
        "overhead",
        "touched",
        "touched_busy",
        "keeps",
        "busy",
        "idle_load",
        "busy_load",
        "written",
        "unique",
    ];
    let mut held = [0; 9];
    for _ in 0..hosts {
        let truth = truth(&mut dice);
        let count = 5 + (dice.share() * 6.0) as usize;
        let guests = (0..count)
            .map(|number| week(&mut dice, &truth, number))
            .collect();
        let record = Record {
            guests,
            unused: Vec::new(),
        };
        let found = &profiles(&[], &record)[0];
        let settled =
            truth.overhead + truth.touched + truth.keeps * (truth.busy_touched - truth.touched)
                - truth.merged;
        let wanted = [
            truth.overhead,
            truth.touched,
            truth.busy_touched,
            truth.keeps,
            truth.busy,
            truth.loads[0],
            truth.loads[1],
            truth.written,
            settled,
        ];
        for ((count, key), wanted) in held.iter_mut().zip(keys).zip(wanted) {
            *count += i32::from(holds(found, key, wanted));
        }
    }
    println!("held {held:?} of {hosts}");
    for (key, count) in keys.iter().zip(held) {
        let share = f64::from(count) / f64::from(hosts);
        assert!((0.85..=0.95).contains(&share), "{key}: {share}");
    }
}

fn holds(found: &ProfileAnswer, key: &str, wanted: f64) -> bool {
    let one = &found.estimates[key];
    (one.low..=one.high).contains(&wanted)
}
