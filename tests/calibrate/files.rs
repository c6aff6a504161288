//! The command as a person runs it: spreadsheets' habits, errors, the copy of the lab, the chart.

use std::fs;

use serde_json::Value;

use crate::support::{Ended, Session, run};

const LAB: &str = "# My lab, every number invented.\r\n[[host]]\r\nname = \"shelf-a\"\r\ncpu.groups = [{ cores = 8 }]\r\n\
memory.modules = [\"64 GiB\"] # two of 32\r\nmerging.mode = \"fixed\"\r\nmerging.pages_per_wake = 2000\r\n\r\n\
[[host.disk]]\r\nname = \"nvme\"\r\ncapacity = \"1 TB\"\r\n\r\n\
[[guest]]\r\nname = \"web\"   # the clones\r\nmemory = \"2 GiB\"\r\ntouched = \"500 MiB\"  # a guess\r\nbusy = 0\r\n\r\n\
[[guest]]\r\nname = \"db\"\r\nmemory = \"4 GiB\"\r\n";

const READINGS: &str = "guests,memory_used,settled\n10,6.1 GiB,yes\n20,9.9 GiB,yes\n30,13.8 GiB,yes\n40,22.3 GiB,no\n40,17.6 GiB,yes\n";

/// Where a beta-PERT of 1, 2, 4 lies nine times of ten: 1 + 3·X, X ~ Beta(7/3, 11/3) (scipy, beta.ppf at 5 % and 95 %).
const LOW_BASE: f64 = 1.328_497_176;
/// The upper end.
const HIGH_BASE: f64 = 3.139_862_160;

