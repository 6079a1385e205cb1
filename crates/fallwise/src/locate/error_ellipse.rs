//! The error of a place in plan.

use serde::{Deserialize, Serialize};

use super::{FARTHEST_M, Point};
#[cfg(not(feature = "std"))]
use crate::math::Real as _;
use crate::{error::Error, math};

/// Standard deviations from the middle of a 95 % ellipse to its edge: the root of the 95 % quantile of chi-square with two degrees of
/// freedom, which is -2 ln 0.05.
pub const ELLIPSE_95: f64 = 2.447_746_830_680_816;

/// Errors of east and north of a place, which may go together.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct PlanError {
    east_sd_m: f64,
    north_sd_m: f64,
    correlation: f64,
}

/// An ellipse of one standard deviation.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct ErrorEllipse {
    /// Longer half axis, m.
    pub major_sd_m: f64,
    /// Shorter half axis, m.
    pub minor_sd_m: f64,
    /// Azimuth of the longer axis, rad, from 0 to below π; 0 of a circle.
    pub azimuth_rad: f64,
}

impl PlanError {
    /// Of standard deviations, m, and their correlation.
    ///
    /// # Errors
    /// [`Error::Value`] for a standard deviation that is negative or not finite, or a correlation outside -1 to 1.
    pub fn new(east_sd_m: f64, north_sd_m: f64, correlation: f64) -> Result<Self, Error> {
        for (field, sd) in [("east_sd_m", east_sd_m), ("north_sd_m", north_sd_m)] {
            if !(0.0..FARTHEST_M).contains(&sd) {
                return Err(Error::value(field, sd, "a length in metres, 0 or more"));
            }
        }
        if !(-1.0..=1.0).contains(&correlation) {
            return Err(Error::value("correlation", correlation, "-1 to 1"));
        }
        Ok(Self { east_sd_m, north_sd_m, correlation })
    }

    /// Standard deviation of east, m.
    pub fn east_sd_m(self) -> f64 {
        self.east_sd_m
    }

    /// Standard deviation of north, m.
    pub fn north_sd_m(self) -> f64 {
        self.north_sd_m
    }

    /// Correlation of the two.
    pub fn correlation(self) -> f64 {
        self.correlation
    }

    /// Standard deviation in a direction, m.
    ///
    /// ```
    /// use fallwise::locate::PlanError;
    /// let error = PlanError::new(0.3, 0.4, 0.0)?;
    /// assert_eq!(error.sd_m(0.0), 0.4); // towards north
    /// # Ok::<(), fallwise::Error>(())
    /// ```
    pub fn sd_m(self, azimuth_rad: f64) -> f64 {
        let (sin, cos) = math::sin_cos(azimuth_rad);
        self.sd_along_m([sin, cos])
    }

    /// Standard deviation along a unit vector, east and north, m.
    pub fn sd_along_m(self, way: Point) -> f64 {
        let (e, n) = (way[0] * self.east_sd_m, way[1] * self.north_sd_m);
        // (e + rn)² + (1 - r²)n²: a sum of squares, so that nothing cancels where east and north go against each other.
        let r = self.correlation;
        math::hypot(e + r * n, ((1.0 - r) * (1.0 + r)).max(0.0).sqrt() * n)
    }

