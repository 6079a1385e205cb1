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

/// The deepest water that a pipe which flows towards growing station holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Deepest {
    /// Where it is deepest, m.
    pub at_m: f64,
    /// The invert there, m above the first break.
    pub invert_m: f64,
    /// How far the level is above it, m.
    pub depth_m: f64,
}

/// Where the deepest water of a pipe stands.
pub fn deepest(truth: &Truth) -> Deepest {
    let mut level_m = f64::NEG_INFINITY;
    let mut deepest = Deepest { at_m: 0.0, invert_m: 0.0, depth_m: 0.0 };
    for (at_m, [before_m, after_m]) in inverts(truth).into_iter().rev() {
        for invert_m in [after_m, before_m] {
            level_m = level_m.max(invert_m);
            if level_m - invert_m > deepest.depth_m {
                deepest = Deepest { at_m, invert_m, depth_m: level_m - invert_m };
            }
        }
    }
    deepest
}

/// Where the invert first comes up to a height, going up or down the stations from one that lies below it; the highest place on the
/// way where it does not.
pub fn edge_m(truth: &Truth, from_m: f64, upstream: bool, height_m: f64) -> f64 {
    let mut inverts = inverts(truth);
    if upstream {
        inverts.reverse();
        for (_, sides) in &mut inverts {
            sides.reverse();
        }
    }
    let ahead = |s: f64| if upstream { s < from_m } else { s > from_m };
    let (mut at_m, mut invert_m) = (from_m, truth.height_m(from_m));
    let mut highest = (invert_m, at_m);
    for (next_m, [near_m, far_m]) in inverts.into_iter().filter(|(s, _)| ahead(*s)) {
        if near_m >= height_m {
            return at_m + (next_m - at_m) * ((height_m - invert_m) / (near_m - invert_m)).clamp(0.0, 1.0);
        }
        if far_m >= height_m {
            return next_m;
        }
        (at_m, invert_m) = (next_m, far_m);
        if near_m.max(far_m) > highest.0 {
            highest = (near_m.max(far_m), next_m);
        }
    }
    highest.1
}

/// Breaks and lips of a pipe in order, m, with the heights just before and just after each.
fn inverts(truth: &Truth) -> Vec<(f64, [f64; 2])> {
    let mut stations_m = truth.breaks_m.clone();
    stations_m.extend(truth.lips.iter().map(|lip| lip.at_m));
    stations_m.sort_by(f64::total_cmp);
    stations_m.dedup();
    let sides = |at_m: f64| {
        let lip_m: f64 = truth.lips.iter().filter(|lip| lip.at_m == at_m).map(|lip| lip.rise_m).sum();
        [truth.height_m(at_m) - lip_m, truth.height_m(at_m)]
    };
    stations_m.into_iter().map(|s| (s, sides(s))).collect()
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

    /// Edges of water half as deep as a dip can hold: by the dip's own slopes.
    #[test]
    fn edges_lie_where_the_slopes_put_them() {
        let truth = dip(0.02, 30.0, 12.0, 6.0, 0.03);
        let deepest = deepest(&truth);
        assert!((deepest.at_m - 15.0).abs() < 1e-12 && (deepest.depth_m / 0.03 - 1.0).abs() < 1e-3, "{deepest:?}");
        let level_m = deepest.invert_m + 0.5 * deepest.depth_m;
        // The dip comes down at 5 % and goes up at 1 %.
        let edges_m = [true, false].map(|upstream| edge_m(&truth, deepest.at_m, upstream, level_m));
        // 1 mm: tilts of a few percent are taken for slopes.
        assert!((edges_m[0] - (15.0 - 0.015 / 0.05)).abs() < 1e-3 && (edges_m[1] - 16.5).abs() < 1e-3, "{edges_m:?}");
        for edge_m in edges_m {
            assert!((truth.height_m(edge_m) - level_m).abs() < 1e-12, "{edge_m}"); // rounding of heights of 1 m
        }
        // Higher than the sill: at it.
        assert!((edge_m(&truth, deepest.at_m, false, level_m + 0.1) - 18.0).abs() < 1e-12);
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
