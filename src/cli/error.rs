//! What is wrong with what was typed: the one place of these errors' texts.

use std::error::Error;

use clap::error::{ContextKind, ContextValue, ErrorKind as Parsed};
use clap::{Arg, Command, CommandFactory};

use super::Cli;
use super::refused::Refused;
use crate::diagnose::{Diagnostic, ErrorKind, suggest};
use crate::unit::format::listed;

/// What is wrong with a call that cannot be read.
pub(super) fn diagnostic(error: &clap::Error) -> Diagnostic {
    let usage = text(error, ContextKind::Usage);
    let usage = usage.strip_prefix("Usage: ").map_or("", str::trim);
    let program = Cli::command();
    let name = usage.split_whitespace().nth(1).unwrap_or_default();
    let command = program.find_subcommand(name);
    let (kind, message, hint) = words(error, &program, command, usage);
    let more = match command {
        _ if usage.is_empty() => String::new(),
        Some(_) => format!("Usage: {usage}; `berthage {name} --help` lists what it takes"),
        None => "`berthage --help` lists the commands".to_owned(),
    };
    Diagnostic::new(kind, message).hint(hint).hint(more)
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

/// The kind, the message and how to correct it.
fn words(
    error: &clap::Error,
    program: &Command,
    command: Option<&Command>,
    usage: &str,
) -> (ErrorKind, String, String) {
    let name = command.map_or("berthage", Command::get_name);
    let arg = text(error, ContextKind::InvalidArg);
    let quoted = |kind| {
        let names = texts(error, kind).into_iter();
        listed(names.map(|name| format!("`{name}`")).collect::<Vec<_>>())
    };
    match error.kind() {
        Parsed::InvalidSubcommand => {
            let given = text(error, ContextKind::InvalidSubcommand);
            let message = format!("there is no command `{given}`");
            let hint = likely_command(program, &given);
            (ErrorKind::UnknownCommand, message, hint)
        }
        Parsed::MissingSubcommand => (
            ErrorKind::UnknownCommand,
            "no command is given".to_owned(),
            "begin with `berthage new` or `berthage fit`".to_owned(),
        ),
        Parsed::UnknownArgument => (
            ErrorKind::UnknownOption,
            format!("`{name}` does not take `{arg}`"),
            likely_argument(program, command, &arg, usage),
        ),
        Parsed::MissingRequiredArgument => (
            ErrorKind::MissingArgument,
            format!("`{name}` needs {}", quoted(ContextKind::InvalidArg)),
            String::new(),
        ),
        Parsed::ArgumentConflict => {
            let others = match quoted(ContextKind::PriorArg) {
                none if none.is_empty() => "other options of this call".to_owned(),
                others => others,
            };
            let message = format!("`{arg}` cannot be given together with {others}");
            let hint = "leave one of them out".to_owned();
            (ErrorKind::ConflictingOptions, message, hint)
        }
        _ => {
            let (message, hint) = of_value(error, &arg);
            (ErrorKind::InvalidOption, message, hint)
        }
    }
}

/// A value that an argument does not take, or anything else that the parser says.
fn of_value(error: &clap::Error, arg: &str) -> (String, String) {
    let given = text(error, ContextKind::InvalidValue);
    let refused = error.source().and_then(|why| why.downcast_ref::<Refused>());
    match (error.kind(), refused) {
        (Parsed::InvalidValue, _) => {
            let message = match given.as_str() {
                "" => format!("`{arg}` needs a value"),
                _ => format!("`{arg}` does not take {given:?}"),
            };
            let known = texts(error, ContextKind::ValidValue);
            let names = || known.iter().map(String::as_str);
            let hint = match suggest::closest(&given, names()) {
                Some(near) => format!("did you mean `{near}`?"),
                None if known.is_empty() => String::new(),
                None => format!("it takes {}", suggest::list(names(), usize::MAX)),
            };
            (message, hint)
        }
        (Parsed::ValueValidation, Some(Refused { must, but, hint })) => {
            let but = but.clone().unwrap_or_else(|| format!("is {given:?}"));
            let option = arg.split(' ').next().unwrap_or_default();
            (format!("{option} must be {must}, but {but}"), hint.clone())
        }
        (Parsed::TooManyValues, _) => (
            format!("`{arg}` takes no value, but is given {given:?}"),
            format!("write {arg} alone"),
        ),
        _ => {
            let words = error.render().to_string();
            let words = words.lines().next().unwrap_or_default();
            let words = words.trim_start_matches("error: ").to_owned();
            (words, String::new())
        }
    }
}

/// The command that was likely meant; a file in its place was likely to be counted with.
fn likely_command(program: &Command, given: &str) -> String {
    let names = || program.get_subcommands().map(Command::get_name);
    match suggest::closest(given, names()) {
        Some(near) => format!("did you mean `{near}`?"),
        None if given.ends_with(".toml") => format!("write `berthage fit {given}`"),
        None => format!("commands are {}", suggest::list(names(), usize::MAX)),
    }
}

/// What an argument was likely meant to be, or where it belongs.
fn likely_argument(
    program: &Command,
    command: Option<&Command>,
    given: &str,
    usage: &str,
) -> String {
    let Some(long) = given.strip_prefix("--") else {
        return match !given.starts_with('-') && usage.contains("LAB.toml") {
            true => "a command reads one lab; `include` in a lab joins several files".to_owned(),
            false => String::new(),
        };
    };
    let longs = |command: &Command| -> Vec<String> {
        let longs = command.get_arguments().filter_map(Arg::get_long);
        longs.map(str::to_owned).collect()
    };
    let takers = program.get_subcommands();
    let takers = takers.filter(|command| longs(command).iter().any(|known| known == long));
    let takers: Vec<String> = takers
        .map(|command| format!("`{}`", command.get_name()))
        .collect();
    let own = command.map(longs).unwrap_or_default();
    let near = suggest::closest(long, own.iter().map(String::as_str));
    match (takers.as_slice(), near) {
        ([], Some(near)) => format!("did you mean `--{near}`?"),
        ([], None) => String::new(),
        ([one], _) => format!("{one} takes {given}"),
        (several, _) => format!("{} take {given}", listed(several)),
    }
}
