//! Placements: every host is within the limits of `fit`, a spare never raises the count, and few guests are placed as
//! brute force places them.

use std::sync::atomic::AtomicBool;

use berthage::fleet::bounds::Bound;
use berthage::fleet::cluster::{Cluster, Counts};
use berthage::fleet::fleet;
use berthage::fleet::hosts::{Bounds, Hosts, with_restarted};
use berthage::fleet::plan::plan;
use berthage::lab::{Host, Lab};
use berthage::sizing::host::HostModel;
use berthage::sizing::resource::Resource;
use proptest::prelude::{Strategy, prop_assert, prop_assert_eq, proptest};
use proptest::test_runner::Config;

use crate::support::lab;

/// A few hosts and guests, small enough for brute force.
#[derive(Debug, Clone)]
struct Few {
    hosts: Vec<(u32, u32)>,
    guests: Vec<(u32, u32, u32)>,
}

impl Few {
    fn lab(&self) -> Lab {
        let hosts = self.hosts.iter().enumerate().map(|(i, (gib, cores))| {
            format!(
                "[[host]]\nname = \"h{i}\"\ncpu.groups = [{{ cores = {cores} }}]\nmemory.modules = [\"{gib} GiB\"]\n\
                 memory.base = \"1 GiB\"\nmerging.mode = \"fixed\"\nmerging.pages_per_wake = 2000\n\
                 [[host.disk]]\nname = \"d\"\ncapacity = \"100 GB\"\n"
            )
        });
        let guests = self.guests.iter().enumerate().map(|(i, (count, mib, busy))| {
            format!(
                "[[guest]]\nname = \"g{i}\"\nimage = \"i{}\"\ncount = {count}\nmemory = \"{mib} MiB\"\nbusy = \"{busy} %\"\n\
                 common = \"40 %\"\n",
                i % 2
            )
        });
        let images = "[[image]]\nname = \"i0\"\nsize = \"1 GiB\"\n[[image]]\nname = \"i1\"\nsize = \"2 GiB\"\n";
        lab(&format!(
            "{images}{}{}",
            hosts.collect::<String>(),
            guests.collect::<String>()
        ))
    }

    fn counts(&self) -> Vec<u64> {
        self.guests
            .iter()
            .map(|(count, _, _)| u64::from(*count))
            .collect()
    }
}

fn few() -> impl Strategy<Value = Few> {
    let host = (4u32..10, 2u32..8);
    let guest = (1u32..4, 700u32..3500, 0u32..40);
    (
        proptest::collection::vec(host, 1..4),
        proptest::collection::vec(guest, 1..4),
    )
        .prop_map(|(hosts, guests)| Few { hosts, guests })
}

/// Within every limit, by the resources themselves and without any of the code for fleets.
fn holds(lab: &Lab, host: &Host, counts: &[u64]) -> bool {
    let model = HostModel::new(lab, host);
    Resource::all(&model).into_iter().all(|one| {
        one.constraint(&model, counts)
            .is_none_or(|constraint| constraint.within())
    })
}

/// Whether the guests from this one on fit somehow.
fn somehow(lab: &Lab, guests: &[usize], counts: &mut Counts) -> bool {
    let Some((&profile, rest)) = guests.split_first() else {
        return true;
    };
    (0..lab.hosts.len()).any(|host| {
        counts[host][profile] += 1;
        let held = holds(lab, &lab.hosts[host], &counts[host]) && somehow(lab, rest, counts);
        if !held {
            counts[host][profile] -= 1;
        }
        held
    })
}

/// The fewest hosts, of any choice of them, on which the guests fit somehow.
fn fewest_somehow(lab: &Lab, guests: &[usize]) -> Option<usize> {
    let hosts = lab.hosts.len();
    let holds = |chosen: &u32| {
        let mut some = lab.clone();
        let mut place = 0;
        some.hosts.retain(|_| {
            place += 1;
            chosen >> (place - 1) & 1 == 1
        });
        let profiles = lab.guests.len();
        let mut counts = vec![vec![0; profiles]; some.hosts.len()];
        somehow(&some, guests, &mut counts)
    };
    let held = (1..1 << hosts).filter(holds);
    held.map(|chosen| chosen.count_ones() as usize).min()
}

