//! Correlation coefficients between the inputs of a budget.

/// A symmetric matrix of coefficients with 1 on the diagonal.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Correlation {
    size: usize,
    /// Coefficients set, as (smaller index, larger index, coefficient).
    set: Vec<(usize, usize, f64)>,
}

impl Correlation {
    pub(super) const fn none(size: usize) -> Self {
        Self { size, set: Vec::new() }
    }

    pub(super) fn set(&mut self, first: usize, second: usize, coefficient: f64) {
        let (low, high) = (first.min(second), first.max(second));
        self.set.retain(|(a, b, _)| (*a, *b) != (low, high));
        if coefficient != 0.0 {
            self.set.push((low, high, coefficient));
        }
    }

    pub(super) fn get(&self, first: usize, second: usize) -> f64 {
        if first == second {
            return 1.0;
        }
        let pair = (first.min(second), first.max(second));
        self.set.iter().find(|(a, b, _)| (*a, *b) == pair).map_or(0.0, |(_, _, coefficient)| *coefficient)
    }

    pub(super) fn pairs(&self) -> &[(usize, usize, f64)] {
        &self.set
    }

    pub(super) fn involves(&self, index: usize) -> bool {
        self.set.iter().any(|(a, b, _)| *a == index || *b == index)
    }

    /// The lower triangle L with L L^T = the matrix, row by row; `None` where the coefficients contradict each other.
    pub(super) fn triangle(&self) -> Option<Vec<Vec<f64>>> {
        /// Coefficients of +-1, and those computed from few readings, leave nothing but rounding on the diagonal.
        const ROUNDING: f64 = 1e-10;
        let mut rows: Vec<Vec<f64>> = Vec::with_capacity(self.size);
        for i in 0..self.size {
            let mut row: Vec<f64> = Vec::with_capacity(i + 1);
            for j in 0..=i {
                let above = if j == i { row.as_slice() } else { rows.get(j).map_or(&[][..], Vec::as_slice) };
                let sum: f64 = row.iter().zip(above).take(j).map(|(a, b)| a * b).sum();
                let left = self.get(i, j) - sum;
                let entry = if j == i {
                    if left < -ROUNDING {
                        return None;
                    }
                    libm::sqrt(left.max(0.0))
                } else {
                    let pivot = rows.get(j).and_then(|above| above.get(j)).copied().unwrap_or(0.0);
                    if pivot > 1e-7 {
                        left / pivot
                    } else if left.abs() > 1e-7 {
                        return None;
                    } else {
                        0.0
                    }
                };
                row.push(entry);
            }
            rows.push(row);
        }
        Some(rows)
    }
}
