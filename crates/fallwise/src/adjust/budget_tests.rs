//! Budgets and covariances against figures had another way.

use approx::assert_relative_eq;
use nalgebra::DMatrix;

use super::{
    super::{SegmentMean, SetupNoise, ZERO, adjust, ties::Terms},
    *,
};
use crate::{
    chain::Chain,
    math,
    model::{Instrument, Known, Place, ReversalCheck, Run, Step, Tie, TiltPositive},
};

const DEGREE: f64 = core::f64::consts::PI / 180.0;
const TILTS: [f64; 5] = [0.03, 0.021, 0.04, -0.012, 0.025];
const BREAKS_M: [f64; 6] = [0.0, 3.0, 9.0, 12.0, 17.0, 24.0];
/// Where the pipe is levelled, m; the second not exactly there.
const LEVELS_M: [f64; 3] = [0.0, 14.5, 24.0];

fn instrument() -> Instrument {
    Instrument {
        counter_scale: -0.004,
        counter_scale_sd: 0.006,
        drift_sd_rad: 0.06 * DEGREE,
        roll_sd_rad: 0.4 * DEGREE,
        wander_sd_rad: 0.05 * DEGREE,
        ..Instrument::default()
    }
}

/// A run with its pull-backs, and one from the other end.
fn setups() -> [SetupNoise; 3] {
    let setup = |run: usize, pulled: bool, zero_sign: f64, rounding: f64| SetupNoise {
        run,
        pulled,
        zero_sign,
        noise_sd_rad: 0.25 * DEGREE,
        rounding_sd_rad: rounding * DEGREE,
    };
    [setup(0, false, 1.0, 0.02), setup(0, true, 1.0, 0.03), setup(1, false, -1.0, 0.02)]
}

/// What a figure is off by for each unit error as it enters, by central differences of a whole world: truth, readings, ties, solution.
struct World {
    tied: bool,
    lips: bool,
}

impl World {
    /// The errors that enter, with what they are of.
    fn causes(&self) -> Vec<Cause> {
        let mut causes = vec![Cause::Zero];
        for _ in setups() {
            causes.extend([Cause::Seating, Cause::Rounding]);
        }
        causes.extend([Cause::Drift, Cause::Drift, Cause::Across]);
        for _ in 0..TILTS.len() * setups().len() {
            causes.extend([Cause::Noise, Cause::Rounding, Cause::Wander]);
        }
        causes.extend([Cause::Scale, Cause::Steps, Cause::Lips, Cause::Lips]);
        if self.tied {
            causes.extend([Cause::Tie(0), Cause::Tie(1), Cause::Tie(2), Cause::Tie(3), Cause::Station(1)]);
        }
        causes
    }

