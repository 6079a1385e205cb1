//! The pipe with what a plan lays anew: new inverts over the old ones, where each trench begins and ends.

use fallwise::answers::{PathRow, RelayAnswer, RelayPieceRow};

use super::{
    LEFT, RIGHT, Sheet,
    canvas::{Canvas, Hold, width},
    exaggeration, nothing, plot,
    scale::{Scale, Shape},
    strips,
};
use crate::{
    tell::{Teller, say},
    text::shorten,
    words,
};

/// What only this picture needs.
const STYLE: &str = "\
.fw-new{fill:none;stroke:#000;stroke-width:2.4;stroke-dasharray:9 4}.fw-new-under{fill:none;stroke:#fff;stroke-width:6}\
.fw-trench{fill:url(#fw-sparse);stroke:#000;stroke-width:1;stroke-dasharray:3 2}\
.fw-short{fill:none;stroke:#000;stroke-width:1.6;stroke-dasharray:2 3}";

/// Height of the plot, px.
const HIGH: f64 = 230.0;

/// For a page of one sheet, which says the rest.
pub(crate) fn relay_alone(t: &Teller, relay: &RelayAnswer) -> String {
    let answers = t.answers;
    let title = answers.job.survey.title.clone().unwrap_or_else(|| words::profile(t.voice));
    let title = say!(t, "{title}: what to re-lay", title = shorten(&title, 48));
    let sentence = relay.sentences.first().map(|s| t.sentence(s)).unwrap_or_default();
    let path: Vec<PathRow> = answers
        .path
        .iter()
        .map(|row| PathRow { before_height_m: None, before_height_sd_m: None, ..row.clone() })
        .collect();
    let mut c = Canvas(String::new());
    let y = match Shape::of(&path) {
        Some(shape) => draw(&mut c, t, relay, shape),
        None => nothing(&mut c, t, 4.0),
    };
    let sheet =
        Sheet { ids: "fw-relay", title: &title, description: &sentence, style: STYLE, patterns: super::TIE_PATTERNS };
    sheet.svg(&c, y + 6.0)
}

fn draw(c: &mut Canvas, t: &Teller, relay: &RelayAnswer, mut shape: Shape) -> f64 {
    let new: Vec<Vec<(f64, f64)>> = new_inverts(relay, &shape);
    for (_, height_m) in new.iter().flatten() {
        shape.low_m = shape.low_m.min(*height_m);
        shape.high_m = shape.high_m.max(*height_m);
    }
    let shape = &shape;
    let mut top = plot::short_key(c, t, exaggeration(shape, RIGHT - LEFT, HIGH), 8.0);
    top = key(c, t, relay, top) + 44.0;
    let scale = Scale::fit(shape, LEFT, top + 12.0, RIGHT - LEFT, HIGH - 24.0);
    let bottom = (scale.y(shape.low_m) + 12.0).max(top + 90.0);
    for (i, stretch) in relay.stretches.iter().enumerate() {
        let (x0, x1) = (scale.x(stretch.from_m.min(stretch.to_m)), scale.x(stretch.from_m.max(stretch.to_m)));
        c.group(&t.sentence(&stretch.sentence), |c| {
            c.rect(x0, top, x1 - x0, bottom - top, "fw-trench");
        });
        let name = say!(t, "trench {n}", n = i + 1);
        c.text(0.5 * (x0 + x1), top - 24.0, Hold::Middle, "fw-bold", &name);
    }
    plot::frame(c, t, shape, &scale, top);
    for line in &new {
        let line: Vec<(bool, f64, f64)> = line.iter().map(|(s, h)| (false, scale.x(*s), scale.y(*h))).collect();
        c.group(&t.word("the invert of the new pipe"), |c| {
            c.path(&line, "fw-new-under");
            c.path(&line, "fw-new");
        });
    }
    for short in &relay.short {
        let ends = [short.from_m, short.to_m].map(|s| shape.height_m(s).map(|h| (scale.x(s), scale.y(h))));
        if let [Some(from), Some(to)] = ends {
            c.group(&t.sentence(&short.sentence), |c| c.line(from, to, "fw-short"));
        }
    }
    let y = plot::pool_labels(c, t, shape, &scale, bottom);
    strips::station_axis(c, t, shape, &scale, y)
}

/// Lines of the new pipe: stations and heights as drawn, m.
fn new_inverts(relay: &RelayAnswer, shape: &Shape) -> Vec<Vec<(f64, f64)>> {
    let height_m = |station_m: f64| {
        let node = relay.nodes.iter().find(|n| (n.station_m - station_m).abs() < 1e-9)?;
        shape.drawn_m(station_m, node.new_height_m?)
    };
    let line = |piece: &RelayPieceRow| {
        let ends = [piece.from_m, piece.to_m].map(|s| height_m(s).map(|h| (s, h)));
        ends.into_iter().collect::<Option<Vec<_>>>()
    };
    relay.pieces.iter().filter(|piece| piece.new).filter_map(line).collect()
}

/// What is drawn beside the pipe; gives back where it ends.
fn key(c: &mut Canvas, t: &Teller, relay: &RelayAnswer, y: f64) -> f64 {
    let mut x = 30.0;
    let row = y + 12.0;
    let mut swatch = |c: &mut Canvas, label: &str, draw: &dyn Fn(&mut Canvas, f64)| {
        draw(c, x);
        c.text(x + 40.0, row, Hold::Left, "", label);
        x += 40.0 + width(label, 11.5) + 20.0;
    };
    if !relay.stretches.is_empty() {
        swatch(c, &t.word("invert of the new pipe"), &|c, x| c.line((x, row - 4.0), (x + 34.0, row - 4.0), "fw-new"));
        swatch(c, &t.word("trench, with a pit at each end"), &|c, x| {
            c.rect(x, row - 11.0, 34.0, 13.0, "fw-trench");
        });
    }
    if !relay.short.is_empty() {
        let label = t.word("the steepest even slope that there is between inverts that stay");
        swatch(c, &label, &|c, x| c.line((x, row - 4.0), (x + 34.0, row - 4.0), "fw-short"));
    }
    row + 4.0
}
