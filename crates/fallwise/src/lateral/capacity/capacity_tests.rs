use super::*;
use crate::{
    Bore, Pipe, Run,
    hydraulics::{Friction, Uniform},
    model::{Discharge, Feature, FeatureKind, Formula, Instrument, Job, Nominal, Reach, System, Use},
    units::{Words, deg},
};

fn pipe() -> Pipe {
    Pipe {
        bore: Some(Bore::circle(0.1).unwrap()),
        nominal: Some(Nominal::dn(100.0)),
        manning_n: Some(0.013),
        ..Pipe::default()
    }
}

fn asked() -> Capacity {
    Capacity { flow_m3_s: Some(0.002), filling: Some(0.5), ..Capacity::default() }
}

/// A lateral by hand, a reading each metre, whose head is off by up to `zero_deg`.
fn by_hand(slopes: &[f64], zero_deg: f64, words: Words) -> Lateral {
    let counter: Vec<f64> = (0..slopes.len()).map(|i| i as f64 + 0.5).collect();
    let readings: Vec<f64> = slopes.iter().map(|s| crate::math::atan(*s)).collect();
    let run = Run { by_hand: true, ..Run::new(counter, readings) };
    let mut job = Job { runs: vec![run], ..Job::default() };
    job.instrument = Instrument { zero_sd_rad: deg(zero_deg), noise_sd_rad: Some(1e-6), ..Instrument::default() };
    job.report.words = words;
    Lateral::solve(Lateral::in_one_pipe(job, pipe()).unwrap()).unwrap()
}

fn exact(breaks_m: &[f64], tilts: &[f64]) -> Lateral {
    Lateral::from_segments(breaks_m.to_vec(), tilts.to_vec(), pipe()).unwrap()
}

/// A job whose segments are given and exact.
fn given(job: Job, breaks_m: &[f64], tilts: &[f64]) -> Lateral {
    let chain = crate::Chain::new(breaks_m.to_vec(), tilts.to_vec()).unwrap();
    let posterior = crate::adjust::given(tilts.to_vec(), None, Vec::new(), &job.steps, &job.bends);
    Lateral::assemble(job, crate::lateral::source::Read::given(chain, posterior)).unwrap()
}

fn uniform(slope: f64) -> Uniform {
    Uniform::new(Bore::circle(0.1).unwrap(), slope, Friction::Manning { n: 0.013 }).unwrap()
}

#[test]
fn an_exact_pipe_carries_what_its_formula_says() {
    let lateral = exact(&[0.0, 10.0], &[crate::math::atan(0.02)]);
    let all =
        lateral.capacity(&Capacity { least_velocity_m_s: Some(0.6), least_shear_pa: Some(1.0), ..asked() }).unwrap();
    let row = &all.reaches[0];
    // The slope comes back from a sum of falls: some roundings.
    let near = |a: Option<f64>, b: f64| assert!((a.unwrap() / b - 1.0).abs() < 1e-12, "{a:?} {b}");
    near(row.filled_m3_s, uniform(0.02).flow_m3_s(0.05));
    near(row.most_m3_s, uniform(0.02).most().flow_m3_s);
    let depth = uniform(0.02).normal_depth(0.002).unwrap().depth_m.unwrap();
    near(row.depth_m, depth);
    near(row.velocity_m_s, uniform(0.02).velocity_m_s(depth));
    assert_eq!((row.filled_sd_m3_s, row.filled_low_m3_s, row.depth_sd_m), (Some(0.0), row.filled_m3_s, Some(0.0)));
    assert_eq!((row.verdict.as_str(), row.probability, row.state.as_str()), ("carries", Some(1.0), "one"));
    assert_eq!((row.clean_by_velocity.as_str(), row.clean_by_shear.as_str(), row.missing.as_str()), ("yes", "yes", ""));
    assert!(row.limiting && row.flattest_slope.is_none());
    assert_eq!((all.whole.verdict.as_str(), all.whole.limiting_reach), ("carries", Some(1)));
    assert!(row.sentence.contains("Every piece of it carries the flow of 2.00 l/s"), "{}", row.sentence);
}

