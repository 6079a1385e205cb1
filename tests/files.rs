//! Files: logs and jobs in, results out; every fault with its place and in exact words.

#![allow(clippy::unwrap_used, reason = "helpers of tests, which clippy does not take for tests")]

use std::{fs, path::PathBuf};

use fallwise::{
    Answers, Bore, Instrument, Job, Pipe,
    answers::{
        AdjustmentRow, AsBuiltRow, FindingRow, InputRow, NextRow, ReachRow, SegmentRow, TieRow, WaterRow, WithoutRow,
    },
    model::{
        self, AsBuilt, AsBuiltUse, Bend, Capacity, Discharge, Feature, FeatureKind, Flow, Formula, GroundPoint,
        KeepOut, KeptOver, Known, MovableConnection, Nominal, Note, Origin, Reach, RelayChoice, RelayCosts,
        RelaySurface, ReportChoice, ReversalCheck, RulesChoice, Run, Seen, SegmentChoice, SizeUnit, Step, Survey,
        System, TRANSMITTER_ABOVE_M, Tie, TiltPositive, Use, Work,
    },
    units::{Words, deg, ft, in_per_ft, inch, percent, slope_to_tilt},
};
use fallwise_files::{
    FolderResolver, LogFormat, LogTable, MemoryResolver, Place, Resolver, job,
    log::{self, DecimalMark, Delimiter, TimeUnit},
    output,
};

fn read_log(text: &str) -> LogTable {
    log::read(text.as_bytes(), &LogFormat::default()).unwrap()
}

fn log_fault(bytes: &[u8]) -> String {
    log::read(bytes, &LogFormat::default()).unwrap_err().in_file("log.csv").to_string()
}

fn files(names: &[(&str, &str)]) -> MemoryResolver {
    MemoryResolver(names.iter().map(|(n, text)| ((*n).to_owned(), text.as_bytes().to_vec())).collect())
}

fn job_fault(text: &str) -> String {
    let log = "cable (m),tilt (deg)\n0,-1.2\n0.5,-1.1\n";
    job::read_text(text, "job.toml", &files(&[("log.csv", log), ("b.csv", &log.replace("1.1", "1.3"))]))
        .unwrap_err()
        .to_string()
}

/// A new folder of this test's own; left behind where the test fails.
fn scratch(name: &str) -> PathBuf {
    let folder = std::env::temp_dir().join(format!("fallwise-files-{}-{name}", std::process::id()));
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    folder
}

// Logs

#[test]
fn every_way_of_writing_a_log_gives_the_same_readings() {
    let variants = [
        "distance (m),tilt (deg)\n0.0,1.2\n0.5,-1.1\n",
        "distance (m);tilt (deg)\n0,0;1,2\n0,5;-1,1\n",
        "distance (m)\ttilt (deg)\n0.0\t1.2\n0.5\t-1.1",
        "\u{feff}distance (m),tilt (deg)\r\n0.0,1.2\r\n0.5,-1.1\r\n",
        "# head 3, \"new\nDistance [m], Tilt [deg]\n\n 0.0 , 1.2 \n# pause\n,\n0.5,-1.1\n",
        "cable_out_m,tilt_deg\n0,+1.2\n5e-1,-1.10\n",
        "Chainage, m;Pitch, deg\n0,0;1,2\n0,5;-1,1\n",
        "counter,tilt\n(m),(deg)\n0.0,1.2\n0.5,-1.1\n",
        "\"distance (m)\",\"tilt (deg)\"\n\"0,0\",\"1,2\"\n\"0,5\",\"-1,1\"\n",
        "tilt (deg),distance (m)\n1.2,0.0\n-1.1,0.5\n",
        "distance (cm),tilt (deg),\n0,1.2,\n50,-1.1,\n",
    ];
    for text in variants {
        let table = read_log(text);
        assert_eq!(table.counter_m, [0.0, 0.5], "{text}");
        assert_eq!(table.reading_rad, [deg(1.2), deg(-1.1)], "{text}");
    }
}

#[test]
fn what_is_found_and_what_is_odd_is_said() {
    let table = read_log("distance (ft);grade [%];time;remark\n0,0;2,5;1;start\n;;;\n\n1,0;2;2;\"a; \"\"b\"\"\"\n");
    assert_eq!(table.counter_m, [0.0, ft(1.0)]);
    assert_eq!(table.reading_rad, [slope_to_tilt(percent(2.5)), slope_to_tilt(percent(2.0))]);
    assert_eq!(table.source_row, [2, 5]);
    assert_eq!(table.time_s, None);
    assert_eq!(
        table.found,
        [
            "delimiter: semicolon",
            "decimal mark: comma",
            "counter: column \"distance (ft)\", ft",
            "reading: column \"grade [%]\", %"
        ]
    );
    assert_eq!(
        table.warnings,
        ["column \"time\" has no unit and is not used as time", "1 row of empty cells passed over"]
    );
    let crlf = read_log("# a\r\n\r\ndistance (m),tilt (deg)\r\n\r\n# b\r\n0,1\r\n1,1\r\n\r\n2,1");
    assert_eq!(crlf.source_row, [6, 7, 9]);
    let names: Vec<&str> = table.extra.iter().map(log::TextColumn::name).collect();
    assert_eq!(names, ["time", "remark"]);
    assert_eq!(table.extra[1].iter().collect::<Vec<_>>(), ["start", "a; \"b\""]);
    assert_eq!((table.extra[1].len(), table.extra[1].get(2)), (2, None));
}

#[test]
fn times_are_numbers_or_clocks() {
    let clock = read_log("distance (m),tilt (deg),time\n0,1,2024-05-01T23:59:59Z\n1,1,2024-05-02T00:00:01Z\n");
    assert_eq!(clock.time_s, Some(vec![0.0, 2.0]));
    let minutes = read_log("distance (m),tilt (deg),time (min)\n0,1,1\n1,1,1.5\n");
    assert_eq!(minutes.time_s, Some(vec![60.0, 90.0]));
    let format = LogFormat { time: Some("t".to_owned()), time_unit: Some(TimeUnit::Millisecond), ..Default::default() };
    let given = log::read(b"distance (m),tilt (deg),t\n0,1,500\n1,1,1500\n", &format).unwrap();
    assert_eq!(given.time_s, Some(vec![0.5, 1.5]));
}

#[test]
fn what_is_given_goes_before_what_is_found() {
    let format = LogFormat {
        counter: Some("Kabel".to_owned()),
        counter_unit: "m".parse().ok(),
        reading: Some("b".to_owned()),
        reading_unit: "in/ft".parse().ok(),
        delimiter: Some(Delimiter::Semicolon),
        decimal: Some(DecimalMark::Comma),
        ..LogFormat::default()
    };
    let table = log::read(b"kabel;a;b\n1,000;x;0,25\n2,000;y;0,5\n", &format).unwrap();
    assert_eq!(table.counter_m, [1.0, 2.0]);
    assert_eq!(table.reading_rad, [0.25, 0.5].map(|s| slope_to_tilt(in_per_ft(s))));
    assert_eq!(table.found.len(), 2, "only the columns: {:?}", table.found);
}

