#![expect(clippy::float_cmp, reason = "exact values are meant where `==` stands")]

use super::*;

fn quiet() -> Head {
    Head { noise_sd_rad: 0.0, ..Head::default() }
}

fn two_pieces() -> Truth {
    Truth { breaks_m: vec![0.0, 5.0, 10.0], tilt_rad: vec![0.02, -0.01], ..Truth::default() }
}

fn log(head: &Head, list: Vec<Flaw>) -> Simulated {
    run(&two_pieces(), head, &Flaws { list, counter_scale: 0.0 }, 0.05, 7).unwrap()
}

#[test]
fn the_head_averages_over_its_length() {
    let s = log(&quiet(), vec![]);
    let at = |m: f64| s.run.counter_m.iter().position(|c| (c - m).abs() < 1e-9).unwrap();
    // Half of the head on either side: the mean of both tilts; a third of it: the mean so weighted.
    assert!((s.run.reading_rad[at(5.0)] - 0.005).abs() < 1e-12); // rounding of sums near 0.1
    assert!((s.run.reading_rad[at(4.95)] - (0.02 * 125.0 - 0.01 * 25.0) / 150.0).abs() < 1e-12);
    assert_eq!(s.run.reading_rad[at(4.9)], 0.02);
    assert_eq!(s.true_tilt_rad[at(4.95)], 0.02);
}

#[test]
fn towards_falling_station_the_head_looks_the_other_way_and_the_zero_does_not() {
    let up = log(&Head { zero_rad: 0.003, ..quiet() }, vec![]);
    let down = log(&Head { zero_rad: 0.003, toward: Toward::Decreasing, ..quiet() }, vec![]);
    assert_eq!(up.run.reading_rad[0], 0.02 + 0.003);
    assert_eq!(down.run.reading_rad[0], 0.01 + 0.003);
    assert_eq!(down.run.station_m(0.0), 10.0);
}

#[test]
fn a_step_under_the_head_carries_its_rise() {
    let s = log(&quiet(), vec![Flaw::StepUnderHead { at_m: 2.512, rise_m: 0.01 }]);
    let sensed: f64 = s.run.reading_rad.iter().take(80).map(|r| 0.05 * (math::sin(*r) - math::sin(0.02))).sum();
    // Three readings of 50 mm see it whole: the rise, but for tilt and lip being added as angles (cosine of 4 degrees).
    assert!((sensed + 0.01).abs() < 2e-5, "{sensed}");
}

#[test]
fn each_flaw_does_what_it_says() {
    let plain = log(&quiet(), vec![]);
    let n = plain.run.counter_m.len();
    assert_eq!(n, 201);
    assert_eq!(log(&quiet(), vec![Flaw::Stop { at_m: 3.0, readings: 30 }]).run.counter_m.len(), n + 30);
    assert_eq!(log(&quiet(), vec![Flaw::PullBack { at_m: 3.0, length_m: 1.0 }]).run.counter_m.len(), n + 40);
    assert_eq!(log(&quiet(), vec![Flaw::Gap { from_m: 3.01, to_m: 4.01 }]).run.counter_m.len(), n - 20);
    let spiked = log(&quiet(), vec![Flaw::Spike { at_m: 3.01, rad: 0.2 }]);
    let odd: Vec<usize> = (0..n).filter(|&i| spiked.run.reading_rad[i] != plain.run.reading_rad[i]).collect();
    assert_eq!(odd, [61]);
    let reset = log(&quiet(), vec![Flaw::Reset { at_m: 3.01 }]);
    assert_eq!(reset.run.counter_m[61], 0.0);
    assert_eq!(reset.true_station_m, plain.true_station_m);
}

