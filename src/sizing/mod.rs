//! Questions asked of the laws: what is the largest N, what binds, what does the host look like there.

pub mod answer;
pub mod caution;
pub mod choose;
pub mod compare;
pub mod composition;
pub mod curve;
pub mod explain;
mod figures;
pub mod fit;
pub mod fleet;
pub mod guesses;
pub mod host;
pub mod lowest;
pub mod memory;
pub mod resource;
pub mod search;
pub mod storage;
pub mod uncertainty;
pub mod upgrade;
pub mod why;
