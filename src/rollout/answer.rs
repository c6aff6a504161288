//! The answer to "how do I get there": one value that every format is written from.

use schemars::JsonSchema;
use serde::Serialize;

use super::plan::Rule;
use super::record::{BatchRun, Moment, Run};
use crate::sizing::answer::CautionAnswer;
use crate::sizing::fit::CONTRACT;
use crate::sizing::host::HostModel;

/// Answer of `rollout`.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct RolloutAnswer {
    /// Always `"rollout"`.
    #[schemars(extend("const" = "rollout"))]
    pub report: &'static str,
    /// Version of the JSON contract.
    pub version: u32,
    /// Name of the host.
    pub host: String,
    /// Scaling guests (or sets) asked for.
    pub target: u64,
    /// Scaling guests (or sets) that run at the end.
    pub reached: u64,
    /// Whether the target is reached, no guest is lost and no peak passes the limit.
    pub safe: bool,
    /// When the last guest is up `[s]`; null if some never come up.
    pub total_s: Option<f64>,
    /// Highest accepted share of visible memory.
    pub limit: f64,
    /// Highest use, share of visible memory.
    pub peak: f64,
    /// Guests lost.
    pub killed: u64,
    /// The rule that was followed; null where there is none.
    pub plan: Option<PlanAnswer>,
    /// Why the target is not reached safely, and what would change it; null where it is.
    pub shortfall: Option<ShortfallAnswer>,
    /// Cautions that apply.
    pub cautions: Vec<CautionAnswer>,
    /// One entry a batch.
    pub batches: Vec<BatchAnswer>,
    /// Thinned.
    pub timeline: Vec<MomentAnswer>,
}

/// Why a target is not reached safely.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ShortfallAnswer {
    /// In words.
    pub why: String,
    /// Memory missing for the target `[B]`.
    pub missing: f64,
    /// What would change it, each by itself, in words.
    pub changes: Vec<String>,
}

/// So many guests every so often.
#[derive(Debug, Clone, Copy, Serialize, JsonSchema)]
pub struct PlanAnswer {
    /// Guests of all profiles that start together.
    pub batch: u64,
    /// From the start of one batch to that of the next `[s]`.
    pub wait_s: f64,
}

/// One batch. It ends where the next one starts.
#[derive(Debug, Clone, Copy, Serialize, JsonSchema)]
pub struct BatchAnswer {
    /// When it began, with cloning `[s]`.
    pub start_s: f64,
    /// Guests that ran before.
    pub before: u64,
    /// Guests started.
    pub started: u64,
    /// Highest use, share of visible memory.
    pub peak: f64,
    /// Time from its start to the peak `[s]`.
    pub peak_s: f64,
    /// Use at its end, share of visible memory.
    pub settled: f64,
    /// Time from its last guest being up until memory was seen to have settled `[s]`; null if it ended before.
    pub settle_s: Option<f64>,
    /// Guests killed.
    pub killed: u64,
    /// Guests that may be lost before the first one's memory is back.
    pub killed_most: u64,
    /// Time that cloning took `[s]`; null where the pool's write speed is not given.
    pub clone_s: Option<f64>,
}

/// The host at one moment.
#[derive(Debug, Clone, Copy, Serialize, JsonSchema)]
pub struct MomentAnswer {
    /// Since the first batch `[s]`.
    pub t_s: f64,
    /// Guests of all profiles that run.
    pub guests: u64,
    /// Base, cache and guests in memory, share of visible memory.
    pub used: f64,
    /// What page sharing saves `[B]`.
    pub merged_bytes: f64,
    /// Speed of the scanner `[pages/s]`.
    pub scan_pages_per_s: f64,
    /// Swapped out `[B]`.
    pub swap_used: f64,
    /// Busy share of the busiest pool.
    pub disk_busy: f64,
}

impl RolloutAnswer {
    /// The answer that a run gives; `reached` is what it runs at the end, at most `target`.
    #[must_use]
    pub fn new(
        model: &HostModel,
        target: u64,
        limit: f64,
        rule: Option<Rule>,
        run: &Run,
    ) -> RolloutAnswer {
        let running = run.guests.iter().sum();
        let reached = super::plan::scaling_of(model, running).min(target);
        RolloutAnswer {
            report: "rollout",
            version: CONTRACT,
            host: model.host.name.clone(),
            target,
            reached,
            safe: reached >= target && run.killed == 0 && crate::model::within(run.peak, limit),
            total_s: run.up_s,
            limit,
            peak: run.peak,
            killed: run.killed,
            plan: rule.map(|rule| PlanAnswer {
                batch: rule.batch,
                wait_s: rule.wait_s,
            }),
            shortfall: None,
            cautions: Vec::new(),
            batches: run.batches.iter().map(BatchAnswer::of).collect(),
            timeline: run.timeline.iter().map(MomentAnswer::of).collect(),
        }
    }
}

impl BatchAnswer {
    fn of(batch: &BatchRun) -> BatchAnswer {
        BatchAnswer {
            start_s: batch.start_s,
            before: batch.before,
            started: batch.started,
            peak: batch.peak,
            peak_s: batch.peak_s,
            settled: batch.settled,
            settle_s: batch.settle_s,
            killed: batch.killed,
            killed_most: batch.killed_most,
            clone_s: batch.clone_s,
        }
    }
}

impl MomentAnswer {
    fn of(moment: &Moment) -> MomentAnswer {
        MomentAnswer {
            t_s: moment.t_s,
            guests: moment.guests,
            used: moment.used,
            merged_bytes: moment.merged_bytes,
            scan_pages_per_s: moment.scan_pages_per_s,
            swap_used: moment.swap_used,
            disk_busy: moment.disk_busy,
        }
    }
}
