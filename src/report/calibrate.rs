//! The document of `calibrate`: what was found, reading by reading, and what it means for the plan.

use super::chart::Chart;
use super::document::Document;
use super::table::{Rows, Table};
use crate::calibrate::answer::{CalibrateAnswer, ReadingAnswer};
use crate::calibrate::estimates::{EstimateAnswer, Provenance};
use crate::calibrate::predict::Prediction;
use crate::unit::format;
use crate::words::calibrate as words;
use crate::words::interval::beside;
use crate::words::name::only_if;

/// What the estimates are called on screens, in the order of the table.
const NAMES: [(&str, &str); 8] = [
    ("unmerged", "one more unmerged guest"),
    ("unique", "one more settled guest"),
    ("touched", "a fresh guest"),
    ("touched_busy", "a guest that was busy"),
    ("common", "common to all clones"),
    ("repeats", "repeats in a guest"),
    ("base", "the host itself"),
    ("base_and_common", "host and common part"),
];

/// The copy of the lab that was asked for.
#[derive(Debug)]
pub struct Copy {
    /// Its file.
    pub path: String,
    /// Whether the numbers are doubted, so that none was written.
    pub is_doubted: bool,
}

/// Builds the document; `drawn` is the chart and the file it was drawn to, `written` the calibrated copy of the lab.
pub fn document(
    answer: &CalibrateAnswer,
    drawn: Option<(Chart, String)>,
    written: Option<&Copy>,
) -> Document {
    let title = format!(
        "What the guests really hold: {} on {}",
        answer.guest, answer.host
    );
    let mut document = Document::answering(title, words::lead(answer));
    if let Some((chart, file)) = drawn {
        document.chart(chart, Some(file));
    }
    document.table(estimates(answer));
    document.say(words::plan(answer));
    let next = answer.next.as_ref();
    document.say(next.map(|next| format!("Read next: {}.", next.reading)));
    document.say(written.map(|Copy { path, is_doubted }| match is_doubted {
        true => {
            format!("{path} was not written, because these values are doubted: see the cautions.")
        }
        false => format!("A copy of the lab with these values was written to {path}."),
    }));
    let more = "Everything: --full. In the lab: --write NEW.toml.";
    document.caution_lines(&answer.cautions, more);
    document.heading(2, "How the readings were taken");
    document.list(answer.notes.iter().map(ToString::to_string));
    document.heading(2, "Reading by reading");
    document.table(readings(answer));
    // With as many numbers as readings there is nothing left but rounding.
    if answer.residual_rms >= 1.0 {
        let off = format::bytes(answer.residual_rms);
        document.paragraph(format!(
            "Fitted readings are off by {off} (root mean square)."
        ));
    }
    document.say(answer.held_out.as_ref().map(words::held_out));
    document.heading(2, "What it means for the plan");
    document.table(predictions(answer));
    document.say(answer.draws.map(|draws| beside(draws, "readings")));
    document.cautions(2, &answer.cautions);
    document
}

fn estimates(answer: &CalibrateAnswer) -> Rows<(&str, &str, &EstimateAnswer)> {
    let known = NAMES.into_iter();
    let known = known.filter_map(|(key, name)| Some((key, name, answer.estimates.get(key)?)));
    let table = Table::of(known)
        .left("key", |(key, _, _)| *key)
        .left("meaning", |(_, name, _)| *name)
        .right("value", |(_, _, one)| format::bytes(one.value))
        .right("90 % interval", |(_, _, one)| {
            // An interval that leaves out the lab's own doubt is none to print.
            let is_known = one.from != Provenance::Both && one.low < one.high;
            only_if(is_known, words::interval(one))
        });
    let mut all = answer.estimates.values();
    if all.all(|one| one.from == Provenance::Readings) {
        return table;
    }
    table.left("from", |(_, _, one)| match one.from {
        Provenance::Readings => "readings",
        Provenance::Both => "both",
        Provenance::Lab => "the lab",
    })
}

fn readings(answer: &CalibrateAnswer) -> Rows<&ReadingAnswer> {
    Table::of(&answer.readings)
        .right("line", |row| row.line.to_string())
        .right("guests", |row| format::count(row.guests))
        .right("read", |row| format::bytes(row.read))
        .right("modelled", |row| match row.modelled_most {
            Some(most) => format!("{} to {}", format::bytes(row.modelled), format::bytes(most)),
            None => format::bytes(row.modelled),
        })
        .right("off by", |row| match row.modelled_most {
            Some(_) => String::new(),
            None => signed(row.read / row.modelled - 1.0),
        })
        .left("used as", |row| {
            let mark = only_if(row.outlier, "; OUTLIER");
            format!("{}{mark}", row.used_as)
        })
}

/// A share with its sign.
fn signed(share: f64) -> String {
    only_if(share > 0.0, "+") + &format::share(share)
}

fn predictions(answer: &CalibrateAnswer) -> Rows<(&'static str, Prediction)> {
    let predicts = &answer.predicts;
    let lived_in = "within every safe limit, guests that have been busy";
    let fresh = "within memory's safe limit, guests never busy";
    let cliff = "cliff: thrashes or kills guests at the latest at about";
    let cliff_fresh = "the same with guests that are never busy";
    Table::of([
        (lived_in, predicts.fits),
        (fresh, predicts.fresh),
        (cliff, predicts.breaks_at),
        (cliff_fresh, predicts.breaks_at_fresh),
    ])
    .left("count", |(name, _)| *name)
    .right("guests", |(_, prediction)| words::bare(*prediction))
}
