//! `berthage explain`: every number of one host, or what an error code means.

use schemars::JsonSchema;
use serde::Serialize;

use super::{Reply, hosts_asked, inputs};
use crate::cli::ExplainArgs;
use crate::diagnose::kinds::{self, Example};
use crate::diagnose::{Diagnostic, Diagnostics, ErrorKind};
use crate::explain::{UsedLater, explain};
use crate::inventory::load;
use crate::lab::key_path;
use crate::lab::keys::later_command;
use crate::lab::{Host, Lab};
use crate::report;
use crate::report::document::Document;
use crate::sizing::answer::Outcome;

/// What is known of an error code.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct CodeAnswer {
    #[schemars(extend("const" = "explain"))]
    report: &'static str,
    /// Version of the JSON contract.
    version: u32,
    /// The code.
    code: &'static str,
    /// What is wrong, in a few words.
    title: &'static str,
    /// Why it is refused and how to mend it.
    explanation: &'static str,
    /// An example that is refused.
    refused: &'static str,
    /// The same, mended.
    mended: &'static str,
}

pub(super) fn run(args: &ExplainArgs) -> Result<Reply, Diagnostics> {
    let subject = args.subject.to_string_lossy();
    if is_code(&subject) {
        return code(&subject);
    }
    let lab = load(&args.subject, &args.common.sets)?;
    let hosts = hosts_asked(&lab, &args.common)?;
    if hosts.len() > 1 && !args.common.hosts.is_empty() {
        let names: Vec<&str> = hosts.iter().map(|host| host.name.as_str()).collect();
        let (count, names) = (names.len(), names.join(", "));
        let message = format!("explain takes one --host, here are {count}: {names}");
        let error = Diagnostic::new(ErrorKind::AmbiguousHost, message);
        return Err(error
            .hint("name one; compare sets several side by side")
            .into());
    }
    // Where none was named, the first of the file.
    let host = hosts[0];
    let answer = explain(&lab, host, args.guests, used_later(&lab, host));
    let document = report::explain::document(&answer);
    let read = inputs(&lab, &args.subject);
    Ok(Reply::new(&answer, document, answer.outcome, read))
}

/// "E0203", in upper or lower case; one with too few or too many digits is a code that does not exist.
fn is_code(subject: &str) -> bool {
    let digits = subject.strip_prefix(['E', 'e']).unwrap_or_default();
    !digits.is_empty() && digits.bytes().all(|digit| digit.is_ascii_digit())
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

/// What an error code means.
fn code(number: &str) -> Result<Reply, Diagnostics> {
    let Some(entry) = kinds::find(number) else {
        let known: Vec<&str> = kinds::entries().map(|entry| entry.code).collect();
        let message = format!("there is no error code {number}");
        let error = Diagnostic::new(ErrorKind::UnknownErrorCode, message);
        return Err(error.hint(format!("codes are {}", known.join(", "))).into());
    };
    let mut document = Document::new();
    document.heading(1, format!("{}: {}", entry.code, entry.title));
    document.paragraph(entry.explanation.as_str());
    document.heading(2, "Refused");
    example(&mut document, &entry.wrong);
    document.heading(2, "Mended");
    example(&mut document, &entry.right);
    let answer = CodeAnswer {
        report: "explain",
        version: crate::sizing::fit::CONTRACT,
        code: entry.code,
        title: entry.title,
        explanation: &entry.explanation,
        refused: entry.wrong.text(),
        mended: entry.right.text(),
    };
    Ok(Reply::new(&answer, document, Outcome::Fits, Vec::new()))
}
