//! How a step is put together.

use super::claim::Filled;
use super::figure::Figure;
use super::symbols::{Letters, MEMORY};
use super::{Section, Step};

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

    /// Adds several numbers.
    pub(super) fn extend(&mut self, steps: impl IntoIterator<Item = Step>) {
        self.steps.extend(steps);
    }
}

impl Step {
    /// A number by its name.
    pub(super) fn new(name: impl Into<String>, figure: Figure) -> Step {
        Step {
            key: None,
            name: name.into(),
            value: figure.value.is_finite().then_some(figure.value),
            unit: figure.unit,
            text: figure.text,
            formula: String::new(),
            filled: String::new(),
            source: DEFINITION,
            inputs: Vec::new(),
            keys: Vec::new(),
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

    /// The formula with the numbers put in, and the keys that are in it.
    pub(super) fn filled<'t>(mut self, filled: impl Into<Filled<'t>>) -> Step {
        match filled.into() {
            Filled::Worked(term) => {
                self.filled = term.formula();
                self.keys.extend(term.keys());
            }
            Filled::Words(text) => self.filled = text,
        }
        self
    }

    /// Further keys that decide how the number is worked out, or that stand behind numbers of the formula.
    pub(super) fn also(mut self, keys: Vec<String>) -> Step {
        self.keys.extend(keys);
        self
    }
}
