//! The program: hands the process's arguments, terminal and streams to the library.

use std::io::{self, IsTerminal};
use std::process::ExitCode;

use berthage::command::{Terminal, run::run};

fn main() -> ExitCode {
    let terminal = Terminal {
        stdout_is_terminal: io::stdout().is_terminal(),
        stderr_is_terminal: io::stderr().is_terminal(),
        width: terminal_size::terminal_size().map(|(width, _)| width.0),
        no_color: std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty())
            // Where the kind of a terminal is not known, nothing is known of what it takes.
            || std::env::var_os("TERM").map_or(cfg!(unix), |kind| kind == "dumb"),
    };
    // The standard error is not locked: a spinner is drawn on it by another thread while long work runs.
    ExitCode::from(run(
        std::env::args_os(),
        &terminal,
        &mut io::stdout().lock(),
        &mut io::stderr(),
    ))
}