#[test]
fn faults_of_a_log_are_named_by_row_and_column() {
    let faults: &[(&str, &str)] = &[
        ("", "log.csv: the log is empty; expected a header row and at least two readings"),
        (
            "distance (m)\n1\n2\n",
            "log.csv: the log has one column only; expected a header and rows of at least two cells, parted by commas, semicolons or tabs",
        ),
        (
            "distance (m),tilt (deg)\n0,1\n1,x\n",
            "log.csv, row 3, column \"tilt (deg)\": \"x\" given; expected a number with a decimal point",
        ),
        (
            "distance (m),tilt (deg)\n0,1\n\n# pause\n1,12 deg\n",
            "log.csv, row 5, column \"tilt (deg)\": \"12 deg\" given; expected a number with a decimal point",
        ),
        (
            "distance (m),tilt (deg)\n0,1\n1,nan\n",
            "log.csv, row 3, column \"tilt (deg)\": \"nan\" given; expected a number with a decimal point",
        ),
        (
            "distance (m),tilt (deg)\n0,1\n1,1e999\n",
            "log.csv, row 3, column \"tilt (deg)\": \"1e999\" given; expected a number with a decimal point",
        ),
        (
            "distance (m),tilt (deg)\n0,1\n1,\n",
            "log.csv, row 3, column \"tilt (deg)\": the cell is empty; expected a number with a decimal point",
        ),
        (
            "distance (m),tilt (deg)\n0,1\n,1\n",
            "log.csv, row 3, column \"distance (m)\": the cell is empty; expected a number with a decimal point",
        ),
        (
            "distance (m);tilt (deg)\n0,0;1,1\n0,5;1.1\n",
            "log.csv, row 3, column \"tilt (deg)\": \"1.1\" given; expected a number with a decimal comma, as found in an earlier number",
        ),
        (
            "distance (m);tilt (deg)\n0.0;1.1\n0.5;1,1\n",
            "log.csv, row 3, column \"tilt (deg)\": \"1,1\" given; expected a number with a decimal point, as found in an earlier number",
        ),
        (
            "distance (m);tilt (deg)\n1,234;1\n2,345;1\n",
            "log.csv, row 2: \"1,234\" and every other number with a comma may have decimals or grouped thousands; expected decimal = \"comma\" in the job, or the numbers without grouping",
        ),
        ("distance (m),tilt (deg),a\n0,1\n", "log.csv, row 2: the row has 2 cells, the header has 3"),
        (
            "distance (m),tilt (deg)\n0,0,1,1\n0,5,1,1\n",
            "log.csv, row 2: the row has 4 cells, the header has 2 (a decimal comma in a log parted by commas must be in quotes)",
        ),
        (
            "distance (m),tilt (deg),a\n0,1,\"x\n1,1,y\n2,1,\"z\"\n",
            "log.csv, row 2, column \"a\": a quote is opened and not closed on its line, so that rows may be lost in it; expected cells of one line each, or of several lines without the delimiter",
        ),
        (
            "distance (m),tilt\n0,1\n1,1\n",
            "log.csv, row 1, column \"tilt\": reading: the column has no unit; expected the unit in the header, such as \"tilt (deg)\", or reading_unit = \"deg\" in the job",
        ),
        (
            "distance,tilt (deg)\n0,1\n1,1\n",
            "log.csv, row 1, column \"distance\": counter: the column has no unit; expected the unit in the header, such as \"distance (ft)\", or counter_unit = \"ft\" in the job",
        ),
        (
            "distance (m),tilt (deg)\nft,deg\n0,1\n1,1\n",
            "log.csv, row 2, column \"distance (m)\": the unit differs from the one in the header",
        ),
        (
            "a,b\n1,2\n3,4\n",
            "log.csv, row 1: no column is the counter; expected counter = \"…\" in the job with one of the columns: \"a\", \"b\"",
        ),
        (
            "1,2\n3,4\n",
            "log.csv, row 1: the first row holds numbers, not names of columns; expected a header row, such as \"distance (ft),tilt (deg)\"",
        ),
        (
            "distance (m),tilt (deg),grade (%)\n0,1,2\n",
            "log.csv, row 1: two columns may be the reading: \"tilt (deg)\" and \"grade (%)\"; expected reading = \"…\" in the job, with the whole name of one column",
        ),
        ("distance (m),tilt (deg)\n0,1\n", "log.csv: readings: 1 given, at least 2 needed"),
    ];
    for (text, expected) in faults {
        assert_eq!(log_fault(text.as_bytes()), *expected, "{text:?}");
    }
}

#[test]
fn faults_carry_their_parts() {
    let format = LogFormat { counter: Some("cabel".to_owned()), ..LogFormat::default() };
    let fault = log::read(b"cable,tilt (deg)\n0,1\n1,1\n", &format).unwrap_err();
    assert_eq!(fault.place, Place::Row(1));
    assert_eq!((fault.field.as_deref(), fault.value.as_deref()), (Some("counter"), Some("cabel")));
    assert_eq!(fault.nearest.as_deref(), Some("cable"));
    let format = LogFormat { counter_unit: "ft".parse().ok(), ..LogFormat::default() };
    let fault = log::read(b"cable (m),tilt (deg)\n0,1\n1,1\n", &format).unwrap_err();
    assert_eq!(fault.problem, "the log and the job give two different units");
    let fault = log::read(b"cable (m),tilt (deg)\n0,1\n", &LogFormat::default()).unwrap_err();
    assert!(matches!(fault.core, Some(fallwise::Error::TooFew { found: 1, needed: 2, .. })));
}

#[test]
fn a_fault_late_in_a_long_log_is_found() {
    let rows: Vec<String> = (0..5000).map(|row| format!("{row},1\n")).collect();
    let text = format!("distance (m),tilt (deg)\n{}5000,end of run\n", rows.concat());
    assert_eq!(
        log_fault(text.as_bytes()),
        "log.csv, row 5002, column \"tilt (deg)\": \"end of run\" given; expected a number with a decimal point"
    );
}

// Jobs

/// The first fenced block of a language in the README.
fn readme(language: &str) -> String {
    let text = include_str!("../crates/fallwise-files/README.md");
    let (_, rest) = text.split_once(&format!("```{language}\n")).unwrap();
    rest.split_once("```").unwrap().0.to_owned()
}

/// The language that the form in the README names.
const GERMAN: &str = "code = \"de\"\nname = \"Deutsch\"";

