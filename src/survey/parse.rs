//! The formats of the kernel's files: text in, numbers in base units out. Nothing here reads a file.

use std::collections::{BTreeMap, BTreeSet};

/// A kernel "kB" is 1024 bytes `[B]`. Source: kernel documentation, proc file system, `meminfo`.
const KERNEL_KB: f64 = 1024.0;
/// A sector, whatever the device's own block size `[B]`. Source: kernel documentation, block statistics.
pub const SECTOR: f64 = 512.0;
/// Largest processor number taken; the kernel builds for at most a few thousand.
const MOST_PROCESSORS: u32 = 1 << 16;

/// `/proc/meminfo`: sizes in bytes, counts as they are.
///
/// # Source
/// Kernel documentation, proc file system: "kB" is KiB.
///
/// # Example
/// ```
/// let seen = berthage::survey::parse::meminfo("MemTotal: 16 kB\nHugePages_Total: 3\n");
/// assert_eq!((seen["MemTotal"], seen["HugePages_Total"]), (16384.0, 3.0));
/// ```
pub fn meminfo(text: &str) -> BTreeMap<String, f64> {
    text.lines()
        .filter_map(|line| {
            let (name, rest) = line.split_once(':')?;
            let mut words = rest.split_whitespace();
            let number = amount(words.next()?)?;
            let factor = match words.next() {
                Some("kB") => KERNEL_KB,
                _ => 1.0,
            };
            Some((name.trim().to_owned(), number * factor))
        })
        .collect()
}

/// A number that is finite and not negative.
fn amount(word: &str) -> Option<f64> {
    let number: f64 = word.parse().ok()?;
    (number.is_finite() && number >= 0.0).then_some(number)
}

/// Lines of a name and a number, as in `/proc/vmstat` or the statistics of a file-system cache.
pub fn named_numbers(text: &str) -> BTreeMap<String, f64> {
    text.lines()
        .filter_map(|line| {
            let mut words = line.split_whitespace();
            let name = words.next()?;
            // Some tables carry a type between name and number, so the last word counts.
            let number: f64 = words.next_back()?.parse().ok()?;
            number.is_finite().then(|| (name.to_owned(), number))
        })
        .collect()
}

/// A list of processors; none where it is malformed.
///
/// # Source
/// Kernel admin guide, cputopology: `0-3,8-11,14,17`.
///
/// # Example
/// ```
/// use berthage::survey::parse::cpulist;
/// assert_eq!(cpulist("0-3,8-11,14,17").map(|list| list.len()), Some(10));
/// assert_eq!(cpulist("3-1"), None);
/// ```
pub fn cpulist(text: &str) -> Option<BTreeSet<u32>> {
    let mut list = BTreeSet::new();
    let parts = text.split(',').map(str::trim);
    for part in parts.filter(|part| !part.is_empty()) {
        let (first, last) = part.split_once('-').unwrap_or((part, part));
        let (first, last): (u32, u32) = (first.parse().ok()?, last.parse().ok()?);
        if first > last || last >= MOST_PROCESSORS {
            return None;
        }
        list.extend(first..=last);
    }
    Some(list)
}

/// What went through a disk since boot.
#[derive(Debug, Clone, PartialEq)]
pub struct Traffic {
    /// Name of the device.
    pub name: String,
    /// Read `[B]`.
    pub read: f64,
    /// Written `[B]`.
    pub written: f64,
}

/// `/proc/diskstats`: fields 3 and 7 are sectors of 512 bytes.
///
/// # Source
/// Kernel documentation, iostats.
///
/// # Example
/// ```
/// let line = "3 0 hda 446216 784926 9550688 4382310 424847 312726 5922052 19310380 0 3376340 23705160";
/// let traffic = &berthage::survey::parse::diskstats(line)[0];
/// assert_eq!((traffic.read, traffic.written), (4_889_952_256.0, 3_032_090_624.0));
/// ```
pub fn diskstats(text: &str) -> Vec<Traffic> {
    text.lines()
        .filter_map(|line| {
            let words: Vec<&str> = line.split_whitespace().collect();
            let sectors = |index: usize| words.get(index)?.parse::<u64>().ok();
            Some(Traffic {
                name: (*words.get(2)?).to_owned(),
                read: sectors(5)? as f64 * SECTOR,
                written: sectors(9)? as f64 * SECTOR,
            })
        })
        .collect()
}

