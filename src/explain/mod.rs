//! Every number of one host at a composition: value, formula, the formula with its numbers, where each input comes from.

mod claim;
mod context;
mod counts;
mod cpu;
mod demand;
mod disk;
mod figure;
mod guests;
mod limit;
mod load;
mod money;
mod pool;
mod resources;
mod scanner;
mod step;
mod supply;
mod symbols;
mod together;

use schemars::JsonSchema;
use serde::Serialize;

use crate::lab::{Host, Lab};
use crate::model::tape::Tape;
use crate::sizing::answer::Outcome;
use crate::sizing::caution::HostCaution;
use crate::sizing::fit::{CONTRACT, fit_host_at};
use crate::sizing::host::HostModel;
use context::{Context, Recorder};
pub use symbols::Symbol;

/// Answer of `explain`.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ExplainAnswer {
    /// Always `"explain"`.
    #[schemars(extend("const" = "explain"))]
    pub report: &'static str,
    /// Version of the JSON contract.
    pub version: u32,
    /// Name of the lab.
    pub lab: String,
    /// Name of the host.
    pub host: String,
    /// N that the numbers are for.
    pub n: u64,
    /// What N counts.
    pub unit: &'static str,
    /// The numbers, by subject.
    pub sections: Vec<Section>,
    /// Keys that were read and checked but that only a later command uses.
    pub used_later: Vec<UsedLater>,
    /// Cautions that apply at this N.
    pub cautions: Vec<HostCaution>,
    /// Whether the host holds what must run, for the exit status.
    #[serde(skip)]
    pub outcome: Outcome,
}

/// Numbers of one subject.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Section {
    /// Heading.
    pub title: String,
    /// Letters of the formulas that were not told before.
    pub symbols: Vec<Symbol>,
    /// Letters that the formulas may have.
    #[serde(skip)]
    letters: symbols::Letters,
    /// Numbers in the order in which they follow from one another.
    pub steps: Vec<Step>,
}

/// One number.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Step {
    /// Where the answer of `fit` has it, as a path of keys with entries of lists by name: `memory.kappa`,
    /// `resources.cpu.at_risk`; null where it is a step on the way.
    pub key: Option<String>,
    /// Name, or symbol of the law.
    pub name: String,
    /// Value; null where it has no bound.
    pub value: Option<f64>,
    /// Unit.
    pub unit: &'static str,
    /// The value as a person reads it.
    pub text: String,
    /// Formula in symbols.
    pub formula: String,
    /// Formula with the numbers put in.
    pub filled: String,
    /// Source of the law.
    pub source: &'static str,
    /// Inputs read from the inventory.
    pub inputs: Vec<Input>,
    /// Key paths of the inputs.
    #[serde(skip)]
    keys: Vec<String>,
}

/// A value from the inventory.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Input {
    /// Key path.
    pub key: String,
    /// Value as written, or the default.
    pub value: String,
    /// File and line, command line, or the default's origin.
    pub origin: String,
}

/// A key that a later command uses.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct UsedLater {
    /// Key path.
    pub key: String,
    /// Which command.
    pub command: &'static str,
}

/// Explains one host of a lab, the numbers of `fit` at N guests; none given: at as many as fit.
#[must_use]
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
    let worked = HostModel::read(lab, host, Recorder::new(&tape, &host.name));
    let context = Context {
        model: &model,
        worked: &worked,
        tape: &tape,
        counts: &counts,
        n,
        answer: &answer,
    };
    let mut sections = vec![
        counts::section(&context),
        supply::composition(&context),
        supply::memory(&context),
    ];
    sections.extend(guests::all(&context));
    for view in scanner::views(&model) {
        sections.push(scanner::section(&context, &view));
        sections.push(load::section(&context, &view));
    }
    sections.push(together::section(&context));
    sections.push(supply::cliff(&context));
    sections.push(cpu::section(&context));
    sections.push(resources::risk(&context));
    sections.extend(resources::all(&context));
    sections.extend(disk::all(&context));
    sections.push(money::section(&context));
    sections.retain(|section| !section.steps.is_empty());
    symbols::explain_letters(&mut sections);
    let steps = sections.iter_mut().flat_map(|section| &mut section.steps);
    for step in steps {
        step.inputs = context.inputs(&step.keys);
    }
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
