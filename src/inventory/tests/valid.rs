//! What is right is read as it is meant.

use super::super::{Inventory, tree::Table};
use super::{EVERYTHING, GUEST, HOST, right};
use crate::inventory::load_text;
use crate::lab::draw::Redraw;
use crate::lab::keys::{Default, Kind as KeyKind, Section, Spread};
use crate::lab::{
    CloneKind, DefaultOrigin, Guest, Host, Kind, Lab, Layout, Mode, Source, Uncertain,
};
use crate::unit::parse::parse;

const MIB: f64 = 1_048_576.0;
const GIB: f64 = 1_073_741_824.0;
const DAY: f64 = 86_400.0;

/// Equal to twelve digits.
#[track_caller]
fn close(left: f64, right: f64) {
    assert!(
        (left - right).abs() <= 1e-12 * right.abs(),
        "{left} is not {right}"
    );
}

#[test]
fn three_lines_of_host_and_guest_are_enough() {
    let lab = right(&format!("{HOST}{GUEST}"));
    let (host, guest) = (&lab.hosts[0], &lab.guests[0]);
    assert_eq!(
        (host.cpu.groups[0].cores, host.cpu.groups[0].threads),
        (8, 2)
    );
    close(host.cpu.groups[0].smt_gain, 0.25);
    close(host.memory.firmware_reserved, 0.5 * GIB);
    close(host.memory.base, 2.0 * GIB);
    assert_eq!(
        (
            host.merging.mode,
            host.merging.sleep,
            host.merging.smart_scan
        ),
        (Mode::Off, None, true)
    );
    close(host.merging.scan_cost, 5.3e-6);
    assert!(
        host.disks.is_empty()
            && host.link.is_none()
            && host.power.is_none()
            && host.backup.is_none()
    );
    close(lab.policy.memory_risk, 0.005);
    close(lab.policy.service_life, 5.0 * 365.25 * DAY);
    assert_eq!(lab.policy.disk_horizon, 0.0);
    assert_eq!((guest.count, guest.share), (0, Some(1.0)));
    close(guest.touched, 0.4 * 2.0 * GIB);
    close(guest.touched_busy, 0.97 * 2.0 * GIB);
    close(guest.common, 0.2 * guest.touched);
    close(guest.repeats, 0.1 * guest.touched);
    close(guest.keeps, 0.9);
    close(guest.busy_breaks, 0.31);
    close(guest.overhead, (30.0 + 8.0 + 8.0) * MIB + 2.0 * GIB / 512.0);
    close(guest.disk_used, 4.0 * GIB);
    close(guest.disk_size, 4.0 * GIB);
    assert_eq!(
        (guest.writes_idle, guest.writes_busy, guest.reads_busy),
        (1.0, 1.0, 0.0)
    );
    close(guest.written, 1e9 / DAY);
    assert!(guest.merge && guest.trims && !guest.pinned && guest.image.is_none());
    assert_eq!(guest.clone, CloneKind::Overlay);
}

