//! The plan: east to the right, north up, in the job's own axes.

use fallwise::{
    Answers,
    adjust::Z_95,
    answers::TapeRow,
    math,
    model::Landmark,
    units::{Words, to_deg, to_ft},
};

use super::{
    BENDS, DIGS, Drawing, ENDS, FEATURES, Layer, NOTES, Pattern, TIES, TITLE, WATER, layer_of, text_height_m, under,
    unit,
    writer::{Hold, short},
};
use crate::drawn::{Mark, Spot, at, marks, plan_lines, spot};

const PIPE: Layer = Layer("pipe", Pattern::Whole);
const SURE: Layer = Layer("how sure, 95 per cent east and north each by itself", Pattern::Dashed);
const NORTH: Layer = Layer("north", Pattern::Whole);
const NAMES: Layer = Layer("numbers of places", Pattern::Whole);
const LANDMARKS: Layer = Layer("landmarks", Pattern::Whole);
const LAYERS: [Layer; 14] =
    [PIPE, SURE, NAMES, BENDS, FEATURES, TIES, DIGS, LANDMARKS, ENDS, WATER, NOTES, NORTH, super::CAUTIONS, TITLE];

/// Characters of a place's name.
const LABEL: usize = 200;

/// A place that is shown.
struct Shown {
    mark: Mark,
    on_pipe: Spot,
    place_m: [f64; 2],
    sd_m: Option<[f64; 2]>,
}

/// The plan as a drawing; nothing where the plan is not determined. The same answers give the same bytes.
pub fn plan(answers: &Answers) -> Option<String> {
    let words = answers.job.report.words;
    let mut lines = plan_lines(&answers.path);
    lines.retain(|line| line.iter().flatten().all(|x| x.is_finite()));
    let shown: Vec<Shown> = marks(answers)
        .into_iter()
        .filter_map(|mark| {
            let on_pipe = spot(&answers.path, mark.station_m)?;
            let place_m = mark.plan_m.or(on_pipe.plan_m)?;
            let sd_m = mark.plan_sd_m.map(|sd| [sd, sd]).or(on_pipe.plan_sd_m);
            Some(Shown { mark, on_pipe, place_m, sd_m })
        })
        .collect();
    let first = *lines.first()?.first()?;
    let places = lines.iter().flatten().chain(shown.iter().map(|s| &s.place_m));
    let (low, high) = places
        .fold((first, first), |(low, high), p| ([0, 1].map(|i| low[i].min(p[i])), [0, 1].map(|i| high[i].max(p[i]))));
    let size_m = text_height_m(math::hypot(high[0] - low[0], high[1] - low[1]));
    let mut drawing = Drawing::new(words, size_m, &LAYERS);
    for line in &lines {
        drawing.polyline(PIPE, line);
    }
    let mut listed = Vec::new();
    let mut last_m: Option<[f64; 2]> = None;
    let mut tag_m = [0.0; 2];
    for (number, Shown { mark, on_pipe, place_m, sd_m }) in (1..).zip(&shown) {
        let layer = layer_of(mark.kind);
        drawing.point(layer, *place_m);
        if let Some(sd_m) = sd_m {
            for (i, sd) in sd_m.iter().enumerate() {
                let mut ends = [*place_m, *place_m];
                ends[0][i] -= Z_95 * sd;
                ends[1][i] += Z_95 * sd;
                drawing.line(SURE, ends[0], ends[1]);
            }
        }
        // Numbers of places that lie together stand below each other.
        let together = last_m.is_some_and(|l| math::hypot(l[0] - place_m[0], l[1] - place_m[1]) < 2.5 * size_m);
        if together {
            tag_m[1] -= 1.2 * size_m;
        } else {
            last_m = Some(*place_m);
            tag_m = [place_m[0] + 0.6 * size_m, place_m[1] + 0.6 * size_m];
        }
        drawing.text(NAMES, tag_m, size_m, 0.0, Hold::Left, &number.to_string());
        listed.push((layer, told(words, number, mark, on_pipe, *place_m, *sd_m)));
    }
    for landmark in landmarks(answers, (low, high)) {
        let at_m = [landmark.east_m, landmark.north_m];
        drawing.point(LANDMARKS, at_m);
        let name_m = [at_m[0] + 0.6 * size_m, at_m[1] - 0.5 * size_m];
        drawing.text(LANDMARKS, name_m, size_m, 0.0, Hold::Left, &short(&landmark.name, LABEL));
    }
    for tape in &answers.tapes {
        listed.push((DIGS, taped(words, tape)));
    }
    north(&mut drawing, [low[0] - 4.0 * size_m, high[1]]);
    let from_m = [low[0], low[1] - 5.0 * size_m];
    under(&mut drawing, answers, &what(answers), &listed, from_m);
    Some(drawing.finish())
}

