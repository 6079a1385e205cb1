//! The demo jobs: what the invented pipes are, and how their logs came about.
//!
//! Harrowmere and everything in it is invented. Sizes of heads and lengths of cables are usual ones (common practice, no
//! source).

use std::fmt::Write as _;

use fallwise::{
    Error, Run,
    model::{TiltPositive, Toward},
    simulate::{self, Flaw, Flaws, Head, Rounding, Truth},
    units::{ft, percent, slope_to_tilt, tilt_to_slope, to_deg, to_ft, to_percent},
};

/// One demo.
pub struct Demo {
    /// Folder.
    pub name: &'static str,
    /// Text of its `job.toml`.
    pub job: &'static str,
    /// Its logs.
    pub logs: &'static [Log],
    /// The photos of its notes.
    pub photos: &'static [Photo],
}

/// A log of a demo's run.
pub struct Log {
    /// File name.
    pub name: &'static str,
    /// Makes it.
    pub make: fn() -> Result<String, Error>,
}

/// A photo of a demo's note.
pub struct Photo {
    /// File name.
    pub name: &'static str,
    /// Makes it.
    pub make: fn() -> Vec<u8>,
}

/// All demos, in the order of a first reading.
pub const DEMOS: [Demo; 15] = [
    Demo {
        name: "good-lateral",
        job: include_str!("demos/good-lateral/job.toml"),
        logs: &[Log { name: "log.csv", make: good_lateral }],
        photos: &[],
    },
    Demo {
        name: "two-bellies",
        job: include_str!("demos/two-bellies/job.toml"),
        logs: &[Log { name: "log.csv", make: two_bellies }],
        photos: &[Photo { name: "13.2m.png", make: lens_under_water }],
    },
    Demo {
        name: "backfall-at-main",
        job: include_str!("demos/backfall-at-main/job.toml"),
        logs: &[Log { name: "log.csv", make: backfall_at_main }],
        photos: &[],
    },
    Demo {
        name: "whole-degrees",
        job: include_str!("demos/whole-degrees/job.toml"),
        logs: &[Log { name: "log.csv", make: whole_degrees }],
        photos: &[],
    },
    Demo {
        name: "long-messy",
        job: include_str!("demos/long-messy/job.toml"),
        logs: &[Log { name: "log.csv", make: long_messy }],
        photos: &[],
    },
    Demo {
        name: "water-edges",
        job: include_str!("demos/water-edges/job.toml"),
        logs: &[Log { name: "log.csv", make: water_edges }],
        photos: &[],
    },
    Demo {
        name: "four-points",
        job: include_str!("demos/four-points/job.toml"),
        logs: &[Log { name: "log.csv", make: four_points }],
        photos: &[],
    },
    Demo {
        name: "both-ends",
        job: include_str!("demos/both-ends/job.toml"),
        logs: &[Log { name: "from-house.csv", make: from_house }, Log { name: "from-main.csv", make: from_main }],
        photos: &[],
    },
    Demo {
        name: "checked-twice",
        job: include_str!("demos/checked-twice/job.toml"),
        logs: &[Log { name: "log.csv", make: checked_twice }],
        photos: &[],
    },
    Demo { name: "by-hand", job: include_str!("demos/by-hand/job.toml"), logs: &[], photos: &[] },
    Demo {
        name: "before-relay",
        job: include_str!("demos/before-relay/job.toml"),
        logs: &[Log { name: "log.csv", make: || relay(&before_relay(), 0.03, 16) }],
        photos: &[],
    },
    Demo {
        name: "dig-sheet",
        job: include_str!("demos/dig-sheet/job.toml"),
        logs: &[Log { name: "log.csv", make: dig_sheet }],
        photos: &[],
    },
    Demo {
        name: "after-relay",
        job: include_str!("demos/after-relay/job.toml"),
        logs: &[Log { name: "log.csv", make: || relay(&after_relay(), -0.02, 17) }],
        photos: &[],
    },
    Demo {
        name: "which-metres-to-relay",
        job: include_str!("demos/which-metres-to-relay/job.toml"),
        logs: &[Log { name: "log.csv", make: || relay(&which_metres_to_relay(), 0.02, 18) }],
        photos: &[],
    },
    Demo {
        name: "too-little-fall",
        job: include_str!("demos/too-little-fall/job.toml"),
        logs: &[Log { name: "log.csv", make: too_little_fall }],
        photos: &[],
    },
];

