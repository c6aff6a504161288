//! The file tree of a host, its own or a copy; nothing outside it is ever read.

use std::fmt;
use std::fs;
use std::io::{self, ErrorKind, Read, Seek, SeekFrom};
use std::path::{Path, PathBuf};
use std::rc::Rc;

use flate2::read::GzDecoder;

use crate::lab::is_name;

/// Largest file that is read `[B]`; the kernel's own files are far smaller.
const LARGEST_FILE: u64 = 4 * 1024 * 1024;
/// Most symbolic links followed on one path, as in the kernel.
const MOST_LINKS: usize = 40;
/// Most names taken from one directory.
pub const MOST_NAMES: usize = 20_000;

/// The root of a host's file tree.
///
/// Symbolic links are followed as if the tree were the whole file system: an absolute one starts again at the root, and
/// `..` stops there, so that a copied tree cannot lead out of itself.
#[derive(Clone)]
pub struct Root {
    tree: Rc<dyn Tree>,
    is_running: bool,
}

/// A file tree. A place in it is the names that lead to it from the root; links are not followed.
pub trait Tree {
    /// What is at a place.
    ///
    /// # Errors
    /// Where nothing does, or nothing can be known of it.
    fn kind(&self, place: &[String]) -> Result<EntryKind, ReadError>;
    /// At most `most` bytes of a file from byte `from` on.
    ///
    /// # Errors
    /// Why they were not read.
    fn bytes(&self, place: &[String], from: u64, most: u64) -> Result<Vec<u8>, ReadError>;
    /// Names in a folder, in any order, at most `most`; none where it cannot be read.
    fn names(&self, place: &[String], most: usize) -> Vec<String>;
    /// Bytes in use of the file system that is mounted on a folder; none where that cannot be known, as of a copied tree.
    fn in_use(&self, _place: &[String]) -> Option<f64> {
        None
    }
}

/// What is at a place of a tree.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum EntryKind {
    /// A file.
    File,
    /// A folder.
    Folder,
    /// A symbolic link and where it leads.
    Link(String),
    /// A pipe, a socket, a device.
    Other,
}

/// The tree below a folder of this machine.
struct Folder(PathBuf);

impl Folder {
    fn path(&self, place: &[String]) -> PathBuf {
        let mut path = self.0.clone();
        path.extend(place);
        path
    }
}

impl Tree for Folder {
    fn kind(&self, place: &[String]) -> Result<EntryKind, ReadError> {
        let path = self.path(place);
        let kind = fs::symlink_metadata(&path)?.file_type();
        Ok(if kind.is_symlink() {
            let target = fs::read_link(&path)?.into_os_string().into_string();
            EntryKind::Link(target.map_err(|_| ReadError::Links)?)
        } else if kind.is_file() {
            EntryKind::File
        } else if kind.is_dir() {
            EntryKind::Folder
        } else {
            EntryKind::Other
        })
    }

    fn bytes(&self, place: &[String], from: u64, most: u64) -> Result<Vec<u8>, ReadError> {
        let mut bytes = Vec::new();
        let mut file = fs::File::open(self.path(place))?;
        if from > 0 {
            file.seek(SeekFrom::Start(from))?;
        }
        file.take(most).read_to_end(&mut bytes)?;
        Ok(bytes)
    }

    fn names(&self, place: &[String], most: usize) -> Vec<String> {
        let entries = fs::read_dir(self.path(place)).into_iter().flatten();
        entries
            .take(most)
            .filter_map(|entry| entry.ok()?.file_name().into_string().ok())
            .collect()
    }

    #[cfg(unix)]
    fn in_use(&self, place: &[String]) -> Option<f64> {
        // A copy is in a file system of the machine that it was copied to.
        if self.0 != Path::new("/") {
            return None;
        }
        let found = rustix::fs::statvfs(self.path(place)).ok()?;
        Some(found.f_blocks.saturating_sub(found.f_bfree) as f64 * found.f_frsize as f64)
    }
}

/// Why a file was not read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ReadError {
    /// It is not there.
    NotThere,
    /// It is no regular file, or too large.
    NotAFile,
    /// Its links lead nowhere.
    Links,
    /// The caller may not read it.
    NotAllowed,
    /// For another reason: its content cannot be used, an error of the system.
    Other(String),
}

impl fmt::Display for ReadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ReadError::NotThere => f.write_str("it is not there"),
            ReadError::NotAFile => f.write_str("it is no plain file, or too large"),
            ReadError::Links => f.write_str("its links lead nowhere"),
            ReadError::NotAllowed => f.write_str("you may not read it"),
            ReadError::Other(said) => f.write_str(said),
        }
    }
}

