//! A lab with the profiles that lines of guests show.

use super::estimates::{Estimated, Estimates};
use crate::lab::table::{SectionTable, Value};
use crate::lab::{Guest, Lab};

/// A kind, as far as a lab needs it.
#[derive(Debug, Clone)]
pub struct Profile<'a> {
    /// Its name.
    pub name: &'a str,
    /// How many run.
    pub count: u64,
    /// What the lines say of it.
    pub estimates: &'a Estimates,
    /// Share of the time that it is busy in each period of the lab; empty where that is not known.
    pub busy: Vec<f64>,
}

/// The guest that a kind is in the lab; one with the defaults where the lab has none of that name.
///
/// # Example
/// ```
/// use berthage::calibrate::guests::apply::guest_of;
/// assert_eq!(guest_of(&[], "web", 2e9).touched, 0.8e9);
/// ```
pub fn guest_of(guests: &[Guest], name: &str, memory: f64) -> Guest {
    let known = guests.iter().find(|guest| guest.name == name);
    known
        .cloned()
        .unwrap_or_else(|| Guest::with_defaults(name, memory))
}

/// The lab with the profiles put in by `pick` of each estimate; kinds that it does not have are added.
pub fn apply(
    lab: &Lab,
    profiles: &[Profile],
    pick: impl Fn(&str, &'static str, &Estimated) -> f64,
) -> Lab {
    let mut lab = lab.clone();
    for profile in profiles {
        let values = profile.estimates.iter();
        let values = values.map(|(key, one)| (*key, pick(profile.name, key, one)));
        let values: Vec<(&'static str, f64)> = values.collect();
        let place = lab
            .guests
            .iter()
            .position(|guest| guest.name == profile.name);
        let place = place.unwrap_or_else(|| {
            lab.guests.push(default_guest(profile));
            lab.guests.len() - 1
        });
        put_values(&mut lab.guests[place], values.iter().copied());
        let picked = values.iter().find(|(key, _)| *key == "busy");
        let known = profile.estimates.get("busy").filter(|one| one.value > 0.0);
        if let Some(((_, picked), known)) = picked.zip(known)
            && !profile.busy.is_empty()
        {
            // Where all of the time is moved, each period is.
            let shares = profile.busy.iter();
            let shares = shares.map(|share| (share * picked / known.value).min(1.0));
            lab.guests[place].busy = shares.collect::<Vec<f64>>().into();
        }
    }
    lab
}

/// A new guest with what the lines say.
pub fn added_guest(profile: &Profile) -> Guest {
    let mut guest = default_guest(profile);
    let values = profile.estimates.iter();
    put_values(&mut guest, values.map(|(key, one)| (*key, one.value)));
    guest
}

/// A new guest with the defaults of its memory and vCPUs.
fn default_guest(profile: &Profile) -> Guest {
    let of = |key: &str| profile.estimates.get(key).map(|one| one.value);
    let mut guest = Guest::with_defaults(profile.name, of("memory").unwrap_or(0.0));
    guest.vcpus = of("vcpus").map_or(1, |vcpus| vcpus as u64);
    guest.count = profile.count.max(1);
    guest.share = None;
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
fn put_values(guest: &mut Guest, values: impl Iterator<Item = (&'static str, f64)>) {
    // What the lab gives by period is more than one share of all the time.
    let is_by_period = guest.busy.is_by_period();
    let own = values.filter(|(key, _)| KEYS.contains(key));
    for (key, value) in own.filter(|(key, _)| *key != "busy" || !is_by_period) {
        guest.put(key, &Value::Number(value));
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
