//! A direction at each station: minimum curvature.
//!
//! Between two stations the pipe is taken as an arc of a circle that has the direction measured at either end. With the
//! unit directions u1 and u2 and the angle b between them, the displacement over a length L is
//! `L * tan(b/2) / (b/2) * (u1 + u2) / 2`.
//!
//! Neither the arc cosine of a scalar product (useless below 1e-6 rad) nor the quotient of cross and scalar product
//! keeps small angles. Here sin(b/2) = |u1 - u2| / 2 and cos(b/2) = |u1 + u2| / 2 (Kahan), which need no trigonometry
//! beyond one sine and cosine an angle, and [`dogleg`] uses half-angles of the differences.
//!
//! Source: the method is common property of borehole surveying (Taylor and Mason 1972, from memory); the formula as in
//! Sawaryn and Thorogood 2005 (SPE 84246, from memory). There inclination is from the vertical: tilt = 90 degrees -
//! inclination.
//!
//! Limits: positions are summed as they come; over a million stations and 100 km the sum is good to about 1 nm.

use super::directions::{BLOCK, Block, sin_cos};
use crate::prelude::*;
use crate::{
    error::{Error, require_finite, require_length},
    math,
};

/// cos(b/2) below which a turn counts as a reversal: less than 2e-8 rad short of half a turn, where rounding leaves the
/// direction of the mean fewer than eight digits.
const REVERSAL_COS: f64 = 1e-8;
/// Tilts may pass 90 degrees by this much, rad: the rounding of a conversion from other units.
const VERTICAL_SLACK_RAD: f64 = 1e-9;
/// Two directions at one station this near, rad, are one direction: the rounding of a full turn of azimuth.
const SAME_DIRECTION_RAD: f64 = 1e-12;

/// East, north and up of stations at which the direction of the pipe is known, m, beginning with `[0, 0, 0]`.
///
/// `station_m` does not fall; a repeated station is a stop and must repeat its direction. `tilt_rad` is positive down
/// towards growing station, so that up falls along a pipe that falls; `azimuth_rad` is clockwise from north, any number
/// of turns. A single station gives one point. A level course stays level exactly.
///
/// # Errors
/// [`Error::TooFew`] without a station; [`Error::Length`]; [`Error::Value`] with the index of what is not finite, of a
/// tilt beyond 90 degrees, of a station that falls, or of a station repeated with another direction;
/// [`Error::Reversal`] where two successive directions point against each other.
///
/// # Example
/// A quarter of a circle of 100 m radius from straight down to level north:
/// ```
/// use core::f64::consts::FRAC_PI_2;
/// let end = fallwise::path::minimum_curvature(&[0.0, 100.0 * FRAC_PI_2], &[FRAC_PI_2, 0.0], &[0.0, 0.0])?[1];
/// assert!((end[1] - 100.0).abs() < 1e-12 && (end[2] + 100.0).abs() < 1e-12);
/// # Ok::<(), fallwise::Error>(())
/// ```
pub fn minimum_curvature(station_m: &[f64], tilt_rad: &[f64], azimuth_rad: &[f64]) -> Result<Vec<[f64; 3]>, Error> {
    check(station_m, tilt_rad, azimuth_rad)?;
    let mut out = Vec::with_capacity(station_m.len());
    let mut courses = Courses::new();
    let mut position = [0.0; 3];
    let mut station = station_m.first().copied().unwrap_or_default();
    let blocks = station_m.chunks(BLOCK).zip(tilt_rad.chunks(BLOCK)).zip(azimuth_rad.chunks(BLOCK));
    for (number, ((stations, tilts), azimuths)) in blocks.enumerate() {
        courses.read(tilts, azimuths, number == 0);
        if let Some(i) = stations.iter().zip(&courses.cosine).position(|(_, c)| *c < REVERSAL_COS) {
            return Err(Error::Reversal { index: (number * BLOCK + i).saturating_sub(1) });
        }
        let [east, north, up] = &courses.mean;
        out.extend(stations.iter().zip(east).zip(north).zip(up).map(|(((&next, e), n), u)| {
            let length = next - station;
            station = next;
            position = [position[0] + length * e, position[1] + length * n, position[2] + length * u];
            position
        }));
    }
    Ok(out)
}

