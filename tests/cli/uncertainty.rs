//! `fit --draws` as a person calls it.

use serde_json::{Value, json};

use crate::support::{PLAIN_HOST, Session, run};

const LAB: &str = "examples/undecided.toml";

#[test]
fn every_format_has_the_interval_and_nothing_goes_to_stderr() {
    let with = |format| {
        run(&[
            "fit", LAB, "--full", "--draws", "300", "--format", format, "--width", "100",
        ])
    };
    for (format, wanted) in [
        ("text", "90 % hold between"),
        ("markdown", "measure first"),
        ("csv", "hosts/interval,box,draws,300\n"),
        (
            "json",
            "\"interval\": {\n        \"draws\": 300,\n        \"seed\": 1,",
        ),
    ] {
        let session = with(format);
        session.answers().says(wanted);
    }
}

#[test]
fn without_draws_there_is_no_interval_and_else_there_is_one() {
    let answer = |more: &[&str]| Session::new().args(&["fit", LAB]).json(more)["hosts"][0].clone();
    assert_eq!(answer(&["--draws", "0"])["interval"], Value::Null);
    let interval = &answer(&[])["interval"];
    assert_eq!(
        (&interval["draws"], &interval["seed"]),
        (&json!(1000), &json!(1))
    );
    assert!(interval["guessed"].as_u64() < interval["inputs"].as_u64());
    assert_ne!(
        answer(&["--seed", "3"])["interval"]["moves"],
        interval["moves"]
    );
}

#[test]
fn what_is_given_plainly_is_not_drawn_and_a_guess_says_how_it_is_measured() {
    let lab = Session::lab(&format!(
        "{PLAIN_HOST}[[guest]]\nname = \"web\"\nmemory = \"2 GiB\"\n"
    ));
    let moves = |sets: &[&str]| {
        let answer = lab.clone().args(&["fit", "@lab.toml"]).set(sets).json(&[]);
        let moves = answer["hosts"][0]["interval"]["moves"].as_array().cloned();
        let moves = moves.expect("an interval").into_iter();
        moves
            .map(|one| {
                (
                    one["key"].as_str().unwrap().to_owned(),
                    one["measure"].clone(),
                )
            })
            .collect::<Vec<_>>()
    };
    let (first, measure) = moves(&[]).swap_remove(0);
    assert_eq!(first, "guest.web.touched_busy");
    assert_eq!(
        measure,
        "berthage calibrate, from readings with guests that have been busy"
    );
    let given = moves(&["guest.web.touched_busy=\"1900 MiB\""]);
    assert!(given.iter().all(|(key, _)| *key != first), "{given:?}");
    // Who gives a range knows how far it goes, and it is drawn as it is given.
    let range = "guest.web.touched_busy={low=\"1 GiB\",likely=\"1.9 GiB\",high=\"2 GiB\"}";
    assert_eq!(moves(&[range])[0], (first, Value::Null));
}

/// Sums of guesses that may be far higher than likely lie above the sum of likely values.
#[test]
fn a_count_outside_of_its_range_says_so() {
    let disks =
        "[[host.disk]]\nname = \"ssd\"\ndevices = 1\ncapacity = \"1 TB\"\nendurance = \"100 TB\"\n";
    let lab = format!(
        "{PLAIN_HOST}{disks}[[guest]]\nname = \"web\"\nmemory = \"1 GiB\"\nwritten = \"1 GB/day\"\n"
    );
    let session = Session::lab(&lab).args(&["fit", "@lab.toml"]);
    let answer = session.json(&[]);
    let (host, says) = (
        &answer["hosts"][0],
        "is with every guess at its likely value",
    );
    assert!(
        host["fits"].as_u64() > host["interval"]["high"].as_u64(),
        "{host}"
    );
    session.run(&[]).says(says);
    session.run(&["--full"]).says(says);
    let large = session.set(&["host.box.disk.ssd.endurance=\"2000 TB\""]);
    assert!(!large.run(&[]).stdout.contains(says));
}

