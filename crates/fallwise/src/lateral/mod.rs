//! The only orchestrator: from a job to a solved lateral and its answers.
//!
//! log → trace → chain → posterior → answers, once through. [`Lateral`] keeps each of them for whoever wants to look.
//!
//! | file | contents |
//! | --- | --- |
//! | this one | [`Lateral`]: solved, and asked |
//! | `check`, `source` | what a job may be; from runs or as-built inverts to a posterior |
//! | `merge`, `offset`, `head`, `noise`, `roll`, `seen`, `shares` | what several runs, their starts, the head, its noise, its roll and holes in the log need |
//! | `ties`, `tie_rows`, `suspect` | what else is known; its rows and sentences; findings that rest on a tie that does not fit |
//! | `next` | which measurements are proposed, and what each would decide |
//! | `answers`, `notes`, `sentence` | the rows of the answers |
//! | `relay` | what to re-lay |
//! | `budget` | what makes figures uncertain, and how they hang together |
//! | `capacity` | what the reaches carry |
//! | `locate` | places on the surface, digs, and back from a place to the pipe |
//! | `compare` | two surveys |
//! | `live` | a run that is being made, reading by reading |
//! | `many` | many laterals at once |

mod answers;
mod budget;
mod capacity;
mod check;
mod compare;
mod head;
mod live;
mod locate;
mod many;
mod merge;
mod next;
mod noise;
mod notes;
mod offset;
mod relay;
mod roll;
mod seen;
mod sentence;
mod shares;
mod source;
mod suspect;
mod tie_rows;
mod ties;
mod told;

pub use answers::CAUTIONS;
pub use capacity::not_covered as capacity_not_covered;
pub use compare::compare;
pub use live::{Live, LiveOptions, LiveReading, Provisional};
pub use many::{in_order, look_ahead, solve_many};

use core::cell::RefCell;

use crate::{
    adjust::{self, Ensemble, Estimate, Posterior, ties::Adjustment},
    chain::Chain,
    condition::Trace,
    error::Error,
    model::{AsBuilt, Instrument, Job, Pipe, Reach, SegmentChoice},
    path::{Layout, Path, Start},
    pool::{self, PoolEstimate},
    profile::Profile,
    rules::{self, Check, CheckOptions, Evidence, PoolEvidence, Rulebook, Seen},
    section::Bore,
    units::Said,
    watch::Watch,
};

/// Water shallower than this is not called a belly, m: 3 mm, our choice; a film stands at any joint.
pub const POOL_TOLERANCE_M: f64 = pool::TOLERANCE_M;

/// Standard deviations of slopes that are kept while rules are held against them: more are looked for longer than they take.
const MOST_KNOWN: usize = 100;

/// Draws for each outcome that a measurement may have: what they decide is averaged over the outcomes, so that fewer will do.
const OUTCOME_DRAWS: usize = 125;

/// A solved lateral.
#[derive(Debug, Clone, PartialEq)]
pub struct Lateral {
    job: Job,
    traces: Vec<Trace>,
    chain: Chain,
    /// Readings with a weight in each segment.
    readings: Vec<usize>,
    means: Vec<adjust::SegmentMean>,
    averaged: Option<source::Averages>,
    across: Option<roll::Across>,
    layout: Layout,
    /// The posterior of the readings alone.
    before: Posterior,
    /// The same, where the zero is left to checks of the head.
    base: Option<Posterior>,
    known: ties::Ties,
    adjustment: Adjustment,
    posterior: Posterior,
    profile: Profile,
    path: Path,
    /// Stretches between readings too far apart, m.
    unseen_m: Vec<(f64, f64)>,
    warnings: Vec<Said>,
    /// Asked between blocks of draws; only while answers are made.
    watch: Option<Watch>,
}

