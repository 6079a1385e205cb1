//! Notes: their photos, and the moment in the recording that goes with a place.

#![allow(clippy::unwrap_used, reason = "the helpers of a test may panic as the test may")]

use std::{fs, io::Cursor, path::Path};

use fallwise::{
    Answers, Job, Lateral, Run,
    condition::{MOMENT_SD_S, Moments, SLACK_SD_M},
    model::{Note, Toward},
};
use fallwise_files::{
    MemoryResolver, Photo, job, output,
    photo::{PhotoOptions, read_all},
    resolver::FolderResolver,
};
use fallwise_report::Report;
use image::{DynamicImage, ImageFormat, Rgb, RgbImage};
use peak_alloc::PeakAlloc;
use proptest::prelude::*;

#[global_allocator]
static MEMORY: PeakAlloc = PeakAlloc;

// ---------------------------------------------------------------------------------------------------------------------
// Moments
// ---------------------------------------------------------------------------------------------------------------------

/// Pushed at 0.1 m/s to 10 m, a stop of 30 s there, pulled back by 2 m, pushed on to 15 m; a reading every half second.
fn way(time_s: f64) -> f64 {
    match time_s {
        t if t < 100.0 => 0.1 * t,
        t if t < 130.0 => 10.0,
        t if t < 150.0 => 10.0 - 0.1 * (t - 130.0),
        t => 8.0 + 0.1 * (t - 150.0),
    }
}

const END_S: f64 = 220.0;

fn run() -> Run {
    let time_s: Vec<f64> = (0..=440).map(|i| 0.5 * f64::from(i)).collect();
    let counter_m: Vec<f64> = time_s.iter().map(|t| way(*t)).collect();
    let mut run = Run::new(counter_m, (0..=440).map(|i| 0.02 + 0.001 * f64::from(i % 3)).collect());
    run.time_s = Some(time_s);
    run
}

/// Differences of numbers of some hundred, added up: far above their rounding, far below a reading's spacing.
const ROUNDING: f64 = 1e-9;

#[test]
fn the_first_passing_counts() {
    let run = run();
    let moments = Moments::new(&run).unwrap().unwrap();
    for (station_m, time_s) in [(0.0, 0.0), (5.03, 50.3), (9.0, 90.0), (10.0, 100.0), (10.02, 170.2), (15.0, 220.0)] {
        let moment = moments.time_at(station_m).unwrap();
        assert!((moment.time_s - time_s).abs() < ROUNDING, "{station_m}: {moment:?}");
        // A second, and half a second of not knowing.
        assert!(moment.sd_s >= MOMENT_SD_S && moment.sd_s < 1.1 * MOMENT_SD_S, "{moment:?}");
    }
    assert_eq!((moments.time_at(15.01), moments.time_at(-0.01), moments.time_at(f64::NAN)), (None, None, None));
}

#[test]
fn the_head_is_where_the_log_says() {
    let run = run();
    let moments = Moments::new(&run).unwrap().unwrap();
    let standing = moments.station_at(115.0).unwrap();
    assert!((standing.station_m - 10.0).abs() < ROUNDING && !standing.backward);
    // Standing still, only the spacing of the readings is not known: 5 cm over sqrt(12).
    assert!(standing.sd_m < 0.02 && standing.sd_m > 0.01, "{standing:?}");
    let moving = moments.station_at(50.2).unwrap();
    assert!((moving.station_m - 5.02).abs() < ROUNDING);
    assert!(moving.sd_m > 0.1 * MOMENT_SD_S && moving.sd_m < 0.11, "{moving:?}");
    let pulled = moments.station_at(140.0).unwrap();
    assert!(pulled.backward && (pulled.station_m - 9.0).abs() < ROUNDING && pulled.sd_m > SLACK_SD_M);
    assert_eq!((moments.station_at(-0.1), moments.station_at(220.1)), (None, None));
}

#[test]
fn runs_the_other_way_and_runs_logged_while_pulling() {
    let mut other = run();
    (other.toward, other.start_station_m) = (Toward::Decreasing, 20.0);
    let moments = Moments::new(&other).unwrap().unwrap();
    assert!((moments.time_at(15.0).unwrap().time_s - 50.0).abs() < ROUNDING);
    assert!((moments.station_at(50.0).unwrap().station_m - 15.0).abs() < ROUNDING);

    let mut pulled = run();
    pulled.counter_m.iter_mut().for_each(|c| *c = 15.0 - *c);
    let moments = Moments::new(&pulled).unwrap().unwrap();
    assert!((moments.time_at(10.0).unwrap().time_s - 50.0).abs() < ROUNDING);
    // Its way is the way that counts, so only the turn in it is against it.
    assert!(!moments.station_at(50.0).unwrap().backward && moments.station_at(140.0).unwrap().backward);
}

