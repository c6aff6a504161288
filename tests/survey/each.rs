//! Lines of guests: hosts with control groups of version 2 and 1, callers who may read less, guests that come and go, names
//! and numbers that nobody would think of. Every name and number is invented.

use std::cell::Cell;
use std::fs;
use std::path::Path;

use berthage::calibrate::guests::lines::read;
use berthage::survey::each::kind::Pattern;
use berthage::survey::each::line::headings;
use berthage::survey::each::{Denied, GuestFilter, Watch};
use berthage::survey::{EntryKind, ReadError, Root, Tree};
use berthage::words::survey::not_measured;

use super::held::{Held, Node};
use crate::support::{Session, run};

fn put(held: &mut Held, files: &[(&str, &str)]) {
    for (file, text) in files {
        held.put(file, Node::File(text.as_bytes().to_vec()));
    }
}

/// A process that runs a guest of 512 MiB: 400 MiB of it resident, and 60 MiB beside it.
fn process(held: &mut Held, pid: u32, name: &str) {
    let smaps = "7f0000000000-7f0020000000 rw-p 00000000 00:00 0\nSize: 524288 kB\nRss: 409600 kB\nAnonymous: 409600 kB\n\
                 7f0100000000-7f0108000000 rw-p 00000000 00:00 0\nSize: 131072 kB\nRss: 71680 kB\nAnonymous: 61440 kB\n";
    let command = format!(
        "/usr/bin/run\0-name\0guest={name},trace=on\0-m\0size=512M,slots=2\0-smp\0cpus=2,threads=1\0"
    );
    for (file, text) in [
        ("cmdline", command.as_str()),
        (
            "stat",
            "7 (a) b) S 1 1 1 0 -1 4194304 0 0 0 0 1500 500 0 0 20 0 4 0 100 0 0",
        ),
        ("task/1/schedstat", "1000000000 2000000000 300\n"),
        ("task/2/schedstat", "1000000000 500000000 45\n"),
        ("smaps", smaps),
        (
            "ksm_stat",
            "ksm_rmap_items 5\nksm_zero_pages 10\nksm_merging_pages 2560\nksm_process_profit -5\n",
        ),
        (
            "io",
            "rchar: 7000\nwchar: 9000\nsyscr: 1\nread_bytes: 4096\n",
        ),
        ("fdinfo/9", "pos:\t0\nflags:\t0104002\niff:\ttap0\n"),
    ] {
        put(held, &[(&format!("proc/{pid}/{file}"), text)]);
    }
}

/// A host with groups of version 2 and one guest of its own group.
fn two() -> Held {
    let mut held = Held::default();
    let group = "sys/fs/cgroup/machine.slice/machine-web\\x2d1.scope";
    put(
        &mut held,
        &[
            ("proc/meminfo", "MemTotal: 1000000 kB\n"),
            ("sys/fs/cgroup/cgroup.controllers", "cpu memory\n"),
            ("sys/fs/cgroup/machine.slice/cgroup.procs", ""),
            ("sys/class/net/tap0/statistics/rx_bytes", "100\n"),
            ("sys/class/net/tap0/statistics/tx_bytes", "200\n"),
        ],
    );
    for (file, text) in [
        ("cgroup.procs", "101\n"),
        ("cpu.stat", "usage_usec 12500000\nuser_usec 1\n"),
        ("cpu.max", "max 100000\n"),
        ("memory.stat", "anon 300000000\nfile 5\n"),
        ("memory.max", "max\n"),
        (
            "memory.pressure",
            "some avg10=0.00 avg60=0.00 avg300=0.00 total=1500000\nfull avg10=0 avg60=0 avg300=0 total=0\n",
        ),
    ] {
        put(&mut held, &[(&format!("{group}/{file}"), text)]);
    }
    process(&mut held, 101, "web-1");
    held
}

/// The lines of one moment, and what was not read.
fn lines(held: Held, wanted: GuestFilter) -> (Vec<String>, Vec<Denied>) {
    let mut watch = Watch::new(wanted, Vec::new(), false);
    let lines = watch.lines_at(&Root::of(held), 10.0, true);
    (lines, watch.denied().iter().copied().collect())
}

#[test]
fn groups_of_version_two() {
    let (lines, denied) = lines(two(), GuestFilter::default());
    // 512 MiB and 2 vCPUs by the command line; 345 dispatches and 2.5 s of waiting by two threads; 400 and 60 MiB resident;
    // 2,560 and 10 pages of 4 KiB; what the host sends into the interface the guest receives.
    assert_eq!(
        lines,
        [
            "10.0,web-1,web,2,536870912,12.500,345,2.5000,300000000,419430400,62914560,10485760,40960,,9000,7000,200,100,1.500"
        ]
    );
    assert!(denied.is_empty(), "{denied:?}");
}

