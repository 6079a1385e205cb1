//! A solved lateral as flat rows and plain sentences.

use super::{Lateral, capacity, sentence, told::Told};
use crate::prelude::*;
use crate::{
    adjust::{self, Anchor, Estimate, HeightCovariance},
    answers::{
        Answers, EditRow, FindingRow, NextRow, ParameterRow, PathRow, ReachRow, ReadingRow, SegmentRow, StretchRow,
        pool_rows,
    },
    chain::Break,
    condition::{Action, Edit},
    error::Error,
    geographic, math,
    model::{FeatureKind, Flow, Reach, Run},
    pool,
    profile::{cover_m, ground_at, ground_sd_at},
    rules::{self, Check, Rulebook},
    said,
    units::{Part, Said},
    watch::{self, Stage, Watch},
    word,
};

/// Version of the form of the answers.
const SCHEMA: &str = "fallwise-answers-1";

/// A reach that was surveyed but for this at an end, m, was surveyed (our choice).
pub(super) const START_M: f64 = 0.5;

/// Joints nearer to each other than this are one, m (our choice).
pub(super) const SAME_JOINT_M: f64 = 0.01;

/// Pieces between joints that are given a row at most.
const MOST_PIECES: usize = 400;

/// A backfall as long as this is given a row, m: about two heads (our choice).
pub(super) const BACKWARD_M: f64 = 0.3;

/// How far from where it was found a break may lie and still be that one, m (our choice).
const BREAK_M: f64 = 1.0;

/// What a reach is called: its own name, or its number.
pub(super) fn reach_name(index: usize, reach: &Reach) -> Said {
    if reach.name.is_empty() { said!("reach {n}", n = index + 1) } else { Said::text(&reach.name) }
}

/// Cautions that go with every output.
pub const CAUTIONS: [&str; 9] = [
    word!("This shows the shape on the day. It does not show when or why it became so."),
    word!("Other buried services are not shown: have them located before digging, and dig by hand near their marks."),
    word!(
        "Any trench can collapse. Support, access and air are for a competent person under the rules in force; no depth \
         is safe by itself."
    ),
    word!(
        "Should another pipe or cable ever be found crossing inside the drain: stop, do not cut or jet, and call the gas emergency number."
    ),
    word!("Do not enter chambers or manholes."),
    word!("Sewage carries disease: gloves, eye protection, washed hands."),
    word!("Dust of asbestos cement and of old bituminised pipe is harmful: do not cut or break it dry."),
    word!("Slabs may hide tensioned or heated parts: have them scanned before cutting."),
    word!("Codes are amended locally. The code as adopted locally and a licensed professional decide, not this page."),
];

/// What a stretch that runs backwards is called, by its number from 1.
fn backward_name(number: usize) -> Said {
    said!("backfall {n}", n = number)
}

/// What a piece of pipe between joints is called, by its number from 1.
fn piece_name(number: usize) -> Said {
    said!("piece {n}", n = number)
}

/// A place on the profile.
#[derive(Debug, Clone, Copy)]
struct Spot {
    station_m: f64,
    /// Above the lowest node, without what ties show of lips.
    height_m: f64,
    sd_m: f64,
    /// The node that it is, or the one before it.
    node: usize,
    /// Level of the water that can stand here, m; that of the invert or below it where it is dry.
    water_m: Option<f64>,
    /// Height and its standard deviation without the ties.
    before: Option<(f64, f64)>,
}

