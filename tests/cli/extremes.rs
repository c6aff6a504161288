//! Every key of a lab at its extremes, and mistakes planted in a lab: no panic, no endless run, and the line is named.
//!
//! `cargo test` tries a share of it. All of it, every key in the commands named (`all` or a list), said as it goes on, with
//! the slowest and the largest ten: `BERTHAGE_EXTREMES=fit,explain cargo test --release --test all extremes -- --nocapture`.

use std::cmp::Reverse;
use std::io::Read;
use std::process::{Child, ExitStatus};
use std::thread::sleep;
use std::time::{Duration, Instant};
use std::{env, fs};

use berthage::inventory::load_text;

use crate::support::{Session, lab};

const EVERYTHING: &str = include_str!("everything.toml");

/// A lab of which every key is set to every extreme.
struct Tried {
    name: &'static str,
    text: &'static str,
    /// Its first host, which questions about one host are about.
    host: &'static str,
    /// The guest that readings count, and the columns of the others.
    read: &'static str,
    beside: &'static [&'static str],
    /// Draws of its commands; what a command takes by itself where there are none.
    draws: &'static [&'static str],
}

const LABS: [Tried; 3] = [
    Tried {
        name: "keys",
        text: include_str!("../../src/inventory/tests/everything.toml"),
        host: "shelf a",
        read: "web",
        beside: &["cache"],
        draws: &[],
    },
    Tried {
        name: "kinds",
        text: EVERYTHING,
        host: "all",
        read: "web",
        beside: &["fixed", "pages"],
        draws: &["--draws", "20"],
    },
    Tried {
        name: "hours",
        text: include_str!("hours.toml"),
        host: "box",
        read: "desk",
        beside: &["backup"],
        draws: &[],
    },
];
/// Beside the host of a lab, for `compare` and `fleet`; invented.
const SECOND: &str = r#"
[[host]]
name = "second"
price = 700
cpu.groups = [{ cores = 8, threads = 2 }]
memory.modules = ["32 GiB", "32 GiB"]
"#;
/// For `calibrate`: guests, memory used, and whether it has settled; invented.
const READINGS: [&str; 4] = [
    "5,18 GiB,yes",
    "10,22.5 GiB,yes",
    "20,31 GiB,yes",
    "30,39.8 GiB,no",
];

/// Values at the ends of what can be written, of every kind.
const EXTREMES: [&str; 30] = [
    "0",
    "1",
    "-1",
    "1e308",
    "1e-300",
    "nan",
    "inf",
    "18446744073709551616",
    "1000000",
    "\"0 B\"",
    "\"1 B\"",
    "\"1000 PB\"",
    "\"1e300 GiB\"",
    "\"1 B/s\"",
    "\"1000 TB/s\"",
    "\"1 bit/s\"",
    "\"1000 Tbit/s\"",
    "\"0 s\"",
    "\"1 us\"",
    "\"1000 years\"",
    "\"0 %\"",
    "\"1e-9 %\"",
    "\"100 %\"",
    "\"1e9/s\"",
    "\"1e-9/s\"",
    "\"1 GW\"",
    "\"\"",
    "true",
    "[]",
    "{ low = 0, likely = 1, high = 1e9 }",
];
/// Commands that read a lab.
const COMMANDS: [&str; 8] = [
    "check",
    "fit",
    "explain",
    "compare",
    "upgrade",
    "fleet",
    "rollout",
    "calibrate",
];
/// A run that takes more processor time `[s]` is taken to hang …
const HANGS_S: f64 = 60.0;
/// … or one that waits for so long.
const WAITS: Duration = Duration::from_secs(600);

impl Tried {
    /// Every key path of the lab, given or not, at each extreme.
    fn sets(&self) -> Vec<String> {
        let lab = lab(self.text);
        let paths = lab.origins.keys();
        let sets = paths.flat_map(|path| EXTREMES.map(|value| format!("{path}={value}")));
        sets.collect()
    }

    /// Its files.
    fn session(&self) -> Session {
        let text = format!("{}{SECOND}", self.text);
        let names = self.beside.iter().map(|name| format!(",guests_{name}"));
        let heading = format!("guests,memory_used,settled{}", names.collect::<String>());
        let rows = READINGS.map(|row| row.to_owned() + &",2".repeat(self.beside.len()));
        let readings = format!("{heading}\n{}\n", rows.join("\n"));
        let session = Session::new().file("readings.csv", &readings);
        session.file(&format!("{}.toml", self.name), &text)
    }

