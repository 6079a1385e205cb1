//! Which stretches of a drain to lay anew, at least cost, so that it falls as asked: or why that cannot be.
//!
//! A re-laid *stretch* runs from one joint to another, whose inverts stay as they are, and falls evenly between them. What is
//! re-laid and what stays must each meet the slope asked for, with the probability asked for. Over all sets of stretches that do,
//! [`plan`] finds the one of least cost, under the costs typed: it is no recommendation.
//!
//! | file | what |
//! | --- | --- |
//! | `input` | what is refused |
//! | `cost` | what a trench costs along the pipe |
//! | `feasible` | which pieces meet what is asked, and how surely |
//! | `plan` | the least cost, by dynamic programming |
//! | `proof` | why there is no plan, and what would help |
//! | `quantities` | length, depth, volume and sticks of the trenches |
//!
//! # The pipe as it is seen here
//! [`Node`]s stand in order along the flow, whatever their stations do, and are joined by [`Span`]s. Slope is fall over horizontal
//! length, the fall being that between two inverts: lips and steps between them are in it. The heights are those of the best
//! estimate. Of the errors only those of the falls are asked for ([`Line::fall_sd_m`], from the joint posterior of the heights);
//! horizontal lengths are taken as they are. The counter's scale moves falls and lengths alike and so no slope; what is left of its
//! error in a drain tied to levels is not counted. Nor is how exactly the new pipe is laid.
//!
//! # What is asked
//! - **A re-laid piece**: P(least slope <= its slope <= greatest slope) is at least [`Asked::confidence`]. Where it covers spans
//!   that ask for different slopes, the strictest holds for all of it. Its fall is normal, with the standard deviation of the
//!   difference of the two inverts that stay.
//! - **A connection** inside a stretch. One that is [`Connection::Kept`] keeps the invert of the pipe: the new pipe bends there, and is
//!   two pieces. One that is [`Connection::NotAbove`] needs the new invert to be no higher than its own, so that no water stands in it
//!   (common practice, no source): the new pipe may pass below it, with the probability asked for, and the connection falls into
//!   it; or bends there at the present invert.
//! - **A kept piece**: by [`MeasuredOver`].
//!
//! # Over what kept pipe is measured
//! Rulebooks measure the mean slope of a reach. Between two inverts that stay, the mean is the same before and after whatever is
//! re-laid between them: a reach whose mean meets the rule would ask for nothing, whatever bellies it has, and one whose mean does
//! not could not be helped. So kept pipe is measured between neighbouring nodes by default ([`MeasuredOver::Piece`]): stricter than the
//! rulebook, and the only measure under which a belly has to go. It also makes the mean of every reach meet the rule: each part of
//! a reach, kept or new, is then as steep as asked, and so is their sum (in the best estimate; its probability is not less than the
//! joint one of the plan).
//!
//! [`MeasuredOver::Reach`] asks for the mean of each reach, and of a kept piece only a slope of its own, such as 0: it must not run
//! backwards. To stay exact the inverts where reaches meet are then kept: a stretch may pass there but bends. With them the means
//! do not depend on what is re-laid, and are tested once. Without that, the end of a reach inside a stretch would lie on a line between two
//! nodes of which there are n^2 pairs, and the mean of the reach would tie one such pair to the next: n^4 pairs of pairs. What is lost
//! are plans in which the invert between two reaches moves; the measure by pieces has them.
//!
//! # What is exact
//! The plan is the best of all sets of stretches that do not overlap, with all choices of bends at connections. Two stretches may meet at
//! a joint: two trenches, each with its fixed cost. Not among the plans: bends at other places, or at other inverts than the present
//! ones, and stretches that end between nodes. Costs are compared in millionths of the unit of money and lengths in micrometres, as
//! whole numbers, so that equal costs are equal whatever the order of a sum; each piece is rounded once. Among equal costs the
//! fewest stretches win, then the shortest, then the fewest bends, then the most upstream.
//!
//! Each piece meets what is asked by itself. That all do is less likely: the *joint* probability, from draws
//! ([`RelayPlan::joint_probability`]), or between its bounds without them.
//!
//! # When there is no plan
//! Let a section lie between two neighbouring inverts that no plan moves, with fall F and standard deviation s of F. Any plan cuts it
//! into pieces that end at present inverts. Each falls by what is asked and z of its standard deviations (z of the confidence, at least
//! 0.5). Falls add up, and standard deviations add up to no less than s (the triangle inequality). So where F is less than the sum of what
//! is asked plus z s, no plan exists, whatever is dug: [`NoPlan::short`]. Where no section is short, the limits that block are
//! found by lifting them one by one ([`NoPlan::lifts`]).
//!
//! # Work and memory
//! n nodes, c of them where the pipe may bend: of the order of n^2 (1 + c) steps and n^2 numbers, for at most [`MOST_NODES`] nodes.
//!
//! # Source
//! Dynamic programming: R. Bellman, Dynamic Programming (1957). Chance constraints: A. Charnes, W. W. Cooper, Chance-constrained
//! programming, Management Science 6 (1959) 73. Bounds of a joint probability: M. Fréchet (1935). All from memory.
//!
//! # Example
//! Four sticks of 2 m; 2 % is asked for. The second is level, so that with the third it must go: the three inverts around them fall by
//! 0 and 100 mm, which is 2.5 % over both. Each fall is known to 2 mm: the slope of 4 m to 0.05 %, and 2.5 % is ten of those above
//! 2 %. The trench is 4 m long at 100 a metre, and 500 for having it.
//! ```
//! use fallwise::relay::{Asked, Costs, Line, Node, Outcome, Span, plan};
//!
//! let heights_m = [0.21, 0.15, 0.15, 0.05, 0.0];
//! let nodes: Vec<Node> = (0..5).map(|i| Node::joint(2.0 * i as f64, heights_m[i])).collect();
//! let spans = vec![Span { level_m: 2.0, min_slope: 0.02, max_slope: None, reach: 0, may_dig: true, may_stay: true }; 4];
//! let line = Line { nodes: &nodes, spans: &spans, fall_sd_m: &|_, _| Some(0.002), ground: &[] };
//! let costs = Costs { per_trench: 500.0, per_m: 100.0, ..Costs::default() };
//!
//! let Outcome::Plan(best) = plan(&line, &Asked::default(), &costs)? else { panic!("there is a plan") };
//! assert_eq!((best.stretches[0].from, best.stretches[0].to), (1, 3));
//! assert_eq!(best.cost, 900.0);
//! // Kept, new, kept: 60 mm in 2 m, 100 mm in 4 m, 50 mm in 2 m.
//! let slopes: Vec<f64> = best.pieces.iter().map(|p| (1e4 * p.slope).round() / 1e4).collect();
//! assert_eq!(slopes, [0.03, 0.025, 0.025]);
//! // The new invert at the third node: half-way between its neighbours.
//! assert!((best.invert_m[2] - 0.1).abs() < 1e-12);
//!
//! // 3 % is not there: 210 mm in 8 m, where 240 mm and 1.645 standard deviations of 2 mm are needed.
//! let steep: Vec<Span> = spans.iter().map(|s| Span { min_slope: 0.03, ..*s }).collect();
//! let Outcome::NoPlan(none) = plan(&Line { spans: &steep, ..line }, &Asked::default(), &costs)? else { panic!("no plan") };
//! assert!((none.whole.slope - 0.02625).abs() < 1e-12);
//! assert!((none.whole.missing_m.unwrap() - (0.03 + 1.6448536 * 0.002)).abs() < 1e-9);
//! # Ok::<(), fallwise::Error>(())
//! ```

