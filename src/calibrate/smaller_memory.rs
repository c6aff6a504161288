//! A smaller memory for the guest.

use schemars::JsonSchema;
use serde::Serialize;

use super::estimate::Estimate;
use super::question::Question;
use crate::model::MIB;
use crate::sizing::count::{find_all, plain_sum};
use crate::sizing::host::HostModel;

/// A smaller `memory` for the guest, and what it would gain.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Smaller {
    /// The memory it has now `[B]`.
    pub now: f64,
    /// The most that any guest has touched `[B]`.
    pub highest: f64,
    /// The memory that would do `[B]`.
    pub enough: f64,
    /// Largest N within every limit now and then.
    pub fits: [Option<u64>; 2],
    /// The plain sum now and then.
    pub plain_sum: [Option<u64>; 2],
}

/// Room above the highest use (common practice, no source).
const ROOM: f64 = 1.1;
/// The step that memory is given in (common practice, no source).
const STEP: f64 = 64.0 * MIB;
/// A change smaller than this is not worth a restart (assumption).
const WORTH: f64 = 0.9;

/// Suggests a smaller `memory` where readings say what the most is that any guest has touched; none without such a
/// reading, where guests were found to hold more than it says, and where the guest needs what it has.
pub fn smaller_memory(question: &Question, found: &Estimate) -> Option<Smaller> {
    let (fit, lab) = (&found.fit, &found.fit.calibrated.lab);
    let guest = &lab.guests[question.guest];
    let read = question.readings.iter();
    let highest = read
        .filter_map(|reading| reading.highest)
        .reduce(f64::max)?;
    let held = [fit.model.idle(), fit.model.fresh()];
    if held.iter().any(|held| found.interval(held).low > highest) {
        return None;
    }
    let enough = (highest * ROOM / STEP).ceil() * STEP;
    if enough > WORTH * guest.memory {
        return None;
    }
    let mut smaller = lab.clone();
    let changed = &mut smaller.guests[question.guest];
    changed.memory = enough;
    changed.touched_busy = changed.touched_busy.min(enough);
    changed.touched = changed.touched.min(changed.touched_busy);
    let shrink = (changed.touched / (changed.common + changed.repeats).max(1.0)).min(1.0);
    changed.common *= shrink;
    changed.repeats *= shrink;
    let both = [lab, &smaller].map(|lab| HostModel::new(lab, &lab.hosts[question.host]));
    let both = both.each_ref();
    Some(Smaller {
        now: guest.memory,
        highest,
        enough,
        fits: both.map(|model| find_all(model).first()?.largest.bound()),
        plain_sum: both.map(|model| plain_sum(model).bound()),
    })
}
