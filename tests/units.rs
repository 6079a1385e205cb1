//! Units: there and back again, text against number, and published conversions.

use fallwise::Error;
use fallwise::units::*;
use fallwise_record::{
    Mark,
    Tolerance::{Absolute, Relative},
    reference,
};
use proptest::prelude::*;
use proptest::test_runner::FileFailurePersistence;

fn config() -> ProptestConfig {
    ProptestConfig {
        failure_persistence: Some(Box::new(FileFailurePersistence::WithSource("regressions"))),
        ..ProptestConfig::default()
    }
}

type Conversion = fn(f64) -> f64;

/// Every conversion with its reverse. Each is a product or a quotient by one constant.
const PAIRS: [(&str, Conversion, Conversion); 15] = [
    ("ft", ft, to_ft),
    ("us_ft", us_ft, to_us_ft),
    ("inch", inch, to_inch),
    ("yard", yard, to_yard),
    ("mm", mm, to_mm),
    ("cm", cm, to_cm),
    ("deg", deg, to_deg),
    ("percent", percent, to_percent),
    ("in_per_ft", in_per_ft, to_in_per_ft),
    ("mm_per_m", mm_per_m, to_mm_per_m),
    ("one_in", one_in, to_one_in),
    ("gallon", gallon, to_gallon),
    ("imperial_gallon", imperial_gallon, to_imperial_gallon),
    ("litre", litre, to_litre),
    ("cubic_foot", cubic_foot, to_cubic_foot),
];

/// How many doubles lie between two of one sign.
fn ulps(a: f64, b: f64) -> u64 {
    a.to_bits().abs_diff(b.to_bits())
}

/// Numbers of either sign whose conversions neither overflow nor lose digits as denormals.
fn ordinary() -> impl Strategy<Value = f64> {
    use prop::num::f64::{NEGATIVE, NORMAL, POSITIVE};
    (NORMAL | POSITIVE | NEGATIVE).prop_filter("may overflow", |x| (1e-290..1e290).contains(&x.abs()))
}

/// Numbers as they occur in drains, of either sign.
fn human() -> impl Strategy<Value = f64> {
    prop_oneof![-1e4..1e4, (-10_000_000..10_000_000i32).prop_map(|n| f64::from(n) / 1000.0)]
}

