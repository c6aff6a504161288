//! The commands: each joins an inventory, a question and a report. One short file a command.

mod again;
mod append;
mod calibrate;
mod check;
mod compare;
mod deliver;
mod explain;
mod fit;
mod fleet;
mod need;
mod new;
mod options;
mod picture;
mod places;
mod progress;
mod rewritten;
mod rollout;
mod schema;
mod shell;
mod survey;
mod tool;
mod upgrade;
mod write;

use std::ffi::OsString;
use std::io::Write;
use std::path::{Path, PathBuf};

use crate::cli::{self, Color, Command, CommonArgs, Format};
use crate::diagnose::{Diagnostic, Diagnostics, ErrorKind, source::Sources, suggest};
use crate::lab::{Host, Lab, Source};
use crate::report::document::Document;
use crate::sizing::answer::Outcome;
pub use deliver::Terminal;

/// Exit status: answered, and everything fits.
pub const ANSWERED: u8 = 0;
/// Exit status: answered, and something asked for does not fit.
pub const DOES_NOT_FIT: u8 = 1;
/// Exit status: the input or the call is wrong; nothing was answered.
pub const REFUSED: u8 = 2;

/// Where a command runs, as far as it may show that it is at work.
struct Context<'a> {
    terminal: &'a Terminal,
}

impl Context<'_> {
    /// Does some work that may take long, with a sign of life on the terminal that errors go to; none where they go
    /// elsewhere.
    fn busy<T>(&self, doing: &'static str, work: impl FnOnce() -> T) -> T {
        if !self.terminal.stderr_is_terminal {
            return work();
        }
        let sign = indicatif::ProgressBar::new_spinner().with_message(doing);
        sign.enable_steady_tick(std::time::Duration::from_millis(120));
        let done = work();
        sign.finish_and_clear();
        done
    }
}

/// What a command has to say.
struct Reply {
    document: Document,
    json: String,
    outcome: Outcome,
    /// Files that it was made from, which it may not be written over.
    inputs: Vec<PathBuf>,
}

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
    let color = cli
        .command
        .output()
        .map_or(Color::Auto, |output| output.color);
    if let Err(errors) = places::places(&cli.command) {
        return refuse(&errors, color, terminal, stderr);
    }
    let context = Context { terminal };
    let (common, reply) = match &cli.command {
        Command::Fit(args) => (&args.asked.common, fit::run(args, &context)),
        Command::Compare(args) => (&args.asked.common, compare::run(args)),
        Command::Rollout(args) => (&args.common, rollout::run(args, &context)),
        Command::Upgrade(args) => (&args.lab.common, upgrade::run(args)),
        Command::Fleet(args) => (&args.lab.common, fleet::run(args)),
        Command::Check(args) => (&args.common, check::run(args)),
        Command::Explain(args) => (&args.common, explain::run(args)),
        Command::Calibrate(args) => (&args.common, calibrate::run(args)),
        // A survey is no report but a part of an inventory, or lines that go on for hours.
        Command::Survey(args) => {
            return status(survey::run(args, stdout), Color::Auto, terminal, stderr);
        }
        Command::Tool(tool) => return tool::run(tool, terminal, stdout, stderr),
    };
    let delivered = reply.and_then(|mut reply| {
        if common.output.format == Format::Markdown {
            again::append(&mut reply.document, &args);
        }
        deliver::deliver(&reply, &common.output, terminal, stdout).map(|()| reply.outcome)
    });
    status(delivered, common.output.color, terminal, stderr)
}

/// The exit status of what was answered; errors go to `stderr`.
fn status(
    answered: Result<Outcome, Diagnostics>,
    color: Color,
    terminal: &Terminal,
    stderr: &mut dyn Write,
) -> u8 {
    match answered {
        Ok(Outcome::Fits) => ANSWERED,
        Ok(Outcome::DoesNotFit) => DOES_NOT_FIT,
        Err(errors) => refuse(&errors, color, terminal, stderr),
    }
}

/// Says what is wrong on stderr.
fn refuse(errors: &Diagnostics, color: Color, terminal: &Terminal, stderr: &mut dyn Write) -> u8 {
    let color = deliver::color(color, deliver::Stream::Errors, terminal);
    // If even stderr is gone there is nobody left to tell.
    let _ = stderr.write_all(errors.render(color, terminal.stderr_width()).as_bytes());
    REFUSED
}

/// Help and version go to stdout, mistakes in the call to stderr.
fn usage(error: &clap::Error, stdout: &mut dyn Write, stderr: &mut dyn Write) -> u8 {
    let text = cli::told(error);
    if error.use_stderr() {
        let _ = stderr.write_all(text.as_bytes());
        REFUSED
    } else {
        let _ = stdout.write_all(text.as_bytes());
        ANSWERED
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

/// Everything that is wrong with a call, told at once; none of it points into a text.
fn together(errors: impl IntoIterator<Item = Option<Diagnostics>>) -> Diagnostics {
    let list = errors
        .into_iter()
        .flatten()
        .flat_map(|errors| errors.list().to_vec());
    Diagnostics::new(Sources::default(), list.collect())
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

/// The host that an option names.
fn named_host<'a>(lab: &'a Lab, option: &str, name: &str) -> Result<&'a Host, Diagnostics> {
    let found = lab.hosts.iter().find(|host| host.name == name);
    found.ok_or_else(|| unknown_host(lab, option, name))
}

fn unknown_host(lab: &Lab, option: &str, name: &str) -> Diagnostics {
    let names: Vec<&str> = lab.hosts.iter().map(|host| host.name.as_str()).collect();
    let near = suggest::closest(name, names.iter().copied());
    let known = format!("hosts of this lab: {}", names.join(", "));
    let error = Diagnostic::new(
        ErrorKind::UnknownHost,
        format!("{option} {name:?} names no host of the lab"),
    )
    .hint(near.map_or_else(String::new, |near| format!("did you mean {near:?}?")))
    .hint(known);
    Diagnostics::new(Sources::default(), vec![error])
}