#[test]
fn every_key_is_read() {
    let lab = right(EVERYTHING);
    assert_eq!(
        (
            lab.name.as_str(),
            lab.currency.as_str(),
            lab.tariff,
            lab.years
        ),
        ("everything", "EUR", Some(0.3), 4.0)
    );
    assert_eq!(
        (lab.policy.power_budget, lab.policy.max_guests),
        (Some(120.0), Some(200))
    );
    let host = &lab.hosts[0];
    assert_eq!(
        (host.name.as_str(), host.price, host.cpu.groups.len()),
        ("shelf a", Some(1190.0), 2)
    );
    assert_eq!(
        host.memory.module_prices,
        [(32.0 * GIB, 92.5), (48.0 * GIB, 139.0)]
    );
    assert_eq!(
        (host.merging.mode, host.merging.visits, host.merging.most),
        (Mode::Adaptive, 1.0, 2000.0)
    );
    close(host.merging.merge_cost, 9e-6);
    assert_eq!(host.disks[0].layout, Layout::Mirror { ways: 2 });
    assert_eq!(
        (host.disks[1].layout, host.disks[1].base_used),
        (Layout::Parity2, 0.0)
    );
    close(host.disks[0].base_written, 5e9 / DAY);
    assert_eq!(
        (
            host.link,
            host.backup.as_ref().and_then(|backup| backup.speed)
        ),
        (Some(2.5e9), Some(110e6))
    );
    let web = &lab.guests[0];
    assert_eq!(
        (web.image, web.disk.as_deref(), web.clone),
        (Some(0), Some("slow"), CloneKind::Copy)
    );
    close(web.common, 0.4 * 700.0 * MIB);
    close(web.net_busy, 80e6);
    close(web.disk_grows, 1e7 / DAY);
    let cache = &lab.guests[1];
    assert_eq!(
        (cache.kind, cache.count, cache.merge),
        (Kind::Container, 3, false)
    );
    assert_eq!(
        (cache.keeps, cache.busy_breaks, cache.overhead),
        (0.0, 0.0, 10.0 * MIB)
    );
    assert_eq!(lab.uncertain.len(), 1);
    assert_eq!(lab.uncertain[0].path, "guest.web.touched");
    close(lab.uncertain[0].high, 900.0 * MIB);
}

#[test]
fn the_example_gives_every_key_of_the_table() {
    let parsed = Inventory::parse("lab.toml", EVERYTHING, &[]).expect("TOML");
    let host = parsed.values.list("host")[0].table().expect("a table");
    let sub = |name: &str| {
        host.get(name)
            .and_then(|entry| entry.node.table())
            .expect("a table")
    };
    let gives = |section: Section, tables: &[&Table]| {
        for key in section.keys() {
            let given = tables.iter().any(|table| table.get(key.name).is_some());
            assert!(given, "{} lacks {}", section.header(), key.name);
        }
    };
    let table = |name| {
        let node = parsed.values.node(name);
        node.and_then(|node| node.table()).expect("a table")
    };
    gives(Section::Lab, &[table("lab")]);
    gives(Section::Policy, &[table("policy")]);
    gives(Section::Host, &[host]);
    gives(Section::Cpu, &[sub("cpu")]);
    gives(Section::Memory, &[sub("memory")]);
    gives(Section::Merging, &[sub("merging")]);
    gives(Section::Network, &[sub("network")]);
    gives(Section::Power, &[sub("power")]);
    gives(Section::Backup, &[sub("backup")]);
    // One guest scales, the other must run and grows.
    let guests = parsed.values.list("guest").iter();
    let guests: Vec<&Table> = guests.filter_map(|guest| guest.table()).collect();
    gives(Section::Guest, &guests);
    gives(
        Section::Image,
        &[parsed.values.list("image")[0].table().expect("a table")],
    );
}

#[test]
fn every_default_of_the_table_is_written_down_with_its_origin() {
    let disk = "[[host.disk]]\nname = \"pool\"\ncapacity = \"1 TB\"\n[host.power]\nidle = \"9 W\"\nbusy = \"40 W\"\n";
    let lab = right(&format!("{HOST}{disk}{GUEST}"));
    let places = [
        (Section::Lab, "lab"),
        (Section::Policy, "policy"),
        (Section::Cpu, "host.shelf-a.cpu"),
        (Section::Group, "host.shelf-a.cpu.groups.1"),
        (Section::Memory, "host.shelf-a.memory"),
        (Section::Merging, "host.shelf-a.merging"),
        (Section::Disk, "host.shelf-a.disk.pool"),
        (Section::Power, "host.shelf-a.power"),
        (Section::Guest, "guest.web"),
    ];
    for (section, path) in places {
        for key in section.keys() {
            let path = format!("{path}.{}", key.name);
            let origin = lab.origins.get(&path);
            match key.default {
                Default::Absent(_) => assert!(origin.is_none(), "{path}"),
                Default::Required => assert!(
                    matches!(origin.map(|o| &o.source), Some(Source::File { .. })),
                    "{path}"
                ),
                Default::Fixed(..) | Default::Rule(..) => assert!(origin.is_some(), "{path}"),
            }
        }
    }
    let origin = |path: &str| lab.origins.get(path).expect("an origin");
    assert_eq!(origin("guest.web.memory").text, "2 GiB");
    assert_eq!(
        origin("guest.web.memory").source,
        Source::File {
            file: "lab.toml".into(),
            line: 15
        }
    );
    assert_eq!(
        origin("guest.web.keeps").source,
        Source::Default(DefaultOrigin::Measured)
    );
    assert_eq!(origin("guest.web.touched").text, "40 % of memory");
}

