//! What happens while guests start, in sentences.

use super::rollout::counted;
use crate::lab::{Lab, parts_of_day};
use crate::model::within;
use crate::rollout::{BatchRun, Chance, End, EventKind, MOST_STEPS, Rollout, Rule, Shortfall};
use crate::sizing::composition::Unit;
use crate::sizing::search::Largest;
use crate::unit::format;

/// Most batches that a sentence lists.
const MOST_LINES: usize = 6;

/// The sentence on top that a person can quote.
pub fn sentence(rollout: &Rollout) -> String {
    let peak = format!(
        "memory peaks at {} against a limit of {}",
        format::share(rollout.run.peak),
        format::share(rollout.limit)
    );
    let time = rollout.run.up_s.map_or_else(String::new, |total| {
        format!(", {} in all", format::seconds(total))
    });
    let how = format!("{}{time}; {peak}", how(rollout));
    let host = &rollout.host;
    if rollout.run.batches.is_empty() {
        let asked = match rollout.target {
            0 => String::new(),
            n => format!(" of {} asked for", format::count(n)),
        };
        format!("{host} holds no guest safely, so none{asked} is started; {peak}.")
    } else if rollout.safe {
        format!("{host} safely reaches {}{how}.", running(rollout))
    } else {
        not_safe(rollout, &how)
    }
}

/// What a run that is not safe comes to, what is dangerous about it first.
fn not_safe(rollout: &Rollout, how: &str) -> String {
    let (all, fixed) = (rollout.run.running(), rollout.fixed);
    let reached = if all < fixed {
        let [all, fixed] = [all, fixed].map(format::count);
        format!("starts {all} of the {fixed} guests that must run")
    } else if rollout.reached >= rollout.target {
        format!("reaches {}", running(rollout))
    } else {
        let asked = format::count(rollout.target);
        format!("reaches {} of {asked} asked for", running(rollout))
    };
    let lost = match rollout.run.killed {
        0 => String::new(),
        killed => format!(
            "; the kernel kills {}",
            format::plural(killed, "guest", "guests")
        ),
    };
    let dangerous = all < fixed || !rollout.run.safe(rollout.limit);
    let verdict = match objection(rollout) {
        _ if dangerous => "Not safe: ".to_owned(),
        Some(held) => format!("Not safe: {held}. "),
        None => String::new(),
    };
    format!("{verdict}{} {reached}{how}{lost}.", rollout.host)
}

/// What is held against a target that can be reached: what its guests hold once they have been busy.
fn objection(rollout: &Rollout) -> Option<String> {
    let held = (!rollout.fresh && rollout.lived_in < Largest::Bound(rollout.target)).then(
        || match rollout.lived_in {
            Largest::Bound(n) => counted(rollout.unit, n),
            _ => "not even those that must run".to_owned(),
        },
    )?;
    let asked = match rollout.target {
        0 => String::new(),
        target => format!(", and {} are asked for", format::count(target)),
    };
    Some(format!(
        "once its guests have been busy, memory holds {held} (`fit`){asked}; --fresh if they will never be"
    ))
}

/// How they are started, after a colon.
fn how(rollout: &Rollout) -> String {
    match (rollout.rule, rollout.run.batches.as_slice()) {
        (Some(plan), batches) if batches.len() > 1 => {
            format!(": start {} ({})", rhythm(plan), pace(rollout))
        }
        (_, [only]) if only.started == 1 => ": start it".to_owned(),
        (_, [only]) => format!(
            ": start all {}, {}",
            format::count(only.started),
            pace(rollout)
        ),
        (_, batches) if batches.len() <= MOST_LINES => {
            format!(": start {} ({})", lines(batches), pace(rollout))
        }
        (_, batches) => format!(
            ": start them in {} as listed below ({})",
            format::plural(batches.len() as u64, "batch", "batches"),
            pace(rollout)
        ),
    }
}

/// "10 every 5 min"
fn rhythm(rule: Rule) -> String {
    let batch = format::count(rule.batch);
    match rule.wait_s {
        0.0 => format!("{batch} after {batch}, without a wait"),
        wait => format!("{batch} every {}", format::seconds(wait)),
    }
}

/// "47 now, 9 after 2.7 h and 3 after 8.5 h"
fn lines(batches: &[BatchRun]) -> String {
    let lines = batches.iter().map(|batch| {
        let started = format::count(batch.started);
        match batch.start_s {
            0.0 => format!("{started} now"),
            at => format!("{started} after {}", format::seconds(at)),
        }
    });
    format::listed(lines.collect::<Vec<_>>())
}

