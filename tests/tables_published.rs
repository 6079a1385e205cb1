//! Tables of roughness and fixture units against the documents that they are of.

#![allow(clippy::unwrap_used, reason = "helpers of tests, which clippy does not take for tests")]

use fallwise::{
    hydraulics::{
        EN_12056_ROUGHNESS_M, FIXTURE_UNITS_PER_GAL_PER_MIN,
        PlumbingCode::{Ipc, Upc},
        Roughness, continuous_fixture_units, drain_for_fixture_units, drain_units, fixture_units, fixture_units_of,
        most_fixture_units, outlet_fixture_units, roughness_of, roughnesses,
    },
    model::{
        Formula::{self, ColebrookWhite, Manning},
        Nominal,
    },
    units::{gal_per_min, in_per_ft, percent},
};
use fallwise_record::{Mark, Reference, Tolerance::Absolute, reference};

const MARKS: [&str; 5] = [
    "seen in the document",
    "seen in a secondary source",
    "from memory",
    "from memory; the same values seen in a secondary source",
    "common practice, no source",
];

/// Holds a row to what its document says of a material in some condition: all of its values, in the order low, usual, high.
fn hold(material: &str, condition: &str, formula: Formula, source: &str, expected: &[f64]) {
    let of =
        |row: &&&Roughness| row.formula == formula && row.condition.contains(condition) && row.source.contains(source);
    let rows: Vec<_> = roughness_of(material).unwrap();
    let found: Vec<_> = rows.iter().filter(of).collect();
    assert_eq!(found.len(), 1, "{material} {condition} {source}: {found:?}");
    let row = found[0];
    let values: Vec<f64> = [row.low, row.usual, row.high].into_iter().flatten().collect();
    let mark = match row.mark {
        "seen in the document" => Mark::Seen,
        "seen in a secondary source" => Mark::Secondary,
        "common practice, no source" => Mark::Practice,
        _ => Mark::Memory,
    };
    let unit = if formula == Manning { "n" } else { "k, m" };
    let what = format!("{material}, {}: {unit}", row.condition);
    reference("roughness", row.source, mark).same(what.replace(", :", ":"), values, expected.to_vec());
}

/// Manning's n as the documents have it (Chow from memory, and in secondary sources as are Brater and King; see the marks of the
/// rows).
#[test]
fn manning_n_as_published() {
    for (material, condition, source, values) in [
        ("PVC", "", "Winchester", &[0.010][..]),
        ("PVC", "smooth", "collection", &[0.009, 0.011]),
        ("polyethylene", "", "Winchester", &[0.011]),
        ("plastic", "smooth", "Austin", &[0.010]),
        ("vitrified clay", "", "Winchester", &[0.013]),
        ("vitrified clay", "", "Chow", &[0.011, 0.014, 0.017]),
        ("vitrified clay", "", "Brater", &[0.010, 0.017]),
        ("vitrified clay", "", "collection", &[0.013, 0.015]),
        ("cast iron", "", "Winchester", &[0.013]),
        ("cast iron", "new", "collection", &[0.012]),
        ("cast iron", "uncoated", "Brater", &[0.011, 0.015]),
        ("ductile iron", "new", "collection", &[0.012]),
        ("concrete", "", "Winchester", &[0.013]),
        ("concrete", "", "Austin", &[0.012]),
        ("concrete", "", "Brater", &[0.010, 0.017]),
        ("asbestos cement", "", "Buried Pipe Design", &[0.010]),
        ("asbestos cement", "", "collection", &[0.011]),
        ("brick", "", "Winchester", &[0.015]),
        ("pitch fibre", "", "none", &[0.011, 0.013]),
        ("sewer", "slime", "Chow", &[0.012, 0.013, 0.016]),
        ("sewer", "design", "Ten States", &[0.013]),
    ] {
        hold(material, condition, Manning, source, values);
    }
    let coated = roughness_of("cast iron").unwrap().into_iter().find(|r| r.condition == "coated").unwrap();
    assert_eq!((coated.low, coated.usual, coated.high), (Some(0.010), None, Some(0.014)));
}

