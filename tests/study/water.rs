//! The water that a true pipe holds, worked out by itself: the level walked upstream from the outlet at its far end.

use fallwise::{Bore, math, simulate::Truth};

/// Water between two stations of a pipe that flows towards growing station.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Water {
    /// Greatest depth, m, normal to the pipe.
    pub depth_m: f64,
    /// Volume, m3.
    pub volume_m3: f64,
}

/// The water that stands between two stations, m, in a pipe of one bore.
pub fn between(truth: &Truth, bore: &Bore, from_m: f64, to_m: f64) -> Water {
    let inside = |s: &f64| truth.breaks_m.first() < Some(s) && Some(s) < truth.breaks_m.last();
    let mut stations_m = truth.breaks_m.clone();
    stations_m.extend(truth.lips.iter().map(|lip| lip.at_m).chain([from_m, to_m]).filter(inside));
    stations_m.sort_by(f64::total_cmp);
    stations_m.dedup();
    let mut level_m = f64::NEG_INFINITY;
    let mut water = Water { depth_m: 0.0, volume_m3: 0.0 };
    for ends in stations_m.windows(2).rev() {
        let length_m = ends[1] - ends[0];
        // Just before the lower end, since a lip stands at it.
        let lip_m: f64 = truth.lips.iter().filter(|lip| lip.at_m == ends[1]).map(|lip| lip.rise_m).sum();
        let down_m = truth.height_m(ends[1]) - lip_m;
        let up_m = truth.height_m(ends[0]);
        level_m = level_m.max(truth.height_m(ends[1])).max(down_m);
        let cos = (length_m * length_m - (up_m - down_m) * (up_m - down_m)).max(0.0).sqrt() / length_m;
        let depth = |invert_m: f64| (level_m - invert_m) / cos;
        if from_m < ends[1] && ends[0] < to_m {
            // Below the invert there is no area, so that the mean over the whole piece is the water's.
            water.volume_m3 += length_m * bore.mean_area_m2(depth(down_m), depth(up_m));
            water.depth_m = water.depth_m.max(depth(down_m)).max(depth(up_m));
        }
    }
    water
}

/// The truth of a pipe with one dip: along a line of slope `slope`, from `from_m` over `length_m`, so that `depth_m` of water
/// stands in its middle.
pub fn dip(slope: f64, pipe_m: f64, from_m: f64, length_m: f64, depth_m: f64) -> Truth {
    // Half of the dip runs back by the depth, and the other half falls by as much more than the line over the whole of it.
    let back = -depth_m / (0.5 * length_m);
    let tilts = [slope, 2.0 * slope - back, back, slope];
    Truth {
        breaks_m: vec![0.0, from_m, from_m + 0.5 * length_m, from_m + length_m, pipe_m],
        tilt_rad: tilts.map(math::atan).to_vec(),
        lips: Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use fallwise::{Lateral, Pipe, simulate::Lip};

    /// The estimator's own pools of a pipe that is given are exact and tested against golden vectors: a second route.
    #[test]
    fn water_is_that_of_a_pipe_that_is_given() {
        let bore = Bore::circle(0.1).unwrap();
        for (length_m, depth_m) in [(1.0, 0.004), (4.0, 0.02), (6.0, 0.12)] {
            let truth = dip(0.02, 30.0, 12.0, length_m, depth_m);
            let pipe = Pipe { bore: Some(bore), ..Pipe::default() };
            let given = Lateral::from_segments(truth.breaks_m.clone(), truth.tilt_rad.clone(), pipe).unwrap();
            let pool = given.pools().remove(0).pool.unwrap();
            let water = between(&truth, &bore, 0.0, 30.0);
            // 1e-9: heights are sums of a metre, a thousand times the depth.
            assert!((water.depth_m / pool.depth_m - 1.0).abs() < 1e-9, "{water:?} {pool:?}");
            assert!((water.volume_m3 / pool.volume_m3.unwrap() - 1.0).abs() < 1e-9, "{water:?} {pool:?}");
            // By design, but for tilts of a few percent being taken for slopes (cosine of 0.24).
            assert!((water.depth_m / depth_m - 1.0).abs() < 0.03, "{water:?}");
        }
    }

    #[test]
    fn a_lip_holds_water() {
        let bore = Bore::circle(0.1).unwrap();
        let pipe =
            Truth { breaks_m: vec![0.0, 10.0], tilt_rad: vec![0.0], lips: vec![Lip { at_m: 4.0, rise_m: 0.01 }] };
        let water = between(&pipe, &bore, 0.0, 10.0);
        assert!((water.depth_m - 0.01).abs() < 1e-12);
        assert!((water.volume_m3 / (4.0 * bore.area_m2(0.01)) - 1.0).abs() < 1e-9); // mean area by differences
        assert!(between(&pipe, &bore, 5.0, 10.0).depth_m < 1e-12);
    }
}
