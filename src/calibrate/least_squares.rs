//! Least squares within linear bounds, and the statistics that turn its covariance into intervals.

use statrs::distribution::{ContinuousCDF, Normal, StudentsT};

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
    /// Indices of the active bounds.
    pub active: Vec<usize>,
}

/// Below this share of the largest a pivot counts as 0.
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
/// use berthage::calibrate::least_squares::{Bound, Equation, solve};
/// let equation = |n: f64, value| Equation { factors: vec![1.0, n], value, sigma: 1.0 };
/// let at_least_0 = |index| Bound { factors: (0..2).map(|i| f64::from(i == index)).collect(), least: 0.0 };
/// // 1, 3, 5 at 1, 2, 3 is −1 + 2n; with an intercept of at least 0 the best slope is 22/14.
/// let rows = [equation(1.0, 1.0), equation(2.0, 3.0), equation(3.0, 5.0)];
/// let fit = solve(&rows, &[at_least_0(0), at_least_0(1)]).expect("determined");
/// assert!((fit.x[1] - 22.0 / 14.0).abs() < 1e-9 && fit.x[0] == 0.0);
/// assert!((fit.free[0] + 1.0).abs() < 1e-9);
/// ```
pub fn solve(equations: &[Equation], bounds: &[Bound]) -> Option<Solution> {
    let unknowns = equations.first()?.factors.len();
    let normal = NormalEquations::new(equations, unknowns);
    let free = normal.solve_with(&[])?;
    let with_active = |set: u32| {
        let (active, others): (Vec<usize>, Vec<usize>) =
            (0..bounds.len()).partition(|index| set >> index & 1 == 1);
        let equalities: Vec<&Bound> = active.iter().map(|index| &bounds[*index]).collect();
        let mut x = normal.solve_with(&equalities)?;
        for bound in equalities {
            bound.round(&mut x);
        }
        let is_feasible = others.iter().all(|index| bounds[*index].holds(&x));
        is_feasible.then(|| (cost(equations, &x), x, active))
    };
    let sets = (0_u32..1 << bounds.len()).filter(|set| set.count_ones() as usize <= unknowns);
    // Of equally good ones the first is kept.
    let (_, x, active) = sets.filter_map(with_active).reduce(|best, next| {
        let is_better = next.0 < best.0 * (1.0 - SLACK);
        if is_better { next } else { best }
    })?;
    Some(Solution {
        x,
        free,
        covariance: normal.inverse()?,
        active,
    })
}

