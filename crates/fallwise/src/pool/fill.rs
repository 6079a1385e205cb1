//! The level of the water: a running maximum walked upstream from the outlet.

use crate::prelude::*;
use crate::{model::Flow, profile::Profile};

/// Beyond this no station, height or scale is a drain's, and products of them are still far from overflow.
const BEYOND_REASON: f64 = 1e9;

/// Level of the water at each node of the profile, m above its zero, in the profile's order: the invert where it is dry.
///
/// For pictures; [`super::pools`] gives the pools with their edges. Empty for a profile that
/// [`super::pools`] finds none in because its numbers are not finite.
///
/// # Example
/// ```
/// # use fallwise::{Flow, Profile, pool::water_level};
/// # let drain = Profile { station_m: vec![0.0, 2.0, 3.0], height_m: vec![0.02, 0.0, 0.01], tilt_rad: vec![0.01, -0.01], reach: vec![0, 0], at_drop: vec![], scale: 1.0 };
/// assert_eq!(water_level(&drain, Flow::Increasing, None), [0.02, 0.01, 0.01]);
/// ```
pub fn water_level(profile: &Profile, flow: Flow, tailwater_m: Option<f64>) -> Vec<f64> {
    let Some(walk) = Walk::new(profile, flow) else { return Vec::new() };
    let mut level_m = walk.free_level_m(tailwater_m);
    let mut levels: Vec<f64> = (0..walk.nodes())
        .map(|node| {
            level_m = level_m.max(walk.height_m(node));
            level_m
        })
        .collect();
    if flow == Flow::Increasing {
        levels.reverse();
    }
    levels
}

/// A profile as its water sees it: nodes counted upstream, 0 at the outlet. All slices fit `nodes`.
#[derive(Debug, Clone, Copy)]
pub(super) struct Walk<'a> {
    station_m: &'a [f64],
    height_m: &'a [f64],
    tilt_rad: &'a [f64],
    reach: &'a [usize],
    scale: f64,
    flow: Flow,
}

impl<'a> Walk<'a> {
    /// The walk, if the profile has two nodes or more, all of its numbers are within reason, and its arrays fit.
    pub(super) fn new(profile: &'a Profile, flow: Flow) -> Option<Self> {
        let pieces = profile.station_m.len().checked_sub(1).filter(|pieces| *pieces > 0)?;
        let fits = profile.height_m.len() == pieces + 1
            && profile.tilt_rad.len() == pieces
            && profile.reach.len() == pieces
            && profile.scale > 0.0
            && profile.scale < BEYOND_REASON;
        // All of them are looked at, which takes less time than to stop at the first.
        let within = |values: &[f64]| values.iter().fold(true, |so_far, v| so_far & (v.abs() < BEYOND_REASON));
        (fits && within(&profile.station_m) && within(&profile.height_m) && within(&profile.tilt_rad)).then_some(Self {
            station_m: &profile.station_m,
            height_m: &profile.height_m,
            tilt_rad: &profile.tilt_rad,
            reach: &profile.reach,
            scale: profile.scale,
            flow,
        })
    }

    /// How many nodes.
    pub(super) fn nodes(&self) -> usize {
        self.station_m.len()
    }

    /// Station of a node of the walk, m.
    pub(super) fn station_m(&self, node: usize) -> f64 {
        self.station_m[self.place(node)]
    }

    /// Height of its invert, m.
    pub(super) fn height_m(&self, node: usize) -> f64 {
        self.height_m[self.place(node)]
    }

    /// The pieces from the outlet upstream, with the level of the water in each.
    pub(super) fn water(self, tailwater_m: Option<f64>) -> impl Iterator<Item = Piece> + use<'a> {
        let free_m = self.free_level_m(tailwater_m);
        let mut sill_level_m = f64::NEG_INFINITY;
        let mut foot = (self.station_m(0), self.height_m(0));
        let last = self.nodes() - 1;
        (1..=last).map(move |up| {
            // Where the upper node and the piece below it stand in the profile's arrays.
            let (node, index) = if self.flow == Flow::Increasing { (last - up, last - up) } else { (up, up - 1) };
            let head = (self.station_m[node], self.height_m[node]);
            // Inside a piece the level is that of its lower end: where the invert climbs above it, the pipe is dry.
            sill_level_m = sill_level_m.max(foot.1);
            let level_m = sill_level_m.max(free_m);
            let piece = Piece {
                down: up - 1,
                length_m: (head.0 - foot.0).abs() * self.scale,
                tilt_rad: self.tilt_rad[index],
                reach: self.reach[index],
                foot_m: foot.1,
                head_m: head.1,
                level_m,
                sill_level_m,
            };
            foot = head;
            piece
        })
    }

    /// Level at the outlet: that of the tailwater, or the invert where there is none.
    fn free_level_m(&self, tailwater_m: Option<f64>) -> f64 {
        self.height_m(0) + tailwater_m.filter(|t| *t > 0.0 && *t < BEYOND_REASON).unwrap_or(0.0)
    }

    /// Where a node of the walk stands in the profile's arrays.
    fn place(&self, node: usize) -> usize {
        match self.flow {
            Flow::Increasing => self.nodes() - 1 - node,
            Flow::Decreasing => node,
        }
    }
}

/// A straight piece of the walk and the level in it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Piece {
    /// Node at its downstream end; the next is at its upstream end.
    pub(super) down: usize,
    /// True length, m; 0 for a step.
    pub(super) length_m: f64,
    /// Tilt, rad.
    pub(super) tilt_rad: f64,
    /// Reach, an index.
    pub(super) reach: usize,
    /// Height of its downstream end, m.
    pub(super) foot_m: f64,
    /// Height of its upstream end, m.
    pub(super) head_m: f64,
    /// Level of the water, m; never below the foot.
    pub(super) level_m: f64,
    /// Level that sills alone would hold, m.
    pub(super) sill_level_m: f64,
}

impl Piece {
    /// Whether any of it lies below the level.
    pub(super) fn is_wet(&self) -> bool {
        self.level_m > self.foot_m.min(self.head_m)
    }

    /// Whether the water ends in it, going upstream.
    pub(super) fn ends_water(&self) -> bool {
        self.level_m <= self.head_m
    }
}
