//! The commands: each joins an inventory, a question and a report. One short file a command.

mod check;
mod compare;
mod deliver;
mod explain;
mod fit;

use std::ffi::OsString;
use std::io::Write;

use crate::cli::{self, Command, CommonArgs};
use crate::diagnose::{Diagnostic, Diagnostics, codes::Code, source::Sources, suggest};
use crate::inventory::lab::{Host, Lab};
use crate::report::document::Document;
use crate::sizing::answer::Outcome;
pub use deliver::Terminal;

/// Exit status: answered, and everything fits.
pub const ANSWERED: u8 = 0;
/// Exit status: answered, and something asked for does not fit.
pub const DOES_NOT_FIT: u8 = 1;
/// Exit status: the input or the call is wrong; nothing was answered.
pub const REFUSED: u8 = 2;

/// What a command has to say.
struct Reply {
    document: Document,
    json: String,
    outcome: Outcome,
}

/// Runs the program: reads `args`, writes the report to `stdout` and errors to `stderr`, returns the exit status.
pub fn run(
    args: impl IntoIterator<Item = OsString>,
    terminal: &Terminal,
    stdout: &mut dyn Write,
    stderr: &mut dyn Write,
) -> u8 {
    let cli = match cli::parse(args) {
        Ok(cli) => cli,
        Err(error) => return usage(&error, stdout, stderr),
    };
    let (common, reply) = match &cli.command {
        Command::Fit(args) => (&args.common, fit::run(args)),
        Command::Compare(args) => (&args.common, compare::run(args)),
        Command::Check(args) => (&args.common, check::run(args)),
        Command::Explain(args) => (&args.common, explain::run(args)),
    };
    let delivered = reply.and_then(|reply| {
        let status = match reply.outcome {
            Outcome::Fits => ANSWERED,
            Outcome::DoesNotFit => DOES_NOT_FIT,
        };
        deliver::deliver(&reply, &common.output, terminal, stdout).map(|()| status)
    });
    match delivered {
        Ok(status) => status,
        Err(errors) => {
            let color = deliver::color(common.output.color, terminal.stderr_is_terminal, terminal);
            // If even stderr is gone there is nobody left to tell.
            let _ = stderr.write_all(errors.render(color, terminal.stderr_width()).as_bytes());
            REFUSED
        }
    }
}

/// Help and version go to stdout, mistakes in the call to stderr.
fn usage(error: &clap::Error, stdout: &mut dyn Write, stderr: &mut dyn Write) -> u8 {
    let text = error.render().to_string();
    if error.use_stderr() {
        let _ = stderr.write_all(text.as_bytes());
        REFUSED
    } else {
        let _ = stdout.write_all(text.as_bytes());
        ANSWERED
    }
}

/// The hosts asked for, in the order of the call; all hosts if none was named.
fn hosts_asked<'a>(lab: &'a Lab, common: &CommonArgs) -> Result<Vec<&'a Host>, Diagnostics> {
    if common.hosts.is_empty() {
        return Ok(lab.hosts.iter().collect());
    }
    let mut hosts: Vec<&Host> = Vec::new();
    for name in &common.hosts {
        let host = lab
            .hosts
            .iter()
            .find(|host| host.name == *name)
            .ok_or_else(|| unknown_host(lab, name))?;
        if !hosts.iter().any(|seen| seen.name == host.name) {
            hosts.push(host);
        }
    }
    Ok(hosts)
}

fn unknown_host(lab: &Lab, name: &str) -> Diagnostics {
    let names: Vec<&str> = lab.hosts.iter().map(|host| host.name.as_str()).collect();
    let near = suggest::closest(name, names.iter().copied());
    let known = format!("hosts of this lab: {}", names.join(", "));
    let error = Diagnostic::new(
        Code::UnknownHost,
        format!("--host {name:?} names no host of the lab"),
    )
    .help(near.map_or_else(String::new, |near| format!("did you mean {near:?}?")))
    .help(known);
    Diagnostics::new(Sources::default(), vec![error])
}
