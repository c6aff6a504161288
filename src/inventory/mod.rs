//! From inventory text to a valid lab.
//!
//! Text → tree (`load`, `merge`, `set`) → values checked one by one against their rows (`check`, `value`) → defaults and
//! relations (`lab::draft`, `consistency`) → [`Lab`] (`assemble`). Everything that is wrong is collected on the way.

mod assemble;
mod check;
mod consistency;
mod fields;
mod lists;
mod load;
mod merge;
mod periods;
mod problem;
pub mod rewrite;
pub mod schema;
mod set;
pub mod starter;
mod tree;
mod value;
mod written;

#[cfg(test)]
mod tests;

use std::path::Path;

use crate::diagnose::Diagnostic;
use crate::diagnose::Diagnostics;
use crate::diagnose::ErrorKind;
use crate::diagnose::source::Sources;

use self::tree::Table;
use crate::lab::Lab;

/// Reads the inventory at `path` with everything it includes and `sets` (`PATH=VALUE`) put over it.
///
/// # Errors
/// Everything that is wrong with the files, the values in them and `sets`, at once.
pub fn load(path: &Path, sets: &[String]) -> Result<Lab, Diagnostics> {
    Inventory::open(path, sets)?.read()
}

/// Reads `text` as the inventory called `name`; `include` looks beside that name.
///
/// # Errors
/// As [`load`].
///
/// # Example
/// ```
/// let text = r#"
/// [[host]]
/// name = "shelf-a"
/// cpu.groups = [{ cores = 8, threads = 2 }]
/// memory.modules = ["32 GiB", "32 GiB"]
/// [[guest]]
/// name = "web"
/// memory = "2 GiB"
/// "#;
/// let lab = berthage::inventory::load_text("lab.toml", text, &[]).expect("a valid lab");
/// assert_eq!(lab.guests[0].touched, 0.4 * 2147483648.0);
/// ```
pub fn load_text(name: &str, text: &str, sets: &[String]) -> Result<Lab, Diagnostics> {
    Inventory::parse(name, text, sets)?.read()
}

/// A parsed inventory: the values as written, not yet judged.
#[derive(Debug, Clone)]
pub struct Inventory {
    sources: Sources,
    values: Table,
    /// What was found wrong before reading, except what made parsing impossible.
    errors: Vec<Diagnostic>,
}

impl Inventory {
    /// The files of an inventory as one.
    fn merged((sources, files): (Sources, Vec<Table>)) -> Inventory {
        let mut errors = Vec::new();
        Inventory {
            sources,
            values: merge::files(files, &mut errors),
            errors,
        }
    }

    /// Parses the inventory at `path`, everything it includes, and puts `sets` over it.
    ///
    /// # Errors
    /// Files that cannot be read and text that is no TOML; what is wrong with the values is left to [`Inventory::read`].
    pub fn open(path: &Path, sets: &[String]) -> Result<Inventory, Diagnostics> {
        Ok(Inventory::merged(load::open(path)?).with_sets(sets))
    }

    /// Parses `text` as the inventory called `name`, everything it includes, and puts `sets` over it.
    ///
    /// # Errors
    /// As [`Inventory::open`].
    pub fn parse(name: &str, text: &str, sets: &[String]) -> Result<Inventory, Diagnostics> {
        Ok(Inventory::merged(load::text(name, text)?).with_sets(sets))
    }

    /// The same with `sets` put over it.
    #[must_use]
    pub fn with_sets(mut self, sets: &[String]) -> Inventory {
        for argument in sets {
            let set = set::apply(argument, &mut self.values, &mut self.sources);
            self.errors.extend(set.err());
        }
        self
    }

    /// Turns the values into a valid lab.
    ///
    /// # Errors
    /// Everything that is wrong with them.
    pub fn read(&self) -> Result<Lab, Diagnostics> {
        let mut checker = check::Checker::new(&self.sources);
        let lab = assemble::lab(&mut checker, &self.values);
        let mut errors = self.errors.clone();
        if self
            .errors
            .iter()
            .any(|error| matches!(error.kind, ErrorKind::WrongType | ErrorKind::OutOfRange))
        {
            // A list of hosts or guests was refused as a whole, so that they are missing says nothing.
            checker
                .errors
                .retain(|error| error.kind != ErrorKind::EmptyLab);
        }
        errors.append(&mut checker.errors);
        if errors.is_empty() {
            Ok(lab)
        } else {
            Err(Diagnostics::new(self.sources.clone(), errors))
        }
    }
}
