//! Bends, steps, features and notes: numbered marks on a strip, and their list.

use fallwise::{Answers, units::to_deg};

use super::{
    LEFT, RIGHT, WIDTH,
    canvas::{Canvas, Hold, columns},
    scale::Scale,
};
use crate::{
    text::wrap,
    words::{self, at},
};

/// Marks in the picture at most; the page has them all.
const MOST: usize = 40;
/// Distance of two marks that do not touch, px.
const APART: f64 = 21.0;

/// Something noted.
pub(crate) struct Mark {
    pub(crate) station_m: f64,
    pub(crate) to_m: Option<f64>,
    pub(crate) text: String,
    /// Photo and moment in the recording; the picture has no room for them.
    pub(crate) source: String,
}

impl Mark {
    /// All that is known of it.
    pub(crate) fn told(&self) -> String {
        format!("{}{}", self.text, self.source)
    }
}

/// Everything noted, in order of station.
pub(crate) fn collect(answers: &Answers) -> Vec<Mark> {
    let job = &answers.job;
    let words = job.report.words;
    let mut marks = Vec::new();
    let place = |from: f64, to: Option<f64>| match to {
        Some(to) => format!("{} to {}", at(words, from), words.station(to)),
        None => at(words, from),
    };
    for b in &job.bends {
        let side = if b.deflection_rad < 0.0 { "left" } else { "right" };
        let degrees = to_deg(b.deflection_rad.abs());
        let angle =
            if degrees.is_finite() { format!("{degrees:.0} degrees") } else { words::NOT_DETERMINED.to_owned() };
        marks.push((b.station_m, None, format!("bend of {angle} to the {side}"), String::new()));
    }
    for s in &job.steps {
        let rise = s.rise_m * job.flow.sign();
        let way = if rise < 0.0 { "down" } else { "up" };
        marks.push((
            s.station_m,
            None,
            format!("step of {} {way} along the flow", words.small(rise.abs())),
            String::new(),
        ));
    }
    for f in &job.features {
        let colon = if f.text.is_empty() { "" } else { ": " };
        marks.push((f.station_m, f.to_m, format!("{}{colon}{}", words::feature(words, f.kind), f.text), String::new()));
    }
    for n in &job.notes {
        let seen = if n.water_seen { " (standing water seen)" } else { "" };
        let photo = n.photo.as_ref().map(|p| format!("; photo {p}")).unwrap_or_default();
        let moment =
            n.video_time_s.map(|t| format!("; at {} in the recording", words::video_time(t))).unwrap_or_default();
        let source = format!("{photo}{moment}");
        marks.push((n.station_m, n.to_m, format!("noted: {}{seen}", n.text), source));
    }
    let mut marks: Vec<Mark> = marks
        .into_iter()
        .filter(|m| m.0.is_finite())
        .map(|(station_m, to_m, text, source)| {
            let text = format!("{} - {text}", place(station_m, to_m));
            Mark { station_m, to_m, text, source }
        })
        .collect();
    marks.sort_by(|a, b| a.station_m.total_cmp(&b.station_m));
    marks
}

/// The numbered marks; where they would touch they go to a row of their own.
pub(super) fn strip(c: &mut Canvas, marks: &[Mark], scale: &Scale, y: f64) -> f64 {
    if marks.is_empty() {
        return y;
    }
    c.text(20.0, y + 11.0, Hold::Left, "fw-small fw-bold", "noted on the way (listed below)");
    let y = y + 18.0;
    let mut ends: Vec<f64> = Vec::new();
    let mut placed = Vec::new();
    for (i, mark) in marks.iter().take(MOST).enumerate() {
        let x = scale.x(mark.station_m).clamp(LEFT, RIGHT);
        let end = mark.to_m.filter(|t| t.is_finite()).map_or(x, |t| scale.x(t).clamp(x, RIGHT.max(x)));
        let row = ends.iter().position(|e| *e + APART <= x).unwrap_or(ends.len());
        match ends.get_mut(row) {
            Some(e) => *e = end,
            None => ends.push(end),
        }
        placed.push((i + 1, mark, x, end, y + 10.0 + 21.0 * row as f64));
    }
    // First all the lines up to the axis, then the marks over them.
    for (_, _, x, _, middle) in &placed {
        c.line((*x, y - 2.0), (*x, middle - 9.0), "fw-lead-line");
    }
    for (number, mark, x, end, middle) in placed {
        c.group(&mark.text, |c| {
            if end > x + 9.0 {
                c.line((x, middle), (end, middle), "fw-invert");
                c.line((end, middle - 5.0), (end, middle + 5.0), "fw-level");
            }
            c.circle(x, middle, 9.0, "fw-box");
            c.text(x, middle + 4.0, Hold::Middle, "", &number.to_string());
        });
    }
    y + 6.0 + 21.0 * ends.len() as f64
}

/// The list of the marks, in two columns.
pub(super) fn list(c: &mut Canvas, marks: &[Mark], y: f64) -> f64 {
    if marks.is_empty() {
        return y;
    }
    let mut y = y + 12.0;
    c.text(20.0, y, Hold::Left, "fw-bold", "Noted on the way");
    y += 16.0;
    let shown = marks.len().min(MOST);
    let half = shown.div_ceil(2);
    let wide = 0.5 * WIDTH - 30.0;
    let mut lowest = y;
    for (column, part) in [(0, 0..half), (1, half..shown)] {
        let x = if column == 0 { 20.0 } else { 0.5 * WIDTH + 5.0 };
        let mut row = y;
        for i in part {
            let Some(mark) = marks.get(i) else { continue };
            let lines = wrap(&mark.text, columns(wide - 24.0, 11.5));
            for (k, line) in lines.iter().take(2).enumerate() {
                if k == 0 {
                    c.text(x, row, Hold::Left, "fw-bold", &format!("{}", i + 1));
                }
                let more = if k == 1 && lines.len() > 2 { "..." } else { "" };
                c.text(x + 24.0, row, Hold::Left, "", &format!("{line}{more}"));
                row += 14.5;
            }
        }
        lowest = lowest.max(row);
    }
    if marks.len() > MOST {
        let more = marks.len() - MOST;
        c.text(20.0, lowest, Hold::Left, "", &format!("and {more} more in the report"));
        lowest += 14.5;
    }
    lowest
}
