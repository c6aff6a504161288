//! Every valid lab has an answer, and every format can write it.
#![no_main]

use berthage::inventory::load_text;
use berthage::report;
use berthage::sizing::fit::{Wanted, fit_with};
use libfuzzer_sys::fuzz_target;

/// Profiles of a lab that is still answered quickly.
const MOST: usize = 4;

fuzz_target!(|text: &str| {
    if text.contains("include") {
        return;
    }
    let Ok(lab) = load_text("fuzz.toml", text, &[]) else {
        return;
    };
    if lab.guests.len() > MOST || lab.hosts.len() > 2 {
        return;
    }
    let hosts: Vec<_> = lab.hosts.iter().collect();
    let wanted = Wanted {
        curve: true,
        why: true,
        ..Wanted::default()
    };
    let answer = fit_with(&lab, &hosts, wanted);
    let document = report::fit::document(&answer, &lab, false, None);
    assert!(!report::markdown::render(&document).is_empty());
    assert!(!report::csv::render(&report::json::value(&answer)).is_empty());
    assert!(!report::json::render(&answer).contains("NaN"));
    let picture = report::chart::fit::chart(&answer.hosts, &answer.lab).expect("curves");
    let picture = report::chart::svg::render(&picture);
    assert!(!picture.contains("NaN") && !picture.contains("inf\""));
});