#[test]
fn groups_of_version_one() {
    let mut held = Held::default();
    let name = "machine.slice/machine-db.scope";
    for (file, text) in [
        ("memory/machine.slice/cgroup.procs", ""),
        ("memory/{}/cgroup.procs", "101\n"),
        (
            "memory/{}/memory.stat",
            "cache 5\nrss 7\ntotal_rss 250000000\n",
        ),
        ("memory/{}/memory.limit_in_bytes", "1073741824\n"),
        ("cpu,cpuacct/{}/cpuacct.usage", "2500000000\n"),
        ("cpu,cpuacct/{}/cpu.cfs_quota_us", "150000\n"),
        ("cpu,cpuacct/{}/cpu.cfs_period_us", "100000\n"),
    ] {
        put(
            &mut held,
            &[(&format!("sys/fs/cgroup/{}", file.replace("{}", name)), text)],
        );
    }
    let (lines, _) = lines(held, GuestFilter::default());
    assert_eq!(
        lines,
        ["10.0,db,db,2,1073741824,2.500,,,250000000,,,,,,,,,,"]
    );
}

#[test]
fn a_process_that_holds_a_machine_of_the_kernel_is_a_guest() {
    let mut held = Held::default();
    put(&mut held, &[("sys/fs/cgroup/cgroup.controllers", "")]);
    for (pid, name) in [(201, "desk-1"), (202, "desk-2"), (203, "other")] {
        process(&mut held, pid, name);
        let link = if pid == 203 {
            "socket:[7]"
        } else {
            "anon_inode:kvm-vm"
        };
        held.put(&format!("proc/{pid}/fd/11"), Node::Link(link.to_owned()));
        // Both are in the group of whoever started them, so that it says nothing of either.
        put(
            &mut held,
            &[(
                &format!("proc/{pid}/cgroup"),
                "0::/user.slice/session-1.scope\n",
            )],
        );
    }
    let session = "sys/fs/cgroup/user.slice/session-1.scope";
    put(
        &mut held,
        &[
            (&format!("{session}/cgroup.procs"), "200\n201\n202\n"),
            (&format!("{session}/memory.stat"), "anon 9\n"),
        ],
    );
    let (lines, _) = lines(held, GuestFilter::default());
    // 2,000 ticks of 1/100 s.
    for (line, name) in lines.iter().zip(["desk-1", "desk-2"]) {
        assert!(
            line.starts_with(&format!(
                "10.0,{name},desk,2,536870912,20.000,345,2.5000,,419430400,"
            )),
            "{line}"
        );
    }
    assert_eq!(lines.len(), 2);
}

#[test]
fn what_the_caller_may_not_read_is_empty_and_said() {
    let mut held = two();
    for file in ["smaps", "io", "ksm_stat", "fd", "fdinfo"] {
        held.put(&format!("proc/101/{file}"), Node::Denied);
    }
    process(&mut held, 300, "hidden");
    held.put("proc/300/fd", Node::Denied);
    let (lines, denied) = lines(held, GuestFilter::default());
    assert_eq!(
        lines,
        ["10.0,web-1,web,2,536870912,12.500,345,2.5000,300000000,,,,,,,,,,1.500"]
    );
    assert_eq!(denied, [Denied::Processes, Denied::Machines]);
}

