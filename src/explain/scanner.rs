//! The scanner of page sharing: how fast it goes, how long a pass takes, what share is found merged.

use super::answer::Section;
use super::context::Context;
use super::symbols::MEMORY;
use crate::lab::{Merging, Mode};
use crate::model::footprint::Age;
use crate::model::scanner::Scan;
use crate::sizing::host::HostModel;

/// A speed of the scanner that some number of the answer rests on.
pub(super) struct View {
    pub(super) scan: Scan,
    pub(super) title: &'static str,
    pub(super) role: Role,
}

/// What a view is needed for.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Role {
    /// The safe limit counts with it.
    Counted,
    /// Other numbers are taken from it.
    Beside,
}

/// The speeds that numbers of the answer rest on, the counted one first.
pub(super) fn views(model: &HostModel) -> Vec<View> {
    let counted = model.counted_scan();
    let needed: &[Scan] = match model.host.merging.mode {
        Mode::Off => &[],
        Mode::Fixed | Mode::ScanTime => &[Scan::Steady, Scan::Off],
        Mode::Adaptive => &[Scan::Steady, Scan::Least, Scan::Off],
    };
    let beside = needed.iter().filter(|scan| **scan != counted);
    let views = std::iter::once((counted, Role::Counted));
    views
        .chain(beside.map(|scan| (*scan, Role::Beside)))
        .map(|(scan, role)| View {
            scan,
            title: match (scan, model.host.merging.mode) {
                (Scan::Off, _) => "page sharing off",
                (Scan::Least, _) => "page sharing at its slowest",
                (Scan::Steady, Mode::Adaptive) => "page sharing at its fastest",
                (Scan::Steady, _) => "page sharing in its steady state",
            },
            role,
        })
        .collect()
}

/// How fast the scanner goes, how long a pass takes, and κ.
pub(super) fn section(context: &Context, view: &View) -> Section {
    let worked = context.worked;
    let sharing = worked.sharing(context.counts, Age::LivedIn, view.scan);
    let is_counted = view.role == Role::Counted;
    let mut steps = Vec::new();
    if let Some(pass) = sharing.pass {
        let (sleep, speed) = stated(&context.model.host.merging, view.scan);
        let time = if is_counted {
            "memory.scan_pass_s"
        } else {
            "time of a pass"
        };
        steps.extend([
            context.worked(sleep, worked.scanner.sleep),
            context.worked("pages of a pass", sharing.pages),
            context.worked(speed, sharing.speed),
            context.worked(time, pass),
        ]);
        for (place, _, guest) in context.running() {
            if worked.footprints(Age::LivedIn)[place].scanned() {
                let guest = context.of_guest(guest);
                steps.push(guest.worked("merged share", sharing.kappa[place]));
            }
        }
    } else if is_counted {
        let why = "page sharing is off, has nothing to scan or starts too late to count";
        steps.push(context.step("memory.scan_pass_s, off", None, why));
    }
    if is_counted {
        let kappa = worked.kappa(context.counts, &sharing);
        steps.push(context.worked("memory.kappa", kappa));
    }
    Section::new(format!("The scanner, {}", view.title), MEMORY, steps)
}

/// The laws of sleep and speed that hold for these settings.
fn stated(merging: &Merging, scan: Scan) -> (&'static str, &'static str) {
    let sleep = match (merging.sleep, merging.mode) {
        (None, Mode::Adaptive) => "scanner's sleep, adaptive",
        (Some(_) | None, _) => "scanner's sleep",
    };
    let speed = match (merging.mode, scan) {
        (Mode::ScanTime, _) => "scanner's speed, advisor",
        (Mode::Adaptive, Scan::Least) => "scanner's speed, slowest",
        (Mode::Adaptive, _) => "scanner's speed, fastest",
        (Mode::Fixed | Mode::Off, _) => "scanner's speed, fixed",
    };
    (sleep, speed)
}
