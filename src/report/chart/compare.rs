//! The picture of `compare`.

use super::Chart;
use super::parts::{HIGHEST, curves, over, over_guests, panel, place};
use crate::sizing::answer::HostAnswer;
use crate::words::name::{binding_run_out_first, counted, titled};

/// What runs out first on each host, and how near the cliff is.
pub fn chart(hosts: &[HostAnswer], lab: &str) -> Option<Chart> {
    let drawn = curves(hosts);
    let highest = "highest load of any resource, as a share of its safe limit";
    let mut safe = panel(highest, 3, "safe limit");
    let used =
        "memory used on average, as a share of the cliff where the host thrashes or kills guests";
    let mut cliff = panel(used, 2, "cliff");
    for (host, curve) in &drawn {
        let highest = (0..curve.n.len()).map(|at| {
            // A load without bound is beyond every picture.
            let loads = curve.loads.iter().map(|one| one.load[at]);
            let loads = loads.map(|load| load.unwrap_or(f64::INFINITY));
            loads.fold(0.0, f64::max)
        });
        let (whose, first_out) = (&host.name, binding_run_out_first(host));
        let name = match host.fits {
            Some(n) => format!("{whose}: {}, {first_out}", counted(host, n)),
            None => format!("{whose}: nothing fits"),
        };
        let highest = over(&curve.n, highest);
        safe.draw(name, highest, HIGHEST, place(host.fits));
        let name = match host.breaks_at {
            Some(n) => format!("{whose}: at about {}", counted(host, n)),
            None => format!("{whose}: not reached"),
        };
        let share = curve.memory.mean.iter().zip(&curve.memory.cliff);
        let share = over(&curve.n, share.map(|(mean, cliff)| mean / cliff));
        cliff.draw(name, share, HIGHEST, place(host.breaks_at));
    }
    let title = titled("Hosts side by side", lab);
    over_guests(title, &drawn, vec![safe, cliff])
}
