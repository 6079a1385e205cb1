//! Least squares against certified results: NIST Statistical Reference Datasets, Linear Regression (StRD). The intercept is a tilt
//! without a prior, the coefficients are shared errors whose prior says nothing.

use nalgebra::DMatrix;

use super::*;

/// Coefficients, their standard deviations, and that of the residuals, of y = t + Σ a(p) θ(p).
fn regression(y: &[f64], columns: &[Vec<f64>]) -> (Vec<f64>, Vec<f64>, f64) {
    let p = columns.len();
    let observations: Vec<Observation> = y
        .iter()
        .enumerate()
        .map(|(i, &value)| {
            let shared = columns.iter().enumerate().map(|(q, column)| (q, column[i])).collect();
            Observation { tilt: 0, value, weight: 1.0, shared }
        })
        .collect();
    // So wide that it takes 1e-14 of the information, in the unit of each coefficient.
    let n = y.len() as f64;
    let information = |column: &Vec<f64>| {
        let mean = column.iter().sum::<f64>() / n;
        column.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>()
    };
    let prior = DMatrix::from_fn(p, p, |i, j| if i == j { 1e14 / information(&columns[i]) } else { 0.0 });
    let solved = solve(1, &observations, &vec![0.0; p], &prior).unwrap();
    let fitted = |i: usize| solved.tilt[0] + solved.shared.iter().zip(columns).map(|(b, c)| b * c[i]).sum::<f64>();
    let squares: f64 = y.iter().enumerate().map(|(i, y)| (y - fitted(i)) * (y - fitted(i))).sum();
    let sd = (squares / (n - 1.0 - p as f64)).sqrt();
    let mut estimates = vec![solved.tilt[0]];
    estimates.extend(&solved.shared);
    (estimates, (0..p).map(|q| sd * solved.sd(q)).collect(), sd)
}

fn near(found: f64, certified: f64, relative: f64, what: &str) {
    assert!((found / certified - 1.0).abs() <= relative, "{what}: {found}, certified {certified}");
}

/// NIST StRD Norris (calibration of ozone monitors, 36 points, one coefficient).
#[test]
fn nist_norris() {
    let x = [
        0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5, 666.9, 338.0, 447.5,
        11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1, 118.3, 229.2,
        669.1, 448.9, 0.5,
    ];
    let y = [
        0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8, 339.3, 448.9,
        10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2, 117.6, 228.9,
        668.4, 449.2, 0.2,
    ];
    let (estimates, sds, residual) = regression(&y, &[x.to_vec()]);
    // 1e-12 for what the prior takes and the rounding of 36 terms, 1e-10 where the intercept loses digits to a mean of 400.
    near(estimates[1], 1.002_116_818_020_45, 1e-12, "B1");
    near(estimates[0], -0.262_323_073_774_029, 1e-10, "B0");
    near(sds[0], 0.000_429_796_848_199_937, 1e-11, "sd of B1");
    near(residual, 0.884_796_396_144_373, 1e-11, "residual sd");
}

/// NIST StRD Pontius (calibration of load cells, 40 points, a parabola in loads of up to three million).
#[test]
fn nist_pontius() {
    let y = [
        0.11019, 0.21956, 0.32949, 0.43899, 0.54803, 0.65694, 0.76562, 0.87487, 0.98292, 1.09146, 1.20001, 1.30822,
        1.41599, 1.52399, 1.63194, 1.73947, 1.84646, 1.95392, 2.06128, 2.16844, 0.11052, 0.22018, 0.32939, 0.43886,
        0.54798, 0.65739, 0.76596, 0.87474, 0.98300, 1.09150, 1.20004, 1.30818, 1.41613, 1.52408, 1.63159, 1.73965,
        1.84696, 1.95445, 2.06177, 2.16829,
    ];
    let x: Vec<f64> = (0..40).map(|i| 150_000.0 * f64::from(i % 20 + 1)).collect();
    let squares = x.iter().map(|x| x * x).collect();
    let (estimates, _, residual) = regression(&y, &[x, squares]);
    // The parabola is nearly a line over these loads: its part of the sum of squares is 1e-5, so that 1e-14 of the prior and the
    // rounding of sums count for a thousand times as much in it.
    near(estimates[1], 0.732_059_160_401_003e-6, 1e-10, "B1");
    near(estimates[2], -0.316_081_871_345_029e-14, 1e-8, "B2");
    near(estimates[0], 0.673_565_789_473_684e-3, 1e-7, "B0");
    near(residual, 0.205_177_424_076_185e-3, 1e-9, "residual sd");
}

