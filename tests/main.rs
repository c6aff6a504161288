//! All tests, one binary.

mod laws;
mod support;

/// The program as a person runs it.
mod cli {
    mod formats;
    mod readme;
    mod sessions;
}

/// Values printed by others, and values worked out by an independent way.
mod published {
    mod demand;
    mod demand_enumerated;
    mod disk;
    mod memory;
    mod queue;
    mod worked;
}
