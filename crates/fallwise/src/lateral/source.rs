//! Where a lateral comes from: runs of the camera, or inverts.

use super::{
    Lateral, head,
    merge::{Merged, by_station, merge},
    noise, offset,
    roll::{self, Across},
    shares, ties,
};
use crate::prelude::*;
use crate::{
    adjust::{self, Datum, Posterior, SegmentMean, SetupNoise, Source},
    chain::{Averaged, Averaging, Chain, Fit, FitOptions, average, default_penalty},
    condition::{Trace, condition},
    error::Error,
    math,
    model::{FeatureKind, Instrument, Job, Note, Reach, SegmentChoice, Tie},
    said,
    units::{Part, Said},
    watch::{self, Stage, Watch},
};

/// What was read of a pipe.
pub(super) struct Read {
    pub(super) traces: Vec<Trace>,
    pub(super) chain: Chain,
    pub(super) means: Vec<SegmentMean>,
    pub(super) averaged: Option<Averages>,
    pub(super) across: Option<Across>,
    /// The posterior of the readings with the instrument as the job has it.
    pub(super) before: Posterior,
    /// The same with the zero left open, where the head was checked.
    pub(super) base: Option<Posterior>,
    pub(super) warnings: Vec<Said>,
    /// Stretches on which runs contradict each other, m.
    pub(super) contradicted_m: Vec<(f64, f64)>,
}

impl Read {
    /// Of a chain that is given rather than read.
    pub(super) fn given(chain: Chain, posterior: Posterior) -> Self {
        Self {
            traces: Vec::new(),
            chain,
            means: Vec::new(),
            averaged: None,
            across: None,
            before: posterior,
            base: None,
            warnings: Vec::new(),
            contradicted_m: Vec::new(),
        }
    }
}

/// Conditions the runs, finds the segments and adjusts.
pub(super) fn from_runs(mut job: Job, watch: Option<&Watch>) -> Result<Lateral, Error> {
    watch::ask(watch, Stage::Conditioning)?;
    let bends: Vec<f64> = job.bends.iter().map(|b| b.station_m).collect();
    let mut traces =
        job.runs.iter().map(|run| condition(run, &job.instrument, &bends)).collect::<Result<Vec<_>, _>>()?;
    let mut warnings: Vec<Said> = traces.iter().flat_map(|t| t.warnings.iter().cloned()).collect();
    let starts = offset::place(&mut job, &mut traces, &mut warnings)?;
    let logged = !job.runs.iter().all(|r| r.by_hand);
    watch::ask(watch, Stage::Segments)?;
    let mut chain = segments(&job, &noise::weighed(&traces))?;
    let mut across = Across::unknown(&job.runs, &job.instrument);
    if let Some(across) = &mut across {
        for _ in 0..roll::ROUNDS {
            watch::ask(watch, Stage::Segments)?;
            across.take_off(&mut traces, &job.runs, &chain, &job.instrument);
            chain = segments(&job, &noise::weighed(&traces))?;
        }
        if job.segments == SegmentChoice::Fitted {
            across.allow_for_breaks(&mut traces, &job.runs, &job.instrument, &|traces| {
                let merged = merge(&noise::weighed(traces));
                // A quarter of the penalty: the whole keeps out breaks that are not there, and with it an error that spares a break
                // looks far surer than it is (with a quarter the error found is about as far off as its standard deviation says).
                let penalty = default_penalty(merged.station_m.len()) / 4.0;
                let (_, fit) = fitted(&job, &merged, Some(penalty)).ok()?;
                Some(fit.cost / (fit.noise_sd * fit.noise_sd))
            });
            chain = segments(&job, &noise::weighed(&traces))?;
        }
    }
    if logged && job.segments != SegmentChoice::Raw {
        watch::ask(watch, Stage::Segments)?;
        noise::refine(&mut traces, &chain, job.segments == SegmentChoice::Fitted, &job.instrument);
        chain = segments(&job, &noise::weighed(&traces))?;
    }
    let traces = noise::weighed(&traces).into_owned();
    let means = segment_means(&chain, &traces, &job)?;
    let open = ties::instrument(&job, &traces);
    let contradicted = adjust::contradicted(&chain, &means, &setups(&traces), &open)?;
    let plain = posterior(&job, &chain, &means, &setups(&traces), &job.instrument, across)?;
    let found = job.segments == SegmentChoice::Fitted && logged;
    watch::ask(watch, if found { Stage::Averaging } else { Stage::Adjusting })?;
    let averaged = if found { Some(averages(&job, &traces, &chain, &plain)?) } else { None };
    let complete = |plain: Posterior| completed(&job, &traces, &chain, &means, averaged.as_ref(), &starts, plain);
    watch::ask(watch, Stage::Adjusting)?;
    let base = if job.ties.iter().any(Tie::is_of_head) {
        let left = posterior(&job, &chain, &means, &setups(&traces), &open, across)?;
        let mut left = complete(left);
        left.zero_is_open = true;
        Some(left)
    } else {
        None
    };
    let before = complete(plain);
    if job.segments != SegmentChoice::Raw && logged {
        warnings.extend(head::damped(&chain, job.instrument.head_length_m));
    }
    if traces.len() > 1 {
        warnings.push(said!(
            "{count} runs are put together as runs of one head; runs of different heads need their own zero errors.",
            count = traces.len()
        ));
    }
    for c in &contradicted {
        warnings.push(said!(
            "between {from} m and {to} m runs {one} and {other} contradict each other by {off} degrees: what is shown \
             there is their mean, and findings leave it undecided",
            from = Part::Number(c.from_m, 2),
            to = Part::Number(c.to_m, 2),
            one = c.runs.0 + 1,
            other = c.runs.1 + 1,
            off = Part::Number(c.difference_rad.abs().to_degrees(), 1)
        ));
    }
    let contradicted_m = contradicted.iter().map(|c| (c.from_m, c.to_m)).collect();
    watch::ask(watch, Stage::Adjusting)?;
    Lateral::assemble(job, Read { traces, chain, means, averaged, across, before, base, warnings, contradicted_m })
}

