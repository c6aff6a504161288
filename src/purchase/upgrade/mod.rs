//! What one purchase adds to a host, and which purchases add the most for their money.

pub mod answer;
pub mod change;
mod combine;
mod evaluate;
mod modules;
mod offers;
mod spread;

use std::cell::Cell;
use std::sync::atomic::AtomicBool;
use std::sync::atomic::Ordering::Relaxed;

use crate::lab::{Host, Lab};
use crate::sizing::answer::Outcome;
use crate::sizing::fit::CONTRACT;
use crate::sizing::host::HostModel;
use crate::sizing::lowest::Hint;
use crate::sizing::named::Named;
use crate::sizing::search::Largest;
use crate::sizing::uncertainty::{Draws, each_draw_until, ends};
use answer::{Choice, DrawnGain, Now, Stopped, UpgradeAnswer};
use change::{Action, Change};
use combine::{combinations, unmatched};
use evaluate::{Evaluator, Work, full_in};
use offers::{Offers, as_containers, offers};

/// Most further hosts of the kind that are considered within a budget; without one it is one.
const MOST_HOSTS: u64 = 8;
/// Most searches for the gains of all purchases in all draws.
const MOST_SEARCHES: u64 = 50_000;
/// Most resources looked at in all of them together.
const MOST_LOOKS: u64 = 5_000_000;
/// Fewest draws of each purchase; where there are too many purchases the last ones are not drawn.
const FEWEST_DRAWS: u64 = 100;

/// What could be bought for a host of the lab, and what each purchase adds.
///
/// Prices are the lab's own. Without a budget single purchases are listed; with one also combinations that it allows and
/// that no cheaper purchase equals. A larger budget only ever adds options. With draws a purchase is best only where its
/// gain is above zero in 95 % of them. Once `interrupted` is true, what has been evaluated and drawn so far has to do.
pub fn upgrade(
    lab: &Lab,
    host: &Host,
    budget: Option<f64>,
    draws: Option<Draws>,
    interrupted: &AtomicBool,
) -> UpgradeAnswer {
    let evaluator = Evaluator::new(lab, host, Hint::of(&HostModel::new(lab, host)), None);
    let Offers { kinds, left_out } = offers(host, budget.map_or(1, |_| MOST_HOSTS));
    let work = Work {
        kinds,
        budget,
        now: evaluator.held(&[]),
        interrupted,
        done: Cell::new(0),
        of: Cell::new(0),
    };
    let mut options = options(&work, &evaluator);
    let all = work.done == work.of;
    let drawn = draws
        .filter(|_| all)
        .map(|draws| draw_gains(&work, &evaluator, draws, &mut options));
    let (made, asked) = drawn.unwrap_or_default();
    let contained = as_containers(lab);
    for option in &mut options {
        let machines = contained.as_ref().filter(|_| option.containers);
        option.full_in_months = full_in(machines.unwrap_or(lab), host, &option.change.0);
    }
    let now = &work.now;
    let best = best(&options, &work);
    let reached = best.map_or(now.largest, |index| options[index].largest);
    UpgradeAnswer {
        report: "upgrade",
        version: CONTRACT,
        lab: lab.name.clone(),
        host: host.name.clone(),
        unit: evaluator.model.composition.unit().word(),
        budget,
        now: Now {
            fits: now.largest.bound(),
            binds: Named::all(&evaluator.model, &now.binds),
            full_in_months: full_in(lab, host, &[]),
        },
        outcome: Outcome::of(now.largest.max(reached) != Largest::Infeasible),
        options,
        left_out,
        stopped: (!all || made < asked).then_some(Stopped {
            evaluated: work.done.get(),
            purchases: work.of.get(),
            draws: made,
            asked,
        }),
        best,
    }
}

/// The best option: with a budget that of most guests, without one the first that gains.
fn best(options: &[Choice], work: &Work) -> Option<usize> {
    let drawn = options.iter().any(|one| one.drawn.is_some());
    // What has no price may cost too much.
    let gains = |choice: &Choice| {
        choice.price.is_some()
            && !choice.containers
            && choice.largest > work.now.largest
            && choice.gains_surely(drawn)
    };
    let mut gaining = (0..options.len()).filter(|index| gains(&options[*index]));
    match work.budget {
        Some(_) => gaining.min_by(|one, other| options[*one].by_count(&options[*other])),
        None => gaining.next(),
    }
}