    /// Its ellipse of one standard deviation; times [`ELLIPSE_95`] it holds the place with 95 %.
    ///
    /// The half axes are the roots of the eigenvalues of the covariance (Mikhail and Ackermann, *Observations and Least Squares*, 1976,
    /// from memory); the shorter one from the determinant, not from a difference.
    ///
    /// ```
    /// use fallwise::locate::PlanError;
    /// let ellipse = PlanError::new(0.3, 0.3, 0.6)?.ellipse();
    /// assert!((ellipse.azimuth_rad - core::f64::consts::FRAC_PI_4).abs() < 1e-15); // north-east
    /// assert!((ellipse.major_sd_m - 0.3 * 1.6f64.sqrt()).abs() < 1e-15);
    /// # Ok::<(), fallwise::Error>(())
    /// ```
    pub fn ellipse(self) -> ErrorEllipse {
        let largest = self.east_sd_m.max(self.north_sd_m);
        if largest == 0.0 {
            return ErrorEllipse { major_sd_m: 0.0, minor_sd_m: 0.0, azimuth_rad: 0.0 };
        }
        // In units of the larger, so that squares neither overflow nor vanish.
        let (e, n) = (self.east_sd_m / largest, self.north_sd_m / largest);
        let (half, both) = (0.5 * (n - e) * (n + e), self.correlation * e * n);
        let spread = math::hypot(half, both);
        let major = (0.5 * (e * e + n * n) + spread).sqrt();
        let root = ((1.0 - self.correlation) * (1.0 + self.correlation)).max(0.0).sqrt();
        let azimuth = if spread == 0.0 { 0.0 } else { 0.5 * math::atan2(both, half) };
        ErrorEllipse {
            major_sd_m: largest * major,
            minor_sd_m: largest * (e * n * root / major),
            azimuth_rad: if azimuth < 0.0 { azimuth + core::f64::consts::PI } else { azimuth },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::prelude::*;
    use core::f64::consts::PI;

    #[test]
    fn the_quantile_is_the_root_of_minus_two_ln_of_a_twentieth() {
        assert!((ELLIPSE_95 - (-2.0 * math::ln(0.05)).sqrt()).abs() < 1e-15);
    }

    #[test]
    fn what_is_no_error_is_refused() {
        for (east, north, correlation, field) in
            [(-1.0, 1.0, 0.0, "east_sd_m"), (1.0, f64::NAN, 0.0, "north_sd_m"), (1.0, 1.0, 1.1, "correlation")]
        {
            let told = PlanError::new(east, north, correlation).unwrap_err().to_string();
            assert!(told.contains(field), "{told}");
        }
        assert!(PlanError::new(1.0, 1.0, f64::NAN).is_err());
    }

    #[test]
    fn lines_and_points_are_ellipses_too() {
        let line = PlanError::new(0.3, 0.4, 1.0).unwrap().ellipse();
        assert!((line.major_sd_m - 0.5).abs() < 1e-15 && line.minor_sd_m == 0.0);
        let point = PlanError::new(0.0, 0.0, 0.5).unwrap().ellipse();
        assert_eq!((point.major_sd_m, point.minor_sd_m), (0.0, 0.0));
        let tiny = PlanError::new(1e-200, 2e-200, 0.0).unwrap().ellipse();
        assert!((tiny.major_sd_m / 2e-200 - 1.0).abs() < 1e-15 && (tiny.minor_sd_m / 1e-200 - 1.0).abs() < 1e-15);
    }

    /// The axes are where the standard deviation is largest and smallest, and their squares add up to those of east and north.
    #[test]
    fn axes_are_the_extremes() {
        let grid = |n: i32| (0..=n).map(move |i| f64::from(i) / f64::from(n));
        for (east, north) in grid(7).flat_map(|e| grid(5).map(move |n| (2.0 * e, 2.0 * n))) {
            for correlation in grid(8).map(|r| 2.0 * r - 1.0) {
                let error = PlanError::new(east, north, correlation).unwrap();
                let e = error.ellipse();
                let squares = |a: f64, b: f64| a * a + b * b;
                // Some roundings of squares of size 8.
                assert!((squares(e.major_sd_m, e.minor_sd_m) - squares(east, north)).abs() < 1e-14, "{e:?}");
                assert!((0.0..PI).contains(&e.azimuth_rad), "{e:?}");
                for sd in grid(12).map(|way| error.sd_m(PI * way)) {
                    assert!(sd <= e.major_sd_m + 1e-14 && sd >= e.minor_sd_m - 1e-14, "{sd} {e:?}");
                }
                // Along an axis it is stationary: an error of the azimuth counts with its square.
                assert!((error.sd_m(e.azimuth_rad) - e.major_sd_m).abs() < 1e-14, "{e:?}");
            }
        }
    }
}
