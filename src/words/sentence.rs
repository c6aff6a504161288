//! The sentence on top that a person can quote.

use super::name::{binding, counted, found, in_sentence, is_plural, runs_out_first};
use crate::lab::{Lab, Mode};
use crate::sizing::answer::{HostAnswer, ResourceAnswer, State};
use crate::sizing::search::{Largest, MOST_GUESTS};
use crate::unit::format;

/// Host, count, what runs out first, where the cliff is, what the plain sum says.
///
/// "shelf-a safely holds 62 guests; memory runs out first; the kernel starts killing guests at about 71. By the plain
/// sum: 30."
#[must_use]
pub fn sentence(host: &HostAnswer, lab: &Lab) -> String {
    let binding = binding(host);
    let mut text = match host.fits {
        Some(n) => held(host, n, &binding),
        None if binding.is_empty() => {
            format!(
                "{}: nothing that was considered runs out below {} guests",
                host.name,
                format::count(MOST_GUESTS)
            )
        }
        None => broken(host, &binding),
    };
    match host.breaks_at {
        Some(0) if host.guests == 0 => {}
        Some(0) => text.push_str("; the kernel kills guests even so"),
        Some(n) => text.push_str(&format!(
            "; the kernel starts killing guests at about {}{}",
            format::count(n),
            beside_them(host)
        )),
        None => {}
    }
    text.push('.');
    text.push_str(&format!(" By the plain sum: {}.", plain_sum(host, lab)));
    if !host.missing.is_empty() {
        let names = format::listed(&host.missing);
        text.push_str(&format!(
            " Not one {names} is among them: see the cautions."
        ));
    }
    if let Some(note) = adaptive_note(host, lab) {
        text.push_str(&note);
    }
    text
}

/// "24 beside those that must run": what the plain sum counts, and that it leaves room for the fixed guests first.
fn plain_sum(host: &HostAnswer, lab: &Lab) -> String {
    let fixed: u64 = lab
        .guests
        .iter()
        .filter(|_| host.unit != "sets")
        .map(|guest| guest.number.count())
        .sum();
    let those = match fixed {
        0 => return found(host.plain_sum),
        1 => "the one that must run",
        _ => "those that must run",
    };
    match host.plain_sum {
        Largest::Infeasible => format!("not even {those}"),
        sum => format!("{} beside {those}", found(sum)),
    }
}

/// "beside the 3 that must run", where fixed guests run beside scaling ones.
fn beside(host: &HostAnswer, n: u64) -> String {
    match host.guests.saturating_sub(n) {
        0 => String::new(),
        _ if host.unit == "sets" => {
            format!(" ({})", format::plural(host.guests, "guest", "guests"))
        }
        1 => " beside the 1 that must run".to_owned(),
        fixed => format!(" beside the {} that must run", format::count(fixed)),
    }
}

/// " beside them", where the guests that must run were named before and a count is again of those beside them.
fn beside_them(host: &HostAnswer) -> &'static str {
    match host.fits {
        Some(n) if n > 0 && host.guests > n && host.unit != "sets" => " beside them",
        _ => "",
    }
}

fn held(host: &HostAnswer, n: u64, binding: &[&ResourceAnswer]) -> String {
    let first = runs_out_first(binding);
    match n {
        0 if host.guests > 0 => format!(
            "{} holds {} that must run and no more; {first}",
            host.name,
            format::plural(host.guests, "guest", "guests")
        ),
        0 => format!(
            "{} does not safely hold even 1 {}; {first}",
            host.name,
            host.unit.trim_end_matches('s')
        ),
        _ => format!(
            "{} safely holds {}{}; {first}",
            host.name,
            counted(host, n),
            beside(host, n)
        ),
    }
}

fn broken(host: &HostAnswer, binding: &[&ResourceAnswer]) -> String {
    let what: Vec<&ResourceAnswer> = binding
        .iter()
        .copied()
        .filter(|one| one.state == State::Infeasible)
        .collect();
    let (verb, limits) = match what.as_slice() {
        [one] if is_plural(one.resource) => ("are", "their safe limit"),
        [_] => ("is", "its safe limit"),
        _ => ("are", "their safe limits"),
    };
    let subject = match host.guests {
        0 => "cannot be run safely even without guests".to_owned(),
        1 => "does not safely hold the 1 guest that must run".to_owned(),
        n => format!(
            "does not safely hold the {} guests that must run",
            format::count(n)
        ),
    };
    format!(
        "{} {subject}: {} {verb} past {limits}",
        host.name,
        in_sentence(&what)
    )
}

fn adaptive_note(host: &HostAnswer, lab: &Lab) -> Option<String> {
    let merging = &lab.hosts.iter().find(|one| one.name == host.name)?.merging;
    (merging.mode == Mode::Adaptive).then(|| {
        format!(
            " Its adaptive page-sharing scanner saves nothing until the host is {} full.",
            format::share(1.0 - merging.threshold)
        )
    })
}
