//! `berthage rollout`: what happens while guests start, and how to get to a target safely.

use super::options::{one_host, share, spell, time};
use super::{Context, Reply, inputs, write};
use crate::cli::RolloutArgs;
use crate::diagnose::Diagnostics;
use crate::inventory::lab::{Host, Lab};
use crate::inventory::load;
use crate::report;
use crate::report::rollout::Told;
use crate::rollout::{
    Choice, Disks, Options, Plan, RolloutAnswer, Rule, Run, Schedule, Spells, Stagger, Watch,
    load_line, plan_within, simulate,
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

pub(super) fn run(args: &RolloutArgs, context: &Context) -> Result<Reply, Diagnostics> {
    let lab = load(&args.lab, &args.common.sets)?;
    let host = one_host(&lab, &args.common)?;
    let model = HostModel::new(&lab, host);
    let asked = Asked::read(args, &lab, host, &model)?;
    if let Some(path) = &args.chart {
        // A run may take long: whether its picture can be kept is known before.
        write::can_write(path, &inputs(&lab, &args.lab))?;
    }
    let told = context.busy("simulating", || answer(&model, &asked));
    if let Some(path) = &args.chart {
        let picture = report::rollout::chart(&told);
        write::write_picture(path, &picture)?;
    }
    let file = args.chart.as_ref().map(|path| path.display().to_string());
    let outcome = if told.answer.safe {
        Outcome::Fits
    } else {
        Outcome::DoesNotFit
    };
    Ok(Reply {
        inputs: inputs(&lab, &args.lab),
        document: report::rollout::document(&told, &lab, file),
        json: report::json::render(&told.answer),
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

impl Asked {
    fn read(
        args: &RolloutArgs,
        lab: &Lab,
        host: &Host,
        model: &HostModel,
    ) -> Result<Asked, Diagnostics> {
        let wait = args
            .wait
            .as_ref()
            .map(|text| time("--wait", text))
            .transpose()?;
        let choice = Choice {
            batch: args.batch,
            wait_s: wait,
        };
        let way = match (args.steps.is_empty(), args.batch, wait) {
            (false, _, wait) => Way::Steps(args.steps.clone(), wait.unwrap_or(0.0)),
            (true, Some(batch), Some(wait_s)) => Way::Own(Rule { batch, wait_s }),
            _ if args.as_soon_as_safe => Way::List,
            _ if args.anyway => Way::Anyway(choice),
            _ => Way::Plan(choice),
        };
        let target = match (&way, args.target) {
            (Way::Steps(counts, _), _) => counts.iter().copied().max().unwrap_or(0),
            (_, Some(target)) => target,
            (_, None) => fit_host(lab, host).fits.unwrap_or(0),
        };
        let limit = match &args.at_most {
            Some(text) => share("--at-most", text)?,
            None => load_line(model),
        };
        Ok(Asked {
            target,
            limit,
            way,
            options: options(args, lab)?,
        })
    }
}

fn options(args: &RolloutArgs, lab: &Lab) -> Result<Options, Diagnostics> {
    let spells = match args.seed {
        Some(seed) => Spells::Sampled {
            seed,
            mean_s: time("--spell", &args.spell)?,
        },
        None if args.busy_at.is_empty() => Spells::None,
        None => Spells::At(
            args.busy_at
                .iter()
                .map(|text| spell(text, lab))
                .collect::<Result<_, _>>()?,
        ),
    };
    let mut options = Options {
        spells,
        ..Options::default()
    };
    if let Some(text) = &args.stagger {
        options.stagger = Stagger::Every(time("--stagger", text)?);
    }
    if args.cloned {
        options.disks = Disks::Ready;
    }
    if let Some(text) = &args.watch {
        options.watch = Watch::For(time("--watch", text)?);
    }
    Ok(options)
}

/// Runs what was asked for.
fn answer(model: &HostModel, asked: &Asked) -> Told {
    let Asked {
        target,
        limit,
        way,
        options,
    } = asked;
    let guests = |n| model.composition.counts(n).iter().sum();
    let told = |run: Run, rule: Option<Rule>, plan: Option<Plan>| Told {
        answer: RolloutAnswer::new(model, *target, *limit, rule, &run),
        run,
        plan,
    };
    let planned = |choice| plan_within(model, *target, Some(*limit), choice, options);
    match way {
        Way::Own(rule) => {
            let schedule = Schedule::rule(guests(*target), rule.batch, rule.wait_s);
            told(simulate(model, &schedule, options), Some(*rule), None)
        }
        Way::Steps(counts, wait_s) => {
            let counts: Vec<u64> = counts.iter().map(|n| guests(*n)).collect();
            told(
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
            told(simulate(model, &schedule, options), Some(rule), Some(plan))
        }
        Way::List => {
            let plan = planned(Choice::default());
            told(plan.list.clone(), None, Some(plan))
        }
        Way::Plan(choice) => {
            let plan = planned(*choice);
            match plan.rule.clone() {
                Some((rule, run)) => told(run, Some(rule), Some(plan)),
                None => told(plan.list.clone(), None, Some(plan)),
            }
        }
    }
}
