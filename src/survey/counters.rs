//! The merge counters: what page sharing gains or costs on a host.

use super::root::Root;
use crate::model::PAGE;
use crate::model::sharing::{TRACKED_PAGE, profit};
use crate::unit::format;

/// Folder of the scanner's settings and counters.
pub(super) const KSM: &str = "sys/kernel/mm/ksm";

/// The scanner's counters, in pages.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Counters {
    /// Whether the scanner runs now.
    pub runs: bool,
    /// Merged copies kept.
    pub shared: f64,
    /// Pages saved.
    pub sharing: f64,
    /// Tracked pages that found no equal.
    pub unshared: f64,
    /// Tracked pages that change too often.
    pub volatile: f64,
    /// Pages merged with the kernel's zero page.
    pub zero: f64,
    /// The kernel's own sum `[B]`, where it has one.
    pub general_profit: Option<f64>,
}

impl Counters {
    /// The counters of a host; none where the kernel has no page sharing.
    pub fn read(root: &Root) -> Option<Counters> {
        let number = |name: &str| root.number(&format!("{KSM}/{name}")).ok();
        let pages = |name: &str| number(name).filter(|pages| *pages >= 0.0);
        Some(Counters {
            runs: number("run")? == 1.0,
            shared: pages("pages_shared")?,
            sharing: pages("pages_sharing")?,
            unshared: pages("pages_unshared").unwrap_or(0.0),
            volatile: pages("pages_volatile").unwrap_or(0.0),
            zero: pages("ksm_zero_pages").unwrap_or(0.0),
            general_profit: number("general_profit"),
        })
    }

    /// What page sharing gains `[B]`; negative where it costs memory.
    ///
    /// The kernel's own sum where it has one, else [`profit`] of the counters.
    pub fn profit(&self) -> f64 {
        let tracked = self.shared + self.sharing + self.unshared + self.volatile;
        self.general_profit
            .unwrap_or_else(|| profit(self.sharing + self.zero, tracked))
    }

    /// Whether sharing gains or costs memory on this host, in words.
    ///
    /// # Example
    /// ```
    /// use berthage::survey::Counters;
    /// // A published host diary: 52 pages saved, 3,149,958 tracked.
    /// let counters = Counters {
    ///     runs: true, shared: 10.0, sharing: 52.0, unshared: 3_149_896.0, volatile: 0.0, zero: 0.0,
    ///     general_profit: None,
    /// };
    /// assert!(counters.words().contains("costs 192 MiB"));
    /// ```
    pub fn words(&self) -> String {
        let saved = (self.sharing + self.zero) * PAGE;
        let profit = self.profit();
        let bookkeeping = saved - profit;
        if saved == 0.0 && bookkeeping <= 0.0 {
            return if self.runs {
                "page sharing (same-page merging) runs and has found nothing yet".to_owned()
            } else {
                "page sharing (same-page merging) is idle: nothing is merged, nothing is gained, nothing is paid".to_owned()
            };
        }
        let parts = format!(
            "saves {}, its bookkeeping takes {}",
            format::bytes(saved),
            format::bytes(bookkeeping)
        );
        if profit >= 0.0 {
            format!(
                "page sharing (same-page merging) gains {} here: it {parts}",
                format::bytes(profit)
            )
        } else {
            format!(
                "page sharing (same-page merging) costs {} here: it {parts}; switch it off, or for the guests that \
                 share nothing",
                format::bytes(-profit)
            )
        }
    }

    /// Bookkeeping by the counters `[B]`.
    pub fn bookkeeping(&self) -> f64 {
        (self.shared + self.sharing + self.unshared + self.volatile) * TRACKED_PAGE
    }
}
