//! The document of `explain`: a worked example, number by number.

use super::document::{Block, Document};
use crate::explain::{ExplainAnswer, Input, Section, Step};
use crate::unit::format;
use crate::words::caution::Caution;

/// Builds the document of an answer of `explain`.
pub fn document(answer: &ExplainAnswer) -> Document {
    let mut document = Document::new();
    let unit = if answer.n == 1 {
        answer.unit.trim_end_matches('s')
    } else {
        answer.unit
    };
    let n = format!("{} {unit}", format::count(answer.n));
    document.heading(1, format!("{} at {n}, worked out", answer.host));
    document.paragraph(format!(
        "The demand of {n} on {}, and the supply. Each number follows from those before it: its formula, the formula with \
         the numbers put in, the result, and the source of the law. The list below it gives the inputs, each with its file \
         and line or the origin of its default.",
        answer.host
    ));
    for section in &answer.sections {
        document.heading(2, section.title.clone());
        if !section.symbols.is_empty() {
            document.paragraph(format!("Here {}.", symbols(section)));
        }
        for step in &section.steps {
            document.push(worked(step));
            document.list(step.inputs.iter().map(
                |Input {
                     key,
                     value,
                     range,
                     origin,
                 }| {
                    let range = range.as_ref();
                    let range = range.map_or_else(String::new, |range| format!(", may be {range}"));
                    format!("{key} = {value}{range} ({origin})")
                },
            ));
        }
    }
    if !answer.used_later.is_empty() {
        document.heading(2, "Read and checked, but not used by fit");
        document.list(
            answer
                .used_later
                .iter()
                .map(|key| format!("{} ({})", key.key, key.command)),
        );
    }
    let cautions: Vec<_> = answer.cautions.iter().map(Caution::worded).collect();
    document.cautions(2, &cautions);
    document
}

/// "t0 = guest.touched; k = guest.keeps".
fn symbols(section: &Section) -> String {
    let symbols = section.symbols.iter();
    let texts: Vec<String> = symbols
        .map(|one| format!("{} = {}", one.symbol, one.stands_for))
        .collect();
    texts.join("; ")
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
