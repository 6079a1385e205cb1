use super::*;
use crate::chain::average;

/// Readings that a break and some noise might give, from the project's own random numbers.
fn readings(n: usize, seed: u32) -> (Vec<f64>, Vec<f64>) {
    let mut random = Random::new(11, 0, seed);
    let station_m = (0..n).map(|i| 0.1 * i as f64).collect();
    let tilt_rad = (0..n).map(|i| if i < n / 2 { 0.004 } else { -0.003 } + 0.004 * random.normal()).collect();
    (station_m, tilt_rad)
}

fn averaging<'a>(station_m: &'a [f64], tilt_rad: &'a [f64], weight: &'a [f64]) -> Averaging<'a> {
    Averaging {
        station_m,
        tilt_rad,
        weight,
        hard_breaks_m: &[],
        joints_m: &[],
        ends_m: (station_m[0], station_m[station_m.len() - 1]),
        noise_sd_rad: 0.004,
        rounding_sd_rad: 0.0,
        wander_sd_rad: 0.0,
        head_length_m: 0.0,
        draws: 20_000,
        seed: 0,
        lateral: 0,
    }
}

/// Logarithm of the density of readings that share a mean N(m0, tau²), by the chain rule of normal variables: each reading
/// given those before it. Nothing of the sums and means of the table is in it.
fn log_density(values: &[f64], noise_sd: f64, m0: f64, tau2: f64) -> f64 {
    let (mut mean, mut variance, mut log) = (m0, tau2, 0.0);
    for y in values {
        let sum = variance + noise_sd * noise_sd;
        log -= 0.5 * (math::ln(core::f64::consts::TAU * sum) + (y - mean) * (y - mean) / sum);
        let gain = variance / sum;
        mean += gain * (y - mean);
        variance *= 1.0 - gain;
    }
    log
}

/// Every segmentation with breaks at candidates, with the logarithm of its evidence and prior at a point of the grid.
fn all(table: &Table, values: &[f64], noise_sd: f64, at: &Setting, expected: f64) -> Vec<(Vec<usize>, f64)> {
    let inner = table.candidates.len() - 2;
    (0..1_u32 << inner)
        .map(|set| {
            let breaks: Vec<usize> = (0..inner).filter(|k| set >> k & 1 == 1).map(|k| k + 1).collect();
            let ends: Vec<usize> = [&[0], breaks.as_slice(), &[inner + 1]].concat();
            let prior: f64 = breaks.iter().map(|&k| math::ln(expected * table.candidates[k].share)).sum();
            let says: f64 = ends
                .windows(2)
                .map(|e| {
                    let range = table.candidates[e[0]].reading..table.candidates[e[1]].reading;
                    log_density(&values[range], noise_sd, at.m0, at.tau2)
                })
                .sum();
            (breaks, prior + says)
        })
        .collect()
}

fn log_sum(logs: impl Iterator<Item = f64> + Clone) -> f64 {
    let most = logs.clone().fold(f64::NEG_INFINITY, f64::max);
    most + math::ln(logs.map(|l| math::exp(l - most)).sum())
}

#[test]
fn sums_are_those_over_all_segmentations() {
    for seed in 0..5 {
        let (station_m, tilt_rad) = readings(14, seed);
        let of = averaging(&station_m, &tilt_rad, &[1.0; 14]);
        let table = Table::new(&of).unwrap();
        assert!((2..=14).contains(&(table.candidates.len() - 2)), "{}", table.candidates.len());
        let mut differences = Vec::new();
        for (m0, tau) in [(0.0, 0.001), (0.002, 0.004), (-0.01, 0.02)] {
            let setting = table.setting(m0, tau * tau, 1.0, &[1.0, 4.0]);
            for (point, expected) in setting.points.iter().zip([1.0, 4.0]) {
                let every = all(&table, &tilt_rad, of.noise_sd_rad, &setting, expected);
                let log = log_sum(every.iter().map(|(_, l)| *l)) - expected;
                differences.push(point.log_evidence - log);
            }
        }
        // All are counted from the likelihood of the optimum, which is one constant; what is left is rounding in sums of some
        // tens, about 1e-14 each.
        for d in &differences {
            assert!((d - differences[0]).abs() < 1e-10, "{differences:?}");
        }
    }
}

