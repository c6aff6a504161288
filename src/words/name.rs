//! The reader's words for resources and counts, and numbers in the unit of their resource.

use crate::sizing::answer::{HostAnswer, ResourceAnswer};
use crate::sizing::named::Named;
use crate::sizing::resource::Resource;
use crate::sizing::search::Largest;
use crate::unit::format;

/// What the resource of that name is called on screens.
pub fn label(name: &str) -> String {
    let (base, pool) = name.split_once(':').unwrap_or((name, ""));
    let noun = match base {
        "cpu" => "processor",
        "cpu_wait" => "wait for a processor",
        "vcpus" => "vCPUs per thread",
        "disk_space" => "disk space",
        "disk_iops" => "disk speed",
        "disk_writes" => "rated disk writes",
        "backup" => "backup window",
        "power" => "power budget",
        "guests" => "guest limit",
        // "memory" and "network" are words already.
        other => other,
    };
    if pool.is_empty() {
        noun.to_owned()
    } else {
        format!("{noun} ({pool})")
    }
}

/// "memory runs out first", "memory and the power budget run out first"; empty where nothing binds.
pub fn runs_out_first(binding: &[&ResourceAnswer]) -> String {
    named_run_out_first(&named(binding))
}

/// The resources that bind on a host.
pub fn binding(host: &HostAnswer) -> Vec<&ResourceAnswer> {
    let resources = host.resources.iter();
    let binding = resources.filter(|one| host.binds.contains(&one.name));
    binding.collect()
}

/// "memory runs out first" of what binds on a host.
pub fn binding_run_out_first(host: &HostAnswer) -> String {
    runs_out_first(&binding(host))
}

/// A title and whose it is, where that has a name.
pub fn titled(what: &str, whose: &str) -> String {
    if whose.is_empty() {
        what.to_owned()
    } else {
        format!("{what}: {whose}")
    }
}

/// The same of resources and their names.
pub fn named_run_out_first(binding: &[(Resource, &str)]) -> String {
    let names = named_in_sentence(binding);
    let plural = binding.len() > 1 || binding.iter().any(|(one, _)| is_plural(*one));
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

/// Whether a resource's name is a plural.
pub fn is_plural(resource: Resource) -> bool {
    matches!(resource, Resource::DiskWrites(_) | Resource::Vcpus)
}

/// Resources within a sentence: "memory", "the processor and the power budget".
pub fn in_sentence(resources: &[&ResourceAnswer]) -> String {
    named_in_sentence(&named(resources))
}

fn named<'a>(resources: &[&'a ResourceAnswer]) -> Vec<(Resource, &'a str)> {
    let pairs = resources.iter();
    pairs.map(|one| (one.resource, one.name.as_str())).collect()
}

fn named_in_sentence(resources: &[(Resource, &str)]) -> String {
    let named = resources.iter().map(|(one, name)| with_article(*one, name));
    format::listed(named.collect::<Vec<_>>())
}

/// A resource within a sentence: "the processor".
pub fn with_article(resource: Resource, name: &str) -> String {
    format!("{}{}", article(resource), label(name))
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

/// A load as a share; where there is nothing to load, in words.
pub fn load(load: f64) -> String {
    if load.is_finite() {
        format::share(load)
    } else {
        "no supply".to_owned()
    }
}

/// A count that may have no bound.
pub fn count_or(count: Option<u64>, without: &str) -> String {
    count.map_or_else(|| without.to_owned(), format::count)
}

/// The outcome of a search in words.
pub fn found(largest: Largest) -> String {
    match largest {
        Largest::Bound(n) => format::count(n),
        Largest::Unbounded => "any number".to_owned(),
        Largest::Infeasible => "none".to_owned(),
    }
}

/// A wait; below a microsecond its length says nothing any more.
pub fn wait(seconds: f64) -> String {
    if seconds < 1e-6 {
        "less than 1 µs".to_owned()
    } else {
        format::seconds(seconds)
    }
}

/// What N counts, in words: "62 guests", "1 set".
pub fn counted(host: &HostAnswer, n: u64) -> String {
    counted_in(host.unit, n)
}

/// The same in a unit of counts: `guests` or `sets`.
pub fn counted_in(unit: &str, n: u64) -> String {
    match unit {
        "sets" => format::plural(n, "set", "sets"),
        _ => format::plural(n, "guest", "guests"),
    }
}

/// The names, or the first and how many more there are.
pub fn few(names: &[String]) -> String {
    match names {
        [one, _, _, ..] => format!("{one} and {} more", names.len() - 1),
        names => format::listed(names),
    }
}

/// What resources are called on screens, in a list.
pub fn labels(resources: &[Named]) -> String {
    let labels = resources.iter();
    let labels = labels.map(|one| label(&one.name));
    format::listed(labels.collect::<Vec<_>>())
}

/// A number that may not be known.
pub fn or_dash(value: Option<f64>, text: impl FnOnce(f64) -> String) -> String {
    value.map_or_else(|| "–".to_owned(), text)
}

/// Words that are said only where something is so; else none.
pub fn only_if(is_so: bool, words: impl Into<String>) -> String {
    match is_so {
        true => words.into(),
        false => String::new(),
    }
}
