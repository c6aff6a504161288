//! Purchases in words: what is done, what it takes out, what to know about it.

use std::fmt::{self, Display, Formatter};

use serde::{Serialize, Serializer};

use super::caution::{Worded, written_as_text};
use super::fit::capitalised;
use super::name::{counted_in, labels, named_run_out_first};
use crate::lab::Lab;
use crate::purchase::upgrade::answer::{Choice, DrawnGain, Stopped, UpgradeAnswer};
use crate::purchase::upgrade::change::{Action, Change, Changes, Note, Notes, Replaced};
use crate::sizing::search::Largest;
use crate::unit::format;

/// Where prices come from.
pub const PRICES: Worded = Worded::fixed(
    "prices",
    "Prices are the lab's; old parts sold and power of new ones are not counted.",
    "Prices are those of the lab. What old parts sell for, and the power that new ones draw, is not counted.",
);
/// Said of every purchase.
pub const ESTIMATE: Worded = Worded::fixed(
    "estimate",
    "An estimate: measure a first handful of guests before you spend money on it.",
    "This is an estimate from the numbers given. Measure a first handful of guests before you spend money on it.",
);
/// Said where the lab has no price of anything that could be bought.
pub const NO_PRICES: &str = "The lab gives no price of anything that could be bought: add module_prices with slots and \
     max_module, the price and capacity_prices of a pool, link_prices, or the price of the host.";

/// Purchases that a sentence names.
const MOST_NAMES: usize = 12;

written_as_text!(Changes, Replaced);

impl Display for Changes {
    fn fmt(&self, f: &mut Formatter) -> fmt::Result {
        let all: Vec<String> = self.0.iter().map(change).collect();
        f.write_str(&all.join(", "))
    }
}

/// "memory: 2 × 32 GiB (replaces 2 × 16 GiB)".
fn change(change: &Change) -> String {
    let action = action(change);
    let replaced: Vec<String> = change.replaced().iter().map(Replaced::to_string).collect();
    if replaced.is_empty() {
        action
    } else {
        format!("{action} (replaces {})", replaced.join(" and "))
    }
}

/// "memory: 2 × 32 GiB".
fn action(change: &Change) -> String {
    match &change.action {
        Action::Containers => "run the same guests as containers".to_owned(),
        Action::Modules { bought, .. } => {
            let bought = bought.iter();
            let modules = bought.map(|(size, number)| modules(*number, *size));
            format!("memory: {}", modules.collect::<Vec<_>>().join(" and "))
        }
        Action::MoreDevices { name, more, .. } => format!(
            "{name}: {} more of the same",
            format::plural(*more, "device", "devices")
        ),
        Action::LargerDevices {
            name,
            devices: number,
            capacity,
            ..
        } => format!("{name}: {}", devices(*number, *capacity)),
        Action::Link { speed, .. } => format!("link: {}", format::bit_rate(*speed)),
        Action::MoreHosts(more) => format!(
            "{} of the kind",
            format::plural(*more, "more host", "more hosts")
        ),
    }
}

impl Display for Replaced {
    fn fmt(&self, f: &mut Formatter) -> fmt::Result {
        f.write_str(&match self {
            Replaced::Modules(number, size) => modules(*number, *size),
            Replaced::Devices(number, capacity) => devices(*number, *capacity),
            Replaced::Link(speed) => format::bit_rate(*speed),
        })
    }
}

fn modules(number: usize, size: f64) -> String {
    format!("{number} × {}", format::bytes(size))
}

fn devices(number: u64, capacity: f64) -> String {
    format!("{number} × {}", format::decimal_bytes(capacity))
}

impl Display for Note {
    fn fmt(&self, f: &mut Formatter) -> fmt::Result {
        f.write_str(match self {
            Note::Containers => {
                "Counted with the memory that the machines hold, without what runs a machine; a container shares the \
                 host's kernel, and guests with a passed-through device or huge pages stay machines."
            }
            Note::AllSlotsTaken => {
                "All memory slots are taken, so what is bought takes the place of the smallest modules."
            }
            Note::TooFewSlotsFree => {
                "Fewer memory slots are free than are needed, so the smallest modules come out."
            }
            Note::SlotsUnknown => {
                "The lab does not say how many memory slots there are, so all are taken to be full: give `slots` if \
                 some are free."
            }
            Note::UnpairedModule => {
                "A module that nothing matches comes out: modules work in pairs."
            }
            Note::LargerDevices => {
                "Larger devices are counted with the speed and rated writes of those they replace, and as new."
            }
            Note::NoPoolPrice => {
                "The pool has no price in the lab, so its worth cannot be ranked."
            }
            Note::NoHostPrice => {
                "The host has no price in the lab, so its worth cannot be ranked."
            }
        })
    }
}

/// The notes in a row; nothing where there is none.
impl Serialize for Notes {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let notes: Vec<String> = self.0.iter().map(Note::to_string).collect();
        (!notes.is_empty())
            .then(|| notes.join(" "))
            .serialize(serializer)
    }
}

/// What the host holds now, and what is best to do.
pub fn sentence(answer: &UpgradeAnswer, lab: &Lab) -> String {
    format!("{}. {}.", now(answer), capitalised(&best(answer, lab)))
}

fn now(answer: &UpgradeAnswer) -> String {
    let binding = answer.now.binds.iter();
    let binding = binding.map(|one| (one.resource, one.name.as_str()));
    let runs_out = named_run_out_first(&binding.collect::<Vec<_>>());
    let host = &answer.host;
    match answer.now.fits {
        Some(n) => format!(
            "{host} holds {} now; {runs_out}",
            counted_in(answer.unit, n)
        ),
        None if answer.now.binds.is_empty() => {
            format!("{host}: nothing that was considered runs out")
        }
        None => format!("{host} does not hold the guests that must run: {runs_out}"),
    }
}

