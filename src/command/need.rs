//! `--need "web=40,build=6"`: how many of each guest must run.

use crate::diagnose::{Diagnostic, Diagnostics, ErrorKind, source::Sources, suggest};
use crate::lab::{Lab, Number};
use crate::unit::format;

/// Most guests that can be needed of one profile.
const MOST: u64 = 1_000_000;

/// How many of each profile must run, in the order of the lab: what `--need` names, and the fixed guests it does not.
///
/// # Errors
/// All that cannot be read, and names that are no guest of the lab.
pub(super) fn counts(lab: &Lab, need: Option<&str>) -> Result<Vec<u64>, Diagnostics> {
    let mut counts: Vec<u64> = lab
        .guests
        .iter()
        .map(|guest| match guest.number {
            Number::Fixed(count) => count,
            Number::Share(_) => 0,
        })
        .collect();
    let mut errors = Vec::new();
    let mut seen = Vec::new();
    let Some(need) = need else {
        return Ok(counts);
    };
    // A comma may stand at the end; nothing at all is no need.
    for item in need.strip_suffix(',').unwrap_or(need).split(',') {
        match counted(lab, item) {
            Ok((place, _)) if seen.contains(&place) => {
                errors.push(twice(&lab.guests[place].name));
            }
            Ok((place, count)) => {
                seen.push(place);
                counts[place] = count;
            }
            Err(error) => errors.push(error),
        }
    }
    if errors.is_empty() {
        Ok(counts)
    } else {
        Err(Diagnostics::new(Sources::default(), errors))
    }
}

/// Which guest of the lab, and how many of it.
fn counted(lab: &Lab, item: &str) -> Result<(usize, u64), Diagnostic> {
    let (name, count) = item.rsplit_once('=').ok_or_else(|| unreadable(item))?;
    let (name, count) = (name.trim(), count.trim());
    let place = lab.guests.iter().position(|guest| guest.name == name);
    let place = place.ok_or_else(|| unknown(lab, name))?;
    let number = count.parse::<u64>().ok().filter(|number| *number <= MOST);
    Ok((place, number.ok_or_else(|| uncountable(name, count))?))
}

fn unreadable(item: &str) -> Diagnostic {
    Diagnostic::new(
        ErrorKind::InvalidNeed,
        format!(
            "--need takes guests and how many of each must run, but {:?} has no =",
            item.trim()
        ),
    )
    .hint("write for example --need \"web=40,build=6\"")
}

fn twice(name: &str) -> Diagnostic {
    Diagnostic::new(
        ErrorKind::InvalidNeed,
        format!("--need names {name:?} twice"),
    )
    .hint("say once how many of it must run")
}

fn uncountable(name: &str, count: &str) -> Diagnostic {
    Diagnostic::new(
        ErrorKind::InvalidNeed,
        format!(
            "--need must give {name:?} a whole number from 0 to {}, but gives {count:?}",
            format::count(MOST)
        ),
    )
    .hint(format!("write for example --need \"{name}=40\""))
}

fn unknown(lab: &Lab, name: &str) -> Diagnostic {
    let names = || lab.guests.iter().map(|guest| guest.name.as_str());
    let near = suggest::closest(name, names());
    Diagnostic::new(
        ErrorKind::UnknownNeed,
        format!("--need {name:?} names no guest of the lab"),
    )
    .hint(near.map_or_else(String::new, |near| format!("did you mean {near:?}?")))
    .hint(if name.contains([';', '=']) {
        "put commas between guests: --need \"web=40,build=6\""
    } else {
        ""
    })
    .hint(format!(
        "guests of this lab: {}",
        suggest::list(names(), 20)
    ))
}
