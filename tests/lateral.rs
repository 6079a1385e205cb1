//! The whole lateral: what must hold between its answers whatever the pipe. `PROPTEST_CASES` raises the number of cases.

#![allow(clippy::unwrap_used, reason = "helpers of tests, which clippy does not take for tests")]

use std::collections::BTreeMap;

use fallwise::{
    Bend, Bore, Error, Flow, Instrument, Job, Lateral, Pipe, Profile, Reach, Rulebook, Run,
    answers::{Answers, PathRow},
    math,
    model::{AsBuilt, Feature, FeatureKind, GroundPoint, Note, SegmentChoice, Step, Toward},
    pool::{PoolEstimate, PoolState},
    profile::Draws,
    simulate::{self, Flaws, Head, Roll, Rounding, Truth},
    units,
};
use fallwise_files::{MemoryResolver, job};
use proptest::{collection::vec, prelude::*};

const DEGREE: f64 = core::f64::consts::PI / 180.0;

fn pipe() -> Pipe {
    Pipe { bore: Some(Bore::circle(0.1).unwrap()), nominal: "4 in".parse().ok(), ..Pipe::default() }
}

/// A reach of [`pipe`].
fn reach(from_m: f64, to_m: f64) -> Reach {
    Reach { from_m, to_m, name: String::new(), pipe: pipe(), owner: None, facts: BTreeMap::new() }
}

/// Readings of a pipe known exactly, without noise unless the head has some.
fn survey(breaks_m: &[f64], tilt_rad: &[f64], head: &Head, seed: u64) -> Run {
    let truth = Truth { breaks_m: breaks_m.to_vec(), tilt_rad: tilt_rad.to_vec(), ..Truth::default() };
    simulate::run(&truth, head, &Flaws::default(), 0.1, seed).unwrap().run
}

/// A job about such a run, with few draws.
fn job_of(run: Run) -> Job {
    let mut job = Job { runs: vec![run], ..Job::default() };
    job.report.draws = 60;
    job
}

fn answers(job: Job) -> Answers {
    Lateral::solve(job).unwrap().answers(Some(&Rulebook::shipped("ipc-2021").unwrap())).unwrap()
}

/// A lateral of given shape without draws, by its inverts, with whatever else `more` says of it.
fn shaped(breaks_m: &[f64], tilt_rad: &[f64], more: impl FnOnce(&mut Job)) -> Lateral {
    let mut invert_m = vec![0.0];
    for (ends, tilt) in breaks_m.windows(2).zip(tilt_rad) {
        invert_m.push(invert_m.last().unwrap() - (ends[1] - ends[0]) * math::sin(*tilt));
    }
    let mut job = Lateral::from_inverts(breaks_m, &invert_m, None, pipe()).unwrap().job().clone();
    job.report.draws = 0;
    more(&mut job);
    Lateral::solve(job).unwrap()
}

/// Lengths and tilts of segments.
fn segments(most: usize) -> impl Strategy<Value = (Vec<f64>, Vec<f64>)> {
    vec((0.3..5.0_f64, -0.04..0.06_f64), 1..most).prop_map(|parts| {
        let mut breaks = vec![0.0];
        for (length, _) in &parts {
            breaks.push(breaks.last().unwrap() + length);
        }
        (breaks, parts.into_iter().map(|p| p.1).collect())
    })
}

