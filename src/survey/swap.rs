//! Swap on disk and compressed in memory.

use super::parse::{self, SwapArea};
use super::root::Root;
use super::table::HostTable;
use crate::model::MIB;
use crate::unit::format;

/// Least that must lie in compressed swap before its ratio means anything `[B]` (assumption).
const LEAST_STORED: f64 = 64.0 * MIB;

/// Writes the swap keys of `[host.memory]`.
pub(super) fn read(root: &Root, visible: f64, table: &mut HostTable) {
    let areas = match root.text("proc/swaps") {
        Ok(text) => parse::swaps(&text),
        Err(why) => return table.not_read("swap", format!("/proc/swaps: {why}")),
    };
    let used: f64 = areas.iter().map(|area| area.used).sum();
    let (compressed, disk): (Vec<SwapArea>, Vec<SwapArea>) = areas
        .into_iter()
        .partition(|area| area.compressed().is_some());
    let origin = format!(
        "/proc/swaps, {}; {} of all swap in use",
        format::plural(disk.len() as u64, "area", "areas"),
        format::bytes(used)
    );
    table.put("swap", size(&disk), origin);
    if !compressed.is_empty() {
        compressed_swap(root, &compressed, visible, table);
    }
    let cache = root.text("sys/module/zswap/parameters/enabled");
    if cache.is_ok_and(|on| on.starts_with('Y')) {
        table.note("a compressed cache stands in front of swap (zswap); it is not in the model and helps a little");
    }
}

fn size(areas: &[SwapArea]) -> f64 {
    areas.iter().fold(0.0, |sum, area| sum + area.size)
}

fn compressed_swap(root: &Root, areas: &[SwapArea], visible: f64, table: &mut HostTable) {
    let (mut stored, mut taken) = (0.0, 0.0);
    for number in areas.iter().filter_map(SwapArea::compressed) {
        let text = root.text(&format!("sys/block/zram{number}/mm_stat"));
        let text = text.unwrap_or_default();
        let words = text.split_whitespace();
        let numbers: Vec<f64> = words.map_while(|word| word.parse().ok()).collect();
        if let [original, _, used, ..] = numbers.as_slice() {
            stored += original;
            taken += used;
        }
    }
    let measured = (stored >= LEAST_STORED && taken > 0.0).then(|| (stored / taken).max(1.0));
    let ratio = measured.unwrap_or(2.0);
    let (whole, whole_words) = (size(areas), format::bytes(size(areas)));
    if whole / ratio >= visible {
        let why = format!("{whole_words} at {ratio:.1}:1 would take all memory there is");
        return table.not_read("compressed_swap", why);
    }
    let origin = "/proc/swaps, compressed devices in memory";
    table.put("compressed_swap", whole, origin);
    let key = "compressed_swap_ratio";
    if measured.is_some() {
        let (stored, taken) = (format::bytes(stored), format::bytes(taken));
        let origin = format!("/sys/block/zram*/mm_stat: {stored} held in {taken}");
        table.put(key, (ratio * 100.0).round() / 100.0, origin);
    } else {
        table.not_read(key, "too little lies in it to tell; 2 is taken");
    }
}