#[test]
fn a_counter_that_was_reset_and_a_head_taken_out_and_put_in_again() {
    let mut reset = run();
    for i in 101..reset.counter_m.len() {
        reset.counter_m[i] -= 5.0;
    }
    let moments = Moments::new(&reset).unwrap().unwrap();
    assert!((moments.time_at(7.0).unwrap().time_s - 70.0).abs() < ROUNDING);

    // 0 to 5 m, back out to -0.2 m, in again.
    let mut again = Run::new(vec![0.0, 2.5, 5.0, 2.0, -0.2, 3.0, 6.0], vec![0.02; 7]);
    again.time_s = Some((0..7).map(|i| 10.0 * f64::from(i)).collect());
    let moments = Moments::new(&again).unwrap().unwrap();
    assert!((moments.time_at(2.5).unwrap().time_s - 10.0).abs() < ROUNDING);
    assert!((moments.time_at(-0.2).unwrap().time_s - 40.0).abs() < ROUNDING);
}

#[test]
fn a_time_that_orders_nothing_gives_no_moments() {
    let mut back = run();
    back.time_s.as_mut().unwrap()[7] = 0.0;
    assert_eq!(Moments::new(&back).unwrap(), None);
    back.time_s = None;
    assert_eq!(Moments::new(&back).unwrap(), None);
    back.counter_m[3] = f64::NAN;
    assert!(Moments::new(&back).is_err());
}

proptest! {
    #[test]
    fn a_place_and_its_moment_find_each_other(station_m in 0.0..15.0_f64) {
        let run = run();
        let moments = Moments::new(&run).unwrap().unwrap();
        let time_s = moments.time_at(station_m).unwrap().time_s;
        prop_assert!((moments.station_at(time_s).unwrap().station_m - station_m).abs() < ROUNDING);
        // Before that moment the head had not been there.
        prop_assert!((0..100).all(|i| way(time_s * 0.0099 * f64::from(i)) <= station_m + ROUNDING));
    }

    /// A moment read off a clock that is wrong by up to 1.7 s (sqrt 3: uniform with the stated sd) names the place within
    /// three standard deviations, or, where the head began or ended a stop just before, within what so small a part of the window can
    /// hide: moving at v for the last d of its 2 sqrt 3 s, the place is off by v d and has a variance of v² d³ / (6 sqrt 3).
    #[test]
    fn the_sd_of_a_place_is_honest(time_s in 2.0..218.0_f64, wrong in -1.7..1.7_f64) {
        let run = run();
        let moments = Moments::new(&run).unwrap().unwrap();
        let place = moments.station_at(time_s + wrong).unwrap();
        let speed = (0..2180).map(|i| (way(0.1 * f64::from(i + 1)) - way(0.1 * f64::from(i))).abs() / 0.1).fold(0.0, f64::max);
        let hidden = fallwise::math::cbrt(6.0 * 3.0_f64.sqrt() * speed * place.sd_m * place.sd_m);
        let most = (3.0 * place.sd_m).max(hidden) + ROUNDING;
        prop_assert!((place.station_m - way(time_s)).abs() <= most, "{place:?}");
    }

    #[test]
    fn any_run_has_moments_or_none(
        rows in proptest::collection::vec((-3.0..12.0_f64, 0.0..5.0_f64), 2..60),
        at in -5.0..15.0_f64,
    ) {
        let mut run = Run::new(rows.iter().map(|r| r.0).collect(), vec![0.02; rows.len()]);
        let mut time = 0.0;
        run.time_s = Some(rows.iter().map(|r| { time += r.1; time }).collect());
        if let Ok(Some(moments)) = Moments::new(&run) {
            if let Some(moment) = moments.time_at(at) {
                prop_assert!(moment.time_s >= 0.0 && moment.time_s <= time && moment.sd_s >= MOMENT_SD_S);
            }
            if let Some(place) = moments.station_at(at.abs()) {
                prop_assert!(place.station_m.is_finite() && place.sd_m > 0.0);
            }
        }
    }
}

