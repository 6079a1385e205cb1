//! What holds of single quantities in words, of photos, and of readings that come one by one.

use fallwise::{
    Answers, Instrument, Job,
    lateral::{Live, LiveOptions, LiveReading},
    model::{Note, ReportChoice},
    units::{
        Words, parse_angle, parse_flow, parse_length, parse_pressure, parse_slope, parse_station, parse_tilt,
        parse_velocity, parse_viscosity, parse_volume,
    },
};
use fallwise_files::{MemoryResolver, photo};

use super::{DRAWS, check_message};

type Read = fn(&str) -> Result<f64, fallwise::Error>;

/// Checks the readers of quantities: what is read is finite, and what can be said of it in words is read again as nearly the same.
pub fn quantity(bytes: &[u8]) -> f64 {
    let Ok(text) = core::str::from_utf8(bytes) else { return 0.0 };
    let readers: [Read; 10] = [
        parse_length,
        parse_slope,
        parse_tilt,
        parse_angle,
        parse_station,
        parse_volume,
        parse_flow,
        parse_velocity,
        parse_pressure,
        parse_viscosity,
    ];
    for read in readers {
        match read(text) {
            Ok(value) => assert!(value.is_finite(), "{text:?}: {value}"),
            Err(error) => check_message(&error.to_string()),
        }
    }
    // A length that was read is written so that it is read again, to the rounding of what is written: half of half an inch at most,
    // or of a hundredth of a metre; in the least length of a station, a tenth of a foot.
    if let Ok(length) = parse_length(text).map(f64::abs)
        && (0.0..1e6).contains(&length)
    {
        for words in [Words::Uk, Words::Us] {
            let written = words.length(length);
            let again = parse_length(&written).unwrap_or_else(|e| panic!("{written:?} of {length}: {e}"));
            assert!((again - length).abs() <= 0.0064, "{written:?} of {length}: {again}");
        }
    }
    0.0
}

/// Checks the reader of photos: a picture no larger than asked, or a warning.
pub fn photo(bytes: &[u8]) -> f64 {
    let mut answers = Answers::clone(&super::answers()[0]);
    let file = Some("a.jpg".to_owned());
    answers.job.notes = vec![Note { station_m: Some(1.0), text: "a".to_owned(), photo: file, ..Note::default() }];
    let resolver = MemoryResolver([("a.jpg".to_owned(), bytes.to_vec())].into());
    let before = answers.warnings.len();
    let photos = photo::read_all(&mut answers, &resolver, photo::PhotoOptions { longest_side_px: 64 });
    for made in &photos {
        assert!(made.width_px <= 64 && made.height_px <= 64 && made.jpeg.starts_with(&[0xFF, 0xD8]), "{made:?}");
    }
    answers.warnings[before..].iter().for_each(|warning| check_message(warning));
    0.0
}

/// Checks a run that comes reading by reading, made of the bytes: nine a reading. What is provisional is finite, and the end is that of the
/// whole log.
pub fn live(bytes: &[u8]) -> f64 {
    let job = || Job {
        instrument: Instrument::default(),
        report: ReportChoice { draws: DRAWS, ..ReportChoice::default() },
        ..Job::default()
    };
    let options = LiveOptions { most_cells: 16, most_readings: 200, ..LiveOptions::default() };
    let mut live = Live::new(job(), options).unwrap();
    for chunk in bytes.chunks_exact(9).take(250) {
        let half = |at: usize| f64::from(f32::from_le_bytes([chunk[at], chunk[at + 1], chunk[at + 2], chunk[at + 3]]));
        // Mostly the next step of the cable, now and then anything.
        let step = f64::from(chunk[8] & 0x3F) * 0.01;
        let counter_m = if chunk[8] & 0x80 == 0 { live.len() as f64 * 0.1 + step } else { half(0) };
        let reading_rad = if chunk[8] & 0x40 == 0 { half(4).clamp(-0.2, 0.2) } else { half(4) };
        let reading = LiveReading { counter_m, reading_rad, time_s: None, moving: None, roll_rad: None };
        let count = live.len();
        if let Err(error) = live.push(reading) {
            check_message(&error.to_string());
            assert_eq!(live.len(), count, "what is refused is not taken");
        }
    }
    match live.provisional() {
        Ok(Some(provisional)) => {
            let (from_m, to_m) = provisional.lateral.surveyed_m();
            assert!(from_m.is_finite() && to_m.is_finite() && from_m <= to_m);
        }
        Ok(None) => {}
        Err(error) => check_message(&error.to_string()),
    }
    match live.finish() {
        Ok(lateral) => drop(lateral.answers(None).unwrap()),
        Err(error) => check_message(&error.to_string()),
    }
    0.0
}