mod cost;
mod feasible;
mod input;
mod plan;
mod proof;
mod quantities;

pub(crate) use cost::priced;
pub use plan::plan;
pub use quantities::{Digging, Trench, trenches};

use crate::prelude::*;
use crate::{
    error::{Error, require_length},
    model::GroundPoint,
};

/// The most nodes that a plan is made for: a hundred times what a lateral has.
pub const MOST_NODES: usize = 500;

/// The least confidence that can be asked for: below a half the proof that no plan exists would not hold.
const LEAST_CONFIDENCE: f64 = 0.5;

/// A place along the pipe: a joint, a connection, an end of the survey, of a reach or of what must not be dug.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Node {
    /// Station, m.
    pub station_m: f64,
    /// Invert, best estimate, m: above any zero that all nodes and the ground have in common.
    pub height_m: f64,
    /// How far the bottom of a trench lies below the best estimate of the invert, m, from 0 up: to the deep end of the interval of the
    /// depth, and for the wall of the pipe and its bedding. Between the ends of a re-laid piece it goes in proportion to the length,
    /// which is never less than what the errors of both ends make together.
    pub deeper_m: f64,
    /// Whether a stretch may end here, as at a joint. At the first and the last node it always may.
    pub may_end: bool,
    /// What is connected here, as far as it binds the new pipe.
    pub connection: Option<Connection>,
}

