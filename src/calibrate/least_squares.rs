//! Least squares within linear bounds, and the statistics that turn its covariance into intervals.

use std::array::from_fn;

use statrs::distribution::{ContinuousCDF, Normal, StudentsT};

use crate::model::affine::Affine;

/// One equation: `Σ factors·x = value`, off by about `sigma`.
#[derive(Debug, Clone, PartialEq)]
pub struct Equation<const N: usize> {
    /// Factors of the unknowns.
    pub factors: [f64; N],
    /// Right-hand side.
    pub value: f64,
    /// Its standard error, up to a common factor.
    pub sigma: f64,
}

/// What fits best; unknowns that were not sought are 0.
#[derive(Debug, Clone, PartialEq)]
pub struct Solution<const N: usize> {
    /// The unknowns within the bounds.
    pub x: [f64; N],
    /// The unknowns without any bound.
    pub free: [f64; N],
    /// Covariance of `free`, up to the square of the common factor.
    pub covariance: [[f64; N]; N],
    /// Indices of the active bounds.
    pub active: Vec<usize>,
}

/// Below this share of the largest a pivot counts as 0.
const SINGULAR: f64 = 1e-10;
/// Room for rounding when a bound is checked, relative to the sizes involved.
const SLACK: f64 = 1e-9;

/// Minimises `Σ ((value − Σ factors·x)/sigma)²` over the unknowns that are sought, where none of the `bounds` is below 0.
///
/// The best answer within linear bounds is the best one with some of them as equations, so all sets of at most as many
/// bounds as there are unknowns are tried; with three unknowns and a handful of bounds that is exact and quick.
/// None where the equations do not determine the unknowns.
///
/// - `sought` indices of the unknowns; the others have a factor of 0 everywhere
///
/// # Source
/// Lawson & Hanson, *Solving Least Squares Problems*, 1974, chapter 23 (the active set of NNLS, here enumerated).
///
/// # Example
/// ```
/// use berthage::calibrate::least_squares::{Equation, solve};
/// use berthage::model::affine::Affine;
/// let equation = |n: f64, value| Equation { factors: [1.0, n], value, sigma: 1.0 };
/// // 1, 3, 5 at 1, 2, 3 is −1 + 2n; with an intercept of at least 0 the best slope is 22/14.
/// let rows = [equation(1.0, 1.0), equation(2.0, 3.0), equation(3.0, 5.0)];
/// let fit = solve(&[0, 1], &rows, &[0, 1].map(Affine::unknown)).expect("determined");
/// assert!((fit.x[1] - 22.0 / 14.0).abs() < 1e-9 && fit.x[0] == 0.0);
/// assert!((fit.free[0] + 1.0).abs() < 1e-9);
/// ```
pub fn solve<const N: usize>(
    sought: &[usize],
    equations: &[Equation<N>],
    bounds: &[Affine<N>],
) -> Option<Solution<N>> {
    let normal = NormalEquations::new(sought, equations);
    let (free, covariance) = normal.solve_with(&[])?;
    let with_active = |set: u32| {
        let (active, others): (Vec<usize>, Vec<usize>) =
            (0..bounds.len()).partition(|index| set >> index & 1 == 1);
        let equalities: Vec<&Affine<N>> = active.iter().map(|index| &bounds[*index]).collect();
        let (mut x, _) = normal.solve_with(&equalities)?;
        for bound in equalities {
            round(bound, &mut x);
        }
        let is_feasible = others.iter().all(|index| holds(&bounds[*index], &x));
        is_feasible.then(|| (cost(equations, &x), x, active))
    };
    let sets = (0_u32..1 << bounds.len()).filter(|set| set.count_ones() as usize <= sought.len());
    // Of equally good ones the first is kept.
    let (_, x, active) = sets.filter_map(with_active).reduce(|best, next| {
        let is_better = next.0 < best.0 * (1.0 - SLACK);
        if is_better { next } else { best }
    })?;
    Some(Solution {
        x,
        free,
        covariance,
        active,
    })
}

