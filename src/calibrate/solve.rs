//! Least squares that keep linear forms of the unknowns at or above a least value.

/// One equation: `Σ factors·x = value`, off by about `sigma`.
#[derive(Debug, Clone, PartialEq)]
pub struct Equation {
    /// Factors of the unknowns.
    pub factors: Vec<f64>,
    /// Right-hand side.
    pub value: f64,
    /// Its standard error, up to a common factor.
    pub sigma: f64,
}

/// `Σ factors·x ≥ least`
#[derive(Debug, Clone, PartialEq)]
pub struct Bound {
    /// Factors of the unknowns.
    pub factors: Vec<f64>,
    /// Least value.
    pub least: f64,
}

/// What fits best.
#[derive(Debug, Clone, PartialEq)]
pub struct Solution {
    /// The unknowns within the bounds.
    pub x: Vec<f64>,
    /// The unknowns without any bound.
    pub free: Vec<f64>,
    /// Covariance of `free`, up to the square of the common factor.
    pub covariance: Vec<Vec<f64>>,
    /// Bounds that hold the answer back.
    pub active: Vec<usize>,
}

/// Below this share of the largest a pivot counts as nothing.
const SINGULAR: f64 = 1e-10;
/// Room for rounding when a bound is checked, relative to the sizes involved.
const SLACK: f64 = 1e-9;

/// Minimises `Σ ((value − Σ factors·x)/sigma)²` within the bounds.
///
/// The best answer within linear bounds is the best one with some of them as equations, so all sets of at most as many
/// bounds as there are unknowns are tried; with three unknowns and a handful of bounds that is exact and quick.
/// None where the equations do not determine the unknowns.
///
/// # Source
/// Lawson & Hanson, *Solving Least Squares Problems*, 1974, chapter 23 (the active set of NNLS, here enumerated).
///
/// # Example
/// ```
/// use berthage::calibrate::solve::{Bound, Equation, solve};
/// let equation = |n: f64, value| Equation { factors: vec![1.0, n], value, sigma: 1.0 };
/// let at_least_nothing = |index| Bound { factors: (0..2).map(|i| f64::from(i == index)).collect(), least: 0.0 };
/// // 1, 3, 5 at 1, 2, 3 is −1 + 2n; with an intercept of at least 0 the best slope is 22/14.
/// let rows = [equation(1.0, 1.0), equation(2.0, 3.0), equation(3.0, 5.0)];
/// let fit = solve(&rows, &[at_least_nothing(0), at_least_nothing(1)]).expect("determined");
/// assert!((fit.x[1] - 22.0 / 14.0).abs() < 1e-9 && fit.x[0] == 0.0);
/// assert!((fit.free[0] + 1.0).abs() < 1e-9);
/// ```
#[must_use]
pub fn solve(equations: &[Equation], bounds: &[Bound]) -> Option<Solution> {
    let unknowns = equations.first()?.factors.len();
    let normal = Normal::new(equations, unknowns);
    let free = normal.with_equations(&[])?;
    let mut best: Option<(f64, Vec<f64>, Vec<usize>)> = None;
    for set in 0_u32..1 << bounds.len() {
        let active: Vec<usize> = (0..bounds.len())
            .filter(|index| set >> index & 1 == 1)
            .collect();
        if active.len() > unknowns {
            continue;
        }
        let held: Vec<&Bound> = active.iter().map(|index| &bounds[*index]).collect();
        let Some(x) = normal.with_equations(&held) else {
            continue;
        };
        if !bounds.iter().all(|bound| bound.holds(&x)) {
            continue;
        }
        let cost = cost(equations, &x);
        if best
            .as_ref()
            .is_none_or(|(least, ..)| cost < least * (1.0 - SLACK))
        {
            best = Some((cost, x, active));
        }
    }
    let (_, mut x, active) = best?;
    // What is held at nothing is nothing, not a rounding error of it.
    for bound in active.iter().map(|index| &bounds[*index]) {
        if let [index] = bound
            .factors
            .iter()
            .enumerate()
            .filter(|(_, factor)| **factor != 0.0)
            .map(|(index, _)| index)
            .collect::<Vec<_>>()[..]
        {
            x[index] = bound.least / bound.factors[index];
        }
    }
    Some(Solution {
        x,
        free,
        covariance: normal.inverse()?,
        active,
    })
}

/// Σ of squared errors over their sigmas.
#[must_use]
pub fn cost(equations: &[Equation], x: &[f64]) -> f64 {
    equations
        .iter()
        .map(|equation| ((equation.value - dot(&equation.factors, x)) / equation.sigma).powi(2))
        .sum()
}

/// Σ of products.
#[must_use]
pub fn dot(one: &[f64], other: &[f64]) -> f64 {
    one.iter().zip(other).map(|(one, other)| one * other).sum()
}

/// `gᵀ·C·g`: the variance of a linear form.
#[must_use]
pub fn variance(form: &[f64], covariance: &[Vec<f64>]) -> f64 {
    covariance
        .iter()
        .zip(form)
        .map(|(row, factor)| factor * dot(row, form))
        .sum::<f64>()
        .max(0.0)
}

impl Bound {
    fn holds(&self, x: &[f64]) -> bool {
        let size: f64 = self
            .factors
            .iter()
            .zip(x)
            .map(|(factor, x)| (factor * x).abs())
            .sum();
        dot(&self.factors, x) >= self.least - SLACK * (size + self.least.abs())
    }
}

/// The normal equations, each unknown scaled to the size of its column.
struct Normal {
    matrix: Vec<Vec<f64>>,
    right: Vec<f64>,
    scale: Vec<f64>,
}

