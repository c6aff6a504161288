//! Every key of the inventory in one table: what it is, what it may hold, what stands in for it, who needs it.
//!
//! The reader, the suggestions, `explain` and the JSON schema all come from this table, so that they cannot disagree.

mod disk;
mod guest;
mod host;
mod merging;
mod policy;
pub mod range;
mod section;

use crate::lab::DefaultOrigin;
use crate::unit::parse::Dimension;

use self::range::Range;

pub use self::section::Section;

/// One key.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Key {
    /// Its name.
    pub name: &'static str,
    /// What it holds.
    pub kind: Kind,
    /// The numbers it allows; [`range::ANY`] where it holds none.
    pub range: Range,
    /// What stands in for it.
    pub default: Default,
    /// The command that needs it first.
    pub first: Command,
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

/// What stands in for a key that is left out.
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
    /// A row of the table; the columns are those of [`Key`], in their order.
    const fn new(
        name: &'static str,
        kind: Kind,
        range: Range,
        default: Default,
        first: Command,
        meaning: &'static str,
    ) -> Key {
        Key {
            name,
            kind,
            range,
            default,
            first,
            meaning,
        }
    }

    /// What the names of a table of prices measure: the speed of a link, else a size.
    pub fn priced_by(&self) -> Dimension {
        if self.name == "link_prices" {
            Dimension::BitRate
        } else {
            Dimension::Bytes
        }
    }

    /// What the value has to be, in words.
    pub fn wanted(&self) -> String {
        match self.kind {
            Kind::Name | Kind::Reference => "a name in quotes".to_owned(),
            Kind::Title => "a text in quotes".to_owned(),
            Kind::Word(words) => crate::diagnose::suggest::list(words.iter().copied(), words.len()),
            Kind::Flag => "true or false".to_owned(),
            Kind::Count => "a whole number".to_owned(),
            Kind::Quantity(dimension) => dimension.noun().to_owned(),
            Kind::SizeOrShare => "a size, or a share of `touched`".to_owned(),
            Kind::Sizes => "a list of sizes".to_owned(),
            Kind::Prices => format!("a table from {} to price", self.priced().0),
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
            _ => self.example(),
        }
    }

    /// What a table of prices goes by, and an example of it.
    fn priced(&self) -> (&'static str, &'static str) {
        match self.name {
            "link_prices" => ("speed", "10 Gbit/s"),
            "capacity_prices" => ("size", "2 TB"),
            _ => ("size", "48 GiB"),
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
            Kind::Sizes => format!("{} = [\"32 GiB\", \"32 GiB\"]", self.name),
            Kind::Prices => format!("{} = {{ \"{}\" = 139 }}", self.name, self.priced().1),
            Kind::Files => format!("{} = [\"guests.toml\"]", self.name),
            Kind::Table(section) => section.header().to_owned(),
            Kind::Tables(Section::Group) => "groups = [{ cores = 8, threads = 2 }]".to_owned(),
            Kind::Tables(section) => section.header().to_owned(),
        }
    }
}

/// The command that first needs the key of a path (`guest.web.boot_cpu`), if it is not `fit`.
pub fn later_command(path: &str) -> Option<&'static str> {
    let key = key_of(path)?;
    (key.first != Command::Fit).then(|| key.first.name())
}

/// The row of the key that a path leads to.
pub fn key_of(path: &str) -> Option<&'static Key> {
    let steps = super::key_steps(path);
    let words: Vec<&str> = steps.iter().map(String::as_str).collect();
    let (section, last) = match words.as_slice() {
        ["guest", _, last] => (Section::Guest, last),
        ["image", _, last] => (Section::Image, last),
        ["policy", last] => (Section::Policy, last),
        ["host", _, last] => (Section::Host, last),
        ["host", _, "memory", last] => (Section::Memory, last),
        ["host", _, "merging", last] => (Section::Merging, last),
        ["host", _, "disk", _, last] => (Section::Disk, last),
        ["host", _, "network", last] => (Section::Network, last),
        ["host", _, "power", last] => (Section::Power, last),
        ["host", _, "backup", last] => (Section::Backup, last),
        ["host", _, "cpu", last] => (Section::Cpu, last),
        ["host", _, "cpu", "groups", _, last] => (Section::Group, last),
        _ => return None,
    };
    section.key(last)
}
