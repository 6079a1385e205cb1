//! Logs of a thousand to a million rows, beside the plainest loop that could read it (no errors by row, no quotes, no units).

use std::{fmt::Write, hint::black_box};

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use fallwise_files::log::{self, LogFormat};

fn log_text(rows: u32, header: &str, note: &str) -> String {
    let mut text = format!("{header}\n");
    for row in 0..rows {
        let (counter, tenths) = (f64::from(row) * 0.01, f64::from(row % 41) - 20.0);
        writeln!(text, "{counter:.2},{:.2}{note}", 1.2 + tenths * 0.01).expect("writing to a string");
    }
    text
}

/// The plain loop: split and parse.
fn plain_loop(text: &str) -> (Vec<f64>, Vec<f64>) {
    let degree = core::f64::consts::PI / 180.0;
    let cells = |line: &str| {
        let (counter, reading) = line.split_once(',')?;
        Some((counter.parse::<f64>().ok()?, reading.parse::<f64>().ok()? * degree))
    };
    text.lines().skip(1).filter_map(cells).unzip()
}

fn logs(c: &mut Criterion) {
    for rows in [1_000, 10_000, 100_000, 1_000_000] {
        let plain = log_text(rows, "distance (m),tilt (deg)", "");
        let slopes = log_text(rows, "distance (ft),grade (%)", "");
        let notes = log_text(rows, "distance (m),tilt (deg),note", ",joint");
        let mut group = c.benchmark_group(format!("log of {rows} rows"));
        group.sample_size(10).throughput(Throughput::Elements(u64::from(rows)));
        group.bench_function("plain loop", |b| b.iter(|| plain_loop(black_box(&plain))));
        for (name, text) in [("angles", &plain), ("slopes", &slopes), ("with a column of text", &notes)] {
            group.bench_function(name, |b| b.iter(|| log::read(black_box(text.as_bytes()), &LogFormat::default())));
        }
        group.finish();
    }
}

criterion_group!(benches, logs);
criterion_main!(benches);
