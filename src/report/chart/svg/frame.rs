//! Sizes of a picture, and where a panel's plot lies.

/// Width of the picture in units.
pub(super) const WIDTH: f64 = 960.0;
/// Room for the numbers of the vertical axis.
pub(super) const LEFT: f64 = 92.0;
/// Room right of the plot, for half a number of the horizontal axis.
pub(super) const RIGHT: f64 = 34.0;
/// Size of the letters of title, names and numbers; the smallest is 12 px high when the picture is pasted at 700 px.
pub(super) const TITLE: f64 = 22.0;
pub(super) const NAMES: f64 = 17.0;
pub(super) const NUMBERS: f64 = 16.0;
/// Height of numbers and name below the lowest panel.
pub(super) const FOOT: f64 = 62.0;
/// Most letters of a name on one line of the list of lines.
pub(super) const LONGEST_NAME: usize = 30;
/// Height of a line of words.
pub(super) const LINE: f64 = 21.0;

/// Where a panel's plot lies and what it spans.
#[derive(Debug, Clone, Copy)]
pub(super) struct Frame {
    pub left: f64,
    pub right: f64,
    pub top: f64,
    pub bottom: f64,
    pub x_end: f64,
    pub y_end: f64,
    /// Room between the plot and the names of its lines, for their letters.
    pub gutter: f64,
}

impl Frame {
    pub fn place(&self, (x, y): (f64, f64)) -> (f64, f64) {
        (
            self.left + (self.right - self.left) * x / self.x_end,
            self.bottom - (self.bottom - self.top) * y / self.y_end,
        )
    }
}