/// NIST StRD Longley (employment and six of its causes, nearly in line with each other).
#[test]
fn nist_longley() {
    let y = [
        60323.0, 61122.0, 60171.0, 61187.0, 63221.0, 63639.0, 64989.0, 63761.0, 66019.0, 67857.0, 68169.0, 66513.0,
        68655.0, 69564.0, 69331.0, 70551.0,
    ];
    let columns = [
        vec![83.0, 88.5, 88.2, 89.5, 96.2, 98.1, 99.0, 100.0, 101.2, 104.6, 108.4, 110.8, 112.6, 114.2, 115.7, 116.9],
        vec![
            234289.0, 259426.0, 258054.0, 284599.0, 328975.0, 346999.0, 365385.0, 363112.0, 397469.0, 419180.0,
            442769.0, 444546.0, 482704.0, 502601.0, 518173.0, 554894.0,
        ],
        vec![
            2356.0, 2325.0, 3682.0, 3351.0, 2099.0, 1932.0, 1870.0, 3578.0, 2904.0, 2822.0, 2936.0, 4681.0, 3813.0,
            3931.0, 4806.0, 4007.0,
        ],
        vec![
            1590.0, 1456.0, 1616.0, 1650.0, 3099.0, 3594.0, 3547.0, 3350.0, 3048.0, 2857.0, 2798.0, 2637.0, 2552.0,
            2514.0, 2572.0, 2827.0,
        ],
        vec![
            107608.0, 108632.0, 109773.0, 110929.0, 112075.0, 113270.0, 115094.0, 116219.0, 117388.0, 118734.0,
            120445.0, 121950.0, 123366.0, 125368.0, 127852.0, 130081.0,
        ],
        (1947..1963).map(f64::from).collect(),
    ];
    let (estimates, _, residual) = regression(&y, &columns);
    let certified = [
        -3482258.63459582,
        15.0618722713733,
        -0.0358191792925910,
        -2.02022980381683,
        -1.03322686717359,
        -0.0511041056535807,
        1829.15146461355,
    ];
    // Each column is in line with the others up to a part in 1800, which multiplies what the prior takes and the sums round.
    for (i, (found, certified)) in estimates.iter().zip(certified).enumerate() {
        near(*found, certified, 1e-7, &format!("B{i}"));
    }
    near(residual, 304.854073561965, 1e-8, "residual sd");
}

/// Of one observation a tilt nothing is learnt of shared errors, however sharp it is; what is known exactly stays so.
#[test]
fn one_observation_says_nothing_of_what_it_shares() {
    let seen = |tilt, value| Observation { tilt, value, weight: 1e14, shared: vec![(0, 1.0), (1, 0.3)] };
    let prior = DMatrix::from_row_slice(2, 2, &[4.0, 0.0, 0.0, 0.0]);
    let solved = solve(2, &[seen(0, 0.02), seen(1, 0.03)], &[0.5, 0.25], &prior).unwrap();
    assert_eq!(solved.shared, [0.5, 0.25]);
    assert_eq!((solved.sd(0), solved.sd(1)), (2.0, 0.0));
    // 0.02 - 0.5 - 0.3 x 0.25, to rounding.
    assert!((solved.tilt[0] + 0.555).abs() < 1e-15, "{:?}", solved.tilt);
}