impl Lateral {
    /// Solves a job: its runs (or readings by hand), or, where it has neither, its as-built inverts.
    ///
    /// # Errors
    /// Whatever in the job cannot be used, named so that it can be put right; see [`Error`].
    ///
    /// # Example
    /// ```
    /// use fallwise::{Job, Lateral, Run, units};
    ///
    /// let run = Run { by_hand: true, ..Run::new(vec![0.5, 1.5, 2.5, 3.5], units::deg(vec![1.2, 1.3, 0.4, 1.1])) };
    /// let lateral = Lateral::solve(Job { runs: vec![run], ..Job::default() })?;
    /// let slope = lateral.slope_between(0.5, 3.5).ok_or("only drops")?;
    /// assert!((0.015..0.020).contains(&slope.value) && slope.sd > 0.005); // one run: the zero error decides
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn solve(job: Job) -> Result<Self, Error> {
        Self::solve_asking(job, None)
    }

    /// The same, with a watch that is asked between the stages.
    ///
    /// # Errors
    /// As [`Lateral::solve`]; [`Error::Cancelled`] where the watch says stop.
    pub fn solve_watched(job: Job, watch: &Watch) -> Result<Self, Error> {
        Self::solve_asking(job, Some(watch))
    }

    fn solve_asking(job: Job, watch: Option<&Watch>) -> Result<Self, Error> {
        check::job(&job)?;
        if job.runs.is_empty() {
            return source::from_as_built(job);
        }
        source::from_runs(job, watch)
    }

    /// The job with one pipe all along, in the place of its reaches: from the first station that was surveyed to the last.
    ///
    /// # Errors
    /// As [`Lateral::solve`]: where the survey ends is known once it is solved.
    pub fn in_one_pipe(mut job: Job, pipe: Pipe) -> Result<Job, Error> {
        job.reaches.clear();
        let (from_m, to_m) = Self::solve(job.clone())?.surveyed_m();
        job.reaches.push(Reach { from_m, to_m, pipe, ..Reach::default() });
        Ok(job)
    }

    /// A lateral whose segments are given and exact: `breaks_m` (one more than `tilt_rad`), in one pipe.
    ///
    /// # Errors
    /// Stations that do not grow, non-finite values, arrays that do not go together.
    ///
    /// # Example
    /// ```
    /// use fallwise::{Lateral, Pipe, Bore};
    ///
    /// let pipe = Pipe { bore: Some(Bore::circle(0.1)?), ..Pipe::default() };
    /// let sag = Lateral::from_segments(vec![0.0, 10.0, 12.0, 14.0], vec![0.02, -0.01, 0.02], pipe)?;
    /// let pools = sag.pools();
    /// assert_eq!(pools.len(), 1);
    /// let pool = pools[0].pool.as_ref().ok_or(fallwise::Error::value("pools", 0, "a pool"))?;
    /// assert!((pool.depth_m - 0.02).abs() < 1e-5); // 2 m rising at 1 %
    /// # Ok::<(), fallwise::Error>(())
    /// ```
    pub fn from_segments(breaks_m: Vec<f64>, tilt_rad: Vec<f64>, pipe: Pipe) -> Result<Self, Error> {
        let chain = Chain::new(breaks_m, tilt_rad)?;
        let ends = (chain.breaks_m.first().copied(), chain.breaks_m.last().copied());
        let mut job = Job { instrument: Instrument::exact(), ..Job::default() };
        if let (Some(from_m), Some(to_m)) = ends {
            job.reaches.push(Reach { from_m, to_m, pipe, ..Reach::default() });
        }
        check::job(&job)?;
        let posterior = adjust::given(chain.tilt_rad.clone(), None, Vec::new(), &job.steps, &job.bends);
        Self::assemble(job, source::Read::given(chain, posterior))
    }

    /// A lateral whose inverts are given at stations, m, with straight pipe between them; `sd_m` is the standard deviation
    /// of each invert, exact where absent.
    ///
    /// # Errors
    /// Fewer than two, arrays that do not go together, stations that do not grow, a fall steeper than the pipe is long.
    pub fn from_inverts(station_m: &[f64], invert_m: &[f64], sd_m: Option<f64>, pipe: Pipe) -> Result<Self, Error> {
        crate::error::require_length("invert_m", invert_m.len(), "station_m", station_m.len())?;
        let as_built = station_m
            .iter()
            .zip(invert_m)
            .map(|(&station_m, &invert_m)| AsBuilt { station_m, invert_m, sd_m })
            .collect();
        let mut job = Job { as_built, instrument: Instrument::exact(), ..Job::default() };
        if let (Some(&from_m), Some(&to_m)) = (station_m.first(), station_m.last()) {
            job.reaches.push(Reach { from_m, to_m, pipe, ..Reach::default() });
        }
        Self::solve(job)
    }