fn assert_near(a: f64, b: f64, tolerance: f64) {
    assert!((a - b).abs() <= tolerance, "{a} and {b} differ by {:e}, more than {tolerance:e}", a - b);
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn raising_the_datum_changes_elevations_alone(
        (breaks, tilts) in segments(6), rise in prop::sample::select(vec![0.3, 1e3, 1e5]), seed in 0..100_u64,
        back in any::<bool>(),
    ) {
        let head = Head { toward: if back { Toward::Decreasing } else { Toward::Increasing }, ..Head::default() };
        let run = survey(&breaks, &tilts, &head, seed);
        prop_assume!(run.counter_m.len() > 5);
        let mut job = job_of(run);
        job.reaches = vec![reach(0.0, *breaks.last().unwrap())];
        job.runs[0].start_invert_m = Some(31.2);
        let low = answers(job.clone());
        job.runs[0].start_invert_m = Some(31.2 + rise);
        let mut high = answers(job);
        for (row, below) in high.path.iter_mut().zip(&low.path) {
            let (raised, at) = (row.elevation_m.unwrap(), below.elevation_m.unwrap());
            // Rounding of the elevation given, of the datum and of the sum: three halves of an ulp of each elevation.
            assert_near(raised - at, rise, 3.0 * f64::EPSILON * raised.abs());
            row.elevation_m = below.elevation_m;
        }
        high.job.runs[0].start_invert_m = Some(31.2);
        prop_assert_eq!(serde_json::to_string(&high).unwrap(), serde_json::to_string(&low).unwrap());
    }

    #[test]
    fn a_cut_through_a_segment_changes_nothing((breaks, tilts) in segments(8), at in 0.02..0.98_f64, which in any::<prop::sample::Index>()) {
        let k = which.index(tilts.len());
        let whole = Lateral::from_segments(breaks.clone(), tilts.clone(), pipe()).unwrap();
        let (mut cut_breaks, mut cut_tilts) = (breaks.clone(), tilts.clone());
        cut_breaks.insert(k + 1, breaks[k] + at * (breaks[k + 1] - breaks[k]));
        cut_tilts.insert(k, tilts[k]);
        let cut = Lateral::from_segments(cut_breaks, cut_tilts, pipe()).unwrap();
        // A height is a sum of at most n falls of at most 0.3 m (5 m at 6 %): each fall has half an ulp of each of its
        // two roundings, each partial sum half an ulp of at most 2.1 m; heights add those of both ends.
        let n = tilts.len() as f64 + 1.0;
        let rounding = 4.0 * n * f64::EPSILON * 2.1;
        let last = *breaks.last().unwrap();
        for (a, b) in [(0.0, last), (0.3 * last, 0.9 * last), (breaks[k], breaks[k + 1])] {
            assert_near(cut.fall_between(a, b).unwrap().value, whole.fall_between(a, b).unwrap().value, rounding);
            // A slope is a fall over a length of at least 0.2 m.
            let slope = |l: &Lateral| l.slope_between(a, b).unwrap().value;
            assert_near(slope(&cut), slope(&whole), rounding / 0.2);
        }
        let pools = |l: &Lateral| -> Vec<_> { l.pools().into_iter().filter_map(|p| p.pool).filter(|p| p.depth_m > 0.004).collect() };
        let (one, other) = (pools(&whole), pools(&cut));
        prop_assert_eq!(one.len(), other.len());
        for (a, b) in one.iter().zip(&other) {
            assert_near(a.depth_m, b.depth_m, rounding);
            assert_near(a.level_m, b.level_m, rounding);
            // Where the level meets a slope t the edge moves by the height's rounding over t; the volume by that times
            // the bore's area at most. A slope in these pools may be as small as it likes: heights decide there.
            let flattest = tilts.iter().fold(f64::INFINITY, |least, t| least.min(t.abs()));
            assert_near(a.volume_m3.unwrap(), b.volume_m3.unwrap(), 0.01 * 2.0 * rounding / flattest + 1e-15);
        }
    }

    #[test]
    fn a_lateral_seen_from_its_other_end_is_the_same((breaks, tilts) in segments(8)) {
        let last = *breaks.last().unwrap();
        let ahead = Lateral::from_segments(breaks.clone(), tilts.clone(), pipe()).unwrap();
        let mirrored: Vec<f64> = breaks.iter().rev().map(|b| last - b).collect();
        let back_tilts: Vec<f64> = tilts.iter().rev().map(|t| -t).collect();
        let behind = shaped(&mirrored, &back_tilts, |job| job.flow = Flow::Decreasing);
        // As above: sums of at most 8 falls, and stations rounded once more by the mirror (an ulp of at most 40 m at 6 %).
        let rounding = 4.0 * 8.0 * f64::EPSILON * 2.1 + 0.06 * 8.0 * f64::EPSILON * 40.0;
        for (a, b) in [(0.0, last), (0.25 * last, 0.75 * last)] {
            assert_near(behind.fall_between(last - b, last - a).unwrap().value, ahead.fall_between(a, b).unwrap().value, rounding);
            let slopes = [ahead.slope_between(a, b), behind.slope_between(last - b, last - a)];
            assert_near(slopes[0].unwrap().value, slopes[1].unwrap().value, rounding / 0.15); // the shortest stretch
        }
        let pools = |l: &Lateral| -> Vec<_> { l.pools().into_iter().filter_map(|p| p.pool).filter(|p| p.depth_m > 0.004).collect() };
        let (one, mut other) = (pools(&ahead), pools(&behind));
        other.reverse();
        prop_assert_eq!(one.len(), other.len());
        for (a, b) in one.iter().zip(&other) {
            assert_near(a.depth_m, b.depth_m, rounding);
            assert_near(a.sill_station_m, last - b.sill_station_m, 1e-12);
            prop_assert_eq!(a.sill_is_last_point, b.sill_is_last_point);
            prop_assert_eq!(a.touches_upstream_end, b.touches_upstream_end);
        }
    }

    #[test]
    fn more_tailwater_is_never_less_water((breaks, tilts) in segments(8), a in 0.0..0.3_f64, more in 0.0..0.2_f64) {
        let water = |tailwater_m: f64| {
            let lateral = shaped(&breaks, &tilts, |job| job.tailwater_m = Some(tailwater_m));
            let pools: Vec<_> = lateral.pools().into_iter().filter_map(|p| p.pool).collect();
            pools.iter().map(|p| p.volume_m3.unwrap() + p.backwater_m3.unwrap()).sum::<f64>()
        };
        // Pools below the tolerance of 3 mm are left out, so that one may be listed before and part of another after:
        // nothing is lost when levels rise, but sums round (1e-12 of at most a third of a cubic metre).
        prop_assert!(water(a + more) >= water(a) - 1e-12);
    }

    #[test]
    fn slope_is_fall_over_level_length((breaks, tilts) in segments(12)) {
        let lateral = Lateral::from_segments(breaks.clone(), tilts.clone(), pipe()).unwrap();
        let lengths: Vec<f64> = breaks.windows(2).map(|w| w[1] - w[0]).collect();
        let sum = |f: fn(f64) -> f64| lengths.iter().zip(&tilts).map(|(l, t)| l * f(*t)).sum::<f64>();
        let (fall, level) = (sum(math::sin), sum(math::cos));
        // At most 11 terms each: their roundings, and those of the sums, over the length.
        let total = lateral.slope_between(0.0, *breaks.last().unwrap()).unwrap().value;
        assert_near(total, fall / level, 4.0 * 12.0 * f64::EPSILON * (0.06 + fall.abs() / level));
        assert_near(lateral.fall_between(0.0, *breaks.last().unwrap()).unwrap().value, fall, 4.0 * 12.0 * f64::EPSILON * 3.3);
        let drawn = lateral.profile().slope_between(0.0, 1e9).unwrap();
        // Heights are falls summed up and subtracted again.
        assert_near(drawn, fall / level, 1e-13);
    }

    #[test]
    fn one_segment_a_reading_is_the_direct_sum(tilts in vec(-0.05..0.08_f64, 2..40), step in 0.05..0.5_f64, back in any::<bool>()) {
        let counter: Vec<f64> = (0..tilts.len()).map(|i| step * i as f64).collect();
        let mut run = Run::new(counter.clone(), tilts.clone());
        run.by_hand = true; // nothing is conditioned away
        run.toward = if back { Toward::Decreasing } else { Toward::Increasing };
        let mut job = job_of(run);
        (job.segments, job.instrument) = (SegmentChoice::Raw, Instrument::exact());
        job.flow = if back { Flow::Decreasing } else { Flow::Increasing };
        let lateral = Lateral::solve(job).unwrap();
        prop_assert_eq!(lateral.chain().tilt_rad.len(), tilts.len());
        // The reading stands for half the way to each of its neighbours.
        let reach_of = |i: usize| if i == 0 || i + 1 == tilts.len() { 0.5 * step } else { step };
        let direct: f64 = tilts.iter().enumerate().map(|(i, t)| reach_of(i) * math::sin(*t)).sum();
        let (from, to) = lateral.surveyed_m();
        // Forty terms of at most 0.04 m, stations of at most 20 m.
        assert_near(lateral.fall_between(from, to).unwrap().value, direct, 40.0 * f64::EPSILON * (1.6 + 20.0 * 0.08));
    }

    #[test]
    fn heights_from_inverts_are_the_inverts(points in vec((0.1..5.0_f64, -0.08..0.08_f64), 2..12), sd in 1e-4..0.02_f64) {
        let mut station = vec![0.0];
        let mut invert = vec![30.0];
        for (length, tilt) in &points {
            station.push(station.last().unwrap() + length);
            invert.push(invert.last().unwrap() - length * math::sin(*tilt));
        }
        let lateral = Lateral::from_inverts(&station, &invert, Some(sd), pipe()).unwrap();
        let lowest = invert.iter().copied().fold(f64::INFINITY, f64::min);
        for (s, i) in station.iter().zip(&invert) {
            // Differences of numbers near 30 are exact to an ulp of 30, an angle and back to a few of the fall.
            assert_near(lateral.profile().height_at(*s).unwrap(), i - lowest, 24.0 * f64::EPSILON * 30.0);
        }
        for (i, a) in station.iter().enumerate() {
            for b in &station[i + 1..] {
                let fall = lateral.fall_between(*a, *b).unwrap();
                // Two independent inverts, linearised exactly: cosines cancel. Thirteen sources round.
                assert_near(fall.sd, sd * core::f64::consts::SQRT_2, 1e-12 * sd);
            }
        }
        // Elevations are the inverts themselves.
        let rows = lateral.answers(None).unwrap().path;
        let last = rows.last().unwrap().elevation_m.unwrap();
        assert_near(last, *invert.last().unwrap(), 24.0 * f64::EPSILON * 30.0);
    }

    #[test]
    fn falls_of_stretches_that_meet_add_up((breaks, tilts) in segments(6), at in 0.0..1.0_f64, rise in -0.02..0.02_f64, on_break in any::<bool>()) {
        let last = *breaks.last().unwrap();
        let here = if on_break { breaks[breaks.len() / 2] } else { at * last };
        let step = Step { station_m: here, rise_m: rise, rise_sd_m: 0.001 };
        let lateral = shaped(&breaks, &tilts, |job| job.steps = vec![step]);
        let fall = |a: f64, b: f64| lateral.fall_between(a, b).unwrap().value;
        // Three sums of at most eight terms.
        assert_near(fall(0.0, here) + fall(here, last), fall(0.0, last), 1e-14);
        let heights = &lateral.profile().height_m;
        assert_near(fall(0.0, last), heights[0] - heights[heights.len() - 1], 1e-14);
        assert_near(fall(last, 0.0), -fall(0.0, last), 0.0);
    }
}

