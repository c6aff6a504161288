//! `rollout` as a person runs it: what it answers, what it draws, what it refuses.

use serde_json::Value;

use crate::support::{BATCH_KEYS, MOMENT_KEYS, Session, run};

/// A host that fresh guests without page sharing fill at about 17: 16 GiB, and 0.8 GiB a guest.
const NARROW: &str = r#"
[[host]]
name = "narrow"
cpu.groups = [{ cores = 8, threads = 2 }]
memory.modules = ["16 GiB"]
memory.swap = "1 GiB"
[[host.disk]]
name = "pool"
capacity = "1 TB"
read_iops = 20000
write_iops = 10000
sustained_speed = "400 MB/s"
burst = "20 GB"
burst_speed = "1600 MB/s"
[[image]]
name = "server"
size = "4 GB"
[[guest]]
name = "web"
image = "server"
memory = "1 GiB"
touched = "768 MiB"
overhead = "32 MiB"
busy = "5 %"
clone = "copy"
disk_used = "1 GB"
"#;

fn narrow() -> Session {
    Session::lab(NARROW).args(&["rollout", "@lab.toml"])
}

/// Exit status and answer.
fn json(session: &Session, more: &[&str]) -> (u8, Value) {
    let ended = session.run(&[more, &["--format", "json"]].concat());
    (ended.status, ended.json())
}

#[test]
fn a_target_within_reach_is_planned() {
    let (status, answer) = json(&narrow(), &["--target", "12", "--fresh"]);
    assert_eq!(status, 0);
    assert_eq!(
        (&answer["report"], &answer["version"]),
        (&"rollout".into(), &1.into())
    );
    assert_eq!(
        (answer["target"].as_u64(), answer["reached"].as_u64()),
        (Some(12), Some(12))
    );
    assert_eq!(answer["safe"], true);
    assert!(answer["total_s"].as_f64().unwrap() > 0.0);
    for key in ["batch", "wait_s"] {
        assert!(answer["plan"].get(key).is_some(), "plan.{key}");
    }
    for key in BATCH_KEYS {
        assert!(answer["batches"][0].get(key).is_some(), "batches.{key}");
    }
    for key in MOMENT_KEYS {
        assert!(answer["timeline"][0].get(key).is_some(), "timeline.{key}");
    }
}

#[test]
fn a_target_out_of_reach_says_how_far_why_and_what_would_help() {
    let narrow = narrow();
    let session = narrow.run(&["--target", "40", "--width", "200"]);
    session.exits(1).is_silent();
    for words in [
        "of 40 asked for",
        "Why not safely",
        "more memory in the host",
    ] {
        session.says(words);
    }
    let (status, answer) = json(&narrow, &["--target", "40"]);
    assert_eq!((status, &answer["safe"]), (1, &false.into()));
    let reached = answer["reached"].as_u64().unwrap();
    assert!((10..20).contains(&reached), "{reached}");
}

#[test]
fn past_the_cliff_guests_are_lost_only_anyway() {
    let narrow = narrow();
    let (_, planned) = json(&narrow, &["--target", "40"]);
    assert_eq!(planned["killed"], 0);
    let (status, anyway) = json(&narrow, &["--target", "40", "--anyway"]);
    assert_eq!(status, 1);
    assert!(anyway["killed"].as_u64().unwrap() > 0);
    let lost = anyway["batches"]
        .as_array()
        .unwrap()
        .iter()
        .map(|batch| batch["killed"].as_u64().unwrap());
    assert_eq!(lost.sum::<u64>(), anyway["killed"].as_u64().unwrap());
}

#[test]
fn cloning_takes_the_time_of_the_pool() {
    let narrow = narrow();
    // Two full copies of 4 + 1 GB are 10 GB, all of it in the fast phase of 20 GB: 10/1.6 = 6.25 s.
    let (_, answer) = json(
        &narrow,
        &["--target", "2", "--batch", "2", "--wait", "10 min"],
    );
    let clone = answer["batches"][0]["clone_s"].as_f64().unwrap();
    assert!((clone - 6.25).abs() < 0.05 * 6.25, "{clone}");
    let (_, ready) = json(
        &narrow,
        &[
            "--target", "2", "--batch", "2", "--wait", "10min", "--cloned",
        ],
    );
    assert!(ready["total_s"].as_f64() < answer["total_s"].as_f64());
}

