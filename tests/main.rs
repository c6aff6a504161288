//! All tests, one binary.

mod laws;
mod layers;
mod support;

/// The program as a person runs it.
mod cli {
    mod arithmetic;
    mod cautions;
    mod explain_calls;
    mod explained;
    #[cfg(target_os = "linux")]
    mod extremes;
    mod faults;
    mod files;
    mod formats;
    mod growth;
    mod help;
    mod one_screen;
    mod options;
    mod pages;
    mod pictures;
    #[cfg(unix)]
    mod pipes;
    mod purchase;
    mod readme;
    mod rollout;
    mod schema;
    mod screens;
    mod sessions;
    mod shortfall;
    mod start;
    mod states;
    mod uncertainty;
    #[cfg(unix)]
    mod watched;
    mod why;
}

/// Values printed by others, and values worked out by an independent way.
mod published {
    mod cliff;
    mod containers;
    mod demand;
    mod demand_enumerated;
    mod disk;
    mod guest_kinds;
    mod memory;
    mod money;
    mod observed;
    mod packing;
    mod queue;
    mod scanner;
    mod worked;
}

/// What happens in time.
mod rollout {
    mod arbitrary;
    mod lab;
    mod laws;
    mod measured;
    mod mechanism;
    mod merging;
    mod practice;
    mod published;
}

/// Trees of made-up hosts, and the machine that the tests run on.
mod survey {
    mod each;
    mod fuzz;
    mod held;
    mod series;
    mod tables;
}

/// Readings of real, reported and simulated hosts.
mod calibrate {
    mod files;
    mod fuzz;
    mod guests;
    mod measured;
    mod observed;
    mod practice;
    mod simulated;
}
