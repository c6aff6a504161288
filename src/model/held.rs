//! What the guests of a host hold in memory together.

use super::PAGE;
use super::footprint::{Footprint, Tracking};
use super::number::{Measure, Number};
use super::sharing::{SmartScan, copies};

/// Guests of one profile.
#[derive(Debug, Clone, Copy)]
pub struct Group<'a, N = f64> {
    /// n, how many run `[1]`.
    pub count: N,
    /// One of them.
    pub guest: &'a Footprint<N>,
    /// κ, merged share of their mergeable pages, 0–1; see [`merged_share`](super::sharing::merged_share).
    pub merged_share: N,
}

/// How merged pages are kept.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Copying<N = f64> {
    /// L, most users of one merged copy `[1]`, ≥ 1.
    pub users: N,
    /// Part of what repeats inside a guest that is zero and needs no copy at all, 0–1.
    pub zero_share: N,
}

/// Memory of the guests. All `[B]`.
#[derive(Debug, Clone, PartialEq)]
pub struct Held<N = f64> {
    /// Overhead, unique pages, page tables and bookkeeping.
    pub private: N,
    /// Copies that stay of merged pages.
    pub merged: N,
    /// Mergeable pages that are not merged (yet, or again).
    pub unmerged: N,
    /// Δ of each group, what one of its guests holds beyond this while it is busy.
    pub extras: Vec<N>,
    /// The part of `private` that cannot be swapped out.
    pub fixed_in_memory: N,
}

impl<N: Number> Held<N> {
    /// What is there with no guest busy `[B]`.
    pub fn always(&self) -> N {
        self.private + self.merged + self.unmerged
    }

    /// Mean memory of the guests `[B]`: `always + Σ n·a·Δ`.
    ///
    /// - `guests` (n, a) of each group, in the order of the groups: how many run, and the probability that one is busy
    ///
    /// # Source
    /// Definition: the mean of a sum of binomials.
    pub fn mean(&self, guests: impl IntoIterator<Item = (N, N)>) -> N {
        let busy = guests.into_iter().zip(&self.extras);
        let busy = N::sum(busy.map(|((count, busy), extra)| count * busy * *extra));
        (self.always() + busy).named(Measure::Bytes)
    }
}

