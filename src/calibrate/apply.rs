//! A lab with the calibrated numbers in it.

use super::memory::{MemoryModel, Unknown};
use super::parameters::Parameters;
use crate::lab::Lab;
use crate::model::MIB;
use crate::unit::parse::{Dimension, parse};

/// A value of the lab that the readings change.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// Key within the guest, or `base` of the host.
    pub key: &'static str,
    /// The value as a person writes it.
    pub text: String,
    /// The same `[B]`.
    pub value: f64,
}

/// A lab with calibrated numbers.
#[derive(Debug, Clone)]
pub struct Calibrated {
    /// The lab.
    pub lab: Lab,
    /// What changed of the guest, and `base` of the host.
    pub changes: Vec<Change>,
}

/// The step that sizes are written down in `[B]`.
pub const STEP: f64 = MIB / 100.0;

/// A size to a hundredth of a MiB, so that what is written down is what was counted with.
fn change(key: &'static str, bytes: f64) -> Change {
    let text = written((bytes / STEP).round());
    let value = parse(&text, Dimension::Bytes).unwrap_or(bytes);
    Change { key, text, value }
}

/// So many steps as a person writes them.
pub fn written(steps: f64) -> String {
    format!("{:.2} MiB", steps.max(0.0) / 100.0)
}

/// What an idle guest touches when fresh and when it has been busy `[B]`: t0 and t1.
///
/// A step determines t0; without one it is the idle size where guests were never busy, else the lab's. t1 is what makes
/// `t0 + k·(t1 − t0)` the idle size, within the guest's memory.
pub fn touched(model: &MemoryModel, parameters: &Parameters, values: &[f64; 4]) -> (f64, f64) {
    let idle = model.idle().at(values).clamp(0.0, model.guest.memory);
    let fresh = if parameters.determines(Unknown::Step) {
        model.fresh().at(values)
    } else if model.guest.keeps == 0.0 {
        idle
    } else {
        model.guest.touched.min(idle)
    };
    let fresh = fresh.clamp(0.0, model.guest.memory);
    if model.guest.keeps == 0.0 {
        return (fresh, model.guest.touched_busy.max(fresh));
    }
    let busy = fresh + (idle - fresh).max(0.0) / model.guest.keeps;
    if busy <= model.guest.memory {
        return (fresh, busy);
    }
    if parameters.determines(Unknown::Step) || model.guest.keeps >= 1.0 {
        return (fresh, model.guest.memory);
    }
    // Even a guest that touches all its memory keeps less than was read, so it must touch more when fresh.
    let raised = (idle - model.guest.keeps * model.guest.memory) / (1.0 - model.guest.keeps);
    (raised.clamp(fresh, model.guest.memory), model.guest.memory)
}

/// The lab with B, U, M, T put into one guest and one host, given by their places in it.
pub fn apply(
    lab: &Lab,
    (host, guest): (usize, usize),
    model: &MemoryModel,
    parameters: &Parameters,
    values: &[f64; 4],
) -> Calibrated {
    let mut lab = lab.clone();
    let (fresh, busy) = touched(model, parameters, values);
    let touched = change("touched", fresh);
    let touched_busy = change("touched_busy", busy.max(touched.value));
    let shared = values[Unknown::Shared as usize].clamp(0.0, touched.value);
    let repeats = change("repeats", (1.0 - model.common_share) * shared);
    let mut common = change("common", model.common_share * shared);
    if common.value + repeats.value > touched.value {
        let left = touched.value - repeats.value - 0.005 * MIB;
        common = change("common", left.max(0.0));
    }
    let profile = &mut lab.guests[guest];
    profile.touched = touched.value;
    profile.common = common.value;
    profile.repeats = repeats.value;
    let mut changes = vec![touched, common, repeats];
    if (touched_busy.value - profile.touched_busy).abs() > 0.005 * profile.touched_busy {
        profile.touched_busy = touched_busy.value.min(profile.memory);
        changes.insert(1, touched_busy);
    }
    if parameters.fitted.contains(&Unknown::Base) {
        let base = change("base", values[Unknown::Base as usize]);
        lab.hosts[host].memory.base = base.value;
        changes.push(base);
    }
    Calibrated { lab, changes }
}
