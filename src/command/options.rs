//! What options mean for a lab: how many of each guest must run, and when some become busy.

use crate::cli::quantity;
use crate::diagnose::{Diagnostic, Diagnostics, ErrorKind, suggest};
use crate::lab::keys::range::{COUNT, RUN};
use crate::lab::{Lab, Number};
use crate::rollout::Spell;
use crate::sizing::composition::{Composition, Unit};
use crate::unit::format;
use crate::unit::parse::Dimension;

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
        guest.number = match guest.number.share() {
            Some(share) => Number::Both { count, share },
            None => Number::Fixed(count),
        };
    }
    Ok(())
}

/// So many guests in all: those that must run, and the others by the mix.
fn by_mix(lab: &Lab, number: u64) -> Result<Vec<u64>, Diagnostic> {
    let composition = Composition::new(&lab.guests);
    let fixed = composition.fixed_guests();
    match composition.unit() {
        Unit::Guests if number >= fixed => Ok(composition.counts(number - fixed)),
        Unit::Sets if fixed > 0 && number.is_multiple_of(fixed) => {
            Ok(composition.counts(number / fixed))
        }
        unit => {
            let must = format::plural(fixed, "guest", "guests");
            let wrong = match unit {
                Unit::Guests => format!("is fewer than the {must} that must run"),
                Unit::Sets => format!("is not a multiple of the set of {must} that the lab counts"),
            };
            let message = format!("--guests {number} {wrong}");
            let error = Diagnostic::new(ErrorKind::InvalidNeed, message);
            Err(error.hint("name each kind: --guests \"web=40,build=6\""))
        }
    }
}

/// How many of each profile by the text of an option.
fn guests(lab: &Lab, need: Option<&str>, option: &str) -> Result<Vec<u64>, Diagnostics> {
    let fixed = lab.guests.iter().map(|guest| guest.number.count());
    let mut counts: Vec<u64> = fixed.collect();
    let Some(need) = need else {
        return Ok(counts);
    };
    let mut errors = Vec::new();
    let mut seen = Vec::new();
    // A comma may stand at the end; nothing at all is no need.
    for item in need.strip_suffix(',').unwrap_or(need).split(',') {
        match needed(lab, item, option) {
            Ok((place, _)) if seen.contains(&place) => {
                let message = format!("{option} names {:?} twice", lab.guests[place].name);
                let error = Diagnostic::new(ErrorKind::InvalidNeed, message);
                errors.push(error.hint("say once how many of it must run"));
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
    let invalid =
        |message, hint: String| Diagnostic::new(ErrorKind::InvalidNeed, message).hint(hint);
    let Some((name, count)) = item.rsplit_once('=') else {
        let wrong = format!("but {:?} has no =", item.trim());
        let message = format!("{option} takes guests and how many of each must run, {wrong}");
        let hint = format!("write for example {option} \"web=40,build=6\"");
        return Err(invalid(message, hint));
    };
    let (name, count) = (name.trim(), count.trim());
    let Some(place) = lab.guests.iter().position(|guest| guest.name == name) else {
        let names = || lab.guests.iter().map(|guest| guest.name.as_str());
        let message = format!("{option} {name:?} names no guest of the lab");
        let mut error = Diagnostic::new(ErrorKind::UnknownNeed, message).hint_near(name, names());
        if name.contains([';', '=']) {
            error = error.hint(format!(
                "put commas between guests: {option} \"web=40,build=6\""
            ));
        }
        let known = suggest::list(names(), 20);
        return Err(error.hint(format!("guests of this lab: {known}")));
    };
    match count.parse() {
        Ok(number) if number <= MOST => Ok((place, number)),
        _ => {
            let most = format::count(MOST);
            let allowed = format!("a whole number from 0 to {most}, but gives {count:?}");
            let message = format!("{option} must give {name:?} {allowed}");
            Err(invalid(
                message,
                format!("write for example {option} \"{name}=40\""),
            ))
        }
    }
}

/// A busy spell of guests of the lab, `WHEN:GUEST=NUMBER:HOW LONG`; a guest's name may hold colons and equals signs.
pub(super) fn spell(text: &str, lab: &Lab) -> Result<Spell, Diagnostic> {
    let option = format!("--busy-at {text:?}");
    let invalid =
        |wrong: String| Diagnostic::new(ErrorKind::InvalidOption, format!("{option}{wrong}"));
    let example = "write for example 2h:web=3:10min";
    let parts = || {
        let (when, rest) = text.split_once(':')?;
        let (who, length) = rest.rsplit_once(':')?;
        let (guest, number) = who.rsplit_once('=')?;
        Some((when, guest, number, length))
    };
    let Some((when, guest, number, length)) = parts() else {
        return Err(invalid(" is not WHEN:GUEST=NUMBER:HOW LONG".to_owned()).hint(example));
    };
    let guests = number.trim().parse::<u32>().ok().map(u64::from);
    let Some(guests) = guests.filter(|guests| COUNT.holds(*guests as f64)) else {
        let wrong = format!(": NUMBER must be {}, but is {number:?}", COUNT.words);
        return Err(invalid(wrong).hint(example));
    };
    let names = || lab.guests.iter().map(|guest| guest.name.as_str());
    let Some(profile) = names().position(|name| name == guest.trim()) else {
        let known: Vec<&str> = names().collect();
        return Err(
            invalid(format!(": no guest of the lab is called {guest:?}"))
                .hint_near(guest.trim(), names())
                .hint(format!("guests of this lab: {}", known.join(", "))),
        );
    };
    let time =
        |part: &str, text: &str| quantity(&format!("{option}: {part}"), text, Dimension::Time, RUN);
    Ok(Spell {
        at_s: time("WHEN", when)?,
        profile,
        guests,
        lasts_s: time("HOW LONG", length)?,
    })
}