/// Angle between two directions in space, rad, from 0 to pi, to a few units of the last place, of 1e-12 rad as of 1; below 1e-154 rad, whose
/// square is less than the least number there is, it is 0.
///
/// Azimuths may differ by whole turns. NaN if an angle is not finite.
///
/// # Example
/// ```
/// assert_eq!(fallwise::path::dogleg(0.0, 0.0, 0.0, 1e-12), 1e-12);
/// ```
pub fn dogleg(first_tilt_rad: f64, first_azimuth_rad: f64, second_tilt_rad: f64, second_azimuth_rad: f64) -> f64 {
    let level = math::cos(first_tilt_rad) * math::cos(second_tilt_rad);
    let (sin_t, _) = half_difference(second_tilt_rad, first_tilt_rad);
    let (sin_a, cos_a) = half_difference(second_azimuth_rad, first_azimuth_rad);
    let h = sin_t * sin_t + level * sin_a * sin_a;
    if h <= 0.5 {
        return 2.0 * math::asin(h.max(0.0).sqrt());
    }
    // cos^2(b/2) written as the same sum for the opposite of the second direction, so that nothing cancels.
    let (sin_sum, _) = half_difference(second_tilt_rad, -first_tilt_rad);
    let rest = sin_sum * sin_sum + level * cos_a * cos_a;
    2.0 * math::atan2(h.sqrt(), rest.max(0.0).sqrt())
}

/// Sine and cosine of (a - b)/2, with what the subtraction rounds away put back: it counts where azimuths wrap.
fn half_difference(a: f64, b: f64) -> (f64, f64) {
    let (a, b) = (0.5 * a, 0.5 * b);
    let d = a - b;
    let v = d - a;
    let lost = (a - (d - v)) - (b + v); // Knuth's exact sum
    let (s, c) = math::sin_cos(d);
    (s + c * lost, c - s * lost)
}

fn check(station_m: &[f64], tilt_rad: &[f64], azimuth_rad: &[f64]) -> Result<(), Error> {
    if station_m.is_empty() {
        return Err(Error::TooFew { field: "station_m".to_owned(), found: 0, needed: 1 });
    }
    require_length("tilt_rad", tilt_rad.len(), "station_m", station_m.len())?;
    require_length("azimuth_rad", azimuth_rad.len(), "station_m", station_m.len())?;
    require_finite("station_m", station_m)?;
    require_finite("azimuth_rad", azimuth_rad)?;
    let upright = core::f64::consts::FRAC_PI_2 + VERTICAL_SLACK_RAD;
    if let Some(i) = tilt_rad.iter().position(|t| t.is_nan() || t.abs() > upright) {
        return Err(Error::at("tilt_rad", i, tilt_rad[i], "a tilt from -pi/2 to pi/2 rad"));
    }
    let growing = station_m.windows(2).all(|w| w[1] > w[0]);
    if !growing {
        check_stops(station_m, tilt_rad, azimuth_rad)?;
    }
    match station_m.last().zip(station_m.first()).map(|(b, a)| b - a) {
        Some(length) if !length.is_finite() => Err(Error::at(
            "station_m",
            station_m.len() - 1,
            station_m[station_m.len() - 1],
            "a length that can be added up",
        )),
        _ => Ok(()),
    }
}

fn check_stops(station_m: &[f64], tilt_rad: &[f64], azimuth_rad: &[f64]) -> Result<(), Error> {
    for i in 1..station_m.len() {
        let (before, here) = (station_m[i - 1], station_m[i]);
        if here < before {
            return Err(Error::at("station_m", i, here, format!("at least {before}, the station before it")));
        }
        if here <= before {
            let turn = dogleg(tilt_rad[i - 1], azimuth_rad[i - 1], tilt_rad[i], azimuth_rad[i]);
            if turn > SAME_DIRECTION_RAD {
                let expected = "a station beyond the one before it, or the same direction there";
                return Err(Error::at("station_m", i, here, expected));
            }
        }
    }
    Ok(())
}

