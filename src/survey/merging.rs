//! Page sharing: how the scanner is set, who drives it, and whether it gains or costs memory here.

use super::counters::{Counters, KSM};
use super::parse;
use super::root::Root;
use super::table::{HostTable, quoted};
use crate::lab::keys::Section;

/// Settings of the public tuning daemon.
const DAEMON_FILE: &str = "etc/ksmtuned.conf";
/// Name of the public tuning daemon's process.
const DAEMON: &str = "ksmtuned";

/// Writes `[host.merging]`.
pub(super) fn read(root: &Root, table: &mut HostTable) {
    table.open(Section::Merging);
    let run = match root.number(&format!("{KSM}/run")) {
        Ok(run) => run,
        Err(why) => return table.put_text("mode", &quoted("off"), format!("/{KSM}/run: {why}")),
    };
    let advisor = root.text(&format!("{KSM}/advisor_mode"));
    let (mode, origin) = if daemon_runs(root) {
        ("adaptive", format!("a process called {DAEMON} runs"))
    } else if run != 1.0 {
        ("off", format!("/{KSM}/run says {run}"))
    } else if advisor.is_ok_and(|text| parse::chosen(&text) == Some("scan-time")) {
        ("scan_time", format!("/{KSM}/advisor_mode"))
    } else {
        (
            "fixed",
            format!("/{KSM}/run says 1, and nothing else drives it"),
        )
    };
    table.put_text("mode", &quoted(mode), origin);
    if mode == "adaptive" {
        daemon(root, table);
    }
    settings(root, mode, run, table);
    for (key, absent) in [
        ("smart_scan", "kernels before 6.7 have none"),
        ("use_zero_pages", "taken as off"),
    ] {
        let file = format!("{KSM}/{key}");
        match root.number(&file) {
            Ok(number) => {
                let flag = (number != 0.0).to_string();
                table.put_text(key, &flag, format!("/{file}"));
            }
            Err(_) => table.put_text(key, "false", format!("no /{file}: {absent}")),
        }
    }
    visits_and_tick(root, table);
    table.note(Counters::read(root).map_or_else(
        || "whether sharing gains or costs memory: the counters could not be read".to_owned(),
        |counters| counters.words(),
    ));
}

/// What is set in the scanner's own files, and counts as soon as sharing is switched on too.
fn settings(root: &Root, mode: &str, run: f64, table: &mut HostTable) {
    let sleeps = run == 1.0 || mode == "off";
    let paced = matches!(mode, "fixed" | "off");
    let rows = [
        (
            "target_pass",
            "advisor_target_scan_time",
            1.0,
            mode == "scan_time",
        ),
        ("pages_per_wake", "pages_to_scan", 1.0, paced),
        ("sleep", "sleep_millisecs", 1e-3, sleeps),
        ("users_per_copy", "max_page_sharing", 1.0, true),
    ];
    for (key, file, factor, _) in rows.into_iter().filter(|row| row.3) {
        let file = format!("{KSM}/{file}");
        match root.number(&file) {
            Ok(number) => table.put(key, number * factor, format!("/{file}")),
            Err(why) => table.not_read(key, format!("/{file}: {why}")),
        }
    }
}

/// What follows from the age and the build of the kernel.
fn visits_and_tick(root: &Root, table: &mut HostTable) {
    let text = root.text("proc/sys/kernel/osrelease").unwrap_or_default();
    match parse::release(&text) {
        Some((major, minor)) => {
            let (visits, why) = if (major, minor) < (6, 11) {
                (
                    1.0,
                    "kernels before about 6.11 merge at the first visit once a copy exists",
                )
            } else {
                (2.0, "kernels from about 6.11 on merge at the second visit")
            };
            table.put("visits", visits, format!("kernel {major}.{minor}: {why}"));
        }
        None => {
            let why = "/proc/sys/kernel/osrelease gives no kernel release";
            table.not_read("visits", why);
        }
    }
    tick(root, &text, table);
}

