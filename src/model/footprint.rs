//! What one guest holds on the host, in the symbols of the memory law.

use super::number::{Measure, Number};
use super::sharing::{SmartScan, TRACKED_PAGE, visited};
use super::{MIB, PAGE};
use crate::lab::{Guest, Kind};

/// Page tables of a virtual machine per byte mapped: 8 B host entry + 8 B second-level entry per page.
/// Source: Linux kernel documentation, page tables.
pub const TABLES_MACHINE: f64 = PAGE_ENTRIES_MACHINE / PAGE;
/// Page tables of a container per byte mapped: 8 B per page. Source: Linux kernel documentation, page tables.
///
/// # Example
/// ```
/// use berthage::model::{GIB, MIB, footprint::TABLES_CONTAINER};
/// assert_eq!(16.0 * GIB * TABLES_CONTAINER, 32.0 * MIB);
/// ```
pub const TABLES_CONTAINER: f64 = PAGE_ENTRIES_CONTAINER / PAGE;
/// Page tables of a virtual machine for one page `[B]`.
const PAGE_ENTRIES_MACHINE: f64 = 16.0;
/// Page tables of a container for one page `[B]`.
const PAGE_ENTRIES_CONTAINER: f64 = 8.0;
/// Scanner bookkeeping per tracked byte, 1/64. Source: compiled from Linux mm/ksm.c.
pub const BOOKKEEPING: f64 = TRACKED_PAGE / PAGE;
/// Size of a reserved huge page `[B]`. Source: Linux kernel documentation, hugetlbpage.
pub const HUGE_PAGE: f64 = 2.0 * MIB;

/// Whether a guest has ever been busy since it started.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Age {
    /// Has been busy; holds k of what it touched then.
    LivedIn,
    /// Never busy since boot: what a first evening of cloning shows, and it flatters.
    Fresh,
}

/// How a guest's pages may be shared.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Backing {
    /// Pages merge with those of other guests of the image.
    Merging,
    /// A virtual machine whose pages may not merge.
    Private,
    /// Pinned in memory: nothing merges, never swapped.
    Pinned,
    /// Reserved huge pages: nothing merges, never swapped, no page tables counted.
    Huge,
    /// A container: files of the image are shared through the host's page cache.
    Container,
    /// A container whose private pages may merge too.
    MergingContainer,
}

/// Whether the scanner keeps bookkeeping of pages.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tracking {
    /// Page sharing is on.
    On,
    /// Page sharing is off.
    Off,
}

/// One guest as the host sees it. All sizes `[B]`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Footprint<N = f64> {
    /// How its pages may be shared.
    pub backing: Backing,
    /// m, configured.
    pub memory: N,
    /// o, process that runs the guest.
    pub overhead: N,
    /// t0, resident when idle and never busy.
    pub touched: N,
    /// t1, resident when busy.
    pub touched_busy: N,
    /// k, share of t1 − t0 kept after a busy spell.
    pub keeps: N,
    /// ti = t0 + k·(t1 − t0), idle resident.
    pub idle: N,
    /// c, equal in every guest of the image.
    pub common: N,
    /// s, equal to other pages inside the guest.
    pub repeats: N,
    /// u = ti − c − s, unique.
    pub unique: N,
    /// β, share of c + s that a busy guest rewrites.
    pub breaks: N,
    /// What a balloon can take from an idle guest.
    pub give: N,
}

impl Footprint {
    /// The footprint of a profile at an age: [`Footprint::read`] with the numbers of the lab.
    pub fn of(guest: &Guest, age: Age) -> Footprint {
        Footprint::read(guest, age, |_, value, _| value)
    }
}

