//! Properties that hold whatever the numbers are.

mod balloon;
mod choose;
mod composition;
mod coverage;
mod disks;
mod estimated;
mod fleet;
mod fleet_growth;
mod fleet_multiplied;
mod growth;
mod limits;
mod periods;
mod running;
mod search;
mod sizing;
mod uncertainty;
mod upgrade;
mod widening;