#[test]
fn a_lab_in_which_everything_is_given_says_so() {
    let every = "[policy]\ncorrelation = 0.1\n[[host]]\nname = \"box\"\ncpu.groups = [{ cores = 8, smt_gain = 0.2 }]\n\
         cpu.base_cores = 0.2\n[host.memory]\nmodules = [\"32 GiB\"]\nfirmware_reserved = \"0.5 GiB\"\nbase = \"2 GiB\"\n\
         [[guest]]\nname = \"web\"\nmemory = \"2 GiB\"\ntouched = \"1 GiB\"\ntouched_busy = \"1.5 GiB\"\ncommon = \"0 B\"\n\
         repeats = \"0 B\"\nkeeps = \"90 %\"\noverhead = \"80 MiB\"\nbusy = \"5 %\"\nidle_load = \"1 %\"\nbusy_load = \"60 %\"\n";
    let session = Session::lab(every);
    let answer = session.json(&["fit", "@lab.toml"]);
    let host = &answer["hosts"][0];
    assert_eq!(
        (&host["certain"], &host["interval"]),
        (&json!(true), &Value::Null)
    );
    let text = session.run(&["fit", "@lab.toml", "--width", "200", "--full"]);
    text.answers()
        .says("Every value that this count rests on was given");
}

#[test]
fn two_hosts_are_compared_draw_by_draw() {
    let answer = Session::new().json(&["compare", "examples/two-boxes.toml"]);
    let pair = &answer["holds_more"][0];
    let (share, equal) = (
        pair["share"].as_f64().unwrap(),
        pair["equal"].as_f64().unwrap(),
    );
    assert!((0.0..=1.0).contains(&(share + equal)), "{pair}");
    assert_ne!(pair["host"], pair["than"]);
    // The same host twice holds the same in every draw.
    let host = |name: &str| {
        format!(
            "[[host]]\nname = \"{name}\"\ncpu = {{ groups = [{{ cores = 4, threads = 1 }}], base_cores = 0 }}\n\
             memory = {{ modules = [\"32 GiB\"], base = \"2 GiB\", firmware_reserved = \"0 B\" }}\n"
        )
    };
    let hosts = ["box", "twin"].map(host).concat();
    let text = format!("{hosts}[[guest]]\nname = \"web\"\nmemory = \"2 GiB\"\n");
    let answer = Session::lab(&text).json(&["compare", "@lab.toml"]);
    assert_eq!(
        answer["holds_more"][0]["equal"], 1.0,
        "{}",
        answer["holds_more"]
    );
}

#[test]
fn a_purchase_is_worth_it_only_where_it_gains_in_nearly_all_draws() {
    let answer = Session::new().json(&["upgrade", "examples/undecided.toml", "--host", "box"]);
    let options = answer["options"].as_array().unwrap();
    assert!(options.iter().any(|one| one["drawn"]["worth_it"] == true));
    for option in options.iter().filter(|one| !one["drawn"].is_null()) {
        let (low, high) = (
            option["drawn"]["low"].as_i64(),
            option["drawn"]["high"].as_i64(),
        );
        assert!(high.is_none() || low <= high, "{option}");
        assert_eq!(option["drawn"]["worth_it"], low > Some(0), "{option}");
    }
    let best = answer["best"]
        .as_u64()
        .map(|index| &options[index as usize]);
    assert!(best.is_none_or(|best| best["drawn"]["worth_it"] == true));
}

#[test]
fn the_draws_count_what_is_added_to_the_guests_of_the_call() {
    for guests in ["20", "web=17,runner=3"] {
        let call = ["fit", "examples/shelf.toml", "--guests", guests];
        let host = &crate::support::json(&call)["hosts"][0];
        let count = |value: &serde_json::Value| value.as_u64().expect("a count");
        let interval = &host["interval"];
        let (low, high) = (count(&interval["low"]), count(&interval["high"]));
        assert!((low..=high).contains(&count(&host["fits"])), "{interval}");
    }
}
