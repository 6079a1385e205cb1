//! The page: the answers as texts in the order of the template, which only lays them out.

use askama::Template;
use base64::{Engine, prelude::BASE64_STANDARD as BASE64};
use fallwise::{
    Answers, Flow,
    answers::{AdjustmentRow, AsBuiltRow, FindingRow, NextRow, NoteRow, PoolRow, ReachRow, SegmentRow, TieRow},
    model::Survey,
    units::Words,
};

use crate::{
    known,
    profile::{Mark, marks, picture},
    summary::{counts, in_order},
    sure,
    text::{clean, readable},
    words::{self, HONESTY, INVENTED, NOT_DETERMINED, at, short_slope},
};

/// Changed readings listed one by one at most; the rest is counted, and in the result's own file.
const EDITS: usize = 2000;
/// Columns of a tie's name where it does not stand in the table.
const NAME: usize = 80;
/// Named heights listed at most; all heights are in path.csv.
const HEIGHTS: usize = 200;

/// Why a page could not be made.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ReportError {
    /// The template could not be filled.
    #[error("the page could not be filled: {0}")]
    Page(#[from] askama::Error),
}

/// The whole report as one HTML page: no scripts, nothing from outside, for screen and paper (A4 and Letter).
///
/// It goes by finding: the lateral's own, what fails, what is undecided, what meets, each with the notes along its stretch.
/// Every text of a stranger's is escaped.
///
/// # Errors
/// [`ReportError::Page`] if the template cannot be filled.
pub fn page_html(answers: &Answers) -> Result<String, ReportError> {
    page_html_with_photos(answers, &[])
}

/// The same with the photos of the notes: each under the finding that it explains, the one of the shortest stretch that
/// its note touches, or with the other notes where there is none. Its alternative text is the note's words.
///
/// # Errors
/// As [`page_html`].
pub fn page_html_with_photos(answers: &Answers, photos: &[Photo]) -> Result<String, ReportError> {
    Ok(Page::new(answers, photos).render()?)
}

/// A photo to be shown, as JPEG; whoever gives it has taken its metadata out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Photo<'a> {
    /// Its name, as the notes have it.
    pub file: &'a str,
    /// The picture.
    pub jpeg: &'a [u8],
    /// Its width.
    pub width_px: u32,
    /// Its height.
    pub height_px: u32,
}

/// A figure and its interval, which goes below it.
pub(crate) type Cell = (String, String);