/// The period of the timer, from the build settings of the running kernel.
fn tick(root: &Root, release: &str, table: &mut HostTable) {
    // A release is one name, never a path.
    let release = release.replace('/', "?");
    let places = [
        "proc/config.gz".to_owned(),
        format!("boot/config-{release}"),
        format!("lib/modules/{release}/config"),
        format!("usr/lib/modules/{release}/config"),
        format!("lib/modules/{release}/build/.config"),
    ];
    let hertz = |file: &String| {
        let text = root.text(file).ok()?;
        let lines = text.lines();
        let mut settings =
            lines.filter_map(|line| line.strip_prefix("CONFIG_HZ=")?.parse::<f64>().ok());
        settings.find(|hertz| *hertz > 0.0)
    };
    let found = places.iter().find_map(|file| Some((file, hertz(file)?)));
    match found {
        Some((file, hertz)) => table.put("tick", 1.0 / hertz, format!("/{file}, CONFIG_HZ")),
        None if root.exists("proc/config.gz") => {
            let why = "/proc/config.gz does not say it; 4 ms is taken";
            table.not_read("tick", why);
        }
        None => {
            let why = "the kernel's build settings are neither in /boot nor in /lib/modules; 4 ms is taken";
            table.not_read("tick", why);
        }
    }
}

/// Whether the tuning daemon runs.
fn daemon_runs(root: &Root) -> bool {
    root.names("proc")
        .iter()
        .filter(|name| name.bytes().all(|byte| byte.is_ascii_digit()))
        .any(|process| root.text(&format!("proc/{process}/comm")).as_deref() == Ok(DAEMON))
}

/// A number in the daemon's file; the last line that sets it counts.
fn setting(text: &str, name: &str) -> Option<f64> {
    let value = text.lines().rev().find_map(|line| {
        let rest = line.trim().strip_prefix(name)?;
        rest.trim_start().strip_prefix('=')
    })?;
    value.trim().trim_matches('"').parse().ok()
}

/// The daemon's settings; what its file leaves out are its own defaults, which are the inventory's too.
fn daemon(root: &Root, table: &mut HostTable) {
    let Ok(text) = root.text(DAEMON_FILE) else {
        let note = format!("no /{DAEMON_FILE}: the daemon's own defaults are taken");
        return table.note(note);
    };
    let or = |name, default| setting(&text, name).unwrap_or(default);
    let swapped = or("KSM_NPAGES_MIN", 64.0) > or("KSM_NPAGES_MAX", 1250.0);
    for (key, name, factor) in [
        ("boost", "KSM_NPAGES_BOOST", 1.0),
        ("decay", "KSM_NPAGES_DECAY", -1.0),
        ("least", "KSM_NPAGES_MIN", 1.0),
        ("most", "KSM_NPAGES_MAX", 1.0),
        ("interval", "KSM_MONITOR_INTERVAL", 1.0),
    ] {
        if swapped && matches!(key, "least" | "most") {
            table.not_read(key, format!("/{DAEMON_FILE} has a least above its most"));
        } else if let Some(value) = setting(&text, name) {
            table.put(key, value * factor, format!("/{DAEMON_FILE}, {name}"));
        }
    }
    // The daemon keeps free the larger of a share and a fixed amount, which it counts in KiB.
    let share = or("KSM_THRES_COEF", 20.0) / 100.0;
    let visible = super::memory::meminfo(root).unwrap_or_default();
    let fixed = visible
        .get("MemTotal")
        .map(|visible| or("KSM_THRES_CONST", 2048.0) * 1024.0 / visible);
    let threshold = fixed.map_or(share, |fixed| fixed.max(share));
    table.put(
        "threshold",
        (threshold * 1e4).round() / 1e4,
        format!("/{DAEMON_FILE}, KSM_THRES_COEF and KSM_THRES_CONST"),
    );
}