proptest! {
    #![proptest_config(config())]

    /// The bound follows from the two roundings: the first is below 1 ulp, the second goes to a neighbour at most.
    #[test]
    fn there_and_back_again_is_within_one_ulp(x in ordinary()) {
        for (name, to, back) in PAIRS {
            prop_assert!(ulps(back(to(x)), x) <= 1, "{name}: {x:e} gives {:e}", back(to(x)));
            prop_assert!(ulps(to(back(x)), x) <= 1, "{name} reversed: {x:e} gives {:e}", to(back(x)));
        }
    }

    /// Arc tangent and tangent are good to 1 ulp each, and up to 45 degrees the second magnifies the error of the first
    /// by pi/2 at most; with the uneven size of an ulp within a binade this stays below 5 ulp.
    #[test]
    fn tilt_and_slope_are_inverse(slope in -1.0..1.0f64) {
        let back = tilt_to_slope(slope_to_tilt(slope));
        prop_assert!(ulps(back, slope) <= 5, "{slope:e} gives {back:e}");
    }

    #[test]
    fn an_array_is_its_numbers(values in prop::collection::vec(any::<f64>(), 3)) {
        let bits = |v: &[f64]| v.iter().map(|x| x.to_bits()).collect::<Vec<_>>();
        let one_by_one: Vec<f64> = values.iter().map(|&x| ft(x)).collect();
        prop_assert_eq!(bits(&ft(&values)), bits(&one_by_one));
        prop_assert_eq!(bits(&ft(values.as_slice())), bits(&one_by_one));
        prop_assert_eq!(bits(&ft([values[0], values[1], values[2]])), bits(&one_by_one));
        prop_assert_eq!(bits(&LengthUnit::Ft.to_si(values.clone())), bits(&one_by_one));
        prop_assert_eq!(bits(&ft(values)), bits(&one_by_one));
    }

    #[test]
    fn text_is_its_number(x in human()) {
        let same = |text: String, found: Result<f64, Error>, expected: f64| {
            // A text without a minus sign has no negative zero.
            prop_assert_eq!(found.map(f64::to_bits), Ok((expected + 0.0).to_bits()), "{}", text);
            Ok(())
        };
        for (unit, of) in [("m", (|m| m) as Conversion), ("cm", cm), ("mm", mm), ("ft", ft), ("us_ft", us_ft), ("in", inch), ("yd", yard)] {
            let text = format!("{x} {unit}");
            same(text.clone(), parse_length(&text), of(x))?;
            same(text.clone(), parse_station(&text), of(x))?;
            same(text.clone(), unit.parse::<LengthUnit>().map(|u| u.to_si(x)), of(x))?;
        }
        for (unit, of) in [("%", percent as Conversion), ("in/ft", in_per_ft), ("mm/m", mm_per_m), ("m/m", |x| x)] {
            let text = format!("{x} {unit}");
            same(text.clone(), parse_slope(&text), of(x))?;
            same(text.clone(), parse_tilt(&text), slope_to_tilt(of(x)))?;
            same(text.clone(), unit.parse::<TiltUnit>().map(|u| u.to_si(x)), slope_to_tilt(of(x)))?;
        }
        for (unit, of) in [("deg", deg as Conversion), ("rad", |x| x), ("mrad", |x| x / 1000.0)] {
            let text = format!("{x} {unit}");
            same(text.clone(), parse_angle(&text), of(x))?;
            same(text.clone(), unit.parse::<TiltUnit>().map(|u| u.to_si(x)), of(x))?;
        }
        for (unit, of) in [("l", litre as Conversion), ("gal", gallon), ("imp gal", imperial_gallon), ("ft3", cubic_foot), ("ml", |x| x / 1e6)] {
            let text = format!("{x} {unit}");
            same(text.clone(), parse_volume(&text), of(x))?;
        }
    }

    /// A decimal comma means the same as a point, or is refused where it could mean thousands.
    #[test]
    fn a_decimal_comma_is_a_point_or_refused(whole in 0..100_000u32, part in "[0-9]{1,6}") {
        let point = parse_length(&format!("{whole}.{part} m"));
        let comma = parse_length(&format!("{whole},{part} m"));
        if part.len() == 3 && (1..1000).contains(&whole) {
            let refused = matches!(comma, Err(Error::Text { .. }));
            prop_assert!(refused, "{}", part);
        } else {
            prop_assert_eq!(comma, point);
        }
    }

    #[test]
    fn fractions_of_an_inch_are_exact(feet in 0..1000u32, inches in 0..12u32, sixteenths in 1..16u32) {
        let exact = inch(12.0 * f64::from(feet) + f64::from(inches) + f64::from(sixteenths) / 16.0);
        for text in [
            format!("{feet}' {inches} {sixteenths}/16\""),
            format!("{feet}'-{inches}-{sixteenths}/16\""),
            format!("{feet} ft {inches} {sixteenths}/16 in"),
            format!("{feet}\u{2032}\u{2009}{inches}\u{a0}{sixteenths}\u{2044}16\u{2033}"),
        ] {
            prop_assert_eq!(parse_length(&text).map(f64::to_bits), Ok(exact.to_bits()), "{}", text);
        }
    }

    #[test]
    fn a_station_counts_hundreds_of_feet(hundreds in 0..1000u32, feet in 0..100u32, tenths in 0..10u32) {
        let decimal: f64 = format!("{feet}.{tenths}").parse().unwrap();
        let station = ft(100.0 * f64::from(hundreds) + decimal);
        let text = format!("{hundreds}+{feet:02}.{tenths}");
        prop_assert_eq!(parse_station(&text), Ok(station));
        prop_assert_eq!(Words::Us.station(station), text);
    }

    #[test]
    fn a_minus_sign_turns_the_sign_only(x in 0.001..89.0f64) {
        for parse in [parse_length, parse_station] {
            prop_assert_eq!(parse(&format!("-{x} m")), Ok(-x));
        }
        for text in [format!("{x} %"), format!("{x} deg"), format!("1 in {x}")] {
            let falls = parse_slope(&text).unwrap();
            prop_assert!(falls > 0.0);
            prop_assert_eq!(parse_slope(&format!("-{text}")), Ok(-falls));
            prop_assert_eq!(parse_slope(&format!("{text} backfall")), Ok(-falls));
        }
    }

    /// Words read back give the number to half of the last place printed, and a billionth of it for the conversions.
    #[test]
    fn words_read_back(m in -1e4..1e4f64, slope in -0.9..0.9f64, litres in 0.04..500.0f64) {
        let near = |text: &str, found: Result<f64, Error>, expected: f64, half: f64| {
            let error = (found.clone().unwrap_or(f64::NAN) - expected).abs();
            prop_assert!(error <= half * (1.0 + 1e-6), "{} read as {:?}, not {}", text, found, expected);
            Ok(())
        };
        for (words, length, station) in [(Words::Uk, 0.005, 0.005), (Words::Us, inch(0.25), ft(0.05))] {
            let text = words.length(m);
            near(&text, parse_length(&text), m, length)?;
            let text = words.station(m);
            near(&text, parse_station(&text), m, station)?;
            let text = words.angle(slope);
            near(&text, parse_angle(&text), slope, deg(0.005))?;
            let text = words.volume(litre(litres));
            // Two figures from 0.1 on; below, half of a hundredth of a gallon. Less than 0.01 gal (0.038 l) is no number.
            near(&text, parse_volume(&text), litre(litres), litre(litres * 0.05 + 0.02))?;
        }
        if m.abs() > 0.003 {
            let (uk, us) = (Words::Uk.small(m), Words::Us.small(m));
            near(&uk, parse_length(&uk), m, 0.0005)?;
            near(&us, parse_length(&us), m, inch(0.05))?;
        }
        let uk = Words::Uk.slope(slope);
        // Three figures of N, or one decimal of N between 1 and 10; below 1 in 10,000 it is "level".
        near(&uk, parse_slope(&uk), slope, slope.abs() * 0.055 + 1e-4)?;
        if slope.abs() < 0.1 {
            near(&uk, parse_slope(&uk), slope, slope.abs() * 0.0051 + 1e-4)?;
        }
        let us = Words::Us.slope(slope);
        let (percent, in_per_ft) = us.split_once(" (").map_or((us.as_str(), None), |(p, i)| (p, i.strip_suffix(')')));
        near(&us, parse_slope(percent), slope, 0.5e-4 + if slope.abs() < 1e-4 { 1e-4 } else { 0.0 })?;
        if let Some(in_per_ft) = in_per_ft {
            // A fraction may stand for all that prints the same percentage: up to 0.01 % away.
            near(&us, parse_slope(in_per_ft), slope, 1e-4)?;
        }
    }

    #[test]
    fn words_never_print_a_negative_zero_or_a_missing_number(x in prop_oneof![any::<f64>(), human(), -0.01..0.01]) {
        for words in [Words::Uk, Words::Us] {
            for text in [
                words.slope(x), words.slope_range(x, -x), words.length(x), words.small(x), words.station(x),
                words.volume(x), words.angle(x),
            ] {
                let nothing = !text.contains(|c| ('1'..='9').contains(&c));
                prop_assert!(!(text.starts_with('-') && nothing), "{}", text);
                prop_assert!(!text.contains("NaN") && !text.contains("inf"), "{}", text);
                prop_assert_eq!(text == "not determined", text.contains("not"), "{}", text);
            }
        }
    }

    /// Any text at all gives a finite number or an error.
    #[test]
    fn no_text_breaks_a_parser(text in prop_oneof![
        any::<String>(),
        "[0-9 .,/'\"+:%e\u{b0}\u{bd}\u{2033}-]{0,16}",
        "-?[0-9]{0,3}[.,]?[0-9]{0,3}[ /+:'e-]{0,2}[0-9]{0,3}[/]?[0-9]{0,2} ?(m|mm|ft|in|in/ft|%|deg|in 40|backfall|gal)?",
    ]) {
        for parse in [parse_length, parse_station, parse_slope, parse_tilt, parse_angle, parse_volume] {
            if let Ok(value) = parse(&text) {
                prop_assert!(value.is_finite(), "{}", text);
                prop_assert!(text.chars().any(char::is_numeric) || text.trim().to_lowercase() == "level", "{}", text);
            }
        }
        let _ = (text.parse::<LengthUnit>(), text.parse::<TiltUnit>(), text.parse::<VolumeUnit>(), text.parse::<Words>());
    }

    /// A number alone is never a quantity.
    #[test]
    fn a_missing_unit_is_an_error(x in human()) {
        for parse in [parse_length, parse_station, parse_slope, parse_tilt, parse_angle, parse_volume] {
            let refused = matches!(parse(&x.to_string()), Err(Error::Text { reason, .. }) if reason == "no unit");
            prop_assert!(refused, "{}", x);
        }
    }
}

