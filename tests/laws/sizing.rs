//! Properties of whole answers: more hardware holds more, more guests demand more, the order of the file does not matter.

use berthage::model::demand::Demand;
use berthage::report::json;
use berthage::sizing::answer::HostAnswer;
use berthage::sizing::fit::fit;
use berthage::sizing::host::HostModel;
use berthage::sizing::memory::MemoryCount;
use berthage::sizing::resource::Resource;
use proptest::prelude::{Strategy, prop_assert, prop_assert_eq, proptest};
use proptest::test_runner::Config;

use crate::support::lab;

/// A lab in numbers small enough to walk through.
#[derive(Debug, Clone)]
pub struct Small {
    pub modules: u32,
    pub cores: u32,
    pub devices: u32,
    pub mode: &'static str,
    pub correlation: f64,
    pub keep_free: u32,
    pub guests: Vec<SmallGuest>,
}

#[derive(Debug, Clone)]
pub struct SmallGuest {
    pub number: String,
    pub memory: u32,
    pub touched: u32,
    pub common: u32,
    pub repeats: u32,
    pub busy: u32,
    pub vcpus: u32,
    pub image: u32,
    pub kind: &'static str,
}

impl Small {
    pub fn text(&self) -> String {
        self.text_named(|place| place)
    }

    /// The text with the guests named by a number each.
    fn text_named(&self, name: impl Fn(usize) -> usize) -> String {
        let modules: Vec<String> = (0..self.modules).map(|_| "\"8 GiB\"".to_owned()).collect();
        let guests: Vec<String> = self
            .guests
            .iter()
            .enumerate()
            .map(|(place, guest)| guest.text(name(place)))
            .collect();
        format!(
            r#"
policy.correlation = {}
policy.memory_keep_free = "{} %"
[[image]]
name = "i0"
size = "3 GiB"
[[image]]
name = "i1"
size = "5 GiB"
{}
[[host]]
name = "box"
cpu.groups = [{{ cores = {}, threads = 2 }}]
memory.modules = [{}]
memory.swap = "4 GiB"
merging.mode = "{}"
network.link = "1 Gbit/s"
[[host.disk]]
name = "pool"
devices = {}
capacity = "500 GB"
read_iops = 3000
write_iops = 1000
endurance = "300 TB"
"#,
            self.correlation,
            self.keep_free,
            guests.concat(),
            self.cores,
            modules.join(", "),
            self.mode,
            self.devices,
        )
    }
}

impl SmallGuest {
    fn text(&self, index: usize) -> String {
        let touched = self.memory * self.touched / 100;
        format!(
            r#"
[[guest]]
name = "g{index}"
kind = "{}"
image = "i{}"
{}
memory = "{} MiB"
touched = "{touched} MiB"
common = "{} MiB"
repeats = "{} MiB"
busy = "{} %"
vcpus = {}
reads_busy = 100
writes_busy = 120
net_busy = "20 Mbit/s"
"#,
            self.kind,
            self.image,
            self.number,
            self.memory,
            touched * self.common / 100,
            touched * self.repeats / 100,
            self.busy,
            self.vcpus,
        )
    }
}

fn guest() -> impl Strategy<Value = SmallGuest> {
    let number = proptest::prop_oneof![
        3 => (1u32..6).prop_map(|share| format!("share = {share}")),
        1 => (1u32..4).prop_map(|count| format!("count = {count}")),
    ];
    let kind = proptest::prop_oneof![4 => proptest::prelude::Just("vm"), 1 => proptest::prelude::Just("container")];
    (
        number,
        512u32..6000,
        20u32..90,
        5u32..50,
        0u32..30,
        0u32..40,
        1u32..5,
        0u32..2,
        kind,
    )
        .prop_map(
            |(number, memory, touched, common, repeats, busy, vcpus, image, kind)| SmallGuest {
                number,
                memory,
                touched,
                common,
                repeats,
                busy,
                vcpus,
                image,
                kind,
            },
        )
}

pub fn small() -> impl Strategy<Value = Small> {
    let mode = proptest::sample::select(vec!["off", "fixed", "adaptive", "scan_time"]);
    let correlation = proptest::sample::select(vec![0.0, 0.1, 0.4]);
    let guests = proptest::collection::vec(guest(), 1..4);
    (
        1u32..9,
        1u32..17,
        1u32..5,
        mode,
        correlation,
        0u32..30,
        guests,
    )
        .prop_map(
            |(modules, cores, devices, mode, correlation, keep_free, guests)| Small {
                modules,
                cores,
                devices,
                mode,
                correlation,
                keep_free,
                guests,
            },
        )
}

