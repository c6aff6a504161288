//! What a person sees at a glance: one of a thing is told as one, numbers are short, a narrow screen cuts no word.

use berthage::command::Terminal;

use crate::support::{Ended, Session, run};

/// One of everything (invented): one host with one core, one disk, one slot and one year; one guest.
fn one(endurance: &str, count: &str) -> String {
    format!(
        r#"
[lab]
name = "one"
currency = "EUR"
tariff = 0.3
years = 1
[policy]
service_life = "1 year"
max_guests = 1
max_vcpus_per_thread = 1
[[host]]
name = "solo"
price = 1
cpu.groups = [{{ cores = 1, threads = 1 }}]
[host.memory]
modules = ["4 GiB"]
slots = 1
max_module = "8 GiB"
module_prices = {{ "8 GiB" = 1 }}
swap = "1 GiB"
[host.merging]
mode = "fixed"
[[host.disk]]
name = "d"
devices = 1
capacity = "1 TB"
read_iops = 1000
write_iops = 1000
endurance = "{endurance}"
price = 1
[host.network]
link = "1 Gbit/s"
[host.power]
idle = "1 W"
busy = "2 W"
[host.backup]
window = "1 h"
speed = "1 MB/s"
[[host]]
name = "duo"
price = 3
cpu.groups = [{{ cores = 1, threads = 1 }}]
memory.modules = ["4 GiB"]
[host.power]
idle = "1 W"
busy = "1 W"
[[guest]]
name = "g"
{count}
vcpus = 1
memory = "1 GiB"
touched = {{ low = "400 MiB", likely = "500 MiB", high = "600 MiB" }}
busy = "1 %"
written = "1 GB/day"
"#
    )
}

const READINGS: &str = "guests,memory_used,settled\n1,1.2 GiB,yes\n2,1.7 GiB,yes\n3,2.2 GiB,yes\n";

/// Names of resources in JSON that screens have words for.
const RAW: [&str; 4] = ["disk_iops", "disk_writes", "disk_space", "cpu_wait"];

/// Every command's screens of a lab, and the errors that it meets on the way.
fn calls(lab: &str, readings: &str, single: &str) -> Vec<Vec<String>> {
    let solo = "--host solo";
    [
        format!("fit {lab} --why --plot"),
        format!("fit {lab} --draws 1"),
        format!("compare {lab}"),
        format!("compare {lab} --need g=1"),
        format!("compare {lab} --need g=1 --old solo"),
        format!("compare {lab} {solo}"),
        format!("upgrade {lab} {solo}"),
        format!("upgrade {lab} {solo} --budget 1"),
        format!("fleet {lab} --need g=1"),
        format!("fleet {lab} --need g=2 {solo}"),
        format!("fleet {lab} --need g=1 --spare 1"),
        format!("fleet {lab} --need g=1 --spare 2"),
        format!("rollout {lab} {solo}"),
        format!("rollout {lab} {solo} --target 1 --busy-at 1h:g=1:1min"),
        format!("rollout {lab} {solo} --target 3 --batch 1 --wait 1h --anyway --watch 1h"),
        format!("explain {lab} {solo}"),
        format!("explain {lab} {solo} --guests 1"),
        format!("check {lab}"),
        format!("calibrate {lab} {readings} --guest g {solo}"),
        format!("calibrate {lab} {readings} --guest g {solo} --hold-out 1"),
        format!("calibrate {lab} {single} --guest g {solo}"),
        format!("calibrate {lab} {single} --guest g {solo} --hold-out 1"),
        format!("calibrate {lab} {lab} --guest g"),
    ]
    .iter()
    .map(|call| call.split(' ').map(str::to_owned).collect())
    .collect()
}

/// Every word that stands after a lone "1" in a line and ends as a plural does.
fn plurals_of_one(line: &str) -> Vec<&str> {
    let words: Vec<&str> = line.split(' ').collect();
    let fine = [
        "s", "ms", "µs", "us", "is", "was", "has", "as", "less", "does",
    ];
    words
        .windows(2)
        .filter(|pair| pair[0].trim_start_matches(['(', '*', '"', '=']) == "1")
        .map(|pair| pair[1].trim_end_matches(|letter: char| !letter.is_ascii_alphabetic()))
        .filter(|word| word.ends_with('s') && !word.contains('/') && !fine.contains(word))
        .collect()
}

/// Whether a line holds a number that nobody reads: no number, an exponent, five digits and more in a row.
fn unreadable(line: &str) -> bool {
    let has_exponent = |word: &str| {
        let word = word.trim_matches(|letter: char| !letter.is_ascii_alphanumeric());
        word.split_once('e').is_some_and(|(digits, power)| {
            let number = |text: &str| text.parse::<f64>().is_ok();
            digits.starts_with(|first: char| first.is_ascii_digit())
                && number(digits)
                && number(power)
        })
    };
    let mut digits = line.split(|letter: char| !letter.is_ascii_digit());
    line.split(' ')
        .any(|word| has_exponent(word) || matches!(word, "NaN" | "inf" | "-inf" | "-0"))
        || digits.any(|run| run.len() >= 5)
}

#[test]
fn the_scans_find_what_they_look_for() {
    assert_eq!(
        plurals_of_one("it holds 1 guests, in 1 years."),
        ["guests", "years"]
    );
    assert_eq!(plurals_of_one("1 cores (1 threads)"), ["cores", "threads"]);
    assert!(plurals_of_one("11 guests, 1 guest, 0.1 cores, 1 s, 1 is left, 1 Gbit/s").is_empty());
    for line in ["1.15e-7 B", "is NaN", "12345 B", "(2e10)"] {
        assert!(unreadable(line), "{line}");
    }
    for line in [
        "1,234,567",
        "out-of-range",
        "1841 MiB",
        "10 guests",
        "free",
        "1e",
    ] {
        assert!(!unreadable(line), "{line}");
    }
}

