//! Where fresh, idle guests settle in the end: the steady state without anyone busy.

use crate::lab::Mode;
use crate::model::footprint::Age;
use crate::model::scanner::may_rest;
use crate::sizing::host::HostModel;
use crate::sizing::memory::Scan;

/// Use of visible memory by base, cache and fresh idle guests at a scan `[B]`.
fn used(model: &HostModel, counts: &[u64], scan: Scan) -> f64 {
    let memory = &model.host.memory;
    let sharing = model.sharing(counts, Age::Fresh, scan);
    memory.base + memory.file_cache + model.memory(counts, Age::Fresh, &sharing).always()
}

/// Where use settles with fresh guests of which none is busy `[B]`; an adaptive scanner hovers at its threshold.
///
/// `min(unmerged, max(merged at the fastest, min(ceiling, low)))`, `ceiling = (1 − threshold)·visible`, low = merged at the
/// slowest while `Σ n·(o + t0) + threshold·visible ≥ visible`, else unmerged: the law of
/// [`HostModel::settled_used`] with b = 0.
pub(super) fn settled(model: &HostModel, counts: &[u64]) -> f64 {
    let merging = &model.host.merging;
    let steady = used(model, counts, Scan::Steady);
    if merging.mode != Mode::Adaptive {
        return steady;
    }
    let unmerged = used(model, counts, Scan::Off);
    let resident = model.resident(counts, Age::Fresh);
    let low = if may_rest(resident, model.visible, merging.threshold) {
        unmerged
    } else {
        used(model, counts, Scan::Least)
    };
    let ceiling = (1.0 - merging.threshold) * model.visible;
    unmerged.min(steady.max(ceiling.min(low)))
}
