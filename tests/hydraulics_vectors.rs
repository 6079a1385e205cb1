//! Hydraulics against committed answers of 60 digits (`vectors/hydraulics.py`).

#![allow(clippy::unwrap_used, reason = "rows are as their program writes them")]

use std::collections::BTreeMap;

use fallwise::{
    Bore,
    hydraulics::{Friction, State, Uniform, critical_depth_m},
};
use fallwise_record::{Mark, RELATIVE, Reference, reference};

const fn exact(computation: &'static str) -> Reference<'static> {
    reference(computation, "tests/vectors/hydraulics.py (mpmath, 60 digits)", Mark::Computed)
}

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

const PROMISE: &str = "1e-12";

#[test]
fn velocity_and_flow() {
    let of = exact("uniform-flow");
    let why =
        "some dozen roundings, and those of a logarithm near nothing where a film is as thin as the wall is rough";
    let many = |name| of.many(name, RELATIVE, 1e-14, why).claimed(PROMISE);
    let (mut velocity, mut flow) = (many("velocity"), many("flow"));
    for row in rows("flow") {
        let (pipe, depth) = (pipe(&row), row[6].unwrap());
        velocity.value(pipe.velocity_m_s(depth), row[7].unwrap(), || format!("{row:?}"));
        flow.value(pipe.flow_m3_s(depth), row[8].unwrap(), || format!("{row:?}"));
    }
    velocity.done(120);
    flow.done(120);
}

#[test]
fn the_most_that_is_carried() {
    let of = exact("uniform-flow");
    let why = "the place is that of a zero of the derivative, as sharp as the derivative's own parts: not half the digits, as of the greatest of values";
    let many = |name| of.many(name, RELATIVE, 1e-14, why).claimed(PROMISE);
    let (mut depth, mut most, mut full) = (many("depth of the most"), many("the most"), many("full bore"));
    for row in rows("most") {
        let found = pipe(&row).most();
        depth.value(found.depth_m, row[6].unwrap(), || format!("{row:?}"));
        most.value(found.flow_m3_s, row[7].unwrap(), || format!("{row:?}"));
        full.value(found.full_m3_s, row[8].unwrap(), || format!("{row:?}"));
    }
    depth.done(120);
    most.done(120);
    full.done(120);
}

#[test]
fn normal_depth() {
    let of = exact("normal-depth");
    let why = "what a dozen roundings of the flow make of the depth";
    let many = |name| of.many(name, "relative over the condition", 1e-14, why).claimed(PROMISE);
    // About the top both depths are as unsure as each other.
    let (mut lower, mut upper) = (many("depth"), many("upper depth"));
    let mut conditions =
        of.many("condition", "relative, over the condition where that is above 1", 1e-8, "by differences there");
    for row in rows("normal") {
        let normal = pipe(&row).normal_depth(row[6].unwrap()).unwrap();
        assert_eq!(normal.state, if row[8].is_some() { State::Two } else { State::One }, "{row:?}");
        let condition = row[9].unwrap();
        let off = (normal.condition.unwrap() / condition - 1.0).abs();
        conditions.error(off * condition / condition.max(1.0), || format!("{row:?}"));
        let error = |found: Option<f64>, expected: f64| (found.unwrap() / expected - 1.0).abs() / condition.max(1.0);
        lower.error(error(normal.depth_m, row[7].unwrap()), || format!("{row:?}"));
        if let Some(expected) = row[8] {
            upper.error(error(normal.upper_depth_m, expected), || format!("{row:?}"));
        }
    }
    lower.done(120);
    upper.done(21);
    conditions.done(120);
}

#[test]
fn critical_depth() {
    let of = exact("critical-depth");
    let mut many = of.many("critical depth", RELATIVE, 1e-14, "as of a normal depth").claimed(PROMISE);
    for row in rows("critical") {
        let depth = critical_depth_m(bore(&row), row[2].unwrap()).unwrap();
        many.value(depth, row[3].unwrap(), || format!("{row:?}"));
    }
    many.done(120);
}
