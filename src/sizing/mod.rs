//! Questions asked of the laws: what is the largest N, what binds, what does the host look like there.

pub mod answer;
pub mod caution;
pub mod compare;
pub mod composition;
pub mod explain;
pub mod fit;
pub mod host;
pub mod memory;
pub mod resource;
pub mod search;
pub mod storage;
