//! The document of `calibrate`: what was found, reading by reading, and what it means for the plan.

mod plan;
mod sheet;

use super::chart::Chart;
use super::document::{Align, Cell, Document, Table};
use crate::calibrate::answer::{CalibrateAnswer, EstimateAnswer};
use crate::calibrate::predict::Prediction;
use crate::unit::format;

/// What the estimates are called on screens, in the order of the table.
const NAMES: [(&str, &str); 8] = [
    ("unmerged", "one more guest, nothing merged"),
    ("unique", "one more guest, settled"),
    ("touched", "a fresh guest touches"),
    ("touched_busy", "one that has been busy touches"),
    ("common", "common to all clones"),
    ("repeats", "repeats inside a guest"),
    ("base", "the host itself"),
    ("base_and_common", "the host and the common part"),
];

/// Builds the document; `drawn` is the chart and the file it was drawn to, `written` the calibrated copy of the lab.
#[must_use]
pub fn document(
    answer: &CalibrateAnswer,
    drawn: Option<(Chart, String)>,
    written: Option<&str>,
) -> Document {
    let mut document = Document::new();
    document.heading(
        1,
        format!(
            "What the guests really hold: {} on {}",
            answer.guest, answer.host
        ),
    );
    document.lead(lead(answer));
    if let Some((chart, file)) = drawn {
        document.chart(chart, Some(file));
    }
    document.heading(2, "What the readings say");
    document.table(estimates(answer));
    document.list(answer.notes.iter().cloned());
    document.heading(2, "Reading by reading");
    document.table(readings(answer));
    // With as many numbers as readings there is nothing left but rounding.
    if answer.residual_rms >= 1.0 {
        document.paragraph(format!(
            "Fitted readings are off by {} (root mean square).",
            format::bytes(answer.residual_rms)
        ));
    }
    if let Some(held) = answer.held_out {
        document.paragraph(match held.readings {
            0 => "Readings held out: none of them says where memory should be.".to_owned(),
            _ => format!(
                "Held out: {}, off by {} (root mean square) and {} at most; {} within the interval given.",
                format::plural(held.readings as u64, "reading", "readings"),
                format::share(held.error_rms),
                format::share(held.error_most),
                held.within
            ),
        });
    }
    document.heading(2, "What it means for the plan");
    document.table(predictions(answer));
    document.list(plan::lines(answer));
    if let Some(path) = written {
        document.paragraph(format!(
            "A copy of the lab with these values was written to {path}."
        ));
    }
    if let Some(next) = &answer.next {
        document.heading(2, "What to read next");
        document.paragraph(format!("Take {}.", next.text));
    }
    document.heading(2, "Cautions");
    document.cautions(&answer.cautions);
    document.sheet = sheet::sheet(answer);
    document
}

/// The sentence a person quotes.
fn lead(answer: &CalibrateAnswer) -> String {
    // Where only unmerged guests were read, that is what the readings say.
    let (one, how) = match answer.estimates.get("unmerged") {
        Some(unmerged) => (unmerged, "one more guest with nothing merged"),
        None => (&answer.estimates["unique"], "one more settled guest"),
    };
    let touched = &answer.estimates["touched"];
    let fresh = if touched.from == "readings" {
        format!("; a fresh one touches {}", format::bytes(touched.value))
    } else {
        String::new()
    };
    let fits = match answer.predicts.fits.value {
        Some(_) => format!(
            "{} then safely holds {}",
            answer.host,
            interval(answer.predicts.fits, ["guest", "guests"])
        ),
        None => format!(
            "nothing then bounds what {} safely holds, or it holds not one",
            answer.host
        ),
    };
    let breaks = match answer.predicts.breaks_at.value {
        Some(_) => format!(
            "; the kernel starts killing guests at about {}",
            interval(answer.predicts.breaks_at, BARE)
        ),
        None => String::new(),
    };
    // A person who sees many more run at this moment wants to know why the plan says fewer.
    let (fresh_fits, fresh_breaks) = (answer.predicts.fresh, answer.predicts.breaks_at_fresh);
    let never = match (fresh_fits.value, fresh_breaks.value) {
        (Some(_), Some(_)) if answer.age == "fresh" && fresh_fits != answer.predicts.fits => {
            format!(
                " That is with guests that have been busy and keep what they touched; as long as they never are, it is {} and \
             {}.",
                interval(fresh_fits, BARE),
                interval(fresh_breaks, BARE)
            )
        }
        _ => String::new(),
    };
    format!(
        "By {}, {how} takes {} ({}){fresh}. {fits}{breaks}.{never}",
        used(answer),
        format::bytes(one.value),
        reach(one)
    )
}