#[test]
fn the_truth_stands_beside_every_flaw() {
    let plain = log(&quiet(), vec![]);
    assert_eq!(plain.unflawed_rad, plain.run.reading_rad);
    assert!(plain.flawed.is_empty());
    let touched = |flaw| {
        let s = log(&quiet(), vec![flaw]);
        let rows: Vec<usize> = s.flawed.iter().map(|f| f.0).collect();
        let off = (0..s.unflawed_rad.len()).filter(|&i| s.unflawed_rad[i] != s.run.reading_rad[i]);
        (rows, off.collect::<Vec<usize>>(), s)
    };
    let (rows, off, s) = touched(Flaw::Frozen { from_m: 4.01, to_m: 6.01 });
    assert_eq!((rows.len(), rows[0], s.run.reading_rad[120]), (40, 81, 0.02));
    assert!(off[0] > 95 && off.iter().all(|i| rows.contains(i)));
    let (rows, off, s) = touched(Flaw::Limit { rad: 0.014 });
    assert_eq!(rows, off);
    assert_eq!((rows.len(), s.run.reading_rad[3]), (100, 0.014)); // the first piece, its end under the head too
    let (rows, off, s) = touched(Flaw::Rezero { at_m: 3.01, counter_m: 50.0 });
    assert_eq!((rows.len(), off.len(), s.run.counter_m[61]), (140, 0, 50.0));
    let (rows, off, s) = touched(Flaw::PullOut { length_m: 2.0 });
    assert_eq!((rows.len(), off.len(), s.run.counter_m.len()), (40, 0, 241));
    assert!((s.run.counter_m[240] - 8.0).abs() < 1e-9);
    let (rows, off, _) = touched(Flaw::Bend { at_m: 3.012, rad: 0.1 });
    assert_eq!((rows.len(), off), (6, rows));
    let (rows, off, s) = touched(Flaw::Motion { sd_rad: 0.01, rest_every: 4 });
    assert_eq!(rows, off);
    assert!(s.run.moving.unwrap().iter().enumerate().all(|(i, m)| *m == (i % 4 != 0)));
    let slack = [Flaw::Slack { length_m: 0.5 }, Flaw::PullBack { at_m: 6.0, length_m: 2.0 }];
    let s = log(&quiet(), slack.to_vec());
    // Way back of 2 m: the head goes 1.5 m of it, and is where the counter says once that has come back.
    let least = s.true_station_m[121..].iter().copied().fold(f64::INFINITY, f64::min);
    assert!((least - 4.5).abs() < 1e-9, "{least}");
    assert!((s.true_station_m.last().unwrap() - 10.0).abs() < 1e-9);
    let riser = Truth { breaks_m: vec![0.0, 1.0, 3.0], tilt_rad: vec![1.6, 0.02], ..Truth::default() };
    let over = Flaws { list: vec![Flaw::TurnsOver], counter_scale: 0.0 };
    let s = run(&riser, &quiet(), &over, 0.05, 7).unwrap();
    assert_eq!(s.run.reading_rad[0], 1.6 - core::f64::consts::PI);
}

#[test]
fn rounding_is_in_the_unit_of_the_log() {
    let whole = |v: f64| (v - v.round()).abs() < 1e-9; // some ulps of up to 100 after tan and atan
    let noisy = Head { noise_sd_rad: 0.01, ..Head::default() };
    let degrees = log(&Head { rounding: Rounding::Degrees(1.0), ..noisy.clone() }, vec![]);
    assert!(degrees.run.reading_rad.iter().all(|r| whole(r.to_degrees())));
    let percent = log(&Head { rounding: Rounding::Percent(0.5), ..noisy }, vec![]);
    assert!(percent.run.reading_rad.iter().all(|r| whole(200.0 * math::tan(*r))));
}

