//! Ties against published levelling networks, tests of outliers and tables of chi-square.
//!
//! The networks are laid out as pipes: every point a node of a chain whose tilts nothing is known of, every line levelled between two
//! points a height difference. Sources and values recomputed to 50 digits: `vectors/networks.py`; what is "from memory" there says so.

#![allow(clippy::unwrap_used, reason = "helpers of tests, which clippy does not take for tests")]
#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "small whole numbers of a file of test vectors"
)]

use fallwise::{
    Instrument, Run, Tie,
    adjust::{
        SegmentMean, SetupNoise, adjust,
        ties::{DETECTABLE, SUSPECT, Terms},
    },
    chain::Chain,
    math::{chi_square_above, normal_quantile},
    model::{Known, Place},
    path::Layout,
};
use fallwise_record::{Mark, RELATIVE, Tolerance::Absolute, reference};
use serde_json::Value;

fn file() -> Value {
    serde_json::from_str(include_str!("vectors/networks.json")).unwrap()
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().map(|a| a.iter().filter_map(Value::as_f64).collect()).unwrap_or_default()
}

/// Half a unit of the last digit that a value was printed with, and a little.
fn printed(value: &Value) -> f64 {
    let text = value.to_string();
    let digits = text.split_once('.').map_or(0, |(_, fraction)| fraction.len());
    (0..digits).fold(0.6, |unit, _| unit / 10.0)
}

#[test]
fn networks_are_adjusted_as_published() {
    for network in file()["networks"].as_array().unwrap() {
        let name = network["name"].as_str().unwrap();
        let source = network["source"].as_str().unwrap_or(name);
        let mark = if network["seen"] == true { Mark::Seen } else { Mark::Memory };
        let paper = reference("ties", source, mark);
        let apart = reference("ties", "tests/vectors/networks.py (mpmath, 50 digits)", Mark::Computed);
        let fixed: Vec<(String, f64)> =
            network["fixed"].as_object().unwrap().iter().map(|(k, v)| (k.clone(), v.as_f64().unwrap())).collect();
        let unknown: Vec<String> =
            network["unknown"].as_array().unwrap().iter().map(|u| u.as_str().unwrap().to_owned()).collect();
        let points: Vec<String> = fixed.iter().map(|(k, _)| k.clone()).chain(unknown.clone()).collect();
        let station = |point: &str| 100.0 * points.iter().position(|p| p == point).unwrap() as f64;
        // Tilts are known to 10,000 radians: nothing.
        let breaks: Vec<f64> = points.iter().map(|p| station(p)).collect();
        let segments = breaks.len() - 1;
        let mean = |segment| SegmentMean {
            segment,
            setup: 0,
            mean_rad: 0.0,
            weight: 1e-8,
            readings: 1,
            drift_share: 0.0,
            roll_sine: 0.0,
        };
        let means: Vec<SegmentMean> = (0..segments).map(mean).collect();
        let setup = SetupNoise { run: 0, pulled: false, zero_sign: 1.0, noise_sd_rad: 1.0, rounding_sd_rad: 0.0 };
        let chain = Chain::new(breaks.clone(), vec![0.0; segments]).unwrap();
        let before = adjust(&chain, &means, &[setup], &Instrument::exact(), &[], &[]).unwrap();
        let invert = |(point, elevation): &(String, f64)| {
            Tie::new(Known::Invert { at: Place::exact(station(point)), elevation_m: *elevation, sd_m: 0.0 })
        };
        let line = |o: &Value| {
            let at = |key: &str| Place::exact(station(o[key].as_str().unwrap()));
            let (rise_m, sd_m) = (o["rise"].as_f64().unwrap(), o["sd"].as_f64().unwrap());
            Tie::new(Known::HeightDifference { from: at("from"), to: at("to"), rise_m, sd_m })
        };
        let lines = network["observations"].as_array().unwrap();
        let ties: Vec<Tie> = fixed.iter().map(invert).chain(lines.iter().map(line)).collect();
        let layout = Layout::new(&breaks, &[], &[], &[]).unwrap();
        let runs: [Run; 0] = [];
        let terms = Terms { layout: &layout, runs: &runs, ground: &[], resolution_rad: 0.0, water_runs: false };
        let (posterior, adjustment) = before.with_ties(&terms, &ties).unwrap();
        assert!(adjustment.converged, "{name}");
        let profile = layout.profile(&posterior.tilt_rad, posterior.scale, None);

        let heights = unknown.iter().map(|p| posterior.elevation(&layout, &profile, station(p)).unwrap());
        let (heights, height_sds): (Vec<f64>, Vec<f64>) = heights.map(|e| (e.value, e.sd)).unzip();
        let closures = &adjustment.closures[fixed.len()..];
        let of = |f: &dyn Fn(&fallwise::adjust::ties::Closure) -> f64| closures.iter().map(f).collect::<Vec<f64>>();
        let chi_square = adjustment.chi_square;
        let degrees = numbers(&Value::Array(vec![network["computed"]["degrees_of_freedom"].clone()]))[0];
        let s0 = (chi_square / degrees).sqrt();
        let residuals = of(&|c| -c.residual);
        let found: Vec<(&str, Vec<f64>)> = vec![
            ("heights", heights),
            ("scaled_sds", height_sds.iter().map(|sd| sd * s0).collect()),
            ("height_sds", height_sds),
            ("adjusted", closures.iter().zip(&residuals).map(|(c, v)| c.measured + v).collect()),
            ("residuals", residuals),
            ("redundancy", of(&|c| c.redundancy)),
            ("w", of(&|c| -c.standardised().unwrap())),
            ("smallest_detectable", of(&|c| c.smallest_detectable().unwrap())),
            ("vpv", vec![chi_square]),
            ("s0", vec![s0]),
        ];
        for (key, values) in &found {
            let one = |v: &Value| if v.is_array() { v.clone() } else { Value::Array(vec![v.clone()]) };
            for (from, computed) in [("computed", true), ("published", false)] {
                let Some(expected) = network[from].get(*key).map(one) else { continue };
                let expected = expected.as_array().unwrap();
                assert_eq!(expected.len(), values.len(), "{name} {key}");
                let why = "columns of 1e6 m beside errors of 5e-3 m leave half of the digits";
                let mut many = apart.many(key, "over 1, or over itself where more", 1e-7, why);
                for (i, (value, printed_value)) in values.iter().zip(expected).enumerate() {
                    let expected = printed_value.as_f64().unwrap();
                    if computed {
                        many.error((value - expected).abs() / expected.abs().max(1.0), || format!("{name}, {i}"));
                    } else {
                        let why = "half of the last digit printed, and a little";
                        paper.check(
                            format!("{name}: {key}, {i}"),
                            *value,
                            expected,
                            Absolute(printed(printed_value)),
                            why,
                        );
                    }
                }
                if computed {
                    many.done(1);
                }
            }
        }
        // The tilts, of which nothing is known, stand as so many observations that nothing contradicts.
        assert_eq!(adjustment.degrees_of_freedom, degrees as usize + segments, "{name}");
        if let Some(largest) = network["published"].get("largest_w") {
            let sizes = of(&|c| c.standardised().unwrap().abs());
            let at = largest[0].as_u64().unwrap() as usize;
            assert!(sizes.iter().all(|s| *s <= sizes[at]));
            let why = "half of the last digit printed, and a little";
            paper.check(format!("{name}: largest |w|"), sizes[at], largest[1].as_f64().unwrap(), Absolute(0.006), why);
        }
        let p_value = network["computed"]["p_value"].as_f64().unwrap();
        let p = chi_square_above(chi_square, degrees as usize);
        apart.check(
            format!("{name}: probability of the global test"),
            p,
            p_value,
            Absolute(1e-5),
            "as the chi-square above",
        );
    }
}

