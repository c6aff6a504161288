//! Every number of one host at a composition: value, formula, the formula with its numbers, where each input comes from.

mod answer;
mod context;
mod counts;
mod cpu;
mod disk;
mod growth;
mod laws;
mod memory;
mod money;
mod resources;
mod scanner;
mod step;
mod supply;
mod symbols;

use crate::lab::{Host, Lab};
use crate::model::tape::Tape;
use crate::sizing::answer::Outcome;
use crate::sizing::fit::{CONTRACT, fit_host_at};
use crate::sizing::host::HostModel;
pub use answer::{ExplainAnswer, Input, Section, Step, Symbol, UsedLater};
use context::{Context, Recorder, Subject};

/// Explains one host of a lab, the numbers of `fit` at N guests; none given: at as many as fit.
pub fn explain(
    lab: &Lab,
    host: &Host,
    guests: Option<u64>,
    used_later: Vec<UsedLater>,
) -> ExplainAnswer {
    let model = HostModel::new(lab, host);
    let answer = fit_host_at(lab, host, guests);
    let n = guests.or(answer.fits).unwrap_or(0);
    let counts = model.composition.counts(n);
    let tape = Tape::default();
    let recorder = Recorder {
        tape: &tape,
        host: &host.name,
    };
    let worked = HostModel::read(lab, host, recorder);
    let context = Context {
        model: &model,
        worked: &worked,
        tape: &tape,
        counts: &counts,
        n,
        answer: &answer,
        subject: Subject::Host,
    };
    let sections = sections(&context);
    ExplainAnswer {
        report: "explain",
        version: CONTRACT,
        lab: lab.name.clone(),
        host: host.name.clone(),
        n,
        unit: answer.unit,
        sections,
        used_later,
        outcome: match answer.fits {
            // The answer is for N guests, and whether any fits does not depend on N.
            Some(0) if !model.composition.has_fixed_beside() => Outcome::DoesNotFit,
            _ => answer.outcome(),
        },
        cautions: answer.cautions,
    }
}

/// The numbers, each subject in the period in which it is worst.
fn sections(context: &Context) -> Vec<Section> {
    let (model, counts) = (context.model, context.counts);
    let mut sections = vec![
        counts::section(context),
        growth::section(context),
        supply::composition(context),
        supply::memory(context),
    ];
    sections.extend(supply::guests(context));
    let fullest = context.in_period(model.fullest(counts).period);
    for view in scanner::views(model) {
        sections.push(scanner::section(&fullest, &view));
        sections.push(memory::section(&fullest, &view));
    }
    sections.push(memory::together(&fullest));
    sections.push(memory::cliff(&fullest));
    sections.push(cpu::section(
        &context.in_period(model.busiest(counts).period),
    ));
    sections.push(resources::risk(context));
    sections.extend(resources::all(context));
    sections.extend(disk::all(context));
    sections.push(money::section(context));
    sections.retain(|section| !section.steps.is_empty());
    symbols::explain_letters(&mut sections);
    sections
}