#[test]
fn noise_has_the_spread_and_correlation_asked_for() {
    let level = Truth { breaks_m: vec![0.0, 2000.0], tilt_rad: vec![0.0], ..Truth::default() };
    let head = Head { noise_sd_rad: 0.01, correlation_m: 0.5, ..Head::default() };
    let x = run(&level, &head, &Flaws::default(), 0.1, 3).unwrap().run.reading_rad;
    let mean_square =
        |lag: usize| x.iter().zip(x.iter().skip(lag)).map(|(a, b)| a * b).sum::<f64>() / (x.len() - lag) as f64 / 1e-4;
    // 20,000 readings, about 2,000 independent: sd of the variance sqrt(2/2000) = 0.032; four of them.
    assert!((mean_square(0) - 1.0).abs() < 0.13, "{}", mean_square(0));
    assert!((mean_square(5) - math::exp(-1.0)).abs() < 0.13, "{}", mean_square(5));
}

#[test]
fn the_same_seed_gives_the_same_log_and_another_another() {
    let flaws = |seed| {
        let counts = Counts { stops: 2, pull_backs: 2, spikes: 3, gaps: 1, resets: 1 };
        Flaws::scattered(0.0, 10.0, counts, seed)
    };
    let make = |seed| run(&two_pieces(), &Head::default(), &flaws(seed), 0.05, seed).unwrap();
    assert_eq!(make(5), make(5));
    assert_ne!(make(5).run.reading_rad, make(6).run.reading_rad);
    assert_eq!(flaws(5).list.len(), 9);
}

#[test]
fn what_cannot_be_made_is_refused() {
    let head = Head::default();
    let none = Flaws::default();
    let refused =
        |truth: &Truth, head: &Head, flaws: &Flaws, spacing: f64| run(truth, head, flaws, spacing, 0).is_err();
    assert!(refused(&Truth::default(), &head, &none, 0.1));
    assert!(refused(&Truth { breaks_m: vec![0.0, 0.0], tilt_rad: vec![0.0], ..Truth::default() }, &head, &none, 0.1));
    for spacing in [0.0, -1.0, f64::NAN, 1e-300] {
        assert!(refused(&two_pieces(), &head, &none, spacing));
    }
    assert!(refused(&two_pieces(), &Head { noise_sd_rad: -1.0, ..head.clone() }, &none, 0.1));
    assert!(refused(&two_pieces(), &Head { zero_rad: f64::NAN, ..head.clone() }, &none, 0.1));
    assert!(refused(&two_pieces(), &head, &Flaws { list: vec![], counter_scale: -1.0 }, 0.1));
    let spike = Flaw::Spike { at_m: f64::INFINITY, rad: 0.0 };
    assert!(refused(&two_pieces(), &head, &Flaws { list: vec![spike], counter_scale: 0.0 }, 0.1));
    let stop = Flaw::Stop { at_m: 1.0, readings: usize::MAX };
    assert!(refused(&two_pieces(), &head, &Flaws { list: vec![stop], counter_scale: 0.0 }, 0.1));
}

#[test]
fn heights_have_the_lips_that_tilts_do_not_show() {
    let lip = Lip { at_m: 4.0, rise_m: 0.006 };
    let (plain, lipped) = (two_pieces(), Truth { lips: vec![lip], ..two_pieces() });
    let with_noise = |truth: &Truth| run(truth, &Head::default(), &Flaws::default(), 0.05, 7).unwrap();
    assert_eq!(with_noise(&plain), with_noise(&lipped));
    assert_eq!(plain.height_m(0.0), 0.0);
    assert_eq!(plain.height_m(10.0), 5.0 * math::sin(0.01) - 5.0 * math::sin(0.02));
    assert_eq!(plain.height_m(-1.0), 0.0);
    assert_eq!(plain.height_m(11.0), plain.height_m(10.0));
    // Just before the lip there is nothing of it, at it all of it.
    assert_eq!(lipped.height_m(3.999), plain.height_m(3.999));
    assert_eq!(lipped.height_m(4.0), plain.height_m(4.0) + 0.006);
    assert!((lipped.fall_m(3.0, 8.0) - (plain.fall_m(3.0, 8.0) - 0.006)).abs() < 1e-15); // an ulp of a fall of 0.1 m
    assert_eq!(lipped.slope(3.0, 8.0), plain.slope(3.0, 8.0));
    assert_eq!(plain.slope(6.0, 9.0), math::sin(-0.01) / math::cos(-0.01));
    let level_m = 2.0 * math::cos(0.02) + 3.0 * math::cos(0.01);
    assert!((plain.slope(3.0, 8.0) - plain.fall_m(3.0, 8.0) / level_m).abs() < 1e-15); // an ulp of 0.01
}