fn note(station_m: Option<f64>, video_time_s: Option<f64>) -> Note {
    Note { station_m, text: "seen".to_owned(), video_time_s, ..Note::default() }
}

fn answers(notes: Vec<Note>, offset_s: Option<f64>) -> Answers {
    let mut job = Job { runs: vec![run()], notes, ..Job::default() };
    job.report.draws = 0;
    job.survey.video_offset_s = offset_s;
    Lateral::solve(job).unwrap().answers(None).unwrap()
}

#[test]
fn notes_get_what_they_do_not_give() {
    let a = answers(vec![note(Some(5.0), None), note(None, Some(62.0)), note(Some(5.0), Some(62.0))], Some(12.0));
    let [by_place, by_moment, both] = a.noted.as_slice() else { panic!("three notes") };
    assert!((by_place.video_time_s.unwrap() - 62.0).abs() < ROUNDING);
    let (sd, low, high) = (by_place.video_time_sd_s, by_place.video_time_low_s, by_place.video_time_high_s);
    assert!(sd.unwrap() >= MOMENT_SD_S && low.unwrap() < 60.1 && high.unwrap() > 63.9);
    assert!((by_moment.station_m.unwrap() - 5.0).abs() < ROUNDING);
    assert!(by_moment.station_sd_m.unwrap() > 0.1 && by_moment.station_low_m.unwrap() < 4.81);
    // What was given stays, and is no estimate.
    assert_eq!((both.station_m, both.video_time_s), (Some(5.0), Some(62.0)));
    assert_eq!((both.station_sd_m, both.video_time_sd_s), (None, None));
    assert!(a.notes.iter().any(|n| n.contains("the offset of the recording that the job gives")), "{:?}", a.notes);
    assert!(a.warnings.iter().all(|w| !w.contains("note")), "{:?}", a.warnings);

    let plain = answers(vec![note(Some(5.0), None)], None);
    assert!((plain.noted[0].video_time_s.unwrap() - 50.0).abs() < ROUNDING);
    assert!(plain.notes.iter().any(|n| n.contains("the recording taken to start with the log")), "{:?}", plain.notes);
    let page = Report::new(&plain).page_html().unwrap();
    assert!(page.contains("about 00:00:50 (00:00:4") && page.contains("taken to start with the log"));
}

#[test]
fn what_cannot_be_worked_out_is_said() {
    // Before the recording began; beyond the end of the log.
    let a = answers(vec![note(Some(5.0), None), note(None, Some(500.0))], Some(-60.0));
    assert_eq!((a.noted[0].video_time_s, a.noted[1].station_m), (None, None));
    assert!(a.warnings.iter().any(|w| w.starts_with("note 2 has no place")), "{:?}", a.warnings);
    assert!(Report::new(&a).page_html().unwrap().contains("place not known - noted: seen"));

    // Head and note apart by 5 m.
    let a = answers(vec![note(Some(10.0), Some(50.0))], Some(0.0));
    assert!(a.warnings.iter().any(|w| w.starts_with("note 1 stands at")), "{:?}", a.warnings);

    let mut timeless = run();
    timeless.time_s = None;
    let job = |notes| Job { runs: vec![timeless.clone()], notes, ..Job::default() };
    let a = Lateral::solve(job(vec![note(None, Some(5.0))])).unwrap().answers(None).unwrap();
    assert!(a.warnings.iter().any(|w| w.contains("no log has a time")), "{:?}", a.warnings);
    let error = Lateral::solve(job(vec![note(None, None)])).unwrap_err();
    assert!(error.to_string().contains("note.station_m[0]"), "{error}");
}

#[test]
fn water_seen_at_a_moment_is_explained_like_any_other() {
    let wet = |time| Note { water_seen: true, ..note(None, Some(time)) };
    let a = answers(vec![wet(50.0)], Some(0.0));
    assert!(
        a.water.iter().any(|w| w.sentence.starts_with("Standing water was noted at chainage 5.00 m")),
        "{:?}",
        a.water
    );
}

#[test]
fn the_job_form_takes_moments() {
    let text =
        "[survey]\nvideo_offset = \"-00:00:05\"\n[[run]]\nlog = \"l.csv\"\n[[note]]\nvideo_time = \"00:00:02\"\n";
    let log = "distance (m),tilt (deg),time (s)\n0,1.1,0\n1,1.2,5\n2,1.1,10\n3,1.1,15\n";
    let files = MemoryResolver([("l.csv".to_owned(), log.as_bytes().to_vec())].into());
    let a = Lateral::solve(job::read_text(text, "job.toml", &files).unwrap().job).unwrap().answers(None).unwrap();
    // 2 s into a recording that began 5 s after the log: 7 s, at 0.2 m/s.
    assert!((a.noted[0].station_m.unwrap() - 1.4).abs() < ROUNDING, "{:?}", a.noted);
}

