//! Guests that keep coming, and loads with hours, as a person sees them.

use crate::support::{PLAIN_HOST, Session, json, run};

const GROWING: &str = "tests/cli/growing.toml";
const HOURS: &str = "tests/cli/hours.toml";
const FAST: [&str; 2] = ["--draws", "0"];

fn months(answer: &serde_json::Value) -> f64 {
    answer.as_f64().expect("a date")
}

#[test]
fn every_screen_says_when_the_host_is_full_and_fits_24_lines() {
    for (call, words) in [
        (
            &["fit", GROWING, "--host", "box"][..],
            "If guests keep coming it is full in ",
        ),
        (&["fit", GROWING], "full in"),
        (&["compare", GROWING], "price a"),
        (&["compare", GROWING, "--need", "web=8,db=2"], "full in"),
        (&["upgrade", GROWING, "--host", "box"], "a month more"),
        (&["fit", HOURS], "worst in"),
    ] {
        let screen = run(&[call, &["--draws", "50", "--width", "80"]].concat());
        screen.is_silent();
        let lines = screen.stdout.lines().count();
        assert!(lines <= 24, "{call:?}: {lines} lines\n{}", screen.stdout);
        screen.says(words);
    }
    let words = run(&["fit", HOURS, "--draws", "0"]).words();
    assert!(words.contains(" runs out first, in the "), "{words}");
}

#[test]
fn compare_ranks_by_how_long_each_lasts_and_says_what_a_month_costs() {
    let answer = json(&[&["compare", GROWING][..], &FAST].concat());
    let full = |host: usize| &answer["hosts"][host]["full_in"];
    assert!(months(&full(1)["months"]) > months(&full(0)["months"]));
    assert_eq!(answer["best"]["lasts"], "big");
    for (host, price) in [(0, 600.0), (1, 1100.0)] {
        let a_month = price / months(&full(host)["months"]);
        assert!((months(&full(host)["price_per_month"]) - a_month).abs() < 1e-9);
    }
    run(&[&["compare", GROWING, "--full", "--width", "100"][..], &FAST].concat())
        .says("price a month until then")
        .says("full if guests keep coming in");
}

#[test]
fn a_purchase_says_how_much_longer_the_host_lasts_and_what_that_costs_a_month() {
    let answer = json(&[&["upgrade", GROWING, "--host", "box"][..], &FAST].concat());
    let now = months(&answer["now"]["full_in_months"]);
    let options = answer["options"].as_array().expect("options");
    let longer = options
        .iter()
        .filter(|one| one["full_in_months"].as_f64() > Some(now));
    assert!(longer.count() > 1, "{answer}");
    // One more host of the kind starts empty, so it lasts longer than the first, and both together more than twice as long.
    let more = options
        .iter()
        .find(|one| one["change"] == "1 more host of the kind");
    assert!(months(&more.expect("offered")["full_in_months"]) > 2.0 * now);
}

#[test]
fn csv_and_json_carry_dates_and_periods() {
    let csv = run(&[
        &["fit", GROWING, "--host", "box", "--format", "csv"][..],
        &FAST,
    ]
    .concat())
    .stdout;
    for row in [
        "full_in,box,months,",
        "full_in,box,resource,",
        "memory,full_in_months,",
    ] {
        assert!(csv.contains(row), "{row}: {csv}");
    }
    let csv = run(&[&["fit", HOURS, "--format", "csv"][..], &FAST].concat()).stdout;
    assert!(
        csv.contains("memory,period,") && csv.contains("memory,past_limit,"),
        "{csv}"
    );
    let answer = json(&[&["fit", HOURS][..], &FAST].concat());
    assert_eq!(answer["periods"][0]["name"], "night");
    assert!(answer["hosts"][0]["resources"][0]["period"].is_string());
}