/// A pipe with a belly, logged without noise both ways.
#[test]
fn a_run_the_other_way_tells_of_the_same_pipe() {
    let (breaks, tilts) = ([0.0, 6.0, 8.0, 15.0], [0.02, -0.012, 0.025]);
    let head = |toward| Head { toward, noise_sd_rad: 0.0, ..Head::default() };
    let solved = |toward| {
        let mut job = job_of(survey(&breaks, &tilts, &head(toward), 3));
        (job.instrument, job.reaches) = (Instrument::exact(), vec![reach(0.0, 15.0)]);
        job.instrument.noise_sd_rad = Some(1e-4);
        Lateral::solve(job).unwrap()
    };
    let (down, up) = (solved(Toward::Increasing), solved(Toward::Decreasing));
    for lateral in [&down, &up] {
        // A break may be found half a head's length (0.15 m) off: at a change of tilt of 0.037 that is 2.8 mm of fall.
        let near = 0.075 * 0.037;
        assert_near(lateral.fall_between(0.0, 15.0).unwrap().value, 6.0 * 0.02 - 2.0 * 0.012 + 7.0 * 0.025, near);
        let pools = lateral.pools();
        assert_eq!(pools.len(), 1);
        assert_near(pools[0].pool.as_ref().unwrap().depth_m, 0.024, near);
    }
    let (from_m, to_m) = up.surveyed_m();
    assert_near(from_m, 0.0, 1e-9);
    assert_near(to_m, 15.0, 1e-9); // counters are sums and products of a double or two
}

/// What a run with reversed signs, stations and flow says.
#[test]
fn a_simulated_run_mirrors() {
    let (breaks, tilts) = ([0.0, 6.0, 8.0, 15.0], [0.02, -0.012, 0.025]);
    let run = survey(&breaks, &tilts, &Head::default(), 3);
    let mut mirrored = run.clone();
    // Station 15 - s: the same push, the other way along the stationing.
    (mirrored.toward, mirrored.start_station_m) = (Toward::Decreasing, 15.0);
    let mut job = job_of(run);
    job.reaches = vec![reach(0.0, 15.0)];
    let mut other = job.clone();
    (other.runs[0], other.flow) = (mirrored, Flow::Decreasing);
    let (one, two) = (Lateral::solve(job).unwrap(), Lateral::solve(other).unwrap());
    let (a, b) = (one.slope_between(2.0, 12.0).unwrap(), two.slope_between(13.0, 3.0).unwrap());
    assert_eq!(one.chain().tilt_rad.len(), two.chain().tilt_rad.len());
    // The same sums in the other order, of some hundred readings of at most 0.05 rad; a weighted reading on a break may
    // change sides, which none does here.
    assert_near(a.value, b.value, 1e-13);
    // The draws are others, since they are made from the far end. Of a thousand an sd is good to a fortieth, and the
    // readings' own is a tenth of the whole: 1/40 of 1/100 of it, for either.
    assert_near(a.sd, b.sd, 5e-4 * a.sd);
    let (a, b) = (one.fall_between(0.0, 15.0).unwrap(), two.fall_between(0.0, 15.0).unwrap());
    assert_near(a.value, b.value, 1e-12);
    assert_near(a.sd, b.sd, 5e-4 * a.sd);
    let pools = |l: &Lateral| l.pools().into_iter().map(|p| p.pool.unwrap().depth_m).collect::<Vec<_>>();
    let (one, two) = (pools(&one), pools(&two));
    assert_eq!(one.len(), two.len());
    assert!(!one.is_empty());
    one.iter().zip(two.iter().rev()).for_each(|(a, b)| assert_near(*a, *b, 1e-13));
}

/// Two heads' worth of zero error is one unknown: a run each way finds it.
#[test]
fn two_runs_the_opposite_way_find_the_zero_error() {
    let (breaks, tilts) = ([0.0, 6.0, 8.0, 15.0], [0.02, -0.012, 0.025]);
    let zero = 0.5 * DEGREE;
    let run = |toward, seed| survey(&breaks, &tilts, &Head { toward, zero_rad: zero, ..Head::default() }, seed);
    let there = run(Toward::Increasing, 1);
    let one = Lateral::solve(job_of(there.clone())).unwrap();
    let mut job = job_of(there);
    job.runs.push(run(Toward::Decreasing, 2));
    let both = Lateral::solve(job).unwrap();
    let found = &both.posterior().parameters[0];
    // Within 4 of its standard deviations, which must be that of two seatings rather than that of the zero.
    assert!((found.value - zero).abs() < 4.0 * found.sd, "{found:?}");
    assert!(found.sd < 0.11 * DEGREE && found.sd < 0.4 * found.prior_sd, "{found:?}");
    let truth = (6.0 * 0.02 - 2.0 * 0.012 + 7.0 * 0.025) * (1.0 - 0.008);
    let (alone, two) = (one.fall_between(0.0, 15.0).unwrap(), both.fall_between(0.0, 15.0).unwrap());
    assert!((two.value - truth).abs() < 4.0 * two.sd && two.sd < 0.4 * alone.sd, "{alone:?} {two:?}");

    // The same way twice says nothing of the zero: its sd stays, but for the seating.
    let mut job = job_of(run(Toward::Increasing, 1));
    job.runs.push(run(Toward::Increasing, 2));
    let same = Lateral::solve(job).unwrap();
    assert!(same.posterior().parameters[0].sd > 0.9 * found.prior_sd, "{:?}", same.posterior().parameters);
}

#[test]
fn runs_that_overlap_in_part_are_one_survey() {
    let (breaks, tilts) = ([0.0, 6.0, 8.0, 15.0, 20.0], [0.02, -0.012, 0.025, 0.01]);
    let part = |from: f64, to: f64, seed| {
        let mut run = survey(&breaks, &tilts, &Head::default(), seed);
        let keep: Vec<usize> = (0..run.counter_m.len()).filter(|i| (from..=to).contains(&run.counter_m[*i])).collect();
        (run.counter_m, run.reading_rad) =
            (keep.iter().map(|i| run.counter_m[*i]).collect(), keep.iter().map(|i| run.reading_rad[*i]).collect());
        run.time_s = None;
        run
    };
    let mut job = job_of(part(0.0, 12.0, 1));
    job.runs.push(part(9.0, 20.0, 2));
    let lateral = Lateral::solve(job).unwrap();
    let fall = lateral.fall_between(0.0, 20.0).unwrap();
    let truth = (6.0 * 0.02 - 2.0 * 0.012 + 7.0 * 0.025 + 5.0 * 0.01) * (1.0 - 0.008);
    assert!((fall.value - truth).abs() < 3.0 * fall.sd, "{fall:?} {truth}");
    assert_near(lateral.surveyed_m().1, 20.0, 1e-9);
}