// ---------------------------------------------------------------------------------------------------------------------
// Photos
// ---------------------------------------------------------------------------------------------------------------------

/// White above, black below, so that it shows how it is turned.
fn picture(width: u32, height: u32) -> DynamicImage {
    let half = |_, y| if y < height / 2 { Rgb([255; 3]) } else { Rgb([0; 3]) };
    RgbImage::from_fn(width, height, half).into()
}

fn encoded(picture: &DynamicImage, format: ImageFormat) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    picture.write_to(&mut bytes, format).unwrap();
    bytes.into_inner()
}

/// A JPEG with what a camera writes beside the picture: how it was held (6: turn right by a quarter) and where.
fn from_a_camera(picture: &DynamicImage) -> Vec<u8> {
    let plain = encoded(picture, ImageFormat::Jpeg);
    // Exif 2.3: little-endian TIFF; one directory of one entry, 0x0112 orientation, short; and a place in clear text.
    let mut exif = b"Exif\0\0II*\0\x08\0\0\0\x01\0\x12\x01\x03\0\x01\0\0\0\x06\0\0\0\0\0\0\0".to_vec();
    exif.extend(b"GPS 54.123 N 1.456 W");
    let length = u16::try_from(exif.len() + 2).unwrap().to_be_bytes();
    [&plain[..2], &[0xff, 0xe1], &length, &exif, &plain[2..]].concat()
}

fn noted(photos: &[&str]) -> Answers {
    let notes = photos.iter().map(|p| Note { photo: Some((*p).to_owned()), ..note(Some(5.0), None) }).collect();
    answers(notes, None)
}

fn read(files: &[(&str, Vec<u8>)], photos: &[&str]) -> (Answers, Vec<Photo>) {
    let files = MemoryResolver(files.iter().map(|(name, bytes)| ((*name).to_owned(), bytes.clone())).collect());
    let mut answers = noted(photos);
    let read = read_all(&mut answers, &files, PhotoOptions::default());
    (answers, read)
}

fn contains(bytes: &[u8], part: &[u8]) -> bool {
    bytes.windows(part.len()).any(|w| w == part)
}

#[test]
fn photos_are_made_small_and_known_by_their_hash() {
    let file = encoded(&picture(3000, 1500), ImageFormat::Png);
    let (answers, photos) = read(&[("a.jpg", file.clone())], &["a.jpg", "a.jpg"]);
    // A PNG by its content, whatever its name; read once for both notes.
    assert_eq!(photos.len(), 1, "{:?}", answers.warnings);
    assert_eq!((photos[0].width_px, photos[0].height_px), (1024, 512));
    let small = image::load_from_memory_with_format(&photos[0].jpeg, ImageFormat::Jpeg).unwrap().to_rgb8();
    assert_eq!(small.dimensions(), (1024, 512));
    assert!(small.get_pixel(500, 20).0[0] > 250 && small.get_pixel(500, 500).0[0] < 5);
    for note in &answers.noted {
        assert_eq!(note.photo_sha256.as_ref(), Some(&photos[0].sha256));
        assert_eq!(note.photo_bytes, Some(file.len() as u64));
    }
    let json = output::result_json(&answers).unwrap();
    assert!(json.contains(&photos[0].sha256) && json.contains("\"a.jpg\""));
    // No larger than it was.
    assert_eq!(read(&[("b", encoded(&picture(30, 20), ImageFormat::Jpeg))], &["b"]).1[0].width_px, 30);
}

#[test]
fn a_photo_is_turned_as_it_was_held_and_tells_no_more() {
    let file = from_a_camera(&picture(400, 200));
    assert!(contains(&file, b"GPS 54.123"));
    let (answers, photos) = read(&[("a.jpg", file)], &["a.jpg"]);
    assert_eq!((photos[0].width_px, photos[0].height_px), (200, 400), "{:?}", answers.warnings);
    let small = image::load_from_memory(&photos[0].jpeg).unwrap().to_rgb8();
    // What was above is right.
    assert!(small.get_pixel(190, 200).0[0] > 250 && small.get_pixel(10, 200).0[0] < 5);
    assert!(!contains(&photos[0].jpeg, b"Exif") && !contains(&photos[0].jpeg, b"GPS"));
}

