//! What a screen says of one host, sentence by sentence.

use super::name::{
    binding, few, found, in_sentence, is_plural, label, runs_out_first, with_article,
};
use crate::lab::{Lab, Mode};
use crate::purchase::compare::{Better, best_host, held, runs};
use crate::sizing::answer::{HostAnswer, NextDemand, ResourceAnswer, Running, State};
use crate::sizing::resource::Resource;
use crate::sizing::search::{Largest, MOST_GUESTS};
use crate::unit::format::{self, listed, plural};

/// Beyond this many guests a resource is no limit of a small host.
const NO_LIMIT: u64 = 1_000;

/// The guests that must run, or those of one set.
fn must_run(lab: &Lab) -> u64 {
    lab.guests.iter().map(|guest| guest.count).sum()
}

/// All guests that run where N are counted.
pub fn total(host: &HostAnswer, lab: &Lab, n: u64) -> u64 {
    match host.unit {
        "sets" => n.saturating_mul(must_run(lab)),
        _ => n + must_run(lab),
    }
}

/// All guests that the outcome of a search amounts to, in words.
pub fn total_found(host: &HostAnswer, lab: &Lab, largest: Largest) -> String {
    match largest {
        Largest::Bound(n) => format::count(total(host, lab, n)),
        other => found(other),
    }
}

/// All guests that a resource holds by itself, in words.
pub fn holds(host: &HostAnswer, lab: &Lab, one: &ResourceAnswer) -> String {
    match (one.state, one.fits) {
        (State::Bound, Some(n)) => format::count(total(host, lab, n)),
        (State::Infeasible, _) => "not these".to_owned(),
        _ => "no limit".to_owned(),
    }
}

/// "shelf-a safely holds 35 guests (28 to 41): 29 web, 6 runner. Memory runs out first."
pub fn lead(host: &HostAnswer, lab: &Lab) -> String {
    let binding = binding(host);
    let name = &host.name;
    if let Some(running) = host.running.as_ref().filter(|one| !one.passed.is_empty()) {
        return do_not_fit(name, running);
    }
    let Some(n) = host.fits else {
        let names = binding
            .iter()
            .map(|one| with_article(one.resource, &one.name));
        let names = listed(names.collect::<Vec<_>>());
        let most = format::count(MOST_GUESTS);
        return match names.is_empty() {
            true => format!("{name}: nothing that was considered runs out below {most} guests."),
            false => format!(
                "{name} cannot be run safely even without guests: nothing is left of {names}."
            ),
        };
    };
    let first = capitalised(&runs_out_first(&binding)) + &in_period(&binding);
    let (range, more) = (range(host, lab), parts(host, lab));
    let counted = format::count(n);
    match &host.running {
        None if n == 0 => format!("{name} does not safely hold even 1 guest. {first}."),
        None => {
            let guests = plural(n, "guest", "guests");
            format!("{name} safely holds {guests}{range}{more}. {first}.")
        }
        Some(running) if host.unit == "sets" => {
            let times = match n {
                1 => "once".to_owned(),
                _ => format!("{counted} times: {} guests", format::count(host.guests)),
            };
            let fit = if running.guests == 1 { "fits" } else { "fit" };
            format!(
                "The {} {fit} on {name}{}. The whole set fits {times}{range}. {first}.",
                plural(running.guests, "guest", "guests"),
                fullest(running)
            )
        }
        Some(running) => {
            let run = if running.guests == 1 { "runs" } else { "run" };
            let room = match n {
                0 => "No room for more".to_owned(),
                _ => format!("Room for {counted} more{more}"),
            };
            let in_all = match range.is_empty() {
                true => String::new(),
                false => format!("; in all {}{range}", format::count(host.guests)),
            };
            format!(
                "{} {run} on {name}{}. {room}{in_all}. {first}.",
                plural(running.guests, "guest", "guests"),
                fullest(running)
            )
        }
    }
}

