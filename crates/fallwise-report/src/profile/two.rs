//! Two surveys of one lateral over each other: the pipe as it is now full, as it was before dashed, each with its own 95 % band,
//! and under them what changed, with the interval of the change.

use fallwise::{
    adjust::{Shared, Z_95},
    answers::{Comparison, HeightChange, PathRow, PoolRow, ReachRow},
    units::{Part, Words, to_inch, to_mm},
};

use super::{
    LEFT, PLOT_HEIGHT, RIGHT, Sheet, WIDTH,
    canvas::{Canvas, Hold, columns, width},
    heading, nothing, paragraph, plot, rests_on,
    scale::{Scale, Shape, bore, ticks},
    strips,
};
use crate::{
    sure,
    tell::{Both, Teller, say},
    text::{shorten, wrap},
    words::{self, at},
};

/// Height of the strip of changes, px.
const CHANGES: f64 = 96.0;
/// The least that its axis spans, m: a change of nothing has a height of nothing.
const LEAST_CHANGE_M: f64 = 0.01;

/// What only this picture needs.
const STYLE: &str = "\
.fw-was{fill:none;stroke:#000;stroke-width:1.8;stroke-dasharray:7 4}.fw-was-under{fill:none;stroke:#fff;stroke-width:4}\
.fw-was-band{fill:url(#fw-sparse);stroke:#555;stroke-width:.8;stroke-dasharray:7 4}\
.fw-was-water{fill:url(#fw-dots);stroke:none}.fw-change{fill:none;stroke:#000;stroke-width:1.8;stroke-linejoin:round}";

/// The picture, with its sentence over it where it stands by itself (`whole`).
pub(crate) fn two(both: &Both, whole: bool) -> String {
    let (comparison, t) = (both.comparison, &both.now);
    let survey = &comparison.after.job.survey;
    let title = survey.title.clone().unwrap_or_else(|| words::profile(t.voice));
    let title = say!(t, "{title}: before and after", title = shorten(&title, 48));
    let sentence = both.sentence(&comparison.sentence);
    let invented = survey.invented || comparison.before.job.survey.invented;
    let mut c = Canvas(String::new());
    let mut y = heading(&mut c, t, &title, invented, whole.then_some(sentence.as_str()));
    let drawn = Drawn::new(both);
    let path = drawn.now();
    if let Some(shape) = Shape::of(&path) {
        y = drawn.draw(&mut c, shape, false, y);
    } else {
        y = nothing(&mut c, t, y);
    }
    y = rests_on(&mut c, t, (&comparison.cautions, &comparison.not_covered), invented, whole, y);
    c.text(WIDTH - 20.0, y, Hold::Right, "fw-small", &format!("fallwise {}", comparison.version));
    let sheet =
        Sheet { ids: "fw-two", title: &title, description: &sentence, style: STYLE, patterns: super::TIE_PATTERNS };
    sheet.svg(&c, y + 12.0)
}

/// Both profiles alone, for a page of one sheet, which says the rest.
pub(crate) fn two_alone(both: &Both) -> String {
    let t = &both.now;
    let title = both.comparison.after.job.survey.title.clone().unwrap_or_else(|| words::profile(t.voice));
    let title = say!(t, "{title}: before and after", title = shorten(&title, 48));
    let sentence = both.sentence(&both.comparison.sentence);
    let mut c = Canvas(String::new());
    let drawn = Drawn::new(both);
    let path = drawn.now();
    let y = match Shape::of(&path) {
        Some(shape) => drawn.draw(&mut c, shape, true, 4.0),
        None => nothing(&mut c, t, 4.0),
    };
    let sheet =
        Sheet { ids: "fw-two", title: &title, description: &sentence, style: STYLE, patterns: super::TIE_PATTERNS };
    sheet.svg(&c, y + 6.0)
}

/// What is drawn: heights of both at the same stations, above `zero_m`.
struct Drawn<'a> {
    t: &'a Teller<'a>,
    was: &'a Teller<'a>,
    comparison: &'a Comparison,
    rows: Vec<&'a HeightChange>,
    /// Elevation that heights are drawn from, m; 0 where heights count from the first station.
    zero_m: f64,
}

