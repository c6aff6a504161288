//! The choice between hosts in words.

use super::caution::Worded;
use super::name::{labels, or_dash};
use crate::lab::Lab;
use crate::model::YEAR;
use crate::purchase::choose::ChoiceAnswer;
use crate::purchase::choose::break_even::BreakEven;
use crate::purchase::choose::candidate::Candidate;
use crate::purchase::choose::multiple::Multiple;
use crate::purchase::choose::replace::{Replacement, Replacing};
use crate::purchase::compare::{CompareAnswer, HoldsMore, runs};
use crate::sizing::answer::HostAnswer;
use crate::unit::format::{self, listed};

/// Said of every ranking.
pub const ENERGY_ESTIMATE: Worded = Worded::fixed(
    "estimate",
    "An estimate: energy at the busy hour's load all year is an upper bound.",
    "This is an estimate from the numbers given; energy is counted at the busy hour's load all year, an upper bound.",
);
/// Said before an old host is replaced.
pub const REWIRING: Worded = Worded::fixed(
    "circuits",
    "What a wall circuit may carry is for local codes and an electrician to say.",
    "Before an old server is unplugged or new boxes share its outlet: a wall circuit and its wiring have limits of their \
     own; local codes decide, and a licensed electrician settles what a circuit may carry.",
);
/// Said where no host takes the place of an old one.
pub const NOTHING_REPLACES: &str = "No host of the lab, and no number of one kind that was tried, holds them within what was asked.";

/// "small is the cheapest that holds 40 web and 6 build: 1,190 EUR over 4 years, 620 EUR of it energy."
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
            listed(needed.collect::<Vec<_>>())
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

/// "5 × small hold the 99 guests too: 1,950 EUR and 106 W; if one fails, 79 run on. 6 × small keep all: 2,340 EUR and 118 W."
pub fn several(multiples: &[Multiple], currency: &str) -> Option<String> {
    let money = |one: &Multiple| one.price.map(|price| format::money(price, currency));
    let watts = |one: &Multiple| one.watts.map(format::power);
    let costs = |one: &Multiple| {
        let known: Vec<String> = [money(one), watts(one)].into_iter().flatten().collect();
        match known.is_empty() {
            true => String::new(),
            false => format!(": {}", listed(&known)),
        }
    };
    let several = || multiples.iter().filter(|one| one.hosts > 1);
    // Of kinds of which one is not enough, if there are any: for the others several are only safer.
    let holds_alone = |one: &Multiple| {
        multiples
            .iter()
            .any(|other| other.hosts == 1 && other.name == one.name)
    };
    let small = several().find(|one| !holds_alone(one));
    let cheapest = small.or_else(|| several().next())?;
    let guests = format::plural(cheapest.guests, "guest", "guests");
    let (name, number) = (&cheapest.name, cheapest.hosts);
    let first = format!("{number} × {name} hold the {guests} too{}", costs(cheapest));
    if cheapest.keeps_all() {
        return Some(format!("{first}; if one fails, all run on."));
    }
    let left = format::count(cheapest.after_failure);
    let keeping = several().find(|one| one.keeps_all());
    let keeping = keeping.map_or_else(String::new, |one| {
        let (name, number) = (&one.name, one.hosts);
        format!(" {number} × {name} keep all{}.", costs(one))
    });
    Some(format!("{first}; if one fails, {left} run on.{keeping}"))
}

/// What runs on when one of several hosts fails: "all 99", "79 of 99", "nothing".
pub fn after_failure(left: u64, all: u64) -> String {
    match left {
        0 => "nothing".to_owned(),
        _ if left == all => format!("all {}", format::count(all)),
        _ => format!("{} of {}", format::count(left), format::count(all)),
    }
}

/// What a host does not hold.
pub fn passed(candidate: &Candidate) -> String {
    match (candidate.passed.is_empty(), candidate.holds) {
        (true, true) => "nothing".to_owned(),
        (true, false) => "holds none".to_owned(),
        (false, _) => labels(&candidate.passed),
    }
}

/// Which hosts were left out, and why.
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

