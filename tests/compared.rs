//! How segments are best found, by figures: squares behind the spike filter, or the biweight loss that needs none; with a
//! least length or without.
//!
//! Each way finds the segments of the same simulated logs, and all are averaged over segmentations as a lateral is.
//! Without the filter, spikes and steps under the head keep their place and weight, and what the biweight optimum leaves
//! out (farther than its threshold from the mean of its segment) loses its weight for the average. Zero error known.
//! Segments shorter than two heads are counted apart: the head bridges them, so that few of them are the pipe's.
//! `FALLWISE_STUDY=full` makes ten times as many laterals; `--nocapture` shows the table.
#![allow(clippy::unwrap_used, reason = "the helpers of a test may panic as the test may")]

use fallwise::{
    Instrument, Job, Lateral, Run,
    chain::{Averaged, Averaging, BIWEIGHT_THRESHOLD_SDS, Chain, FitOptions, Loss, average},
    condition::Trace,
    math::{self, Random},
    simulate::{self, Flaw, Flaws, Head, Rounding, Truth},
};

const DEGREE: f64 = core::f64::consts::PI / 180.0;
const SPACING_M: f64 = 0.05;

/// A way of finding segments.
#[derive(Debug, Clone, Copy)]
struct Way {
    name: &'static str,
    filter: bool,
    loss: Loss,
    /// Least segment length in lengths of the head.
    least_heads: f64,
}

const BIWEIGHT: Loss = Loss::Biweight { threshold_sds: BIWEIGHT_THRESHOLD_SDS };
const SQUARES: Way = Way { name: "filter, squares", filter: true, loss: Loss::Squares, least_heads: 0.0 };
/// The one that the library takes.
const CHOSEN: &str = "squares, a head long";
const WAYS: [Way; 5] = [
    SQUARES,
    Way { name: "biweight alone", filter: false, loss: BIWEIGHT, ..SQUARES },
    Way { name: "filter, biweight", loss: BIWEIGHT, ..SQUARES },
    Way { name: "squares, a head long", least_heads: 1.0, ..SQUARES },
    Way { name: "squares, two long", least_heads: 2.0, ..SQUARES },
];

/// A pipe, a head and what goes wrong.
struct Case {
    name: &'static str,
    percent: fn(&mut Random) -> Vec<f64>,
    head_m: f64,
    step_deg: f64,
    flaws: fn(&mut Random) -> Vec<Flaw>,
}

fn straight(_: &mut Random) -> Vec<f64> {
    vec![2.0; 10]
}

fn sticks(random: &mut Random) -> Vec<f64> {
    (0..10).map(|k| if k == 5 { -0.4 - 1.2 * random.uniform() } else { 2.0 + 0.6 * random.normal() }).collect()
}

/// Groups of spikes, somewhere in every third stick: as many in a row, all one way or by turns.
fn groups(random: &mut Random, in_a_row: u32, turns: bool) -> Vec<Flaw> {
    let mut list = Vec::new();
    for k in 0..3 {
        let (at_m, sign) =
            (4.0 + 9.0 * f64::from(k) + random.uniform(), if random.uniform() < 0.5 { -1.0 } else { 1.0 });
        for i in 0..in_a_row {
            let sign = if turns && i % 2 == 1 { -sign } else { sign };
            list.push(Flaw::Spike {
                at_m: at_m + SPACING_M * f64::from(i),
                rad: sign * (4.0 + 8.0 * random.uniform()) * DEGREE,
            });
        }
    }
    list
}

fn lip(random: &mut Random) -> Vec<Flaw> {
    vec![Flaw::StepUnderHead { at_m: 16.0 + random.uniform(), rise_m: 0.012 }]
}

const PLAIN: Case = Case { name: "straight", percent: straight, head_m: 0.15, step_deg: 0.0, flaws: |_| vec![] };