impl<'a> Drawn<'a> {
    fn new(both: &'a Both<'a>) -> Self {
        let comparison = both.comparison;
        let known = |r: &HeightChange| {
            let all = [r.before_m, r.before_sd_m, r.after_m, r.after_sd_m, r.change_m, r.change_low_m, r.change_high_m];
            all.iter().all(|m| m.abs() < 1e6)
        };
        let rows: Vec<&HeightChange> = comparison.profile.iter().filter(|r| known(r)).collect();
        let lowest = rows.iter().fold(f64::INFINITY, |low, r| low.min(r.before_m).min(r.after_m));
        let zero_m = if is_elevation(comparison) && lowest.is_finite() { lowest } else { 0.0 };
        Self { t: &both.now, was: &both.was, comparison, rows, zero_m }
    }

    /// The pipe as it is, node by node.
    fn now(&self) -> Vec<PathRow> {
        let path = &self.comparison.after.path;
        let node = |r: &&HeightChange| {
            // The piece that starts at or before the station; stations of both went through no arithmetic.
            let piece = path.iter().rev().find(|p| p.station_m <= r.station_m)?;
            let (height_m, half_m) = (r.after_m - self.zero_m, Z_95 * r.after_sd_m);
            Some(PathRow {
                station_m: r.station_m,
                height_m,
                height_sd_m: r.after_sd_m,
                height_low_m: height_m - half_m,
                height_high_m: height_m + half_m,
                before_height_m: None,
                before_height_sd_m: None,
                ..piece.clone()
            })
        };
        self.rows.iter().filter_map(node).collect()
    }

    /// Key, plot and strips; `alone`: lower, and without the strips.
    fn draw(&self, c: &mut Canvas, mut shape: Shape, alone: bool, y: f64) -> f64 {
        const LOW: f64 = 190.0;
        let was = self.was(&shape);
        for (_, height_m, half_m) in &was {
            shape.low_m = shape.low_m.min(height_m - half_m);
            shape.high_m = shape.high_m.max(height_m + half_m);
        }
        let shape = &shape;
        let top = y + self.key_height(shape) + 34.0;
        let scale = Scale::fit(shape, LEFT, top + 12.0, RIGHT - LEFT, if alone { LOW } else { PLOT_HEIGHT } - 24.0);
        self.key(c, shape, &scale, y);
        let bottom = self.plot(c, shape, &scale, &was, top);
        strips::lengths(c, self.t.voice, shape, &scale, bottom);
        let both = words::stretch(self.t.voice, shape.start_m(), shape.end_m());
        let both = say!(self.t, "surveyed both times: {stretch}", stretch = both);
        c.text(LEFT, bottom + 38.0, Hold::Left, "fw-bold", &both);
        if alone {
            return bottom + 46.0;
        }
        let mut y = self.changes(c, shape, &scale, bottom + 48.0);
        y = strips::reaches(c, self.t, &self.reaches(), &scale, y);
        c.text(RIGHT, y + 11.0, Hold::Right, "fw-small", &self.t.word("the pipe as it is now"));
        strips::true_scale(c, self.t.voice, shape, &scale, y)
    }

    /// Station, height as drawn and half of its band, m, of the pipe as it was: as far from the pipe as it is now as it was.
    fn was(&self, shape: &Shape) -> Vec<(f64, f64, f64)> {
        let row = |r: &&HeightChange| {
            let height_m = shape.drawn_m(r.station_m, r.before_m - self.zero_m)?;
            Some((r.station_m, height_m, Z_95 * r.before_sd_m))
        };
        self.rows.iter().filter_map(row).collect()
    }

