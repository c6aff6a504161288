//! Questions about one host, answered by the laws: the largest N, what binds, the loads there.

pub mod answer;
pub mod caution;
pub mod changes;
pub mod composition;
pub mod count;
pub mod curve;
pub mod difference;
mod figures;
pub mod fit;
pub mod growth;
pub mod guesses;
pub mod host;
pub mod lowest;
pub mod memory;
pub mod named;
mod network;
pub mod observed;
mod processor;
pub mod profiles;
pub mod resource;
pub mod search;
pub mod storage;
pub mod uncertainty;
mod used;
pub mod why;