impl Normal {
    fn new(equations: &[Equation], unknowns: usize) -> Normal {
        let weighted = |index: usize| {
            equations
                .iter()
                .map(move |row| row.factors[index] / row.sigma)
        };
        let scale: Vec<f64> = (0..unknowns)
            .map(|index| {
                weighted(index)
                    .map(|factor| factor * factor)
                    .sum::<f64>()
                    .sqrt()
            })
            .map(|length| if length > 0.0 { 1.0 / length } else { 1.0 })
            .collect();
        let product = |one: usize, other: usize| {
            weighted(one)
                .zip(weighted(other))
                .map(|(a, b)| a * b)
                .sum::<f64>()
        };
        let matrix = (0..unknowns)
            .map(|one| {
                (0..unknowns)
                    .map(|other| product(one, other) * scale[one] * scale[other])
                    .collect()
            })
            .collect();
        let right = (0..unknowns)
            .map(|index| {
                let values = equations.iter().map(|row| row.value / row.sigma);
                weighted(index).zip(values).map(|(a, b)| a * b).sum::<f64>() * scale[index]
            })
            .collect();
        Normal {
            matrix,
            right,
            scale,
        }
    }

    /// The best answer with some bounds as equations.
    fn with_equations(&self, held: &[&Bound]) -> Option<Vec<f64>> {
        let (unknowns, size) = (self.right.len(), self.right.len() + held.len());
        let mut system = vec![vec![0.0; size + 1]; size];
        for (row, (matrix, right)) in system.iter_mut().zip(self.matrix.iter().zip(&self.right)) {
            row[..unknowns].copy_from_slice(matrix);
            row[size] = *right;
        }
        for (index, bound) in held.iter().enumerate() {
            let scaled: Vec<f64> = bound
                .factors
                .iter()
                .zip(&self.scale)
                .map(|(factor, scale)| factor * scale)
                .collect();
            let length = dot(&scaled, &scaled).sqrt();
            if length == 0.0 {
                return None;
            }
            for (column, factor) in scaled.iter().enumerate() {
                system[unknowns + index][column] = factor / length;
                system[column][unknowns + index] = factor / length;
            }
            system[unknowns + index][size] = bound.least / length;
        }
        let scaled = eliminate(system)?;
        Some(
            scaled
                .iter()
                .zip(&self.scale)
                .map(|(x, scale)| x * scale)
                .collect(),
        )
    }

    /// Inverse of the normal matrix.
    fn inverse(&self) -> Option<Vec<Vec<f64>>> {
        let unknowns = self.right.len();
        let columns: Option<Vec<Vec<f64>>> = (0..unknowns)
            .map(|column| {
                let with = |row: usize| {
                    let mut line = self.matrix[row].clone();
                    line.push(f64::from(u8::from(row == column)));
                    line
                };
                eliminate((0..unknowns).map(with).collect())
            })
            .collect();
        let columns = columns?;
        let entry =
            |row: usize, column: usize| columns[column][row] * self.scale[row] * self.scale[column];
        Some(
            (0..unknowns)
                .map(|row| (0..unknowns).map(|column| entry(row, column)).collect())
                .collect(),
        )
    }
}

/// Gaussian elimination with pivots by row; none where the system is singular.
fn eliminate(mut system: Vec<Vec<f64>>) -> Option<Vec<f64>> {
    let size = system.len();
    for column in 0..size {
        let pivot = (column..size).max_by(|one, other| {
            system[*one][column]
                .abs()
                .total_cmp(&system[*other][column].abs())
        })?;
        let value = system[pivot][column];
        if value.is_nan() || value.abs() < SINGULAR {
            return None;
        }
        system.swap(column, pivot);
        let top = system[column].clone();
        for (_, row) in system
            .iter_mut()
            .enumerate()
            .filter(|(row, _)| *row != column)
        {
            let factor = row[column] / value;
            for (own, above) in row.iter_mut().zip(&top).skip(column) {
                *own -= factor * above;
            }
        }
    }
    Some(
        (0..size)
            .map(|row| system[row][size] / system[row][row])
            .collect(),
    )
}

#[cfg(test)]
mod tests {
    use proptest::prelude::{prop_assert, proptest};

    use super::{Bound, Equation, cost, solve};

    #[test]
    fn what_is_not_determined_is_none() {
        let rows = [Equation {
            factors: vec![1.0, 2.0],
            value: 3.0,
            sigma: 1.0,
        }; 1];
        assert_eq!(solve(&rows, &[]), None);
        assert_eq!(solve(&[], &[]), None);
    }

    proptest! {
        /// No other point within the bounds fits better.
        #[test]
        fn nothing_fits_better(
            values in proptest::collection::vec(-10.0f64..10.0, 5),
            other in proptest::collection::vec(0.0f64..10.0, 2),
        ) {
            let rows: Vec<Equation> = values
                .iter()
                .enumerate()
                .map(|(n, value)| Equation { factors: vec![1.0, n as f64], value: *value, sigma: 1.0 + n as f64 * 0.1 })
                .collect();
            let bounds = [0, 1].map(|index| Bound { factors: (0..2).map(|i| f64::from(i == index)).collect(), least: 0.0 });
            let fit = solve(&rows, &bounds).expect("determined");
            prop_assert!(fit.x.iter().all(|x| *x >= 0.0));
            prop_assert!(cost(&rows, &fit.x) <= cost(&rows, &other) * (1.0 + 1e-9));
            prop_assert!(cost(&rows, &fit.free) <= cost(&rows, &fit.x) * (1.0 + 1e-9));
        }
    }
}
