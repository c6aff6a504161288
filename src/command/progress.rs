//! Signs of work on the standard error, only where a person watches.

use std::time::Duration;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use super::{Terminal, threads};

impl Terminal {
    /// Does some work that may take long, with a spinner.
    pub(super) fn busy<T>(&self, doing: &'static str, work: impl FnOnce() -> T) -> T {
        // What draws it has a thread of its own.
        if !self.stderr_is_terminal || !threads::is_given() {
            return work();
        }
        let spinner = ProgressBar::new_spinner().with_message(doing);
        spinner.tick();
        spinner.enable_steady_tick(Duration::from_millis(120));
        let done = work();
        spinner.finish_and_clear();
        done
    }

    /// A line that says how work that has no end goes on.
    pub(super) fn live(&self) -> ProgressBar {
        let target = if self.stderr_is_terminal {
            ProgressDrawTarget::stderr()
        } else {
            ProgressDrawTarget::hidden()
        };
        ProgressBar::with_draw_target(None, target).with_style(ProgressStyle::default_spinner())
    }

    /// A bar over `steps` of work called `what`.
    pub(super) fn bar(&self, steps: u64, what: &'static str) -> ProgressBar {
        let target = if self.stderr_is_terminal {
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
}
