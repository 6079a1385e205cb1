//! What to re-lay: the planner of [`crate::relay`] on what the survey knows.
//!
//! A stretch may begin and end at a noted joint, at a connection or where the pipe changes, at a drop, and at both ends of the
//! survey. Pipe that was not seen does not stay, nor pipe that runs backwards between two such places; traps and drops do. Heights are those of the path, the errors of falls those of their joint
//! covariance, so that ties count.

use super::{
    Lateral,
    answers::{SAME_JOINT_M, START_M},
    told::Told,
};
use crate::prelude::*;
use crate::{
    adjust::{Ensemble, Z_95},
    answers::{PathRow, RelayAnswer, RelayNodeRow, RelayPieceRow, RelayQuantityRow, RelayShortRow, RelayStretchRow},
    error::Error,
    model::{FeatureKind, Flow, GroundPoint, KeepOut, KeptOver, RelayChoice},
    pool,
    profile::{Draws, Profile, ProfilePiece},
    relay::{
        Asked, Connection, Costs, Digging, HeightDraws, Lift, Line, MeasuredOver, NoPlan, Node, Outcome, Piece,
        RelayPlan, Shortfall, Span, Stretch, Surface, plan, priced, trenches,
    },
    rules::{Rulebook, asked_of_new, at_least, roundoff},
    said,
    units::{Part, Said, Words},
    word,
};

/// Stretches that overlap by no more than this, m, only touch.
const TOUCH_M: f64 = 0.01;
/// Least level length between two nodes, m: that of an upright drop, of which no slope is asked.
const UPRIGHT_M: f64 = 1e-6;

/// The line that a plan is made for.
struct Site {
    nodes: Vec<Node>,
    spans: Vec<Span>,
    /// Variances of the falls from each node to those after it, m2; not determined where empty.
    covariance_m2: Vec<Vec<f64>>,
    ground: Vec<GroundPoint>,
    rows: Vec<PathRow>,
    /// What is asked, each rule once.
    asked: Vec<Said>,
    missing: Vec<Said>,
    /// Why nothing can be told.
    refused: Vec<Said>,
    /// The error of the ground was not stated.
    ground_taken: bool,
    any_joint: bool,
}

/// A place on the way where a stretch may end or bends.
#[derive(Debug, Clone, Copy)]
struct Stop {
    station_m: f64,
    may_end: bool,
    connection: Option<Connection>,
}

/// Heights of the nodes in draws of the posterior.
struct NodeDraws<'a> {
    draws: Ensemble<'a>,
    station_m: Vec<f64>,
}

impl HeightDraws for NodeDraws<'_> {
    fn for_each(&self, visit: &mut dyn FnMut(&[f64])) {
        let mut heights_m = vec![0.0; self.station_m.len()];
        self.draws.for_each(&mut |profile: &Profile| {
            for (height_m, station_m) in heights_m.iter_mut().zip(&self.station_m) {
                *height_m = profile.height_at(*station_m).unwrap_or(f64::NAN);
            }
            visit(&heights_m);
        });
    }
}

impl Lateral {
    /// What to re-lay at least cost under the costs given, or why there is no such plan. Where the choice gives no slope, the book does,
    /// as for new work.
    ///
    /// # Errors
    /// [`Error::Value`] for a choice that cannot be, such as a negative cost or a confidence below a half.
    ///
    /// # Example
    /// Four sticks, the second level: with the third it is laid anew.
    /// ```
    /// use fallwise::{Job, Lateral, Run, model::{AsBuilt, Feature, FeatureKind, RelayChoice, RelayCosts}};
    ///
    /// let inverts = [(0.0, 0.21), (2.0, 0.15), (4.0, 0.15), (6.0, 0.05), (8.0, 0.0)];
    /// let as_built = inverts.map(|(station_m, invert_m)| AsBuilt { station_m, invert_m, sd_m: Some(0.001) });
    /// let joints = [2.0, 4.0, 6.0].map(|station_m| Feature {
    ///     kind: FeatureKind::Joint, station_m, to_m: None, text: String::new(),
    /// });
    /// let job = Job { as_built: as_built.to_vec(), features: joints.to_vec(), ..Job::default() };
    /// let costs = RelayCosts { per_trench: 500.0, per_m: 100.0, ..RelayCosts::default() };
    /// let choice = RelayChoice { min_slope: Some(0.02), costs, ..RelayChoice::default() };
    /// let told = Lateral::solve(job)?.relay(&choice, None)?;
    /// assert_eq!(told.outcome, "plan");
    /// assert_eq!((told.stretches[0].from_m, told.stretches[0].to_m), (2.0, 6.0));
    /// # Ok::<(), fallwise::Error>(())
    /// ```
    pub fn relay(&self, choice: &RelayChoice, book: Option<&Rulebook>) -> Result<RelayAnswer, Error> {
        self.relay_of(choice, book, &mut Told::default())
    }

    /// The plan that the job asks for.
    pub(super) fn relay_rows(&self, book: Option<&Rulebook>, told: &mut Told) -> Result<Option<RelayAnswer>, Error> {
        self.job.relay.as_ref().map(|choice| self.relay_of(choice, book, told)).transpose()
    }