#[test]
fn roll_adds_what_the_sensor_sees_of_the_side() {
    let roll = Roll { cross_rad: 0.004, amplitude_rad: 0.5, wavelength_m: 8.0, phase_rad: 0.0, logged: true };
    let (plain, rolled) = (log(&quiet(), vec![]), log(&Head { roll, ..quiet() }, vec![]));
    let logged = rolled.run.roll_rad.as_ref().unwrap();
    assert_eq!(logged.len(), 201);
    assert_eq!(logged[0], 0.0);
    // A quarter of the wavelength is 2 m, reading 40: there the roll is greatest.
    assert!((logged[40] - 0.5).abs() < 1e-12); // rounding of the argument of the sine
    assert!(logged.iter().all(|r| r.abs() <= 0.5));
    for (i, r) in logged.iter().enumerate() {
        let off = rolled.run.reading_rad[i] - plain.run.reading_rad[i];
        assert!((off - 0.004 * math::sin(*r)).abs() < 1e-15); // an ulp of 0.02
    }
    let shifted = Roll { phase_rad: core::f64::consts::FRAC_PI_2, logged: false, ..roll };
    let shifted = log(&Head { roll: shifted, ..quiet() }, vec![]);
    assert_eq!(shifted.run.roll_rad, None);
    assert!((shifted.run.reading_rad[0] - 0.02 - 0.004 * math::sin(0.5)).abs() < 1e-15);
}

#[test]
fn a_counter_slips_and_stretches() {
    let (plain, slipped) = (log(&quiet(), vec![]), log(&quiet(), vec![Flaw::Slip { at_m: 3.01, length_m: 0.2 }]));
    assert_eq!(slipped.true_station_m, plain.true_station_m);
    assert_eq!(slipped.run.reading_rad, plain.run.reading_rad);
    let missed = |s: &Simulated, i: usize| plain.run.counter_m[i] - s.run.counter_m[i];
    assert_eq!(missed(&slipped, 60), 0.0);
    // The counter stands at 3.01 m from reading 61 to 64, until the way is 3.21 m.
    assert!((slipped.run.counter_m[61] - 3.01).abs() < 1e-12 && (slipped.run.counter_m[64] - 3.01).abs() < 1e-12);
    assert!((missed(&slipped, 65) - 0.2).abs() < 1e-12 && (missed(&slipped, 200) - 0.2).abs() < 1e-12); // ulps of 10
    let back = log(&quiet(), vec![Flaw::Slip { at_m: 3.01, length_m: 0.2 }, Flaw::PullOut { length_m: 8.0 }]);
    assert!((back.run.counter_m.last().unwrap() - 1.8).abs() < 1e-9); // what was missed stays so
    assert_eq!(slipped.flawed.first(), Some(&(61, 0)));
    // 1 m of counter over 1.25 m of pipe, from 2 m on for 2.5 m: 0.5 m missed by its end, and none got back on the way back.
    let stretch = Flaw::Stretch { from_m: 2.0, to_m: 4.5, scale: 0.25 };
    let stretched = log(&quiet(), vec![stretch, Flaw::PullOut { length_m: 8.0 }]);
    assert_eq!(missed(&stretched, 40), 0.0);
    assert!((missed(&stretched, 65) - 0.25).abs() < 1e-12);
    assert!((missed(&stretched, 90) - 0.5).abs() < 1e-12 && (missed(&stretched, 200) - 0.5).abs() < 1e-12);
    let n = stretched.run.counter_m.len();
    assert!((stretched.run.counter_m[n - 1] - 2.0).abs() < 1e-9); // pulled back to 2 m, it shows 2 m
    let down = log(&Head { toward: Toward::Decreasing, ..quiet() }, vec![stretch]);
    // From the other end the stretch begins after 5.5 m of way.
    assert!(missed(&down, 110).abs() < 1e-12 && (missed(&down, 160) - 0.5).abs() < 1e-12);
    let twice = Flaws { list: vec![Flaw::Slip { at_m: 3.01, length_m: -0.2 }], counter_scale: 0.25 };
    let twice = run(&two_pieces(), &quiet(), &twice, 0.05, 7).unwrap();
    assert!((twice.run.counter_m[200] - 10.2 / 1.25).abs() < 1e-12);
    assert!((twice.run.counter_m[62] - (3.1 + 0.09) / 1.25).abs() < 1e-12); // 0.09 m of it counted twice so far
}

