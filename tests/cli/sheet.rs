//! The sheet of `fit` says in words what JSON says: what binds, guests, guesses, what was not considered, and the unit.

use super::formats::{agrees, sheet};
use crate::support::{json, run};

const LABS: [&str; 3] = [
    "examples/shelf.toml",
    "examples/two-boxes.toml",
    "examples/classroom.toml",
];

#[test]
fn csv_holds_the_words_of_json() {
    for lab in LABS {
        let answer = json(&["fit", lab]);
        let sheet = sheet(&run(&["fit", lab, "--format", "csv"]).stdout);
        for host in answer["hosts"].as_array().unwrap() {
            let cell = |section: &str, item: &str, quantity: &str| {
                let name = host["name"].as_str().unwrap();
                let key = [name, section, item, quantity].map(str::to_owned);
                sheet
                    .get(&key)
                    .unwrap_or_else(|| panic!("{lab}: no row {key:?}"))
                    .clone()
            };
            let words = |key: &str| -> Vec<&str> {
                let list = host[key].as_array().unwrap();
                list.iter().map(|word| word.as_str().unwrap()).collect()
            };
            let binds = cell("answer", "", "binds");
            assert_eq!(
                binds.split_whitespace().collect::<Vec<_>>(),
                words("binds"),
                "{lab}"
            );
            assert!(
                agrees(&cell("answer", "", "guests"), &host["guests"]),
                "{lab}"
            );
            for guess in host["guesses"].as_array().unwrap() {
                let key = guess["key"].as_str().unwrap();
                assert!(
                    agrees(&cell("guess", key, "value"), &guess["value"]),
                    "{lab} {key}"
                );
            }
            for name in words("not_considered") {
                cell("not_considered", name, "");
            }
            let count_of = |section: &str| {
                let name = host["name"].as_str().unwrap();
                sheet
                    .keys()
                    .filter(|key| key[0] == name && key[1] == section)
                    .count()
            };
            assert_eq!(
                count_of("guess"),
                host["guesses"].as_array().unwrap().len(),
                "{lab}"
            );
            assert_eq!(
                count_of("not_considered"),
                words("not_considered").len(),
                "{lab}"
            );
        }
    }
}

#[test]
fn csv_counts_in_the_unit_of_json() {
    for (lab, unit) in [
        ("examples/shelf.toml", "guests"),
        ("examples/classroom.toml", "sets"),
    ] {
        let answer = json(&["fit", lab]);
        assert_eq!(answer["hosts"][0]["unit"], unit);
        let text = run(&["fit", lab, "--format", "csv"]).stdout;
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
        let fits: Vec<&csv::StringRecord> = rows.iter().filter(|row| &row[3] == "fits").collect();
        assert!(fits.len() > 1);
        assert!(fits.iter().all(|row| &row[5] == unit), "{lab}");
    }
}
