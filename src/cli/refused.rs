//! Why a value is not taken, as data; `error` has the text.

use std::error::Error;
use std::fmt;

/// A value that an option does not take.
#[derive(Debug, Clone, PartialEq)]
pub struct Refused {
    /// What it must be.
    pub must: String,
    /// What it is instead, where that is more than what was typed: "is `5` without a unit".
    pub but: Option<String>,
    /// How to correct it.
    pub hint: String,
}

impl fmt::Display for Refused {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "it must be {}; {}", self.must, self.hint)
    }
}

impl Error for Refused {}