const DEGREE: f64 = core::f64::consts::PI / 180.0;

/// Truth from breaks in metres and slopes in percent.
fn pipe(breaks_m: &[f64], slopes_percent: &[f64]) -> Truth {
    let tilt_rad = slopes_percent.iter().map(|&s| slope_to_tilt(percent(s))).collect();
    Truth { breaks_m: breaks_m.to_vec(), tilt_rad, ..Truth::default() }
}

/// Three reaches that all fall about 2.7 to 3 %; the head was checked before the run.
fn good_lateral() -> Result<String, Error> {
    let truth = pipe(&ft([0.0, 22.0, 41.0, 62.0, 88.0]), &[2.9, 2.7, 2.8, 3.0]);
    let head = Head {
        zero_rad: 0.22 * DEGREE,
        seating_push_rad: -0.03 * DEGREE,
        noise_sd_rad: 0.2 * DEGREE,
        rounding: Rounding::Degrees(0.1),
        ..Head::default()
    };
    let flaws = Flaws { counter_scale: -0.006, list: vec![Flaw::Stop { at_m: ft(41.0), readings: 30 }] };
    let log = simulate::run(&truth, &head, &flaws, 0.05, 11)?;
    Ok(table("distance_ft,tilt_deg", &log.run, |r, i| {
        format!("{:.2},{:.1}", to_ft(r.counter_m[i]), to_deg(r.reading_rad[i]))
    }))
}

/// Two bellies of 15 and 28 mm in a lateral of 24 m; the head was checked before the run.
fn two_bellies() -> Result<String, Error> {
    let truth = pipe(&[0.0, 6.0, 7.5, 13.0, 15.0, 24.0], &[2.0, -1.0, 2.4, -1.4, 2.2]);
    let head = Head {
        zero_rad: -0.18 * DEGREE,
        seating_push_rad: 0.04 * DEGREE,
        noise_sd_rad: 0.25 * DEGREE,
        rounding: Rounding::Degrees(0.1),
        ..Head::default()
    };
    let flaws = Flaws {
        counter_scale: -0.005,
        list: vec![Flaw::Stop { at_m: 6.6, readings: 60 }, Flaw::PullBack { at_m: 14.0, length_m: 1.2 }],
    };
    let log = simulate::run(&truth, &head, &flaws, 0.05, 12)?;
    Ok(table("counter_m,tilt_deg", &log.run, |r, i| format!("{:.3},{:.1}", r.counter_m[i], to_deg(r.reading_rad[i]))))
}

/// The last 2.4 m run back from the main: the water stands against the last surveyed point.
fn backfall_at_main() -> Result<String, Error> {
    let truth = pipe(&ft([0.0, 18.0, 46.0, 54.0]), &[2.4, 1.9, -2.2]);
    let head = Head {
        zero_rad: 0.1 * DEGREE,
        noise_sd_rad: 0.2 * DEGREE,
        rounding: Rounding::Percent(0.1),
        ..Head::default()
    };
    let flaws = Flaws { counter_scale: -0.004, list: Vec::new() };
    let log = simulate::run(&truth, &head, &flaws, 0.06, 13)?;
    Ok(table("cable (ft),slope (%)", &log.run, |r, i| {
        format!("{:.2},{:.1}", to_ft(r.counter_m[i]), to_percent(tilt_to_slope(r.reading_rad[i])))
    }))
}