/// "5 readings", "3 readings (2 held out)".
fn used(answer: &CalibrateAnswer) -> String {
    let held = answer
        .readings
        .iter()
        .filter(|one| one.used_as.starts_with("held out"))
        .count();
    let used = format::plural((answer.readings.len() - held) as u64, "reading", "readings");
    if held > 0 {
        format!("{used} ({held} held out)")
    } else {
        used
    }
}

fn reach(estimate: &EstimateAnswer) -> String {
    format!(
        "{} to {}",
        format::bytes(estimate.low),
        format::bytes(estimate.high)
    )
}

/// "62 (58 to 66)"; with its noun, "62 guests (58 to 66)".
fn interval(prediction: Prediction, noun: [&str; 2]) -> String {
    let Prediction { value, low, high } = prediction;
    let Some(value) = value else {
        return "no bound".to_owned();
    };
    let low = low.unwrap_or(0);
    let ends = match high {
        Some(high) if high == low => String::new(),
        Some(high) => format!(" ({} to {})", format::count(low), format::count(high)),
        None => format!(" ({} or more)", format::count(low)),
    };
    format!(
        "{}{ends}",
        format::plural(value, noun[0], noun[1]).trim_end()
    )
}

/// No noun: the heading says what is counted.
const BARE: [&str; 2] = ["", ""];

fn estimates(answer: &CalibrateAnswer) -> Table {
    let mut table = Table::new(&[
        ("", Align::Left),
        ("found", Align::Right),
        ("nine times of ten between", Align::Right),
        ("told by", Align::Left),
    ]);
    for (key, words) in NAMES {
        let Some(estimate) = answer.estimates.get(key) else {
            continue;
        };
        let told = match estimate.from {
            "readings" => "the readings",
            "both" => "both: see below",
            _ => "the lab",
        };
        table.row([
            Cell::text(format!("{words} ({key})")),
            Cell::text(format::bytes(estimate.value)),
            // An interval that leaves out the lab's own doubt is none to print.
            Cell::text(if estimate.from != "both" && estimate.low < estimate.high {
                reach(estimate)
            } else {
                String::new()
            }),
            Cell::text(told),
        ]);
    }
    table
}

fn readings(answer: &CalibrateAnswer) -> Table {
    let mut table = Table::new(&[
        ("line", Align::Right),
        ("guests", Align::Right),
        ("read", Align::Right),
        ("modelled", Align::Right),
        ("off by", Align::Right),
        ("used as", Align::Left),
    ]);
    for row in &answer.readings {
        let (modelled, off) = match row.modelled_most {
            Some(most) => (
                format!("{} to {}", format::bytes(row.modelled), format::bytes(most)),
                String::new(),
            ),
            None => (
                format::bytes(row.modelled),
                signed(row.read / row.modelled - 1.0),
            ),
        };
        let used = if row.outlier {
            format!("{}; OUTLIER", row.used_as)
        } else {
            row.used_as.clone()
        };
        table.row(
            [
                row.line.to_string(),
                format::count(row.guests),
                format::bytes(row.read),
                modelled,
                off,
                used,
            ]
            .map(Cell::text),
        );
    }
    table
}

/// A share with its sign.
fn signed(share: f64) -> String {
    if share > 0.0 {
        format!("+{}", format::share(share))
    } else {
        format::share(share)
    }
}

fn predictions(answer: &CalibrateAnswer) -> Table {
    let predicts = &answer.predicts;
    let mut table = Table::new(&[("count", Align::Left), ("guests", Align::Right)]);
    for (words, prediction) in [
        (
            "within every safe limit, guests that have been busy",
            predicts.fits,
        ),
        (
            "within memory's safe limit, guests never busy",
            predicts.fresh,
        ),
        (
            "cliff: the kernel starts killing guests at about",
            predicts.breaks_at,
        ),
        (
            "the same with guests that are never busy",
            predicts.breaks_at_fresh,
        ),
    ] {
        table.row([Cell::text(words), Cell::text(interval(prediction, BARE))]);
    }
    table
}