/// A block of stations, each with the course that leads to it. Places beyond the stations read hold older numbers.
struct Courses {
    /// Sines and cosines of tilt and of azimuth.
    tilt: [Block; 2],
    azimuth: [Block; 2],
    /// East, north and up of the unit directions, the one before the block first.
    direction: [[f64; BLOCK + 1]; 3],
    /// East, north and up of displacement over length.
    mean: [Block; 3],
    /// sin^2(b/2), cos(b/2), and tan(b/2) / (b/2).
    h: Block,
    cosine: Block,
    factor: Block,
}

impl Courses {
    fn new() -> Self {
        let zero = [0.0; BLOCK];
        let direction = [[0.0; BLOCK + 1]; 3];
        Self { tilt: [zero; 2], azimuth: [zero; 2], direction, mean: [zero; 3], h: zero, cosine: zero, factor: zero }
    }

    /// Takes in the next stations. The very first has none before it: its course is one of no turn.
    fn read(&mut self, tilt_rad: &[f64], azimuth_rad: &[f64], first: bool) {
        let ([sin_t, cos_t], [sin_a, cos_a]) = (&mut self.tilt, &mut self.azimuth);
        math::sin_cos_each(tilt_rad, sin_t, cos_t);
        sin_cos(azimuth_rad, sin_a, cos_a);
        let [east, north, up] = &mut self.direction;
        for u in [&mut *east, &mut *north, &mut *up] {
            u[0] = u[BLOCK]; // every block but the last is full
        }
        for i in 0..BLOCK {
            east[i + 1] = cos_t[i] * sin_a[i];
            north[i + 1] = cos_t[i] * cos_a[i];
            up[i + 1] = -sin_t[i];
        }
        if first {
            for u in [east, north, up] {
                u[0] = u[1];
            }
        }
        self.join();
    }

    /// Displacement over length of each course.
    fn join(&mut self) {
        let Self { direction, mean, h, factor, .. } = self;
        let [e, n, u] = &*direction;
        let [mean_e, mean_n, mean_u] = &mut *mean;
        let mut turns = false;
        for i in 0..BLOCK {
            let across = [e[i + 1] - e[i], n[i + 1] - n[i], u[i + 1] - u[i]];
            [mean_e[i], mean_n[i], mean_u[i]] =
                [0.5 * (e[i] + e[i + 1]), 0.5 * (n[i] + n[i + 1]), 0.5 * (u[i] + u[i + 1])];
            h[i] = 0.25 * (across[0] * across[0] + across[1] * across[1] + across[2] * across[2]);
            factor[i] = factor_of_small_turn(h[i]);
            turns |= h[i] > SMALL_TURN;
        }
        if turns {
            self.turn();
        } else {
            self.cosine.fill(1.0); // far from a reversal
        }
        let Self { mean, factor, .. } = self;
        for m in mean {
            for (m, f) in m.iter_mut().zip(&*factor) {
                *m *= f;
            }
        }
    }

    /// The factors where the pipe turns by more than the series is for.
    fn turn(&mut self) {
        let Self { mean: [east, north, up], h, cosine, factor, .. } = self;
        let mut wide = false;
        for i in 0..BLOCK {
            cosine[i] = (east[i] * east[i] + north[i] * north[i] + up[i] * up[i]).sqrt();
            let (p, q) = math::arcsine_excess(h[i]);
            let turned = q / (cosine[i] * (q + p));
            factor[i] = if h[i] > SMALL_TURN { turned } else { factor[i] };
            wide |= h[i] > 0.25;
        }
        if wide {
            for i in 0..BLOCK {
                if h[i] > 0.25 {
                    let s = h[i].sqrt();
                    factor[i] = s / (cosine[i] * math::atan2(s, cosine[i]));
                }
            }
        }
    }
}

/// sin^2(b/2) up to which the series below will do: a turn of 3.6 degrees.
const SMALL_TURN: f64 = 1e-3;

/// tan(b/2) / (b/2) for h = sin^2(b/2) up to [`SMALL_TURN`]: with s^2 = h it is 1 / (sqrt(1 - h) asin(s)/s), of whose series the next
/// term is below 2^-62 of it.
#[inline]
fn factor_of_small_turn(h: f64) -> f64 {
    let tail = 191.0 / 945.0 + h * (2497.0 / 14175.0 + h * (14797.0 / 93555.0));
    1.0 + h * (1.0 / 3.0 + h * (11.0 / 45.0 + h * tail))
}