/// A head that shows whole degrees, and nobody checked it: the honest answer is that this cannot be decided.
fn whole_degrees() -> Result<String, Error> {
    let truth = pipe(&[0.0, 9.0, 21.0], &[1.9, 2.3]);
    let head = Head {
        zero_rad: 0.12 * DEGREE,
        noise_sd_rad: 0.3 * DEGREE,
        rounding: Rounding::Degrees(1.0),
        ..Head::default()
    };
    let log = simulate::run(&truth, &head, &Flaws::default(), 0.1, 14)?;
    Ok(table("counter_m,tilt_deg", &log.run, |r, i| format!("{:.2},{:.0}", r.counter_m[i], to_deg(r.reading_rad[i]))))
}

/// Down a riser's foot at 50 degrees, then 50 m of pipe, with everything that happens on the way.
fn long_messy() -> Result<String, Error> {
    let breaks = [0.0, 1.3, 14.0, 22.0, 24.4, 38.0, 52.0];
    let mut truth = pipe(&breaks, &[0.0, 1.6, 2.4, -0.9, 2.1, 1.2]);
    truth.tilt_rad[0] = 50.0 * DEGREE;
    let head = Head {
        zero_rad: 0.15 * DEGREE,
        noise_sd_rad: 0.25 * DEGREE,
        rounding: Rounding::Degrees(0.1),
        tilt_positive: TiltPositive::Up,
        ..Head::default()
    };
    let flaws = Flaws {
        counter_scale: -0.007,
        list: vec![
            Flaw::Stop { at_m: 9.0, readings: 120 },
            Flaw::Spike { at_m: 11.2, rad: 25.0 * DEGREE },
            Flaw::Spike { at_m: 17.7, rad: -18.0 * DEGREE },
            Flaw::PullBack { at_m: 23.0, length_m: 2.5 },
            Flaw::Gap { from_m: 29.0, to_m: 30.6 },
            Flaw::Spike { at_m: 33.3, rad: 120.0 * DEGREE },
            Flaw::PullBack { at_m: 41.0, length_m: 1.0 },
            Flaw::Stop { at_m: 52.0, readings: 40 },
        ],
    };
    let log = simulate::run(&truth, &head, &flaws, 0.05, 15)?;
    Ok(table("time (s);cable (ft);tilt (deg);battery", &log.run, |r, i| {
        let time = r.time_s.as_ref().map_or(0.0, |t| t[i]);
        format!("{time:.1};{:.2};{:.1};{}", to_ft(r.counter_m[i]), to_deg(r.reading_rad[i]), 98 - i / 300)
            .replace('.', ",")
    }))
}

/// A belly of some 40 mm in 26 m, read by a head that nobody checked; the operator let water stand in it and noted its two edges.
fn water_edges() -> Result<String, Error> {
    let head = Head {
        zero_rad: 0.34 * DEGREE,
        seating_push_rad: -0.05 * DEGREE,
        noise_sd_rad: 0.22 * DEGREE,
        rounding: Rounding::Degrees(0.1),
        ..Head::default()
    };
    let flaws = Flaws { counter_scale: -0.006, list: Vec::new() };
    let log = simulate::run(&water_edges_pipe(), &head, &flaws, 0.05, 21)?;
    Ok(table("counter_m,tilt_deg", &log.run, |r, i| format!("{:.3},{:.1}", r.counter_m[i], to_deg(r.reading_rad[i]))))
}

/// The pipe of `water-edges`.
pub fn water_edges_pipe() -> Truth {
    pipe(&[0.0, 9.0, 12.0, 15.0, 26.0], &[2.4, 2.0, -1.4, 2.5])
}

/// An even lateral of 32 m whose invert was levelled at four places, one of them with the staff on a stone.
fn four_points() -> Result<String, Error> {
    let head = Head {
        zero_rad: -0.27 * DEGREE,
        seating_push_rad: 0.06 * DEGREE,
        noise_sd_rad: 0.25 * DEGREE,
        rounding: Rounding::Degrees(0.1),
        ..Head::default()
    };
    let flaws = Flaws { counter_scale: -0.004, list: Vec::new() };
    let log = simulate::run(&four_points_pipe(), &head, &flaws, 0.05, 22)?;
    Ok(table("cable (ft),slope (%)", &log.run, |r, i| {
        format!("{:.2},{:.1}", to_ft(r.counter_m[i]), to_percent(tilt_to_slope(r.reading_rad[i])))
    }))
}

