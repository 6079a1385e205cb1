//! One sheet for whoever digs: the shallow end first, where the place is and how it is taped out, a section, what is expected there,
//! what comes before digging. Where nobody may dig by it, it says that first and large, what is missing and how to get it, and no
//! depth to dig to.

use askama::Template;
use fallwise::{
    adjust::Z_95,
    answers::DigRow,
    math::hypot,
    model::{TRANSMITTER_ABOVE_M, depth_sd_m},
    units::{Part, to_deg},
};

use crate::{
    frame::{COLUMNS, Frame},
    page::Labels,
    plan, sure,
    table::{Table, lines, pairs, plain},
    tell::{Teller, say},
    text::{readable, shorten},
    words,
};

/// What lies so near along the pipe is told, m (our choice).
const NEAR_M: f64 = 2.0;
/// Lines of what is expected, and landmarks, that a sheet has room for; report.html and tapes.csv have them all.
const EXPECTED: usize = 5;
/// Columns of a stranger's words in a list.
const SHORT: usize = 60;
const LANDMARKS: usize = 5;

/// What the template lays out. Texts only.
#[derive(Template)]
#[template(path = "dig.html")]
pub(crate) struct DigSheet<'a> {
    t: Labels<'a>,
    frame: Frame,
    reader: String,
    refused: bool,
    headline: String,
    rest: String,
    wanted: Option<String>,
    setting_out: String,
    facts: Vec<(String, String)>,
    tapes: Table,
    surveyed: String,
    picture: Option<String>,
    expected: Vec<String>,
    before: Vec<String>,
    honesty: String,
}

impl<'a> DigSheet<'a> {
    pub(crate) fn new(t: &Teller<'a>, dig: &DigRow) -> Self {
        let (headline, rest) = t.first_and_rest(&dig.sentence);
        let mut frame = Frame::extract(t);
        frame.cautions = lines(cautions(t, dig));
        Self {
            t: Labels::new(t.voice, &t.answers.job.report),
            frame,
            reader: readable(&reader(t, dig)),
            refused: dig.refused,
            headline: readable(&headline),
            rest: readable(&rest),
            wanted: Some(shorten(&dig.wanted, 2 * COLUMNS)).filter(|w| !w.trim().is_empty()).map(|w| readable(&w)),
            setting_out: readable(&setting_out(t, dig)),
            facts: pairs(facts(t, dig)),
            tapes: tapes(t, dig),
            surveyed: readable(&super::survey_line(t)),
            picture: plan::site(t, dig),
            expected: lines(expected(t, dig)),
            before: lines(if dig.refused { missing(t, dig) } else { before(t, dig) }),
            honesty: readable(&words::honesty(t)),
        }
    }
}

/// How it is taped out; names that a sheet has no room for are cut.
fn setting_out(t: &Teller<'_>, dig: &DigRow) -> String {
    let mut told = t.sentence(&dig.setting_out);
    for name in [&dig.first_landmark, &dig.second_landmark] {
        let short = shorten(name, 40);
        if short != *name {
            told = told.replace(name.as_str(), &short);
        }
    }
    told
}

/// The line under the title.
fn reader(t: &Teller<'_>, dig: &DigRow) -> String {
    let of = t.answers.digs.len();
    if dig.name.trim().is_empty() {
        return say!(t, "Dig {n} of {of} (sheet 1 of 1).", n = dig.number, of = of);
    }
    say!(t, "Dig {n} of {of}: {name} (sheet 1 of 1).", n = dig.number, of = of, name = shorten(&dig.name, SHORT))
}

/// The first is the one that nobody may miss.
fn cautions(t: &Teller<'_>, dig: &DigRow) -> Vec<String> {
    let first = if dig.refused {
        t.word("Do not dig from this sheet: what it gives is where to look with a locator, and no depth.")
    } else {
        t.word("Do not dig before other buried services have been located and marked: this sheet shows none of them.")
    };
    core::iter::once(first).chain(t.answers.cautions.iter().map(|c| t.sentence(c))).collect()
}

/// A figure with its 95 % interval.
fn with_ends(t: &Teller<'_>, value: f64, low: Option<f64>, high: Option<f64>, say: impl Fn(f64) -> Part) -> String {
    let told = t.part(&say(value));
    match low.zip(high) {
        Some((low, high)) => {
            let ends = sure::range(t.voice, low, high, say);
            say!(t, "{value} (95 %: {ends})", value = told, ends = ends)
        }
        None => say!(t, "{value}, its error not known", value = told),
    }
}