impl<N: Number> Footprint<N> {
    /// The footprint of a profile at an age.
    ///
    /// `ti = t0 + k·(t1 − t0)`, `u = ti − c − s`, `give = min(u, max(0, ti − max(f, w)))`; k = 0 when fresh or never
    /// busy; pinned and huge-page guests hold all of m at once, all unique.
    ///
    /// - `guest` the profile: t0 ≤ t1 ≤ m, c + s ≤ t0 (the inventory refuses others)
    /// - `age` whether it has ever been busy since it started
    /// - `number` makes the number of a key of the guest from its name, its value and what it measures
    ///
    /// Returns all sizes `[B]`; c includes `common_busy` as far as a busy spell leaves it behind.
    ///
    /// # Source
    /// Definition of this project; what guests keep and rewrite measured for this project on kernel 6.18; balloon:
    /// OASIS virtio, balloon device.
    pub fn read(
        guest: &Guest,
        age: Age,
        number: impl Fn(&'static str, f64, Measure) -> N,
    ) -> Footprint<N> {
        let backing = backing(guest);
        let size = |key, value| number(key, value, Measure::Bytes);
        let share = |key, value| number(key, value, Measure::Share);
        if matches!(backing, Backing::Pinned | Backing::Huge) {
            return whole(guest, backing, size);
        }
        let keeps = if age == Age::Fresh || guest.busy.most() == 0.0 {
            N::of(0.0)
        } else {
            share("keeps", guest.keeps)
        };
        let touched = size("touched", guest.touched);
        let touched_busy = size("touched_busy", guest.touched_busy);
        let repeats = size("repeats", guest.repeats);
        let grown = keeps * (touched_busy - touched);
        let idle = (touched + grown).named(Measure::Bytes);
        let zero = N::of(0.0);
        let also_common = size("common_busy", guest.common_busy).min(grown);
        let common = size("common", guest.common) + also_common;
        let common = common.named(Measure::Bytes);
        let unique = zero.max(idle - common - repeats).named(Measure::Bytes);
        let machine = guest.kind == Kind::Machine;
        let give = match balloon_line(guest, size) {
            Some(line) if machine => unique.min(zero.max(idle - line)),
            Some(_) | None => zero,
        };
        Footprint {
            backing,
            memory: size("memory", guest.memory),
            overhead: size("overhead", guest.overhead),
            touched,
            touched_busy,
            keeps,
            idle,
            common,
            repeats,
            unique,
            breaks: if machine {
                share("busy_breaks", guest.busy_breaks)
            } else {
                zero
            },
            give: give.named(Measure::Bytes),
        }
    }

    /// Whether the scanner visits this guest's pages.
    pub fn scanned(&self) -> bool {
        matches!(self.backing, Backing::Merging | Backing::MergingContainer)
    }

    /// Whether the guest shares its common pages by the scanner (not through the page cache).
    pub fn merges_common(&self) -> bool {
        self.backing == Backing::Merging
    }

    /// Whether the guest shares its common pages through the host's page cache.
    pub fn shares_files(&self) -> bool {
        matches!(self.backing, Backing::Container | Backing::MergingContainer)
    }

    /// Whether the guest can be swapped out.
    pub fn swappable(&self) -> bool {
        !matches!(self.backing, Backing::Pinned | Backing::Huge)
    }

    /// c + s as far as the scanner can merge it `[B]`.
    pub fn mergeable(&self) -> N {
        match self.backing {
            Backing::Merging => self.common + self.repeats,
            Backing::MergingContainer => self.repeats,
            Backing::Private | Backing::Pinned | Backing::Huge | Backing::Container => N::of(0.0),
        }
    }

    /// c + s as far as only the scanner could merge it `[B]`: a container's files are shared without it.
    pub fn unshared(&self) -> N {
        if self.shares_files() {
            self.repeats
        } else {
            self.common + self.repeats
        }
    }

    /// v, visited in a pass `[B]`: [`visited`], 0 for what is not scanned.
    pub fn visited(&self, smart_scan: SmartScan) -> N {
        if self.scanned() {
            visited(self.mergeable(), self.unique, smart_scan)
        } else {
            N::of(0.0)
        }
    }

    /// meta, page tables per byte mapped and bookkeeping per byte tracked `[B/B]`.
    ///
    /// `16/4096 + 64/4096` for a machine that is scanned; the second part only with sharing on; 8/4096 in place of
    /// 16/4096 for a container; nothing for reserved huge pages.
    ///
    /// # Source
    /// Linux kernel documentation, page tables; bookkeeping compiled from Linux mm/ksm.c.
    pub fn meta_rate(&self, tracking: Tracking) -> N {
        self.tables_rate() + self.bookkeeping_rate(tracking)
    }

    fn tables_rate(&self) -> N {
        match self.backing {
            Backing::Huge => N::of(0.0),
            Backing::Merging | Backing::Private | Backing::Pinned => {
                N::ratio(PAGE_ENTRIES_MACHINE, PAGE)
            }
            Backing::Container | Backing::MergingContainer => {
                N::ratio(PAGE_ENTRIES_CONTAINER, PAGE)
            }
        }
    }

    fn bookkeeping_rate(&self, tracking: Tracking) -> N {
        if tracking == Tracking::On && self.scanned() {
            N::ratio(TRACKED_PAGE, PAGE)
        } else {
            N::of(0.0)
        }
    }

    /// Page tables and bookkeeping of an idle guest `[B]`: both on ti, but no bookkeeping on a container's files.
    ///
    /// `tables·ti + bookkeeping·(ti − c)` for a container, `(tables + bookkeeping)·ti` for a machine
    ///
    /// - `tracking` whether the scanner keeps bookkeeping at all
    ///
    /// # Source
    /// Linux kernel documentation, page tables; bookkeeping compiled from Linux mm/ksm.c.
    ///
    /// # Example
    /// Computed by hand in tests/published: 64 MiB of page tables for a machine that holds 16 GiB, 32 MiB of them on the
    /// host's side.
    pub fn meta(&self, tracking: Tracking) -> N {
        let tracked = if self.shares_files() {
            self.idle - self.common
        } else {
            self.idle
        };
        let tables = self.tables_rate() * self.idle;
        (tables + self.bookkeeping_rate(tracking) * tracked).named(Measure::Bytes)
    }

    /// Δ, what a busy guest holds beyond an idle one `[B]`.
    ///
    /// `Δ = (1 − k)·(t1 − t0)·(1 + meta) + κ·β·(c + s)`
    ///
    /// - `k`, `t0`, `t1` `[B]`, `β`, `c + s` `[B]` as in [`Footprint`], `meta` as in [`Footprint::meta_rate`]
    /// - `kappa` κ, merged share of its mergeable pages, 0–1
    /// - `tracking` whether the scanner keeps bookkeeping of the growth
    ///
    /// # Valid for
    /// One busy spell at a time; the pages it breaks are merged again after it.
    ///
    /// # Source
    /// Definition of this project; k and β measured for this project on kernel 6.18 (91 % kept, 31 % rewritten in one heavy
    /// spell).
    ///
    /// # Example
    /// ```
    /// use berthage::inventory::load_text;
    /// use berthage::model::MIB;
    /// use berthage::model::footprint::{Age, Footprint, Tracking};
    /// let text = r#"
    /// host = [{ name = "h", cpu.groups = [{ cores = 1 }], memory.modules = ["64 GiB"] }]
    /// guest = [{ name = "g", memory = "2 GiB", touched = "700 MiB", touched_busy = "800 MiB", common = "200 MiB",
    ///            repeats = "50 MiB", busy_breaks = 0.4 }]
    /// "#;
    /// let lab = load_text("lab.toml", text, &[]).expect("a valid lab");
    /// // Fresh, so k = 0: 100·(1 + 80/4096) + 0.5·0.4·250 MiB.
    /// let fresh = Footprint::of(&lab.guests[0], Age::Fresh);
    /// assert_eq!(fresh.busy_extra(0.5, Tracking::On), 151.953125 * MIB);
    /// ```
    pub fn busy_extra(&self, kappa: N, tracking: Tracking) -> N {
        let grows = (N::of(1.0) - self.keeps) * (self.touched_busy - self.touched);
        let breaks = kappa * self.breaks * self.mergeable();
        (grows * (N::of(1.0) + self.meta_rate(tracking)) + breaks).named(Measure::Bytes)
    }
}

/// The line a balloon may not pass: the larger of floor and working set, whichever are given.
fn balloon_line<N: Number>(guest: &Guest, size: impl Fn(&'static str, f64) -> N) -> Option<N> {
    let given = [
        ("balloon_floor", guest.balloon_floor),
        ("working_set", guest.working_set),
    ];
    let lines = given
        .into_iter()
        .filter_map(|(key, line)| Some(size(key, line?)));
    lines.reduce(N::max)
}

fn backing(guest: &Guest) -> Backing {
    match (guest.kind, guest.huge_pages, guest.pinned, guest.merge) {
        (Kind::Container, _, _, false) => Backing::Container,
        (Kind::Container, _, _, true) => Backing::MergingContainer,
        (Kind::Machine, true, _, _) => Backing::Huge,
        (Kind::Machine, false, true, _) => Backing::Pinned,
        (Kind::Machine, false, false, true) => Backing::Merging,
        (Kind::Machine, false, false, false) => Backing::Private,
    }
}

/// A guest that holds all its memory from the start.
fn whole<N: Number>(
    guest: &Guest,
    backing: Backing,
    size: impl Fn(&'static str, f64) -> N,
) -> Footprint<N> {
    let memory = size("memory", guest.memory);
    let held = if backing == Backing::Huge {
        let page = N::measured(HUGE_PAGE, Measure::Bytes);
        (memory / page).ceil() * page
    } else {
        memory
    }
    .named(Measure::Bytes);
    let none = N::of(0.0);
    Footprint {
        backing,
        memory,
        overhead: size("overhead", guest.overhead),
        touched: held,
        touched_busy: held,
        keeps: none,
        idle: held,
        common: none,
        repeats: none,
        unique: held,
        breaks: none,
        give: none,
    }
}
