//! Tables of prices: of modules by size, of devices by capacity, of links by speed.

use crate::diagnose::Diagnostic;
use crate::diagnose::ErrorKind;
use crate::inventory::fields::Fields;
use crate::inventory::tree::{Node, Value};
use crate::inventory::{locate, quantity};
use crate::lab::keys::{Key, Section, range};
use crate::unit::parse::{Dimension, Fault, parse};

use super::{Number, Reader};

impl<'t> Reader<'t> {
    /// The prices in a table, by what they are the price of (in base units), ascending; none if it is left out.
    pub fn prices(
        &mut self,
        fields: &Fields<'t>,
        name: &str,
        dimension: Dimension,
    ) -> Vec<(f64, f64)> {
        let (key, entry) = fields.find(name);
        let Some(node) = entry.map(|entry| &entry.node) else {
            return Vec::new();
        };
        self.note_given(fields, name, node);
        let Some(table) = node.table() else {
            self.report(quantity::wrong_type(key, node, self.sources));
            return Vec::new();
        };
        let (what, allowed) = match (name, dimension) {
            (_, Dimension::BitRate) => ("link speed", range::SOME_BIT_RATE),
            ("module_prices", _) => ("module size", range::SOME_SIZE),
            _ => ("capacity", range::SOME_SIZE),
        };
        let mut prices = Vec::new();
        for entry in &table.entries {
            let path = locate::join(&locate::join(&fields.path, key.name), &entry.key);
            let price = self.price(key, path, &entry.node);
            match parse(&entry.key, dimension) {
                Ok(size) if allowed.holds(size) => prices.push((size, price.value)),
                Ok(_) => {
                    let message = format!(
                        "a {what} must be {}, but is {}",
                        allowed.words,
                        quantity::shorten(&entry.key)
                    );
                    let error =
                        Diagnostic::new(ErrorKind::OutOfRange, message).at(entry.key_place, what);
                    self.report(error.hint(format!("for example {}", key.example())));
                }
                Err(error) => {
                    let (kind, allowed) = match error.fault {
                        Fault::TooLarge => (ErrorKind::OutOfRange, allowed.words),
                        _ => (ErrorKind::WrongUnit, dimension.noun()),
                    };
                    let message = format!("a {what} must be {allowed}, but {error}");
                    let diagnostic = Diagnostic::new(kind, message).at(entry.key_place, what);
                    self.report(diagnostic.hint(error.hint()));
                }
            }
        }
        prices.sort_by(|one, other| one.0.total_cmp(&other.0));
        prices
    }

    /// A price in a table of prices, which may be uncertain like any other.
    fn price(&mut self, key: &'static Key, path: String, node: &'t Node) -> Number {
        // The table's own row says "a table from size to price"; a price is judged like the price of a host.
        let price = Section::Host.key("price").unwrap_or(key);
        match &node.value {
            Value::Table(table) => self.uncertain_at(path, price, node, table),
            _ => self.plain(price, node),
        }
    }
}