/// Slopes in in/ft, percent, 1 in N, mm/m and the angle, as a code's tables and a calculator give them; to the digits
/// printed here (arithmetic from the definition 1 ft = 12 in).
#[test]
fn the_slopes_of_the_codes() {
    let of = reference("units", "arithmetic from 1 ft = 12 in", Mark::Computed);
    for (text, in_percent, n, in_mm_per_m, in_degrees) in [
        ("1/16 in/ft", 0.52083, 192.0, 5.2083, 0.29841),
        ("1/8 in/ft", 1.04167, 96.0, 10.4167, 0.59681),
        ("1/4 in/ft", 2.08333, 48.0, 20.8333, 1.19349),
        ("1/2 in/ft", 4.16667, 24.0, 41.6667, 2.38594),
    ] {
        let slope = parse_slope(text).unwrap();
        let half = "half of the last digit given";
        of.check(format!("{text}, %"), to_percent(slope), in_percent, Absolute(0.5e-5), half);
        of.check(format!("{text}, 1 in"), to_one_in(slope), n, Absolute(1e-12), "exact but for two roundings");
        of.check(format!("{text}, mm/m"), to_mm_per_m(slope), in_mm_per_m, Absolute(0.5e-4), half);
        of.check(format!("{text}, degrees"), to_deg(slope_to_tilt(slope)), in_degrees, Absolute(0.5e-5), half);
    }
}