/// Fills in what each purchase gains in the draws; many purchases get fewer draws each, and of too many only those that
/// gain most. Returns how many draws were made and how many were to be.
fn draw_gains(
    work: &Work,
    evaluator: &Evaluator,
    draws: Draws,
    options: &mut [Choice],
) -> (u64, u64) {
    let (lab, host) = (evaluator.model.lab, evaluator.model.host);
    let mut bought: Vec<usize> = (0..options.len())
        .filter(|index| !options[*index].containers)
        .collect();
    if work.budget.is_some() {
        bought.sort_by(|one, other| options[*one].by_count(&options[*other]));
    }
    let searches = MOST_SEARCHES.min(MOST_LOOKS / evaluator.hint.order.len().max(1) as u64);
    bought.truncate((searches / FEWEST_DRAWS).max(1) as usize);
    let most = (searches / bought.len().max(1) as u64).max(FEWEST_DRAWS);
    let draws = Draws {
        count: draws.count.min(most),
        ..draws
    };
    let changes: Vec<&[Change]> = bought
        .iter()
        .map(|index| options[*index].change.0.as_slice())
        .collect();
    let go_on = || !work.interrupted.load(Relaxed);
    let gains = each_draw_until(lab, &host.name, draws, &go_on, |lab, hint| {
        let evaluator = Evaluator::new(lab, &lab.hosts[0], hint.clone(), None);
        let now = evaluator.held(&[]).largest;
        let gain = |changes: &&[Change]| evaluator.gain(evaluator.held(changes).largest, now);
        changes.iter().map(gain).collect::<Vec<Option<i64>>>()
    });
    let Some(gains) = gains else {
        return (0, 0);
    };
    for (place, index) in bought.into_iter().enumerate() {
        // What no longer runs out has gained most.
        let drawn = gains.iter().map(|one| one[place].unwrap_or(i64::MAX));
        let Some([low, high]) = ends(drawn.collect()) else {
            continue;
        };
        options[index].drawn = Some(DrawnGain {
            low,
            high: (high < i64::MAX).then_some(high),
            worth_it: low > 0,
        });
    }
    (gains.len() as u64, draws.count)
}

/// Everything that could be done within the budget, most guests for the money first.
fn options(work: &Work, evaluator: &Evaluator) -> Vec<Choice> {
    let mut options = work.singles(evaluator);
    let contained = as_containers(evaluator.model.lab);
    let mut contained = contained.map_or_else(Vec::new, |lab| {
        containers(work, &lab, evaluator.model.host, &options)
    });
    let affordable = |choice: &Choice| {
        let priced = choice.price.zip(work.budget);
        priced.is_none_or(|(price, budget)| price <= budget)
    };
    options.retain(affordable);
    contained.retain(affordable);
    let several = combinations(work, evaluator);
    options.extend(unmatched(several, &options, work.now.largest));
    options.extend(contained);
    // Stable, so equals stay in the order of kinds: modules, disks, link, hosts.
    options.sort_by(Choice::by_worth);
    options
}

/// The same guests as containers (those of `lab`): by themselves, which costs nothing but work, and with each purchase
/// that holds more than both that and the purchase alone.
///
/// `machines` are the options of each change of each kind, in their order, with the guests as they are. With a budget,
/// several purchases at once too, of those that hold more than anything that costs no more.
fn containers(work: &Work, lab: &Lab, host: &Host, machines: &[Choice]) -> Vec<Choice> {
    let free = Change {
        action: Action::Containers,
        price: Some(0.0),
    };
    let hint = Hint::of(&HostModel::new(lab, host));
    let evaluator = Evaluator::new(lab, host, hint, Some(free));
    let alone = evaluator.choice(Vec::new(), &work.now);
    let floor = alone.largest;
    let gaining = work
        .singles(&evaluator)
        .into_iter()
        .zip(machines)
        .filter(|(option, machine)| option.largest > machine.largest.max(floor))
        .map(|(option, _)| option);
    let mut others = machines.to_vec();
    others.push(alone.clone());
    let with_one = unmatched(gaining.collect(), &others, floor);
    let mut all = vec![alone];
    all.extend(with_one.iter().cloned());
    others.extend(with_one);
    let several = combinations(work, &evaluator);
    all.extend(unmatched(several, &others, floor));
    all
}
