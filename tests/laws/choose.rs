//! Choosing: a host holds a need where `fit` holds as many, filters and ranks do what they say, old against new adds up.

use berthage::lab::{Host, Lab};
use berthage::purchase::choose::criteria::{Criteria, Sort};
use berthage::purchase::choose::replace::replacing;
use berthage::purchase::choose::{ChoiceAnswer, choose};
use berthage::sizing::fit::fit;
use proptest::prelude::{prop_assert, prop_assert_eq, proptest};
use proptest::test_runner::Config;

use crate::support::lab;

const NODES: &str = include_str!("../../examples/three-nodes.toml");

fn criteria(need: Option<Vec<u64>>) -> Criteria {
    Criteria {
        need,
        budget: None,
        max_watts: None,
        sort: Sort::Cost,
    }
}

fn ranked(lab: &Lab, criteria: &Criteria) -> ChoiceAnswer {
    let hosts: Vec<&Host> = lab.hosts.iter().collect();
    choose(lab, &hosts, None, criteria)
}

/// A catalogue of a few hosts and one scaling guest.
fn catalogue(hosts: &[(u32, u32, u32, u32)]) -> Lab {
    let hosts = hosts
        .iter()
        .enumerate()
        .map(|(i, (gib, cores, price, watts))| {
            format!(
                "[[host]]\nname = \"h{i}\"\nprice = {price}\ncpu.groups = [{{ cores = {cores} }}]\n\
             memory.modules = [\"{gib} GiB\"]\npower.idle = \"{watts} W\"\npower.busy = \"{} W\"\n",
                3 * watts
            )
        });
    let guest = "[[guest]]\nname = \"web\"\nmemory = \"1 GiB\"\nbusy = \"10 %\"\n";
    lab(&format!(
        "lab.tariff = 0.3\nlab.years = 4\n{}{guest}",
        hosts.collect::<String>()
    ))
}

proptest! {
    #![proptest_config(Config { cases: 40, ..Config::default() })]

    #[test]
    fn a_need_is_held_where_as_many_fit(
        hosts in proptest::collection::vec((6u32..40, 1u32..12, 100u32..900, 5u32..60), 1..5),
        need in 1u64..60,
    ) {
        let lab = catalogue(&hosts);
        let choice = ranked(&lab, &criteria(Some(vec![need])));
        for host in &lab.hosts {
            let fits = fit(&lab, &[host]).hosts[0].fits.unwrap_or(0);
            let row = choice.ranking.iter().find(|row| row.name == host.name).expect("ranked");
            prop_assert_eq!(row.holds, need <= fits, "{} of {}", need, fits);
        }
        let cheapest = choice.ranking.iter().filter(|row| row.holds).map(|row| row.total.expect("known"));
        let least = cheapest.fold(f64::INFINITY, f64::min);
        match &choice.cheapest {
            Some(name) => {
                let row = choice.ranking.iter().find(|row| row.name == *name).expect("ranked");
                prop_assert_eq!(row.total, Some(least));
                prop_assert_eq!(&choice.ranking[0].name, name);
            }
            None => prop_assert_eq!(choice.holding, 0),
        }
        // Without a need the count is that of `fit`.
        let plain = ranked(&lab, &criteria(None));
        for row in &plain.ranking {
            let host = lab.hosts.iter().find(|host| host.name == row.name).expect("there");
            prop_assert_eq!(row.guests, fit(&lab, &[host]).hosts[0].fits.unwrap_or(0));
        }
    }

    #[test]
    fn filters_leave_out_what_they_say(
        hosts in proptest::collection::vec((6u32..40, 1u32..12, 100u32..900, 5u32..60), 1..6),
        budget in 100u32..900,
        watts in 10u32..150,
    ) {
        let lab = catalogue(&hosts);
        let choice = ranked(&lab, &Criteria {
            budget: Some(f64::from(budget)),
            max_watts: Some(f64::from(watts)),
            sort: Sort::Watts,
            ..criteria(Some(vec![3]))
        });
        prop_assert!(choice.ranking.iter().all(|row| row.price <= Some(f64::from(budget)) && row.watts <= Some(f64::from(watts))));
        prop_assert_eq!(choice.ranking.len() + choice.over_budget + choice.over_watts, lab.hosts.len());
        let holding: Vec<_> = choice.ranking.iter().filter(|row| row.holds).collect();
        prop_assert!(holding.windows(2).all(|pair| pair[0].watts <= pair[1].watts));
    }
}

#[test]
fn the_dearer_host_pays_back_in_the_years_of_the_check_value_or_never() {
    // 200 more, 15 W less (idle = busy), 0.30 per kWh: 5.0736 years; the other way round never.
    let text = r#"
lab.tariff = 0.30
[[host]]
name = "cheap"
price = 300
cpu.groups = [{ cores = 8 }]
memory.modules = ["16 GiB"]
power = { idle = "40 W", busy = "40 W" }
[[host]]
name = "frugal"
price = 500
cpu.groups = [{ cores = 8 }]
memory.modules = ["16 GiB"]
power = { idle = "25 W", busy = "25 W" }
[[host]]
name = "neither"
price = 600
cpu.groups = [{ cores = 8 }]
memory.modules = ["16 GiB"]
power = { idle = "41 W", busy = "41 W" }
[[guest]]
name = "web"
memory = "1 GiB"
"#;
    let choice = ranked(&lab(text), &criteria(Some(vec![4])));
    let years = |name: &str| {
        let pair = choice
            .break_even
            .iter()
            .find(|pair| pair.dearer == name)
            .expect("a pair");
        pair.years
    };
    assert!((years("frugal").expect("it saves") - 5.0736).abs() < 5e-5);
    assert_eq!(years("neither"), None);
}

#[test]
fn old_against_new_adds_up() {
    let lab = lab(NODES);
    let old = lab
        .hosts
        .iter()
        .find(|host| host.name == "rack")
        .expect("there");
    let others: Vec<&Host> = lab
        .hosts
        .iter()
        .filter(|host| host.name != "rack")
        .collect();
    let need = vec![24, 3, 1];
    let found = replacing(&lab, old, &others, &criteria(Some(need.clone())));
    assert!(found.holds && !found.by.is_empty());
    for one in &found.by {
        let (old_watts, new_watts) = (found.watts.expect("known"), one.watts.expect("known"));
        let saved = (old_watts - new_watts) * 8.76 * 0.30;
        assert!((one.saved_per_year.expect("known") - saved).abs() < 1e-9);
        let years = one.price.expect("known") / saved;
        assert!((one.years.expect("it saves") - years).abs() < 1e-9);
        // Twice or more because one alone does not hold them.
        assert!(one.hosts >= 2);
    }
    // A budget and most watts are of all of them together.
    let cheapest = found.by.iter().filter_map(|one| one.price);
    let budget = cheapest.fold(f64::INFINITY, f64::min);
    let limited = |budget, max_watts| {
        let criteria = Criteria {
            budget,
            max_watts,
            ..criteria(Some(need.clone()))
        };
        replacing(&lab, old, &others, &criteria).by
    };
    let within = limited(Some(budget), None);
    assert!(!within.is_empty() && within.len() < found.by.len());
    assert!(within.iter().all(|one| one.price == Some(budget)));
    assert!(limited(Some(budget - 1.0), None).is_empty());
    assert!(limited(None, Some(1.0)).is_empty());
}