impl Lateral {
    /// Everything there is to say, with findings where a rulebook is given.
    ///
    /// # Errors
    /// Those of [`Lateral::check`].
    pub fn answers(&self, book: Option<&Rulebook>) -> Result<Answers, Error> {
        let words = self.job.report.words;
        let asked = || watch::ask(self.watch.as_ref(), Stage::Drawing);
        asked()?;
        let pools = self.pools();
        asked()?;
        let check = book.map(|b| self.check_told(b, &pools)).transpose()?;
        let next = book.zip(check.as_ref()).map(|(b, c)| self.what_next_after(b, c, &pools)).unwrap_or_default();
        asked()?;
        let mut told = Told::default();
        told.keep(next.iter().flat_map(|n| [&n.sentence, &n.hazard]));
        told.keep(check.iter().flat_map(Check::findings).flat_map(|f| [&f.subject, &f.requirement, &f.sentence]));
        told.keep(&pools.iter().map(|p| pool::sentence(p, words)).collect::<Vec<_>>());
        let mut next = next.into_iter().map(NextRow::from);
        let total = self.total();
        let mut warnings = self.warnings.clone();
        warnings.extend(self.unused());
        let noted = self.noted();
        warnings.extend(noted.warnings);
        let water = self.water_rows(&noted.rows, &pools, &mut told);
        warnings.extend(check.iter().flat_map(|c| c.warnings.iter().cloned()));
        if total.slope_high.is_some_and(|high| high < 0.0) {
            warnings.push(said!(
                "as read, the pipe as a whole runs backwards: check tilt_positive of the run and the flow of the job \
                 first"
            ));
        }
        let path = self.path_rows();
        warnings.extend(self.unplaced(&path));
        // What the operator noted is shown; the readings themselves are in the log.
        let mut job = self.job.clone();
        for run in &mut job.runs {
            run.counter_m.clear();
            run.reading_rad.clear();
            run.time_s = None;
            run.moving = None;
            run.roll_rad = None;
            run.temperature_c = None;
            run.source_row = None;
        }
        let (from_m, to_m) = self.surveyed_m();
        let reaches = self.reaches();
        let pieces = self.pieces();
        told.keep(&(1..=pieces.len()).map(piece_name).collect::<Vec<_>>());
        let backward = self.backward();
        told.keep(&(1..=backward.len()).map(backward_name).collect::<Vec<_>>());
        let (covariance, cut) = self.covariance_rows(&reaches);
        // Two checks of the head have no locator and no benchmark.
        let several_ties = self.job.ties.iter().filter(|tie| !tie.is_of_head()).count() > 1;
        let all_rolls_logged = self.job.runs.iter().all(|r| r.roll_rad.is_some());
        let carrying =
            self.job.capacity.as_ref().map(|asked| self.capacity_told(asked, &pools, &mut told)).transpose()?;
        let (carrying, capacity, needed) =
            carrying.map_or((None, Vec::new(), Vec::new()), |c| (Some(c.whole), c.reaches, c.needed));
        let not_carried = capacity::not_covered().into_iter().filter(|_| self.job.capacity.is_some());
        told.keep(&self.surveyed_reaches().map(|(i, r)| reach_name(i, r)).collect::<Vec<_>>());
        Ok(Answers {
            budget: self.budget_rows(&total, &reaches, &mut told),
            correlations: self.correlation_rows(&total),
            covariance,
            schema: SCHEMA.to_owned(),
            version: env!("CARGO_PKG_VERSION").to_owned(),
            sentence: told.row(sentence::first(self, &total, &pools, check.as_ref(), words)),
            next: next.next(),
            next_others: next.collect(),
            from_m,
            to_m,
            total,
            reaches,
            pieces,
            backward,
            unseen: self.unseen_m.iter().map(|&(from_m, to_m)| StretchRow { from_m, to_m }).collect(),
            segments: self.segments(),
            pools: pool_rows(&pools, words),
            findings: check.iter().flat_map(Check::findings).map(FindingRow::from).collect(),
            water,
            carrying,
            capacity,
            needed,
            ties: self.tie_rows(&mut told),
            adjustment: self.adjustment_row(&mut told),
            as_built: self.as_built_rows(&mut told),
            noted: noted.rows,
            relay: self.relay_rows(book, &mut told)?,
            digs: self.dig_rows(&mut told),
            tapes: self.tape_rows(),
            path,
            edits: self.edits(&mut told),
            readings: self.readings_used(),
            parameters: self.parameter_rows(&mut told),
            warnings: told.rows(warnings),
            notes: told.rows(check.iter().flat_map(|c| c.notes.iter().cloned()).chain(noted.sentence).chain(cut)),
            not_covered: told.rows(
                adjust::not_covered(&self.job.instrument, all_rolls_logged, several_ties)
                    .into_iter()
                    .chain(not_carried),
            ),
            cautions: CAUTIONS.map(str::to_owned).to_vec(),
            rules: check.map(|c| c.rules_used).unwrap_or_default(),
            said: told.all(),
            job,
            inputs: Vec::new(),
        })
    }