fn placed(lab: &Lab, guests: &[u64], spare: usize) -> (usize, Counts, Option<usize>) {
    let twice = with_restarted(lab);
    let hosts: Vec<&Host> = lab.hosts.iter().collect();
    let cluster = Hosts::new(&twice, &hosts);
    let all: Vec<usize> = (0..hosts.len()).collect();
    let found = plan(&cluster, guests, &all, spare);
    let least = Bound::new(&cluster, &all, guests).least(&all, spare);
    assert_eq!(cluster.profiles(), guests.len());
    (found.placed, found.counts, least)
}

proptest! {
    #![proptest_config(Config { cases: 40, ..Config::default() })]

    #[test]
    fn few_guests_are_placed_where_brute_force_places_them(few in few()) {
        let (lab, guests) = (few.lab(), few.counts());
        let total = guests.iter().sum::<u64>() as usize;
        let (count, counts, least) = placed(&lab, &guests, 0);
        for (host, own) in lab.hosts.iter().zip(&counts) {
            prop_assert!(holds(&lab, host, own), "{:?}", counts);
        }
        let queue: Vec<usize> = guests
            .iter()
            .enumerate()
            .flat_map(|(profile, n)| (0..*n).map(move |_| profile))
            .collect();
        let possible = somehow(&lab, &queue, &mut vec![vec![0; guests.len()]; lab.hosts.len()]);
        prop_assert_eq!(count == total, possible);
        // Few guests leave no gap: the bound and the placement meet at what brute force needs.
        let hosts: Vec<&Host> = lab.hosts.iter().collect();
        let needed = fleet(&lab, &hosts, Some(&guests), 0, Bounds::default()).needed;
        prop_assert_eq!(needed.found, fewest_somehow(&lab, &queue));
        prop_assert!(needed.found.is_none() || needed.at_least == needed.found, "{:?}", needed);
        // What was placed uses no fewer hosts than the bound says.
        let used = counts.iter().filter(|own| own.iter().any(|n| *n > 0)).count();
        prop_assert!(count < total || least.is_some_and(|least| least <= used), "{:?} of {}", least, used);
    }

    #[test]
    fn a_spare_never_raises_the_count(few in few()) {
        let (lab, guests) = (few.lab(), few.counts());
        let mut before = usize::MAX;
        for spare in 0..lab.hosts.len() {
            let (count, counts, _) = placed(&lab, &guests, spare);
            prop_assert!(count <= before, "{} with {} to spare, {} with one fewer", count, spare, before);
            before = count;
            for (host, own) in lab.hosts.iter().zip(&counts) {
                prop_assert!(holds(&lab, host, own));
            }
        }
    }

    #[test]
    fn with_one_to_spare_any_host_may_fail(few in few()) {
        let (lab, guests) = (few.lab(), few.counts());
        if lab.hosts.len() < 2 {
            return Ok(());
        }
        let (_, counts, _) = placed(&lab, &guests, 1);
        for down in 0..lab.hosts.len() {
            let queue: Vec<usize> = counts[down]
                .iter()
                .enumerate()
                .flat_map(|(profile, n)| (0..*n).map(move |_| profile))
                .collect();
            let mut left = counts.clone();
            // A failed host holds nothing: brute force over the others.
            left.remove(down);
            let mut others = lab.clone();
            others.hosts.remove(down);
            prop_assert!(somehow(&others, &queue, &mut left), "{:?} without {}", counts, down);
        }
    }
}

