//! The file tree of a host, its own or a copy; nothing outside it is ever read.

use std::fmt;
use std::fs;
use std::io::{self, ErrorKind, Read};
use std::path::{Path, PathBuf};

use super::held::{Held, Node};
use crate::lab::is_name;

/// Largest file that is read `[B]`; the kernel's own files are far smaller.
const LARGEST_FILE: u64 = 4 * 1024 * 1024;
/// Most symbolic links followed on one path, as in the kernel.
const MOST_LINKS: usize = 40;
/// Most names taken from one directory.
const MOST_NAMES: usize = 20_000;

/// The root of a host's file tree.
///
/// Symbolic links are followed as if the tree were the whole file system: an absolute one starts again at the root, and
/// `..` stops there, so that a copied tree cannot lead out of itself.
#[derive(Debug, Clone)]
pub struct Root {
    files: Files,
}

/// Where the tree is.
#[derive(Debug, Clone)]
enum Files {
    /// Below a folder of this machine.
    Folder(PathBuf),
    /// In memory.
    Held(Held),
}

/// What stands at a path, links not followed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    File,
    Folder,
    Link,
    /// A pipe, a socket, a device.
    Other,
}

/// Why a file was not read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Missing {
    /// It is not there.
    NotThere,
    /// It may not be read without root.
    NotAllowed,
    /// It is no regular file, or too large.
    NotAFile,
    /// It is no text.
    NotText,
    /// Its links lead nowhere.
    Links,
    /// It is there, but what it says could not be used.
    Unclear(String),
    /// The system said something else.
    Other(String),
}

impl fmt::Display for Missing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Missing::NotThere => f.write_str("it is not there"),
            Missing::NotAllowed => f.write_str("you may not read it"),
            Missing::NotAFile => f.write_str("it is no plain file, or too large"),
            Missing::NotText => f.write_str("it is no text"),
            Missing::Links => f.write_str("its links lead nowhere"),
            Missing::Unclear(said) | Missing::Other(said) => f.write_str(said),
        }
    }
}

impl From<io::Error> for Missing {
    fn from(error: io::Error) -> Missing {
        match error.kind() {
            ErrorKind::NotFound | ErrorKind::NotADirectory => Missing::NotThere,
            ErrorKind::PermissionDenied => Missing::NotAllowed,
            ErrorKind::IsADirectory => Missing::NotAFile,
            _ => Missing::Other(error.to_string()),
        }
    }
}

impl Root {
    /// The tree below `folder`.
    ///
    /// # Errors
    /// Where `folder` is no directory that can be read.
    pub fn new(folder: &Path) -> io::Result<Root> {
        let folder = fs::canonicalize(folder)?;
        fs::read_dir(&folder)?;
        Ok(Root {
            files: Files::Folder(folder),
        })
    }

    /// A tree held in memory.
    ///
    /// # Example
    /// ```
    /// use berthage::survey::{Held, Node, Root};
    /// let mut held = Held::default();
    /// held.put("proc/uptime", Node::File(b"12.5 3.0\n".to_vec()));
    /// held.put("uptime", Node::Link("/proc/uptime".to_owned()));
    /// assert_eq!(Root::held(held).text("uptime").as_deref(), Ok("12.5 3.0"));
    /// ```
    #[must_use]
    pub fn held(tree: Held) -> Root {
        Root {
            files: Files::Held(tree),
        }
    }

    /// Whether this is the running machine's own tree.
    #[must_use]
    pub fn is_running(&self) -> bool {
        matches!(&self.files, Files::Folder(folder) if folder.parent().is_none())
    }

    /// The text of the file at `path` (from the root, without a leading slash), its last line break taken off.
    ///
    /// # Errors
    /// Why it was not read.
    pub fn text(&self, path: &str) -> Result<String, Missing> {
        let place = self.resolve(path)?;
        // Asking first keeps a named pipe in a copied tree from blocking for ever.
        if self.kind(&place)? != Kind::File {
            return Err(Missing::NotAFile);
        }
        let bytes = self.bytes(&place)?;
        if bytes.len() as u64 > LARGEST_FILE {
            return Err(Missing::NotAFile);
        }
        let mut text = String::from_utf8(bytes).map_err(|_| Missing::NotText)?;
        text.truncate(text.trim_end().len());
        Ok(text)
    }

    /// The number that is all there is in a file.
    ///
    /// # Errors
    /// Why there is none.
    pub fn number(&self, path: &str) -> Result<f64, Missing> {
        let text = self.text(path)?;
        match text.trim().parse::<f64>() {
            Ok(number) if number.is_finite() => Ok(number),
            _ => Err(Missing::Unclear(format!(
                "it says {:?}, which is no number",
                text.chars().take(40).collect::<String>()
            ))),
        }
    }

    /// The names in a directory, sorted as people count (`sda2` before `sda10`); none where it cannot be read. Names that
    /// an inventory could not take are none of the kernel's and are left out.
    #[must_use]
    pub fn names(&self, path: &str) -> Vec<String> {
        let Ok(place) = self.resolve(path) else {
            return Vec::new();
        };
        let mut names: Vec<String> = match &self.files {
            Files::Folder(folder) => fs::read_dir(below(folder, &place))
                .into_iter()
                .flatten()
                .take(MOST_NAMES)
                .filter_map(|entry| entry.ok()?.file_name().into_string().ok())
                .collect(),
            Files::Held(held) => match held.at(&place) {
                Some(Node::Folder(nodes)) => nodes.keys().take(MOST_NAMES).cloned().collect(),
                _ => Vec::new(),
            },
        };
        names.retain(|name| is_name(name));
        names.sort_by_cached_key(|name| counted(name));
        names
    }

