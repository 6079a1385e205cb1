#![expect(clippy::float_cmp, reason = "exact values are meant where `==` stands")]

use super::*;
use crate::model::Bend;

fn straight(n: usize) -> Run {
    let counter_m = (0..n).map(|i| 0.05 * i as f64).collect();
    // Not whole steps of any display, and not constant.
    let reading_rad = (0..n).map(|i| 0.02 + 1e-3 * math::sin(1.7 * i as f64)).collect();
    Run::new(counter_m, reading_rad)
}

fn conditioned(run: &Run) -> Trace {
    condition(run, &Instrument::default(), &[]).unwrap()
}

#[test]
fn a_clean_run_passes_untouched() {
    let run = straight(100);
    let trace = conditioned(&run);
    assert_eq!(trace.station_m, run.counter_m);
    assert_eq!(trace.tilt_rad, run.reading_rad);
    assert!(trace.weight.iter().all(|w| *w == 1.0));
    assert_eq!((trace.edits.len(), trace.warnings.len(), trace.gaps_m.len()), (0, 0, 0));
    assert_eq!((trace.removed_fall_m, trace.zero_sign, trace.resolution_rad), (0.0, 1.0, 0.0));
}

#[test]
fn what_cannot_be_a_run_is_refused_with_its_place() {
    let refusal = |change: &dyn Fn(&mut Run)| {
        let mut run = straight(10);
        change(&mut run);
        condition(&run, &Instrument::default(), &[]).unwrap_err().to_string()
    };
    assert!(refusal(&|r| r.reading_rad[3] = f64::NAN).starts_with("reading_rad[3]: NaN"));
    assert!(refusal(&|r| r.counter_m[4] = f64::INFINITY).starts_with("counter_m[4]: inf"));
    assert!(refusal(&|r| r.counter_m[4] = 10_001.0).contains("unit"));
    assert!(refusal(&|r| r.reading_rad[5] = 20.0).contains("radians"));
    assert!(refusal(&|r| r.reading_rad.truncate(5)).contains("reading_rad has 5 values but counter_m has 10"));
    assert!(refusal(&|r| r.time_s = Some(vec![0.0])).contains("time_s"));
    assert!(refusal(&|r| r.time_s = Some(vec![f64::NAN; 10])).contains("time_s[0]"));
    assert!(refusal(&|r| r.time_s = Some(vec![1e300; 10])).contains("a time within 1e12 s"));
    assert!(refusal(&|r| r.source_row = Some(vec![])).contains("source_row"));
    assert!(refusal(&|r| r.counter_m.fill(3.0)).contains("length"));
    assert!(refusal(&|r| r.start_station_m = f64::NAN).contains("start_station_m"));
    assert!(
        refusal(&|r| {
            r.counter_m.truncate(1);
            r.reading_rad.truncate(1);
        })
        .contains("at least 2")
    );
    assert!(refusal(&|r| r.reading_rad.fill(2.0)).contains("usable"));
    assert!(condition(&straight(10), &Instrument::default(), &[f64::NAN]).is_err());
    let long_head = Instrument { head_length_m: -1.0, ..Instrument::default() };
    assert!(condition(&straight(10), &long_head, &[]).is_err());
}

#[test]
fn beyond_upright_is_dropped() {
    let mut run = straight(50);
    run.reading_rad[0] = 1.6;
    let trace = conditioned(&run);
    assert_eq!(trace.index[0], 1);
    assert_eq!((trace.edits[0].index, trace.edits[0].action), (0, Action::Dropped));
    assert!(trace.edits[0].reason.contains("upright"));
}

#[test]
fn near_bends_there_is_no_weight() {
    let bend = Bend::new(2.0, 0.8);
    let trace = condition(&straight(100), &Instrument::default(), &[bend.station_m]).unwrap();
    for (s, w) in trace.station_m.iter().zip(&trace.weight) {
        // 0.15 m each way; the readings at just that distance fall either way by rounding.
        let away = (s - 2.0).abs();
        if (away - 0.15).abs() > 1e-9 {
            assert_eq!(*w, if away < 0.15 { 0.0 } else { 1.0 });
        }
    }
    assert!(trace.edits.iter().all(|e| e.action == Action::Flagged && e.reason.contains("bend")));
    let all = condition(&straight(3), &Instrument::default(), &[0.05]).unwrap();
    assert!(all.warnings.iter().any(|w| w.contains("none has weight")));
}

#[test]
fn readings_by_hand_are_put_in_order_and_else_left() {
    let mut run = Run::new(vec![6.0, 0.0, 3.0, 3.001], vec![0.01, 0.5, 0.02, 0.01]);
    run.by_hand = true;
    let trace = conditioned(&run);
    assert_eq!(trace.station_m, [0.0, 3.0, 3.001, 6.0]);
    assert_eq!(trace.index, [1, 2, 3, 0]);
    assert_eq!(trace.noise_sd_rad, Instrument::NOISE_SD_RAD);
    assert_eq!((trace.edits.len(), trace.warnings.len()), (0, 1));
    run.counter_m[3] = 3.0;
    assert!(condition(&run, &Instrument::default(), &[]).unwrap_err().to_string().starts_with("counter_m[3]"));
    run.counter_m[3] = 4.0;
    run.reading_rad[2] = 1.7;
    assert!(condition(&run, &Instrument::default(), &[]).unwrap_err().to_string().starts_with("reading_rad[2]"));
}

