//! Resources and counts of guests by the names they have in reports.

use std::borrow::Cow;
use std::collections::BTreeMap;

use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::{Serialize, Serializer};

use super::host::HostModel;
use super::resource::Resource;
use crate::lab::Lab;

/// A resource and its name; the name alone in JSON.
#[derive(Debug, Clone, PartialEq)]
pub struct Named {
    /// Which resource.
    pub resource: Resource,
    /// Its name: pools are named where there are several.
    pub name: String,
}

impl Named {
    /// The resources with their names on a host.
    #[must_use]
    pub fn all(model: &HostModel, resources: &[Resource]) -> Vec<Named> {
        let named = resources.iter().map(|resource| Named {
            resource: *resource,
            name: resource.name(model),
        });
        named.collect()
    }
}

impl Serialize for Named {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.name)
    }
}

impl JsonSchema for Named {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> Cow<'static, str> {
        String::schema_name()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        String::json_schema(generator)
    }
}

/// Counts of profiles by name; profiles without a guest are left out.
#[must_use]
pub fn by_name(lab: &Lab, counts: &[u64]) -> BTreeMap<String, u64> {
    let pairs = lab.guests.iter().zip(counts).filter(|(_, n)| **n > 0);
    pairs.map(|(guest, n)| (guest.name.clone(), *n)).collect()
}
