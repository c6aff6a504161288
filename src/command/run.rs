//! Runs the program: from the arguments to the exit status.

use std::ffi::OsString;
use std::io::Write;

use super::places::places;
use super::write::print;
use super::{
    Terminal, calibrate, check, compare, deliver, explain, fit, fleet, reproduce, rollout, survey,
    tool, upgrade,
};
use crate::cli::parse::{NoCall, parse};
use crate::cli::{Color, Command, Format};
use crate::diagnose::Diagnostics;
use crate::sizing::answer::Outcome;

/// Exit status: answered, and everything fits.
pub const ANSWERED: u8 = 0;
/// Exit status: answered, and something asked for does not fit.
pub const DOES_NOT_FIT: u8 = 1;
/// Exit status: the input or the call is wrong; nothing was answered.
pub const REFUSED: u8 = 2;

/// Runs the program: reads `args`, writes the report to `stdout` and errors to `stderr`, returns the exit status.
pub fn run(
    args: impl IntoIterator<Item = OsString>,
    terminal: &Terminal,
    stdout: &mut dyn Write,
    stderr: &mut dyn Write,
) -> u8 {
    let args: Vec<OsString> = args.into_iter().collect();
    let cli = match parse(args.iter().cloned()) {
        Ok(cli) => cli,
        Err(no_call) => return usage(no_call, terminal, stdout, stderr),
    };
    let answered =
        places(&cli.command).and_then(|()| answer(&cli.command, &args, terminal, stdout, stderr));
    match answered {
        Ok(Outcome::Fits) => ANSWERED,
        Ok(Outcome::DoesNotFit) => DOES_NOT_FIT,
        Err(errors) => {
            let asked = cli.command.output();
            let color = asked.map_or(Color::Auto, |output| output.color);
            refuse(&errors, color, terminal, stderr)
        }
    }
}

/// Writes what is wrong to the standard error.
fn refuse(errors: &Diagnostics, asked: Color, terminal: &Terminal, stderr: &mut dyn Write) -> u8 {
    let color = deliver::color(asked, terminal.stderr_is_terminal, terminal);
    let text = errors.render(color, terminal.stderr_width());
    // If even stderr is gone there is nobody left to read it.
    let _ = stderr.write_all(text.as_bytes());
    REFUSED
}

/// Answers a command and writes its report.
fn answer(
    command: &Command,
    args: &[OsString],
    terminal: &Terminal,
    stdout: &mut dyn Write,
    stderr: &mut dyn Write,
) -> Result<Outcome, Diagnostics> {
    let (common, mut reply) = match command {
        Command::Fit(args) => (&args.asked.common, fit::run(args, terminal)?),
        Command::Compare(args) => (&args.asked.common, compare::run(args, terminal)?),
        Command::Rollout(args) => (&args.common, rollout::run(args, terminal)?),
        Command::Upgrade(args) => (&args.lab.common, upgrade::run(args, terminal)?),
        Command::Fleet(args) => (&args.lab.common, fleet::run(args, terminal)?),
        Command::Check(args) => (&args.common, check::run(args)?),
        Command::Explain(args) => (&args.common, explain::run(args)?),
        Command::Calibrate(args) => (&args.common, calibrate::run(args)?),
        // A survey is no report but a part of an inventory, or lines that go on for hours.
        Command::Survey(args) => return survey::run(args, terminal, stdout, stderr),
        Command::Tool(tool) => return tool::run(tool, stdout).map(|()| Outcome::Fits),
    };
    let is_page = common.output.format == Format::Markdown;
    if let Some(full) = command.full() {
        reply.document.cut(full || is_page);
    }
    if is_page {
        reproduce::append(&mut reply.document, args);
    }
    let outcome = reply.outcome;
    deliver::deliver(reply, &common.output, terminal, stdout)?;
    Ok(outcome)
}

/// Help and version go to the standard output, mistakes in the call to the standard error.
fn usage(
    no_call: NoCall,
    terminal: &Terminal,
    stdout: &mut dyn Write,
    stderr: &mut dyn Write,
) -> u8 {
    let refused = match no_call {
        NoCall::Asked(help) => match print(&help, stdout) {
            Ok(()) => return ANSWERED,
            Err(error) => Diagnostics::from(error),
        },
        NoCall::Nothing(help) => {
            let _ = stderr.write_all(help.as_bytes());
            return REFUSED;
        }
        NoCall::Wrong(error) => error.into(),
    };
    refuse(&refused, Color::Auto, terminal, stderr)
}
