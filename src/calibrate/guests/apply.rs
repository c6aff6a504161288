//! A lab with the profiles that lines of guests show.

use super::estimates::Estimated;
use super::profile::ProfileAnswer;
use crate::lab::table::{SectionTable, Value};
use crate::lab::{Guest, Lab};

/// An estimate of a kind, by name and key, at another value than its own.
pub type Moved<'a> = (&'a str, &'a str, f64);

/// The lab with the profiles put in, all estimates at their values but one; kinds that it does not have are added.
pub fn apply(lab: &Lab, profiles: &[ProfileAnswer], moved: Option<Moved>) -> Lab {
    let mut lab = lab.clone();
    for profile in profiles {
        let mut guests = lab.guests.iter();
        let place = guests.position(|guest| guest.name == profile.guest);
        let place = place.unwrap_or_else(|| {
            lab.guests.push(profile.default_guest());
            lab.guests.len() - 1
        });
        let value = |key: &str, one: &Estimated| match moved {
            Some((name, wanted, value)) if name == profile.guest && wanted == key => value,
            _ => one.value,
        };
        let guest = &mut lab.guests[place];
        put_values(guest, profile, value);
        let busy = profile.estimates.get("busy").filter(|one| one.value > 0.0);
        if let Some(busy) = busy.filter(|_| !profile.busy.is_empty()) {
            // Where all of the time is moved, each period is.
            let moved = value("busy", busy);
            let shares = profile.busy.iter();
            let shares = shares.map(|(_, share, _)| (share * moved / busy.value).min(1.0));
            guest.busy = shares.collect::<Vec<f64>>().into();
        }
    }
    lab
}

/// A new guest with what the lines say, and defaults for what they do not.
pub fn added_guest(profile: &ProfileAnswer) -> Guest {
    let mut guest = profile.default_guest();
    put_values(&mut guest, profile, |_, one| one.value);
    guest
}

/// The keys of a guest that [`apply`] changes.
const KEYS: [&str; 13] = [
    "overhead",
    "touched",
    "touched_busy",
    "common",
    "repeats",
    "common_busy",
    "keeps",
    "busy",
    "idle_load",
    "busy_load",
    "written",
    "net_idle",
    "net_busy",
];

/// Puts values into a guest, within the relations of its keys.
fn put_values(guest: &mut Guest, profile: &ProfileAnswer, value: impl Fn(&str, &Estimated) -> f64) {
    // What the lab gives by period is more than one share of all the time.
    let is_by_period = guest.busy.is_by_period();
    for (key, one) in &profile.estimates {
        if KEYS.contains(key) && !(is_by_period && *key == "busy") {
            guest.put(key, &Value::Number(value(key, one)));
        }
    }
    guest.touched = guest.touched.min(guest.memory);
    guest.touched_busy = guest.touched_busy.clamp(guest.touched, guest.memory);
    let shared = guest.common + guest.repeats;
    if shared > guest.touched {
        guest.common *= guest.touched / shared;
        guest.repeats = guest.touched - guest.common;
    }
    let kept = guest.keeps * (guest.touched_busy - guest.touched);
    guest.common_busy = guest.common_busy.min(kept).max(0.0);
    guest.busy_load = guest.busy_load.max(guest.idle_load);
    guest.net_busy = guest.net_busy.max(guest.net_idle);
}

/// The value of a key of a guest as [`apply`] leaves it; none of keys that it does not change.
pub fn value(guest: &Guest, key: &str) -> Option<f64> {
    KEYS.contains(&key).then(|| guest.number(key))
}
