use super::*;
use crate::{
    Reach,
    model::{Dig, Feature, FeatureKind, Instrument, Known, Place, RelayChoice, Tie},
    simulate::{self, Counts, Flaws, Head, Truth},
    units::deg,
};

fn job() -> Job {
    let instrument = Instrument { zero_sd_rad: deg(0.3), ..Instrument::default() };
    Job { instrument, ..Job::default() }
}

fn each(run: &Run) -> impl Iterator<Item = LiveReading> + '_ {
    (0..run.counter_m.len()).map(|i| LiveReading {
        counter_m: run.counter_m[i],
        reading_rad: run.reading_rad[i],
        time_s: run.time_s.as_ref().map(|t| t[i]),
        moving: run.moving.as_ref().map(|m| m[i]),
        roll_rad: run.roll_rad.as_ref().map(|r| r[i]),
    })
}

/// A log of 24 m with stops, pull-backs and spikes.
fn logged() -> Run {
    let counts = Counts { stops: 2, pull_backs: 2, spikes: 3, gaps: 0, resets: 0 };
    let truth = Truth { breaks_m: vec![0.0, 6.0, 9.0, 24.0], tilt_rad: vec![0.02, -0.005, 0.025], ..Truth::default() };
    simulate::run(&truth, &Head::default(), &Flaws::scattered(1.0, 22.0, counts, 7), 0.02, 5).unwrap().run
}

fn pushed(job: Job, run: &Run) -> Live {
    let mut live = Live::new(job, LiveOptions::default()).unwrap();
    each(run).for_each(|reading| live.push(reading).unwrap());
    live
}

#[test]
fn the_end_is_that_of_the_log_to_the_bit() {
    let run = logged();
    let of_log = Lateral::solve(Job { runs: vec![run.clone()], ..job() }).unwrap();
    let live = pushed(
        Job {
            runs: vec![Run {
                counter_m: vec![],
                reading_rad: vec![],
                time_s: None,
                moving: None,
                roll_rad: None,
                ..run.clone()
            }],
            ..job()
        },
        &run,
    );
    let finished = live.finish().unwrap();
    let json = |lateral: &Lateral| serde_json::to_string(&lateral.answers(None).unwrap()).unwrap();
    assert_eq!(json(&finished), json(&of_log));
}

/// What is said on the way lies within its own errors of what is said at the end, and has the belly once it is past it.
#[test]
fn what_is_provisional_agrees_with_the_end() {
    let run = logged();
    let live = pushed(job(), &run);
    let so_far = live.provisional().unwrap().unwrap();
    let end = live.finish().unwrap();
    let (from_m, to_m) = so_far.lateral.surveyed_m();
    assert!((to_m - so_far.settled_to_m).abs() < 0.2 && to_m > 22.0, "{to_m}");
    // Both have the zero error of one head, which drops out of their difference: it is the noise of the readings alone.
    let (one, other) = (so_far.lateral.fall(from_m, to_m), end.fall(from_m, to_m));
    assert!((one.value - other.value).abs() < 0.2 * other.sd, "{one:?} {other:?}");
    assert!((one.sd / other.sd - 1.0).abs() < 0.1, "{one:?} {other:?}");
    assert_eq!(so_far.lateral.pools().len(), 1);
    let told = so_far.sentence(None).unwrap().to_string();
    assert!(told.starts_with("Provisional, up to chainage 2") && told.contains("1.00 m behind the head: "), "{told}");
}

/// However many readings come, the cells are no more than the options say, and no reading of new ground is lost from them.
#[test]
fn cells_are_bounded() {
    let options = LiveOptions { most_cells: 16, cell_m: 0.01, ..LiveOptions::default() };
    let mut live = Live::new(job(), options).unwrap();
    for i in 0..20_000 {
        live.push(LiveReading { counter_m: 0.005 * f64::from(i), reading_rad: 0.02, ..LiveReading::default() })
            .unwrap();
        assert!(live.cells.len() <= 16);
        assert_eq!(live.cells.iter().map(|c| c.count).sum::<f64>(), live.len() as f64);
    }
    let so_far = live.provisional().unwrap().unwrap();
    assert!((so_far.lateral.slope_between(10.0, 80.0).unwrap().value - crate::math::tan(0.02)).abs() < 1e-6);
}

/// Pulling back adds nothing to what is provisional, and a reading at rest is no many.
#[test]
fn only_new_ground_counts() {
    let mut live = Live::new(job(), LiveOptions::default()).unwrap();
    let at = |counter_m: f64, reading_rad: f64| LiveReading { counter_m, reading_rad, ..LiveReading::default() };
    (0..100).for_each(|i| live.push(at(0.1 * f64::from(i), 0.02)).unwrap());
    let before = live.provisional().unwrap().unwrap();
    (0..90).for_each(|i| live.push(at(9.8 - 0.1 * f64::from(i), 0.5)).unwrap());
    assert_eq!(live.provisional().unwrap().unwrap(), before);
    assert_eq!(live.len(), 190);
}

