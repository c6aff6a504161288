//! `berthage explain`: every number of one host, or what a kind of error means.

use schemars::JsonSchema;
use serde::Serialize;

use super::{Reply, call_error, hosts_asked, inputs};
use crate::cli::ExplainArgs;
use crate::diagnose::Diagnostics;
use crate::diagnose::kinds::{self, Entry, Example};
use crate::explain::{UsedLater, explain};
use crate::inventory::load;
use crate::lab::key_path;
use crate::lab::keys::later_command;
use crate::lab::{Host, Lab};
use crate::report;
use crate::report::document::Document;
use crate::sizing::answer::Outcome;

/// What is known of a kind of error.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct KindAnswer {
    #[schemars(extend("const" = "explain"))]
    report: &'static str,
    /// Version of the JSON contract.
    version: u32,
    /// Its name.
    kind: &'static str,
    /// What is wrong, in a few words.
    title: &'static str,
    /// Why it is refused and how to correct it.
    explanation: &'static str,
    /// An example that is refused.
    refused: &'static str,
    /// The same, corrected.
    corrected: &'static str,
}

pub(super) fn run(args: &ExplainArgs) -> Result<Reply, Diagnostics> {
    let subject = args.subject.to_string_lossy();
    if let Some(entry) = kinds::find(&subject) {
        return Ok(kind(entry));
    }
    if is_word(&subject) && !args.subject.exists() {
        return Err(call_error::unknown_kind(&subject).into());
    }
    let lab = load(&args.subject, &args.common.sets)?;
    let hosts = hosts_asked(&lab, &args.common)?;
    if hosts.len() > 1 && !args.common.hosts.is_empty() {
        return Err(call_error::several_hosts(&hosts).into());
    }
    // Where none was named, the first of the file.
    let host = hosts[0];
    let answer = explain(&lab, host, args.guests, used_later(&lab, host));
    let document = report::explain::document(&answer);
    let read = inputs(&lab, &args.subject);
    Ok(Reply::new(&answer, document, answer.outcome, read))
}

/// Whether it looks like the name of a kind rather than of a file.
fn is_word(subject: &str) -> bool {
    let mut bytes = subject.bytes();
    subject.contains('-') && bytes.all(|byte| byte.is_ascii_alphabetic() || byte == b'-')
}

/// Keys that were given but that only a later command uses.
fn used_later(lab: &Lab, host: &Host) -> Vec<UsedLater> {
    let own = key_path(&["host", &host.name]) + ".";
    let paths = lab.origins.keys();
    let given = paths.filter(|path| !path.starts_with("host.") || path.starts_with(&own));
    let later = given.filter_map(|path| {
        let (key, command) = (path.clone(), later_command(path)?);
        Some(UsedLater { key, command })
    });
    later.collect()
}

/// An example as it can be copied, or a description in place of one.
fn example(document: &mut Document, example: &Example) {
    match example {
        Example::File(text) | Example::Set(text) => document.code(text.as_str()),
        Example::Text(text) => document.paragraph(text.as_str()),
    };
}

/// What a kind of error means.
fn kind(entry: &'static Entry) -> Reply {
    let mut document = Document::new();
    let name = entry.kind.name();
    document.heading(1, format!("{name}: {}", entry.title));
    document.paragraph(entry.explanation.as_str());
    document.heading(2, "Refused");
    example(&mut document, &entry.wrong);
    document.heading(2, "Corrected");
    example(&mut document, &entry.right);
    let answer = KindAnswer {
        report: "explain",
        version: crate::sizing::fit::CONTRACT,
        kind: name,
        title: entry.title,
        explanation: &entry.explanation,
        refused: entry.wrong.text(),
        corrected: entry.right.text(),
    };
    Reply::new(&answer, document, Outcome::Fits, Vec::new())
}