fn facts(t: &Teller<'_>, dig: &DigRow) -> Vec<(String, String)> {
    let length = |m: f64| Part::Length(m);
    let mut facts = vec![(t.word("Along the pipe"), t.part(&Part::At(dig.station_m)))];
    // What is refused has no depth on it: somebody would dig to it.
    if !dig.refused {
        if let Some(cover) = dig.cover_m {
            let ends = with_ends(t, cover, dig.cover_low_m, dig.cover_high_m, length);
            facts.push((t.word("Ground to the top of the pipe, outside"), ends));
        }
        if let Some(crown) = dig.crown_m {
            facts.push((
                t.word("Ground to its crown, inside"),
                with_ends(t, crown, dig.crown_low_m, dig.crown_high_m, length),
            ));
        }
        if let Some(depth) = dig.depth_m {
            facts
                .push((t.word("Ground to its invert"), with_ends(t, depth, dig.depth_low_m, dig.depth_high_m, length)));
        }
    }
    // Nor an elevation from which the depth follows.
    if let Some(m) = dig.elevation_m.filter(|_| !dig.refused) {
        let ends = with_ends(t, m, dig.elevation_low_m, dig.elevation_high_m, Part::Elevation);
        facts.push((t.word("Elevation of the invert"), ends));
    }
    facts.extend(dig.ground_m.map(|m| (t.word("Elevation of the ground"), t.elevation(m))));
    if let Some((east, north)) = dig.east_m.zip(dig.north_m) {
        let told = say!(t, "{east} east, {north} north", east = Part::Length(east), north = Part::Length(north));
        facts.push((t.word("Place, in the axes of the job"), told));
    }
    if let Some((longitude, latitude)) = dig.longitude_rad.zip(dig.latitude_rad) {
        let degrees = |rad: f64| Part::Number(to_deg(rad), 6);
        let told = say!(
            t,
            "{latitude}, {longitude} degrees (WGS 84)",
            latitude = degrees(latitude),
            longitude = degrees(longitude)
        );
        facts.push((t.word("Latitude, longitude"), told));
    }
    if let Some((across, along)) = dig.across_m.zip(dig.along_m) {
        let told = say!(
            t,
            "{across} to either side of the pipe, {along} along it (95 %)",
            across = Part::Length(across),
            along = Part::Length(along)
        );
        facts.push((t.word("The place may be off by"), told));
    }
    facts.push((
        t.word("Located from the surface"),
        match dig.tie_away_m {
            Some(away) => say!(
                t,
                "{name}, {away} away along the pipe",
                name = shorten(&t.sentence(&dig.tie_name), COLUMNS),
                away = Part::Length(away)
            ),
            None => t.word("nowhere that can be relied on"),
        },
    ));
    facts.extend(pipe(t, dig).map(|pipe| (t.word("Pipe"), pipe)));
    facts
}

fn pipe(t: &Teller<'_>, dig: &DigRow) -> Option<String> {
    let inside = |m: f64, from_m: f64, to_m: f64| from_m <= m && m <= to_m;
    let reach = t.answers.reaches.iter().find(|r| inside(dig.station_m, r.from_m, r.to_m))?;
    let job = t.answers.job.reaches.iter().find(|r| inside(dig.station_m, r.from_m, r.to_m));
    let name = words::pipe(t.voice, reach);
    let name = match job.and_then(|r| r.pipe.material.clone()) {
        Some(material) => format!("{}, {}", shorten(&name, COLUMNS), shorten(&material, COLUMNS)),
        None => shorten(&name, COLUMNS),
    };
    let outside_m = job.and_then(|r| Some(r.pipe.bore?.height_m() + 2.0 * r.pipe.wall_m?));
    Some(match outside_m {
        Some(m) => say!(t, "{pipe}; {outside} across outside", pipe = name, outside = Part::Small(m)),
        None => name,
    })
}

