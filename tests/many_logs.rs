//! Tables of many laterals: each log as if it were alone, faults with their lateral, what is odd and usable said.

#![allow(clippy::unwrap_used, reason = "helpers of tests, which clippy does not take for tests")]

use std::fmt::Write as _;

use fallwise_files::{
    LogFormat,
    log::{self, Cells, DecimalMark, ManyLogs, TableColumn},
};
use proptest::{collection::vec, prelude::*};

fn read(text: &str) -> ManyLogs {
    log::read_many(text.as_bytes(), "id", &LogFormat::default()).unwrap()
}

/// Faults of each lateral that has any, as they are told.
fn faults(many: &ManyLogs) -> Vec<(String, Vec<String>)> {
    let told = |faults: &[fallwise_files::FileError]| faults.iter().map(ToString::to_string).collect::<Vec<_>>();
    let of = many.iter().filter_map(|of| Some((of.id.to_owned(), told(&of.log.err()?))));
    let nobodys = (String::new(), told(many.without_id().0));
    of.chain([nobodys].into_iter().filter(|n| !n.1.is_empty())).collect()
}

fn counters(many: &ManyLogs) -> Vec<(String, Vec<f64>)> {
    many.iter().filter_map(|of| Some((of.id.to_owned(), of.log.ok()?.counter_m))).collect()
}

fn warnings(many: &ManyLogs, id: &str) -> Vec<String> {
    many.iter().find(|of| of.id == id).unwrap().log.unwrap().warnings
}

#[test]
fn ids_are_text_in_the_order_in_which_they_appear() {
    let many = read("id,cable (m),tilt (deg)\n010,0,1\n010,1,1\n10,0,1\n10,1,1\n1e1,0,1\n1e1,1,1\n");
    assert_eq!(many.ids().collect::<Vec<_>>(), ["010", "10", "1e1"]);
    assert!(many.iter().all(|of| of.log.unwrap().warnings.is_empty()));
    assert!(many.warnings().is_empty() && many.without_id().0.is_empty());
}

#[test]
fn each_fault_is_told_with_its_lateral_and_the_others_are_read() {
    let text = "id,cable (m),tilt (deg)\nA,0,1\nA,x,1\nA,2,\nA,3,1\nB,0,1\nB,1\n,5,1\nB\nC,0,1\n\nD,0,1\nD,1,1\n";
    let many = read(text);
    assert_eq!(counters(&many), [("D".to_owned(), vec![0.0, 1.0])]);
    let told = |id: &str, faults: &[&str]| (id.to_owned(), faults.iter().map(|f| (*f).to_owned()).collect());
    assert_eq!(
        faults(&many),
        [
            told(
                "A",
                &[
                    "input, row 3, column \"cable (m)\": \"x\" given; expected a number with a decimal point",
                    "input, row 4, column \"tilt (deg)\": the cell is empty; expected a number with a decimal point",
                ]
            ),
            told(
                "B",
                &[
                    "input, row 7: the row has 2 cells, the header has 3",
                    "input, row 9: the row has 1 cell, the header has 3"
                ]
            ),
            told("C", &["input: readings: 1 given, at least 2 needed"]),
            told(
                "",
                &["input, row 8, column \"id\": the cell is empty; expected the id of the lateral that the row is of"]
            ),
        ]
    );
}

#[test]
fn only_the_first_faults_are_kept() {
    let rows: String = (0..50).fold(String::new(), |text, n| text + &format!("A,{n},x\n,1,1\n"));
    let many = read(&format!("id,cable (m),tilt (deg)\n{rows}"));
    let of = many.get(0).unwrap();
    assert_eq!((of.log.unwrap_err().len(), of.more_faults), (20, 30));
    assert_eq!((many.without_id().0.len(), many.without_id().1), (20, 30));
}

#[test]
fn what_is_odd_of_one_lateral_is_said_of_it() {
    let many = read("id,cable (m),tilt (deg)\n A,0,1\nA,1,2\nB,0,1\nB,1,1\nA,0,1\nA,1,2\nB,2,1\n");
    assert_eq!(counters(&many)[0].1, [0.0, 1.0, 0.0, 1.0]);
    assert_eq!(
        warnings(&many, "A"),
        [
            "row 2: blanks around the id \"A\" are left out",
            "its rows stand in 2 blocks, the second from row 6; joined in the order of the file",
            "rows 6 to 7 repeat rows 2 to 3: the same readings twice",
        ]
    );
    assert_eq!(
        warnings(&many, "B"),
        ["its rows stand in 2 blocks, the second from row 8; joined in the order of the file"]
    );
}