/// Roughness by the tables of HR Wallingford, appendix 1 (seen in a secondary source; the slimed rows from memory), in mm.
#[test]
fn sand_roughness_as_published() {
    for (material, condition, values) in [
        ("PVC", "cemented", &[0.03][..]),
        ("PVC", "spigot", &[0.06]),
        ("vitrified clay", "sleeve", &[0.03, 0.06, 0.15]),
        ("vitrified clay", "below 150", &[0.03]),
        ("vitrified clay", "above 150", &[0.06]),
        ("pitch fibre", "", &[0.003, 0.03]),
        ("cast iron", "uncoated", &[0.15, 0.3, 0.6]),
        ("wrought iron", "rusty", &[0.15, 0.6, 3.0]),
        ("concrete", "spun", &[0.06, 0.15, 0.3]),
        ("brick", "", &[1.5, 3.0, 6.0]),
        ("vitrified clay", "0.75", &[1.5, 3.0]),
        ("PVC", "0.75", &[0.6, 1.5]),
        ("concrete", "0.75", &[3.0, 6.0]),
        ("vitrified clay", "1.2", &[0.3, 0.6]),
        ("PVC", "1.2", &[0.15, 0.3]),
        ("concrete", "1.2", &[1.5, 3.0]),
    ] {
        // The decimal number itself, as nobody gets by dividing 0.06 by 1000.
        let metres: Vec<f64> = values.iter().map(|mm| format!("{mm}e-3").parse().unwrap()).collect();
        hold(material, condition, ColebrookWhite, "Wallingford", &metres);
    }
    let exact = |material: &str, condition: &str| {
        let of = |row: &&Roughness| row.formula == ColebrookWhite && row.condition == condition;
        let row = roughness_of(material).unwrap().into_iter().find(of).unwrap();
        [row.low, row.usual, row.high].map(|value| value.unwrap())
    };
    assert_eq!(exact("cast iron", "coated"), [0.000_06, 0.000_15, 0.000_3]);
    assert_eq!(exact("cast iron", "uncoated"), [0.000_15, 0.000_3, 0.000_6]);
    assert_eq!(exact("concrete", "precast, O-ring joints"), [0.000_06, 0.000_15, 0.000_6]);
    // BS EN 16933-2 and EN 12056-2 (from memory).
    hold("sewer", "surface", ColebrookWhite, "16933", &[0.0006]);
    hold("sewer", "foul", ColebrookWhite, "16933", &[0.0015]);
    hold("sewer", "building", ColebrookWhite, "12056", &[EN_12056_ROUGHNESS_M]);
}

#[test]
fn rows_of_roughness_are_whole() {
    for (i, row) in roughnesses().iter().enumerate() {
        let values: Vec<f64> = [row.low, row.usual, row.high].into_iter().flatten().collect();
        assert!(!values.is_empty() && values.is_sorted_by(|a, b| a < b), "{row:?}");
        for value in values {
            // What pipes of drains have: a slip of the unit would be outside.
            let (least, most) = if row.formula == Manning { (0.009, 0.017) } else { (3e-6, 6e-3) };
            assert!((least..=most).contains(&value), "{row:?}");
        }
        assert!(MARKS.contains(&row.mark) && !row.source.is_empty() && !row.source.contains("http"), "{row:?}");
        assert_eq!(row.source == "none", row.mark == "common practice, no source");
        // No statement twice.
        assert!(!roughnesses()[..i].contains(row), "{row:?}");
    }
    let unknown = roughness_of("vitrefied clay").unwrap_err().to_string();
    assert!(unknown.contains("did you mean \"vitrified clay\"?"), "{unknown}");
    assert_eq!(unknown.matches("cast iron").count(), 1, "{unknown}"); // each material is told once
    assert_eq!(roughness_of(" Pitch Fibre ").unwrap().len(), 2);
}

const IPC: Reference = reference("fixture-units", "IPC table 709.1", Mark::Memory);
const UPC: Reference = reference("fixture-units", "UPC table 702.1", Mark::Secondary);

