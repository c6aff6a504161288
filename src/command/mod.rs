//! The commands: each joins an inventory, a question and a report. One short file a command; here is what they share.

mod append;
mod calibrate;
mod calibrate_guests;
mod call_error;
mod check;
mod compare;
mod deliver;
mod draws;
mod explain;
mod file_error;
mod fit;
mod fleet;
mod interrupt;
mod new;
mod options;
mod picture;
mod place;
mod places;
mod progress;
mod readings;
mod recorded;
mod reproduce;
mod rewritten;
mod rollout;
pub mod run;
mod schema;
mod survey;
mod threads;
mod tool;
mod upgrade;
mod write;

use std::path::{Path, PathBuf};

use serde::Serialize;
use serde_json::Value;

use self::write::Outputs;
use crate::cli::{CommonArgs, Format};
use crate::diagnose::{Diagnostic, Diagnostics};
use crate::lab::keys::Command;
use crate::lab::{Host, Lab, Source};
use crate::report::document::Document;
use crate::report::given::append_with_guesses;
use crate::report::json;
use crate::sizing::answer::Outcome;

/// What is known of the terminal; tests make one up.
#[derive(Debug, Clone, Copy)]
pub struct Terminal {
    /// Whether the report goes to a terminal.
    pub stdout_is_terminal: bool,
    /// Whether errors go to a terminal.
    pub stderr_is_terminal: bool,
    /// Columns of the terminal, where there is one.
    pub width: Option<u16>,
    /// Whether NO_COLOR is set, or the terminal is a dumb one.
    pub no_color: bool,
}

/// The answer of a command.
struct Reply {
    document: Document,
    answer: Value,
    outcome: Outcome,
    /// Files that it was made from, which it may not be written over.
    inputs: Vec<PathBuf>,
    /// Files that are written beside the report.
    files: Outputs,
}

impl Reply {
    /// An answer, the document that was built from it, and the files it was made from.
    fn new(
        answer: &impl Serialize,
        document: Document,
        outcome: Outcome,
        inputs: Vec<PathBuf>,
    ) -> Reply {
        Reply {
            document,
            answer: json::value(answer),
            outcome,
            inputs,
            files: Outputs::default(),
        }
    }

    /// The same with files that are written beside the report.
    fn with(self, files: Outputs) -> Reply {
        Reply { files, ..self }
    }
}

/// Adds what was guessed for a command about these hosts and what was given, where a page stands alone.
fn add_given(
    document: &mut Document,
    common: &CommonArgs,
    lab: &Lab,
    hosts: &[&Host],
    command: Command,
) {
    if common.output.format == Format::Markdown {
        append_with_guesses(document, lab, hosts, command);
    }
}

/// The files that a lab was read from: the one asked for and those it includes.
fn inputs(lab: &Lab, file: &Path) -> Vec<PathBuf> {
    let mut files = vec![file.to_owned()];
    for origin in lab.origins.values() {
        if let Source::File { file, .. } = &origin.source
            && !files.iter().any(|seen| seen == Path::new(file))
        {
            files.push(PathBuf::from(file));
        }
    }
    files
}

/// Everything that is wrong with a call, reported at once; none of it points into a text.
fn together(errors: impl IntoIterator<Item = Diagnostics>) -> Diagnostics {
    let all = errors.into_iter().flat_map(|errors| errors.list().to_vec());
    Diagnostics::from(all.collect::<Vec<_>>())
}

/// Two parts of a call, or everything that is wrong with both.
fn both<A, B>(
    one: Result<A, Diagnostics>,
    other: Result<B, Diagnostics>,
) -> Result<(A, B), Diagnostics> {
    match (one, other) {
        (Ok(one), Ok(other)) => Ok((one, other)),
        (one, other) => Err(together(one.err().into_iter().chain(other.err()))),
    }
}

/// The hosts asked for, in the order of the call; all hosts if none was named.
fn hosts_asked<'a>(lab: &'a Lab, common: &CommonArgs) -> Result<Vec<&'a Host>, Diagnostics> {
    if common.hosts.is_empty() {
        return Ok(lab.hosts.iter().collect());
    }
    let mut hosts: Vec<&Host> = Vec::new();
    for name in &common.hosts {
        let host = named_host(lab, "--host", name)?;
        if !hosts.iter().any(|seen| seen.name == host.name) {
            hosts.push(host);
        }
    }
    Ok(hosts)
}

/// The one host that a command answers for.
fn one_host<'a>(lab: &'a Lab, common: &CommonArgs) -> Result<&'a Host, Diagnostics> {
    let hosts = hosts_asked(lab, common)?;
    if let [host] = hosts.as_slice() {
        return Ok(host);
    }
    Err(call_error::several_hosts(&hosts).into())
}

/// The host that an option names.
fn named_host<'a>(lab: &'a Lab, option: &str, name: &str) -> Result<&'a Host, Diagnostic> {
    let host = lab.hosts.iter().find(|host| host.name == name);
    host.ok_or_else(|| call_error::unknown_host(option, name, lab))
}
