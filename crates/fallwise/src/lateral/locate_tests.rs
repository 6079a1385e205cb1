use super::*;
use crate::{
    Bore, Job, Pipe, Reach, Run,
    model::{GroundPoint, Place, Tie},
    units::deg,
};

/// 20 m due east at 2 %, with two located points, levelled start, ground and landmarks: everything that a dig needs.
fn complete() -> Job {
    let count = 201;
    let run = Run {
        start_azimuth_rad: Some(0.5 * core::f64::consts::PI),
        start_azimuth_sd_rad: Some(deg(3.0)),
        start_east_m: Some(100.0),
        start_north_m: Some(200.0),
        start_plan_sd_m: Some(0.05),
        start_invert_m: Some(30.0),
        start_invert_sd_m: Some(0.01),
        ..Run::new((0..count).map(|i| 0.1 * f64::from(i)).collect(), vec![0.02; 201])
    };
    let located = |station_m: f64, sd_m: f64| {
        Tie::new(Known::Plan { at: Place::new(station_m), east_m: 100.0 + station_m, north_m: 200.0, sd_m })
    };
    let pipe = Pipe { bore: Bore::circle(0.1).ok(), wall_m: Some(0.004), ..Pipe::default() };
    let ground = |station_m: f64| GroundPoint { station_m, elevation_m: 31.4, sd_m: Some(0.02) };
    Job {
        runs: vec![run],
        ties: vec![located(11.0, 0.1), located(19.0, 0.1)],
        reaches: vec![Reach { from_m: 0.0, to_m: 20.0, pipe, ..Reach::default() }],
        ground: vec![ground(0.0), ground(20.0)],
        landmarks: vec![
            Landmark::new("gate post", 108.0, 195.0),
            Landmark::new("corner of the house", 118.0, 195.0),
            Landmark::new("far tree", 108.0, 150.0),
        ],
        digs: vec![Dig { name: "joint".into(), wanted: "the open joint".into(), ..Dig::new(12.0) }, Dig::new(25.0)],
        ..Job::default()
    }
}

fn solved(change: impl FnOnce(&mut Job)) -> Lateral {
    let mut job = complete();
    change(&mut job);
    Lateral::solve(job).unwrap()
}

fn place(change: impl FnOnce(&mut Job)) -> DigRow {
    solved(change).locate(12.0, 0.05).unwrap()
}

#[test]
fn a_place_that_is_known_is_told() {
    let row = place(|_| {});
    assert!(!row.refused && row.reasons.is_empty(), "{}", row.sentence);
    assert_eq!((row.tie_number, row.tie_name.as_str()), (Some(1), "tie 1 (plan at chainage 11.00 m)"));
    assert!(row.tie_away_m.is_some_and(|m| (m - 1.0).abs() < 0.02), "{row:?}");
    let (expect, cover, sd) = (row.expect_from_m.unwrap(), row.cover_m.unwrap(), row.cover_sd_m.unwrap());
    // 99 % of a normal is 2.326 standard deviations (standard tables).
    assert!((expect - (cover - 2.326_348 * sd)).abs() < 1e-6);
    assert!((row.by_hand_from_m.unwrap() - (expect - 0.3)).abs() < 1e-12);
    // Ground less invert less bore and wall, at 2 %.
    assert!((cover - (31.4 - row.elevation_m.unwrap() - 0.104 / (1.0 - 0.02 * 0.02 / 2.0))).abs() < 1e-6);
    assert!((row.crown_m.unwrap() - cover - 0.004).abs() < 1e-5);
    assert!(row.sentence.starts_with("At chainage 12.00 m expect the top of the pipe from 1."), "{}", row.sentence);
}

/// The error of a station goes along the pipe, not across it, and into the depth by ground and pipe alone.
#[test]
fn errors_of_the_station_go_along_the_pipe() {
    let lateral = solved(|job| job.ground[1].elevation_m = 33.4);
    let (exact, loose) = (lateral.locate(12.0, 0.0).unwrap(), lateral.locate(12.0, 0.4).unwrap());
    let squares = |a: Option<f64>, b: Option<f64>| {
        let (a, b) = (a.unwrap(), b.unwrap());
        ((a - b) * (a + b)).max(0.0).sqrt()
    };
    // The cosine of the tilt is off one by 2e-4, the scale and the direction by less than a hundredth.
    assert!((squares(loose.along_m, exact.along_m) / (Z_95 * 0.4) - 1.0).abs() < 0.02);
    assert!((loose.across_m.unwrap() - exact.across_m.unwrap()).abs() < 1e-6);
    // Ground rises 2 m in 20 m, the pipe falls 2 %.
    assert!((squares(loose.cover_sd_m, exact.cover_sd_m) / (0.4 * 0.12) - 1.0).abs() < 0.02);
    assert!(loose.expect_from_m < exact.expect_from_m);
}

