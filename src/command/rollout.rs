//! `berthage rollout`: what happens while guests start, and how to get to a target safely.

use std::path::PathBuf;

use super::options::{one_host, spell};
use super::picture::{apart, seen_from};
use super::{Context, Reply, inputs, together, write};
use crate::cli::error::CallError;
use crate::cli::{Format, RolloutArgs, Value};
use crate::diagnose::Diagnostics;
use crate::inventory::load;
use crate::lab::Lab;
use crate::lab::keys::Command;
use crate::report;
use crate::rollout::{
    Choice, Disks, Goal, Options, Plan, Rollout, RolloutAnswer, Rule, Run, Schedule, Spells,
    Stagger, Watch, load_line, plan_within, simulate,
};
use crate::sizing::answer::Outcome;
use crate::sizing::fit::fit_host;
use crate::sizing::host::HostModel;

/// Guests a batch and wait where nothing safe is known and the reader wants to go on anyway. Common practice, no
/// source: ten at a time, a minute apart.
const ANYWAY: Rule = Rule {
    batch: 10,
    wait_s: 60.0,
};

/// Wait for a batch size that no wait makes safe `[s]`: a patient one. Assumption of this project.
const LONGEST_SETTLE: f64 = 4.0 * 3600.0;

pub(super) fn run(args: &RolloutArgs, context: &Context) -> Result<Reply, Diagnostics> {
    let lab = load(&args.lab, &args.common.sets)?;
    // What is wrong with the call is told at once.
    let (host, typed) = match (one_host(&lab, &args.common), Typed::read(args, &lab)) {
        (Ok(host), Ok(typed)) => (host, typed),
        (host, typed) => return Err(together([host.err(), typed.err()])),
    };
    let model = HostModel::new(&lab, host);
    let asked = Asked::new(args, typed, &model);
    if let Some(path) = &args.chart {
        // A run may take long: whether its picture can be kept is known before.
        apart(path, &args.common.output)?;
        write::can_write(path, &inputs(&lab, &args.lab))?;
    }
    let rollout = context.busy("simulating", || rollout(&model, &asked));
    let answer = RolloutAnswer::new(rollout);
    if let Some(path) = &args.chart {
        let picture = report::rollout_chart::chart(&answer.rollout);
        write::write_picture(path, &picture)?;
    }
    let seen = |path: &PathBuf| seen_from(&args.common.output, path);
    let file = args.chart.as_ref().map(seen);
    // Safe, because nothing was started: not one guest fits.
    let outcome = if answer.rollout.safe && !answer.rollout.run.batches.is_empty() {
        Outcome::Fits
    } else {
        Outcome::DoesNotFit
    };
    let mut document = report::rollout::document(&answer, &lab, file);
    if args.common.output.format == Format::Markdown {
        report::given::append_with_guesses(&mut document, &lab, &[host], Command::Rollout);
    }
    Ok(Reply {
        inputs: inputs(&lab, &args.lab),
        document,
        json: report::json::render(&answer),
        outcome,
    })
}

/// What was asked for, in numbers.
struct Asked {
    target: u64,
    limit: f64,
    way: Way,
    options: Options,
}

