//! Every number of one host at a composition: value, formula, the formula with its numbers, where each input comes from.

mod guests;
mod limits;
mod supply;

use std::collections::BTreeSet;

use serde::Serialize;

use super::fit::CONTRACT;
use super::host::HostModel;
use crate::inventory::key_path;
use crate::inventory::lab::{DefaultOrigin, Host, Lab, Origin, Source};

/// Answer of `explain`.
#[derive(Debug, Clone, Serialize)]
pub struct ExplainAnswer {
    /// Always `"explain"`.
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
}

/// Numbers of one subject.
#[derive(Debug, Clone, Serialize)]
pub struct Section {
    /// Heading.
    pub title: String,
    /// Numbers in the order in which they follow from one another.
    pub steps: Vec<Step>,
}

/// One number.
#[derive(Debug, Clone, Serialize)]
pub struct Step {
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
}

/// A value from the inventory.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Input {
    /// Key path.
    pub key: String,
    /// Value as written, or the default.
    pub value: String,
    /// File and line, command line, or the default's origin.
    pub origin: String,
}

/// A key that a later command uses.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct UsedLater {
    /// Key path.
    pub key: String,
    /// Which command.
    pub command: &'static str,
}

/// Explains one host of a lab at N, the numbers of `fit`.
#[must_use]
pub fn explain(
    lab: &Lab,
    host: &Host,
    n: u64,
    unit: &'static str,
    used_later: Vec<UsedLater>,
) -> ExplainAnswer {
    let model = HostModel::new(lab, host);
    let counts = model.composition.counts(n);
    let context = Context {
        model: &model,
        counts: &counts,
        n,
    };
    let mut sections = vec![supply::composition(&context), supply::memory(&context)];
    sections.extend(guests::all(&context));
    sections.push(guests::scanner(&context));
    sections.push(guests::together(&context));
    sections.push(limits::risk(&context));
    sections.extend(limits::resources(&context));
    sections.push(limits::beside(&context));
    sections.retain(|section| !section.steps.is_empty());
    ExplainAnswer {
        report: "explain",
        version: CONTRACT,
        lab: lab.name.clone(),
        host: host.name.clone(),
        n,
        unit,
        sections,
        used_later,
    }
}

/// What every section is written from.
struct Context<'a> {
    model: &'a HostModel<'a>,
    counts: &'a [u64],
    n: u64,
}

impl Context<'_> {
    /// Inputs by key path, each once; a path that holds others (core groups) gives all of them, and a key that was
    /// never read because it does not apply is left out.
    fn inputs(&self, keys: &[String]) -> Vec<Input> {
        let origins = &self.model.lab.origins;
        let mut seen = BTreeSet::new();
        let mut inputs = Vec::new();
        for key in keys {
            let below = format!("{key}.");
            let inner = origins
                .range(below.clone()..)
                .take_while(|(path, _)| path.starts_with(&below));
            for (path, origin) in origins.get_key_value(key).into_iter().chain(inner) {
                if seen.insert(path.clone()) {
                    inputs.push(Input {
                        key: path.clone(),
                        value: origin.text.clone(),
                        origin: origin_text(origin),
                    });
                }
            }
        }
        inputs
    }

    /// Key paths of this host.
    fn host(&self, keys: &[&str]) -> Vec<String> {
        let own = key_path(&["host", &self.model.host.name]);
        keys.iter().map(|key| format!("{own}.{key}")).collect()
    }

    /// Key paths of one of this host's pools.
    fn pool(&self, pool: usize, keys: &[&str]) -> Vec<String> {
        let own = key_path(&[
            "host",
            &self.model.host.name,
            "disk",
            &self.model.host.disks[pool].name,
        ]);
        keys.iter().map(|key| format!("{own}.{key}")).collect()
    }

    /// Key paths of a guest profile.
    fn guest(&self, name: &str, keys: &[&str]) -> Vec<String> {
        keys.iter()
            .map(|key| key_path(&["guest", name, key]))
            .collect()
    }

    /// Key paths of one key in every guest profile.
    fn every_guest(&self, keys: &[&str]) -> Vec<String> {
        self.model
            .lab
            .guests
            .iter()
            .flat_map(|guest| self.guest(&guest.name, keys))
            .collect()
    }

    /// Key paths of the policy.
    fn policy(&self, keys: &[&str]) -> Vec<String> {
        keys.iter().map(|key| format!("policy.{key}")).collect()
    }
}

/// Where a value comes from, in words.
#[must_use]
pub fn origin_text(origin: &Origin) -> String {
    match &origin.source {
        Source::File { file, line } => format!("{file}:{line}"),
        Source::CommandLine => "--set".to_owned(),
        Source::Default(origin) => match origin {
            DefaultOrigin::Published(source) => format!("default, {source}"),
            DefaultOrigin::Measured => "default, measured for this project".to_owned(),
            DefaultOrigin::CommonPractice => "default, common practice, no source".to_owned(),
            DefaultOrigin::Assumption => "default, an assumption".to_owned(),
            DefaultOrigin::Derived => "default, follows from other keys".to_owned(),
        },
    }
}

/// A law as it is explained.
struct Law {
    formula: &'static str,
    source: &'static str,
}

impl Section {
    fn new(title: impl Into<String>) -> Section {
        Section {
            title: title.into(),
            steps: Vec::new(),
        }
    }

    /// Adds a number.
    fn step(
        &mut self,
        name: impl Into<String>,
        number: Number,
        law: Law,
        filled: String,
        inputs: Vec<Input>,
    ) {
        self.steps.push(Step {
            name: name.into(),
            value: number.value.is_finite().then_some(number.value),
            unit: number.unit,
            text: number.text,
            formula: law.formula.to_owned(),
            filled,
            source: law.source,
            inputs,
        });
    }
}

/// A value with its unit, and as a person reads it.
struct Number {
    value: f64,
    unit: &'static str,
    text: String,
}

mod number {
    //! Values with their units.

    use super::Number;
    use crate::unit::format;

    pub(super) fn bytes(value: f64) -> Number {
        Number {
            value,
            unit: "B",
            text: format::bytes(value),
        }
    }

    pub(super) fn share(value: f64) -> Number {
        Number {
            value,
            unit: "share",
            text: format::share(value),
        }
    }

    pub(super) fn cores(value: f64) -> Number {
        Number {
            value,
            unit: "cores",
            text: format!("{} cores", format::number(value)),
        }
    }

    pub(super) fn seconds(value: f64) -> Number {
        Number {
            value,
            unit: "s",
            text: format::seconds(value),
        }
    }

    pub(super) fn years(value: f64) -> Number {
        Number {
            value,
            unit: "years",
            text: format!("{} years", format::number(value)),
        }
    }

    pub(super) fn plain(value: f64, unit: &'static str) -> Number {
        Number {
            value,
            unit,
            text: format!("{} {unit}", format::number(value))
                .trim_end()
                .to_owned(),
        }
    }
}
