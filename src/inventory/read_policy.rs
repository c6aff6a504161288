//! Reads `[lab]` and `[policy]`.

use super::read::{Reader, whole};
use super::tree::Node;
use crate::lab::Policy;
use crate::lab::keys::Section;

/// What `[lab]` says.
pub(super) struct LabTable {
    /// Name of the lab.
    pub name: String,
    /// Currency.
    pub currency: String,
    /// Price of energy `[money/kWh]`.
    pub tariff: Option<f64>,
    /// Cost horizon `[years]`.
    pub years: f64,
}

/// Reads `[lab]`.
pub(super) fn lab<'t>(reader: &mut Reader<'t>, node: Option<&'t Node>) -> LabTable {
    let fields = reader.open(Section::Lab, "lab".to_owned(), node, None);
    let text =
        |found: Option<(&str, _)>| found.map(|(text, _)| text.to_owned()).unwrap_or_default();
    LabTable {
        name: text(reader.text(&fields, "name")),
        currency: text(reader.text(&fields, "currency")),
        tariff: reader.optional(&fields, "tariff"),
        years: reader.number(&fields, "years").value,
    }
}

/// Reads `[policy]`.
pub(super) fn policy<'t>(reader: &mut Reader<'t>, node: Option<&'t Node>) -> Policy {
    let fields = reader.open(Section::Policy, "policy".to_owned(), node, None);
    let mut number = |name| reader.number(&fields, name).value;
    let mut policy = Policy {
        memory_risk: number("memory_risk"),
        slow_risk: number("slow_risk"),
        correlation: number("correlation"),
        memory_keep_free: number("memory_keep_free"),
        disk_keep_free: number("disk_keep_free"),
        cpu_slowdown: number("cpu_slowdown"),
        disk_ceiling: number("disk_ceiling"),
        network_ceiling: number("network_ceiling"),
        service_life: number("service_life"),
        cpu_slice: number("cpu_slice"),
        disk_horizon: number("disk_horizon"),
        power_budget: None,
        max_vcpus_per_thread: None,
        max_mean_wait: None,
        max_guests: None,
    };
    policy.power_budget = reader.optional(&fields, "power_budget");
    policy.max_vcpus_per_thread = reader.optional(&fields, "max_vcpus_per_thread");
    policy.max_mean_wait = reader.optional(&fields, "max_mean_wait");
    policy.max_guests = reader.optional(&fields, "max_guests").map(whole);
    policy
}
