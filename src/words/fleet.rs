//! Placements in words.

use std::fmt::{self, Display, Formatter};

use super::caution::{Caution, Worded, written_as_cautions, written_as_text};
use super::host::ESTIMATE;
use super::name::{label, load};
use crate::fleet::MOST_MULTIPLIED;
use crate::fleet::answer::{FleetAnswer, FleetCaution, Move, Needed, Reason};
use crate::unit::format;

written_as_cautions!(FleetCaution);
written_as_text!(Reason);

/// "All 46 guests are placed on 3 hosts; survives losing any 1."
pub fn sentence(answer: &FleetAnswer) -> String {
    let asked: u64 = answer.asked.values().sum();
    let left: u64 = answer.unplaced.values().sum();
    let used = answer.hosts.iter().filter(|host| !host.guests.is_empty());
    let on = format::plural(used.count() as u64, "host", "hosts");
    let placed = match (asked - left, left) {
        (1, 0) => format!("The 1 guest is placed on {on}"),
        (all, 0) => format!("All {} guests are placed on {on}", format::count(all)),
        (some, _) => format!(
            "{} of {} {} placed on {on}; {} left over",
            format::count(some),
            format::plural(asked, "guest", "guests"),
            // The verb goes with how many are: "1 of 2 guests is", "0 of 2 guests are".
            if some == 1 || asked == 1 { "is" } else { "are" },
            format::plural(left, "is", "are")
        ),
    };
    if let Some(n) = answer.holds {
        return held(answer, n);
    }
    let spare = match (answer.spare, answer.survives) {
        (0, _) => "no host may fail (see --spare)".to_owned(),
        (spare, true) => format!("survives losing any {spare}"),
        (spare, false) if answer.stopped => {
            format!("whether it survives losing any {spare} is not known")
        }
        (spare, false) => format!("does not survive losing any {spare}"),
    };
    format!("{placed}; {spare}.")
}

/// "3 hosts hold 84 guests beside the 10 that must run, and survive losing any 1."
fn held(answer: &FleetAnswer, n: u64) -> String {
    let fixed = answer.asked.values().sum::<u64>() - n;
    let beside = match fixed {
        0 => String::new(),
        fixed => format!(" beside the {} that must run", format::count(fixed)),
    };
    let spare = match answer.spare {
        0 => "; losing a host was not asked about (--spare 1)".to_owned(),
        spare => format!(", and survive losing any {spare}"),
    };
    let hosts = answer.hosts.len() as u64;
    let verb = if hosts == 1 { "holds" } else { "hold" };
    let least = if n == MOST_MULTIPLIED || answer.stopped {
        "at least "
    } else {
        ""
    };
    format!(
        "{} {verb} {least}{}{beside}{spare}.",
        format::plural(hosts, "host", "hosts"),
        format::plural(n, "guest", "guests")
    )
}

/// Said where the search ended early.
pub const STOPPED: &str = "Stopped before everything was tried: this is the best so far, and what is not found may only \
     not have been looked for. Fewer hosts or a smaller --spare are searched further.";

/// "3 web to south, 1 db to east"
pub fn moves(moves: Option<&[Move]>) -> String {
    let Some(moves) = moves else {
        return "no way found to start them all".to_owned();
    };
    let each = moves.iter();
    let each = each.map(|one| format!("{} {} to {}", format::count(one.count), one.guest, one.to));
    let each: Vec<String> = each.collect();
    if each.is_empty() {
        "nothing runs there".to_owned()
    } else {
        each.join(", ")
    }
}

/// "At least 2 hosts are needed, and 2 were found to do: no placement needs fewer."
pub fn needed(needed: &Needed, spare: usize) -> String {
    let spare = match spare {
        0 => String::new(),
        spare => format!(", {spare} of them spare"),
    };
    let hosts = |n: usize| format::plural(n as u64, "host is", "hosts are");
    match (needed.at_least, needed.found) {
        (None, _) => "One of these guests fits on no host, whatever runs beside it.".to_owned(),
        (Some(least), None) => format!(
            "No placement of all of them was found on these hosts; at least {} needed{spare}.",
            hosts(least)
        ),
        (Some(least), Some(found)) if least == found => {
            format!("{} enough{spare}; fewer are not.", hosts(found))
        }
        (Some(least), Some(found)) => format!(
            "{} enough{spare}, fewer than {} are not; between them it is not known (a gap of {}).",
            hosts(found),
            format::count(least as u64),
            format::count(found.saturating_sub(least) as u64)
        ),
    }
}