impl Node {
    /// A joint, with nothing connected and no more depth than that of the invert.
    pub fn joint(station_m: f64, height_m: f64) -> Self {
        Self { station_m, height_m, deeper_m: 0.0, may_end: true, connection: None }
    }
}

/// What a connection asks of a new pipe.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Connection {
    /// The pipe keeps its invert here.
    Kept,
    /// The new invert is at most that of the connection, less the drop that this needs.
    NotAbove {
        /// Height of that above the present invert of the pipe, m, from 0 up: at 0 the new pipe may lie lower but not higher.
        above_m: f64,
    },
}

/// The pipe from one node to the next. A drop, which is no pipe that a slope is asked of, stays as it is: `may_dig` false, and a least
/// slope of 0; so does a trap, with a least slope of -1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span {
    /// Horizontal length, m: (true length^2 - fall^2)^(1/2).
    pub level_m: f64,
    /// Least slope asked for, from -1 to 1: of new pipe here, and of pipe that stays as [`MeasuredOver`] has it.
    pub min_slope: f64,
    /// Greatest slope, where there is a limit.
    pub max_slope: Option<f64>,
    /// Reach, an index: spans of one reach follow each other.
    pub reach: usize,
    /// Whether it may be dug up; if not, it stays as it is.
    pub may_dig: bool,
    /// Whether it may stay, if it falls as asked between its ends. Pipe that was not seen may not, since only its ends are known, nor
    /// pipe that runs backwards somewhere between them.
    pub may_stay: bool,
}

/// The pipe that may be re-laid.
#[derive(Clone, Copy)]
pub struct Line<'a> {
    /// Along the flow, at least two; stations grow or fall throughout.
    pub nodes: &'a [Node],
    /// One fewer than nodes.
    pub spans: &'a [Span],
    /// Standard deviation of the fall between two nodes, m, by their indices, the first below the second; absent where not determined:
    /// then no piece ends at both.
    pub fall_sd_m: &'a dyn Fn(usize, usize) -> Option<f64>,
    /// Ground above the stations, above the zero of the nodes; linear between points, unknown beyond them.
    pub ground: &'a [GroundPoint],
}

/// Over what the slope of pipe that stays is measured. See the [module](self).
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum MeasuredOver {
    /// Between neighbouring nodes, against the least and the greatest slope of the span.
    Piece,
    /// The mean of each reach, between its ends, against the strictest of its spans. A stretch that passes where two reaches meet keeps
    /// the invert there.
    Reach {
        /// Least slope of a kept piece between neighbouring nodes, from -1 to 1: 0 where it must only not run backwards.
        kept_min_slope: f64,
    },
}