#[test]
fn a_filter_is_late() {
    // 0.2 m/s and 0.05 m: 0.25 s from reading to reading, so a filter of 1 s keeps exp(-1/4) of what was.
    let no_length = Head { head_length_m: 0.0, ..quiet() };
    let (plain, late) = (log(&no_length, vec![]), log(&Head { lag_s: 1.0, ..no_length.clone() }, vec![]));
    let jump = plain.run.reading_rad.iter().position(|r| *r == -0.01).unwrap();
    assert_eq!(late.run.reading_rad[..jump], plain.run.reading_rad[..jump]);
    for (k, r) in late.run.reading_rad[jump..].iter().enumerate() {
        let kept = math::exp(-0.25 * (k as f64 + 1.0));
        assert!((r - (-0.01 + 0.03 * kept)).abs() < 1e-12, "{k} {r}"); // products of rounded steps
    }
    // The area between the two is the jump times the way of one second, less half a reading by which a log lags itself.
    let behind: f64 = late.run.reading_rad.iter().zip(&plain.run.reading_rad).map(|(a, b)| 0.05 * (a - b)).sum();
    assert!((behind / 0.03 - (0.2 - 0.025)).abs() < 0.002, "{behind}"); // a sum in place of an integral
    // A head that stands catches up: 40 readings are 20 s.
    let stands = vec![Flaw::Stop { at_m: 5.0, readings: 40 }];
    let stood = log(&Head { lag_s: 1.0, ..no_length }, stands);
    assert!((stood.run.reading_rad[jump + 40] + 0.01).abs() < 1e-10); // 0.03 exp(-20)
}

#[test]
fn sources_that_cannot_be_are_refused() {
    let refused = |truth: &Truth, head: &Head, list: Vec<Flaw>| {
        run(truth, head, &Flaws { list, counter_scale: 0.0 }, 0.1, 0).is_err()
    };
    let (truth, head) = (two_pieces(), Head::default());
    assert!(!refused(&truth, &head, vec![]));
    let lip = Lip { at_m: 1.0, rise_m: f64::NAN };
    assert!(refused(&Truth { lips: vec![lip], ..two_pieces() }, &head, vec![]));
    for roll in [
        Roll { cross_rad: f64::NAN, ..Roll::default() },
        Roll { amplitude_rad: f64::INFINITY, ..Roll::default() },
        Roll { phase_rad: f64::NAN, ..Roll::default() },
        Roll { wavelength_m: 0.0, ..Roll::default() },
        Roll { wavelength_m: f64::NAN, ..Roll::default() },
    ] {
        assert!(refused(&truth, &Head { roll, ..Head::default() }, vec![]), "{roll:?}");
    }
    assert!(refused(&truth, &Head { lag_s: -1.0, ..Head::default() }, vec![]));
    assert!(refused(&truth, &head, vec![Flaw::Slip { at_m: 1.0, length_m: f64::NAN }]));
    for scale in [-1.0, f64::NAN, f64::INFINITY] {
        assert!(refused(&truth, &head, vec![Flaw::Stretch { from_m: 1.0, to_m: 2.0, scale }]));
    }
}