/// "If guests keep coming the hosts are full in 14 months, at 41 guests; one more web would pass …"
pub fn full(answer: &FleetAnswer) -> Option<String> {
    let full = answer.full_in.as_ref()?;
    let guests = format::plural(full.guests.values().sum(), "guest", "guests");
    let multiplied = match answer.holds {
        Some(_) => " without those that are multiplied",
        None => "",
    };
    let Some(months) = full.months else {
        return Some(format!(
            "If guests keep coming all find a place for 20 years, at {guests}{multiplied}."
        ));
    };
    // What is left over now is said on top.
    if months <= 0.0 {
        return None;
    }
    let first = full.reasons.iter().next();
    let why = first.map_or_else(String::new, |(name, why)| {
        format!("; of {name}, {}", reason(why))
    });
    let fullest = full.fullest.as_ref().map_or_else(String::new, |most| {
        let period = most.period.as_ref();
        let period = period.map_or_else(String::new, |period| format!(", in the {period} period"));
        format!(
            " Fullest before that: {} of {}, at {}{period}.",
            label(&most.resource.name),
            most.host,
            load(most.load)
        )
    });
    Some(format!(
        "If guests keep coming the hosts are full in {}, at {guests}{multiplied}{why}.{fullest}",
        format::months(months)
    ))
}

/// "Emptying a host takes up to 4.9 min for the memory of its guests, 1.4 h with their disks (rack)."; none without a link.
pub fn emptied(answer: &FleetAnswer) -> Option<String> {
    let known = answer.hosts.iter();
    let known = known.filter_map(|host| Some((host.empty_s?, host)));
    let (memory, slowest) = known.max_by(|(one, _), (other, _)| one.total_cmp(other))?;
    let disks = slowest.empty_with_disks_s;
    let disks = disks.map(|time| format!(", {} with their disks", format::seconds(time)));
    Some(format!(
        "Emptying a host takes up to {} for the memory of its guests{} ({}).",
        format::seconds(memory),
        disks.unwrap_or_default(),
        slowest.name
    ))
}

/// A reason with resources by the names they have in JSON.
impl Display for Reason {
    fn fmt(&self, f: &mut Formatter) -> fmt::Result {
        f.write_str(&match self {
            Reason::PassesLimits(limits) => {
                let names = limits.iter().map(|one| one.name.as_str());
                passes(&names.collect::<Vec<_>>().join(", "))
            }
            Reason::NotAfterFailures(spare) => {
                format!("one more would fit, but not after the loss of any {spare} of the hosts")
            }
        })
    }
}

/// The guests that were not placed, a sentence for each reason.
pub fn left_over(answer: &FleetAnswer) -> Vec<String> {
    let mut by_reason: Vec<(String, Vec<String>)> = Vec::new();
    for (name, n) in &answer.unplaced {
        let reason = answer.reasons.get(name).map_or_else(String::new, reason);
        let guests = format!("{} {name}", format::count(*n));
        match by_reason.iter_mut().find(|(seen, _)| *seen == reason) {
            Some((_, all)) => all.push(guests),
            None => by_reason.push((reason, vec![guests])),
        }
    }
    let sentences = by_reason.into_iter();
    let sentences = sentences
        .map(|(reason, guests)| format!("Left over: {}; {reason}.", format::listed(&guests)));
    sentences.collect()
}

/// A reason with resources by the names they have on screens.
fn reason(reason: &Reason) -> String {
    match reason {
        Reason::PassesLimits(limits) => {
            let labels = limits.iter();
            let labels = labels.map(|one| label(&one.name));
            passes(&format::listed(labels.collect::<Vec<_>>()))
        }
        Reason::NotAfterFailures(_) => reason.to_string(),
    }
}

fn passes(limits: &str) -> String {
    format!("one more would pass a limit on every host: {limits}")
}

impl Caution for FleetCaution {
    fn worded(&self) -> Worded {
        match self {
            FleetCaution::NoMajority => Worded::fixed(
                "no_majority",
                "Two hosts alone have no majority: add a third vote, however small.",
                "Two hosts alone have no majority: when they cannot reach each other, neither knows whether the \
                 other is down, and both may start the same guest. Add a third vote, however small.",
            ),
            FleetCaution::Restart => Worded::fixed(
                "restart",
                "Taking over is a restart: unwritten data is lost, disks must be reachable.",
                "Taking over is a restart: guests of a failed host stop, start fresh on the others, and what they had \
                 not written is lost. Their disks must be reachable from there: shared, or copied beforehand.",
            ),
            FleetCaution::Pinned => Worded::fixed(
                "pinned",
                "A guest with a passed-through device is placed as if every host had one.",
                "A guest with a passed-through device runs only where that device is; it is placed here as if every \
                 host had one.",
            ),
            FleetCaution::Estimate => ESTIMATE,
        }
    }
}
