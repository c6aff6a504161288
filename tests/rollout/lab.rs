//! Labs built by hand from the defaults of the keys.

use berthage::lab::table::Value;
use berthage::lab::{Guest, Host, Lab, Merging, Mode, Pool, with_given};
use berthage::model::{GIB, MIB};
use berthage::rollout::{self, Choice, Goal, Options, Plan, load_line};
use berthage::sizing::host::HostModel;

/// A machine that is always idle and holds 160 MiB, of which 80 are common and 10 repeat; how many must run, and the
/// weight of those that are multiplied.
pub fn guest(name: &str, (count, share): (u64, Option<f64>)) -> Guest {
    let given = [
        ("name", Value::Text(name)),
        ("memory", Value::Number(512.0 * MIB)),
        ("touched", Value::Number(160.0 * MIB)),
        ("touched_busy", Value::Number(497.0 * MIB)),
        ("common", Value::Number(80.0 * MIB)),
        ("repeats", Value::Number(10.0 * MIB)),
        ("overhead", Value::Number(60.0 * MIB)),
        ("busy", Value::Number(0.0)),
        ("idle_load", Value::Number(0.01)),
        ("disk_used", Value::Number(4.0 * GIB)),
        ("disk_size", Value::Number(4.0 * GIB)),
        ("written", Value::Number(1e9 / 86_400.0)),
        ("boot_time", Value::Number(30.0)),
        ("boot_cpu", Value::Number(15.0)),
        ("boot_reads", Value::Number(2000.0)),
        ("boot_writes", Value::Number(30e6)),
    ];
    Guest {
        image: Some(0),
        count,
        share,
        ..with_given(&given)
    }
}

/// Page sharing with the kernel's and the daemon's defaults.
pub fn merging(mode: Mode) -> Merging {
    Merging {
        mode,
        ..with_given(&[])
    }
}

/// A pool of one device.
pub fn pool(sustained_speed: f64) -> Pool {
    Pool {
        read_iops: Some(50_000.0),
        write_iops: Some(30_000.0),
        sustained_speed: Some(sustained_speed),
        base_used: 0.0,
        base_written: 0.0,
        ..with_given(&[
            ("name", Value::Text("pool")),
            ("capacity", Value::Number(2e12)),
        ])
    }
}

/// A host of 8 cores.
pub fn host(memory: f64, merging: Merging) -> Host {
    let mut host = Host {
        merging,
        disks: vec![pool(1e9)],
        ..Host::with_defaults("shelf-a", 8, &[memory])
    };
    host.cpu.groups[0].threads = 2;
    host.memory.firmware_reserved = 0.0;
    host
}

/// A lab of one host.
pub fn lab(host: Host, guests: Vec<Guest>) -> Lab {
    let image =
        |name, size| with_given(&[("name", Value::Text(name)), ("size", Value::Number(size))]);
    Lab {
        images: vec![image("server", 2e9), image("desktop", 8e9)],
        ..Lab::with(vec![host], guests)
    }
}

/// A plan to so many scaling guests under a limit (none given: the load line).
pub fn plan(model: &HostModel, target: u64, limit: Option<f64>, options: &Options) -> Plan {
    let goal = Goal {
        target,
        limit: limit.unwrap_or_else(|| load_line(model)),
        fresh: false,
        options,
    };
    rollout::plan(model, goal, Choice::default())
}