#[test]
fn the_form_shown_in_the_readme_is_read_whole() {
    // The table of standard pipes has tests of its own.
    let toml = readme("toml").replace(
        "{ standard = \"SDR 35\", size = \"4 in\", stick = \"10 ft\" }",
        "{ bore_width = \"100 mm\", bore_height = \"90 mm\", nominal = \"4 in\", stick = \"10 ft\" }",
    );
    let loaded =
        job::read_text(&toml, "job.toml", &files(&[("log.csv", &readme("csv")), ("de.toml", GERMAN)])).unwrap();
    assert_eq!(loaded.language.as_ref().map(|l| l.code.as_str()), Some("de"));

    let mut logged = Run::new(vec![0.0, ft(0.5)], vec![deg(-1.2), deg(-1.1)]);
    logged.name = "from the cleanout".to_owned();
    logged.time_s = Some(vec![0.0, 1.0]);
    logged.source_row = Some(vec![3, 4]);
    logged.tilt_positive = TiltPositive::Up;
    logged.start_station_sd_m = Some(0.0);
    logged.start_azimuth_rad = Some(deg(35.0));
    logged.start_azimuth_sd_rad = Some(deg(5.0));
    logged.start_east_m = Some(0.0);
    logged.start_north_m = Some(0.0);
    logged.start_plan_sd_m = Some(0.1);
    logged.start_invert_m = Some(ft(98.4));
    logged.start_invert_sd_m = Some(ft(0.02));
    let mut by_hand = Run::new(vec![ft(3.0)], vec![deg(1.2)]);
    by_hand.name = "readings by hand".to_owned();
    by_hand.by_hand = true;

    let dots = || Some("...".to_owned());
    let facts = |facts: &[(&str, &str)]| facts.iter().map(|(k, v)| ((*k).to_owned(), (*v).to_owned())).collect();
    let expected = Job {
        survey: Survey {
            title: Some("Lateral at 12 Mill Lane".to_owned()),
            ordered_by: dots(),
            site: dots(),
            date_time: Some("2024-05-01 10:00 +02:00".to_owned()),
            operator: dots(),
            water: Some("still".to_owned()),
            about_length_m: Some(ft(100.0)),
            video_offset_s: Some(12.0),
            ..Survey::default()
        },
        origin: Some(Origin {
            longitude_rad: deg(-32.5),
            latitude_rad: deg(41.25),
            east_m: 0.0,
            north_m: 0.0,
            grid_north_rad: deg(0.8),
            sd_m: Some(2.0),
        }),
        runs: vec![logged, by_hand],
        as_built: vec![AsBuilt { station_m: 0.0, invert_m: 30.0, sd_m: Some(0.005) }],
        as_built_use: AsBuiltUse::Compare,
        ties: ties_in_the_readme(),
        reaches: vec![
            Reach {
                from_m: 0.0,
                to_m: ft(22.0),
                name: "under the house".to_owned(),
                pipe: Pipe {
                    bore: Some(Bore::Ellipse { width_m: 0.1, height_m: 0.09 }),
                    nominal: Some(Nominal { size: 4.0, unit: SizeUnit::Inch }),
                    stick_m: Some(ft(10.0)),
                    ..Pipe::default()
                },
                owner: Some("house owner".to_owned()),
                facts: facts(&[("approval", "yes")]),
            },
            Reach {
                from_m: ft(22.0),
                to_m: ft(60.0),
                name: String::new(),
                pipe: Pipe {
                    name: "clay".to_owned(),
                    bore: Some(Bore::Circle { diameter_m: 0.1 }),
                    nominal: Some(Nominal { size: 100.0, unit: SizeUnit::Dn }),
                    material: Some("clay".to_owned()),
                    wall_m: Some(0.012),
                    stick_m: Some(0.6),
                    manning_n: Some(0.013),
                    roughness_m: None,
                },
                owner: None,
                facts: facts(&[]),
            },
        ],
        instrument: Instrument {
            zero_rad: Instrument::default().zero_rad,
            zero_sd_rad: Instrument::default().zero_sd_rad,
            zero_checked: false,
            seating_sd_rad: deg(0.1),
            noise_sd_rad: Some(deg(0.2)),
            correlation_m: Some(0.2),
            resolution_rad: Some(deg(0.1)),
            drift_sd_rad: deg(0.04),
            drift_s: 240.0,
            roll_sd_rad: deg(0.2),
            wander_sd_rad: deg(0.02),
            lip_sd_m: 0.001,
            head_length_m: inch(6.0),
            slack_m: Some(0.08),
            lag_s: Some(0.4),
            counter_scale: -0.008,
            counter_scale_sd: 0.006,
        },
        bends: vec![Bend {
            station_m: ft(20.0),
            deflection_rad: deg(45.0),
            deflection_sd_rad: deg(1.5),
            radius_m: Some(inch(6.0)),
        }],
        steps: vec![Step { station_m: ft(31.0), rise_m: 0.01, rise_sd_m: 0.003 }],
        features: vec![Feature {
            kind: FeatureKind::Joint,
            station_m: ft(10.0),
            to_m: Some(ft(11.0)),
            text: "...".to_owned(),
        }],
        ground: vec![GroundPoint { station_m: 0.0, elevation_m: ft(102.3), sd_m: Some(inch(1.0)) }],
        notes: vec![Note {
            station_m: Some(ft(24.0)),
            to_m: Some(ft(29.0)),
            text: "camera under water".to_owned(),
            photo: Some("24ft.jpg".to_owned()),
            video_time_s: Some(192.0),
            water_seen: true,
            dry_seen: false,
            tilt_sd_rad: Some(deg(0.5)),
        }],
        landmarks: vec![model::Landmark {
            name: "gate post".to_owned(),
            east_m: ft(12.4),
            north_m: ft(3.1),
            sd_m: inch(2.0),
        }],
        digs: vec![model::Dig {
            station_m: ft(20.0),
            station_sd_m: inch(2.0),
            name: "dig at the bend".to_owned(),
            wanted: "the cracked bend".to_owned(),
        }],
        digging: model::DigOptions { across_m: 0.5, tie_within_m: ft(10.0), confidence: 0.99, margin_m: ft(1.0) },
        flow: Flow::Increasing,
        segments: SegmentChoice::Given { breaks_m: vec![ft(10.0), ft(20.0)] },
        tailwater_m: Some(0.02),
        capacity: Some(Capacity {
            formula: Some(Formula::Manning),
            manning_n: Some(0.010),
            roughness_m: Some(0.0015),
            viscosity_m2_s: Some(1.31e-6),
            flow_m3_s: None,
            discharge: Some(Discharge {
                frequency: Use::Intermittent,
                system: Some(System::I),
                fixtures: [("bath".to_owned(), 1)].into(),
                units_m3_s: vec![0.002],
                continuous_m3_s: Some(0.0001),
            }),
            filling: Some(0.5),
            least_velocity_m_s: Some(0.7),
            least_shear_pa: Some(1.0),
        }),
        rules: RulesChoice {
            rulebook: Some("ipc-2021".to_owned()),
            work: Work::Existing,
            facts: facts(&[("approval", "yes"), ("water_closets", "2")]),
        },
        report: ReportChoice {
            words: Words::Us,
            decimal: Some(fallwise::units::Decimal::Comma),
            paper: Some(model::Paper::Letter),
            draws: 1000,
            seed: 0,
        },
        relay: Some(relay_in_the_readme()),
    };
    assert_eq!(loaded.job, expected);
    assert_eq!(loaded.rulebook_text, None);
    assert_eq!(loaded.rulebook.unwrap().name, "ipc-2021");
    assert_eq!(loaded.warnings, Vec::<String>::new());
    assert_eq!((loaded.logs[0].name.as_str(), loaded.logs[0].run), ("log.csv", 0));
    assert_eq!(loaded.logs[0].extra[0].iter().collect::<Vec<_>>(), ["", "joint"]);
}