    /// The one sentence that matters, alone.
    pub(super) fn first_sentence(&self, book: Option<&Rulebook>) -> Result<Said, Error> {
        let pools = self.pools();
        let check = book.map(|b| self.check_told(b, &pools)).transpose()?;
        Ok(sentence::first(self, &self.total(), &pools, check.as_ref(), self.job.report.words))
    }

    /// The same, with a watch that is asked between blocks of draws.
    ///
    /// # Errors
    /// As [`Lateral::answers`]; [`Error::Cancelled`] where the watch says stop.
    pub fn answers_watched(&self, book: Option<&Rulebook>, watch: &Watch) -> Result<Answers, Error> {
        let watched = Self { watch: Some(watch.clone()), ..self.clone() };
        let answers = watched.answers(book);
        // Once it has said stop, draws are missing, and whatever was made of the others says nothing.
        if watch.stopped() { Err(Error::Cancelled) } else { answers }
    }

    /// Figures over the whole surveyed length.
    pub fn total(&self) -> ReachRow {
        let (from_m, to_m) = self.surveyed_m();
        self.reach_row(word!("surveyed length"), from_m, to_m, None)
    }

    /// Figures of each reach that was surveyed, over the part of it that was.
    pub fn reaches(&self) -> Vec<ReachRow> {
        let (first, last) = self.surveyed_m();
        self.surveyed_reaches()
            .map(|(i, r)| {
                let name = reach_name(i, r).to_string();
                self.reach_row(&name, r.from_m.clamp(first, last), r.to_m.clamp(first, last), Some(i))
            })
            .collect()
    }

    /// Figures of each piece of pipe between noted joints; those at the ends of the survey end there.
    pub fn pieces(&self) -> Vec<ReachRow> {
        let (first, last) = self.surveyed_m();
        let inside = |m: &f64| *m > first + SAME_JOINT_M && *m < last - SAME_JOINT_M;
        let joints = self.job.features.iter().filter(|f| f.kind == FeatureKind::Joint).map(|f| f.station_m);
        let mut ends: Vec<f64> = joints.filter(inside).collect();
        if ends.is_empty() {
            return Vec::new();
        }
        ends.sort_by(f64::total_cmp);
        ends.dedup_by(|b, a| *b - *a < SAME_JOINT_M);
        ends.insert(0, first);
        ends.push(last);
        let named = |(i, ends): (usize, &[f64])| {
            let middle_m = 0.5 * (ends[0] + ends[1]);
            let reach = self.job.reaches.iter().position(|r| r.from_m <= middle_m && middle_m <= r.to_m);
            self.reach_row(&piece_name(i + 1).to_string(), ends[0], ends[1], reach)
        };
        ends.windows(2).take(MOST_PIECES).enumerate().map(named).collect()
    }

    /// Figures of each stretch that runs backwards in the best estimate over 0.3 m or more, traps left out.
    pub fn backward(&self) -> Vec<ReachRow> {
        let all = rules::backward_m(&self.profile, &self.job, self.surveyed_m()).into_iter();
        let long = all.filter(|(from_m, to_m)| to_m - from_m >= BACKWARD_M).take(MOST_PIECES);
        let named = |(i, (from_m, to_m)): (usize, (f64, f64))| {
            let middle_m = 0.5 * (from_m + to_m);
            let reach = self.job.reaches.iter().position(|r| r.from_m <= middle_m && middle_m <= r.to_m);
            self.reach_row(&backward_name(i + 1).to_string(), from_m, to_m, reach)
        };
        long.enumerate().map(named).collect()
    }

    fn surveyed_reaches(&self) -> impl Iterator<Item = (usize, &Reach)> {
        let (first, last) = self.surveyed_m();
        self.job.reaches.iter().enumerate().filter(move |(_, r)| r.from_m < last && r.to_m > first)
    }

