//! `--need "web=40,build=6"`: how many of each guest must run.

use crate::diagnose::{Diagnostic, Diagnostics, codes::Code, source::Sources, suggest};
use crate::inventory::lab::{Lab, Number};

/// Most guests that can be needed of one profile.
const MOST: u64 = 1_000_000;

/// How many of each profile must run, in the order of the lab: what `--need` names, and the fixed guests it does not.
///
/// # Errors
/// What cannot be read, and names that are no guest of the lab.
pub(super) fn counts(lab: &Lab, need: Option<&str>) -> Result<Vec<u64>, Diagnostics> {
    let mut counts: Vec<u64> = lab
        .guests
        .iter()
        .map(|guest| match guest.number {
            Number::Fixed(count) => count,
            Number::Share(_) => 0,
        })
        .collect();
    for item in need
        .unwrap_or("")
        .split(',')
        .filter(|item| !item.trim().is_empty())
    {
        let (name, count) = item.rsplit_once('=').ok_or_else(|| unreadable(item))?;
        let (name, count) = (name.trim(), count.trim().parse::<u64>());
        let count = count
            .ok()
            .filter(|count| *count <= MOST)
            .ok_or_else(|| unreadable(item))?;
        let place = lab.guests.iter().position(|guest| guest.name == name);
        counts[place.ok_or_else(|| unknown(lab, name))?] = count;
    }
    Ok(counts)
}

fn unreadable(item: &str) -> Diagnostics {
    let error = Diagnostic::new(
        Code::BadNeed,
        format!(
            "--need takes guests and how many must run, but {:?} is neither",
            item.trim()
        ),
    )
    .help("write --need \"web=40,build=6\", whole numbers up to 1,000,000");
    Diagnostics::new(Sources::default(), vec![error])
}

fn unknown(lab: &Lab, name: &str) -> Diagnostics {
    let names = || lab.guests.iter().map(|guest| guest.name.as_str());
    let near = suggest::closest(name, names());
    let error = Diagnostic::new(
        Code::UnknownNeed,
        format!("--need {name:?} names no guest of the lab"),
    )
    .help(near.map_or_else(String::new, |near| format!("did you mean {near:?}?")))
    .help(format!(
        "guests of this lab: {}",
        suggest::list(names(), 20)
    ));
    Diagnostics::new(Sources::default(), vec![error])
}