/// Σ of squared residuals over their sigmas.
pub fn cost(equations: &[Equation], x: &[f64]) -> f64 {
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
pub fn variance(form: &[f64], covariance: &[Vec<f64>]) -> f64 {
    dot(form, &product(covariance, form)).max(0.0)
}

/// `C·g`.
pub fn product(matrix: &[Vec<f64>], form: &[f64]) -> Vec<f64> {
    matrix.iter().map(|row| dot(row, form)).collect()
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

impl Bound {
    /// That one of `unknowns` unknowns is not below 0.
    pub fn not_negative(index: usize, unknowns: usize) -> Bound {
        Bound {
            factors: unit(index, unknowns),
            least: 0.0,
        }
    }

    fn holds(&self, x: &[f64]) -> bool {
        let parts = self.factors.iter().zip(x);
        let size: f64 = parts.map(|(factor, x)| (factor * x).abs()).sum();
        dot(&self.factors, x) >= self.least - SLACK * (size + self.least.abs())
    }

    /// Takes the rounding error out of the one unknown that an active bound is about.
    fn round(&self, x: &mut [f64]) {
        let parts = self.factors.iter().zip(x);
        let mut bounded = parts.filter(|(factor, _)| **factor != 0.0);
        if let (Some((factor, x)), None) = (bounded.next(), bounded.next()) {
            *x = self.least / factor;
        }
    }
}

/// 1 at an index and 0 elsewhere.
pub fn unit(index: usize, length: usize) -> Vec<f64> {
    let mut unit = vec![0.0; length];
    unit[index] = 1.0;
    unit
}

/// The normal equations, each unknown scaled to the size of its column; a row ends with its right-hand side.
struct NormalEquations {
    rows: Vec<Vec<f64>>,
    scale: Vec<f64>,
}

impl NormalEquations {
    fn new(equations: &[Equation], unknowns: usize) -> NormalEquations {
        let entry = |row: &Equation, index: usize| match row.factors.get(index) {
            Some(factor) => factor / row.sigma,
            None => row.value / row.sigma,
        };
        let column =
            |index: usize| -> Vec<f64> { equations.iter().map(|row| entry(row, index)).collect() };
        let mut columns: Vec<Vec<f64>> = (0..=unknowns).map(column).collect();
        let mut scale = Vec::new();
        for column in &mut columns[..unknowns] {
            let length = dot(column, column).sqrt();
            let factor = if length > 0.0 { 1.0 / length } else { 1.0 };
            column.iter_mut().for_each(|entry| *entry *= factor);
            scale.push(factor);
        }
        let rows = columns[..unknowns].iter();
        NormalEquations {
            rows: rows.map(|column| product(&columns, column)).collect(),
            scale,
        }
    }

    /// The best answer with some bounds as equations.
    fn solve_with(&self, equalities: &[&Bound]) -> Option<Vec<f64>> {
        let unknowns = self.scale.len();
        let scaled = |bound: &&Bound| -> Vec<f64> {
            let factors = bound.factors.iter().zip(&self.scale);
            let mut row: Vec<f64> = factors.map(|(factor, scale)| factor * scale).collect();
            let length = dot(&row, &row).sqrt();
            row.push(bound.least);
            row.iter_mut().for_each(|entry| *entry /= length);
            row
        };
        let added: Vec<Vec<f64>> = equalities.iter().map(scaled).collect();
        let zeros = vec![0.0; added.len()];
        let upper = self.rows.iter().enumerate().map(|(index, row)| {
            let multipliers: Vec<f64> = added.iter().map(|row| row[index]).collect();
            [&row[..unknowns], &multipliers, &row[unknowns..]].concat()
        });
        let lower = added
            .iter()
            .map(|row| [&row[..unknowns], &zeros, &row[unknowns..]].concat());
        let solution = eliminate(upper.chain(lower).collect())?;
        let unscaled = solution.iter().zip(&self.scale);
        Some(unscaled.map(|(x, scale)| x[0] * scale).collect())
    }

    /// Inverse of the normal matrix.
    fn inverse(&self) -> Option<Vec<Vec<f64>>> {
        let unknowns = self.scale.len();
        let rows = self.rows.iter().enumerate();
        let system = rows.map(|(index, row)| [&row[..unknowns], &unit(index, unknowns)].concat());
        let mut inverse = eliminate(system.collect())?;
        for (row, scale) in inverse.iter_mut().zip(&self.scale) {
            for (entry, other) in row.iter_mut().zip(&self.scale) {
                *entry *= scale * other;
            }
        }
        Some(inverse)
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

    use super::{Bound, Equation, cost, solve};

    #[test]
    fn what_is_not_determined_is_none() {
        let row = Equation {
            factors: vec![1.0, 2.0],
            value: 3.0,
            sigma: 1.0,
        };
        assert_eq!(solve(&[row], &[]), None);
        assert_eq!(solve(&[], &[]), None);
    }

    #[test]
    fn an_active_bound_holds_whatever_rounding_leaves() {
        // With the intercept at 0 the solution of these has an intercept of a rounding error below 0.
        let row = |n: f64, value: f64, sigma: f64| Equation {
            factors: vec![1.0, n],
            value,
            sigma,
        };
        let rows = [
            row(4.0, 71_787_452.842_783_57, 346_344_652.8),
            row(8.0, 342_115_126.878_964_07, 620_966_707.2),
            row(12.0, 593_409_766.758_650_5, 878_916_403.2),
        ];
        let fit = solve(&rows, &[Bound::not_negative(0, 2)]).expect("determined");
        assert_eq!((fit.x[0], fit.active), (0.0, vec![0]));
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
