//! Profiles as a lab file has them: values, ranges and comments.

use super::apply::value;
use super::common::PeriodAnswer;
use super::estimates::Estimated;
use super::profile::ProfileAnswer;
use crate::calibrate::apply::{STEP, written};
use crate::inventory::rewrite::Edit;
use crate::lab::keys::{Key, Kind, Section};
use crate::lab::{Guest, key_path};
use crate::survey::table;
use crate::unit::format;
use crate::unit::parse::Dimension;

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

/// The keys of a profile that were measured, with the values of the guest that they were put into; `how` words how a number
/// is known.
pub fn edits(
    profile: &ProfileAnswer,
    guest: &Guest,
    how: impl Fn(&Estimated) -> String,
) -> Vec<Edit> {
    let edit = |key: &'static Key| {
        let one = profile.estimates.get(key.name)?;
        let (value, range, periods) = if key.name == "busy" && !profile.busy.is_empty() {
            let (value, periods) = by_period(key, profile, guest)?;
            (value, None, periods)
        } else {
            let likely = value(guest, key.name)?;
            let most = match key.kind {
                Kind::Quantity(Dimension::Bytes) | Kind::SizeOrShare => guest.memory.max(likely),
                Kind::Quantity(Dimension::Share) | Kind::ShareByPeriod => 1.0,
                _ => f64::INFINITY,
            };
            let ends = [one.low.min(likely), likely, one.high.min(most).max(likely)];
            let [low, likely, high] = ends.map(|number| text(key, number));
            let range = [low?, likely?, high?];
            let value = range[1].clone();
            (
                value,
                (range[0] != range[2]).then_some(range),
                String::new(),
            )
        };
        Some(Edit {
            path: key_path(&["guest", &profile.guest, key.name]),
            value,
            range,
            comment: format!("{}: {}{periods}", key.name, how(one)),
        })
    };
    Section::Guest.keys().iter().filter_map(edit).collect()
}

/// How much a guest is busy in each period, as TOML, and where the values lie, for a comment.
fn by_period(key: &Key, profile: &ProfileAnswer, guest: &Guest) -> Option<(String, String)> {
    let (mut values, mut ends) = (Vec::new(), Vec::new());
    for (place, (name, _, [low, high])) in profile.busy.iter().enumerate() {
        let [value, low, high] =
            [guest.busy.in_period(place), *low, *high].map(|share| text(key, share));
        values.push(format!("{} = {}", key_path(&[name]), value?));
        ends.push(format!("{name} {} to {}", bare(&low?), bare(&high?)));
    }
    let ends = format!("; 90 % intervals: {}", ends.join(", "));
    Some((format!("{{ {} }}", values.join(", ")), ends))
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
    for edit in edits(profile, guest, how) {
        text.push_str(&format!("# {}\n{}\n", edit.comment, edit.given()));
    }
    text
}
