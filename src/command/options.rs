//! Values that options carry: times and shares written as in a file, busy spells, one host.

use super::hosts_asked;
use crate::cli::CommonArgs;
use crate::diagnose::{Diagnostic, Diagnostics, ErrorKind, source::Sources, suggest};
use crate::lab::keys::range::{CEILING, COUNT, RUN, Range};
use crate::lab::{Host, Lab};
use crate::rollout::Spell;
use crate::unit::parse::{Dimension, ParseError, parse};

/// A single error about the call.
pub(super) fn refused(diagnostic: Diagnostic) -> Diagnostics {
    Diagnostics::new(Sources::default(), vec![diagnostic])
}

/// The value of an option in its base unit.
///
/// # Errors
/// What was given, what is allowed, and a value to write: `example`, or the one that was meant.
fn value(
    option: &str,
    text: &str,
    dimension: Dimension,
    range: Range,
    example: &str,
) -> Result<f64, Diagnostics> {
    let (what, hint) = match parse(text, dimension) {
        Ok(value) if range.holds(value) => return Ok(value),
        Ok(_) => (format!("is {text:?}"), None),
        Err(error) => {
            let has_reading = error.readings().any(|value| range.holds(value));
            let wrong_unit = matches!(
                error,
                ParseError::UnknownUnit { .. }
                    | ParseError::OtherUnit { .. }
                    | ParseError::Comma { .. }
            );
            let hint = (has_reading || wrong_unit).then(|| error.hint());
            // The others show all that was given.
            let given = if wrong_unit && !matches!(error, ParseError::Comma { .. }) {
                format!("{text:?} ")
            } else {
                String::new()
            };
            (format!("{given}{error}"), hint)
        }
    };
    let message = format!("{option} must be {}, but {what}", range.words);
    let hint = hint.unwrap_or_else(|| format!("write for example {example}"));
    Err(refused(
        Diagnostic::new(ErrorKind::InvalidOption, message).hint(hint),
    ))
}

/// A time `[s]`.
pub(super) fn time(option: &str, text: &str, range: Range) -> Result<f64, Diagnostics> {
    value(option, text, Dimension::Time, range, "5min")
}

/// A share above 0 and at most 1.
pub(super) fn share(option: &str, text: &str) -> Result<f64, Diagnostics> {
    value(option, text, Dimension::Share, CEILING, "85%")
}

/// `WHEN:GUEST=NUMBER:HOW LONG`; a guest's name may hold colons and equals signs itself.
pub(super) fn spell(text: &str, lab: &Lab) -> Result<Spell, Diagnostics> {
    let shape = || {
        let message = format!("--busy-at {text:?} is not WHEN:GUEST=NUMBER:HOW LONG");
        refused(
            Diagnostic::new(ErrorKind::InvalidOption, message)
                .hint("write for example 2h:web=3:10min"),
        )
    };
    let (when, rest) = text.split_once(':').ok_or_else(shape)?;
    let (who, length) = rest.rsplit_once(':').ok_or_else(shape)?;
    let (name, number) = who.rsplit_once('=').ok_or_else(shape)?;
    let guests = number
        .trim()
        .parse::<u32>()
        .ok()
        .map(u64::from)
        .filter(|guests| COUNT.holds(*guests as f64))
        .ok_or_else(|| {
            let message = format!(
                "--busy-at {text:?}: NUMBER must be {}, but is {number:?}",
                COUNT.words
            );
            refused(
                Diagnostic::new(ErrorKind::InvalidOption, message)
                    .hint("write for example 2h:web=3:10min"),
            )
        })?;
    let profile = lab
        .guests
        .iter()
        .position(|guest| guest.name == name.trim())
        .ok_or_else(|| {
            let names: Vec<&str> = lab.guests.iter().map(|guest| guest.name.as_str()).collect();
            let near = suggest::closest(name.trim(), names.iter().copied());
            let message = format!("--busy-at {text:?}: no guest of the lab is called {name:?}");
            refused(
                Diagnostic::new(ErrorKind::InvalidOption, message)
                    .hint(near.map_or_else(String::new, |near| format!("did you mean {near:?}?")))
                    .hint(format!("guests of this lab: {}", names.join(", "))),
            )
        })?;
    Ok(Spell {
        at_s: time(&format!("--busy-at {text:?}: WHEN"), when, RUN)?,
        profile,
        guests,
        lasts_s: time(&format!("--busy-at {text:?}: HOW LONG"), length, RUN)?,
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
            let hint = format!("name one with --host: {}", names.join(", "));
            Err(refused(
                Diagnostic::new(ErrorKind::AmbiguousHost, message).hint(hint),
            ))
        }
    }
}
