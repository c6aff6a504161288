//! Profiles as a lab file has them: values, ranges and comments.

use super::answer::ProfileAnswer;
use super::apply::value;
use super::common::PeriodAnswer;
use super::estimates::Estimated;
use crate::calibrate::apply::{STEP, written};
use crate::inventory::rewrite::range_as_toml;
use crate::lab::keys::{Key, Kind, Section};
use crate::lab::{Guest, key_path};
use crate::survey::table;
use crate::unit::format;
use crate::unit::parse::Dimension;

/// A key of a profile as a file has it.
#[derive(Debug, Clone, PartialEq)]
pub struct KeyLine {
    /// The key.
    pub key: &'static str,
    /// The value as TOML.
    pub value: String,
    /// Low, likely and high as TOML, where they differ.
    pub range: Option<[String; 3]>,
    /// Where the values of periods lie, for its comment.
    pub periods: String,
}

impl KeyLine {
    /// The value or its range as TOML.
    pub fn toml(&self) -> String {
        let range = self.range.as_ref();
        range.map_or_else(|| self.value.clone(), range_as_toml)
    }
}

/// Digits after the point of shares in percent, and of gigabytes a day.
const DECIMALS: f64 = 1e3;

/// A number of a key as TOML; none where the key does not take it.
fn text(key: &Key, number: f64) -> Option<String> {
    match key.kind {
        Kind::Quantity(Dimension::Bytes) | Kind::SizeOrShare => {
            Some(format!("\"{}\"", written((number / STEP).round())))
        }
        Kind::Quantity(Dimension::Share) | Kind::ShareByPeriod => {
            let percent = (number * 100.0 * DECIMALS).round() / DECIMALS;
            table::toml_value(Section::Guest, key.name, percent / 100.0)
        }
        Kind::Quantity(Dimension::ByteRate) => {
            let daily = (number * 86_400.0 / 1e9 * DECIMALS).round() / DECIMALS;
            Some(format!("\"{daily} GB/day\""))
        }
        _ => table::toml_value(Section::Guest, key.name, number),
    }
}

/// The keys of a profile that were measured, with the values of the guest that they were put into.
pub fn lines(profile: &ProfileAnswer, guest: &Guest) -> Vec<(KeyLine, Estimated)> {
    let known = Section::Guest.keys().iter();
    let line = |key: &'static Key| {
        let one = profile.estimates.get(key.name)?;
        if key.name == "busy" && !profile.busy.is_empty() {
            return Some((by_period(key, profile, guest)?, *one));
        }
        let likely = value(guest, key.name)?;
        let most = match key.kind {
            Kind::Quantity(Dimension::Bytes) | Kind::SizeOrShare => guest.memory.max(likely),
            Kind::Quantity(Dimension::Share) | Kind::ShareByPeriod => 1.0,
            _ => f64::INFINITY,
        };
        let ends = [one.low.min(likely), likely, one.high.min(most).max(likely)];
        let [low, likely, high] = ends.map(|number| text(key, number));
        let (low, likely, high) = (low?, likely?, high?);
        let is_range = low != likely || likely != high;
        let line = KeyLine {
            key: key.name,
            value: likely.clone(),
            range: is_range.then_some([low, likely, high]),
            periods: String::new(),
        };
        Some((line, *one))
    };
    known.filter_map(line).collect()
}

/// How much a guest is busy in each period.
fn by_period(key: &'static Key, profile: &ProfileAnswer, guest: &Guest) -> Option<KeyLine> {
    let (mut values, mut ends) = (Vec::new(), Vec::new());
    for (place, (name, _, [low, high])) in profile.busy.iter().enumerate() {
        let [value, low, high] =
            [guest.busy.in_period(place), *low, *high].map(|share| text(key, share));
        values.push(format!("{} = {}", key_path(&[name]), value?));
        ends.push(format!("{name} {} to {}", bare(&low?), bare(&high?)));
    }
    Some(KeyLine {
        key: key.name,
        value: format!("{{ {} }}", values.join(", ")),
        range: None,
        periods: format!("; 90 % intervals: {}", ends.join(", ")),
    })
}

/// A quoted value without its quotes, for a sentence.
fn bare(toml: &str) -> &str {
    toml.trim_matches('"')
}

/// Periods as tables of their own; `file` is where they come from.
pub fn periods(periods: &[PeriodAnswer], file: &str) -> String {
    let tables = periods.iter().map(|period| {
        let share = format::share(period.share);
        format!(
            "\n# By the load of all guests in {file}.\n[[period]]\nname = {}\nshare = \"{share}\"\n",
            table::quoted(&period.name)
        )
    });
    tables.collect()
}

/// A profile as a table of its own; `how` words how a number is known, `file` is where it comes from.
pub fn profile(
    profile: &ProfileAnswer,
    guest: &Guest,
    file: &str,
    how: impl Fn(&Estimated) -> String,
) -> String {
    let name = table::quoted(&profile.guest);
    let running = profile.running.max(1);
    let (memory, vcpus) = (table::size(guest.memory.round()), guest.vcpus);
    let mut text = format!(
        "[[guest]]\nname = {name}\n# So many ran at the end of {file}.\ncount = {running}\nvcpus = {vcpus}\nmemory = \"{memory}\"\n"
    );
    for (line, one) in lines(profile, guest) {
        text.push_str(&format!(
            "# {}: {}{}\n{} = {}\n",
            line.key,
            how(&one),
            line.periods,
            line.key,
            line.toml()
        ));
    }
    text
}