#[test]
fn what_is_transparent_lies_on_white() {
    let clear = image::RgbaImage::from_pixel(20, 20, image::Rgba([0, 0, 0, 0]));
    let (_, photos) = read(&[("a.png", encoded(&clear.into(), ImageFormat::Png))], &["a.png"]);
    assert!(image::load_from_memory(&photos[0].jpeg).unwrap().to_rgb8().pixels().all(|p| p.0[0] > 250));
}

#[test]
fn a_photo_that_cannot_be_shown_is_a_warning_that_names_it() {
    let cut = {
        let whole = encoded(&picture(400, 200), ImageFormat::Png);
        whole[..whole.len() / 3].to_vec()
    };
    let files = [("text.jpg", b"no picture".to_vec()), ("empty.png", Vec::new()), ("cut.png", cut)];
    for name in ["gone.jpg", "../out.jpg", "/etc/hostname", "text.jpg", "empty.png", "cut.png"] {
        let (answers, photos) = read(&files, &[name]);
        assert!(photos.is_empty(), "{name}");
        let warned = answers.warnings.iter().filter(|w| w.contains("photo of note 1") && w.contains(name)).count();
        assert_eq!(warned, 1, "{name}: {:?}", answers.warnings);
        // What was read is named by its hash, shown or not.
        assert_eq!(answers.noted[0].photo_sha256.is_some(), files.iter().any(|f| f.0 == name), "{name}");
        assert!(Report::new(&answers).page_html().unwrap().contains("; photo "));
    }
}

/// A chunk of a PNG; its CRC is not looked at before the size is.
fn png_of_claimed_size(width: u32, height: u32) -> Vec<u8> {
    let mut bytes = encoded(&picture(8, 8), ImageFormat::Png);
    bytes[16..20].copy_from_slice(&width.to_be_bytes());
    bytes[20..24].copy_from_slice(&height.to_be_bytes());
    // CRC-32 (ISO 3309) over type and data of the first chunk.
    let crc = bytes[12..29].iter().fold(u32::MAX, |crc, byte| {
        (0..8).fold(crc ^ u32::from(*byte), |c, _| if c & 1 == 1 { (c >> 1) ^ 0xedb8_8320 } else { c >> 1 })
    });
    bytes[29..33].copy_from_slice(&(!crc).to_be_bytes());
    bytes
}

#[test]
fn a_bomb_does_not_go_off() {
    // Some hundred bytes that claim to be 10 GB.
    let (answers, photos) = read(&[("bomb.png", png_of_claimed_size(60_000, 60_000))], &["bomb.png"]);
    assert!(photos.is_empty());
    assert!(
        answers.warnings.iter().any(|w| w.contains("bomb.png") && w.contains("too large")),
        "{:?}",
        answers.warnings
    );

    // The largest that is still taken: 5000 x 4190 pixels of 8 bytes, just below 160 MiB, all of one colour.
    let file = encoded(&DynamicImage::new_rgba16(5000, 4190), ImageFormat::Png);
    assert!(file.len() < 4 << 20);
    let (answers, photos) = read_within_the_bound("large.png", file);
    assert_eq!(photos.len(), 1, "{:?}", answers.warnings);

    // The same claimed by a small JPEG, plain (SOF0) and progressive (SOF2), whose decoders begin before they know.
    let small = encoded(&picture(64, 64), ImageFormat::Jpeg);
    let frame = small.windows(2).position(|w| w == [0xff, 0xc0]).unwrap();
    for kind in [0xc0, 0xc2] {
        let mut bytes = small.clone();
        bytes[frame + 1] = kind;
        // After the marker: length (2), bits (1), height (2), width (2).
        bytes[frame + 5..frame + 7].copy_from_slice(&7000_u16.to_be_bytes());
        bytes[frame + 7..frame + 9].copy_from_slice(&7980_u16.to_be_bytes());
        read_within_the_bound("claims.jpg", bytes);
    }
}

/// Reads a photo in less memory than `LARGEST_DECODED` states; the other tests of this file run beside it and are in the
/// figure.
fn read_within_the_bound(name: &str, file: Vec<u8>) -> (Answers, Vec<Photo>) {
    MEMORY.reset_peak_usage();
    let read = read(&[(name, file)], &[name]);
    let peak_mib = MEMORY.peak_usage_as_mb();
    assert!(peak_mib < 640.0, "{name}: {peak_mib} MiB");
    read
}

