//! Quantiles of the beta-PERT distribution from a table, for thousands of draws.

use super::pert::Pert;

/// Cells of the table.
const CELLS: usize = 128;
/// Newton steps in a cell, which is nearly straight.
const STEPS: u32 = 3;

/// The distribution function of a beta-PERT distribution between 0 and 1 at fixed places, to be inverted.
///
/// - inside a cell the distribution function is the cubic with the right values and densities at both ends
///   (error below 1e-6 of the range); in the first and last cell the power of x or 1 − x that it begins with
#[derive(Debug, Clone)]
pub struct Quantiles {
    nodes: Vec<Node>,
    /// Exponents of x and of 1 − x at the ends.
    powers: [f64; 2],
}

#[derive(Debug, Clone, Copy)]
struct Node {
    x: f64,
    below: f64,
    density: f64,
}

impl Quantiles {
    /// The table of the distribution whose likely value is at a place 0–1 between its ends.
    ///
    /// # Example
    /// ```
    /// use berthage::model::{pert::Pert, quantiles::Quantiles};
    /// let (exact, table) = (Pert::new(0.0, 0.2, 1.0), Quantiles::new(0.2));
    /// assert!((exact.quantile(0.7) - table.at(0.7)).abs() < 1e-8);
    /// ```
    pub fn new(place: f64) -> Quantiles {
        let pert = Pert::new(0.0, place, 1.0);
        let nodes = (0..=CELLS).map(|index| {
            // Nodes lie closer together towards the ends, where the distribution function bends.
            let step = index as f64 / CELLS as f64;
            let x = step * step * (3.0 - 2.0 * step);
            Node {
                x,
                below: pert.below(x),
                density: if index == 0 || index == CELLS {
                    0.0
                } else {
                    pert.density(x)
                },
            }
        });
        Quantiles {
            nodes: nodes.collect(),
            powers: [1.0 + 4.0 * place, 1.0 + 4.0 * (1.0 - place)],
        }
    }

    /// The share of the way from the low to the high end that is not passed with probability `u`, 0 < u < 1.
    pub fn at(&self, u: f64) -> f64 {
        let cell = self.nodes.partition_point(|node| node.below <= u);
        let cell = cell.clamp(1, CELLS);
        let (from, to) = (self.nodes[cell - 1], self.nodes[cell]);
        if cell == 1 {
            return to.x * (u / to.below).powf(1.0 / self.powers[0]);
        }
        if cell == CELLS {
            let left = (1.0 - u) / (1.0 - from.below);
            return 1.0 - (1.0 - from.x) * left.powf(1.0 / self.powers[1]);
        }
        let width = to.x - from.x;
        let rise = to.below - from.below;
        let [enter, leave] = [from.density * width, to.density * width];
        // rise(t) = enter·t + second·t² + third·t³, with its slope at t = 1 `leave`.
        let second = 3.0 * rise - 2.0 * enter - leave;
        let third = enter + leave - 2.0 * rise;
        let wanted = u - from.below;
        let mut t = wanted / rise;
        for _ in 0..STEPS {
            let value = t * (enter + t * (second + t * third));
            let slope = enter + t * (2.0 * second + t * 3.0 * third);
            t = (t - (value - wanted) / slope).clamp(0.0, 1.0);
        }
        from.x + width * t
    }
}

#[cfg(test)]
mod tests {
    use super::Quantiles;
    use crate::model::pert::Pert;

    #[test]
    fn the_table_gives_what_the_law_gives_and_rises() {
        for place in [0.0, 0.01, 0.1, 0.3, 0.5, 0.8, 0.995, 1.0] {
            let (pert, table) = (Pert::new(0.0, place, 1.0), Quantiles::new(place));
            let mut last = 0.0;
            for step in 1..5_000 {
                let u = f64::from(step) / 5_000.0;
                let (found, exact) = (table.at(u), pert.quantile(u));
                assert!(
                    (found - exact).abs() < 1e-6,
                    "{place} {u}: {found} is not {exact}"
                );
                assert!(found > last, "{place} {u}");
                last = found;
            }
        }
    }
}
