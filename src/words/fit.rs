//! What `fit` says of a host beside the sentence on top: who runs, what one more would need, what was left out.

use super::name::{counted, label};
use crate::lab::Lab;
use crate::sizing::answer::{HostAnswer, Next};
use crate::unit::format;

/// What the figures are for: "35 guests", "2 guests that must run".
#[must_use]
pub fn at(host: &HostAnswer) -> String {
    match host.fits.unwrap_or(0) {
        0 if host.guests > 0 => format!(
            "{} that must run",
            format::plural(host.guests, "guest", "guests")
        ),
        n => counted(host, n),
    }
}

/// "62 guests: 41 web and 21 build. The next would be a web: memory would need 54.9 GiB of 54.3 GiB."
#[must_use]
pub fn mix(host: &HostAnswer, lab: &Lab) -> String {
    let parts: Vec<String> = lab
        .guests
        .iter()
        .filter_map(|guest| {
            Some(format!(
                "{} {}",
                format::count(*host.mix.get(&guest.name)?),
                guest.name
            ))
        })
        .collect();
    if host.guests == 0 {
        return "So it runs no guests.".to_owned();
    }
    let guests = format::plural(host.guests, "guest", "guests");
    let mut text = format!("{guests}: {}.", format::listed(&parts));
    if let Some(next) = &host.next {
        text.push(' ');
        text.push_str(&one_more(next));
    }
    text
}

fn one_more(next: &Next) -> String {
    let who = match &next.guest {
        Some(name) => format!("one more ({name})"),
        None => "one more set".to_owned(),
    };
    let needs: Vec<String> = next
        .resources
        .iter()
        .map(|one| {
            let label = label(&one.name);
            let (need, limit) = (one.resource.text(one.at_risk), one.resource.text(one.limit));
            if need == limit {
                format!("{label} just past {limit}")
            } else {
                format!("{label} {need} of {limit}")
            }
        })
        .collect();
    format!("With {who} the need would be: {}.", format::listed(&needs))
}

/// What was left out, and what would bring it in; none where nothing was.
#[must_use]
pub fn not_considered(host: &HostAnswer, lab: &Lab) -> Option<String> {
    let (mut facts, mut limits) = (Vec::new(), Vec::new());
    let no_disk = host.disk.is_empty();
    for name in &host.not_considered {
        let base = name.split(':').next().unwrap_or(name);
        let missing = match base {
            "disk_iops" | "disk_writes" if no_disk => continue,
            "disk_space" if no_disk => {
                facts.push("disks (no [[host.disk]] given)".to_owned());
                continue;
            }
            "disk_space" => "[[host.disk]]",
            "disk_iops" => "read_iops and write_iops",
            "disk_writes" => "endurance",
            "network" => "[host.network]",
            "backup" => "[host.backup]",
            "power" if lab.policy.power_budget.is_some() => "[host.power]",
            limited => {
                limits.push(match limited {
                    "power" => "power_budget",
                    "cpu_wait" => "max_mean_wait",
                    "vcpus" => "max_vcpus_per_thread",
                    _ => "max_guests",
                });
                continue;
            }
        };
        facts.push(format!("{} (no {missing} given)", label(name)));
    }
    let facts = (!facts.is_empty()).then(|| format!("Not considered: {}.", facts.join(", ")));
    let limits = (!limits.is_empty()).then(|| {
        format!(
            "Limits that [policy] could set and does not: {}.",
            limits.join(", ")
        )
    });
    let sentences: Vec<String> = facts.into_iter().chain(limits).collect();
    (!sentences.is_empty()).then(|| sentences.join(" "))
}