#[test]
fn busy_guests_hold_what_they_touched() {
    let narrow = narrow();
    let own = [
        "--target", "8", "--batch", "8", "--wait", "10min", "--watch", "2h",
    ];
    let used = |more: &[&str]| {
        let (_, answer) = json(&narrow, &[&own[..], more].concat());
        answer["timeline"].as_array().unwrap().last().unwrap()["used"]
            .as_f64()
            .unwrap()
    };
    let calm = used(&[]);
    let busy = used(&["--busy-at", "1h:web=8:5min"]);
    // 8 guests grow from 768 to 0.97·1024 MiB and keep nine tenths of it, of 15.26 GiB that the kernel sees.
    let kept = 8.0 * 0.9 * (0.97 * 1024.0 - 768.0) / (15.5 * 1024.0 * (1.0 - 64.0 / 4096.0));
    assert!(
        ((busy - calm) / kept - 1.0).abs() < 0.1,
        "{} of {kept}",
        busy - calm
    );
    assert_eq!(used(&["--seed", "7"]), used(&["--seed", "7"]));
}

#[test]
fn all_formats_and_the_picture_tell_the_same() {
    let narrow = narrow();
    let page = ["--format", "markdown", "--output", "@log.md"];
    let drawn = narrow
        .clone()
        .args(&["--target", "12", "--fresh", "--chart", "@start.svg"]);
    drawn.run(&page).answers();
    let svg = narrow.read("start.svg");
    assert!(
        svg.contains("<title") && svg.contains("limit 90 %") && svg.contains("cliff"),
        "{svg}"
    );
    assert!(narrow.read("log.md").contains("](<start.svg>)"));
    let (_, answer) = json(&narrow, &["--target", "12", "--fresh"]);
    let sheet = narrow
        .run(&["--target", "12", "--fresh", "--format", "csv"])
        .stdout;
    let rows = |kind: &str| sheet.lines().filter(|line| line.starts_with(kind)).count();
    assert_eq!(
        rows("batches,") / BATCH_KEYS.len(),
        answer["batches"].as_array().unwrap().len()
    );
    assert_eq!(
        rows("timeline,") / MOMENT_KEYS.len(),
        answer["timeline"].as_array().unwrap().len()
    );
    for width in ["60", "80", "160"] {
        let text = narrow
            .run(&["--target", "12", "--fresh", "--width", width])
            .stdout;
        let widest = text.lines().map(|line| line.chars().count()).max().unwrap();
        assert!(widest <= width.parse().unwrap(), "{width}: {widest}");
    }
    assert!(narrow.run(&["--target", "12", "--ascii"]).stdout.is_ascii());
}

#[test]
fn wrong_options_are_refused_with_what_is_allowed() {
    let narrow = narrow();
    for (more, wanted) in [
        (&["--wait", "5"][..], "--wait"),
        (&["--wait", "-5min"], "between 0 s and 30 days"),
        (&["--at-most", "120%"], "at most 100 %"),
        (&["--busy-at", "1h:wep=3:5min"], "Did you mean \"web\""),
        (&["--busy-at", "soon"], "WHEN:GUEST=NUMBER:HOW LONG"),
        (&["--steps", "5,10"], "--wait"),
        (&["--chart", "picture.png"], ".svg"),
    ] {
        // The equals sign keeps a value that begins with a dash from being taken for an option.
        let joined: Vec<String> = match more {
            [option, value] => vec![format!("{option}={value}")],
            _ => Vec::new(),
        };
        let args: Vec<&str> = joined.iter().map(String::as_str).collect();
        narrow.run(&args).refuses().reports(wanted);
    }
    run(&["rollout", "examples/two-boxes.toml"])
        .exits(2)
        .reports("Name one with --host");
}

/// Settings of `NARROW`: most of a guest can be merged, and there is no swap.
const SHARED: [&str; 6] = [
    "host.narrow.memory.swap=\"0 B\"",
    "host.narrow.merging.mode=\"fixed\"",
    "host.narrow.merging.pages_per_wake=4000",
    "guest.web.common=\"700 MiB\"",
    "guest.web.repeats=\"0 MiB\"",
    "guest.web.busy=0",
];

