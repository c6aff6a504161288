//! A bar on the standard error while long work runs, only where a person watches.

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use super::Terminal;

/// A bar over `steps` of work called `what`; nothing at all where the standard error is no terminal.
pub(super) fn bar(terminal: &Terminal, steps: u64, what: &'static str) -> ProgressBar {
    let target = if terminal.stderr_is_terminal {
        ProgressDrawTarget::stderr()
    } else {
        ProgressDrawTarget::hidden()
    };
    let bar = ProgressBar::with_draw_target(Some(steps), target).with_message(what);
    match ProgressStyle::with_template("{msg} {bar:30} {human_pos} of {human_len}") {
        Ok(style) => bar.with_style(style),
        Err(_) => bar,
    }
}