    fn relay_of(&self, choice: &RelayChoice, book: Option<&Rulebook>, told: &mut Told) -> Result<RelayAnswer, Error> {
        choice.validate()?;
        let site = self.site(choice, book);
        let mut answer = RelayAnswer {
            outcome: String::new(),
            sentences: Vec::new(),
            confidence: choice.confidence,
            currency: choice.costs.currency.clone(),
            cost: None,
            joint_probability: None,
            joint_low: None,
            joint_high: None,
            lower_outlet_m: None,
            stretches: Vec::new(),
            pieces: Vec::new(),
            nodes: site.node_rows(None),
            quantities: Vec::new(),
            short: Vec::new(),
        };
        let mut sentences = Vec::new();
        if site.refused.is_empty() {
            let fall_sd_m = |from: usize, to: usize| site.fall_sd_m(from, to);
            let line = Line { nodes: &site.nodes, spans: &site.spans, fall_sd_m: &fall_sd_m, ground: &site.ground };
            match plan(&line, &asked(choice), &costs(choice)) {
                Ok(Outcome::Plan(best)) => {
                    self.planned(choice, &site, (&line, &best), (&mut answer, &mut sentences, told))?;
                }
                Ok(Outcome::NoPlan(none)) => self.unplanned(choice, &site, &none, (&mut answer, &mut sentences, told)),
                Err(error) => {
                    sentences.push(said!("It cannot be told what to re-lay: {error}.", error = error.to_string()));
                }
            }
        } else {
            sentences.extend(site.refused.iter().cloned());
        }
        if answer.outcome.is_empty() {
            "refused".clone_into(&mut answer.outcome);
        }
        sentences.extend(self.of_site(choice, &site, &answer));
        answer.sentences = told.rows(sentences);
        Ok(answer)
    }

    /// What was found of the pipe, as the planner sees it.
    fn site(&self, choice: &RelayChoice, book: Option<&Rulebook>) -> Site {
        let mut stops = self.stops(choice);
        if self.job.flow == Flow::Decreasing {
            stops.reverse();
        }
        let station_m: Vec<f64> = stops.iter().map(|stop| stop.station_m).collect();
        let rows: Vec<PathRow> = self.at(&station_m).into_iter().flatten().collect();
        let mut site = Site {
            nodes: Vec::new(),
            spans: Vec::new(),
            covariance_m2: self.square(&station_m),
            ground: Vec::new(),
            asked: Vec::new(),
            missing: Vec::new(),
            refused: Vec::new(),
            ground_taken: false,
            any_joint: self.job.features.iter().any(|f| f.kind == FeatureKind::Joint),
            rows,
        };
        if site.rows.len() != stops.len() || site.covariance_m2.len() != stops.len() {
            site.refused.push(said!(
                "It cannot be told what to re-lay: how sure the falls between the joints are is not determined."
            ));
            return site;
        }
        // Ground above the zero of the heights, where the datum is known.
        let zero_m = site.rows.first().and_then(|row| Some(row.elevation_m? - row.height_m));
        if let Some(zero_m) = zero_m {
            let above = |g: &GroundPoint| GroundPoint { elevation_m: g.elevation_m - zero_m, ..g.clone() };
            site.ground = self.job.ground.iter().map(above).collect();
        }
        for (stop, row) in stops.iter().zip(&site.rows) {
            let at_depth = row.ground_m.is_some() && row.elevation_m.is_some();
            site.ground_taken |= at_depth && row.depth_sd_m.is_none();
            let sd_m = row.depth_sd_m.unwrap_or(row.height_sd_m);
            let wall_m = self.wall_m(stop.station_m);
            site.nodes.push(Node {
                station_m: stop.station_m,
                height_m: row.height_m,
                deeper_m: if at_depth { Z_95 * sd_m + wall_m + choice.bedding_m } else { wall_m + choice.bedding_m },
                may_end: stop.may_end,
                connection: stop.connection,
            });
        }
        self.span(choice, book, &mut site);
        let by_depth = choice.costs.per_m_depth > 0.0 || choice.surfaces.iter().any(|s| s.per_m_depth > 0.0);
        let dug = |i: usize| site.spans.get(i).is_some_and(|span| span.may_dig);
        let unknown = site.rows.iter().enumerate().find(|(i, row)| {
            (dug(*i) || i.checked_sub(1).is_some_and(dug)) && row.ground_m.zip(row.elevation_m).is_none()
        });
        if let Some((_, row)) = unknown.filter(|_| by_depth) {
            site.refused.push(said!(
                self.job.report.words,
                "It cannot be told what to re-lay: costs by depth are given, and the depth at {at} is not known. Give the ground there and an \
                 elevation of the pipe, or leave these costs out.",
                at = Part::At(row.station_m)
            ));
        }
        site
    }

    /// Thickness of the wall below the invert, m, of the thicker pipe where two meet.
    fn wall_m(&self, station_m: f64) -> f64 {
        let there = self.job.reaches.iter().filter(|r| r.from_m <= station_m && station_m <= r.to_m);
        there.filter_map(|r| r.pipe.wall_m).fold(0.0, f64::max)
    }

