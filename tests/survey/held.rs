//! A file tree held in memory: read once, changed at will, never on a disk.

use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::Path;

use berthage::survey::{EntryKind, ReadError, Root, Tree};

/// Something in a tree.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Node {
    /// A file and what it says.
    File(Vec<u8>),
    /// A folder and what is in it.
    Folder(BTreeMap<String, Node>),
    /// A symbolic link and where it leads.
    Link(String),
    /// A file or folder that may not be read.
    Denied,
}

/// A file tree in memory, empty at first.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Held {
    root: Node,
}

impl Default for Held {
    fn default() -> Held {
        Held {
            root: Node::Folder(BTreeMap::new()),
        }
    }
}

impl Held {
    /// A copy of the tree below `folder`; names that are no UTF-8, pipes, sockets and devices are left out.
    ///
    /// # Errors
    /// Where something in it cannot be read.
    pub fn copy(folder: &Path) -> io::Result<Held> {
        let mut held = Held::default();
        held.take(folder, "")?;
        Ok(held)
    }

    fn take(&mut self, folder: &Path, above: &str) -> io::Result<()> {
        for entry in fs::read_dir(folder)? {
            let entry = entry?;
            let Ok(name) = entry.file_name().into_string() else {
                continue;
            };
            let path = format!("{above}{name}");
            let kind = entry.file_type()?;
            if kind.is_dir() {
                self.put(&path, Node::Folder(BTreeMap::new()));
                self.take(&entry.path(), &format!("{path}/"))?;
            } else if kind.is_file() {
                self.put(&path, Node::File(fs::read(entry.path())?));
            } else if kind.is_symlink()
                && let Ok(target) = fs::read_link(entry.path())?.into_os_string().into_string()
            {
                self.put(&path, Node::Link(target));
            }
        }
        Ok(())
    }

    /// Puts something at a path (from the root, without a leading slash), with the folders that lead to it; what stood
    /// in the way is gone.
    pub fn put(&mut self, path: &str, node: Node) {
        let mut place = &mut self.root;
        for step in path.split('/').filter(|step| !step.is_empty()) {
            if !matches!(place, Node::Folder(_)) {
                *place = Node::Folder(BTreeMap::new());
            }
            let Node::Folder(nodes) = place else { return };
            place = nodes
                .entry(step.to_owned())
                .or_insert_with(|| Node::Folder(BTreeMap::new()));
        }
        *place = node;
    }

    /// Takes away what stands at a path, if anything does.
    pub fn remove(&mut self, path: &str) {
        let (folder, name) = path.rsplit_once('/').unwrap_or(("", path));
        let mut place = &mut self.root;
        for step in folder.split('/').filter(|step| !step.is_empty()) {
            let Node::Folder(nodes) = place else { return };
            let Some(next) = nodes.get_mut(step) else {
                return;
            };
            place = next;
        }
        if let Node::Folder(nodes) = place {
            nodes.remove(name);
        }
    }

    /// The paths of all files and links.
    #[must_use]
    pub fn paths(&self) -> Vec<String> {
        let mut found = Vec::new();
        collect(&self.root, "", &mut found);
        found
    }

    /// What stands at the end of these steps, links not followed.
    #[must_use]
    pub fn at(&self, steps: &[String]) -> Option<&Node> {
        steps.iter().try_fold(&self.root, |node, step| match node {
            Node::Folder(nodes) => nodes.get(step),
            _ => None,
        })
    }
}

impl Tree for Held {
    fn kind(&self, place: &[String]) -> Result<EntryKind, ReadError> {
        let is_below_denied =
            (0..place.len()).any(|end| self.at(&place[..end]) == Some(&Node::Denied));
        if is_below_denied {
            return Err(ReadError::NotAllowed);
        }
        Ok(match self.at(place).ok_or(ReadError::NotThere)? {
            Node::File(_) => EntryKind::File,
            Node::Folder(_) => EntryKind::Folder,
            Node::Link(target) => EntryKind::Link(target.clone()),
            Node::Denied => EntryKind::File,
        })
    }

    fn bytes(&self, place: &[String], from: u64, most: u64) -> Result<Vec<u8>, ReadError> {
        let bytes = match self.at(place) {
            Some(Node::File(bytes)) => bytes,
            Some(Node::Denied) => return Err(ReadError::NotAllowed),
            _ => return Err(ReadError::NotThere),
        };
        let bytes = bytes.iter().copied().skip(from as usize);
        Ok(bytes.take(most as usize).collect())
    }

    fn names(&self, place: &[String], most: usize) -> Vec<String> {
        match self.at(place) {
            Some(Node::Folder(nodes)) => nodes.keys().take(most).cloned().collect(),
            _ => Vec::new(),
        }
    }
}

fn collect(node: &Node, path: &str, found: &mut Vec<String>) {
    match node {
        Node::Folder(nodes) => {
            for (name, node) in nodes {
                let path = if path.is_empty() {
                    name.clone()
                } else {
                    format!("{path}/{name}")
                };
                collect(node, &path, found);
            }
        }
        _ => found.push(path.to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::{Held, Node};

    #[test]
    fn what_is_put_is_there_and_what_is_removed_is_not() {
        let mut held = Held::default();
        held.put("sys/a", Node::File(b"1".to_vec()));
        held.put("sys/a/b", Node::Link("../c".to_owned()));
        held.put("proc/x", Node::File(Vec::new()));
        assert_eq!(held.paths(), ["proc/x", "sys/a/b"]);
        held.remove("sys/a/b");
        held.remove("proc/x/y");
        held.remove("none/at/all");
        assert_eq!(held.paths(), ["proc/x"]);
        let steps = ["sys", "a"].map(str::to_owned);
        assert!(matches!(held.at(&steps), Some(Node::Folder(nodes)) if nodes.is_empty()));
    }
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
    let held = Root::of(Held::copy(&tree).unwrap());
    for root in [Root::new(&tree).unwrap(), held] {
        assert_eq!(root.number("absolute"), Ok(12.0));
        assert_eq!(root.number("sys/up/value"), Ok(12.0));
        assert_eq!(root.text("escape"), Err(ReadError::NotThere));
        assert_eq!(root.text("sys/out"), Err(ReadError::NotThere));
        assert_eq!(root.text("../secret"), Err(ReadError::NotThere));
        assert_eq!(root.text("loop"), Err(ReadError::Links));
        assert_eq!(root.text("sys/a"), Err(ReadError::NotAFile));
        assert_eq!(root.text("sys/a/value/more"), Err(ReadError::NotThere));
        assert_eq!(root.names("sys/up"), ["value"]);
        assert_eq!(root.names("sys/a/value"), [""; 0]);
        assert!(root.exists("sys/a") && !root.exists("sys/b"));
        assert!(!root.is_running());
    }
}
