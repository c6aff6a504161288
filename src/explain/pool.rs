//! Operations of a pool, with their numbers.

use super::context::Context;
use super::step::DEFINITION;
use super::{Step, figure};
use crate::model::disk;
use crate::model::tape::Term;
use crate::sizing::storage::{PoolIndex, cost};

/// Reads and writes, added up before the share of time that devices are busy can be.
pub(super) fn reads_and_writes(context: &Context, pool: PoolIndex) -> [Step; 2] {
    let [reads, writes] = context.worked.operations(pool, context.counts);
    let step = |name, value: Term, formula| {
        Step::new(name, figure::plain(value.value(), "/s"))
            .law(formula, DEFINITION)
            .filled(value)
    };
    [
        step(
            "reads of the guests",
            reads,
            "Σ n·(reads_idle + busy·(reads_busy − reads_idle))",
        ),
        step(
            "writes of the guests",
            writes,
            "Σ n·(writes_idle + busy·(writes_busy − writes_idle))",
        ),
    ]
}

/// Share of time that the devices are busy in the mean; none where their speed is not known.
pub(super) fn busy_share<'a>(context: &Context<'a>, pool: PoolIndex) -> Option<Term<'a>> {
    let [reads, writes] = context.worked.operations(pool, context.counts);
    let speed = context.worked.pool_speed(pool)?;
    let layout = cost(&context.model.host.disks[pool]);
    Some(disk::busy_share(reads, writes, layout, speed))
}
