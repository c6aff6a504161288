//! Everything wrong is found, all of it at once, and said with what is allowed and how to fix it.

use super::{GUEST, HOST, codes, wrong};
use crate::diagnose::ErrorKind;
use crate::inventory::load_text;

/// A lab whose one guest has these lines as well.
fn guest(lines: &str) -> String {
    format!("{HOST}{GUEST}{lines}\n")
}

/// A lab whose one host has these lines as well.
fn host(lines: &str) -> String {
    format!("{HOST}{lines}\n{GUEST}")
}

#[test]
fn the_error_of_the_design_looks_as_designed() {
    let text = format!("[policy]\nmemory_keep_free = \"120 %\"\n{HOST}{GUEST}");
    let errors = codes(&text, &[ErrorKind::OutOfRange]);
    let expected = "\
lab.toml:2:20: `memory_keep_free` must be between 0 % and 90 %, but is 120 %   (out-of-range)
    memory_keep_free = \"120 %\"
                       ^^^^^^^ a share of the memory the kernel sees
    Write \"12 %\" for 12 %.
";
    assert_eq!(errors.render(false, 100), expected);
}

#[test]
fn several_syntax_errors_are_reported_at_once() {
    let text = "[lab]\nname = x\nyears = = 3\n[policy]\nservice_life = 5 years\n";
    let errors = codes(
        text,
        &[
            ErrorKind::SyntaxError,
            ErrorKind::SyntaxError,
            ErrorKind::SyntaxError,
        ],
    );
    let lines: Vec<usize> = errors
        .list()
        .iter()
        .map(|error| errors.sources().line(error.labels[0].place))
        .collect();
    assert_eq!(lines, [2, 3, 5], "{errors}");
}

#[test]
fn keys_given_twice_show_both_places() {
    let errors = codes(&guest("memory = \"3 GiB\""), &[ErrorKind::Duplicate]);
    let lines: Vec<usize> = errors.list()[0]
        .labels
        .iter()
        .map(|label| errors.sources().line(label.place))
        .collect();
    assert_eq!(lines, [10, 9], "{errors}");
    codes(
        "[lab]\nname = \"a\"\n[lab]\nyears = 3\n",
        &[ErrorKind::Duplicate],
    );
}

#[test]
fn unknown_keys_name_the_likely_one() {
    let cases = [
        (guest("memroy = \"2 GiB\""), "did you mean `memory`?"),
        (
            guest("touched-busy = \"2 GiB\""),
            "did you mean `touched_busy`?",
        ),
        (
            guest("base_used = \"2 GiB\""),
            "did you mean `disk_used`? `base_used` belongs in [[host.disk]]",
        ),
        (
            guest("smt_gain = 0.2"),
            "`smt_gain` belongs in host.cpu.groups",
        ),
        (
            host("[host.merging]\nmdoe = \"off\""),
            "did you mean `mode`?",
        ),
        (host("[host.disc]\nname = \"x\""), "did you mean `disk`?"),
        (format!("[polcy]\n{HOST}{GUEST}"), "did you mean `policy`?"),
        (
            format!("memory_risk = 0.1\n{HOST}{GUEST}"),
            "`memory_risk` belongs in [policy]",
        ),
        (guest("colour = \"red\""), "keys of [[guest]]"),
    ];
    for (text, hint) in cases {
        let errors = codes(&text, &[ErrorKind::UnknownKey]);
        let told = errors.to_string().to_lowercase();
        assert!(told.contains(hint), "{errors}");
    }
}

#[test]
fn missing_keys_are_named() {
    codes("[[host]]\n[[guest]]\n", &[ErrorKind::MissingKey; 5]);
    codes(
        &host("[[host.disk]]\nname = \"a\""),
        &[ErrorKind::MissingKey],
    );
    codes(&host("[host.network]"), &[ErrorKind::MissingKey]);
    codes(&host("[host.power]"), &[ErrorKind::MissingKey; 2]);
    codes(
        &host("[host.backup]\nspeed = \"1 MB/s\""),
        &[ErrorKind::MissingKey],
    );
    codes(
        &format!("[[image]]\nname = \"a\"\n{HOST}{GUEST}"),
        &[ErrorKind::MissingKey],
    );
}

#[test]
fn empty_files_and_files_without_hosts_or_guests_say_so() {
    codes("", &[ErrorKind::EmptyLab; 2]);
    codes("# nothing\n", &[ErrorKind::EmptyLab; 2]);
    codes(HOST, &[ErrorKind::EmptyLab]);
    codes(GUEST, &[ErrorKind::EmptyLab]);
    codes(
        "[host]\nname = \"a\"\ncpu.groups = [{ cores = 1 }]\nmemory.modules = [\"8 GiB\"]\n[[guest]]\nname = \"b\"\nmemory = \"1 GiB\"",
        &[ErrorKind::WrongType],
    );
}