/// What the template lays out. Texts only.
#[derive(Template)]
#[template(path = "report.html")]
struct Page {
    title: String,
    invented: Option<&'static str>,
    headline: String,
    rest: String,
    /// What does not fit, so that nobody misses it.
    alarm: Option<String>,
    next: Option<Next>,
    picture: String,
    counts: String,
    findings: Vec<Finding>,
    water: bool,
    other_notes: Vec<Noted>,
    others: Vec<Other>,
    beside: Option<Beside>,
    as_built: Vec<Vec<Cell>>,
    as_built_how: &'static str,
    pools: Vec<Pool>,
    station: &'static str,
    heights: Vec<Vec<Cell>>,
    heights_are: String,
    reaches: Vec<Vec<Cell>>,
    segments: Vec<Vec<Cell>>,
    edit_counts: Vec<String>,
    edits: Vec<Vec<String>>,
    edits_left_out: usize,
    warnings: Vec<String>,
    notes: Vec<String>,
    not_surveyed: Vec<String>,
    facts: Vec<(&'static str, String)>,
    rules: Vec<Vec<String>>,
    head: String,
    /// Whether there are ties, so that errors are known from them too.
    tied: bool,
    parameters: Vec<[String; 4]>,
    allowed_for: Vec<String>,
    not_covered: Vec<String>,
    honesty: &'static str,
    cautions: Vec<String>,
    version: String,
}

pub(crate) struct Next {
    pub(crate) sentence: String,
    pub(crate) hazard: String,
    pub(crate) gain: String,
}

/// A measurement that would help less than the first.
struct Other {
    heading: String,
    next: Next,
}

/// What is known beside the runs, and how it goes together.
struct Beside {
    sentence: String,
    verdict: &'static str,
    /// What is suspect, with its sentence.
    suspects: Vec<(String, String)>,
    ties: Vec<TieLine>,
    without: Vec<[Cell; 3]>,
    not_determined: Vec<String>,
}

/// A row of the table of ties.
struct TieLine {
    /// Class of the row.
    kind: &'static str,
    number: String,
    name: Cell,
    figures: Vec<Cell>,
    verdict: String,
}

pub(crate) struct Finding {
    pub(crate) heading: String,
    /// Class of the mark beside it.
    pub(crate) kind: &'static str,
    pub(crate) sentence: String,
    /// How to read it, where it is undecided.
    pub(crate) meaning: String,
    pub(crate) rows: Vec<(&'static str, String)>,
    pub(crate) notes: Vec<Noted>,
}

/// Something noted, and its photo where it stands here.
pub(crate) struct Noted {
    pub(crate) text: String,
    pub(crate) photo: Option<Shown>,
}

pub(crate) struct Shown {
    pub(crate) base64: String,
    pub(crate) alt: String,
    pub(crate) caption: String,
    pub(crate) width: u32,
    pub(crate) height: u32,
}

pub(crate) struct Pool {
    pub(crate) heading: String,
    pub(crate) sentence: String,
    pub(crate) rows: Vec<(&'static str, String)>,
}

impl Page {
    fn new(answers: &Answers, photos: &[Photo]) -> Self {
        let words = answers.job.report.words;
        let survey = &answers.job.survey;
        let (headline, rest) = split(&answers.sentence);
        let marks = marks::collect(answers);
        let water = known::water(answers);
        let in_order: Vec<&FindingRow> = in_order(answers.findings.iter().chain(&water)).collect();
        let first_undecided = in_order.iter().position(|f| f.finding == "undecided");
        let findings = in_order.iter().enumerate().map(|(i, f)| {
            let notes = notes_under(answers, photos, &marks, &in_order, f);
            finding(answers, f, notes, first_undecided == Some(i))
        });
        let untold = marks.iter().filter(|m| !in_order.iter().any(|f| explains(m, f)));
        Self {
            title: readable(survey.title.as_deref().unwrap_or("Survey of a drain")),
            invented: survey.invented.then_some(INVENTED),
            headline,
            rest,
            alarm: answers.adjustment.as_ref().filter(|_| known::is_wrong(answers)).map(|a| readable(&a.sentence)),
            next: answers.next.as_ref().map(next),
            picture: picture(answers, false),
            counts: counts(answers),
            findings: findings.collect(),
            water: !water.is_empty(),
            other_notes: untold.map(|m| noted(answers, photos, m)).collect(),
            others: others(answers),
            beside: answers.adjustment.as_ref().map(|a| beside(answers, a)),
            as_built: answers.as_built.iter().map(|row| as_built(words, row)).collect(),
            as_built_how: if answers.path.iter().any(|r| r.elevation_m.is_some()) {
                "Both are elevations."
            } else {
                "No elevation was measured, so that only the shapes can be compared: what was measured is put on the as-built \
                 inverts as a whole."
            },
            pools: pools(answers),
            station: words::phrases(words).station,
            heights: heights(answers),
            heights_are: sure::relative_to(answers),
            reaches: reaches(answers),
            segments: segments(answers),
            edit_counts: edit_counts(answers),
            edits: answers
                .edits
                .iter()
                .take(EDITS)
                .map(|e| {
                    let angle = words.angle(e.reading_rad);
                    vec![
                        readable(&e.run),
                        e.row.to_string(),
                        words.length(e.counter_m),
                        angle,
                        readable(&e.action),
                        readable(&e.reason),
                    ]
                })
                .collect(),
            edits_left_out: answers.edits.len().saturating_sub(EDITS),
            warnings: all_readable(&answers.warnings),
            notes: all_readable(&answers.notes),
            not_surveyed: not_surveyed(answers),
            facts: facts(words, survey),
            rules: rules(answers),
            head: known::head(answers).unwrap_or_default(),
            tied: sure::has_ties(answers),
            parameters: answers.parameters.iter().map(|p| sure::parameter(answers, p)).collect(),
            allowed_for: sure::allowed_for(answers),
            not_covered: all_readable(&answers.not_covered),
            honesty: HONESTY,
            cautions: all_readable(&answers.cautions),
            version: readable(&answers.version),
        }
    }
}

pub(crate) fn next(n: &NextRow) -> Next {
    Next {
        sentence: readable(&n.sentence),
        hazard: readable(&n.hazard),
        gain: sure::gain(n.undecided_now, n.expected_decided),
    }
}

/// Measurements that would help less, best first.
fn others(answers: &Answers) -> Vec<Other> {
    let words = answers.job.report.words;
    let other = |n: &NextRow| Other { heading: readable(&known::measurement(words, n)), next: next(n) };
    answers.next_others.iter().map(other).collect()
}

fn beside(answers: &Answers, adjustment: &AdjustmentRow) -> Beside {
    let words = answers.job.report.words;
    let suspects = known::suspects(answers);
    let told = |i: &usize| {
        let row = answers.ties.get(*i)?;
        let name = format!("{}, {}", known::number(row), known::title(answers, row, NAME));
        Some((readable(&name), readable(&row.sentence)))
    };
    let without = |row| known::without(words, row).map(|(figure, interval)| (readable(&figure), interval));
    Beside {
        sentence: readable(&adjustment.sentence),
        verdict: if known::is_wrong(answers) { "wrong" } else { "" },
        suspects: suspects.iter().filter_map(told).collect(),
        ties: answers.ties.iter().enumerate().map(|(i, row)| tie(answers, row, suspects.contains(&i))).collect(),
        without: adjustment.without.iter().map(without).collect(),
        not_determined: all_readable(&adjustment.not_determined),
    }
}

fn tie(answers: &Answers, row: &TieRow, suspect: bool) -> TieLine {
    let words = answers.job.report.words;
    let (name, below) = known::name(answers, row);
    let expected =
        row.expected.map_or_else(|| "nothing else says".to_owned(), |value| known::figure(words, row, value));
    let off = known::off(words, row).unwrap_or_else(|| "-".to_owned());
    TieLine {
        kind: if suspect { "suspect" } else { "" },
        number: known::number(row),
        name: (readable(&name), readable(&below)),
        figures: vec![
            (known::figure(words, row, row.value), known::short_error(words, row)),
            plain(expected),
            (off, known::deviations(row).unwrap_or_default()),
            plain(known::least(words, row)),
        ],
        verdict: readable(known::verdict(row, suspect)),
    }
}

fn as_built(words: Words, row: &AsBuiltRow) -> Vec<Cell> {
    let own = match row.invert_sd_m {
        0.0 => "taken as exact".to_owned(),
        sd => format!("standard deviation {}", words.small(sd)),
    };
    vec![
        plain(words.station(row.station_m)),
        (words::elevation(words, row.invert_m), own),
        plain(words::elevation(words, row.measured_m)),
        (words.small(row.difference_m), sure::range(row.difference_low_m, row.difference_high_m, |m| words.small(m))),
        plain(known::differs(row).to_owned()),
    ]
}

pub(crate) fn all_readable(texts: &[String]) -> Vec<String> {
    texts.iter().map(|t| readable(t)).collect()
}

/// The first sentence, and the others.
pub(crate) fn split(sentence: &str) -> (String, String) {
    let sentence = clean(sentence);
    match sentence.split_once(". ") {
        Some((first, rest)) => (readable(&format!("{first}.")), readable(rest)),
        None => (readable(&sentence), String::new()),
    }
}

/// `first`: whether it is the first of those that are undecided, beside which stands what that means.
pub(crate) fn finding(answers: &Answers, f: &FindingRow, notes: Vec<Noted>, first: bool) -> Finding {
    let words = answers.job.report.words;
    let mut rows = Vec::new();
    let figure = |value: f64| match f.quantity.as_str() {
        "slope" => words.slope(value),
        "depth_m" => words.small(value),
        _ => words.length(value),
    };
    if let Some(value) = f.value {
        let slope = f.quantity == "slope";
        rows.push((if slope { "Mean slope over the stretch" } else { "In the best estimate" }, figure(value)));
    }
    match (f.value_low, f.value_high) {
        (Some(low), Some(high)) if f.quantity == "slope" => rows.push(("95 % interval", words.slope_range(low, high))),
        (Some(low), Some(high)) => rows.push(("95 % interval", sure::range(low, high, figure))),
        (None, Some(high)) => rows.push(("At most", figure(high))),
        (Some(low), None) => rows.push(("At least", figure(low))),
        (None, None) if f.value.is_some() => {
            rows.push(("95 % interval", "none was worked out for this figure".to_owned()));
        }
        (None, None) => {}
    }
    let asked = |text: &str| !text.is_empty();
    if asked(&f.requirement) {
        rows.push(("Asked for", readable(&f.requirement)));
    }
    if asked(&f.document) {
        let unseen = if f.confirmed { "" } else { " - not seen in the primary document" };
        rows.push(("Document", readable(&format!("{} {}, {}{unseen}", f.document, f.edition, f.clause))));
        rows.push(("What stands behind it", readable(words::force(&f.force))));
    }
    if let Some(p) = f.probability {
        rows.push(("Probability that it is met", fallwise::units::probability(p)));
    }
    if let Some(reason) = &f.reason {
        rows.push(("Why undecided", readable(words::reason(reason))));
    }
    let undecided = f.finding == "undecided";
    let would_decide = sure::would_decide(answers, f);
    if undecided && !first {
        rows.push(("What would decide it", would_decide.to_owned()));
    }
    let meaning = if first { format!("{} {would_decide}", sure::UNDECIDED) } else { String::new() };
    let place = if f.from_m == f.to_m {
        at(words, f.from_m)
    } else {
        format!("{} to {}", at(words, f.from_m), words.station(f.to_m))
    };
    rows.push(("Where", place));
    let kind = match f.finding.as_str() {
        _ if f.subject == "water" && f.quantity.is_empty() => "fails",
        "fails" => "fails",
        "meets" => "meets",
        _ => "undecided",
    };
    Finding { heading: heading(f), kind, sentence: readable(&f.sentence), meaning, rows, notes }
}

fn heading(f: &FindingRow) -> String {
    readable(&format!("{}: {}", f.subject, f.finding))
}

/// Notes explain a part, not the whole: under the lateral's own finding there would be all of them.
fn explains(mark: &Mark, f: &FindingRow) -> bool {
    f.subject != "lateral" && mark.along(f.from_m, f.to_m)
}

/// What was noted along a finding's stretch. A photo stands once: under the finding of the shortest stretch, the others
/// name that one.
fn notes_under(
    answers: &Answers,
    photos: &[Photo],
    marks: &[Mark],
    findings: &[&FindingRow],
    f: &FindingRow,
) -> Vec<Noted> {
    let nearest = |mark: &Mark| {
        let explained = findings.iter().copied().filter(|f| explains(mark, f));
        explained.min_by(|a, b| (a.to_m - a.from_m).total_cmp(&(b.to_m - b.from_m)))
    };
    let under = |mark: &Mark| {
        let here = noted(answers, photos, mark);
        match (nearest(mark), &here.photo) {
            (Some(other), Some(_)) if !core::ptr::eq(other, f) => {
                let heading = heading(other);
                Noted { text: format!("{} (shown under \u{201c}{heading}\u{201d})", here.text), photo: None }
            }
            _ => here,
        }
    };
    marks.iter().filter(|m| explains(m, f)).map(under).collect()
}

/// A mark with its photo, if that was given.
fn noted(answers: &Answers, photos: &[Photo], mark: &Mark) -> Noted {
    let note = mark.note.and_then(|i| answers.noted.get(i));
    let shown = |note: &NoteRow| {
        let name = note.photo.as_ref()?;
        let photo = photos.iter().find(|p| p.file == *name)?;
        let hash = note.photo_sha256.as_ref().map(|h| format!("; SHA-256 of the file {h}")).unwrap_or_default();
        let alt = if note.text.trim().is_empty() { mark.text.as_str() } else { note.text.as_str() };
        Some(Shown {
            base64: BASE64.encode(photo.jpeg),
            alt: readable(alt),
            caption: readable(&format!("Photo {name}, made smaller{hash}")),
            width: photo.width_px,
            height: photo.height_px,
        })
    };
    let photo = note.and_then(shown);
    let hash = note.filter(|_| photo.is_none()).and_then(|n| n.photo_sha256.as_ref());
    let hash = hash.map(|h| format!(" (SHA-256 of the photo's file {h})")).unwrap_or_default();
    Noted { text: readable(&(mark.told() + &hash)), photo }
}

/// The bellies: first whether one is there, then how large.
pub(crate) fn pools(answers: &Answers) -> Vec<Pool> {
    let words = answers.job.report.words;
    answers.pools.iter().map(|p| pool(words, p)).collect()
}

fn pool(words: Words, p: &PoolRow) -> Pool {
    let mut rows = vec![
        ("Is it there?", sure::existence(p)),
        ("Greatest depth it can hold", sure::limits(p.depth_m, p.depth_low_m, p.depth_high_m, |m| words.small(m))),
    ];
    if let Some(v) = p.volume_m3 {
        let limits = sure::limits(v, p.volume_low_m3, p.volume_high_m3, |m3| words.volume(m3));
        rows.push(("Volume it can hold", limits));
    }
    // Without a level there is no water in the best estimate, and none of what follows.
    let best = |text: String| format!("{text} in the best estimate");
    if p.level_m.is_some() {
        rows.push(("Length of water", best(words.length(p.length_m))));
    }
    if let Some(s) = p.deepest_station_m {
        rows.push(("Deepest at", best(at(words, s))));
    }
    if let Some(s) = p.sill_station_m {
        rows.push(("Kept in by the sill at", at(words, s)));
    }
    if let Some(part) = p.depth_over_bore.filter(|r| r.is_finite()) {
        rows.push(("Depth over bore", best(format!("{:.0} %", 100.0 * part))));
    }
    if let Some(m) = p.full_bore_length_m.filter(|m| *m > 0.0) {
        rows.push(("Full of water over", best(words.length(m))));
    }
    if p.sill_is_last_point {
        let text = "The sill is the last surveyed point; the pipe may rise further beyond it, and then it holds more.";
        rows.push(("What was not seen", text.to_owned()));
    }
    if p.touches_upstream_end {
        let text = "The water reaches the upper end of the survey and may go on beyond it.";
        rows.push(("What was not seen", text.to_owned()));
    }
    let heading = readable(&format!("Belly {}: {}", p.number, sure::belly(p)));
    Pool { heading, sentence: readable(&p.sentence), rows }
}

/// Heights of the invert where somebody may ask for one: ends, reaches, what was noted as a feature, bellies.
fn heights(answers: &Answers) -> Vec<Vec<Cell>> {
    let words = answers.job.report.words;
    let (first, last) = (answers.from_m, answers.to_m);
    let falls_on = answers.job.flow == Flow::Increasing;
    let (start, end) = if falls_on { ("upper end", "lower end") } else { ("lower end", "upper end") };
    let mut named = vec![(first, start.to_owned()), (last, end.to_owned())];
    let inner = |station_m: f64| station_m > first && station_m < last;
    let reaches = answers.reaches.iter().filter(|r| inner(r.from_m));
    named.extend(reaches.map(|r| (r.from_m, format!("where {} begins", r.name))));
    for f in answers.job.features.iter().filter(|f| inner(f.station_m)) {
        let text = if f.text.is_empty() { String::new() } else { format!(": {}", f.text) };
        named.push((f.station_m, format!("{}{text}", words::feature(words, f.kind))));
    }
    for p in &answers.pools {
        named.extend(p.deepest_station_m.map(|s| (s, format!("deepest point of belly {}", p.number))));
        let sill = p.sill_station_m.filter(|s| inner(*s));
        named.extend(sill.map(|s| (s, format!("sill of belly {}", p.number))));
    }
    named.sort_by(|a, b| a.0.total_cmp(&b.0));
    let row = |(station_m, name): &(f64, String)| {
        let at = sure::path_at(&answers.path, *station_m)?;
        let anchor = at.height_sd_m == 0.0 && !answers.job.runs.is_empty();
        let ends = match (anchor, sure::is_levelled(answers)) {
            (true, true) => "levelled, taken as exact".to_owned(),
            (true, false) => "intervals count from here".to_owned(),
            (false, _) => sure::height_ends(words, &at),
        };
        let elevation = optional(at.elevation_m, |e| words::elevation(words, e));
        Some(vec![
            plain(readable(name)),
            plain(words.station(*station_m)),
            (words.small(at.height_m), ends),
            (elevation, sure::elevation_ends(words, &at).unwrap_or_default()),
        ])
    };
    named.iter().filter_map(row).take(HEIGHTS).collect()
}

pub(crate) fn optional(value: Option<f64>, say: impl Fn(f64) -> String) -> String {
    value.map_or_else(|| NOT_DETERMINED.to_owned(), say)
}

pub(crate) fn interval(words: Words, low: Option<f64>, high: Option<f64>) -> String {
    low.zip(high).map_or_else(|| NOT_DETERMINED.to_owned(), |(low, high)| words.slope_range(low, high))
}

pub(crate) fn plain(text: String) -> Cell {
    (text, String::new())
}

/// The reaches, and all of them together.
fn reaches(answers: &Answers) -> Vec<Vec<Cell>> {
    let words = answers.job.report.words;
    let one = |r: &ReachRow| reach(words, r, &words::pipe(words, r));
    answers.reaches.iter().map(one).chain([reach(words, &answers.total, "")]).collect()
}

fn reach(words: Words, r: &ReachRow, pipe: &str) -> Vec<Cell> {
    let drops =
        if r.drop_fall_m == 0.0 { String::new() } else { format!(", {} of it in drops", words.small(r.drop_fall_m)) };
    vec![
        plain(readable(&r.name)),
        plain(words.station(r.from_m)),
        plain(words.station(r.to_m)),
        plain(readable(pipe)),
        (words.length(r.length_m), sure::normal(r.length_m, r.length_sd_m, |m| words.length(m))),
        (optional(r.slope, |s| words.slope(s)), interval(words, r.slope_low, r.slope_high)),
        (words.small(r.fall_m) + &drops, sure::range(r.fall_low_m, r.fall_high_m, |m| words.small(m))),
    ]
}

fn segments(answers: &Answers) -> Vec<Vec<Cell>> {
    let words = answers.job.report.words;
    let row = |(i, s): (usize, &SegmentRow)| {
        let place = s.break_probability.map_or_else(String::new, |_| sure::break_place(words, s));
        let slope = if s.kind == "drop" {
            plain("drop".to_owned())
        } else {
            (optional(s.slope, |v| short_slope(words, v)), interval(words, s.slope_low, s.slope_high))
        };
        vec![
            plain(s.number.to_string()),
            plain(words.station(s.from_m)),
            plain(words.station(s.to_m)),
            (sure::break_chance(answers, s, i == 0), place),
            slope,
            (words.small(s.fall_m), sure::normal(s.fall_m, s.fall_sd_m, |m| words.small(m))),
            plain(s.readings.to_string()),
        ]
    };
    answers.segments.iter().enumerate().map(row).collect()
}

/// "12 readings dropped: spike", in order of first appearance.
fn edit_counts(answers: &Answers) -> Vec<String> {
    let mut counts: Vec<(&str, &str, usize)> = Vec::new();
    for e in &answers.edits {
        match counts.iter_mut().find(|c| c.0 == e.action && c.1 == e.reason) {
            Some(c) => c.2 += 1,
            None => counts.push((&e.action, &e.reason, 1)),
        }
    }
    let say = |(action, reason, n): &(&str, &str, usize)| {
        readable(&format!("{n} {} {action}: {reason}", if *n == 1 { "reading" } else { "readings" }))
    };
    counts.iter().map(say).collect()
}

fn not_surveyed(answers: &Answers) -> Vec<String> {
    let words = answers.job.report.words;
    let survey = &answers.job.survey;
    let surveyed = sure::length(words, answers.total.length_m, answers.total.length_sd_m);
    let mut lines = vec![match survey.about_length_m {
        Some(about) => format!("Surveyed: {surveyed} of about {}.", words.about(about)),
        None => format!("Surveyed: {surveyed}. How long the whole is, was not given."),
    }];
    let told = [
        ("Not surveyed", &survey.not_surveyed),
        ("The camera stopped at", &survey.stopped_at),
        ("Why it stopped", &survey.stopped_because),
    ];
    lines.extend(told.iter().filter_map(|(name, text)| Some(format!("{name}: {}", readable(text.as_ref()?)))));
    lines
}

pub(crate) fn facts(words: Words, s: &Survey) -> Vec<(&'static str, String)> {
    let about = s.about_length_m.map(|m| words.about(m));
    let offset = s.video_offset_s.map(|t| format!("{}{}", if t < 0.0 { "-" } else { "" }, words::video_time(t.abs())));
    [
        ("Ordered by", &s.ordered_by),
        ("Site", &s.site),
        ("When", &s.date_time),
        ("Operator", &s.operator),
        ("Licence", &s.licence),
        ("Company", &s.company),
        ("Permit", &s.permit),
        ("Weather of the last 48 hours", &s.weather_48h),
        ("Water run", &s.water_run),
        ("Water in the pipe", &s.water),
        ("Cleaned before", &s.cleaned_before),
        ("Complaint", &s.complaint),
        ("Entry", &s.entry),
        ("Height of the riser", &s.riser_height),
        ("Stopped at", &s.stopped_at),
        ("Stopped because", &s.stopped_because),
        ("Not surveyed", &s.not_surveyed),
        ("About how long the whole is", &about),
        ("Camera head", &s.head),
        ("Skid", &s.skid),
        ("Head last checked", &s.last_checked),
        ("Recording", &s.video),
        ("Hash of the recording", &s.video_hash),
        ("The recording shows at time 0 of the log", &offset),
        ("Locator", &s.locator),
        ("Landmarks", &s.landmarks),
        ("Signed by", &s.signed_by),
    ]
    .into_iter()
    .filter_map(|(name, text)| Some((name, readable(text.as_ref()?))))
    .collect()
}

fn rules(answers: &Answers) -> Vec<Vec<String>> {
    let row = |r: &fallwise::rules::Rule| {
        let seen = if r.confirmed {
            r.source_mark.clone()
        } else {
            format!("{}; not seen in the primary document", r.source_mark)
        };
        let limits = [
            r.min_slope.as_ref().map(|l| format!("slope at least {}", l.text)),
            r.also_printed.as_ref().map(|l| format!("printed beside it: {}, not tested", l.text)),
            r.max_slope.as_ref().map(|l| format!("slope at most {}", l.text)),
            r.max_pool.as_ref().map(|l| format!("standing water at most {}", l.text)),
        ];
        let limits: Vec<String> = limits.into_iter().flatten().collect();
        let remark = if r.remark.is_empty() { String::new() } else { format!(" ({})", r.remark) };
        [
            r.id.clone(),
            format!("{} {}, {}", r.document, r.edition, r.clause),
            format!("{}{remark}", r.text),
            limits.join("; "),
            words::force(r.force.word()).to_owned(),
            seen,
        ]
        .iter()
        .map(|t| readable(t))
        .collect()
    };
    answers.rules.iter().map(row).collect()
}
