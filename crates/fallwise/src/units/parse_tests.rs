use super::super::{
    cm, deg, gallon, imperial_gallon, in_per_ft, inch, litre, mm, mm_per_m, one_in, percent, us_ft, yard,
};
use super::*;

/// Every text must give its value to the bit.
fn all(parse: fn(&str) -> Result<f64, Error>, cases: &[(&str, f64)]) {
    for &(text, expected) in cases {
        let found = parse(text).unwrap_or_else(|e| panic!("{e}"));
        assert_eq!(found.to_bits(), expected.to_bits(), "{text}: {found}, not {expected}");
    }
}

/// Every text must be refused for the reason beside it, and no other.
fn none(parse: fn(&str) -> Result<f64, Error>, cases: &[(&str, &str)]) {
    for &(text, expected) in cases {
        match parse(text) {
            Err(Error::Text { text: given, reason, .. }) => {
                assert_eq!((given.as_str(), reason.as_str()), (text, expected))
            }
            other => panic!("{text:?}: {other:?}"),
        }
    }
}

/// Every text must be refused for its unit, with this suggestion.
fn unknown(parse: fn(&str) -> Result<f64, Error>, cases: &[(&str, Option<&str>)]) {
    for &(text, suggestion) in cases {
        match parse(text) {
            Err(Error::Unknown { nearest, .. }) => assert_eq!(nearest.as_deref(), suggestion, "{text}"),
            other => panic!("{text:?}: {other:?}"),
        }
    }
}

#[test]
fn lengths() {
    all(
        parse_length,
        &[
            ("12.4 m", 12.4),
            ("12,4 m", 12.4),
            ("12.4m", 12.4),
            ("  12.4\u{2009}m ", 12.4),
            ("12.4\u{a0}METRES", 12.4),
            ("-12.4 m", -12.4),
            ("\u{2212}12.4 m", -12.4),
            ("+12.4 m", 12.4),
            (".5 m", 0.5),
            ("0,125 m", 0.125),
            ("1.24e1 m", 12.4),
            ("1e+3 m", 1000.0),
            ("23 mm", mm(23.0)),
            ("1,2345 m", 1.2345),
            ("2.3 cm", cm(2.3)),
            ("40.25 ft", ft(40.25)),
            ("40.25 feet", ft(40.25)),
            ("40.25 ft.", ft(40.25)),
            ("40.25'", ft(40.25)),
            ("10 us_ft", us_ft(10.0)),
            ("10 US survey feet", us_ft(10.0)),
            ("3 yd", yard(3.0)),
            ("6-1/2 in", inch(6.5)),
            ("6 1/2 in.", inch(6.5)),
            ("6\u{bd}\u{2033}", inch(6.5)),
            ("1/16\"", inch(0.0625)),
            ("5/2 in", inch(2.5)),
            ("6''", inch(6.0)),
            ("1 1/3 ft", ft(1.0 + 1.0 / 3.0)),
            ("6' 3 1/2\"", inch(75.5)),
            ("6'3-1/2\"", inch(75.5)),
            ("6'-3 1/2\"", inch(75.5)),
            ("6\u{2032} 3\u{2009}1\u{2044}2\u{2033}", inch(75.5)),
            ("6\u{2019} 3\u{bd}\u{201d}", inch(75.5)),
            ("6 ft 3 1/2 in", inch(75.5)),
            ("6 ft. 3 1/2 in.", inch(75.5)),
            ("6 feet, 3 inches", inch(75.0)),
            ("2' 6\"", inch(30.0)),
            ("-2' 6\"", inch(-30.0)),
            ("0 m", 0.0),
            ("-0 m", 0.0),
        ],
    );
    none(
        parse_length,
        &[
            ("", "nothing given"),
            (" \t\u{2009}", "nothing given"),
            ("12.4", "no unit"),
            ("6' 3", "no unit"),
            ("1/2", "no unit"),
            ("6.5 1/2 in", "no unit"),
            ("m", "no number"),
            ("NaN m", "no number"),
            ("inf m", "no number"),
            ("-", "no number"),
            ("--3 m", "no number"),
            ("1e999 m", "the number is too large"),
            ("1e308' 3\"", "the number is too large"),
            ("1.2.3 m", "more than one decimal mark"),
            ("1,234.5 m", "more than one decimal mark"),
            ("1,250 mm", "the comma can mean thousands or a decimal; write a point, or no comma"),
            ("1/0 in", "a fraction over 0"),
            ("6 5/2 in", "the fraction after the whole number is 1 or more"),
            ("6.5' 3\"", "the feet before inches are not a whole number"),
            ("6' 14\"", "the inches after feet are 12 or more"),
            ("6 m 3 cm", "only feet and inches go together"),
            ("6 in 3 ft", "only feet and inches go together"),
            ("6' .3\"", "it is not clear what the mark before the last number belongs to"),
        ],
    );
    unknown(
        parse_length,
        &[
            ("12.4 metrs", Some("metres")),
            ("12.4 inchs", Some("inches")),
            ("3 fet", Some("feet")),
            ("3 furlongs", None),
            ("12.4 m\u{b2}", Some("m")),
        ],
    );
}

#[test]
fn too_many_digits_are_too_large() {
    for text in [format!("{} m", "9".repeat(400)), format!("1/{} in", "9".repeat(400))] {
        assert!(matches!(parse_length(&text), Err(Error::Text { reason, .. }) if reason == "the number is too large"));
    }
}

