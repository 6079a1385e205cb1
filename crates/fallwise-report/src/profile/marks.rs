//! Bends, steps, features and notes: numbered marks on a strip, and their list.

use fallwise::{
    answers::NoteRow,
    model::Feature,
    said,
    units::{Part, Voice, to_deg},
};

use super::{
    LEFT, RIGHT, WIDTH,
    canvas::{Canvas, Hold, columns},
    scale::Scale,
};
use crate::{
    tell::{Teller, say},
    text::wrap,
    words::{self, at, stretch},
};

/// Marks in the picture at most; the page has them all.
pub(crate) const MOST: usize = 40;
/// Distance of two marks that do not touch, px.
const APART: f64 = 21.0;

/// Something noted.
pub(crate) struct Mark {
    /// Absent for a note whose place is not known.
    pub(crate) station_m: Option<f64>,
    pub(crate) to_m: Option<f64>,
    pub(crate) text: String,
    /// Photo and moment in the recording; the picture has no room for them.
    pub(crate) source: String,
    /// Which of the answers' notes it is, from 0.
    pub(crate) note: Option<usize>,
}

impl Mark {
    /// All that is known of it.
    pub(crate) fn told(&self) -> String {
        format!("{}{}", self.text, self.source)
    }

    /// Whether it stands, in part, between two stations.
    pub(crate) fn along(&self, from_m: f64, to_m: f64) -> bool {
        self.station_m.is_some_and(|station_m| {
            let end_m = self.to_m.unwrap_or(station_m);
            station_m.min(end_m) <= to_m && station_m.max(end_m) >= from_m
        })
    }
}

/// Everything noted, in order of station; what has no place comes last.
pub(crate) fn collect(t: &Teller) -> Vec<Mark> {
    let job = &t.answers.job;
    let mark = |station_m: f64, to_m: Option<f64>, text: &str| {
        let text = format!("{} - {text}", place(t.voice, station_m, to_m));
        Mark { station_m: Some(station_m), to_m, text, source: String::new(), note: None }
    };
    let mut marks = Vec::new();
    for b in &job.bends {
        let degrees = to_deg(b.deflection_rad.abs());
        let angle = if degrees.is_finite() {
            said!(t.words, "{n} degrees", n = Part::Number(degrees, 0)).into()
        } else {
            Part::from(t.not_determined())
        };
        let text = if b.deflection_rad < 0.0 {
            say!(t, "bend of {angle} to the left", angle = angle)
        } else {
            say!(t, "bend of {angle} to the right", angle = angle)
        };
        marks.push(mark(b.station_m, None, &text));
    }
    for s in &job.steps {
        let rise = s.rise_m * job.flow.sign();
        let height = Part::Small(rise.abs());
        let text = if rise < 0.0 {
            say!(t, "step of {height} down along the flow", height = height)
        } else {
            say!(t, "step of {height} up along the flow", height = height)
        };
        marks.push(mark(s.station_m, None, &text));
    }
    for f in &job.features {
        marks.push(mark(f.station_m, f.to_m, &feature(t.voice, f)));
    }
    marks.retain(|m: &Mark| m.station_m.is_some_and(f64::is_finite));
    marks.extend(t.answers.noted.iter().enumerate().map(|(i, n)| note(t, i, n)));
    marks.sort_by(|a, b| {
        let station = |m: &Mark| m.station_m.unwrap_or(f64::INFINITY);
        station(a).total_cmp(&station(b))
    });
    marks
}

/// What a feature is, and what was written of it.
pub(crate) fn feature(v: Voice, f: &Feature) -> String {
    let kind = words::feature(v, f.kind);
    if f.text.is_empty() { kind } else { format!("{kind}: {}", f.text) }
}

/// A note as a mark.
fn note(t: &Teller, index: usize, n: &NoteRow) -> Mark {
    let station_m = n.station_m.filter(|s| s.is_finite());
    let place = match station_m {
        Some(s) if n.station_sd_m.is_some() => {
            let place = place(t.voice, s, n.to_m);
            match n.station_low_m.zip(n.station_high_m) {
                Some((low, high)) => say!(
                    t,
                    "about {place} ({low} to {high}), worked out from its moment",
                    place = place,
                    low = Part::Station(low),
                    high = Part::Station(high)
                ),
                None => say!(t, "about {place}, worked out from its moment", place = place),
            }
        }
        Some(s) => place(t.voice, s, n.to_m),
        None => t.word("place not known"),
    };
    let dry = n.number.checked_sub(1).and_then(|i| t.answers.job.notes.get(i)).is_some_and(|n| n.dry_seen);
    let text = match (n.water_seen, dry) {
        (true, _) => say!(t, "{place} - noted: {text} (standing water seen)", place = place, text = &n.text),
        (_, true) => say!(t, "{place} - noted: {text} (seen dry)", place = place, text = &n.text),
        _ => say!(t, "{place} - noted: {text}", place = place, text = &n.text),
    };
    let photo = n.photo.as_ref().map(|p| say!(t, "photo {name}", name = p));
    let moment = n.video_time_s.map(|s| moment(t.voice, n, s));
    let after = |text: Option<String>| text.map_or_else(String::new, |text| format!("; {text}"));
    let source = after(photo) + &after(moment);
    Mark { station_m, to_m: n.to_m, text, source, note: Some(index) }
}