/// One run whose head was not checked: the zero error decides, and nothing is called carried that the interval cannot carry.
#[test]
fn the_interval_decides() {
    let job = |slope: f64| by_hand(&[slope; 20], 0.3, Words::Uk);
    let verdict = |lateral: &Lateral, flow| {
        let all = lateral.capacity(&Capacity { flow_m3_s: Some(flow), ..asked() }).unwrap();
        all.reaches[0].verdict.clone()
    };
    let lateral = job(0.02);
    let row = lateral.capacity(&asked()).unwrap().reaches[0].clone();
    // By Manning the flow goes with the root of the slope: the standard deviation is half of the slope's, as a share.
    let share = 0.5 * row.slope_sd.unwrap() / row.slope.unwrap();
    // The derivative is taken over 0.1 % of the slope.
    assert!((row.filled_sd_m3_s.unwrap() / row.filled_m3_s.unwrap() / share - 1.0).abs() < 1e-6);
    let ends = [row.filled_low_m3_s.unwrap(), row.filled_m3_s.unwrap(), row.filled_high_m3_s.unwrap()];
    assert!(ends[0] < ends[1] && ends[1] < ends[2]);
    assert_eq!(verdict(&lateral, 0.9 * ends[0]), "carries");
    assert_eq!(verdict(&lateral, ends[1]), "not_decided");
    assert_eq!(verdict(&lateral, 1.05 * ends[2]), "does_not_carry");
    let depths = [row.depth_low_m.unwrap(), row.depth_m.unwrap(), row.depth_high_m.unwrap()];
    assert!(depths[0] < depths[1] && depths[1] < depths[2]);
    // So flat that it may not fall: at the low end it carries nothing, and no depth is defined there.
    let flat = job(0.003).capacity(&asked()).unwrap().reaches[0].clone();
    assert_eq!((flat.filled_low_m3_s, flat.depth_high_m, flat.verdict.as_str()), (Some(0.0), None, "not_decided"));
}

/// A reach that carries the flow at its mean slope and not over a flat piece of it is between the two bounds.
#[test]
fn a_flat_piece_is_not_hidden_by_the_mean() {
    let lateral = exact(&[0.0, 10.0, 14.0, 24.0], &[0.02, 0.002, 0.02]);
    let row = lateral.capacity(&asked()).unwrap().reaches[0].clone();
    assert_eq!((row.flattest_from_m, row.flattest_to_m), (Some(10.0), Some(14.0)));
    assert!(row.filled_m3_s > row.flow_m3_s && row.flattest_filled_m3_s < row.flow_m3_s);
    assert_eq!(
        (row.verdict.as_str(), row.probability, row.every_piece_probability),
        ("not_decided", Some(1.0), Some(0.0))
    );
    assert!(row.sentence.contains("every piece would have to fall"), "{}", row.sentence);
    // A piece of half a metre is taken together with its neighbour.
    let short = exact(&[0.0, 10.0, 10.5, 20.0], &[0.02, 0.002, 0.02]).capacity(&asked()).unwrap();
    assert_eq!((short.reaches[0].verdict.as_str(), short.reaches[0].flattest_to_m), ("carries", Some(20.0)));
}