fn cases() -> Vec<Case> {
    let sticks = Case { name: "sticks", percent: sticks, ..PLAIN };
    vec![
        PLAIN,
        Case { name: "straight, whole degrees", step_deg: 1.0, ..PLAIN },
        Case { ..sticks },
        Case { name: "sticks, head of 0.3 m", head_m: 0.3, ..sticks },
        Case { name: "sticks, whole degrees", step_deg: 1.0, ..sticks },
        Case { name: "three spikes", flaws: |r| groups(r, 1, false), ..sticks },
        Case { name: "three pairs, one way", flaws: |r| groups(r, 2, false), ..sticks },
        Case { name: "three pairs, by turns", flaws: |r| groups(r, 2, true), ..sticks },
        Case { name: "three clusters of 4, by turns", flaws: |r| groups(r, 4, true), ..sticks },
        Case { name: "lip of 12 mm", flaws: lip, ..sticks },
    ]
}

/// The readings that a way fits: stations, tilts, weights.
fn readings(run: &Run, trace: &Trace, filter: bool) -> Vec<(f64, f64, f64)> {
    let rows = trace.station_m.iter().zip(&trace.tilt_rad).zip(&trace.weight).map(|((&s, &t), &w)| (s, t, w));
    let mut rows: Vec<(f64, f64, f64)> = rows.collect();
    if !filter {
        for edit in &trace.edits {
            let (station_m, tilt_rad) = (run.counter_m[edit.index], run.reading_rad[edit.index]);
            let at = rows.partition_point(|r| r.0 < station_m);
            if edit.reason.contains("spike") {
                rows.insert(at, (station_m, tilt_rad, 1.0));
            } else {
                assert!(edit.reason.contains("step passing"), "{edit:?}");
                rows[at].2 = 1.0;
            }
        }
    }
    rows
}

/// What came of a way, over many logs.
#[derive(Debug, Default)]
struct Row {
    segments: f64,
    /// Shorter than two lengths of the head.
    short: f64,
    fall_mm: Vec<f64>,
    slope: Vec<f64>,
    sd: Vec<f64>,
    in_95: f64,
    in_50: f64,
}

impl Row {
    fn median(values: &[f64]) -> f64 {
        math::median(&mut values.to_vec())
    }
}

/// A simulated log, and its averages over segmentations by the weights of their readings: several ways have the same.
struct Log<'a> {
    case: &'a Case,
    truth: Truth,
    flaws: Vec<Flaw>,
    run: Run,
    /// As the library solves it: with the noise that it finds.
    lateral: Lateral,
    seed: u64,
    averages: Vec<(Vec<f64>, Averaged)>,
}