/// Memory that guests hold.
///
/// `private = Σ n·(o + u + meta)`, `merged = Σ_images κ·copies + Σ κ·n·s·(1 − zero)/L`,
/// `unmerged = Σ (1 − κ)·n·(c + s)`, and Δ of each profile. A container's common files are shared at once through the page
/// cache: one copy an image.
///
/// - `groups` n guests of each profile with κ; o, u, c, s `[B]`, meta `[B]` and Δ `[B]` as in [`Footprint`]
/// - `families` places in `groups` of the profiles of one image, see [`families`](super::sharing::families)
/// - `copying` L users of a copy, and the zeroed part of s that needs none
/// - `tracking` whether the scanner keeps bookkeeping
///
/// # Source
/// Linux mm/ksm.c and kernel admin guide, mm/ksm, for copies; the sum is a definition of this project. Computed by
/// hand in tests/published/guest_kinds.rs and containers.rs.
///
/// # Example
/// ```
/// use berthage::inventory::load_text;
/// use berthage::model::footprint::{Age, Footprint, Tracking};
/// use berthage::model::held::{Copying, Group, held};
/// use berthage::model::{MIB, affine::Affine, number::Number};
/// let text = r#"
/// host = [{ name = "h", cpu.groups = [{ cores = 1 }], memory.modules = ["64 GiB"] }]
/// guest = [{ name = "g", memory = "2 GiB", touched = "700 MiB", common = "200 MiB", repeats = "0 B" }]
/// "#;
/// let lab = load_text("lab.toml", text, &[]).expect("a valid lab");
/// let guest = Footprint::of(&lab.guests[0], Age::Fresh);
/// let copying = Copying { users: 256.0, zero_share: 0.0 };
/// let merged = Group { count: 10.0, guest: &guest, merged_share: 0.75 };
/// let memory = held(&[merged], &[vec![0]], copying, Tracking::On);
/// assert_eq!((memory.merged, memory.unmerged), (150.0 * MIB, 500.0 * MIB));
/// assert_eq!(memory.private, 10.0 * (guest.overhead + 500.0 * MIB + 80.0 / 4096.0 * 700.0 * MIB));
///
/// // The same as an equation in c, of which u is what is left of 700 MiB.
/// let common = Affine::<1>::unknown(0);
/// let sought = Footprint::read(&lab.guests[0], Age::Fresh, |_, value, _| Affine::of(value));
/// let sought = Footprint { common, unique: sought.idle - common, ..sought };
/// let group = Group { count: Affine::of(10.0), guest: &sought, merged_share: Affine::of(0.75) };
/// let copying = Copying { users: Affine::of(256.0), zero_share: Affine::of(0.0) };
/// let equation = held(&[group], &[vec![0]], copying, Tracking::On).always();
/// assert_eq!(equation.factors, [-10.0 + 0.75 * 1.0 + 0.25 * 10.0]);
/// assert_eq!(equation.at(&[200.0 * MIB]), memory.always());
/// ```
pub fn held<N: Number>(
    groups: &[Group<N>],
    families: &[Vec<usize>],
    copying: Copying<N>,
    tracking: Tracking,
) -> Held<N> {
    let own = |group: &Group<N>| {
        let guest = group.guest;
        group.count * (guest.overhead + guest.unique + guest.meta(tracking))
    };
    let unmerged =
        |group: &Group<N>| (N::of(1.0) - group.merged_share) * group.count * group.guest.unshared();
    let fixed = groups.iter().filter(|group| !group.guest.swappable());
    Held {
        private: N::sum(groups.iter().map(own)).named(Measure::Bytes),
        merged: merged(groups, families, copying).named(Measure::Bytes),
        unmerged: N::sum(groups.iter().map(unmerged)).named(Measure::Bytes),
        extras: groups
            .iter()
            .map(|group| group.guest.busy_extra(group.merged_share, tracking))
            .collect(),
        fixed_in_memory: N::sum(fixed.map(own)).named(Measure::Bytes),
    }
}

/// What the guests of one group hold when idle. All `[B]`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Part {
    /// All of it, with their part of shared pages.
    pub held: f64,
    /// Their part of pages that are shared.
    pub shared: f64,
}

/// What each group holds of the memory of all: the parts add up to [`Held::always`].
///
/// `private + unmerged` of its own guests, and of the shared pages of its family the part `w/Σ w`, `w = n·(κ·(c + s))`, with
/// κ = 1 for the files that containers share
///
/// - `groups`, `families` (each group in one), `copying`, `tracking`: as in [`held`]
///
/// # Source
/// Definition of this project.
pub fn parts(
    groups: &[Group],
    families: &[Vec<usize>],
    copying: Copying,
    tracking: Tracking,
) -> Vec<Part> {
    let mut parts = vec![
        Part {
            held: 0.0,
            shared: 0.0
        };
        groups.len()
    ];
    for family in families {
        let members: Vec<Group> = family.iter().map(|place| groups[*place]).collect();
        let all: Vec<usize> = (0..members.len()).collect();
        let shared = held(&members, &[all], copying, tracking).merged;
        let weight = |group: &Group| {
            let files = if group.guest.shares_files() {
                group.guest.common
            } else {
                0.0
            };
            group.count * (group.merged_share * group.guest.mergeable() + files)
        };
        let weights: f64 = members.iter().map(weight).sum();
        for (place, group) in family.iter().zip(&members) {
            let own = held(&[*group], &[], copying, tracking);
            let shared = if weights > 0.0 {
                shared * weight(group) / weights
            } else {
                0.0
            };
            parts[*place] = Part {
                held: own.private + own.unmerged + shared,
                shared,
            };
        }
    }
    parts
}