    /// Estimates of slope and fall of the whole, less the truth, and the posterior with its layout and profile.
    fn solved(&self, errors: &[f64]) -> ([f64; 2], Posterior, Layout, Profile) {
        let mut left = errors.iter();
        let mut next = || *left.next().unwrap();
        let (instrument, setups) = (instrument(), setups());
        let zero = instrument.zero_rad + instrument.zero_sd_rad * next();
        let offsets: Vec<f64> =
            setups.iter().map(|s| zero + instrument.seating_sd_rad * next() + s.rounding_sd_rad * next()).collect();
        let drifts: Vec<f64> = (0..2).map(|_| instrument.drift_sd_rad * next()).collect();
        let across = instrument.roll_sd_rad * next();
        let mut means = Vec::new();
        for (segment, tilt) in TILTS.iter().enumerate() {
            for (setup, s) in setups.iter().enumerate() {
                let weight = 10.0 + 7.0 * ((2 * segment + setup) % 4) as f64;
                let (drift_share, roll_sine) = (0.7 / (1.0 + segment as f64), 0.1 * (setup as f64 - segment as f64));
                let wander = math::wander_variance(instrument.wander_sd_rad, BREAKS_M[segment + 1] - BREAKS_M[segment]);
                let own = s.noise_sd_rad / weight.sqrt() * next() + s.rounding_sd_rad * next() + wander.sqrt() * next();
                let shared = offsets[setup] + drifts[s.run] * drift_share + across * roll_sine;
                let mean_rad = tilt + s.zero_sign * shared + own;
                means.push(SegmentMean { segment, setup, mean_rad, weight, readings: 9, drift_share, roll_sine });
            }
        }
        let scale = 1.0 + instrument.counter_scale + instrument.counter_scale_sd * next();
        let steps = [Step { station_m: 9.0, rise_m: 0.012, rise_sd_m: 0.003 }];
        let layout = Layout::new(&BREAKS_M, &[], &steps, &[]).unwrap();
        let rise_m = steps[0].rise_m + steps[0].rise_sd_m * next();
        let lip_variance_m = if self.lips { 0.002 * 0.002 / 3.0 } else { 0.0 };
        let lips_m: Vec<f64> =
            LEVELS_M.windows(2).map(|ends| (lip_variance_m * (ends[1] - ends[0])).sqrt() * next()).collect();
        let truth = layout.profile(&TILTS, scale, Some(&[rise_m]));
        let lip_at = |s: f64| {
            let share = |i: usize| ((s - LEVELS_M[i]) / (LEVELS_M[i + 1] - LEVELS_M[i])).clamp(0.0, 1.0);
            lips_m[0] * share(0) + lips_m[1] * share(1)
        };
        // What adds to a fall takes off a height.
        let height = |s: f64| truth.height_at(s).unwrap() - truth.height_m[0] - lip_at(s);
        let chain = Chain::new(BREAKS_M.to_vec(), TILTS.to_vec()).unwrap();
        let mut posterior = adjust(&chain, &means, &setups, &instrument, &steps, &[]).unwrap();
        posterior.lip_variance_m = lip_variance_m;
        if self.tied {
            let mut invert = |i: usize, sd_m: f64| (100.0 + sd_m * next(), sd_m, LEVELS_M[i]);
            let levels = [invert(0, 0.004), invert(1, 0.006), invert(2, 0.003)];
            let zero_read = zero + 0.08 * DEGREE * next();
            let station_m = 0.2 * next();
            let mut ties: Vec<Tie> = levels
                .iter()
                .enumerate()
                .map(|(i, (elevation_m, sd_m, s))| {
                    let (place, moved) = if i == 1 {
                        (Place { sd_m: 0.2, ..Place::exact(*s) }, station_m)
                    } else {
                        (Place::exact(*s), 0.0)
                    };
                    // A moved station is carried on by the slope; lips count up to where it was noted.
                    let elevation_m =
                        elevation_m + height(*s) + truth.height_at(s + moved).unwrap() - truth.height_at(*s).unwrap();
                    Tie::new(Known::Invert { at: place, elevation_m, sd_m: *sd_m })
                })
                .collect();
            // A check shows half the sum of its two readings.
            ties.push(Tie::new(Known::ReversalCheck(ReversalCheck {
                first_rad: zero_read,
                second_rad: zero_read,
                sd_rad: Some(0.08 * DEGREE * core::f64::consts::SQRT_2),
                tilt_positive: Some(TiltPositive::Down),
            })));
            let runs = [Run::new(vec![0.0], vec![0.0])];
            let terms = Terms { layout: &layout, runs: &runs, ground: &[], resolution_rad: 0.0, water_runs: false };
            posterior = posterior.with_ties(&terms, &ties).unwrap().0;
        }
        let profile = layout.profile(&posterior.tilt_rad, posterior.scale, Some(&posterior.step_rise_m));
        let [slope, fall] = figures(&posterior, &layout, &profile).map(|q| posterior.estimate(&q).value);
        let true_slope = truth.slope_between(0.0, 24.0).unwrap();
        ([slope - true_slope, fall + height(24.0)], posterior, layout, profile)
    }
}

fn figures(posterior: &Posterior, layout: &Layout, profile: &Profile) -> [Functional; 2] {
    let slope = posterior.slope_quantity(layout, profile, Flow::Increasing, 0.0, 24.0).unwrap();
    [slope, posterior.fall_quantity(layout, profile, Flow::Increasing, 0.0, 24.0)]
}