/// How guests of a batch follow one another.
fn pace(rollout: &Rollout) -> String {
    match rollout.gap_s {
        Some(0.0) => "all at the same moment".to_owned(),
        Some(seconds) => format!("a guest every {}", format::seconds(seconds)),
        None => "each guest when the one before it should be up".to_owned(),
    }
}

/// What runs at the end: "20 sets (60 guests)", "96 guests beside the 2 that must run".
fn running(rollout: &Rollout) -> String {
    let (n, all) = (rollout.reached, rollout.run.running());
    let counted = counted(rollout.unit, n);
    match (rollout.unit, all.saturating_sub(n)) {
        (Unit::Sets, _) => format!("{counted} ({})", format::plural(all, "guest", "guests")),
        (Unit::Guests, 0) => counted,
        (Unit::Guests, fixed) => {
            format!(
                "{counted} beside the {} that must run",
                format::count(fixed)
            )
        }
    }
}

/// Why the target is not reached safely, and what would change that.
pub fn why_not(shortfall: &Shortfall) -> String {
    let missing = match shortfall.missing {
        0.0 => String::new(),
        bytes => format!("; {} are missing", format::bytes(bytes)),
    };
    let changes = match shortfall.changes.is_empty() {
        true => "",
        false => " What would change it, each by itself; each was tried:",
    };
    format!("Why not safely: {}{missing}.{changes}", shortfall.why)
}

/// How many batches a table does not show.
pub fn more_batches(rollout: &Rollout, shown: usize) -> Option<String> {
    let more = rollout.run.batches.len().saturating_sub(shown);
    (more > 0).then(|| {
        format!(
            "And {} (JSON and CSV have every one).",
            format::plural(more as u64, "more batch", "more batches")
        )
    })
}

/// What the plan offers beside the way that was taken.
pub fn other_way(rollout: &Rollout) -> Option<String> {
    let plan = rollout.plan.as_ref()?;
    let list = &plan.list;
    let total = list.up_s?;
    let safe = list.safe(plan.limit) && plan.shortfall.is_none();
    let by_rule = rollout.rule.is_some() && list.batches.len() > 1 && rollout.safe && safe;
    let rule = plan.rule.as_ref().filter(|_| rollout.rule.is_none());
    if by_rule {
        return Some(format!(
            "Starting each batch as soon as it is safe takes {} in {} (--as-soon-as-safe shows them).",
            format::seconds(total),
            format::plural(list.batches.len() as u64, "batch", "batches")
        ));
    }
    let rule = rule.filter(|(_, run)| run.batches.len().max(list.batches.len()) > 1);
    rule.map(|(rule, run)| {
        let way = match run.batches.as_slice() {
            [_] => "In one batch".to_owned(),
            _ => format!("By a fixed rule, {},", rhythm(*rule)),
        };
        format!(
            "{way} it takes {} (--batch {} --wait {}s).",
            format::seconds(run.total_s()),
            rule.batch,
            rule.wait_s
        )
    })
}

/// That the search ended before everything was tried.
pub fn stopped(rollout: &Rollout) -> Option<String> {
    let run = &rollout.run;
    let planned = rollout.plan.as_ref().is_some_and(|plan| plan.stopped);
    (planned || run.end == End::OutOfSteps).then(|| {
        let best = if planned {
            "; this is the best found so far"
        } else {
            ""
        };
        format!(
            "Stopped after {} steps of simulation, {} into the run{best}.",
            format::count(MOST_STEPS),
            format::seconds(run.end_s)
        )
    })
}

/// That a rule is not kept: a batch waits until every guest of the one before has been cloned and started.
pub fn late(rollout: &Rollout) -> Option<String> {
    let wait = rollout.rule.map(|rule| rule.wait_s);
    let wait = wait.filter(|wait| *wait > 0.0)?;
    let behind = |(index, batch): (usize, &BatchRun)| batch.start_s - index as f64 * wait;
    let most = rollout
        .run
        .batches
        .iter()
        .enumerate()
        .map(behind)
        .fold(0.0, f64::max);
    (most > 1.0).then(|| {
        format!(
            "The wait is too short to be kept: cloning and starting a batch takes longer, and the next one starts only \
             after that, up to {} behind the rule.",
            format::seconds(most)
        )
    })
}

/// What memory holds once all guests have been busy; none where that is no fewer.
pub fn lived_in(rollout: &Rollout) -> Option<String> {
    let held = rollout
        .lived_in
        .bound()
        .filter(|held| *held < rollout.reached)?;
    if objection(rollout).is_some() && within(rollout.run.peak, rollout.limit) {
        // The sentence on top says it.
        return None;
    }
    let fresh = if rollout.busy_spells {
        "Guests that were not busy yet are fresh."
    } else {
        "These guests are fresh."
    };
    Some(format!(
        "{fresh} Once all have been busy, memory holds {} safely (`fit`).",
        counted(rollout.unit, held)
    ))
}