fn best(answer: &UpgradeAnswer, lab: &Lab) -> String {
    let money = |amount| format::money(amount, &lab.currency);
    let limit = answer
        .budget
        .map_or_else(String::new, |budget| format!("within {} ", money(budget)));
    let Some(best) = answer.best.map(|index| &answer.options[index]) else {
        let end = match not_worth_it(answer) {
            Some(_) => "is sure to be worth it",
            None => "holds more",
        };
        let more = |option: &Choice| option.gain.is_some_and(|gain| gain > 0);
        let unpriced = |option: &Choice| option.price.is_none() && more(option);
        let what = match answer.options.iter().any(unpriced) {
            true => "has a price in the lab",
            false => "could be bought",
        };
        return format!("nothing that {what} {limit}{end}");
    };
    let held = match best.fits {
        None => "without a limit".to_owned(),
        Some(0) => "every limit is kept, with no guest beside those that must run".to_owned(),
        Some(n) => counted_in(answer.unit, n),
    };
    let price = match best.price {
        Some(price) if price > 0.0 => format!(" for {}", money(price)),
        _ => String::new(),
    };
    let sure = match not_worth_it(answer) {
        Some(_) => "of what gains in 95 % of the draws, ",
        None => "",
    };
    let most = match answer.budget {
        Some(_) => "most are held with",
        None => "most for the money is gained with",
    };
    format!("{limit}{sure}{most} {}: {held}{price}", best.change)
}

/// How many are held, or that there is no limit.
pub fn held(option: &Choice) -> String {
    match option.largest {
        Largest::Bound(n) => format::count(n),
        Largest::Unbounded => "no limit".to_owned(),
        Largest::Infeasible => "does not fit".to_owned(),
    }
}

/// How many more are held, by the likely values and in the draws: "+12 (8 to 15)".
pub fn gain(option: &Choice) -> String {
    let number = |gain: i64| {
        let sign = if gain < 0 { "-" } else { "" };
        format!("{sign}{}", format::count(gain.unsigned_abs()))
    };
    let likely = match option.gain {
        Some(0) => "nothing".to_owned(),
        Some(gain) if gain > 0 => format!("+{}", number(gain)),
        Some(gain) => number(gain),
        None => "all".to_owned(),
    };
    match option.drawn {
        Some(DrawnGain { low, high, .. }) if option.gain != Some(0) || high != Some(0) => {
            let high = high.map_or_else(|| "all".to_owned(), number);
            format!("{likely} ({} to {high})", number(low))
        }
        _ => likely,
    }
}

/// Which purchases gain by the likely values and yet are not worth their money.
pub fn not_worth_it(answer: &UpgradeAnswer) -> Option<String> {
    let unsure = answer.options.iter().filter(|option| {
        option.gain.is_some_and(|gain| gain > 0)
            && option.drawn.is_some_and(|drawn| !drawn.worth_it)
    });
    let unsure: Vec<String> = unsure.map(|option| option.change.to_string()).collect();
    (!unsure.is_empty()).then(|| {
        format!(
            "In more than 5 % of the draws {} nothing, and so {} not worth the money before what is guessed is measured: {}.",
            if unsure.len() > 1 { "these gain" } else { "this gains" },
            if unsure.len() > 1 { "are" } else { "is" },
            few(unsure)
        )
    })
}

/// "Stopped after 12 of 214 purchases: this is the best so far."; none where all was done.
pub fn stopped(answer: &UpgradeAnswer) -> Option<String> {
    let Stopped {
        evaluated,
        purchases,
        draws,
        asked,
    } = answer.stopped?;
    let (done, all) = match asked {
        0 => (
            evaluated as u64,
            format::plural(purchases as u64, "purchase", "purchases"),
        ),
        _ => (
            draws,
            format::plural(asked, "draw", "draws") + " of each purchase",
        ),
    };
    let done = format::count(done);
    Some(format!(
        "Stopped after {done} of {all}: this is the best so far."
    ))
}

/// What binds afterwards; where nothing is gained, that this is why.
pub fn binds_then(option: &Choice) -> String {
    let labels = labels(&option.binds);
    match option.gain {
        Some(0) if !labels.is_empty() => format!("{labels}, as before"),
        _ => labels,
    }
}

/// "Gain nothing: link: 2.5 Gbit/s, nvme: 1 device more of the same."; none where everything gains.
pub fn gain_nothing(answer: &UpgradeAnswer) -> Option<String> {
    let options = answer.options.iter();
    let nothing = options.filter(|option| !answer.adds(option));
    let single = nothing.filter_map(|option| match option.change.0.as_slice() {
        [only] => Some(action(only)),
        _ => None,
    });
    let names: Vec<String> = single.collect();
    (!names.is_empty()).then(|| format!("These gain nothing: {}.", few(names)))
}

/// The names in a row; of many only the first.
fn few(mut names: Vec<String>) -> String {
    let more = names.len().saturating_sub(MOST_NAMES);
    names.truncate(MOST_NAMES);
    if more > 0 {
        names.push(format!("and {} more", format::count(more as u64)));
    }
    names.join("; ")
}

/// That there are sums of memory which are not among the options; none where all are.
pub fn left_out(answer: &UpgradeAnswer) -> Option<String> {
    let more = format::count(answer.left_out as u64);
    (answer.left_out > 0).then(|| {
        format!("The slots allow {more} more sums of memory than are considered: large ones are taken at distances.")
    })
}
