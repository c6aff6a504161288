//! What control groups say, of version 1 and of version 2.

use super::process::Process;
use crate::survey::parse;
use crate::survey::root::{MOST_NAMES, Root};

const FOLDER: &str = "sys/fs/cgroup";
/// A limit from here on is none `[B]`: version 1 says the largest number it has.
const NO_LIMIT: f64 = 1e18;
/// Controllers of version 1, any of which may have all groups.
const ANY: [&str; 5] = ["memory", "cpuacct", "cpu,cpuacct", "systemd", "pids"];
/// Most groups below one that are searched for its processes.
const MOST_BELOW: usize = 256;

/// The control groups of a host.
#[derive(Clone, Copy)]
pub(super) struct Groups<'a> {
    root: &'a Root,
    /// Whether one tree has all controllers (version 2); else each has its own.
    is_one_tree: bool,
}

impl<'a> Groups<'a> {
    pub fn of(root: &'a Root) -> Groups<'a> {
        let is_one_tree = root.exists(&format!("{FOLDER}/cgroup.controllers"));
        Groups { root, is_one_tree }
    }

    /// Folders in which a group may have that file: of version 1 those of controllers, alone or joined.
    fn folders(self, controllers: &[&str], group: &str) -> Vec<String> {
        if self.is_one_tree {
            return vec![format!("{FOLDER}/{group}")];
        }
        let folder = |controller| format!("{FOLDER}/{controller}/{group}");
        controllers.iter().map(folder).collect()
    }

    fn text(self, controllers: &[&str], group: &str, file: &str) -> Option<String> {
        let folders = self.folders(controllers, group).into_iter();
        let mut texts = folders.map(|folder| self.root.text(&format!("{folder}/{file}")));
        texts.find_map(Result::ok)
    }

    /// The number that is all there is in a file.
    fn number(self, controllers: &[&str], group: &str, file: &str) -> Option<f64> {
        self.text(controllers, group, file)?.trim().parse().ok()
    }

    /// Names of the groups right below one.
    pub fn below(self, group: &str) -> Vec<String> {
        let folders = self.folders(&ANY, group).into_iter();
        let names = folders.map(|folder| {
            let mut names = self.root.entries(&folder);
            names.retain(|name| self.root.exists(&format!("{folder}/{name}/cgroup.procs")));
            names
        });
        let mut names = names.filter(|names| !names.is_empty());
        names.next().unwrap_or_default()
    }

    /// Whether there are more groups right below one than are examined.
    pub fn is_cut(self, group: &str) -> bool {
        let folders = self.folders(&["memory"], group);
        let mut counts = folders.iter().map(|folder| self.root.entries(folder).len());
        counts.any(|count| count >= MOST_NAMES)
    }

    /// The processes in a group and in those below it.
    pub fn processes(self, group: &str) -> Vec<u32> {
        let mut pids = Vec::new();
        let mut waiting = vec![group.to_owned()];
        for _ in 0..MOST_BELOW {
            let Some(group) = waiting.pop() else { break };
            let text = self.text(&ANY, &group, "cgroup.procs").unwrap_or_default();
            pids.extend(
                text.lines()
                    .filter_map(|line| line.trim().parse::<u32>().ok()),
            );
            let below = self.below(&group).into_iter();
            waiting.extend(below.map(|name| format!("{group}/{name}")));
        }
        pids.sort_unstable();
        pids.dedup();
        pids
    }

    /// Processor time used `[s]`.
    pub fn cpu(self, group: &str) -> Option<f64> {
        if self.is_one_tree {
            let text = self.text(&[], group, "cpu.stat")?;
            return Some(parse::named_numbers(&text).get("usage_usec")? * 1e-6);
        }
        Some(self.number(&["cpuacct", "cpu,cpuacct"], group, "cpuacct.usage")? * 1e-9)
    }

    /// Anonymous memory `[B]`.
    pub fn held(self, group: &str) -> Option<f64> {
        let numbers = parse::named_numbers(&self.text(&["memory"], group, "memory.stat")?);
        let names: &[&str] = if self.is_one_tree {
            &["anon"]
        } else {
            &["total_rss", "rss"]
        };
        let size = names.iter().find_map(|name| numbers.get(*name));
        size.copied().filter(|size| *size >= 0.0)
    }

    /// The most memory it may use `[B]`.
    pub fn memory_limit(self, group: &str) -> Option<f64> {
        let file = if self.is_one_tree {
            "memory.max"
        } else {
            "memory.limit_in_bytes"
        };
        let limit = self.number(&["memory"], group, file);
        limit.filter(|limit| *limit > 0.0 && *limit < NO_LIMIT)
    }

    /// The most processors it may use, rounded up.
    pub fn vcpus(self, group: &str) -> Option<f64> {
        let controllers = ["cpu", "cpu,cpuacct"];
        let [quota, period] = if self.is_one_tree {
            let text = self.text(&controllers, group, "cpu.max")?;
            let mut words = text.split_whitespace().map(str::parse::<f64>);
            [words.next()?.ok()?, words.next()?.ok()?]
        } else {
            let number = |file| self.number(&controllers, group, file);
            [number("cpu.cfs_quota_us")?, number("cpu.cfs_period_us")?]
        };
        (quota > 0.0 && period > 0.0).then(|| (quota / period).ceil())
    }

    /// How long some task of it waited for memory `[s]`.
    pub fn pressure(self, group: &str) -> Option<f64> {
        let text = self.text(&["memory"], group, "memory.pressure")?;
        Some(parse::pressure(&text)?.total)
    }

    /// The group of a process, without its leading slash; none where it is in that of the whole host.
    pub fn of_process(self, process: Process) -> Option<String> {
        let text = process.text("cgroup").ok()?;
        let path = text.lines().find_map(|line| {
            let mut parts = line.splitn(3, ':').skip(1);
            let (mut controllers, path) = (parts.next()?.split(','), parts.next()?);
            let wanted = if self.is_one_tree { "" } else { "memory" };
            controllers
                .any(|one| one == wanted)
                .then_some(path.trim_start_matches('/'))
        })?;
        (!path.is_empty()).then(|| path.to_owned())
    }
}
