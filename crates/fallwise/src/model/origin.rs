//! Where on the earth the job's local axes lie.

use serde::{Deserialize, Serialize};

/// A point whose longitude and latitude are known, and how the job's local axes lie there (WGS 84).
///
/// Nothing is guessed: a longitude of another datum may be a hundred metres off, and no figure shows it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Origin {
    /// Longitude of the point, rad, positive east of Greenwich, from -pi to pi.
    pub longitude_rad: f64,
    /// Geodetic latitude of the point, rad, positive north of the equator, from -pi/2 to pi/2.
    pub latitude_rad: f64,
    /// East of the point in the job's local axes, m.
    #[serde(default)]
    pub east_m: f64,
    /// North of the point in the job's local axes, m.
    #[serde(default)]
    pub north_m: f64,
    /// Azimuth of the job's grid north, rad, clockwise from true north. Absent: 0, the job's north is true north.
    #[serde(default)]
    pub grid_north_rad: f64,
    /// Standard deviation of the point's place, m, along each of east and north; it moves everything alike.
    #[serde(default)]
    pub sd_m: Option<f64>,
}
