//! The document of `explain`: a worked example, number by number.

use super::document::{Document, Sheet};
use crate::sizing::explain::{ExplainAnswer, Step};

/// Builds the document of an answer of `explain`.
#[must_use]
pub fn document(answer: &ExplainAnswer) -> Document {
    let mut document = Document::new();
    document.heading(
        1,
        format!(
            "{} at {} {}, number by number",
            answer.host, answer.n, answer.unit
        ),
    );
    document.paragraph(
        "Each line gives a number, its formula, the formula with the numbers put in, and the source of the law. Below \
         it stands where each input comes from.",
    );
    for section in &answer.sections {
        document.heading(2, section.title.clone());
        for step in &section.steps {
            document.paragraph(line(step));
            document.list(
                step.inputs
                    .iter()
                    .map(|input| format!("{} = {} ({})", input.key, input.value, input.origin)),
            );
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
    document.sheet = sheet(answer);
    document
}

fn line(step: &Step) -> String {
    format!(
        "{} = {} = {} = {} [{}]",
        step.name, step.formula, step.filled, step.text, step.source
    )
}

fn sheet(answer: &ExplainAnswer) -> Sheet {
    let mut sheet = Sheet::new([
        "section", "name", "value", "unit", "formula", "filled", "source", "inputs",
    ]);
    for section in &answer.sections {
        for step in &section.steps {
            let value = step
                .value
                .map_or_else(String::new, |value| value.to_string());
            let inputs: Vec<String> = step
                .inputs
                .iter()
                .map(|input| format!("{} = {} ({})", input.key, input.value, input.origin))
                .collect();
            sheet.row([
                section.title.clone(),
                step.name.clone(),
                value,
                step.unit.to_owned(),
                step.formula.clone(),
                step.filled.clone(),
                step.source.to_owned(),
                inputs.join("; "),
            ]);
        }
    }
    sheet
}
