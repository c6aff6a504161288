//! What is wrong with what was typed: errors as data, and the one place of their texts.

use std::error::Error;

use clap::CommandFactory;
use clap::error::{ContextKind, ContextValue, ErrorKind as Parsed};

use super::Cli;
use super::refused::Refused;
use crate::diagnose::{Diagnostic, ErrorKind, suggest};
use crate::unit::format::listed;

/// A call that cannot be read.
#[derive(Debug, Clone, PartialEq)]
pub struct CallError {
    fault: Fault,
    /// How the command is called, as far as it is known.
    usage: Option<String>,
}

/// Why a call cannot be read.
#[derive(Debug, Clone, PartialEq)]
enum Fault {
    /// A command that does not exist.
    Command(String),
    /// No command.
    NoCommand,
    /// An option, or a file too many.
    Argument(String),
    /// Arguments that have to be given.
    Missing(Vec<String>),
    /// An argument, and those that it cannot be given with.
    Conflict(String, Vec<String>),
    /// An argument and a value that it does not take.
    Value(String, String, ValueFault),
    /// What the parser says of anything else.
    Other(String),
}

/// Why an argument does not take a value.
#[derive(Debug, Clone, PartialEq)]
enum ValueFault {
    /// It takes one of these.
    Choice(Vec<String>),
    /// It takes something else.
    Refused(Refused),
    /// It takes none.
    NoneTaken,
}

impl From<&clap::Error> for CallError {
    fn from(error: &clap::Error) -> CallError {
        let arg = || text(error, ContextKind::InvalidArg);
        let value = || text(error, ContextKind::InvalidValue);
        let refused = error.source().and_then(|why| why.downcast_ref::<Refused>());
        let fault = match (error.kind(), refused) {
            (Parsed::InvalidSubcommand, _) => {
                Fault::Command(text(error, ContextKind::InvalidSubcommand))
            }
            (Parsed::MissingSubcommand, _) => Fault::NoCommand,
            (Parsed::UnknownArgument, _) => Fault::Argument(arg()),
            (Parsed::MissingRequiredArgument, _) => {
                Fault::Missing(texts(error, ContextKind::InvalidArg))
            }
            (Parsed::ArgumentConflict, _) => {
                Fault::Conflict(arg(), texts(error, ContextKind::PriorArg))
            }
            (Parsed::InvalidValue, _) => {
                let known = texts(error, ContextKind::ValidValue);
                Fault::Value(arg(), value(), ValueFault::Choice(known))
            }
            (Parsed::ValueValidation, Some(refused)) => {
                Fault::Value(arg(), value(), ValueFault::Refused(refused.clone()))
            }
            (Parsed::TooManyValues, _) => Fault::Value(arg(), value(), ValueFault::NoneTaken),
            _ => Fault::Other(error.render().to_string()),
        };
        let usage = text(error, ContextKind::Usage);
        let usage = usage.strip_prefix("Usage: ").map(str::trim);
        CallError {
            fault,
            usage: usage.map(str::to_owned),
        }
    }
}

/// What the parser knows of an error, in one text.
fn text(error: &clap::Error, kind: ContextKind) -> String {
    match error.get(kind) {
        Some(ContextValue::StyledStr(text)) => text.to_string(),
        _ => texts(error, kind).into_iter().next().unwrap_or_default(),
    }
}

fn texts(error: &clap::Error, kind: ContextKind) -> Vec<String> {
    match error.get(kind) {
        Some(ContextValue::String(text)) => vec![text.clone()],
        Some(ContextValue::Strings(texts)) => texts.clone(),
        _ => Vec::new(),
    }
}

impl From<CallError> for Diagnostic {
    fn from(error: CallError) -> Diagnostic {
        let command = error.command();
        let (kind, message, hint) = error
            .fault
            .words(command.as_deref(), error.usage.as_deref());
        let usage = match (&command, &error.usage) {
            (Some(command), Some(usage)) => {
                format!("Usage: {usage}; `berthage {command} --help` lists what it takes")
            }
            (None, Some(_)) => "`berthage --help` lists the commands".to_owned(),
            (_, None) => String::new(),
        };
        Diagnostic::new(kind, message).hint(hint).hint(usage)
    }
}

impl CallError {
    /// The command whose call is wrong.
    fn command(&self) -> Option<String> {
        let name = self.usage.as_deref()?.split_whitespace().nth(1)?;
        let program = Cli::command();
        let known = program.find_subcommand(name).is_some();
        known.then(|| name.to_owned())
    }
}

