//! The sentences of `calibrate` about lines of guests.

use std::fmt::{self, Display, Formatter};

use super::calibrate::bare;
use super::caution::{Caution, Worded, written_as_cautions, written_as_text};
use super::interval::of_kind;
use crate::calibrate::guests::answer::{GuestsAnswer, GuestsCaution};
use crate::calibrate::guests::common::PeriodAnswer;
use crate::calibrate::guests::estimates::{Estimated, Method, Needs};
use crate::calibrate::guests::profile::ProfileAnswer;
use crate::lab::keys::{Kind, Section};
use crate::unit::format::{bytes, number, plural, seconds, share};

written_as_text!(Method, Needs);
written_as_cautions!(GuestsCaution);

fn guests(n: usize) -> String {
    plural(n as u64, "guest", "guests")
}

impl Display for Method {
    fn fmt(&self, f: &mut Formatter) -> fmt::Result {
        f.write_str(&match *self {
            Method::Read(n) => format!("read of {}", guests(n)),
            Method::Median(1) => {
                "read of 1 guest, which others are assumed to lie within 15 % of".to_owned()
            }
            Method::Median(n) => format!("median of {}", guests(n)),
            Method::Smallest(n) => format!("smallest of {}: too few for a median", guests(n)),
            Method::Spells(n) => {
                format!("mean of {}", plural(n as u64, "busy spell", "busy spells"))
            }
            Method::Time(n, spells) => {
                format!(
                    "share of the time of {}, {}",
                    guests(n),
                    plural(spells as u64, "busy spell", "busy spells")
                )
            }
            Method::NeverBusy(n) => format!("no busy spell of {}", guests(n)),
            Method::Mean(n) => format!("mean over time of {}", guests(n)),
            Method::Split(n) => format!("merged pages of {}, split as in the lab", guests(n)),
            Method::Rest(n) => format!(
                "what {} hold, less what the lab gives for the rest",
                guests(n)
            ),
        })
    }
}

impl Display for Needs {
    fn fmt(&self, f: &mut Formatter) -> fmt::Result {
        f.write_str(match self {
            Needs::Owner => "survey --each as the user that runs the guests, or as root",
            Needs::Root => "survey --each --pages as root",
            Needs::Start => "a guest that is started while it is watched",
            Needs::Spell => "a busy spell in which a guest grows, while it is watched",
            Needs::Day => "a whole day",
            Needs::Dispatches => "the scheduler's counters (/proc/PID/task/*/schedstat)",
            Needs::Interface => "the guests' network interfaces",
            Needs::Periods => "`hours` of the lab's periods, and a day of lines or more",
        })
    }
}

impl Caution for GuestsCaution {
    fn worded(&self) -> Worded {
        match self {
            GuestsCaution::Little(name, count, time, spells) => {
                let spells = plural(*spells as u64, "busy spell", "busy spells");
                Worded::new(
                    "little",
                    format!("{name}: so few guests, spells or so short a time say little."),
                    format!(
                        "{name} was seen in {}, for {} and in {spells}: fewer than 4 guests, a day or 10 spells say \
                         little, and nights and weekends may differ.",
                        guests(*count),
                        seconds(*time)
                    ),
                )
            }
            GuestsCaution::Together(time, count) => Worded::new(
                "scarce",
                "How guests are busy together shows after two weeks with ten of a kind.".to_owned(),
                format!(
                    "What guests do at the same time was seen for {} in {} of a kind: less than two weeks, or fewer than ten \
                     guests, leaves the rare moments at which many are busy to chance.",
                    seconds(*time),
                    guests(*count)
                ),
            ),
            GuestsCaution::Estimate => Worded::fixed(
                "estimate",
                "An estimate from the lines and the numbers given.",
                "The answer is an estimate from the lines and the numbers given.",
            ),
        }
    }
}

/// A value of a key as a person reads it.
pub fn value(key: &str, number: f64) -> String {
    // What one more guest holds is no key of the inventory.
    let kind = Section::Guest
        .key(key)
        .map_or(Kind::SizeOrShare, |key| key.kind);
    of_kind(Some(kind), number)
}

/// An interval of a key as a person reads it.
pub fn interval(key: &str, one: &Estimated) -> String {
    if one.low < one.high {
        format!("{} to {}", value(key, one.low), value(key, one.high))
    } else {
        String::new()
    }
}

/// "12 % (5 % to 20 %)" of a kind in a period.
pub fn busy_in(period: &PeriodAnswer, kind: &str) -> String {
    let known = period.busy.get(kind).zip(period.intervals.get(kind));
    known.map_or_else(
        || "–".to_owned(),
        |(busy, [low, high])| format!("{} ({} to {})", share(*busy), share(*low), share(*high)),
    )
}

/// How guests are busy together.
pub fn correlation(one: &Estimated) -> String {
    let [value, low, high] = [one.value, one.low, one.high].map(number);
    format!(
        "Correlation of busy spells: {value} ({low} to {high}), {}.",
        one.how
    )
}

/// The sentences a person quotes.
pub fn lead(answer: &GuestsAnswer) -> String {
    let kinds: Vec<String> = answer.profiles.iter().map(kind).collect();
    let breaks = match answer.predicts.breaks_at.value {
        Some(_) => format!(
            " and thrashes or kills guests at about {} at the latest",
            bare(answer.predicts.breaks_at)
        ),
        None => String::new(),
    };
    format!(
        "Watched for {}: {}. With these, {} safely holds {} {}{breaks}.",
        seconds(answer.seconds),
        kinds.join("; "),
        answer.host,
        bare(answer.predicts.fits),
        answer.predicts.unit
    )
}

fn kind(profile: &ProfileAnswer) -> String {
    let held = profile.estimates.get("unique");
    let held = held.map_or_else(String::new, |one| {
        format!(", each holds {}", bytes(one.value))
    });
    let busy = profile.estimates.get("busy");
    let busy = busy.map_or_else(String::new, |one| {
        if profile.spells == 0 {
            ", never busy".to_owned()
        } else {
            format!(", busy {} of the time", share(one.value))
        }
    });
    format!("{} ({}{held}{busy})", profile.guest, guests(profile.guests))
}

/// What the lines of a kind do not say, a line for each thing that would tell it.
pub fn not_measured(profile: &ProfileAnswer) -> Vec<String> {
    let mut lines: Vec<(Needs, Vec<&str>)> = Vec::new();
    for one in &profile.not_measured {
        match lines.iter_mut().find(|(needs, _)| *needs == one.needs) {
            Some((_, keys)) => keys.push(one.key),
            None => lines.push((one.needs, vec![one.key])),
        }
    }
    let line = |(needs, keys): (Needs, Vec<&str>)| {
        if needs == Needs::Root {
            return format!(
                "{}: how merged pages split into common and repeats stays as in the lab; for it: {needs}.",
                profile.guest
            );
        }
        let stay = if keys.len() == 1 { "stays" } else { "stay" };
        format!(
            "{}: {} {stay} as in the lab; for it: {needs}.",
            profile.guest,
            keys.join(", ")
        )
    };
    lines.into_iter().map(line).collect()
}