/// ", in the night period"; nothing where what binds is worst in several, or the lab has no periods.
fn in_period(binding: &[&ResourceAnswer]) -> String {
    let period = binding.first().and_then(|one| one.period.as_ref());
    let period = period.filter(|_| binding.iter().all(|one| one.period.as_ref() == period));
    period.map_or_else(String::new, |period| format!(", in the {period} period"))
}

/// ": memory is at 81 % of its safe limit".
fn fullest(running: &Running) -> String {
    let loads = running.resources.iter().filter(|one| one.load.is_finite());
    let most = loads.max_by(|one, other| one.load.total_cmp(&other.load));
    most.map_or_else(String::new, |one| {
        let (are, limit) = match is_plural(one.resource) {
            true => ("are", "their limit"),
            false => ("is", "its safe limit"),
        };
        let name = with_article(one.resource, &one.name);
        format!(": {name} {are} at {} of {limit}", format::share(one.load))
    })
}

/// " (28 to 41)", the ends that draws found, where they differ.
pub fn range(host: &HostAnswer, lab: &Lab) -> String {
    let ends = host.interval.as_ref().map(|drawn| (drawn.low, drawn.high));
    match ends {
        Some((Some(low), Some(high))) if low < high => format!(
            " ({} to {})",
            format::count(total(host, lab, low)),
            format::count(total(host, lab, high))
        ),
        _ => String::new(),
    }
}

/// The guests of each profile that are counted beside those that must run: ": 29 web, 6 runner"; none of a single profile.
fn parts(host: &HostAnswer, lab: &Lab) -> String {
    let scaling = lab.guests.iter().filter(|guest| guest.share.is_some());
    let more = scaling.filter_map(|guest| {
        let all = host.mix.get(&guest.name)?;
        Some((all.saturating_sub(guest.count), &guest.name))
    });
    let parts: Vec<String> = more
        .filter(|(n, _)| *n > 0)
        .map(|(n, name)| format!("{} {name}", format::count(n)))
        .collect();
    match parts.as_slice() {
        [] => String::new(),
        [_] if lab.guests.len() == 1 => String::new(),
        parts => format!(": {}", parts.join(", ")),
    }
}

fn do_not_fit(name: &str, running: &Running) -> String {
    let passed = running
        .resources
        .iter()
        .filter(|one| running.passed.contains(&one.name));
    let passed = passed.map(|one| {
        let past = match one.load {
            load if load < 2.0 => format!("{} past the limit", format::share(load - 1.0)),
            load => format!("{} the limit", format::ratio(load)),
        };
        let need = past_limit(one.resource, &one.name, one.at_risk, one.limit);
        match one.load.is_finite() && one.limit > 0.0 {
            true => format!("{need}, {past}"),
            false => need,
        }
    });
    let fit = if running.guests == 1 { "does" } else { "do" };
    format!(
        "The {} {fit} not fit on {name}: {}.",
        plural(running.guests, "guest", "guests"),
        listed(passed.collect::<Vec<_>>())
    )
}

/// "memory would need 92.4 GiB of 82.6 GiB, 12 % past its safe limit".
fn past_limit(resource: Resource, name: &str, need: f64, limit: f64) -> String {
    let label = with_article(resource, name);
    let (need, there) = (resource.text(need), resource.text(limit));
    if limit <= 0.0 {
        return format!("{label} would need {need}, and nothing is left for it");
    }
    if need == there {
        return format!("{label} would be just past {there}");
    }
    format!("{label} would need {need} of {there}")
}

/// "With one more web, memory would need 54.7 GiB of 54.3 GiB."
pub fn one_more(host: &HostAnswer) -> Option<String> {
    let next = host.next.as_ref().filter(|_| host.guests > 0)?;
    let who = next.guest.as_deref().unwrap_or("set");
    let need = |one: &NextDemand| past_limit(one.resource, &one.name, one.at_risk, one.limit);
    let needs: Vec<String> = next.resources.iter().map(need).collect();
    Some(format!("With one more {who}, {}.", listed(&needs)))
}