impl Fault {
    /// The kind, the message and how to correct it.
    fn words(&self, command: Option<&str>, usage: Option<&str>) -> (ErrorKind, String, String) {
        let command = command.unwrap_or("berthage");
        match self {
            Fault::Command(given) => (
                ErrorKind::UnknownCommand,
                format!("there is no command `{given}`"),
                likely_command(given),
            ),
            Fault::NoCommand => (
                ErrorKind::UnknownCommand,
                "no command is given".to_owned(),
                "begin with `berthage new` or `berthage fit`".to_owned(),
            ),
            Fault::Argument(given) => (
                ErrorKind::UnknownOption,
                format!("`{command}` does not take `{given}`"),
                likely_argument(command, given, usage),
            ),
            Fault::Missing(names) => (
                ErrorKind::MissingArgument,
                format!("`{command}` needs {}", listed(&quoted(names))),
                String::new(),
            ),
            Fault::Conflict(one, others) => {
                let others = match others.as_slice() {
                    [] => "other options of this call".to_owned(),
                    others => listed(&quoted(others)),
                };
                let message = format!("`{one}` cannot be given together with {others}");
                (
                    ErrorKind::ConflictingOptions,
                    message,
                    "leave one of them out".to_owned(),
                )
            }
            Fault::Value(option, given, fault) => {
                let (message, hint) = fault.words(option, given);
                (ErrorKind::InvalidOption, message, hint)
            }
            Fault::Other(words) => {
                let words = words.lines().next().unwrap_or_default();
                let words = words.trim_start_matches("error: ").to_owned();
                (ErrorKind::InvalidOption, words, String::new())
            }
        }
    }
}

impl ValueFault {
    /// The message and how to correct it.
    fn words(&self, option: &str, given: &str) -> (String, String) {
        match self {
            ValueFault::Choice(known) => {
                let message = match given {
                    "" => format!("`{option}` needs a value"),
                    _ => format!("`{option}` does not take {given:?}"),
                };
                (message, likely_value(given, known))
            }
            ValueFault::Refused(refused) => {
                let but = refused
                    .but
                    .clone()
                    .unwrap_or_else(|| format!("is {given:?}"));
                let option = option.split(' ').next().unwrap_or_default();
                let message = format!("{option} must be {}, but {but}", refused.must);
                (message, refused.hint.clone())
            }
            ValueFault::NoneTaken => (
                format!("`{option}` takes no value, but is given {given:?}"),
                format!("write {option} alone"),
            ),
        }
    }
}

fn quoted(names: &[String]) -> Vec<String> {
    names.iter().map(|name| format!("`{name}`")).collect()
}

/// The command that was likely meant; a file in its place was likely to be counted with.
fn likely_command(given: &str) -> String {
    let program = Cli::command();
    let names = || program.get_subcommands().map(clap::Command::get_name);
    match suggest::closest(given, names()) {
        Some(near) => format!("did you mean `{near}`?"),
        None if given.ends_with(".toml") => format!("write `berthage fit {given}`"),
        None => format!("commands are {}", suggest::list(names(), usize::MAX)),
    }
}

fn likely_value(given: &str, known: &[String]) -> String {
    let names = || known.iter().map(String::as_str);
    match suggest::closest(given, names()) {
        Some(near) => format!("did you mean `{near}`?"),
        None if known.is_empty() => String::new(),
        None => format!("it takes {}", suggest::list(names(), usize::MAX)),
    }
}

/// What an argument was likely meant to be, or where it belongs.
fn likely_argument(command: &str, given: &str, usage: Option<&str>) -> String {
    let Some(long) = given.strip_prefix("--") else {
        let is_lab =
            !given.starts_with('-') && usage.is_some_and(|usage| usage.contains("LAB.toml"));
        let words = "a command reads one lab; `include` in a lab joins several files";
        return if is_lab {
            words.to_owned()
        } else {
            String::new()
        };
    };
    let program = Cli::command();
    let longs = |command: &clap::Command| -> Vec<String> {
        let longs = command.get_arguments().filter_map(clap::Arg::get_long);
        longs.map(str::to_owned).collect()
    };
    let takes = |command: &&clap::Command| longs(command).iter().any(|known| known == long);
    let takers: Vec<String> = program
        .get_subcommands()
        .filter(takes)
        .map(|command| format!("`{}`", command.get_name()))
        .collect();
    let own = program
        .find_subcommand(command)
        .map(longs)
        .unwrap_or_default();
    let near = suggest::closest(long, own.iter().map(String::as_str));
    match (takers.as_slice(), near) {
        ([], Some(near)) => format!("did you mean `--{near}`?"),
        ([], None) => String::new(),
        ([one], _) => format!("{one} takes {given}"),
        (several, _) => format!("{} take {given}", listed(several)),
    }
}