#[test]
fn one_of_a_thing_is_told_as_one() {
    let desk = Session::new().file("readings.csv", READINGS).file(
        "single.csv",
        "guests,memory_used,settled
1,1.2 GiB,yes
",
    );
    let (readings, single) = (desk.path("readings.csv"), desk.path("single.csv"));
    let mut seen = 0;
    // It scales, it must run, and the disk is worn out before any guest.
    for (name, endurance, count) in [
        ("scales.toml", "100 TB", ""),
        ("counted.toml", "100 TB", "count = 1"),
        ("worn.toml", "1 TB", ""),
    ] {
        let text = one(endurance, count);
        let desk = desk.clone().file(name, &text);
        let lab = desk.path(name);
        for call in calls(&lab, &readings, &single) {
            let command: Vec<&str> = call.iter().map(String::as_str).collect();
            for how in ["text", "markdown"] {
                let args = [&command[..], &["--format", how, "--color", "never"]].concat();
                let Ended { stdout, stderr, .. } = run(&args);
                assert!(!stdout.is_empty() || !stderr.is_empty(), "{args:?}");
                for line in stdout.lines().chain(stderr.lines()) {
                    assert_eq!(plurals_of_one(line), [""; 0], "{args:?}: {line}");
                    // The formulas of `explain` are there to be worked out again.
                    let is_worked_out =
                        command[0] == "explain" || line.contains(desk.folder().to_str().unwrap());
                    assert!(is_worked_out || !unreadable(line), "{args:?}: {line}");
                    let name = RAW
                        .iter()
                        .find(|name| line.replace('\\', "").contains(**name));
                    assert!(is_worked_out || name.is_none(), "{args:?}: {line}");
                    seen += 1;
                }
            }
        }
    }
    assert!(seen > 5_000, "{seen} lines");
}

/// Calls of the examples, each with much to say.
const EXAMPLES: [&str; 10] = [
    "fit examples/shelf.toml --why --plot",
    "fit examples/classroom.toml --plot",
    "fit examples/undecided.toml --draws 20",
    "compare examples/two-boxes.toml --plot",
    "compare examples/three-nodes.toml --need web=12,desk=1 --old rack --plot",
    "fleet examples/three-nodes.toml --need web=90,desk=9 --spare 1",
    "upgrade examples/undecided.toml --budget 400",
    "rollout examples/shelf.toml --target 60 --stagger 0s",
    "calibrate examples/shelf.toml examples/readings.csv --guest web --fresh --hold-out 1",
    "explain examples/shelf.toml",
];

#[test]
fn ascii_is_ascii_on_screens_and_pages() {
    for call in EXAMPLES {
        let args: Vec<&str> = call.split(' ').collect();
        for how in ["text", "markdown"] {
            let session = run(&[&args[..], &["--ascii", "--format", how]].concat());
            let odd: Vec<&str> = session
                .stdout
                .lines()
                .filter(|line| !line.is_ascii())
                .collect();
            assert!(odd.is_empty(), "{call} {how}: {odd:?}");
            assert!(session.stdout.lines().count() > 10, "{call} {how}");
            // Without it there is something to spell anew.
            let plain = run(&[&args[..], &["--format", how]].concat());
            assert!(!plain.stdout.is_ascii(), "{call} {how}");
        }
    }
}

#[test]
fn parts_of_a_page_stand_side_by_side() {
    for call in EXAMPLES {
        let args: Vec<&str> = call.split(' ').collect();
        let page = run(&[&args[..], &["--format", "markdown"]].concat()).stdout;
        let parts = page.lines().filter(|line| line.starts_with("## ")).count();
        assert!(parts > 2, "{call}: {parts}");
        let deeper = page.lines().find(|line| line.starts_with("###"));
        assert_eq!(deeper, None, "{call}");
    }
    // Only where each of several hosts has parts of its own are those below it.
    let page = run(&["fit", "examples/two-boxes.toml", "--format", "markdown"]).stdout;
    assert!(
        page.contains("\n## tall\n") && page.contains("\n### Cautions\n"),
        "{page}"
    );
}

#[test]
fn numbers_of_the_examples_are_read_at_a_glance() {
    for call in EXAMPLES.iter().filter(|call| !call.starts_with("explain")) {
        let args: Vec<&str> = call.split(' ').collect();
        let stdout = run(&args).stdout;
        let odd: Vec<&str> = stdout.lines().filter(|line| unreadable(line)).collect();
        assert!(odd.is_empty(), "{call}: {odd:?}");
    }
}

#[test]
fn errors_cut_no_word_on_a_narrow_screen() {
    let narrow = Terminal {
        stdout_is_terminal: true,
        stderr_is_terminal: true,
        width: Some(60),
        no_color: true,
    };
    for call in [
        "fit nowhere.toml",
        "explain mising-unit",
        "fit examples/shelf.toml --set guest.web.touched=5GiB",
        "compare examples/shelf.toml",
        "fleet examples/shelf.toml --spare 1",
    ] {
        let args: Vec<&str> = call.split(' ').collect();
        let stderr = Session::new().on(narrow).run(&args).stderr;
        assert!(stderr.contains("\n    "), "{call}: {stderr}");
        let longest = stderr.lines().map(|line| line.chars().count()).max();
        assert!(longest <= Some(60), "{call}: {stderr}");
    }
}
