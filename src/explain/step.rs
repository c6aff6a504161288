//! How a step is put together.

use super::filled::Filled;
use super::number::Number;
use super::symbols::{Letters, MEMORY};
use super::{Input, Section, Step};

/// The definition that has no source outside this project.
pub(super) const PROJECT: &str = "definition of this project";
/// A plain definition.
pub(super) const DEFINITION: &str = "definition";

impl Section {
    pub(super) fn new(title: impl Into<String>) -> Section {
        Section {
            title: title.into(),
            symbols: Vec::new(),
            letters: MEMORY,
            steps: Vec::new(),
        }
    }

    /// The letters of its formulas, where they are not those of memory.
    pub(super) fn letters(mut self, letters: Letters) -> Section {
        self.letters = letters;
        self
    }

    /// Adds a number.
    pub(super) fn add(&mut self, step: Step) {
        self.steps.push(step);
    }
}

impl Step {
    /// A number by its name.
    pub(super) fn new(name: impl Into<String>, number: Number) -> Step {
        Step {
            key: None,
            name: name.into(),
            value: number.value.is_finite().then_some(number.value),
            unit: number.unit,
            text: number.text,
            formula: String::new(),
            filled: String::new(),
            source: DEFINITION,
            inputs: Vec::new(),
        }
    }

    /// Where the answer of `fit` has it.
    pub(super) fn key(mut self, path: impl Into<String>) -> Step {
        self.key = Some(path.into());
        self
    }

    /// The formula and who it comes from.
    pub(super) fn law(mut self, formula: impl Into<String>, source: &'static str) -> Step {
        self.formula = formula.into();
        self.source = source;
        self
    }

    /// The formula with the numbers put in.
    pub(super) fn filled(mut self, filled: Filled) -> Step {
        self.filled = filled.into_text();
        self
    }

    /// The inputs that no earlier step has given.
    pub(super) fn from(mut self, inputs: Vec<Input>) -> Step {
        self.inputs = inputs;
        self
    }
}
