//! What is wrong with the input, shown with the line it stands on.
//!
//! A room that reads input collects every [`Diagnostic`] it can find and hands back [`Diagnostics`]: what was given,
//! what is allowed, how to fix it, in that order. Only this room and `report` know colour and width.

mod diagnostic;
pub mod kinds;
mod render;
pub mod source;
pub mod suggest;

#[cfg(test)]
mod tests;

use std::fmt;

pub use self::diagnostic::{Diagnostic, Label};
pub use self::kinds::ErrorKind;
use self::source::Sources;

/// Everything found wrong in one go, and the texts it points into.
#[derive(Debug, Clone)]
pub struct Diagnostics {
    sources: Sources,
    list: Vec<Diagnostic>,
}

/// How many are printed; the rest is counted.
const MOST_SHOWN: usize = 20;
/// How many a room should collect before it stops looking: more cannot be fixed at once.
pub const MOST_KEPT: usize = 1000;

impl Diagnostics {
    /// Diagnostics in the order of their places; one that is repeated at the same place is kept once.
    pub fn new(sources: Sources, mut list: Vec<Diagnostic>) -> Self {
        let main = |diagnostic: &Diagnostic| diagnostic.labels.first().map(|label| label.place);
        list.sort_by_key(main);
        list.dedup_by(|next, kept| main(next) == main(kept) && next.message == kept.message);
        Diagnostics { sources, list }
    }

    /// All of them, ordered by file and place.
    pub fn list(&self) -> &[Diagnostic] {
        &self.list
    }

    /// The texts they point into.
    pub fn sources(&self) -> &Sources {
        &self.sources
    }

    /// The text for a terminal `width` columns wide; `color` asks for escape sequences.
    ///
    /// At most twenty are shown in full, the rest is counted.
    pub fn render(&self, color: bool, width: usize) -> String {
        let page = render::Page { color, width };
        let shown = self.list.iter().take(MOST_SHOWN);
        let mut parts: Vec<String> = shown
            .map(|diagnostic| render::diagnostic(diagnostic, &self.sources, page))
            .collect();
        match self.list.len().saturating_sub(MOST_SHOWN) {
            0 => {}
            left_off if self.list.len() < MOST_KEPT => {
                parts.push(format!("… and {left_off} more; correct these first\n"));
            }
            _ => parts.push("… and hundreds more; correct these first\n".to_owned()),
        }
        parts.join("\n")
    }
}

impl From<Vec<Diagnostic>> for Diagnostics {
    /// Diagnostics that point into no text.
    fn from(list: Vec<Diagnostic>) -> Diagnostics {
        Diagnostics::new(Sources::default(), list)
    }
}

impl From<Diagnostic> for Diagnostics {
    /// A diagnostic that points into no text.
    fn from(diagnostic: Diagnostic) -> Diagnostics {
        Diagnostics::from(vec![diagnostic])
    }
}

impl fmt::Display for Diagnostics {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.render(false, 100).trim_end())
    }
}

impl std::error::Error for Diagnostics {}