    fn reach_row(&self, name: &str, from_m: f64, to_m: f64, reach: Option<usize>) -> ReachRow {
        let slope = self.slope_between(from_m, to_m);
        let fall = self.fall(from_m, to_m);
        let pipe = reach.and_then(|i| self.job.reaches.get(i)).map(|r| &r.pipe);
        // As the ties leave it.
        let scale_sd = self.posterior.parameter(adjust::SCALE).map_or(self.posterior.scale_sd, |p| p.sd);
        ReachRow {
            name: name.to_owned(),
            from_m,
            to_m,
            length_m: (to_m - from_m) * self.posterior.scale,
            length_sd_m: (to_m - from_m) * scale_sd,
            slope: slope.map(|s| s.value),
            slope_sd: slope.map(|s| s.sd),
            slope_low: slope.map(|s| s.low),
            slope_high: slope.map(|s| s.high),
            fall_m: fall.value,
            fall_sd_m: fall.sd,
            fall_low_m: fall.low,
            fall_high_m: fall.high,
            drop_fall_m: self.profile.drop_fall_between(from_m, to_m) * self.job.flow.sign(),
            pipe: pipe.map(|p| p.name.clone()).unwrap_or_default(),
            bore_m: pipe.and_then(|p| p.bore).map(|b| b.height_m()),
        }
    }

    /// The segments, in order of station, with slope and fall along the flow.
    ///
    /// Slope and fall are those between the segment's two stations, with the arc of a bend and a step where they lie there,
    /// so that the falls add up to the whole.
    pub fn segments(&self) -> Vec<SegmentRow> {
        self.chain
            .breaks_m
            .windows(2)
            .enumerate()
            .map(|(i, ends)| {
                let tilt = self.posterior.mean_tilt(&self.layout, &self.profile, ends[0], ends[1]);
                let drop = tilt.value.abs() > core::f64::consts::FRAC_PI_4;
                let slope = self.slope_between(ends[0], ends[1]).filter(|_| !drop);
                let fall = self.fall(ends[0], ends[1]);
                let found = if i > 0 { self.found_break(i) } else { None };
                SegmentRow {
                    number: i + 1,
                    from_m: ends[0],
                    to_m: ends[1],
                    length_m: (ends[1] - ends[0]) * self.posterior.scale,
                    tilt_rad: tilt.value,
                    tilt_sd_rad: tilt.sd,
                    slope: slope.map(|s| s.value),
                    slope_sd: slope.map(|s| s.sd),
                    slope_low: slope.map(|s| s.low),
                    slope_high: slope.map(|s| s.high),
                    fall_m: fall.value,
                    fall_sd_m: fall.sd,
                    readings: self.readings.get(i).copied().unwrap_or(0),
                    kind: if drop { "drop" } else { "pipe" }.to_owned(),
                    break_probability: found.map(|b| b.chance),
                    break_sd_m: found.and_then(|b| b.station_sd_m),
                    break_low_m: found.and_then(|b| b.station_m).map(|ends| ends.0),
                    break_high_m: found.and_then(|b| b.station_m).map(|ends| ends.1),
                }
            })
            .collect()
    }

    /// What the average over segmentations says of the break at the start of a segment.
    fn found_break(&self, segment: usize) -> Option<Break> {
        let breaks_m = &self.chain.breaks_m;
        let (at_m, before_m, after_m) =
            (*breaks_m.get(segment)?, *breaks_m.get(segment.checked_sub(1)?)?, *breaks_m.get(segment + 1)?);
        // A change of pipe is a break whatever the readings say: of that they say nothing.
        if self.job.reaches.iter().skip(1).any(|r| r.from_m == at_m) {
            return None;
        }
        let from_m = (at_m - BREAK_M).max(0.5 * (before_m + at_m));
        let to_m = (at_m + BREAK_M).min(0.5 * (at_m + after_m));
        self.averaged.as_ref().map(|averages| averages.of.break_about(at_m, from_m, to_m))
    }

    /// What to add to a height for an elevation, m, where ties or as-built inverts give one.
    fn datum_m(&self) -> Option<f64> {
        Some(self.posterior.first().elevation_m? - self.profile.height_m.first()?)
    }

    /// By how much the lowest node lies lower against the first for the lips that ties show, m.
    fn lowest_lips_m(&self) -> f64 {
        self.profile.lowest().map_or(0.0, |(station_m, _)| self.posterior.lips_m(station_m))
    }

    /// By how much a station lies higher against the lowest node for the lips that ties show, m.
    pub(super) fn raised_by_lips_m(&self, station_m: f64) -> f64 {
        self.lowest_lips_m() - self.posterior.lips_m(station_m)
    }