#[test]
fn guests_that_fit_only_merged_cannot_all_be_restarted_on_one_host() {
    let text = r#"
[[host]]
name = "a"
cpu.groups = [{ cores = 32 }]
memory.modules = ["16 GiB"]
merging = { mode = "fixed", pages_per_wake = 5000 }
[[host]]
name = "b"
cpu.groups = [{ cores = 32 }]
memory.modules = ["16 GiB"]
merging = { mode = "fixed", pages_per_wake = 5000 }
[[image]]
name = "server"
size = "2 GiB"
[[guest]]
name = "web"
image = "server"
memory = "1 GiB"
touched = "900 MiB"
touched_busy = "900 MiB"
common = "70 %"
busy = 0
"#;
    let lab = lab(text);
    let fits = berthage::sizing::fit::fit(&lab, &[&lab.hosts[0]]).hosts[0]
        .fits
        .expect("bound");
    // One host holds them all once merged, and two hold them all before anything fails.
    let (both, _, _) = placed(&lab, &[fits], 0);
    let (with_spare, _, _) = placed(&lab, &[fits], 1);
    assert_eq!(both as u64, fits);
    assert!((with_spare as u64) < fits, "{with_spare} of {fits}");
}

#[test]
fn a_spare_needs_what_is_left_to_hold_everything() {
    // Two boxes of which only one holds all: with one to spare two cannot do, whatever is placed where, and that is known.
    let text = r#"
[[host]]
name = "large"
cpu.groups = [{ cores = 16 }]
memory.modules = ["32 GiB"]
[[host]]
name = "small"
cpu.groups = [{ cores = 16 }]
memory.modules = ["16 GiB"]
[[host]]
name = "twin"
cpu.groups = [{ cores = 16 }]
memory.modules = ["16 GiB"]
[[guest]]
name = "web"
count = 7
memory = "2 GiB"
"#;
    let lab = lab(text);
    let hosts: Vec<&Host> = lab.hosts.iter().collect();
    let held = |host| holds(&lab, host, &[7]);
    assert!(held(hosts[0]) && !held(hosts[1]) && !held(hosts[2]));
    let needed = fleet(&lab, &hosts, Some(&[7]), 1, Bounds::default()).needed;
    assert_eq!(
        (needed.at_least, needed.found, needed.gap),
        (Some(3), Some(3), Some(0))
    );
}

#[test]
fn pools_are_counted_each_for_itself() {
    // Guests that fill half of one pool each, and others half of the other: two of each on one host.
    let text = r#"
[[host]]
name = "box"
cpu.groups = [{ cores = 16 }]
memory.modules = ["64 GiB"]
[[host.disk]]
name = "a"
capacity = "1 TB"
base_used = "0 B"
[[host.disk]]
name = "b"
capacity = "1 TB"
[[guest]]
name = "one"
count = 2
memory = "1 GiB"
disk = "a"
disk_used = "390 GB"
[[guest]]
name = "other"
count = 2
memory = "1 GiB"
disk = "b"
disk_used = "390 GB"
"#;
    let lab = lab(text);
    assert!(holds(&lab, &lab.hosts[0], &[2, 2]));
    let (count, _, least) = placed(&lab, &[2, 2], 0);
    assert_eq!((count, least), (4, Some(1)));
}

#[test]
fn where_not_all_fit_most_are_placed_and_not_the_largest() {
    let text = r#"
[[host]]
name = "box"
cpu.groups = [{ cores = 16 }]
memory.modules = ["16 GiB"]
[[guest]]
name = "large"
count = 1
memory = "8 GiB"
touched = "8 GiB"
[[guest]]
name = "small"
count = 9
memory = "1 GiB"
touched = "1 GiB"
"#;
    let lab = lab(text);
    let ways = (0..=1).flat_map(|large| (0..=9).map(move |small| [large, small]));
    let held = ways.filter(|counts| holds(&lab, &lab.hosts[0], counts));
    let most = held.map(|counts| counts.iter().sum::<u64>()).max();
    let (count, counts, _) = placed(&lab, &[1, 9], 0);
    assert_eq!(Some(count as u64), most);
    assert_eq!(counts, [vec![0, 9]]);
}

