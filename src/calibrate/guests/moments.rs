//! What each recorded guest used at each moment, laid side by side.

use super::lines::Moment;
use super::spells::Step;
use super::watch::{ClassedGuest, ClassedRun};
use crate::sizing::resource::Resource;

/// Rows of guests over the moments of a record; no number where a guest did not run.
pub(super) type Rows = Vec<Vec<f64>>;

/// The moments of a record, evenly spaced.
#[derive(Debug, Clone, Copy)]
pub(super) struct Timeline {
    /// First moment `[s]`.
    pub start: f64,
    /// Usual time between two `[s]`.
    pub every: f64,
    /// How many moments there are.
    pub moments: usize,
    /// Whether moments of boots count.
    pub boots: bool,
}

impl Timeline {
    fn places(self, step: &Step) -> std::ops::Range<usize> {
        let place = |at: f64| ((at - self.start) / self.every).round().max(0.0) as usize;
        let from = place(step.start).min(self.moments);
        from..place(step.start + step.seconds).clamp(from, self.moments)
    }
}

/// A number of each guest at each moment, where `value` of its step and the moments of the run has one.
pub(super) fn rows(
    guests: &[&ClassedGuest],
    clock: Timeline,
    value: impl Fn(&Step, &[Moment]) -> Option<f64>,
) -> Rows {
    let row = |guest: &&ClassedGuest| {
        let mut row = vec![f64::NAN; clock.moments];
        for ClassedRun { run, steps } in &guest.runs {
            let mut last = f64::NAN;
            for step in steps.iter().filter(|step| clock.boots || !step.is_boot) {
                // Mappings are read more rarely than the rest: a value holds until they are read again.
                last = value(step, &run.moments).unwrap_or(last);
                row[clock.places(step)].fill(last);
            }
        }
        row
    };
    guests.iter().map(row).collect()
}

/// The demand of each guest for a resource, in its unit: of the network one table each way, else one; none where the
/// record does not show it.
pub(super) fn demands(
    resource: Resource,
    guests: &[&ClassedGuest],
    clock: Timeline,
) -> Option<Vec<Rows>> {
    let rates = |factor: f64, pick: fn(&Moment) -> Option<f64>| {
        rows(guests, clock, |step, run| {
            Some(factor * step.moved(run, pick)? / step.seconds)
        })
    };
    let ways = match resource {
        Resource::Memory => vec![rows(guests, clock, |step, run| run[step.end].in_memory())],
        Resource::Cpu => vec![rates(1.0, |moment| moment.cpu)],
        Resource::Network => vec![
            rates(8.0, |moment| moment.net[0]),
            rates(8.0, |moment| moment.net[1]),
        ],
        _ => return None,
    };
    let is_recorded = ways.iter().flatten().flatten().any(|one| !one.is_nan());
    is_recorded.then_some(ways)
}