#[test]
fn every_fixed_default_is_in_its_own_range() {
    for key in Section::all().flat_map(Section::keys) {
        if let (Default::Fixed(text, _), KeyKind::Quantity(dimension)) = (key.default, key.kind) {
            let value = crate::unit::parse::parse(text, dimension)
                .unwrap_or_else(|error| panic!("{}: {error}", key.name));
            assert!(key.range.holds(value), "{}", key.name);
        }
    }
}

#[test]
fn every_fixed_default_lies_within_its_spread() {
    for key in Section::all().flat_map(Section::keys) {
        if let (
            Default::Fixed(likely, _),
            Spread::Values(low, high),
            KeyKind::Quantity(dimension),
        ) = (key.default, key.spread, key.kind)
        {
            let [low, likely, high] =
                [low, likely, high].map(|text| parse(text, dimension).expect(key.name));
            assert!(low <= likely && likely <= high, "{}", key.name);
            assert!(
                key.range.holds(low) && key.range.holds(high),
                "{}",
                key.name
            );
        }
    }
}

#[test]
fn defaults_make_room_for_a_given_partner() {
    let guest = |keys: &str| right(&format!("{HOST}{GUEST}{keys}")).guests[0].clone();
    let busy = guest("touched_busy = \"300 MiB\"");
    assert_eq!(
        (busy.touched, busy.touched_busy),
        (300.0 * MIB, 300.0 * MIB)
    );
    assert_eq!(guest("touched = \"2 GiB\"").touched_busy, 2.0 * GIB);
    let repeats = guest("touched = \"100 MiB\"\nrepeats = \"95 MiB\"");
    assert_eq!((repeats.common, repeats.repeats), (5.0 * MIB, 95.0 * MIB));
    let common = guest("touched = \"100 MiB\"\ncommon = \"100 %\"");
    assert_eq!((common.common, common.repeats), (100.0 * MIB, 0.0));
    let disk = guest("disk_size = \"1 GiB\"");
    assert_eq!((disk.disk_used, disk.disk_size), (GIB, GIB));
    assert_eq!(guest("writes_busy = 0.5").writes_idle, 0.5);
    assert_eq!(guest("idle_load = \"80 %\"").busy_load, 0.8);
    assert_eq!(guest("busy_load = \"0.5 %\"").idle_load, 0.005);
    assert_eq!(guest("net_idle = \"1 Mbit/s\"").net_busy, 1e6);
    let pinned = guest("pinned = true");
    assert_eq!(
        (pinned.touched, pinned.touched_busy, pinned.common),
        (2.0 * GIB, 2.0 * GIB, 0.0)
    );
    assert_eq!(
        guest("touched = \"600 MiB\"\ncommon = \"60 %\"\nrepeats = \"40 %\"").touched,
        600.0 * MIB
    );
}