/// How long some task waited for a resource.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pressure {
    /// Share of the last minute.
    pub last_minute: f64,
    /// Since boot `[s]`.
    pub total: f64,
}

/// The line `some` of a file in `/proc/pressure`.
///
/// # Source
/// Kernel documentation, pressure stall information: averages in percent, totals in microseconds.
pub fn pressure(text: &str) -> Option<Pressure> {
    let line = text.lines().find(|line| line.starts_with("some "))?;
    let field = |name: &str| {
        let mut words = line.split_whitespace();
        amount(words.find_map(|word| word.strip_prefix(name))?)
    };
    Some(Pressure {
        last_minute: field("avg60=")? / 100.0,
        total: field("total=")? * 1e-6,
    })
}

/// Share of the time between two readings that some task waited.
///
/// `share = (total₁ − total₀)/seconds`, within 0–1
///
/// - totals `[s]`; `seconds` between the readings, > 0
///
/// # Source
/// Kernel documentation, pressure stall information.
///
/// # Example
/// ```
/// use berthage::survey::parse::pressure_between;
/// // Totals of 1,000,000 and 4,000,000 µs read 60 s apart.
/// assert!((pressure_between(1.0, 4.0, 60.0) - 0.05).abs() < 1e-12);
/// ```
pub fn pressure_between(before: f64, after: f64, seconds: f64) -> f64 {
    ((after - before) / seconds).clamp(0.0, 1.0)
}

/// Devices below `/dev` and the folders that their file systems are mounted on, by the text of `/proc/mounts`.
///
/// # Source
/// Linux manual pages, fstab(5): a blank in a name is written `\\040`.
///
/// # Example
/// ```
/// use berthage::survey::parse::mounts;
/// let text = "proc /proc proc rw 0 0\n/dev/sda2 /srv/my\\040data ext4 rw 0 0\n";
/// assert_eq!(mounts(text), [("sda2".to_owned(), "srv/my data".to_owned())]);
/// ```
pub fn mounts(text: &str) -> Vec<(String, String)> {
    let line = |line: &str| {
        let mut words = line.split(' ');
        let device = words.next()?.strip_prefix("/dev/")?;
        let place = words.next()?.trim_start_matches('/');
        Some((device.to_owned(), place.replace("\\040", " ")))
    };
    text.lines().filter_map(line).collect()
}

/// `/proc/uptime`: how long the host has been up `[s]`.
pub fn uptime(text: &str) -> Option<f64> {
    amount(text.split_whitespace().next()?).filter(|seconds| *seconds > 0.0)
}

/// A mapping of a process `[B]`.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Mapping {
    /// Where it starts, in bytes of the process's addresses.
    pub start: u64,
    /// Its size.
    pub size: f64,
    /// What of it is resident.
    pub resident: f64,
    /// What of it is resident and belongs to no file.
    pub anonymous: f64,
}

/// `/proc/PID/smaps`: a line of addresses, then a line a figure.
///
/// # Source
/// Kernel documentation, proc file system, `smaps`.
///
/// # Example
/// ```
/// let text = "7f00-9f00 rw-p 00000000 00:00 0\nSize: 8 kB\nRss: 8 kB\nAnonymous: 4 kB\n";
/// let mapping = berthage::survey::parse::mappings(text)[0];
/// assert_eq!((mapping.size, mapping.resident, mapping.anonymous), (8192.0, 8192.0, 4096.0));
/// ```
pub fn mappings(text: &str) -> Vec<Mapping> {
    let mut found: Vec<Mapping> = Vec::new();
    for line in text.lines() {
        let first = line.split_whitespace().next().unwrap_or_default();
        if let Some((start, end)) = first.split_once('-') {
            let ends = u64::from_str_radix(start, 16).ok();
            let ends = ends.zip(u64::from_str_radix(end, 16).ok());
            let (start, end) = ends.unwrap_or_default();
            found.push(Mapping {
                start,
                size: end.saturating_sub(start) as f64,
                ..Mapping::default()
            });
            continue;
        }
        let Some(last) = found.last_mut() else {
            continue;
        };
        let field = match first {
            "Rss:" => &mut last.resident,
            "Anonymous:" => &mut last.anonymous,
            _ => continue,
        };
        let kib = line.split_whitespace().nth(1).and_then(amount);
        *field = kib.unwrap_or(0.0) * KERNEL_KB;
    }
    found
}

