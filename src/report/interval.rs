//! How sure the count is, as blocks and rows of the report of `fit`.

use super::document::{Align, Cell, Document, Table};
use crate::lab::keys::{Kind, key_of};
use crate::sizing::answer::{HostAnswer, ResourceAnswer};
use crate::sizing::uncertainty::{IntervalAnswer, Move};
use crate::unit::format;
use crate::unit::parse::Dimension;
use crate::words::name::{counted, in_sentence};

/// The interval, what binds how often, and what to measure first.
pub(super) fn blocks(
    document: &mut Document,
    level: u8,
    host: &HostAnswer,
    interval: &IntervalAnswer,
) {
    document.heading(level, "How sure that is");
    if interval.inputs == 0 {
        document.paragraph(
            "Nothing that this answer depends on is given as { low, likely, high }, so every draw is the same.",
        );
        return;
    }
    document.lead(sentence(host, interval));
    document.paragraph(first_to_run_out(host, interval));
    if interval.moves.is_empty() {
        document.paragraph("None of the uncertain values moves the count.");
        return;
    }
    document.paragraph(
        "What moves the count most, and so what to measure before buying. The swing is how far the count moves when \
         this one value goes from its 5 % to its 95 % end, everything else as drawn.",
    );
    document.table(moves(host, &interval.moves));
}

/// Fewer draws than this say little about the ends: 50 lie beyond each. Assumption of this project.
const ENOUGH: u64 = 1_000;

/// "Of 10,000 draws (seed 1), 90 % hold between 29 and 41 guests; half hold 35 or more."
fn sentence(host: &HostAnswer, interval: &IntervalAnswer) -> String {
    let count = |n: Option<u64>| n.map(|n| counted(host, n));
    let (low, high) = (count(interval.low), count(interval.high));
    let range = match (low, high) {
        (Some(low), Some(high)) if low == high => format!("90 % hold {low}"),
        (Some(_), Some(high)) => format!(
            "90 % hold between {} and {high}",
            format::count(interval.low.unwrap_or(0))
        ),
        (Some(low), None) => format!("95 % hold {low} or more"),
        (None, Some(high)) => format!("95 % hold {high} or fewer"),
        (None, None) => "the count has no two ends".to_owned(),
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
    format!(
        "Of {} (seed {}), {range}{middle}{broken}.{few}",
        format::plural(interval.draws, "draw", "draws"),
        interval.seed
    )
}

/// "Memory runs out first in 91 % of the draws, the processor in 9 %."
fn first_to_run_out(host: &HostAnswer, interval: &IntervalAnswer) -> String {
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
    format!(
        "What runs out first: {}{both}.",
        crate::unit::format::listed(&parts)
    )
}

fn moves(host: &HostAnswer, moves: &[Move]) -> Table {
    let mut table = Table::new(&[
        ("measure first", Align::Left),
        ("from", Align::Right),
        ("to", Align::Right),
        (&format!("{} from", host.unit), Align::Right),
        ("to", Align::Right),
        ("swing", Align::Right),
    ]);
    for one in moves {
        table.row([
            Cell::strong(one.key.clone()),
            Cell::text(value(&one.key, one.low)),
            Cell::text(value(&one.key, one.high)),
            Cell::text(format::number(one.at_low)),
            Cell::text(format::number(one.at_high)),
            Cell::strong(format::number(one.swing)),
        ]);
    }
    table
}

/// A value of a key as a person writes it.
fn value(path: &str, value: f64) -> String {
    let dimension = match key_of(path).map(|key| key.kind) {
        Some(Kind::Quantity(dimension)) => dimension,
        // A share of `touched` is at most 1, and no size is.
        Some(Kind::SizeOrShare) if value <= 1.0 => Dimension::Share,
        Some(Kind::SizeOrShare) => Dimension::Bytes,
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

/// The same for a spreadsheet.
pub(super) fn rows(
    host: &HostAnswer,
    interval: &IntervalAnswer,
    add: &mut impl FnMut(&str, &str, &str, String, &str),
) {
    let whole = |value: Option<u64>| value.map_or_else(String::new, |value| value.to_string());
    add("interval", "", "draws", interval.draws.to_string(), "");
    add("interval", "", "seed", interval.seed.to_string(), "");
    for (quantity, count) in [
        ("low", interval.low),
        ("median", interval.median),
        ("high", interval.high),
    ] {
        add("interval", "", quantity, whole(count), host.unit);
    }
    add(
        "interval",
        "",
        "broken",
        interval.broken.to_string(),
        "share",
    );
    for (name, share) in &interval.binds {
        add("interval", name, "binds", share.to_string(), "share");
    }
    for one in &interval.moves {
        for (quantity, value, unit) in [
            ("low", one.low, ""),
            ("high", one.high, ""),
            ("at_low", one.at_low, host.unit),
            ("at_high", one.at_high, host.unit),
            ("swing", one.swing, host.unit),
        ] {
            add("moves", &one.key, quantity, value.to_string(), unit);
        }
    }
}
