//! What was noted and measured, as the plan draws it: the same numbers as in the profile.

use core::f64::consts::FRAC_PI_2;

use fallwise::{
    answers::{PoolRow, TieRow},
    model::{Bend, FeatureKind},
    units::{Part, to_deg},
};

use super::{
    distance_m,
    draw::{Measured, Spot, Symbol},
    is_upper,
    way::{Spread, Way},
};
use crate::{
    known,
    profile::{marks, not_surveyed_m},
    tell::{Teller, say},
    words,
};

/// Columns of a tie's name in the list.
const NAME: usize = 40;
/// A coordinate farther from the pipe than this is not drawn, m.
const FAR_M: f64 = 1e5;

/// "49° in the slope": of a bend that turns to neither side.
pub(super) fn angle(t: &Teller, bend: &Bend) -> String {
    say!(t, "{degrees}\u{b0} in the slope", degrees = Part::Number(to_deg(bend.deflection_rad.abs()), 0))
}

/// "45° left": of a bend, looking along growing station.
pub(super) fn bend(t: &Teller, bend: &Bend) -> String {
    let degrees = Part::Number(to_deg(bend.deflection_rad.abs()), 0);
    if bend.deflection_rad < 0.0 {
        say!(t, "{degrees}\u{b0} left", degrees = degrees)
    } else {
        say!(t, "{degrees}\u{b0} right", degrees = degrees)
    }
}

fn symbol(kind: FeatureKind) -> Symbol {
    match kind {
        FeatureKind::Cleanout => Symbol::Square,
        FeatureKind::Valve => Symbol::Valve,
        FeatureKind::Wall => Symbol::Wall,
        FeatureKind::Boundary => Symbol::Boundary,
        FeatureKind::Main => Symbol::Main,
        FeatureKind::Joint => Symbol::Joint,
        _ => Symbol::Ring,
    }
}

/// What each of the profile's marks is, in the profile's order: by station, bends before steps before features before notes.
fn kinds(t: &Teller) -> Vec<(f64, Symbol, String)> {
    let job = &t.answers.job;
    let mut kinds: Vec<(f64, Symbol, String)> = Vec::new();
    kinds.extend(job.bends.iter().map(|b| (b.station_m, Symbol::Bend, bend(t, b))));
    kinds.extend(job.steps.iter().map(|s| (s.station_m, Symbol::Joint, say!(t, "step"))));
    let named = |kind: FeatureKind| words::feature(t.voice, kind);
    kinds.extend(job.features.iter().map(|f| (f.station_m, symbol(f.kind), named(f.kind))));
    let notes = t.answers.noted.iter().filter_map(|n| n.station_m);
    kinds.extend(notes.map(|s| (s, Symbol::Bare, String::new())));
    kinds.retain(|k| k.0.is_finite());
    kinds.sort_by(|a, b| a.0.total_cmp(&b.0));
    kinds
}

/// The texts of the profile's list in their order, and what is drawn of each.
pub(super) fn marks(t: &Teller) -> Vec<(String, Option<Spot>)> {
    let mut marks = marks::collect(t);
    marks.retain(|m| m.station_m.is_some());
    let kinds = kinds(t);
    let same = kinds.len() == marks.len();
    let spot = |(i, mark): (usize, &marks::Mark)| {
        let station_m = mark.station_m?;
        let kind = kinds.get(i).filter(|k| same && k.0 == station_m);
        Some(Spot {
            station_m,
            sign: (i + 1).to_string(),
            text: kind.map(|k| k.2.clone()).unwrap_or_default(),
            title: mark.text.clone(),
            symbol: kind.map_or(Symbol::Bare, |k| k.1),
        })
    };
    let spots: Vec<Option<Spot>> = marks.iter().enumerate().map(spot).collect();
    marks.into_iter().map(|m| m.text).zip(spots).collect()
}

/// What an end is called.
pub(super) fn end_name(t: &Teller, first: bool) -> String {
    let (answers, upper) = (t.answers, is_upper(t, first));
    let station_m = if first { answers.from_m } else { answers.to_m };
    let main =
        answers.job.features.iter().any(|f| f.kind == FeatureKind::Main && (f.station_m - station_m).abs() < 1.0);
    let (before, after) = not_surveyed_m(answers);
    if (first && before.is_some()) || (!first && after.is_some()) {
        return say!(t, "survey stopped, not the end of the drain");
    }
    match (upper, main) {
        (true, false) => say!(t, "upper end"),
        (true, true) => say!(t, "upper end, the main"),
        (false, false) => say!(t, "lower end"),
        (false, true) => say!(t, "lower end, the main"),
    }
}