    /// Places where a stretch may end or must bend, by growing station.
    fn stops(&self, choice: &RelayChoice) -> Vec<Stop> {
        let (first, last) = self.planned_m();
        let end = |station_m: f64| Stop { station_m, may_end: true, connection: None };
        let mut stops = vec![end(first), end(last)];
        let inside = |m: f64| m > first + SAME_JOINT_M && m < last - SAME_JOINT_M;
        for feature in &self.job.features {
            match feature.kind {
                FeatureKind::Joint => stops.push(end(feature.station_m)),
                FeatureKind::Connection => {
                    let at = |m: f64| (m - feature.station_m).abs() < SAME_JOINT_M;
                    let free = choice.connections.iter().find(|c| at(c.station_m));
                    let connection = free.map_or(Connection::Kept, |c| Connection::NotAbove { above_m: c.above_m });
                    stops.push(Stop { connection: Some(connection), may_end: false, ..end(feature.station_m) });
                }
                _ => {}
            }
        }
        stops.extend(self.job.reaches.iter().flat_map(|r| [r.from_m, r.to_m]).map(end));
        stops.extend(self.drops_m().into_iter().chain(self.traps_m()).flat_map(|(a, b)| [a, b]).map(end));
        stops.retain(|s| s.station_m == first || s.station_m == last || inside(s.station_m));
        stops.sort_by(|a, b| a.station_m.total_cmp(&b.station_m));
        let mut merged: Vec<Stop> = Vec::new();
        for stop in stops {
            match merged.last_mut().filter(|before| stop.station_m - before.station_m < SAME_JOINT_M) {
                Some(before) => {
                    before.may_end |= stop.may_end;
                    before.connection = match (before.connection, stop.connection) {
                        (Some(Connection::Kept), _) | (_, Some(Connection::Kept)) => Some(Connection::Kept),
                        (one, other) => one.or(other),
                    };
                }
                None => merged.push(stop),
            }
        }
        merged
    }

    /// Where the pipe that is planned for begins and ends, m: the survey, less what it saw beyond the ends of the pipe, such as the
    /// bottom of a chamber, or what a counter shows that runs fast.
    fn planned_m(&self) -> (f64, f64) {
        let (first, last) = self.surveyed_m();
        let (from, to) = (self.job.reaches.first().map(|r| r.from_m), self.job.reaches.last().map(|r| r.to_m));
        let from = from.filter(|m| (0.0..=START_M).contains(&(m - first))).unwrap_or(first);
        let to = to.filter(|m| (0.0..=START_M).contains(&(last - m))).unwrap_or(last);
        if from < to { (from, to) } else { (first, last) }
    }

    /// Drops, m, lower station first.
    fn drops_m(&self) -> Vec<(f64, f64)> {
        let mut drops: Vec<(f64, f64)> = Vec::new();
        for piece in self.profile.pieces().filter(ProfilePiece::is_drop) {
            let [from_m, to_m] = piece.station_m;
            match drops.last_mut().filter(|(_, before_m)| *before_m == from_m) {
                Some((_, before_m)) => *before_m = to_m,
                None => drops.push((from_m, to_m)),
            }
        }
        drops
    }

    /// Traps within the survey, m.
    fn traps_m(&self) -> Vec<(f64, f64)> {
        let (first, last) = self.surveyed_m();
        let all = pool::traps_m(&self.job.features).into_iter().map(|(a, b)| (a.max(first), b.min(last)));
        all.filter(|(a, b)| a < b).collect()
    }

    /// Covariances of the heights at stations, m2, as a square; empty where not determined.
    fn square(&self, station_m: &[f64]) -> Vec<Vec<f64>> {
        let pairs = self.height_covariance(station_m);
        if pairs.is_empty() {
            return Vec::new();
        }
        let mut square = vec![vec![f64::NAN; station_m.len()]; station_m.len()];
        for pair in pairs {
            for (row, column) in [(pair.first, pair.second), (pair.second, pair.first)] {
                if let Some(cell) = square.get_mut(row).and_then(|row| row.get_mut(column)) {
                    *cell = pair.covariance_m2;
                }
            }
        }
        square
    }