/// A report as one line, so that it does not matter where its lines end.
fn words(report: &str) -> String {
    report.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A folder with a lab and readings.
struct Desk(Session);

impl Desk {
    fn new(readings: &str) -> Desk {
        Desk(Session::lab(LAB).file("readings.csv", readings))
    }

    fn path(&self, name: &str) -> String {
        self.0.path(name)
    }

    fn run(&self, more: &[&str]) -> Ended {
        let call = [
            "calibrate",
            "@lab.toml",
            "@readings.csv",
            "--host",
            "shelf-a",
            "--guest",
            "web",
        ];
        self.0.run(&[&call[..], more].concat())
    }

    fn json(&self, more: &[&str]) -> Value {
        self.run(&[more, &["--format", "json"]].concat())
            .answers()
            .json()
    }
}

#[test]
fn the_keys_of_the_contract_are_there() {
    let answer = Desk::new(READINGS).json(&["--hold-out", "1"]);
    assert_eq!(
        (answer["report"].as_str(), answer["version"].as_u64()),
        (Some("calibrate"), Some(1))
    );
    assert_eq!(
        (answer["host"].as_str(), answer["guest"].as_str()),
        (Some("shelf-a"), Some("web"))
    );
    for name in ["unique", "common", "touched", "base"] {
        for key in ["value", "low", "high"] {
            assert!(answer["estimates"][name][key].is_number(), "{name}.{key}");
        }
    }
    assert!(answer["residual_rms"].is_number());
    for key in ["guests", "read", "modelled", "used_as"] {
        assert!(!answer["readings"][0][key].is_null(), "{key}");
    }
    assert_eq!(answer["readings"][4]["used_as"], "held out (settled)");
    for key in ["fits", "breaks_at"] {
        let count = &answer["predicts"][key];
        let of = |end: &str| count[end].as_u64().expect("a count");
        assert!(
            of("low") <= of("value") && of("value") <= of("high"),
            "{count}"
        );
    }
    assert!(answer["held_out"]["error_most"].as_f64().expect("a share") < 0.03);
    assert!(answer["next"]["text"].is_string());
}

#[test]
fn spreadsheets_habits_change_nothing() {
    let plain = Desk::new(READINGS).json(&[]);
    let habits = format!(
        "\u{feff}sep=;\r\n{}",
        READINGS
            .replace(',', ";")
            .replace('\n', "\r\n")
            .replace(" GiB", "\u{a0}GiB")
    );
    let spreadsheet = Desk::new(&habits).json(&[]);
    assert_eq!(plain["estimates"], spreadsheet["estimates"]);
    let upper = READINGS
        .replace("memory_used", "Memory used")
        .replace("yes", "TRUE")
        .replace(",no", ",FALSE");
    assert_eq!(plain["estimates"], Desk::new(&upper).json(&[])["estimates"]);
}

#[test]
fn all_formats_and_a_chart() {
    let desk = Desk::new(READINGS);
    for format in ["text", "markdown", "csv", "json"] {
        let chart = desk.path("fit.svg");
        desk.run(&["--format", format, "--chart", &chart])
            .answers()
            .says("web");
        assert!(
            fs::read_to_string(&chart)
                .expect("a picture")
                .starts_with("<svg")
        );
    }
    let text = desk.run(&[]).stdout;
    assert!(text.contains("one more settled guest takes"), "{text}");
}

#[test]
fn wrong_readings_are_refused_with_their_line() {
    for (readings, code, said) in [
        ("guests;memory_used\n10;78,5 %\n", "decimal-comma", "78.5 %"),
        (
            "guests,memory_used\n10,78,5 %\n",
            "not-a-table",
            "decimal point",
        ),
        ("guests,memory_used\n10,78\n", "invalid-cell", "61.2 GiB"),
        (
            "guests,memory_used\n10,65 GiB\n",
            "invalid-cell",
            "the host sees",
        ),
        (
            "guests,memory_used\nten,50 %\n",
            "invalid-cell",
            "whole number",
        ),
        ("guests,memory_used\n10,\n", "invalid-cell", "empty"),
        (
            "guests,memory_used,settled\n10,50 %,maybe\n",
            "invalid-cell",
            "yes, no or unknown",
        ),
        (
            "guests,memory_usd\n10,50 %\n",
            "invalid-heading",
            "Did you mean `memory_used`",
        ),
        (
            "guests,settled\n10,yes\n",
            "invalid-heading",
            "`memory_used` has to be there",
        ),
        (
            "guests,memory_used,guests\n10,50 %,3\n",
            "invalid-heading",
            "two columns",
        ),
        ("", "not-a-table", "empty"),
        ("guests,memory_used\n", "too-few-readings", "no readings"),
        (
            "guests,memory_used\n10,50 %\n",
            "too-few-readings",
            "settled = yes",
        ),
        (
            "guests,memory_used,settled\n0,5 %,yes\n",
            "too-few-readings",
            "with guests running",
        ),
        (
            "guests,memory_used,settled\n10,60 %,yes\n20,40 %,yes\n",
            "contradictory-readings",
            "less than its own process",
        ),
        (
            "guests,memory_used,settled\n10,1 GiB,yes\n",
            "contradictory-readings",
            "Correct `base`",
        ),
        (
            "guests,memory_used,settled\n10,20 %,yes\n20,90 %,yes\n30,30 %,yes\n40,60 %,yes\n",
            "contradictory-readings",
            "scatter",
        ),
        (
            "guests,memory_used,settled\n1,10 %,yes\n4,90 %,yes\n",
            "contradictory-readings",
            "more than its memory",
        ),
    ] {
        let session = Desk::new(readings).run(&[]);
        session.refuses();
        assert!(
            session.stderr.contains(code) && session.stderr.contains(said),
            "{readings}: {}",
            session.stderr
        );
    }
    let desk = Desk::new(READINGS);
    fs::write(desk.path("readings.csv"), [0xff, 0xfe, b'g', 0]).expect("a file");
    desk.run(&[]).reports("UTF-16");
    fs::remove_file(desk.path("readings.csv")).expect("removed");
    desk.run(&[]).reports("unreadable-file");
    Desk::new(READINGS)
        .run(&["--hold-out", "9"])
        .reports("too-few-readings");
}

#[test]
fn guests_that_cannot_be_calibrated_are_refused() {
    let desk = Desk::new(READINGS);
    let call = |more: &[&str]| {
        let (lab, readings) = (desk.path("lab.toml"), desk.path("readings.csv"));
        let session = run(&[&["calibrate", lab.as_str(), readings.as_str()], more].concat());
        session.exits(2);
        session.stderr
    };
    assert!(call(&["--guest", "wep"]).contains("Did you mean \"web\""));
    assert!(call(&[]).contains("unknown-guest"));
    assert!(call(&["--guest", "web", "--set", "guest.web.pinned=true"]).contains("unknown-guest"));
    assert!(call(&["--guest", "web", "--host", "shelf-b"]).contains("unknown-host"));
}

#[test]
fn the_copy_changes_the_calibrated_values_and_nothing_else() {
    let desk = Desk::new(READINGS);
    let new = desk.path("calibrated.toml");
    let answer = desk.json(&["--write", &new]);
    let text = fs::read_to_string(&new).expect("the copy");
    // Every line of the lab is still there, but for the one value that was replaced.
    let kept = text
        .split("\r\n")
        .filter(|line| !line.contains("calibrated") && !line.starts_with("common"));
    let kept: Vec<String> = kept
        .filter(|line| !line.starts_with("repeats") && !line.starts_with("memory.base"))
        .map(|line| {
            if line.starts_with("touched") {
                "touched = \"500 MiB\"  # a guess".to_owned()
            } else {
                line.to_owned()
            }
        })
        .collect();
    assert_eq!(kept.join("\r\n"), LAB);
    assert!(
        text.contains("# touched: calibrated from readings.csv, 5 readings; between"),
        "{text}"
    );
    assert!(
        !text.replace("\r\n", "").contains('\n'),
        "line ends stay as they are"
    );
    // What the lab did not give is put as a range.
    assert!(text.contains("\r\ncommon = { low = \""), "{text}");
    // The copy answers what was predicted.
    let fit = run(&["fit", &new, "--format", "json"]);
    let fit: Value = serde_json::from_str(&fit.stdout).expect("JSON");
    assert_eq!(fit["hosts"][0]["fits"], answer["predicts"]["fits"]["value"]);
    assert_eq!(
        fit["hosts"][0]["breaks_at"],
        answer["predicts"]["breaks_at"]["value"]
    );
}

/// A lab whose owner gave ranges but for the host's own memory, every number invented; that goes between its parts.
const RANGED: [&str; 2] = [
    "[[host]]\nname = \"shelf-a\"\ncpu.groups = [{ cores = 8 }]\n[host.memory]\nmodules = [\"64 GiB\"]\n",
    "[host.merging]\nmode = \"fixed\"\npages_per_wake = 2000\n[[guest]]\nname = \"web\"\nmemory = \"2 GiB\"\nbusy = 0\n\
     touched = { low = \"300 MiB\", likely = \"500 MiB\", high = \"900 MiB\" }\ncommon.low = \"50 MiB\"\n\
     common.likely = \"90 MiB\" # a guess\ncommon.high = \"200 MiB\"\nrepeats = \"20 MiB\"\n",
];
/// A range for the host's own memory.
const BASE: &str =
    "base = { low = \"1 GiB\",  likely = \"2 GiB\", high = \"4 GiB\" } # who knows\n";

/// The whole of it.
fn ranged() -> String {
    RANGED.join(BASE)
}

/// `{ low, likely, high }` of a key in the copy, in MiB.
fn range(text: &str, key: &str) -> [f64; 3] {
    let value: toml::Table = text.parse().expect("TOML");
    let of = |table: &toml::Value, key: &str| table.get(key).cloned().expect("a key");
    let table = match key {
        "base" => of(&of(&value["host"][0], "memory"), "base"),
        key => of(&value["guest"][0], key),
    };
    ["low", "likely", "high"].map(|part| {
        let text = of(&table, part);
        let text = text.as_str().expect("a size");
        text.strip_suffix(" MiB")
            .expect("MiB")
            .parse()
            .expect("a number")
    })
}

#[test]
fn ranges_stay_ranges_and_hold_the_interval() {
    let desk = Desk::new(READINGS);
    fs::write(desk.path("lab.toml"), ranged()).expect("a file");
    let new = desk.path("calibrated.toml");
    let answer = desk.json(&["--write", &new]);
    let text = fs::read_to_string(&new).expect("the copy");
    for key in ["touched", "common", "base"] {
        let estimate = &answer["estimates"][key];
        let range = range(&text, key);
        for (found, part) in range.into_iter().zip(["low", "value", "high"]) {
            let wanted = estimate[part].as_f64().expect("a size") / 1_048_576.0;
            assert!(
                (found - wanted).abs() <= 0.02,
                "{key}.{part}: {found} {wanted}"
            );
        }
        assert!(
            range[0] < range[1] && range[1] < range[2],
            "{key}: {range:?}"
        );
        assert!(
            text.contains(&format!("# {key}: calibrated from readings.csv")),
            "{text}"
        );
    }
    // What was plain stays plain, and all else is as it was.
    assert!(text.contains("\nrepeats = \""), "{text}");
    for kept in [
        "\", likely = \"",
        "\",  likely = \"",
        "} # who knows\n",
        "\" # a guess\n",
    ] {
        assert!(text.contains(kept), "{kept}: {text}");
    }
    let fit = run(&["fit", &new, "--draws", "50", "--format", "json"]);
    fit.answers();
    let fit: Value = serde_json::from_str(&fit.stdout).expect("JSON");
    assert_eq!(fit["hosts"][0]["fits"], answer["predicts"]["fits"]["value"]);
    // What the readings do not tell is as uncertain as before, so the drawn counts spread at least as far.
    let drawn = |end: &str| fit["hosts"][0]["interval"][end].as_u64().expect("a count");
    let of = |end: &str| answer["predicts"]["fits"][end].as_u64().expect("a count");
    assert!(drawn("low") <= of("high") && drawn("high") >= of("low"));
}

#[test]
fn what_one_reading_does_not_tell_stays_as_it_stands() {
    let desk = Desk::new("guests,memory_used,settled\n20,9.9 GiB,yes\n");
    fs::write(desk.path("lab.toml"), ranged()).expect("a file");
    let new = desk.path("calibrated.toml");
    let answer = desk.json(&["--write", &new]);
    let text = fs::read_to_string(&new).expect("the copy");
    // Base, and what guests share, are not told by one reading: their ranges stay.
    for kept in ranged().lines().filter(|line| !line.starts_with("touched")) {
        assert!(text.lines().any(|line| line == kept), "{kept}: {text}");
    }
    assert_eq!(text.lines().count(), ranged().lines().count() + 1, "{text}");
    let base = &answer["estimates"]["base"];
    for (end, wanted) in [("low", LOW_BASE), ("high", HIGH_BASE)] {
        let gib = base[end].as_f64().expect("a size") / 1_073_741_824.0;
        assert!((gib - wanted).abs() < 1e-4, "{end}: {gib}");
    }
    assert_eq!(base["from"], "lab");
    let report = words(&desk.run(&["--full"]).stdout);
    for said in [
        "base stays as in the lab (2 GiB)",
        "include that beside the error",
    ] {
        assert!(report.contains(said), "{said}: {report}");
    }
    // What the host itself takes more, 20 guests take less.
    let width = |answer: &Value| {
        let of = |end: &str| answer["estimates"]["unique"][end].as_f64().expect("a size");
        of("high") - of("low")
    };
    let plain = ["--set", "host.shelf-a.memory.base=\"2 GiB\""];
    let sure = desk.json(&plain);
    let doubt = (HIGH_BASE - LOW_BASE) * 1_073_741_824.0 / 20.0;
    let (wide, narrow) = (width(&answer), width(&sure));
    assert!(
        wide > doubt && wide < doubt + narrow,
        "{wide} {narrow} {doubt}"
    );
    let report = words(&desk.run(&[&plain[..], &["--full"]].concat()).stdout);
    assert!(
        report.contains("so the intervals include no error of it"),
        "{report}"
    );
    // Nobody said: what owners report.
    fs::write(desk.path("lab.toml"), RANGED.concat()).expect("a file");
    let reported = desk.json(&[]);
    assert!((width(&reported) / wide - 1.0).abs() < 0.01);
    let report = words(&desk.run(&["--full"]).stdout);
    assert!(
        report.contains("base stays at its default (2 GiB)"),
        "{report}"
    );
    for (count, sure) in [("fits", &sure), ("breaks_at", &sure)] {
        let width = |answer: &Value| {
            let of = |end: &str| answer["predicts"][count][end].as_u64().expect("a count");
            of("high") - of("low")
        };
        assert!(width(&answer) > width(sure), "{count}");
    }
}

#[test]
fn with_nothing_merged_a_guest_takes_all_it_holds() {
    // 6.1, 9.9, 13.8 GiB with 10, 20, 30 guests: 3.85 GiB for ten more, by least squares.
    let desk =
        Desk::new("guests,memory_used,settled\n10,6.1 GiB,yes\n20,9.9 GiB,yes\n30,13.8 GiB,yes\n");
    let ten = 3.85 * 1_073_741_824.0;
    for (mode, unique) in [("off", "readings"), ("adaptive", "both")] {
        let answer = desk.json(&[
            "--fresh",
            "--set",
            &format!("host.shelf-a.merging.mode=\"{mode}\""),
        ]);
        let of = |name: &str, key: &str| answer["estimates"][name][key].clone();
        let taken = of("unmerged", "value").as_f64().expect("a size");
        assert!((taken * 10.0 / ten - 1.0).abs() < 0.01, "{mode}: {taken}");
        assert_eq!(of("unmerged", "from"), "readings", "{mode}");
        // What it would take with sharing rests on the lab's common and repeats.
        assert_eq!(of("unique", "from"), unique, "{mode}");
        for part in ["common", "repeats"] {
            assert_eq!(of(part, "from"), "lab", "{mode}: {part}");
        }
        assert_eq!(
            of("unique", "value") == of("unmerged", "value"),
            mode == "off"
        );
        let text = words(
            &desk
                .run(&[
                    "--fresh",
                    "--set",
                    &format!("host.shelf-a.merging.mode=\"{mode}\""),
                ])
                .stdout,
        );
        assert!(
            text.contains("one more guest with nothing merged takes 39"),
            "{text}"
        );
    }
}

#[test]
fn fresh_readings_lead_with_both_counts() {
    let desk = Desk::new(READINGS);
    let busy = &["--set", "guest.web.busy=0.05", "--fresh"];
    let answer = desk.json(busy);
    let text = words(&desk.run(busy).stdout);
    let of = |count: &str| {
        answer["predicts"][count]["value"]
            .as_u64()
            .expect("a count")
    };
    assert!(of("fresh") > of("fits") && of("breaks_at_fresh") > of("fresh"));
    for said in [
        format!("safely holds {} guests", of("fits")),
        format!("as long as they never are, it is {}", of("fresh")),
        format!(" and {}", of("breaks_at_fresh")),
    ] {
        assert!(text.contains(&said), "{said}: {text}");
    }
    let calm = desk.run(&["--fresh", "--set", "guest.db.busy=0"]).stdout;
    assert!(!words(&calm).contains("as long as they never are"));
}

#[test]
fn a_reading_after_a_start_without_one_before_it_is_explained() {
    for (readings, said) in [
        ("10,6.1 GiB,no\n", "no reading stands above it"),
        (
            "20,9.9 GiB,unknown\n20,15 GiB,no\n",
            "the one above it, line 2, has as many guests or more",
        ),
    ] {
        let text = format!("guests,memory_used,settled\n{readings}");
        let ended = Desk::new(&text).run(&[]);
        ended.reports("too-few-readings");
        assert!(words(&ended.stderr).contains(said), "{}", ended.stderr);
    }
    // Beside readings that do say something it is a note.
    let text = format!("{READINGS}45,25 GiB,no\n50,30 GiB,no\n");
    let report = words(&Desk::new(&text).run(&["--full"]).stdout);
    assert!(
        report.contains("the one above it, line 7, was itself taken right after a start"),
        "{report}"
    );
}

#[test]
fn guests_of_other_kinds_are_counted_in_columns_of_their_own() {
    let counted = |column: &str| {
        let lines = READINGS.lines().enumerate();
        let lines = lines.map(|(index, line)| match index {
            0 => format!("{line},{column}\n"),
            _ => format!("{line},2\n"),
        });
        Desk::new(&lines.collect::<String>())
    };
    // As many of them at every count change what the host holds, not what a guest takes.
    let small = [
        "--set",
        "guest.db.touched=\"150 MiB\"",
        "--set",
        "guest.db.touched_busy=\"200 MiB\"",
    ];
    let alone = Desk::new(READINGS).json(&small);
    let beside = counted("guests_db").json(&small);
    let of =
        |answer: &Value, key: &str| answer["estimates"][key]["value"].as_f64().expect("a size");
    assert!((of(&alone, "touched") / of(&beside, "touched") - 1.0).abs() < 1e-3);
    assert!(of(&alone, "base") > of(&beside, "base") + 3e8);
    for (column, said) in [
        ("guests_mail", "counts no other guest of the lab"),
        ("guests_web", "Guests that may run beside it: db"),
    ] {
        let ended = counted(column).run(&[]);
        ended.refuses().reports("invalid-heading");
        assert!(words(&ended.stderr).contains(said), "{}", ended.stderr);
    }
    // By the lab some of them run: then they have to be counted, though it be as none.
    let running = ["--set", "guest.db.count=2"];
    let ended = Desk::new(READINGS).run(&running);
    ended.refuses().reports("invalid-heading");
    let said = words(&ended.stderr);
    assert!(said.contains("Add a column `guests_db`"), "{said}");
    counted("guests_db")
        .run(&[&small[..], &running].concat())
        .answers();
}

#[test]
fn what_is_doubted_is_not_written() {
    // The readings come from a host of half the memory.
    let lines = READINGS.lines().enumerate();
    let lines = lines.map(|(index, line)| match index {
        0 => format!("{line},memory_total\n"),
        _ => format!("{line},33000000000\n"),
    });
    let desk = Desk::new(&lines.collect::<String>());
    let new = desk.path("calibrated.toml");
    let ended = desk.run(&["--write", &new]);
    ended.exits(1).says("was not written");
    assert!(!std::path::Path::new(&new).exists());
}

#[test]
fn nothing_is_overwritten_unless_told() {
    let desk = Desk::new(READINGS);
    let lab = desk.path("lab.toml");
    desk.run(&["--write", &lab]).exits(2).reports("file-exists");
    assert_eq!(fs::read_to_string(&lab).expect("the lab"), LAB);
    desk.run(&["--write", &lab, "--force"]).exits(0);
    assert_ne!(fs::read_to_string(&lab).expect("the lab"), LAB);
    // Calibrating once more replaces the values and leaves a valid lab.
    desk.run(&["--write", &lab, "--force"]).exits(0);
    run(&["check", &lab]).exits(0);
}

#[test]
fn what_stands_in_an_included_file_is_not_written() {
    let desk = Desk::new(READINGS);
    let (host, guests) = LAB.split_once("[[guest]]").expect("guests");
    fs::write(
        desk.path("lab.toml"),
        format!("include = [\"guests.toml\"]\r\n{host}"),
    )
    .expect("a file");
    fs::write(desk.path("guests.toml"), format!("[[guest]]{guests}")).expect("a file");
    let new = desk.path("calibrated.toml");
    desk.run(&["--write", &new])
        .exits(2)
        .reports("not-in-this-file");
    assert!(!std::path::Path::new(&new).exists());
}

#[test]
fn written_swap_and_a_smaller_memory_are_told() {
    let text = "time,guests,memory_used,settled,swap_used,swap_in,swap_out,memory_pressure,guest_highest,written_nvme\n\
                0,10,6.1 GiB,yes,1000000,0,0,0,600 MiB,0\n\
                86400,10,6.1 GiB,yes,1000000,0,0,0,700 MiB,24000000000\n\
                90000,20,9.9 GiB,yes,2000000,0,0,0,,25000000000\n\
                176400,20,9.9 GiB,yes,2000000,4000000,0,0.2,,69000000000\n";
    let desk = Desk::new(text);
    let new = desk.path("calibrated.toml");
    let answer = desk.json(&["--write", &new]);
    // The host writes 4 GB a day and a guest 2 GB.
    let written = answer["written"]["value"].as_f64().expect("a rate");
    assert!((written / 2e9 - 1.0).abs() < 1e-6, "{written}");
    assert!((answer["written"]["base"].as_f64().expect("a rate") / 4e9 - 1.0).abs() < 1e-6);
    assert!(
        fs::read_to_string(&new)
            .expect("the copy")
            .contains("written = \"2.000 GB/day\"")
    );
    assert!(answer["swap"].as_str().expect("words").contains("churning"));
    let smaller = &answer["smaller_memory"];
    assert_eq!(smaller["enough"].as_f64(), Some(832.0 * 1048576.0));
    assert!(smaller["plain_sum"][1].as_u64() > smaller["plain_sum"][0].as_u64());
    // Without the reading that it rests on there is no advice, whatever the lab says.
    let unread = text.replace("guest_highest", "remark");
    let silent = Desk::new(&unread).json(&["--set", "guest.web.touched_busy=\"520 MiB\""]);
    assert!(silent["smaller_memory"].is_null(), "{silent}");
    // Guests were found to hold more than the column says.
    let low = text
        .replace("600 MiB", "100 MiB")
        .replace("700 MiB", "100 MiB");
    assert!(Desk::new(&low).json(&[])["smaller_memory"].is_null());
    let quiet = text.replace("4000000,0,0.2", "0,0,0");
    assert!(
        Desk::new(&quiet).json(&[])["swap"]
            .as_str()
            .expect("words")
            .contains("quiet")
    );
}

/// Readings of merged and of unmerged guests tell what guests share, but not how much of it is common and how much repeats.
#[test]
fn what_guests_share_is_split_by_the_lab() {
    let desk = Desk::new(
        "guests,memory_used,settled\n10,6.1 GiB,yes\n20,9.1 GiB,yes\n30,12.1 GiB,yes\n40,16.1 GiB,no\n",
    );
    let size = |value: &Value| value.as_f64().expect("a size");
    let given = [
        "--set",
        "guest.web.common=\"90 MiB\"",
        "--set",
        "guest.web.repeats=\"30 MiB\"",
    ];
    let default = [
        "--set",
        "guest.web.common=\"20 %\"",
        "--set",
        "guest.web.repeats={ low = \"5 %\", likely = \"10 %\", high = \"20 %\" }",
    ];
    for (sets, is_known) in [(&given, true), (&default, false)] {
        let answer = desk.json(&sets[..]);
        let part = |name: &str| &answer["estimates"][name];
        let relative = |name: &str| {
            let [low, high] = ["low", "high"].map(|end| size(&part(name)[end]));
            assert!(low > 0.0 && low < high, "{}", part(name));
            high / low
        };
        for name in ["common", "repeats"] {
            assert_eq!(part(name)["from"], "both", "{answer}");
        }
        // A split that the lab knows leaves both parts as sure as their sum, another one does not.
        let ratio = relative("repeats") / relative("common");
        assert_eq!((ratio - 1.0).abs() < 1e-6, is_known, "{ratio}");
    }
}
