//! What a person who cannot see a picture is told.

use super::growth;
use super::name::{binding_run_out_first, counted, label};
use crate::calibrate::answer::CalibrateAnswer;
use crate::rollout::Rollout;
use crate::sizing::answer::HostAnswer;
use crate::unit::format::{self, plural};

/// What the picture of one host shows, in words.
pub fn host(host: &HostAnswer) -> String {
    let mut text = match host.fits {
        Some(n) => format!(
            "{} safely holds {}; {}.",
            host.name,
            counted(host, n),
            binding_run_out_first(host)
        ),
        None => format!("{} has no safe count.", host.name),
    };
    let then: Vec<String> = host
        .resources
        .iter()
        .filter(|one| !host.binds.contains(&one.name))
        .filter_map(|one| {
            let fits = format::count(one.fits?);
            Some(format!("{} at {fits}", label(&one.name)))
        })
        .collect();
    if !then.is_empty() {
        text.push_str(&format!(" Then: {}.", then.join(", ")));
    }
    if let Some(n) = host.breaks_at {
        text.push_str(&format!(
            " The cliff, where it thrashes or kills guests, is at about {}.",
            counted(host, n)
        ));
    }
    if let Some(n) = host.fresh.bound() {
        text.push_str(&format!(
            " Fresh guests, never busy, would pass memory's safe limit after {}.",
            format::count(n)
        ));
    }
    text
}

/// What the picture of one host over time shows, in words.
pub fn dates(host: &HostAnswer) -> String {
    let each = host.resources.iter().filter_map(|one| {
        let months = growth::lasts(one.full_in_months?);
        Some(format!("{} {months}", label(&one.name)))
    });
    let each: Vec<String> = each.collect();
    let dates = match each.as_slice() {
        [] => "nothing runs out within 20 years".to_owned(),
        each => format!("each resource is full in: {}", each.join(", ")),
    };
    format!(
        "Load over time if guests keep coming to {}: {dates}.",
        host.name
    )
}

/// What the picture of `rollout` shows.
pub fn rollout(rollout: &Rollout) -> String {
    let run = &rollout.run;
    let lost = match run.killed {
        0 => String::new(),
        killed => format!(" The kernel kills {}.", plural(killed, "guest", "guests")),
    };
    format!(
        "Memory in use against time while {} starts {}: it peaks at {} and ends at {}; the limit is {}, and at the cliff \
         memory is full, swap fills and the host thrashes or kills guests.{lost}",
        rollout.host,
        plural(run.started, "guest", "guests"),
        format::share(run.peak),
        format::share(run.timeline.last().map_or(0.0, |moment| moment.used)),
        format::share(rollout.limit)
    )
}

/// What the picture of `calibrate` shows.
pub fn calibrate(answer: &CalibrateAnswer) -> String {
    format!(
        "Memory in use as a share of what {} sees, over the number of {} guests: {} as points (settled yes, no or \
         unknown) and the calibrated model as lines.",
        answer.host,
        answer.guest,
        plural(answer.readings.len() as u64, "reading", "readings")
    )
}
