//! The document of `calibrate`: what was found, reading by reading, and what it means for the plan.

mod sheet;

use super::chart::Chart;
use super::document::{Align, Cell, Document, Table};
use crate::calibrate::answer::CalibrateAnswer;
use crate::calibrate::estimates::Provenance;
use crate::unit::format;
use crate::words::calibrate as words;

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
    document.lead(words::lead(answer));
    if let Some((chart, file)) = drawn {
        document.chart(chart, Some(file));
    }
    document.heading(2, "What the readings say");
    document.table(estimates(answer));
    document.list(answer.notes.iter().map(ToString::to_string));
    document.heading(2, "Reading by reading");
    document.table(readings(answer));
    // With as many numbers as readings there is nothing left but rounding.
    if answer.residual_rms >= 1.0 {
        document.paragraph(format!(
            "Fitted readings are off by {} (root mean square).",
            format::bytes(answer.residual_rms)
        ));
    }
    if let Some(held) = &answer.held_out {
        document.paragraph(words::held_out(held));
    }
    document.heading(2, "What it means for the plan");
    document.table(predictions(answer));
    document.list(words::plan(answer));
    if let Some(path) = written {
        document.paragraph(format!(
            "A copy of the lab with these values was written to {path}."
        ));
    }
    if let Some(next) = &answer.next {
        document.heading(2, "What to read next");
        document.paragraph(format!("Take {}.", next.reading));
    }
    document.heading(2, "Cautions");
    document.cautions(&answer.cautions);
    document.sheet = sheet::sheet(answer);
    document
}

fn estimates(answer: &CalibrateAnswer) -> Table {
    let mut table = Table::new(&[
        ("", Align::Left),
        ("found", Align::Right),
        ("nine times of ten between", Align::Right),
        ("told by", Align::Left),
    ]);
    for (key, name) in NAMES {
        let Some(estimate) = answer.estimates.get(key) else {
            continue;
        };
        let from = match estimate.from {
            Provenance::Readings => "the readings",
            Provenance::Both => "both: see below",
            Provenance::Lab => "the lab",
        };
        table.row([
            Cell::text(format!("{name} ({key})")),
            Cell::text(format::bytes(estimate.value)),
            // An interval that leaves out the lab's own doubt is none to print.
            Cell::text(
                if estimate.from != Provenance::Both && estimate.low < estimate.high {
                    words::interval(estimate)
                } else {
                    String::new()
                },
            ),
            Cell::text(from),
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
            row.used_as.to_string()
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
    for (name, prediction) in [
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
        table.row([Cell::text(name), Cell::text(words::bare(prediction))]);
    }
    table
}
