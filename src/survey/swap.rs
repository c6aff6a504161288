//! Swap on disk and compressed in memory.

use super::parse::{self, SwapArea};
use super::root::Root;
use super::table::HostTable;
use crate::model::MIB;
use crate::unit::format;

/// Least that must lie in compressed swap before its ratio means anything `[B]` (assumption).
const TELLING: f64 = 64.0 * MIB;

/// Writes the swap keys of `[host.memory]`.
pub(super) fn read(root: &Root, visible: f64, table: &mut HostTable) {
    let areas = match root.text("proc/swaps") {
        Ok(text) => parse::swaps(&text),
        Err(why) => return table.left_out("swap", format!("/proc/swaps: {why}")),
    };
    let (compressed, disk): (Vec<SwapArea>, Vec<SwapArea>) = areas
        .into_iter()
        .partition(|area| area.compressed().is_some());
    let sum = |areas: &[SwapArea]| {
        areas
            .iter()
            .map(|area| area.size)
            .fold(0.0, |sum, size| sum + size)
    };
    let used: f64 = disk.iter().chain(&compressed).map(|area| area.used).sum();
    let origin = format!(
        "/proc/swaps, {}; {} of all swap in use",
        format::plural(disk.len() as u64, "area", "areas"),
        format::bytes(used)
    );
    table.put("swap", sum(&disk), origin);
    if !compressed.is_empty() {
        compressed_swap(root, &compressed, visible, table);
    }
    if root
        .text("sys/module/zswap/parameters/enabled")
        .is_ok_and(|on| on.starts_with('Y'))
    {
        table.note("a compressed cache stands in front of swap (zswap); it is not in the model and helps a little");
    }
}

fn compressed_swap(root: &Root, areas: &[SwapArea], visible: f64, table: &mut HostTable) {
    let whole: f64 = areas.iter().map(|area| area.size).sum();
    let (mut stored, mut taken) = (0.0, 0.0);
    for number in areas.iter().filter_map(SwapArea::compressed) {
        let text = root
            .text(&format!("sys/block/zram{number}/mm_stat"))
            .unwrap_or_default();
        let numbers: Vec<f64> = text
            .split_whitespace()
            .map_while(|word| word.parse().ok())
            .collect();
        if let [original, _, used, ..] = numbers.as_slice() {
            stored += original;
            taken += used;
        }
    }
    let ratio = if stored >= TELLING && taken > 0.0 {
        (stored / taken).max(1.0)
    } else {
        2.0
    };
    if whole / ratio >= visible {
        return table.left_out(
            "compressed_swap",
            format!(
                "{} at {ratio:.1}:1 would take all memory there is",
                format::bytes(whole)
            ),
        );
    }
    table.put(
        "compressed_swap",
        whole,
        "/proc/swaps, compressed devices in memory",
    );
    if stored >= TELLING && taken > 0.0 {
        let origin = format!(
            "/sys/block/zram*/mm_stat: {} held in {}",
            format::bytes(stored),
            format::bytes(taken)
        );
        table.put(
            "compressed_swap_ratio",
            (ratio * 100.0).round() / 100.0,
            origin,
        );
    } else {
        table.left_out(
            "compressed_swap_ratio",
            "too little lies in it to tell; 2 is taken",
        );
    }
}