fn add(row: &mut Row, way: &Way, log: &mut Log<'_>) {
    let Log { case, truth, flaws, run, lateral, seed, averages } = log;
    let trace = &lateral.traces()[0];
    let noise_sd = trace.scatter_sd_rad;
    let rows = readings(run, trace, way.filter);
    let station_m: Vec<f64> = rows.iter().map(|r| r.0).collect();
    let tilt_rad: Vec<f64> = rows.iter().map(|r| r.1).collect();
    let mut weight: Vec<f64> = rows.iter().map(|r| r.2).collect();
    // Head and spacing are whole numbers of steps of 0.05 m.
    let least_readings =
        (1..100).find(|n| f64::from(*n) * SPACING_M >= way.least_heads * case.head_m - 1e-9).unwrap_or(1);
    let options = FitOptions {
        loss: way.loss,
        noise_sd: Some(noise_sd),
        least_readings: usize::try_from(least_readings).unwrap(),
        ..FitOptions::default()
    };
    let (chain, fit) = Chain::fitted(&station_m, &tilt_rad, &weight, &[], &options).unwrap();
    if way.name == CHOSEN {
        // This way is the library's: as many segments as a lateral shows.
        assert_eq!(lateral.segments().len(), chain.tilt_rad.len());
    }
    if !way.filter {
        for (range, mean) in chain.ranges(&station_m).into_iter().zip(&fit.means) {
            for i in range.filter(|&i| (tilt_rad[i] - mean).abs() > BIWEIGHT_THRESHOLD_SDS * noise_sd) {
                weight[i] = 0.0;
            }
        }
    }
    let known_already = averages.iter().position(|(weights, _)| *weights == weight);
    let average_of = |weight: &[f64]| {
        average(&Averaging {
            station_m: &station_m,
            tilt_rad: &tilt_rad,
            weight,
            hard_breaks_m: &[],
            joints_m: &[],
            wander_sd_rad: 0.0,
            ends_m: (chain.breaks_m[0], *chain.breaks_m.last().unwrap()),
            noise_sd_rad: noise_sd,
            rounding_sd_rad: trace.rounding_sd_rad,
            head_length_m: case.head_m,
            draws: 400,
            seed: *seed,
            lateral: 0,
        })
        .unwrap()
    };
    let k = known_already.unwrap_or_else(|| {
        averages.push((weight.clone(), average_of(&weight)));
        averages.len() - 1
    });
    let averaged = &averages[k].1;
    // Integral of the tilt: of pipe this flat its fall, to a thousandth.
    let cells: Vec<f64> = averaged.cells_m.windows(2).map(|c| c[1] - c[0]).collect();
    let over = |tilts: &[f64], from_m: f64, to_m: f64, ends: &[f64]| -> f64 {
        tilts.iter().zip(ends.windows(2)).map(|(t, e)| t * (e[1].min(to_m) - e[0].max(from_m)).max(0.0)).sum()
    };
    let draws: Vec<Vec<f64>> = (0..averaged.draws.len())
        .map(|d| {
            let runs: Vec<(usize, f64)> = averaged.draws.of(d).collect();
            let mut tilts = vec![0.0; cells.len()];
            for (first, tilt) in runs {
                tilts[first..].fill(tilt);
            }
            tilts
        })
        .collect();
    let rise_m = |from_m: f64, to_m: f64| {
        let of = |f: &Flaw| match *f {
            Flaw::StepUnderHead { at_m, rise_m } if from_m <= at_m && at_m < to_m => rise_m,
            _ => 0.0,
        };
        flaws.iter().map(of).sum::<f64>()
    };
    let known = |from_m: f64, to_m: f64| over(&truth.tilt_rad, from_m, to_m, &truth.breaks_m) - rise_m(from_m, to_m);
    let (first, last) = (chain.breaks_m[0], *chain.breaks_m.last().unwrap());
    let found = |from_m: f64, to_m: f64| over(&averaged.mean_rad, from_m, to_m, &averaged.cells_m);
    row.segments += chain.tilt_rad.len() as f64;
    let short = |ends: &&[f64]| ends[1] - ends[0] < 2.0 * case.head_m;
    row.short += chain.breaks_m.windows(2).filter(short).count() as f64;
    row.fall_mm.push(1000.0 * (found(first, last) - known(first, last)).abs());
    row.slope.push(100.0 * (found(15.0, 18.0) - known(15.0, 18.0)).abs() / 3.0);
    let (mut in_95, mut in_50, mut count) = (0.0, 0.0, 0.0);
    for ends in chain.breaks_m.windows(2) {
        let mean = found(ends[0], ends[1]);
        let squares =
            draws.iter().map(|d| over(d, ends[0], ends[1], &averaged.cells_m) - mean).map(|d| d * d).sum::<f64>();
        let sd = (squares / draws.len() as f64).sqrt();
        let off = (mean - known(ends[0], ends[1])).abs() / sd;
        in_95 += f64::from(u8::from(off <= 1.959_964));
        // Half of the normal distribution.
        in_50 += f64::from(u8::from(off <= 0.674_490));
        count += 1.0;
        row.sd.push(100.0 * sd / (ends[1] - ends[0]));
    }
    row.in_95 += in_95 / count;
    row.in_50 += in_50 / count;
}