/// The pipe of `four-points`.
pub fn four_points_pipe() -> Truth {
    pipe(&ft([0.0, 30.0, 64.0, 105.0]), &[2.5, 2.2, 2.7])
}

/// A drain of 24 m whose head was checked, for two planned digs.
fn dig_sheet() -> Result<String, Error> {
    let head = Head {
        zero_rad: 0.2 * DEGREE,
        seating_push_rad: -0.04 * DEGREE,
        noise_sd_rad: 0.2 * DEGREE,
        rounding: Rounding::Degrees(0.1),
        ..Head::default()
    };
    let log = simulate::run(&dig_sheet_pipe(), &head, &Flaws::default(), 0.05, 31)?;
    Ok(table("counter_m,tilt_deg", &log.run, |r, i| format!("{:.3},{:.1}", r.counter_m[i], to_deg(r.reading_rad[i]))))
}

/// The pipe of `dig-sheet`.
pub fn dig_sheet_pipe() -> Truth {
    pipe(&[0.0, 9.0, 13.0, 24.0], &[2.1, 1.2, 2.4])
}

/// The pipe of `both-ends`: 38 m, of which each run saw 24.
pub fn both_ends_pipe() -> Truth {
    pipe(&[0.0, 8.0, 15.0, 18.0, 21.0, 30.0, 38.0], &[1.7, 2.6, 0.9, 2.9, 1.4, 2.2])
}

/// From the house, as far as the cable went.
fn from_house() -> Result<String, Error> {
    one_way(Toward::Increasing, 23)
}

/// From the inspection chamber at the other end with the same head. The distance between the two was paced, 0.6 m too short.
fn from_main() -> Result<String, Error> {
    one_way(Toward::Decreasing, 24)
}

fn one_way(toward: Toward, seed: u64) -> Result<String, Error> {
    const CABLE_M: f64 = 24.0;
    let head = Head {
        zero_rad: 0.31 * DEGREE,
        seating_push_rad: if toward == Toward::Increasing { 0.05 } else { -0.03 } * DEGREE,
        noise_sd_rad: 0.2 * DEGREE,
        rounding: Rounding::Degrees(0.1),
        toward,
        ..Head::default()
    };
    let mut log = simulate::run(&both_ends_pipe(), &head, &Flaws::default(), 0.05, seed)?;
    let kept = log.run.counter_m.iter().take_while(|c| **c <= CABLE_M).count();
    log.run.counter_m.truncate(kept);
    log.run.reading_rad.truncate(kept);
    Ok(table("counter_m,tilt_deg", &log.run, |r, i| format!("{:.3},{:.1}", r.counter_m[i], to_deg(r.reading_rad[i]))))
}

/// A lateral of 20 m; the head was checked by reversal before the run and after it.
fn checked_twice() -> Result<String, Error> {
    let head = Head {
        zero_rad: 0.42 * DEGREE,
        seating_push_rad: 0.02 * DEGREE,
        noise_sd_rad: 0.2 * DEGREE,
        rounding: Rounding::Degrees(0.1),
        tilt_positive: TiltPositive::Up,
        ..Head::default()
    };
    let flaws = Flaws { counter_scale: -0.005, list: Vec::new() };
    let log = simulate::run(&checked_twice_pipe(), &head, &flaws, 0.05, 25)?;
    Ok(table("counter_m,tilt_deg", &log.run, |r, i| format!("{:.3},{:.1}", r.counter_m[i], to_deg(r.reading_rad[i]))))
}

/// The pipe of `checked-twice`.
pub fn checked_twice_pipe() -> Truth {
    pipe(&[0.0, 7.0, 12.0, 20.0], &[1.6, 1.1, 1.8])
}

/// The kitchen end falls 2.4 %, then runs back by 1.7 % for 2.5 m: a belly of 42 mm.
pub fn before_relay() -> Truth {
    pipe(&[0.0, 3.5, 6.0, 13.0, 21.0], &[2.4, -1.7, 2.1, 2.4])
}

