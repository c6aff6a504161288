//! Runs the program: from the arguments to the exit status.

use std::ffi::OsString;
use std::io::Write;

use super::places::places;
use super::{
    Terminal, calibrate, check, compare, deliver, explain, fit, fleet, reproduce, rollout, survey,
    tool, upgrade,
};
use crate::cli::{self, Color, Command, Format};
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
    let cli = match cli::parse(args.iter().cloned()) {
        Ok(cli) => cli,
        Err(error) => return usage(&error, stdout, stderr),
    };
    let answered =
        places(&cli.command).and_then(|()| answer(&cli.command, &args, terminal, stdout));
    match answered {
        Ok(Outcome::Fits) => ANSWERED,
        Ok(Outcome::DoesNotFit) => DOES_NOT_FIT,
        Err(errors) => {
            let asked = cli
                .command
                .output()
                .map_or(Color::Auto, |output| output.color);
            let color = deliver::color(asked, terminal.stderr_is_terminal, terminal);
            let text = errors.render(color, terminal.stderr_width());
            // If even stderr is gone there is nobody left to read it.
            let _ = stderr.write_all(text.as_bytes());
            REFUSED
        }
    }
}

/// Answers a command and writes its report.
fn answer(
    command: &Command,
    args: &[OsString],
    terminal: &Terminal,
    stdout: &mut dyn Write,
) -> Result<Outcome, Diagnostics> {
    let (common, mut reply) = match command {
        Command::Fit(args) => (&args.asked.common, fit::run(args, terminal)?),
        Command::Compare(args) => (&args.asked.common, compare::run(args)?),
        Command::Rollout(args) => (&args.common, rollout::run(args, terminal)?),
        Command::Upgrade(args) => (&args.lab.common, upgrade::run(args)?),
        Command::Fleet(args) => (&args.lab.common, fleet::run(args)?),
        Command::Check(args) => (&args.common, check::run(args)?),
        Command::Explain(args) => (&args.common, explain::run(args)?),
        Command::Calibrate(args) => (&args.common, calibrate::run(args)?),
        // A survey is no report but a part of an inventory, or lines that go on for hours.
        Command::Survey(args) => return survey::run(args, stdout),
        Command::Tool(tool) => return tool::run(tool, stdout).map(|()| Outcome::Fits),
    };
    if common.output.format == Format::Markdown {
        reproduce::append(&mut reply.document, args);
    }
    deliver::deliver(&reply, &common.output, terminal, stdout)?;
    Ok(reply.outcome)
}

/// Help and version go to stdout, mistakes in the call to stderr.
fn usage(error: &clap::Error, stdout: &mut dyn Write, stderr: &mut dyn Write) -> u8 {
    let text = cli::message(error);
    if error.use_stderr() {
        let _ = stderr.write_all(text.as_bytes());
        REFUSED
    } else {
        let _ = stdout.write_all(text.as_bytes());
        ANSWERED
    }
}
