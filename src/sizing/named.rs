//! Resources and counts of guests by the names they have in reports.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use super::host::HostModel;
use super::resource::Resource;
use crate::lab::Lab;

/// A resource and its name; the name alone in JSON.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
#[serde(into = "String")]
#[schemars(inline, with = "String")]
pub struct Named {
    /// Which resource.
    pub resource: Resource,
    /// Its name: pools are named where there are several.
    pub name: String,
}

impl From<Named> for String {
    fn from(named: Named) -> String {
        named.name
    }
}

impl Named {
    /// A resource with its name on a host.
    pub fn of(model: &HostModel, resource: Resource) -> Named {
        let name = resource.name(model);
        Named { resource, name }
    }

    /// The same for each of several.
    pub fn all(model: &HostModel, resources: &[Resource]) -> Vec<Named> {
        let resources = resources.iter().copied();
        resources.map(|one| Named::of(model, one)).collect()
    }
}

/// Counts of profiles by name; profiles without a guest are left out.
pub fn by_name(lab: &Lab, counts: &[u64]) -> BTreeMap<String, u64> {
    let pairs = lab.guests.iter().zip(counts).filter(|(_, n)| **n > 0);
    pairs.map(|(guest, n)| (guest.name.clone(), *n)).collect()
}
