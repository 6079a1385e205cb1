//! What the pipe carries: properties, how often its intervals hold the truth, how often its verdicts are wrong, bad input, words.

#![allow(clippy::unwrap_used, reason = "helpers of tests, which clippy does not take for tests")]

use fallwise::{
    Bore, Instrument, Job, Lateral, Pipe, Run,
    answers::CapacityRow,
    hydraulics::{Friction, Uniform},
    math::{Random, atan},
    model::Capacity,
    units::{Words, deg},
};
use fallwise_files::{MemoryResolver, job};
use fallwise_record::{Mark, Tolerance::Absolute, reference};
use proptest::prelude::*;

fn pipe(bore_m: f64, n: f64) -> Pipe {
    Pipe { bore: Some(Bore::circle(bore_m).unwrap()), manning_n: Some(n), ..Pipe::default() }
}

fn of_slope(slope: f64, pipe: &Pipe, asked: &Capacity) -> CapacityRow {
    let lateral = Lateral::from_segments(vec![0.0, 10.0], vec![atan(slope)], pipe.clone()).unwrap();
    lateral.capacity(asked).unwrap().reaches.remove(0)
}

fn asked(flow: f64, filling: f64) -> Capacity {
    Capacity { flow_m3_s: Some(flow), filling: Some(filling), ..Capacity::default() }
}

fn colebrook(bore_m: f64, roughness_m: f64) -> Pipe {
    Pipe { bore: Some(Bore::circle(bore_m).unwrap()), roughness_m: Some(roughness_m), ..Pipe::default() }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, cases: 128, ..ProptestConfig::default() })]

    /// Steeper carries more, lets the flow stand lower and run faster, with more shear: by both formulas.
    #[test]
    fn every_figure_goes_one_way_with_the_slope(
        slope in 0.002..0.08_f64, more in 1.001..3.0_f64, bore in 0.05..0.4_f64, filling in 0.1..0.9_f64, share in 0.05..0.9_f64, rough: bool,
    ) {
        let pipe = if rough { colebrook(bore, 0.001) } else { pipe(bore, 0.012) };
        let flow = share * of_slope(slope, &pipe, &asked(1e-4, filling)).most_m3_s.unwrap();
        let (flat, steep) = (of_slope(slope, &pipe, &asked(flow, filling)), of_slope(slope * more, &pipe, &asked(flow, filling)));
        prop_assert!(steep.filled_m3_s > flat.filled_m3_s && steep.most_m3_s > flat.most_m3_s);
        prop_assert!(steep.depth_m < flat.depth_m && steep.velocity_m_s > flat.velocity_m_s);
        prop_assert!(steep.shear_pa > flat.shear_pa && steep.froude > flat.froude);
        // The same flow has the same critical depth on any slope.
        prop_assert_eq!(steep.critical_depth_m, flat.critical_depth_m);
    }

    /// Manning: the flow goes with the root of the slope, with 1/n, and with the bore to the power 8/3.
    #[test]
    fn the_laws_of_scale(slope in 0.002..0.05_f64, by in 1.1..4.0_f64, bore in 0.05..0.3_f64, filling in 0.05..1.0_f64) {
        let carries = |slope, bore, n| of_slope(slope, &pipe(bore, n), &asked(1e-4, filling)).filled_m3_s.unwrap();
        let one = carries(slope, bore, 0.012);
        // The slope goes through a tilt and back, the flow through a dozen roundings.
        let near = |a: f64, b: f64| prop_assert_near(a / b);
        near(carries(slope * by, bore, 0.012), one * by.sqrt())?;
        near(carries(slope, bore, 0.012 * by), one / by)?;
        near(carries(slope, bore * by, 0.012), one * fallwise::math::pow(by, 8.0 / 3.0))?;
    }

    /// The ends of every interval are in order, about the figure, whatever the error of the slope; a verdict keeps to its interval.
    #[test]
    fn intervals_are_ordered(
        slope in -0.01..0.05_f64, zero_deg in 0.0..0.6_f64, flow in 1e-5..0.02_f64, filling in 0.1..1.0_f64, seed in 0..1000_u64,
    ) {
        let row = by_hand(slope, zero_deg, &asked(flow, filling), seed).1;
        let ordered = |low: Option<f64>, value: Option<f64>, high: Option<f64>| {
            let all: Vec<f64> = [low, value, high].into_iter().flatten().collect();
            all.windows(2).all(|pair| pair[0] <= pair[1])
        };
        prop_assert!(ordered(row.filled_low_m3_s, row.filled_m3_s, row.filled_high_m3_s), "{:?}", row);
        prop_assert!(ordered(row.most_low_m3_s, row.most_m3_s, row.most_high_m3_s), "{:?}", row);
        prop_assert!(ordered(row.depth_low_m, row.depth_m, row.depth_high_m), "{:?}", row);
        prop_assert!(ordered(row.velocity_low_m_s, row.velocity_m_s, row.velocity_high_m_s), "{:?}", row);
        prop_assert!(ordered(row.shear_low_pa, row.shear_pa, row.shear_high_pa), "{:?}", row);
        prop_assert!(ordered(row.froude_low, row.froude, row.froude_high), "{:?}", row);
        match row.verdict.as_str() {
            "carries" => prop_assert!(row.filled_m3_s > Some(flow) && row.every_piece_probability >= Some(0.95)),
            "does_not_carry" => prop_assert!(row.filled_m3_s < Some(flow) && row.probability <= Some(0.05)),
            "no_uniform_flow" => prop_assert!(row.slope <= Some(0.0) && row.most_m3_s.is_none()),
            other => prop_assert_eq!(other, "not_decided"),
        }
    }
}