#[test]
fn what_is_wrong_with_the_table_as_a_whole_is_one_error() {
    for (text, message) in [
        (
            "ids,cable (m),tilt (deg)\nA,0,1\nA,1,1\n",
            "input, row 1: by: there is no column \"id\" (did you mean \"ids\"?); expected one of the columns: \"ids\", \
             \"cable (m)\", \"tilt (deg)\"",
        ),
        (
            "id,cable,tilt (deg)\nA,0,1\nA,1,1\n",
            "input, row 1, column \"cable\": counter: the column has no unit; expected the unit in the header, such as \
             \"cable (ft)\", or counter_unit = \"ft\" in the job",
        ),
        // The rows of B may be in the cell.
        (
            "id,cable (m),tilt (deg),note\nA,0,1,\"x\nB,0,1,\nB,1,1,\n",
            "input, row 2, column \"note\": a quote is opened and not closed on its line, so that rows may be lost in it; \
             expected cells of one line each, or of several lines without the delimiter",
        ),
    ] {
        let fault = log::read_many(text.as_bytes(), "id", &LogFormat::default()).unwrap_err();
        assert_eq!(fault.to_string(), message);
    }
    let fault = log::read_many(b"cable (m),tilt (deg)\n0,1\n", "cable", &LogFormat::default()).unwrap_err();
    assert!(fault.to_string().contains("no column is the counter"), "{fault}");
}

#[test]
fn a_row_that_cannot_be_read_says_nothing_of_the_decimal_mark() {
    let many = read("id;cable (m);tilt (deg)\nA;1.2.3;1\nA;1;1\nB;0,5;1,25\nB;1,5;1,25\n");
    assert_eq!(counters(&many), [("B".to_owned(), vec![0.5, 1.5])]);
    assert!(many.found().contains(&"decimal mark: comma".to_owned()), "{:?}", many.found());
}

#[test]
fn the_id_is_no_other_column() {
    // "station" by itself would be a second counter.
    let many =
        log::read_many(b"station,cable (m),tilt (deg)\n7,0,1\n7,1,1\n", "station", &LogFormat::default()).unwrap();
    assert_eq!(counters(&many), [("7".to_owned(), vec![0.0, 1.0])]);
}

#[test]
fn clock_times_count_from_the_first_of_each() {
    let many = read("id,cable (m),tilt (deg),time\nA,0,1,10:00:00\nA,1,1,10:00:05\nB,0,1,11:00:00\nB,1,1,11:00:07.5\n");
    let times: Vec<_> = many.iter().map(|of| of.log.unwrap().time_s.unwrap()).collect();
    assert_eq!(times, [[0.0, 5.0], [0.0, 7.5]]);
}