    /// The pipe between the nodes, and what is asked of it.
    fn span(&self, choice: &RelayChoice, book: Option<&Rulebook>, site: &mut Site) {
        let (drops, traps) = (self.drops_m(), self.traps_m());
        let touches = |a: f64, b: f64, all: &[(f64, f64)]| all.iter().any(|(c, d)| overlap(a, b, *c, *d) > TOUCH_M);
        let backward: Vec<(f64, f64)> = self.backward().iter().map(|r| (r.from_m, r.to_m)).collect();
        let keep_out: Vec<(f64, f64)> = choice.keep_out.iter().map(|k| (k.from_m, k.to_m)).collect();
        for (one, other) in site.nodes.iter().zip(site.nodes.iter().skip(1)) {
            let (a, b) = (one.station_m.min(other.station_m), one.station_m.max(other.station_m));
            let middle_m = 0.5 * (a + b);
            let inside = |all: &[(f64, f64)]| all.iter().any(|(c, d)| *c <= middle_m && middle_m <= *d);
            let (drop, trap) = (inside(&drops), inside(&traps));
            let reach = self.job.reaches.iter().enumerate().find(|(_, r)| r.from_m <= middle_m && middle_m <= r.to_m);
            let (mut min_slope, mut max_slope) = (choice.min_slope, None);
            if let (None, Some(book), Some((_, reach))) = (choice.min_slope, book, reach) {
                let asked = asked_of_new(book, &self.job, reach);
                (min_slope, max_slope) = (asked.min, asked.max);
                each(&mut site.asked, asked.from);
                asked.missing.into_iter().for_each(|missing| each(&mut site.missing, Some(missing)));
            }
            let stays = drop || trap;
            if min_slope.is_none() && !stays && site.refused.is_empty() {
                let missing = Part::list(self.job.report.words, site.missing.iter().cloned().map(Part::from));
                site.refused.push(if site.missing.is_empty() {
                    said!(
                        self.job.report.words,
                        "It cannot be told what to re-lay: no rule says which slope is asked for between {both}. Choose a rulebook, \
                         say what pipe it is, or give the slope (min_slope).",
                        both = Part::Both(a, b)
                    )
                } else {
                    said!(
                        self.job.report.words,
                        "It cannot be told what to re-lay: which slope is asked for between {both} turns on {missing}. Say what it is, or \
                         give the slope (min_slope).",
                        both = Part::Both(a, b),
                        missing = missing
                    )
                });
            }
            site.spans.push(Span {
                level_m: self.profile.level_between(a, b).max(UPRIGHT_M),
                min_slope: if trap {
                    -1.0
                } else if drop {
                    0.0
                } else {
                    min_slope.unwrap_or(0.0)
                },
                max_slope: max_slope.filter(|_| !stays),
                reach: reach.map_or(usize::MAX, |(i, _)| i),
                may_dig: !stays && !touches(a, b, &keep_out),
                may_stay: !touches(a, b, &self.unseen_m) && !touches(a, b, &backward),
            });
        }
    }