/// The moment of a note in the recording.
fn moment(v: Voice, n: &NoteRow, seconds: f64) -> String {
    let time = words::video_time(v, seconds);
    let ends = n.video_time_low_s.zip(n.video_time_high_s);
    let ends = ends.map(|(low, high)| (words::video_time(v, low), words::video_time(v, high)));
    match (n.video_time_sd_s.is_some(), ends) {
        (true, Some((low, high))) => {
            say!(v, "about {time} ({low} to {high}) in the recording", time = time, low = low, high = high)
        }
        (true, None) => say!(v, "about {time} in the recording", time = time),
        (false, Some((low, high))) => {
            say!(v, "at {time} ({low} to {high}) in the recording", time = time, low = low, high = high)
        }
        (false, None) => say!(v, "at {time} in the recording", time = time),
    }
}

fn place(v: Voice, from_m: f64, to_m: Option<f64>) -> String {
    match to_m {
        Some(to_m) => stretch(v, from_m, to_m),
        None => v.part(&at(v, from_m)),
    }
}

/// The numbered marks; where they would touch they go to a row of their own.
pub(super) fn strip(c: &mut Canvas, v: Voice, marks: &[Mark], scale: &Scale, y: f64) -> f64 {
    if marks.is_empty() {
        return y;
    }
    let heading = if marks.len() > MOST {
        say!(
            v,
            "noted on the way (listed below): the first {shown} of {all}, what lies farther is in the report",
            shown = MOST,
            all = marks.len()
        )
    } else {
        say!(v, "noted on the way (listed below)")
    };
    c.text(20.0, y + 11.0, Hold::Left, "fw-small fw-bold", &heading);
    let y = y + 18.0;
    let mut ends: Vec<f64> = Vec::new();
    let mut placed = Vec::new();
    for (i, mark) in marks.iter().take(MOST).enumerate() {
        let Some(station_m) = mark.station_m else { continue };
        let x = scale.x(station_m).clamp(LEFT, RIGHT);
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

/// The list of the marks.
pub(super) fn list(c: &mut Canvas, v: Voice, marks: &[Mark], y: f64) -> f64 {
    let entries = marks.iter().take(MOST).enumerate().map(|(i, m)| ((i + 1).to_string(), m.text.clone())).collect();
    two_columns(c, v, &say!(v, "Noted on the way"), (entries, marks.len()), y)
}

/// Labels and their texts under a heading, in two columns; `all` there are, of which those that are given have room.
pub(crate) fn two_columns(
    c: &mut Canvas,
    v: Voice,
    heading: &str,
    (entries, all): (Vec<(String, String)>, usize),
    y: f64,
) -> f64 {
    if entries.is_empty() {
        return y;
    }
    let mut y = y + 12.0;
    c.text(20.0, y, Hold::Left, "fw-bold", heading);
    y += 16.0;
    let shown = entries.len();
    let half = shown.div_ceil(2);
    let wide = 0.5 * WIDTH - 30.0;
    let mut lowest = y;
    let mut row = y;
    for (i, (label, text)) in entries.into_iter().enumerate() {
        if i == half {
            row = y;
        }
        let x = if i < half { 20.0 } else { 0.5 * WIDTH + 5.0 };
        let lines = wrap(&text, columns(wide - 24.0, 11.5));
        for (k, line) in lines.iter().take(2).enumerate() {
            if k == 0 {
                c.text(x, row, Hold::Left, "fw-bold", &label);
            }
            let more = if k == 1 && lines.len() > 2 { "..." } else { "" };
            c.text(x + 24.0, row, Hold::Left, "", &format!("{line}{more}"));
            row += 14.5;
        }
        lowest = lowest.max(row);
    }
    if all > shown {
        c.text(20.0, lowest, Hold::Left, "", &say!(v, "and {n} more in the report", n = all - shown));
        lowest += 14.5;
    }
    lowest
}
