//! `berthage fleet`: guests on several hosts, some of which may fail.

use super::{Reply, add_given, both, hosts_asked, inputs, options};
use crate::cli::FleetArgs;
use crate::diagnose::{Diagnostic, Diagnostics, ErrorKind};
use crate::fleet::fleet;
use crate::inventory::load;
use crate::lab::keys::Command;
use crate::report;
use crate::unit::format::{count, plural};

/// Most sets of failing hosts that are looked at.
const MOST_FAILURES: u64 = 50_000;

pub(super) fn run(args: &FleetArgs) -> Result<Reply, Diagnostics> {
    let common = &args.lab.common;
    let lab = load(&args.lab.lab, &common.sets)?;
    let guests = options::need(&lab, args.need.as_deref());
    let (hosts, guests) = both(hosts_asked(&lab, common), guests)?;
    if guests.iter().all(|n| *n == 0) {
        let error = Diagnostic::new(ErrorKind::NothingToPlace, "there is no guest to place")
            .hint("name them with --need \"web=40,build=6\", or give guests a `count` in the lab");
        return Err(error.into());
    }
    let there = plural(hosts.len() as u64, "host", "hosts");
    let refused = if args.spare >= hosts.len() {
        Some(format!(
            "--spare must be at most {} with {there}, one of which must be left, but is {}",
            hosts.len() - 1,
            args.spare
        ))
    } else if failures(hosts.len() as u64, args.spare as u64) > MOST_FAILURES {
        Some(format!(
            "--spare {} of {there} are more sets of failing hosts than the {} that are looked at",
            args.spare,
            count(MOST_FAILURES)
        ))
    } else {
        None
    };
    if let Some(message) = refused {
        let error = Diagnostic::new(ErrorKind::TooManySpares, message)
            .hint("ask for fewer with --spare, or about other hosts with --host NAME");
        return Err(error.into());
    }
    let answer = fleet(&lab, &hosts, &guests, args.spare);
    let mut document = report::fleet::document(&answer, &lab);
    add_given(&mut document, common, &lab, &hosts, Command::Fit);
    let read = inputs(&lab, &args.lab.lab);
    Ok(Reply::new(&answer, document, answer.outcome, read))
}

/// Ways to choose `spare` of `hosts`, held at the largest number there is.
fn failures(hosts: u64, spare: u64) -> u64 {
    (0..spare).fold(1_u64, |ways, taken| {
        ways.saturating_mul(hosts - taken) / (taken + 1)
    })
}