/// A place in one line: "3: cleanout, chainage 0.00 m: east 1.234 m +- 0.100 m, ...".
fn told(words: Words, number: usize, mark: &Mark, here: &Spot, place_m: [f64; 2], sd_m: Option<[f64; 2]>) -> String {
    let length = |m: f64| match words {
        Words::Uk => format!("{m:.3} m"),
        Words::Us => format!("{:.2} ft", to_ft(m)),
    };
    let coordinate = |i: usize| match sd_m {
        Some(sd) => format!("{} +- {}", length(place_m[i]), length(Z_95 * sd[i])),
        None => length(place_m[i]),
    };
    let height = match (here.elevation_m, here.elevation_sd_m) {
        (Some(m), Some(sd)) => format!("invert at {} +- {}", length(m), length(Z_95 * sd)),
        _ => format!("invert {} above the lowest", length(here.height_m)),
    };
    let said = if mark.text.is_empty() { String::new() } else { format!(" {}", mark.text) };
    let (what, place) = (short(&mark.what, LABEL), at(words, mark.station_m));
    format!("{number}: {what}, {place}: east {}, north {}, {height}.{said}", coordinate(0), coordinate(1))
}

/// Landmarks that can be drawn beside the pipe; one in other coordinates would make a dot of it.
fn landmarks(answers: &Answers, (low, high): ([f64; 2], [f64; 2])) -> impl Iterator<Item = &Landmark> {
    const NEAR_M: f64 = 1000.0;
    let near = move |landmark: &&Landmark| {
        [landmark.east_m, landmark.north_m]
            .iter()
            .zip(low.iter().zip(&high))
            .all(|(x, (low, high))| *x >= low - NEAR_M && *x <= high + NEAR_M)
    };
    answers.job.landmarks.iter().filter(near)
}

/// A distance from a landmark in one line.
fn taped(words: Words, tape: &TapeRow) -> String {
    let length = |m: f64| match words {
        Words::Uk => format!("{m:.3} m"),
        Words::Us => format!("{:.2} ft", to_ft(m)),
    };
    let (away, give) = (length(tape.distance_m), length(Z_95 * tape.distance_sd_m));
    format!("dig {} from {}: {away} +- {give}", tape.dig, short(&tape.landmark, LABEL))
}

/// An arrow to the north of the job's axes.
fn north(drawing: &mut Drawing, foot_m: [f64; 2]) {
    let size = drawing.text_m;
    let tip = [foot_m[0], foot_m[1] + 5.0 * size];
    drawing.line(NORTH, foot_m, tip);
    for side in [-0.7, 0.7] {
        drawing.line(NORTH, tip, [tip[0] + side * size, tip[1] - 1.6 * size]);
    }
    drawing.text(NORTH, [tip[0] - 0.35 * size, tip[1] + 0.5 * size], 1.4 * size, 0.0, Hold::Left, "N");
}

fn what(answers: &Answers) -> Vec<String> {
    let north = match &answers.job.origin {
        Some(origin) if origin.grid_north_rad == 0.0 => {
            "To the right is east, up is north: the job's axes lie to true north.".to_owned()
        }
        Some(origin) => format!(
            "To the right is east, up is north of the job's grid, which points {:.4} degrees clockwise of true north.",
            to_deg(origin.grid_north_rad)
        ),
        None => "To the right is east, up is north of the job's own axes; what they lie to, the job does not say."
            .to_owned(),
    };
    vec![
        "Plan of the pipe.".to_owned(),
        unit(answers.job.report.words).to_owned(),
        north,
        "Dashed bars, and +- in the list: half-widths of the 95 % intervals of east and of north, each by itself."
            .to_owned(),
        "Numbers are those of the list below. This drawing gives no leave to dig: a place is proved by locating it."
            .to_owned(),
    ]
}
