//! Labs built by hand.

use std::collections::BTreeMap;

use berthage::lab::{
    CloneKind, CoreGroup, Cpu, Guest, Host, HostMemory, Image, Kind, Lab, Layout, Merging, Mode,
    Number, Policy, Pool,
};
use berthage::model::{GIB, MIB};

/// A machine that is always idle and holds 160 MiB, of which 80 are common and 10 repeat.
pub fn guest(name: &str, number: Number) -> Guest {
    Guest {
        name: String::from(name),
        kind: Kind::Machine,
        image: Some(0),
        number,
        vcpus: 1,
        memory: 512.0 * MIB,
        touched: 160.0 * MIB,
        touched_busy: 497.0 * MIB,
        common: 80.0 * MIB,
        common_busy: 0.0,
        repeats: 10.0 * MIB,
        keeps: 0.9,
        overhead: 60.0 * MIB,
        busy_breaks: 0.31,
        rewrite_interval: 6.0 * 3600.0,
        working_set: None,
        balloon_floor: None,
        merge: true,
        huge_pages: false,
        pinned: false,
        busy: 0.0,
        idle_load: 0.01,
        busy_load: 0.6,
        disk: None,
        clone: CloneKind::Overlay,
        disk_used: 4.0 * GIB,
        disk_size: 4.0 * GIB,
        disk_grows: 0.0,
        trims: true,
        backup: 0.0,
        reads_idle: 0.0,
        reads_busy: 0.0,
        writes_idle: 1.0,
        writes_busy: 1.0,
        written: 1e9 / 86_400.0,
        net_idle: 0.0,
        net_busy: 0.0,
        boot_time: 30.0,
        boot_cpu: 15.0,
        boot_reads: 2000.0,
        boot_writes: 30e6,
    }
}

/// Page sharing with the kernel's and the daemon's defaults.
pub fn merging(mode: Mode) -> Merging {
    Merging {
        mode,
        pages_per_wake: 100.0,
        sleep: None,
        tick: 0.004,
        scan_cost: 5.3e-6,
        merge_cost: 10e-6,
        users_per_copy: 256.0,
        visits: 2.0,
        smart_scan: true,
        use_zero_pages: false,
        zero_share: 0.1,
        threshold: 0.2,
        boost: 300.0,
        decay: 50.0,
        least: 64.0,
        most: 1250.0,
        interval: 60.0,
        target_pass: 200.0,
    }
}

/// A pool of one device.
pub fn pool(sustained_speed: f64) -> Pool {
    Pool {
        name: String::from("pool"),
        devices: 1,
        capacity: 2e12,
        layout: Layout::Stripe,
        read_iops: Some(50_000.0),
        write_iops: Some(30_000.0),
        sustained_speed: Some(sustained_speed),
        burst: None,
        burst_speed: None,
        endurance: None,
        already_written: 0.0,
        wa_ratio: 1.0,
        amplification: 1.0,
        base_used: 0.0,
        base_written: 0.0,
        price: None,
        capacity_prices: Vec::new(),
    }
}

/// A host of 8 cores.
pub fn host(memory: f64, merging: Merging) -> Host {
    Host {
        name: String::from("shelf-a"),
        price: None,
        cpu: Cpu {
            groups: vec![CoreGroup {
                cores: 8,
                threads: 2,
                speed: 1.0,
                smt_gain: 0.25,
            }],
            base_cores: 0.2,
        },
        memory: HostMemory {
            modules: vec![memory],
            slots: None,
            max_module: None,
            firmware_reserved: 0.0,
            base: 2.0 * GIB,
            file_cache: 0.0,
            file_cache_floor: 0.0,
            swap: 0.0,
            compressed_swap: 0.0,
            compressed_swap_ratio: 2.0,
            module_prices: Vec::new(),
        },
        merging,
        disks: vec![pool(1e9)],
        link: None,
        link_prices: Vec::new(),
        power: None,
        backup: None,
    }
}

/// A lab of one host.
pub fn lab(host: Host, guests: Vec<Guest>) -> Lab {
    Lab {
        name: String::from("lab"),
        currency: String::new(),
        tariff: None,
        years: 3.0,
        policy: Policy {
            memory_risk: 0.005,
            slow_risk: 0.05,
            correlation: 0.1,
            memory_keep_free: 0.1,
            disk_keep_free: 0.2,
            cpu_slowdown: 1.5,
            disk_ceiling: 0.7,
            network_ceiling: 0.7,
            service_life: 5.0 * 365.25 * 86_400.0,
            power_budget: None,
            max_vcpus_per_thread: None,
            max_mean_wait: None,
            cpu_slice: 0.003,
            disk_horizon: 0.0,
            max_guests: None,
        },
        hosts: vec![host],
        images: vec![
            Image {
                name: String::from("server"),
                size: 2e9,
                disk: None,
            },
            Image {
                name: String::from("desktop"),
                size: 8e9,
                disk: None,
            },
        ],
        guests,
        origins: BTreeMap::new(),
        uncertain: Vec::new(),
        drafts: Vec::new(),
    }
}
