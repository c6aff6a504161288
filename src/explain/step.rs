//! How a step is put together: the law as it is stated, the value, the formula with its numbers, and the inputs.

use super::answer::Step;
use super::context::{Context, Subject};
use super::laws::{Law, law};
use crate::lab::key_path;
use crate::model::DAY;
use crate::model::tape::Term;
use crate::sizing::resource::Resource;
use crate::unit::format;

/// A formula with the numbers put in, or words where there is none.
pub(super) enum Filled<'t> {
    /// Computed: the text and the inputs come from the tape.
    Worked(Term<'t>),
    /// Claimed, or stated.
    Words(String),
}

impl<'t> From<Term<'t>> for Filled<'t> {
    fn from(term: Term<'t>) -> Self {
        Filled::Worked(term)
    }
}

impl From<String> for Filled<'_> {
    fn from(text: String) -> Self {
        Filled::Words(text)
    }
}

impl From<&str> for Filled<'_> {
    fn from(text: &str) -> Self {
        Filled::Words(text.to_owned())
    }
}

/// The term, or why there is none.
pub(super) fn term_or<'t>(term: Option<Term<'t>>, why: &str) -> Filled<'t> {
    term.map_or_else(|| why.into(), Filled::Worked)
}

impl Context<'_> {
    /// The number of a law that is computed on the tape.
    pub(super) fn worked(&self, id: &str, term: Term) -> Step {
        self.step(id, term.value(), term)
    }

    /// The number of a law, and the formula with its numbers; none: there is no such number.
    pub(super) fn step<'t>(
        &self,
        id: &str,
        value: impl Into<Option<f64>>,
        filled: impl Into<Filled<'t>>,
    ) -> Step {
        let law = law(id);
        let value = value.into().filter(|value| value.is_finite());
        let (filled, mut keys) = match filled.into() {
            Filled::Worked(term) => (term.formula(), term.keys()),
            Filled::Words(text) => (text, Vec::new()),
        };
        keys.extend(self.keys(law.inputs));
        let name = self.subject.name();
        Step {
            key: law.key.map(|key| match key.split_once("{}") {
                Some((before, after)) => key_path(&[before.trim_end_matches('.'), name]) + after,
                None => key.to_owned(),
            }),
            name: law.name.replace("{}", name),
            value,
            unit: self.unit(law.unit),
            text: match value {
                Some(value) => self.text(law, value),
                None => law.without.to_owned(),
            },
            formula: law.formula.to_owned(),
            filled,
            source: law.source,
            inputs: self.inputs(&keys),
        }
    }

    fn unit(&self, unit: &'static str) -> &'static str {
        match (unit, self.subject) {
            ("count", _) => self.answer.unit,
            ("resource", Subject::Resource(resource, _)) => resource.unit(),
            ("disk B", _) => "B",
            ("plain W", _) => "W",
            (unit, _) => unit,
        }
    }

    /// A value as a person reads it.
    fn text(&self, law: &Law, value: f64) -> String {
        let unit = self.unit(law.unit);
        let one = unit.strip_suffix('s').unwrap_or(unit);
        match (law.unit, self.subject) {
            // Beside the pool's own numbers, which are decimal like the devices.
            ("resource", Subject::Resource(Resource::DiskSpace(_), _)) | ("disk B", _) => {
                format::decimal_bytes(value)
            }
            ("resource", Subject::Resource(resource, _)) => resource.text(value),
            ("B", _) => format::bytes(value),
            ("B/day", _) => format::bytes_per_day(value),
            ("share", _) => format::share(value),
            ("s", _) => format::seconds(value),
            ("days", _) => format::seconds(value * DAY),
            ("months", _) => format::months(value),
            ("years", _) => format::years(value),
            ("W", _) => format::power(value),
            ("money", _) => format::money(value, &self.model.lab.currency),
            ("count" | "guests", _) => format::plural(value as u64, one, unit),
            ("cores" | "vCPUs" | "threads", _) => format::numbered(value, one, unit),
            _ => format!("{} {unit}", format::number(value))
                .trim_end()
                .to_owned(),
        }
    }
}