#[test]
fn draws_have_the_breaks_and_tilts_of_all_segmentations() {
    let (station_m, tilt_rad) = readings(12, 1);
    let of = averaging(&station_m, &tilt_rad, &[1.0; 12]);
    let table = Table::new(&of).unwrap();
    let grid = [table.setting(0.001, 0.003 * 0.003, 1.0, &[2.0])];
    let every = all(&table, &tilt_rad, of.noise_sd_rad, &grid[0], 2.0);
    let total = log_sum(every.iter().map(|(_, l)| *l));
    let drawn = table.drawn(&of, &grid);
    // The mean tilt of the first cell: of each segmentation the mean of its first segment, shrunk to m0.
    let (mut first, mut one, mut seventh) = (0.0, 0.0, 0.0);
    for (breaks, log) in &every {
        let p = math::exp(log - total);
        let end = breaks.first().map_or(12, |k| table.candidates[*k].reading);
        let variance = of.noise_sd_rad * of.noise_sd_rad / end as f64;
        let mean = tilt_rad[..end].iter().sum::<f64>() / end as f64;
        let precision = 1.0 / variance + 1.0 / grid[0].tau2;
        first += p * (mean / variance + grid[0].m0 / grid[0].tau2) / precision;
        one += if breaks.is_empty() { p } else { 0.0 };
        seventh += if breaks.contains(&7) { p } else { 0.0 };
    }
    let whole = (0..drawn.draws.len()).filter(|d| drawn.draws.of(*d).count() == 1).count() as f64 / 20_000.0;
    assert!((0.02..0.98).contains(&one), "{one}: the case says nothing");
    // Five standard errors of a share of 20,000 draws.
    assert!((whole - one).abs() < 5.0 * (one * (1.0 - one) / 20_000.0).sqrt(), "{whole} {one}");
    // The same sums in another order, of numbers below 1.
    assert!((drawn.break_chance[7] - seventh).abs() < 1e-12, "{} {seventh}", drawn.break_chance[7]);
    // A break may lie within the first cell, where its mean is that of both sides: a fifth of a standard deviation.
    let sd = of.noise_sd_rad / 12_f64.sqrt();
    assert!((drawn.mean_rad[0] - first).abs() < 0.2 * sd, "{} {first}", drawn.mean_rad[0]);
}

#[test]
fn straight_pipe_is_as_sure_as_its_readings() {
    let mut random = Random::new(5, 0, 0);
    let station_m: Vec<f64> = (0..400).map(|i| 0.05 * f64::from(i)).collect();
    let tilt_rad: Vec<f64> = station_m.iter().map(|_| 0.02 + 0.004 * random.normal()).collect();
    let averaged = average(&Averaging { draws: 4000, ..averaging(&station_m, &tilt_rad, &[1.0; 400]) }).unwrap();
    let cells: Vec<f64> = averaged.cells_m.windows(2).map(|e| e[1] - e[0]).collect();
    let length: f64 = cells.iter().sum();
    let mut whole = Vec::new();
    let mut tilts = vec![0.0; cells.len()];
    for draw in 0..averaged.draws.len() {
        for (first, tilt) in averaged.draws.of(draw) {
            tilts[first..].fill(tilt);
        }
        whole.push(tilts.iter().zip(&cells).map(|(t, l)| t * l).sum::<f64>() / length);
    }
    let mean = whole.iter().sum::<f64>() / 4000.0;
    let sd = (whole.iter().map(|w| (w - mean) * (w - mean)).sum::<f64>() / 4000.0).sqrt();
    let plain = 0.004 / 400_f64.sqrt();
    // Other segmentations can add little to what one mean says of the whole; a fortieth is the error of such an sd.
    assert!((0.95..1.15).contains(&(sd / plain)), "{sd} {plain}");
}

#[test]
fn a_hard_break_is_in_every_draw_and_units_do_not_matter() {
    let (station_m, tilt_rad) = readings(60, 3);
    let weight = vec![1.0; 60];
    let of = Averaging { hard_breaks_m: &[1.0], draws: 200, ..averaging(&station_m, &tilt_rad, &weight) };
    let averaged = average(&of).unwrap();
    let at = averaged.cells_m.iter().position(|c| *c == 1.0).unwrap();
    assert!((0..200).all(|d| averaged.draws.of(d).any(|(first, _)| first == at)));
    // A constant and a unit change nothing but the constant and the unit. The constant costs digits: of 1 in 0.004, three.
    let moved: Vec<f64> = tilt_rad.iter().map(|t| 8.0 * t + 1.0).collect();
    let other = average(&Averaging { tilt_rad: &moved, noise_sd_rad: 0.032, ..of }).unwrap();
    for (a, b) in averaged.mean_rad.iter().zip(&other.mean_rad) {
        assert!((8.0 * a + 1.0 - b).abs() < 1e-9, "{a} {b}");
    }
}

#[test]
fn what_cannot_be_averaged_is_an_error() {
    let of = averaging(&[0.0, 1.0], &[0.01, 0.02], &[1.0, 0.0]);
    assert!(matches!(average(&of), Err(Error::TooFew { found: 1, .. })));
    assert!(average(&averaging(&[0.0, 1.0], &[0.01, f64::NAN], &[1.0; 2])).is_err());
}
