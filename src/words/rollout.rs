//! How a rollout is put: why it ends before its target, what would change that, and its cautions.

use std::fmt::{self, Display, Formatter};

use super::caution::{Caution, Worded, written_as_cautions, written_as_text};
use super::host::SIDE_CHANNEL;
use crate::rollout::{Change, RolloutCaution, Why};
use crate::sizing::composition::Unit;
use crate::unit::format;

written_as_cautions!(RolloutCaution);
written_as_text!(Why, Change);

/// "62 guests", "1 set".
pub fn counted(unit: Unit, n: u64) -> String {
    match unit {
        Unit::Guests => format::plural(n, "guest", "guests"),
        Unit::Sets => format::plural(n, "set", "sets"),
    }
}

impl Display for Why {
    fn fmt(&self, f: &mut Formatter) -> fmt::Result {
        match self {
            Why::NothingFits => f.write_str("not even the first guest fits under the limit"),
            Why::Settled { target: 0, .. } => f.write_str(
                "the guests that must run would settle above the limit, so no order and no patience helps",
            ),
            Why::Settled { target, unit } => write!(
                f,
                "{} would settle above the limit, so no order and no patience helps",
                counted(*unit, *target)
            ),
            Why::LivedIn => f.write_str("guests that have been busy hold more"),
            Why::NotMergedYet => f.write_str(
                "all of them would settle below the limit, but the last ones do not fit before their pages are merged",
            ),
        }
    }
}

impl Display for Change {
    fn fmt(&self, f: &mut Formatter) -> fmt::Result {
        match self {
            Change::Memory(bytes) => {
                write!(f, "{} more memory in the host", format::bytes(*bytes))
            }
            Change::Limit(share) => {
                write!(f, "a limit of {} (--at-most)", format::share(*share))
            }
            Change::Sharing(pages) => write!(
                f,
                "page sharing (same-page merging) at {} pages per wake, in mode fixed",
                format::number(*pages)
            ),
        }
    }
}

impl Caution for RolloutCaution {
    fn worded(&self) -> Worded {
        match self {
            Self::Killed => Worded::fixed(
                "killed",
                "A killed guest loses what it had not written; the kernel picks which one.",
                "What a killed guest had not written to disk is lost. Which guest it hits is the kernel's choice: the \
                 largest by resident memory, with shared pages counted in full, so often an old one and not the newcomer.",
            ),
            Self::Overcommit => Worded::fixed(
                "overcommit",
                "Past the safe limit a small rush reaches the cliff: keep backups.",
                "Past the safe limit a small rush reaches the cliff where the host thrashes or kills guests: keep \
                 nothing irreplaceable here without a backup.",
            ),
            Self::SwapInUse => Worded::fixed(
                "swap_in_use",
                "Swap is in use on the way: that is slow, and it wears the disk.",
                "Swap is in use on the way: that is slow, and it wears the disk.",
            ),
            Self::SideChannel => SIDE_CHANNEL,
            Self::LivedIn { busy_spells } => lived_in(*busy_spells),
            Self::Estimate => Worded::fixed(
                "estimate",
                "An estimate: watch the first batches and compare before you go on.",
                "This is an estimate from the numbers given. Watch the first batches and compare before you go on.",
            ),
        }
    }
}

fn lived_in(busy_spells: bool) -> Worded {
    let text = if busy_spells {
        "Not every guest need have been busy by the end. Once all have been, they hold more and give little of it back: \
         see how many `fit` counts, and stay at that number if they are to stay."
    } else {
        "These guests have never been busy. Once they have been, they hold more and give little of it back: see how many \
         `fit` counts, and stay at that number if they are to stay."
    };
    Worded::fixed(
        "lived_in",
        "Guests that have been busy hold more: stay at the number that fit counts.",
        text,
    )
}
