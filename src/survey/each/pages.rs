//! Which physical pages guests hold together.
//!
//! # Source
//! Kernel admin guide, mm/pagemap: 8 bytes a page, bit 63 set where it is present, bits 0–54 its frame number, which only root
//! is shown; `/proc/kpageflags` has 8 bytes a frame, bit 24 set for the zero page.

use super::process::Process;
use crate::model::PAGE;
use crate::survey::parse;
use crate::survey::root::Root;

/// Set where a page is present.
const PRESENT: u64 = 1 << 63;
/// The frame number of a page.
const FRAME: u64 = (1 << 55) - 1;
/// Set for the kernel's zero page.
const ZERO: u64 = 1 << 24;
/// Pages that are read at once.
const CHUNK: u64 = 1 << 17;

/// The frames of a guest's memory, the mapping of just its size `[B]`: sorted, each once, without the zero page; none where
/// they may not be read.
pub(super) fn frames(root: &Root, pids: &[u32], memory: f64) -> Option<Vec<u64>> {
    let mut frames = Vec::new();
    let mut has_mapping = false;
    for pid in pids {
        let process = Process { root, pid: *pid };
        let mappings = parse::mappings(&process.text("smaps").ok()?).into_iter();
        for mapping in mappings.filter(|mapping| mapping.size == memory) {
            has_mapping = true;
            let first = mapping.start / PAGE as u64;
            let end = first + (mapping.size / PAGE) as u64;
            for start in (first..end).step_by(CHUNK as usize) {
                let count = CHUNK.min(end - start);
                let words = root.words(&process.file("pagemap"), start, count).ok()?;
                let present = words.into_iter().filter(|word| word & PRESENT != 0);
                frames.extend(present.map(|word| word & FRAME));
            }
        }
    }
    frames.sort_unstable();
    // Whoever may not see frames is shown 0.
    if !has_mapping || frames.first() == Some(&0) {
        return None;
    }
    let often = repeated(&frames);
    let is_zero = |frame: &u64| {
        let flags = root.words("proc/kpageflags", *frame, 1);
        flags.is_ok_and(|flags| flags.first().is_some_and(|flags| flags & ZERO != 0))
    };
    // The zero page is one of those that a guest holds most often.
    let zero = often.iter().find(|frame| is_zero(frame)).copied();
    frames.dedup();
    frames.retain(|frame| Some(*frame) != zero);
    Some(frames)
}

/// Of each guest what others hold too `[B]`.
pub(super) fn common(guests: &[Option<Vec<u64>>]) -> Vec<Option<f64>> {
    // What a guest alone holds says nothing.
    if guests.iter().flatten().count() < 2 {
        return vec![None; guests.len()];
    }
    let mut all: Vec<u64> = guests.iter().flatten().flatten().copied().collect();
    all.sort_unstable();
    let shared = repeated(&all);
    let of = |frames: &Vec<u64>| {
        let held = frames
            .iter()
            .filter(|frame| shared.binary_search(frame).is_ok());
        held.count() as f64 * PAGE
    };
    guests
        .iter()
        .map(|frames| frames.as_ref().map(of))
        .collect()
}

/// The numbers that are more than once in a sorted list.
fn repeated(sorted: &[u64]) -> Vec<u64> {
    let equal = sorted.chunk_by(|one, other| one == other);
    let equal = equal.filter(|same| same.len() > 1);
    equal.map(|same| same[0]).collect()
}
