//! The picture of `compare`.

use super::parts::{self, HIGHEST, crossing, drawn, line, over, panel};
use super::{Chart, Level};
use crate::sizing::answer::HostAnswer;
use crate::words::name::{binding_run_out_first, counted, titled};

/// What runs out first on each host, and how near the cliff is.
pub fn chart(hosts: &[HostAnswer], lab: &str) -> Option<Chart> {
    let drawn = drawn(hosts);
    let mut safe = panel(
        "highest load of any resource, as a share of its safe limit",
        3,
    );
    let mut cliff = panel(
        "memory used on average, as a share of the cliff where the host thrashes or kills guests",
        2,
    );
    for (host, curve) in &drawn {
        let highest = (0..curve.n.len()).map(|at| {
            let loads = curve.loads.iter().map(|one| one.load[at]);
            // A load without bound is beyond every picture.
            loads
                .map(|load| load.unwrap_or(f64::INFINITY))
                .fold(0.0, f64::max)
        });
        let first_out = binding_run_out_first(host);
        let name = match host.fits {
            Some(n) => format!("{}: {}, {first_out}", host.name, counted(host, n)),
            None => format!("{}: nothing fits", host.name),
        };
        safe.series
            .push(line(name, over(&curve.n, highest), HIGHEST));
        safe.marks.extend(crossing(&safe, host.fits));
        let share = curve.memory.mean.iter().zip(&curve.memory.cliff);
        let name = match host.breaks_at {
            Some(n) => format!("{}: at about {}", host.name, counted(host, n)),
            None => format!("{}: not reached", host.name),
        };
        let share = share.map(|(mean, cliff)| mean / cliff);
        cliff
            .series
            .push(line(name, over(&curve.n, share), HIGHEST));
        cliff.marks.extend(crossing(&cliff, host.breaks_at));
    }
    safe.levels.push(Level::new("safe limit", 1.0));
    cliff.levels.push(Level::new("cliff", 1.0));
    parts::chart(titled("Hosts side by side", lab), &drawn, vec![safe, cliff])
}