    /// The arguments of a command.
    fn call<'a>(&'a self, command: &'a str, file: &'a str, set: Option<&'a str>) -> Vec<&'a str> {
        let more: &[&str] = match command {
            "upgrade" => &["--budget", "2000", "--host", self.host],
            "fleet" => &["--spare", "1"],
            "rollout" => &["--host", self.host],
            "calibrate" => &["@readings.csv", "--guest", self.read, "--host", self.host],
            _ => &[],
        };
        let draws = match command {
            "check" | "explain" | "fleet" => &[],
            _ => self.draws,
        };
        let set = set.map_or_else(Vec::new, |set| vec!["--set", set]);
        [&[command, file], more, draws, &["--format", "json"], &set].concat()
    }
}

/// The commands of a run by hand; none in `cargo test`.
fn asked() -> Option<Vec<&'static str>> {
    let asked = env::var("BERTHAGE_EXTREMES").ok()?;
    let named: Vec<&str> = asked.split(',').collect();
    let is_asked = |command: &&str| asked == "all" || named.contains(command);
    let commands: Vec<&str> = COMMANDS.into_iter().filter(is_asked).collect();
    assert!(
        asked == "all" || commands.len() == named.len(),
        "BERTHAGE_EXTREMES is `all` or a list of {COMMANDS:?}"
    );
    Some(commands)
}

/// What a run took.
struct Taken {
    call: String,
    /// Of the processor, all threads together.
    seconds: f64,
    kibibytes: u64,
    /// None where it had to be ended.
    status: Option<ExitStatus>,
}

impl Taken {
    /// Whether it came to an end with a status of its own.
    fn has_ended(&self) -> bool {
        let status = self.status.and_then(|status| status.code());
        matches!(status, Some(0..=2))
    }

    fn print(&self) {
        let mebibytes = self.kibibytes as f64 / 1024.0;
        println!("{:8.2} s {mebibytes:8.1} MiB  {}", self.seconds, self.call);
    }
}

/// What a process has used so far: processor time `[s]` and most memory `[KiB]`; none where it has ended.
fn used(process: u32) -> Option<(f64, u64)> {
    let read = |file| fs::read_to_string(format!("/proc/{process}/{file}")).ok();
    let (stat, status) = (read("stat")?, read("status")?);
    // The name, which may have anything in it, is in brackets; time in user and kernel mode are the fields 14 and 15.
    let (_, after) = stat.rsplit_once(')')?;
    let ticks = after.split_whitespace().skip(11).take(2);
    let ticks: Option<u64> = ticks.map(|field| field.parse::<u64>().ok()).sum();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    let held = line.and_then(|line| line.split_whitespace().next()?.parse().ok());
    Some((ticks? as f64 / 100.0, held.unwrap_or(0)))
}

/// Waits for a process and sees what it uses; its status is none where it has to be ended.
fn watched(child: &mut Child) -> (Option<ExitStatus>, f64, u64) {
    let start = Instant::now();
    let (mut seconds, mut most) = (0.0, 0);
    while seconds < HANGS_S && start.elapsed() < WAITS {
        if let Some((so_far, held)) = used(child.id()) {
            (seconds, most) = (so_far, most.max(held));
        }
        if let Some(status) = child.try_wait().expect("a process") {
            return (Some(status), seconds, most);
        }
        sleep(Duration::from_millis(2));
    }
    child.kill().expect("a process that runs");
    child.wait().expect("a process that was ended");
    (None, seconds, most)
}

/// Runs a call as a process of its own.
fn ran(session: &Session, args: &[&str]) -> Taken {
    let call = args.join(" ");
    let mut child = session.process(args).spawn().expect("a process");
    let (mut stdout, mut stderr) = (child.stdout.take(), child.stderr.take());
    let reader = std::thread::spawn(move || {
        // Read, so that a full pipe does not keep it waiting.
        let (mut text, mut errors) = (Vec::new(), String::new());
        if let Some(stdout) = &mut stdout {
            let _ = stdout.read_to_end(&mut text);
        }
        if let Some(stderr) = &mut stderr {
            let _ = stderr.read_to_string(&mut errors);
        }
        errors
    });
    let (status, seconds, kibibytes) = watched(&mut child);
    let errors = reader.join().expect("a reader");
    assert!(!errors.contains("panicked"), "{call}: {errors}");
    Taken {
        call,
        status,
        seconds,
        kibibytes,
    }
}