#[test]
fn drawn_numbers_take_the_place_of_uncertain_ones_and_are_clamped() {
    let text = format!(
        "{HOST}{GUEST}touched = {{ low = \"500 MiB\", likely = \"620 MiB\", high = \"900 MiB\" }}\n\
         touched_busy = {{ low = \"600 MiB\", likely = \"800 MiB\", high = \"1 GiB\" }}\n\
         vcpus = {{ low = 1, likely = 2, high = 4 }}\ncommon = \"300 MiB\"\nrepeats = \"300 MiB\""
    );
    let lab = right(&text);
    let paths: Vec<&str> = lab
        .uncertain
        .iter()
        .map(|uncertain| uncertain.path.as_str())
        .collect();
    assert_eq!(
        paths,
        [
            "guest.web.touched",
            "guest.web.touched_busy",
            "guest.web.vcpus"
        ]
    );
    let inputs: Vec<&Uncertain> = lab.uncertain.iter().collect();
    let redraw = Redraw::new(&lab, 0, &inputs);
    let put = |numbers: &[f64]| {
        let mut drawn = redraw.likely();
        redraw.put(&mut drawn, numbers);
        drawn
    };
    let draw = |touched: f64, busy: f64| put(&[touched * MIB, busy * MIB, 2.6]).guests[0].clone();
    let plain = draw(700.0, 900.0);
    assert_eq!(
        (plain.touched, plain.touched_busy, plain.vcpus),
        (700.0 * MIB, 900.0 * MIB, 3)
    );
    let crossed = draw(900.0, 600.0);
    assert_eq!(
        (crossed.touched, crossed.touched_busy),
        (600.0 * MIB, 600.0 * MIB)
    );
    // What is given plainly stays, and what was drawn below it is raised.
    let small = draw(500.0, 600.0);
    assert_eq!(
        (small.touched, small.common, small.repeats),
        (600.0 * MIB, 300.0 * MIB, 300.0 * MIB)
    );
    let likely = put(&[]);
    assert_eq!(likely.guests, lab.guests);
    assert_eq!(likely.hosts, lab.hosts);
}

#[test]
fn one_module_may_be_uncertain() {
    let text = "[[host]]\nname = \"a\"\ncpu.groups = [{ cores = 4 }]\nmemory.modules = [\"16 GiB\", { low = \"8 GiB\", \
                likely = \"16 GiB\", high = \"32 GiB\" }]\n[[guest]]\nname = \"g\"\nmemory = \"1 GiB\"\n";
    let lab = right(text);
    close(lab.hosts[0].memory.modules[1], 16384.0 * MIB);
    assert_eq!(lab.uncertain[0].path, "host.a.memory.modules.2");
    let redraw = Redraw::new(&lab, 0, &[&lab.uncertain[0]]);
    let mut drawn = redraw.likely();
    redraw.put(&mut drawn, &[20480.0 * MIB]);
    close(drawn.hosts[0].memory.modules[1], 20480.0 * MIB);
}

#[test]
fn a_lab_made_by_hand_is_the_one_that_is_read() {
    let read = right(&format!("{HOST}{GUEST}"));
    let mut host = Host::with_defaults("shelf-a", 8, &[32.0 * GIB, 32.0 * GIB]);
    host.cpu.groups[0].threads = 2;
    let made = Lab::with(vec![host], vec![Guest::with_defaults("web", 2.0 * GIB)]);
    assert_eq!((made.policy, made.years), (read.policy, read.years));
    assert_eq!((made.hosts, made.guests), (read.hosts, read.guests));
}

#[test]
fn module_sizes_on_labels_are_gibibytes() {
    // A module of "48 GB" holds 48 · 2^30 bytes: JEDEC Standard 100B.01 defines the G of semiconductor memory so.
    let lab = |modules: &str| {
        let text = format!(
            "[[host]]\nname = \"a\"\ncpu.groups = [{{ cores = 8 }}]\nmemory.modules = [{modules}]\n\
             memory.module_prices = {{ \"48 GB\" = 150 }}\n[[guest]]\nname = \"g\"\nmemory = \"2 GB\"\n"
        );
        load_text("lab.toml", &text, &[]).expect("a valid lab")
    };
    let gib = 1_073_741_824.0;
    let host = &lab("\"48 GB\", \"48 GiB\", \"50 GB\"").hosts[0];
    assert_eq!(host.memory.modules, [48.0 * gib, 48.0 * gib, 50e9]);
    assert_eq!(host.memory.module_prices, [(48.0 * gib, 150.0)]);
    // What is no module is counted as it is written.
    assert_eq!(lab("\"8 GiB\"").guests[0].memory, 2e9);
}
