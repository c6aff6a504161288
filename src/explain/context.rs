//! What every section is written from: the model, the guests that run, the answer, and where inputs come from.

use std::collections::BTreeSet;

use super::Input;
use crate::lab::key_path;
use crate::lab::{Guest, Origin, Source};
use crate::model::number::{Measure, Owner, Read};
use crate::model::tape::{Tape, Term};
use crate::sizing::answer::HostAnswer;
use crate::sizing::host::HostModel;
use crate::sizing::storage::PoolIndex;
use crate::unit::format::exact;

/// What every section is written from.
pub(super) struct Context<'a> {
    /// The laws with the numbers of the lab, for searches and chances.
    pub(super) model: &'a HostModel<'a>,
    /// The same laws, which remember how their results came about.
    pub(super) worked: &'a HostModel<'a, Recorder<'a>>,
    pub(super) tape: &'a Tape,
    pub(super) counts: &'a [u64],
    pub(super) n: u64,
    /// The answer at `n`: the values that are explained.
    pub(super) answer: &'a HostAnswer,
}

/// Reads the values of a lab onto a tape.
#[derive(Debug)]
pub(super) struct Recorder<'t> {
    tape: &'t Tape,
    host: String,
}

impl<'t> Recorder<'t> {
    /// For one host of the lab.
    pub(super) fn new(tape: &'t Tape, host: &str) -> Recorder<'t> {
        Recorder {
            tape,
            host: host.to_owned(),
        }
    }
}

impl<'t> Read for Recorder<'t> {
    type Number = Term<'t>;

    fn key(&self, owner: Owner, key: &str, value: f64, measure: Measure) -> Term<'t> {
        let table = match owner {
            Owner::Lab => "lab".to_owned(),
            Owner::Policy => "policy".to_owned(),
            Owner::Host => key_path(&["host", &self.host]),
            Owner::Pool(name) => key_path(&["host", &self.host, "disk", name]),
            Owner::Image(name) => key_path(&["image", name]),
            Owner::Guest(name) => key_path(&["guest", name]),
        };
        self.tape.key(format!("{table}.{key}"), value, measure)
    }
}

impl<'a> Context<'a> {
    /// Profiles of which at least one runs: its place, its number, the profile.
    pub(super) fn running(&self) -> impl Iterator<Item = (usize, u64, &'a Guest)> {
        let rows = self.model.lab.guests.iter().zip(self.counts);
        let rows = rows
            .enumerate()
            .map(|(place, (guest, n))| (place, *n, guest));
        rows.filter(|(_, n, _)| *n > 0)
    }

    /// How many guests run, profile by profile.
    pub(super) fn all_counts(&self) -> impl Iterator<Item = u64> {
        self.running().map(|(_, n, _)| n)
    }

    /// Inputs by key path, each once; a path that holds others (core groups) gives all of them, and a key that was
    /// never read because it does not apply is left out.
    pub(super) fn inputs(&self, keys: &[String]) -> Vec<Input> {
        let origins = &self.model.lab.origins;
        let mut seen = BTreeSet::new();
        let mut inputs = Vec::new();
        for key in keys {
            let below = format!("{key}.");
            let inner = origins
                .range(below.clone()..)
                .take_while(|(path, _)| path.starts_with(&below));
            for (path, origin) in origins.get_key_value(key).into_iter().chain(inner) {
                if seen.insert(path.clone()) {
                    inputs.push(Input {
                        key: path.clone(),
                        value: self.value_text(path, origin),
                        origin: origin.words(),
                    });
                }
            }
        }
        inputs
    }

    /// The value of a key; where its default is a rule, what the rule comes to here.
    fn value_text(&self, path: &str, origin: &Origin) -> String {
        let ruled = match origin.source {
            Source::Default(_) => self.ruled(path),
            Source::File { .. } | Source::CommandLine => None,
        };
        match ruled {
            Some(value) => format!("{value} by the rule: {}", origin.text),
            None => origin.text.clone(),
        }
    }

    /// The values of keys whose default is told as a rule: it depends on other keys, or on the host.
    fn ruled(&self, path: &str) -> Option<String> {
        let host = self.model.host;
        let of_host = [
            ("merging.sleep", exact::seconds(self.model.scanner.sleep)),
            (
                "memory.file_cache_floor",
                exact::bytes(host.memory.file_cache_floor),
            ),
        ];
        let own = key_path(&["host", &host.name]);
        let mut of_host = of_host.into_iter();
        let found = of_host.find(|(key, _)| path == format!("{own}.{key}"));
        found.map(|(_, value)| value).or_else(|| {
            let key = path.rsplit('.').next()?;
            let mut guests = self.model.lab.guests.iter();
            let guest = guests.find(|guest| path == key_path(&["guest", &guest.name, key]))?;
            match key {
                "overhead" => Some(exact::bytes(guest.overhead)),
                "disk_size" => Some(exact::bytes(guest.disk_size)),
                "reads_busy" => Some(exact::number(guest.reads_busy)),
                "writes_busy" => Some(exact::number(guest.writes_busy)),
                "net_busy" => Some(exact::bit_rate(guest.net_busy)),
                _ => None,
            }
        })
    }

    /// Key paths of this host.
    pub(super) fn host(&self, keys: &[&str]) -> Vec<String> {
        let own = key_path(&["host", &self.model.host.name]);
        keys.iter().map(|key| format!("{own}.{key}")).collect()
    }

    /// Key paths of one of this host's pools.
    pub(super) fn pool(&self, pool: PoolIndex, keys: &[&str]) -> Vec<String> {
        let name = &self.model.host.disks[pool].name;
        let own = key_path(&["host", &self.model.host.name, "disk", name]);
        keys.iter().map(|key| format!("{own}.{key}")).collect()
    }

    /// Key paths of a guest profile.
    pub(super) fn guest(&self, name: &str, keys: &[&str]) -> Vec<String> {
        keys.iter()
            .map(|key| key_path(&["guest", name, key]))
            .collect()
    }

    /// Key paths of every guest profile that runs.
    pub(super) fn every_guest(&self, keys: &[&str]) -> Vec<String> {
        self.running()
            .flat_map(|(_, _, guest)| self.guest(&guest.name, keys))
            .collect()
    }

    /// Key paths of every guest profile that runs on a pool.
    pub(super) fn guests_on(&self, pool: PoolIndex, keys: &[&str]) -> Vec<String> {
        self.running()
            .filter(|(_, _, guest)| self.model.pool_of(guest) == pool)
            .flat_map(|(_, _, guest)| self.guest(&guest.name, keys))
            .collect()
    }

    /// Key paths of the policy.
    pub(super) fn policy(&self, keys: &[&str]) -> Vec<String> {
        keys.iter().map(|key| format!("policy.{key}")).collect()
    }
}