#[test]
fn every_key_is_checked_at_its_extremes() {
    for tried in LABS {
        let (session, sets) = (tried.session(), tried.sets());
        let file = format!("@{}.toml", tried.name);
        let step = if asked().is_some() { 1 } else { 17 };
        for set in sets.iter().step_by(step) {
            let ended = session.run(&["check", &file, "--set", set]);
            // Either it is taken, or what is wrong is said of what was set.
            match ended.status {
                0 => assert_eq!(ended.stderr, "", "{set}"),
                2 => assert!(!ended.stderr.is_empty() && ended.stdout.is_empty(), "{set}"),
                status => panic!("{set}: {status}"),
            }
        }
    }
}

#[test]
fn every_command_answers_about_the_labs_that_are_tried() {
    for tried in LABS {
        let (session, file) = (tried.session(), format!("@{}.toml", tried.name));
        for command in COMMANDS {
            let ended = session.run(&tried.call(command, &file, None));
            assert!(
                ended.status < 2,
                "{command} {}: {}",
                tried.name,
                ended.stderr
            );
        }
    }
}

#[test]
fn no_key_at_an_extreme_ends_a_command_in_a_panic_or_never() {
    match asked() {
        Some(commands) => all_of_it(&commands),
        None => a_share(),
    }
}

/// One command at some of the extremes.
fn a_share() {
    let mut commands = COMMANDS.iter().cycle();
    let mut tries = 0;
    for tried in LABS {
        let tried = Tried {
            draws: &["--draws", "20"],
            ..tried
        };
        let (session, file) = (tried.session(), format!("@{}.toml", tried.name));
        for set in tried.sets().iter().step_by(211) {
            let is_taken = session.run(&["check", &file, "--set", set]).status == 0;
            if let (true, Some(command)) = (is_taken, commands.next()) {
                let one = ran(&session, &tried.call(command, &file, Some(set)));
                assert!(one.has_ended(), "{}: {:?}", one.call, one.status);
                tries += 1;
            }
        }
    }
    assert!(tries >= COMMANDS.len(), "{tries}");
}

/// Each of these commands at all extremes, with a line for each key and for each run that takes long or much.
fn all_of_it(commands: &[&str]) {
    let mut all: Vec<Taken> = Vec::new();
    for tried in LABS {
        let (session, file) = (tried.session(), format!("@{}.toml", tried.name));
        for key in tried.sets().chunks(EXTREMES.len()) {
            let start = all.len();
            for set in key {
                if session.run(&["check", &file, "--set", set]).status != 0 {
                    continue;
                }
                for command in commands {
                    let one = ran(&session, &tried.call(command, &file, Some(set)));
                    if one.seconds > 5.0 || one.kibibytes > 100 << 10 {
                        one.print();
                    }
                    all.push(one);
                }
            }
            let seconds: f64 = all[start..].iter().map(|one| one.seconds).sum();
            let (path, _) = key[0].split_once('=').expect("a path");
            let runs = all.len() - start;
            println!("{}: {path}: {runs} runs, {seconds:.1} s", tried.name);
        }
    }
    print_most(all.iter().collect());
    let unended = all.iter().filter(|one| !one.has_ended());
    let unended: Vec<&str> = unended.map(|one| one.call.as_str()).collect();
    assert!(unended.is_empty(), "without an end: {unended:#?}");
}

/// Prints the slowest and the largest ten.
fn print_most(mut all: Vec<&Taken>) {
    println!("{} runs; the slowest and the largest ten:", all.len());
    all.sort_by(|one, other| other.seconds.total_cmp(&one.seconds));
    all.iter().take(10).for_each(|one| one.print());
    all.sort_by_key(|one| Reverse(one.kibibytes));
    all.iter().take(10).for_each(|one| one.print());
}

#[test]
fn a_planted_mistake_is_reported_with_its_line() {
    let lines: Vec<&str> = EVERYTHING.lines().collect();
    let mut planted = 0;
    for (index, line) in lines.iter().enumerate() {
        let Some((key, _)) = line.split_once(" = ") else {
            continue;
        };
        // A text where a key takes none, a key that does not exist, no TOML at all.
        for wrong in [
            format!("{key} = {{ low = \"x\" }}"),
            format!("{key}_x = 1"),
            format!("{key} = = 1"),
        ] {
            let mut text = lines.clone();
            text[index] = &wrong;
            let text = text.join("\n");
            let errors = load_text("lab.toml", &text, &[]).expect_err(&wrong);
            let shown = errors.to_string();
            let named = format!("lab.toml:{}:", index + 1);
            assert!(
                shown.contains(&named),
                "line {}: {wrong}: {shown}",
                index + 1
            );
            planted += 1;
        }
    }
    assert!(planted > 200, "{planted}");
}
