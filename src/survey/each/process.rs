//! What the processes of a guest say.

use crate::model::{MIB, PAGE};
use crate::survey::parse;
use crate::survey::processor::TICKS;
use crate::survey::root::{ReadError, Root};

/// A process by its number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Process(pub u32);

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

/// What the mappings of a guest's processes show `[B]`.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Resident {
    /// Resident memory of the guest, merged pages counted in full.
    pub ram: Option<f64>,
    /// Resident anonymous memory beside it.
    pub process: Option<f64>,
    /// Merged pages.
    pub merged: Option<f64>,
    /// Pages that are the kernel's zero page.
    pub zero: Option<f64>,
}

impl Resident {
    /// Of two processes together.
    pub fn plus(self, other: Resident) -> Resident {
        let add = |one: Option<f64>, other: Option<f64>| match (one, other) {
            (None, None) => None,
            (one, other) => Some(one.unwrap_or(0.0) + other.unwrap_or(0.0)),
        };
        Resident {
            ram: add(self.ram, other.ram),
            process: add(self.process, other.process),
            merged: add(self.merged, other.merged),
            zero: add(self.zero, other.zero),
        }
    }
}

impl Process {
    pub fn file(self, name: &str) -> String {
        format!("proc/{}/{name}", self.0)
    }

    /// Processor time used `[s]`.
    ///
    /// # Source
    /// Kernel documentation, proc file system, `stat`: fields 14 and 15, after the name in brackets.
    pub fn cpu(&self, root: &Root) -> Option<f64> {
        let text = root.text(&self.file("stat")).ok()?;
        let (_, rest) = text.rsplit_once(')')?;
        let words: Vec<&str> = rest.split_whitespace().collect();
        let ticks = |index: usize| words.get(index)?.parse::<f64>().ok();
        Some((ticks(11)? + ticks(12)?) / TICKS)
    }

    /// How long its threads waited for a processor `[s]`, and how often they were given one.
    ///
    /// # Source
    /// Kernel documentation, scheduler statistics: run time and waiting time in nanoseconds, number of timeslices.
    pub fn schedule(&self, root: &Root) -> Option<(f64, f64)> {
        let threads = root.entries(&self.file("task"));
        let of = |thread: &String| {
            let text = root
                .text(&self.file(&format!("task/{thread}/schedstat")))
                .ok()?;
            let mut words = text.split_whitespace().skip(1).map(str::parse::<f64>);
            Some((words.next()?.ok()? * 1e-9, words.next()?.ok()?))
        };
        let all = threads.iter().filter_map(of);
        all.reduce(|sum, one| (sum.0 + one.0, sum.1 + one.1))
    }

    /// Bytes written, as the process counts them.
    pub fn written(&self, root: &Root) -> Option<f64> {
        self.traffic(root, "wchar:")
    }

    /// Bytes read, as the process counts them.
    pub fn read(&self, root: &Root) -> Option<f64> {
        self.traffic(root, "rchar:")
    }

    fn traffic(self, root: &Root, name: &str) -> Option<f64> {
        let text = root.text(&self.file("io")).ok()?;
        parse::named_numbers(&text).get(name).copied()
    }

    /// Whether its memory may not be read by the caller.
    pub fn is_denied(self, root: &Root) -> bool {
        root.text(&self.file("io")) == Err(ReadError::NotAllowed)
    }

    /// Whether it holds a virtual machine of the kernel's; an error where that may not be known.
    pub fn holds_machine(self, root: &Root) -> Result<bool, ReadError> {
        let folder = self.file("fd");
        let names = root.entries(&folder);
        let targets = names
            .iter()
            .map(|name| root.link(&format!("{folder}/{name}")));
        let mut denied = root.link(&format!("{folder}/0")).err() == Some(ReadError::NotAllowed);
        for target in targets {
            match target {
                Ok(target) if target.starts_with("anon_inode:kvm-vm") => return Ok(true),
                Err(ReadError::NotAllowed) => denied = true,
                _ => {}
            }
        }
        if denied {
            Err(ReadError::NotAllowed)
        } else {
            Ok(false)
        }
    }