/// The resources with the guests that a table is about, and how many those are: what runs where that does not fit or was
/// asked about, else all that fit.
pub fn subject(host: &HostAnswer, running: bool) -> (&[ResourceAnswer], u64) {
    match &host.running {
        Some(one) if running || !one.passed.is_empty() => (&one.resources, one.guests),
        _ => (&host.resources, host.guests),
    }
}

/// The resources that a short screen shows, and those that it only names.
pub fn first_three(resources: &[ResourceAnswer]) -> (Vec<&ResourceAnswer>, Vec<&ResourceAnswer>) {
    let least = resources.iter().filter_map(|one| one.fits).min();
    let far = |one: &ResourceAnswer| match (one.state, one.fits, least) {
        (State::Infeasible, ..) => false,
        (_, Some(n), Some(least)) => n / 10 > least || n > NO_LIMIT,
        _ => true,
    };
    let (mut rest, mut shown): (Vec<_>, Vec<_>) = resources.iter().partition(|one| far(one));
    // What is past its limit, however much that is, is shown.
    let past = shown.iter().filter(|one| one.state == State::Infeasible);
    let most = past.count().max(3).min(shown.len());
    let mut more = shown.split_off(most);
    more.append(&mut rest);
    (shown, more)
}

/// Why a load is not needs over limit: "The load of the processor is that of its mean demand."
pub fn mean_loads(shown: &[&ResourceAnswer]) -> Option<String> {
    let mean: Vec<&ResourceAnswer> = shown
        .iter()
        .copied()
        .filter(|one| one.is_mean_load())
        .collect();
    let names = in_sentence(&mean);
    (!mean.is_empty()).then(|| {
        format!("The load of {names} is that of the mean demand, which is nearer to its limit.")
    })
}

/// "Over 260 guests: disk speed, rated disk writes, disk space."
pub fn rest(host: &HostAnswer, lab: &Lab, rest: &[&ResourceAnswer]) -> Option<String> {
    let least = rest.iter().filter_map(|one| one.fits).min();
    let named: Vec<String> = rest.iter().map(|one| label(&one.name)).collect();
    let named = named.join(", ");
    let least = least
        .map(|n| total(host, lab, n))
        .filter(|n| *n <= NO_LIMIT);
    (!rest.is_empty()).then(|| match least {
        Some(n) => format!("Enough for {} guests or more: {named}.", format::count(n)),
        None => format!("No limit here: {named}."),
    })
}

/// "By memory alone: 74 fresh guests (never busy), 30 without page sharing, 26 by the plain sum."
pub fn memory_alone(host: &HostAnswer, lab: &Lab) -> String {
    let count = |largest| total_found(host, lab, largest);
    let stretched = match host.balloons {
        true => format!(", {} with balloons full", count(host.stretched)),
        false => String::new(),
    };
    let cliff = match host.breaks_at {
        Some(0) if host.guests == 0 => String::new(),
        Some(0) => " Thrashes or kills guests even so.".to_owned(),
        Some(n) => format!(
            " Thrashes or kills guests at about {} at the latest.",
            format::count(total(host, lab, n))
        ),
        None => String::new(),
    };
    if host.guests == 0 {
        return cliff.trim_start().to_owned();
    }
    format!(
        "By memory alone: {} fresh guests (never busy), {} without page sharing{stretched}, {} by the plain sum.{cliff}{}",
        count(host.fresh),
        count(host.unshared),
        count(host.plain_sum),
        adaptive(host, lab)
    )
}