#[test]
fn wrong_types_units_and_numbers_have_their_codes() {
    let cases = [
        ("vcpus = \"2\"", ErrorKind::WrongType),
        ("vcpus = true", ErrorKind::WrongType),
        ("vcpus = [1]", ErrorKind::WrongType),
        ("vcpus = {}", ErrorKind::InvalidUncertainValue),
        ("vcpus = 0", ErrorKind::OutOfRange),
        ("vcpus = -1", ErrorKind::OutOfRange),
        ("vcpus = 2.5", ErrorKind::NotWhole),
        ("vcpus = 1000001", ErrorKind::OutOfRange),
        (
            "vcpus = 99999999999999999999999999999999999999999999999",
            ErrorKind::OutOfRange,
        ),
        ("vcpus = nan", ErrorKind::NotFinite),
        ("share = inf", ErrorKind::NotFinite),
        ("share = 0", ErrorKind::OutOfRange),
        ("share = -1", ErrorKind::OutOfRange),
        ("touched = 700", ErrorKind::MissingUnit),
        ("touched = \"700\"", ErrorKind::MissingUnit),
        ("touched = \"700 MIB\"", ErrorKind::WrongUnit),
        ("touched = \"7 h\"", ErrorKind::WrongUnit),
        ("touched = \"lots\"", ErrorKind::WrongType),
        ("touched = \"\"", ErrorKind::WrongType),
        ("touched = \"nan\"", ErrorKind::NotFinite),
        ("touched = \"-1 MiB\"", ErrorKind::OutOfRange),
        ("touched = \"1e400 B\"", ErrorKind::OutOfRange),
        ("disk_size = \"2000 PB\"", ErrorKind::OutOfRange),
        ("written = 3", ErrorKind::MissingUnit),
        ("written = \"3 GB\"", ErrorKind::WrongUnit),
        ("busy = \"110 %\"", ErrorKind::OutOfRange),
        ("busy = 5", ErrorKind::OutOfRange),
        ("busy = 1979-05-27", ErrorKind::WrongType),
        ("boot_time = 30", ErrorKind::MissingUnit),
        ("net_busy = 30", ErrorKind::MissingUnit),
        ("merge = \"true\"", ErrorKind::WrongType),
        ("merge = 1", ErrorKind::WrongType),
        ("kind = \"VM\"", ErrorKind::UnknownChoice),
        ("kind = 1", ErrorKind::WrongType),
        ("clone = \"linked\"", ErrorKind::UnknownChoice),
        ("disk = \"\"", ErrorKind::InvalidName),
        ("disk = \"a\\u0007b\"", ErrorKind::InvalidName),
    ];
    for (line, code) in cases {
        let errors = codes(&guest(line), &[code]);
        assert!(!errors.list()[0].hints.is_empty(), "no help: {errors}");
    }
    codes(
        &format!(
            "[policy]\nmemory_risk = 0\ncorrelation = 1\ncpu_slowdown = 0.9\ndisk_ceiling = 0\n{HOST}{GUEST}"
        ),
        &[ErrorKind::OutOfRange; 4],
    );
    codes(
        &HOST
            .replace("cores = 8", "cores = 0")
            .replace("\"32 GiB\", ", "\"0 GiB\", 5, ")
            .add(GUEST),
        &[
            ErrorKind::OutOfRange,
            ErrorKind::OutOfRange,
            ErrorKind::MissingUnit,
        ],
    );
    codes(
        &HOST.replace("[\"32 GiB\", \"32 GiB\"]", "[]").add(GUEST),
        &[ErrorKind::OutOfRange],
    );
}

/// Joins texts in the middle of an expression.
trait Add {
    fn add(self, more: &str) -> String;
}

impl Add for String {
    fn add(mut self, more: &str) -> String {
        self.push_str(more);
        self
    }
}

