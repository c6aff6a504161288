//! What control groups say, of version 1 and of version 2.

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
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Groups {
    /// One tree for all.
    Two,
    /// A tree for each controller.
    One,
}

impl Groups {
    pub fn of(root: &Root) -> Groups {
        if root.exists(&format!("{FOLDER}/cgroup.controllers")) {
            Groups::Two
        } else {
            Groups::One
        }
    }

    /// Folders in which a group may have that file: of version 1 those of controllers, alone or joined.
    fn folders(self, controllers: &[&str], group: &str) -> Vec<String> {
        match self {
            Groups::Two => vec![format!("{FOLDER}/{group}")],
            Groups::One => controllers
                .iter()
                .map(|controller| format!("{FOLDER}/{controller}/{group}"))
                .collect(),
        }
    }

    fn text(self, root: &Root, controllers: &[&str], group: &str, file: &str) -> Option<String> {
        let folders = self.folders(controllers, group);
        folders
            .iter()
            .find_map(|folder| root.text(&format!("{folder}/{file}")).ok())
    }

    /// Names of the groups right below one.
    pub fn below(self, root: &Root, group: &str) -> Vec<String> {
        let folders = self.folders(&ANY, group);
        let names = folders.iter().map(|folder| {
            let names = root.entries(folder).into_iter();
            names
                .filter(|name| root.exists(&format!("{folder}/{name}/cgroup.procs")))
                .collect()
        });
        let mut names = names.filter(|names: &Vec<String>| !names.is_empty());
        names.next().unwrap_or_default()
    }

    /// Whether there are more groups right below one than are examined.
    pub fn is_cut(self, root: &Root, group: &str) -> bool {
        let folders = self.folders(&["memory"], group);
        folders
            .iter()
            .any(|folder| root.entries(folder).len() >= MOST_NAMES)
    }

    /// The processes in a group and in those below it.
    pub fn processes(self, root: &Root, group: &str) -> Vec<u32> {
        let mut pids = Vec::new();
        let mut waiting = vec![group.to_owned()];
        for _ in 0..MOST_BELOW {
            let Some(group) = waiting.pop() else { break };
            let text = self.text(root, &ANY, &group, "cgroup.procs");
            let text = text.unwrap_or_default();
            let own = text.lines().map(|line| line.trim().parse::<u32>());
            pids.extend(own.filter_map(Result::ok));
            let below = self.below(root, &group).into_iter();
            waiting.extend(below.map(|name| format!("{group}/{name}")));
        }
        pids.sort_unstable();
        pids.dedup();
        pids
    }

    /// Processor time used `[s]`.
    pub fn cpu(&self, root: &Root, group: &str) -> Option<f64> {
        match self {
            Groups::Two => {
                let text = self.text(root, &[], group, "cpu.stat")?;
                Some(parse::named_numbers(&text).get("usage_usec")? * 1e-6)
            }
            Groups::One => {
                let text = self.text(root, &["cpuacct", "cpu,cpuacct"], group, "cpuacct.usage")?;
                Some(text.trim().parse::<f64>().ok()? * 1e-9)
            }
        }
    }

    /// Anonymous memory `[B]`.
    pub fn held(&self, root: &Root, group: &str) -> Option<f64> {
        let text = self.text(root, &["memory"], group, "memory.stat")?;
        let numbers = parse::named_numbers(&text);
        let name = match self {
            Groups::Two => "anon",
            Groups::One if numbers.contains_key("total_rss") => "total_rss",
            Groups::One => "rss",
        };
        numbers.get(name).copied().filter(|size| *size >= 0.0)
    }

    /// The most memory it may use `[B]`.
    pub fn memory_limit(&self, root: &Root, group: &str) -> Option<f64> {
        let file = match self {
            Groups::Two => "memory.max",
            Groups::One => "memory.limit_in_bytes",
        };
        let limit: f64 = self
            .text(root, &["memory"], group, file)?
            .trim()
            .parse()
            .ok()?;
        (limit > 0.0 && limit < NO_LIMIT).then_some(limit)
    }

    /// The most processors it may use, rounded up.
    pub fn vcpus(&self, root: &Root, group: &str) -> Option<f64> {
        let controllers = ["cpu", "cpu,cpuacct"];
        let text = |file| self.text(root, &controllers, group, file);
        let [quota, period] = match self {
            Groups::Two => {
                let text = text("cpu.max")?;
                let mut words = text.split_whitespace().map(str::parse::<f64>);
                [words.next()?.ok()?, words.next()?.ok()?]
            }
            Groups::One => {
                let number = |file| text(file)?.trim().parse::<f64>().ok();
                [number("cpu.cfs_quota_us")?, number("cpu.cfs_period_us")?]
            }
        };
        (quota > 0.0 && period > 0.0).then(|| (quota / period).ceil())
    }

    /// How long some task of it waited for memory `[s]`.
    pub fn pressure(&self, root: &Root, group: &str) -> Option<f64> {
        let text = self.text(root, &["memory"], group, "memory.pressure")?;
        Some(parse::pressure(&text)?.total)
    }

    /// The group of a process, without its leading slash; none where it is in that of the whole host.
    pub fn of_process(self, root: &Root, pid: u32) -> Option<String> {
        let text = root.text(&format!("proc/{pid}/cgroup")).ok()?;
        let path = text.lines().find_map(|line| {
            let mut parts = line.splitn(3, ':').skip(1);
            let (controllers, path) = (parts.next()?, parts.next()?);
            let is_it = match self {
                Groups::Two => controllers.is_empty(),
                Groups::One => controllers.split(',').any(|one| one == "memory"),
            };
            is_it.then(|| path.trim_start_matches('/').to_owned())
        })?;
        (!path.is_empty()).then_some(path)
    }
}