/// Copies that stay of merged pages, and files that containers share `[B]`.
fn merged<N: Number>(groups: &[Group<N>], families: &[Vec<usize>], copying: Copying<N>) -> N {
    let files = families.iter().map(|family| {
        let sets = common_sets(groups, family, Footprint::shares_files);
        sets.first().map_or(N::of(0.0), |set| set.guest.common)
    });
    let machines = families.iter().map(|family| {
        let sets = common_sets(groups, family, Footprint::merges_common);
        let nested: Vec<(N, N)> = sets
            .iter()
            .map(|set| (set.guest.common, set.count))
            .collect();
        family_share(&sets) * copies(&nested, copying.users)
    });
    let repeated = groups.iter().map(|group| {
        let kept = N::of(1.0) - copying.zero_share;
        group.merged_share * group.count * group.guest.repeats * kept / copying.users
    });
    N::sum(files.chain(machines).chain(repeated))
}

/// The groups of a family that run and have common pages of a kind, the largest set of them first.
fn common_sets<'g, N: Number>(
    groups: &[Group<'g, N>],
    family: &[usize],
    wanted: fn(&Footprint<N>) -> bool,
) -> Vec<Group<'g, N>> {
    let all = family.iter().filter_map(|place| groups.get(*place));
    let mut sets: Vec<Group<N>> = all
        .filter(|group| wanted(group.guest))
        .filter(|group| group.guest.common.is_positive() && group.count.is_positive())
        .copied()
        .collect();
    let size = |set: &Group<N>| set.guest.common.known().unwrap_or(f64::INFINITY);
    sets.sort_by(|one, other| size(other).total_cmp(&size(one)));
    sets
}

/// κ of the common pages of one image: `Σ n·c·κ / Σ n·c`.
fn family_share<N: Number>(sets: &[Group<N>]) -> N {
    match sets {
        [] => N::of(0.0),
        [one] => one.merged_share,
        _ => {
            let weight = |set: &Group<N>| set.guest.common * set.count;
            let merged = sets.iter().map(|set| weight(set) * set.merged_share);
            N::sum(merged) / N::sum(sets.iter().map(weight))
        }
    }
}

/// P, pages that the scanner visits in a pass: `Σ n·v/4096` `[pages]`.
///
/// - `groups` n guests of each profile; v `[B]` as in [`Footprint::visited`]
///
/// # Source
/// Linux mm/ksm.c.
pub fn visited_pages<'g, N: Number + 'g>(
    guests: impl IntoIterator<Item = (N, &'g Footprint<N>)>,
    smart_scan: SmartScan,
) -> N {
    let visited = guests
        .into_iter()
        .map(|(count, guest)| count * guest.visited(smart_scan));
    (N::sum(visited) / N::of(PAGE)).named(Measure::Plain)
}

/// Resident memory of all guests, merged pages counted in full: `Σ n·(o + ti)` `[B]`.
///
/// # Source
/// Definition of this project, as the public tuning daemon counts.
pub fn resident<'g, N: Number + 'g>(guests: impl IntoIterator<Item = (N, &'g Footprint<N>)>) -> N {
    let all = guests
        .into_iter()
        .map(|(count, guest)| count * (guest.overhead + guest.idle));
    N::sum(all).named(Measure::Bytes)
}

/// Share of the mergeable pages found merged: `Σ n·(c + s)·κ / Σ n·(c + s)`; 0 where nothing can merge.
///
/// # Source
/// Definition of this project.
pub fn merged_part<N: Number>(groups: &[Group<N>]) -> N {
    let weight = |group: &Group<N>| group.count * group.guest.mergeable();
    let all = N::sum(groups.iter().map(weight));
    if !all.is_positive() {
        return N::of(0.0);
    }
    let merged = groups
        .iter()
        .map(|group| weight(group) * group.merged_share);
    N::sum(merged) / all
}