/// As-built inverts closer than this, m, are one: the fall between them over its length says nothing.
const CLOSEST_M: f64 = 1e-3;

/// A chain through given inverts. Each invert's standard deviation moves the two pieces that meet there.
pub(super) fn from_as_built(job: Job) -> Result<Lateral, Error> {
    let n = job.as_built.len();
    if n < 2 {
        return Err(Error::TooFew {
            field: "run, reading or as_built: nothing to solve; as_built".to_owned(),
            found: n,
            needed: 2,
        });
    }
    let station: Vec<f64> = job.as_built.iter().map(|a| a.station_m).collect();
    let invert: Vec<f64> = job.as_built.iter().map(|a| a.invert_m).collect();
    let mut tilt = Vec::with_capacity(n - 1);
    for i in 0..n - 1 {
        let length = station[i + 1] - station[i];
        let fall = invert[i] - invert[i + 1];
        if length < CLOSEST_M {
            return Err(Error::at("as_built.station_m", i + 1, station[i + 1], "stations that grow by at least 1 mm"));
        }
        if fall.abs() >= length {
            return Err(Error::at("as_built.invert_m", i + 1, invert[i + 1], "a fall of less than the length of pipe"));
        }
        tilt.push(math::asin(fall / length));
    }
    // An invert moves the tilt before it by -1/(L cos t) and the one after it by +1/(L cos t).
    let mut sources = Vec::new();
    for (i, a) in job.as_built.iter().enumerate() {
        let sd = a.sd_m.unwrap_or(0.0);
        if sd == 0.0 {
            continue;
        }
        let mut moved = vec![0.0; n - 1];
        if i > 0 {
            moved[i - 1] = -sd / ((station[i] - station[i - 1]) * math::cos(tilt[i - 1]));
        }
        if i < n - 1 {
            moved[i] = sd / ((station[i + 1] - station[i]) * math::cos(tilt[i]));
        }
        sources.push(Source { name: format!("invert {}", i + 1), tilt_rad: moved, varying: None });
    }
    let exact = sources.is_empty();
    let own = job.as_built[0].sd_m.filter(|sd| *sd > 0.0);
    let datum = Datum { elevation_m: invert[0], source: own.map(|sd| (0, sd)) };
    let mut posterior = adjust::given(tilt.clone(), None, sources, &job.steps, &job.bends);
    posterior.datum = Some(datum);
    let chain = Chain::new(station, tilt)?;
    let warnings = if exact {
        vec![said!("The inverts are taken as exact: no standard deviation was given for them.")]
    } else {
        Vec::new()
    };
    Lateral::assemble(job, Read { warnings, ..Read::given(chain, posterior) })
}