    /// Whether something is there.
    #[must_use]
    pub fn exists(&self, path: &str) -> bool {
        self.resolve(path)
            .is_ok_and(|place| self.kind(&place).is_ok())
    }

    /// The path with every link followed within the tree.
    fn resolve(&self, path: &str) -> Result<Vec<String>, Missing> {
        let split = |path: &str| -> Vec<String> {
            let steps = path
                .split('/')
                .filter(|step| !step.is_empty() && *step != ".");
            steps.rev().map(str::to_owned).collect()
        };
        let mut ahead = split(path);
        let mut behind: Vec<String> = Vec::new();
        let mut links = 0;
        while let Some(step) = ahead.pop() {
            if step == ".." {
                behind.pop();
                continue;
            }
            behind.push(step);
            if self.kind(&behind)? != Kind::Link {
                continue;
            }
            links += 1;
            let target = self.target(&behind)?;
            if links > MOST_LINKS {
                return Err(Missing::Links);
            }
            behind.pop();
            if target.starts_with('/') {
                behind.clear();
            }
            ahead.append(&mut split(&target));
        }
        Ok(behind)
    }

    fn kind(&self, place: &[String]) -> Result<Kind, Missing> {
        match &self.files {
            Files::Folder(folder) => {
                let kind = fs::symlink_metadata(below(folder, place))?.file_type();
                Ok(match kind {
                    kind if kind.is_symlink() => Kind::Link,
                    kind if kind.is_file() => Kind::File,
                    kind if kind.is_dir() => Kind::Folder,
                    _ => Kind::Other,
                })
            }
            Files::Held(held) => match held.at(place).ok_or(Missing::NotThere)? {
                Node::File(_) => Ok(Kind::File),
                Node::Folder(_) => Ok(Kind::Folder),
                Node::Link(_) => Ok(Kind::Link),
            },
        }
    }

    /// Where a link leads.
    fn target(&self, place: &[String]) -> Result<String, Missing> {
        match &self.files {
            Files::Folder(folder) => fs::read_link(below(folder, place))?
                .into_os_string()
                .into_string()
                .map_err(|_| Missing::Links),
            Files::Held(held) => match held.at(place) {
                Some(Node::Link(target)) => Ok(target.clone()),
                _ => Err(Missing::NotThere),
            },
        }
    }

    /// The bytes of a file, one more than is taken at most.
    fn bytes(&self, place: &[String]) -> Result<Vec<u8>, Missing> {
        match &self.files {
            Files::Folder(folder) => {
                let mut bytes = Vec::new();
                fs::File::open(below(folder, place))?
                    .take(LARGEST_FILE + 1)
                    .read_to_end(&mut bytes)?;
                Ok(bytes)
            }
            Files::Held(held) => match held.at(place) {
                Some(Node::File(bytes)) => Ok(bytes.clone()),
                _ => Err(Missing::NotThere),
            },
        }
    }
}

fn below(folder: &Path, steps: &[String]) -> PathBuf {
    let mut place = folder.to_owned();
    place.extend(steps);
    place
}

/// A name cut into words and numbers, so that numbers are compared as numbers.
fn counted(name: &str) -> Vec<(String, u64)> {
    let mut parts = Vec::new();
    let mut rest = name;
    while !rest.is_empty() {
        let digits = rest
            .find(|letter: char| letter.is_ascii_digit())
            .unwrap_or(rest.len());
        let (word, tail) = rest.split_at(digits);
        let end = tail
            .find(|letter: char| !letter.is_ascii_digit())
            .unwrap_or(tail.len());
        parts.push((word.to_owned(), tail[..end].parse().unwrap_or(u64::MAX)));
        rest = &tail[end..];
    }
    parts
}

#[cfg(test)]
mod tests {
    use std::fs;

    use super::super::held::Held;
    use super::{Missing, Root, counted};

    #[test]
    fn names_are_counted() {
        assert!(counted("sda2") < counted("sda10"));
        assert!(counted("sda") < counted("sdb1"));
    }

    #[cfg(unix)]
    #[test]
    fn links_cannot_lead_out_of_the_tree() {
        use std::os::unix::fs::symlink;
        let outside = tempfile::tempdir().unwrap();
        fs::write(outside.path().join("secret"), "outside").unwrap();
        let tree = outside.path().join("tree");
        fs::create_dir_all(tree.join("sys/a")).unwrap();
        fs::write(tree.join("sys/a/value"), "12\n").unwrap();
        symlink("/sys/a/value", tree.join("absolute")).unwrap();
        symlink("../../../../sys/a", tree.join("sys/up")).unwrap();
        symlink("../secret", tree.join("escape")).unwrap();
        symlink(outside.path().join("secret"), tree.join("sys/out")).unwrap();
        symlink("loop", tree.join("loop")).unwrap();
        let held = Root::held(Held::copy(&tree).unwrap());
        for root in [Root::new(&tree).unwrap(), held] {
            assert_eq!(root.number("absolute"), Ok(12.0));
            assert_eq!(root.number("sys/up/value"), Ok(12.0));
            assert_eq!(root.text("escape"), Err(Missing::NotThere));
            assert_eq!(root.text("sys/out"), Err(Missing::NotThere));
            assert_eq!(root.text("../secret"), Err(Missing::NotThere));
            assert_eq!(root.text("loop"), Err(Missing::Links));
            assert_eq!(root.text("sys/a"), Err(Missing::NotAFile));
            assert_eq!(root.text("sys/a/value/more"), Err(Missing::NotThere));
            assert_eq!(root.names("sys/up"), ["value"]);
            assert_eq!(root.names("sys/a/value"), [""; 0]);
            assert!(root.exists("sys/a") && !root.exists("sys/b"));
            assert!(!root.is_running());
        }
    }
}
