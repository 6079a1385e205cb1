//! The same bits on every machine, whatever profile, flags and processor: figures of the demos and of a sweep of the
//! core, hashed and compared with `same_bits.txt`. Words are not hashed, only numbers. `UPDATE=1` writes the file
//! anew, to be done only where figures were meant to change.

#![allow(clippy::unwrap_used, reason = "helpers of tests, which clippy does not take for tests")]

use std::{env, fmt::Write as _, fs, path::PathBuf};

use fallwise::{
    Bend, Bore, Flow, Instrument, Lateral, Path, Pipe, Rulebook,
    chain::{Chain, FitOptions, fit},
    condition::condition,
    math::{self, Random},
    model::Step,
    path::{Layout, Start, dogleg, minimum_curvature},
    pool::{pools, water_level},
    profile::Draws,
    simulate::{self, Counts, Flaws, Head, Rounding, Truth},
};
use fallwise_files::job;
use serde_json::Value;

/// FNV-1a, 64 bits (Fowler, Noll, Vo; RFC 9923, from memory).
struct Hash(u64);

impl Hash {
    fn new() -> Self {
        Self(0xcbf2_9ce4_8422_2325)
    }

    fn bytes(&mut self, bytes: &[u8]) {
        for byte in bytes {
            self.0 = (self.0 ^ u64::from(*byte)).wrapping_mul(0x0000_0100_0000_01b3);
        }
    }

    fn number(&mut self, number: f64) {
        self.bytes(&number.to_bits().to_le_bytes());
    }

    fn numbers<'a>(&mut self, numbers: impl IntoIterator<Item = &'a f64>) {
        numbers.into_iter().for_each(|n| self.number(*n));
    }

    /// Every number, flag and absence in a tree, in order of its keys.
    fn tree(&mut self, value: &Value) {
        match value {
            Value::Null => self.bytes(b"-"),
            Value::Bool(flag) => self.bytes(&[u8::from(*flag)]),
            Value::Number(number) => self.number(number.as_f64().unwrap()),
            Value::String(_) => {}
            Value::Array(list) => list.iter().for_each(|v| self.tree(v)),
            Value::Object(map) => map.values().for_each(|v| self.tree(v)),
        }
    }
}

/// Hashes by name, in order of name.
type Hashes = Vec<(String, u64)>;

fn hashed(hashes: &mut Hashes, name: &str, fill: impl FnOnce(&mut Hash)) {
    let mut hash = Hash::new();
    fill(&mut hash);
    hashes.push((name.to_owned(), hash.0));
}

fn here(path: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(path)
}

fn demos(hashes: &mut Hashes) {
    for name in ["backfall-at-main", "by-hand", "good-lateral", "long-messy", "two-bellies", "whole-degrees"] {
        let loaded = job::read(&here(&format!("../../examples/demos/{name}/job.toml"))).unwrap();
        let book = loaded.job.rules.rulebook.as_deref().map(|name| Rulebook::shipped(name).unwrap());
        let answers = Lateral::solve(loaded.job).unwrap().answers(book.as_ref()).unwrap();
        let tree = serde_json::to_value(&answers).unwrap();
        // The job and the rules are input, not figures.
        for part in [
            "total",
            "reaches",
            "segments",
            "pools",
            "findings",
            "path",
            "edits",
            "readings",
            "parameters",
            "next",
            "budget",
            "correlations",
            "covariance",
            "carrying",
            "capacity",
            "needed",
        ] {
            hashed(hashes, &format!("demo {name} {part}"), |hash| hash.tree(&tree[part]));
        }
    }
}

fn section(hashes: &mut Hashes) {
    let bores = [Bore::circle(0.1).unwrap(), Bore::circle(0.3).unwrap(), Bore::ellipse(0.12, 0.09).unwrap()];
    hashed(hashes, "section", |hash| {
        for bore in bores {
            for i in 0..=400 {
                let depth = bore.height_m() * f64::from(i - 20) / 360.0;
                let shallow = bore.height_m() * math::exp(-0.05 * f64::from(i));
                for d in [depth, shallow] {
                    hash.numbers(&[bore.area_m2(d), bore.antiderivative_m3(d), bore.mean_area_m2(d, 0.04)]);
                    hash.numbers(&[bore.wetted_perimeter_m(d), bore.top_width_m(d), bore.hydraulic_radius_m(d)]);
                    hash.number(bore.depth_for_area_m(bore.area_m2(d)).unwrap());
                }
            }
        }
    });
}

