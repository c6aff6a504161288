//! Guests multiplied over several hosts, ranks, copies of a host and takeovers, held against brute force over the laws of
//! `fit`.

use std::cell::RefCell;
use std::collections::HashMap;

use berthage::fleet::answer::{FleetAnswer, Takeover};
use berthage::fleet::fleet;
use berthage::fleet::hosts::{Bounds, with_copies, with_restarted};
use berthage::lab::{Host, Lab};
use berthage::sizing::composition::Composition;
use berthage::sizing::host::HostModel;
use berthage::sizing::resource::Resource;
use proptest::prelude::{Strategy, prop_assert, prop_assert_eq, proptest};

use crate::support::{PLAIN_HOST, cases, lab, lab_with};

/// A guest that must run and one that is multiplied, on two or three hosts.
fn small() -> impl Strategy<Value = Lab> {
    let hosts = proptest::collection::vec(4u32..8, 2..4);
    let guest = || (1500u32..3000, 0u32..30);
    (hosts, guest(), guest()).prop_map(|(hosts, db, web)| {
        let hosts = hosts.iter().enumerate().map(|(i, gib)| {
            format!(
                "[[host]]\nname = \"h{i}\"\ncpu.groups = [{{ cores = 8 }}]\nmemory.modules = [\"{gib} GiB\"]\n\
                 memory.base = \"1 GiB\"\nmerging.mode = \"fixed\"\nmerging.pages_per_wake = 2000\n"
            )
        });
        let guest = |name: &str, number: &str, (mib, busy): (u32, u32)| {
            format!(
                "[[guest]]\nname = \"{name}\"\nimage = \"i\"\n{number} = 1\nmemory = \"{mib} MiB\"\nbusy = \"{busy} %\"\n\
                 common = \"40 %\"\n"
            )
        };
        lab(&format!(
            "[[image]]\nname = \"i\"\nsize = \"1 GiB\"\n{}{}{}",
            hosts.collect::<String>(),
            guest("db", "count", db),
            guest("web", "share", web)
        ))
    })
}

/// What hosts hold by the resources themselves, without any of the code for fleets.
struct Brute<'a> {
    /// The lab with every guest twice: settled, and just restarted.
    twice: &'a Lab,
    known: RefCell<HashMap<(usize, Vec<u64>), bool>>,
}

type Counts = Vec<Vec<u64>>;

impl Brute<'_> {
    fn holds(&self, host: usize, counts: Vec<u64>) -> bool {
        let key = (host, counts);
        if let Some(known) = self.known.borrow().get(&key) {
            return *known;
        }
        let model = HostModel::new(self.twice, &self.twice.hosts[host]);
        let held = Resource::all(&model).into_iter().all(|one| {
            let constraint = one.constraints(&model, &key.1);
            constraint.is_none_or(|constraint| constraint.within())
        });
        self.known.borrow_mut().insert(key, held);
        held
    }

    /// Whether a host holds its own guests and moved ones, just restarted and settled.
    fn takes(&self, host: usize, own: &[u64], moved: &[u64]) -> bool {
        let settled: Vec<u64> = own
            .iter()
            .zip(moved)
            .map(|(own, moved)| own + moved)
            .collect();
        let none = vec![0; own.len()];
        self.holds(host, [own, moved].concat()) && self.holds(host, [settled, none].concat())
    }

    /// Whether these guests can be started on the hosts that are left.
    fn restarts(
        &self,
        counts: &Counts,
        moved: &mut Counts,
        guests: &[usize],
        failed: usize,
    ) -> bool {
        let Some((&profile, rest)) = guests.split_first() else {
            return true;
        };
        (0..counts.len())
            .filter(|host| *host != failed)
            .any(|host| {
                moved[host][profile] += 1;
                let held = self.takes(host, &counts[host], &moved[host])
                    && self.restarts(counts, moved, rest, failed);
                moved[host][profile] -= 1;
                held
            })
    }

    fn survives(&self, counts: &Counts) -> bool {
        (0..counts.len()).all(|failed| {
            let mut moved = vec![vec![0; counts[0].len()]; counts.len()];
            self.restarts(counts, &mut moved, &queue(&counts[failed]), failed)
        })
    }

    /// Whether these guests can be placed so that any one host may fail.
    fn places(&self, counts: &mut Counts, guests: &[usize]) -> bool {
        let Some((&profile, rest)) = guests.split_first() else {
            return self.survives(counts);
        };
        (0..counts.len()).any(|host| {
            counts[host][profile] += 1;
            let none = vec![0; counts[host].len()];
            let held = self.holds(host, [counts[host].clone(), none].concat())
                && self.places(counts, rest);
            counts[host][profile] -= 1;
            held
        })
    }
}

/// A guest after another, a profile each.
fn queue(counts: &[u64]) -> Vec<usize> {
    let each = counts.iter().enumerate();
    each.flat_map(|(profile, n)| (0..*n).map(move |_| profile))
        .collect()
}