    /// Name of its program.
    pub fn program(self, root: &Root) -> Option<String> {
        let line = root.text(&self.file("cmdline")).unwrap_or_default();
        let first = line.split('\0').next().unwrap_or_default();
        let name = first.rsplit('/').next().unwrap_or_default();
        if name.is_empty() {
            root.text(&self.file("comm")).ok()
        } else {
            Some(name.to_owned())
        }
    }

    /// What its command line gives a guest; none where it gives no memory.
    pub fn command_line(&self, root: &Root) -> Option<CommandLine> {
        let line = root.text(&self.file("cmdline")).ok()?;
        let words: Vec<&str> = line.split('\0').collect();
        let value = |names: [&str; 2], part: &str| {
            let at = words.iter().position(|word| names.contains(word));
            let value = match at {
                Some(at) => *words.get(at + 1)?,
                None => words.iter().find_map(|word| {
                    names
                        .iter()
                        .find_map(|name| word.strip_prefix(name)?.strip_prefix('='))
                })?,
            };
            let mut parts = value.split(',');
            let named = parts
                .clone()
                .find_map(|one| one.strip_prefix(part)?.strip_prefix('='));
            named
                .or_else(|| parts.next().filter(|first| !first.contains('=')))
                .map(str::to_owned)
        };
        let memory = value(["-m", "--memory"], "size").and_then(|text| memory(&text))?;
        let vcpus = value(["-smp", "--cpus"], "cpus").or_else(|| value(["-smp", "--cpus"], "boot"));
        Some(CommandLine {
            name: value(["-name", "--name"], "guest"),
            memory: Some(memory),
            vcpus: vcpus.and_then(|text| text.parse().ok()).or(Some(1.0)),
        })
    }

    /// What its mappings show; the guest's memory is the mapping of just its size.
    ///
    /// # Errors
    /// Why they cannot be read.
    pub fn resident(self, root: &Root, memory: Option<f64>) -> Result<Resident, ReadError> {
        let mut sums = [0.0; 2];
        for mapping in parse::mappings(&root.text(&self.file("smaps"))?) {
            let is_ram = memory == Some(mapping.size);
            sums[usize::from(!is_ram)] += if is_ram {
                mapping.resident
            } else {
                mapping.anonymous
            };
        }
        let counts = root.text(&self.file("ksm_stat")).unwrap_or_default();
        let counts = parse::named_numbers(&counts);
        let pages = |name: &str| counts.get(name).map(|pages| pages * PAGE);
        let merged = pages("ksm_merging_pages");
        let alone = root.number(&self.file("ksm_merging_pages")).ok();
        Ok(Resident {
            ram: (sums[0] > 0.0).then_some(sums[0]),
            process: Some(sums[1]),
            merged: merged.or(alone.map(|pages| pages * PAGE)),
            zero: pages("ksm_zero_pages"),
        })
    }
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
pub(super) fn taps(root: &Root, processes: &[Process]) -> Option<[f64; 2]> {
    let mut names: Vec<String> = Vec::new();
    for process in processes {
        let folder = process.file("fdinfo");
        for file in root.entries(&folder) {
            let text = root.text(&format!("{folder}/{file}")).unwrap_or_default();
            let name = text.lines().find_map(|line| line.strip_prefix("iff:"));
            names.extend(name.map(|name| name.trim().to_owned()));
        }
    }
    names.sort_unstable();
    names.dedup();
    let of = |name: &String| {
        let number = |file| {
            root.number(&format!("sys/class/net/{name}/statistics/{file}"))
                .ok()
        };
        // What the host sends into the interface the guest receives.
        Some([number("tx_bytes")?, number("rx_bytes")?])
    };
    let all = names.iter().filter_map(of);
    all.reduce(|sum, one| [sum[0] + one[0], sum[1] + one[1]])
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
