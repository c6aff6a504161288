//! A valid inventory read again thousands of times, each time with other numbers for its uncertain values.

use std::collections::{BTreeMap, HashMap, HashSet};

use super::read::Reader;
use super::tree::Node;
use super::{Inventory, locate, read_disk, read_guest, read_host};
use crate::lab::Lab;

/// One host of a valid inventory with all guests, ready to be read again.
///
/// Only the tables that hold uncertain values are read again, and nothing is written down about them, because this runs
/// thousands of times.
#[derive(Debug)]
pub struct Redraw<'i> {
    inventory: &'i Inventory,
    /// The likely values, that host alone, without origins.
    likely: Lab,
    host: usize,
    host_changes: bool,
    images: Vec<usize>,
    guests: Vec<usize>,
    /// Names of the images and their indices.
    index: HashMap<&'i str, usize>,
}

impl Inventory {
    /// Makes the inventory ready to be read again for one host; none where it has no host of that name.
    ///
    /// Of an inventory that [`Inventory::read`] refused it gives labs without meaning.
    #[must_use]
    pub fn redraw(&self, lab: &Lab, host: &str) -> Option<Redraw<'_>> {
        let at = lab.hosts.iter().position(|one| one.name == host)?;
        let touched: HashSet<String> = lab.uncertain.iter().map(|one| owner(&one.path)).collect();
        let uncertain = |section: &str, nodes: &[Node]| -> Vec<usize> {
            let path = |node| locate::join(section, Reader::path_name(node));
            (0..nodes.len())
                .filter(|index| touched.contains(&path(&nodes[*index])))
                .collect()
        };
        let images = &self.values.images;
        Some(Redraw {
            inventory: self,
            likely: lab.alone(at),
            host: at,
            host_changes: touched.contains(&locate::join("host", host)),
            images: uncertain("image", images),
            guests: uncertain("guest", &self.values.guests),
            index: images
                .iter()
                .enumerate()
                .rev()
                .map(|(index, node)| (Reader::path_name(node), index))
                .collect(),
        })
    }
}

/// The table that a value belongs to: the first two steps of its path.
fn owner(path: &str) -> String {
    let steps = crate::lab::key_steps(path);
    let own: Vec<&str> = steps.iter().take(2).map(String::as_str).collect();
    crate::lab::key_path(&own)
}

impl Redraw<'_> {
    /// The lab of the likely values, to put drawn ones into.
    #[must_use]
    pub fn likely(&self) -> Lab {
        self.likely.clone()
    }

    /// Puts drawn numbers (base units, by key path) into a lab that [`Redraw::likely`] made.
    ///
    /// Values that a draw pushed past one another are clamped; what is not drawn has its likely value.
    pub fn put(&self, lab: &mut Lab, drawn: &BTreeMap<String, f64>) {
        let values = &self.inventory.values;
        let mut reader = Reader::drawn(&self.inventory.sources, drawn);
        if self.host_changes {
            lab.hosts[0] = read_host::host(&mut reader, &values.hosts[self.host]).0;
        }
        for index in &self.images {
            lab.images[*index] = read_disk::image(&mut reader, &values.images[*index]).0;
        }
        for index in &self.guests {
            lab.guests[*index] =
                read_guest::guest(&mut reader, &values.guests[*index], &self.index).guest;
        }
    }
}
