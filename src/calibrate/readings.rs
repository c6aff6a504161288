//! Readings: a table of figures of the running host → numbers in base units.

use self::columns::Columns;
pub use self::row::Reading;
use self::row::Row;
use super::error::{self, Error, Fault};
use crate::diagnose::source::{Medium, Place, Sources};
use crate::diagnose::{Diagnostics, MOST_KEPT};
use crate::lab::Lab;

mod columns;
mod row;
pub(super) mod table;

/// All readings of a file, in its order.
#[derive(Debug, Clone)]
pub struct Readings {
    /// The text they stand in.
    pub sources: Sources,
    /// The readings.
    pub list: Vec<Reading>,
    /// Headings that were not used.
    pub unused: Vec<String>,
    /// Kinds of guests that are counted in columns of their own, each with its heading.
    pub beside: Vec<(String, Place)>,
    /// Where the headings begin.
    headings: Option<Place>,
}

impl Readings {
    /// Puts the counts of other kinds, which columns name, in the order of the lab's guests; `read` is the kind that
    /// `guests` counts.
    ///
    /// # Errors
    /// Where a column counts a kind that the lab does not have, or the one that is read, and where none counts a kind that
    /// runs by the lab.
    pub fn beside(&mut self, lab: &Lab, read: usize) -> Result<(), Diagnostics> {
        let columns = self.beside.iter().map(|(kind, place)| {
            let mut guests = lab.guests.iter();
            let found = guests.position(|guest| columns::heading(&guest.name) == *kind);
            let known = lab.guests.iter().enumerate();
            let known = known.filter(|(index, _)| *index != read);
            let known = known.map(|(_, guest)| guest.name.clone()).collect();
            let fault = Fault::UnknownKind(kind.clone(), known);
            found
                .filter(|found| *found != read)
                .ok_or_else(|| fault.at(*place))
        });
        let columns = columns.collect::<Result<Vec<usize>, Error>>();
        let columns = columns.map_err(|wrong| error::report(&self.sources, &[wrong]))?;
        let uncounted = lab.guests.iter().enumerate().filter(|(index, guest)| {
            guest.number.count() > 0 && *index != read && !columns.contains(index)
        });
        let uncounted = uncounted.map(|(_, guest)| {
            let column = format!("{}{}", columns::BESIDE, columns::heading(&guest.name));
            Fault::NotCounted(guest.name.clone(), column).at(self.headings)
        });
        let uncounted: Vec<Error> = uncounted.collect();
        if !uncounted.is_empty() {
            return Err(error::report(&self.sources, &uncounted));
        }
        for reading in &mut self.list {
            let mut counts = vec![0; lab.guests.len()];
            for (guest, count) in columns.iter().zip(&reading.beside) {
                counts[*guest] += count;
            }
            reading.beside = counts;
        }
        Ok(())
    }
}

/// Reads the text of the file called `name`; shares are of `visible` `[B]`.
///
/// # Errors
/// Everything that is wrong with the table, at once.
pub fn read(name: &str, text: &str, visible: f64) -> Result<Readings, Diagnostics> {
    let mut sources = Sources::default();
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let source = sources.add(name, text, Medium::File);
    let table = table::table(text, source).map_err(|errors| error::report(&sources, &errors))?;
    let mut errors = Vec::new();
    let columns = Columns::find(&table, &mut errors);
    let mut list = Vec::new();
    for line in &table.lines {
        if errors.len() >= MOST_KEPT {
            break;
        }
        let mut row = Row {
            line,
            columns: &columns,
            visible,
            errors: &mut errors,
        };
        list.extend(row.reading(sources.line(line.place)));
    }
    let heading = |(kind, index): &(String, usize)| (kind.clone(), table.header[*index].place);
    if errors.is_empty() {
        Ok(Readings {
            sources,
            list,
            beside: columns.beside.iter().map(heading).collect(),
            unused: columns.unused,
            headings: table.header.first().map(|cell| cell.place),
        })
    } else {
        Err(error::report(&sources, &errors))
    }
}