    /// Puts a plan into rows and sentences.
    fn planned(
        &self,
        choice: &RelayChoice,
        site: &Site,
        (line, best): (&Line<'_>, &RelayPlan),
        (answer, sentences, told): (&mut RelayAnswer, &mut Vec<Said>, &mut Told),
    ) -> Result<(), Error> {
        let words = self.job.report.words;
        let draws = NodeDraws { draws: self.ensemble(), station_m: site.nodes.iter().map(|n| n.station_m).collect() };
        let (low, high) = best.joint_bounds;
        // Draws hold no lips that nobody noted; the bounds do.
        answer.joint_probability = best.joint_probability(line, &draws)?.map(|p| p.clamp(low, high));
        (answer.joint_low, answer.joint_high) = (Some(low), Some(high));
        answer.cost = Some(best.cost);
        answer.nodes = site.node_rows(Some(best));
        answer.pieces = best.pieces.iter().map(|piece| site.piece_row(piece)).collect();
        if best.stretches.is_empty() {
            "as_it_is".clone_into(&mut answer.outcome);
            sentences.push(said!(
                words,
                "Nothing has to be re-laid for the pipe to fall as asked: every piece of it between joints does as it is, each with \
                 {p} % or more.",
                p = percent(choice.confidence)
            ));
            return Ok(());
        }
        "plan".clone_into(&mut answer.outcome);
        self.stretch_rows(choice, site, (line, best), answer, told)?;
        let length_m: f64 = best.stretches.iter().map(|s| s.length_m).sum();
        let cost = money(best.cost, &choice.costs.currency);
        let priced = choice.costs
            != crate::model::RelayCosts { currency: choice.costs.currency.clone(), ..Default::default() }
            || choice.surfaces.iter().any(|s| s.per_m > 0.0 || s.per_m_depth > 0.0);
        sentences.push(match (answer.stretches.as_slice(), priced) {
            ([one], true) => said!(
                words,
                "Least cost under your costs: re-lay the pipe between {both}, {length} of trench, for {cost}.",
                both = Part::Both(one.from_m, one.to_m),
                length = Part::Length(length_m),
                cost = cost
            ),
            (all, true) => said!(
                words,
                "Least cost under your costs: re-lay {n} stretches, {length} of trench in all, for {cost}; the table lists them.",
                n = all.len(),
                length = Part::Length(length_m),
                cost = cost
            ),
            ([one], false) => said!(
                words,
                "No costs were given, so the shortest: re-lay the pipe between {both}, {length} of trench.",
                both = Part::Both(one.from_m, one.to_m),
                length = Part::Length(length_m)
            ),
            (all, false) => said!(
                words,
                "No costs were given, so the fewest trenches and then the shortest: re-lay {n} stretches, {length} of trench in all.",
                n = all.len(),
                length = Part::Length(length_m)
            ),
        });
        sentences.push(match answer.joint_probability {
            Some(p) => said!(
                words,
                "The probability that all of the pipe, kept and new, then falls as asked is {p}; of each piece {each} % was asked. The errors \
                 of the survey are in it. How exactly the new pipe is laid is not.",
                p = Part::Probability(p),
                each = percent(choice.confidence)
            ),
            None => said!(
                words,
                "Each piece of the pipe, kept or new, then falls as asked with {each} % or more; all together with {low} or more. The errors \
                 of the survey are in it. How exactly the new pipe is laid is not.",
                each = percent(choice.confidence),
                low = Part::Probability(low)
            ),
        });
        let spared_m = site.spared_m(best, choice.confidence);
        if spared_m > TOUCH_M {
            sentences.push(said!(
                words,
                "Of the pipe to be re-laid {length} falls as asked in the best estimate and is only not known well enough: measure \
                 better before it is dug up.",
                length = Part::Length(spared_m)
            ));
        }
        let passed = best.pieces.iter().flat_map(|piece| &piece.passes);
        sentences.extend(passed.filter_map(|passed| {
            let (node, new_m) = (site.nodes.get(passed.node)?, best.invert_m.get(passed.node)?);
            Some(said!(
                words,
                "At {at}, where a connection comes in, the new pipe lies {lower} lower: it is joined again. That it falls into the pipe then \
                 follows from the level which the job gives for it: level it first.",
                at = Part::At(node.station_m),
                lower = Part::Small(node.height_m - new_m)
            ))
        }));
        let takes = |stretch: &Stretch| {
            let inside = |p: &&Piece| p.new && stretch.from <= p.from && p.to <= stretch.to;
            let level_m =
                |p: &Piece| site.spans.get(p.from..p.to).unwrap_or_default().iter().map(|s| s.level_m).sum::<f64>();
            let falls = best.pieces.iter().filter(inside).map(|p| (p.min_slope * level_m(p), p.slope * level_m(p)));
            falls.fold((0.0, 0.0), |sum, one| (sum.0 + one.0, sum.1 + one.1))
        };
        sentences.push(match best.stretches.as_slice() {
            [one] => said!(
                words,
                "Open the pits at both ends first, and level both inverts that are kept before any pipe is taken out: it takes {asked} of \
                 fall between them, and by the survey there is {there}. Put them in and solve again.",
                asked = Part::Small(takes(one).0),
                there = Part::Small(takes(one).1)
            ),
            _ => said!(
                "Open the pits at both ends of a trench first, and level both inverts that are kept before any pipe is taken out. Put them \
                 in and solve again."
            ),
        });
        sentences.push(said!(
            "For a sheet on each pit, with its place on the surface and the depth from which it is dug by hand, ask for a dig at both ends \
             of each trench ([[dig]] in the job)."
        ));
        Ok(())
    }

    fn stretch_rows(
        &self,
        choice: &RelayChoice,
        site: &Site,
        (line, best): (&Line<'_>, &RelayPlan),
        answer: &mut RelayAnswer,
        told: &mut Told,
    ) -> Result<(), Error> {
        let words = self.job.report.words;
        let at = |node: usize| site.nodes.get(node).map_or(f64::NAN, |n| n.station_m);
        for (i, stretch) in best.stretches.iter().enumerate() {
            let (from_m, to_m) = (at(stretch.from), at(stretch.to));
            let middle_m = 0.5 * (from_m + to_m);
            let reach = self.job.reaches.iter().find(|r| r.from_m <= middle_m && middle_m <= r.to_m);
            // Without a width there is no volume; any will do for the rest.
            let width_m = choice.width_m.unwrap_or(1.0);
            let digging = Digging { width_m, batter: choice.batter, stick_m: reach.and_then(|r| r.pipe.stick_m) };
            let one = RelayPlan { stretches: vec![stretch.clone()], ..best.clone() };
            let all = trenches(line, &one, &digging)?;
            let Some(trench) = all.first() else { continue };
            let wide = choice.width_m.is_some();
            let (volume_m3, surface_m2) = (trench.volume_m3.filter(|_| wide), trench.surface_m2.filter(|_| wide));
            let sentence = match trench.max_depth_m {
                Some(depth_m) => said!(
                    words,
                    "Re-lay between {both}: {length} of trench, down to {depth} below ground at its deepest (deep end of the interval, \
                     with wall and bedding).",
                    both = Part::Both(from_m, to_m),
                    length = Part::Length(trench.length_m),
                    depth = Part::Length(depth_m)
                ),
                None => said!(
                    words,
                    "Re-lay between {both}: {length} of trench. How deep it is is not determined: the job gives no ground, or no datum \
                     for the pipe.",
                    both = Part::Both(from_m, to_m),
                    length = Part::Length(trench.length_m)
                ),
            };
            let number = i + 1;
            let mut row = |item: String, quantity: Option<f64>, unit: &str, rate: f64| {
                let rate = Some(rate).filter(|rate| *rate > 0.0);
                answer.quantities.push(RelayQuantityRow {
                    stretch: number,
                    item,
                    quantity,
                    unit: unit.to_owned(),
                    rate,
                    amount: quantity.zip(rate).map(|(quantity, rate)| quantity * rate),
                });
            };
            // Metres of trench times metres of depth, where that has a price.
            let deep = |costs: Costs| priced(line, best, stretch, &costs);
            let rates = &choice.costs;
            if rates.per_trench > 0.0 {
                row(
                    word!("trench set up, with two cuts and two couplings").to_owned(),
                    Some(1.0),
                    "each",
                    rates.per_trench,
                );
            }
            row(word!("trench, level length").to_owned(), Some(trench.length_m), "m", rates.per_m);
            if rates.per_m_depth > 0.0 {
                let area = deep(Costs { per_m_depth: 1.0, ..Costs::default() })?;
                row(word!("trench, length times depth").to_owned(), Some(area), "m2", rates.per_m_depth);
            }
            for surface in &choice.surfaces {
                let (low_m, high_m) = (from_m.min(to_m).max(surface.from_m), from_m.max(to_m).min(surface.to_m));
                if high_m - low_m <= TOUCH_M {
                    continue;
                }
                let name = || match surface.name.as_str() {
                    "" => Part::word(word!("a surface without a name")),
                    name => Part::from(name),
                };
                let level_m = self.profile.level_between(low_m, high_m);
                let item = told.row(said!("trench under {surface}", surface = name()));
                row(item, Some(level_m), "m", surface.per_m);
                if surface.per_m_depth > 0.0 {
                    let alone = Surface { from_m: surface.from_m, to_m: surface.to_m, per_m: 0.0, per_m_depth: 1.0 };
                    let area = deep(Costs { surfaces: vec![alone], ..Costs::default() })?;
                    let item = told.row(said!("trench under {surface}, length times depth", surface = name()));
                    row(item, Some(area), "m2", surface.per_m_depth);
                }
            }
            let mut quantity =
                |item: &'static str, quantity: Option<f64>, unit: &str| row(item.to_owned(), quantity, unit, 0.0);
            quantity(word!("trench, greatest depth"), trench.max_depth_m, "m");
            quantity(word!("trench, width at its bottom"), choice.width_m, "m");
            quantity(word!("volume to dig, before it swells"), volume_m3, "m3");
            quantity(word!("surface to reinstate"), surface_m2, "m2");
            quantity(word!("bedding below the pipe"), Some(choice.bedding_m), "m");
            quantity(word!("new pipe"), Some(trench.pipe_m), "m");
            quantity(word!("length of a stick"), digging.stick_m, "m");
            quantity(word!("sticks of new pipe"), trench.sticks.map(|n| n as f64), "each");
            quantity(word!("couplings to the old pipe"), Some(2.0), "each");
            let connections =
                (stretch.from + 1..stretch.to).filter(|n| line.nodes.get(*n).is_some_and(|n| n.connection.is_some()));
            quantity(word!("connections to join again"), Some(connections.count() as f64), "each");
            answer.stretches.push(RelayStretchRow {
                number,
                from_m,
                to_m,
                length_m: trench.length_m,
                pipe_m: trench.pipe_m,
                sticks: trench.sticks,
                max_depth_m: trench.max_depth_m,
                volume_m3,
                surface_m2,
                cost: stretch.cost,
                sentence: told.row(sentence),
            });
        }
        Ok(())
    }

    /// Puts the proof that there is no plan into rows and sentences.
    fn unplanned(
        &self,
        choice: &RelayChoice,
        site: &Site,
        none: &NoPlan,
        (answer, sentences, told): (&mut RelayAnswer, &mut Vec<Said>, &mut Told),
    ) {
        let words = self.job.report.words;
        "no_plan".clone_into(&mut answer.outcome);
        answer.lower_outlet_m = none.lower_outlet_m;
        let unsure = !none.short.is_empty() && none.short.iter().all(|s| s.fall_m >= s.asked_m);
        sentences.push(if unsure {
            said!(
                "No plan can be given: the falls are not known well enough. Measure better first; digging does not help against that."
            )
        } else {
            said!(
                "No plan exists that keeps the inverts at both ends: nothing that is re-laid between the inverts that stay makes all of the \
                 pipe fall as asked."
            )
        });
        let at = |node: usize| site.nodes.get(node).map_or(f64::NAN, |n| n.station_m);
        for short in &none.short {
            let sentence = shortfall(words, (at(short.from), at(short.to)), short);
            answer.short.push(RelayShortRow {
                from_m: at(short.from),
                to_m: at(short.to),
                fall_m: short.fall_m,
                fall_sd_m: short.fall_sd_m,
                slope: short.slope,
                asked_m: short.asked_m,
                missing_m: short.missing_m,
                sentence: told.row(sentence.clone()),
            });
            if answer.short.len() <= MOST_SHORT {
                sentences.push(sentence);
            }
        }
        if answer.short.len() > MOST_SHORT {
            sentences.push(said!(
                "There are {n} more such sections; the table lists them.",
                n = answer.short.len() - MOST_SHORT
            ));
        }
        if let Some(lower_m) = none.lower_outlet_m {
            sentences.push(said!(
                words,
                "With the last invert {lower} lower there would be a plan, which then re-lays the pipe down to it. Whether that can be \
                 is for whoever owns what it runs into.",
                lower = Part::Small(lower_m)
            ));
        }
        sentences.extend(none.must_go.iter().map(|span| {
            let (from_m, to_m) = (at(*span), at(span + 1));
            let (low_m, high_m) = (from_m.min(to_m), from_m.max(to_m));
            let unseen = self.unseen_m.iter().any(|(a, b)| overlap(low_m, high_m, *a, *b) > TOUCH_M);
            let both = Part::Both(from_m, to_m);
            if unseen {
                said!(
                    words,
                    "Nothing was read somewhere between {both}, and no new pipe can take the place of it: see it first.",
                    both = both
                )
            } else {
                said!(
                    words,
                    "Somewhere between {both} the pipe runs backwards, and no new pipe can take the place of it.",
                    both = both
                )
            }
        }));
        sentences.extend(none.lifts.iter().map(|lift| lifted(words, *lift, &at, choice)));
    }

    /// What is to be known of any plan, or of none.
    fn of_site(&self, choice: &RelayChoice, site: &Site, answer: &RelayAnswer) -> Vec<Said> {
        let words = self.job.report.words;
        let mut sentences = Vec::new();
        if let Some(ties) = self.explanations().first() {
            sentences.push(said!(
                "The measurements contradict each other, and {ties} may be wrong: settle that before anything is dug by this.",
                ties = self.named(ties)
            ));
        }
        if answer.outcome != "refused" {
            match choice.min_slope {
                Some(slope) => sentences.push(said!(
                    words,
                    "Asked for is {slope}, as the job says, of each piece of pipe between joints.",
                    slope = Part::Slope(slope)
                )),
                None => sentences
                    .extend(site.asked.iter().map(|rule| said!("What is asked, as of new work: {rule}", rule = rule))),
            }
            sentences.extend((choice.kept == KeptOver::Piece).then(|| {
                said!(
                    "It is asked of every piece between joints, new or kept. That is the choice of this plan, and more than the mean of a reach."
                )
            }));
            if !site.missing.is_empty() {
                sentences.push(said!(
                    "Which rows of the rulebook apply turns on {missing}, which the job does not say: the strictest are taken.",
                    missing = Part::list(words, site.missing.iter().cloned().map(Part::from))
                ));
            }
            if !site.any_joint {
                sentences.push(said!(
                    "No joint is noted: a trench can only begin and end where the survey, a pipe or a drop does. Note the joints."
                ));
            }
            if site.ground_taken {
                sentences.push(said!("The error of the ground is not stated: depths are reckoned without it."));
            }
            sentences.push(said!(
                "Lining and bursting follow the old pipe and keep its slope and its bellies (common practice, no source): only laying anew \
                 changes how it falls."
            ));
            sentences.push(said!(
                "This follows from the costs and limits given. It is no recommendation and no quote. Whoever digs and lays decides, with a \
                 licensed person and under the rules in force."
            ));
        }
        sentences
    }
}

/// Sections without enough fall that are said; the table lists all.
const MOST_SHORT: usize = 3;

impl Site {
    /// Standard deviation of the fall between two nodes, m.
    fn fall_sd_m(&self, from: usize, to: usize) -> Option<f64> {
        let cell = |i: usize, j: usize| self.covariance_m2.get(i)?.get(j).copied();
        let variance = cell(from, from)? + cell(to, to)? - 2.0 * cell(from, to)?;
        // A difference of variances may fall below zero by its rounding.
        variance.is_finite().then(|| variance.max(0.0).sqrt())
    }

    fn node_rows(&self, best: Option<&RelayPlan>) -> Vec<RelayNodeRow> {
        let row = |(i, (node, row)): (usize, (&Node, &PathRow))| {
            let new_height_m = best.and_then(|best| best.invert_m.get(i).copied());
            let depth_m = row.ground_m.zip(row.elevation_m).map(|(ground, invert)| ground - invert);
            RelayNodeRow {
                station_m: node.station_m,
                height_m: node.height_m,
                new_height_m,
                elevation_m: row.elevation_m,
                new_elevation_m: row.elevation_m.zip(new_height_m).map(|(now, new)| now + (new - node.height_m)),
                ground_m: row.ground_m,
                // Where the new pipe lies lower, so does the trench.
                trench_m: depth_m
                    .map(|depth_m| depth_m + node.deeper_m + new_height_m.map_or(0.0, |m| node.height_m - m)),
                may_end: node.may_end,
                connection: node.connection.map(|c| match c {
                    Connection::Kept => "kept".to_owned(),
                    Connection::NotAbove { .. } => "not_above".to_owned(),
                }),
            }
        };
        self.nodes.iter().zip(&self.rows).enumerate().map(row).collect()
    }

    fn piece_row(&self, piece: &Piece) -> RelayPieceRow {
        let at = |node: usize| self.nodes.get(node).map_or(f64::NAN, |n| n.station_m);
        // Of drops and traps no slope is asked.
        let asked = piece.new || self.spans.get(piece.from).is_some_and(|s| s.min_slope > 0.0);
        RelayPieceRow {
            from_m: at(piece.from),
            to_m: at(piece.to),
            new: piece.new,
            slope: piece.slope,
            slope_sd: piece.slope_sd,
            min_slope: asked.then_some(piece.min_slope),
            max_slope: piece.max_slope,
            probability: piece.probability,
        }
    }

    /// Length of pipe to be re-laid that falls as asked in the best estimate, only not as surely as asked, m.
    fn spared_m(&self, best: &RelayPlan, confidence: f64) -> f64 {
        let falls = |i: usize| {
            let (a, b, span) = (self.nodes.get(i)?, self.nodes.get(i + 1)?, self.spans.get(i)?);
            let (slope, sd) = ((a.height_m - b.height_m) / span.level_m, self.fall_sd_m(i, i + 1)? / span.level_m);
            let most = span.max_slope.unwrap_or(f64::INFINITY);
            let meets = slope >= span.min_slope - roundoff(span.min_slope) && slope <= most + roundoff(span.min_slope);
            let short = 1.0 - at_least(slope, Some(sd), span.min_slope)?;
            let over = span.max_slope.and_then(|max| at_least(-slope, Some(sd), -max)).map_or(0.0, |p| 1.0 - p);
            (span.may_stay && meets && 1.0 - short - over < confidence).then_some(span.level_m)
        };
        best.stretches.iter().flat_map(|s| s.from..s.to).filter_map(falls).sum()
    }
}

/// Length that two stretches have in common, m.
fn overlap(a: f64, b: f64, c: f64, d: f64) -> f64 {
    (b.min(d) - a.max(c)).max(0.0)
}

/// Adds what is not there yet.
fn each(all: &mut Vec<Said>, one: Option<Said>) {
    if let Some(one) = one.filter(|one| !all.contains(one)) {
        all.push(one);
    }
}

fn asked(choice: &RelayChoice) -> Asked {
    Asked {
        confidence: choice.confidence,
        measured_over: match choice.kept {
            KeptOver::Piece => MeasuredOver::Piece,
            KeptOver::Reach => MeasuredOver::Reach { kept_min_slope: 0.0 },
        },
        min_length_m: choice.min_length_m,
        max_length_m: choice.max_length_m,
    }
}

fn costs(choice: &RelayChoice) -> Costs {
    let surface = |s: &crate::model::RelaySurface| Surface {
        from_m: s.from_m,
        to_m: s.to_m,
        per_m: s.per_m,
        per_m_depth: s.per_m_depth,
    };
    Costs {
        per_trench: choice.costs.per_trench,
        per_m: choice.costs.per_m,
        per_m_depth: choice.costs.per_m_depth,
        surfaces: choice.surfaces.iter().map(surface).collect(),
    }
}

/// A probability that somebody typed, in percent.
fn percent(probability: f64) -> Part {
    Part::Exact((probability * 1e6).round() / 1e4)
}

/// An amount of money: in whole units.
fn money(cost: f64, currency: &str) -> Said {
    let amount = Part::Number(cost, 0);
    if currency.is_empty() {
        said!("{amount} (in the money of the costs given)", amount = amount)
    } else {
        said!("{amount} {currency}", amount = amount, currency = currency)
    }
}

fn shortfall(words: Words, (from_m, to_m): (f64, f64), short: &Shortfall) -> Said {
    let both = Part::Both(from_m, to_m);
    let there = Part::Slope(short.slope);
    match short.missing_m {
        None => said!(
            words,
            "Between {both} the pipe falls {fall}, of {asked} asked for; how sure that is is not determined.",
            both = both,
            fall = Part::Small(short.fall_m),
            asked = Part::Small(short.asked_m)
        ),
        Some(missing_m) if short.fall_m >= short.asked_m => said!(
            words,
            "Between {both} the pipe falls {fall}, and {asked} is asked for: the fall would do, but it is not known well enough. Its errors \
             take {missing} more. Measure better before anything is dug.",
            both = both,
            fall = Part::Small(short.fall_m),
            asked = Part::Small(short.asked_m),
            missing = Part::Small(missing_m)
        ),
        Some(missing_m) if short.fall_m < 0.0 => said!(
            words,
            "Between {both} the pipe rises {rise}, and a fall of {asked} is asked for: {short} is missing, and with what the errors take \
             {missing}.",
            both = both,
            rise = Part::Small(-short.fall_m),
            asked = Part::Small(short.asked_m),
            short = Part::Small(short.asked_m - short.fall_m),
            missing = Part::Small(missing_m)
        ),
        Some(missing_m) => said!(
            words,
            "Between {both} the pipe falls {fall}, and {asked} is asked for: {short} is missing, and with what the errors take {missing}. \
             The steepest even slope that there is between the two: {slope}.",
            both = both,
            fall = Part::Small(short.fall_m),
            asked = Part::Small(short.asked_m),
            short = Part::Small(short.asked_m - short.fall_m),
            missing = Part::Small(missing_m),
            slope = there
        ),
    }
}

fn lifted(words: Words, lift: Lift, at: &dyn Fn(usize) -> f64, choice: &RelayChoice) -> Said {
    let reason = |one_m: f64, other_m: f64| {
        let over = |k: &&KeepOut| overlap(one_m.min(other_m), one_m.max(other_m), k.from_m, k.to_m) > TOUCH_M;
        choice.keep_out.iter().filter(over).map(|k| k.reason.trim()).find(|reason| !reason.is_empty())
    };
    match lift {
        Lift::Forbidden(Some((from, to))) if let Some(reason) = reason(at(from), at(to)) => said!(
            words,
            "There would be a plan if the pipe between {both} could be dug up ({reason}).",
            both = Part::Both(at(from), at(to)),
            reason = reason
        ),
        Lift::Forbidden(Some((from, to))) => said!(
            words,
            "There would be a plan if the pipe between {both} could be dug up.",
            both = Part::Both(at(from), at(to))
        ),
        Lift::Forbidden(None) => said!("There would be a plan if all stretches could be dug up."),
        Lift::Connection(Some(node)) => said!(
            words,
            "There would be a plan if the connection at {at} did not bind the new pipe.",
            at = Part::At(at(node))
        ),
        Lift::Connection(None) => said!("There would be a plan if the connections did not bind the new pipe."),
        Lift::MinLength => said!("There would be a plan if trenches could be shorter."),
        Lift::MaxLength => said!("There would be a plan if trenches could be longer."),
        Lift::MaxSlope => said!("There would be a plan if the pipe could be steeper."),
        Lift::Together => {
            said!("There would be a plan if all these limits were lifted together; none of them does by itself.")
        }
    }
}

#[cfg(test)]
#[path = "relay_tests.rs"]
mod tests;
