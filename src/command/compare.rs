//! `berthage compare`: the same guests on several hosts, side by side.

use super::fit::best_outcome;
use super::{Reply, hosts_asked};
use crate::cli::LabArgs;
use crate::diagnose::{Diagnostic, Diagnostics, codes::Code, source::Sources};
use crate::inventory::load;
use crate::report;
use crate::sizing::compare::compare;

pub(super) fn run(args: &LabArgs) -> Result<Reply, Diagnostics> {
    let lab = load(&args.lab, &args.common.sets)?;
    let hosts = hosts_asked(&lab, &args.common)?;
    if hosts.len() < 2 {
        let error = Diagnostic::new(Code::TooFewHosts, "`compare` needs at least 2 hosts, but was asked about 1")
            .help("add a [[host]] to the lab, include a file of hosts, or name --host twice; `fit` answers for one host");
        return Err(Diagnostics::new(Sources::default(), vec![error]));
    }
    let answer = compare(&lab, &hosts);
    Ok(Reply {
        document: report::compare::document(&answer, &lab),
        json: report::json::render(&answer),
        outcome: best_outcome(&answer.hosts),
    })
}