/// "tall holds the most: 98 guests. north does not hold the guests."
pub fn most(hosts: &[HostAnswer], lab: &Lab) -> String {
    let winner = best_host(hosts, |host| held(host, host.fits), Better::More);
    let winner = winner.map(|index| &hosts[index]);
    let count = |host: &HostAnswer| match host.fits {
        Some(n) => plural(total(host, lab, n), "guest", "guests"),
        None => "no limit".to_owned(),
    };
    let not: Vec<String> = hosts
        .iter()
        .filter(|host| !runs(host))
        .map(|host| host.name.clone())
        .collect();
    let verb = if not.len() == 1 { "does" } else { "do" };
    match (winner, not.as_slice()) {
        (_, not) if not.len() == hosts.len() => "No host holds the guests.".to_owned(),
        (Some(host), []) => format!("{} holds the most: {}.", host.name, count(host)),
        (Some(host), not) => format!(
            "{} holds the most: {}. {} {verb} not hold the guests.",
            host.name,
            count(host),
            listed(not)
        ),
        (None, []) => "The hosts hold the same number of guests.".to_owned(),
        (None, not) => format!("{} {verb} not hold the guests.", listed(not)),
    }
}

fn adaptive(host: &HostAnswer, lab: &Lab) -> String {
    let asked = lab.hosts.iter().find(|one| one.name == host.name);
    match asked.map(|one| &one.merging) {
        Some(merging) if merging.mode == Mode::Adaptive => format!(
            " The adaptive scanner saves nothing until the host is {} full.",
            format::share(1.0 - merging.threshold)
        ),
        _ => String::new(),
    }
}

/// What the figures are for: "35 guests".
pub fn at(host: &HostAnswer) -> String {
    plural(host.guests, "guest", "guests")
}

/// What was left out, and the keys that bring it in; none where nothing was.
pub fn not_considered(host: &HostAnswer, lab: &Lab) -> Option<String> {
    let no_disk = host.disk.is_empty();
    let left_out = host.not_considered.iter().filter_map(|name| {
        let missing = match name.split(':').next().unwrap_or(name) {
            "disk_iops" | "disk_writes" if no_disk => return None,
            "disk_space" if no_disk => return Some("disks (no [[host.disk]])".to_owned()),
            "disk_space" => "[[host.disk]]",
            "disk_iops" => "read_iops and write_iops",
            "disk_writes" => "endurance",
            "network" => "[host.network]",
            "backup" => "[host.backup]",
            "power" if lab.policy.power_budget.is_some() => "[host.power]",
            // Limits that [policy] could set and does not.
            _ => return None,
        };
        Some(match label(name).strip_suffix(')') {
            Some(of_pool) => format!("{of_pool}; no {missing})"),
            None => format!("{} (no {missing})", label(name)),
        })
    });
    let left_out: Vec<String> = left_out.collect();
    (!left_out.is_empty()).then(|| format!("Not considered: {}.", left_out.join(", ")))
}

/// What is considered on some hosts and not on others: their counts are then not of the same kind.
pub fn not_alike(hosts: &[HostAnswer]) -> Option<String> {
    let base = |name: &str| name.split(':').next().unwrap_or(name).to_owned();
    let considered = hosts.iter().flat_map(|host| &host.resources);
    let considered: Vec<String> = considered.map(|one| base(&one.name)).collect();
    let lacking = hosts.iter().filter_map(|host| {
        let lacks = host.not_considered.iter().map(|name| base(name));
        let mut lacks: Vec<String> = lacks
            .filter(|name| considered.contains(name))
            .map(|name| label(&name))
            .collect();
        lacks.dedup();
        (!lacks.is_empty()).then(|| format!("{} ({})", host.name, lacks.join(", ")))
    });
    let lacking: Vec<String> = lacking.collect();
    (!lacking.is_empty()).then(|| {
        let lacking = few(&lacking);
        format!("The counts are not of one kind: not considered on {lacking}.")
    })
}

/// The text with its first letter large; symbols such as vCPU stay.
pub fn capitalised(text: &str) -> String {
    let mut letters = text.chars();
    match letters.next() {
        Some(first) if !text.starts_with("vCPU") => first.to_uppercase().chain(letters).collect(),
        _ => text.to_owned(),
    }
}

/// "is past its safe limit", "are past their safe limit".
pub fn is_past(what: &ResourceAnswer) -> String {
    let what_is = match is_plural(what.resource) {
        true => "are past their safe limit",
        false => "is past its safe limit",
    };
    format!("{} {what_is}", in_sentence(&[what]))
}