#[test]
fn pages_that_several_guests_hold_are_counted_by_root() {
    let mut held = Held::default();
    put(&mut held, &[("sys/fs/cgroup/cgroup.controllers", "")]);
    let words = |numbers: &[u64]| {
        numbers
            .iter()
            .flat_map(|number| number.to_le_bytes())
            .collect::<Vec<u8>>()
    };
    let present = 1 << 63;
    // Four pages of 4 KiB from address 0x10000 on. Frame 5 is in both, 6 is twice in the first, 7 is the zero page.
    for (pid, frames) in [(501, [5, 6, 6, 7]), (502, [5, 7, 7, 9])] {
        let base = format!("proc/{pid}");
        let smaps =
            "10000-14000 rw-p 00000000 00:00 0\nSize: 16 kB\nRss: 16 kB\nAnonymous: 16 kB\n";
        let command = format!("run\0-name\0box-{pid}\0-m\016k\0");
        put(
            &mut held,
            &[
                (&format!("{base}/smaps"), smaps),
                (&format!("{base}/cmdline"), &command),
            ],
        );
        put(
            &mut held,
            &[(
                &format!("{base}/stat"),
                "1 (a) S 1 1 1 0 -1 4 0 0 0 0 100 0 0 0 20",
            )],
        );
        let mut map = vec![0; 16];
        map.extend(frames.map(|frame| frame | present));
        held.put(&format!("{base}/pagemap"), Node::File(words(&map)));
    }
    let flags: Vec<u64> = (0..10)
        .map(|frame| if frame == 7 { 1 << 24 } else { 0 })
        .collect();
    held.put("proc/kpageflags", Node::File(words(&flags)));
    let wanted = GuestFilter {
        processes: vec!["run".to_owned()],
        ..GuestFilter::default()
    };
    let common = |held: &Held| -> Vec<String> {
        let mut watch = Watch::new(wanted.clone(), Vec::new(), true);
        let lines = watch.lines_at(&Root::of(held.clone()), 10.0, true);
        let denied = watch.denied().contains(&Denied::Pages).to_string();
        let cells = lines
            .iter()
            .map(|line| line.split(',').nth(13).expect("a cell").to_owned());
        cells.chain([denied]).collect()
    };
    assert_eq!(common(&held), ["4096", "4096", "false"]);
    // Whoever is not root is shown frames of 0.
    let mut map = vec![0; 16];
    map.extend([present; 4]);
    held.put("proc/502/pagemap", Node::File(words(&map)));
    assert_eq!(common(&held), ["", "", "true"]);
}

#[test]
fn guests_are_named_by_group_program_and_pattern() {
    let mut held = two();
    put(
        &mut held,
        &[
            ("sys/fs/cgroup/boxes/a/cgroup.procs", "7\n"),
            ("sys/fs/cgroup/boxes/a/cpu.stat", "usage_usec 1\n"),
        ],
    );
    put(
        &mut held,
        &[
            ("sys/fs/cgroup/boxes/b/cgroup.procs", ""),
            ("sys/fs/cgroup/boxes/b/cpu.stat", "usage_usec 1\n"),
        ],
    );
    let under = GuestFilter {
        under: vec!["/boxes/".to_owned()],
        ..GuestFilter::default()
    };
    let (found, _) = lines(held.clone(), under);
    // A group that no process is in has ended.
    assert_eq!(found, ["10.0,a,a,,,0.000,,,,,,,,,,,,,"]);
    let processes = GuestFilter {
        processes: vec!["ru*".to_owned()],
        ..GuestFilter::default()
    };
    let pattern = Pattern {
        kind: "front".to_owned(),
        names: "web*".to_owned(),
    };
    let mut watch = Watch::new(processes, vec![pattern], false);
    let found = watch.lines_at(&Root::of(held), 10.0, false);
    assert!(
        found[0].starts_with("10.0,web-1,front,2,536870912,"),
        "{found:?}"
    );
}

#[test]
fn names_that_nobody_would_think_of_stay_one_cell() {
    let mut held = two();
    for (index, name) in ["a,b", "line\nbreak", "=1+1", "\"q\"", "", "\u{202e}x"]
        .into_iter()
        .enumerate()
    {
        let pid = 400 + index as u32;
        process(&mut held, pid, &name.replace(',', ";"));
        held.put(
            &format!("proc/{pid}/fd/1"),
            Node::Link("anon_inode:kvm-vm".to_owned()),
        );
        let group = format!("sys/fs/cgroup/machine.slice/{name} g");
        put(
            &mut held,
            &[
                (&format!("{group}/cgroup.procs"), "1\n"),
                (&format!("{group}/cpu.stat"), "usage_usec 5\n"),
            ],
        );
    }
    let (lines, _) = lines(held, GuestFilter::default());
    assert!(lines.len() > 10, "{lines:?}");
    assert!(lines.iter().all(|line| !line.contains('\n')));
    // What is written is read back, each name once.
    let text = format!("{}\n{}\n", headings().join(","), lines.join("\n"));
    let record = read("guests.csv", &text).unwrap_or_else(|errors| panic!("{errors}"));
    assert_eq!(record.guests.len(), lines.len(), "{text}");
    assert!(record.unused.is_empty());
}

/// A tree from which all that belongs to one process and its group is gone after so many looks.
struct Vanishing {
    held: Held,
    looks: Cell<usize>,
}

impl Vanishing {
    fn is_gone(&self, place: &[String]) -> bool {
        self.looks.set(self.looks.get().saturating_sub(1));
        let mut steps = place.iter();
        self.looks.get() == 0 && steps.any(|step| step == "101" || step.starts_with("machine-web"))
    }
}

