//! Taping a place out from two marks.

use super::{Point, require_near};
use crate::prelude::*;
use crate::{error::Error, math};

/// How a place is found with two tapes, or with one and a right angle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Offset {
    /// Distance from the first mark, m.
    pub from_first_m: f64,
    /// Distance from the second mark, m.
    pub from_second_m: f64,
    /// Along the line from the first mark to the second, m; negative before the first.
    pub along_m: f64,
    /// Square off that line to the right, m; negative to the left.
    pub right_m: f64,
    /// By what the flat cut of the two tapes multiplies their errors: 1 where they meet at a right angle, infinite where they lie on each
    /// other.
    pub error_factor: f64,
}

/// Distances and offset of a place from two marks, in plan.
///
/// # Errors
/// [`Error::Value`] for a coordinate that is not finite, and for marks less than 0.1 m apart, from which no direction can be
/// taped (our choice).
///
/// # Example
/// ```
/// use fallwise::locate::offset;
/// // From the corners of a wall that runs 10 m to the north; the place is 3 m along it and 4 m to the right.
/// let tape = offset([0.0, 0.0], [0.0, 10.0], [4.0, 3.0])?;
/// assert_eq!((tape.along_m, tape.right_m, tape.from_first_m), (3.0, 4.0, 5.0));
/// # Ok::<(), fallwise::Error>(())
/// ```
pub fn offset(first: Point, second: Point, place: Point) -> Result<Offset, Error> {
    const APART_M: f64 = 0.1;
    for (field, point) in [("first", first), ("second", second), ("place", place)] {
        require_near(field, &point)?;
    }
    let base = [second[0] - first[0], second[1] - first[1]];
    let length = math::hypot(base[0], base[1]);
    if length.is_nan() || length < APART_M {
        return Err(Error::value(
            "second",
            format!("{length} m from the first mark"),
            "0.1 m or more from the first mark",
        ));
    }
    let unit = [base[0] / length, base[1] / length];
    let to = [place[0] - first[0], place[1] - first[1]];
    let from = [place[0] - second[0], place[1] - second[1]];
    let (from_first_m, from_second_m) = (math::hypot(to[0], to[1]), math::hypot(from[0], from[1]));
    let right_m = unit[1] * to[0] - unit[0] * to[1];
    // The sine of the angle at which the tapes cut: twice the area of the triangle over the product of its sides.
    let sine = (length * right_m).abs() / (from_first_m * from_second_m);
    Ok(Offset {
        from_first_m,
        from_second_m,
        along_m: unit[0] * to[0] + unit[1] * to[1],
        right_m,
        error_factor: if sine > 0.0 { 1.0 / sine } else { f64::INFINITY },
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_must_be_apart() {
        assert!(offset([1.0, 1.0], [1.0, 1.05], [2.0, 2.0]).unwrap_err().to_string().contains("second"));
        assert!(offset([1.0, f64::NAN], [1.0, 2.0], [2.0, 2.0]).unwrap_err().to_string().contains("first"));
    }

    #[test]
    fn tapes_that_lie_on_each_other_say_nothing_across() {
        let flat = offset([0.0, 0.0], [10.0, 0.0], [4.0, 0.0]).unwrap();
        assert!(flat.error_factor.is_infinite() && flat.right_m == 0.0);
        let square = offset([0.0, 0.0], [10.0, 0.0], [5.0, -5.0]).unwrap();
        // A triangle with a right angle at the place; right of a line to the east is south.
        assert!((square.error_factor - 1.0).abs() < 1e-15 && square.right_m == 5.0);
    }

    /// Along and right lead back to the place, and agree with the two distances.
    #[test]
    fn the_offset_leads_back() {
        let mut state = 1_u64;
        let mut number = || {
            // The generator of Knuth's MMIX (from memory); its high bits.
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            100.0 * ((state >> 40) as f64 / f64::from(1 << 24)) - 50.0
        };
        for _ in 0..2000 {
            let mut point = || [number(), number()];
            let (first, second, place) = (point(), point(), point());
            let Ok(tape) = offset(first, second, place) else { continue };
            let base = [second[0] - first[0], second[1] - first[1]];
            let length = math::hypot(base[0], base[1]);
            let unit = [base[0] / length, base[1] / length];
            let east = first[0] + tape.along_m * unit[0] + tape.right_m * unit[1];
            let north = first[1] + tape.along_m * unit[1] - tape.right_m * unit[0];
            // Roundings of numbers of size 100, times up to 1000 where marks lie 0.1 m apart.
            assert!((east - place[0]).abs() < 1e-11 && (north - place[1]).abs() < 1e-11, "{tape:?}");
            assert!((math::hypot(tape.along_m, tape.right_m) - tape.from_first_m).abs() < 1e-11, "{tape:?}");
            assert!((math::hypot(length - tape.along_m, tape.right_m) - tape.from_second_m).abs() < 1e-11, "{tape:?}");
        }
    }
}
