//! Ties against an independent solution of 500 random chains.
//!
//! `vectors/adjust.py` solves them in the full space of unknowns, in ball arithmetic of 200 bits, checks some with another geometry at
//! 80 digits, and all with a factor-graph library from the Python package index (gtsam: within 1.4e-8 of every standard deviation).

#![allow(clippy::unwrap_used, reason = "helpers of tests, which clippy does not take for tests")]
#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "small whole numbers of a file of test vectors"
)]

use fallwise::{
    Bend, Flow, Instrument, Path, Posterior, Profile, Run, Tie,
    adjust::{
        SegmentMean, SetupNoise, ZERO, adjust,
        ties::{Adjustment, Terms},
    },
    chain::Chain,
    model::{Known, Step},
    path::{Layout, Start},
};
use fallwise_record::{Many, Mark, Reference, reference};
use serde_json::Value;

const OF: Reference = reference(
    "adjustment",
    "tests/vectors/adjust.py (ball arithmetic of 200 bits; gtsam agrees to 1.4e-8)",
    Mark::Computed,
);

/// Estimates may be off by this share of their standard deviation.
const OF_SD: f64 = 1e-8;
/// Standard deviations may be off by this share of themselves.
const RELATIVE: f64 = 1e-8;
/// What holds exactly: some hundred roundings of 100 m, or of a radian.
const EXACT: f64 = 1e-11;
/// Standard deviation of one reading that the means are given weights against, rad.
const NOISE_RAD: f64 = 1e-3;

struct Problem {
    layout: Layout,
    posterior: Posterior,
    profile: Profile,
    adjustment: Adjustment,
    setups: usize,
    bends: usize,
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().map(|a| a.iter().map(|x| x.as_f64().unwrap()).collect()).unwrap_or_default()
}

fn number(value: &Value, key: &str) -> f64 {
    value[key].as_f64().unwrap_or_else(|| panic!("no {key}"))
}

fn solve(p: &Value) -> Problem {
    let breaks = numbers(&p["breaks_m"]);
    let signs = numbers(&p["setups"]);
    let means: Vec<SegmentMean> = p["means"]
        .as_array()
        .unwrap()
        .iter()
        .map(|row| {
            let row = numbers(row);
            let weight = (NOISE_RAD / row[3]) * (NOISE_RAD / row[3]);
            SegmentMean {
                segment: row[0] as usize,
                setup: row[1] as usize,
                mean_rad: row[2],
                weight,
                readings: 1,
                drift_share: 0.0,
                roll_sine: 0.0,
            }
        })
        .collect();
    let setup = |(run, sign): (usize, &f64)| SetupNoise {
        run,
        pulled: false,
        zero_sign: *sign,
        noise_sd_rad: NOISE_RAD,
        rounding_sd_rad: 0.0,
    };
    let setups: Vec<SetupNoise> = signs.iter().enumerate().map(setup).collect();
    let instrument = Instrument {
        zero_rad: number(p, "zero_rad"),
        zero_sd_rad: number(p, "zero_sd_rad"),
        seating_sd_rad: number(p, "seating_sd_rad"),
        counter_scale: number(p, "counter_scale"),
        counter_scale_sd: number(p, "counter_scale_sd"),
        ..Instrument::exact()
    };
    let steps: Vec<Step> = serde_json::from_value(p["steps"].clone()).unwrap();
    let bends: Vec<Bend> = serde_json::from_value(p["bends"].clone()).unwrap();
    let mut ties: Vec<Tie> = serde_json::from_value(p["ties"].clone()).unwrap();
    // The problems know nothing of humps in water, which are refused; the equation is that of a height difference.
    for tie in &mut ties {
        match tie.known {
            Known::WaterLevel { from, to, level_sd_m, .. } => {
                let sd_m = core::f64::consts::SQRT_2 * level_sd_m.unwrap();
                tie.known = Known::HeightDifference { from, to, rise_m: 0.0, sd_m };
            }
            Known::WaterDepth { at, depth_m, sd_m, edge, level_sd_m, seen, .. } => {
                let sd_m = fallwise::math::hypot(sd_m, level_sd_m.unwrap_or_else(|| seen.level_sd_m()));
                tie.known = Known::HeightDifference { from: at, to: edge, rise_m: depth_m, sd_m };
            }
            _ => {}
        }
    }
    let chain = Chain::new(breaks.clone(), vec![0.0; breaks.len() - 1]).unwrap();
    let mut before = adjust(&chain, &means, &setups, &instrument, &steps, &bends).unwrap();
    before.lip_variance_m = number(p, "lip_variance_m");
    let layout = Layout::new(&breaks, &bends, &steps, &[]).unwrap();
    // What is taped is taped from where the chain begins.
    let runs = [Run { start_station_m: breaks[0], ..Run::new(Vec::new(), Vec::new()) }];
    let terms = Terms { layout: &layout, runs: &runs, ground: &[], resolution_rad: 0.0, water_runs: false };
    let (posterior, adjustment) = before.with_ties(&terms, &ties).unwrap_or_else(|e| panic!("{}: {e}", p["name"]));
    let profile = layout.profile(&posterior.tilt_rad, posterior.scale, Some(&posterior.step_rise_m));
    Problem { layout, posterior, profile, adjustment, setups: signs.len(), bends: bends.len() }
}

