//! Hydraulics against committed answers of 60 digits (`vectors/hydraulics.py`).

#![allow(clippy::unwrap_used, reason = "rows are as their program writes them")]
#![allow(clippy::print_stdout, reason = "shows the error found beside the bound, with --nocapture")]

use std::collections::BTreeMap;

use fallwise::{
    Bore,
    hydraulics::{Friction, State, Uniform, critical_depth_m},
};

type Vectors = BTreeMap<String, Vec<Vec<Option<f64>>>>;

fn rows(name: &str) -> Vec<Vec<Option<f64>>> {
    let all: Vectors =
        serde_json::from_str(include_str!("vectors/hydraulics.json")).expect("hydraulics.json is committed as written");
    let rows = all[name].clone();
    assert!(rows.len() >= 120, "{name}: {} rows", rows.len());
    rows
}

fn bore(row: &[Option<f64>]) -> Bore {
    match (row[0].unwrap(), row[1].unwrap()) {
        (w, h) if w.to_bits() == h.to_bits() => Bore::circle(w).unwrap(),
        (w, h) => Bore::ellipse(w, h).unwrap(),
    }
}

fn pipe(row: &[Option<f64>]) -> Uniform {
    let [law, rough, viscosity, slope] = [2, 3, 4, 5].map(|i: usize| row[i].unwrap());
    let friction = if law == 0.0 {
        Friction::Manning { n: rough }
    } else {
        Friction::ColebrookWhite { roughness_m: rough, viscosity_m2_s: viscosity }
    };
    Uniform::new(bore(row), slope, friction).unwrap()
}

fn off(value: f64, expected: f64) -> f64 {
    (value / expected - 1.0).abs()
}

#[test]
fn velocity_and_flow() {
    let mut worst: f64 = 0.0;
    for row in rows("flow") {
        let (pipe, depth) = (pipe(&row), row[6].unwrap());
        worst = worst.max(off(pipe.velocity_m_s(depth), row[7].unwrap()));
        worst = worst.max(off(pipe.flow_m3_s(depth), row[8].unwrap()));
    }
    println!("velocity and flow: {worst:.1e}");
    // The promise is 1e-12. Some dozen roundings, and those of a logarithm near nothing where a film is as thin as the wall is rough.
    assert!(worst < 1e-14, "{worst}");
}

#[test]
fn the_most_that_is_carried() {
    let (mut flow, mut depth): (f64, f64) = (0.0, 0.0);
    for row in rows("most") {
        let most = pipe(&row).most();
        depth = depth.max(off(most.depth_m, row[6].unwrap()));
        flow = flow.max(off(most.flow_m3_s, row[7].unwrap())).max(off(most.full_m3_s, row[8].unwrap()));
    }
    println!("most: depth {depth:.1e}, flow {flow:.1e}");
    // The place is that of a zero of the derivative, which is as sharp as the derivative's own parts: not half the digits, as of the
    // greatest of values.
    assert!(depth < 1e-14 && flow < 1e-14, "{depth} {flow}");
}

#[test]
fn normal_depth() {
    let (mut worst, mut most_condition): (f64, f64) = (0.0, 0.0);
    let mut two = 0;
    for row in rows("normal") {
        let normal = pipe(&row).normal_depth(row[6].unwrap()).unwrap();
        assert_eq!(normal.state, if row[8].is_some() { State::Two } else { State::One }, "{row:?}");
        let condition = row[9].unwrap();
        assert!(off(normal.condition.unwrap(), condition) < 1e-8 * condition.max(1.0), "{row:?} {normal:?}");
        worst = worst.max(off(normal.depth_m.unwrap(), row[7].unwrap()) / condition.max(1.0));
        if let Some(upper) = row[8] {
            two += 1;
            // About the top both depths are as unsure as each other.
            worst = worst.max(off(normal.upper_depth_m.unwrap(), upper) / condition.max(1.0));
        }
        most_condition = most_condition.max(condition);
    }
    println!("normal depth: {worst:.1e} times the condition, of up to {most_condition:.0}; {two} with two");
    // What a dozen roundings of the flow make of the depth.
    assert!(worst < 1e-14 && two > 20, "{worst}");
}

#[test]
fn critical_depth() {
    let mut worst: f64 = 0.0;
    for row in rows("critical") {
        let depth = critical_depth_m(bore(&row), row[2].unwrap()).unwrap();
        worst = worst.max(off(depth, row[3].unwrap()));
    }
    println!("critical depth: {worst:.1e}");
    assert!(worst < 1e-14, "{worst}"); // as of a normal depth
}