#[test]
fn what_is_missing_is_named() {
    let reasons = |change: fn(&mut Job)| {
        let row = place(change);
        assert!(row.refused && row.expect_from_m.is_none() && row.by_hand_from_m.is_none(), "{row:?}");
        assert!(row.sentence.starts_with("Do not dig from this: locate first."), "{}", row.sentence);
        assert!(row.sentence.contains("missing is"), "{}", row.sentence);
        (row.reasons, row.sentence)
    };
    let start_alone = |job: &mut Job| job.ties.clear();
    assert_eq!(reasons(start_alone).0, "too_wide no_tie");
    let (names, said) = reasons(|job| {
        job.ties.clear();
        job.runs[0].start_azimuth_rad = None;
    });
    assert_eq!(names, "no_plan no_tie");
    assert!(said.contains("azimuth where the camera went in"), "{said}");
    let (names, said) = reasons(|job| job.ties.remove(0).name.clear());
    assert_eq!(names, "no_tie");
    assert!(said.contains("m away along the pipe, and 3.00 m is allowed: missing is a point located"), "{said}");
    let (names, said) = reasons(|job| job.ground[0].sd_m = None);
    assert!(names == "no_depth" && said.contains("missing is the error (sd) of the ground's elevation."), "{said}");
    assert!(reasons(|job| job.ground.clear()).1.contains("missing is the ground above it, levelled."));
    assert!(reasons(|job| job.runs[0].start_invert_m = None).1.contains("an elevation of the pipe"));
    assert!(reasons(|job| job.reaches.clear()).1.contains("missing is the bore of the pipe."));
    assert_eq!(reasons(|job| job.runs[0].start_azimuth_sd_rad = None).0, "not_stated");
    assert_eq!(reasons(|job| job.runs[0].start_plan_sd_m = None).0, "not_stated");
    assert_eq!(reasons(|job| job.digging.across_m = 0.01).0, "too_wide");
}

/// A located point that shows a neighbouring pipe is no mark to dig by.
#[test]
fn what_contradicts_itself_is_no_mark() {
    let row = place(|job| {
        let third = Known::Plan { at: Place::new(15.0), east_m: 115.0, north_m: 200.0, sd_m: 0.1 };
        job.ties.push(Tie::new(third));
        if let Known::Plan { north_m, .. } = &mut job.ties[0].known {
            *north_m += 0.45;
        }
    });
    assert_eq!(row.reasons, "contradicted", "{}", row.sentence);
    // Nor is there a depth to dig to.
    assert_eq!((row.depth_m, row.crown_m, row.cover_m, row.cover_high_m), (None, None, None, None));
    // The next one that fits, not the one that is 1 m away.
    assert_eq!(row.tie_number, Some(3));
}

#[test]
fn a_gap_in_the_readings_is_no_place_to_dig() {
    let row = place(|job| {
        let run = &mut job.runs[0];
        let keep: Vec<usize> = (0..201).filter(|i| !(105..145).contains(i)).collect();
        run.counter_m = keep.iter().map(|i| 0.1 * *i as f64).collect();
        run.reading_rad.truncate(keep.len());
    });
    assert!(row.reasons.contains("not_seen"), "{} {}", row.reasons, row.sentence);
}

#[test]
fn digs_that_were_not_surveyed_have_a_row_and_a_warning() {
    let answers = solved(|_| {}).answers(None).unwrap();
    assert_eq!(answers.digs.len(), 2);
    assert!(!answers.digs[0].refused && answers.digs[0].wanted == "the open joint");
    assert_eq!((answers.digs[1].number, answers.digs[1].reasons.as_str()), (2, "not_surveyed"));
    assert!(answers.warnings.iter().any(|w| w.contains("dig 2 at 25.00 m lies outside")), "{:?}", answers.warnings);
    assert_eq!(answers.tapes.len(), 3);
    assert!(matches!(solved(|_| {}).locate(25.0, 0.0), Err(Error::Outside { .. })));
    assert!(solved(|_| {}).locate(12.0, -1.0).unwrap_err().to_string().contains("station_sd_m"));
    assert!(solved(|_| {}).locate(f64::NAN, 0.0).unwrap_err().to_string().contains("station_m"));
}