    /// Puts a posterior on its geometry, and the ties into it. The only way a lateral is made.
    fn assemble(job: Job, read: source::Read) -> Result<Self, Error> {
        let source::Read { traces, chain, means, averaged, across, before, base, mut warnings, contradicted_m } = read;
        let breaks_m = averaged.as_ref().map_or(&chain.breaks_m, |a| &a.of.cells_m);
        let layout = Layout::new(breaks_m, &job.bends, &job.steps, &job.reaches)?;
        warnings.extend(layout.warnings.iter().cloned());
        let ends_m = breaks_m.first().copied().zip(breaks_m.last().copied()).unwrap_or_default();
        let known = ties::Ties::of(&job, ends_m);
        warnings.extend(known.warnings.iter().cloned());
        let (posterior, adjustment) =
            base.as_ref().unwrap_or(&before).with_ties(&ties::terms(&job, &layout, &traces), &known.all)?;
        warnings.extend(layout.check_bends(&posterior.tilt_rad)?);
        let profile = layout.profile(&posterior.tilt_rad, posterior.scale, Some(&posterior.step_rise_m));
        warnings.extend(profile.range().iter().flat_map(|range| check::outside(&job, *range)));
        warnings.extend(check::unused(&job));
        let unseen_m = seen::unseen_m(&traces, &job.as_built);
        warnings.extend(seen::told(&unseen_m, traces.is_empty()));
        let path = placed(&job, &layout, &posterior);
        warnings.extend(check::far_landmarks(&job, &path));
        let mut readings = vec![0; chain.tilt_rad.len()];
        for m in &means {
            if let Some(n) = readings.get_mut(m.segment) {
                *n += m.readings;
            }
        }
        Ok(Self {
            job,
            traces,
            chain,
            readings,
            means,
            averaged,
            across,
            layout,
            before,
            base,
            known,
            adjustment,
            posterior,
            profile,
            path,
            unseen_m: seen::joined(unseen_m, contradicted_m.into_iter()),
            warnings,
            watch: None,
        })
    }

    /// The job it was solved from.
    pub fn job(&self) -> &Job {
        &self.job
    }

    /// Conditioned readings, run by run.
    pub fn traces(&self) -> &[Trace] {
        &self.traces
    }

    /// The segments.
    pub fn chain(&self) -> &Chain {
        &self.chain
    }

    /// The posterior of the tilts.
    pub fn posterior(&self) -> &Posterior {
        &self.posterior
    }

    /// Heights of the best estimate.
    pub fn profile(&self) -> &Profile {
        &self.profile
    }

    /// The best estimate in space.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Odd but usable input.
    pub fn warnings(&self) -> &[Said] {
        &self.warnings
    }

    /// First and last surveyed station, m.
    pub fn surveyed_m(&self) -> (f64, f64) {
        let s = &self.profile.station_m;
        (s.first().copied().unwrap_or(0.0), s.last().copied().unwrap_or(0.0))
    }

    /// Stretches between readings too far apart, m: of what lies in them nothing is known but their ends.
    pub fn unseen_m(&self) -> &[(f64, f64)] {
        &self.unseen_m
    }

    /// Slope along the flow between two stations, drops cut out; `None` where there is nothing but drops, or where either
    /// was not surveyed.
    pub fn slope_between(&self, from_m: f64, to_m: f64) -> Option<Estimate> {
        self.within(from_m, to_m)?;
        self.posterior.slope(&self.layout, &self.profile, self.job.flow, from_m, to_m)
    }

    /// Fall along the flow between two stations, m, drops and steps included; `None` where either was not surveyed.
    pub fn fall_between(&self, from_m: f64, to_m: f64) -> Option<Estimate> {
        self.within(from_m, to_m)?;
        Some(self.fall(from_m, to_m))
    }