#[test]
fn with_guests_that_come_the_picture_is_over_months() {
    let session = Session::new();
    session
        .run(&[
            "fit",
            GROWING,
            "--host",
            "box",
            "--draws",
            "0",
            "--chart",
            "@load.svg",
        ])
        .says("Load over time is drawn to");
    let picture = session.read("load.svg");
    let answer = json(&["fit", GROWING, "--host", "box", "--draws", "0", "--plot"]);
    let full = months(&answer["hosts"][0]["full_in"]["months"]);
    for part in [
        "Load over time if guests keep coming: box",
        ">months from now<",
        ">guests<",
    ] {
        assert!(picture.contains(part), "{part}");
    }
    let date = format!(">full in {}<", berthage::unit::format::months(full));
    assert!(picture.contains(&date), "{date}");
    // The line of what is full first is at its limit there.
    let timeline = &answer["hosts"][0]["timeline"];
    let at = timeline["months"].as_array().expect("months").iter();
    let at = at
        .clone()
        .position(|month| month.as_f64() == Some(full))
        .expect("a point");
    let first = answer["hosts"][0]["full_in"]["resource"].as_str();
    let loads = timeline["loads"].as_array().expect("loads").iter();
    let load = loads
        .clone()
        .find(|one| one["name"].as_str() == first)
        .expect("a line");
    let [before, then] = [at - 1, at].map(|at| load["load"][at].as_f64().expect("a load"));
    assert!(before <= 1.0 && then > 1.0, "{before} {then}");
    // The worst period stands with each resource.
    session
        .run(&[
            "fit",
            HOURS,
            "--set",
            "guest.backup.grows=0",
            "--draws",
            "0",
            "--chart",
            "@hours.svg",
        ])
        .exits(0);
    assert!(session.read("hours.svg").contains("memory, "));
}

#[test]
fn a_rollout_follows_the_clock_or_says_why_it_does_not() {
    let hours = Session::new().args(&["rollout", HOURS, "--target", "4", "--seed", "1"]);
    hours.run(&["--at", "22:00"]).says("It starts at 22:00");
    let words = hours.run(&[]).words();
    assert!(
        words.contains("--at 22:00 would follow the clock"),
        "{words}"
    );
    assert_ne!(
        hours
            .run(&["--at", "22:00", "--watch", "3h", "--format", "json"])
            .stdout,
        hours
            .run(&["--at", "7", "--watch", "3h", "--format", "json"])
            .stdout
    );
    for wrong in ["25:00", "24:00", "22:60", "ten", ""] {
        hours
            .run(&["--at", wrong])
            .refuses()
            .reports("must be a time of the day from 0:00 to 23:59")
            .reports("rite for example 22:00");
    }
    run(&["rollout", HOURS, "--at", "22:00"])
        .refuses()
        .reports("--seed");
    // No period, and a period that no clock shows.
    run(&[
        "rollout",
        "examples/shelf.toml",
        "--seed",
        "1",
        "--at",
        "22:00",
    ])
    .refuses()
    .reports("the lab has no period");
    let by_share = format!(
        "{PLAIN_HOST}[[period]]\nname = \"night\"\nshare = \"30 %\"\n\
         [[guest]]\nname = \"web\"\nmemory = \"2 GiB\"\nbusy = {{ night = 0.3, otherwise = 0.02 }}\n"
    );
    let call = ["rollout", "@lab.toml", "--target", "4", "--seed", "1"];
    let by_share = Session::lab(&by_share).args(&call);
    by_share
        .run(&["--at", "22:00"])
        .refuses()
        .reports("`night` is a share of the time, which no clock shows");
    by_share
        .run(&["--width", "200"])
        .says("periods by share have no clock");
}

/// Backups come, which are busy by night: the night fills the host, whatever the period that is worst today.
#[test]
fn what_is_full_names_the_period_of_then() {
    let picture = Session::new();
    picture
        .run(&["fit", HOURS, "--chart", "@load.svg"])
        .answers();
    assert!(
        picture
            .read("load.svg")
            .contains(">processor, night: 19 months<")
    );
    let fleet = run(&["fleet", HOURS, "--width", "200"]);
    fleet.says("If guests keep coming the hosts are full in 19 months, at 24 guests");
    fleet.says("processor of box, at >99.9 %, in the night period.");
    let full = &json(&["fleet", HOURS])["full_in"];
    assert_eq!(full["fullest"]["period"], "night");
    let fit = json(&["fit", HOURS, "--draws", "0"]);
    let months = |value: &serde_json::Value| value["months"].as_f64().expect("a date");
    assert!((months(full) - months(&fit["hosts"][0]["full_in"])).abs() < 0.001);
}
