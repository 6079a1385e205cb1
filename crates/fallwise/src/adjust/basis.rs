//! Vectors made orthonormal one by one, and the shortest vector that has given products with them.
//!
//! Gram and Schmidt's way, each vector gone over again where it lost more than half of its length: "twice is enough"
//! (Giraud, Langou, Rozložník, van den Eshof, *Numerische Mathematik* 101, 2005). The condition of what is solved is that of the
//! vectors, not its square, so that an error of a nanometre is told from one of metres.

use core::ops::Range;

pub(super) use crate::math::dot;
use crate::prelude::*;

/// Some entries of a vector whose last zeros are left out, as far as they are there.
pub(super) fn part(vector: &[f64], entries: Range<usize>) -> &[f64] {
    vector.get(entries.start.min(vector.len())..entries.end.min(vector.len())).unwrap_or_default()
}

/// A vector shorter than this after what it has in common with those before it was taken off, as a share of what it was, has
/// nothing of its own: some hundred roundings.
const NOTHING: f64 = 1e-13;

/// Orthonormal vectors Q and the triangle R with B = Q R, B the vectors put in. Zeros at the end of a vector are left out: each equation of
/// a tie has an error of its own, so that the first vectors are short.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Basis {
    pub(super) vectors: Vec<Vec<f64>>,
    /// Of each vector put in: its products with the vectors of the basis before it, then, where it has something of its own, what
    /// that is long.
    triangle: Vec<Vec<f64>>,
    /// Which vector of the basis each vector put in has brought, if any.
    brought: Vec<Option<usize>>,
}

impl Basis {
    /// The basis of the vectors, in their order.
    pub(super) fn new<'a>(vectors: impl IntoIterator<Item = &'a [f64]>) -> Self {
        let mut basis = Self::default();
        for vector in vectors {
            basis.push(vector);
        }
        basis
    }

    fn push(&mut self, vector: &[f64]) {
        let whole = norm(vector);
        let mut rest = vector.to_vec();
        let mut products = self.take_off(&mut rest);
        let mut length = norm(&rest);
        if length < 0.5 * whole {
            let again = self.take_off(&mut rest);
            products.iter_mut().zip(again).for_each(|(p, more)| *p += more);
            length = norm(&rest);
        }
        if length > NOTHING * whole && length > f64::MIN_POSITIVE {
            rest.truncate(rest.iter().rposition(|x| *x != 0.0).map_or(0, |last| last + 1));
            for x in &mut rest {
                *x /= length;
            }
            products.push(length);
            self.brought.push(Some(self.vectors.len()));
            self.vectors.push(rest);
        } else {
            self.brought.push(None);
        }
        self.triangle.push(products);
    }

    /// Takes off a vector what lies in the basis; returns its products with it.
    pub(super) fn take_off(&self, vector: &mut [f64]) -> Vec<f64> {
        let take = |q: &Vec<f64>| {
            let along = dot(q, vector);
            vector.iter_mut().zip(q).for_each(|(x, q)| *x -= along * q);
            along
        };
        self.vectors.iter().map(take).collect()
    }

    /// Which of the vectors put in have nothing of their own.
    pub(super) fn repeated(&self, which: usize) -> bool {
        self.brought.get(which).is_some_and(Option::is_none)
    }

    /// Number of vectors.
    pub(super) fn len(&self) -> usize {
        self.vectors.len()
    }

    /// Products of the shortest z that has the products `given` with the vectors put in, with the vectors of the basis: z = Q c. Beside
    /// it, of each vector that has nothing of its own, by how much it is missed.
    pub(super) fn coefficients(&self, given: &[f64]) -> (Vec<f64>, Vec<f64>) {
        let mut c: Vec<f64> = Vec::with_capacity(self.len());
        let mut missed = vec![0.0; given.len()];
        for (i, ((row, given), brought)) in self.triangle.iter().zip(given).zip(&self.brought).enumerate() {
            let left = given - dot(row.get(..row.len().min(c.len())).unwrap_or_default(), &c);
            match (brought, row.last()) {
                (Some(_), Some(length)) => c.push(left / length),
                _ => missed[i] = left,
            }
        }
        (c, missed)
    }

    /// The vector z = Q c.
    pub(super) fn combine(&self, c: &[f64]) -> Vec<f64> {
        let mut z = vec![0.0; self.vectors.iter().map(Vec::len).max().unwrap_or(0)];
        for (q, c) in self.vectors.iter().zip(c) {
            z.iter_mut().zip(q).for_each(|(z, q)| *z += c * q);
        }
        z
    }

    /// The inverse of the triangle, by columns: column j holds the entries of rows 0 to j, of the vectors that brought something.
    pub(super) fn inverse(&self) -> Vec<Vec<f64>> {
        let rows: Vec<&Vec<f64>> =
            self.triangle.iter().zip(&self.brought).filter(|(_, b)| b.is_some()).map(|(row, _)| row).collect();
        // Row j of `rows` is column j of R. Column j of the inverse X solves R x = e_j, from below: what is found is taken off those above.
        let mut columns = Vec::with_capacity(rows.len());
        for j in 0..rows.len() {
            let mut x = vec![0.0; j + 1];
            x[j] = 1.0;
            for (k, row) in rows.iter().enumerate().take(j + 1).rev() {
                let found = x[k] / row[k];
                x[k] = found;
                x.iter_mut().zip(row.iter().take(k)).for_each(|(x, r)| *x -= r * found);
            }
            columns.push(x);
        }
        columns
    }

    /// Of the vectors put in, those that brought something, in order.
    pub(super) fn own(&self) -> Vec<usize> {
        self.brought.iter().enumerate().filter(|(_, b)| b.is_some()).map(|(i, _)| i).collect()
    }
}