fn elementary(hashes: &mut Hashes) {
    hashed(hashes, "math", |hash| {
        let mut random = Random::new(5, 0, 0);
        for _ in 0..2000 {
            let (x, y) = (20.0 * (random.uniform() - 0.5), random.uniform());
            hash.numbers(&[math::sin(x), math::cos(x), math::tan(x), math::atan(x), math::exp(x), math::exp_m1(x)]);
            hash.numbers(&[
                math::asin(y),
                math::acos(y),
                math::atan2(x, y),
                math::ln(y),
                math::ln_1p(y),
                math::log10(y),
            ]);
            hash.numbers(&[math::pow(y, x), math::cbrt(x), math::hypot(x, y), math::erf(x), math::erfc(x)]);
            hash.numbers(&[
                math::normal_cdf(x),
                math::normal_quantile(y),
                random.normal(),
                math::rounding_error_sd(y, 0.1 * y),
            ]);
        }
        let values: Vec<f64> = (0..5000).map(|_| random.normal()).collect();
        hash.number(math::sum(&values));
        hash.number(math::median(&mut values.clone()));
        hash.number(math::spread_sd(&values, &vec![1.0; values.len()], 0.1));
    });
}

fn paths(hashes: &mut Hashes) {
    let mut random = Random::new(6, 0, 0);
    let n = 500;
    let station: Vec<f64> = (0..n).map(|i| f64::from(i) * 0.3).collect();
    let tilt: Vec<f64> = (0..n).map(|_| 0.5 * random.normal().clamp(-3.0, 3.0)).collect();
    let azimuth: Vec<f64> = (0..n).map(|_| 1.5 * random.uniform()).collect();
    hashed(hashes, "path minimum curvature", |hash| {
        hash.numbers(minimum_curvature(&station, &tilt, &azimuth).unwrap().iter().flatten());
        (1..tilt.len()).for_each(|i| hash.number(dogleg(tilt[i - 1], azimuth[i - 1], tilt[i], azimuth[i])));
    });
    hashed(hashes, "path of bends", |hash| {
        let bends = [Bend::new(4.0, 0.8), Bend::new(9.5, -1.5), Bend::new(15.0, 0.4)];
        let step = Step { station_m: 12.0, rise_m: 0.01, rise_sd_m: 0.002 };
        let layout = Layout::new(&[0.0, 4.0, 9.0, 14.0, 20.0], &bends, &[step], &[]).unwrap();
        let tilts = [0.02, 0.3, -0.01, 0.025];
        let profile = layout.profile(&tilts, 0.992, None);
        hash.numbers(profile.height_m.iter().chain(&profile.tilt_rad));
        let path = Path::new(&layout, &tilts, 0.992, Start { azimuth_rad: Some(0.4), east_m: 10.0, north_m: 20.0 });
        (0..=200).for_each(|i| hash.numbers(&path.position(0.1 * f64::from(i)).unwrap()));
        (0..20).for_each(|i| hash.numbers(&[profile.slope_between(0.0, 0.3 + f64::from(i)).unwrap()]));
        hash.numbers(&profile.crossings(0.4));
    });
}