#[test]
fn tests_of_outliers_have_their_published_limits() {
    let file = file();
    let test = &file["tests"].as_array().unwrap()[0];
    assert_eq!((test["alpha"].as_f64(), test["power"].as_f64()), (Some(0.001), Some(0.8)));
    let of = reference("ties", "Baarda 1968", Mark::Memory);
    let of_table = |key: &str| test["published"][key].as_f64().unwrap();
    let why = "the six digits that tables print";
    of.check("w-test, 0.1 %", SUSPECT, of_table("w"), Absolute(6e-7), why);
    of.check("shift found with power 0.8", DETECTABLE, of_table("delta_0"), Absolute(6e-7), why);
    let made = reference("ties", "quantiles of the normal distribution", Mark::Exact);
    let why = "rounding of what they are made of";
    made.check("w-test, 0.1 %", SUSPECT, normal_quantile(1.0 - 0.0005), Absolute(1e-13), why);
    made.check("shift less the test", DETECTABLE - SUSPECT, normal_quantile(0.8), Absolute(1e-13), why);
}

#[test]
fn chi_square_is_that_of_the_tables() {
    let file = file();
    let tables = reference("distributions", "tables of chi-square, to four decimals", Mark::Memory);
    let apart = reference("distributions", "tests/vectors/networks.py (mpmath, 80 digits)", Mark::Computed);
    let mut quantiles = apart.many("chi_square_above at quantiles", "absolute", 1e-13, "a few roundings of 1");
    for row in file["chi_square_quantiles"].as_array().unwrap() {
        let (degrees, probability) = (row["degrees"].as_u64().unwrap() as usize, row["probability"].as_f64().unwrap());
        let at = |x: f64| 1.0 - chi_square_above(x, degrees);
        let computed = row["computed"].as_f64().unwrap();
        quantiles.error((at(computed) - probability).abs(), || row.to_string());
        // Tables print four decimals: between the two neighbours of what they print lies the probability.
        let published = row["published"].as_f64().unwrap();
        assert!(at(published - 6e-5) < probability && probability < at(published + 6e-5), "{row}");
        let allowed = at(published + 6e-5) - at(published - 6e-5);
        let what = format!("probability below the printed {} % point {published} of {degrees}", 100.0 * probability);
        tables.check(what, at(published), probability, Absolute(allowed), "the four decimals of the table");
    }
    quantiles.done(40);
    let survival = file["chi_square_survival"].as_array().unwrap();
    assert_eq!(survival.len(), 200);
    let mut many = apart.many("chi_square_above", RELATIVE, 1e-12, "the exponential of -x/2 is good to x/2 roundings");
    for row in survival {
        let row = numbers(row);
        many.value(chi_square_above(row[1], row[0] as usize), row[2], || format!("{row:?}"));
    }
    many.claimed("1e-12").done(200);
}