    /// What heights are relative to: the datum where it is known, else where the first run starts.
    pub(super) fn anchor(&self) -> Anchor {
        match self.posterior.first().elevation_m {
            Some(_) => Anchor::Datum,
            None => Anchor::Station(self.job.runs.first().map_or(0.0, |run| run.start_station_m)),
        }
    }

    /// What could not be used of the job.
    fn unused(&self) -> Vec<Said> {
        let (first, last) = self.surveyed_m();
        let mut told = Vec::new();
        for (i, r) in self.job.reaches.iter().enumerate() {
            if r.from_m >= last || r.to_m <= first {
                told.push(said!("reach {n} was not surveyed: no figures are given for it", n = i + 1));
            } else if r.from_m < first - START_M || r.to_m > last + START_M {
                told.push(said!("reach {n} was surveyed in part: its figures speak of that part only", n = i + 1));
            }
        }
        told
    }

    /// Why the job's origin gives nothing a longitude, if so.
    fn unplaced(&self, path: &[PathRow]) -> Option<Said> {
        let origin = self.job.origin.as_ref()?;
        let mut places = path.iter().filter_map(|row| row.east_m.zip(row.north_m)).peekable();
        if places.peek().is_none() {
            return Some(said!(
                "the origin is not used: the plan is not determined, which needs a start_azimuth of a run or a tie of plan or azimuth"
            ));
        }
        let refused = places.find_map(|(east_m, north_m)| geographic::place(origin, east_m, north_m).err());
        refused.map(|error| said!("the origin is not used: {error}", error = error.to_string()))
    }

    /// The parameters of the posterior, then what was taken of each run's noise.
    fn parameter_rows(&self, told: &mut Told) -> Vec<ParameterRow> {
        let estimated = self.posterior.parameters.iter();
        let mut rows: Vec<ParameterRow> = estimated
            .map(|p| {
                // A check leaves the zero open; what was known before it is what the job says of the head.
                let zero = p.name == adjust::ZERO && self.base.is_some();
                let prior_sd = if zero { self.job.instrument.zero_sd_rad } else { p.prior_sd };
                ParameterRow {
                    name: told.row(p.name.clone()),
                    value: p.value,
                    sd: p.sd,
                    prior: Some(p.prior),
                    prior_sd,
                }
            })
            .collect();
        for (run, trace) in self.traces.iter().enumerate() {
            let own = (trace.pulled, trace.noise_sd_rad, trace.correlation_m, trace.rounding_sd_rad);
            let pull = trace.pull.as_ref();
            let pull = pull.map(|p| (true, p.noise_sd_rad, p.correlation_m, p.rounding_sd_rad));
            for (pulled, noise_rad, correlation_m, rounding_rad) in core::iter::once(own).chain(pull) {
                let taken = [
                    (word!("noise_rad (of one reading, before rounding)"), noise_rad),
                    (word!("correlation_m (over which the noise hangs together)"), correlation_m),
                    (word!("step_rad (of the readings)"), trace.resolution_rad),
                    (word!("rounding_rad (the part that does not average out)"), rounding_rad),
                ];
                let name = |what| match (Part::word(what), run + 1) {
                    (what, n) if pulled => said!("{what}, run {n} pulled back", what = what, n = n),
                    (what, n) => said!("{what}, run {n}", what = what, n = n),
                };
                rows.extend(taken.map(|(what, value)| ParameterRow {
                    name: told.row(name(what)),
                    value,
                    sd: 0.0,
                    prior: None,
                    prior_sd: 0.0,
                }));
            }
        }
        rows
    }

    fn path_rows(&self) -> Vec<PathRow> {
        let water = pool::water_level(&self.profile, self.job.flow, self.job.tailwater_m);
        let before = self.before_heights();
        let sds = self.posterior.height_sd_m(&self.layout, &self.profile, self.anchor());
        let nodes = self.profile.station_m.iter().zip(&self.profile.height_m).zip(&sds).enumerate();
        let spots = nodes.map(|(i, ((&station_m, &height_m), &sd_m))| Spot {
            station_m,
            height_m,
            sd_m,
            node: i,
            water_m: water.get(i).copied(),
            before: before.as_ref().and_then(|b| b.get(i)).copied(),
        });
        self.path_rows_of(&spots.collect::<Vec<_>>())
    }

