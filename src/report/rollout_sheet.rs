//! `rollout` for a spreadsheet.

use super::document::Sheet;
use crate::rollout::RolloutAnswer;
use crate::words::caution::Caution;

/// Batches, moments and cautions, one a row.
pub(super) fn sheet(answer: &RolloutAnswer) -> Sheet {
    let mut sheet = Sheet::new([
        "row",
        "t_s",
        "guests",
        "started",
        "used",
        "peak",
        "peak_s",
        "settle_s",
        "killed",
        "killed_most",
        "clone_s",
        "merged_bytes",
        "scan_pages_per_s",
        "swap_used",
        "disk_busy",
        "text",
    ]);
    let known = |value: Option<f64>| value.map_or_else(String::new, |value| value.to_string());
    let none = String::new;
    for batch in &answer.rollout.run.batches {
        sheet.row([
            "batch".to_owned(),
            batch.start_s.to_string(),
            batch.before.to_string(),
            batch.started.to_string(),
            batch.settled.to_string(),
            batch.peak.to_string(),
            batch.peak_s.to_string(),
            known(batch.settle_s),
            batch.killed.to_string(),
            batch.killed_most.to_string(),
            known(batch.clone_s),
            none(),
            none(),
            none(),
            none(),
        ]);
    }
    for moment in &answer.rollout.run.timeline {
        sheet.row([
            "moment".to_owned(),
            moment.t_s.to_string(),
            moment.guests.to_string(),
            none(),
            moment.used.to_string(),
            none(),
            none(),
            none(),
            none(),
            none(),
            none(),
            moment.merged_bytes.to_string(),
            moment.scan_pages_per_s.to_string(),
            moment.swap_used.to_string(),
            moment.disk_busy.to_string(),
        ]);
    }
    for caution in &answer.cautions {
        let mut row = vec![format!("caution {}", caution.id())];
        row.resize(sheet.header.len() - 1, String::new());
        row.push(caution.text());
        sheet.row(row);
    }
    sheet
}