/// Both tapes and the offset lead to the place, and the pair is the one that cuts best.
#[test]
fn tapes_lead_to_the_place() {
    let row = place(|_| {});
    assert_eq!((row.first_landmark.as_str(), row.second_landmark.as_str()), ("gate post", "corner of the house"));
    let (first, second) = ([108.0, 195.0], [118.0, 195.0]);
    let (east, north) = (row.east_m.unwrap(), row.north_m.unwrap());
    let length = |mark: [f64; 2]| math::hypot(east - mark[0], north - mark[1]);
    assert!((row.from_first_m.unwrap() - length(first)).abs() < 1e-12);
    assert!((row.from_second_m.unwrap() - length(second)).abs() < 1e-12);
    // The line runs east, so that the place north of it is to its left.
    assert!((row.tape_right_m.unwrap() + (north - 195.0)).abs() < 1e-12, "{row:?}");
    assert!(row.setting_out.contains("to the left of the line"), "{}", row.setting_out);
    // Two tapes with 51 mm each (a landmark's 50 mm and a tape's 10) that cut at an angle whose sine follows from the three sides.
    let area = 0.5 * 10.0 * (north - 195.0);
    let sine = 2.0 * area / (length(first) * length(second));
    let expected = core::f64::consts::SQRT_2 * 0.0026_f64.sqrt() / sine;
    assert!((row.set_out_sd_m.unwrap() - expected).abs() < 1e-9);
    assert!(place(|job| job.landmarks.truncate(1)).first_landmark.is_empty());
}

#[test]
fn back_from_a_point_to_the_pipe() {
    let lateral = solved(|_| {});
    let row = lateral.locate(12.0, 0.0).unwrap();
    let near = lateral.nearest(row.east_m.unwrap(), row.north_m.unwrap()).unwrap();
    assert!((near[0].station_m - 12.0).abs() < 1e-9 && near[0].away_m < 1e-9, "{near:?}");
    assert!((Z_95 * near[0].right_sd_m.unwrap() - row.across_m.unwrap()).abs() < 1e-9);
    let south = lateral.nearest(row.east_m.unwrap(), row.north_m.unwrap() - 1.0).unwrap();
    assert!((south[0].right_m - 1.0).abs() < 1e-4 && south[0].sentence.contains("to the right of the pipe"));
    let past = lateral.nearest(130.0, 200.0).unwrap();
    assert!(past[0].beyond_m > 9.0 && past[0].station_sd_m.is_none() && past[0].sentence.contains("beyond the end"));
    assert!(lateral.nearest(f64::NAN, 0.0).is_err());
    let nowhere = solved(|job| {
        job.ties.clear();
        job.runs[0].start_azimuth_rad = None;
    });
    assert!(nowhere.nearest(0.0, 0.0).unwrap().is_empty() && nowhere.tapes(12.0, 0.0).unwrap().is_empty());
}

#[test]
fn landmarks_and_digs_that_cannot_be_are_refused() {
    let told = |change: fn(&mut Job)| {
        let mut job = complete();
        change(&mut job);
        Lateral::solve(job).unwrap_err().to_string()
    };
    assert!(told(|job| job.landmarks[2].name = " gate post".into()).contains("landmark.name[2]"));
    assert!(told(|job| job.landmarks[0].name = " ".into()).contains("landmark.name[0]"));
    assert!(told(|job| job.landmarks[1].east_m = f64::NAN).contains("landmark.east_m[1]"));
    assert!(told(|job| job.landmarks[1].sd_m = -1.0).contains("landmark.sd_m[1]"));
    assert!(told(|job| job.digs[0].station_m = f64::INFINITY).contains("dig.station_m[0]"));
    assert!(told(|job| job.digs[0].station_sd_m = f64::NAN).contains("dig.station_sd_m[0]"));
    assert!(told(|job| job.digging.confidence = 1.0).contains("digging.confidence"));
    assert!(told(|job| job.digs = vec![Dig::new(1.0); 1001]).contains("at most 1000 digs"));
    let far = solved(|job| job.landmarks[2].north_m = 5000.0);
    assert!(far.warnings().iter().any(|w| w.to_string().contains("\"far tree\" lies more than 1000 m")));
}

#[test]
fn the_shallow_end_is_never_printed_deeper() {
    for k in 0..2000 {
        let m = 0.001_37 * f64::from(k);
        for words in [Words::Uk, Words::Us] {
            let printed = words.shallower_m(m);
            assert!(printed <= m + 1e-7 && printed > m - crate::units::inch(0.5) - 1e-7, "{m} {printed}");
        }
    }
    assert_eq!(words_of(Words::Uk.shallower_m(1.23)), "1.23 m");
}

fn words_of(m: f64) -> String {
    Words::Uk.length(m)
}