/// How guests are started.
enum Way {
    /// By the best rule that is safe, with what the reader chose of it.
    Plan(Choice),
    /// As soon as it is safe.
    List,
    /// By the reader's own rule, safe or not.
    Own(Rule),
    /// To each of these counts in turn.
    Steps(Vec<u64>, f64),
    /// By the best rule, and on past the limit.
    Anyway(Choice),
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
            errors.push(CallError::FallingSteps);
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
fn kept(value: Option<&Value<f64>>, errors: &mut Vec<CallError>) -> Option<f64> {
    let value = value?.clone();
    value.map_err(|error| errors.push(error)).ok()
}

impl Asked {
    fn new(args: &RolloutArgs, typed: Typed, model: &HostModel) -> Asked {
        let choice = Choice {
            batch: args.batch,
            wait_s: typed.wait,
        };
        let way = match (args.steps.is_empty(), args.batch, typed.wait) {
            (false, _, wait) => Way::Steps(args.steps.clone(), wait.unwrap_or(0.0)),
            (true, Some(batch), Some(wait_s)) => Way::Own(Rule { batch, wait_s }),
            _ if args.as_soon_as_safe => Way::List,
            _ if args.anyway => Way::Anyway(choice),
            _ => Way::Plan(choice),
        };
        let target = match (&way, args.target) {
            (Way::Steps(counts, _), _) => counts.iter().copied().max().unwrap_or(0),
            (_, Some(target)) => target,
            (_, None) => fit_host(model.lab, model.host).fits.unwrap_or(0),
        };
        Asked {
            target,
            limit: typed.limit.unwrap_or_else(|| load_line(model)),
            way,
            options: typed.options,
        }
    }
}

fn options(args: &RolloutArgs, lab: &Lab, errors: &mut Vec<CallError>) -> Options {
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
        options.spells = Spells::Sampled { seed, mean_s };
    } else if !args.busy_at.is_empty() {
        let read = |typed: &Value<_>| typed.clone().and_then(|typed| spell(typed, lab));
        let spells = args.busy_at.iter().map(read);
        let spells = spells.filter_map(|spell| spell.map_err(|error| errors.push(error)).ok());
        options.spells = Spells::At(spells.collect());
    }
    options
}

/// Runs what was asked for.
fn rollout(model: &HostModel, asked: &Asked) -> Rollout {
    let Asked {
        target,
        limit,
        way,
        options,
    } = asked;
    let guests = |n| model.composition.counts(n).iter().sum();
    let goal = Goal {
        target: *target,
        limit: *limit,
        options,
    };
    let made = |run: Run, rule: Option<Rule>, plan: Option<Plan>| {
        Rollout::new(model, goal, run, rule, plan)
    };
    let planned = |choice| plan_within(model, goal, choice);
    match way {
        Way::Own(rule) => {
            let schedule = Schedule::rule(guests(*target), rule.batch, rule.wait_s);
            made(simulate(model, &schedule, options), Some(*rule), None)
        }
        Way::Steps(counts, wait_s) => {
            let counts: Vec<u64> = counts.iter().map(|n| guests(*n)).collect();
            made(
                simulate(model, &Schedule::steps(&counts, *wait_s), options),
                None,
                None,
            )
        }
        Way::Anyway(choice) => {
            let plan = planned(*choice);
            let found = plan.rule.as_ref().map_or(ANYWAY, |(rule, _)| *rule);
            let rule = Rule {
                batch: choice.batch.unwrap_or(found.batch),
                wait_s: choice.wait_s.unwrap_or(if found.wait_s > 0.0 {
                    found.wait_s
                } else {
                    ANYWAY.wait_s
                }),
            };
            let schedule = Schedule::rule(guests(*target), rule.batch, rule.wait_s);
            made(simulate(model, &schedule, options), Some(rule), Some(plan))
        }
        Way::List => {
            let plan = planned(Choice::default());
            made(plan.list.clone(), None, Some(plan))
        }
        Way::Plan(choice) => {
            let plan = planned(*choice);
            match plan.rule.clone() {
                Some((rule, run)) => made(run, Some(rule), Some(plan)),
                // What the reader chose is not quietly replaced: it is run as it is, and is not safe.
                None if choice.batch.is_some() || choice.wait_s.is_some() => {
                    let rule = Rule {
                        batch: choice.batch.unwrap_or(ANYWAY.batch),
                        wait_s: choice.wait_s.unwrap_or(LONGEST_SETTLE),
                    };
                    let schedule = Schedule::rule(guests(*target), rule.batch, rule.wait_s);
                    made(simulate(model, &schedule, options), Some(rule), Some(plan))
                }
                None => made(plan.list.clone(), None, Some(plan)),
            }
        }
    }
}