/// The largest departures found, of estimates in standard deviations and of these relatively, with where.
struct Worst {
    estimate: Many<'static>,
    sd: Many<'static>,
    exact: Many<'static>,
}

impl Worst {
    fn hold(&mut self, what: &str, (found, found_sd): (f64, f64), (expected, sd): (f64, f64)) {
        if sd == 0.0 {
            self.exact.error((found - expected).abs().max(found_sd.abs()), || what.to_owned());
            return;
        }
        self.estimate.error((found - expected).abs() / sd, || what.to_owned());
        self.sd.error((found_sd - sd).abs() / sd, || what.to_owned());
    }
}

fn turn_between(a: f64, b: f64) -> f64 {
    let turn = core::f64::consts::TAU;
    let off = a - b;
    b + off - turn * (off / turn).round()
}

#[test]
fn five_hundred_chains_are_solved_alike() {
    let file: Value = serde_json::from_str(include_str!("vectors/adjust.json")).unwrap();
    let problems = file["problems"].as_array().unwrap();
    assert_eq!(problems.len(), 500);
    let why = "the last step of the iteration, and vectors that ties take nearly all off";
    let mut worst = Worst {
        estimate: OF.many(
            "estimates: tilts, zero, scale, falls, elevations, plan",
            "of their standard deviation",
            OF_SD,
            why,
        ),
        sd: OF.many("their standard deviations", fallwise_record::RELATIVE, RELATIVE, why),
        exact: OF.many("what ties fix exactly", "m or rad", EXACT, "some hundred roundings of 100 m, or of a radian"),
    };
    let why = "roundings of squares of misclosures that may be far larger than what is left of them";
    let mut residuals = [
        OF.many("residuals", "of their standard deviation", 1e-7, why),
        OF.many("standard deviations of residuals", fallwise_record::RELATIVE, 1e-7, why),
        OF.many("redundancy numbers", "absolute", 1e-7, why),
        OF.many(
            "standardised residuals",
            "over 1, times the root of the redundancy",
            1e-7,
            "a redundancy near nothing leaves few digits",
        ),
    ];
    let mut squares = OF.many("chi-square of the ties", "over 1, or over itself where more", 1e-7, why);
    for p in problems {
        let solved = solve(p);
        let (answer, posterior) = (&p["answer"], &solved.posterior);
        let named = |what: &str| format!("{}, {what}", p["name"]);
        assert!(solved.adjustment.converged, "{}", p["name"]);
        let pairs = |value: &str, sd: &str, of: &Value| -> Vec<(f64, f64)> {
            numbers(&of[value]).into_iter().zip(numbers(&of[sd])).collect()
        };
        for (k, expected) in pairs("tilt_rad", "tilt_sd_rad", answer).into_iter().enumerate() {
            worst.hold(&named(&format!("tilt {k}")), (posterior.tilt_rad[k], posterior.tilt_sd_rad(k)), expected);
        }
        for (i, expected) in pairs("offset_rad", "offset_sd_rad", answer).into_iter().enumerate() {
            let found = &posterior.parameters[i];
            assert!(i < solved.setups && found.name.starts_with("offset_rad"));
            worst.hold(&named(&found.name.to_string()), (found.value, found.sd), expected);
        }
        let zero = posterior.parameter(ZERO).unwrap();
        worst.hold(&named("zero"), (zero.value, zero.sd), (number(answer, "zero_rad"), number(answer, "zero_sd_rad")));
        let scale = posterior.parameter("counter_scale").unwrap();
        let expected = (number(answer, "counter_scale"), number(answer, "counter_scale_sd"));
        worst.hold(&named("scale"), (scale.value, scale.sd), expected);
        assert!((posterior.scale - 1.0 - scale.value).abs() < 1e-15); // a rounding of 1
        for (i, (rise, sd)) in pairs("rise_m", "rise_sd_m", answer).into_iter().enumerate() {
            assert!((posterior.step_rise_m[i] - rise).abs() <= OF_SD * sd + EXACT, "{}", named("rise"));
        }
        for (i, (bend, sd)) in pairs("deflection_rad", "deflection_sd_rad", answer).into_iter().enumerate() {
            assert!(
                i < solved.bends && (posterior.bend_rad[i] - bend).abs() <= OF_SD * sd + EXACT,
                "{}",
                named("bend")
            );
        }
        let at = &answer["profile"];
        let first_m = numbers(&p["breaks_m"])[0];
        for (s, expected) in numbers(&at["station_m"]).into_iter().zip(pairs("fall_m", "fall_sd_m", at)) {
            let fall = posterior.fall(&solved.layout, &solved.profile, Flow::Increasing, first_m, s);
            if on_arc(p, s) {
                // Heights on an arc are those of chords of 2.25 degrees: within 0.03 mm.
                assert!(
                    (fall.value - expected.0).abs() < 3e-5 && (fall.sd - expected.1).abs() < 3e-5,
                    "{}",
                    named("arc")
                );
                continue;
            }
            worst.hold(&named(&format!("fall to {s}")), (fall.value, fall.sd), expected);
        }
        assert_eq!(at.get("elevation_m").is_some(), posterior.first().elevation_m.is_some(), "{}", p["name"]);
        for (s, expected) in numbers(&at["station_m"]).into_iter().zip(pairs("elevation_m", "elevation_sd_m", at)) {
            let found = posterior.elevation(&solved.layout, &solved.profile, s).unwrap();
            if on_arc(p, s) {
                continue;
            }
            worst.hold(&named(&format!("elevation at {s}")), (found.value, found.sd), expected);
        }
        plan(&solved, answer, &mut worst, &named);
        let chi_square = number(answer, "chi_square");
        let off = (solved.adjustment.chi_square - chi_square).abs();
        squares.error(off / chi_square.max(1.0), || named("chi-square"));
        assert_eq!(
            solved.adjustment.degrees_of_freedom,
            number(answer, "degrees_of_freedom") as usize,
            "{}",
            p["name"]
        );
        closures(&solved, answer, &mut residuals, &named);
    }
    worst.exact.done(100);
    for many in [worst.estimate, worst.sd, squares] {
        many.done(500);
    }
    for many in residuals {
        many.done(500);
    }
}

