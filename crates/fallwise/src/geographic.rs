//! From the job's local east and north to longitude and latitude (WGS 84), on the exact plane that touches the earth there.
//!
//! The local axes are taken as a plane that touches the ellipsoid at the [`Origin`]: east and north turned to true north, put
//! into earth-centred axes (rotation and shift), and back to longitude and latitude.
//!
//! # How exact
//! - The computation itself: below a micrometre, anywhere on the earth, at the poles and at the antimeridian too.
//! - Of a plane laid on an ellipsoid: a distance d from the origin is d^3 / (3 R^2) longer on the plane than on the ellipsoid,
//!   8 micrometres at 1 km and 8 mm at 10 km.
//! - Not in it: the scale of a map's grid (up to 0.4 m in a kilometre), and the height of the place above the ellipsoid, along
//!   which a metre is 0.16 mm a kilometre of height too long. Both are small beside how well a drain's plan is known.
//!
//! # Sources
//! Ellipsoid: NIMA TR8350.2, Department of Defense World Geodetic System 1984 (constants from memory). Earth-centred axes to latitude:
//! B. R. Bowring, Transformation from spatial to geographical coordinates, Survey Review 23 (1976), 323-327 (from memory). Held
//! against a general library (tests/vectors/geographic.py).

use core::f64::consts::{FRAC_PI_2, PI};

use crate::prelude::*;
use crate::{error::Error, math, model::Origin};

/// Half of the ellipsoid's long axis, m.
pub const SEMI_MAJOR_M: f64 = 6378137.0;
/// Flattening of the ellipsoid.
pub const FLATTENING: f64 = 1.0 / 298.257223563;

/// Half of its short axis, m.
const SEMI_MINOR_M: f64 = SEMI_MAJOR_M * (1.0 - FLATTENING);
/// First eccentricity, squared.
const E2: f64 = FLATTENING * (2.0 - FLATTENING);
/// Second eccentricity, squared.
const SECOND_E2: f64 = E2 / (1.0 - E2);

/// Farther from the origin than this a plane is no map, m: its distances are 8 m too long. Our choice.
pub const FARTHEST_M: f64 = 100e3;
/// What degrees lose when they become radians.
const ROUNDING: f64 = 1e-12;

/// A place on the ellipsoid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Geographic {
    /// Longitude, rad, positive east, above -pi and to pi.
    pub longitude_rad: f64,
    /// Geodetic latitude, rad, positive north.
    pub latitude_rad: f64,
}

impl Origin {
    /// Refuses a number that cannot be.
    ///
    /// # Errors
    /// [`Error::Value`] naming the first.
    pub fn validate(&self) -> Result<(), Error> {
        let within = |field: &str, value: f64, most: f64, expected: &str| {
            if (-most..=most).contains(&value) { Ok(()) } else { Err(Error::value(field, value, expected)) }
        };
        within("longitude_rad", self.longitude_rad, PI + ROUNDING, "a longitude from -180 to 180 degrees, in rad")?;
        within("latitude_rad", self.latitude_rad, FRAC_PI_2 + ROUNDING, "a latitude from -90 to 90 degrees, in rad")?;
        within("east_m", self.east_m, 1e9, "a number within 1e9 of 0")?;
        within("north_m", self.north_m, 1e9, "a number within 1e9 of 0")?;
        within("grid_north_rad", self.grid_north_rad, 10.0, "an azimuth of at most a turn and a half, in rad")?;
        match self.sd_m.filter(|sd| !(0.0..=1e9).contains(sd)) {
            Some(sd) => Err(Error::value("sd_m", sd, "a number from 0 to 1e9")),
            None => Ok(()),
        }
    }
}

/// Longitude and latitude of a point in the job's local axes.
///
/// # Errors
/// [`Error::Value`]: an origin that cannot be, or a point farther from it than [`FARTHEST_M`].
///
/// # Example
/// ```
/// use fallwise::{geographic, model::Origin, units::{deg, to_deg}};
///
/// let origin =
///     Origin { longitude_rad: deg(-30.0), latitude_rad: 0.0, east_m: 0.0, north_m: 0.0, grid_north_rad: 0.0, sd_m: None };
/// let there = geographic::place(&origin, 111.319_490_8, 0.0)?; // a thousandth of a degree along the equator
/// assert!((to_deg(there.longitude_rad) + 29.999).abs() < 1e-11 && there.latitude_rad.abs() < 1e-15);
/// # Ok::<(), fallwise::Error>(())
/// ```
pub fn place(origin: &Origin, east_m: f64, north_m: f64) -> Result<Geographic, Error> {
    origin.validate()?;
    let (east, north) = (east_m - origin.east_m, north_m - origin.north_m);
    let away_m = math::hypot(east, north);
    if !(0.0..=FARTHEST_M).contains(&away_m) {
        let expected = "a point within 100 km of the origin: check the axes of [origin] east and north";
        return Err(Error::value("distance from the origin", format!("{away_m} m"), expected));
    }
    let (sin_g, cos_g) = math::sin_cos(origin.grid_north_rad);
    let (true_east, true_north) = (east * cos_g + north * sin_g, north * cos_g - east * sin_g);

    let (sin_lat, cos_lat) = math::sin_cos(origin.latitude_rad);
    let curvature_m = SEMI_MAJOR_M / (1.0 - E2 * sin_lat * sin_lat).sqrt();
    // In the meridian of the origin, so that the antimeridian is nothing special: away from the axis, across, along the axis.
    let away = curvature_m * cos_lat - true_north * sin_lat;
    let along = curvature_m * (1.0 - E2) * sin_lat + true_north * cos_lat;
    let turned = if away == 0.0 && true_east == 0.0 { 0.0 } else { math::atan2(true_east, away) };
    Ok(Geographic {
        longitude_rad: wrapped(origin.longitude_rad + turned),
        latitude_rad: latitude(math::hypot(away, true_east), along),
    })
}

/// Geodetic latitude of a point at a distance from the axis and along it, m. Bowring's step, taken twice: at the heights that occur
/// here (below a kilometre) the first leaves less than a micrometre.
fn latitude(from_axis_m: f64, along_m: f64) -> f64 {
    let (mut sin_b, mut cos_b) = math::sin_cos(math::atan2(along_m, (1.0 - FLATTENING) * from_axis_m));
    let mut latitude_rad = 0.0;
    for _ in 0..2 {
        let above = along_m + SECOND_E2 * SEMI_MINOR_M * sin_b * sin_b * sin_b;
        let below = from_axis_m - E2 * SEMI_MAJOR_M * cos_b * cos_b * cos_b;
        latitude_rad = math::atan2(above, below);
        let (sin_lat, cos_lat) = math::sin_cos(latitude_rad);
        (sin_b, cos_b) = math::sin_cos(math::atan2((1.0 - FLATTENING) * sin_lat, cos_lat));
    }
    latitude_rad
}

/// An angle brought above -pi and to pi.
fn wrapped(angle_rad: f64) -> f64 {
    if angle_rad > PI {
        angle_rad - 2.0 * PI
    } else if angle_rad <= -PI {
        angle_rad + 2.0 * PI
    } else {
        angle_rad
    }
}