/// Sticks are so long where nothing else is said, m (our choice).
const STICK_M: f64 = 3.0;

/// The posterior of the chain with an instrument, which need not be the job's.
pub(super) fn posterior(
    job: &Job,
    chain: &Chain,
    means: &[SegmentMean],
    setups: &[SetupNoise],
    instrument: &Instrument,
    across: Option<Across>,
) -> Result<Posterior, Error> {
    // The shortest sticks have the most joints.
    let stick_m = job.reaches.iter().filter_map(|r| r.pipe.stick_m).reduce(f64::min).unwrap_or(STICK_M);
    let lip_variance_m = instrument.lip_sd_m * instrument.lip_sd_m / stick_m;
    // What was found of the error across the axis is off the readings already.
    let left = Instrument { roll_sd_rad: across.map_or(instrument.roll_sd_rad, |a| a.sd_rad), ..instrument.clone() };
    let mut posterior = adjust::adjust(chain, means, setups, &left, &job.steps, &job.bends)?;
    if let Some(parameter) = posterior.parameters.iter_mut().find(|p| p.name == adjust::ACROSS) {
        parameter.value += across.map_or(0.0, |a| a.value_rad);
        parameter.prior_sd = instrument.roll_sd_rad;
    }
    posterior.lip_variance_m = lip_variance_m;
    Ok(posterior)
}

/// The posterior with what breaks that were found add, and what the notes say of places where the head did not lie on the bottom.
pub(super) fn completed(
    job: &Job,
    traces: &[Trace],
    chain: &Chain,
    means: &[SegmentMean],
    averaged: Option<&Averages>,
    starts: &[offset::Stretch],
    plain: Posterior,
) -> Posterior {
    let stretch = |(i, note): (usize, &Note)| {
        let (from_m, sd_rad) = (note.station_m?, note.tilt_sd_rad?);
        // A place without an extent is as long as the head, either way.
        let ends =
            note.to_m.map_or((from_m - job.instrument.head_length_m, from_m + job.instrument.head_length_m), |to_m| {
                (from_m.min(to_m), from_m.max(to_m))
            });
        Some((format!("the head off the bottom, note {}", i + 1), ends, sd_rad))
    };
    let noted = job.notes.iter().enumerate().filter_map(stretch);
    let stretches: Vec<_> = noted.chain(starts.iter().cloned()).collect();
    match averaged {
        Some(averages) => {
            let cells_m = &averages.of.cells_m;
            let mut refined = plain.refined(chain, &averages.of, &averages.plain);
            shares::follow(&mut refined, cells_m, chain, means, traces, job);
            refined.with_errors(cells_m, &stretches)
        }
        None => plain.with_errors(&chain.breaks_m, &stretches),
    }
}

/// The setups of all runs, in order: of each run its readings, then those of its pull-backs.
pub(super) fn setups(traces: &[Trace]) -> Vec<SetupNoise> {
    let of = |(run, t): (usize, &Trace)| {
        let (zero_sign, noise_sd_rad, rounding_sd_rad) = (t.zero_sign, t.noise_sd_rad, t.rounding_sd_rad);
        let setup = SetupNoise { run, pulled: t.pulled, zero_sign, noise_sd_rad, rounding_sd_rad };
        let pull = t.pull.as_ref().map(|p| SetupNoise {
            pulled: true,
            noise_sd_rad: p.noise_sd_rad,
            rounding_sd_rad: p.rounding_sd_rad,
            ..setup
        });
        [Some(setup), pull].into_iter().flatten()
    };
    traces.iter().enumerate().flat_map(of).collect()
}

