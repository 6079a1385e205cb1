//! The profile as a picture: black, grey and patterns only, so that it can be printed and so that no colour is taken for
//! a utility's mark.
//!
//! From top to bottom: the sentence; a key with the exaggeration and the slopes asked for, apart from the pipe; the pipe
//! with the 95 % band of its invert, the changes of slope that were found and the water that bellies can hold; strips along the same axis (slopes, reaches,
//! what was noted, cover); the pipe once more, true to scale; the list of what was noted; cautions.
//!
//! - [`canvas`]: writes SVG.
//! - [`scale`]: heights as drawn, drops cut short, the exaggeration.
//! - [`plot`]: the pipe.
//! - [`strips`]: what stands under it.
//! - [`marks`]: bends, steps, features, notes.
//! - [`ties`]: what was measured beside the runs, over the pipe, and its list.
//! - [`relay`]: what a plan lays anew, over the pipe, a picture of its own.
//! - [`two`]: two surveys of one lateral over each other, a picture of its own.

pub(crate) mod canvas;
pub(crate) mod marks;
mod plot;
mod relay;
mod scale;
mod strips;
mod ties;
mod two;

use core::fmt::Write;

use fallwise::{Answers, answers::PathRow};

use self::{
    canvas::{Canvas, Hold, columns},
    scale::{Scale, Shape},
};
pub(crate) use self::{
    marks::Mark,
    relay::relay_alone,
    two::{two, two_alone},
};
use crate::{
    known,
    tell::Teller,
    text::{escape, shorten, wrap},
    words,
};

/// Width of the picture, px; on A4 the smallest letters are then some 2 mm high.
pub(crate) const WIDTH: f64 = 1000.0;
/// Where the axis begins and ends, px.
const LEFT: f64 = 64.0;
const RIGHT: f64 = 940.0;
/// Most height of the plot, px.
const PLOT_HEIGHT: f64 = 300.0;
/// The same where the band without the ties, which may be wide, is shown too.
const TIED_HEIGHT: f64 = 360.0;
/// Length of pipe not surveyed that is shown at the end, px: not to scale, and said so.
const UNSURVEYED: f64 = 84.0;

const STYLE: &str = "\
.fw-svg text{font-family:system-ui,'Helvetica Neue',Arial,sans-serif;font-size:11.5px;fill:#000}\
.fw-svg .fw-title{font-size:18px;font-weight:700}.fw-svg .fw-lead{font-size:13px}.fw-svg .fw-bold{font-weight:700}\
.fw-svg .fw-small{font-size:10.5px}.fw-svg .fw-halo{paint-order:stroke;stroke:#fff;stroke-width:4px;stroke-linejoin:round}\
.fw-paper{fill:#fff}.fw-invert{fill:none;stroke:#000;stroke-width:3;stroke-linejoin:round}\
.fw-crown{fill:none;stroke:#000;stroke-width:1}.fw-thin{fill:none;stroke:#000;stroke-width:.8}\
.fw-frame{fill:none;stroke:#000;stroke-width:1}.fw-grid{stroke:#ccc;stroke-width:.7}\
.fw-lead-line{fill:none;stroke:#555;stroke-width:.7}.fw-dash{fill:none;stroke:#000;stroke-width:1;stroke-dasharray:5 3}\
.fw-band{fill:url(#fw-hatch);stroke:#777;stroke-width:.6;stroke-dasharray:2 2}\
.fw-water{fill:url(#fw-waves);stroke:none}.fw-level{stroke:#000;stroke-width:1.6}\
.fw-back{fill:url(#fw-dots);stroke:#000;stroke-width:.8}.fw-box{fill:#fff;stroke:#000;stroke-width:.8}\
.fw-bar{fill:#000}.fw-wedge{fill:#fff;stroke:#000;stroke-width:1}.fw-unknown{fill:url(#fw-cross);stroke:#777;stroke-width:.6}.fw-unseen{fill:url(#fw-blank);stroke:#000;stroke-width:.8;stroke-dasharray:2 3}\
.fw-point{fill:transparent;stroke:none}\
.fw-sure{fill:#000;stroke:#fff;stroke-width:1}.fw-likely{fill:#fff;stroke:#000;stroke-width:1.4}\
.fw-doubtful{fill:#fff;stroke:#000;stroke-width:1.4;stroke-dasharray:2.4 1.4}\
.fw-within{fill:none;stroke:#000;stroke-width:1.6}.fw-under{fill:none;stroke:#fff;stroke-width:5}";