/// Σ of squared residuals over their sigmas.
pub fn cost<const N: usize>(equations: &[Equation<N>], x: &[f64; N]) -> f64 {
    equations
        .iter()
        .map(|equation| ((equation.value - dot(&equation.factors, x)) / equation.sigma).powi(2))
        .sum()
}

/// Σ of products.
pub fn dot(one: &[f64], other: &[f64]) -> f64 {
    one.iter().zip(other).map(|(one, other)| one * other).sum()
}

/// `gᵀ·C·g`: the variance of a linear form.
pub fn variance<const N: usize>(form: &[f64; N], covariance: &[[f64; N]; N]) -> f64 {
    dot(form, &product(covariance, form)).max(0.0)
}

/// `C·g`.
pub fn product<const N: usize>(matrix: &[[f64; N]; N], form: &[f64; N]) -> [f64; N] {
    matrix.map(|row| dot(&row, form))
}

/// Quantile of Student's t; of the normal distribution where the error was not estimated.
pub fn quantile(probability: f64, freedom: usize) -> f64 {
    let normal = || Normal::standard().inverse_cdf(probability);
    match freedom {
        0 => normal(),
        freedom => StudentsT::new(0.0, 1.0, freedom as f64)
            .map_or_else(|_| normal(), |student| student.inverse_cdf(probability)),
    }
}

/// Whether a bound is not below 0, but for rounding.
fn holds<const N: usize>(bound: &Affine<N>, x: &[f64; N]) -> bool {
    let parts = bound.factors.iter().zip(x);
    let size: f64 = parts.map(|(factor, x)| (factor * x).abs()).sum();
    dot(&bound.factors, x) >= -bound.constant - SLACK * (size + bound.constant.abs())
}

/// Takes the rounding error out of the one unknown that an active bound is about.
fn round<const N: usize>(bound: &Affine<N>, x: &mut [f64; N]) {
    let parts = bound.factors.iter().zip(x);
    let mut bounded = parts.filter(|(factor, _)| **factor != 0.0);
    if let (Some((factor, x)), None) = (bounded.next(), bounded.next()) {
        *x = (0.0 - bound.constant) / factor;
    }
}

/// The normal equations, each unknown scaled to the size of its column; a row ends with its right-hand side.
struct NormalEquations<const N: usize> {
    rows: Vec<Vec<f64>>,
    scale: [f64; N],
}

impl<const N: usize> NormalEquations<N> {
    fn new(sought: &[usize], equations: &[Equation<N>]) -> NormalEquations<N> {
        let entry =
            |row: &Equation<N>, index| row.factors.get(index).unwrap_or(&row.value) / row.sigma;
        let column = |index| equations.iter().map(|row| entry(row, index)).collect();
        let mut columns: Vec<Vec<f64>> = (0..=N).map(column).collect();
        let mut scale = [1.0; N];
        for (column, scale) in columns.iter_mut().zip(&mut scale) {
            let length = dot(column, column).sqrt();
            if length > 0.0 {
                *scale = 1.0 / length;
            }
            column.iter_mut().for_each(|entry| *entry *= *scale);
        }
        let row = |index: usize| {
            let products = columns.iter().map(|column| dot(column, &columns[index]));
            let mut row: Vec<f64> = products.collect();
            if !sought.contains(&index) {
                row[index] = 1.0;
            }
            row
        };
        NormalEquations {
            rows: (0..N).map(row).collect(),
            scale,
        }
    }