/// Three runs of which the outer two overlap the middle one alone: one survey, in whatever order they are given.
#[test]
fn the_order_of_runs_does_not_matter() {
    let (breaks, tilts) = ([0.0, 6.0, 8.0, 15.0, 20.0, 28.0, 30.0], [0.02, -0.012, 0.025, 0.01, 0.03, 0.015]);
    let part = |from: f64, to: f64, zero_rad, seed| {
        let mut run = survey(&breaks, &tilts, &Head { zero_rad, ..Head::default() }, seed);
        let keep = |i: &usize| (from..=to).contains(&run.counter_m[*i]);
        let rows: Vec<usize> = (0..run.counter_m.len()).filter(keep).collect();
        (run.counter_m, run.reading_rad) =
            (rows.iter().map(|i| run.counter_m[*i]).collect(), rows.iter().map(|i| run.reading_rad[*i]).collect());
        run.time_s = None;
        run
    };
    // Seatings that differ by as much as half a degree: without their shifts the ends of runs would be breaks.
    let runs = [part(0.0, 12.0, 0.004, 1), part(9.0, 21.0, -0.004, 2), part(17.0, 30.0, 0.003, 3)];
    let solved = |order: [usize; 3]| {
        Lateral::solve(Job { runs: order.map(|i| runs[i].clone()).to_vec(), ..Job::default() }).unwrap()
    };
    let first = solved([0, 1, 2]);
    assert_eq!(first.chain().tilt_rad.len(), 6, "{:?}", first.chain().breaks_m);
    for order in [[0, 2, 1], [1, 0, 2], [1, 2, 0], [2, 0, 1], [2, 1, 0]] {
        let other = solved(order);
        assert_eq!(other.chain().breaks_m, first.chain().breaks_m);
        for (a, b) in other.posterior().tilt_rad.iter().zip(&first.posterior().tilt_rad) {
            assert_near(*a, *b, 1e-12); // a three by three system whose rows come in another order
        }
    }
}

#[test]
fn a_lip_holds_what_tilt_cannot_see() {
    // A 10 mm lip where the pipe falls 2 %: half a metre of water behind it.
    let slope = math::atan(0.02);
    let level = shaped(&[0.0, 10.0], &[slope], |job| {
        job.steps = vec![Step { station_m: 6.0, rise_m: 0.010, rise_sd_m: 0.0 }];
    });
    let pools = level.pools();
    assert_eq!(pools.len(), 1);
    let pool = pools[0].pool.as_ref().unwrap();
    // 10 mm over the sine of 2 %.
    assert_near(pool.length_m, 0.010 / math::sin(slope), 1e-12);
    assert_near(pool.to_m, 6.0, 0.0);
    assert_near(pool.depth_m, 0.010 / math::cos(slope), 1e-12);
    // And the other way of the stationing.
    let up = shaped(&[0.0, 10.0], &[-slope], |job| {
        job.flow = Flow::Decreasing;
        job.steps = vec![Step { station_m: 6.0, rise_m: -0.010, rise_sd_m: 0.0 }];
    });
    assert_near(up.pools()[0].pool.as_ref().unwrap().length_m, 0.010 / math::sin(slope), 1e-12);
}

#[test]
fn everything_at_once_goes_through() {
    let (breaks, tilts) = ([0.0, 6.0, 8.0, 15.0, 18.0, 20.0, 22.0], [0.03, -0.02, 0.03, -0.03, 0.04, 0.02]);
    let mut job = job_of(survey(&breaks, &tilts, &Head { noise_sd_rad: 0.1 * DEGREE, ..Head::default() }, 5));
    job.report.draws = 400;
    job.instrument.zero_sd_rad = 0.03 * DEGREE;
    job.reaches = vec![reach(0.0, 12.0), reach(12.0, 22.0)];
    job.bends = vec![Bend::new(10.0, 45.0 * DEGREE), Bend::new(13.5, -22.5 * DEGREE)];
    job.steps = vec![Step { station_m: 12.0, rise_m: 0.01, rise_sd_m: 0.001 }];
    job.features = vec![
        Feature { kind: FeatureKind::Trap, station_m: 11.4, to_m: Some(12.2), text: String::new() },
        Feature { kind: FeatureKind::Main, station_m: 22.3, to_m: None, text: String::new() },
        Feature { kind: FeatureKind::Cleanout, station_m: 30.0, to_m: None, text: "next door".to_owned() },
    ];
    job.notes = vec![Note { station_m: Some(-9.0), ..Note::default() }];
    job.ground = vec![
        GroundPoint { station_m: 20.0, elevation_m: 32.4, sd_m: None },
        GroundPoint { station_m: 1.0, elevation_m: 32.0, sd_m: None },
        GroundPoint { station_m: 1.0, elevation_m: 32.0, sd_m: None },
    ];
    (job.runs[0].start_invert_m, job.runs[0].start_azimuth_rad) = (Some(31.2), Some(0.3));
    let answers = answers(job);
    let outside: Vec<&String> = answers.warnings.iter().filter(|w| w.contains("outside the surveyed")).collect();
    assert_eq!(outside.len(), 2, "{:?}", answers.warnings);
    assert!(answers.pools.iter().any(|p| p.state == "intended"), "{:?}", answers.pools);
    assert!(
        answers.pools.iter().any(|p| p.state == "found" && p.sill_station_m.is_some_and(|s| (s - 8.0).abs() < 0.3))
    );
    // The lip of 10 mm at 3 % holds a third of a metre.
    assert!(
        answers.pools.iter().any(|p| p.sill_station_m == Some(12.0) && (0.2..0.5).contains(&p.length_m)),
        "{:?}",
        answers.pools
    );
    assert_near(answers.reaches.iter().map(|r| r.fall_m).sum(), answers.total.fall_m, 1e-12);
    assert!(answers.path.iter().all(|p| p.east_m.is_some() && p.elevation_m.is_some()));
    let covered = answers.path.iter().filter(|p| p.cover_m.is_none()).all(|p| !(1.0..=20.0).contains(&p.station_m));
    assert!(covered, "cover wherever there is ground on both sides");
    let beyond = answers.path.iter().find(|p| p.station_m > 13.7).unwrap();
    // 45 degrees right, 22.5 left; tilts of a few percent turn the azimuth by some thousandths more.
    assert_near(beyond.azimuth_rad.unwrap(), 0.3 + 22.5 * DEGREE, 0.005);
}