/// NIST SP 811 (2008), appendix B.8, from memory, to the seven figures printed there.
#[test]
fn the_factors_of_nist_sp_811() {
    let of = reference("units", "NIST SP 811 (2008), appendix B.8", Mark::Memory);
    let exact = reference("units", "definition of the unit", Mark::Exact);
    for (name, found, printed) in [
        ("foot", ft(1.0), 3.048e-1),
        ("foot (US survey)", us_ft(1.0), 3.048006e-1),
        ("inch", inch(1.0), 2.54e-2),
        ("yard", yard(1.0), 9.144e-1),
        ("degree", deg(1.0), 1.745329e-2),
        ("gallon (US)", gallon(1.0), 3.785412e-3),
        ("gallon (Imperial)", imperial_gallon(1.0), 4.54609e-3),
        ("cubic foot", cubic_foot(1.0), 2.831685e-2),
        ("litre", litre(1.0), 1e-3),
    ] {
        of.check(
            format!("{name}, SI"),
            found,
            printed,
            Relative(5e-7),
            "half of the seventh figure of a factor that begins with 1",
        );
    }
    // The two feet differ by 2 parts in a million (NIST SP 811, B.6, from memory).
    let more = us_ft(1.0) / ft(1.0) - 1.0;
    of.check(
        "US survey foot over foot, less 1",
        more,
        2e-6,
        Absolute(1e-10),
        "2 parts in a million, and the square of them",
    );
    let why = "products of four doubles";
    let cube = |x: f64| x * x * x;
    exact.check(
        "gallon of 231 cubic inches, m3",
        gallon(1.0),
        231.0 * cube(inch(1.0)),
        Relative(4.0 * f64::EPSILON),
        why,
    );
    exact.check("cubic foot, m3", cubic_foot(1.0), cube(ft(1.0)), Relative(4.0 * f64::EPSILON), why);
}

