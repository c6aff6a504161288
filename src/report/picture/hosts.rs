//! The picture of `compare`.

use super::parts::{HIGHEST, axis, binding, crossing, described, level, line, panel, titled};
use crate::report::chart::{Chart, Measure};
use crate::sizing::answer::HostAnswer;
use crate::sizing::curve::Curve;
use crate::words::name::{counted, runs_out_first};

/// The picture of `compare`: what runs out first on each host, and how near the cliff is.
#[must_use]
pub fn compare(hosts: &[HostAnswer], lab: &str) -> Option<Chart> {
    let drawn: Vec<(&HostAnswer, &Curve)> = hosts
        .iter()
        .filter_map(|host| Some((host, host.curve.as_ref()?)))
        .collect();
    let (first, _) = drawn.first()?;
    let mut safe = panel(
        "highest load of any resource, as a share of its safe limit",
        3,
    );
    let mut cliff = panel(
        "memory used on average, as a share of the cliff where the kernel starts killing guests",
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
        let first_out = runs_out_first(&binding(host));
        let name = match host.fits {
            Some(n) => format!("{}: {}, {first_out}", host.name, counted(host, n)),
            None => format!("{}: nothing fits", host.name),
        };
        safe.series.push(line(name, &curve.n, HIGHEST, highest));
        safe.marks.extend(crossing(&safe, host.fits));
        let share = curve.memory.mean.iter().zip(&curve.memory.cliff);
        let name = match host.breaks_at {
            Some(n) => format!("{}: at about {}", host.name, counted(host, n)),
            None => format!("{}: not reached", host.name),
        };
        let share = share.map(|(mean, cliff)| mean / cliff);
        cliff.series.push(line(name, &curve.n, HIGHEST, share));
        cliff.marks.extend(crossing(&cliff, host.breaks_at));
    }
    safe.levels.push(level("safe limit", 1.0));
    cliff.levels.push(level("cliff", 1.0));
    Some(Chart {
        title: titled("Hosts side by side", lab),
        alt: drawn
            .iter()
            .map(|(host, _)| described(host))
            .collect::<Vec<_>>()
            .join(" "),
        x_label: axis(first),
        x: Measure::Count,
        panels: vec![safe, cliff],
    })
}