/// The two ends with their stations.
pub(super) fn ends(t: &Teller, way: &Way) -> Vec<Spot> {
    let end = |first: bool, station_m: f64| {
        let text = say!(t, "{end}: {station}", end = end_name(t, first), station = Part::At(station_m));
        Spot { station_m, sign: String::new(), title: text.clone(), text, symbol: Symbol::Bare }
    };
    vec![end(true, way.start_m()), end(false, way.end_m())]
}

/// The names of bellies beside their strips.
pub(super) fn bellies(t: &Teller) -> Vec<Spot> {
    let one = |p: &PoolRow| {
        let text = match p.state.as_str() {
            "intended" => say!(t, "trap, belly {n}", n = p.number),
            "possible" => say!(t, "belly {n}?", n = p.number),
            _ => say!(t, "belly {n}", n = p.number),
        };
        let station_m = 0.5 * (p.from_m + p.to_m);
        Spot { station_m, sign: String::new(), text, title: t.sentence(&p.sentence), symbol: Symbol::Bare }
    };
    t.answers.pools.iter().filter(|p| p.from_m.is_finite() && p.to_m.is_finite()).map(one).collect()
}

/// Positions measured from the surface: east and north stand in two rows, one after the other.
pub(super) fn ties(t: &Teller, way: &Way) -> Vec<Measured> {
    let suspects = known::suspects(t.answers);
    let rows = &t.answers.ties;
    let pair = |(i, w): (usize, &[TieRow])| {
        let (east, north) = (&w[0], &w[1]);
        let is_pair = east.kind == "plan" && north.kind == "plan" && east.number == north.number;
        (is_pair && east.quantity == "east_m" && north.quantity == "north_m").then_some(())?;
        let at = [east.value - way.origin[0], north.value - way.origin[1]];
        (distance_m([0.0, 0.0], at) < FAR_M).then_some(())?;
        let suspect = suspects.contains(&i) || suspects.contains(&(i + 1));
        let number = Part::Text(known::number(east));
        let text = match (east.number, suspect) {
            (0, false) => say!(t, "given start"),
            (0, true) => say!(t, "given start does not fit"),
            (_, false) => say!(t, "tie {n}", n = number),
            (_, true) => say!(t, "tie {n} does not fit", n = number),
        };
        let title = format!("{}. {} {}", east.name, t.sentence(&east.sentence), t.sentence(&north.sentence));
        // Nothing says how its two errors go together.
        let spread = Spread::new(east.sd, north.sd, 0.0);
        Some(Measured { at, spread, station_m: east.station_m, text, title, suspect })
    };
    rows.windows(2).enumerate().filter_map(pair).collect()
}

/// What was measured from the surface in words, what does not fit first; east and north of one place together.
pub(super) fn tie_list(t: &Teller) -> Vec<(String, String)> {
    let suspects = known::suspects(t.answers);
    let rows = &t.answers.ties;
    let fit = |i: usize, row: &TieRow| known::fit(t, row, suspects.contains(&i));
    let name = |row: &TieRow| known::title(t, row, NAME);
    let mut list = Vec::new();
    for (i, row) in rows.iter().enumerate() {
        let north = rows.get(i + 1).filter(|n| n.number == row.number && n.quantity == "north_m");
        let text = match (row.quantity.as_str(), north) {
            ("east_m", Some(north)) => {
                let (east_fit, north_fit) = (fit(i, row), fit(i + 1, north));
                say!(t, "{name}: east {east}, north {north}", name = name(row), east = east_fit, north = north_fit)
            }
            ("azimuth_rad", _) => say!(t, "{name}: {fit}", name = name(row), fit = fit(i, row)),
            _ => continue,
        };
        let suspect = suspects.contains(&i) || (north.is_some() && suspects.contains(&(i + 1)));
        list.push((suspect, known::number(row), text));
    }
    list.sort_by_key(|(suspect, ..)| !suspect);
    list.into_iter().map(|(_, number, text)| (number, text)).collect()
}

/// Whether an angle is one that a bend can have.
pub(super) fn is_bend(b: &Bend) -> bool {
    b.station_m.is_finite() && b.deflection_rad.abs() <= 2.0 * FRAC_PI_2
}
