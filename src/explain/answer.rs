//! The answer of `explain`.

use schemars::JsonSchema;
use serde::Serialize;

use crate::sizing::answer::Outcome;
use crate::sizing::caution::HostCaution;

/// Letters of one subject: the letter, and the key or the words it abbreviates.
pub(super) type Letters = &'static [(&'static str, &'static str)];

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
    /// Letters of the formulas that were not explained before.
    pub symbols: Vec<Symbol>,
    /// Letters that the formulas may have.
    #[serde(skip)]
    pub(super) letters: Letters,
    /// Numbers in the order in which they follow from one another.
    pub steps: Vec<Step>,
}

impl Section {
    pub(super) fn new(title: impl Into<String>, letters: Letters, steps: Vec<Step>) -> Section {
        Section {
            title: title.into(),
            symbols: Vec::new(),
            letters,
            steps,
        }
    }
}

/// A letter of the formulas.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Symbol {
    /// The letter.
    pub symbol: &'static str,
    /// The inventory key without the name of the thing that has it, or words where it is no key.
    pub stands_for: &'static str,
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
}

/// A value from the inventory.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Input {
    /// Key path.
    pub key: String,
    /// Value as written, or the default.
    pub value: String,
    /// Ends between which the truth lies where it is a guess and is drawn; null where it is not.
    pub range: Option<String>,
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
