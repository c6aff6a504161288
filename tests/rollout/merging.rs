//! When the pages of guests that start at once are merged, whatever their boot takes.

use super::lab;
use crate::support::cases;
use berthage::lab::{Lab, Mode};
use berthage::model::scanner::speed;
use berthage::model::{GIB, PAGE};
use berthage::rollout::{Disks, Moment, Options, Run, Schedule, Stagger, Watch, simulate};
use berthage::sizing::host::HostModel;
use proptest::prelude::{Just, Strategy, any, prop_assert, prop_oneof, proptest};

/// A rewrite interval that is longer than any run `[s]`.
const NEVER: f64 = 1e9;

/// Guests that start at once, when, beside how many that started before, on a host whose scanner does so many pages a wake.
#[derive(Debug, Clone)]
struct Start {
    pages_per_wake: f64,
    before: u64,
    /// After so many passes, when those before have merged.
    passes: f64,
    guests: u64,
    profiles: usize,
    smart_scan: bool,
    visits: f64,
}

fn any_start(before: impl Strategy<Value = u64>) -> impl Strategy<Value = Start> {
    let pages = (1.0f64..4.3).prop_map(|power| 10f64.powf(power));
    let scanner = (any::<bool>(), prop_oneof![Just(1.0), Just(2.0)]);
    (pages, before, 4.0f64..6.0, 2u64..60, 1usize..4, scanner).prop_map(
        |(pages_per_wake, before, passes, guests, profiles, scanner)| Start {
            pages_per_wake,
            before,
            passes: if before == 0 { 0.0 } else { passes },
            guests,
            profiles,
            smart_scan: scanner.0,
            visits: scanner.1,
        },
    )
}

impl Start {
    /// Guests that are alike but for their names and how long they take to boot, with nothing that slows a boot.
    fn lab(&self, boot_time: f64) -> Lab {
        let mut merging = lab::merging(Mode::Fixed);
        merging.pages_per_wake = self.pages_per_wake;
        merging.smart_scan = self.smart_scan;
        merging.visits = self.visits;
        let names = ["one", "two", "three"].into_iter().take(self.profiles);
        let guests = names.map(|name| {
            let mut guest = lab::guest(name, (0, Some(1.0)));
            guest.boot_time = boot_time;
            guest.boot_cpu = 0.0;
            guest.boot_reads = 0.0;
            guest.idle_load = 0.0;
            guest.rewrite_interval = NEVER;
            guest
        });
        lab::lab(lab::host(256.0 * GIB, merging), guests.collect())
    }

    /// A pass that visits each of these pages at the highest cost `[s]`.
    fn longest_pass(&self, lab: &Lab) -> f64 {
        let merging = &lab.hosts[0].merging;
        let law = HostModel::new(lab, &lab.hosts[0]).scanner;
        let cost = merging.merge_cost.max(merging.scan_cost);
        let pages = (self.before + self.guests) as f64 * lab.guests[0].touched / PAGE;
        pages / speed(merging.pages_per_wake, law.sleep, law.tick, cost)
    }

    /// When the last guests start `[s]`.
    fn at_s(&self, lab: &Lab) -> f64 {
        self.passes * self.longest_pass(lab)
    }

    fn run(&self, lab: &Lab) -> Run {
        let model = HostModel::new(lab, &lab.hosts[0]);
        let all = self.before + self.guests;
        let schedule = match self.before {
            0 => Schedule::rule(all, all, 0.0),
            before => Schedule::steps(&[before, all], self.at_s(lab)),
        };
        let options = Options {
            stagger: Stagger::Every(0.0),
            disks: Disks::Ready,
            watch: Watch::For(4.0 * self.longest_pass(lab) + 60.0),
            ..Options::default()
        };
        simulate(&model, &schedule, &options)
    }

    /// The last moment of the record with less than a share of what the last guests ever merge, since they started `[s]`;
    /// with a boot of so long.
    fn merged_after(&self, boot_time: f64, share: f64) -> f64 {
        let lab = self.lab(boot_time);
        let (run, at_s) = (self.run(&lab), self.at_s(&lab));
        let moments = run.timeline.iter();
        let (before, after): (Vec<&Moment>, _) = moments.partition(|moment| moment.t_s <= at_s);
        let most = |moments: &[&Moment]| {
            let merged = moments.iter().map(|moment| moment.merged_bytes);
            merged.fold(0.0, f64::max)
        };
        let (before, most) = (most(&before), most(&after));
        let enough = before + share * (most - before);
        let merged = after
            .iter()
            .position(|moment| moment.merged_bytes >= enough);
        merged.map_or(f64::INFINITY, |place| {
            after[place.saturating_sub(1)].t_s - at_s
        })
    }
}

proptest! {
    #![proptest_config(cases(24))]

    /// Passes from a second to hours.
    #[test]
    fn a_boot_delays_merging_by_no_more_than_itself(start in any_start(Just(0))) {
        let at_once = start.merged_after(0.0, 0.9);
        for boot in [0.1, 1.0, 5.0, 30.0] {
            let after = start.merged_after(boot, 0.9);
            prop_assert!(after <= at_once + boot + 1.0, "{boot}: {after} {at_once}");
        }
    }

    /// What is touched behind the cursor is seen in the next pass and merged in the one after that.
    #[test]
    fn beside_others_no_page_is_visited_a_pass_late(start in any_start(1u64..40)) {
        for boot in [0.0, 0.1, 1.0, 5.0, 30.0] {
            let after = start.merged_after(boot, 0.98);
            let passes = start.visits * start.longest_pass(&start.lab(boot));
            prop_assert!(after <= boot + passes + 1.0, "{boot}: {after} {passes}");
        }
    }
}