#[test]
fn relations_are_checked() {
    let guests = [
        (
            "touched = \"1.5 GiB\"\ntouched_busy = \"1 GiB\"",
            ErrorKind::PartExceedsWhole,
        ),
        ("touched = \"3 GiB\"", ErrorKind::PartExceedsWhole),
        ("touched_busy = \"3 GiB\"", ErrorKind::PartExceedsWhole),
        (
            "touched = \"500 MiB\"\ncommon = \"400 MiB\"\nrepeats = \"30 %\"",
            ErrorKind::PartExceedsWhole,
        ),
        (
            "touched = \"500 MiB\"\ncommon = \"600 MiB\"",
            ErrorKind::PartExceedsWhole,
        ),
        ("repeats = \"1.9 GiB\"", ErrorKind::PartExceedsWhole),
        (
            "touched = \"500 MiB\"\ntouched_busy = \"600 MiB\"\ncommon_busy = \"95 MiB\"",
            ErrorKind::PartExceedsWhole,
        ),
        ("working_set = \"3 GiB\"", ErrorKind::PartExceedsWhole),
        ("balloon_floor = \"3 GiB\"", ErrorKind::PartExceedsWhole),
        (
            "idle_load = \"50 %\"\nbusy_load = \"40 %\"",
            ErrorKind::PartExceedsWhole,
        ),
        (
            "reads_idle = 5\nreads_busy = 4",
            ErrorKind::PartExceedsWhole,
        ),
        (
            "writes_idle = 5\nwrites_busy = 4",
            ErrorKind::PartExceedsWhole,
        ),
        (
            "net_idle = \"5 Mbit/s\"\nnet_busy = \"0.1 MB/s\"",
            ErrorKind::PartExceedsWhole,
        ),
        (
            "disk_used = \"5 GB\"\ndisk_size = \"4 GB\"",
            ErrorKind::PartExceedsWhole,
        ),
        (
            "kind = \"container\"\npinned = true",
            ErrorKind::ConflictingKeys,
        ),
        (
            "kind = \"container\"\nhuge_pages = true",
            ErrorKind::ConflictingKeys,
        ),
        ("image = \"none\"", ErrorKind::UnknownReference),
        (
            "touched = { low = \"5 MiB\", likely = \"4 MiB\", high = \"6 MiB\" }",
            ErrorKind::InvalidUncertainValue,
        ),
        (
            "touched = { low = \"5 MiB\", high = \"6 MiB\" }",
            ErrorKind::InvalidUncertainValue,
        ),
        (
            "touched = { low = \"5 MiB\", likely = \"5 MiB\", high = \"6 MiB\", most = 1 }",
            ErrorKind::InvalidUncertainValue,
        ),
        (
            "common = { low = \"5 %\", likely = \"50 MiB\", high = \"60 MiB\" }",
            ErrorKind::InvalidUncertainValue,
        ),
        (
            "busy = { low = \"5 %\", likely = \"50 %\", high = \"101 %\" }",
            ErrorKind::OutOfRange,
        ),
        (
            "touched = { low = \"5 MiB\", likely = \"6 MiB\", high = 7 }",
            ErrorKind::MissingUnit,
        ),
    ];
    for (lines, code) in guests {
        codes(&guest(lines), &[code]);
    }
    let pool = "[[host.disk]]\nname = \"pool\"\ncapacity = \"1 TB\"\n";
    let hosts = [
        (
            format!("{pool}layout = \"parity1\"\ndevices = 2"),
            ErrorKind::InvalidLayout,
        ),
        (
            format!("{pool}layout = \"parity2\"\ndevices = 3"),
            ErrorKind::InvalidLayout,
        ),
        (
            format!("{pool}layout = \"mirror\""),
            ErrorKind::InvalidLayout,
        ),
        (
            format!("{pool}layout = \"mirror\"\ndevices = 4\nways = 3"),
            ErrorKind::InvalidLayout,
        ),
        (format!("{pool}ways = 1"), ErrorKind::OutOfRange),
        (format!("{pool}burst = \"1 GB\""), ErrorKind::UnpairedKey),
        (
            format!("{pool}burst_speed = \"1 GB/s\""),
            ErrorKind::UnpairedKey,
        ),
        (format!("{pool}read_iops = 10"), ErrorKind::UnpairedKey),
        (format!("{pool}write_iops = 10"), ErrorKind::UnpairedKey),
        (format!("{pool}{pool}"), ErrorKind::Duplicate),
        (
            "[host.backup]\nwindow = \"6 h\"".to_owned(),
            ErrorKind::UnpairedKey,
        ),
        (
            "[host.power]\nidle = \"50 W\"\nbusy = \"40 W\"".to_owned(),
            ErrorKind::PartExceedsWhole,
        ),
        ("memory.slots = 1".to_owned(), ErrorKind::ModulesDoNotFit),
        (
            "memory.max_module = \"16 GiB\"".to_owned(),
            ErrorKind::ModulesDoNotFit,
        ),
        (
            "memory.firmware_reserved = \"64 GiB\"".to_owned(),
            ErrorKind::NoMemoryLeft,
        ),
        (
            "memory.compressed_swap = \"200 GiB\"".to_owned(),
            ErrorKind::NoMemoryLeft,
        ),
        (
            "memory.file_cache_floor = \"1 GiB\"".to_owned(),
            ErrorKind::PartExceedsWhole,
        ),
        (
            "memory.file_cache = \"1 GiB\"\nmemory.file_cache_floor = \"2 GiB\"".to_owned(),
            ErrorKind::PartExceedsWhole,
        ),
        (
            "[host.merging]\nleast = 100\nmost = 50".to_owned(),
            ErrorKind::PartExceedsWhole,
        ),
        (
            "[host.merging]\nvisits = 3".to_owned(),
            ErrorKind::OutOfRange,
        ),
        (
            "memory.module_prices = { 48 = 1 }".to_owned(),
            ErrorKind::WrongUnit,
        ),
        (
            "memory.module_prices = { \"48 GiB\" = -1 }".to_owned(),
            ErrorKind::OutOfRange,
        ),
        (
            "network = { link = \"1 Gbit/s\", link_prices = { \"2 TB\" = 9 } }".to_owned(),
            ErrorKind::WrongUnit,
        ),
    ];
    for (lines, code) in hosts {
        codes(&host(&lines), &[code]);
    }
    codes(&format!("{HOST}{HOST}{GUEST}"), &[ErrorKind::Duplicate]);
}

