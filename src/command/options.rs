//! What options mean for a lab: how many of each guest must run, and when some become busy.

use super::call_error;
use crate::cli::quantity;
use crate::diagnose::{Diagnostic, Diagnostics};
use crate::lab::Lab;
use crate::lab::keys::range::{COUNT, RUN};
use crate::rollout::Spell;
use crate::sizing::composition::{Composition, Unit};

/// Most guests that can be needed of one profile.
const MOST: u64 = 1_000_000;

/// How many of each profile must run, in the order of the lab, by `--need "web=40,build=6"`; the fixed guests that it
/// does not name, as the lab has them.
///
/// # Errors
/// All that cannot be read, and names that are no guest of the lab.
pub(super) fn need(lab: &Lab, need: Option<&str>) -> Result<Vec<u64>, Diagnostics> {
    guests(lab, need, "--need")
}

/// Makes the guests of `--guests` run: a number of all kinds by the mix, or a number of each kind that it names.
///
/// # Errors
/// What cannot be read, names that are no guest of the lab, and fewer guests than the lab says must run.
pub(super) fn run_exactly(lab: &mut Lab, text: &str) -> Result<(), Diagnostics> {
    let counts = match text.trim().parse::<u64>() {
        Ok(number) if number <= MOST => by_mix(lab, number)?,
        _ => guests(lab, Some(text), "--guests")?,
    };
    for (guest, count) in lab.guests.iter_mut().zip(counts) {
        guest.count = count;
    }
    Ok(())
}

/// So many guests in all: those that must run, and the others by the mix.
fn by_mix(lab: &Lab, number: u64) -> Result<Vec<u64>, Diagnostic> {
    let composition = Composition::new(&lab.guests);
    let fixed = composition.fixed_guests();
    match composition.unit() {
        _ if number == 0 => Err(call_error::nothing_needed("--guests")),
        Unit::Guests if number >= fixed => Ok(composition.counts(number - fixed)),
        Unit::Sets if fixed > 0 && number.is_multiple_of(fixed) => {
            Ok(composition.counts(number / fixed))
        }
        unit => {
            let is_set = unit == Unit::Sets;
            Err(call_error::not_a_mix("--guests", number, fixed, is_set))
        }
    }
}

/// How many of each profile by the text of an option.
fn guests(lab: &Lab, need: Option<&str>, option: &str) -> Result<Vec<u64>, Diagnostics> {
    let fixed = lab.guests.iter().map(|guest| guest.count);
    let mut counts: Vec<u64> = fixed.collect();
    let Some(need) = need else {
        return Ok(counts);
    };
    let mut errors: Vec<Diagnostic> = Vec::new();
    let mut seen = Vec::new();
    // A comma may stand at the end; nothing at all is no need.
    for item in need.strip_suffix(',').unwrap_or(need).split(',') {
        match needed(lab, item, option) {
            Ok((place, _)) if seen.contains(&place) => {
                errors.push(call_error::named_twice(option, &lab.guests[place]));
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
        Err(errors.into())
    }
}

/// Which guest of the lab, and how many of it.
fn needed(lab: &Lab, item: &str, option: &str) -> Result<(usize, u64), Diagnostic> {
    let parts = item.rsplit_once('=');
    let (name, count) = parts.ok_or_else(|| call_error::no_number(option, item.trim()))?;
    let (name, count) = (name.trim(), count.trim());
    let place = lab.guests.iter().position(|guest| guest.name == name);
    let place = place.ok_or_else(|| call_error::unknown_need(option, name, lab))?;
    let number = count.parse().ok().filter(|number| *number <= MOST);
    let wrong = || call_error::wrong_number(option, name, count, MOST);
    Ok((place, number.ok_or_else(wrong)?))
}

/// A busy spell of guests of the lab, `WHEN:GUEST=NUMBER:HOW LONG`; a guest's name may hold colons and equals signs.
pub(super) fn spell(text: &str, lab: &Lab) -> Result<Spell, Diagnostic> {
    let parts = || {
        let (when, rest) = text.split_once(':')?;
        let (who, length) = rest.rsplit_once(':')?;
        let (guest, number) = who.rsplit_once('=')?;
        Some((when, guest, number, length))
    };
    let (when, guest, number, length) = parts().ok_or_else(|| call_error::no_spell(text))?;
    let guests = number.trim().parse::<u32>().ok().map(u64::from);
    let guests = guests.filter(|guests| COUNT.holds(*guests as f64));
    let guests = guests.ok_or_else(|| call_error::wrong_spell_number(text, number))?;
    let mut names = lab.guests.iter().map(|guest| guest.name.as_str());
    let profile = names.position(|name| name == guest.trim());
    let profile = profile.ok_or_else(|| call_error::no_guest_of_spell(text, guest, lab))?;
    let option = format!("--busy-at {text:?}");
    let time = |part: &str, text: &str| quantity(&format!("{option}: {part}"), text, RUN);
    Ok(Spell {
        at_s: time("WHEN", when)?,
        profile,
        guests,
        lasts_s: time("HOW LONG", length)?,
    })
}