/// What only a picture with ties needs.
const TIE_STYLE: &str = "\
.fw-before{fill:url(#fw-sparse);stroke:#777;stroke-width:.8;stroke-dasharray:7 4}.fw-after{fill:#fff;stroke:none}\
.fw-tie{fill:#000;stroke:#fff;stroke-width:1}.fw-tie-open{fill:#fff;stroke:#000;stroke-width:1.5}\
.fw-bars{fill:none;stroke:#000;stroke-width:1.3}.fw-bars-under{fill:none;stroke:#fff;stroke-width:3.6}\
.fw-still{fill:none;stroke:#000;stroke-width:1.3;stroke-dasharray:1.5 2.5}\
.fw-suspect{fill:none;stroke:#000;stroke-width:2.4}.fw-suspect-under{fill:none;stroke:#fff;stroke-width:5.5}\
.fw-as-built{fill:#fff;stroke:#000;stroke-width:1.2}";
const TIE_PATTERNS: &str = r##"<pattern id="fw-sparse" width="9" height="9" patternUnits="userSpaceOnUse" patternTransform="rotate(-45)"><path d="M0 0V9" stroke="#ccc" stroke-width=".8"/></pattern>
"##;

const PATTERNS: &str = r##"<defs>
<pattern id="fw-hatch" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path d="M0 0V6" stroke="#888" stroke-width="1"/></pattern>
<pattern id="fw-waves" width="8" height="5" patternUnits="userSpaceOnUse"><rect width="8" height="5" fill="#fff"/><path d="M0 2.5Q2 .5 4 2.5T8 2.5" fill="none" stroke="#000" stroke-width="1"/></pattern>
<pattern id="fw-dots" width="5" height="5" patternUnits="userSpaceOnUse"><rect width="5" height="5" fill="#fff"/><circle cx="1.5" cy="1.5" r=".8" fill="#777"/></pattern>
<pattern id="fw-cross" width="9" height="9" patternUnits="userSpaceOnUse"><path d="M0 0L9 9M9 0L0 9" stroke="#bbb" stroke-width=".7"/></pattern>
<pattern id="fw-blank" width="9" height="9" patternUnits="userSpaceOnUse"><rect width="9" height="9" fill="#fff"/><path d="M0 0L9 9M9 0L0 9" stroke="#bbb" stroke-width=".7"/></pattern>
</defs>
"##;

/// The profile as an SVG picture, whole in itself: text stays text, no colours, no outside references. With its sentence over it
/// and what the figures do not allow for, or without where the page has said them.
///
/// It states how many times larger heights are drawn than lengths, and repeats the pipe true to scale. A drop that would
/// squash the rest is cut short and its height written beside it. Where there is no path to draw it says so. Names of its parts
/// begin with `ids`: those of two pictures of one page are apart.
pub(crate) fn picture(t: &Teller, whole: bool, ids: &str) -> String {
    let answers = t.answers;
    let survey = &answers.job.survey;
    let title = survey.title.clone().unwrap_or_else(|| words::profile(t.voice));
    let sentence = t.sentence(&answers.sentence);
    let mut c = Canvas(String::new());
    let mut y = heading(&mut c, t, &shorten(&title, 66), survey.invented, whole.then_some(sentence.as_str()));
    if let Some(shape) = Shape::new(answers) {
        y = draw(&mut c, t, &shape, whole, y);
    } else {
        y = nothing(&mut c, t, y);
    }
    y = footer(&mut c, t, whole, y);
    page(ids, &title, &sentence, answers, &c, y)
}

