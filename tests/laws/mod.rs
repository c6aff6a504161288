//! Properties that hold whatever the numbers are.

mod composition;
mod search;
mod sizing;