fn runs(hashes: &mut Hashes) {
    let truth = Truth {
        breaks_m: vec![0.0, 9.0, 11.0, 24.0, 30.0],
        tilt_rad: vec![0.03, -0.015, 0.02, -0.004],
        ..Truth::default()
    };
    let counts = Counts { stops: 2, pull_backs: 2, spikes: 5, gaps: 1, resets: 1 };
    let flaws = Flaws { counter_scale: -0.006, ..Flaws::scattered(0.0, 30.0, counts, 4) };
    let head = Head { rounding: Rounding::Degrees(0.1), zero_rad: 0.004, ..Head::default() };
    let log = simulate::run(&truth, &head, &flaws, 0.05, 8).unwrap().run;
    hashed(hashes, "simulated log", |hash| hash.numbers(log.counter_m.iter().chain(&log.reading_rad)));
    let trace = condition(&log, &Instrument::default(), &[]).unwrap();
    hashed(hashes, "trace", |hash| {
        hash.numbers(trace.station_m.iter().chain(&trace.tilt_rad).chain(&trace.weight));
        hash.numbers(&[trace.noise_sd_rad, trace.resolution_rad, trace.removed_fall_m]);
    });
    hashed(hashes, "fit", |hash| {
        let options = FitOptions { noise_sd: Some(trace.noise_sd_rad), penalty: None, ..FitOptions::default() };
        let found = fit(&trace.tilt_rad, &trace.weight, &[], &options).unwrap();
        hash.numbers(found.means.iter().chain(&[found.cost, found.penalty]));
        found.starts.iter().for_each(|s| hash.bytes(&(*s as u64).to_le_bytes()));
        let (chain, _) = Chain::fitted(&trace.station_m, &trace.tilt_rad, &trace.weight, &[12.0], &options).unwrap();
        hash.numbers(chain.breaks_m.iter().chain(&chain.tilt_rad));
    });
}

fn water(hashes: &mut Hashes) {
    let bores = [Some(Bore::circle(0.1).unwrap())];
    hashed(hashes, "pools", |hash| {
        for seed in 0..40 {
            let mut random = Random::new(seed, 2, 0);
            let breaks: Vec<f64> = (0..=30).map(f64::from).collect();
            let tilts: Vec<f64> = (0..30).map(|_| 0.01 + 0.02 * random.normal()).collect();
            let profile = Layout::new(&breaks, &[], &[], &[]).unwrap().profile(&tilts, 1.0, None);
            for flow in [Flow::Increasing, Flow::Decreasing] {
                hash.numbers(&water_level(&profile, flow, Some(0.02)));
                for p in pools(&profile, &bores, flow, Some(0.02)) {
                    hash.numbers(&[p.sill_station_m, p.level_m, p.from_m, p.to_m, p.length_m, p.depth_m]);
                    hash.numbers(&[p.volume_m3.unwrap(), p.backwater_m3.unwrap(), p.full_bore_length_m.unwrap()]);
                }
            }
        }
    });
    hashed(hashes, "draws", |hash| {
        let station: Vec<f64> = (0..=12).map(f64::from).collect();
        let invert: Vec<f64> = (0..=12).map(|i| 30.0 - 0.02 * f64::from(i) + 0.01 * f64::from(i * i % 5)).collect();
        let lateral = Lateral::from_inverts(&station, &invert, Some(0.005), Pipe::default()).unwrap();
        lateral.draws(200, 3).for_each(&mut |p| hash.numbers(&p.height_m));
        hash.numbers(&[lateral.fall_between(1.5, 9.0).unwrap().sd, lateral.slope_between(0.0, 12.0).unwrap().sd]);
    });
}

#[test]
fn every_figure_has_the_committed_bits() {
    let mut hashes = Hashes::new();
    for part in [elementary, section, paths, runs, water, demos] {
        part(&mut hashes);
    }
    let mut text = String::new();
    for (name, hash) in &hashes {
        writeln!(text, "{hash:016x} {name}").unwrap();
    }
    let file = here("same_bits.txt");
    if env::var_os("UPDATE").is_some() {
        fs::write(&file, &text).unwrap();
    }
    let committed = fs::read_to_string(&file).unwrap();
    let changed: Vec<&str> = text.lines().filter(|line| !committed.lines().any(|c| c == *line)).collect();
    assert!(changed.is_empty(), "other bits than committed (UPDATE=1 where that was meant):\n{}", changed.join("\n"));
    assert_eq!(committed.lines().count(), text.lines().count(), "the file holds names that are no more");
}

#[test]
fn the_hash_is_the_published_one() {
    // Test values of the authors' page, from memory: "" and "a".
    let of = |text: &str| {
        let mut hash = Hash::new();
        hash.bytes(text.as_bytes());
        hash.0
    };
    assert_eq!((of(""), of("a")), (0xcbf2_9ce4_8422_2325, 0xaf63_dc4c_8601_ec8c));
}
