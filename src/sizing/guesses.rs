//! Values that are not given, as far as the answer uses them.

use super::answer::{DefaultUsed, Guess};
use super::used::is_used;
use crate::lab::key_path;
use crate::lab::keys::Command;
use crate::lab::{DefaultOrigin, Host, Lab, Source};

/// Defaults that are guesses, and defaults with an origin, in the order of their key paths.
pub(super) fn defaults(lab: &Lab, host: &Host) -> (Vec<Guess>, Vec<DefaultUsed>) {
    defaults_for(lab, host, Command::Fit)
}

/// The same for another command, which uses what `fit` does and the keys that it needs first.
pub fn defaults_for(lab: &Lab, host: &Host, command: Command) -> (Vec<Guess>, Vec<DefaultUsed>) {
    let own = key_path(&["host", &host.name]) + ".";
    let (mut guesses, mut others) = (Vec::new(), Vec::new());
    for (key, origin) in &lab.origins {
        let Source::Default(kind) = origin.source else {
            continue;
        };
        if key.starts_with("host.") && !key.starts_with(&own) || !is_used(lab, host, key, command) {
            continue;
        }
        if kind.is_guess() {
            guesses.push(Guess {
                key: key.clone(),
                value: origin.text.clone(),
            });
        } else if kind != DefaultOrigin::Derived {
            others.push(DefaultUsed {
                key: key.clone(),
                value: origin.text.clone(),
                origin: origin.words(),
            });
        }
    }
    (guesses, others)
}
