//! Trees with damaged files: never a panic, and a table that calls itself complete is a valid inventory.
//!
//! `PROPTEST_CASES=1000000 cargo test --release damaged` runs a million of each.

use std::fs;
use std::path::{Path, PathBuf};

use berthage::inventory::load_text;
use berthage::survey::reading::{Settled, Snapshot};
use berthage::survey::{Known, Root, survey};
use proptest::test_runner::TestRunner;

use super::tables::{GUEST, tree};
use crate::support::{Damage, cases, damage};

/// All files below a folder.
fn files(folder: &Path, found: &mut Vec<PathBuf>) {
    let mut entries: Vec<PathBuf> = fs::read_dir(folder)
        .expect("a folder")
        .map(|entry| entry.expect("an entry").path())
        .collect();
    entries.sort();
    for path in entries {
        if path.is_dir() {
            files(&path, found)
        } else {
            found.push(path)
        }
    }
}

#[test]
fn damaged_trees() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut copies = Vec::new();
    for name in ["plain", "hybrid", "mirror", "odd"] {
        let mut found = Vec::new();
        files(&tree(name), &mut found);
        for file in found {
            let copy = folder
                .path()
                .join(name)
                .join(file.strip_prefix(tree(name)).expect("below"));
            fs::create_dir_all(copy.parent().expect("a folder")).expect("a folder");
            fs::copy(&file, &copy).expect("a copy");
            copies.push((folder.path().join(name), copy));
        }
    }
    let mut runner = TestRunner::new(cases(256));
    let strategy = (0..copies.len(), proptest::collection::vec(damage(), 1..4));
    runner
        .run(&strategy, |(index, damages): (usize, Vec<Damage>)| {
            let (root, file) = &copies[index];
            let whole = fs::read(file).expect("a file");
            fs::write(
                file,
                damages
                    .iter()
                    .fold(whole.clone(), |bytes, damage| damage.done(bytes)),
            )
            .expect("a file");
            let root = Root::new(root).expect("a tree");
            let table = survey(
                &root,
                &Known {
                    name: None,
                    guests: Some(0),
                },
            );
            let snapshot = Snapshot::take(&root, 0.0);
            let line = snapshot.line(Some(&snapshot), 1, Settled::Unknown);
            fs::write(file, whole).expect("a file");
            assert_eq!(
                line.split(',').count(),
                snapshot.header().split(',').count()
            );
            if table.missing().is_empty() {
                let text = format!("{}{GUEST}", table.text());
                load_text("damaged.toml", &text, &[])
                    .unwrap_or_else(|errors| panic!("{}\n{text}", errors.render(false, 120)));
            }
            Ok(())
        })
        .unwrap();
}