/// The segments that the job asks for, found in the readings of all runs.
fn segments(job: &Job, traces: &[Trace]) -> Result<Chain, Error> {
    let merged = merge(traces);
    let (station, tilt, weight) = (&merged.station_m, &merged.tilt_rad, &merged.weight);
    let by_hand = job.runs.iter().all(|r| r.by_hand);
    let ends = station.first().copied().zip(station.last().copied());
    let (first, last) = ends.unwrap_or_default();
    let inside = |station_m: f64| first < station_m && station_m < last;
    match &job.segments {
        SegmentChoice::Raw => {
            // A reading without weight, such as one in a bend, has no segment of its own.
            let seen = || station.iter().zip(tilt).zip(weight).filter(|(_, w)| **w > 0.0).map(|(reading, _)| reading);
            let (station, tilt): (Vec<f64>, Vec<f64>) = seen().map(|(s, t)| (*s, *t)).unzip();
            Chain::raw(&station, &tilt)
        }
        SegmentChoice::Fitted if by_hand => sticks(station, tilt, &job.reaches),
        SegmentChoice::Given { breaks_m } if breaks_m.is_empty() => {
            let joints = joints_m(job, first, last);
            if joints.is_empty() {
                return Err(Error::value("segments.breaks", "none", "break stations, or joints noted as features"));
            }
            Chain::given(station, tilt, weight, &[&[first], joints.as_slice(), &[last]].concat())
        }
        SegmentChoice::Given { breaks_m } => {
            if let Some(&station_m) = breaks_m.iter().find(|b| !inside(**b)) {
                return Err(Error::Outside {
                    what: "a break of segments".to_owned(),
                    station_m,
                    from_m: first,
                    to_m: last,
                });
            }
            Chain::given(station, tilt, weight, &[&[first], breaks_m.as_slice(), &[last]].concat())
        }
        SegmentChoice::Fitted => fitted(job, &merged, None).map(|(chain, _)| chain),
    }
}

/// The penalised optimum of the readings of all runs, with another penalty than the usual one where it is given.
fn fitted(job: &Job, merged: &Merged, penalty: Option<f64>) -> Result<(Chain, Fit), Error> {
    let Merged { station_m, tilt_rad, weight, noise_sd_rad } = merged;
    let (first, last) = station_m.first().copied().zip(station_m.last().copied()).unwrap_or_default();
    let limits = certain_breaks_m(job, first, last);
    let least_readings = head::least_readings(station_m, weight, job.instrument.head_length_m);
    let options = FitOptions { noise_sd: Some(*noise_sd_rad), penalty, least_readings, ..FitOptions::default() };
    Chain::fitted(station_m, tilt_rad, weight, &limits, &options)
}

/// The noted joints between two stations, m, in order.
fn joints_m(job: &Job, first_m: f64, last_m: f64) -> Vec<f64> {
    let noted = job.features.iter().filter(|f| f.kind == FeatureKind::Joint).map(|f| f.station_m);
    let mut joints: Vec<f64> = noted.filter(|at| first_m < *at && *at < last_m).collect();
    joints.sort_by(f64::total_cmp);
    joints.dedup();
    joints
}

/// A change of pipe is a certain joint; a fall measured across it says nothing about either side. Pipe that the run did not
/// reach has none.
fn certain_breaks_m(job: &Job, first_m: f64, last_m: f64) -> Vec<f64> {
    job.reaches.iter().skip(1).map(|r| r.from_m).filter(|at| first_m < *at && *at < last_m).collect()
}

/// An average over segmentations, and the posterior whose offsets were taken off its readings.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Averages {
    pub(super) of: Averaged,
    pub(super) plain: Posterior,
}

/// Fewest draws: what a standard deviation from them is good to, a fortieth of itself.
const FEWEST_DRAWS: usize = 1000;
/// Most draws kept; beyond, they begin anew with other shared errors.
const MOST_DRAWS: usize = 10_000;

/// The average over segmentations of the readings of all setups, their offsets taken off.
fn averages(job: &Job, traces: &[Trace], chain: &Chain, plain: &Posterior) -> Result<Averages, Error> {
    let setups = setups(traces);
    let scatters: Vec<f64> = traces.iter().flat_map(scatters).collect();
    // One noise for all: what a setup scatters more or less is a matter of weight.
    let noise_sd_rad = scatters.iter().copied().reduce(f64::min).unwrap_or(0.0);
    let mut rows: Vec<(f64, f64, f64)> = Vec::new();
    for (((setup, own), (station_m, tilt_rad, weight)), offset) in
        setups.iter().zip(scatters).zip(traces.iter().flat_map(readings)).zip(&plain.offset_rad)
    {
        let share = if own > 0.0 { (noise_sd_rad / own) * (noise_sd_rad / own) } else { 1.0 };
        let row = |((&s, &t), &w): ((&f64, &f64), &f64)| (s, t - setup.zero_sign * offset, w * share);
        rows.extend(station_m.iter().zip(tilt_rad).zip(weight).map(row));
    }
    let (first, last) = chain.breaks_m.first().copied().zip(chain.breaks_m.last().copied()).unwrap_or_default();
    rows.retain(|row| (first..=last).contains(&row.0));
    let merged = by_station(rows);
    let draws = job.report.draws.clamp(FEWEST_DRAWS, MOST_DRAWS);
    let of = average(&Averaging {
        station_m: &merged.station_m,
        tilt_rad: &merged.tilt_rad,
        weight: &merged.weight,
        hard_breaks_m: &certain_breaks_m(job, first, last),
        joints_m: &joints_m(job, first, last),
        noise_sd_rad,
        rounding_sd_rad: setups.iter().map(|s| s.rounding_sd_rad).fold(0.0, f64::max),
        wander_sd_rad: job.instrument.wander_sd_rad,
        head_length_m: job.instrument.head_length_m,
        ends_m: (first, last),
        draws: u32::try_from(draws).unwrap_or(u32::MAX),
        seed: job.report.seed,
        lateral: 0,
    })?;
    Ok(Averages { of, plain: plain.clone() })
}

