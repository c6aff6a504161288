//! `berthage upgrade`: what the next purchase for a host adds.

use super::Reply;
use super::options::one_host;
use crate::cli::{Format, UpgradeArgs};
use crate::diagnose::Diagnostics;
use crate::inventory::load;
use crate::lab::keys::Command;
use crate::purchase::upgrade::upgrade;
use crate::report;

pub(super) fn run(args: &UpgradeArgs) -> Result<Reply, Diagnostics> {
    let common = &args.lab.common;
    let lab = load(&args.lab.lab, &common.sets)?;
    let host = one_host(&lab, common)?;
    let answer = upgrade(&lab, host, args.budget);
    let mut document = report::upgrade::document(&answer, &lab);
    if common.output.format == Format::Markdown {
        report::given::append_with_guesses(&mut document, &lab, &[host], Command::Upgrade);
    }
    Ok(Reply {
        inputs: super::inputs(&lab, &args.lab.lab),
        document,
        json: report::json::render(&answer),
        outcome: answer.outcome,
    })
}