    /// What heights count from, and what the bands are.
    fn told(&self) -> [String; 2] {
        let t = self.t;
        let from = if is_elevation(self.comparison) {
            say!(t, "Heights count from an elevation of {elevation}.", elevation = Part::Elevation(self.zero_m))
        } else {
            say!(
                t,
                "Heights count from the invert at {place}: there the two are laid upon each other.",
                place = at(t.voice, self.comparison.from_m)
            )
        };
        let bands = t.word(
            "Each band is the 95 % interval of the invert at each place by itself: the pipe is, or was, somewhere in there.",
        );
        let bands = match self.comparison.shared {
            Shared::Zero => {
                let shared = t.word(
                    "What the one zero error does to both alike is in both bands, but not in the change, which is surer than they look.",
                );
                format!("{bands} {shared}")
            }
            Shared::Nothing => bands,
        };
        [from, bands]
    }

    fn key_height(&self, shape: &Shape) -> f64 {
        let lines = self.told().iter().map(|text| wrap(text, columns(WIDTH - 60.0, 11.0)).len()).sum::<usize>();
        let water = if self.holds_water(shape) { 20.0 } else { 0.0 };
        49.0 + water + 14.5 * lines as f64
    }

    fn holds_water(&self, shape: &Shape) -> bool {
        self.pools_now(shape).next().is_some() || self.pools_before().next().is_some()
    }

    fn key(&self, c: &mut Canvas, shape: &Shape, scale: &Scale, y: f64) {
        c.rect(20.0, y, WIDTH - 40.0, self.key_height(shape) - 4.0, "fw-box");
        let t = self.t;
        let exaggeration = if scale.exaggeration > 1.0 {
            say!(t, "Heights are drawn {n} times larger than lengths.", n = Part::Number(scale.exaggeration, 0))
        } else {
            t.word("Heights and lengths are drawn to the same scale.")
        };
        c.text(30.0, y + 18.0, Hold::Left, "fw-bold", &exaggeration);
        plot::flow_arrow(c, t.voice, self.comparison.after.job.flow, y);
        let mut row = y + 37.0;
        let mut x = 30.0;
        let mut swatch = |c: &mut Canvas, row: f64, label: &str, draw: &dyn Fn(&mut Canvas, f64)| {
            draw(c, x);
            c.text(x + 40.0, row, Hold::Left, "", label);
            x += 40.0 + width(label, 11.5) + 20.0;
        };
        swatch(c, row, &t.word("invert now, with its band"), &|c, x| {
            c.rect(x, row - 11.0, 34.0, 13.0, "fw-band");
            c.line((x, row - 4.5), (x + 34.0, row - 4.5), "fw-invert");
        });
        swatch(c, row, &t.word("invert before, with its band"), &|c, x| {
            c.rect(x, row - 11.0, 34.0, 13.0, "fw-was-band");
            c.line((x, row - 4.5), (x + 34.0, row - 4.5), "fw-was");
        });
        if shape.nodes.iter().any(|n| bore(n.row).is_some()) {
            swatch(c, row, &t.word("crown (top) now"), &|c, x| {
                c.line((x, row - 4.0), (x + 34.0, row - 4.0), "fw-crown");
            });
        }
        if self.holds_water(shape) {
            row += 20.0;
            x = 30.0;
            let mut swatch = |c: &mut Canvas, label: &str, water: &str, level: &str| {
                c.rect(x, row - 11.0, 34.0, 13.0, water);
                c.line((x, row - 11.0), (x + 34.0, row - 11.0), level);
                c.text(x + 40.0, row, Hold::Left, "", label);
                x += 40.0 + width(label, 11.5) + 20.0;
            };
            if self.pools_now(shape).next().is_some() {
                swatch(c, &t.word("water it can hold now (broken: possible)"), "fw-water", "fw-level");
            }
            if self.pools_before().next().is_some() {
                swatch(c, &t.word("water it could hold before"), "fw-was-water", "fw-dash");
            }
        }
        row += 4.0;
        for text in self.told() {
            for line in wrap(&text, columns(WIDTH - 60.0, 11.0)) {
                row += 14.5;
                c.text(30.0, row, Hold::Left, "", &line);
            }
        }
    }

