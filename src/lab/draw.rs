//! A lab with other numbers for its uncertain values, thousands of times: setters by path, then the steps that complete
//! a table. Only tables that hold drawn values are made again.

use super::draft::Input;
use super::{Lab, Uncertain, UncertainTable};

/// One host of a lab with all guests, ready to be drawn again and again.
#[derive(Debug)]
pub struct Redraw<'l> {
    likely: Lab,
    /// Each table, and for each of its uncertain values the place of its number among the drawn ones.
    tables: Vec<(&'l UncertainTable, Vec<Option<usize>>)>,
}

impl<'l> Redraw<'l> {
    /// Makes a lab ready to be drawn for the host with that place; the numbers will come in the order of `inputs`.
    pub fn new(lab: &'l Lab, host: usize, inputs: &[&Uncertain]) -> Redraw<'l> {
        let place = |input: &Input| {
            let path = &input.uncertain.path;
            inputs.iter().position(|one| one.path == *path)
        };
        let own = lab.drafts.iter();
        let own = own.filter(|table| table.host.is_none_or(|at| at == host));
        let tables = own.map(|table| (table, table.inputs.iter().map(place).collect()));
        Redraw {
            likely: lab.for_host(host),
            tables: tables.collect(),
        }
    }

    /// The lab of the likely values, to put drawn ones into.
    pub fn likely(&self) -> Lab {
        self.likely.clone()
    }

    /// Puts drawn numbers into a lab that [`Redraw::likely`] made; what is not drawn has its likely value.
    pub fn put(&self, lab: &mut Lab, numbers: &[f64]) {
        for (table, places) in &self.tables {
            let drawn = table.inputs.iter().zip(places);
            let mut drawn =
                drawn.filter_map(|(input, place)| Some((input, *numbers.get((*place)?)?)));
            (table.put)(lab, &mut drawn);
        }
    }
}