    /// The best answer with some bounds as equations, and the inverse of the matrix.
    fn solve_with(&self, equalities: &[&Affine<N>]) -> Option<([f64; N], [[f64; N]; N])> {
        let scaled = |bound: &&Affine<N>| -> Vec<f64> {
            let row: [f64; N] = from_fn(|index| bound.factors[index] * self.scale[index]);
            let length = dot(&row, &row).sqrt();
            let row = row.into_iter().chain([-bound.constant]);
            row.map(|entry| entry / length).collect()
        };
        let added: Vec<Vec<f64>> = equalities.iter().map(scaled).collect();
        let zeros = vec![0.0; added.len().max(N)];
        let upper = self.rows.iter().enumerate().map(|(index, row)| {
            let multipliers: Vec<f64> = added.iter().map(|row| row[index]).collect();
            let unit = Affine::<N>::unknown(index).factors;
            [&row[..N], &multipliers, &row[N..], &unit].concat()
        });
        let lower = added
            .iter()
            .map(|row| [&row[..N], &zeros[..added.len()], &row[N..], &zeros[..N]].concat());
        let solution = eliminate(upper.chain(lower).collect())?;
        let scale = &self.scale;
        let inverse =
            |row: usize| from_fn(|column| solution[row][1 + column] * (scale[row] * scale[column]));
        Some((
            from_fn(|row| solution[row][0] * scale[row]),
            from_fn(inverse),
        ))
    }
}

/// Gauss–Jordan elimination with pivots by row: the solution for each column right of the square; none where it is
/// singular.
fn eliminate(mut system: Vec<Vec<f64>>) -> Option<Vec<Vec<f64>>> {
    let size = system.len();
    for column in 0..size {
        let pivot = (column..size).max_by(|one, other| {
            let [one, other] = [one, other].map(|row| system[*row][column].abs());
            one.total_cmp(&other)
        })?;
        let value = system[pivot][column];
        if value.is_nan() || value.abs() < SINGULAR {
            return None;
        }
        system.swap(column, pivot);
        let top = system[column].clone();
        let others = system.iter_mut().enumerate();
        for (_, row) in others.filter(|(row, _)| *row != column) {
            let factor = row[column] / value;
            for (own, above) in row.iter_mut().zip(&top).skip(column) {
                *own -= factor * above;
            }
        }
    }
    let rows = system.iter().enumerate().map(|(row, line)| {
        let right = line[size..].iter();
        right.map(|value| value / line[row]).collect()
    });
    Some(rows.collect())
}

#[cfg(test)]
mod tests {
    use proptest::prelude::{prop_assert, proptest};

    use super::{Equation, cost, solve};
    use crate::model::affine::Affine;

    #[test]
    fn what_is_not_determined_is_none() {
        let row = Equation {
            factors: [1.0, 2.0],
            value: 3.0,
            sigma: 1.0,
        };
        assert_eq!(solve(&[0, 1], &[row], &[]), None);
        assert_eq!(solve::<2>(&[0, 1], &[], &[]), None);
    }

    #[test]
    fn an_active_bound_holds_whatever_rounding_leaves() {
        // With the intercept at 0 the solution of these has an intercept of a rounding error below 0.
        let row = |n: f64, value: f64, sigma: f64| Equation {
            factors: [1.0, n],
            value,
            sigma,
        };
        let rows = [
            row(4.0, 71_787_452.842_783_57, 346_344_652.8),
            row(8.0, 342_115_126.878_964_07, 620_966_707.2),
            row(12.0, 593_409_766.758_650_5, 878_916_403.2),
        ];
        let fit = solve(&[0, 1], &rows, &[Affine::unknown(0)]).expect("determined");
        assert_eq!((fit.x[0], fit.active), (0.0, vec![0]));
    }

    proptest! {
        /// No other point within the bounds fits better.
        #[test]
        fn nothing_fits_better(
            values in proptest::collection::vec(-10.0f64..10.0, 5),
            other in proptest::array::uniform2(0.0f64..10.0),
        ) {
            let rows: Vec<Equation<2>> = values
                .iter()
                .enumerate()
                .map(|(n, value)| Equation { factors: [1.0, n as f64], value: *value, sigma: 1.0 + n as f64 * 0.1 })
                .collect();
            let fit = solve(&[0, 1], &rows, &[0, 1].map(Affine::unknown)).expect("determined");
            prop_assert!(fit.x.iter().all(|x| *x >= 0.0));
            prop_assert!(cost(&rows, &fit.x) <= cost(&rows, &other) * (1.0 + 1e-9));
            prop_assert!(cost(&rows, &fit.free) <= cost(&rows, &fit.x) * (1.0 + 1e-9));
        }
    }
}