fn answer(small: &Small) -> HostAnswer {
    let lab = lab(&small.text());
    fit(&lab, &[&lab.hosts[0]]).hosts.remove(0)
}

/// How many a resource holds, so that counts can be ordered: broken below all, unbounded above all.
fn holds(answer: &HostAnswer, name: &str) -> i64 {
    use berthage::sizing::answer::State;
    let one = answer
        .resources
        .iter()
        .find(|one| one.name == name)
        .expect(name);
    match one.state {
        State::Infeasible => -1,
        State::Bound => i64::try_from(one.fits.unwrap()).unwrap(),
        State::Unbounded => i64::MAX,
    }
}

/// Every demand that a count of guests is judged by.
fn demands(model: &HostModel, n: u64) -> Vec<(String, Demand)> {
    let counts = model.composition.counts(n);
    let mut all: Vec<(String, Demand)> = Resource::all(model)
        .into_iter()
        .filter_map(|resource| {
            Some((
                resource.name(model),
                resource.constraint(model, &counts)?.demand,
            ))
        })
        .collect();
    for count in [
        MemoryCount::Fresh,
        MemoryCount::Unshared,
        MemoryCount::Stretched,
    ] {
        all.push((format!("{count:?}"), model.memory_demand(&counts, count).0));
    }
    all
}

proptest! {
    #![proptest_config(Config { cases: 48, ..Config::default() })]

    #[test]
    fn more_memory_holds_no_less(small in small()) {
        let more = Small { modules: small.modules + 1, ..small.clone() };
        prop_assert!(holds(&answer(&more), "memory") >= holds(&answer(&small), "memory"));
    }

    #[test]
    fn more_cores_hold_no_less(small in small()) {
        let more = Small { cores: small.cores + 1, ..small.clone() };
        prop_assert!(holds(&answer(&more), "cpu") >= holds(&answer(&small), "cpu"));
    }

    #[test]
    fn more_disks_hold_no_less(small in small()) {
        let more = Small { devices: small.devices + 1, ..small.clone() };
        let (few, many) = (answer(&small), answer(&more));
        for name in ["disk_space", "disk_iops", "disk_writes"] {
            prop_assert!(holds(&many, name) >= holds(&few, name), "{}", name);
        }
    }

    #[test]
    fn more_guests_never_ask_for_less(small in small(), n in 0u64..60) {
        let lab = lab(&small.text());
        let model = HostModel::new(&lab, &lab.hosts[0]);
        for ((name, few), (_, many)) in demands(&model, n).iter().zip(&demands(&model, n + 1)) {
            prop_assert!(many.mean() >= few.mean() * (1.0 - 1e-12), "{}: {} then {}", name, few.mean(), many.mean());
            for risk in [0.005, 0.05] {
                // Demands at risk closer than a millionth are not distinguished.
                let (few, many) = (few.at_risk(risk), many.at_risk(risk));
                prop_assert!(many >= few * (1.0 - 1e-6), "{} at {}: {} then {}", name, risk, few, many);
            }
        }
    }

    #[test]
    fn the_order_of_the_file_does_not_matter(small in small()) {
        let mut turned = small.clone();
        turned.guests.reverse();
        // Names go with the guests, or it would be another lab.
        let last = small.guests.len() - 1;
        let renamed = turned.text_named(|place| last - place);
        let (a, b) = (answer(&small), {
            let lab = lab(&renamed);
            fit(&lab, &[&lab.hosts[0]]).hosts.remove(0)
        });
        prop_assert_eq!(&a.mix, &b.mix);
        prop_assert_eq!(
            (a.fits, &a.binds, a.breaks_at, a.fresh, a.unshared, a.stretched, a.plain_sum),
            (b.fits, &b.binds, b.breaks_at, b.fresh, b.unshared, b.stretched, b.plain_sum)
        );
    }

    #[test]
    fn the_same_bytes_for_the_same_input(small in small()) {
        let once = || {
            let lab = lab(&small.text());
            json::render(&fit(&lab, &[&lab.hosts[0]]))
        };
        prop_assert_eq!(once(), once());
    }
}