#[test]
fn no_more_than_two_hundred_are_shown_and_all_are_known() {
    let small = encoded(&picture(8, 8), ImageFormat::Png);
    let names: Vec<String> = (0..202).map(|i| format!("{i}.png")).collect();
    let files: Vec<(&str, Vec<u8>)> = names.iter().map(|n| (n.as_str(), small.clone())).collect();
    let (answers, photos) = read(&files, &names.iter().map(String::as_str).collect::<Vec<_>>());
    assert_eq!(photos.len(), 200);
    assert!(answers.noted.iter().all(|n| n.photo_sha256.is_some()));
    assert_eq!(answers.warnings.iter().filter(|w| w.contains("more than 200 photos")).count(), 2);
}

#[test]
fn the_originals_are_left_alone_and_links_out_of_the_folder_are_not_followed() {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("photos");
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(folder.join("job")).unwrap();
    let file = from_a_camera(&picture(400, 200));
    fs::write(folder.join("job/a.jpg"), &file).unwrap();
    fs::write(folder.join("secret.jpg"), &file).unwrap();
    let mut photos = vec!["a.jpg"];
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink("../secret.jpg", folder.join("job/link.jpg")).unwrap();
        photos.push("link.jpg");
    }
    let mut answers = noted(&photos);
    let read = read_all(&mut answers, &FolderResolver::new(&folder.join("job")).unwrap(), PhotoOptions::default());
    assert_eq!(read.len(), 1);
    assert_eq!(fs::read(folder.join("job/a.jpg")).unwrap(), file);
    assert_eq!(fs::read_dir(folder.join("job")).unwrap().count(), photos.len());
}

#[test]
fn a_photo_stands_under_the_finding_that_it_explains() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples/demos/two-bellies/job.toml");
    let loaded = job::read(&path).unwrap();
    let book = fallwise::Rulebook::shipped(loaded.job.rules.rulebook.as_ref().unwrap()).unwrap();
    let mut answers = Lateral::solve(loaded.job).unwrap().answers(Some(&book)).unwrap();
    let photos = read_all(&mut answers, &FolderResolver::new(path.parent().unwrap()).unwrap(), PhotoOptions::default());
    let shown: Vec<_> = photos
        .iter()
        .map(|p| fallwise_report::Photo { file: &p.file, jpeg: &p.jpeg, width_px: p.width_px, height_px: p.height_px })
        .collect();
    let page = Report::new(&answers).photos(&shown).page_html().unwrap();
    assert_eq!(page.matches("<img ").count(), 1);
    // The note stands between 13.2 m and 15.2 m: the backfall from 13.0 m to 15.1 m is the shortest that it touches.
    let before = page.split_once("<img ").unwrap().0;
    assert!(before.rsplit_once("<h3>").unwrap().1.starts_with("backfall: fails"));
    assert!(page.contains("alt=\"lens under water; paper against the upper edge\""));
    assert!(page.contains("(shown under \u{201c}backfall: fails\u{201d})"));
    assert!(page.contains("13.2m.png") && page.contains(&photos[0].sha256));
    // Without a finding it stands with the other notes.
    answers.findings.clear();
    assert_eq!(Report::new(&answers).photos(&shown).page_html().unwrap().matches("<img ").count(), 1);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 128, ..ProptestConfig::default() })]

    /// A photo with any of its bytes changed, or cut anywhere, is shown or is a warning.
    #[test]
    fn a_spoilt_photo_spoils_nothing(
        changes in proptest::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 0..8),
        end in any::<prop::sample::Index>(),
        jpeg in any::<bool>(),
    ) {
        let picture = picture(40, 20);
        let mut bytes = if jpeg { from_a_camera(&picture) } else { encoded(&picture, ImageFormat::Png) };
        for (index, byte) in changes {
            let at = index.index(bytes.len());
            bytes[at] = byte;
        }
        bytes.truncate(end.index(bytes.len() + 1));
        let (answers, photos) = read(&[("a", bytes)], &["a"]);
        let warned = answers.warnings.iter().any(|w| w.contains("photo of note 1"));
        prop_assert!(warned != (photos.len() == 1));
    }
}

/// The last reading of the run is where the way ends.
#[test]
fn the_way_of_these_tests_is_the_run() {
    assert!((run().counter_m.last().unwrap() - way(END_S)).abs() < ROUNDING);
}