/// One text of each form against its number.
#[test]
fn texts_of_every_form() {
    let of = reference("units", "definition of the unit", Mark::Exact);
    let (foot, gallon) = (0.3048, 231.0 * 0.0254 * 0.0254 * 0.0254);
    let why = "a few roundings of the product";
    for (text, found, expected) in [
        ("6' 3 1/2\"", parse_length("6' 3 1/2\""), 75.5 * 0.0254),
        ("12 us ft", parse_length("12 us ft"), 12.0 * 1200.0 / 3937.0),
        ("3,25 m", parse_length("3,25 m"), 3.25),
        ("0+42.5", parse_station("0+42.5"), 42.5 * foot),
        ("1/4 in/ft", parse_slope("1/4 in/ft"), 1.0 / 48.0),
        ("1 in 40 backfall", parse_slope("1 in 40 backfall"), -1.0 / 40.0),
        ("2 %", parse_slope("2 %"), 0.02),
        ("45 deg as a tilt", parse_tilt("45 deg"), core::f64::consts::FRAC_PI_4),
        ("100 % as a tilt", parse_tilt("100 %"), core::f64::consts::FRAC_PI_4),
        ("0.5 mrad", parse_angle("0.5 mrad"), 0.0005),
        ("1.5 gal", parse_volume("1.5 gal"), 1.5 * gallon),
        ("90 gal/min", parse_flow("90 gal/min"), 1.5 * gallon),
        ("2 ft/s", parse_velocity("2 ft/s"), 2.0 * foot),
        ("0.02 lb/ft2", parse_pressure("0.02 lb/ft2"), 0.02 * 0.45359237 * 9.80665 / (foot * foot)),
        ("1.31 mm2/s", parse_viscosity("1.31 mm2/s"), 1.31e-6),
    ] {
        of.check(
            format!("{text}, SI"),
            found.unwrap_or_else(|e| panic!("{text}: {e}")),
            expected,
            Relative(1e-15),
            why,
        );
    }
}

/// The ends of the scale, and the angles that have a constant of their own.
#[test]
fn the_edges() {
    use std::f64::consts::{FRAC_PI_2, PI};
    assert!(one_in(0.0).is_infinite() && to_one_in(0.0).is_infinite());
    assert!(ft(f64::NAN).is_nan());
    assert_eq!(ft(Vec::new()), Vec::<f64>::new());
    assert_eq!([ulps(deg(90.0), FRAC_PI_2), ulps(deg(180.0), PI)], [0, 0]);
}

#[test]
fn units_go_by_their_names() {
    macro_rules! named {
        ($($unit:expr => $symbol:literal),+ $(,)?) => {$(
            assert_eq!($unit.to_string(), $symbol);
            assert_eq!($symbol.parse(), Ok($unit));
            assert_eq!($symbol.to_uppercase().parse(), Ok($unit));
            assert_eq!(serde_json::from_str::<serde_json::Value>(&serde_json::to_string(&$unit).unwrap()).unwrap(), $symbol);
            assert_eq!(serde_json::from_value(serde_json::json!($symbol)).ok(), Some($unit));
            // To SI and back: two roundings, or arc tangent and tangent (bounds above).
            assert!(ulps($unit.from_si($unit.to_si(0.75)), 0.75) <= 5);
        )+};
    }
    named! {
        LengthUnit::M => "m", LengthUnit::Cm => "cm", LengthUnit::Mm => "mm", LengthUnit::Ft => "ft",
        LengthUnit::UsFt => "us ft", LengthUnit::In => "in", LengthUnit::Yd => "yd",
        TiltUnit::Rad => "rad", TiltUnit::Mrad => "mrad", TiltUnit::Deg => "deg", TiltUnit::Percent => "%",
        TiltUnit::InPerFt => "in/ft", TiltUnit::MmPerM => "mm/m", TiltUnit::Ratio => "ratio",
        VolumeUnit::M3 => "m3", VolumeUnit::Litre => "l", VolumeUnit::Millilitre => "ml", VolumeUnit::Gallon => "gal",
        VolumeUnit::ImperialGallon => "imperial gal", VolumeUnit::CubicFoot => "ft3",
    }
    for (words, name) in [(Words::Uk, "uk"), (Words::Us, "us")] {
        assert_eq!(name.parse(), Ok(words));
        assert_eq!(serde_json::to_value(words).unwrap(), name);
    }
}

#[test]
fn an_unknown_unit_names_the_nearest() {
    let error = serde_json::from_str::<LengthUnit>("\"meteres\"").unwrap_err().to_string();
    assert!(error.contains("unit of length \"meteres\" is not known (did you mean \"meters\"?)"), "{error}");
    let error = parse_slope("2 precent").unwrap_err().to_string();
    assert!(error.contains("(did you mean \"percent\"?); known: rad, mrad, deg, %, in/ft, mm/m, ratio"), "{error}");
}