/// A swap area in use.
#[derive(Debug, Clone, PartialEq)]
pub struct SwapArea {
    /// File or device.
    pub name: String,
    /// Size `[B]`.
    pub size: f64,
    /// In use `[B]`.
    pub used: f64,
}

impl SwapArea {
    /// The number of the compressed device in memory that this area is, if it is one.
    pub fn compressed(&self) -> Option<u32> {
        let device = self.name.rsplit('/').next()?;
        device.strip_prefix("zram")?.parse().ok()
    }
}

/// `/proc/swaps`: sizes in KiB; blanks in names are written `\040`.
pub fn swaps(text: &str) -> Vec<SwapArea> {
    let areas = text.lines().skip(1).filter_map(|line| {
        let words: Vec<&str> = line.split_whitespace().collect();
        let kib = |index: usize| words.get(index)?.parse::<u64>().ok();
        Some(SwapArea {
            name: words.first()?.replace("\\040", " "),
            size: kib(2)? as f64 * KERNEL_KB,
            used: kib(3)? as f64 * KERNEL_KB,
        })
    });
    areas.collect()
}

/// The word in brackets, where a file shows a choice: `always [madvise] never`.
///
/// # Example
/// ```
/// assert_eq!(berthage::survey::parse::chosen("[none] scan-time"), Some("none"));
/// ```
pub fn chosen(text: &str) -> Option<&str> {
    let start = text.find('[')? + 1;
    let end = start + text.get(start..)?.find(']')?;
    text.get(start..end)
}

/// Major and minor number of a kernel release such as `6.8.12-4-lab`.
pub fn release(text: &str) -> Option<(u32, u32)> {
    let mut numbers = text.trim().split(|letter: char| !letter.is_ascii_digit());
    Some((numbers.next()?.parse().ok()?, numbers.next()?.parse().ok()?))
}

#[cfg(test)]
mod tests {
    use super::{chosen, cpulist, pressure, release, swaps};

    #[test]
    fn swaps_are_told_apart() {
        let text = "Filename\tType\tSize\tUsed\tPriority\n/dev/zram0 partition 8388604 1024 100\n\
                    /my\\040swap\\040(deleted) file 1024 0 -2\nbroken line\n";
        let areas = swaps(text);
        assert_eq!(areas.len(), 2);
        assert_eq!(
            (areas[0].compressed(), areas[0].used),
            (Some(0), 1_048_576.0)
        );
        assert_eq!(
            (areas[1].name.as_str(), areas[1].compressed()),
            ("/my swap (deleted)", None)
        );
    }

    #[test]
    fn pressure_takes_the_line_some() {
        let text = "full avg10=1.00 avg60=9.00 avg300=0 total=7\nsome avg10=0.00 avg60=2.50 avg300=0.10 total=1000000";
        let read = pressure(text).expect("a line");
        assert_eq!((read.last_minute, read.total), (0.025, 1.0));
        assert_eq!(pressure("some avg10=x"), None);
    }

    #[test]
    fn odd_lists_and_releases_are_none() {
        for odd in ["x", "1-", "-1", "0-99999999", "1-2-3", "4294967296"] {
            assert_eq!(cpulist(odd), None, "{odd}");
        }
        assert_eq!(cpulist("").map(|list| list.len()), Some(0));
        assert_eq!(release("6.18.44-x"), Some((6, 18)));
        assert_eq!(release("six"), None);
        assert_eq!(chosen("none"), None);
        assert_eq!(chosen("]["), None);
    }
}