#[test]
fn breaks_are_inner_ones() {
    let mut job = job_of(survey(&[0.0, 6.0, 10.0], &[0.02, 0.03], &Head::default(), 1));
    job.segments = SegmentChoice::Given { breaks_m: vec![6.0] };
    let lateral = Lateral::solve(job.clone()).unwrap();
    assert_eq!(lateral.chain().tilt_rad.len(), 2);
    assert_near(lateral.surveyed_m().1, 10.0, 1e-9);
    job.segments = SegmentChoice::Given { breaks_m: vec![6.0, 12.0] };
    assert!(matches!(Lateral::solve(job.clone()), Err(Error::Outside { .. })));
    job.segments = SegmentChoice::Given { breaks_m: Vec::new() };
    let joint = |station_m| Feature { kind: FeatureKind::Joint, station_m, to_m: None, text: String::new() };
    job.features = [9.0, 3.0, 0.0, 6.0, 6.0, 12.0].map(joint).to_vec();
    assert_eq!(Lateral::solve(job).unwrap().chain().breaks_m[1..4], [3.0, 6.0, 9.0]);
}

#[test]
fn what_is_not_surveyed_is_said_and_what_cannot_be_is_refused() {
    let job = job_of(survey(&[0.0, 6.0, 10.0], &[0.02, 0.03], &Head::default(), 1));
    // A run that stopped short of the last reach is a survey of the others.
    let mut short = job.clone();
    short.reaches = vec![reach(0.0, 8.0), reach(8.0, 11.0), reach(11.0, 20.0)];
    let found = answers(short);
    let last = found.findings.iter().find(|f| f.subject == "reach 3").unwrap();
    assert_eq!(last.reason.as_deref(), Some("not_surveyed"));

    let refused = |change: &dyn Fn(&mut Job)| {
        let mut job = job.clone();
        change(&mut job);
        Lateral::solve(job).map(|_| ()).unwrap_err().to_string()
    };
    let reaches = |ends: &[(f64, f64)]| {
        let list: Vec<Reach> = ends.iter().map(|(a, b)| reach(*a, *b)).collect();
        refused(&move |job| job.reaches.clone_from(&list))
    };
    assert!(reaches(&[(5.0, 10.0), (0.0, 5.0)]).contains("reach"), "{}", reaches(&[(5.0, 10.0), (0.0, 5.0)]));
    assert!(reaches(&[(0.0, 6.0), (5.0, 10.0)]).contains("reaches at"));
    assert!(reaches(&[(0.0, 5.0), (6.0, 10.0)]).contains("without a gap"));
    assert!(reaches(&[(0.0, 5.0)]).contains("cover"));
    assert!(reaches(&[(0.0, f64::NAN)]).starts_with("reach.to_m[0]"));
    assert!(
        refused(&|j| j.reaches = vec![Reach {
            pipe: Pipe { bore: Some(Bore::Circle { diameter_m: 100.0 }), ..pipe() },
            ..reach(0.0, 10.0)
        }])
        .starts_with("reach.bore.circle.diameter_m[0]: 100")
    );
    assert!(refused(&|j| j.bends = vec![Bend::new(12.0, 0.7)]).contains("outside the surveyed"));
    assert!(
        refused(&|j| j.steps = vec![Step { station_m: 12.0, rise_m: 0.0, rise_sd_m: 0.0 }])
            .contains("outside the surveyed")
    );
    assert!(
        refused(&|j| j.steps = vec![Step { station_m: 2.0, rise_m: 0.0, rise_sd_m: -0.1 }])
            .starts_with("step.rise_sd_m[0]")
    );
    assert!(
        refused(&|j| j.ground = vec![GroundPoint { station_m: 2.0, elevation_m: 0.0, sd_m: Some(-0.1) }])
            .starts_with("ground.sd_m[0]")
    );
    assert!(refused(&|j| j.runs[0].start_invert_sd_m = Some(-0.1)).starts_with("run.start_invert_sd_m[0]"));
    assert!(
        refused(&|j| j.bends = vec![Bend { deflection_sd_rad: -1.0, ..Bend::new(5.0, 0.7) }])
            .starts_with("bend.deflection_sd_rad")
    );
    assert!(refused(&|j| j.instrument.zero_sd_rad = -0.1).starts_with("instrument.zero_sd_rad"));
    assert!(refused(&|j| j.report.draws = usize::MAX).starts_with("report.draws"));
    assert!(refused(&|j| j.runs[0] = Run::new(vec![1.0], vec![0.0])).contains("at least 2"));
    assert!(refused(&|j| j.runs[0] = Run::new(vec![1.0, 1.0, 1.0], vec![0.0; 3])).contains("some length"));
    assert!(refused(&|j| j.runs.clear()).contains("nothing to solve"));
}

#[test]
fn the_same_job_gives_the_same_bytes_and_more_draws_begin_alike() {
    let job = job_of(survey(&[0.0, 6.0, 8.0, 15.0], &[0.02, -0.012, 0.025], &Head::default(), 3));
    let (one, two) = (answers(job.clone()), answers(job.clone()));
    assert_eq!(one, two);
    assert_eq!(serde_json::to_vec(&one).unwrap(), serde_json::to_vec(&two).unwrap());
    let lateral = Lateral::solve(job).unwrap();
    let draws = |count| {
        let mut all: Vec<Profile> = Vec::new();
        lateral.draws(count, 9).for_each(&mut |p| all.push(p.clone()));
        all
    };
    let (few, many) = (draws(20), draws(50));
    assert_eq!(few[..], many[..20]);
    assert_ne!(many[0], many[1]);
}

/// One job in the units of either side of the ocean.
#[test]
fn the_unit_of_the_file_does_not_matter() {
    let run = survey(
        &[0.0, 6.0, 8.0, 15.0],
        &[0.02, -0.012, 0.025],
        &Head { rounding: Rounding::None, ..Head::default() },
        3,
    );
    let table = |head: &str, counter: &dyn Fn(f64) -> f64, reading: &dyn Fn(f64) -> f64| {
        let rows =
            run.counter_m.iter().zip(&run.reading_rad).map(|(c, r)| format!("{},{}\n", counter(*c), reading(*r)));
        format!("{head}\n{}", rows.collect::<String>())
    };
    let solve = |log: String, text: &str| {
        let files = MemoryResolver([("log.csv".to_owned(), log.into_bytes())].into());
        Lateral::solve(job::read_text(text, "job.toml", &files).unwrap().job).unwrap()
    };
    let metric = solve(
        table("counter (m),tilt (deg)", &|c| c, &|r| units::to_deg(r)),
        "[[run]]\nlog = \"log.csv\"\n[instrument]\nzero_sd = \"0.5 deg\"\n[[reach]]\nfrom = \"0 m\"\nto = \"15.24 m\"",
    );
    let feet = solve(
        table("counter (ft),grade (%)", &|c| units::to_ft(c), &|r| units::to_percent(units::tilt_to_slope(r))),
        &format!(
            "[[run]]\nlog = \"log.csv\"\n[instrument]\nzero_sd = \"{} %\"\n[[reach]]\nfrom = \"0 ft\"\nto = \"50 ft\"",
            units::to_percent(units::tilt_to_slope(0.5 * DEGREE))
        ),
    );
    assert_eq!(metric.chain().tilt_rad.len(), feet.chain().tilt_rad.len());
    // A number to a unit and back: two ulp of a counter of 15 m, four of a tilt (a tangent and its arc).
    for (a, b) in metric.chain().breaks_m.iter().zip(&feet.chain().breaks_m) {
        assert_near(*a, *b, 2.0 * f64::EPSILON * 15.0);
    }
    for (a, b) in metric.posterior().tilt_rad.iter().zip(&feet.posterior().tilt_rad) {
        // Those of a tilt, in weights of some thousand segmentations whose logarithms reach a hundred.
        assert_near(*a, *b, 1e3 * f64::EPSILON * 0.1);
    }
    let (a, b) = (metric.slope_between(1.0, 14.0).unwrap(), feet.slope_between(1.0, 14.0).unwrap());
    assert_near(a.value, b.value, 16.0 * f64::EPSILON * 0.1);
    assert_near(a.sd, b.sd, 1e-12 * a.sd);
    assert!(metric.pools().iter().zip(feet.pools()).all(|(a, b)| a.state == b.state && a.state != PoolState::Intended));
}