#[test]
fn the_bound_knows_that_large_hosts_are_few() {
    // Memory alone: a guest takes more than 2 GiB whatever merges, and 16 GiB less than 14 of them are usable.
    let host = |name: &str, gib: u32| {
        format!(
            "[[host]]\nname = \"{name}\"\ncpu.groups = [{{ cores = 64 }}]\nmemory.modules = [\"{gib} GiB\"]\n"
        )
    };
    let hosts: String = (0..6).map(|i| host(&format!("h{i}"), 16)).collect();
    let guest = "[[guest]]\nname = \"web\"\ncount = 33\nmemory = \"2 GiB\"\ntouched = \"2 GiB\"\ncommon = 0\nrepeats = 0\n";
    let lab = lab(&format!("{}{hosts}{guest}", host("large", 64)));
    let (first, small) = (&lab.hosts[0], &lab.hosts[1]);
    let most = |host: &Host| (0..).take_while(|n| holds(&lab, host, &[*n])).count() as u64 - 1;
    let (most_of_first, most_of_small) = (most(first), most(small));
    assert!(most_of_first < 33 && 33 - most_of_first > most_of_small);
    let least = 1 + (33 - most_of_first).div_ceil(most_of_small) as usize;
    let (_, _, bound) = placed(&lab, &[33], 0);
    assert_eq!(bound, Some(least));
    // With the large one failed only small ones are left.
    let (_, _, bound) = placed(&lab, &[20], 1);
    assert_eq!(bound, Some(1 + 20_u64.div_ceil(most_of_small) as usize));
}

/// Hosts of different sizes, and guests some of which are multiplied.
fn fifty_hosts() -> Lab {
    let hosts: Vec<String> = (0..50)
        .map(|index| {
            format!(
                "[[host]]\nname = \"h{index}\"\ncpu.groups = [{{ cores = 8 }}]\nmemory.modules = [\"{} GiB\"]\n",
                32 + index
            )
        })
        .collect();
    lab(&format!(
        "{}[[guest]]\nname = \"web\"\nmemory = \"2 GiB\"\nshare = 1\n[[guest]]\nname = \"db\"\nmemory = \"8 GiB\"\ncount = 5\n",
        hosts.concat()
    ))
}

#[test]
fn an_interrupted_search_answers_with_what_it_has_and_says_so() {
    let lab = fifty_hosts();
    let hosts: Vec<&Host> = lab.hosts.iter().collect();
    for (guests, spare) in [
        (None, 3),
        (Some(&[40, 5][..]), 3),
        (None, 0),
        (Some(&[40, 5][..]), 0),
    ] {
        let interrupted = AtomicBool::new(true);
        let answer = fleet(&lab, &hosts, guests, spare, Bounds::new(&interrupted));
        assert!(answer.stopped, "{guests:?} {spare}");
        // Nothing is claimed that was not looked at.
        assert_eq!(answer.survives, spare == 0);
        assert!(answer.asked.values().sum::<u64>() >= 5);
    }
}

#[test]
fn a_search_that_reaches_its_bound_answers_with_the_best_so_far_and_says_so() {
    let lab = fifty_hosts();
    let hosts: Vec<&Host> = lab.hosts.iter().collect();
    for (guests, spare) in [
        (None, 1),
        (Some(&[400, 5][..]), 1),
        (Some(&[400, 5][..]), 0),
    ] {
        let bounded = |checks| {
            let bounds = Bounds {
                checks,
                ..Bounds::default()
            };
            fleet(&lab, &hosts, guests, spare, bounds)
        };
        let few = [3_000, 20_000].map(&bounded);
        let [one, again] = [&few[0], &bounded(3_000)].map(|answer| format!("{answer:?}"));
        assert_eq!(one, again);
        for answer in &few {
            assert!(answer.stopped, "{guests:?} {spare}");
            // What is placed is placed within every limit, and nothing is claimed that was not looked at.
            for (host, placed) in lab.hosts.iter().zip(&answer.hosts) {
                let own = lab.guests.iter();
                let own = own.map(|guest| placed.guests.get(&guest.name).copied().unwrap_or(0));
                assert!(holds(&lab, host, &own.collect::<Vec<u64>>()));
            }
            assert!(!answer.proven);
        }
    }
}