/// When the dearer host has paid back; where it never does, what it has more for its price.
pub fn break_even(pair: &BreakEven, currency: &str, hosts: &[HostAnswer]) -> String {
    let (dearer, cheaper) = (&pair.dearer, &pair.cheaper);
    let price = format::money(pair.more, currency);
    let saves = format::money(pair.saved_per_year, currency);
    let fits = |name: &str| hosts.iter().find(|host| host.name == name)?.fits;
    let more = fits(dearer).zip(fits(cheaper));
    let more = more.map_or(0, |(dearer, cheaper)| dearer.saturating_sub(cheaper));
    match pair.years {
        None if pair.more <= 0.0 => {
            format!("{dearer} and {cheaper} cost the same with the same guests.")
        }
        None if more > 0 => format!(
            "{dearer} costs {price} more than {cheaper} and holds {} more; with the same guests it saves no energy.",
            format::count(more)
        ),
        None if pair.same_guests => format!(
            "{dearer} costs {price} more than {cheaper} and never pays back: it saves no energy."
        ),
        None => format!(
            "{dearer} costs {price} more than {cheaper}, saves no energy with the same guests and holds another number."
        ),
        Some(0.0) => {
            format!("{dearer} pays back at once against {cheaper}: it saves {saves} a year.")
        }
        Some(years) => format!(
            "With the same guests {dearer} costs {price} more than {cheaper}, saves {saves} a year and pays back in {}.",
            format::seconds(years * YEAR)
        ),
    }
}

/// "tall holds the most guests and costs the least per guest; small has the longest-lasting disks."
pub fn best(answer: &CompareAnswer) -> String {
    let run: Vec<String> = answer
        .hosts
        .iter()
        .filter(|host| runs(host))
        .map(|host| host.name.clone())
        .collect();
    match run.as_slice() {
        [] => return "No host holds the guests.".to_owned(),
        [only] if answer.hosts.len() > 1 => return format!("Only {only} holds the guests."),
        _ => {}
    }
    let measures = [
        ("guests", "holds the most guests"),
        ("cost_per_guest", "costs the least per guest"),
        ("watts_per_guest", "draws the least power per guest"),
        ("life", "has the longest-lasting disks"),
        ("lasts", "is full last"),
    ];
    let mut clauses: Vec<(usize, String)> = run
        .iter()
        .filter_map(|name| {
            let wins = measures.iter().filter(|(key, _)| {
                let winner = answer.best.get(key);
                winner.and_then(Option::as_ref) == Some(name)
            });
            let wins: Vec<String> = wins.map(|(_, words)| (*words).to_owned()).collect();
            (!wins.is_empty()).then(|| (wins.len(), format!("{name} {}", listed(&wins))))
        })
        .collect();
    clauses.sort_by_key(|(wins, _)| std::cmp::Reverse(*wins));
    let clauses: Vec<String> = clauses.into_iter().map(|(_, clause)| clause).collect();
    if clauses.is_empty() {
        return format!("{} are alike by every measure.", listed(&run));
    }
    format!("{}.", clauses.join("; "))
}

/// How many values were guessed, and where they are listed.
pub fn guessed(hosts: &[HostAnswer]) -> String {
    let counts = hosts.iter().map(|host| {
        let guessed = format::plural(host.guesses.len() as u64, "value", "values");
        format!("{guessed} for {}", host.name)
    });
    format!(
        "Guessed, because not given: {} (`fit --full` lists them).",
        listed(counts.collect::<Vec<_>>())
    )
}

/// "With 24 guests rack draws 120 W, 315 EUR a year."
pub fn old_host(replacing: &Replacing, currency: &str) -> String {
    let old = &replacing.old;
    let draws = replacing.watts.map_or_else(
        || format!("the power of {old} is not known"),
        |watts| format!("{old} draws {}", format::power(watts)),
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
pub fn pays_back(one: &Replacement) -> String {
    match (one.years, one.saved_per_year, one.price) {
        (None, Some(_), Some(_)) => "never".to_owned(),
        (years, _, _) => or_dash(years, |years| format::seconds(years * YEAR)),
    }
}

/// "In 87 % of the draws shelf-a holds more than shelf-b": the guests are drawn alike for all hosts.
pub fn holds_more(pairs: &[HoldsMore]) -> Option<String> {
    let first = pairs.first()?;
    let each: Vec<String> = pairs
        .iter()
        .map(|pair| {
            let more = format!("more than {} in {}", pair.than, format::share(pair.share));
            match pair.equal > 0.0 {
                true => format!("{more} and as many in {}", format::share(pair.equal)),
                false => more,
            }
        })
        .collect();
    Some(format!(
        "Of the draws, with the guests drawn alike for all hosts, {} holds {}.",
        first.host,
        format::listed(&each)
    ))
}
