//! `berthage fit`: how many guests fit, and what runs out first.

use super::{Context, Reply, hosts_asked, inputs, picture, progress};
use crate::cli::Format;
use crate::cli::picture::FitArgs;
use crate::diagnose::Diagnostics;
use crate::inventory::load;
use crate::lab::{Host, Lab};
use crate::report;
use crate::rollout::restart;
use crate::sizing::answer::{HostAnswer, Outcome};
use crate::sizing::caution::HostCaution;
use crate::sizing::fit::fit;
use crate::sizing::host::HostModel;
use crate::sizing::uncertainty::{Draws, interval};
use crate::sizing::why::why;

pub(super) fn run(args: &FitArgs, context: &Context) -> Result<Reply, Diagnostics> {
    let FitArgs {
        asked,
        picture,
        draws,
        why: reasons,
    } = args;
    let common = &asked.common;
    let lab = load(&asked.lab, &common.sets)?;
    let hosts = hosts_asked(&lab, common)?;
    let mut answer = fit(&lab, &hosts);
    context.busy("starting guests again", || {
        for (host, answer) in hosts.iter().zip(&mut answer.hosts) {
            come_back(&lab, host, answer);
        }
    });
    if let Some(count) = draws.draws {
        let draws = Draws {
            count,
            seed: draws.seed,
        };
        let bar = progress::bar(context.terminal, count * answer.hosts.len() as u64, "draws");
        for host in &mut answer.hosts {
            host.interval = interval(&lab, &host.name, draws, &|done| bar.inc(done));
        }
        bar.finish_and_clear();
    }
    if *reasons {
        for (host, answer) in hosts.iter().zip(&mut answer.hosts) {
            answer.why = why(&lab, host, answer);
        }
    }
    picture::compute(picture, &common.output, &lab, &hosts, &mut answer.hosts);
    let mut document = report::fit::document(&answer, &lab);
    let chart = report::picture::fit(&answer.hosts, &answer.lab);
    let read = inputs(&lab, &asked.lab);
    picture::show(picture, &common.output, chart, &read, &mut document)?;
    if common.output.format == Format::Markdown {
        report::given::append(&mut document, &lab, &hosts);
    }
    Ok(Reply {
        inputs: read,
        document,
        json: report::json::render(&answer),
        outcome: best_outcome(&answer.hosts),
    })
}

/// Says how a host comes back after a power cut, and warns where it cannot do so all at once.
fn come_back(lab: &Lab, host: &Host, answer: &mut HostAnswer) {
    let Some(n) = answer.fits.filter(|_| answer.guests > 0) else {
        return;
    };
    let back = restart(&HostModel::new(lab, host), n);
    if !back.all_at_once {
        // The estimate stays the last word.
        let place = answer.cautions.len().saturating_sub(1);
        let left_off = back.left_off;
        answer
            .cautions
            .insert(place, HostCaution::Restart { left_off });
    }
    answer.restart = Some(back);
}

/// Something does not fit only if it fits on none of the hosts asked about.
pub(super) fn best_outcome(hosts: &[HostAnswer]) -> Outcome {
    if hosts.iter().any(|host| host.outcome == Outcome::Fits) {
        Outcome::Fits
    } else {
        Outcome::DoesNotFit
    }
}
