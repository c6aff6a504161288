//! What one host holds and costs.

use super::Candidate;
use crate::lab::{Host, Lab};
use crate::model::{cost, power};
use crate::sizing::host::HostModel;
use crate::sizing::lowest::{Hint, lowest};
use crate::sizing::resource::Resource;
use crate::sizing::search::Largest;

/// What one host holds and costs.
pub(super) fn candidate(lab: &Lab, host: &Host, need: Option<&[u64]>) -> Candidate {
    let model = HostModel::new(lab, host);
    let (counts, breaking, holds) = match need {
        Some(need) => {
            let breaking = passed(&model, need);
            let holds = breaking.is_empty();
            (need.to_vec(), breaking, holds)
        }
        None => {
            let hint = Hint::plain(&model);
            let found = lowest(&model, &hint);
            let n = match found.largest {
                Largest::Bound(n) => n,
                Largest::Infeasible | Largest::Unbounded => 0,
            };
            let counts = model.composition.counts(n);
            let breaking: Vec<Resource> = match found.largest {
                Largest::Infeasible => found
                    .binds
                    .iter()
                    .map(|place| hint.order()[*place])
                    .collect(),
                Largest::Bound(_) | Largest::Unbounded => Vec::new(),
            };
            let holds = breaking.is_empty()
                && (counts.iter().any(|n| *n > 0) || found.largest == Largest::Unbounded);
            (counts, breaking, holds)
        }
    };
    let guests: u64 = counts.iter().sum();
    let watts = model.mean_watts(&counts);
    let yearly = watts
        .map(power::kwh_per_year)
        .zip(lab.tariff)
        .map(|(kwh, tariff)| cost::running(1.0, kwh, tariff));
    let total = match (host.price, yearly, lab.tariff) {
        (Some(price), Some(yearly), _) => Some(price + lab.years * yearly),
        // Without a tariff nobody asked for energy; with one, a host of unknown power has no known cost.
        (price, _, None) => price,
        _ => None,
    };
    Candidate {
        name: host.name.clone(),
        holds,
        breaks: breaking.iter().map(|one| one.name(&model)).collect(),
        guests,
        price: host.price,
        watts,
        running_per_year: yearly,
        total,
        per_guest: total
            .filter(|_| guests > 0 && holds)
            .map(|total| total / guests as f64),
        breaking,
    }
}

/// The resources whose limit these guests pass.
#[must_use]
pub fn passed(model: &HostModel, counts: &[u64]) -> Vec<Resource> {
    Resource::all(model)
        .into_iter()
        .filter(|one| {
            one.constraint(model, counts)
                .is_some_and(|constraint| !constraint.within())
        })
        .collect()
}