/// One segment for each reading by hand. Each stands for its stick, so the first and the last reach as far beyond their
/// station as half way to their neighbours, but not beyond the pipe that the job speaks of.
fn sticks(station_m: &[f64], tilt_rad: &[f64], reaches: &[Reach]) -> Result<Chain, Error> {
    let Chain { mut breaks_m, tilt_rad } = Chain::raw(station_m, tilt_rad)?;
    let beyond = |end: f64, neighbour: f64, limit: Option<f64>| match limit {
        // Of the pipe's end and of half way out, the nearer one; an end inside the readings bounds nothing.
        Some(limit) if (limit - end) * (end - neighbour) >= 0.0 => {
            let half = 0.5 * (end - neighbour);
            end + half.signum() * half.abs().min((limit - end).abs())
        }
        Some(_) | None => end,
    };
    if let ([first, second, ..], [.., before, last]) = (station_m, station_m) {
        let low = reaches.iter().map(|r| r.from_m).reduce(f64::min);
        let high = reaches.iter().map(|r| r.to_m).reduce(f64::max);
        if let ([start, .., end], true) = (breaks_m.as_mut_slice(), first < second) {
            *start = beyond(*first, *second, low);
            *end = beyond(*last, *before, high);
        }
    }
    Chain::new(breaks_m, tilt_rad)
}

/// Stations, tilts and weights of each setup of a run.
fn readings(t: &Trace) -> impl Iterator<Item = (&[f64], &[f64], &[f64])> {
    let pull = t.pull.as_ref().map(|p| (&p.station_m[..], &p.tilt_rad[..], &p.weight[..]));
    [Some((&t.station_m[..], &t.tilt_rad[..], &t.weight[..])), pull].into_iter().flatten()
}

/// What the readings of each setup of a run scatter by, rad.
fn scatters(t: &Trace) -> impl Iterator<Item = f64> {
    [Some(t.scatter_sd_rad), t.pull.as_ref().map(|p| p.scatter_sd_rad)].into_iter().flatten()
}

/// Mean reading of each setup over each segment that it has weighted readings in.
fn segment_means(chain: &Chain, traces: &[Trace], job: &Job) -> Result<Vec<SegmentMean>, Error> {
    let setups: Vec<_> = traces.iter().flat_map(readings).collect();
    let places: Vec<(&[f64], &[f64])> = setups.iter().map(|(s, _, w)| (*s, *w)).collect();
    let weights = head::off_breaks(chain, &places, job.instrument.head_length_m);
    let shares = traces.iter().zip(&job.runs).flat_map(|(t, run)| shares::of(t, run, &job.instrument));
    let mut means = Vec::new();
    for (setup, (((station_m, tilt_rad, _), weight), shares)) in setups.iter().zip(&weights).zip(shares).enumerate() {
        for (segment, m) in chain.means(station_m, tilt_rad, weight)?.into_iter().enumerate() {
            let mean = |of: &[f64]| {
                let sum: f64 = m.readings.clone().filter_map(|i| Some(weight.get(i)? * of.get(i)?)).sum();
                sum / m.weight
            };
            let Some(mean_rad) = m.mean_rad else { continue };
            let (drift_share, roll_sine) =
                (mean(&shares.drift).clamp(0.0, 1.0), mean(&shares.roll_sine).clamp(-1.0, 1.0));
            means.push(SegmentMean {
                segment,
                setup,
                mean_rad,
                weight: m.weight,
                readings: m.count,
                drift_share,
                roll_sine,
            });
        }
    }
    Ok(means)
}
