//! The choice between hosts in words.

use super::name::{labels, or_dash};
use crate::lab::Lab;
use crate::model::YEAR;
use crate::purchase::choose::ChoiceAnswer;
use crate::purchase::choose::break_even::BreakEven;
use crate::purchase::choose::candidate::Candidate;
use crate::purchase::choose::replace::{Replacement, Replacing};
use crate::unit::format::{self, listed};

/// Said of every ranking.
pub const ENERGY_ESTIMATE: &str = "This is an estimate from the numbers given; energy is counted at the busy hour's load all \
     year, an upper bound.";
/// Said before an old host is replaced.
pub const REWIRING: &str = "Before an old server is unplugged or new boxes share its outlet: a wall circuit and its wiring \
     have limits of their own; local codes decide, and a licensed electrician settles what a circuit may carry.";
/// Said where no host takes the place of an old one.
pub const NOTHING_REPLACES: &str = "No host of the lab, and no number of one kind that was tried, holds them within what was asked.";

/// "small is the cheapest that holds 40 web and 6 build: 1,190 EUR over 4 years, 620 EUR of it energy."
#[must_use]
pub fn sentence(answer: &ChoiceAnswer, lab: &Lab) -> String {
    let holding = format!(
        "{} of {} {}",
        format::count(answer.holding as u64),
        format::plural(answer.considered as u64, "host", "hosts"),
        what_they_do(answer, lab)
    );
    let cheapest = answer
        .cheapest
        .as_ref()
        .and_then(|name| answer.ranking.iter().find(|one| one.name == *name));
    let Some((one, total)) = cheapest.and_then(|one| Some((one, one.total?))) else {
        return format!("{holding}.");
    };
    let energy = one.running_per_year.map_or_else(
        || "to buy".to_owned(),
        |yearly| {
            format!(
                "over {}, {} of it energy",
                format::years(answer.years),
                format::money(yearly * answer.years, &lab.currency)
            )
        },
    );
    let total = format::money(total, &lab.currency);
    format!("{} is the cheapest: {total} {energy}. {holding}.", one.name)
}

/// "hold 40 web and cost at most 900 EUR".
fn what_they_do(answer: &ChoiceAnswer, lab: &Lab) -> String {
    let verb = |one: &str| match answer.holding {
        1 => format!("{one}s"),
        _ => one.to_owned(),
    };
    let held = match &answer.need {
        Some(need) => {
            let needed = lab.guests.iter();
            let needed = needed.filter_map(|guest| Some((guest, need.get(&guest.name)?)));
            let needed = needed.map(|(guest, n)| format!("{} {}", format::count(*n), guest.name));
            listed(&needed.collect::<Vec<_>>())
        }
        None => "guests of this mix".to_owned(),
    };
    let budget = answer
        .budget
        .map(|budget| (verb("cost"), format::money(budget, &lab.currency)));
    let power = answer
        .max_watts
        .map(|watts| (verb("draw"), format::power(watts)));
    let limits = [budget, power].into_iter().flatten();
    let limits = limits.map(|(verb, most)| format!("{verb} at most {most}"));
    let all: Vec<String> = std::iter::once(format!("{} {held}", verb("hold")))
        .chain(limits)
        .collect();
    all.join(" and ")
}

/// What a host does not hold.
#[must_use]
pub fn passed(candidate: &Candidate) -> String {
    match (candidate.passed.is_empty(), candidate.holds) {
        (true, true) => "nothing".to_owned(),
        (true, false) => "holds none".to_owned(),
        (false, _) => labels(&candidate.passed),
    }
}

/// Which hosts were left out, and why.
#[must_use]
pub fn left_out(answer: &ChoiceAnswer) -> Vec<String> {
    let hosts = |n: usize| format::plural(n as u64, "host", "hosts");
    let budget = (answer.over_budget > 0).then(|| {
        format!(
            "Left out for the budget: {} that cost more or have no price.",
            hosts(answer.over_budget)
        )
    });
    let power = (answer.over_watts > 0).then(|| {
        format!(
            "Left out for --max-watts: {} that draw more or whose power is not known.",
            hosts(answer.over_watts)
        )
    });
    [budget, power].into_iter().flatten().collect()
}

/// When the dearer host has paid back.
#[must_use]
pub fn break_even(pair: &BreakEven, currency: &str) -> String {
    let (dearer, cheaper) = (&pair.dearer, &pair.cheaper);
    if pair.more <= 0.0 && pair.saved_per_year <= 0.0 {
        return format!(
            "{dearer} and {cheaper} cost the same, and neither saves energy with the same guests: there is nothing to pay \
             back."
        );
    }
    let when = match pair.years {
        Some(0.0) => "pays back at once".to_owned(),
        Some(years) => format!("pays back in {}", format::seconds(years * YEAR)),
        None if pair.same_guests => "never pays back".to_owned(),
        None => "does not pay back by energy alone, but holds another number of guests".to_owned(),
    };
    let saved = if pair.saved_per_year > 0.0 {
        format!(
            "saves {} a year",
            format::money(pair.saved_per_year, currency)
        )
    } else {
        "saves no energy".to_owned()
    };
    format!(
        "{dearer} costs {} more than {cheaper} and {saved} with the same guests: it {when}.",
        format::money(pair.more, currency)
    )
}

/// "With 24 guests it draws 120 W, 315 EUR a year."
#[must_use]
pub fn old_host(replacing: &Replacing, currency: &str) -> String {
    let draws = replacing.watts.map_or_else(
        || "its power is not known".to_owned(),
        |watts| format!("it draws {}", format::power(watts)),
    );
    let costs = replacing
        .running_per_year
        .map_or_else(String::new, |yearly| {
            format!(", {} a year", format::money(yearly, currency))
        });
    let not = if replacing.holds {
        ""
    } else {
        " (more than it holds within its limits)"
    };
    let guests = format::plural(replacing.guests, "guest", "guests");
    format!("With {guests}{not} {draws}{costs}.")
}

/// When new hosts in place of an old one have paid back.
#[must_use]
pub fn pays_back(one: &Replacement) -> String {
    match (one.years, one.saved_per_year, one.price) {
        (None, Some(_), Some(_)) => "never".to_owned(),
        (years, _, _) => or_dash(years, |years| format::seconds(years * YEAR)),
    }
}