impl Tree for Vanishing {
    fn kind(&self, place: &[String]) -> Result<EntryKind, ReadError> {
        if self.is_gone(place) {
            Err(ReadError::NotThere)
        } else {
            self.held.kind(place)
        }
    }

    fn bytes(&self, place: &[String], from: u64, most: u64) -> Result<Vec<u8>, ReadError> {
        if self.is_gone(place) {
            Err(ReadError::NotThere)
        } else {
            self.held.bytes(place, from, most)
        }
    }

    fn names(&self, place: &[String], most: usize) -> Vec<String> {
        if self.is_gone(place) {
            Vec::new()
        } else {
            self.held.names(place, most)
        }
    }
}

#[test]
fn guests_that_vanish_between_two_looks_leave_whole_lines() {
    let mut seen = [0; 2];
    for looks in 1..600 {
        let tree = Vanishing {
            held: two(),
            looks: Cell::new(looks),
        };
        let lines = Watch::new(GuestFilter::default(), Vec::new(), false).lines_at(
            &Root::of(tree),
            1.0,
            true,
        );
        for line in &lines {
            assert_eq!(line.split(',').count(), headings().len(), "{looks}: {line}");
        }
        seen[lines.len()] += 1;
    }
    assert!(seen[0] > 10 && seen[1] > 10, "{seen:?}");
}

/// A tree with a million control groups, of which none is kept.
struct Endless(Held);

impl Endless {
    fn is_group(place: &[String]) -> bool {
        let path = place.join("/");
        let number = path.strip_prefix("sys/fs/cgroup/machine.slice/g");
        let number = number.and_then(|rest| rest.split('/').next()?.parse::<u32>().ok());
        number.is_some_and(|number| number < 1_000_000)
    }
}

impl Tree for Endless {
    fn kind(&self, place: &[String]) -> Result<EntryKind, ReadError> {
        match (Endless::is_group(place), place.len()) {
            (true, 5) => Ok(EntryKind::Folder),
            (true, 6) => Ok(EntryKind::File),
            _ => self.0.kind(place),
        }
    }

    fn bytes(&self, place: &[String], from: u64, most: u64) -> Result<Vec<u8>, ReadError> {
        match (Endless::is_group(place), place.last().map(String::as_str)) {
            (true, Some("cgroup.procs")) => Ok(b"1\n".to_vec()),
            (true, Some("cpu.stat")) => Ok(b"usage_usec 1\n".to_vec()),
            (true, _) => Err(ReadError::NotThere),
            _ => self.0.bytes(place, from, most),
        }
    }

    fn names(&self, place: &[String], most: usize) -> Vec<String> {
        if place.join("/") == "sys/fs/cgroup/machine.slice" {
            return (0..1_000_000)
                .map(|number| format!("g{number}"))
                .take(most)
                .collect();
        }
        if Endless::is_group(place) {
            return Vec::new();
        }
        self.0.names(place, most)
    }
}

#[test]
fn a_million_groups_are_cut_off_and_that_is_said() {
    let mut watch = Watch::new(GuestFilter::default(), Vec::new(), false);
    let lines = watch.lines_at(&Root::of(Endless(two())), 10.0, true);
    assert_eq!(lines.len(), 20_000);
    assert!(watch.denied().contains(&Denied::Groups));
    assert!(not_measured(&watch, lines.len()).contains("20,000"));
}

