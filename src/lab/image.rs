//! Keys of `[[image]]`.

use super::keys::Section;
use super::keys::range::SIZE;
use super::keys::row::{NAME, REFERENCE, quantity};
use super::table::section;

section! {
    /// An image that guests are cloned from.
    Image: Section::Image => {
        name: String = NAME, "name of the image";
        size: f64 = quantity(SIZE), "its size on disk";
        disk: Option<String> = REFERENCE.absent("a copy in each pool that holds overlays of it"),
            "pool where its one base copy lies";
    }
}
