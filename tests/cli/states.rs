//! What JSON says where there is no number: resources that are broken or never run out, waits without bound, parts of a
//! host that nobody described.

use serde_json::Value;

use crate::support::Session;

/// Exit status and the only host of the answer.
fn host(text: &str) -> (u8, Value) {
    let ended = Session::lab(text).run(&["fit", "@lab.toml", "--format", "json"]);
    (ended.status, ended.json()["hosts"][0].take())
}

fn resource<'a>(host: &'a Value, name: &str) -> &'a Value {
    let all = host["resources"].as_array().unwrap();
    let found = all.iter().find(|one| one["name"] == name);
    found.unwrap_or_else(|| panic!("no {name}"))
}

const HOST: &str = r#"
[[host]]
name = "box"
cpu = { groups = [{ cores = 2 }], base_cores = 0 }
[host.memory]
modules = ["16 GiB"]
"#;

/// What the page says by the plain sum.
fn plain_sum(text: &str) -> String {
    let page = Session::lab(text)
        .run(&["fit", "@lab.toml", "--width", "1000"])
        .stdout;
    let told = page.split_once(" by the plain sum").unwrap().0;
    told.rsplit_once(' ').unwrap().1.to_owned()
}

#[test]
fn the_plain_sum_counts_all_that_run() {
    // 16 GiB less what firmware, page tables and the host's own take leaves 13.3 GiB.
    let guests = |count: u64| {
        format!(
            "{HOST}[[guest]]\nname = \"must\"\ncount = {count}\nmemory = \"2 GiB\"\n\
             [[guest]]\nname = \"g\"\nmemory = \"1 GiB\"\n"
        )
    };
    assert_eq!(plain_sum(&guests(3)), "10");
    assert_eq!(plain_sum(&guests(1)), "12");
    assert_eq!(plain_sum(&guests(7)), "none");
    let alone = format!("{HOST}[[guest]]\nname = \"g\"\nmemory = \"1 GiB\"\n");
    assert_eq!(plain_sum(&alone), "13");
    // Three sets of two.
    let sets = format!("{HOST}[[guest]]\nname = \"g\"\ncount = 2\nmemory = \"2 GiB\"\n");
    assert_eq!(plain_sum(&sets), "6");
}

#[test]
fn broken_by_guests_that_must_run() {
    // Twenty guests of 1 GiB and half a core each: neither 16 GiB nor 2 cores hold them. Everything is null but the
    // values at N = 0, where the twenty run.
    let (status, host) = host(&format!(
        "{HOST}[[guest]]\nname = \"must\"\ncount = 20\nmemory = \"1 GiB\"\ntouched = \"1 GiB\"\nbusy = 0\n\
         idle_load = 0.5\n[[guest]]\nname = \"g\"\nmemory = \"1 GiB\"\n"
    ));
    assert_eq!(status, 1);
    for key in ["fits", "fresh", "unshared", "stretched", "plain_sum"] {
        assert!(host[key].is_null(), "{key}: {}", host[key]);
    }
    assert_eq!(host["binds"], serde_json::json!(["memory", "cpu"]));
    assert_eq!(
        (&host["breaks_at"], &host["breaks_at_sudden"]),
        (&Value::from(0), &Value::from(0))
    );
    assert_eq!(
        host["mix"],
        serde_json::json!({ "g": 0, "must": 20 }),
        "at N = 0"
    );
    assert_eq!(host["guests"], 20);
    for name in ["memory", "cpu"] {
        let one = resource(&host, name);
        assert_eq!(one["state"], "broken");
        assert!(one["fits"].is_null());
        assert!(one["load"].as_f64().unwrap() > 1.0);
    }
    // 20·0.5 = 10 cores are demanded of 2. Twenty vCPUs wait for each other and no longer: 24.0 ms, as exact fractions from the
    // definition of the finite source.
    assert_eq!(resource(&host, "cpu")["mean"], 10.0);
    let wait = host["cpu"]["mean_wait_s"].as_f64().expect("a bound");
    assert!((wait - 0.024).abs() < 1e-9, "{wait}");
}