fn relay_in_the_readme() -> RelayChoice {
    let per_ft = |cost: f64| cost / ft(1.0);
    RelayChoice {
        min_slope: Some(1.0 / 48.0),
        confidence: 0.95,
        kept: KeptOver::Piece,
        min_length_m: ft(3.0),
        max_length_m: Some(ft(40.0)),
        costs: RelayCosts {
            currency: "USD".to_owned(),
            per_trench: 1800.0,
            per_m: per_ft(45.0),
            per_m_depth: per_ft(per_ft(12.0)),
        },
        surfaces: vec![RelaySurface {
            name: "lawn".to_owned(),
            from_m: 0.0,
            to_m: ft(12.0),
            per_m: per_ft(4.0),
            per_m_depth: 0.0,
        }],
        keep_out: vec![KeepOut { from_m: ft(30.0), to_m: ft(34.0), reason: "below the garage".to_owned() }],
        connections: vec![MovableConnection { station_m: ft(18.0), above_m: inch(1.0) }],
        width_m: Some(ft(2.0)),
        batter: 0.5,
        bedding_m: inch(4.0),
    }
}

fn ties_in_the_readme() -> Vec<Tie> {
    let plain = |known| Tie { name: String::new(), known };
    let at = |station_ft| model::Place::new(ft(station_ft));
    let up = Some(TiltPositive::Up);
    let short = ReversalCheck { first_rad: deg(0.4), second_rad: deg(0.2), sd_rad: Some(deg(0.05)), tilt_positive: up };
    let check = ReversalCheck { first_rad: deg(0.5), second_rad: deg(0.2), sd_rad: Some(deg(0.1)), tilt_positive: up };
    vec![
        Tie { name: "reversal check".to_owned(), known: Known::ReversalCheck(short) },
        Tie {
            name: "at the main".to_owned(),
            known: Known::Invert {
                at: model::Place { station_m: ft(60.0), sd_m: ft(0.1), taped: true },
                elevation_m: ft(96.9),
                sd_m: ft(0.02),
            },
        },
        plain(Known::Plan { at: at(30.0), east_m: 5.2, north_m: 7.4, sd_m: 0.2 }),
        plain(Known::Azimuth { at: at(5.0), azimuth_rad: deg(34.0), sd_rad: deg(3.0) }),
        plain(Known::Depth {
            at: at(40.0),
            depth_m: ft(4.1),
            sd_m: Some(ft(0.3)),
            ground_m: Some(ft(101.9)),
            ground_sd_m: Some(inch(0.5)),
            behind_m: inch(10.0),
            above_m: inch(2.0),
        }),
        plain(Known::HeightDifference { from: at(0.0), to: at(60.0), rise_m: ft(-1.52), sd_m: ft(0.02) }),
        plain(Known::Length { from_m: 0.0, to_m: ft(60.0), length_m: ft(59.6), sd_m: ft(0.1) }),
        plain(Known::ReversalCheck(check)),
        plain(Known::LevelCheck { reading_rad: deg(0.3), surface_rad: 0.0, sd_rad: deg(0.1), tilt_positive: up }),
        plain(Known::WaterLevel {
            from: at(24.0),
            to: at(29.0),
            level_sd_m: Some(0.003),
            seen: Seen::Edge,
            although_running: false,
        }),
        plain(Known::WaterDepth {
            at: at(26.0),
            depth_m: 0.03,
            sd_m: 0.004,
            edge: at(24.0),
            level_sd_m: None,
            seen: Seen::Edge,
            although_running: false,
        }),
    ]
}

#[test]
fn ties_take_their_defaults_from_the_model() {
    let text = "as_built_use = \"use\"\n[survey]\nwater = \"running\"\n\
        [[as_built]]\nstation = \"0 m\"\ninvert = \"1 m\"\nsd = \"5 mm\"\n\
        [[tie]]\nkind = \"depth\"\nstation = \"4 m\"\ndepth = \"2 m\"\n\
        [[tie]]\nkind = \"reversal_check\"\nfirst = \"1 %\"\nsecond = \"0 deg\"\n\
        [[tie]]\nkind = \"level_check\"\nreading = \"0 deg\"\nsd = \"0 deg\"\ntilt_positive = \"up\"\n\
        [[tie]]\nkind = \"water_level\"\nfrom = \"1 m\"\nto = \"2 m\"\ntaped = true\nto_sd = \"0 m\"\nseen = \"lens\"\nalthough_running = true\n\
        [[note]]\nstation = \"1 m\"\ndry_seen = true\n";
    let loaded = job::read_text(text, "job.toml", &files(&[])).unwrap();
    assert_eq!(loaded.warnings, Vec::<String>::new());
    assert_eq!((loaded.job.as_built_use, loaded.job.notes[0].dry_seen), (AsBuiltUse::Use, true));
    let known: Vec<Known> = loaded.job.ties.into_iter().map(|tie| tie.known).collect();
    let check = ReversalCheck { first_rad: slope_to_tilt(0.01), second_rad: 0.0, sd_rad: None, tilt_positive: None };
    let expected = [
        Known::Depth {
            at: model::Place::new(4.0),
            depth_m: 2.0,
            sd_m: None,
            ground_m: None,
            ground_sd_m: None,
            behind_m: 0.0,
            above_m: TRANSMITTER_ABOVE_M,
        },
        Known::ReversalCheck(check),
        Known::LevelCheck { reading_rad: 0.0, surface_rad: 0.0, sd_rad: 0.0, tilt_positive: Some(TiltPositive::Up) },
        Known::WaterLevel {
            from: model::Place { taped: true, ..model::Place::new(1.0) },
            to: model::Place { taped: true, ..model::Place::exact(2.0) },
            level_sd_m: None,
            seen: Seen::Lens,
            although_running: true,
        },
    ];
    assert_eq!(known, expected);
}

