//! How the rest of a table follows from what is given: defaults from other keys, and relations between keys.
//!
//! The steps of a section are data and run in their order, because a default may follow from a value that a relation has
//! lowered. [`Draft`](super::draft::Draft) runs them when a file is read, for tables made by hand, and again in each draw.

use super::origin::DefaultOrigin;

/// A default or a relation.
#[derive(Debug)]
pub enum Step<T> {
    /// The default of its row, of that value, for a key that is left out.
    Fill(&'static str, Room, fn(&T) -> f64),
    /// A default with a text and an origin of its own, where the condition holds; of several steps for one key the
    /// first that applies counts.
    Case(
        &'static str,
        fn(&T) -> bool,
        fn(&T) -> f64,
        (&'static str, DefaultOrigin),
    ),
    /// The default of a flag that follows from other keys.
    Flag(&'static str, fn(&T) -> bool),
    /// Another value for the default of a key that is left out, which is not reported: room for a given partner.
    MakeRoom(&'static str, fn(&T) -> f64),
    /// The first key is at most the second, and is lowered to it.
    AtMost(&'static str, &'static str, When),
    /// A key that was given as a share of another, in bytes.
    InBytes(&'static str, &'static str),
    /// Two keys are parts of a third; the first is lowered before the second.
    Parts([&'static str; 2], &'static str),
    /// A key is at most what others leave, and is lowered to it; it is not checked where one of the others is invalid.
    Limit(&'static str, [&'static str; 2], fn(&T) -> f64),
}

/// The room that a default makes for a partner.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Room {
    /// It makes none.
    Any,
    /// At most the partner, if that is given.
    Below(&'static str),
    /// At least the partner.
    Above(&'static str),
    /// At most what the first, if given, leaves of the second.
    Beside(&'static str, &'static str),
}

/// When a relation between two keys applies.
#[derive(Debug, Clone, Copy)]
pub enum When {
    /// The lower is given.
    LowGiven,
    /// The higher is given; the lower may be a default.
    HighGiven,
    /// Both are given; defaults make room for each other.
    BothGiven,
    /// The lower is given and this one is not.
    LowWithout(&'static str),
}