/// Guests of each profile on each host of an answer.
fn placed(lab: &Lab, answer: &FleetAnswer) -> Counts {
    let count = |names: &std::collections::BTreeMap<String, u64>| {
        let each = lab.guests.iter();
        each.map(|guest| names.get(&guest.name).copied().unwrap_or(0))
            .collect()
    };
    answer
        .hosts
        .iter()
        .map(|host| count(&host.guests))
        .collect()
}

/// What each host gets in a takeover.
fn moved(lab: &Lab, after: &Takeover) -> Option<Counts> {
    let mut counts = vec![vec![0; lab.guests.len()]; lab.hosts.len()];
    for one in after.moves.as_ref()? {
        let host = lab.hosts.iter().position(|host| host.name == one.to)?;
        let guest = lab
            .guests
            .iter()
            .position(|guest| guest.name == one.guest)?;
        counts[host][guest] += one.count;
    }
    Some(counts)
}

proptest! {
    #![proptest_config(cases(12))]

    #[test]
    fn guests_are_multiplied_as_far_as_brute_force_does(lab in small()) {
        let hosts: Vec<&Host> = lab.hosts.iter().collect();
        let answer = fleet(&lab, &hosts, None, 1, Bounds::default());
        let twice = with_restarted(&lab);
        let brute = Brute { twice: &twice, known: RefCell::default() };
        let composition = Composition::new(&lab.guests);
        let places = |n: u64| {
            let mut counts = vec![vec![0; lab.guests.len()]; lab.hosts.len()];
            brute.places(&mut counts, &queue(&composition.counts(n)))
        };
        let most = (0..12).take_while(|n| places(*n)).last();
        prop_assert_eq!(answer.holds, most);
        if most.is_some() {
            // The failover map survives a replay by the laws of `fit`.
            let counts = placed(&lab, &answer);
            prop_assert!(answer.survives && answer.after.len() == lab.hosts.len());
            for (failed, after) in answer.after.iter().enumerate() {
                prop_assert_eq!(&after.failed, &vec![lab.hosts[failed].name.clone()]);
                // A host that is emptied on purpose leaves no more behind than one that fails.
                prop_assert_eq!(&answer.hosts[failed].empty_to, &after.moves);
                let moved = moved(&lab, after).expect("a way");
                let all: Vec<u64> = (0..lab.guests.len())
                    .map(|profile| moved.iter().map(|own| own[profile]).sum())
                    .collect();
                prop_assert_eq!(&all, &counts[failed]);
                for host in (0..lab.hosts.len()).filter(|host| *host != failed) {
                    prop_assert!(brute.takes(host, &counts[host], &moved[host]));
                }
            }
        }
    }

    #[test]
    fn what_is_left_out_is_the_least_important(lab in small(), db in 1u64..8, web in 1u64..8, way in 0u32..3) {
        let mut lab = lab;
        let important = match way {
            // By rank, of guests none of which must run.
            0 | 1 => {
                (lab.guests[0].count, lab.guests[0].share) = (0, Some(1.0));
                usize::from(way == 1)
            }
            // What must run comes before any rank.
            _ => {
                lab.guests[1].rank = Some(5.0);
                0
            }
        };
        if way < 2 {
            lab.guests[important].rank = Some(2.0);
        }
        let hosts: Vec<&Host> = lab.hosts.iter().collect();
        let guests = [db, web];
        let both = placed(&lab, &fleet(&lab, &hosts, Some(&guests), 0, Bounds::default()));
        let mut alone = guests;
        alone[1 - important] = 0;
        let without = placed(&lab, &fleet(&lab, &hosts, Some(&alone), 0, Bounds::default()));
        // As many of the important ones run as without the others.
        let running = |counts: &Counts| counts.iter().map(|own| own[important]).sum::<u64>();
        prop_assert_eq!(running(&both), running(&without));
    }
}

#[test]
fn copies_of_a_host_are_hosts() {
    let guest = "[[guest]]\nname = \"web\"\nmemory = \"2 GiB\"\n";
    let one = lab_with(&[PLAIN_HOST, guest].concat(), &["host.box.copies=3"]);
    let hosts: Vec<&Host> = one.hosts.iter().collect();
    let copies = with_copies(&hosts);
    let names: Vec<&str> = copies.iter().map(|host| host.name.as_str()).collect();
    assert_eq!(names, ["box-1", "box-2", "box-3"]);
}

/// "Never the databases beside sixty clones."
#[test]
fn guests_that_must_run_are_not_left_out_for_others() {
    let hosts = |name: &str| {
        format!(
            "[[host]]\nname = \"{name}\"\ncpu.groups = [{{ cores = 16 }}]\nmemory.modules = [\"16 GiB\"]\n"
        )
    };
    let guests = "[[guest]]\nname = \"db\"\ncount = 2\nmemory = \"6 GiB\"\ntouched = \"5 GiB\"\n\
                  [[guest]]\nname = \"clone\"\nshare = 1\nmemory = \"1 GiB\"\n";
    let lab = lab(&[hosts("a"), hosts("b"), guests.to_owned()].concat());
    let both: Vec<&Host> = lab.hosts.iter().collect();
    let answer = fleet(&lab, &both, Some(&[2, 60]), 0, Bounds::default());
    assert!(!answer.unplaced.contains_key("db") && answer.unplaced["clone"] > 0);
}