/// A pool of 119 mm under 6 m of backfall is no trap's, wherever a trap is noted in it.
#[test]
fn a_noted_trap_excuses_no_belly_and_no_backfall() {
    let tilt: Vec<f64> = [0.04, -0.02, 0.04].iter().map(|s| math::atan(*s)).collect();
    let breaks = [0.0, 8.0, 14.0, 20.0];
    for station_m in [7.0, 8.0, 13.8] {
        let mut invert = vec![1.0];
        for (ends, t) in breaks.windows(2).zip(&tilt) {
            invert.push(invert[invert.len() - 1] - (ends[1] - ends[0]) * math::sin(*t));
        }
        let job = Job {
            as_built: breaks
                .iter()
                .zip(&invert)
                .map(|(&station_m, &invert_m)| AsBuilt { station_m, invert_m, sd_m: Some(1e-4) })
                .collect(),
            reaches: vec![Reach {
                from_m: 0.0,
                to_m: 20.0,
                pipe: Pipe::standard("SDR 35", "4 in").unwrap(),
                ..Reach::default()
            }],
            features: vec![Feature { kind: FeatureKind::Trap, station_m, to_m: None, text: String::new() }],
            ..Job::default()
        };
        let lateral = Lateral::solve(job).unwrap();
        let answers = lateral.answers(Some(&Rulebook::shipped("ipc-2021").unwrap())).unwrap();
        assert!(answers.pools.iter().all(|p| p.state == "found"), "{:?}", answers.pools);
        assert_eq!(answers.findings[0].finding, "fails", "{}", answers.sentence);
    }
}

/// What no rule was held against does not meet it.
#[test]
fn a_pipe_that_is_all_drop_meets_nothing() {
    let pipe = Pipe::standard("SDR 35", "4 in").unwrap();
    let lateral = Lateral::from_segments(vec![0.0, 5.0], vec![1.0], pipe).unwrap();
    let check = lateral.check(&Rulebook::shipped("upc-2021").unwrap()).unwrap();
    assert_eq!(check.lateral.verdict.word(), "undecided", "{}", check.lateral.sentence);
}

/// A log of a straight pipe at 2 %, pushed from `start_m` to `end_m`.
#[test]
fn the_bend_at_the_foot_of_a_drop_belongs_to_the_drop() {
    // A slanting entry at 50 degrees, a 49 degree bend to the pipe at 1 degree.
    let radius_m = 0.15;
    let bend = Bend { radius_m: Some(radius_m), ..Bend::new(1.3, 49.0 * DEGREE) };
    let lateral = shaped(&[0.0, 1.3, 8.0], &[50.0 * DEGREE, 1.0 * DEGREE], |job| {
        job.bends = vec![bend.clone()];
        job.reaches = vec![reach(0.0, 1.3), reach(1.3, 8.0)];
    });
    let told = lateral.answers(Some(&Rulebook::shipped("ipc-2021").unwrap())).unwrap();
    let [entry, rest] = &told.reaches[..] else { panic!("{:?}", told.reaches) };
    assert_eq!(
        (entry.slope, rest.slope.map(|s| (s - math::tan(DEGREE)).abs() < 1e-12)),
        (None, Some(true)),
        "{rest:?}"
    );
    let of_entry: Vec<_> = told.findings.iter().filter(|f| f.reach == Some(1)).collect();
    assert!(of_entry.is_empty(), "a drop has no slope to hold against a rule: {of_entry:?}");
    // The same without the posterior, whose slopes are worked out on the layout: half of the bend lies in either reach.
    let profile = lateral.profile();
    assert_eq!(profile.slope_between(0.0, 1.3), None);
    assert!((profile.slope_between(1.3, 8.0).unwrap() - math::tan(DEGREE)).abs() < 1e-12);
    let drop_m = profile.drop_fall_between(0.0, 8.0);
    // The bend ends at most a tangent's length before and behind its corner.
    let tangent_m = radius_m * math::tan(0.5 * 49.0 * DEGREE);
    assert!(drop_m > 1.3 * math::sin(50.0 * DEGREE) - tangent_m && drop_m < 1.3 * math::sin(50.0 * DEGREE) + tangent_m);
    // A bend from pipe to pipe stays in the slope.
    let gentle = shaped(&[0.0, 1.3, 8.0], &[20.0 * DEGREE, 1.0 * DEGREE], |job| job.bends = vec![bend.clone()]);
    assert!(gentle.slope_between(0.0, 1.3).is_some_and(|s| s.value < math::tan(20.0 * DEGREE)));
}

fn straight_run(start_m: f64, end_m: f64) -> Run {
    let toward = if end_m > start_m { Toward::Increasing } else { Toward::Decreasing };
    let down = if end_m > start_m { 1.0 } else { -1.0 };
    let counter: Vec<f64> = (0..=200).map(|i| (end_m - start_m).abs() * f64::from(i) / 200.0).collect();
    let reading = counter.iter().enumerate().map(|(i, _)| down * 0.02 + 0.002 * f64::from(i % 3 == 0)).collect();
    Run { toward, start_station_m: start_m, ..Run::new(counter, reading) }
}

/// The plan is where the run starts, whichever way it goes, and turns the way the azimuth there says.
#[test]
fn a_plan_holds_at_the_start_of_the_run() {
    for (start, end) in [(0.0, 10.0), (10.0, 0.0)] {
        let mut run = straight_run(start, end);
        run.start_azimuth_rad = Some(0.3);
        (run.start_east_m, run.start_north_m) = (Some(100.0), Some(200.0));
        let bend = Bend::new(5.0, std::f64::consts::FRAC_PI_4);
        let job = Job { runs: vec![run], bends: vec![bend], instrument: Instrument::exact(), ..Job::default() };
        let lateral = Lateral::solve(job).unwrap();
        let [east, north, _] = lateral.path().position(start).unwrap();
        // Hundreds of metres, shifted once there and once back: a few ulp of them.
        assert!(
            (east - 100.0).abs() < 1e-12 * 200.0 && (north - 200.0).abs() < 1e-12 * 200.0,
            "{start}: {east} {north}"
        );
        let azimuth = lateral.path().azimuth(start).unwrap();
        assert!((azimuth - 0.3).abs() < 1e-12, "{start}: {azimuth}"); // one turn and back
    }
}