#[test]
fn stations() {
    all(
        parse_station,
        &[
            ("0+42.5", ft(42.5)),
            ("0+42.5 ft", ft(42.5)),
            ("0+42,5", ft(42.5)),
            ("1+05", ft(105.0)),
            ("12 + 34.56", ft(1234.56)),
            ("-0+10", ft(-10.0)),
            ("Sta. 0+42.5", ft(42.5)),
            ("station 1+05 us ft", us_ft(105.0)),
            ("12.4 m", 12.4),
            ("chainage 12.4 m", 12.4),
            ("ch. 12,4 m", 12.4),
            ("40' 8\"", inch(488.0)),
            ("1e+1 m", 10.0),
        ],
    );
    none(
        parse_station,
        &[
            ("42.5", "no unit"),
            ("chainage", "no number"),
            ("0+42.5 m", "a station with a plus is in feet"),
            ("1+5", "after the plus there must be two digits of feet, as in 0+05 or 0+42.5"),
            ("1+005", "after the plus there must be two digits of feet, as in 0+05 or 0+42.5"),
            ("1+", "after the plus there must be two digits of feet, as in 0+05 or 0+42.5"),
            ("1+42e3", "after the plus there are 100 feet or more"),
            ("1.5+42", "before the plus there must be a whole number of hundreds of feet"),
        ],
    );
    unknown(parse_station, &[("0+42.5 fet", Some("feet"))]);
}

#[test]
fn slopes() {
    all(
        parse_slope,
        &[
            ("1/4 in/ft", in_per_ft(0.25)),
            ("1/4\"/ft", in_per_ft(0.25)),
            ("1/4\u{2033} per foot", in_per_ft(0.25)),
            ("\u{bc} in per ft", in_per_ft(0.25)),
            ("1/4 in. per ft.", in_per_ft(0.25)),
            ("1/4 inch / foot", in_per_ft(0.25)),
            ("0.25 in_per_ft", in_per_ft(0.25)),
            ("2 %", percent(2.0)),
            ("2%", percent(2.0)),
            ("2,5 %", percent(2.5)),
            ("2 percent", percent(2.0)),
            ("2 per cent", percent(2.0)),
            ("2 cm/m", percent(2.0)),
            ("1 in 40", one_in(40.0)),
            ("1 in 47.6", one_in(47.6)),
            ("1:40", one_in(40.0)),
            ("1 : 40", one_in(40.0)),
            ("1 in 0.5", 2.0),
            ("1.5 in 100", 0.015),
            ("20 mm/m", mm_per_m(20.0)),
            ("20 \u{2030}", mm_per_m(20.0)),
            ("0.02 m/m", 0.02),
            ("0.02 ratio", 0.02),
            ("level", 0.0),
            ("Level", 0.0),
            ("1 in 200 backfall", -0.005),
            ("0.5 % backfall", percent(-0.5)),
            ("0.5 % fall", percent(0.5)),
            ("-0.5 %", percent(-0.5)),
            ("1.2\u{b0}", tilt_to_slope(deg(1.2))),
        ],
    );
    none(
        parse_slope,
        &[
            ("0.02", "no unit"),
            ("1/4", "no unit"),
            ("backfall", "no number"),
            ("level backfall", "no number"),
            ("-2 % backfall", "it has both a minus sign and \"backfall\""),
            ("1 in 0", "1 in 0 is no slope; level is written \"level\""),
            ("1:0", "1 in 0 is no slope; level is written \"level\""),
            ("1 in 12 inches", "\"inches\" after \"1 in N\""),
            ("2:1", "the larger number comes first, which can be read two ways; write 1 in N"),
            ("90 deg", "the angle is 90 degrees or more"),
            ("nan %", "no number"),
        ],
    );
    unknown(
        parse_slope,
        &[
            ("1/4 in/fot", Some("in/foot")),
            ("2 precent", Some("percent")),
            ("2 m", Some("m/m")),
            ("1 in N", Some("in/in")),
        ],
    );
}

#[test]
fn a_quarter_inch_per_foot_is_more_than_two_percent() {
    let quarter = parse_slope("1/4 in/ft").unwrap();
    // 25/12 % by hand; one rounding of the quotient.
    assert!((quarter - 0.0208333333333333333).abs() <= f64::EPSILON * quarter);
    assert!(quarter > parse_slope("2 %").unwrap());
}

#[test]
fn tilts_and_angles() {
    all(
        parse_tilt,
        &[
            ("0.3 deg", deg(0.3)),
            ("-0.3\u{b0}", deg(-0.3)),
            ("5 mrad", 0.005),
            ("2 %", slope_to_tilt(0.02)),
            ("1 in 40", slope_to_tilt(0.025)),
            ("level", 0.0),
        ],
    );
    all(
        parse_angle,
        &[
            ("0.3\u{b0}", deg(0.3)),
            ("22 1/2 degrees", deg(22.5)),
            ("-90 deg", deg(-90.0)),
            ("5 mrad", 0.005),
            ("0.01 rad", 0.01),
        ],
    );
    none(parse_angle, &[("45", "no unit"), ("2 %", "\"%\" is a unit of slope, not of angle"), ("", "nothing given")]);
    unknown(parse_angle, &[("45 degs", Some("deg"))]);
}

#[test]
fn volumes() {
    all(
        parse_volume,
        &[
            ("1.6 litres", litre(1.6)),
            ("1.6 l", litre(1.6)),
            ("0.43 gal", gallon(0.43)),
            ("2 imperial gallons", imperial_gallon(2.0)),
            ("0.01 m3", 0.01),
            ("0.01 m\u{b3}", 0.01),
            ("1/2 cu ft", 0.014158423296),
        ],
    );
    none(parse_volume, &[("2", "no unit"), ("l", "no number")]);
    unknown(parse_volume, &[("2 galons", Some("gallons")), ("2 barrels", None)]);
}
