//! Quantities of the trenches of a plan.
//!
//! A trench of width w at its bottom, whose sides go out by s for each metre up, has at depth d the cross-section w d + s d^2 and the
//! width w + 2 s d at the ground. Ground and bottom are straight between the points of both, so that depth goes linearly over each
//! part, and Simpson's rule, the prismoidal formula of earthwork,
//! ```text
//! V = L (A_0 + 4 A_middle + A_1) / 6
//! ```
//! is exact (it is for cubics). Volumes are those of the trench as it is cut, with the pipe and without swelling of the soil; its
//! ends are upright.
//!
//! # Source
//! Prismoidal formula: any handbook of surveying, such as R. E. Davis, F. S. Foote, Surveying, chapter on earthwork (from memory).

use super::{
    Line, RelayPlan,
    cost::{Ground, in_order},
    feasible::along_m,
};
use crate::error::{Error, require_length};
use crate::prelude::*;

/// How the trench is dug.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Digging {
    /// Width at the bottom, m.
    pub width_m: f64,
    /// How far each side goes out for each metre up: 0 where sides are vertical.
    pub batter: f64,
    /// Length that a stick of new pipe covers, m, where the sticks are to be counted.
    pub stick_m: Option<f64>,
}

/// Quantities of a stretch, by the deep end of the interval of the depth, as [`super::Node::deeper_m`] has it.
#[derive(Debug, Clone, PartialEq)]
pub struct Trench {
    /// First node.
    pub from: usize,
    /// Last node.
    pub to: usize,
    /// Horizontal length, m.
    pub length_m: f64,
    /// Length of new pipe, m, along its slope.
    pub pipe_m: f64,
    /// Sticks that this takes, the last one cut, a centimetre being left to the sockets; absent where their length is not given.
    pub sticks: Option<u64>,
    /// Station and depth from the ground to the bottom, m, along the flow; straight between them. Absent where the ground is not known.
    pub depths_m: Vec<(f64, Option<f64>)>,
    /// Greatest depth, m; absent where the ground is not known all along.
    pub max_depth_m: Option<f64>,
    /// Volume to dig, m3; absent where the ground is not known all along, or lies below the bottom.
    pub volume_m3: Option<f64>,
    /// Surface to reinstate, m2: width at the ground times length. Known without the ground where the sides are vertical.
    pub surface_m2: Option<f64>,
}

/// Quantities of the stretches of a plan, along the flow.
///
/// # Errors
/// [`Error::Value`] for a width that is not above 0, a batter that is negative, a stick that is not above 0, or any that is beyond 1000;
/// [`Error::Length`] for a line that the plan is not of.
///
/// # Example
/// 4 m of trench 0.6 m wide, 1 m deep at one end and 2 m at the other, sides out by half: at mid-length it is 1.5 m deep, so that
/// V = 4 / 6 (1.1 + 4 x 2.025 + 3.2) = 8.27 m3.
/// ```
/// use fallwise::{model::GroundPoint, relay::{Asked, Costs, Digging, Line, Node, Outcome, Span, plan, trenches}};
///
/// let nodes = [Node::joint(0.0, 0.1), Node::joint(2.0, 0.1), Node::joint(4.0, 0.0)];
/// let spans = [Span { level_m: 2.0, min_slope: 0.02, max_slope: None, reach: 0, may_dig: true, may_stay: true }; 2];
/// let ground = [(0.0, 1.1), (4.0, 2.0)].map(|(station_m, elevation_m)| GroundPoint { station_m, elevation_m, sd_m: None });
/// let line = Line { nodes: &nodes, spans: &spans, fall_sd_m: &|_, _| Some(0.002), ground: &ground };
/// let Outcome::Plan(best) = plan(&line, &Asked::default(), &Costs::default())? else { panic!("there is a plan") };
///
/// let trench = &trenches(&line, &best, &Digging { width_m: 0.6, batter: 0.5, stick_m: Some(3.0) })?[0];
/// assert!((trench.volume_m3.unwrap() - 4.0 / 6.0 * (1.1 + 4.0 * 2.025 + 3.2)).abs() < 1e-12);
/// assert!((trench.surface_m2.unwrap() - 4.0 * (0.6 + 1.5)).abs() < 1e-12);
/// assert_eq!(trench.sticks, Some(2));
/// # Ok::<(), fallwise::Error>(())
/// ```
pub fn trenches(line: &Line<'_>, plan: &RelayPlan, digging: &Digging) -> Result<Vec<Trench>, Error> {
    let above_zero = |field: &str, value: f64| {
        if value > 0.0 && value <= 1000.0 {
            return Ok(());
        }
        Err(Error::value(field, value, "a length above 0 and up to 1000 m"))
    };
    above_zero("width_m", digging.width_m)?;
    if !(0.0..=1000.0).contains(&digging.batter) {
        return Err(Error::value("batter", digging.batter, "length out over length up, from 0 to 1000"));
    }
    if let Some(stick_m) = digging.stick_m {
        above_zero("stick_m", stick_m)?;
    }
    require_length("nodes", line.nodes.len(), "plan.invert_m", plan.invert_m.len())?;
    require_length("spans", line.spans.len() + 1, "plan.invert_m", plan.invert_m.len())?;
    let along_m = along_m(line.spans);
    let ground = Ground::new(line.ground);
    Ok(plan.stretches.iter().map(|stretch| trench(line, plan, digging, (&along_m, &ground), stretch)).collect())
}