#[test]
fn a_pull_log_gives_its_pulls_with_a_warning() {
    let mut run = straight(100);
    run.counter_m.reverse();
    let trace = conditioned(&run);
    assert_eq!(trace.station_m.len(), 100);
    assert!(trace.warnings[0].contains("pulling back"));
}

#[test]
fn without_time_a_forward_jump_is_a_gap_and_a_backward_one_a_reset() {
    let mut forward = straight(100);
    forward.counter_m.iter_mut().skip(60).for_each(|c| *c += 3.0);
    let trace = conditioned(&forward);
    assert_eq!(trace.gaps_m.len(), 1);
    assert!(trace.edits.is_empty());
    let mut backward = straight(100);
    backward.counter_m.iter_mut().skip(60).for_each(|c| *c -= 3.0);
    let trace = conditioned(&backward);
    assert_eq!(trace.edits.len(), 40);
    assert!(trace.edits.iter().all(|e| e.action == Action::Flagged && e.reason.contains("reset")));
    assert!(trace.warnings[0].contains("reset 1 time "));
    assert!((trace.station_m[99] - 4.95).abs() < 1e-12); // sums of steps of 0.05
    assert!(trace.gaps_m.is_empty());
}

#[test]
fn with_time_the_speed_of_the_cable_tells_a_jump_from_a_move() {
    let jump = |seconds: f64| {
        let mut run = straight(100);
        run.counter_m.iter_mut().skip(60).for_each(|c| *c += 3.0);
        run.time_s = Some((0..100).map(|i| 0.25 * f64::from(i) + if i < 60 { 0.0 } else { seconds }).collect());
        conditioned(&run)
    };
    assert_eq!(jump(10.0).gaps_m.len(), 1);
    let reset = jump(0.0);
    assert_eq!((reset.gaps_m.len(), reset.edits.len()), (0, 40));
}

#[test]
fn a_dwell_is_one_reading_of_weight_one() {
    let mut run = straight(60);
    run.counter_m.splice(30..30, [1.5; 40]);
    run.reading_rad.splice(30..30, [0.022; 40]);
    let trace = conditioned(&run);
    assert_eq!(trace.station_m.len(), 60);
    assert!(trace.weight.iter().all(|w| *w == 1.0));
    assert_eq!(trace.edits.len(), 41);
    assert!(trace.edits.iter().all(|e| e.action == Action::Combined));
    let mean = (40.0 * 0.022 + run.reading_rad[70]) / 41.0;
    assert!((trace.tilt_rad[30] - mean).abs() < 1e-15); // rounding of a sum of 41
}

#[test]
fn one_edit_a_reading_joins_its_reasons() {
    let mut run = straight(60);
    run.counter_m.splice(30..30, [1.5; 3]);
    run.reading_rad.splice(30..30, [0.022; 3]);
    let trace = condition(&run, &Instrument::default(), &[1.5]).unwrap();
    let edit = trace.edits.iter().find(|e| e.index == 30).unwrap();
    assert_eq!(edit.action, Action::Combined);
    assert!(edit.reason.contains("bend") && edit.reason.contains("; repeat"));
}

#[test]
fn steps_of_displays_are_found() {
    let values: Vec<f64> = (0..40).map(|i| 2.0 + (1.9 * math::sin(f64::from(i * i))).round()).collect();
    let found = |of: &dyn Fn(f64) -> f64| {
        let mut run = straight(40);
        run.reading_rad = values.iter().map(|v| of(*v)).collect();
        conditioned(&run).resolution_rad
    };
    let close = |a: f64, b: f64| (a - b).abs() < 1e-12 * b; // conversions to and fro
    assert!(close(found(&|v| v.to_radians()), 1_f64.to_radians()));
    assert!(close(found(&|v| (0.1 * v).to_radians()), 0.1_f64.to_radians()));
    assert!(close(found(&|v| math::atan(0.01 * v)), math::atan(0.01)));
    assert!(close(found(&|v| math::atan(0.0005 * v)), math::atan(0.0005)));
    assert!(close(found(&|v| math::atan(v / 96.0)), math::atan(1.0 / 96.0)));
    // A log in single precision.
    #[expect(clippy::cast_possible_truncation, reason = "the loss is what is tested")]
    let single = |v: f64| f64::from((0.1 * v) as f32).to_radians();
    assert!(close(found(&single), 0.1_f64.to_radians()));
    let given = Instrument { resolution_rad: Some(0.5), noise_sd_rad: Some(0.25), ..Instrument::default() };
    let trace = condition(&straight(10), &given, &[]).unwrap();
    assert_eq!((trace.resolution_rad, trace.noise_sd_rad), (0.5, 0.25));
}