/// What is asked of a plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Asked {
    /// Probability with which each piece meets its slope, from 0.5 to below 1.
    pub confidence: f64,
    /// Over what the slope of pipe that stays is measured.
    pub measured_over: MeasuredOver,
    /// Least horizontal length of a stretch, m.
    pub min_length_m: f64,
    /// Greatest horizontal length of a stretch, m, where there is a limit.
    pub max_length_m: Option<f64>,
}

impl Default for Asked {
    /// 95 %, by pieces, stretches of any length.
    fn default() -> Self {
        Self { confidence: 0.95, measured_over: MeasuredOver::Piece, min_length_m: 0.0, max_length_m: None }
    }
}

/// What re-laying costs, in any money. A metre of trench of depth d costs `per_m + per_m_depth d`, with those of the surface above it
/// added: the cost of a piece is exact, because ground and bottom are straight between points.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Costs {
    /// For each stretch: setting up, two cuts, two couplings.
    pub per_trench: f64,
    /// For each metre of trench, measured level.
    pub per_m: f64,
    /// For each metre of trench and each metre of its depth, from the ground to the bottom of the trench.
    pub per_m_depth: f64,
    /// What comes on top by surface; stretches that do not overlap.
    pub surfaces: Vec<Surface>,
}

/// What the surface adds to the costs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surface {
    /// From this station, m, the lower one.
    pub from_m: f64,
    /// To this station, m.
    pub to_m: f64,
    /// For each metre of trench, such as reinstating it.
    pub per_m: f64,
    /// For each metre of trench and each metre of its depth.
    pub per_m_depth: f64,
}

/// What came of it.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcome {
    /// The plan of least cost; without stretches where all meets what is asked as it is.
    Plan(RelayPlan),
    /// There is none.
    NoPlan(NoPlan),
}

/// What to re-lay.
#[derive(Debug, Clone, PartialEq)]
pub struct RelayPlan {
    /// Along the flow.
    pub stretches: Vec<Stretch>,
    /// Of all stretches.
    pub cost: f64,
    /// All of the pipe, kept and new, along the flow.
    pub pieces: Vec<Piece>,
    /// Means of the reaches, where these are measured.
    pub reaches: Vec<Piece>,
    /// Invert at each node after it, best estimate, m.
    pub invert_m: Vec<f64>,
    /// Bounds of the probability that all holds together: 1 less the sum of the chances that each does not, and the least of those that it
    /// does (Fréchet).
    pub joint_bounds: (f64, f64),
}

/// A stretch to re-lay: one trench.
#[derive(Debug, Clone, PartialEq)]
pub struct Stretch {
    /// First node.
    pub from: usize,
    /// Last node.
    pub to: usize,
    /// Nodes between, where the new pipe bends at the present invert.
    pub bends: Vec<usize>,
    /// Horizontal length, m.
    pub length_m: f64,
    /// Its cost.
    pub cost: f64,
}

/// A piece of even slope, or a reach.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// First node.
    pub from: usize,
    /// Last node.
    pub to: usize,
    /// Laid anew.
    pub new: bool,
    /// Slope along the flow: falls where positive.
    pub slope: f64,
    /// Its standard deviation.
    pub slope_sd: f64,
    /// Least slope asked of it.
    pub min_slope: f64,
    /// Greatest slope, where there is a limit.
    pub max_slope: Option<f64>,
    /// Probability that its slope is as asked.
    pub probability: f64,
    /// Connections that it passes below.
    pub passes: Vec<Passed>,
}

/// A connection that a new pipe passes below.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Passed {
    /// Its node.
    pub node: usize,
    /// Its limit above the present invert, m, as given.
    pub above_m: f64,
    /// How far the new invert lies below the limit, m.
    pub drop_m: f64,
    /// Standard deviation of that, m.
    pub drop_sd_m: f64,
    /// Probability that it lies below.
    pub probability: f64,
}