pub(super) fn norm(a: &[f64]) -> f64 {
    dot(a, a).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_vector_that_all_but_repeats_another_keeps_what_is_its_own() {
        // Two that differ by a part in 10^8: the shortest z with products 1 and 1 + 1e-8 is (1, 1).
        let basis = Basis::new([&[1.0, 0.0][..], &[1.0, 1e-8]]);
        let (c, missed) = basis.coefficients(&[1.0, 1.0 + 1e-8]);
        let z = basis.combine(&c);
        // 1e-8 of a rounding of 1, twice.
        assert!((z[0] - 1.0).abs() < 1e-15 && (z[1] - 1.0).abs() < 4e-8, "{z:?}");
        assert_eq!(missed, [0.0, 0.0]);
    }

    #[test]
    fn a_vector_without_anything_of_its_own_says_by_how_much_it_is_missed() {
        let basis = Basis::new([&[1.0, 0.0, 0.0][..], &[2.0, 0.0, 0.0], &[0.0, 0.0, 0.0]]);
        assert!(!basis.repeated(0) && basis.repeated(1) && basis.repeated(2));
        let (c, missed) = basis.coefficients(&[1.0, 2.5, 0.1]);
        assert_eq!((c, missed), (vec![1.0], vec![0.0, 0.5, 0.1]));
    }

    #[test]
    fn zeros_at_the_end_are_left_out_and_make_no_difference() {
        let basis = Basis::new([&[3.0, 4.0, 0.0, 0.0][..], &[0.0, 0.0, 0.0, 2.0]]);
        assert_eq!(basis.vectors, [vec![0.6, 0.8], vec![0.0, 0.0, 0.0, 1.0]]);
        assert_eq!(basis.combine(&[5.0, 7.0]), [3.0, 4.0, 0.0, 7.0]);
        let mut vector = [3.0, 4.0, 1.0, 9.0];
        // Products of fractions of ten: a rounding of 5 each.
        let along = basis.take_off(&mut vector);
        assert!((along[0] - 5.0).abs() < 1e-14 && along[1] == 9.0, "{along:?}");
        assert!(vector.iter().zip([0.0, 0.0, 1.0, 0.0]).all(|(x, y)| (x - y).abs() < 1e-14), "{vector:?}");
        assert_eq!(part(&basis.vectors[0], 1..4), [0.8]);
        assert_eq!(part(&basis.vectors[0], 3..4), [0.0; 0]);
    }

    #[test]
    fn the_inverse_is_that_of_the_triangle() {
        let vectors = [[1.0, 2.0, 0.5, 0.0], [0.0, 1.0, 1.0, 3.0], [2.0, 0.0, 1.0, 1.0]];
        let basis = Basis::new(vectors.iter().map(|v| &v[..]));
        let inverse = basis.inverse();
        for (i, vector) in vectors.iter().enumerate() {
            for (j, column) in inverse.iter().enumerate() {
                // B X = Q, so the products with the basis are those of the identity.
                let q: Vec<f64> = (0..4).map(|r| (0..=j).map(|k| vectors[k][r] * column[k]).sum()).collect();
                let product = dot(&q, &basis.vectors[j]);
                // A handful of roundings of numbers of size 3.
                assert!((product - 1.0).abs() < 1e-14 && vector.len() == 4, "{i} {j} {product}");
            }
        }
    }
}