    /// Frame, axes, bands, water and both inverts; gives back the bottom of the frame.
    fn plot(&self, c: &mut Canvas, shape: &Shape, scale: &Scale, was: &[(f64, f64, f64)], top: f64) -> f64 {
        let bottom = (scale.y(shape.low_m) + 12.0).max(top + 90.0);
        c.rect(LEFT, top, RIGHT - LEFT, bottom - top, "fw-frame");
        plot::top_axis(c, self.t.voice, shape, scale, top);
        plot::height_axes(c, self.t.voice, scale, top, bottom);
        let now: Vec<(f64, f64, f64)> =
            shape.nodes.iter().map(|n| (n.row.station_m, n.height_m(), 0.5 * (n.band_m().1 - n.band_m().0))).collect();
        for (rows, title, class) in [
            (was, self.t.word("95 % band of the invert before: the pipe was somewhere in here"), "fw-was-band"),
            (&now, self.t.word("95 % band of the invert now: the pipe is somewhere in here"), "fw-band"),
        ] {
            let edge = |sign: f64| rows.iter().map(move |(s, h, half)| (scale.x(*s), scale.y(h + sign * half)));
            let band: Vec<(f64, f64)> = edge(1.0).chain(edge(-1.0).rev()).collect();
            c.group(&title, |c| c.polygon(&band, class));
        }
        for pool in self.pools_before() {
            self.water_before(c, pool, shape, scale);
        }
        for pool in self.pools_now(shape) {
            plot::water(c, &pool, &self.t.sentence(&pool.sentence), shape, scale, bottom);
        }
        plot::pipe(c, shape, scale);
        let line: Vec<(bool, f64, f64)> = was.iter().map(|(s, h, _)| (false, scale.x(*s), scale.y(*h))).collect();
        c.group(&self.t.word("the invert before"), |c| {
            c.path(&line, "fw-was-under");
            c.path(&line, "fw-was");
        });
        plot::cuts(c, self.t.voice, (shape, &self.comparison.after.segments), scale, top);
        bottom
    }

    /// Whether a pool has a part on the common length.
    fn is_common(&self, pool: &PoolRow) -> bool {
        pool.from_m.max(self.comparison.from_m) < pool.to_m.min(self.comparison.to_m)
    }

    /// Bellies of the second survey, with the level as it is drawn.
    fn pools_now(&self, shape: &Shape) -> impl Iterator<Item = PoolRow> {
        let after = &self.comparison.after;
        let drawn = |p: &PoolRow| {
            let station_m = p.deepest_station_m?;
            let level_m = p.level_m? - sure::path_at(&after.path, station_m)?.height_m + shape.height_m(station_m)?;
            Some(PoolRow {
                level_m: Some(level_m),
                from_m: p.from_m.max(self.comparison.from_m),
                to_m: p.to_m.min(self.comparison.to_m),
                ..p.clone()
            })
        };
        after.pools.iter().filter(|p| self.is_common(p)).filter_map(drawn)
    }

