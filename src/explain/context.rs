//! What every section is written from: the model, the guests that run, the answer, and where inputs come from.

use std::collections::BTreeSet;

use super::answer::Input;
use crate::lab::{Guest, Origin, Source, key_of, key_path};
use crate::model::number::{Measure, Owner, Read};
use crate::model::tape::{Tape, Term};
use crate::sizing::answer::HostAnswer;
use crate::sizing::host::HostModel;
use crate::sizing::resource::Resource;
use crate::sizing::storage::PoolIndex;
use crate::unit::format::exact;

/// What every section is written from.
#[derive(Clone, Copy)]
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
    /// What its next steps are about.
    pub(super) subject: Subject<'a>,
}

/// Reads the values of a lab and one of its hosts onto a tape.
#[derive(Debug, Clone, Copy)]
pub(super) struct Recorder<'t> {
    pub(super) tape: &'t Tape,
    pub(super) host: &'t str,
}

impl<'t> Read for Recorder<'t> {
    type Number = Term<'t>;

    fn key(&self, owner: Owner, key: &str, value: f64, measure: Measure) -> Term<'t> {
        let table = match owner {
            Owner::Lab => "lab".to_owned(),
            Owner::Policy => "policy".to_owned(),
            Owner::Host => key_path(&["host", self.host]),
            Owner::Pool(name) => key_path(&["host", self.host, "disk", name]),
            Owner::Image(name) => key_path(&["image", name]),
            Owner::Guest(name) => key_path(&["guest", name]),
        };
        self.tape.key(format!("{table}.{key}"), value, measure)
    }
}

/// What a number belongs to.
#[derive(Clone, Copy)]
pub(super) enum Subject<'s> {
    /// The host with all that runs on it.
    Host,
    /// A guest profile, by its name.
    Guest(&'s str),
    /// A pool and its name.
    Pool(PoolIndex, &'s str),
    /// A resource and its name in reports.
    Resource(Resource, &'s str),
}

impl<'s> Subject<'s> {
    pub(super) fn name(self) -> &'s str {
        match self {
            Subject::Host => "",
            Subject::Guest(name) | Subject::Pool(_, name) | Subject::Resource(_, name) => name,
        }
    }

    fn pool(self) -> Option<PoolIndex> {
        match self {
            Subject::Pool(pool, _) => Some(pool),
            Subject::Resource(resource, _) => resource.pool(),
            Subject::Host | Subject::Guest(_) => None,
        }
    }
}

impl<'a> Context<'a> {
    /// The same for steps about a subject.
    pub(super) fn of(&self, subject: Subject<'a>) -> Context<'a> {
        Context { subject, ..*self }
    }

    /// The same for steps about a guest profile.
    pub(super) fn of_guest(&self, guest: &'a Guest) -> Context<'a> {
        self.of(Subject::Guest(&guest.name))
    }

    /// The same in a period of the lab.
    pub(super) fn in_period(&self, period: usize) -> Context<'a> {
        Context {
            model: self.model.in_period(period),
            worked: self.worked.in_period(period),
            ..*self
        }
    }

    /// Profiles of which at least one runs: its place, its number, the profile.
    pub(super) fn running(&self) -> impl Iterator<Item = (usize, u64, &'a Guest)> {
        let rows = self.model.lab.guests.iter().zip(self.counts);
        let rows = rows
            .enumerate()
            .map(|(place, (guest, n))| (place, *n, guest));
        rows.filter(|(_, n, _)| *n > 0)
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
                        range: self.range(path),
                        origin: origin.words(),
                    });
                }
            }
        }
        inputs
    }

    /// The ends of a guess: "20 % to 70 % of memory".
    fn range(&self, path: &str) -> Option<String> {
        let mut guessed = self.model.lab.guessed.iter();
        guessed.find(|one| one.path == path)?;
        key_of(path)?.spread_text()
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

    /// The value of a key whose default is a rule: it depends on other keys, or on the host.
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

    /// Key paths by owner, as a law lists them: "host: merging.mode; guests: busy share".
    pub(super) fn keys(&self, listed: &str) -> Vec<String> {
        let groups = listed
            .split("; ")
            .filter_map(|group| group.split_once(": "));
        let paths = groups.flat_map(|(owner, keys)| {
            let tables = self.tables(owner).into_iter();
            tables.flat_map(move |table| keys.split(' ').map(move |key| format!("{table}.{key}")))
        });
        paths.collect()
    }

    /// The tables of an owner; "guests" are all that run, "here" means in the pool of the subject.
    fn tables(&self, owner: &str) -> Vec<String> {
        let host = &self.model.host.name;
        let pool = self.subject.pool().unwrap_or_default();
        match owner {
            "host" => vec![key_path(&["host", host])],
            "pool" => {
                let name = &self.model.host.disks[pool].name;
                vec![key_path(&["host", host, "disk", name])]
            }
            "guest" => vec![key_path(&["guest", self.subject.name()])],
            "guests" | "guests here" => self
                .running()
                .filter(|(_, _, guest)| owner == "guests" || self.model.pool_of(guest) == pool)
                .map(|(_, _, guest)| key_path(&["guest", &guest.name]))
                .collect(),
            "periods" => {
                let periods = self.model.lab.periods.iter();
                periods
                    .map(|period| key_path(&["period", &period.name]))
                    .collect()
            }
            "images here" => {
                let images = self.model.images_in(pool, self.counts).into_iter();
                images
                    .map(|image| key_path(&["image", &image.name]))
                    .collect()
            }
            table => vec![table.to_owned()],
        }
    }
}
