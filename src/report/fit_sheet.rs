//! The sheet of `fit`: every number of the answer, one a row.

use super::document::Sheet;
use crate::sizing::answer::{HostAnswer, State};
use crate::words::caution::Caution;

/// Every number of the answer, one a row.
pub(super) fn sheet(hosts: &[HostAnswer], currency: &str) -> Sheet {
    let mut sheet = Sheet::new(["host", "section", "item", "quantity", "value", "unit"]);
    for host in hosts {
        let mut add = |section: &str, item: &str, quantity: &str, value: String, unit: &str| {
            sheet.row([host.name.as_str(), section, item, quantity, &value, unit]);
        };
        let whole = |value: Option<u64>| value.map_or_else(String::new, |value| value.to_string());
        for (quantity, value) in [
            ("fits", host.fits),
            ("breaks_at", host.breaks_at),
            ("breaks_at_sudden", host.breaks_at_sudden),
            ("fresh", host.fresh.bound()),
            ("unshared", host.unshared.bound()),
            ("stretched", host.stretched.bound()),
            ("plain_sum", host.plain_sum.bound()),
        ] {
            add("answer", "", quantity, whole(value), host.unit);
        }
        add("answer", "", "binds", host.binds.join(" "), "");
        add("answer", "", "guests", host.guests.to_string(), "guests");
        for (name, count) in &host.mix {
            add("mix", name, "count", count.to_string(), "guests");
        }
        for one in &host.resources {
            let state = match one.state {
                State::Bound => "bound",
                State::Unbounded => "unbounded",
                State::Infeasible => "broken",
            };
            add("resource", &one.name, "state", state.to_owned(), "");
            add("resource", &one.name, "fits", whole(one.fits), host.unit);
            for (quantity, value) in [
                ("limit", one.limit),
                ("mean", one.mean),
                ("at_risk", one.at_risk),
            ] {
                add("resource", &one.name, quantity, finite(value), one.unit);
            }
            add("resource", &one.name, "load", finite(one.load), "share");
        }
        figures(host, currency, &mut add);
        if let Some(interval) = &host.interval {
            super::interval::rows(host, interval, &mut add);
        }
        for name in &host.not_considered {
            add("not_considered", name, "", String::new(), "");
        }
        for name in &host.missing {
            add("missing", name, "", String::new(), "");
        }
        if let Some(next) = &host.next {
            let guest = next.guest.clone().unwrap_or_default();
            add("next", "", "guest", guest, "");
            for one in &next.resources {
                let unit = one.resource.unit();
                add("next", &one.name, "limit", finite(one.limit), unit);
                add("next", &one.name, "mean", finite(one.mean), unit);
                add("next", &one.name, "at_risk", finite(one.at_risk), unit);
            }
        }
        for guess in &host.guesses {
            add("guess", &guess.key, "value", guess.value.clone(), "");
        }
        for default in &host.defaults {
            add("default", &default.key, "value", default.value.clone(), "");
            add(
                "default",
                &default.key,
                "origin",
                default.origin.clone(),
                "",
            );
        }
        for caution in &host.cautions {
            let (id, text) = caution.worded();
            add("caution", id, "text", text, "");
        }
    }
    sheet
}

fn finite(value: f64) -> String {
    if value.is_finite() {
        value.to_string()
    } else {
        String::new()
    }
}

/// The figures beside the resources.
fn figures(
    host: &HostAnswer,
    currency: &str,
    add: &mut impl FnMut(&str, &str, &str, String, &str),
) {
    let known = |value: Option<f64>| value.map_or_else(String::new, finite);
    let memory = &host.memory;
    for (quantity, value, unit) in [
        ("visible", Some(memory.visible), "B"),
        ("usable", Some(memory.usable), "B"),
        ("cliff", Some(memory.cliff), "B"),
        ("promised", Some(memory.promised), "B"),
        ("overcommit", Some(memory.overcommit), "ratio"),
        ("shared_saved", Some(memory.shared_saved), "B"),
        ("kappa", Some(memory.kappa), "share"),
        ("scan_pass_s", memory.scan_pass_s, "s"),
        ("settled", Some(memory.settled), "B"),
    ] {
        add("memory", "", quantity, known(value), unit);
    }
    let cpu = &host.cpu;
    for (quantity, value, unit) in [
        ("supply", Some(cpu.supply), "cores"),
        ("vcpus", Some(cpu.vcpus), "vCPUs"),
        ("threads", Some(cpu.threads), "threads"),
        (
            "vcpus_per_thread",
            Some(cpu.vcpus_per_thread),
            "vCPUs/thread",
        ),
        ("wait_chance", cpu.wait_chance, "share"),
        ("mean_wait_s", cpu.mean_wait_s, "s"),
    ] {
        add("cpu", "", quantity, known(value), unit);
    }
    for disk in &host.disk {
        add("disk", &disk.name, "rated", disk.rated.to_string(), "");
        for (quantity, value, unit) in [
            ("life_years", disk.life_years, "years"),
            ("fill", Some(disk.fill), "share"),
            ("promised", Some(disk.promised), "B"),
            ("owned", Some(disk.owned), "B"),
            ("full_in_days", disk.full_in_days, "days"),
            ("used", Some(disk.used), "B"),
            ("written_per_day", Some(disk.written_per_day), "B/day"),
            (
                "device_written_per_day",
                Some(disk.device_written_per_day),
                "B/day",
            ),
        ] {
            add("disk", &disk.name, quantity, known(value), unit);
        }
    }
    if let Some(power) = &host.power {
        add("power", "", "watts", finite(power.watts), "W");
        add(
            "power",
            "",
            "watts_per_guest",
            known(power.watts_per_guest),
            "W",
        );
        add(
            "power",
            "",
            "kwh_per_year",
            finite(power.kwh_per_year),
            "kWh",
        );
    }
    if let Some(restart) = &host.restart {
        add(
            "restart",
            "",
            "all_at_once",
            restart.all_at_once.to_string(),
            "",
        );
        add("restart", "", "batch", restart.batch.to_string(), "guests");
        add("restart", "", "wait_s", finite(restart.wait_s), "s");
        add("restart", "", "total_s", finite(restart.total_s), "s");
        add(
            "restart",
            "",
            "left_off",
            restart.left_off.to_string(),
            "guests",
        );
    }
    if let Some(cost) = &host.cost {
        for (quantity, value) in [
            ("price", cost.price),
            ("running", cost.running),
            ("running_per_year", cost.running_per_year),
            ("total", cost.total),
            ("per_guest", cost.per_guest),
            ("per_gib", cost.per_gib),
        ] {
            add(
                "cost",
                "",
                quantity,
                known(value),
                if currency.is_empty() {
                    "money"
                } else {
                    currency
                },
            );
        }
    }
}
