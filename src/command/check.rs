//! `berthage check`: reads and validates, answers nothing else.

use schemars::JsonSchema;
use serde::Serialize;

use super::{Reply, hosts_asked, inputs};
use crate::cli::LabArgs;
use crate::diagnose::Diagnostics;
use crate::inventory::load;
use crate::lab::{Lab, Source};
use crate::report::document::Document;
use crate::sizing::answer::Outcome;
use crate::unit::format::plural;

/// What `check` says of a valid lab.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct CheckAnswer {
    #[schemars(extend("const" = "check"))]
    report: &'static str,
    /// Version of the JSON contract.
    version: u32,
    /// Name of the lab.
    lab: String,
    /// Always true: an inventory that is not valid gets no report.
    valid: bool,
    /// Hosts asked about.
    hosts: usize,
    /// Images.
    images: usize,
    /// Guest profiles.
    guests: usize,
    /// Values that were given.
    given: usize,
    /// Values that stand in for what nobody gave, on an assumption.
    guessed: usize,
    /// Values given as low, likely and high.
    uncertain: usize,
}

pub(super) fn run(args: &LabArgs) -> Result<Reply, Diagnostics> {
    let lab = load(&args.lab, &args.common.sets)?;
    let hosts = hosts_asked(&lab, &args.common)?;
    let answer = answer(&lab, hosts.len());
    let document = document(&answer, &args.lab.display().to_string());
    let read = inputs(&lab, &args.lab);
    Ok(Reply::new(&answer, document, Outcome::Fits, read))
}

fn answer(lab: &Lab, hosts: usize) -> CheckAnswer {
    let sources = || lab.origins.values().map(|origin| &origin.source);
    let is_given = |source: &&Source| matches!(source, Source::File { .. } | Source::CommandLine);
    let is_guess = |source: &&Source| matches!(source, Source::Default(from) if from.is_guess());
    CheckAnswer {
        report: "check",
        version: crate::sizing::fit::CONTRACT,
        lab: lab.name.clone(),
        valid: true,
        hosts,
        images: lab.images.len(),
        guests: lab.guests.len(),
        given: sources().filter(is_given).count(),
        guessed: sources().filter(is_guess).count(),
        uncertain: lab.uncertain.len(),
    }
}

fn document(answer: &CheckAnswer, file: &str) -> Document {
    let mut document = Document::new();
    let count = |number: usize, one: &str, many: &str| plural(number as u64, one, many);
    document.lead(format!(
        "{file} is valid: {}, {}, {}.",
        count(answer.hosts, "host", "hosts"),
        count(answer.images, "image", "images"),
        count(answer.guests, "guest profile", "guest profiles"),
    ));
    document.paragraph(format!(
        "{} given, {} of them uncertain; {} guessed by default.",
        count(answer.given, "value", "values"),
        answer.uncertain,
        count(answer.guessed, "value", "values"),
    ));
    document
}