#[test]
fn the_short_form_of_a_reversal_check_is_the_first_tie() {
    let text = "[[reading]]\nstation = \"1 m\"\ntilt = \"1 deg\"\n\
        [[tie]]\nkind = \"invert\"\nname = \"manhole\"\nstation = \"1 m\"\nelevation = \"2 m\"\nsd = \"0 m\"\n\
        [instrument]\nreversal_check = { first = \"1 deg\", second = \"0 deg\" }\n";
    let job = job::read_text(text, "job.toml", &files(&[])).unwrap().job;
    let names = |job: &Job| job.ties.iter().map(|tie| tie.name.clone()).collect::<Vec<_>>();
    assert_eq!(names(&job), ["reversal check", "manhole"]);
    // What it says is the tie's to say.
    assert_eq!(job.instrument, Instrument::default());
    let written = job::to_toml(&job).unwrap();
    assert!(!written.text.contains("[instrument.reversal_check]"), "{}", written.text);
    assert_eq!(written.text.matches("[[tie]]").count(), 2, "{}", written.text);
}

#[test]
fn json_says_the_same_as_toml() {
    let toml = "flow = \"decreasing\"\n[rules]\nfile = \"own.toml\"\n[[run]]\ntoward = \"decreasing\"\nstart_station = \"10 m\"\n\
                [[reading]]\nstation = \"9 m\"\nslope = \"2 %\"\n[[reading]]\nstation = \"8 m\"\ntilt = \"1 deg\"\n\
                [[tie]]\nkind = \"water_depth\"\nstation = \"9 m\"\ndepth = \"2 cm\"\nsd = \"3 mm\"\nedge = \"8.5 m\"\nseen = \"lens\"\n";
    let json = r#"{"flow": "decreasing", "rules": {"file": "own.toml"},
        "run": [{"toward": "decreasing", "start_station": "10 m"}],
        "reading": [{"station": "9 m", "slope": "2 %"}, {"station": "8 m", "tilt": "1 deg"}],
        "tie": [{"edge": "8.5 m", "sd": "3 mm", "kind": "water_depth", "name": null, "station": "9 m", "depth": "2 cm", "seen": "lens"}]}"#;
    let book = "name = \"own\"\ntitle = \"ours\"\nversion = \"1\"\njurisdiction = \"here\"\n";
    let own = files(&[("own.toml", book)]);
    let from_toml = job::read_text(toml, "job.toml", &own).unwrap();
    let from_json = job::read_json(json, "job.json", &own).unwrap();
    assert_eq!((&from_toml.job, &from_toml.rulebook), (&from_json.job, &from_json.rulebook));
    assert_eq!(from_toml.rulebook_text.as_deref(), Some(book));
    assert_eq!(from_toml.rulebook.unwrap().name, "own");
    assert_eq!(from_toml.job.ties[0].kind(), "water_depth");
    let run = &from_toml.job.runs[0];
    assert_eq!((&run.counter_m, run.by_hand, run.start_station_m), (&vec![1.0, 2.0], true, 10.0));
    assert_eq!(run.reading_rad, [slope_to_tilt(0.02), deg(1.0)]);
    let fault = job::read_json("{\"flow\": \"up\"}", "job.json", &own).unwrap_err().to_string();
    assert_eq!(fault, "job.json, line 1, column 10: flow: \"up\" is not known; expected one of increasing, decreasing");
}

#[test]
fn standard_pipes_come_from_the_table_of_the_core() {
    let read = |class: &str| {
        let text = format!(
            "[[as_built]]\nstation = \"0 m\"\ninvert = \"1 m\"\n[[reach]]\nfrom = \"0 m\"\nto = \"1 m\"\n\
             pipe = {{ standard = \"{class}\", size = \"4 in\" }}\n"
        );
        job::read_text(&text, "job.toml", &files(&[])).map(|l| l.job.reaches[0].pipe.clone())
    };
    for class in ["SDR 35", "no such class"] {
        match (read(class), Pipe::standard(class, "4 in")) {
            (Ok(read), Ok(table)) => assert_eq!(read, table),
            (Err(fault), Err(error)) => {
                assert_eq!(
                    fault.to_string(),
                    format!("job.toml, line 7, column 21: reach[0].pipe.standard: {}", error.to_string().trim_end())
                );
            }
            (read, table) => panic!("{read:?} but {table:?}"),
        }
    }
}

/// Estimate and standard deviation of the head's zero error, rad, once the job is solved.
fn solved_zero(text: &str, logs: &MemoryResolver) -> (f64, f64) {
    let lateral = job::read_text(text, "job.toml", logs).unwrap().solve().unwrap();
    let answers = lateral.answers(None).unwrap();
    let zero = answers.parameters.into_iter().find(|p| p.name == "zero_rad").unwrap();
    (zero.value, zero.sd)
}

/// What a check of this value and sd makes of the zero: a head that was checked may have any, to 10 degrees.
fn zero_after(check_rad: f64, check_sd_rad: f64) -> (f64, f64) {
    let (before, check) = (1.0 / sqr(deg(10.0)), 1.0 / sqr(check_sd_rad));
    (check_rad, (1.0 / (before + check)).sqrt())
}

fn sqr(x: f64) -> f64 {
    x * x
}

#[test]
fn a_reversal_check_without_an_sd_has_the_expected_one() {
    let zero = |keys: &str| {
        let text = format!(
            "[[reading]]\nstation = \"1 m\"\ntilt = \"1 deg\"\n[[reading]]\nstation = \"2 m\"\ntilt = \"1.1 deg\"\n\
             [instrument]\nreversal_check = {{ first = \"0.5 deg\", second = \"0.1 deg\" }}\n{keys}"
        );
        solved_zero(&text, &files(&[]))
    };
    // One run says nothing of the zero. Nine digits are left of a handful of sums and roots, and of a solution in steps.
    let near = |(value, sd): (f64, f64), (expected, expected_sd): (f64, f64)| {
        assert!(
            (value - expected).abs() < 1e-9 * expected && (sd - expected_sd).abs() < 1e-9 * expected_sd,
            "{value} {sd}"
        );
    };
    // The readings themselves show a display of tenths: 0.1 / sqrt(12) of a degree a reading.
    near(zero(""), zero_after(deg(0.3), deg((0.0025_f64 + 0.01 / 24.0).sqrt())));
    // Rounding to whole degrees: 1 / sqrt(12) of a degree a reading, over sqrt(2).
    near(zero("resolution = \"1 deg\""), zero_after(deg(0.3), deg((0.0025_f64 + 1.0 / 24.0).sqrt())));
}

