//! Guests that run, room for more, and who takes what.

use berthage::model::footprint::Age;
use berthage::sizing::fit::fit_host;
use berthage::sizing::host::HostModel;
use proptest::prelude::{prop_assert, prop_assert_eq, proptest};
use proptest::test_runner::Config;

use super::sizing::small;
use crate::support::{PLAIN_HOST, Session, lab, lab_with};

/// Two kinds, both with a share; by hand: a guest of 1 GiB holds nothing that is shared.
fn two_kinds() -> String {
    numbered(["count = 5\nshare = 1", "share = 1"])
}

/// The two kinds with these lines about how many there are.
fn numbered([web, db]: [&str; 2]) -> String {
    let guest = |name: &str, number: &str, memory: u32| {
        format!(
            "[[guest]]\nname = \"{name}\"\n{number}\nmemory = \"{memory} GiB\"\ntouched = \"{memory} GiB\"\n\
             common = \"0 B\"\nrepeats = \"0 B\"\noverhead = \"0 B\"\nbusy = 0\n"
        )
    };
    format!(
        "{PLAIN_HOST}merging.mode = \"off\"\n{}{}",
        guest("web", web, 1),
        guest("db", db, 2),
    )
}

#[test]
fn the_share_weighs_what_is_added_to_those_that_run() {
    let lab = lab(&two_kinds());
    let model = HostModel::new(&lab, &lab.hosts[0]);
    // Equal shares: the tie goes to the name first in byte order, whatever runs already.
    let counts = [0, 1, 2, 5].map(|n| model.composition.counts(n));
    assert_eq!(
        counts,
        [vec![5, 0], vec![5, 1], vec![6, 1], vec![7, 3]],
        "5 run, and each pair adds one of each"
    );
    let answer = fit_host(&lab, &lab.hosts[0]);
    let running = answer.running.expect("5 run");
    assert_eq!((running.guests, running.mix["web"]), (5, 5));
    assert_eq!(answer.guests, answer.fits.unwrap() + 5);
}

#[test]
fn more_that_run_leave_less_room() {
    let room = |count: u32| {
        let set = format!("guest.web.count={count}");
        let lab = lab_with(&two_kinds(), &[&set]);
        fit_host(&lab, &lab.hosts[0]).fits.unwrap()
    };
    // A web and a db are 3 GiB and page tables; six web fewer make room for four guests: two of each.
    assert_eq!(room(4), room(10) + 4);
}

#[test]
fn exactly_these_guests_and_the_limit_that_they_pass() {
    let session = Session::lab(&two_kinds()).args(&["fit", "@lab.toml", "--guests"]);
    for (guests, mix, status) in [
        ("web=20,db=3", [20, 3], 0),
        ("db=20", [5, 20], 0),
        ("25", [15, 10], 0),
        ("web=5,db=40", [5, 40], 1),
    ] {
        let ended = session.run(&[guests, "--format", "json"]);
        assert_eq!(ended.status, status, "{guests}: {}", ended.stderr);
        let answer: serde_json::Value = serde_json::from_str(&ended.stdout).expect("JSON");
        let running = &answer["hosts"][0]["running"];
        assert_eq!(running["mix"]["web"], mix[0], "{guests}");
        assert_eq!(running["mix"]["db"], mix[1], "{guests}");
        let memory = &running["resources"][0];
        let is_past = memory["at_risk"].as_f64() > memory["limit"].as_f64();
        assert_eq!(is_past, status == 1, "{guests}");
        let passed = running["passed"].as_array().expect("a list");
        assert_eq!(passed.is_empty(), status == 0, "{guests}: {passed:?}");
    }
}

#[test]
fn guests_that_are_no_number_of_the_lab_are_refused() {
    let session = Session::lab(&two_kinds()).args(&["fit", "@lab.toml", "--guests"]);
    for (guests, says) in [
        ("4", "is fewer than the 5 guests that must run"),
        ("web=1,mail=2", "names no guest of the lab"),
        ("web=two", "must give \"web\" a whole number"),
        ("0", "there is no guest"),
    ] {
        let ended = session.run(&[guests]);
        assert_eq!(ended.status, 2, "{guests}");
        assert!(ended.stderr.contains(says), "{guests}: {}", ended.stderr);
    }
}

#[test]
fn a_set_of_counts_is_judged_as_it_is() {
    let lab = lab(&numbered(["count = 20", "count = 3"]));
    let answer = fit_host(&lab, &lab.hosts[0]);
    let running = answer.running.expect("all of them must run");
    assert_eq!((answer.unit, running.guests), ("sets", 23));
    assert!(running.passed.is_empty() && answer.fits == Some(2));
    // 26 GiB of guests and their page tables, 16/4096 of them.
    let memory = running.resources.iter().find(|one| one.name == "memory");
    let held = memory.expect("considered").at_risk / berthage::model::GIB;
    assert!((held - 26.0 * (1.0 + 16.0 / 4096.0)).abs() < 1e-9, "{held}");
}

proptest! {
    #![proptest_config(Config::with_cases(48))]

    /// The profiles' parts are all that the guests take, and one guest fewer of a profile frees no more than the profile takes.
    #[test]
    fn parts_add_up(small in small(), n in 1u64..40) {
        let lab = lab(&small.text());
        let model = HostModel::new(&lab, &lab.hosts[0]);
        let answer = fit_host(&lab, &lab.hosts[0]);
        let past = answer.running.as_ref().filter(|running| !running.passed.is_empty());
        let counts = match past {
            Some(running) => lab.guests.iter().map(|guest| running.mix[&guest.name]).collect(),
            None => model.composition.counts(answer.fits.unwrap_or(n).min(1000)),
        };
        if past.is_none() && answer.fits.is_none_or(|n| n > 1000) {
            return Ok(());
        }
        let sharing = model.sharing(&counts, Age::LivedIn, model.counted_scan());
        let load = model.memory(&counts, Age::LivedIn, &sharing);
        let sum = |part: fn(&berthage::sizing::profiles::ProfileAnswer) -> f64| -> f64 {
            answer.profiles.iter().map(part).sum()
        };
        let mean = model.mean_memory(&counts, &load);
        prop_assert!((sum(|one| one.memory) - mean).abs() <= 1e-9 * mean.max(1.0), "{} of {mean}", sum(|one| one.memory));
        prop_assert!((sum(|one| one.shared) - load.merged).abs() <= 1e-9 * mean.max(1.0));
        prop_assert!((sum(|one| one.cpu) - model.mean_cpu(&counts)).abs() <= 1e-9);
        let [reads, writes] = model.operations(0, &counts);
        prop_assert!((sum(|one| one.operations) - reads - writes).abs() <= 1e-9 * (reads + writes).max(1.0));
        prop_assert_eq!(answer.profiles.iter().map(|one| one.guests).sum::<u64>(), counts.iter().sum::<u64>());
        for one in &answer.profiles {
            prop_assert!(one.frees["cpu"] <= one.cpu + model.cpu_supply(&counts).abs() * 1e-9);
            prop_assert!(one.frees["memory"] > 0.0);
        }
    }
}