fn trench(
    line: &Line<'_>,
    plan: &RelayPlan,
    digging: &Digging,
    (along_m, ground): (&[f64], &Ground),
    stretch: &super::Stretch,
) -> Trench {
    let mut sums = Sums { volume_m3: Some(0.0), surface_m2: Some(0.0), max_depth_m: Some(f64::NEG_INFINITY) };
    let mut depths_m: Vec<(f64, Option<f64>)> = Vec::new();
    let mut pipe_m = 0.0;
    let at = |node: usize| {
        let (n, invert_m) = (line.nodes.get(node)?, plan.invert_m.get(node)?);
        Some((n.station_m, *along_m.get(node)?, *invert_m, n.deeper_m))
    };
    for piece in plan.pieces.iter().filter(|p| p.new && stretch.from <= p.from && p.to <= stretch.to) {
        let Some(((_, x0, h0, deeper0), (_, x1, h1, deeper1))) = at(piece.from).zip(at(piece.to)) else { continue };
        let level_m = x1 - x0;
        pipe_m += (level_m * level_m + (h0 - h1) * (h0 - h1)).sqrt();
        let bottom_m = |x: f64| {
            let t = (x - x0) / level_m;
            (1.0 - t) * (h0 - deeper0) + t * (h1 - deeper1)
        };
        for node in piece.from..piece.to {
            let Some(((s0, a, ..), (s1, b, ..))) = at(node).zip(at(node + 1)) else { continue };
            let x_of = |s: f64| a + (b - a) * ((s - s0) / (s1 - s0));
            let cuts = in_order(s0, s1, ground.between(s0, s1));
            let depths: Vec<(f64, f64, Option<f64>)> =
                cuts.iter().map(|&s| (s, x_of(s), ground.at(s).map(|ground_m| ground_m - bottom_m(x_of(s))))).collect();
            for (one, other) in depths.iter().zip(depths.iter().skip(1)) {
                sums.add(digging, other.1 - one.1, one.2, other.2);
            }
            // The first of a span is the last of the one before.
            depths_m.extend(depths.iter().skip(usize::from(!depths_m.is_empty())).map(|(s, _, depth)| (*s, *depth)));
        }
    }
    Trench {
        from: stretch.from,
        to: stretch.to,
        length_m: stretch.length_m,
        pipe_m,
        sticks: digging.stick_m.map(|stick_m| sticks(pipe_m, stick_m)),
        depths_m,
        max_depth_m: sums.max_depth_m.filter(|depth| depth.is_finite()),
        volume_m3: sums.volume_m3,
        surface_m2: if digging.batter == 0.0 { Some(digging.width_m * stretch.length_m) } else { sums.surface_m2 },
    }
}

/// What sockets take up of a length, m: nobody cuts a ring of a new stick (common practice, no source).
const SOCKETS_M: f64 = 0.01;

/// How many sticks cover a length.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "not negative; the cast saturates")]
fn sticks(pipe_m: f64, stick_m: f64) -> u64 {
    ((pipe_m - SOCKETS_M) / stick_m).ceil().max(1.0) as u64
}

/// What parts of a trench add up to.
struct Sums {
    volume_m3: Option<f64>,
    surface_m2: Option<f64>,
    max_depth_m: Option<f64>,
}

impl Sums {
    /// Adds a part over which depth goes linearly.
    fn add(&mut self, digging: &Digging, length_m: f64, one_m: Option<f64>, other_m: Option<f64>) {
        let Some((d0, d1)) = one_m.zip(other_m) else {
            (self.volume_m3, self.surface_m2, self.max_depth_m) = (None, None, None);
            return;
        };
        self.max_depth_m = self.max_depth_m.map(|most| most.max(d0).max(d1));
        if d0 < 0.0 || d1 < 0.0 {
            (self.volume_m3, self.surface_m2) = (None, None);
        }
        let area = |d: f64| digging.width_m * d + digging.batter * d * d;
        let middle = 0.5 * d0 + 0.5 * d1;
        self.volume_m3 = self.volume_m3.map(|v| v + length_m * (area(d0) + 4.0 * area(middle) + area(d1)) / 6.0);
        self.surface_m2 = self.surface_m2.map(|a| a + length_m * (digging.width_m + 2.0 * digging.batter * middle));
    }
}