fn tapes(t: &Teller<'_>, dig: &DigRow) -> Table {
    let columns = [
        t.word("From"),
        t.word("Tape, level"),
        t.word("Pipe within (95 %)"),
        t.word("Direction (the job's north, no compass)"),
    ];
    let is_used = |name: &str| name == dig.first_landmark || name == dig.second_landmark;
    let mut all: Vec<_> = t.answers.tapes.iter().filter(|tape| tape.dig == dig.number).collect();
    all.sort_by_key(|tape| !is_used(&tape.landmark));
    let rows = all.into_iter().take(LANDMARKS).map(|tape| {
        let name = shorten(&tape.landmark, 50);
        let name = if is_used(&tape.landmark) { say!(t, "{name} (best pair)", name = name) } else { name };
        vec![
            plain(name),
            plain(t.length(tape.distance_m)),
            plain(t.part(&Part::Small(Z_95 * tape.distance_sd_m))),
            plain(say!(t, "{n} degrees", n = Part::Number(to_deg(tape.azimuth_rad), 0))),
        ]
    });
    Table::new(&t.word("Distances from landmarks"), columns, rows)
}

/// What lies near there: what was wanted is over it.
fn expected(t: &Teller<'_>, dig: &DigRow) -> Vec<String> {
    let answers = t.answers;
    let near = |from_m: f64, to_m: f64| from_m - NEAR_M <= dig.station_m && dig.station_m <= to_m + NEAR_M;
    let mut told = Vec::new();
    for f in answers.job.features.iter().filter(|f| near(f.station_m, f.to_m.unwrap_or(f.station_m))) {
        let (what, place) = (words::feature(t.voice, f.kind), Part::At(f.station_m));
        told.push(if f.text.trim().is_empty() {
            say!(t, "{what} at {place}.", what = Part::capital(what), place = place)
        } else {
            say!(
                t,
                "{what} at {place}: {text}",
                what = Part::capital(what),
                place = place,
                text = shorten(&f.text, SHORT)
            )
        });
    }
    for b in answers.job.bends.iter().filter(|b| near(b.station_m, b.station_m)) {
        let (angle, place) = (Part::Angle(b.deflection_rad.abs()), Part::At(b.station_m));
        told.push(if b.deflection_rad < 0.0 {
            say!(t, "Bend of {angle} to the left at {place}.", angle = angle, place = place)
        } else {
            say!(t, "Bend of {angle} to the right at {place}.", angle = angle, place = place)
        });
    }
    for step in answers.job.steps.iter().filter(|s| near(s.station_m, s.station_m)) {
        let (rise, place) = (Part::Small(step.rise_m.abs()), Part::At(step.station_m));
        told.push(say!(t, "A displaced joint, {rise} high, at {place}.", rise = rise, place = place));
    }
    for note in answers.noted.iter().filter(|n| n.station_m.is_some_and(|s| near(s, n.to_m.unwrap_or(s)))) {
        if let Some(station_m) = note.station_m {
            let text = shorten(&note.text, SHORT);
            told.push(say!(t, "Noted at {place}: {text}", place = Part::At(station_m), text = text));
        }
    }
    for tie in answers.ties.iter().filter(|tie| tie.kind == "depth" && tie.station_m.is_some_and(|s| near(s, s))) {
        let (name, expected) = (shorten(&t.sentence(&tie.name), SHORT), tie.expected);
        if let Some(off_m) =
            expected.map(|m| tie.value - m).filter(|_| matches!(tie.verdict.as_str(), "large" | "suspect"))
        {
            told.push(if off_m > 0.0 {
                say!(
                    t,
                    "A locator put the pipe {off} higher here than all else says ({tie}): another service, or shallower pipe, may be there.",
                    off = Part::Small(off_m),
                    tie = name
                )
            } else {
                say!(
                    t,
                    "A locator put the pipe {off} lower here than all else says ({tie}).",
                    off = Part::Small(-off_m),
                    tie = name
                )
            });
        }
    }
    let pools = answers.pools.iter().filter(|p| near(p.from_m, p.to_m) && p.state != "intended");
    told.extend(pools.map(|p| t.sentence(&p.sentence)));
    let findings = answers.findings.iter().filter(|f| {
        f.subject != "lateral"
            && f.reach.is_none()
            && f.pool.is_none()
            && f.finding != "meets"
            && near(f.from_m, f.to_m)
    });
    told.extend(findings.map(|f| t.sentence(&f.sentence)));
    let more = told.len().saturating_sub(EXPECTED);
    told.truncate(EXPECTED);
    if more > 0 {
        told.push(say!(t, "{n} more are in report.html.", n = more));
    }
    if told.is_empty() {
        let near = Part::About(NEAR_M);
        told.push(if dig.wanted.trim().is_empty() {
            say!(t, "Nothing was noted within {near} of it.", near = near)
        } else {
            say!(
                t,
                "Nothing was noted within {near} of it: what is wanted here, the camera's notes do not have.",
                near = near
            )
        });
    }
    told
}