#[test]
fn a_host_that_fits_only_through_sharing_cannot_start_all_at_once() {
    // 90 % of each guest is common: some 60 settle where 17 unmerged ones fit.
    let shared = Session::lab(NARROW)
        .args(&["fit", "@lab.toml"])
        .set(&SHARED);
    let answer = shared.json(&[]);
    let host = &answer["hosts"][0];
    assert!(host["fits"].as_u64().unwrap() > 40, "{}", host["fits"]);
    let back = &host["restart"];
    assert_eq!(back["all_at_once"], false);
    assert!(back["batch"].as_u64().unwrap() < 20, "{back}");
    for key in ["batch", "wait_s", "total_s", "left_off"] {
        assert!(back.get(key).is_some(), "{key}");
    }
    let ids: Vec<&str> = host["cautions"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one["id"].as_str().unwrap())
        .collect();
    assert!(ids.contains(&"restart"), "{ids:?}");
    shared
        .run(&["--width", "200"])
        .says("not all at once, those that must run first");
    // The same guests on a host with room for all of them unmerged.
    let roomy = shared.json(&["--set", "policy.max_guests=10"]);
    assert_eq!(roomy["hosts"][0]["restart"]["all_at_once"], true);
}

#[test]
fn a_wait_that_cannot_be_kept_is_said() {
    // A copy of 4 GB and 1 GB at 1600 MB/s takes 3.125 s: ten guests 31 s, and they start 30 s apart.
    let narrow = narrow();
    let own = |wait| {
        let args = ["--target", "12", "--batch", "6", "--wait", wait];
        narrow
            .run(&[args.as_slice(), &["--width", "200"]].concat())
            .stdout
    };
    assert!(own("10s").contains("too short to be kept"));
    assert!(!own("1h").contains("too short to be kept"));
}

#[test]
fn the_picture_shows_where_guests_are_lost() {
    let narrow = narrow();
    let args = ["--target", "40", "--anyway", "--chart", "@run.svg"];
    let (_, answer) = json(&narrow, &args);
    let lossy = answer["batches"]
        .as_array()
        .unwrap()
        .iter()
        .find(|batch| batch["killed"] != 0);
    let picture = narrow.read("run.svg");
    let killed = lossy.unwrap()["killed"].as_u64().unwrap();
    assert!(
        picture.contains(&format!("{killed} killed")),
        "{killed} killed"
    );
    assert!(picture.contains(&format!("kills {} guests", answer["killed"])));
}

#[test]
fn what_is_started_is_told_as_it_is() {
    let narrow = narrow();
    let told = |more: &[&str]| {
        let session = narrow.run(more);
        (session.status, session.words())
    };
    let (status, one) = told(&["--target", "1"]);
    assert_eq!(status, 0);
    assert!(
        one.contains("narrow safely reaches 1 guest: start it, "),
        "{one}"
    );
    // Not one guest fits, and so none is started.
    let (status, none) = told(&["--set", "host.narrow.memory.base=\"13.9 GiB\""]);
    assert_eq!(status, 1, "{none}");
    assert!(
        none.contains("narrow holds no guest safely, so none is started; memory peaks at "),
        "{none}"
    );
    assert!(!none.contains("guests before"), "{none}");
    // Guests that were busy are not called fresh.
    let (_, busy) = told(&[
        "--target",
        "16",
        "--busy-at",
        "1h:web=3:10min",
        "--watch",
        "2h",
        "--full",
    ]);
    let (_, fresh) = told(&["--target", "16", "--full"]);
    let never = "These guests have never been busy.";
    assert!(fresh.contains(never) && !busy.contains(never), "{busy}");
}

#[test]
fn a_target_that_busy_guests_do_not_allow_is_not_safe() {
    let narrow = narrow();
    let (_, fit) = json(&narrow, &["--target", "12", "--fresh"]);
    let held = fit["lived_in"].as_u64().unwrap();
    assert!(held < 12, "{held}");
    assert_eq!(fit["safe"], true);
    let (status, lived) = json(&narrow, &["--target", "12"]);
    assert_eq!((status, &lived["safe"]), (1, &false.into()));
    assert_eq!(lived["reached"], 12);
    let text = narrow.run(&["--target", "12"]).words();
    assert!(
        text.contains(&format!(
            "Not safe: once its guests have been busy, memory holds {held} guests"
        )),
        "{text}"
    );
    let at_most = held.to_string();
    let (status, _) = json(&narrow, &["--target", &at_most]);
    assert_eq!(status, 0);
}

#[test]
fn guests_that_must_run_are_the_floor_of_a_target() {
    // 40 that must run need more than the host has: it is not safe to start some of them.
    let narrow = narrow().args(&["--set", "guest.web.count=40"]);
    let (status, answer) = json(&narrow, &[]);
    assert_eq!((status, &answer["safe"]), (1, &false.into()));
    assert!(answer["shortfall"]["missing"].as_f64().unwrap() > 0.0);
    let text = narrow.run(&[]).words();
    assert!(text.contains("of the 40 guests that must run"), "{text}");
    // What is missing and what would cure it are one number.
    let missing = text
        .split("; ")
        .find_map(|part| part.split_once(" are missing"));
    let (missing, _) = missing.expect("what is missing");
    assert!(
        text.contains(&format!("- {missing} more memory in the host")),
        "{text}"
    );
}

