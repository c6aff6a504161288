//! `berthage upgrade`: what the next purchase for a host adds.

use super::interrupt::until_interrupted;
use super::{Reply, Terminal, add_given, inputs, one_host, threads};
use crate::cli::UpgradeArgs;
use crate::diagnose::Diagnostics;
use crate::inventory::load;
use crate::lab::keys::Command;
use crate::purchase::upgrade::upgrade;
use crate::report;

pub(super) fn run(args: &UpgradeArgs, terminal: &Terminal) -> Result<Reply, Diagnostics> {
    let common = &args.lab.common;
    let lab = load(&args.lab.lab, &common.sets)?;
    let host = one_host(&lab, common)?;
    threads::start();
    let draws = args.draws.asked();
    let answer = terminal.busy("evaluating purchases", || {
        until_interrupted(|heard| upgrade(&lab, host, args.budget, draws, heard))
    });
    let mut document = report::upgrade::document(&answer, &lab);
    add_given(&mut document, common, &lab, &[host], Command::Upgrade);
    let read = inputs(&lab, &args.lab.lab);
    Ok(Reply::new(&answer, document, answer.outcome, read))
}
