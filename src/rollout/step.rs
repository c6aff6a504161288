//! How far a run moves on at a time.

use super::host::HostState;
use super::pool::PoolState;
use super::starts::Starts;

/// Smallest and largest time step while nothing becomes due `[s]`.
const STEP: (f64, f64) = (0.5, 30.0);
/// Steps of a pass, at least, so that memory falls smoothly.
const STEPS_A_PASS: f64 = 50.0;
/// Steps of a boot, at least.
const STEPS_A_BOOT: f64 = 10.0;
/// Largest step while busy guests grow or guests wait for memory `[s]`.
const TIGHT_STEP: f64 = 1.0;
/// Smallest step of all `[s]`, so that time goes on whatever rounding does.
const LEAST_STEP: f64 = 1e-6;
/// Moments nearer than this are now `[s]`.
pub(super) const NOW: f64 = 1e-9;

/// Time to what becomes due next, or less `[s]`; `watched` is when the watch ends.
pub(super) fn time_step(host: &HostState, starts: &Starts, watched: Option<f64>) -> f64 {
    let now = host.now;
    let written = host
        .pools
        .iter()
        .map(PoolState::written_at)
        .filter(|at| *at > now + NOW);
    let moments = [
        starts.next(),
        host.calendar.next(),
        watched,
        Some(host.scanner.next_decision),
        Some(host.scanner_from),
        written.min_by(f64::total_cmp),
    ];
    let due = moments
        .into_iter()
        .flatten()
        .filter(|at| *at > now + NOW)
        .map(|at| at - now);
    let due = due.fold(longest(host), f64::min);
    host.next_up().map_or(due, |up| due.min(up)).max(LEAST_STEP)
}

/// Longest step that still shows how memory moves `[s]`.
fn longest(host: &HostState) -> f64 {
    let (least, most) = STEP;
    let mut longest = host
        .pass_time()
        .map_or(most, |pass| (pass / STEPS_A_PASS).clamp(least, most));
    for (profile, totals) in host.profiles.iter().zip(&host.totals) {
        if totals.booting > 0.0 {
            longest = longest.min((profile.boot_time / STEPS_A_BOOT).max(least));
        }
    }
    if !host.growing.is_empty() || host.pressure.stalled {
        longest = longest.min(TIGHT_STEP);
    }
    longest
}
