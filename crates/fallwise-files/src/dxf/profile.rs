//! The profile: station to the right, elevation or height up, true scale.

use fallwise::{
    Answers,
    adjust::Z_95,
    answers::{PathRow, TieRow},
    math,
    model::{Known, Toward},
    units::{Words, to_ft},
};

use super::{
    BENDS, DIGS, Drawing, ENDS, FEATURES, Layer, NOTES, Pattern, TIES, TITLE, WATER, layer_of, text_height_m, under,
    unit,
    writer::{Hold, short},
};
use crate::drawn::{at, known, marks, on_counter, spot};

const INVERT: Layer = Layer("invert", Pattern::Whole);
const CROWN: Layer = Layer("crown", Pattern::Whole);
const GROUND: Layer = Layer("ground", Pattern::Dotted);
const BAND: Layer = Layer("band, the pipe is somewhere in here, 95 per cent", Pattern::Dashed);
const BREAKS: Layer = Layer("breaks of slope", Pattern::Whole);
const RULER: Layer = Layer("ruler", Pattern::Whole);
const LAYERS: [Layer; 15] = [
    INVERT,
    CROWN,
    GROUND,
    BAND,
    WATER,
    BREAKS,
    BENDS,
    FEATURES,
    TIES,
    DIGS,
    ENDS,
    NOTES,
    RULER,
    super::CAUTIONS,
    TITLE,
];

/// What a plan would lay anew; only where it does.
const NEW: Layer = Layer("new pipe of a plan, not there", Pattern::Dashed);

/// Steeper than this no crown is drawn above an invert: it would stand far off. As for pools.
const UPRIGHT_RAD: f64 = 80.0 * core::f64::consts::PI / 180.0;
/// Stations nearer than this are one, m.
const SAME_M: f64 = 1e-6;
/// Characters of a mark's label.
const LABEL: usize = 70;

/// The profile as a drawing; nothing where there is no path. The same answers give the same bytes.
pub fn profile(answers: &Answers) -> Option<String> {
    let sheet = Sheet::of(answers)?;
    let new = sheet.new_pipe();
    let layers: Vec<Layer> = LAYERS.into_iter().chain((!new.is_empty()).then_some(NEW)).collect();
    let mut drawing = Drawing::new(answers.job.report.words, text_height_m(sheet.width_m()), &layers);
    sheet.pipe(&mut drawing);
    for line in &new {
        drawing.polyline(NEW, line);
    }
    sheet.water(&mut drawing);
    let bottom_m = sheet.slopes(&mut drawing);
    sheet.ties(&mut drawing);
    sheet.marks(&mut drawing);
    let listed = sheet.listed();
    let from_m = [sheet.first_m, bottom_m - 4.0 * drawing.text_m];
    under(&mut drawing, answers, &sheet.what(), &listed, from_m);
    Some(drawing.finish())
}

struct Sheet<'a> {
    answers: &'a Answers,
    words: Words,
    /// The path's rows whose numbers can be drawn.
    path: Vec<PathRow>,
    /// What is added to a height for what is drawn: 0, or the datum.
    datum_m: Option<f64>,
    first_m: f64,
    last_m: f64,
}

impl<'a> Sheet<'a> {
    fn of(answers: &'a Answers) -> Option<Self> {
        let finite = |row: &&PathRow| row.station_m.is_finite() && row.height_m.is_finite();
        let path: Vec<PathRow> = answers.path.iter().filter(finite).cloned().collect();
        let (first, last) = (path.first()?, path.last()?);
        let (first_m, last_m) = (first.station_m, last.station_m);
        let datum_m = path.iter().find_map(|row| Some(row.elevation_m? - row.height_m)).filter(|d| d.is_finite());
        (last_m > first_m).then_some(Self { answers, words: answers.job.report.words, path, datum_m, first_m, last_m })
    }

    fn width_m(&self) -> f64 {
        self.last_m - self.first_m
    }