#[test]
fn a_budget_is_what_each_error_moves_the_whole_solution_by() {
    for (tied, lips) in [(false, false), (true, false), (true, true)] {
        let world = World { tied, lips };
        let causes = world.causes();
        let none = vec![0.0; causes.len()];
        let (off, posterior, layout, profile) = world.solved(&none);
        // Without errors the truth comes out, to where the steps come to rest.
        assert!(off.iter().all(|x| x.abs() < 1e-8), "{off:?}");
        // So small a share of a standard deviation that sines bend nothing, and far more than the steps' rest.
        let step = 1e-2;
        let moved: Vec<[f64; 2]> = (0..causes.len())
            .map(|i| {
                let at = |by: f64| {
                    let mut errors = none.clone();
                    errors[i] = by;
                    world.solved(&errors).0
                };
                let (more, less) = (at(step), at(-step));
                [0, 1].map(|k| (more[k] - less[k]) / (2.0 * step))
            })
            .collect();
        for (k, quantity) in figures(&posterior, &layout, &profile).iter().enumerate() {
            let budget = posterior.budget(quantity).unwrap();
            let sd = posterior.estimate(quantity).sd;
            let variance = sd * sd;
            let sum: f64 = budget.iter().map(|(_, v)| v).sum();
            // Two orders of one sum: roundings, but for what the ties take off, which leaves a part in a thousand.
            assert_relative_eq!(sum, variance, max_relative = 1e-9);
            let mut all = causes.clone();
            all.sort();
            all.dedup();
            for cause in all {
                let by_hand: f64 =
                    causes.iter().zip(&moved).filter(|(c, _)| **c == cause).map(|(_, m)| m[k] * m[k]).sum();
                let told = budget.iter().find(|(c, _)| *c == cause).map_or(0.0, |(_, v)| *v);
                // Differences over a hundredth of a standard deviation are good to 1e-4 squared, and the equations are made straight at
                // the solution: 1e-4 of the standard deviation that this makes, and of the whole.
                let (by_hand, told, whole) = (by_hand.sqrt(), told.sqrt(), variance.sqrt());
                assert!(
                    (by_hand - told).abs() < 1e-4 * (by_hand + 0.1 * whole),
                    "{tied} {lips} {k} {cause:?}: {by_hand} {told} of {whole}"
                );
            }
        }
    }
}

#[test]
fn the_covariances_give_the_sd_of_every_fall() {
    for (tied, lips) in [(false, true), (true, true)] {
        let world = World { tied, lips };
        let (_, posterior, layout, profile) = world.solved(&vec![0.0; world.causes().len()]);
        let stations = [0.0, 3.0, 7.3, 9.0, 14.5, 17.0, 20.0, 24.0];
        let anchors = if tied { vec![Anchor::Station(9.5), Anchor::Datum] } else { vec![Anchor::Station(9.5)] };
        for anchor in anchors {
            let rows = posterior.height_covariance(&layout, &profile, anchor, &stations);
            assert_eq!(rows.len(), 36);
            let at = |a: usize, b: usize| rows.iter().find(|r| r.first == a.min(b) && r.second == a.max(b)).unwrap();
            for a in 0..stations.len() {
                for b in a + 1..stations.len() {
                    let fall = posterior.fall(&layout, &profile, Flow::Increasing, stations[a], stations[b]);
                    let of = |c: &dyn Fn(&HeightCovariance) -> f64| c(at(a, a)) + c(at(b, b)) - 2.0 * c(at(a, b));
                    // Differences of variances of at most some 0.01 m2: a rounding of these is 1e-18 m2, of which a fall to 1 mm has a
                    // part in 10^12; the steps to each vector make it some hundreds more.
                    assert_relative_eq!(of(&|r| r.covariance_m2), fall.sd * fall.sd, max_relative = 1e-9);
                    let slope = posterior.slope(&layout, &profile, Flow::Increasing, stations[a], stations[b]).unwrap();
                    // As docs/uncertainty.md says it: by the horizontal length, with 1 + slope². Where tilts differ as they do here, by 3 %,
                    // the factor of each is 1 + slope tan t: off by 0.05 x 0.05.
                    let run_m = profile.scale * (stations[b] - stations[a]);
                    let level_m = run_m / (1.0 + slope.value * slope.value).sqrt();
                    let by_hand = of(&|r| r.by_tilts_m2).sqrt() / level_m * (1.0 + slope.value * slope.value);
                    assert_relative_eq!(by_hand, slope.sd, max_relative = 2.5e-3);
                }
            }
        }
    }
}