#[test]
fn fixture_units_as_published() {
    for (fixture, by_ipc, by_upc) in [
        ("bar sink", None, Some(1.0)),
        ("bathtub", Some(2.0), Some(2.0)),
        ("clothes washer, domestic", Some(2.0), Some(3.0)),
        ("dishwasher, domestic", Some(2.0), Some(2.0)),
        ("kitchen sink, domestic", Some(2.0), Some(2.0)),
        ("laundry sink", Some(2.0), Some(2.0)),
        ("lavatory", Some(1.0), Some(1.0)),
        ("shower up to 5.7 gal/min", Some(2.0), None),
        ("shower", None, Some(2.0)),
        ("WC of 1.6 gal, private", Some(3.0), Some(3.0)),
        ("WC above 1.6 gal, private", Some(4.0), None),
        ("WC of 1.6 gal, public", Some(4.0), None),
        ("WC above 1.6 gal, public", Some(6.0), None),
        ("bathroom group with WC of 1.6 gal", Some(5.0), None),
        ("bathroom group with WC above 1.6 gal", Some(6.0), None),
        ("floor drain, 2 in", Some(2.0), None),
        ("urinal", Some(4.0), None),
        ("urinal up to 1 gal", Some(2.0), None),
    ] {
        IPC.same(format!("{fixture}: units"), fixture_units_of(fixture, Ipc).ok(), by_ipc);
        UPC.same(format!("{fixture}: units"), fixture_units_of(fixture, Upc).ok(), by_upc);
    }
    assert_eq!(fixture_units().len(), 25);
    for row in fixture_units() {
        assert!(row.mark == if row.code == Ipc { "from memory" } else { "seen in a secondary source" });
    }
    let unknown = fixture_units_of("lavatry", Ipc).unwrap_err().to_string();
    assert!(unknown.contains("did you mean \"lavatory\"?") && unknown.matches("bathtub").count() == 1, "{unknown}");
    let other = fixture_units_of("Bar Sink", Ipc).unwrap_err().to_string();
    assert!(other.contains("bar sink") && other.contains("IPC"), "{other}");
}

/// IPC 709.2 and 709.3 (from memory); one unit a gallon in the Municipal Code of Chicago, 18-29-709.3.
#[test]
fn units_of_outlets_and_of_continuous_flow() {
    let of = |size: f64| outlet_fixture_units(Nominal::inches(size)).unwrap();
    let outlets = reference("fixture-units", "IPC 709.2", Mark::Memory);
    for (size, units) in [(1.25, 1.0), (1.5, 2.0), (2.0, 3.0), (2.5, 4.0), (3.0, 5.0), (4.0, 6.0)] {
        outlets.same(format!("outlet of {size} in: units"), of(size), Some(units));
    }
    assert_eq!([1.0, 1.75, 6.0].map(of), [Some(1.0), None, None]);
    for bad in [Nominal::dn(50.0), Nominal::inches(0.0), Nominal::inches(f64::NAN), Nominal::inches(f64::INFINITY)] {
        assert!(outlet_fixture_units(bad).is_err());
    }
    let chicago = reference("fixture-units", "Municipal Code of Chicago, 18-29-709.3", Mark::Seen);
    let ipc = reference("fixture-units", "IPC 709.3", Mark::Memory);
    for (of, units_per_gal, units) in [(ipc, FIXTURE_UNITS_PER_GAL_PER_MIN, 30.0), (chicago, 1.0, 15.0)] {
        let found = continuous_fixture_units(gal_per_min(15.0), units_per_gal).unwrap();
        of.check("15 gal/min without a break: units", found, units, Absolute(1e-13), "rounding of two conversions");
    }
    for (flow, units) in [(-1.0, 2.0), (f64::NAN, 2.0), (0.001, -1.0), (0.001, f64::NAN), (f64::MAX, 2.0)] {
        assert!(continuous_fixture_units(flow, units).is_err());
    }
}

/// IPC 2018, table 710.1(1), as printed: size, then the most units at 1/16, 1/8, 1/4 and 1/2 in/ft.
const IPC_PRINTED: &str = "
    1.25 -    -    1     1
    1.5  -    -    3     3
    2    -    -    21    26
    2.5  -    -    24    31
    3    -    36   42    50
    4    -    180  216   250
    5    -    390  480   575
    6    -    700  840   1000
    8    1400 1600 1920  2300
    10   2500 2900 3500  4200
    12   3900 4600 5600  6700
    15   7000 8300 10000 12000";