    /// What the path is at stations, m: a row for each that was surveyed, at its place in the list. Where a step is, just after it. What
    /// it was without the ties is known at its nodes only, and absent here.
    ///
    /// # Example
    /// ```
    /// use fallwise::{Bore, Lateral, Pipe};
    ///
    /// let pipe = Pipe { bore: Some(Bore::circle(0.1)?), ..Pipe::default() };
    /// let sag = Lateral::from_segments(vec![0.0, 10.0, 12.0, 14.0], vec![0.02, -0.01, 0.02], pipe)?;
    /// let rows = sag.at(&[11.0, 15.0]);
    /// let row = rows[0].as_ref().ok_or(fallwise::Error::value("at", 11.0, "a surveyed station"))?;
    /// assert!(row.tilt_rad == Some(-0.01) && row.water_m.is_some_and(|level_m| level_m > row.height_m + 0.009));
    /// assert_eq!(rows[1], None);
    /// # Ok::<(), fallwise::Error>(())
    /// ```
    pub fn at(&self, station_m: &[f64]) -> Vec<Option<PathRow>> {
        let levels = pool::water_level(&self.profile, self.job.flow, self.job.tailwater_m);
        let spot = |station_m: f64| {
            self.within(station_m, station_m)?;
            let (first, last) = self.surveyed_m();
            let station_m = station_m.clamp(first, last);
            let height_m = self.profile.height_at(station_m)?;
            let after = self.profile.station_m.partition_point(|s| *s <= station_m);
            let node = after.saturating_sub(1);
            let variance = self.height_covariance(&[station_m]).first()?.covariance_m2;
            // Water stands as high as at the next node downstream, if the pipe does not rise above it in between.
            let downstream = match self.job.flow {
                Flow::Increasing => after.min(levels.len().saturating_sub(1)),
                Flow::Decreasing => node,
            };
            let water_m = levels.get(downstream).copied();
            Some(Spot { station_m, height_m, sd_m: variance.max(0.0).sqrt(), node, water_m, before: None })
        };
        let spots: Vec<Option<Spot>> = station_m.iter().map(|&s| spot(s)).collect();
        let mut rows = self.path_rows_of(&spots.iter().flatten().copied().collect::<Vec<_>>()).into_iter();
        spots.iter().map(|spot| spot.and_then(|_| rows.next())).collect()
    }

    /// Covariance of the heights at surveyed stations, m, each pair once, relative to what `height_sd_m` of the path is: the datum
    /// where an elevation is known, else the start of the first run. Nothing where that is not determined.
    pub fn height_covariance(&self, station_m: &[f64]) -> Vec<HeightCovariance> {
        self.posterior.height_covariance(&self.layout, &self.profile, self.anchor(), station_m)
    }