/// The pipe alone, for a page of one sheet: its band, the water it can hold, lengths; a key of one line. The page says the rest.
pub(crate) fn pipe_alone(t: &Teller) -> String {
    const HIGH: f64 = 240.0;
    let answers = t.answers;
    let title = answers.job.survey.title.clone().unwrap_or_else(|| words::profile(t.voice));
    let mut c = Canvas(String::new());
    // The band without the ties has no room in the key.
    let path: Vec<_> = answers
        .path
        .iter()
        .map(|row| PathRow { before_height_m: None, before_height_sd_m: None, ..row.clone() })
        .collect();
    let Some(shape) = Shape::of(&path) else {
        let y = nothing(&mut c, t, 4.0);
        return page("fw", &title, &t.sentence(&answers.sentence), answers, &c, y);
    };
    let (before, after) = not_surveyed_m(answers);
    let left = if before.is_some() { LEFT + UNSURVEYED } else { LEFT };
    let right = if after.is_some() { RIGHT - UNSURVEYED } else { RIGHT };
    let top = plot::short_key(&mut c, t, exaggeration(&shape, right - left, HIGH), 8.0) + 26.0;
    let scale = Scale::fit(&shape, left, top + 12.0, right - left, HIGH - 24.0);
    let bottom = plot::frame(&mut c, t, &shape, &scale, top);
    if let Some(m) = before {
        plot::unsurveyed(&mut c, t, &t.word("up to here:"), m, (LEFT, left - LEFT), (top, bottom));
    }
    if let Some(m) = after {
        let x = scale.x(shape.end_m());
        plot::unsurveyed(&mut c, t, &t.word("from here:"), m, (x, RIGHT - x), (top, bottom));
    }
    // Where something measured is wrong, it shows where.
    if known::is_wrong(answers) {
        ties::marks(&mut c, t, &shape, &scale, (top, bottom));
    }
    let y = plot::pool_labels(&mut c, t, &shape, &scale, bottom);
    let y = strips::station_axis(&mut c, t, &shape, &scale, y);
    page("fw", &title, &t.sentence(&answers.sentence), answers, &c, y)
}

/// How many times larger heights are drawn than lengths in a box of this size.
fn exaggeration(shape: &Shape, wide: f64, high: f64) -> f64 {
    Scale::fit(shape, 0.0, 0.0, wide, high - 24.0).exaggeration
}

/// Title and sentence over a picture; gives back where they end.
fn heading(c: &mut Canvas, t: &Teller, title: &str, invented: bool, sentence: Option<&str>) -> f64 {
    let mut y = 28.0;
    c.text(20.0, y, Hold::Left, "fw-title", title);
    if invented {
        c.text(WIDTH - 20.0, y, Hold::Right, "fw-bold", &t.word("Invented example"));
    }
    y += 20.0;
    for line in sentence.map_or_else(Vec::new, |s| wrap(s, columns(WIDTH - 40.0, 12.5))) {
        c.text(20.0, y, Hold::Left, "fw-lead", &line);
        y += 16.5;
    }
    y + 4.0
}

/// In place of a path.
fn nothing(c: &mut Canvas, t: &Teller, y: f64) -> f64 {
    let text = t.word("No path was determined, so that there is nothing to draw.");
    c.text(20.0, y + 14.0, Hold::Left, "fw-bold", &text);
    y + 30.0
}

/// Key, plot, strips and lists; gives back where they end. `whole`: the picture stands by itself.
fn draw(c: &mut Canvas, t: &Teller, shape: &Shape, whole: bool, y: f64) -> f64 {
    let answers = t.answers;
    let (before, after) = not_surveyed_m(answers);
    let left = if before.is_some() { LEFT + UNSURVEYED } else { LEFT };
    let right = if after.is_some() { RIGHT - UNSURVEYED } else { RIGHT };
    let key = plot::key_height(t);
    let top = y + key + 34.0;
    let height = if answers.adjustment.is_some() { TIED_HEIGHT } else { PLOT_HEIGHT };
    let scale = Scale::fit(shape, left, top + 12.0, right - left, height - 24.0);
    plot::key(c, t, &scale, y);
    let bottom = plot::frame(c, t, shape, &scale, top);
    if let Some(m) = before {
        plot::unsurveyed(c, t, &t.word("up to here:"), m, (LEFT, left - LEFT), (top, bottom));
    }
    if let Some(m) = after {
        let x = scale.x(shape.end_m());
        plot::unsurveyed(c, t, &t.word("from here:"), m, (x, RIGHT - x), (top, bottom));
    }
    let mut y = plot::pool_labels(c, t, shape, &scale, bottom);
    // Over the lines that lead to the labels.
    plot::breaks(c, t, shape, &scale);
    ties::marks(c, t, shape, &scale, (top, bottom));
    y = strips::station_axis(c, t, shape, &scale, y);
    y = strips::slopes(c, t, &scale, y);
    y = strips::reaches(c, t, &answers.reaches, &scale, y);
    let mut list = marks::collect(t);
    list.retain(|m| m.station_m.is_some());
    y = marks::strip(c, t.voice, &list, &scale, y);
    y = strips::cover(c, t, shape, &scale, y);
    y = strips::true_scale(c, t.voice, shape, &scale, y);
    y = ties::list(c, t, whole, y);
    marks::list(c, t.voice, &list, y)
}