    /// Bellies that the first survey found.
    fn pools_before(&self) -> impl Iterator<Item = &'a PoolRow> {
        self.comparison.before.pools.iter().filter(|p| p.state == "found" && p.level_m.is_some() && self.is_common(p))
    }

    /// Height of the first survey at a station, m.
    fn height_before_m(&self, station_m: f64) -> Option<f64> {
        self.rows.windows(2).find_map(|w| {
            let (a, b) = (w[0].station_m, w[1].station_m);
            let inside = a <= station_m && station_m <= b && a < b;
            let t = (station_m - a) / (b - a);
            inside.then(|| w[0].before_m + t * (w[1].before_m - w[0].before_m))
        })
    }

    /// Water that a belly could hold, between the invert before and its level.
    fn water_before(&self, c: &mut Canvas, pool: &PoolRow, shape: &Shape, scale: &Scale) {
        let level_m = || {
            let station_m = pool.deepest_station_m?;
            let node_m = sure::path_at(&self.comparison.before.path, station_m)?.height_m;
            Some(pool.level_m? - node_m + self.height_before_m(station_m)?)
        };
        let Some(level_m) = level_m().filter(|l| l.abs() < 1e6) else { return };
        let (from_m, to_m) = (pool.from_m.max(self.comparison.from_m), pool.to_m.min(self.comparison.to_m));
        let inner = self.rows.iter().map(|r| r.station_m).filter(|s| *s > from_m && *s < to_m);
        let stations: Vec<f64> = core::iter::once(from_m).chain(inner).chain([to_m]).collect();
        let drawn = |s: f64, height_m: f64| {
            shape.drawn_m(s, height_m - self.zero_m).map(|height_m| (scale.x(s), scale.y(height_m)))
        };
        let under = stations.iter().filter_map(|&s| drawn(s, self.height_before_m(s)?.min(level_m)));
        let surface: Vec<(f64, f64)> = stations.iter().filter_map(|&s| drawn(s, level_m)).collect();
        let outline: Vec<(f64, f64)> = under.chain(surface.iter().rev().copied()).collect();
        let line: Vec<(bool, f64, f64)> = surface.iter().map(|p| (false, p.0, p.1)).collect();
        let title = say!(self.t, "Before: {sentence}", sentence = self.was.sentence(&pool.sentence));
        c.group(&title, |c| {
            c.polygon(&outline, "fw-was-water");
            c.path(&line, "fw-dash");
        });
    }

    /// The reaches of the second survey on the common length.
    fn reaches(&self) -> Vec<ReachRow> {
        let (from_m, to_m) = (self.comparison.from_m, self.comparison.to_m);
        let part = |r: &ReachRow| ReachRow { from_m: r.from_m.max(from_m), to_m: r.to_m.min(to_m), ..r.clone() };
        self.comparison.after.reaches.iter().map(part).filter(|r| r.from_m < r.to_m).collect()
    }

    /// The change of height along the pipe, on its own scale.
    fn changes(&self, c: &mut Canvas, shape: &Shape, scale: &Scale, y: f64) -> f64 {
        let (unit, factor) = match self.t.words {
            Words::Uk => ("mm", to_mm(1.0)),
            Words::Us => ("in", to_inch(1.0)),
        };
        let text = say!(
            self.t,
            "change of the invert's height, {unit}, positive where it lies higher now: second survey less first, with the 95 % \
             interval of the change (own scale)",
            unit = unit
        );
        let top = strips::heading(c, y, &text) + 3.0;
        let ends = |of: &dyn Fn(&HeightChange) -> f64| self.rows.iter().map(|r| of(r)).collect::<Vec<f64>>();
        let low = ends(&|r| r.change_low_m).into_iter().fold(0.0, f64::min).min(-0.5 * LEAST_CHANGE_M);
        let high = ends(&|r| r.change_high_m).into_iter().fold(0.0, f64::max).max(0.5 * LEAST_CHANGE_M);
        let level = |m: f64| top + 6.0 + (high - m) / (high - low) * (CHANGES - 12.0);
        c.rect(LEFT, top, RIGHT - LEFT, CHANGES, "fw-frame");
        let (values, places) = ticks(low * factor, high * factor, 4.0);
        for value in values {
            let y = level(value / factor);
            c.line((LEFT, y), (RIGHT, y), "fw-grid");
            c.text(LEFT - 6.0, y + 4.0, Hold::Right, "fw-small", &self.t.number(value, places));
        }
        let (x0, x1) = (scale.x(shape.start_m()), scale.x(shape.end_m()));
        let line = |of: &dyn Fn(&HeightChange) -> f64| -> Vec<(f64, f64)> {
            self.rows.iter().map(|r| (scale.x(r.station_m), level(of(r)))).collect()
        };
        let mut band = line(&|r| r.change_high_m);
        band.extend(line(&|r| r.change_low_m).into_iter().rev());
        c.group(&self.t.word("95 % interval of the change of height"), |c| c.polygon(&band, "fw-band"));
        c.line((x0, level(0.0)), (x1, level(0.0)), "fw-dash");
        let best: Vec<(bool, f64, f64)> = line(&|r| r.change_m).into_iter().map(|p| (false, p.0, p.1)).collect();
        c.path(&best, "fw-change");
        let told = self.t.word("Broken line: no change. Where the band leaves that line out, a change is shown.");
        paragraph(c, &told, top + CHANGES + 14.0) + 2.0
    }
}

fn is_elevation(comparison: &Comparison) -> bool {
    comparison.heights_are == "elevation"
}
