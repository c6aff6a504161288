//! What the processes of a guest say.

use std::collections::BTreeSet;

use crate::model::{MIB, PAGE};
use crate::survey::parse;
use crate::survey::processor::TICKS;
use crate::survey::root::{ReadError, Root};

/// A process of a host by its number.
#[derive(Clone, Copy)]
pub(super) struct Process<'a> {
    pub root: &'a Root,
    pub pid: u32,
}

/// What a command line gives a guest.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct CommandLine {
    /// Its name.
    pub name: Option<String>,
    /// Memory `[B]`.
    pub memory: Option<f64>,
    /// Virtual processors.
    pub vcpus: Option<f64>,
}

impl Process<'_> {
    pub fn file(self, name: &str) -> String {
        format!("proc/{}/{name}", self.pid)
    }

    pub fn text(self, name: &str) -> Result<String, ReadError> {
        self.root.text(&self.file(name))
    }

    /// Processor time used `[s]`.
    ///
    /// # Source
    /// Kernel documentation, proc file system, `stat`: fields 14 and 15, after the name in brackets.
    pub fn cpu(self) -> Option<f64> {
        let text = self.text("stat").ok()?;
        let (_, rest) = text.rsplit_once(')')?;
        let mut ticks = rest.split_whitespace().skip(11).map(str::parse::<f64>);
        Some((ticks.next()?.ok()? + ticks.next()?.ok()?) / TICKS)
    }

    /// How long its threads waited for a processor `[s]`, and how often they were given one.
    ///
    /// # Source
    /// Kernel documentation, scheduler statistics: run time and waiting time in nanoseconds, number of timeslices.
    pub fn schedule(self) -> Option<[f64; 2]> {
        let of = |thread: &String| {
            let text = self.text(&format!("task/{thread}/schedstat")).ok()?;
            let mut words = text.split_whitespace().skip(1).map(str::parse::<f64>);
            Some([words.next()?.ok()? * 1e-9, words.next()?.ok()?])
        };
        let threads = self.root.entries(&self.file("task"));
        threads.iter().filter_map(of).reduce(both)
    }

    /// Bytes written and read, as the process counts them.
    pub fn traffic(self) -> [Option<f64>; 2] {
        let text = self.text("io").unwrap_or_default();
        let numbers = parse::named_numbers(&text);
        ["wchar:", "rchar:"].map(|name| numbers.get(name).copied())
    }

    /// Whether its memory may not be read by the caller.
    pub fn is_denied(self) -> bool {
        self.text("io") == Err(ReadError::NotAllowed)
    }

    /// Whether it holds a virtual machine of the kernel's; none where that may not be known.
    pub fn holds_machine(self) -> Option<bool> {
        let folder = self.file("fd");
        let link = |name: &str| self.root.link(&format!("{folder}/{name}"));
        let names = self.root.entries(&folder);
        let targets: Vec<_> = names.iter().map(|name| link(name)).collect();
        let is_machine = |target: &str| target.starts_with("anon_inode:kvm-vm");
        if targets.iter().flatten().any(|target| is_machine(target)) {
            return Some(true);
        }
        let mut all = targets.into_iter().chain([link("0")]);
        let denied = all.any(|target| target == Err(ReadError::NotAllowed));
        (!denied).then_some(false)
    }

    /// Name of its program.
    pub fn program(self) -> Option<String> {
        let line = self.text("cmdline").unwrap_or_default();
        let first = line.split('\0').next().unwrap_or_default();
        match first.rsplit('/').next().unwrap_or_default() {
            "" => self.text("comm").ok(),
            name => Some(name.to_owned()),
        }
    }

    /// What its command line gives a guest; none where it gives no memory.
    pub fn command_line(self) -> Option<CommandLine> {
        let line = self.text("cmdline").ok()?;
        let words: Vec<&str> = line.split('\0').collect();
        let value = |names: [&str; 2], part: &str| {
            let value = match words.iter().position(|word| names.contains(word)) {
                Some(at) => *words.get(at + 1)?,
                None => words.iter().find_map(|word| {
                    let mut names = names.iter();
                    names.find_map(|name| word.strip_prefix(name)?.strip_prefix('='))
                })?,
            };
            let mut parts = value.split(',');
            let mut named = parts.clone();
            let named = named.find_map(|one| one.strip_prefix(part)?.strip_prefix('='));
            let first = || parts.next().filter(|first| !first.contains('='));
            named.or_else(first).map(str::to_owned)
        };
        let memory = memory(&value(["-m", "--memory"], "size")?)?;
        let vcpus = value(["-smp", "--cpus"], "cpus").or_else(|| value(["-smp", "--cpus"], "boot"));
        Some(CommandLine {
            name: value(["-name", "--name"], "guest"),
            memory: Some(memory),
            vcpus: vcpus.and_then(|text| text.parse().ok()).or(Some(1.0)),
        })
    }

    /// What its mappings show of a guest `[B]`, by headings: its memory, the mapping of just its size, with merged pages counted
    /// in full; anonymous memory beside it; merged pages, and those that are the kernel's zero page. None where they cannot be
    /// read.
    pub fn resident(self, memory: Option<f64>) -> Option<[(&'static str, Option<f64>); 4]> {
        let (mut ram, mut beside) = (0.0, 0.0);
        for mapping in parse::mappings(&self.text("smaps").ok()?) {
            if memory == Some(mapping.size) {
                ram += mapping.resident;
            } else {
                beside += mapping.anonymous;
            }
        }
        let counts = parse::named_numbers(&self.text("ksm_stat").unwrap_or_default());
        let count = |name: &str| counts.get(name).copied();
        let alone = || self.root.number(&self.file("ksm_merging_pages")).ok();
        let merged = count("ksm_merging_pages").or_else(alone);
        let bytes = |pages: Option<f64>| pages.map(|pages| pages * PAGE);
        Some([
            ("ram_held", Some(ram).filter(|ram| *ram > 0.0)),
            ("process_held", Some(beside)),
            ("merged", bytes(merged)),
            ("zero", bytes(count("ksm_zero_pages"))),
        ])
    }
}