#[test]
fn faults_of_a_job_are_named_by_line_and_column() {
    let faults: &[(&str, &str)] = &[
        ("", "job.toml: run: the job has no data; expected a [[run]] with a log, [[reading]]s or [[as_built]] inverts"),
        ("x", "job.toml, line 1, column 2: key with no value, expected `=`"),
        (
            "flow = increasing",
            "job.toml, line 1, column 8: \"increasing\" is no value; expected text in quotes, a number, true or false",
        ),
        (
            "flow = \"downhill\"",
            "job.toml, line 1, column 8: flow: \"downhill\" is not known; expected one of increasing, decreasing",
        ),
        (
            "[[reading]]\nstation = 5.5\ntilt = \"1 deg\"",
            "job.toml, line 2, column 11: reading[0].station: 5.5 has no unit; expected a station with its unit, such as \"42.5 ft\", \"0+42.5\" or \"12.4 m\", in quotes",
        ),
        (
            "[[reading]]\nstation = \"5 fet\"\ntilt = \"1 deg\"",
            "job.toml, line 2, column 11: reading[0].station: unit of length \"fet\" is not known (did you mean \"feet\"?); known: m, cm, mm, ft, us ft, in, yd",
        ),
        (
            "[[reading]]\nstation = \"5 ft\"\ntlt = \"1 deg\"",
            "job.toml, line 3, column 1: reading[0]: key \"tlt\" is not known (did you mean \"tilt\"?); expected one of station, tilt, slope",
        ),
        (
            "[[reading]]\nstation = \"5 ft\"\ntilt = \"1 deg\"\nslope = \"2 %\"",
            "job.toml, line 1, column 1: reading[0]: a reading gives either `tilt` or `slope`",
        ),
        ("[[reading]]\ntilt = \"1 deg\"", "job.toml, line 1, column 1: reading[0]: key \"station\" is missing"),
        (
            "[[raech]]\nfrom = \"1 m\"",
            "job.toml, line 1, column 3: key \"raech\" is not known (did you mean \"reach\"?); expected one of version, flow, tailwater, as_built_use, survey, origin, run, reading, as_built, tie, reach, instrument, bend, step, feature, ground, note, landmark, dig, digging, segments, capacity, rules, report, relay",
        ),
        (
            "[[reach]]\nfrom = \"0 m\"\nto = \"5 m\"\npipe = { bore = \"4 in\", nominl = \"4 in\" }",
            "job.toml, line 4, column 25: reach[0].pipe: key \"nominl\" is not known (did you mean \"nominal\"?); expected one of standard, size, name, bore, bore_width, bore_height, nominal, material, wall, stick, manning_n, roughness",
        ),
        (
            "[[reach]]\nfrom = \"0 m\"\nto = \"5 m\"\npipe = { bore = \"4 in\", bore_width = \"4 in\" }",
            "job.toml, line 4, column 8: reach[0].pipe: a pipe gives either `bore`, or both `bore_width` and `bore_height`",
        ),
        (
            "[[reach]]\nfrom = \"0 m\"\nto = \"5 m\"\npipe = { nominal = 4 }",
            "job.toml, line 4, column 20: reach[0].pipe.nominal: 4 has no unit; expected a nominal size, such as \"4 in\" or \"DN 100\", in quotes",
        ),
        (
            "[[bend]]\nstation = \"6 m\"\ndeflection = \"45 deg\"",
            "job.toml, line 3, column 14: bend[0].deflection: \"45 deg\" has no side; expected \"… right\" or \"… left\", looking along growing station",
        ),
        (
            "[segments]\nmethod = \"raw\"\nbreaks = [\"1 m\"]",
            "job.toml, line 3, column 10: segments.breaks: `breaks` go with method = \"given\" only",
        ),
        (
            "[survey]\ndate_time = 2024-05-01T10:00:00Z",
            "job.toml, line 2, column 13: survey.date_time: text must stand in quotes; expected such as \"2024-05-01 10:00 +02:00\"",
        ),
        (
            "[instrument]\ncounter_scale = \"-0.008\"",
            "job.toml, line 2, column 17: instrument.counter_scale: \"-0.008\" is not a percentage; expected one such as \"-0.8 %\"",
        ),
        (
            "[[run]]\nlog = \"log.csv\"\nreading_unit = \"degs\"",
            "job.toml, line 3, column 16: run[0].reading_unit: unit of tilt or slope \"degs\" is not known (did you mean \"deg\"?); known: rad, mrad, deg, %, in/ft, mm/m, ratio",
        ),
        (
            "[[run]]\nlog = \"log.csv\"\n[instrument]\nzero = \"1 deg\"\nreversal_check = { first = \"1 deg\", second = \"1 deg\" }",
            "job.toml, line 5, column 18: instrument.reversal_check: gives both `reversal_check` and `zero` or `zero_sd`; the check gives the zero by itself",
        ),
        (
            "[[run]]\nlog = \"log.csv\"\n[[run]]\nlog = \"b.csv\"\ntilt_positive = \"up\"\n[instrument]\nreversal_check = { first = \"1 deg\", second = \"1 deg\" }",
            "job.toml, line 7, column 18: instrument.reversal_check: no tilt_positive given; expected what the head shows as positive, since the runs differ in theirs",
        ),
        (
            "[[run]]\nlog = \"log.csv\"\n[rules]\nrulebook = \"a\"\nfile = \"b\"",
            "job.toml, line 3, column 1: rules: gives both `rulebook` and `file`; expected one of them",
        ),
        (
            "[[run]]\nname = \"x\"",
            "job.toml, line 1, column 1: run[0].log: the run has neither a log nor readings by hand; expected log = \"log.csv\", or [[reading]]s for one run without a log",
        ),
        (
            "[[run]]\nlog = \"lag.csv\"",
            "job.toml, line 2, column 7: run[0].log: \"lag.csv\": no such file was given (did you mean \"log.csv\"?)",
        ),
        (
            "[[run]]\nlog = \"log.csv\"\ncounter = \"cabel\"",
            "log.csv, row 1: counter: there is no column \"cabel\" (did you mean \"cable (m)\"?); expected one of the columns: \"cable (m)\", \"tilt (deg)\"",
        ),
    ];
    for (text, expected) in faults {
        assert_eq!(job_fault(text), *expected, "{text:?}");
    }
}

// What a job may read

#[test]
fn nothing_outside_the_folder_is_read() {
    let outer = scratch("outside");
    let inner = outer.join("job");
    fs::create_dir_all(inner.join("logs")).unwrap();
    fs::write(outer.join("secret.csv"), "x").unwrap();
    fs::write(inner.join("logs/1.csv"), "y").unwrap();
    let folder = FolderResolver::new(&inner).unwrap();
    assert_eq!(folder.read("logs/1.csv").unwrap(), b"y");
    assert_eq!(folder.read("./logs/1.csv").unwrap(), b"y");

    let refused = "a job reads nothing outside its own folder";
    let absolute = outer.join("secret.csv").display().to_string();
    for name in [
        &absolute,
        "../secret.csv",
        "logs/../../secret.csv",
        "logs/../logs/1.csv",
        "..",
        "/dev/null",
        "",
        "C:\\x",
        "..\\secret.csv",
        "a\0b",
    ] {
        assert_eq!(folder.read(name).unwrap_err().problem, refused, "{name}");
        assert_eq!(MemoryResolver::default().read(name).unwrap_err().problem, refused, "{name}");
    }
    assert_eq!(folder.read("logs").unwrap_err().problem, "is not a plain file");
    assert!(folder.read("none.csv").unwrap_err().problem.starts_with("cannot read it: "));
    #[cfg(unix)]
    {
        use std::os::unix::fs::symlink;
        symlink(outer.join("secret.csv"), inner.join("link.csv")).unwrap();
        symlink(&outer, inner.join("up")).unwrap();
        symlink("/dev/zero", inner.join("zero.csv")).unwrap();
        symlink("logs/1.csv", inner.join("inside.csv")).unwrap();
        for name in ["link.csv", "up/secret.csv", "zero.csv"] {
            assert_eq!(folder.read(name).unwrap_err().problem, refused, "{name}");
        }
        assert_eq!(folder.read("inside.csv").unwrap(), b"y");
    }
    fs::remove_dir_all(outer).unwrap();
}