#[test]
fn a_pool_must_be_there_in_every_host_that_has_disks() {
    let second = HOST.replace("shelf-a", "shelf-b");
    let pool = |name: &str| format!("[[host.disk]]\nname = \"{name}\"\ncapacity = \"1 TB\"\n");
    let text =
        |first: &str, other: &str| format!("{HOST}{first}{second}{other}{GUEST}disk = \"fast\"\n");
    super::right(&text(&pool("fast"), ""));
    codes(&text("", ""), &[ErrorKind::UnknownReference]);
    let errors = codes(
        &text(&pool("fast"), &pool("fats")),
        &[ErrorKind::UnknownReference],
    );
    assert!(
        errors.to_string().contains("Did you mean \"fats\"?"),
        "{errors}"
    );
    codes(
        &format!(
            "{HOST}{}[[image]]\nname = \"i\"\nsize = \"1 GB\"\ndisk = \"b\"\n{GUEST}",
            pool("a")
        ),
        &[ErrorKind::UnknownReference],
    );
}

#[test]
fn one_fault_is_not_said_twice() {
    // A wrong memory leaves nothing to compare touched with.
    codes(
        &guest("touched = \"700 MiB\"\ntouched_busy = \"900 MiB\"\ncommon = \"300 MiB\"")
            .replace("\"2 GiB\"", "2"),
        &[ErrorKind::MissingUnit],
    );
    codes(
        &guest("touched = 700\ncommon = \"300 MiB\"\nrepeats = \"10 MiB\""),
        &[ErrorKind::MissingUnit],
    );
    codes(
        &host(
            "[[host.disk]]\nname = \"a\"\ncapacity = \"1 TB\"\nlayout = \"mirror\"\ndevices = \"2\"",
        ),
        &[ErrorKind::WrongType],
    );
}

#[test]
fn many_faults_of_many_kinds_come_together() {
    let text = format!(
        "[policy]\nslow_risk = 2\nmemory_riks = 1\n{HOST}price = \"9\"\n{GUEST}touched = 1\nimage = \"x\"\nvcpus = 0\n[[guest]]\nname = \"web\"\n"
    );
    let errors = wrong(&text);
    assert_eq!(errors.list().len(), 8, "{errors}");
}

#[test]
fn what_is_no_toml_is_told_with_how_to_mend_it() {
    for (line, hint) in [
        ("[[guest", "close the heading with ]]"),
        ("[policy", "close the heading with ]"),
        ("touched = \"2 GiB", "close it with \" on the line"),
        ("touched = '2 GiB", "close it with ' on the line"),
        ("touched = \"\"\"2 GiB", "close it with \"\"\""),
        ("touched \"2 GiB\"", "write key = value"),
        ("touched =", "write a value after the ="),
        ("touched", "write key = value"),
        ("touched = 2 GiB", "put quotes around it"),
        ("touched = “2 GiB”", "write \" before and after"),
        ("touched: \"2 GiB\"", "write = between"),
        ("// guests", "a comment begins with #"),
        ("touched = [\"2 GiB\"", "close the list with ]"),
        ("touched = { low = 1", "close the table with }"),
        ("touched = { low = 1 high = 2 }", "a comma between two"),
        ("touched = [1 2]", "a comma between two"),
        ("touched = \"2 GiB\",", "take out the comma"),
        ("share = 1,5", "write a point before decimals"),
        (
            "touched = \"2 GiB\" share = 2",
            "each key on a line of its own",
        ),
        ("touched = \"C:\\guests\"", "write \\\\ for a backslash"),
        ("touched == \"2 GiB\"", "write one ="),
        ("share = .5", "digits on both sides"),
        ("share = TRUE", "in lower case"),
        ("share = 1__0", "write the number in digits"),
        ("[policy]\n[policy]", "under one of the two"),
        ("[guest]", "write [[guest]] above each"),
        ("name = \"other\"", "keep one of the two"),
    ] {
        let text = format!("{HOST}{GUEST}{line}\n");
        let errors = load_text("bad.toml", &text, &[]).expect_err(line);
        let told = errors.render(false, 120);
        assert!(
            told.contains("this is not TOML") || told.contains("is given twice"),
            "{line}: {told}"
        );
        assert!(told.to_lowercase().contains(hint), "{line}: {told}");
    }
}

