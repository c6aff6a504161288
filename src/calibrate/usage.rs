//! How a reading is used.

/// How a reading is used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Usage {
    /// Settled, everything merged that will merge.
    Merged,
    /// Settled, nothing merged.
    Unmerged,
    /// Settled at the threshold of an adaptive scanner: merged ≤ reading ≤ unmerged.
    Hovering,
    /// The same, taken as merged because nothing better exists.
    HoveringAsMerged,
    /// Right after a batch was started; the reading right before it is this one.
    Step(usize),
    /// In a state that is not known: merged ≤ reading ≤ just started.
    Bound,
    /// Between a start and the plateau.
    Settling,
    /// Settled, with too few guests to share what many do.
    TooFewGuests,
}

impl Usage {
    /// Whether the reading shows where memory settles.
    pub fn is_settled(self) -> bool {
        matches!(
            self,
            Usage::Merged | Usage::Unmerged | Usage::HoveringAsMerged
        )
    }

    /// Whether merged guests were read.
    pub fn is_merged(self) -> bool {
        matches!(self, Usage::Merged | Usage::HoveringAsMerged)
    }

    /// Whether the reading is fitted.
    pub fn is_fitted(self) -> bool {
        self.is_settled() || matches!(self, Usage::Step(_))
    }

    /// Whether the reading only bounds the answer.
    pub fn is_bound(self) -> bool {
        !self.is_fitted()
    }

    /// What reports call it.
    pub fn name(self) -> &'static str {
        match self {
            Usage::Merged => "settled",
            Usage::Unmerged => "settled, nothing merged",
            Usage::Hovering => "bound: at the scanner's threshold",
            Usage::HoveringAsMerged => "settled: at the scanner's threshold, taken as merged",
            Usage::Step(_) => "step: right after a start",
            Usage::Bound => "bound: state not known",
            Usage::Settling => "bound: still settling",
            Usage::TooFewGuests => "bound: fewer than 4 guests do not yet share what more do",
        }
    }
}
