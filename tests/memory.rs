//! What reading a log holds in memory. Alone in its process, since every test of a process adds to what is measured.

#![allow(clippy::unwrap_used, reason = "helpers of tests, which clippy does not take for tests")]

use std::fmt::Write as _;

use fallwise_files::log::{self, LogFormat};
use peak_alloc::PeakAlloc;

#[global_allocator]
static MEMORY: PeakAlloc = PeakAlloc;

/// A log of a header and 300,000 equal rows.
fn log(header: &str, row: &str) -> String {
    let mut text = format!("{header}\n");
    (0..300_000).for_each(|_| writeln!(text, "{row}").unwrap());
    text
}

/// The bound stated at `fallwise_files::log`: eight bytes for each byte of the log, and 64 KiB for buffers, names, messages.
/// Of a table of many laterals: sixteen, and 384 for each lateral and each fault that is kept.
#[test]
fn a_log_takes_at_most_eight_times_its_size() {
    let columns = ",".repeat(60);
    let names = ",c".repeat(60);
    let text = "a word or two ".repeat(10);
    let logs = [
        ("the shortest rows", log("distance (m),tilt (deg)", "1,1")),
        ("usual rows", log("distance (m),tilt (deg)", "12.35,-1.24")),
        ("blank lines", log("distance (m),tilt (deg)\n1,1\n1,1", "")),
        ("comments", log("distance (m),tilt (deg)\n1,1\n1,1", "#")),
        ("empty columns", log(&format!("distance (m),tilt (deg){names}"), &format!("1,1{columns}"))),
        ("a column of text", log("distance (m),tilt (deg),remark", &format!("1,1,{text}"))),
        ("every column in use", log("distance (m),tilt (deg),time (s),roll (deg),temp (C),moving", "1,1,1,1,1,1")),
        ("a roll that is none", log("distance (m),tilt (deg),roll (deg)", "1,1,x")),
        ("clock times", log("distance (m),tilt (deg),time", "1,1,0:1")),
        ("a late fault", log("distance (m),tilt (deg)", "1,1") + "x,1\n"),
    ];
    for (name, text) in logs {
        MEMORY.reset_peak_usage();
        let before = MEMORY.current_usage();
        let read = log::read(text.as_bytes(), &LogFormat::default());
        let peak = MEMORY.peak_usage() - before;
        drop(read);
        assert!(peak < 8 * text.len() + 65_536, "{name}: {peak} bytes for a log of {} bytes", text.len());
    }
    let (mut turns, mut each) = ("id,distance (m),tilt (deg)\n".to_owned(), "id,distance (m),tilt (deg)\n".to_owned());
    for n in 0..300_000 {
        writeln!(turns, "{},1,1", n % 2).unwrap();
        writeln!(each, "{n},1,1").unwrap();
    }
    let tables = [
        ("one lateral", log("id,distance (m),tilt (deg)", "1,1,1"), 1),
        ("two by turns", turns, 2),
        ("a lateral each", each.clone(), 300_000),
        ("a fault each", each.replace(",1,1", ",1,x"), 600_000),
        ("nobody's", log("id,distance (m),tilt (deg)", ",1,1"), 20),
    ];
    for (name, text, count) in tables {
        MEMORY.reset_peak_usage();
        let before = MEMORY.current_usage();
        let read = log::read_many(text.as_bytes(), "id", &LogFormat::default());
        let peak = MEMORY.peak_usage() - before;
        assert!(read.is_ok());
        drop(read);
        let bound = 16 * text.len() + 384 * count + 65_536;
        assert!(peak < bound, "{name}: {peak} bytes for a table of {} bytes, bound {bound}", text.len());
    }
}