#[test]
fn what_is_not_reached_is_left_out() {
    let mut whole = job();
    let feature = |station_m| Feature { kind: FeatureKind::Joint, station_m, to_m: None, text: String::new() };
    whole.features = vec![feature(3.0), feature(20.0)];
    let tie = |station_m| Tie::new(Known::Invert { at: Place::exact(station_m), elevation_m: 1.0, sd_m: 0.01 });
    whole.ties = vec![tie(0.5), tie(23.0)];
    whole.reaches = vec![
        Reach { from_m: 0.0, to_m: 24.0, ..Reach::default() },
        Reach { from_m: 24.0, to_m: 30.0, ..Reach::default() },
    ];
    whole.digs = vec![Dig::new(22.0)];
    whole.relay = Some(RelayChoice::default());
    let mut live = Live::new(whole, LiveOptions::default()).unwrap();
    let at = |i: i32| LiveReading { counter_m: 0.1 * f64::from(i), reading_rad: 0.02, ..LiveReading::default() };
    (0..20).for_each(|i| live.push(at(i)).unwrap());
    assert!(live.provisional().unwrap().is_some());
    (20..100).for_each(|i| live.push(at(i)).unwrap());
    let so_far = live.provisional().unwrap().unwrap();
    let job = so_far.lateral.job();
    assert_eq!((job.features.len(), job.ties.len(), job.reaches.len(), job.digs.len()), (1, 1, 1, 0));
    // Backwards along the stationing too.
    let run = Run { toward: crate::model::Toward::Decreasing, start_station_m: 24.0, ..Run::new(vec![], vec![]) };
    let mut live = Live::new(Job { runs: vec![run], ..so_far.lateral.job().clone() }, LiveOptions::default()).unwrap();
    (0..100).for_each(|i| live.push(at(i)).unwrap());
    let so_far = live.provisional().unwrap().unwrap();
    assert!((so_far.settled_to_m - 15.1).abs() < 1e-9, "{}", so_far.settled_to_m);
    assert_eq!(so_far.lateral.job().ties.len(), 0);
}

#[test]
fn what_cannot_be_is_refused_and_not_kept() {
    let mut live = Live::new(job(), LiveOptions { most_readings: 2, ..LiveOptions::default() }).unwrap();
    assert!(live.provisional().unwrap().is_none() && live.is_empty());
    let fails = |live: &mut Live, reading: LiveReading| live.push(reading).unwrap_err().to_string();
    assert!(fails(&mut live, LiveReading { counter_m: f64::NAN, ..LiveReading::default() }).contains("counter_m[0]"));
    assert!(fails(&mut live, LiveReading { counter_m: 1e300, ..LiveReading::default() }).contains("counter_m[0]"));
    assert!(
        fails(&mut live, LiveReading { reading_rad: f64::INFINITY, ..LiveReading::default() })
            .contains("reading_rad[0]")
    );
    live.push(LiveReading { time_s: Some(0.0), ..LiveReading::default() }).unwrap();
    assert!(fails(&mut live, LiveReading::default()).contains("time_s[1]"));
    assert!(
        fails(&mut live, LiveReading { time_s: Some(1.0), roll_rad: Some(0.1), ..LiveReading::default() })
            .contains("roll_rad[1]")
    );
    assert_eq!(live.len(), 1);
    live.push(LiveReading { time_s: Some(1.0), counter_m: 1.0, ..LiveReading::default() }).unwrap();
    assert!(
        fails(&mut live, LiveReading { time_s: Some(2.0), ..LiveReading::default() }).contains("at most 2 readings")
    );

    let refused = |job: Job, options: LiveOptions| Live::new(job, options).unwrap_err().to_string();
    assert!(refused(job(), LiveOptions { most_cells: 17, ..LiveOptions::default() }).contains("most_cells"));
    assert!(refused(job(), LiveOptions { lag_m: -1.0, ..LiveOptions::default() }).contains("lag_m"));
    assert!(refused(job(), LiveOptions { cell_m: 0.0, ..LiveOptions::default() }).contains("cell_m"));
    assert!(refused(Job { runs: vec![logged()], ..job() }, LiveOptions::default()).contains("run[0]"));
    let bad = Instrument { zero_sd_rad: -1.0, ..Instrument::default() };
    assert!(refused(Job { instrument: bad, ..job() }, LiveOptions::default()).contains("zero_sd_rad"));
}
