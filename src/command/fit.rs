//! `berthage fit`: how many guests fit, and what runs out first.

use super::{Reply, hosts_asked};
use crate::cli::LabArgs;
use crate::diagnose::Diagnostics;
use crate::inventory::load;
use crate::report;
use crate::sizing::answer::{HostAnswer, Outcome};
use crate::sizing::fit::fit;

pub(super) fn run(args: &LabArgs) -> Result<Reply, Diagnostics> {
    let lab = load(&args.lab, &args.common.sets)?;
    let answer = fit(&lab, &hosts_asked(&lab, &args.common)?);
    Ok(Reply {
        document: report::fit::document(&answer, &lab),
        json: report::json::render(&answer),
        outcome: best_outcome(&answer.hosts),
    })
}

/// Something does not fit only if it fits on none of the hosts asked about.
pub(super) fn best_outcome(hosts: &[HostAnswer]) -> Outcome {
    if hosts.iter().any(|host| host.outcome == Outcome::Fits) {
        Outcome::Fits
    } else {
        Outcome::DoesNotFit
    }
}
