//! The document of `explain`: a worked example, number by number.

use super::document::{Block, Document};
use crate::explain::{ExplainAnswer, Input, Step};
use crate::unit::format;

/// Builds the document of an answer of `explain`.
pub fn document(answer: &ExplainAnswer) -> Document {
    let mut document = Document::new();
    let unit = answer.unit.trim_end_matches('s');
    let n = format::plural(answer.n, unit, answer.unit);
    let host = &answer.host;
    document.heading(1, format!("{host} at {n}, worked out"));
    document.paragraph(format!(
        "The demand of {n} on {host}, and the supply. Each number follows from those before it: its formula, the formula with \
         the numbers put in, the result, and the source of the law. The list below it gives the inputs, each with its file \
         and line or the origin of its default."
    ));
    for section in &answer.sections {
        document.heading(2, section.title.clone());
        let symbols = section.symbols.iter();
        // "t0 = guest.touched; k = guest.keeps".
        let symbols = symbols.map(|one| format!("{} = {}", one.symbol, one.stands_for));
        let symbols = format::joined(symbols, "; ");
        document.say((!symbols.is_empty()).then(|| format!("Here {symbols}.")));
        for step in &section.steps {
            document.push(worked(step));
            document.list(step.inputs.iter().map(input));
        }
    }
    if !answer.used_later.is_empty() {
        document.heading(2, "Read and checked, but not used by fit");
        let keys = answer.used_later.iter();
        document.list(keys.map(|key| format!("{} ({})", key.key, key.command)));
    }
    document.cautions(2, &answer.cautions);
    document
}

fn input(input: &Input) -> String {
    let Input { key, value, .. } = input;
    let range = input.range.as_ref();
    let range = range.map(|range| format!(", may be {range}"));
    let range = range.unwrap_or_default();
    format!("{key} = {value}{range} ({})", input.origin)
}

fn worked(step: &Step) -> Block {
    let mut sides = vec![step.formula.clone(), step.filled.clone(), step.text.clone()];
    // Where nothing is put in, or nothing is left to work out, the same is not said twice.
    sides.retain(|side| !side.is_empty());
    sides.dedup();
    Block::Equation {
        name: step.name.clone(),
        sides,
        source: step.source.to_owned(),
    }
}