impl From<io::Error> for ReadError {
    fn from(error: io::Error) -> ReadError {
        match error.kind() {
            ErrorKind::NotFound | ErrorKind::NotADirectory => ReadError::NotThere,
            ErrorKind::PermissionDenied => ReadError::NotAllowed,
            ErrorKind::IsADirectory => ReadError::NotAFile,
            _ => ReadError::Other(error.to_string()),
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
            is_running: folder.parent().is_none(),
            tree: Rc::new(Folder(folder)),
        })
    }

    /// A tree that is not this machine's own.
    pub fn of(tree: impl Tree + 'static) -> Root {
        Root {
            tree: Rc::new(tree),
            is_running: false,
        }
    }

    /// Whether this is the running machine's own tree.
    pub fn is_running(&self) -> bool {
        self.is_running
    }

    /// The text of the file at `path` (from the root, without a leading slash), unpacked where it is packed, its last line
    /// break taken off.
    ///
    /// # Errors
    /// Why it was not read.
    pub fn text(&self, path: &str) -> Result<String, ReadError> {
        let bytes = unpacked(self.bytes(path, 0, LARGEST_FILE + 1)?)?;
        if bytes.len() as u64 > LARGEST_FILE {
            return Err(ReadError::NotAFile);
        }
        let mut text =
            String::from_utf8(bytes).map_err(|_| ReadError::Other("it is no text".to_owned()))?;
        text.truncate(text.trim_end().len());
        Ok(text)
    }

    fn bytes(&self, path: &str, from: u64, most: u64) -> Result<Vec<u8>, ReadError> {
        let place = self.resolve(path)?;
        // Asking first keeps a named pipe in a copied tree from blocking for ever.
        match self.tree.kind(&place)? {
            EntryKind::File => self.tree.bytes(&place, from, most),
            _ => Err(ReadError::NotAFile),
        }
    }

    /// Numbers of 8 bytes of the file at `path`, `count` of them from a place on; fewer where it ends.
    ///
    /// # Errors
    /// Why they were not read.
    pub fn words(&self, path: &str, first: u64, count: u64) -> Result<Vec<u64>, ReadError> {
        let bytes = self.bytes(path, first.saturating_mul(8), count.saturating_mul(8))?;
        let words = bytes
            .chunks_exact(8)
            .filter_map(|word| word.try_into().ok());
        Ok(words.map(u64::from_le_bytes).collect())
    }

    /// The number that is all there is in a file.
    ///
    /// # Errors
    /// Why there is none.
    pub fn number(&self, path: &str) -> Result<f64, ReadError> {
        let text = self.text(path)?;
        match text.trim().parse::<f64>() {
            Ok(number) if number.is_finite() => Ok(number),
            _ => Err(ReadError::Other(format!(
                "it says {:?}, which is no number",
                text.chars().take(40).collect::<String>()
            ))),
        }
    }

    /// The names in a directory, sorted as people count (`sda2` before `sda10`); none where it cannot be read. Names that
    /// an inventory could not take are none of the kernel's and are left out.
    pub fn names(&self, path: &str) -> Vec<String> {
        let Ok(place) = self.resolve(path) else {
            return Vec::new();
        };
        let mut names = self.tree.names(&place, MOST_NAMES);
        names.retain(|name| is_name(name));
        names.sort_by_cached_key(|name| natural_key(name));
        names
    }

    /// All names in a directory, whatever they are, sorted; none where it cannot be read.
    pub fn entries(&self, path: &str) -> Vec<String> {
        let place = self.resolve(path);
        let names = place.map(|place| self.tree.names(&place, MOST_NAMES));
        let mut names = names.unwrap_or_default();
        names.sort_unstable();
        names
    }

    /// Bytes in use of the file system that is mounted on a folder.
    pub fn in_use(&self, path: &str) -> Option<f64> {
        self.tree.in_use(&self.resolve(path).ok()?)
    }

    /// Where a symbolic link leads, as it says.
    ///
    /// # Errors
    /// Where there is no link, or it may not be read.
    pub fn link(&self, path: &str) -> Result<String, ReadError> {
        let (folder, name) = path.rsplit_once('/').unwrap_or(("", path));
        let mut place = self.resolve(folder)?;
        place.push(name.to_owned());
        match self.tree.kind(&place)? {
            EntryKind::Link(target) => Ok(target),
            _ => Err(ReadError::Links),
        }
    }

    /// Whether something is there.
    pub fn exists(&self, path: &str) -> bool {
        self.resolve(path)
            .is_ok_and(|place| self.tree.kind(&place).is_ok())
    }

    /// The path with every link followed within the tree.
    fn resolve(&self, path: &str) -> Result<Vec<String>, ReadError> {
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
            let EntryKind::Link(target) = self.tree.kind(&behind)? else {
                continue;
            };
            links += 1;
            if links > MOST_LINKS {
                return Err(ReadError::Links);
            }
            behind.pop();
            if target.starts_with('/') {
                behind.clear();
            }
            ahead.append(&mut split(&target));
        }
        Ok(behind)
    }
}

/// What a file holds, unpacked where gzip packed it (RFC 1952); no more than a byte above what is read of any file.
fn unpacked(bytes: Vec<u8>) -> io::Result<Vec<u8>> {
    const GZIP: [u8; 2] = [0x1f, 0x8b];
    if !bytes.starts_with(&GZIP) {
        return Ok(bytes);
    }
    let mut whole = Vec::new();
    let mut reader = GzDecoder::new(bytes.as_slice()).take(LARGEST_FILE + 1);
    reader.read_to_end(&mut whole)?;
    Ok(whole)
}

/// A name cut into words and numbers, so that numbers are compared as numbers.
fn natural_key(name: &str) -> Vec<(String, u64)> {
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
    use super::natural_key;

    #[test]
    fn names_are_counted() {
        assert!(natural_key("sda2") < natural_key("sda10"));
        assert!(natural_key("sda") < natural_key("sdb1"));
    }
}