fn prop_assert_near(ratio: f64) -> Result<(), TestCaseError> {
    if (ratio - 1.0).abs() < 1e-10 { Ok(()) } else { Err(TestCaseError::fail(format!("{ratio}"))) }
}

/// A straight pipe of a slope, read by hand with a head that is off and noisy by as much as is stated; the row, and the lateral.
fn by_hand(slope: f64, zero_deg: f64, asked: &Capacity, seed: u64) -> (Lateral, CapacityRow) {
    let mut random = Random::new(seed, 0, 0);
    let (zero, noise) = (deg(zero_deg) * random.normal(), deg(0.1));
    let counter: Vec<f64> = (0..12).map(|i| f64::from(i) + 0.5).collect();
    let readings = counter.iter().map(|_| atan(slope) + zero + noise * random.normal()).collect();
    let run = Run { by_hand: true, ..Run::new(counter, readings) };
    let mut job = Job { runs: vec![run], ..Job::default() };
    job.instrument = Instrument { zero_sd_rad: deg(zero_deg), noise_sd_rad: Some(noise), ..Instrument::exact() };
    job.report.draws = 400;
    let lateral = Lateral::solve(Lateral::in_one_pipe(job, pipe(0.1, 0.012)).unwrap()).unwrap();
    let row = lateral.capacity(asked).unwrap().reaches.remove(0);
    (lateral, row)
}

/// Of straight pipes of many slopes, read with exactly the errors stated, the intervals of what they carry have the truth in 95 of 100; so
/// have those of depth, velocity and shear. Verdicts are wrong in no more than 5.
#[test]
fn intervals_and_verdicts_keep_what_they_say() {
    const LATERALS: u64 = 600;
    let of = reference("normal-depth", "laterals with exactly the errors stated", Mark::Simulated);
    let (mut filled, mut depth, mut depths, mut velocity, mut wrong, mut decided) = (0, 0, 0, 0, 0, 0);
    for seed in 0..LATERALS {
        let mut random = Random::new(77, 1, u32::try_from(seed).unwrap());
        let slope = 0.004 + 0.036 * random.uniform();
        let truth = Uniform::new(Bore::circle(0.1).unwrap(), slope, Friction::Manning { n: 0.012 }).unwrap();
        let carries = truth.flow_m3_s(0.05);
        // About what the pipe does carry, so that a wrong verdict is near.
        let flow = carries * (0.6 + 0.8 * random.uniform());
        let row = by_hand(slope, 0.2, &asked(flow, 0.5), seed).1;
        let inside = |low: Option<f64>, truth: f64, high: Option<f64>| {
            low.is_none_or(|low| low <= truth) && high.is_none_or(|high| truth <= high)
        };
        filled += u64::from(row.filled_m3_s.is_some() && inside(row.filled_low_m3_s, carries, row.filled_high_m3_s));
        if let Some(stands) = truth.normal_depth(flow).unwrap().depth_m.filter(|_| row.depth_m.is_some()) {
            depths += 1;
            depth += u64::from(inside(row.depth_low_m, stands, row.depth_high_m));
            velocity += u64::from(inside(row.velocity_low_m_s, truth.velocity_m_s(stands), row.velocity_high_m_s));
        }
        let right = if carries >= flow { "carries" } else { "does_not_carry" };
        if ["carries", "does_not_carry"].contains(&row.verdict.as_str()) {
            decided += 1;
            wrong += u64::from(row.verdict != right);
        }
    }
    let share = |of: u64, all: u64| of as f64 / all as f64;
    // 2.6 standard errors of 95 % in 600: 2.3 %.
    for (what, covered) in
        [("flow", share(filled, LATERALS)), ("depth", share(depth, depths)), ("velocity", share(velocity, depths))]
    {
        let what = format!("share of intervals of {what} in a straight pipe that have the truth");
        of.check(what, covered, 0.95, Absolute(0.023), "2.6 standard errors of 95 % in 600");
    }
    assert!(decided > 60, "{decided} verdicts: nothing was tried");
    // 5 % of all, and 2.6 standard errors of that.
    assert!(share(wrong, LATERALS) < 0.05 + 0.023, "{wrong} of {decided} verdicts are wrong");
}

