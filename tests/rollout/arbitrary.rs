//! Arbitrary valid labs.

use super::lab;
use berthage::lab::{CloneKind, Guest, Kind, Lab, Layout, Mode};
use berthage::model::{GIB, MIB};
use proptest::prelude::{Just, Strategy, any, prop, prop_oneof};

fn mode() -> impl Strategy<Value = Mode> {
    prop_oneof![
        Just(Mode::Off),
        Just(Mode::Fixed),
        Just(Mode::Adaptive),
        Just(Mode::ScanTime)
    ]
}

fn any_guest(name: &'static str) -> impl Strategy<Value = Guest> {
    let sizes = (
        8.0f64..4096.0,
        0.05f64..1.0,
        0.0f64..1.0,
        0.0f64..0.9,
        0.0f64..1.0,
        0.0f64..1.0,
    );
    let switches = (
        any::<bool>(),
        any::<bool>(),
        any::<bool>(),
        any::<bool>(),
        0usize..12,
    );
    let number = prop_oneof![
        (0.1f64..5.0).prop_map(|share| (0, Some(share))),
        (1u64..5).prop_map(|count| (count, None))
    ];
    let times = (
        prop_oneof![Just(0.0), 0.1f64..300.0],
        0.0f64..200.0,
        60.0f64..100_000.0,
    );
    (sizes, switches, number, times).prop_map(move |(sizes, switches, number, times)| {
        let (memory, touched, busy, common, repeats, keeps) = sizes;
        let mut guest = lab::guest(name, number);
        guest.memory = memory * MIB;
        guest.touched = guest.memory * touched;
        guest.touched_busy = guest.touched + (guest.memory - guest.touched) * busy;
        guest.common = guest.touched * common;
        guest.repeats = (guest.touched - guest.common) * repeats;
        guest.keeps = keeps;
        guest.common_busy = keeps * busy * (guest.touched_busy - guest.touched) * 0.5;
        guest.overhead = (1.0 + 60.0 * common) * MIB;
        (guest.boot_time, guest.boot_cpu, guest.rewrite_interval) = times;
        let (container, merge, copy, other, special) = switches;
        guest.kind = if container {
            Kind::Container
        } else {
            Kind::Machine
        };
        guest.merge = merge || !container;
        guest.image = if other { Some(1) } else { Some(0) };
        guest.clone = if copy {
            CloneKind::Copy
        } else {
            CloneKind::Overlay
        };
        match special {
            0 if !container => guest.pinned = true,
            1 if !container => guest.huge_pages = true,
            2 => guest.image = None,
            3 => guest.busy = 0.3.into(),
            _ => {}
        }
        guest
    })
}

/// Any valid lab of one host and one to three profiles.
pub fn any_lab() -> impl Strategy<Value = Lab> {
    let merging = (
        mode(),
        1.0f64..20_000.0,
        any::<bool>(),
        any::<bool>(),
        any::<bool>(),
        2.0f64..300.0,
    );
    let memory = (
        2.0f64..64.0,
        0.0f64..0.4,
        0.0f64..0.4,
        0.0f64..8.0,
        0.0f64..4.0,
        0.0f64..0.3,
    );
    let guests = (any_guest("a"), any_guest("b"), any_guest("c"), 1usize..4);
    (
        merging,
        memory,
        guests,
        1u64..5,
        prop::option::of(1e6f64..5e9),
    )
        .prop_map(|(merging, memory, guests, devices, speed)| {
            let (mode, pages, smart, once, zero, users) = merging;
            let mut settings = lab::merging(mode);
            settings.pages_per_wake = pages;
            settings.smart_scan = smart;
            settings.visits = if once { 1.0 } else { 2.0 };
            settings.use_zero_pages = zero;
            settings.users_per_copy = users.floor();
            let (installed, base, cache, swap, compressed, keep_free) = memory;
            let mut host = lab::host(installed * GIB, settings);
            host.memory.base = installed * base * GIB;
            host.memory.file_cache = installed * cache * GIB;
            host.memory.file_cache_floor = host.memory.file_cache * 0.3;
            host.memory.swap = swap * GIB;
            host.memory.compressed_swap = compressed * GIB;
            host.disks[0].devices = devices;
            host.disks[0].layout = Layout::Stripe;
            host.disks[0].sustained_speed = speed;
            let (a, b, c, count) = guests;
            let mut lab = lab::lab(host, vec![a, b, c]);
            lab.guests.truncate(count);
            lab.policy.memory_keep_free = keep_free;
            lab
        })
}
