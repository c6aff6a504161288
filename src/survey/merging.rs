//! Page sharing: how the scanner is set, who drives it, and whether it gains or costs memory here.

use super::counters::Counters;
use super::parse;
use super::root::Root;
use super::table::{HostTable, Value};
use crate::lab::keys::Section;

pub(super) const KSM: &str = "sys/kernel/mm/ksm";
/// Settings of the public tuning daemon.
const DAEMON_FILE: &str = "etc/ksmtuned.conf";
/// Name of the public tuning daemon's process.
const DAEMON: &str = "ksmtuned";

/// Writes `[host.merging]`.
pub(super) fn read(root: &Root, table: &mut HostTable) {
    table.open(Section::Merging);
    let run = match root.number(&format!("{KSM}/run")) {
        Ok(run) => run,
        Err(why) => {
            table.put("mode", Value::Word("off"), format!("/{KSM}/run: {why}"));
            return;
        }
    };
    let advisor = root
        .text(&format!("{KSM}/advisor_mode"))
        .unwrap_or_default();
    if daemon_runs(root) {
        table.put(
            "mode",
            Value::Word("adaptive"),
            format!("a process called {DAEMON} runs"),
        );
        daemon(root, table);
    } else if run != 1.0 {
        table.put("mode", Value::Word("off"), format!("/{KSM}/run says {run}"));
    } else if parse::chosen(&advisor) == Some("scan-time") {
        table.put(
            "mode",
            Value::Word("scan_time"),
            format!("/{KSM}/advisor_mode"),
        );
        number(root, table, "target_pass", "advisor_target_scan_time", 1.0);
    } else {
        table.put(
            "mode",
            Value::Word("fixed"),
            format!("/{KSM}/run says 1, and nothing else drives it"),
        );
        number(root, table, "pages_per_wake", "pages_to_scan", 1.0);
    }
    if run == 1.0 {
        number(root, table, "sleep", "sleep_millisecs", 1e-3);
    }
    number(root, table, "users_per_copy", "max_page_sharing", 1.0);
    flags(root, table);
    kernel(root, table);
    match Counters::read(root) {
        Some(counters) => table.note(counters.words()),
        None => table.note("whether sharing gains or costs memory: the counters could not be read"),
    }
}

/// A number that the kernel shows.
fn number(root: &Root, table: &mut HostTable, key: &'static str, file: &str, factor: f64) {
    let path = format!("{KSM}/{file}");
    match root.number(&path) {
        Ok(value) => table.put(key, Value::Number(value * factor), format!("/{path}")),
        Err(why) => table.left_out(key, format!("/{path}: {why}")),
    }
}

fn flags(root: &Root, table: &mut HostTable) {
    for (key, file, without) in [
        ("smart_scan", "smart_scan", "kernels before 6.7 have none"),
        ("use_zero_pages", "use_zero_pages", "taken as off"),
    ] {
        let path = format!("{KSM}/{file}");
        match root.number(&path) {
            Ok(value) => table.put(key, Value::Flag(value != 0.0), format!("/{path}")),
            Err(_) => table.put(key, Value::Flag(false), format!("no /{path}: {without}")),
        }
    }
}

/// What follows from the age and the build of the kernel.
fn kernel(root: &Root, table: &mut HostTable) {
    let text = root.text("proc/sys/kernel/osrelease").unwrap_or_default();
    match parse::release(&text) {
        Some(release) => {
            let (visits, why) = if release < (6, 11) {
                (
                    1.0,
                    "kernels before about 6.11 merge at the first visit once a copy exists",
                )
            } else {
                (2.0, "kernels from about 6.11 on merge at the second visit")
            };
            table.put(
                "visits",
                Value::Number(visits),
                format!("kernel {}.{}: {why}", release.0, release.1),
            );
        }
        None => table.left_out(
            "visits",
            "/proc/sys/kernel/osrelease gives no kernel release",
        ),
    }
    // A release is one name; anything that looks like a path is none.
    let build = format!("boot/config-{}", text.replace('/', "?"));
    let hertz = root.text(&build).ok().and_then(|text| {
        text.lines()
            .find_map(|line| line.strip_prefix("CONFIG_HZ=")?.parse::<f64>().ok())
            .filter(|hertz| *hertz > 0.0)
    });
    match hertz {
        Some(hertz) => table.put(
            "tick",
            Value::Number(1.0 / hertz),
            format!("/{build}, CONFIG_HZ"),
        ),
        None => table.left_out(
            "tick",
            "the kernel's build settings are not in /boot; 4 ms is taken",
        ),
    }
}

/// Whether the tuning daemon runs.
fn daemon_runs(root: &Root) -> bool {
    let processes = root
        .names("proc")
        .into_iter()
        .filter(|name| name.bytes().all(|byte| byte.is_ascii_digit()));
    processes.into_iter().any(|process| {
        root.text(&format!("proc/{process}/comm"))
            .is_ok_and(|name| name == DAEMON)
    })
}

/// The daemon's settings; what its file leaves out are its own defaults, which are the inventory's too.
fn daemon(root: &Root, table: &mut HostTable) {
    let Ok(text) = root.text(DAEMON_FILE) else {
        return table.note(format!(
            "no /{DAEMON_FILE}: the daemon's own defaults are taken"
        ));
    };
    let setting = |name: &str| -> Option<f64> {
        let line = text.lines().rev().find_map(|line| {
            line.trim()
                .strip_prefix(name)?
                .trim_start()
                .strip_prefix('=')
        })?;
        line.trim().trim_matches('"').parse().ok()
    };
    let (least, most) = (
        setting("KSM_NPAGES_MIN").unwrap_or(64.0),
        setting("KSM_NPAGES_MAX").unwrap_or(1250.0),
    );
    for (key, name, factor) in [
        ("boost", "KSM_NPAGES_BOOST", 1.0),
        ("decay", "KSM_NPAGES_DECAY", -1.0),
        ("least", "KSM_NPAGES_MIN", 1.0),
        ("most", "KSM_NPAGES_MAX", 1.0),
        ("interval", "KSM_MONITOR_INTERVAL", 1.0),
    ] {
        if least > most && matches!(key, "least" | "most") {
            table.left_out(key, format!("/{DAEMON_FILE} has a least above its most"));
            continue;
        }
        if let Some(value) = setting(name) {
            table.put(
                key,
                Value::Number(value * factor),
                format!("/{DAEMON_FILE}, {name}"),
            );
        }
    }
    // The daemon keeps free the larger of a share and a fixed amount, which it counts in KiB.
    let visible = super::memory::meminfo(root)
        .ok()
        .and_then(|seen| seen.get("MemTotal").copied());
    let share = setting("KSM_THRES_COEF").unwrap_or(20.0) / 100.0;
    let fixed =
        visible.map(|visible| setting("KSM_THRES_CONST").unwrap_or(2048.0) * 1024.0 / visible);
    let threshold = fixed.map_or(share, |fixed| fixed.max(share));
    table.put(
        "threshold",
        Value::Number((threshold * 1e4).round() / 1e4),
        format!("/{DAEMON_FILE}, KSM_THRES_COEF and KSM_THRES_CONST"),
    );
}
