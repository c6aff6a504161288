//! `berthage compare`: the same guests on several hosts, side by side, or many hosts ranked.

use std::path::{Path, PathBuf};

use super::fit::best_outcome;
use super::{
    Reply, Terminal, add_given, both, call_error, hosts_asked, inputs, named_host, options,
    picture, threads,
};
use crate::cli::picture::CompareArgs;
use crate::diagnose::Diagnostics;
use crate::inventory::load;
use crate::lab::keys::Command;
use crate::lab::{Host, Lab};
use crate::purchase::choose::choose;
use crate::purchase::choose::criteria::Criteria;
use crate::purchase::compare::{self, compare};
use crate::report;
use crate::sizing::fit::{Wanted, fit, fit_hosts};

/// Most hosts that are set side by side; more are ranked.
const SIDE_BY_SIDE: usize = 8;

pub(super) fn run(args: &CompareArgs, terminal: &Terminal) -> Result<Reply, Diagnostics> {
    let CompareArgs {
        asked,
        picture,
        choice,
        draws,
        ..
    } = args;
    let lab = load(&asked.lab, &asked.common.sets)?;
    if let Some(new) = &args.new {
        return two_labs(args, &lab, new, terminal);
    }
    // What is wrong with the call is told at once, and before what is missing in the lab.
    let old = choice.old.as_ref();
    let old = old.map(|name| Ok(named_host(&lab, "--old", name)?));
    let old = old.transpose();
    let need = choice.need.as_deref();
    let need = need.map(|need| options::need(&lab, Some(need))).transpose();
    let ((hosts, old), need) = both(both(hosts_asked(&lab, &asked.common), old), need)?;
    if hosts.len() < 2 && choice.old.is_none() {
        return Err(call_error::one_host().into());
    }
    let read = inputs(&lab, &asked.lab);
    let output = &asked.common.output;
    let draws = draws.asked();
    let draw = |host: &Host| terminal.interval(&lab, host, draws?);
    let wanted = Wanted {
        interval: Some(&draw),
        ..picture::wanted(picture, output)
    };
    if choice.is_given() || hosts.len() > SIDE_BY_SIDE {
        return ranked(args, &lab, &hosts, old, need, read, wanted);
    }
    let answers = fit_hosts(&lab, &hosts, wanted);
    let answer = compare(&lab, &hosts, answers);
    let mut document = report::compare::document(&answer, &lab);
    let chart = report::chart::compare::chart(&answer.hosts, &answer.lab);
    let files = picture::show(picture, output, chart, &mut document)?;
    add_given(&mut document, &asked.common, &lab, &hosts, Command::Fit);
    let outcome = best_outcome(&answer.hosts);
    Ok(Reply::new(&answer, document, outcome, read).with(files))
}

/// The hosts of a second lab against those of the first.
fn two_labs(
    args: &CompareArgs,
    old: &Lab,
    file: &Path,
    terminal: &Terminal,
) -> Result<Reply, Diagnostics> {
    let common = &args.asked.common;
    let new = load(file, &common.sets)?;
    let (before, after) = both(hosts_asked(old, common), hosts_asked(&new, common))?;
    let draws = args.draws.asked();
    let draw = |host: &Host| terminal.interval(&new, host, draws?);
    let wanted = Wanted {
        interval: Some(&draw),
        ..Wanted::default()
    };
    let answers = fit_hosts(&new, &after, wanted);
    let outcome = best_outcome(&answers);
    let answer = compare::changed(fit(old, &before), &new, answers);
    let mut document = report::difference::document(&answer, old, &new);
    add_given(&mut document, common, &new, &after, Command::Fit);
    let mut read = inputs(old, &args.asked.lab);
    read.extend(inputs(&new, file));
    Ok(Reply::new(&answer, document, outcome, read))
}

/// All hosts ranked, the leading ones with their full answers.
fn ranked(
    asked: &CompareArgs,
    lab: &Lab,
    hosts: &[&Host],
    old: Option<&Host>,
    need: Option<Vec<u64>>,
    read: Vec<PathBuf>,
    wanted: Wanted,
) -> Result<Reply, Diagnostics> {
    let (args, output) = (&asked.choice, &asked.asked.common.output);
    // The old host is owned; it is no candidate.
    let candidates: Vec<&Host> = hosts
        .iter()
        .copied()
        .filter(|host| old.is_none_or(|old| old.name != host.name))
        .collect();
    let criteria = Criteria {
        need,
        budget: args.budget,
        max_watts: args.max_watts,
        sort: args.sort,
    };
    if candidates.is_empty() {
        let old = args.old.as_deref().unwrap_or_default();
        return Err(call_error::only_old(old).into());
    }
    threads::start();
    let choice = choose(lab, &candidates, old, &criteria);
    let leading: Vec<&Host> = choice
        .ranking
        .iter()
        .take(SIDE_BY_SIDE)
        .filter_map(|row| candidates.iter().find(|host| host.name == row.name))
        .copied()
        .collect();
    let answers = fit_hosts(lab, &leading, wanted);
    let outcome = choice.outcome;
    let mut document = report::choose::document(&choice, lab);
    let chart = report::chart::compare::chart(&answers, &lab.name);
    let files = picture::show(&asked.picture, output, chart, &mut document)?;
    let replaced = old.filter(|old| leading.iter().all(|host| host.name != old.name));
    let shown: Vec<&Host> = leading.iter().copied().chain(replaced).collect();
    add_given(
        &mut document,
        &asked.asked.common,
        lab,
        &shown,
        Command::Fit,
    );
    let answer = compare::ranked(lab, choice, answers);
    Ok(Reply::new(&answer, document, outcome, read).with(files))
}
