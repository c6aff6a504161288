//! Trees with damaged, missing and misplaced files: never a panic, and a table that calls itself complete is a valid
//! inventory. The trees are held in memory, so that a million of them take minutes.
//!
//! `PROPTEST_CASES=1000000 cargo test --release damaged` runs a million of each.

use berthage::inventory::load_text;
use berthage::survey::reading::{Settled, Snapshot};
use berthage::survey::{Known, Root, survey};
use proptest::strategy::Strategy;
use proptest::test_runner::TestRunner;

use super::held::{Held, Node};
use super::tables::{GUEST, tree};
use crate::support::{Damage, cases, damage};

/// Something done to a tree.
#[derive(Debug, Clone)]
enum Harm {
    /// What a file says is damaged.
    Damaged(Vec<Damage>),
    /// A file is not there.
    Gone,
    /// A folder stands where a file should.
    Folder,
    /// A file says what another one should.
    Swapped(f64),
    /// A link leads to another path of the tree, to itself or out of it.
    Link(f64),
    /// A file stands where its folder should.
    Flat,
    /// A file stands in a folder of another name.
    Renamed(f64, &'static str),
}

/// Names that a copied tree may hold, and some that none should.
const NAMES: [&str; 10] = [
    "sdz",
    "nvme9n1",
    "md127",
    "zram1",
    "cpu4096",
    "memory99",
    " ",
    "a\u{feff}",
    "a\nb",
    "ünï",
];

fn harm() -> impl Strategy<Value = Harm> {
    proptest::prop_oneof![
        8 => proptest::collection::vec(damage(), 1..4).prop_map(Harm::Damaged),
        1 => proptest::strategy::Just(Harm::Gone),
        1 => proptest::strategy::Just(Harm::Folder),
        1 => (0.0..1.0).prop_map(Harm::Swapped),
        1 => (0.0..1.0).prop_map(Harm::Link),
        1 => proptest::strategy::Just(Harm::Flat),
        1 => ((0.0..1.0), proptest::sample::select(NAMES.to_vec()))
            .prop_map(|(step, name)| Harm::Renamed(step, name)),
    ]
}

impl Harm {
    /// Does it to the file at `path`; `paths` are those of the whole tree.
    fn done(&self, held: &mut Held, path: &str, paths: &[String]) {
        let other = |share: f64| &paths[(share * paths.len() as f64) as usize];
        let bytes = |held: &Held, path: &str| {
            let steps: Vec<String> = path.split('/').map(str::to_owned).collect();
            match held.at(&steps) {
                Some(Node::File(bytes)) => bytes.clone(),
                _ => Vec::new(),
            }
        };
        let node = match self {
            Harm::Damaged(damages) => Node::File(
                damages
                    .iter()
                    .fold(bytes(held, path), |bytes, damage| damage.done(bytes)),
            ),
            Harm::Gone => return held.remove(path),
            Harm::Folder => Node::Folder(Default::default()),
            Harm::Swapped(share) => Node::File(bytes(held, other(*share))),
            Harm::Link(share) if *share < 0.1 => Node::Link("../../../../../..".to_owned()),
            Harm::Link(share) => Node::Link(format!("/{}", other(*share))),
            Harm::Flat => {
                let folder = path.rsplit_once('/').map_or(path, |(folder, _)| folder);
                return held.put(folder, Node::File(b"1\n".to_vec()));
            }
            Harm::Renamed(share, name) => {
                let mut steps: Vec<&str> = path.split('/').collect();
                let step = (share * steps.len() as f64) as usize;
                steps[step] = name;
                return held.put(&steps.join("/"), Node::File(bytes(held, path)));
            }
        };
        held.put(path, node);
    }
}

#[test]
fn damaged_trees() {
    let trees = ["plain", "hybrid", "mirror", "odd"].map(|name| {
        let held = Held::copy(&tree(name)).expect("a tree");
        let paths = held.paths();
        (held, paths)
    });
    let mut runner = TestRunner::new(cases(256));
    let strategy = (
        0..trees.len(),
        proptest::collection::vec(((0.0..1.0), harm()), 1..6),
    );
    runner
        .run(&strategy, |(index, harms): (usize, Vec<(f64, Harm)>)| {
            let (held, paths) = &trees[index];
            let mut held = held.clone();
            for (share, harm) in &harms {
                let path = &paths[(share * paths.len() as f64) as usize];
                harm.done(&mut held, path, paths);
            }
            let root = Root::of(held);
            let table = survey(
                &root,
                &Known {
                    name: None,
                    guests: Some(0),
                },
            );
            let snapshot = Snapshot::take(&root, 0.0);
            let line = snapshot.line(Some(&snapshot), 1, Settled::Unknown);
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

#[test]
fn a_tree_in_memory_says_what_the_same_tree_on_a_disk_says() {
    for name in ["plain", "hybrid", "mirror", "odd"] {
        let folder = tree(name);
        let [disk, memory] = [
            Root::new(&folder).expect("a tree"),
            Root::of(Held::copy(&folder).expect("a tree")),
        ]
        .map(|root| {
            let line = Snapshot::take(&root, 0.0).line(None, 1, Settled::Unknown);
            (survey(&root, &Known::default()).text(), line)
        });
        assert_eq!(disk, memory);
    }
}