    /// The same of what was surveyed between them.
    fn fall(&self, from_m: f64, to_m: f64) -> Estimate {
        self.posterior.fall(&self.layout, &self.profile, self.job.flow, from_m, to_m)
    }

    /// Something if both stations were surveyed, give or take a rounding of what a foot is in metres.
    fn within(&self, one_m: f64, other_m: f64) -> Option<()> {
        let (first, last) = self.surveyed_m();
        let rounding = 1e-9 * first.abs().max(last.abs()).max(1.0);
        let within = |s: f64| (first - rounding..=last + rounding).contains(&s);
        (within(one_m) && within(other_m)).then_some(())
    }

    /// Draws of the posterior, as profiles.
    pub fn draws(&self, count: usize, seed: u64) -> Ensemble<'_> {
        Ensemble {
            posterior: &self.posterior,
            layout: &self.layout,
            count,
            seed,
            lateral: 0,
            watch: self.watch.as_ref(),
        }
    }

    /// Pools, found or possible, with the draws that the job asks for.
    pub fn pools(&self) -> Vec<PoolEstimate> {
        self.pools_of(&self.profile, &self.ensemble(), self.job.tailwater_m)
    }

    /// The same with standing water at the outlet so high above its invert, m, whatever the job says of it; absent: a free outlet.
    pub fn pools_with(&self, tailwater_m: Option<f64>) -> Vec<PoolEstimate> {
        self.pools_of(&self.profile, &self.ensemble(), tailwater_m)
    }

    fn pools_of(&self, profile: &Profile, draws: &Ensemble<'_>, tailwater_m: Option<f64>) -> Vec<PoolEstimate> {
        self.pools_in(&self.bores(), profile, draws, tailwater_m)
    }

    /// The pools as far as findings against a rulebook look at them: not how much they hold, and none where it does not limit them.
    fn pools_for(&self, book: &Rulebook, profile: &Profile, draws: &Ensemble<'_>) -> Vec<PoolEstimate> {
        if book.limits_water() { self.pools_in(&[], profile, draws, self.job.tailwater_m) } else { Vec::new() }
    }

    /// The pools in pipe of these bores; where none is given, all but what is held.
    fn pools_in(
        &self,
        bores: &[Option<Bore>],
        profile: &Profile,
        draws: &Ensemble<'_>,
        tailwater_m: Option<f64>,
    ) -> Vec<PoolEstimate> {
        pool::from_draws(
            profile,
            draws,
            bores,
            self.job.flow,
            tailwater_m,
            pool::Terms {
                traps_m: &pool::traps_m(&self.job.features),
                tolerance_m: POOL_TOLERANCE_M,
                pieces: self.averaged.as_ref().map(|_| self.chain.tilt_rad.len()),
                lips: pool::Lips { variance_m: draws.posterior.lip_variance_m, seed: draws.seed },
            },
        )
    }

    /// Findings against a rulebook.
    ///
    /// # Errors
    /// [`Error::Value`] for reaches that are not finite.
    pub fn check(&self, book: &Rulebook) -> Result<Check, Error> {
        self.check_told(book, &self.pools())
    }

    /// Findings against a rulebook, those that rest on a tie that may be wrong left undecided.
    fn check_told(&self, book: &Rulebook, pools: &[PoolEstimate]) -> Result<Check, Error> {
        let mut check = self.check_of(book, &self.profile, &self.ensemble(), pools)?;
        for left_out in self.explanations() {
            suspect::leave_open(&mut check, &self.check_without(book, &left_out)?, &self.named(&left_out));
        }
        Ok(check)
    }

    fn check_of(
        &self,
        book: &Rulebook,
        profile: &Profile,
        draws: &Ensemble<'_>,
        pools: &[PoolEstimate],
    ) -> Result<Check, Error> {
        let pools = if book.limits_water() { self.bellies(profile, draws, pools) } else { Vec::new() };
        // Of the few stretches that rules speak of each is asked for many times.
        let known = RefCell::new(Vec::new());
        let slope_sd = |from_m: f64, to_m: f64| {
            let ends = (from_m, to_m);
            if let Some((_, sd)) = known.borrow().iter().find(|(known, _): &&((f64, f64), _)| *known == ends) {
                return *sd;
            }
            let sd = draws.posterior.slope(&self.layout, profile, self.job.flow, from_m, to_m).map(|slope| slope.sd);
            let mut known = known.borrow_mut();
            if known.len() < MOST_KNOWN {
                known.push((ends, sd));
            }
            sd
        };
        let evidence = Evidence {
            job: &self.job,
            profile,
            draws,
            slope_sd: &slope_sd,
            pools: &pools,
            surveyed: self.surveyed_m(),
            seen: Seen { unseen_m: &self.unseen_m, falls_known: self.traces.is_empty(), break_m: self.break_m() },
        };
        rules::check(book, &evidence, &CheckOptions::default())
    }

    /// The pools as rules see them: water that the outlet holds back is no belly, so there what the pipe itself can hold
    /// counts, under the number of the pool that it lies in.
    fn bellies(&self, profile: &Profile, draws: &Ensemble<'_>, pools: &[PoolEstimate]) -> Vec<PoolEvidence> {
        let backwater = |p: &PoolEstimate| p.pool.as_ref().is_some_and(|pool| pool.held_by_tailwater);
        let mut bellies = Vec::with_capacity(pools.len());
        for (i, estimate) in pools.iter().enumerate() {
            if !backwater(estimate) {
                bellies.push(PoolEvidence::new(i + 1, estimate));
                continue;
            }
            let own = self.pools_in(&[], profile, draws, None);
            let inside = own.iter().filter(|p| p.from_m < estimate.to_m && p.to_m > estimate.from_m);
            bellies.extend(inside.map(|belly| PoolEvidence::new(i + 1, belly)));
        }
        bellies
    }

    /// How far a break may lie from where it was found, m: the usual spacing of the readings; 0 where breaks are given, as they are
    /// by readings one a stick.
    fn break_m(&self) -> f64 {
        match self.job.segments {
            SegmentChoice::Given { .. } => 0.0,
            SegmentChoice::Raw | SegmentChoice::Fitted => {
                let logged = self.traces.iter().zip(&self.job.runs).filter(|(_, run)| !run.by_hand);
                logged.filter_map(|(t, _)| seen::usual_spacing_m(&t.station_m)).fold(0.0, f64::max)
            }
        }
    }

    /// As many draws as the job asks for.
    fn ensemble(&self) -> Ensemble<'_> {
        self.draws(self.job.report.draws, self.job.report.seed)
    }

    /// Bore of each reach.
    fn bores(&self) -> Vec<Option<Bore>> {
        match self.job.reaches.as_slice() {
            [] => vec![None],
            reaches => reaches.iter().map(|r| r.pipe.bore).collect(),
        }
    }
}

/// The path, placed where the ties put its first node. With an azimuth and no position, its origin is where the first run starts.
fn placed(job: &Job, layout: &Layout, posterior: &Posterior) -> Path {
    let lay = |start: Start| {
        let (bends, rises) = (Some(&posterior.bend_rad[..]), Some(&posterior.step_rise_m[..]));
        Path::turned(layout, &posterior.tilt_rad, posterior.scale, start, bends, rises)
    };
    let first = posterior.first();
    let turned = Start { azimuth_rad: first.azimuth_rad, ..Start::default() };
    let Some(azimuth_rad) = first.azimuth_rad else { return lay(turned) };
    if let Some([east_m, north_m]) = first.plan_m {
        return lay(Start { azimuth_rad: Some(azimuth_rad), east_m, north_m });
    }
    let ends = layout.pieces.first().map(|p| p.from_m).zip(layout.pieces.last().map(|p| p.to_m));
    let (first_m, last_m) = ends.unwrap_or_default();
    let station_m = job.runs.first().map_or(first_m, |run| run.start_station_m).max(first_m).min(last_m);
    let Some([east, north, _]) = lay(turned).position(station_m) else { return lay(Start::default()) };
    lay(Start { east_m: -east, north_m: -north, ..turned })
}