#[cfg(test)]
#[allow(clippy::float_cmp, reason = "these values are exact")]
mod tests {
    use super::*;
    use core::f64::consts::{FRAC_PI_2, PI, TAU};

    #[test]
    fn says_what_is_wrong_and_where() {
        let index = |s: &[f64], t: &[f64], a: &[f64]| match minimum_curvature(s, t, a) {
            Err(Error::Value { field, index, .. }) => (field, index.unwrap()),
            other => panic!("{other:?}"),
        };
        let (s, t, a) = ([0.0, 1.0, 2.0], [0.0; 3], [0.0; 3]);
        assert_eq!(index(&[0.0, f64::NAN, 2.0], &t, &a), ("station_m".into(), 1));
        assert_eq!(index(&s, &[0.0, 0.0, f64::INFINITY], &a), ("tilt_rad".into(), 2));
        assert_eq!(index(&s, &[0.0, 2.0, 0.0], &a), ("tilt_rad".into(), 1)); // degrees given for radians
        assert_eq!(index(&s, &t, &[f64::NAN, 0.0, 0.0]), ("azimuth_rad".into(), 0));
        assert_eq!(index(&[0.0, 1.0, 0.5], &t, &a), ("station_m".into(), 2));
        assert_eq!(index(&[0.0, 1.0, 1.0], &[0.0, 0.0, 0.1], &a), ("station_m".into(), 2));
        assert_eq!(index(&[-1e308, 0.0, 1e308], &t, &a), ("station_m".into(), 2));
        assert!(matches!(minimum_curvature(&[], &[], &[]), Err(Error::TooFew { .. })));
        assert!(matches!(minimum_curvature(&s, &t[..2], &a), Err(Error::Length { .. })));
        assert!(matches!(minimum_curvature(&s, &t, &a[..2]), Err(Error::Length { .. })));
    }

    #[test]
    fn a_stop_repeats_its_point() {
        let path = minimum_curvature(&[0.0, 1.0, 1.0, 2.0], &[0.0; 4], &[0.0, 0.5, 0.5 + TAU, 1.0]).unwrap();
        assert_eq!(path[1], path[2]);
    }

    #[test]
    fn a_reversal_is_named_in_any_block() {
        for at in [1, BLOCK - 1, BLOCK, BLOCK + 1, 3 * BLOCK + 5] {
            let station: Vec<f64> = (0..400).map(f64::from).collect();
            let azimuth: Vec<f64> = (0..400).map(|i| if i < at { 0.0 } else { PI }).collect();
            let error = minimum_curvature(&station, &[0.0; 400], &azimuth).unwrap_err();
            assert_eq!(error, Error::Reversal { index: at - 1 });
        }
        let up_and_down = minimum_curvature(&[0.0, 1.0], &[FRAC_PI_2, -FRAC_PI_2], &[0.0, 0.0]);
        assert_eq!(up_and_down, Err(Error::Reversal { index: 0 }));
    }

    #[test]
    fn blocks_make_no_seam() {
        // The same stations, each course computed alone.
        let station: Vec<f64> = (0..200).map(|i| f64::from(i) * 0.3).collect();
        let tilt: Vec<f64> = (0..200).map(|i| math::sin(f64::from(i) * 0.1)).collect();
        let azimuth: Vec<f64> = (0..200).map(|i| 0.4 * f64::from(i)).collect();
        let whole = minimum_curvature(&station, &tilt, &azimuth).unwrap();
        for i in 1..200 {
            let one = minimum_curvature(&station[i - 1..=i], &tilt[i - 1..=i], &azimuth[i - 1..=i]).unwrap()[1];
            for k in 0..3 {
                assert_eq!(whole[i][k], whole[i - 1][k] + one[k]);
            }
        }
    }

    #[test]
    fn level_stays_level() {
        let path = minimum_curvature(&[0.0, 1.0, 2.0], &[0.0; 3], &[0.3, 1.2, 2.2]).unwrap();
        assert!(path.iter().all(|p| p[2] == 0.0));
    }
}
