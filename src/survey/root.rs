//! The file tree of a host, its own or a copy; nothing outside it is ever read.

use std::fmt;
use std::fs;
use std::io::{self, ErrorKind, Read};
use std::path::{Path, PathBuf};

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
    folder: PathBuf,
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
        Ok(Root { folder })
    }

    /// Whether this is the running machine's own tree.
    #[must_use]
    pub fn is_running(&self) -> bool {
        self.folder.parent().is_none()
    }

    /// The text of the file at `path` (from the root, without a leading slash), its last line break taken off.
    ///
    /// # Errors
    /// Why it was not read.
    pub fn text(&self, path: &str) -> Result<String, Missing> {
        let place = self.resolve(path)?;
        // Asking first keeps a named pipe in a copied tree from blocking for ever.
        if !fs::metadata(&place)?.is_file() {
            return Err(Missing::NotAFile);
        }
        let mut bytes = Vec::new();
        fs::File::open(&place)?
            .take(LARGEST_FILE + 1)
            .read_to_end(&mut bytes)?;
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

    /// The names in a directory, sorted as people count (`sda2` before `sda10`); none where it cannot be read.
    #[must_use]
    pub fn names(&self, path: &str) -> Vec<String> {
        let Ok(entries) = self
            .resolve(path)
            .and_then(|place| Ok(fs::read_dir(place)?))
        else {
            return Vec::new();
        };
        let mut names: Vec<String> = entries
            .take(MOST_NAMES)
            .filter_map(|entry| entry.ok()?.file_name().into_string().ok())
            .collect();
        names.sort_by_cached_key(|name| counted(name));
        names
    }

    /// Whether something is there.
    #[must_use]
    pub fn exists(&self, path: &str) -> bool {
        self.resolve(path)
            .is_ok_and(|place| fs::symlink_metadata(place).is_ok())
    }

    /// The path with every link followed within the tree.
    fn resolve(&self, path: &str) -> Result<PathBuf, Missing> {
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
            let place = self.place(&behind);
            if !fs::symlink_metadata(&place)?.is_symlink() {
                continue;
            }
            links += 1;
            let target = fs::read_link(&place)?;
            let target = target.to_str().filter(|_| links <= MOST_LINKS);
            let target = target.ok_or(Missing::Links)?;
            behind.pop();
            if target.starts_with('/') {
                behind.clear();
            }
            ahead.append(&mut split(target));
        }
        Ok(self.place(&behind))
    }

    fn place(&self, steps: &[String]) -> PathBuf {
        let mut place = self.folder.clone();
        place.extend(steps);
        place
    }
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
        let root = Root::new(&tree).unwrap();
        assert_eq!(root.number("absolute"), Ok(12.0));
        assert_eq!(root.number("sys/up/value"), Ok(12.0));
        assert_eq!(root.text("escape"), Err(Missing::NotThere));
        assert_eq!(root.text("sys/out"), Err(Missing::NotThere));
        assert_eq!(root.text("../secret"), Err(Missing::NotThere));
        assert_eq!(root.text("loop"), Err(Missing::Links));
        assert_eq!(root.text("sys/a"), Err(Missing::NotAFile));
        assert_eq!(root.names("sys/up"), ["value"]);
        assert!(!root.is_running());
    }
}
