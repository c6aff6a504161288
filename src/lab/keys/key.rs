//! One row of the table of keys.

use crate::unit::parse::{Dimension, parse};

use super::range::Range;
use crate::lab::origin::DefaultOrigin;

/// A table of the file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Section {
    /// The file itself.
    Top,
    /// `[lab]`
    Lab,
    /// `[policy]`
    Policy,
    /// `[[host]]`
    Host,
    /// `[host.cpu]`
    Cpu,
    /// One entry of `host.cpu.groups`.
    Group,
    /// `[host.memory]`
    Memory,
    /// `[host.merging]`
    Merging,
    /// `[[host.disk]]`
    Disk,
    /// `[host.network]`
    Network,
    /// `[host.power]`
    Power,
    /// `[host.backup]`
    Backup,
    /// `[[image]]`
    Image,
    /// `[[guest]]`
    Guest,
    /// `[[period]]`
    Period,
}

/// One key.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Key {
    /// Its name.
    pub name: &'static str,
    /// What it holds.
    pub kind: Kind,
    /// The numbers it allows; [`ANY`](super::range::ANY) where it holds none.
    pub range: Range,
    /// Its default.
    pub default: Default,
    /// How far the truth may be from a default that represents a fact.
    pub spread: Spread,
    /// How it is measured, in a line; empty where it has no spread.
    pub how_measured: &'static str,
    /// The command that needs it first.
    pub first: Command,
    /// What has to be there for it to count.
    pub needs: Needs,
    /// What it means, in the reader's words.
    pub meaning: &'static str,
}

/// What a key holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A name that other things may refer to.
    Name,
    /// Free text for the reader.
    Title,
    /// The name of something defined elsewhere.
    Reference,
    /// One of these words.
    Word(&'static [&'static str]),
    /// `true` or `false`.
    Flag,
    /// A whole number.
    Count,
    /// A number with the unit of its dimension.
    Quantity(Dimension),
    /// A size, or a share of `touched`.
    SizeOrShare,
    /// A share, or a table of shares by period.
    ShareByPeriod,
    /// A list of sizes.
    Sizes,
    /// A table from size (or speed) to price.
    Prices,
    /// A list of file paths.
    Files,
    /// One table of that section.
    Table(Section),
    /// A list of tables of that section.
    Tables(Section),
}

/// The default of a key that is left out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Default {
    /// Nothing: it has to be given.
    Required,
    /// Nothing: without it something is not considered, and this says what.
    Absent(&'static str),
    /// A value, written as it would be in the file (without quotes).
    Fixed(&'static str, DefaultOrigin),
    /// A value that depends on other keys, by this rule.
    Rule(&'static str, DefaultOrigin),
}

impl Default {
    /// The value or the rule as a text; what is missing for the others.
    pub fn text(&self) -> &'static str {
        match self {
            Default::Required => "has to be given",
            Default::Absent(text) | Default::Fixed(text, _) | Default::Rule(text, _) => text,
        }
    }

    /// The value or the rule as a text, and what it rests on.
    pub fn value(&self) -> Option<(&'static str, DefaultOrigin)> {
        match *self {
            Default::Fixed(text, origin) | Default::Rule(text, origin) => Some((text, origin)),
            Default::Required | Default::Absent(_) => None,
        }
    }
}

/// How far the truth may be from a default: the ends of a beta-PERT distribution with the default as its likely value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Spread {
    /// The default is a choice, or there is none.
    None,
    /// From the first to the second value, written as in the file.
    Values(&'static str, &'static str),
    /// From the first to the second share of what the rule takes a share of.
    Shares(&'static str, &'static str),
    /// From the first to the second multiple of what the rule gives.
    Times(f64, f64),
}

/// What a host or a lab has to have for a key to count.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Needs {
    /// Nothing more.
    Nothing,
    /// A price or a tariff.
    Costs,
    /// A pool of disks.
    Disks,
    /// The pool is a mirror.
    Mirror,
    /// A link.
    Link,
    /// A backup.
    Backup,
    /// Page sharing.
    Sharing,
    /// Page sharing with the kernel's zero page.
    ZeroPages,
    /// A scanner with a fixed number of pages per wake.
    Fixed,
    /// A scanner that aims at a time per pass.
    ScanTime,
    /// A scanner that works when memory runs short.
    Adaptive,
}

/// The commands, in the order in which they came to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Command {
    /// How many guests fit.
    Fit,
    /// How guests start.
    Rollout,
    /// What to buy next.
    Upgrade,
    /// What the readings say.
    Calibrate,
}

impl Command {
    /// The word on the command line.
    pub fn name(self) -> &'static str {
        match self {
            Command::Fit => "fit",
            Command::Rollout => "rollout",
            Command::Upgrade => "upgrade",
            Command::Calibrate => "calibrate",
        }
    }
}