/// Lengths before the first and after the last surveyed station, m, where the survey does not reach about as far as the
/// whole: from 0.3 m and 2 % up, which is more than the counter's own error.
pub(crate) fn not_surveyed_m(answers: &Answers) -> (Option<f64>, Option<f64>) {
    let Some(about) = answers.job.survey.about_length_m.filter(|a| a.is_finite()) else { return (None, None) };
    let missing = about - answers.total.length_m;
    let counts = |m: f64| (m > 0.3 && m > 0.02 * about).then_some(m);
    let backward = !answers.job.runs.is_empty()
        && answers.job.runs.iter().all(|r| r.toward == fallwise::model::Toward::Decreasing);
    if backward {
        return (counts(missing), None);
    }
    let before = counts(answers.from_m.min(missing));
    (before, counts(missing - before.unwrap_or(0.0)))
}

/// `whole`: the picture stands by itself, so that what the figures do not allow for is said here.
fn footer(c: &mut Canvas, t: &Teller, whole: bool, mut y: f64) -> f64 {
    let (cautions, not_covered) = (&t.answers.cautions, &t.answers.not_covered);
    y = rests_on(c, t, (cautions, not_covered), t.answers.job.survey.invented, whole, y);
    c.text(WIDTH - 20.0, y, Hold::Right, "fw-small", &format!("fallwise {}", t.answers.version));
    y + 12.0
}

/// What the intervals rest on, and the worst of the cautions.
fn rests_on(
    c: &mut Canvas,
    t: &Teller,
    (cautions, not_covered): (&[String], &[String]),
    invented: bool,
    whole: bool,
    mut y: f64,
) -> f64 {
    y += 8.0;
    c.line((20.0, y), (WIDTH - 20.0, y), "fw-thin");
    y += 16.0;
    let mut lines = vec![words::honesty(t)];
    lines.extend(cautions.first().into_iter().chain(words::worst(cautions)).map(|caution| t.sentence(caution)));
    if invented {
        lines.insert(0, words::invented(t.voice));
    }
    if whole && !not_covered.is_empty() {
        c.text(20.0, y, Hold::Left, "fw-bold", &t.word("What these figures do not allow for"));
        y += 14.5;
        let told: Vec<String> = not_covered.iter().map(|line| t.sentence(line)).collect();
        y = paragraph(c, &told.join(" "), y) + 4.0;
    }
    paragraph(c, &lines.join(" "), y)
}

fn paragraph(c: &mut Canvas, text: &str, mut y: f64) -> f64 {
    for line in wrap(text, columns(WIDTH - 40.0, 11.0)) {
        c.text(20.0, y, Hold::Left, "", &line);
        y += 14.5;
    }
    y
}

fn page(ids: &str, title: &str, sentence: &str, answers: &Answers, c: &Canvas, height: f64) -> String {
    let (style, patterns) = if ties::is_drawn(answers) { (TIE_STYLE, TIE_PATTERNS) } else { ("", "") };
    let sheet = Sheet { ids, title, description: sentence, style, patterns };
    sheet.svg(c, height)
}

/// What stands around the elements of a picture.
pub(crate) struct Sheet<'a> {
    /// Names of its parts begin so: two pictures of one page have theirs apart.
    pub(crate) ids: &'a str,
    pub(crate) title: &'a str,
    pub(crate) description: &'a str,
    /// What it needs beside [`STYLE`] and [`PATTERNS`].
    pub(crate) style: &'a str,
    pub(crate) patterns: &'a str,
}

impl Sheet<'_> {
    pub(crate) fn svg(&self, c: &Canvas, height: f64) -> String {
        let ids = self.ids;
        let named = |text: &str| text.replace("url(#fw-", &format!("url(#{ids}-"));
        let (style, more) = (named(STYLE), named(self.style));
        let defs = PATTERNS.replace("</defs>", &format!("{}</defs>", self.patterns));
        let defs = defs.replace("id=\"fw-", &format!("id=\"{ids}-"));
        let (title, description) = (escape(self.title), escape(self.description));
        let height = height.clamp(100.0, 1e5);
        let mut svg = String::with_capacity(c.0.len() + 4096);
        let _ = write!(
            svg,
            r#"<svg xmlns="http://www.w3.org/2000/svg" class="fw-svg" viewBox="0 0 {WIDTH:.0} {height:.0}" role="img" aria-labelledby="{ids}-title {ids}-desc">
<title id="{ids}-title">{title}</title>
<desc id="{ids}-desc">{description}</desc>
<style>{style}{more}</style>
{defs}<rect class="fw-paper" width="{WIDTH:.0}" height="{height:.0}"/>
"#
        );
        svg.push_str(&c.0);
        svg.push_str("</svg>\n");
        svg
    }
}