/// A tree in a folder of this machine whose one guest is read at every moment.
fn on_a_disk(session: &Session) -> String {
    let tree = session.folder().join("tree");
    on_disk(&two(), &tree);
    tree.to_str().expect("a path").to_owned()
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_is_an_error_and_leaves_no_half_line() {
    let session = Session::new();
    let root = on_a_disk(&session);
    let call = ["survey", "--each", "--root", root.as_str(), "--output"];
    // The kernel's own full device takes nothing.
    session.run(&[&call[..], &["/dev/full"]].concat()).refuses();
    // A file that may not grow past 1 KiB takes the headings and some lines, and a part of one more.
    let limited = "trap '' XFSZ; ulimit -f 1 || exit 9; exec \"$0\" \"$@\"";
    let file = session.path("guests.csv");
    let ended = std::process::Command::new("bash")
        .args(["-c", limited, env!("CARGO_BIN_EXE_berthage")])
        .args(call)
        .args([file.as_str(), "--every", "10ms", "--for", "1min"])
        .output()
        .expect("a shell");
    assert_eq!(ended.status.code(), Some(2), "{ended:?}");
    let said = String::from_utf8_lossy(&ended.stderr);
    assert!(
        said.contains("takes no more lines") && said.contains("lines before are whole"),
        "{said}"
    );
    let text = session.read("guests.csv");
    assert!(text.ends_with('\n') && text.lines().count() > 3, "{text}");
    let cells = text.lines().map(|line| line.split(',').count());
    assert!(
        cells.clone().all(|count| count == headings().len()),
        "{text}"
    );
    // With room again it goes on below.
    session
        .run(&[&call[..], &["@guests.csv"]].concat())
        .answers();
    assert_eq!(
        session.read("guests.csv").lines().count(),
        cells.count() + 1
    );
}

#[test]
fn a_lab_says_what_guests_of_a_kind_are_called() {
    let session = Session::lab(
        "[[host]]\nname = \"box\"\ncpu.groups = [{ cores = 4 }]\nmemory.modules = [\"16 GiB\"]\n\
         [[guest]]\nname = \"front\"\nmemory = \"512 MiB\"\nmatches = \"web-*\"\n",
    );
    let root = on_a_disk(&session);
    let call = [
        "survey",
        "--each",
        "--root",
        root.as_str(),
        "--lab",
        "@lab.toml",
    ];
    session
        .run(&call)
        .answers()
        .says(",web-1,front,2,536870912,");
    // What is typed comes first.
    session
        .run(&[&call[..], &["--kind", "back=web*"]].concat())
        .says(",web-1,back,");
    session
        .run(&["survey", "--each", "--lab", "@none.toml"])
        .refuses();
    session.run(&["survey", "--lab", "@lab.toml"]).refuses();
}

/// The tree in a folder of this machine.
fn on_disk(held: &Held, folder: &Path) {
    for path in held.paths() {
        let steps: Vec<String> = path.split('/').map(str::to_owned).collect();
        let file = folder.join(&path);
        fs::create_dir_all(file.parent().expect("a folder")).expect("a folder");
        if let Some(Node::File(bytes)) = held.at(&steps) {
            fs::write(file, bytes).expect("a file");
        }
    }
}

#[test]
fn lines_are_appended_across_restarts_and_lead_to_a_lab() {
    let session = Session::new();
    let mut held = Held::copy(&super::tables::tree("plain")).expect("a tree");
    for (path, node) in two()
        .paths()
        .into_iter()
        .filter(|path| path != "proc/meminfo")
        .map(|path| {
            let steps: Vec<String> = path.split('/').map(str::to_owned).collect();
            let node = two().at(&steps).cloned().expect("a node");
            (path, node)
        })
    {
        held.put(&path, node);
    }
    let tree = session.folder().join("tree");
    on_disk(&held, &tree);
    let root = tree.to_str().expect("a path");
    let call = [
        "survey",
        "--each",
        "--root",
        root,
        "--output",
        "@guests.csv",
    ];
    session
        .run(&[&call[..], &["--every", "20ms", "--for", "70ms"]].concat())
        .answers();
    session.run(&call).answers();
    let text = session.read("guests.csv");
    assert_eq!(text.lines().count(), 6, "{text}");
    assert!(
        text.lines()
            .skip(1)
            .all(|line| line.contains(",web-1,web,2,")),
        "{text}"
    );
    // Readings of the host do not belong below these headings.
    let mixed = [
        "survey",
        "--reading",
        "--guests",
        "1",
        "--root",
        root,
        "--output",
        "@guests.csv",
    ];
    session.run(&mixed).refuses();
    // From the host and its guests to a lab, and from that to an answer.
    session
        .run(&[
            "new",
            "@lab.toml",
            "--from-survey",
            "@guests.csv",
            "--root",
            root,
        ])
        .answers();
    let lab = session.read("lab.toml");
    assert!(
        lab.contains("name = \"shelf-a\"")
            && lab.contains("name = \"web\"")
            && lab.contains("count = 1"),
        "{lab}"
    );
    run(&["fit", &session.path("lab.toml")]).says("shelf-a");
    session
        .run(&[
            "new",
            "@other.toml",
            "--from-survey",
            "@lab.toml",
            "--root",
            root,
        ])
        .refuses();
    session
        .run(&[
            "new",
            "@other.toml",
            "--guest",
            "server",
            "--from-survey",
            "@guests.csv",
        ])
        .refuses();
}

#[test]
fn calls_that_make_no_sense_are_refused() {
    for args in [
        &["survey", "--each", "--reading", "--guests", "1"][..],
        &["survey", "--under", "boxes"],
        &["survey", "--each", "--kind", "web"],
        &["survey", "--each", "--for", "1s"],
        &["survey", "--each", "--name", "host"],
        &["survey", "--each", "--guests", "3"],
    ] {
        run(args).exits(2);
    }
}
