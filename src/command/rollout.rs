//! `berthage rollout`: what happens while guests start, and how to get to a target safely.

use std::path::PathBuf;

use super::draws::asked;
use super::options::spell;
use super::picture::seen_from;
use super::write::Outputs;
use super::{Reply, Terminal, add_given, both, call_error, inputs, one_host};
use crate::cli::{RolloutArgs, Value};
use crate::diagnose::{Diagnostic, Diagnostics};
use crate::inventory::load;
use crate::lab::keys::Command;
use crate::lab::{Lab, OTHERWISE, Period, parts_of_day};
use crate::report;
use crate::rollout::{
    Choice, Disks, Goal, Options, Rule, Spells, Stagger, Watch, Way, chance, load_line, rollout,
};
use crate::sizing::answer::Outcome;
use crate::sizing::composition::Unit;
use crate::sizing::fit::fit_host;
use crate::sizing::host::HostModel;
use crate::sizing::uncertainty::Draws;

pub(super) fn run(args: &RolloutArgs, terminal: &Terminal) -> Result<Reply, Diagnostics> {
    let lab = load(&args.lab, &args.common.sets)?;
    // Errors of the call are reported first.
    let (host, typed) = both(one_host(&lab, &args.common), Typed::read(args, &lab))?;
    let model = HostModel::new(&lab, host);
    let (way, target) = way(args, &typed, &model);
    let goal = Goal {
        target,
        limit: typed.limit.unwrap_or_else(|| load_line(&model)),
        fresh: args.fresh,
        options: &typed.options,
    };
    let draws = asked(args.draws, args.seed.unwrap_or(Draws::default().seed));
    let chance = draws.and_then(|draws| chance(&lab, host, goal, draws));
    let answer = terminal.busy("simulating", || rollout(&model, goal, &way, chance));
    let mut files = Outputs::default();
    if let Some(path) = &args.chart {
        let picture = report::chart::rollout::chart(&answer);
        files = files.picture(path, &picture);
    }
    let seen = |path: &PathBuf| seen_from(&args.common.output, path);
    let file = args.chart.as_ref().map(seen);
    // Safe, because nothing was started: not one guest fits.
    let outcome = Outcome::of(answer.safe && !answer.run.batches.is_empty());
    let mut document = report::rollout::document(&answer, &lab, file, args.plot);
    let common = &args.common;
    add_given(&mut document, common, &lab, &[host], Command::Rollout);
    let read = inputs(&lab, &args.lab);
    Ok(Reply::new(&answer, document, outcome, read).with(files))
}

/// What was typed, in numbers, before anything is known of the host.
struct Typed {
    wait: Option<f64>,
    limit: Option<f64>,
    options: Options,
}

impl Typed {
    /// # Errors
    /// All that is wrong with it.
    fn read(args: &RolloutArgs, lab: &Lab) -> Result<Typed, Diagnostics> {
        let mut errors = Vec::new();
        let wait = kept(args.wait.as_ref(), &mut errors);
        let limit = kept(args.at_most.as_ref(), &mut errors);
        if !args.steps.is_sorted_by(|before, after| before < after) {
            errors.push(call_error::steps_fall());
        }
        let options = options(args, lab, &mut errors);
        if !errors.is_empty() {
            return Err(errors.into());
        }
        Ok(Typed {
            wait,
            limit,
            options,
        })
    }
}

/// The value of an option, if it was given; what is wrong with it goes to `errors`.
fn kept(value: Option<&Value<f64>>, errors: &mut Vec<Diagnostic>) -> Option<f64> {
    let value = value?.clone();
    value.map_err(|error| errors.push(error)).ok()
}

fn options(args: &RolloutArgs, lab: &Lab, errors: &mut Vec<Diagnostic>) -> Options {
    let mut options = Options::default();
    if let Some(seconds) = kept(args.stagger.as_ref(), errors) {
        options.stagger = Stagger::Every(seconds);
    }
    if args.cloned {
        options.disks = Disks::Ready;
    }
    if let Some(seconds) = kept(args.watch.as_ref(), errors) {
        options.watch = Watch::For(seconds);
    }
    if let Some(seed) = args.seed {
        let mean_s = kept(Some(&args.spell), errors).unwrap_or(0.0);
        let at_s = args.at;
        options.spells = Spells::Sampled { seed, mean_s, at_s };
        if at_s.is_some() && parts_of_day(&lab.periods).is_empty() {
            let mut periods = lab.periods.iter();
            let is_share = |one: &&Period| one.hours_of_day().is_none() && one.name != OTHERWISE;
            let share = periods.find(is_share).map(|period| period.name.as_str());
            errors.push(call_error::no_clock(share));
        }
    } else if !args.busy_at.is_empty() {
        let spells = args.busy_at.iter().map(|typed| spell(typed, lab));
        let spells = spells.filter_map(|spell| spell.map_err(|error| errors.push(error)).ok());
        options.spells = Spells::At(spells.collect());
    }
    options
}

/// How guests are started, and to how many.
fn way(args: &RolloutArgs, typed: &Typed, model: &HostModel) -> (Way, u64) {
    let choice = Choice {
        batch: args.batch,
        wait_s: typed.wait,
    };
    if let Some(most) = args.steps.iter().copied().max() {
        let wait_s = typed.wait.unwrap_or(0.0);
        return (Way::Steps(args.steps.clone(), wait_s), most);
    }
    let way = match (args.batch, typed.wait) {
        (Some(batch), Some(wait_s)) => Way::Own(Rule { batch, wait_s }),
        _ if args.as_soon_as_safe => Way::List,
        _ if args.anyway => Way::Anyway(choice),
        _ => Way::Plan(choice),
    };
    // Without scaling guests N counts sets, and one set is what must run.
    let least = u64::from(model.composition.unit() == Unit::Sets);
    let most = || fit_host(model.lab, model.host).fits.unwrap_or(0).max(least);
    (way, args.target.unwrap_or_else(most))
}