#[test]
fn a_part_counts_rows_as_its_source_does() {
    let text = "id,cable (m),tilt (deg)\nA,0,1\n B,0,1\nA,1,1\nB,1,x\n,1,1\nC,0,1\nC,1,1\nA,2,1\nA,0,1\nA,1,1\n";
    let rows = [1, 102, 103, 104, 205, 206, 307, 308, 409, 410];
    let part = read(text).renumbered(&rows);
    let logs: Vec<_> = part.iter().collect();
    let a = logs[0].log.as_ref().unwrap();
    // The last row of the text has no number of its own in the list, and keeps the one it has.
    assert_eq!(a.source_row, [102, 104, 409, 410, 11]);
    assert_eq!(a.warnings, ["its rows stand in 3 blocks, the second from row 104; joined in the order of the file"]);
    assert!(logs[1].log.as_ref().unwrap_err()[0].to_string().starts_with("input, row 205, column \"tilt (deg)\""));
    assert_eq!(logs[2].log.as_ref().unwrap().source_row, [307, 308]);
    assert!(part.without_id().0[0].to_string().starts_with("input, row 206, column \"id\""));
    // Nothing but row numbers has changed.
    let before = read(text);
    assert_eq!(before.get(0).unwrap().log.unwrap().counter_m, a.counter_m);
    assert_eq!(read(text).renumbered(&(1..12).collect::<Vec<_>>()), before);
    // Columns in memory have no header: their first row is the first number.
    let column = |name: &str, cells| TableColumn { name: name.to_owned(), cells };
    let columns = [
        column("id", Cells::Texts(vec![Some(" A".to_owned()), Some("A".to_owned()), Some("B".to_owned())])),
        column("cable (m)", Cells::Numbers(vec![0.0, 1.0, f64::NAN])),
        column("tilt (rad)", Cells::Numbers(vec![0.0, 1.0, 1.0])),
    ];
    let part = log::read_many_columns(&columns, "id", &LogFormat::default()).unwrap().renumbered(&[51, 52, 60]);
    let a = part.get(0).unwrap().log.unwrap();
    assert_eq!((a.source_row, &a.warnings[0][..6]), (vec![51, 52], "row 51"));
    assert!(part.get(1).unwrap().log.unwrap_err()[0].to_string().starts_with("input, row 60, column \"cable (m)\""));
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// Rows of laterals, mixed in any way, are each what `read` makes of its own rows.
    #[test]
    fn each_log_is_as_if_it_were_alone(rows in vec((0_usize..4, -50.0..50.0, -10.0..10.0, 0_u32..86400), 1..60)) {
        let header = "note;id;cable (ft);tilt [%];time\n";
        let line = |id: usize, row: &(usize, f64, f64, u32)| {
            let (_, cable, tilt, time) = row;
            format!("n{time};00{id};{cable:?};{tilt:?};{:02}:{:02}:{:02}\n", time / 3600, time / 60 % 60, time % 60)
        };
        let text: String = rows.iter().fold(header.to_owned(), |text, row| text + &line(row.0, row));
        let many = read(&text);
        for of in many.iter() {
            let id: usize = of.id.parse().unwrap();
            let mut own = header.to_owned();
            rows.iter().filter(|row| row.0 == id).for_each(|row| own.write_str(&line(id, row)).unwrap());
            let alone = log::read(own.as_bytes(), &LogFormat::default());
            match (of.log, alone) {
                (Ok(of), Ok(alone)) => {
                    prop_assert_eq!(of.counter_m, alone.counter_m);
                    prop_assert_eq!(of.reading_rad, alone.reading_rad);
                    prop_assert_eq!(of.time_s, alone.time_s);
                    // The first of them: alone the ids are text like any other.
                    prop_assert_eq!(&of.extra[0], &alone.extra[0]);
                }
                (Err(of), Err(alone)) => prop_assert_eq!(of[0].to_string(), alone.to_string()),
                (of, alone) => prop_assert!(false, "{:?} and {:?}", of, alone),
            }
        }
    }

    /// Columns in memory are what the same table in text is, to the bit.
    #[test]
    fn columns_are_as_a_table_in_text(rows in vec((0_usize..3, -1e3..1e3, -1.0..1.0), 1..40), comma: bool) {
        let ids = rows.iter().map(|row| Some(format!("0{}", row.0))).collect();
        let column = |name: &str, cells| TableColumn { name: name.to_owned(), cells };
        let columns = [
            column("tilt (rad)", Cells::Numbers(rows.iter().map(|row| row.2).collect())),
            column("id", Cells::Texts(ids)),
            column("cable (m)", Cells::Numbers(rows.iter().map(|row| row.1).collect())),
        ];
        let format = LogFormat { decimal: comma.then_some(DecimalMark::Comma), ..LogFormat::default() };
        let many = log::read_many_columns(&columns, "id", &format).unwrap();
        for of in many.iter() {
            let own: Vec<_> = rows.iter().enumerate().filter(|(_, row)| format!("0{}", row.0) == of.id).collect();
            prop_assert_eq!(of.log.is_ok(), own.len() > 1);
            if let Ok(log) = of.log {
                prop_assert_eq!(log.counter_m, own.iter().map(|(_, row)| row.1).collect::<Vec<_>>());
                prop_assert_eq!(log.reading_rad, own.iter().map(|(_, row)| row.2).collect::<Vec<_>>());
                prop_assert_eq!(log.source_row, own.iter().map(|(i, _)| i + 1).collect::<Vec<_>>());
            }
        }
    }
}
