//! `berthage fleet`: guests on several hosts, some of which may fail.

use super::interrupt::until_interrupted;
use super::{Reply, Terminal, add_given, both, call_error, hosts_asked, inputs, options};
use crate::cli::FleetArgs;
use crate::diagnose::Diagnostics;
use crate::fleet::fleet;
use crate::fleet::hosts::{Bounds, with_copies};
use crate::inventory::load;
use crate::lab::Host;
use crate::lab::keys::Command;
use crate::report;

/// Most sets of failing hosts that are tried.
const MOST_FAILURES: u64 = 50_000;

pub(super) fn run(args: &FleetArgs, terminal: &Terminal) -> Result<Reply, Diagnostics> {
    let common = &args.lab.common;
    let lab = load(&args.lab.lab, &common.sets)?;
    let guests = options::need(&lab, args.need.as_deref());
    let (asked, guests) = both(hosts_asked(&lab, common), guests)?;
    let copies = with_copies(&asked);
    let hosts: Vec<&Host> = copies.iter().collect();
    let scales = lab.guests.iter().any(|guest| guest.share.is_some());
    let multiplies = args.need.is_none() && scales;
    if !multiplies && guests.iter().all(|n| *n == 0) {
        return Err(call_error::nothing_needed("--need").into());
    }
    let (there, spare) = (hosts.len(), args.spare);
    if spare >= there || failures(there as u64, spare as u64) > MOST_FAILURES {
        return Err(call_error::spares(spare, there, MOST_FAILURES).into());
    }
    let answer = terminal.busy("placing guests", || {
        let guests = (!multiplies).then_some(&guests[..]);
        until_interrupted(|heard| fleet(&lab, &hosts, guests, args.spare, Bounds::new(heard)))
    });
    let mut document = report::fleet::document(&answer, &lab);
    add_given(&mut document, common, &lab, &asked, Command::Fit);
    let read = inputs(&lab, &args.lab.lab);
    Ok(Reply::new(&answer, document, answer.outcome, read))
}

/// Ways to choose `spare` of `hosts`, held at the largest number there is.
fn failures(hosts: u64, spare: u64) -> u64 {
    (0..spare).fold(1_u64, |ways, taken| {
        ways.saturating_mul(hosts - taken) / (taken + 1)
    })
}