/// The table as printed, and what the function says between its columns.
#[test]
fn drains_by_the_ipc_as_published() {
    let of = reference("fixture-units", "IPC 2018, table 710.1(1)", Mark::Seen);
    for line in IPC_PRINTED.trim().lines() {
        let mut words = line.split_whitespace();
        let size = Nominal::inches(words.next().unwrap().parse().unwrap());
        let printed: Vec<Option<u32>> = words.map(|word| word.parse().ok()).collect();
        let most = |slope: f64| most_fixture_units(size, slope, Ipc).unwrap();
        let columns = [1.0 / 16.0, 1.0 / 8.0, 1.0 / 4.0, 1.0 / 2.0].map(in_per_ft);
        of.same(
            format!("{} in at 1/16, 1/8, 1/4, 1/2 in/ft: most units", size.size),
            columns.map(most).to_vec(),
            printed.clone(),
        );
        for (i, slope) in columns.into_iter().enumerate() {
            assert_eq!(most(slope * 1.01), printed[i], "{line}");
            assert_eq!(most(slope * 0.999), if i == 0 { None } else { printed[i - 1] }, "{line}");
            // The last places of a conversion do not drop a pipe by a column.
            assert_eq!(most(slope * (1.0 - 4.0 * f64::EPSILON)), printed[i], "{line}");
        }
        // Codes write 2 % beside 1/4 in/ft, which is 2.0833 %; and steeper than the table is its last column.
        assert_eq!(
            [most(percent(2.0)), most(percent(2.0833)), most(percent(2.0834))],
            [printed[1], printed[1], printed[2]]
        );
        assert_eq!(most(0.5), printed[3]);
    }
    for (size, slope) in [(7.0, 0.03), (4.0, 0.0), (4.0, -0.03)] {
        assert_eq!(most_fixture_units(Nominal::inches(size), slope, Ipc).unwrap(), None);
    }
    let dn = most_fixture_units(Nominal::dn(100.0), 0.03, Ipc).unwrap_err().to_string();
    assert!(dn.contains("DN 100") && dn.contains("inches"), "{dn}");
    assert!(most_fixture_units(Nominal::inches(4.0), f64::NAN, Ipc).is_err());
}

/// UPC, horizontal drains at 1/4 in/ft (seen in a secondary source).
#[test]
fn drains_by_the_upc_as_published() {
    let table = reference("fixture-units", "UPC, horizontal drains at 1/4 in/ft", Mark::Secondary);
    for (size, most) in [(1.5, 1), (2.0, 8), (2.5, 14), (3.0, 35), (4.0, 216)] {
        let of = |slope: f64| most_fixture_units(Nominal::inches(size), slope, Upc).unwrap();
        let found = [in_per_ft(0.25), in_per_ft(0.5), percent(2.0)].map(of);
        table.same(format!("{size} in at 1/4, 1/2 in/ft, 2 %: most units"), found, [Some(most), Some(most), None]);
    }
    assert_eq!(most_fixture_units(Nominal::inches(6.0), 0.03, Upc).unwrap(), None);
    assert_eq!(drain_for_fixture_units(217.0, 0.03, false, Upc).unwrap(), None);
    assert_eq!(drain_for_fixture_units(1.0, 0.02, false, Upc).unwrap(), None);
}

/// Rows grow with size and with slope, and each is what the function says.
#[test]
fn rows_of_drains_agree_with_the_function() {
    let rows = drain_units();
    assert_eq!(rows.len(), 32 + 4 + 5); // eight sizes in two or three columns, four in four; the UPC
    for row in &rows {
        assert_eq!(most_fixture_units(row.nominal, row.slope, row.code).unwrap(), Some(row.most_units));
        let seen = if row.code == Ipc { "seen in the document" } else { "seen in a secondary source" };
        assert!(row.mark == seen && row.source.contains("table"));
        for other in rows.iter().filter(|other| other.code == row.code) {
            if other.nominal.size >= row.nominal.size && other.slope >= row.slope {
                assert!(other.most_units >= row.most_units, "{row:?} {other:?}");
            }
        }
    }
}

/// The smallest drain is enough, and the next smaller one of the table is not, or is too small below a WC.
#[test]
fn the_smallest_drain_for_units() {
    let rows = drain_units();
    for code in [Ipc, Upc] {
        for slope in [1.0 / 192.0, 0.01, 1.0 / 96.0, 0.02, 1.0 / 48.0, 0.04, 1.0 / 24.0, 0.1] {
            for units in (0..13_000).step_by(7).map(f64::from).chain([0.5, 36.0, 36.5, 42.0, 216.0, 12_000.0]) {
                for serves_wc in [false, true] {
                    let found = drain_for_fixture_units(units, slope, serves_wc, code).unwrap().map(|n| n.size);
                    let enough = |size: f64| {
                        let most = most_fixture_units(Nominal::inches(size), slope, code).unwrap();
                        most.is_some_and(|most| f64::from(most) >= units) && (!serves_wc || size >= 3.0)
                    };
                    let sizes = rows.iter().map(|row| row.nominal.size).filter(|&size| enough(size));
                    assert_eq!(found, sizes.min_by(f64::total_cmp), "{units} {slope} {serves_wc} {code:?}");
                }
            }
        }
    }
    for (units, slope) in [(-1.0, 0.02), (f64::NAN, 0.02), (f64::INFINITY, 0.02), (1.0, f64::NAN)] {
        assert!(drain_for_fixture_units(units, slope, false, Ipc).is_err());
    }
}