#[test]
fn a_job_file_finds_its_log_beside_it() {
    let folder = scratch("beside");
    fs::write(folder.join("log.csv"), "cable (m),tilt (deg)\n0,1\n1,1\n").unwrap();
    fs::write(folder.join("job.toml"), "[[run]]\nlog = \"log.csv\"\n").unwrap();
    fs::write(folder.join("job.json"), "{\"run\": [{\"log\": \"log.csv\"}]}").unwrap();
    let toml = job::read(&folder.join("job.toml")).unwrap();
    assert_eq!(toml.job.runs[0].counter_m, [0.0, 1.0]);
    assert_eq!(toml.job, job::read(&folder.join("job.json")).unwrap().job);
    fs::write(folder.join("job.toml"), b"[survey]\ntitle = \"\xff\"").unwrap();
    assert_eq!(job::read(&folder.join("job.toml")).unwrap_err().place, Place::Row(2));
    fs::remove_dir_all(folder).unwrap();
}

// Results

fn answers() -> Answers {
    let reach = ReachRow {
        name: "all".to_owned(),
        from_m: 0.0,
        to_m: 1.0,
        length_m: 1.0,
        length_sd_m: 0.1,
        slope: Some(-0.02),
        slope_sd: None,
        slope_low: None,
        slope_high: None,
        fall_m: 0.1 + 0.2,
        fall_sd_m: 0.0,
        fall_low_m: 0.0,
        fall_high_m: 0.0,
        drop_fall_m: 0.0,
        pipe: String::new(),
        bore_m: None,
    };
    let segment = SegmentRow {
        number: 1,
        from_m: 0.0,
        to_m: 1.0,
        length_m: 1.0,
        tilt_rad: -0.01,
        tilt_sd_rad: 0.001,
        slope: None,
        slope_sd: None,
        slope_low: None,
        slope_high: None,
        fall_m: -0.01,
        fall_sd_m: 0.001,
        readings: 7,
        break_probability: None,
        break_sd_m: None,
        break_low_m: None,
        break_high_m: None,
        kind: "pipe".to_owned(),
    };
    let finding = FindingRow {
        subject: "=HYPERLINK(\"x\")".to_owned(),
        pool: Some(2),
        reach: None,
        from_m: 0.0,
        to_m: 1.0,
        finding: "undecided".to_owned(),
        reason: Some("too_close".to_owned()),
        quantity: "slope".to_owned(),
        value: Some(-0.5),
        value_sd: None,
        value_low: None,
        value_high: None,
        required: None,
        requirement: String::new(),
        probability: None,
        document: String::new(),
        edition: String::new(),
        clause: String::new(),
        force: String::new(),
        confirmed: false,
        sentence: "one, \"two\"".to_owned(),
    };
    Answers {
        schema: "1".to_owned(),
        version: "0".to_owned(),
        sentence: String::new(),
        next: Some(next_row("reversal_check")),
        next_others: vec![next_row("invert")],
        from_m: 0.0,
        to_m: 1.0,
        total: reach,
        reaches: vec![],
        pieces: vec![],
        backward: vec![],
        unseen: vec![],
        segments: vec![segment],
        relay: None,
        pools: vec![],
        findings: vec![finding],
        water: vec![WaterRow {
            finding: "not_explained".to_owned(),
            from_m: 0.2,
            to_m: 0.4,
            sentence: "+water".to_owned(),
        }],
        carrying: None,
        capacity: vec![],
        needed: vec![],
        ties: vec![tie_row()],
        adjustment: Some(AdjustmentRow {
            steps: 3,
            converged: true,
            chi_square: 2.5,
            degrees_of_freedom: 2,
            p_value: Some(0.25),
            verdict: "agree".to_owned(),
            sentence: "=1".to_owned(),
            suspect_row: Some(1),
            suspect_pair_rows: Some((1, 2)),
            explained_by_rows: vec![],
            without: vec![WithoutRow {
                left_out: String::new(),
                quantity: "fall_m".to_owned(),
                value: 0.1,
                sd: 0.01,
                without: 0.2,
                without_sd: 0.02,
            }],
            not_determined: vec!["the plan, without a plan position".to_owned()],
        }),
        as_built: vec![AsBuiltRow {
            station_m: 0.0,
            invert_m: 1.0,
            invert_sd_m: 0.0,
            measured_m: 1.5,
            difference_m: 0.5,
            difference_sd_m: 0.25,
            difference_low_m: 0.0,
            difference_high_m: 1.0,
            sentence: String::new(),
        }],
        noted: vec![],
        digs: vec![],
        tapes: vec![],
        path: vec![],
        edits: vec![],
        readings: vec![],
        parameters: vec![],
        budget: vec![],
        correlations: vec![],
        covariance: vec![],
        notes: vec![],
        warnings: vec![],
        not_covered: vec!["what was not seen".to_owned()],
        cautions: vec!["have other services located before digging".to_owned()],
        rules: vec![],
        said: vec![],
        job: Job::default(),
        inputs: vec![InputRow { role: "log".to_owned(), name: "=1.csv".to_owned(), sha256: "ab".to_owned(), bytes: 7 }],
    }
}

fn next_row(measurement: &str) -> NextRow {
    NextRow {
        measurement: measurement.to_owned(),
        station_m: None,
        to_m: None,
        sentence: "do it".to_owned(),
        hazard: "traffic".to_owned(),
        undecided_now: 2,
        expected_decided: 1.5,
    }
}

fn tie_row() -> TieRow {
    TieRow {
        number: 1,
        name: "@main".to_owned(),
        kind: "invert".to_owned(),
        quantity: "elevation_m".to_owned(),
        station_m: Some(1.0),
        to_m: None,
        value: 1.25,
        sd: 0.5,
        own_sd: Some(0.3),
        station_part_sd: Some(0.4),
        expected: None,
        expected_sd: None,
        misclosure: None,
        misclosure_sd: None,
        standardised: None,
        residual: 0.0,
        redundancy: Some(0.0),
        smallest_detectable: None,
        verdict: "unchecked".to_owned(),
        sentence: String::new(),
    }
}