/// Two figures of each of two.
fn both(one: [f64; 2], other: [f64; 2]) -> [f64; 2] {
    [one[0] + other[0], one[1] + other[1]]
}

/// Memory on a command line `[B]`: a bare number is MiB.
fn memory(text: &str) -> Option<f64> {
    let digits = text.trim_end_matches(|letter: char| letter.is_ascii_alphabetic());
    let number: f64 = digits.parse().ok()?;
    let factor = match text[digits.len()..].to_ascii_lowercase().as_str() {
        "" | "m" | "mb" | "mib" => MIB,
        "k" | "kb" | "kib" => 1024.0,
        "g" | "gb" | "gib" => 1024.0 * MIB,
        "t" | "tb" | "tib" => MIB * MIB,
        "b" => 1.0,
        _ => return None,
    };
    let bytes = number * factor;
    (bytes.is_finite() && bytes > 0.0).then_some(bytes)
}

/// Bytes that guests received and sent over the tap interfaces of their processes.
pub(super) fn taps(processes: &[Process]) -> Option<[f64; 2]> {
    let root = processes.first()?.root;
    let mut names = BTreeSet::new();
    for process in processes {
        for file in root.entries(&process.file("fdinfo")) {
            let text = process.text(&format!("fdinfo/{file}")).unwrap_or_default();
            let name = text.lines().find_map(|line| line.strip_prefix("iff:"));
            names.extend(name.map(|name| name.trim().to_owned()));
        }
    }
    let of = |name: &String| {
        let folder = format!("sys/class/net/{name}/statistics");
        let number = |file| root.number(&format!("{folder}/{file}")).ok();
        // What the host sends into the interface the guest receives.
        Some([number("tx_bytes")?, number("rx_bytes")?])
    };
    names.iter().filter_map(of).reduce(both)
}

#[cfg(test)]
mod tests {
    use super::memory;

    #[test]
    fn memory_of_a_command_line() {
        assert_eq!(memory("512"), Some(512.0 * 1_048_576.0));
        assert_eq!(
            (memory("2G"), memory("1k")),
            (Some(2_147_483_648.0), Some(1024.0))
        );
        assert_eq!(
            (memory("x"), memory("-1"), memory("2X")),
            (None, None, None)
        );
    }
}