#[test]
fn correlations_are_those_of_the_dense_problem_by_hand() {
    // One setup over one segment: the slope is off by what the offset is, which is zero and seating, and by its own noise.
    let instrument = Instrument { counter_scale_sd: 0.0, drift_sd_rad: 0.0, roll_sd_rad: 0.0, ..Instrument::default() };
    let setup = SetupNoise { run: 0, pulled: false, zero_sign: 1.0, noise_sd_rad: 0.3 * DEGREE, rounding_sd_rad: 0.0 };
    let mean = |segment, mean_rad| SegmentMean {
        segment,
        setup: 0,
        mean_rad,
        weight: 9.0,
        readings: 9,
        drift_share: 0.0,
        roll_sine: 0.0,
    };
    let chain = Chain::new(vec![0.0, 10.0], vec![0.02]).unwrap();
    let p = adjust(&chain, &[mean(0, 0.02)], &[setup], &instrument, &[], &[]).unwrap();
    let layout = Layout::new(&chain.breaks_m, &[], &[], &[]).unwrap();
    let profile = layout.profile(&p.tilt_rad, p.scale, None);
    let slope = p.slope_quantity(&layout, &profile, Flow::Increasing, 0.0, 10.0).unwrap();
    let all: Vec<usize> = (0..p.parameters.len()).collect();
    let rows = p.correlations(&all, &[&slope]);
    let named = |f: Figure| match f {
        Figure::Parameter(i) => p.parameters[i].name.to_string(),
        Figure::Quantity(_) => "slope".to_owned(),
    };
    let of = |a: &str, b: &str| {
        rows.iter().find(|r| named(r.first).starts_with(a) && named(r.second).starts_with(b)).unwrap().correlation
    };
    // 0.3 and 0.1 degrees, and 0.3/√9 = 0.1 of noise. 1e-12: roundings.
    let (offset, tilt) = ((0.09_f64 + 0.01).sqrt(), (0.09_f64 + 0.01 + 0.01).sqrt());
    assert_relative_eq!(of("offset_rad", ZERO), 0.3 / offset, max_relative = 1e-12);
    assert_relative_eq!(of("offset_rad", "slope"), -offset / tilt, max_relative = 1e-12);
    assert_relative_eq!(of(ZERO, "slope"), -0.3 / tilt, max_relative = 1e-12);
    // What has no standard deviation has no correlation.
    assert_eq!(rows.len(), 3);
}

#[test]
fn correlations_with_ties_make_a_positive_matrix_and_are_those_of_draws() {
    let world = World { tied: true, lips: true };
    let (_, p, layout, profile) = world.solved(&vec![0.0; world.causes().len()]);
    let figures = figures(&p, &layout, &profile);
    let all: Vec<usize> = (0..p.parameters.len()).collect();
    let rows = p.correlations(&all, &[&figures[0], &figures[1]]);
    let size = all.len() + 2;
    assert_eq!(rows.len(), size * (size - 1) / 2);
    let place = |f: Figure| match f {
        Figure::Parameter(i) => i,
        Figure::Quantity(i) => all.len() + i,
    };
    let mut matrix = DMatrix::identity(size, size);
    for r in &rows {
        let (i, j) = (place(r.first), place(r.second));
        (matrix[(i, j)], matrix[(j, i)]) = (r.correlation, r.correlation);
        for (sd, k) in [(r.sds[0], i), (r.sds[1], j)] {
            let given = p.parameters.get(k).map_or_else(|| p.estimate(&figures[k - all.len()]).sd, |q| q.sd);
            // One sum in two orders.
            assert_relative_eq!(sd, given, max_relative = 1e-9);
        }
    }
    // A matrix of products of vectors: what is below 0 is a rounding of its entries, which are at most 1.
    assert!(matrix.symmetric_eigenvalues().min() > -1e-12, "{matrix}");
    // The same from worlds drawn at random: every estimate less the truth. The correlation of 4000 pairs is off by (1 - r²)/√4000, of
    // which five are allowed in three of them.
    let mut random = math::Random::new(3, 1, 4);
    let (mut sums, count) = ([[0.0; 2]; 2], 4000);
    for _ in 0..count {
        let errors: Vec<f64> = world.causes().iter().map(|_| random.normal()).collect();
        let off = world.solved(&errors).0;
        for (i, j) in [(0, 0), (0, 1), (1, 1)] {
            sums[i][j] += off[i] * off[j];
        }
    }
    let drawn = sums[0][1] / (sums[0][0] * sums[1][1]).sqrt();
    let told = matrix[(size - 2, size - 1)];
    assert!((drawn - told).abs() < 5.0 * (1.0 - told * told) / f64::from(count).sqrt(), "{drawn} {told}");
    for (k, figure) in figures.iter().enumerate() {
        let sd = (sums[k][k] / f64::from(count)).sqrt();
        // A standard deviation from 4000 is good to 1/√8000 of itself: five of these.
        assert_relative_eq!(sd, p.estimate(figure).sd, max_relative = 5.0 / 8000.0_f64.sqrt());
    }
}