    fn path_rows_of(&self, spots: &[Spot]) -> Vec<PathRow> {
        // Heights count from the lowest node; what lips have added up to there goes into the datum.
        let datum = self.datum_m().map(|d| d - self.lowest_lips_m());
        let nodes = self.profile.station_m.len();
        let stations: Vec<f64> = spots.iter().map(|spot| spot.station_m).collect();
        let plans = self.posterior.plan_covariance_m2(&self.layout, &self.path, &stations);
        spots
            .iter()
            .enumerate()
            .map(|(i, spot)| {
                let Spot { station_m, sd_m: sd, .. } = *spot;
                // What ties show of lips lies between the tilts and the levels.
                let lips_m = self.raised_by_lips_m(station_m);
                let height_m = spot.height_m + lips_m;
                let height = Estimate::new(height_m, sd);
                // The last node has no piece of its own: it carries the bore of the one that ends there.
                let piece = spot.node.min(nodes.saturating_sub(2));
                let pipe = self.profile.reach.get(piece).and_then(|&r| self.job.reaches.get(r)).map(|r| &r.pipe);
                let bore_m = pipe.and_then(|p| p.bore).map(|b| b.height_m());
                let ground_m = ground_at(&self.job.ground, station_m);
                let elevation_m = datum.map(|d| d + height_m);
                let tilt = self.profile.tilt_rad.get(piece).copied();
                let cover_m = match (ground_m, elevation_m, bore_m, tilt) {
                    (Some(ground), Some(invert), Some(bore), Some(t)) => {
                        cover_m(ground, invert, bore, pipe.and_then(|p| p.wall_m).unwrap_or(0.0), t)
                    }
                    _ => None,
                };
                let place = self.path.position(station_m);
                let plan = plans.get(i).copied().flatten();
                let ground_sd_m = ground_sd_at(&self.job.ground, station_m);
                let depth_m = ground_m.zip(elevation_m).map(|(ground, invert)| ground - invert);
                let depth_sd_m = ground_sd_m.filter(|_| depth_m.is_some()).map(|ground| math::hypot(ground, sd));
                let depth = depth_m.zip(depth_sd_m).map(|(m, sd)| Estimate::new(m, sd));
                let cover = cover_m.zip(depth_sd_m).map(|(m, sd)| Estimate::new(m, sd));
                PathRow {
                    station_m,
                    before_height_m: spot.before.map(|b| b.0),
                    before_height_sd_m: spot.before.map(|b| b.1),
                    elevation_sd_m: datum.map(|_| sd),
                    east_sd_m: plan.map(|p| p.east_sd_m),
                    north_sd_m: plan.map(|p| p.north_sd_m),
                    east_north_correlation: plan.and_then(|p| p.correlation()),
                    east_m: place.map(|p| p[0]),
                    north_m: place.map(|p| p[1]),
                    height_m,
                    height_sd_m: sd,
                    height_low_m: height.low,
                    height_high_m: height.high,
                    elevation_m,
                    tilt_rad: self.profile.tilt_rad.get(spot.node).copied(),
                    azimuth_rad: self.path.azimuth(station_m),
                    bore_m,
                    ground_m,
                    ground_sd_m,
                    cover_m,
                    cover_sd_m: cover.map(|c| c.sd),
                    cover_low_m: cover.map(|c| c.low),
                    cover_high_m: cover.map(|c| c.high),
                    depth_m,
                    depth_sd_m: depth.map(|d| d.sd),
                    depth_low_m: depth.map(|d| d.low),
                    depth_high_m: depth.map(|d| d.high),
                    water_m: spot.water_m.map(|w| w + lips_m).filter(|w| *w > height_m),
                }
            })
            .collect()
    }

    fn edits(&self, told: &mut Told) -> Vec<EditRow> {
        told.keep(self.traces.iter().flat_map(|trace| &trace.edits).map(|edit| &edit.reason));
        let rows = |(run_number, (trace, run)): (usize, (&crate::condition::Trace, &Run))| {
            let counter_m = |e: &Edit| run.counter_m.get(e.index).copied().unwrap_or(0.0);
            let reading_rad = |e: &Edit| run.reading_rad.get(e.index).copied().unwrap_or(0.0);
            trace
                .edits
                .iter()
                .map(|e| EditRow {
                    run: run.name.clone(),
                    run_number,
                    station_m: run.station_m(counter_m(e)),
                    tilt_rad: run.tilt_rad(reading_rad(e)),
                    row: run.source_row.as_ref().and_then(|r| r.get(e.index).copied()).unwrap_or(e.index + 1),
                    counter_m: counter_m(e),
                    reading_rad: reading_rad(e),
                    action: match e.action {
                        Action::Dropped => "dropped",
                        Action::Combined => "combined",
                        Action::Flagged => "flagged",
                    }
                    .to_owned(),
                    reason: e.reason.to_string(),
                    removed_fall_m: e.removed_fall_m,
                })
                .collect::<Vec<_>>()
        };
        self.traces.iter().zip(&self.job.runs).enumerate().flat_map(rows).collect()
    }

    fn readings_used(&self) -> Vec<ReadingRow> {
        self.traces
            .iter()
            .enumerate()
            .flat_map(|(run, t)| {
                t.station_m
                    .iter()
                    .zip(&t.tilt_rad)
                    .zip(&t.weight)
                    .map(move |((&station_m, &tilt_rad), &weight)| ReadingRow { run, station_m, tilt_rad, weight })
            })
            .collect()
    }
}
