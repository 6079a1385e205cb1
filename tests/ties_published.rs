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
                for (value, expected) in values.iter().zip(expected) {
                    // Columns of 1e6 m beside errors of 5e-3 m leave half of the digits.
                    let off = (value - expected.as_f64().unwrap()).abs();
                    let allowed =
                        if computed { 1e-7 * expected.as_f64().unwrap().abs().max(1.0) } else { printed(expected) };
                    assert!(off <= allowed, "{name}: {key} {value}, {from} {expected}");
                }
            }
        }
        // The tilts, of which nothing is known, stand as so many observations that nothing contradicts.
        assert_eq!(adjustment.degrees_of_freedom, degrees as usize + segments, "{name}");
        if let Some(largest) = network["published"].get("largest_w") {
            let sizes = of(&|c| c.standardised().unwrap().abs());
            let at = largest[0].as_u64().unwrap() as usize;
            assert!(sizes.iter().all(|s| *s <= sizes[at]) && (sizes[at] - largest[1].as_f64().unwrap()).abs() < 0.006);
        }
        let p_value = network["computed"]["p_value"].as_f64().unwrap();
        assert!((chi_square_above(chi_square, degrees as usize) - p_value).abs() < 1e-5, "{name}"); // as the chi-square above
    }
}

#[test]
fn tests_of_outliers_have_their_published_limits() {
    let file = file();
    let test = &file["tests"].as_array().unwrap()[0];
    assert_eq!((test["alpha"].as_f64(), test["power"].as_f64()), (Some(0.001), Some(0.8)));
    // Baarda 1968, from memory; to the six digits that tables print, and to the rounding of what they are made of.
    assert!((SUSPECT - test["published"]["w"].as_f64().unwrap()).abs() < 6e-7);
    assert!((DETECTABLE - test["published"]["delta_0"].as_f64().unwrap()).abs() < 6e-7);
    assert!((SUSPECT - normal_quantile(1.0 - 0.0005)).abs() < 1e-13);
    assert!((DETECTABLE - SUSPECT - normal_quantile(0.8)).abs() < 1e-13);
}

#[test]
fn chi_square_is_that_of_the_tables() {
    let file = file();
    for row in file["chi_square_quantiles"].as_array().unwrap() {
        let (degrees, probability) = (row["degrees"].as_u64().unwrap() as usize, row["probability"].as_f64().unwrap());
        let at = |x: f64| 1.0 - chi_square_above(x, degrees);
        let computed = row["computed"].as_f64().unwrap();
        assert!((at(computed) - probability).abs() < 1e-13, "{row}"); // a few roundings of 1
        // Tables print four decimals: between the two neighbours of what they print lies the probability.
        let published = row["published"].as_f64().unwrap();
        assert!(at(published - 6e-5) < probability && probability < at(published + 6e-5), "{row}");
    }
    let survival = file["chi_square_survival"].as_array().unwrap();
    assert_eq!(survival.len(), 200);
    for row in survival {
        let row = numbers(row);
        let found = chi_square_above(row[1], row[0] as usize);
        // The exponential of -x/2 is good to x/2 roundings.
        assert!((found / row[2] - 1.0).abs() < 1e-12, "{row:?} {found}");
    }
}