#[test]
fn a_way_to_start_says_one_thing() {
    let narrow = narrow().args(&["--fresh", "--width", "200"]);
    let lead = |more: &[&str]| {
        let text = narrow.run(more).words();
        assert!(!text.contains("every 0 s"), "{more:?}: {text}");
        let how = text
            .split_once(": start ")
            .and_then(|(_, how)| how.split_once(" in all"));
        how.expect("how to start").0.to_owned()
    };
    let one_after_another = "a guest every 30 s";
    for (more, says, does_not) in [
        (&["--target", "12"][..], "all 12", "moment"),
        (
            &["--target", "12", "--stagger", "0s"],
            "at the same moment",
            "every",
        ),
        (
            &["--target", "12", "--batch", "12", "--wait", "0s"],
            "all 12",
            "moment",
        ),
        (
            &["--target", "12", "--as-soon-as-safe"],
            one_after_another,
            "By a fixed rule",
        ),
        (
            &["--target", "12", "--batch", "4", "--wait", "0s"],
            "4 after 4, without a wait",
            "too short",
        ),
        (
            &["--target", "12", "--batch", "4", "--wait", "1h"],
            "4 every 1 h",
            "at once",
        ),
    ] {
        let lead = lead(more);
        assert!(
            lead.contains(says) && !lead.contains(does_not),
            "{more:?}: {lead}"
        );
    }
}

/// After a power cut: the time of the disks and of the processor by hand, which of them sets the pace, and the list.
#[test]
fn after_a_power_cut_disk_and_processor_have_their_part() {
    let set = [
        "host.narrow.disk.pool.read_iops=400",
        "host.narrow.cpu.base_cores=0.2",
        "host.narrow.cpu.groups=[{ cores = 8, threads = 1 }]",
        "guest.web.boot_reads=4000",
        "guest.web.boot_cpu=6",
        "guest.web.boot_time=\"30 s\"",
    ];
    let fit = Session::lab(NARROW)
        .args(&["fit", "@lab.toml", "--draws", "0"])
        .set(&set);
    let back = |more: &[&str]| {
        let answer = fit.json(more);
        let text = fit
            .run(&[more, &["--full", "--width", "200"]].concat())
            .words();
        (answer["hosts"][0].clone(), text)
    };
    let (host, text) = back(&[]);
    let n = host["fits"].as_f64().unwrap();
    let number = |host: &Value, key: &str| host["restart"][key].as_f64().unwrap();
    // 4,000 reads a boot at 400 a second; 6 s of a processor of 8 cores less 0.2.
    assert!((number(&host, "disk_s") - n * 10.0).abs() < 1e-6, "{host}");
    assert!(
        (number(&host, "processor_s") - n * 6.0 / 7.8).abs() < 1e-6,
        "{host}"
    );
    assert!(
        (number(&host, "total_s") - n * 10.0).abs() < 1.0,
        "all at once, as the disk reads"
    );
    assert!(text.contains("the disks set the pace."), "{text}");
    let fast = "host.narrow.disk.pool.read_iops=400000";
    let slow = "guest.web.boot_cpu=60";
    let (host, text) = back(&["--set", fast, "--set", slow]);
    assert!(text.contains("the processor sets the pace."), "{text}");
    assert!(
        (number(&host, "total_s") - n * 60.0 / 7.8).abs() < 1.0,
        "{host}"
    );
    let (_, text) = back(&["--set", fast]);
    assert!(
        text.contains("neither makes a boot longer than it is by itself."),
        "{text}"
    );
    // Waits are for memory, and each line of the list is a batch: when, and which guests.
    let shared: Vec<&str> = SHARED.iter().flat_map(|set| ["--set", set]).collect();
    let (host, text) = back(&shared);
    assert!(
        text.contains("; the waits are for memory, until pages have been merged."),
        "{text}"
    );
    let batches = host["restart"]["batches"].as_array().unwrap();
    assert!(batches.len() > 1, "{host}");
    let all = batches
        .iter()
        .map(|batch| batch["guests"]["web"].as_u64().unwrap());
    assert_eq!(
        all.sum::<u64>() + host["restart"]["left_off"].as_u64().unwrap(),
        host["fits"].as_u64().unwrap()
    );
    assert!(
        text.contains(&format!("- at once: {} web", batches[0]["guests"]["web"])),
        "{text}"
    );
}