#[test]
fn results_are_written_and_come_back_the_same() {
    let folder = scratch("results").join("new");
    let pages = [("report.html", "<p>".to_owned())];
    let written = output::write_all(&folder, &answers(), &pages, false).unwrap();
    let names: Vec<&str> = written.iter().map(|p| p.file_name().unwrap().to_str().unwrap()).collect();
    assert_eq!(
        names,
        [
            "result.json",
            "segments.csv",
            "backward.csv",
            "unseen.csv",
            "pools.csv",
            "water.csv",
            "carrying.csv",
            "capacity.csv",
            "needed.csv",
            "findings.csv",
            "next.csv",
            "ties.csv",
            "adjustment.csv",
            "as_built.csv",
            "notes.csv",
            "digs.csv",
            "tapes.csv",
            "path.csv",
            "parameters.csv",
            "budget.csv",
            "correlations.csv",
            "covariance.csv",
            "inputs.csv",
            "cautions.txt",
            "report.html"
        ]
    );
    let text = |name: &str| fs::read_to_string(folder.join(name)).unwrap();
    assert_eq!(output::read_answers(text("result.json").as_bytes()).unwrap(), answers());
    assert!(text("result.json").starts_with("{\n  \"adjustment\": {"), "keys are sorted");
    assert_eq!(
        text("segments.csv"),
        "number,from_m,to_m,length_m,tilt_rad,tilt_sd_rad,slope,slope_sd,slope_low,slope_high,fall_m,fall_sd_m,readings,kind,break_probability,break_sd_m,break_low_m,break_high_m\n\
         1,0.0,1.0,1.0,-0.01,0.001,,,,,-0.01,0.001,7,pipe,,,,\n"
    );
    assert!(text("findings.csv").contains("\n\"'=HYPERLINK(\"\"x\"\")\",2,,0.0,1.0,undecided,too_close,slope,-0.5,"));
    assert!(text("pools.csv").starts_with("number,state,") && text("pools.csv").lines().count() == 1);
    assert_eq!(text("water.csv"), "finding,from_m,to_m,sentence\nnot_explained,0.2,0.4,'+water\n");
    assert_eq!(
        text("next.csv"),
        "measurement,station_m,to_m,sentence,hazard,undecided_now,expected_decided\n\
         reversal_check,,,do it,traffic,2,1.5\ninvert,,,do it,traffic,2,1.5\n"
    );
    assert_eq!(
        text("ties.csv"),
        "number,name,kind,quantity,station_m,to_m,value,sd,own_sd,station_part_sd,expected,expected_sd,misclosure,misclosure_sd,standardised,residual,redundancy,smallest_detectable,verdict,sentence\n\
         1,'@main,invert,elevation_m,1.0,,1.25,0.5,0.3,0.4,,,,,,0.0,0.0,,unchecked,\n"
    );
    assert_eq!(
        text("adjustment.csv"),
        "line,steps,converged,chi_square,degrees_of_freedom,p_value,verdict,suspect_row,suspect_pair_first_row,suspect_pair_second_row,quantity,left_out,value,sd,without,without_sd,sentence\n\
         adjustment,3,true,2.5,2,0.25,agree,1,1,2,,,,,,,'=1\n\
         without,,,,,,,,,,fall_m,,0.1,0.01,0.2,0.02,\n\
         not_determined,,,,,,,,,,,,,,,,\"the plan, without a plan position\"\n"
    );
    assert_eq!(
        text("as_built.csv"),
        "station_m,invert_m,invert_sd_m,measured_m,difference_m,difference_sd_m,difference_low_m,difference_high_m,sentence\n\
         0.0,1.0,0.0,1.5,0.5,0.25,0.0,1.0,\n"
    );
    assert_eq!(text("inputs.csv"), "role,name,sha256,bytes\nlog,'=1.csv,ab,7\n");
    assert!(
        text("cautions.txt")
            .starts_with("These go with every table and drawing in this folder: result.json, segments.csv")
    );
    assert!(text("cautions.txt").contains("- have other services located before digging\n"));
    fs::remove_dir_all(folder.parent().unwrap()).unwrap();
}

#[test]
fn nothing_is_written_over_unless_told() {
    let folder = scratch("over");
    fs::write(folder.join("path.csv"), "mine").unwrap();
    let fault = output::write_all(&folder, &answers(), &[], false).unwrap_err();
    assert_eq!(fault.file, folder.join("path.csv").display().to_string());
    assert_eq!(fault.problem, "is there already, and nothing was written");
    assert_eq!(fs::read_dir(&folder).unwrap().count(), 1);
    output::write_all(&folder, &answers(), &[], true).unwrap();
    assert!(fs::read_to_string(folder.join("path.csv")).unwrap().starts_with("station_m,"));

    fs::remove_file(folder.join("pools.csv")).unwrap();
    fs::create_dir(folder.join("pools.csv")).unwrap();
    let fault = output::write_all(&folder, &answers(), &[], true).unwrap_err();
    assert_eq!(fault.problem, "is no plain file, and nothing was written");
    for name in ["../x.html", "a/b", "", "..", "Result.json", "C:x"] {
        let fault = output::write_all(&folder, &answers(), &[(name, String::new())], true).unwrap_err();
        assert_eq!(fault.problem, "the page cannot have this name", "{name}");
    }
    fs::remove_dir_all(folder).unwrap();
}

#[test]
fn report_folders_are_numbered() {
    let base = scratch("numbered");
    assert_eq!(output::new_folder(&base, "lateral-report").unwrap(), base.join("lateral-report-1"));
    assert_eq!(output::new_folder(&base, "lateral-report").unwrap(), base.join("lateral-report-2"));
    fs::remove_dir_all(&base).unwrap();
    assert!(output::new_folder(&base, "lateral-report").unwrap_err().problem.starts_with("cannot make the folder: "));
}

#[test]
fn what_json_cannot_say_is_refused() {
    let mut bad = answers();
    bad.total.fall_m = f64::NAN;
    assert_eq!(output::result_json(&bad).unwrap_err().file, "result.json");
    let fault = output::read_answers(b"{\n\"schema\": 1}").unwrap_err();
    assert!(
        fault.to_string().starts_with("result.json, line 2, column 11: invalid type: integer `1`, expected a string")
    );
}

#[test]
fn a_reversal_check_is_as_coarse_as_the_log_s_display() {
    let rows: Vec<String> = (0..40).map(|i| format!("{:.1},{}", 0.1 * f64::from(i), 1 + i % 2)).collect();
    let log = rows.join("\n");
    let text = "[[run]]\nlog = \"log.csv\"\n[instrument]\nreversal_check = { first = \"0 deg\", second = \"1 deg\" }";
    let files = files(&[("log.csv", &format!("distance (m),tilt (deg)\n{log}"))]);
    let (_, sd) = solved_zero(text, &files);
    // Two readings in whole degrees, 1 / sqrt(12) each, half their sum, and 0.05 degrees of laying. Nine digits, as above.
    let (_, expected) = zero_after(deg(0.5), deg((0.0025_f64 + 1.0 / 24.0).sqrt()));
    assert!((sd - expected).abs() < 1e-9 * expected, "{sd} {expected}");
}