/// Heights are as sure as what lies between them and the known elevation.
#[test]
fn an_elevation_is_surest_where_it_is_known() {
    let mut down = straight_run(10.0, 0.0);
    (down.start_invert_m, down.start_invert_sd_m) = (Some(30.0), Some(0.001));
    let runs = vec![straight_run(10.0, 20.0), down];
    let lateral = Lateral::solve(Job { runs, ..Job::default() }).unwrap();
    let answers = lateral.answers(None).unwrap();
    let at = |station_m: f64| {
        let near = |p: &&PathRow| (p.station_m - station_m).abs() < 0.2;
        answers.path.iter().filter(near).map(|p| p.height_sd_m).fold(f64::INFINITY, f64::min)
    };
    assert!(answers.path.iter().all(|p| p.elevation_m.is_some()));
    let fall_sd = lateral.fall_between(0.0, 10.0).unwrap().sd;
    // Both parts add up; the node that the heights hang on lies within 0.2 m of the station.
    assert!((at(0.0) / (fall_sd * fall_sd + 1e-6).sqrt() - 1.0).abs() < 0.05, "{} {fall_sd}", at(0.0));
    assert!(at(20.0) > 0.005);
    let answers_at_start = at(10.0);
    assert!(
        answers_at_start < 0.002 || answers.path.iter().all(|p| (p.station_m - 10.0).abs() > 0.2),
        "{answers_at_start}"
    );
}

#[test]
fn as_built_elevations_are_as_sure_as_their_inverts() {
    let lateral = Lateral::from_inverts(&[0.0, 5.0, 10.0], &[1.0, 0.9, 0.8], Some(0.01), Pipe::default()).unwrap();
    for row in lateral.answers(None).unwrap().path {
        assert!((row.height_sd_m - 0.01).abs() < 1e-15, "{row:?}"); // one product at each invert
    }
}

#[test]
fn what_was_not_surveyed_has_no_figures_and_a_warning() {
    let reach = |from_m, to_m| Reach { from_m, to_m, ..Reach::default() };
    let mut run = straight_run(0.0, 10.0);
    run.start_invert_m = Some(30.0);
    run.start_station_m = 2.0; // readings are moved along with it
    let reaches = vec![reach(0.0, 8.0), reach(8.0, 14.0), reach(14.0, 20.0)];
    let answers = Lateral::solve(Job { runs: vec![run], reaches, ..Job::default() }).unwrap().answers(None).unwrap();
    assert_eq!(answers.reaches.len(), 2);
    assert!(answers.warnings.iter().any(|w| w == "reach 3 was not surveyed: no figures are given for it"));
    assert!(answers.warnings.iter().any(|w| w.starts_with("reach 2 was surveyed in part")), "{:?}", answers.warnings);
}

/// One route: what the segments say adds up to what the lateral says, with a bend and a step at their limits.
#[test]
fn segments_add_up() {
    let inverts = [(0.0, 1.0), (5.0, 0.9), (10.0, 0.6)];
    let job = Job {
        as_built: inverts.map(|(station_m, invert_m)| AsBuilt { station_m, invert_m, sd_m: None }).to_vec(),
        bends: vec![Bend { radius_m: Some(1.0), ..Bend::new(5.0, 0.7) }],
        ..Job::default()
    };
    let lateral = Lateral::solve(job).unwrap();
    let sum: f64 = lateral.segments().iter().map(|s| s.fall_m).sum();
    // A handful of sums of a metre.
    assert!((sum - lateral.fall_between(0.0, 10.0).unwrap().value).abs() < 1e-14, "{sum}");
}

/// A reading in a bend has no weight, and no segment of its own.
#[test]
fn raw_segments_pass_over_a_bend() {
    let bends = vec![Bend::new(5.0, 0.4)];
    let job = Job { runs: vec![straight_run(0.0, 10.0)], bends, segments: SegmentChoice::Raw, ..Job::default() };
    assert!(Lateral::solve(job).unwrap().segments().len() > 150);
}

/// What is given and enters no figure is said, whichever of the three it is.
#[test]
fn the_standard_deviation_of_the_ground_is_used() {
    let run = survey(&[0.0, 10.0], &[0.02], &Head::default(), 1);
    let run = Run { start_invert_m: Some(1.0), start_invert_sd_m: Some(0.01), ..run };
    let ground =
        |sd_m: Option<f64>| [0.0, 10.0].map(|station_m| GroundPoint { station_m, elevation_m: 2.0, sd_m }).to_vec();
    let depth_sd_m = |sd_m: Option<f64>| {
        let lateral = Lateral::solve(Job { ground: ground(sd_m), ..job_of(run.clone()) }).unwrap();
        assert!(!lateral.warnings().iter().any(|w| w.contains("not used")), "{:?}", lateral.warnings());
        lateral.at(&[0.0])[0].as_ref().unwrap().depth_sd_m
    };
    assert_eq!(depth_sd_m(None), None);
    // Ground and invert by themselves: the root of the squares; 1e-9 for the roundings of an adjustment.
    assert!((depth_sd_m(Some(0.02)).unwrap() - 0.0005_f64.sqrt()).abs() < 1e-9);
}

/// Debris under the head from 9 to 12 m: what a note says of it widens what lies there, and nothing else.
#[test]
fn a_note_that_the_head_was_off_the_bottom_widens_what_lies_there() {
    let run = survey(&[0.0, 20.0], &[0.02], &Head::default(), 5);
    let plain = Lateral::solve(job_of(run.clone())).unwrap();
    let mut job = job_of(run);
    job.notes =
        vec![Note { station_m: Some(12.0), to_m: Some(9.0), tilt_sd_rad: Some(0.5 * DEGREE), ..Note::default() }];
    let noted = Lateral::solve(job.clone()).unwrap();
    let sd = |l: &Lateral, a: f64, b: f64| l.fall_between(a, b).unwrap().sd;
    let more = |a: f64, b: f64| {
        let (was, is) = (sd(&plain, a, b), sd(&noted, a, b));
        (is * is - was * was).max(0.0).sqrt()
    };
    // One error of half a degree over 3 m of pipe, 0.8 % shorter than counted; cells end within a reading or two of it.
    let whole = 3.0 * 0.992 * 0.5 * DEGREE;
    assert!((more(0.0, 20.0) / whole - 1.0).abs() < 0.02, "{} {whole}", more(0.0, 20.0));
    assert!(more(0.0, 8.0) < 1e-9 && more(13.0, 20.0) < 1e-9);
    assert_eq!(plain.fall_between(0.0, 20.0).unwrap().value, noted.fall_between(0.0, 20.0).unwrap().value);
    // A place without an extent is as long as the head, either way; one without a station cannot be used, and that is said.
    job.notes[0].to_m = None;
    assert!(sd(&Lateral::solve(job.clone()).unwrap(), 11.0, 13.0) > sd(&plain, 11.0, 13.0));
    job.notes[0] = Note { video_time_s: Some(10.0), tilt_sd_rad: Some(0.5 * DEGREE), ..Note::default() };
    assert!(Lateral::solve(job.clone()).unwrap().warnings().iter().any(|w| w.contains("no station")));
    job.notes[0].tilt_sd_rad = Some(-1.0);
    assert!(Lateral::solve(job).unwrap_err().to_string().contains("tilt_sd_rad"));
}

