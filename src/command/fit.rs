//! `berthage fit`: how many guests fit, and what runs out first.

use super::{Reply, Terminal, call_error, hosts_asked, inputs, options, picture, recorded};
use crate::calibrate::guests::observed::{Observed, observed};
use crate::cli::Format;
use crate::cli::picture::FitArgs;
use crate::diagnose::Diagnostics;
use crate::inventory::Inventory;
use crate::lab::{Host, Lab};
use crate::report;
use crate::rollout::restart;
use crate::sizing::answer::{FitAnswer, HostAnswer, Outcome};
use crate::sizing::fit::{Wanted, fit_with};
use crate::sizing::host::HostModel;

/// Most hosts that are answered for at once, each with its draws.
const MOST_HOSTS: usize = 500;

pub(super) fn run(args: &FitArgs, terminal: &Terminal) -> Result<Reply, Diagnostics> {
    let (asked, common) = (&args.asked, &args.asked.common);
    // The file is read once: it may be a pipe.
    let plain = Inventory::open(&asked.lab, &[])?;
    let mut lab = plain.clone().with_sets(&common.sets).read()?;
    if let Some(guests) = &args.guests {
        options::run_exactly(&mut lab, guests)?;
    }
    let hosts = hosts_asked(&lab, common)?;
    if hosts.len() > MOST_HOSTS {
        return Err(call_error::many_hosts(MOST_HOSTS, hosts.len()).into());
    }
    let record = args.observed.as_ref();
    let record = record
        .map(|file| recorded::record(file, &lab, common))
        .transpose()?;
    let draws = args.draws.asked();
    let draw = |host: &Host| terminal.interval(&lab, host, draws?);
    let come_back =
        |model: &HostModel, n| terminal.busy("starting guests again", || restart(model, n));
    let see = |model: &HostModel, counts: &[u64]| {
        let (record, seed) = (record.as_ref()?, args.draws.seed);
        observed(model, counts, Observed { record, seed })
    };
    let wanted = Wanted {
        why: args.why,
        running: args.guests.is_some(),
        observed: Some(&see),
        interval: Some(&draw),
        draws,
        restart: Some(&come_back),
        ..picture::wanted(&args.picture, &common.output)
    };
    let before = before(&plain, args, &hosts, wanted);
    let before = before.as_ref();
    let before = before.map(|(lab, answer)| (lab, &answer.hosts[..]));
    let wanted = Wanted {
        before: before.map(|(_, hosts)| hosts),
        ..wanted
    };
    let answer = fit_with(&lab, &hosts, wanted);
    let mut document = report::fit::document(&answer, &lab, args.guests.is_some(), before);
    let over_time = report::chart::growth::chart(&answer.hosts, &answer.lab);
    let chart = over_time.or_else(|| report::chart::fit::chart(&answer.hosts, &answer.lab));
    let mut read = inputs(&lab, &asked.lab);
    if let Some(file) = &args.observed {
        recorded::has_moments(file, &answer)?;
        read.push(file.clone());
    }
    let files = picture::show(&args.picture, &common.output, chart, &mut document)?;
    if common.output.format == Format::Markdown {
        report::given::append(&mut document, &lab, &hosts);
    }
    let outcome = best_outcome(&answer.hosts);
    Ok(Reply::new(&answer, document, outcome, read).with(files))
}

/// The lab without what `--set` replaces and its answer for these hosts; none where nothing is set, or where it is no lab
/// without that.
fn before(
    plain: &Inventory,
    args: &FitArgs,
    hosts: &[&Host],
    wanted: Wanted,
) -> Option<(Lab, FitAnswer)> {
    if args.asked.common.sets.is_empty() {
        return None;
    }
    let mut lab = plain.read().ok()?;
    if let Some(guests) = &args.guests {
        options::run_exactly(&mut lab, guests).ok()?;
    }
    let all = lab.hosts.iter();
    let asked = |host: &&Host| hosts.iter().any(|other| other.name == host.name);
    let wanted = Wanted {
        running: wanted.running,
        restart: wanted.restart,
        ..Wanted::default()
    };
    let answer = fit_with(&lab, &all.filter(asked).collect::<Vec<_>>(), wanted);
    Some((lab, answer))
}

/// Something does not fit only if it fits on none of the hosts asked about.
pub(super) fn best_outcome(hosts: &[HostAnswer]) -> Outcome {
    Outcome::of(hosts.iter().any(|host| host.outcome() == Outcome::Fits))
}