fn told(toml: &str) -> String {
    let readings = "[[reading]]\nstation = \"1 m\"\nslope = \"2 %\"\n[[reading]]\nstation = \"3 m\"\nslope = \"2 %\"\n";
    let reach = "[[reach]]\nfrom = \"0 m\"\nto = \"4 m\"\npipe = { bore = \"100 mm\", manning_n = 0.013 }\n";
    match job::read_text(&format!("{readings}{reach}{toml}"), "job.toml", &MemoryResolver::default()) {
        Err(error) => error.to_string(),
        Ok(loaded) => loaded.solve().map_or_else(|error| error.to_string(), |_| "solved".to_owned()),
    }
}

#[test]
fn faults_of_the_table_have_their_place() {
    for (toml, expected) in [
        ("[capacity]\nflow = 1.2\n", "has no unit"),
        ("[capacity]\nflow = \"1.2 l/parsec\"\n", "unit of flow"),
        ("[capacity]\nflow = \"-1 l/s\"\n", "capacity.flow"),
        ("[capacity]\nfilling = \"120 %\"\n", "capacity.filling"),
        ("[capacity]\nmanning_m = 0.01\n", "manning_n"),
        ("[capacity]\nmanning_n = 13\n", "capacity.manning_n"),
        ("[capacity]\nroughness = \"1.5\"\n", "capacity.roughness"),
        ("[capacity]\nviscosity = \"1 mm2/s\"\ntemperature = \"10 C\"\n", "both `viscosity` and `temperature`"),
        ("[capacity]\ntemperature = \"10\"\n", "not a temperature"),
        ("[capacity]\ntemperature = \"99 C\"\n", "0 to 60"),
        ("[capacity]\nleast_velocity = \"2 feet\"\n", "unit of velocity"),
        ("[capacity]\nleast_shear = \"1 bar\"\n", "unit of shear"),
        ("[capacity]\nformula = \"chezy\"\n", "manning"),
        ("[capacity.discharge]\nsystem = \"I\"\n", "frequency"),
        ("[capacity.discharge]\nfrequency = \"intermitent\"\n", "intermittent"),
        ("[capacity.discharge]\nfrequency = \"special\"\nfixtures = { bath = 1 }\n", "discharge.system"),
        ("[capacity.discharge]\nfrequency = \"special\"\nsystem = \"I\"\nfixtures = { bathe = 1 }\n", "bath"),
        (
            "[capacity]\nflow = \"1 l/s\"\n[capacity.discharge]\nfrequency = \"special\"\nunits = [\"1 l/s\"]\n",
            "either `flow` or `discharge`",
        ),
    ] {
        let said = told(toml);
        assert!(said.contains(expected) && said.contains("job.toml"), "{toml}{said}");
    }
    assert_eq!(told("[capacity]\nflow = \"20 gal/min\"\nfilling = \"50 %\"\ntemperature = \"50 F\"\n"), "solved");
}

/// Figures are in the units of their wording, in the sentences of both.
#[test]
fn both_wordings_have_their_units() {
    let said = |words| {
        let mut job = by_hand(0.02, 0.05, &asked(0.002, 0.5), 1).0.job().clone();
        job.report.words = words;
        let all = Capacity { least_velocity_m_s: Some(0.6), least_shear_pa: Some(1.0), ..asked(0.002, 0.5) };
        let carrying = Lateral::solve(job).unwrap().capacity(&all).unwrap();
        let needed = carrying.needed.iter().map(|row| row.sentence.clone());
        [carrying.whole.sentence, carrying.reaches[0].sentence.clone()].into_iter().chain(needed).collect::<String>()
    };
    let (uk, us) = (said(Words::Uk), said(Words::Us));
    for (ours, theirs) in [("l/s", "gal/min"), ("m/s", "ft/s"), (" Pa", "lb/ft2"), (" mm", " in"), ("1 in ", "in/ft")] {
        assert!(uk.contains(ours) && us.contains(theirs), "{uk}\n{us}");
        assert!(!us.contains("l/s") && !us.contains(" Pa") && !uk.contains("gal") && !uk.contains("ft"), "{uk}\n{us}");
    }
}