#[test]
fn a_resource_that_never_runs_out() {
    // Guests that send nothing: the link is within at a million of them, and comes last.
    let (status, host) = host(&format!(
        "{HOST}[host.network]\nlink = \"1 Gbit/s\"\n[[guest]]\nname = \"g\"\nmemory = \"1 GiB\"\n"
    ));
    assert_eq!(status, 0);
    let network = resource(&host, "network");
    assert_eq!(network["state"], "unbounded");
    assert!(network["fits"].is_null());
    for key in ["mean", "at_risk", "load"] {
        assert_eq!(network[key].as_f64(), Some(0.0), "{key}");
    }
    let last = host["resources"].as_array().unwrap().last().unwrap();
    assert_eq!(last["name"], "network");
    assert!(host["fits"].as_u64().unwrap() > 0);
}

#[test]
fn nothing_has_a_limit() {
    // Guests that hold, ask for and cost nothing at all: fits null, nothing binds, no cliff, and that is an answer.
    let (status, host) = host(&format!(
        "{HOST}[[guest]]\nname = \"g\"\nkind = \"container\"\nmemory = \"1 GiB\"\ntouched = \"0 B\"\n\
         touched_busy = \"0 B\"\ncommon = \"0 B\"\nrepeats = \"0 B\"\noverhead = \"0 B\"\nbusy = 0\nidle_load = 0\n"
    ));
    assert_eq!(status, 0);
    for key in [
        "fits",
        "breaks_at",
        "breaks_at_sudden",
        "fresh",
        "unshared",
        "stretched",
    ] {
        assert!(host[key].is_null(), "{key}: {}", host[key]);
    }
    assert_eq!(host["binds"], serde_json::json!([]));
    // visible = 15.5·(1 − 64/4096) = 15.26 GiB less 2 GiB of base: 13 of 1 GiB by the plain sum.
    assert_eq!(host["plain_sum"], 13);
    assert_eq!(host["guests"], 0, "values at N = 0");
}

#[test]
fn not_one_guest() {
    // Bound at 0: a number, not null; exit status 1 unless guests that must run are held.
    let big = "[[guest]]\nname = \"big\"\nmemory = \"32 GiB\"\ntouched = \"32 GiB\"\n";
    let (status, alone) = host(&format!("{HOST}{big}"));
    assert_eq!((status, &alone["fits"]), (1, &Value::from(0)));
    assert_eq!(alone["binds"], serde_json::json!(["memory"]));
    assert_eq!(alone["breaks_at"], 1);
    let small = "[[guest]]\nname = \"must\"\ncount = 1\nmemory = \"1 GiB\"\n";
    let (status, beside) = host(&format!("{HOST}{big}{small}"));
    assert_eq!((status, &beside["fits"]), (0, &Value::from(0)));
}

#[test]
fn what_nobody_described_is_null_and_named() {
    let (_, host) = host(&format!(
        "{HOST}[[guest]]\nname = \"g\"\nmemory = \"1 GiB\"\n"
    ));
    assert!(host["power"].is_null() && host["cost"].is_null());
    assert_eq!(host["disk"], serde_json::json!([]));
    assert!(host["memory"]["scan_pass_s"].is_null());
    assert_eq!(
        host["not_considered"],
        serde_json::json!([
            "cpu_wait",
            "vcpus",
            "disk_space",
            "disk_iops",
            "disk_writes",
            "network",
            "backup",
            "power",
            "guests"
        ])
    );
}

#[test]
fn a_disk_without_a_rating_or_growth_has_no_end() {
    let (_, host) = host(&format!(
        "{HOST}[[host.disk]]\nname = \"pool\"\ncapacity = \"1 TB\"\n[[guest]]\nname = \"g\"\nmemory = \"1 GiB\"\n"
    ));
    let pool = &host["disk"][0];
    assert!(pool["life_years"].is_null() && pool["full_in_days"].is_null());
    let names: Vec<&str> = host["not_considered"]
        .as_array()
        .unwrap()
        .iter()
        .map(|name| name.as_str().unwrap())
        .collect();
    assert!(names.contains(&"disk_iops") && names.contains(&"disk_writes"));
    assert!(!names.contains(&"disk_space"));
}