/// In how many of the draws memory holds the target.
pub fn chance(rollout: &Rollout, chance: Chance) -> String {
    let target = counted(rollout.unit, rollout.target);
    let target = match rollout.target {
        0 => "what must run".to_owned(),
        _ => target,
    };
    let state = if rollout.fresh {
        "if they are never busy"
    } else {
        "once all have been busy"
    };
    format!(
        "In {} of {} memory holds {target} {state}.",
        format::share(chance.share),
        format::plural(chance.draws.count, "draw", "draws")
    )
}

/// What dashes in the table of batches mean; none where it has none.
pub fn dashes(rollout: &Rollout) -> Option<String> {
    let any = |is: fn(&BatchRun) -> bool| rollout.run.batches.iter().any(is);
    let settled = any(|batch| batch.settle_s.is_none()).then_some(
        "A dash under settled after: the next batch, or the end of the watch, came first.",
    );
    let cloned = any(|batch| batch.clone_s.is_none())
        .then_some("A dash under cloning takes: the pool's write speed is not given.");
    let said: Vec<&str> = settled.into_iter().chain(cloned).collect();
    (!said.is_empty()).then(|| said.join(" "))
}

/// Swap and kills, the first of each kind, and in full what the scanner does.
pub fn happened(rollout: &Rollout, lab: &Lab, full: bool) -> Vec<String> {
    let run = &rollout.run;
    let first = |wanted: fn(&EventKind) -> bool| {
        let event = run.events.iter().find(|event| wanted(&event.kind))?;
        Some(format!("at {}", time(event.t_s)))
    };
    let scanner = first(|kind| matches!(kind, EventKind::ScannerStarted))
        .map(|at| format!("The page-sharing scanner begins {at}."));
    let swap = first(|kind| matches!(kind, EventKind::SwapInUse))
        .map(|at| format!("Swap comes into use {at}: slow, and it wears the disk."));
    let waits = first(|kind| matches!(kind, EventKind::GuestsWait))
        .map(|at| format!("Guests wait for memory while pages are swapped out, first {at}."));
    let scanned = (run.scan_cpu_s > 0.0).then(|| {
        format!(
            "The scanner takes {} of processor time in {}.",
            format::seconds(run.scan_cpu_s),
            format::seconds(run.end_s)
        )
    });
    let trouble = swap.into_iter().chain(waits).chain(losses(rollout, lab));
    if !full {
        return trouble.collect();
    }
    let scanner = scanner.into_iter();
    scanner.chain(trouble).chain(scanned).collect()
}

/// The first guest that is killed, and how many are lost in all.
fn losses(rollout: &Rollout, lab: &Lab) -> Vec<String> {
    let events = rollout.run.events.iter();
    let mut first = None;
    let mut names: Vec<String> = Vec::new();
    for event in events {
        let EventKind::Killed {
            profile,
            announced,
            returned,
        } = event.kind
        else {
            continue;
        };
        let name = &lab.guests[profile].name;
        first.get_or_insert_with(|| {
            format!(
                "The kernel kills a guest of {name} at {}: {} announced, {} come back.",
                time(event.t_s),
                format::bytes(announced),
                format::bytes(returned)
            )
        });
        if !names.contains(name) {
            names.push(name.clone());
        }
    }
    let Some(first) = first else {
        return Vec::new();
    };
    let all = format!(
        "{} lost in all, of {}.",
        format::plural(rollout.run.killed, "guest", "guests"),
        format::listed(&names)
    );
    vec![first, all]
}

/// A time from the start on.
pub fn time(seconds: f64) -> String {
    match seconds {
        0.0 => "0".to_owned(),
        seconds => format::seconds(seconds),
    }
}

/// By which period guests become busy, where the lab has any: "It starts at 22:00; guests become busy as in the period that
/// the clock is in."
pub fn clock(rollout: &Rollout, lab: &Lab) -> Option<String> {
    if let Some(seconds) = rollout.at_s {
        let minutes = (seconds / 60.0).round() as u64;
        let (hour, minute) = (minutes / 60, minutes % 60);
        return Some(format!(
            "It starts at {hour}:{minute:02}; guests become busy as in the period that the clock is in."
        ));
    }
    let follow = match parts_of_day(&lab.periods).is_empty() {
        true => "periods by share have no clock",
        false => "--at 22:00 would follow the clock",
    };
    rollout.busiest.then(|| {
        format!("Each guest becomes busy as in the period in which it is busiest; {follow}.")
    })
}