impl Key {
    /// The range of the truth where the default is `likely`, in base units; none where it has no spread.
    pub fn ends(&self, likely: f64) -> Option<(f64, f64)> {
        let read = |text: &str| parse(text, self.range.dimension).unwrap_or(likely);
        let share = |text: &str| parse(text, Dimension::Share).unwrap_or(1.0);
        match self.spread {
            Spread::None => None,
            Spread::Values(low, high) => Some((read(low), read(high))),
            Spread::Shares(low, high) => {
                // "40 % of memory": the rule begins with the share that is likely.
                let (own, _) = self.default.text().split_once(" of ")?;
                let whole = likely / share(own);
                Some((whole * share(low), whole * share(high)))
            }
            Spread::Times(low, high) => Some((likely * low, likely * high)),
        }
    }

    /// The same in words: "1 GiB to 4 GiB", "20 % to 70 % of memory".
    pub fn spread_text(&self) -> Option<String> {
        match self.spread {
            Spread::None => None,
            Spread::Values(low, high) => Some(format!("{low} to {high}")),
            Spread::Shares(low, high) => {
                let (_, whole) = self.default.text().split_once(" of ")?;
                let whole = whole.split(',').next().unwrap_or(whole);
                Some(format!("{low} to {high} of {whole}"))
            }
            Spread::Times(low, high) => Some(format!("{low} to {high} times that")),
        }
    }

    /// What a table of prices goes by: what its names measure, that in a word, the same of what is bought, and an example.
    pub fn priced_quantity(&self) -> (Dimension, &'static str, &'static str, &'static str) {
        match self.name {
            "link_prices" => (Dimension::BitRate, "speed", "link speed", "10 Gbit/s"),
            "capacity_prices" => (Dimension::Bytes, "size", "capacity", "2 TB"),
            _ => (Dimension::Bytes, "size", "module size", "48 GiB"),
        }
    }

    /// What the value has to be, in words.
    pub fn expected(&self) -> String {
        match self.kind {
            Kind::Name | Kind::Reference => "a name in quotes".to_owned(),
            Kind::Title => "a text in quotes".to_owned(),
            Kind::Word(words) => crate::diagnose::suggest::list(words.iter().copied(), words.len()),
            Kind::Flag => "true or false".to_owned(),
            Kind::Count => "a whole number".to_owned(),
            Kind::Quantity(dimension) => dimension.noun().to_owned(),
            Kind::SizeOrShare => "a size, or a share of `touched`".to_owned(),
            Kind::ShareByPeriod => "a share, or a table of shares by period".to_owned(),
            Kind::Sizes => "a list of sizes".to_owned(),
            Kind::Prices => format!("a table from {} to price", self.priced_quantity().1),
            Kind::Files => "a list of file names".to_owned(),
            Kind::Table(section) => format!("a table, {}", section.header()),
            Kind::Tables(section) => format!("a list of tables, {}", section.header()),
        }
    }

    /// One value to copy, where [`Key::example`] shows the choices.
    pub fn one_example(&self) -> String {
        match self.kind {
            Kind::Quantity(dimension) => format!("{} = {}", self.name, dimension.examples()[0]),
            Kind::SizeOrShare => format!("{} = \"320 MiB\"", self.name),
            Kind::ShareByPeriod => format!("{} = \"8 %\"", self.name),
            _ => self.example(),
        }
    }

    /// A value to copy, or some.
    pub fn example(&self) -> String {
        match self.kind {
            Kind::Name | Kind::Reference | Kind::Title => format!("{} = \"web\"", self.name),
            Kind::Word(words) => format!("{} = \"{}\"", self.name, words.first().unwrap_or(&"")),
            Kind::Flag => format!("{} = true", self.name),
            Kind::Count => format!("{} = 2", self.name),
            Kind::Quantity(dimension) => format!("{} = {}", self.name, dimension.all_examples()),
            Kind::SizeOrShare => format!("{} = \"320 MiB\" or \"20 %\"", self.name),
            Kind::ShareByPeriod => {
                format!(
                    "{0} = \"8 %\" or {0} = {{ night = \"60 %\", otherwise = \"3 %\" }}",
                    self.name
                )
            }
            Kind::Sizes => format!("{} = [\"32 GiB\", \"32 GiB\"]", self.name),
            Kind::Prices => format!(
                "{} = {{ \"{}\" = 139 }}",
                self.name,
                self.priced_quantity().3
            ),
            Kind::Files => format!("{} = [\"guests.toml\"]", self.name),
            Kind::Table(section) => section.header().to_owned(),
            Kind::Tables(Section::Group) => "groups = [{ cores = 8, threads = 2 }]".to_owned(),
            Kind::Tables(section) => section.header().to_owned(),
        }
    }
}