#[test]
fn a_number_that_is_too_large_is_told_with_the_largest() {
    for (line, told) in [
        (
            "disk_used = \"1e300 GiB\"",
            "`disk_used` must be between 0 B and 1000 PB, but is `1e300 GiB`, which is too large",
        ),
        (
            "share = 1e999",
            "1,000,000,000), but is `1e999`, which is too large",
        ),
        (
            "disk_used = \"-1e300 GiB\"",
            "1000 PB, but is `-1e300 GiB`, which is too far below 0",
        ),
        // Neither of its readings would do.
        (
            "disk_used = -5",
            "must be between 0 B and 1000 PB, but is `-5` without a unit",
        ),
        // A text that is only a number is a part of 1, like a bare one.
        ("busy = \"8\"", "Write \"8 %\" for 8 %"),
        (
            "share = \"600 EUR\"",
            "Write share = 600, a number without quotes",
        ),
        ("disk_used = 1_000", "Write \"1000 GiB\" or \"1000 GB\""),
    ] {
        let text = format!("{HOST}{GUEST}{line}\n");
        let errors = load_text("bad.toml", &text, &[]).expect_err(line);
        let message = errors.render(false, 200);
        assert!(message.contains(told), "{line}: {message}");
    }
    let prices = "memory.slots = 4\nmemory.module_prices = { \"1e300 GiB\" = 9 }\n";
    let text = format!("{HOST}{prices}{GUEST}");
    let errors = load_text("bad.toml", &text, &[]).expect_err("too large");
    let message = errors.render(false, 200);
    assert!(
        message.contains("at most 1000 PB, but is `1e300 GiB`, which is too large"),
        "{message}"
    );
}

#[test]
fn a_host_that_keeps_all_it_has_for_itself_is_refused() {
    for (more, kind, told) in [
        (
            "memory.base = \"200 GiB\"",
            ErrorKind::NoMemoryLeft,
            "the host itself keeps 200 GiB of the",
        ),
        (
            "memory.file_cache = \"90 GiB\"",
            ErrorKind::NoMemoryLeft,
            "no guest can ever run there",
        ),
        (
            "cpu.base_cores = 99",
            ErrorKind::PartExceedsWhole,
            "less than all hardware threads",
        ),
        (
            "[[host.disk]]\nname = \"a\"\ncapacity = \"1 TB\"\nbase_used = \"2 TB\"",
            ErrorKind::PartExceedsWhole,
            "at most what the devices hold",
        ),
    ] {
        let errors = codes(&host(more), &[kind]);
        let shown = errors.to_string().to_lowercase();
        assert!(shown.contains(&told.to_lowercase()), "{errors}");
        assert_eq!(errors.list()[0].labels.len(), 2, "{errors}");
    }
}

#[test]
fn a_bare_number_of_memory_is_likelier_one_of_mebibytes_and_of_rated_writes_of_terabytes() {
    let told = |line: &str| codes(&guest(line), &[ErrorKind::MissingUnit]).to_string();
    assert!(told("touched = 1536").contains("Write \"1536 MiB\", which is \"1.5 GiB\"."));
    assert!(told("touched = 2").contains("\"2 GiB\" or \"2 GB\""));
    assert!(told("disk_used = 4096").contains("\"4096 GiB\" or \"4096 GB\""));
    let disk = "[[host.disk]]\nname = \"a\"\ncapacity = \"1 TB\"\nendurance = 600";
    let told = codes(&host(disk), &[ErrorKind::MissingUnit]).to_string();
    assert!(told.contains("Write \"600 TB\", if it is in terabytes as makers rate it."));
}