    /// Inverts of the pipe that a plan lays anew, as drawn.
    fn new_pipe(&self) -> Vec<Vec<[f64; 2]>> {
        let Some(relay) = &self.answers.relay else { return Vec::new() };
        let end = |station_m: f64| {
            let node = relay.nodes.iter().find(|n| (n.station_m - station_m).abs() < SAME_M)?;
            Some([station_m, self.y(node.new_height_m.filter(|m| m.is_finite())?)])
        };
        let new = relay.pieces.iter().filter(|piece| piece.new);
        new.filter_map(|piece| Some(vec![end(piece.from_m)?, end(piece.to_m)?])).collect()
    }

    /// A height as it is drawn.
    fn y(&self, height_m: f64) -> f64 {
        height_m + self.datum_m.unwrap_or(0.0)
    }

    /// Each stretch of pipe with the height of its crown above its invert, upright, where that is known.
    fn pieces(&self) -> impl Iterator<Item = (&PathRow, &PathRow, Option<f64>)> {
        self.path.windows(2).map(|ends| {
            let (a, b) = (&ends[0], &ends[1]);
            let upright_m = a.bore_m.zip(a.tilt_rad).filter(|(_, tilt)| tilt.abs() < UPRIGHT_RAD);
            (a, b, upright_m.map(|(bore_m, tilt)| bore_m / math::cos(tilt)))
        })
    }

    /// Highest and lowest of pipe and band, as drawn.
    fn reach_m(&self) -> (f64, f64) {
        let highest = self.path.iter().map(|r| r.height_high_m.max(r.height_m)).fold(f64::NEG_INFINITY, f64::max);
        let crown = self.pieces().filter_map(|(a, b, up)| Some(a.height_m.max(b.height_m) + up?));
        let ground = self
            .datum_m
            .iter()
            .flat_map(|datum_m| self.answers.job.ground.iter().map(move |g| g.elevation_m - datum_m));
        let highest = ground.filter(|m| m.abs() < 1e6).fold(highest, f64::max);
        let lowest = self.path.iter().map(|r| r.height_low_m.min(r.height_m)).fold(f64::INFINITY, f64::min);
        (self.y(crown.fold(highest, f64::max)), self.y(lowest))
    }

    fn pipe(&self, drawing: &mut Drawing) {
        let along = |height: fn(&PathRow) -> f64| -> Vec<[f64; 2]> {
            self.path.iter().map(|row| [row.station_m, self.y(height(row))]).collect()
        };
        drawing.polyline(INVERT, &along(|row| row.height_m));
        drawing.polyline(BAND, &along(|row| row.height_low_m));
        drawing.polyline(BAND, &along(|row| row.height_high_m));
        let mut crown: Vec<[f64; 2]> = Vec::new();
        for (a, b, up) in self.pieces() {
            let Some(up) = up else {
                drawing.polyline(CROWN, &core::mem::take(&mut crown));
                continue;
            };
            for (row, height_m) in [(a, a.height_m), (b, b.height_m)] {
                let place = [row.station_m, self.y(height_m + up)];
                if crown.last() != Some(&place) {
                    crown.push(place);
                }
            }
        }
        drawing.polyline(CROWN, &crown);
        if self.datum_m.is_some() {
            let mut ground: Vec<[f64; 2]> =
                self.answers.job.ground.iter().map(|g| [g.station_m, g.elevation_m]).collect();
            ground.sort_by(|a, b| a[0].total_cmp(&b[0]));
            drawing.polyline(GROUND, &ground);
        }
    }

    /// The surface of the water that bellies can hold.
    fn water(&self, drawing: &mut Drawing) {
        for pool in &self.answers.pools {
            let Some(level_m) = pool.level_m else { continue };
            let inside = |row: &&PathRow| pool.from_m <= row.station_m && row.station_m <= pool.to_m;
            let mut surface: Vec<[f64; 2]> =
                self.path.iter().filter(inside).filter_map(|row| Some([row.station_m, self.y(row.water_m?)])).collect();
            let ends = (surface.first().map(|p| p[1]), surface.last().map(|p| p[1]));
            surface.insert(0, [pool.from_m, ends.0.unwrap_or_else(|| self.y(level_m))]);
            surface.push([pool.to_m, ends.1.unwrap_or_else(|| self.y(level_m))]);
            drawing.polyline(WATER, &surface);
        }
    }

