//! The numbers of `calibrate` for a spreadsheet.

use crate::calibrate::answer::CalibrateAnswer;
use crate::report::document::Sheet;
use crate::words::caution::Caution;

/// Every number of the answer, one a row.
pub(super) fn sheet(answer: &CalibrateAnswer) -> Sheet {
    let mut sheet = Sheet::new(["section", "item", "quantity", "value", "unit"]);
    let mut add = |section: &str, item: &str, quantity: &str, value: String, unit: &str| {
        sheet.row([section, item, quantity, &value, unit]);
    };
    for (quantity, value) in [("host", &answer.host), ("guest", &answer.guest)] {
        add("answer", "", quantity, value.clone(), "");
    }
    add("answer", "", "age", answer.age.to_owned(), "");
    for (name, estimate) in &answer.estimates {
        for (quantity, value) in [
            ("value", estimate.value),
            ("low", estimate.low),
            ("high", estimate.high),
        ] {
            add("estimate", name, quantity, value.to_string(), "B");
        }
        add(
            "estimate",
            name,
            "from",
            estimate.from.name().to_owned(),
            "",
        );
    }
    add(
        "fit",
        "",
        "residual_rms",
        answer.residual_rms.to_string(),
        "B",
    );
    for row in &answer.readings {
        let item = format!("line {}", row.line);
        add("reading", &item, "guests", row.guests.to_string(), "guests");
        for (quantity, value) in [
            ("read", row.read),
            ("modelled", row.modelled),
            ("low", row.low),
            ("high", row.high),
        ] {
            add("reading", &item, quantity, value.to_string(), "B");
        }
        add("reading", &item, "used_as", row.used_as.to_string(), "");
        add("reading", &item, "outlier", row.outlier.to_string(), "");
    }
    let predicts = &answer.predicts;
    for (name, one) in [
        ("fits", predicts.fits),
        ("breaks_at", predicts.breaks_at),
        ("fresh", predicts.fresh),
        ("breaks_at_fresh", predicts.breaks_at_fresh),
    ] {
        for (quantity, value) in [("value", one.value), ("low", one.low), ("high", one.high)] {
            add(
                "predicts",
                name,
                quantity,
                value.map_or_else(String::new, |value| value.to_string()),
                "guests",
            );
        }
    }
    if let Some(held) = answer.held_out {
        add(
            "held_out",
            "",
            "error_rms",
            held.error_rms.to_string(),
            "share",
        );
        add(
            "held_out",
            "",
            "error_most",
            held.error_most.to_string(),
            "share",
        );
        add(
            "held_out",
            "",
            "within",
            held.within.to_string(),
            "readings",
        );
    }
    if let Some(written) = &answer.written {
        add("written", "", "value", written.value.to_string(), "B/day");
        add("written", "", "base", written.base.to_string(), "B/day");
    }
    for caution in &answer.cautions {
        add("caution", caution.id(), "text", caution.text(), "");
    }
    sheet
}
