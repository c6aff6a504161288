//! How far a run moves on where nothing becomes due.

use super::host::HostState;

/// Smallest and largest time step `[s]`.
const STEP: (f64, f64) = (0.5, 30.0);
/// Steps of a pass, at least, so that memory falls smoothly.
const STEPS_A_PASS: f64 = 50.0;
/// Steps of a boot, at least.
const STEPS_A_BOOT: f64 = 10.0;
/// Largest step while busy guests grow or guests wait for memory `[s]`.
const TIGHT_STEP: f64 = 1.0;

/// Longest step that still shows how memory moves `[s]`.
pub(super) fn longest_step(host: &HostState) -> f64 {
    let (least, most) = STEP;
    let mut longest = host
        .pass_time()
        .map_or(most, |pass| (pass / STEPS_A_PASS).clamp(least, most));
    for (profile, sums) in host.guests.by_profile() {
        if sums.booting > 0.0 {
            longest = longest.min((profile.boot_time / STEPS_A_BOOT).max(least));
        }
    }
    if !host.guests.growing.is_empty() || host.memory.stalled {
        longest = longest.min(TIGHT_STEP);
    }
    longest
}