#[test]
fn carries_is_never_said_beside_a_belly_without_the_belly() {
    // Backfall: no flow is uniform, so nothing is called carried; and the belly stands in row and sentence.
    let sag = exact(&[0.0, 10.0, 12.0, 20.0], &[0.03, -0.01, 0.03]);
    let all = sag.capacity(&asked()).unwrap();
    let row = &all.reaches[0];
    assert_eq!((row.verdict.as_str(), row.pools.as_str(), row.bellies_found), ("not_decided", "1", 1), "{row:?}");
    assert!(row.sentence.contains("belly 1") && row.sentence.contains("runs backwards"), "{}", row.sentence);
    assert!(all.whole.sentence.contains("limits it: where it runs backwards"), "{}", all.whole.sentence);
    // No velocity where it runs backwards, and no capacity of a mean with a backfall in it.
    let mixed = exact(&[0.0, 10.0, 10.5, 20.0], &[0.02, -0.01, 0.02]);
    let whole = mixed.capacity(&Capacity { least_velocity_m_s: Some(0.1), ..asked() }).unwrap();
    let told = &whole.reaches[0].sentence;
    assert!(told.contains("with what runs backwards in it") && !told.contains("at that filling"), "{told}");
    assert!(told.contains("does not reach a velocity of 0.10 m/s where the pipe runs backwards"), "{told}");
    // A lip holds water where nothing runs backwards: what carries the flow is said apart from the belly.
    let mut job = sag.job().clone();
    job.steps = vec![serde_json::from_str(r#"{"station_m": 10.0, "rise_m": 0.02, "rise_sd_m": 0.0}"#).unwrap()];
    let lip = given(job, &[0.0, 20.0], &[0.02]).capacity(&asked()).unwrap();
    let row = &lip.reaches[0];
    assert_eq!((row.verdict.as_str(), row.pools.as_str()), ("carries", "1"), "{row:?}");
    assert!(row.sentence.contains("Apart from belly 1, where no flow is uniform, every piece"), "{}", row.sentence);
    assert!(lip.whole.sentence.contains("Apart from one belly"), "{}", lip.whole.sentence);
}

#[test]
fn a_level_or_backfalling_reach_limits_and_has_no_capacity() {
    for tilt in [0.0, -0.01] {
        let mut job = exact(&[0.0, 10.0, 20.0], &[0.02, tilt]).job().clone();
        job.reaches = [(0.0, 10.0), (10.0, 20.0)]
            .map(|(from_m, to_m)| Reach { from_m, to_m, pipe: pipe(), ..Reach::default() })
            .to_vec();
        let all = given(job, &[0.0, 10.0, 20.0], &[0.02, tilt]).capacity(&asked()).unwrap();
        let [first, second] = all.reaches.as_slice() else { panic!("{all:?}") };
        assert_eq!((first.verdict.as_str(), second.verdict.as_str()), ("carries", "no_uniform_flow"), "{all:?}");
        assert!(second.limiting && !first.limiting && second.most_m3_s.is_none() && second.depth_m.is_none());
        assert_eq!(second.state, if tilt == 0.0 { "no_fall" } else { "backfall" });
        assert_eq!((all.whole.verdict.as_str(), all.whole.limiting_reach), ("no_uniform_flow", Some(2)));
        assert!(all.whole.sentence.contains("no capacity is defined"), "{}", all.whole.sentence);
    }
}

/// The rule of the slope was chosen for less flow than is reckoned with here.
#[test]
fn flows_at_odds_are_said() {
    let with = |fact: &str, on_the_reach: bool| {
        let mut job = exact(&[0.0, 10.0], &[0.02]).job().clone();
        let facts = alloc::collections::BTreeMap::from([("peak_flow".to_owned(), fact.to_owned())]);
        if on_the_reach {
            job.reaches[0].facts = facts;
        } else {
            job.rules.facts = facts;
        }
        given(job, &[0.0, 10.0], &[0.02]).capacity(&asked()).unwrap().whole.sentence
    };
    for on_the_reach in [false, true] {
        let told = with("below 1 l/s", on_the_reach);
        assert!(
            told.contains("peak flow is below 1 l/s, and the flow here is 2.00 l/s: one of the two is wrong"),
            "{told}"
        );
        for fits in ["below 3 l/s", "above 1 l/s", "below the weir"] {
            assert!(!with(fits, on_the_reach).contains("is wrong"));
        }
    }
}

#[test]
fn what_is_missing_is_named_and_nothing_is_guessed() {
    let lateral = |pipe: Pipe| Lateral::from_segments(vec![0.0, 10.0], vec![0.02], pipe).unwrap();
    let missing = |pipe: Pipe, asked: &Capacity| lateral(pipe).capacity(asked).unwrap().reaches[0].clone();
    let row = missing(Pipe::default(), &Capacity::default());
    assert_eq!(
        (row.missing.as_str(), row.verdict.as_str()),
        ("bore, manning_n or roughness, flow, filling", "input_missing")
    );
    assert!(row.most_m3_s.is_none() && row.sentence.contains("does not give the bore of the pipe and Manning's n"));
    let row = missing(pipe(), &Capacity { filling: None, ..asked() });
    assert_eq!((row.missing.as_str(), row.verdict.as_str()), ("filling", "input_missing"));
    assert!(row.most_m3_s.is_some() && row.depth_m.is_some() && row.filled_m3_s.is_none());
    let row = missing(pipe(), &Capacity { flow_m3_s: None, ..asked() });
    assert!(row.filled_m3_s.is_some() && row.sentence.contains("does not give the flow to carry"), "{}", row.sentence);
    // Both roughnesses of a pipe: which formula?
    let both = Pipe { roughness_m: Some(0.001), ..pipe() };
    assert_eq!(missing(both.clone(), &asked()).missing, "formula");
    let by = |formula| missing(both.clone(), &Capacity { formula: Some(formula), ..asked() });
    assert_eq!((by(Formula::Manning).manning_n, by(Formula::ColebrookWhite).roughness_m), (Some(0.013), Some(0.001)));
    assert_eq!(by(Formula::ColebrookWhite).viscosity_m2_s, Some(1.31e-6));
    let none = Pipe { manning_n: None, ..pipe() };
    assert_eq!(missing(none.clone(), &Capacity { formula: Some(Formula::Manning), ..asked() }).missing, "manning_n");
    // The job's own for pipes that give none; the pipe's goes before it.
    let general = Capacity { manning_n: Some(0.010), ..asked() };
    assert_eq!((missing(none, &general).manning_n, missing(pipe(), &general).manning_n), (Some(0.010), Some(0.013)));
}

/// EN 12056-2: sixteen dwellings as in standards of design (computed by the formula: 4.427 l/s).
#[test]
fn the_flow_may_come_from_discharge_units() {
    let fixtures = ["WC with 6.0 l cistern", "wash basin", "bath", "kitchen sink", "washing machine up to 6 kg"];
    let discharge = Discharge {
        frequency: Use::Intermittent,
        system: Some(System::I),
        fixtures: fixtures.map(|name| (name.to_owned(), 16)).into(),
        units_m3_s: vec![],
        continuous_m3_s: Some(0.0001),
    };
    let asked = Capacity { flow_m3_s: None, discharge: Some(discharge.clone()), ..asked() };
    let all = exact(&[0.0, 10.0], &[0.02]).capacity(&asked).unwrap();
    // Four figures, and a tenth of a litre added.
    assert!((all.whole.flow_m3_s.unwrap() - 0.004527).abs() < 1e-6);
    assert_eq!((all.whole.flow_from.as_str(), all.whole.verdict.as_str()), ("discharge_units", "does_not_carry"));
    assert!(all.whole.sentence.contains("EN 12056-2"), "{}", all.whole.sentence);
    let refused = |change: &dyn Fn(&mut Discharge)| {
        let mut discharge = discharge.clone();
        change(&mut discharge);
        let asked = Capacity { discharge: Some(discharge), ..asked.clone() };
        exact(&[0.0, 10.0], &[0.02]).capacity(&asked).unwrap_err().to_string()
    };
    assert!(refused(&|d| d.system = None).contains("discharge.system"));
    let nothing = refused(&|d| (d.fixtures, d.continuous_m3_s) = (alloc::collections::BTreeMap::new(), None));
    assert!(nothing.contains("discharge"), "{nothing}");
    assert!(refused(&|d| d.units_m3_s = vec![f64::NAN]).contains("units_m3_s"));
    assert!(refused(&|d| _ = d.fixtures.insert("wash basn".into(), 1)).contains("wash basin"));
}

#[test]
fn what_it_would_take_stands_in_a_fixed_order() {
    let lateral = by_hand(&[0.005; 10], 0.02, Words::Us);
    let asked = Capacity { least_velocity_m_s: Some(0.6), least_shear_pa: Some(1.0), ..asked() };
    let all = lateral.capacity(&asked).unwrap();
    let kinds: Vec<&str> = all.needed.iter().map(|n| n.kind.as_str()).collect();
    let slopes = ["slope_for_flow", "slope_for_velocity", "slope_for_shear"];
    let rest = ["fall_there_is", "fall_missing", "bore_for_flow", "size_for_flow", "size_for_flow"];
    assert_eq!(kinds, [&slopes[..], &rest[..]].concat());
    let [flow, velocity, shear, there, missing, bore, sn_4, _] = all.needed.as_slice() else { panic!("{kinds:?}") };
    let near = |a: f64, b: f64| assert!((a / b - 1.0).abs() < 1e-9, "{a} {b}");
    // Each is what it says: the slope carries the flow half full, runs at that velocity, has that shear.
    near(uniform(flow.slope.unwrap()).flow_m3_s(0.05), 0.002);
    let at = uniform(velocity.slope.unwrap());
    near(at.velocity_m_s(at.normal_depth(0.002).unwrap().depth_m.unwrap()), 0.6);
    let at = uniform(shear.slope.unwrap());
    near(crate::hydraulics::shear_pa(&at, at.normal_depth(0.002).unwrap().depth_m.unwrap()), 1.0);
    near(flow.fall_m.unwrap() - there.fall_m.unwrap(), missing.fall_m.unwrap());
    assert_eq!(missing.fall_sd_m, there.fall_sd_m);
    let d = bore.bore_m.unwrap();
    let slope = all.reaches[0].slope.unwrap();
    let round = Uniform::new(Bore::circle(d).unwrap(), slope, Friction::Manning { n: 0.013 }).unwrap();
    near(round.flow_m3_s(0.5 * d), 0.002);
    assert!(all.reaches[0].slope_low > Some(0.0));
    assert!(bore.bore_low_m < bore.bore_m && bore.bore_m < bore.bore_high_m);
    assert_eq!(sn_4.size, "EN 1401 SN 4 DN 110");
    assert!(sn_4.carries_m3_s >= Some(0.002) && sn_4.bore_m > bore.bore_m);
    assert!(flow.sentence.contains("31.7 gal/min") && missing.sentence.contains("it lacks"), "{flow:?} {missing:?}");
}

/// Joints end the pieces; where there are none, the segments do.
#[test]
fn pieces_go_from_joint_to_joint() {
    let mut job = by_hand(&[0.02, 0.02, 0.02, 0.01, 0.01, 0.01, 0.02, 0.02, 0.02], 0.0, Words::Uk).job().clone();
    let joint = |station_m| Feature { kind: FeatureKind::Joint, station_m, to_m: None, text: String::new() };
    job.features = vec![joint(3.0), joint(6.0)];
    job.capacity = Some(asked());
    let answers = Lateral::solve(job).unwrap().answers(None).unwrap();
    let row = &answers.capacity[0];
    assert_eq!((row.flattest_from_m, row.flattest_to_m), (Some(3.0), Some(6.0)));
    assert!(answers.carrying.is_some() && !answers.needed.is_empty());
    assert!(answers.not_covered.iter().any(|said| said.contains("uniform flow in a pipe without deposits")));
}

#[test]
fn numbers_that_no_drain_has_are_refused_by_name() {
    let lateral = exact(&[0.0, 10.0], &[0.02]);
    let refused = |asked: Capacity| lateral.capacity(&asked).unwrap_err().to_string();
    for bad in [f64::NAN, -1.0, f64::INFINITY] {
        assert!(refused(Capacity { flow_m3_s: Some(bad), ..asked() }).contains("flow_m3_s"));
        assert!(refused(Capacity { filling: Some(bad), ..asked() }).contains("filling"));
        assert!(refused(Capacity { manning_n: Some(bad), ..asked() }).contains("manning_n"));
        assert!(refused(Capacity { roughness_m: Some(bad), ..asked() }).contains("roughness_m"));
        assert!(refused(Capacity { viscosity_m2_s: Some(bad), ..asked() }).contains("viscosity_m2_s"));
        assert!(refused(Capacity { least_velocity_m_s: Some(bad), ..asked() }).contains("least_velocity_m_s"));
        assert!(refused(Capacity { least_shear_pa: Some(bad), ..asked() }).contains("least_shear_pa"));
    }
    let mut job = lateral.job().clone();
    job.reaches[0].pipe.manning_n = Some(7.0);
    job.as_built = lateral_as_built();
    assert!(Lateral::solve(job).unwrap_err().to_string().contains("reach.pipe.manning_n"));
}

fn lateral_as_built() -> Vec<crate::model::AsBuilt> {
    [(0.0, 1.0), (10.0, 0.8)]
        .map(|(station_m, invert_m)| crate::model::AsBuilt { station_m, invert_m, sd_m: None })
        .to_vec()
}