/// What the choice rests on, and what it costs.
fn check(case: &Case, rows: &[Row; WAYS.len()], n: f64) {
    let of = |name: &str| rows.iter().zip(&WAYS).find(|(_, way)| way.name == name).unwrap().0;
    let (chosen, plain, biweight) = (of(CHOSEN), of(SQUARES.name), of("biweight alone"));
    let fall_mm = |row: &Row| Row::median(&row.fall_mm);
    // Medians of 40 absolute errors are good to a fifth: what differs by more than a third differs.
    let better = |row: &Row, than: &Row| fall_mm(row) < 0.67 * fall_mm(than);
    match case.name {
        // A lip falls, whatever else may read so.
        "lip of 12 mm" => assert!(better(chosen, biweight), "{}", case.name),
        // The price: two spikes in a row the same way are taken for a lip.
        "three pairs, one way" => assert!(better(biweight, chosen)),
        "straight, whole degrees" | "sticks, whole degrees" => {}
        _ => {
            // 2.6 standard errors below 93 %, the lateral as the cluster.
            let least = 0.93 - 2.6 * (0.95 * 0.05 / n).sqrt();
            assert!(chosen.in_95 / n >= least, "{}: {}", case.name, chosen.in_95 / n);
            assert!(!better(plain, chosen) && !better(biweight, chosen), "{}", case.name);
        }
    }
    if case.head_m > 0.2 {
        // Most of the short segments go: half at least.
        assert!(chosen.short <= 0.5 * plain.short && plain.short > 0.3 * n, "{} {}", chosen.short, plain.short);
    }
}

#[test]
fn ways_to_find_segments() {
    let full = std::env::var("FALLWISE_STUDY").is_ok_and(|v| v == "full");
    let laterals: u64 = if full { 400 } else { 40 };
    println!(
        "{:30} {:22} | segments | short | fall off mm | slope 15 to 18 m off % | cover 95 | cover 50 | sd of a segment %",
        "", ""
    );
    for case in cases() {
        let mut rows: [Row; WAYS.len()] = Default::default();
        for seed in 0..laterals {
            let mut random = Random::new(17, 5, u32::try_from(seed).unwrap());
            let percent = (case.percent)(&mut random);
            let truth = Truth {
                breaks_m: (0..=percent.len()).map(|k| 3.0 * k as f64).collect(),
                tilt_rad: percent.iter().map(|p| math::atan(0.01 * p)).collect(),
                ..Truth::default()
            };
            let head = Head {
                head_length_m: case.head_m,
                rounding: if case.step_deg > 0.0 { Rounding::Degrees(case.step_deg) } else { Rounding::None },
                ..Head::default()
            };
            let flaws = Flaws { list: (case.flaws)(&mut random), counter_scale: 0.0 };
            let run = simulate::run(&truth, &head, &flaws, SPACING_M, 7000 + seed).unwrap().run;
            let instrument = Instrument { head_length_m: case.head_m, ..Instrument::default() };
            let job = Job { runs: vec![run.clone()], instrument, ..Job::default() };
            let lateral = Lateral::solve(job).unwrap();
            let mut log = Log { case: &case, truth, flaws: flaws.list, run, lateral, seed, averages: Vec::new() };
            for (row, way) in rows.iter_mut().zip(&WAYS) {
                add(row, way, &mut log);
            }
        }
        let n = laterals as f64;
        check(&case, &rows, n);
        for (row, way) in rows.iter().zip(&WAYS) {
            println!(
                "{:30} {:22} | {:8.2} | {:5.2} | {:11.1} | {:22.3} | {:8.1} | {:8.1} | {:.3}",
                case.name,
                way.name,
                row.segments / n,
                row.short / n,
                Row::median(&row.fall_mm),
                Row::median(&row.slope),
                100.0 * row.in_95 / n,
                100.0 * row.in_50 / n,
                Row::median(&row.sd)
            );
        }
    }
}