/// What comes before digging.
fn before(t: &Teller<'_>, dig: &DigRow) -> Vec<String> {
    let mut told = vec![t.word("Have gas, electricity, water, telephone and every other service located and marked.")];
    if let (Some(across), Some(depth), Some(sd)) = (dig.across_m, dig.depth_m, dig.depth_sd_m) {
        // What a locator shows has an error of its own, to the side as in depth, and is the depth of the transmitter.
        let shown = depth - TRANSMITTER_ABOVE_M;
        let own = depth_sd_m(shown);
        let beside = Z_95 * hypot(across / Z_95, own);
        let deeper = Z_95 * hypot(sd, own);
        told.push(say!(
            t,
            "Prove the place: bring a transmitter to {place} and find it from the surface. It lies in the pipe, some {above} above the invert, and \
             should show {low} to {high} (a locator being good to one part in twenty of the depth, one standard deviation). If it shows another \
             depth, or lies more than {across} to the side, stop: then something here is wrong.",
            place = Part::At(dig.station_m),
            above = Part::Small(TRANSMITTER_ABOVE_M),
            across = Part::Length(beside),
            low = Part::Length((shown - deeper).max(0.0)),
            high = Part::Length((shown + deeper).max(0.0))
        ));
    }
    if let (Some(across), Some(high)) = (dig.across_m, dig.depth_high_m) {
        told.push(say!(
            t,
            "If the pipe is not there at {deep} and within {across} to either side: stop, dig no deeper and no wider, locate again.",
            deep = Part::Length(high),
            across = Part::Length(across)
        ));
    }
    if dig.first_landmark.is_empty() {
        told.push(t.word(
            "No two landmarks are given that it can be taped out from: set it out by its coordinates, or locate it.",
        ));
    }
    told.push(t.word(
        "Depths count from the ground as it was levelled: where it was filled or dug off since, they are wrong.",
    ));
    let wall = t.answers.job.reaches.iter().find(|r| r.from_m <= dig.station_m && dig.station_m <= r.to_m);
    told.push(if wall.is_some_and(|r| r.pipe.wall_m.is_none()) {
        t.word("The job does not say how thick the pipe's wall is: its outside lies so much higher. Sockets and fittings stand out farther.")
    } else {
        t.word("Sockets, fittings and any concrete about the pipe stand out farther than the pipe: they are not in these depths.")
    });
    told.push(t.word(
        "Support of the sides, access and air are decided by a competent person before anybody goes in, at any depth.",
    ));
    told
}

/// How what is missing is got.
fn missing(t: &Teller<'_>, dig: &DigRow) -> Vec<String> {
    let is = |reason: &str| dig.reasons.split(' ').any(|r| r == reason);
    let mut told = Vec::new();
    if is("not_surveyed") {
        told.push(t.word("Bring the camera to the place, or correct the station of the dig in the job."));
    }
    if is("not_seen") {
        told.push(t.word("Run the camera through the stretch again, slowly, from either end."));
    }
    if is("no_plan") || is("no_tie") || is("too_wide") {
        told.push(say!(
            t,
            "Bring a transmitter to {place} and find it from the surface, from two sides. Mark the spot, and tape it from two landmarks or measure its east and north. Give both, and how exact they are, to whoever made this sheet (a tie of kind plan in the job).",
            place = Part::At(dig.station_m)
        ));
    }
    if is("no_plan") || is("too_wide") {
        told.push(t.word("Locate a second point along the pipe, or take the direction of the pipe where the camera went in (start_azimuth, with its error)."));
    }
    if is("no_depth") {
        told.push(t.word("Level the ground at the spot and the invert at an opening, in one datum, or read the depth off the locator (a tie of kind depth). Give each with its error."));
    }
    if is("contradicted") {
        told.push(t.word("Measure what does not fit again; report.html says which it is."));
    }
    if is("not_stated") {
        told.push(t.word("Put the errors of where the run starts and of its direction into the job (start_plan_sd, start_azimuth_sd)."));
    }
    told.push(t.word("Then make this sheet again. Until it gives a place and a depth, nobody digs by it."));
    told
}