/// Whether a station lies on the arc of a bend.
fn on_arc(p: &Value, station_m: f64) -> bool {
    let half = |b: &Value| 0.5 * number(b, "radius_m") * number(b, "deflection_rad").abs();
    p["bends"].as_array().unwrap().iter().any(|b| (number(b, "station_m") - station_m).abs() < half(b))
}

fn plan(solved: &Problem, answer: &Value, worst: &mut Worst, named: &dyn Fn(&str) -> String) {
    let (at, posterior) = (&answer["plan"], &solved.posterior);
    let stations = numbers(&at["station_m"]);
    let first = posterior.first();
    assert_eq!(at.get("azimuth_rad").is_some(), first.azimuth_rad.is_some(), "{}", named("direction"));
    let (Some(azimuth_rad), Some([east_m, north_m])) = (first.azimuth_rad, first.plan_m) else {
        assert!(at.get("east_m").is_none(), "{}", named("position"));
        return;
    };
    let start = Start { azimuth_rad: Some(azimuth_rad), east_m, north_m };
    let (bends, rises) = (Some(&posterior.bend_rad[..]), Some(&posterior.step_rise_m[..]));
    let path = Path::turned(&solved.layout, &posterior.tilt_rad, posterior.scale, start, bends, rises);
    let sds = posterior.plan_covariance_m2(&solved.layout, &path, &stations);
    for (i, s) in stations.iter().enumerate() {
        let [east, north, _] = path.position(*s).unwrap();
        let sd = sds[i].unwrap();
        let expected = |value: &str, sd: &str| (numbers(&at[value])[i], numbers(&at[sd])[i]);
        worst.hold(&named(&format!("east at {s}")), (east, sd.east_sd_m), expected("east_m", "east_sd_m"));
        worst.hold(&named(&format!("north at {s}")), (north, sd.north_sd_m), expected("north_m", "north_sd_m"));
        let (azimuth, azimuth_sd) = expected("azimuth_rad", "azimuth_sd_rad");
        let found = turn_between(path.azimuth(*s).unwrap(), azimuth);
        assert!(
            (found - azimuth).abs() <= OF_SD * azimuth_sd + EXACT,
            "{}",
            named(&format!("azimuth at {s}: {found} {azimuth}"))
        );
    }
}

