//! How sure the count is, in sentences.

use super::fit::total;
use super::name::in_sentence;
use crate::lab::Lab;
use crate::lab::keys::{Kind, key_of};
use crate::sizing::answer::{HostAnswer, ResourceAnswer};
use crate::sizing::uncertainty::{Draws, IntervalAnswer, Move};
use crate::unit::format::{self, plural};
use crate::unit::parse::Dimension;

/// Fewer draws than this say little about the ends: 50 lie beyond each. Assumption of this project.
const ENOUGH: u64 = 1_000;

/// "Measure guest.web.touched_busy first: 41 guests at 1.3 GiB, 28 at 1.79 GiB.", and what to measure then.
pub fn move_line(host: &HostAnswer, lab: &Lab, place: usize, one: &Move) -> String {
    // A mean of counts is near to a whole number of guests that a reader can think of.
    let guests = |mean: f64| {
        let more = mean.round().max(0.0) as u64;
        let all = format::count(total(host, lab, more));
        match (more, &host.running) {
            // Those that must run are what is counted least, whether they fit or not.
            (0, Some(_)) if host.unit == "guests" => format!("{all} or fewer"),
            _ => all,
        }
    };
    let what = match place {
        0 => format!("Measure {} first", one.key),
        _ => format!("Then {}", one.key),
    };
    format!(
        "{what}: {} guests at {}, {} at {}.",
        guests(one.at_low),
        value(&one.key, one.low),
        guests(one.at_high),
        value(&one.key, one.high)
    )
}

/// "25 is with every guess at its likely value; in 95 % of the draws fewer fit, so plan with the range."; none where the count
/// is within the range.
pub fn outside(host: &HostAnswer, lab: &Lab, interval: &IntervalAnswer) -> Option<String> {
    let n = host.fits?;
    let fit = if interval.high.is_some_and(|high| n > high) {
        "fewer fit, so plan with the range"
    } else if interval.low.is_some_and(|low| n < low) {
        "more fit"
    } else {
        return None;
    };
    let all = format::count(total(host, lab, n));
    Some(format!(
        "{all} is with every guess at its likely value; in 95 % of the draws {fit}."
    ))
}

/// "Of 10,000 draws (seed 1), 90 % hold between 29 and 41 guests; half hold 35 or fewer."
pub fn sentence(host: &HostAnswer, lab: &Lab, interval: &IntervalAnswer) -> String {
    let count = |n: Option<u64>| n.map(|n| plural(total(host, lab, n), "guest", "guests"));
    let (low, high) = (count(interval.low), count(interval.high));
    let range = match (low, high) {
        (Some(low), Some(high)) if low == high => format!("90 % hold {low}"),
        (Some(low), Some(high)) => format!("90 % hold between {low} and {high}"),
        (Some(low), None) => format!("95 % hold {low} or more"),
        (None, Some(high)) => format!("95 % hold {high} or fewer"),
        (None, None) => "the count has no bounds".to_owned(),
    };
    let middle = count(interval.median).map_or_else(String::new, |median| {
        format!("; half hold {median} or fewer")
    });
    let broken = if interval.broken > 0.0 {
        format!(
            "; in {} of them a limit is passed from the start",
            format::share(interval.broken)
        )
    } else {
        String::new()
    };
    let few = if interval.draws < ENOUGH {
        format!(
            " So few draws say little: take {} or more.",
            format::count(ENOUGH)
        )
    } else {
        String::new()
    };
    let stopped = stopped(interval).map_or_else(String::new, |stopped| format!(" {stopped}"));
    format!(
        "Of {} (seed {}), {range}{middle}{broken}.{few}{stopped}",
        format::plural(interval.draws, "draw", "draws"),
        interval.seed
    )
}

/// "Stopped after 12,288 of 1,000,000 draws."; none where all were made.
pub fn stopped(interval: &IntervalAnswer) -> Option<String> {
    let (done, asked) = (interval.draws, interval.asked);
    (done < asked).then(|| {
        let done = format::count(done);
        format!(
            "Stopped after {done} of {}.",
            format::plural(asked, "draw", "draws")
        )
    })
}

/// "Memory runs out first in 91 % of the draws, the processor in 9 %."
pub fn first_to_run_out(host: &HostAnswer, interval: &IntervalAnswer) -> String {
    let mut shares: Vec<(&ResourceAnswer, f64)> = host
        .resources
        .iter()
        .filter_map(|one| Some((one, *interval.binds.get(&one.name)?)))
        .collect();
    shares.sort_by(|one, other| other.1.total_cmp(&one.1));
    let parts: Vec<String> = shares
        .iter()
        .enumerate()
        .map(|(index, (one, share))| {
            let of = if index == 0 { " of the draws" } else { "" };
            format!("{} in {}{of}", in_sentence(&[*one]), format::share(*share))
        })
        .collect();
    if parts.is_empty() {
        return "Nothing runs out in any draw.".to_owned();
    }
    let at_once = shares.iter().map(|(_, share)| share).sum::<f64>() > 1.0 + 1e-9;
    let both = if at_once {
        "; draws in which several run out at once count for each"
    } else {
        ""
    };
    format!("What runs out first: {}{both}.", format::listed(&parts))
}

/// What the intervals of counts rest on beside readings.
pub fn beside(draws: Draws, readings: &str) -> String {
    format!(
        "The intervals of the counts also cover what the {readings} do not say, by {} (seed {}).",
        plural(draws.count, "draw", "draws"),
        draws.seed
    )
}

/// A value of a key as a person writes it.
pub fn value(path: &str, value: f64) -> String {
    of_kind(key_of(path).map(|key| key.kind), value)
}

/// A value of a kind of key as a person writes it.
pub fn of_kind(kind: Option<Kind>, value: f64) -> String {
    let dimension = match kind {
        Some(Kind::Quantity(dimension)) => dimension,
        // A share of `touched` is at most 1, and no size is.
        Some(Kind::SizeOrShare) if value <= 1.0 => Dimension::Share,
        Some(Kind::SizeOrShare) => Dimension::Bytes,
        Some(Kind::ShareByPeriod) => Dimension::Share,
        _ => Dimension::Number,
    };
    match dimension {
        Dimension::Bytes => format::bytes(value),
        Dimension::ByteRate if value < 1e6 => format::bytes_per_day(value * crate::model::DAY),
        Dimension::ByteRate => format::byte_rate(value),
        Dimension::BitRate => format::bit_rate(value),
        Dimension::EventRate => format::rate(value),
        Dimension::Time => format::seconds(value),
        Dimension::Share => format::share(value),
        Dimension::Power => format::power(value),
        Dimension::Number => format::number(value),
    }
}