/// A head that rolls and says so: its error across the axis is found in the readings and taken off before segments are found.
#[test]
fn a_logged_roll_is_taken_off() {
    let across_rad = 0.6 * DEGREE;
    let roll =
        Roll { cross_rad: across_rad, amplitude_rad: 30.0 * DEGREE, wavelength_m: 7.0, phase_rad: 0.4, logged: true };
    let truth = Truth { breaks_m: vec![0.0, 9.0, 12.0, 30.0], tilt_rad: vec![0.02, -0.01, 0.02], ..Truth::default() };
    let head = Head { roll, ..Head::default() };
    let run = simulate::run(&truth, &head, &Flaws::default(), 0.05, 6).unwrap().run;
    let logged = Lateral::solve(job_of(run.clone())).unwrap();
    let found = logged.posterior().parameter("across_axis_rad (enters by the sine of the roll)").unwrap();
    // Three of its own standard deviations, of which 600 readings make a half of the prior's 0.3 degrees: breaks may stand for some of it.
    assert!((found.value - across_rad).abs() < 3.0 * found.sd && found.sd < 0.15 * DEGREE, "{found:?}");
    assert_eq!(found.prior_sd, Instrument::default().roll_sd_rad);
    assert_eq!(logged.segments().len(), 3, "{:?}", logged.chain());
    // Not logged, it bends the pipe: by up to 0.3 degrees over a quarter of a wave.
    let unlogged = Lateral::solve(job_of(Run { roll_rad: None, ..run })).unwrap();
    let zero_and_all =
        |l: &Lateral| l.slope_between(0.5, 3.5).unwrap().value - l.slope_between(4.0, 7.0).unwrap().value;
    let (off, bent) = (zero_and_all(&logged).abs(), zero_and_all(&unlogged).abs());
    assert!(off < 0.0015 && bent > 0.003, "{off} {bent}"); // noise of 0.25 degrees over 30 readings each: 0.11 %
}

/// Drift alone: its share of the fall is that of exp(-t/T) along the run, whether the time is logged or taken from the pace.
#[test]
fn drift_is_in_what_it_goes_by() {
    let drift_rad = 0.1 * DEGREE;
    let instrument = Instrument {
        drift_sd_rad: drift_rad,
        noise_sd_rad: Some(1e-7),
        resolution_rad: Some(0.0),
        head_length_m: 0.0,
        ..Instrument::exact()
    };
    let truth = Truth { breaks_m: vec![0.0, 36.0], tilt_rad: vec![0.02], ..Truth::default() };
    let head = Head { noise_sd_rad: 0.0, head_length_m: 0.0, ..Head::default() };
    let run = simulate::run(&truth, &head, &Flaws::default(), 0.1, 1).unwrap().run;
    let timed = Run { time_s: Some(run.counter_m.iter().map(|c| 10.0 * c).collect()), ..run.clone() };
    // At 0.2 m/s drift falls to 1/e in 36 m; at 10 s a metre in 18.
    for (run, along_m) in [(Run { time_s: None, ..run }, 36.0), (timed, 18.0)] {
        let lateral = Lateral::solve(Job { instrument: instrument.clone(), ..job_of(run) }).unwrap();
        for (from_m, to_m) in [(0.0, 36.0), (0.0, 9.0), (27.0, 36.0)] {
            let share = along_m * (math::exp(-from_m / along_m) - math::exp(-to_m / along_m));
            let expected = drift_rad * math::cos(0.02) * share;
            let found = lateral.fall_between(from_m, to_m).unwrap().sd;
            // Cells of half a metre stand for the curve: (0.5/18)² / 24 of it, and ends within a reading.
            assert!((found / expected - 1.0).abs() < 0.01, "{from_m} {to_m}: {found} {expected}");
        }
    }
}

/// What a lateral says of its nodes one by one is what its path has there; the rest of a path has no other figures.
#[test]
fn places_asked_for_are_those_of_the_path() {
    let head = Head { noise_sd_rad: 0.1 * DEGREE, ..Head::default() };
    for flow in [Flow::Increasing, Flow::Decreasing] {
        let mut job = job_of(survey(&[0.0, 6.0, 8.0, 15.0], &[0.02, -0.01, 0.03], &head, 5));
        job.flow = flow;
        job.runs[0].start_invert_m = Some(30.0);
        job.runs[0].start_invert_sd_m = Some(0.01);
        job.runs[0].start_azimuth_rad = Some(0.4);
        job.bends = vec![Bend::new(10.0, 0.5)];
        job.ground =
            [0.0, 20.0].map(|station_m| GroundPoint { station_m, elevation_m: 32.0, sd_m: Some(0.02) }).to_vec();
        let lateral = Lateral::solve(Lateral::in_one_pipe(job, pipe()).unwrap()).unwrap();
        let path = lateral.answers(None).unwrap().path;
        let stations: Vec<f64> = path.iter().map(|row| row.station_m).collect();
        for (row, at) in path.iter().zip(lateral.at(&stations)) {
            let at = at.unwrap();
            // Both are the same figures by sums in another order.
            for (one, other) in [
                (Some(row.height_m), Some(at.height_m)),
                (Some(row.height_sd_m), Some(at.height_sd_m)),
                (row.elevation_m, at.elevation_m),
                (row.cover_m, at.cover_m),
                (row.depth_sd_m, at.depth_sd_m),
                (row.east_m, at.east_m),
                (row.north_sd_m, at.north_sd_m),
                (row.tilt_rad, at.tilt_rad),
                (row.water_m, at.water_m),
                (row.bore_m, at.bore_m),
            ] {
                assert_eq!(one.is_some(), other.is_some(), "{} m", row.station_m);
                assert!((one.unwrap_or(0.0) - other.unwrap_or(0.0)).abs() < 1e-9, "{row:?} {at:?}");
            }
        }
        // In a belly the water is as high everywhere, and beside it there is none.
        let pool = lateral.pools().into_iter().find_map(|estimate| estimate.pool).unwrap();
        let (from_m, to_m) = (pool.from_m, pool.to_m);
        let inside = lateral.at(&[0.3 * from_m + 0.7 * to_m, from_m - 0.01, to_m + 0.01, 99.0]);
        let level_m = inside[0].as_ref().unwrap().water_m.unwrap();
        assert!((level_m - pool.level_m).abs() < 1e-12);
        assert!(inside[1].as_ref().is_none_or(|row| row.water_m.is_none()));
        assert!(inside[2].as_ref().is_none_or(|row| row.water_m.is_none()));
        assert_eq!(inside[3], None);
        // A fall has the variance that the heights' covariance gives it.
        let [a, ab, b] = lateral.height_covariance(&[1.0, 14.0])[..] else { panic!("three pairs") };
        let fall = lateral.fall_between(1.0, 14.0).unwrap();
        assert!((a.covariance_m2 + b.covariance_m2 - 2.0 * ab.covariance_m2 - fall.sd * fall.sd).abs() < 1e-12);
        // Water at the outlet, higher than the whole pipe is.
        let held = |pools: &[PoolEstimate]| pools.iter().flat_map(|p| &p.pool).any(|p| p.held_by_tailwater);
        assert!(held(&lateral.pools_with(Some(1.0))) && !held(&lateral.pools()));
        assert_eq!(lateral.pools_with(None), lateral.pools());
    }
}