/// The kitchen end laid anew to where the garden's pipe begins, at 1.9 %; its upper end is higher than it was.
pub fn after_relay() -> Truth {
    pipe(&[0.0, 6.0, 13.0, 21.0], &[1.9, 2.1, 2.4])
}

/// Sticks of 3 m, of which one runs backwards and the next is steep.
pub fn which_metres_to_relay() -> Truth {
    pipe(&[0.0, 6.0, 9.0, 12.0, 24.0], &[2.2, -0.6, 2.7, 2.1])
}

/// 62 ft that fall 0.51 ft in all, the middle level; the head was checked before the run.
fn too_little_fall() -> Result<String, Error> {
    let truth = pipe(&ft([0.0, 24.8, 37.2, 62.0]), &[1.05, 0.0, 1.0]);
    let head = Head {
        zero_rad: 0.16 * DEGREE,
        seating_push_rad: -0.02 * DEGREE,
        noise_sd_rad: 0.2 * DEGREE,
        rounding: Rounding::Degrees(0.1),
        ..Head::default()
    };
    let log = simulate::run(&truth, &head, &Flaws { counter_scale: -0.003, list: Vec::new() }, 0.05, 19)?;
    Ok(table("distance_ft,tilt_deg", &log.run, |r, i| {
        format!("{:.2},{:.1}", to_ft(r.counter_m[i]), to_deg(r.reading_rad[i]))
    }))
}

/// One head in both surveys: one zero error, pushed in anew each time.
fn relay(truth: &Truth, seating_deg: f64, seed: u64) -> Result<String, Error> {
    let head = Head {
        zero_rad: -0.16 * DEGREE,
        seating_push_rad: seating_deg * DEGREE,
        noise_sd_rad: 0.2 * DEGREE,
        rounding: Rounding::Degrees(0.1),
        ..Head::default()
    };
    let flaws = Flaws { counter_scale: -0.003, list: Vec::new() };
    let log = simulate::run(truth, &head, &flaws, 0.05, seed)?;
    Ok(table("counter_m,tilt_deg", &log.run, |r, i| format!("{:.3},{:.1}", r.counter_m[i], to_deg(r.reading_rad[i]))))
}

/// A drawing in the place of a photo, so that it cannot be taken for one: a round pipe, dark at its far end, with water in
/// its lower part. PNG in greys.
fn lens_under_water() -> Vec<u8> {
    const WIDTH: u32 = 480;
    const HEIGHT: u32 = 360;
    let grey = |x: u32, y: u32| {
        let (dx, dy) = (x.abs_diff(WIDTH / 2), y.abs_diff(HEIGHT / 2));
        let from_axis = (dx * dx + dy * dy).isqrt();
        let wall = match from_axis {
            0..40 => 20,
            40..170 => 40 + from_axis,
            _ => 90,
        };
        let wave = (x / 6 + y / 3).is_multiple_of(4);
        let shade = match (y > 220 && from_axis < 170, wave) {
            (true, true) => 235,
            (true, false) => wall / 2 + 30,
            (false, _) => wall,
        };
        // Joints of sticks, as rings.
        let ring = from_axis < 170 && from_axis > 40 && from_axis % 43 < 2 && y <= 220;
        u8::try_from(if ring { 10 } else { shade }).unwrap_or(255)
    };
    let picture = image::GrayImage::from_fn(WIDTH, HEIGHT, |x, y| image::Luma([grey(x, y)]));
    let mut png = std::io::Cursor::new(Vec::new());
    // Memory takes all that is written to it.
    picture.write_to(&mut png, image::ImageFormat::Png).unwrap_or_default();
    png.into_inner()
}

/// A log with its comment, header and rows.
fn table(header: &str, run: &Run, row: impl Fn(&Run, usize) -> String) -> String {
    let mut text = format!("# Invented readings, made by examples/make_demos.rs\n{header}\n");
    for i in 0..run.counter_m.len() {
        let _ = writeln!(text, "{}", row(run, i));
    }
    text
}