    /// Breaks of slope, the slopes between them, and a ruler below; gives back how far down that reaches.
    fn slopes(&self, drawing: &mut Drawing) -> f64 {
        let (size, (_, low_m)) = (drawing.text_m, self.reach_m());
        let ruler_m = low_m - 2.0 * size;
        drawing.line(RULER, [self.first_m, ruler_m], [self.last_m, ruler_m]);
        for station_m in ticks(self.words, self.first_m, self.last_m) {
            drawing.line(RULER, [station_m, ruler_m], [station_m, ruler_m - 0.5 * size]);
            let text = self.words.station(station_m);
            drawing.text(RULER, [station_m, ruler_m - 1.7 * size], size, 0.0, Hold::Left, &text);
        }
        let label_m = ruler_m - 3.0 * size;
        let mut longest = 0;
        let mut free_m = f64::NEG_INFINITY;
        for segment in &self.answers.segments {
            if let Some(here) = spot(&self.path, segment.from_m) {
                drawing.point(BREAKS, [here.station_m, self.y(here.height_m)]);
            }
            let slope = match segment.slope {
                Some(slope) => self.words.slope(slope).split(" (").next().unwrap_or_default().to_owned(),
                None => "drop".to_owned(),
            };
            let range = segment.slope_low.zip(segment.slope_high);
            let text =
                range.map_or_else(|| slope.clone(), |(l, h)| format!("{slope} ({})", self.words.slope_range(l, h)));
            let middle_m = 0.5 * (segment.from_m + segment.to_m);
            let x = middle_m.max(free_m);
            free_m = x + 1.6 * size;
            longest = longest.max(text.chars().count());
            let foot_m = spot(&self.path, middle_m).map(|here| self.y(here.height_m));
            drawing.line(BREAKS, [middle_m, foot_m.unwrap_or(low_m)], [middle_m, ruler_m - 2.2 * size]);
            drawing.line(BREAKS, [middle_m, ruler_m - 2.2 * size], [x, label_m + 0.3 * size]);
            drawing.text(BREAKS, [x + 0.35 * size, label_m], size, 90.0, Hold::Right, &text);
        }
        label_m - 0.9 * size * longest as f64
    }

    /// Ties with their error bars, 95 %.
    fn ties(&self, drawing: &mut Drawing) {
        for row in &self.answers.ties {
            let Some([station_m, y]) = self.tie(row) else { continue };
            let (half_m, cap_m) = (Z_95 * row.sd, 0.4 * drawing.text_m);
            drawing.point(TIES, [station_m, y]);
            drawing.line(TIES, [station_m, y - half_m], [station_m, y + half_m]);
            for end_m in [y - half_m, y + half_m] {
                drawing.line(TIES, [station_m - cap_m, end_m], [station_m + cap_m, end_m]);
            }
        }
    }

    /// Where a tie stands in the profile, if it has a height.
    fn tie(&self, row: &TieRow) -> Option<[f64; 2]> {
        let invert_m = |station_m: f64| spot(&self.path, station_m).map(|here| self.y(here.height_m));
        let counter = |place| on_counter(self.answers, place);
        match known(self.answers, row) {
            Some(Known::Invert { at, .. }) => self.datum_m.map(|_| [counter(at), row.value]),
            // What came with a run or an as-built invert.
            None if row.quantity == "elevation_m" => self.datum_m.and(row.station_m).map(|s| [s, row.value]),
            Some(Known::Depth { at, behind_m, above_m, .. }) => {
                let first = self.answers.job.runs.first();
                let back_m =
                    if first.is_none_or(|run| run.toward == Toward::Increasing) { -behind_m } else { *behind_m };
                let place = fallwise::model::Place { station_m: at.station_m + back_m, ..*at };
                self.datum_m.map(|_| [counter(&place), row.value - above_m])
            }
            Some(Known::HeightDifference { from, to, .. } | Known::WaterLevel { from, to, .. }) => {
                Some([counter(to), invert_m(counter(from))? + row.value])
            }
            Some(Known::WaterDepth { at, edge, .. }) => Some([counter(edge), invert_m(counter(at))? + row.value]),
            _ => None,
        }
    }