/// Figures of a short pipe read by so many setups, if it can be solved.
fn read_by(setups: &[SetupNoise], instrument: &Instrument) -> Option<(Posterior, [Functional; 2])> {
    let chain = Chain::new(BREAKS_M.to_vec(), TILTS.to_vec()).unwrap();
    let mut means = Vec::new();
    for (segment, tilt) in TILTS.iter().enumerate() {
        for (setup, s) in setups.iter().enumerate().filter(|(setup, _)| (segment + setup) % 3 != 2 || setups.len() == 1)
        {
            let mean_rad = tilt + s.zero_sign * instrument.zero_rad;
            let (weight, drift_share) = (4.0 + segment as f64, if setup == 1 { 0.0 } else { 0.5 });
            means.push(SegmentMean { segment, setup, mean_rad, weight, readings: 4, drift_share, roll_sine: 0.0 });
        }
    }
    let posterior = adjust(&chain, &means, setups, instrument, &[], &[]).ok()?;
    let layout = Layout::new(&BREAKS_M, &[], &[], &[]).unwrap();
    let profile = layout.profile(&posterior.tilt_rad, posterior.scale, None);
    let figures = figures(&posterior, &layout, &profile);
    Some((posterior, figures))
}

#[test]
fn the_parts_of_any_budget_are_the_whole_also_where_errors_vanish() {
    let mut solved = 0;
    for zero in [0.0, 0.3, 10.0] {
        for seating in [0.0, 1e-9, 1e-6, 0.1] {
            for (noise, rounding) in [(0.0, 0.0), (1e-7, 0.0), (0.25, 0.0), (0.25, 0.05), (0.0, 0.3)] {
                for count in 1..=3 {
                    let setup = |of: SetupNoise| SetupNoise {
                        noise_sd_rad: noise * DEGREE,
                        rounding_sd_rad: rounding * DEGREE,
                        ..of
                    };
                    let instrument = Instrument {
                        zero_sd_rad: zero * DEGREE,
                        seating_sd_rad: seating * DEGREE,
                        roll_sd_rad: 0.0,
                        ..instrument()
                    };
                    let setups: Vec<SetupNoise> = setups().into_iter().take(count).map(setup).collect();
                    let Some((posterior, figures)) = read_by(&setups, &instrument) else { continue };
                    solved += 1;
                    for figure in figures {
                        let budget = posterior.budget(&figure).unwrap();
                        let sum: f64 = budget.iter().map(|(_, v)| v).sum();
                        let sd = posterior.estimate(&figure).sd;
                        // One sum in two orders; the rows that take errors apart are made orthonormal.
                        assert_relative_eq!(sum, sd * sd, max_relative = 1e-9);
                        assert!(budget.iter().all(|(_, v)| *v >= 0.0), "{budget:?}");
                        // Of a head that is known exactly nothing is its zero's.
                        assert!(zero > 0.0 || budget.iter().all(|(c, _)| *c != Cause::Zero), "{budget:?}");
                    }
                }
            }
        }
    }
    // Nearly all can be solved: what is refused are readings whose noise is nothing beside the zero.
    assert!(solved > 120, "{solved}");
}