/// Why there is no plan.
#[derive(Debug, Clone, PartialEq)]
pub struct NoPlan {
    /// From the first to the last node. Where fall is missing here, no plan exists whatever is dug between them.
    pub whole: Shortfall,
    /// Sections between neighbouring inverts that no plan moves (ends, kept connections, ends of what must not be dug), or reaches, that
    /// do not meet what is asked: each by itself proves that there is no plan.
    pub short: Vec<Shortfall>,
    /// Least lowering of the last invert, m, with which there would be a plan (which then re-lays the pipe there); absent where that alone
    /// does not help.
    pub lower_outlet_m: Option<f64>,
    /// Spans that may not stay, by their first node, and that no new pipe can take the place of.
    pub must_go: Vec<usize>,
    /// Limits of which each, lifted by itself, lets a plan exist; all of them together where none does alone and that helps. Empty
    /// where the fall is not there. A kind of limit of which there are more than 16 is lifted as a whole.
    pub lifts: Vec<Lift>,
}

/// The fall between two inverts against what is asked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shortfall {
    /// First node.
    pub from: usize,
    /// Last node.
    pub to: usize,
    /// Fall between them, best estimate, m.
    pub fall_m: f64,
    /// Its standard deviation, m; absent where not determined.
    pub fall_sd_m: Option<f64>,
    /// The steepest even slope there is between them: the fall over the horizontal length.
    pub slope: f64,
    /// Fall that is asked for, m.
    pub asked_m: f64,
    /// What is missing of that and of the standard deviations that the confidence takes, m; 0 where nothing is, absent where the
    /// standard deviation is not determined.
    pub missing_m: Option<f64>,
}

/// A limit that could be lifted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lift {
    /// What must not be dug from one node to another; absent: all of it.
    Forbidden(Option<(usize, usize)>),
    /// The connection at a node; absent: all of them.
    Connection(Option<usize>),
    /// The least length of a stretch.
    MinLength,
    /// The greatest length of a stretch.
    MaxLength,
    /// The greatest slopes.
    MaxSlope,
    /// All of these together.
    Together,
}

/// Equally likely heights of the nodes of a line, m.
pub trait HeightDraws {
    /// Visits each in order.
    fn for_each(&self, visit: &mut dyn FnMut(&[f64]));
}

impl HeightDraws for Vec<Vec<f64>> {
    fn for_each(&self, visit: &mut dyn FnMut(&[f64])) {
        for heights_m in self {
            visit(heights_m);
        }
    }
}

impl RelayPlan {
    /// Probability that all pieces, connections and reaches are as asked together: the fraction of draws in which they are. Without draws
    /// nothing.
    ///
    /// # Errors
    /// [`Error::Length`] for a draw that has not one height for each node, or a line that the plan is not of.
    pub fn joint_probability(&self, line: &Line<'_>, draws: &dyn HeightDraws) -> Result<Option<f64>, Error> {
        let nodes = self.invert_m.len();
        require_length("nodes", line.nodes.len(), "plan.invert_m", nodes)?;
        require_length("spans", line.spans.len() + 1, "plan.invert_m", nodes)?;
        let along_m = feasible::along_m(line.spans);
        let (mut count, mut met, mut fault) = (0_usize, 0_usize, None);
        draws.for_each(&mut |heights_m| {
            if heights_m.len() != nodes {
                fault.get_or_insert(heights_m.len());
                return;
            }
            let holds = self.pieces.iter().chain(&self.reaches).all(|p| feasible::holds(p, &along_m, heights_m));
            count += 1;
            met += usize::from(holds);
        });
        if let Some(found) = fault {
            require_length("draw", found, "nodes", nodes)?;
        }
        Ok((count > 0).then(|| met as f64 / count as f64))
    }
}

#[cfg(test)]
#[path = "relay_tests.rs"]
mod tests;