    /// Labels above the pipe, each with a line to what it names.
    fn marks(&self, drawing: &mut Drawing) {
        let (size, (high_m, _)) = (drawing.text_m, self.reach_m());
        let elbow_m = high_m + size;
        let base_m = high_m + 3.0 * size;
        let mut free_m = f64::NEG_INFINITY;
        for mark in marks(self.answers) {
            let Some(here) = spot(&self.path, mark.station_m) else { continue };
            let layer = layer_of(mark.kind);
            let (x, y) = (here.station_m, self.y(here.height_m));
            let label_m = x.max(free_m);
            free_m = label_m + 1.6 * size;
            drawing.point(layer, [x, y]);
            drawing.line(layer, [x, y], [x, elbow_m]);
            drawing.line(layer, [x, elbow_m], [label_m, base_m - 0.3 * size]);
            let said = if mark.kind == "feature" && !mark.text.is_empty() {
                format!(": {}", mark.text)
            } else {
                String::new()
            };
            let invert = if mark.kind == "end" { format!(", invert at {}", self.height(y)) } else { String::new() };
            let place = at(self.words, mark.station_m);
            let text = short(&format!("{}, {place}{invert}{said}", short(&mark.what, LABEL)), 2 * LABEL);
            drawing.text(layer, [label_m + 0.35 * size, base_m], size, 90.0, Hold::Left, &text);
        }
    }

    /// A height as it is drawn, in words.
    fn height(&self, y: f64) -> String {
        match self.words {
            Words::Uk => format!("{y:.3} m"),
            Words::Us => format!("{:.2} ft", to_ft(y)),
        }
    }

    /// What is said of notes, bellies and ties, at length.
    fn listed(&self) -> Vec<(Layer, String)> {
        let told = marks(self.answers).into_iter().filter(|m| matches!(m.kind, "note" | "belly" | "tie" | "dig"));
        let placed = told.map(|m| {
            let place = at(self.words, m.station_m);
            (layer_of(m.kind), format!("{}, {place}: {}", m.what, m.text))
        });
        // A note whose place is not determined is told all the same.
        let lost = self.answers.noted.iter().filter(|note| note.station_m.is_none());
        placed
            .chain(lost.map(|note| (NOTES, format!("note {}, place not determined: {}", note.number, note.text))))
            .collect()
    }

    fn what(&self) -> Vec<String> {
        let up = match self.datum_m {
            Some(_) => "up is the elevation of the invert in the job's datum",
            None => "up is the height above the lowest invert (no elevation is known)",
        };
        vec![
            "Profile along the pipe.".to_owned(),
            unit(self.words).to_owned(),
            format!("To the right is the distance along the pipe as the counter shows it; {up}."),
            "Dashed: the pipe is somewhere in here (95 %). Dash and dot: water that a belly can hold. Dotted: ground."
                .to_owned(),
            "Bars of ties are 95 % intervals.".to_owned(),
        ]
    }
}

/// Stations of a ruler, m: round numbers of the drawing's unit, some ten of them.
fn ticks(words: Words, first_m: f64, last_m: f64) -> Vec<f64> {
    let unit_m = match words {
        Words::Uk => 1.0,
        Words::Us => fallwise::units::ft(1.0),
    };
    let (first, last) = (first_m / unit_m, last_m / unit_m);
    let least = (last - first) / 12.0;
    let step = [1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0].into_iter().find(|step| *step >= least);
    let step = step.unwrap_or(least);
    let from = (first / step).ceil();
    (0..20).map(|i| (from + f64::from(i)) * step).take_while(|tick| *tick <= last).map(|tick| tick * unit_m).collect()
}
