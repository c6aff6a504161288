//! What a balloon may take.

use berthage::model::MIB;
use berthage::model::footprint::Age;
use berthage::sizing::host::HostModel;

use crate::support::{PLAIN_HOST, lab};

/// What a balloon takes from an idle guest that holds 1000 MiB, all its own, with these keys.
fn given(keys: &str) -> f64 {
    let text = format!(
        "{PLAIN_HOST}[[guest]]\nname = \"g\"\nmemory = \"1000 MiB\"\ntouched = \"1000 MiB\"\ncommon = \"0 B\"\nrepeats = \"0 B\"\n{keys}"
    );
    let lab = lab(&text);
    let model = HostModel::new(&lab, &lab.hosts[0]);
    model.footprints(Age::LivedIn)[0].give / MIB
}

#[test]
fn a_balloon_leaves_the_larger_of_floor_and_working_set() {
    assert_eq!(given(""), 0.0);
    assert_eq!(given("balloon_floor = \"400 MiB\"\n"), 600.0);
    assert_eq!(given("working_set = \"700 MiB\"\n"), 300.0);
    assert_eq!(
        given("balloon_floor = \"400 MiB\"\nworking_set = \"700 MiB\"\n"),
        300.0
    );
}
