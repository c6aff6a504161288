//! Values that options carry: times and shares written as in a file, busy spells, one host.

use super::hosts_asked;
use crate::cli::CommonArgs;
use crate::diagnose::{Diagnostic, Diagnostics, codes::Code, source::Sources, suggest};
use crate::inventory::lab::{Host, Lab};
use crate::rollout::Spell;
use crate::unit::parse::{Dimension, parse};

/// A single error about the call.
pub(super) fn refused(diagnostic: Diagnostic) -> Diagnostics {
    Diagnostics::new(Sources::default(), vec![diagnostic])
}

/// The value of an option in its base unit.
pub(super) fn value(option: &str, text: &str, dimension: Dimension) -> Result<f64, Diagnostics> {
    parse(text, dimension).map_err(|error| {
        let message = format!("{option} {text:?}: {error}");
        refused(Diagnostic::new(Code::BadOption, message).help(error.help()))
    })
}

/// A time, at least 0 `[s]`.
pub(super) fn time(option: &str, text: &str) -> Result<f64, Diagnostics> {
    let seconds = value(option, text, Dimension::Time)?;
    if seconds >= 0.0 {
        return Ok(seconds);
    }
    let message = format!("{option} must be at least 0 s, but is {text:?}");
    Err(refused(
        Diagnostic::new(Code::BadOption, message).help("write a time such as 5min"),
    ))
}

/// A share above 0 and at most 1.
pub(super) fn share(option: &str, text: &str) -> Result<f64, Diagnostics> {
    let share = value(option, text, Dimension::Share)?;
    if share > 0.0 && share <= 1.0 {
        return Ok(share);
    }
    let message = format!("{option} must be above 0 % and at most 100 %, but is {text:?}");
    Err(refused(
        Diagnostic::new(Code::BadOption, message).help("write a share such as 85%"),
    ))
}

/// `WHEN:GUEST=NUMBER:HOW LONG`; a guest's name may hold colons and equals signs itself.
pub(super) fn spell(text: &str, lab: &Lab) -> Result<Spell, Diagnostics> {
    let shape = || {
        let message = format!("--busy-at {text:?} is not WHEN:GUEST=NUMBER:HOW LONG");
        refused(Diagnostic::new(Code::BadOption, message).help("write for example 2h:web=3:10min"))
    };
    let (when, rest) = text.split_once(':').ok_or_else(shape)?;
    let (who, length) = rest.rsplit_once(':').ok_or_else(shape)?;
    let (name, number) = who.rsplit_once('=').ok_or_else(shape)?;
    let guests = number.trim().parse().map_err(|_| shape())?;
    let profile = lab
        .guests
        .iter()
        .position(|guest| guest.name == name.trim())
        .ok_or_else(|| {
            let names: Vec<&str> = lab.guests.iter().map(|guest| guest.name.as_str()).collect();
            let near = suggest::closest(name.trim(), names.iter().copied());
            let message = format!("--busy-at {text:?}: no guest of the lab is called {name:?}");
            refused(
                Diagnostic::new(Code::BadOption, message)
                    .help(near.map_or_else(String::new, |near| format!("did you mean {near:?}?")))
                    .help(format!("guests of this lab: {}", names.join(", "))),
            )
        })?;
    Ok(Spell {
        at_s: time("--busy-at", when)?,
        profile,
        guests,
        lasts_s: time("--busy-at", length)?,
    })
}

/// The one host that a command answers for.
pub(super) fn one_host<'a>(lab: &'a Lab, common: &CommonArgs) -> Result<&'a Host, Diagnostics> {
    match hosts_asked(lab, common)?.as_slice() {
        [host] => Ok(host),
        hosts => {
            let names: Vec<&str> = hosts.iter().map(|host| host.name.as_str()).collect();
            let message = format!(
                "this command answers for one host, but {} are meant",
                names.len()
            );
            let help = format!("name one with --host: {}", names.join(", "));
            Err(refused(Diagnostic::new(Code::OneHost, message).help(help)))
        }
    }
}