/// Residuals, redundancies and standardised residuals, equation by equation, and the errors of stations.
fn closures(solved: &Problem, answer: &Value, worst: &mut [Many; 4], named: &dyn Fn(&str) -> String) {
    let [residuals, sds, redundancies, standardised_ones] = worst;
    let mut equations = solved.adjustment.closures.iter();
    for (tie, expected) in answer["ties"].as_array().unwrap().iter().enumerate() {
        for (end, error) in numbers(&expected["station_error_m"]).into_iter().enumerate() {
            let found = solved.adjustment.station_m[tie][end];
            // Of a standard deviation of at least 20 mm.
            assert!((found - error).abs() < 1e-9, "{}", named(&format!("station of tie {tie}: {found} {error}")));
        }
        for (i, residual) in numbers(&expected["residual"]).into_iter().enumerate() {
            let found = equations.next().unwrap();
            let sd = expected["sd"][i].as_f64().unwrap();
            assert_eq!(found.tie, tie);
            // The reference counts what its station's error explains as explained; the closure counts from the station as noted.
            if numbers(&expected["station_error_sd_m"]).iter().all(|sd| *sd == 0.0) {
                let off = ((found.residual - residual).abs() - EXACT).max(0.0);
                residuals.error(if off == 0.0 { 0.0 } else { off / sd }, || named(&format!("tie {tie}")));
            }
            let off = (found.sd - sd).abs();
            sds.error(if off == 0.0 { 0.0 } else { off / sd }, || named(&format!("tie {tie}")));
            if let Some(redundancy) = expected["redundancy"][i].as_f64() {
                redundancies.error((found.redundancy - redundancy).abs(), || named(&format!("tie {tie}")));
            }
            if let Some(standardised) = expected["standardised"][i].as_f64()
                && let Some(found) = found.standardised()
            {
                let root = expected["redundancy"][i].as_f64().unwrap_or(1.0).sqrt().min(1.0);
                let off = (found - standardised).abs() / standardised.abs().max(1.0) * root;
                standardised_ones.error(off, || named(&format!("tie {tie}")));
            }
        }
    }
    assert!(equations.next().is_none());
}
