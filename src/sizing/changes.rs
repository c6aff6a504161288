//! Two answers for the same hosts, figure by figure.

use super::answer::{HostAnswer, ResourceAnswer};
use super::difference::{Difference, Figure, HostChange};
use super::named::Named;

/// The hosts that stand in both answers, by name, or by being the only one in each; with the figures that differ.
pub fn changes(before: &[HostAnswer], after: &[HostAnswer]) -> Vec<HostChange> {
    let pairs = after
        .iter()
        .filter_map(|new| Some((partner(before, after, new)?, new)));
    pairs
        .map(|(old, new)| HostChange {
            host: new.name.clone(),
            bound_before: old.binds.clone(),
            figures: differences(old, new),
        })
        .collect()
}

/// The host before that a host after is compared with.
pub fn partner<'a>(
    before: &'a [HostAnswer],
    after: &[HostAnswer],
    new: &HostAnswer,
) -> Option<&'a HostAnswer> {
    let by_name = before.iter().find(|old| old.name == new.name);
    match (before, after) {
        ([only], [_]) => Some(only),
        _ => by_name,
    }
}

fn differences(before: &HostAnswer, after: &HostAnswer) -> Vec<Difference> {
    let mut figures = vec![Figure::Fits, Figure::BreaksAt, Figure::FullIn];
    let mut named: Vec<Named> = Vec::new();
    for one in after.resources.iter().chain(&before.resources) {
        let own = Named {
            resource: one.resource,
            name: one.name.clone(),
        };
        if !named.iter().any(|seen| seen.name == own.name) {
            named.push(own);
        }
    }
    figures.extend(named.iter().cloned().map(Figure::Holds));
    figures.extend(named.into_iter().map(Figure::Load));
    figures.extend([
        Figure::Price,
        Figure::Watts,
        Figure::Energy,
        Figure::PerGuest,
        Figure::Restart,
    ]);
    let both = figures.into_iter().map(|figure| Difference {
        before: value(before, &figure),
        after: value(after, &figure),
        figure,
    });
    both.filter(|one| one.before != one.after).collect()
}

/// A figure of a host; none where it has no bound or is not known.
fn value(host: &HostAnswer, figure: &Figure) -> Option<f64> {
    let count = |n: Option<u64>| n.map(|n| n as f64);
    let resource = |named: &Named| -> Option<&ResourceAnswer> {
        host.resources.iter().find(|one| one.name == named.name)
    };
    match figure {
        Figure::Fits => count(host.fits),
        Figure::BreaksAt => count(host.breaks_at),
        Figure::FullIn => host.full_in.as_ref()?.months,
        Figure::Holds(named) => count(resource(named)?.fits),
        Figure::Load(named) => Some(resource(named)?.load).filter(|load| load.is_finite()),
        Figure::Price => host.cost.as_ref()?.price,
        Figure::Watts => Some(host.power.as_ref()?.watts),
        Figure::Energy => Some(host.power.as_ref()?.kwh_per_year),
        Figure::PerGuest => host.cost.as_ref()?.per_guest,
        Figure::Restart => Some(host.restart.as_ref()?.total_s),
    }
}
