//! When a guest was busy: two classes of how often its threads were given a processor.

use super::lines::{Moment, Run, Watched};

/// Two classes whose geometric means lie closer than this are one: the guest is never busy (assumption; of two measured kinds
/// the one that idles came to 1.6, the one that works in spells to 10).
const APART: f64 = 3.0;
/// Moments further apart than this many usual steps say nothing of what was between them (assumption).
const LONGEST: f64 = 3.0;
/// Fewest rates that classes are made of.
const FEWEST: usize = 10;

/// What a guest did between two moments that follow each other.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Step {
    /// When it began `[s]`.
    pub start: f64,
    /// How long it was `[s]`.
    pub seconds: f64,
    /// Place in the run of the moment at its end.
    pub end: usize,
    /// Load of a vCPU.
    pub load: Option<f64>,
    /// Dispatches of a vCPU per second; none where threads that ended took their counts with them.
    pub rate: Option<f64>,
    /// Whether the guest was busy.
    pub is_busy: bool,
    /// Whether it belongs to a boot.
    pub is_boot: bool,
}

impl Step {
    /// How much a counter moved in it; none where it fell or was not read.
    pub fn moved(&self, run: &[Moment], pick: fn(&Moment) -> Option<f64>) -> Option<f64> {
        let moved = pick(&run[self.end])? - pick(&run[self.end - 1])?;
        (moved >= 0.0).then_some(moved)
    }
}

/// The usual time between two moments `[s]`: the median.
pub fn usual_step(guests: &[Watched]) -> f64 {
    let runs = guests.iter().flat_map(|guest| &guest.runs);
    let gaps = runs.flat_map(|run| run.moments.windows(2).map(|pair| pair[1].at - pair[0].at));
    upper_median(gaps).unwrap_or(0.0)
}

/// The median; of an even number of values the larger of the two in the middle.
fn upper_median(values: impl Iterator<Item = f64>) -> Option<f64> {
    let mut values: Vec<f64> = values.collect();
    let middle = values.len() / 2;
    (!values.is_empty()).then(|| *values.select_nth_unstable_by(middle, f64::total_cmp).1)
}

/// The steps of a run, not yet classed.
pub fn steps(run: &Run, vcpus: f64, usual: f64) -> Vec<Step> {
    let moments = &run.moments;
    let step = |end: usize| {
        let start = moments[end - 1].at;
        let mut step = Step {
            start,
            seconds: moments[end].at - start,
            end,
            ..Step::default()
        };
        let of_vcpu = |moved: f64| moved / step.seconds / vcpus;
        let load = step.moved(moments, |moment| moment.cpu).map(of_vcpu);
        step.rate = step.moved(moments, |moment| moment.dispatches).map(of_vcpu);
        step.load = load;
        step
    };
    let steps = (1..moments.len()).map(step);
    steps
        .filter(|step| step.seconds <= LONGEST * usual)
        .collect()
}

/// The rate that parts idle from busy `[1/s]`: of all ways to cut the rates in two on a logarithmic scale the one with the
/// most variance between the parts; none where the parts lie close together, so that the guests are never busy.
///
/// # Source
/// N. Otsu, "A threshold selection method from gray-level histograms", IEEE Transactions on Systems, Man, and Cybernetics 9
/// (1979) 62–66.
///
/// # Example
/// ```
/// use berthage::calibrate::guests::spells::threshold;
/// let rates = [50.0, 60.0, 55.0, 52.0, 58.0, 61.0, 900.0, 1000.0, 1100.0, 54.0, 56.0];
/// assert!(threshold(&rates).is_some_and(|rate| (61.0..900.0).contains(&rate)));
/// assert_eq!(threshold(&[50.0; 20]), None);
/// ```
pub fn threshold(rates: &[f64]) -> Option<f64> {
    let rates = rates.iter().filter(|rate| **rate > 0.0);
    let mut logs: Vec<f64> = rates.map(|rate| rate.ln()).collect();
    if logs.len() < FEWEST {
        return None;
    }
    logs.sort_by(f64::total_cmp);
    let all: f64 = logs.iter().sum();
    let count = logs.len() as f64;
    let mut below = 0.0;
    let mut best = (0.0, 0.0, 0.0);
    for (index, pair) in logs.windows(2).enumerate() {
        below += pair[0];
        let less = (index + 1) as f64;
        let (low, high) = (below / less, (all - below) / (count - less));
        let between = less * (count - less) * (high - low).powi(2);
        if between > best.0 {
            best = (between, 0.5 * (pair[0] + pair[1]), high - low);
        }
    }
    let (_, cut, apart) = best;
    (apart >= APART.ln()).then(|| cut.exp())
}

/// Classes the steps of a run; without a threshold the guest is never busy.
///
/// A step whose count fell follows a spell, whose threads have ended, and is idle. A class that is held for one step only is
/// joined to what was before it. What is busy from the first moment of a boot on is the boot.
pub fn classify(steps: &mut [Step], threshold: Option<f64>, from_start: bool) {
    let Some(threshold) = threshold else {
        // Of a guest that is never busy after its boot that is what its load was far above the usual.
        let usual = upper_median(steps.iter().filter_map(|step| step.load));
        let far_above = usual.map_or(f64::INFINITY, |usual| APART.powi(2) * usual);
        let boots = |step: &Step| step.load.is_some_and(|load| load > far_above);
        return mark_boot(steps, from_start, boots);
    };
    for step in steps.iter_mut() {
        step.is_busy = step.rate.is_some_and(|rate| rate > threshold);
    }
    for index in 1..steps.len().saturating_sub(1) {
        let (before, after) = (steps[index - 1].is_busy, steps[index + 1].is_busy);
        if before == after {
            steps[index].is_busy = before;
        }
    }
    mark_boot(steps, from_start, |step| step.is_busy);
}

/// Marks what belongs to a boot from the first step on, where it was seen.
fn mark_boot(steps: &mut [Step], is_seen: bool, boots: impl Fn(&Step) -> bool) {
    let first = steps.iter_mut().take_while(|step| is_seen && boots(step));
    first.for_each(|step| step.is_boot = true);
}

/// A time that a guest was busy, as places among its steps: the first, and the one after the last.
pub type Spell = std::ops::Range<usize>;

/// The spells of a run, boots left out.
pub fn spells(steps: &[Step]) -> Vec<Spell> {
    let mut found: Vec<Spell> = Vec::new();
    for (index, step) in steps.iter().enumerate() {
        if !step.is_busy || step.is_boot {
            continue;
        }
        match found.last_mut() {
            Some(last) if last.end == index => last.end += 1,
            _ => found.push(index..index + 1),
        }
    }
    found
}
