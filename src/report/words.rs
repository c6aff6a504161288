//! The reader's words for resources and counts, and numbers in the unit of their resource.

use crate::sizing::answer::{HostAnswer, ResourceAnswer, State};
use crate::sizing::resource::Resource;
use crate::unit::format;

/// What a resource is called on screens.
#[must_use]
pub fn resource_label(resource: Resource, name: &str) -> String {
    let noun = noun(resource);
    match name.split_once(':') {
        Some((_, pool)) => format!("{noun} ({pool})"),
        None => noun.to_owned(),
    }
}

fn noun(resource: Resource) -> &'static str {
    match resource {
        Resource::Memory => "memory",
        Resource::Cpu => "processor",
        Resource::CpuWait => "wait for a processor",
        Resource::Vcpus => "vCPUs per thread",
        Resource::DiskSpace(_) => "disk space",
        Resource::DiskIops(_) => "disk speed",
        Resource::DiskWrites(_) => "rated disk writes",
        Resource::Network => "network",
        Resource::Backup => "backup window",
        Resource::Power => "power budget",
        Resource::Guests => "guest limit",
    }
}

/// "memory runs out first", "memory and the power budget run out first"; empty where nothing binds.
#[must_use]
pub fn runs_out_first(binding: &[&ResourceAnswer]) -> String {
    let names = in_sentence(binding);
    let many =
        |one: &&ResourceAnswer| matches!(one.resource, Resource::DiskWrites(_) | Resource::Vcpus);
    let plural = binding.len() > 1 || binding.iter().any(many);
    let verb = if plural {
        "run out first"
    } else {
        "runs out first"
    };
    if names.is_empty() {
        names
    } else {
        format!("{names} {verb}")
    }
}

/// Resources within a sentence: "memory", "the processor and the power budget".
#[must_use]
pub fn in_sentence(resources: &[&ResourceAnswer]) -> String {
    let labels: Vec<String> = resources
        .iter()
        .map(|one| {
            format!(
                "{}{}",
                article(one.resource),
                resource_label(one.resource, &one.name)
            )
        })
        .collect();
    listed(&labels)
}

fn article(resource: Resource) -> &'static str {
    match resource {
        Resource::Memory
        | Resource::Vcpus
        | Resource::DiskSpace(_)
        | Resource::DiskIops(_)
        | Resource::DiskWrites(_) => "",
        Resource::Cpu
        | Resource::CpuWait
        | Resource::Network
        | Resource::Backup
        | Resource::Power
        | Resource::Guests => "the ",
    }
}

/// "a", "a and b", "a, b and c".
#[must_use]
pub fn listed(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// How many a resource holds by itself.
#[must_use]
pub fn holds(one: &ResourceAnswer) -> String {
    match one.state {
        State::Bound => one.fits.map_or_else(String::new, format::count),
        State::Unbounded => "no limit".to_owned(),
        State::Broken => "past it".to_owned(),
    }
}

/// A load as a share; where there is nothing to load, in words.
#[must_use]
pub fn load(load: f64) -> String {
    if load.is_finite() {
        format::share(load)
    } else {
        "no supply".to_owned()
    }
}

/// A count that may have no bound.
#[must_use]
pub fn count_or(count: Option<u64>, without: &str) -> String {
    count.map_or_else(|| without.to_owned(), format::count)
}

/// What N counts, in words: "62 guests", "1 set".
#[must_use]
pub fn counted(host: &HostAnswer, n: u64) -> String {
    match host.unit {
        "sets" => format::plural(n, "set", "sets"),
        _ => format::plural(n, "guest", "guests"),
    }
}
