//! The page: the answers as texts in the order of the template, which only lays them out.

mod carrying;
mod tables;

use askama::Template;
use base64::{Engine, prelude::BASE64_STANDARD as BASE64};
use fallwise::{
    adjust::ties::{DETECTABLE, SUSPECT},
    answers::{AdjustmentRow, DigRow, FindingRow, NextRow, NoteRow, PoolRow},
    model::{Paper, ReportChoice, Survey},
    units::{Part, Voice, Words},
};

use crate::{
    appendix::Appendix,
    brief,
    frame::Frame,
    known, plan,
    profile::{Mark, marks, picture},
    summary::{counts, in_order},
    sure,
    table::{Cell, Table, pairs},
    tell::{Teller, say},
    text::readable,
    words::{self, at, percent, stretch},
};

/// Columns of a tie's name where it does not stand in the table.
const NAME: usize = 80;
/// Why a page could not be made.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ReportError {
    /// The template could not be filled.
    #[error("the page could not be filled: {0}")]
    Page(#[from] askama::Error),
}

/// The whole report as one HTML page, with the photos of the notes.
pub(crate) fn html(t: &Teller, photos: &[Photo]) -> Result<String, ReportError> {
    Ok(Page::new(t, photos).render()?)
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

/// The fixed texts that stand in a template: `{{ t.word("Findings") }}`.
#[derive(Clone, Copy)]
pub(crate) struct Labels<'a> {
    voice: Voice<'a>,
    paper: Option<Paper>,
}

impl<'a> Labels<'a> {
    pub(crate) fn new(voice: Voice<'a>, report: &ReportChoice) -> Self {
        Self { voice, paper: report.paper }
    }

    pub(crate) fn word(&self, english: &'static str) -> String {
        readable(self.voice.text(english))
    }

    /// The code of the language.
    pub(crate) fn code(&self) -> &'a str {
        if self.voice.language.is_english() { "en" } else { &self.voice.language.code }
    }

    /// The size of the paper, as style sheets name it.
    pub(crate) fn paper(&self) -> &'static str {
        match (self.paper, self.voice.words) {
            (Some(Paper::Letter), _) | (None, Words::Us) => "letter",
            (Some(Paper::A4), _) | (None, Words::Uk) => "A4",
        }
    }
}

/// What the template lays out. Texts only.
#[derive(Template)]
#[template(path = "report.html")]
struct Page<'a> {
    t: Labels<'a>,
    frame: Frame,
    /// The whole in sixty words.
    brief: Vec<(String, String)>,
    headline: String,
    rest: String,
    /// What does not fit, so that nobody misses it.
    alarm: Option<String>,
    next: Option<Next>,
    picture: String,
    plan: Option<String>,
    counts: String,
    order: String,
    findings: Vec<Finding>,
    other_notes: Vec<Noted>,
    /// Sheets of planned digs: file, name, what it says first.
    digs: Vec<(String, String, String)>,
    others: Vec<Other>,
    carrying: Option<carrying::Carrying>,
    beside: Option<Beside>,
    as_built: Table,
    as_built_how: String,
    /// What came of a plan of re-laying, where the job asks for one.
    relay: Vec<String>,
    pools: Vec<Pool>,
    heights: Table,
    heights_are: String,
    reaches: Table,
    /// Between noted joints.
    joints: Table,
    segments: Table,
    edit_counts: Vec<String>,
    edits: Table,
    edits_left_out: Option<String>,
    warnings: Vec<String>,
    notes: Vec<String>,
    not_surveyed: Vec<String>,
    facts: Vec<(String, String)>,
    rules: Table,
    head: String,
    /// Whether there are ties, so that errors are known from them too.
    tied: bool,
    parameters: Table,
    allowed_for: Vec<String>,
    not_covered: Vec<String>,
    honesty: String,
    appendix: Appendix,
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
    /// Class of the sentence.
    kind: &'static str,
    /// What is suspect, with its sentence.
    suspects: Vec<(String, String)>,
    ties: Table,
    /// How to read them.
    ties_are: String,
    without: Table,
    not_determined: Vec<String>,
}

pub(crate) struct Finding {
    pub(crate) heading: String,
    /// Class of the mark beside it.
    pub(crate) kind: &'static str,
    pub(crate) sentence: String,
    /// How to read it, where it is undecided.
    pub(crate) meaning: String,
    pub(crate) rows: Vec<(String, String)>,
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
    pub(crate) rows: Vec<(String, String)>,
}

/// The sheet of a dig: its file, what it is called, what it says first.
fn dig_told(t: &Teller<'_>, dig: &DigRow) -> (String, String, String) {
    let name = match dig.name.trim() {
        "" => say!(t, "Dig {n} at {place}", n = dig.number, place = Part::At(dig.station_m)),
        name => say!(t, "Dig {n} at {place}, {name}", n = dig.number, place = Part::At(dig.station_m), name = name),
    };
    (format!("dig-{}.html", dig.number), readable(&name), told(t, &dig.sentence))
}

impl<'a> Page<'a> {
    fn new(t: &Teller<'a>, photos: &[Photo]) -> Self {
        let answers = t.answers;
        let survey = &answers.job.survey;
        let (headline, rest) = split(t, &answers.sentence);
        let marks = marks::collect(t);
        let water = known::water(t);
        let in_order: Vec<&FindingRow> = in_order(answers.findings.iter().chain(&water)).collect();
        let first_undecided = in_order.iter().position(|f| f.finding == "undecided");
        let findings = in_order.iter().enumerate().map(|(i, f)| {
            let notes = notes_under(t, photos, &marks, &in_order, f);
            finding(t, f, notes, first_undecided == Some(i))
        });
        let untold = marks.iter().filter(|m| !in_order.iter().any(|f| explains(m, f)));
        let alarm = answers.adjustment.as_ref().filter(|_| known::is_wrong(answers));
        let edits_left_out = answers.edits.len().saturating_sub(tables::EDITS);
        Self {
            t: Labels::new(t.voice, &answers.job.report),
            frame: Frame::whole(t),
            brief: pairs(brief::rows(t)),
            headline,
            rest,
            alarm: alarm.map(|a| told(t, &a.sentence)),
            digs: answers.digs.iter().map(|dig| dig_told(t, dig)).collect(),
            next: answers.next.as_ref().map(|n| next(t, n)),
            picture: picture(t, false, "fw"),
            plan: plan::plan(t, false),
            counts: readable(&say!(t, "Findings: {counts}.", counts = counts(t))),
            order: readable(&order(t, !water.is_empty())),
            findings: findings.collect(),
            other_notes: untold.map(|m| noted(t, photos, m)).collect(),
            others: others(t),
            carrying: carrying::of(t),
            beside: answers.adjustment.as_ref().map(|a| beside(t, a)),
            as_built: tables::as_built(t),
            as_built_how: readable(&if answers.path.iter().any(|r| r.elevation_m.is_some()) {
                t.word("Both are elevations.")
            } else {
                t.word(
                    "No elevation was measured, so that only the shapes can be compared: what was measured is put on the as-built \
                     inverts as a whole.",
                )
            }),
            relay: answers.relay.as_ref().map_or_else(Vec::new, |relay| all_told(t, &relay.sentences)),
            pools: pools(t),
            heights: tables::heights(t),
            heights_are: readable(&sure::heights_are(t)),
            reaches: tables::reaches(t),
            joints: tables::joints(t),
            segments: tables::segments(t),
            edit_counts: all_readable(&edit_counts(t)),
            edits: tables::edits(t),
            edits_left_out: (edits_left_out > 0)
                .then(|| readable(&say!(t, "{n} more are in result.json.", n = edits_left_out))),
            warnings: all_told(t, &answers.warnings),
            notes: all_told(t, &answers.notes),
            not_surveyed: all_readable(&not_surveyed(t)),
            facts: facts(t, survey),
            rules: tables::rules(t),
            head: readable(&known::head(t).unwrap_or_default()),
            tied: sure::has_ties(answers),
            parameters: tables::parameters(t),
            allowed_for: all_readable(&sure::allowed_for(t)),
            not_covered: all_told(t, &answers.not_covered),
            honesty: readable(&words::honesty(t)),
            appendix: Appendix::new(t),
        }
    }
}

/// In which order findings stand.
fn order(t: &Teller, water: bool) -> String {
    if water {
        t.word(
            "The lateral's own, of all parts together, comes first, then what fails, water that does not go with the shape of the pipe, what is undecided, \
             what meets.",
        )
    } else {
        t.word("The lateral's own, of all parts together, comes first, then what fails, what is undecided, what meets.")
    }
}

pub(crate) fn next(t: &Teller, n: &NextRow) -> Next {
    Next {
        sentence: told(t, &n.sentence),
        hazard: told(t, &n.hazard),
        gain: readable(&sure::gain(t.voice, n.undecided_now, n.expected_decided)),
    }
}

/// Measurements that would help less, best first.
fn others(t: &Teller) -> Vec<Other> {
    let heading = |n: &NextRow| t.part(&Part::Capital(Box::new(known::measurement(t, n).into())));
    let other = |n: &NextRow| Other { heading: readable(&heading(n)), next: next(t, n) };
    t.answers.next_others.iter().map(other).collect()
}

fn beside(t: &Teller, adjustment: &AdjustmentRow) -> Beside {
    let suspects = known::suspects(t.answers);
    let suspect = |i: &usize| {
        let row = t.answers.ties.get(*i)?;
        let name = format!("{}, {}", known::number(row), known::title(t, row, NAME));
        Some((readable(&say!(t, "Suspect: tie {name}.", name = name)), told(t, &row.sentence)))
    };
    Beside {
        sentence: told(t, &adjustment.sentence),
        kind: if known::is_wrong(t.answers) { "wrong" } else { "" },
        suspects: suspects.iter().filter_map(suspect).collect(),
        ties: tables::ties(t, &suspects),
        ties_are: readable(&say!(
            t,
            "Each tie is held against everything else: runs, other ties, also wrong ones, and what was known of the instrument. Large or \
             suspect is what is off by more than happens by chance once in a thousand ({suspect} standard deviations, two-sided). The last \
             column is the error that would be found so with a probability of 80 % ({detectable} standard deviations).",
            suspect = Part::Number(SUSPECT, 2),
            detectable = Part::Number(DETECTABLE, 2)
        )),
        without: Table::new(
            &t.word("With and without what may be wrong"),
            [t.word("figure"), t.word("with all ties"), t.word("without it")],
            adjustment.without.iter().map(|row| known::without(t, row).to_vec()),
        ),
        not_determined: all_told(t, &adjustment.not_determined),
    }
}

/// A sentence that came with the answers, as it is printed.
fn told(t: &Teller, sentence: &str) -> String {
    readable(&t.sentence(sentence))
}

fn all_told(t: &Teller, sentences: &[String]) -> Vec<String> {
    sentences.iter().map(|s| told(t, s)).collect()
}

fn all_readable(texts: &[String]) -> Vec<String> {
    texts.iter().map(|t| readable(t)).collect()
}

fn readable_cell((figure, below): &Cell) -> Cell {
    (readable(figure), readable(below))
}

/// The first sentence, and the others.
pub(crate) fn split(t: &Teller, sentence: &str) -> (String, String) {
    let (first, rest) = t.first_and_rest(sentence);
    (readable(&first), readable(&rest))
}

/// `first`: whether it is the first of those that are undecided, beside which stands what that means.
pub(crate) fn finding(t: &Teller, f: &FindingRow, notes: Vec<Noted>, first: bool) -> Finding {
    let mut rows = Vec::new();
    let figure = |value: f64| match f.quantity.as_str() {
        "slope" => Part::Slope(value),
        "depth_m" => Part::Small(value),
        _ => Part::Length(value),
    };
    if let Some(value) = f.value {
        let slope = f.quantity == "slope";
        let label = if slope { t.word("Mean slope over the stretch") } else { t.word("In the best estimate") };
        rows.push((label, t.part(&figure(value))));
    }
    match (f.value_low, f.value_high) {
        (Some(low), Some(high)) if f.quantity == "slope" => {
            rows.push((t.word("95 % interval"), t.slope_range(low, high)));
        }
        (Some(low), Some(high)) => rows.push((t.word("95 % interval"), sure::range(t.voice, low, high, figure))),
        (None, Some(high)) => rows.push((t.word("At most"), t.part(&figure(high)))),
        (Some(low), None) => rows.push((t.word("At least"), t.part(&figure(low)))),
        (None, None) if f.value.is_some() => {
            rows.push((t.word("95 % interval"), t.word("none was worked out for this figure")));
        }
        (None, None) => {}
    }
    let asked = |text: &str| !text.is_empty();
    if asked(&f.requirement) {
        rows.push((t.word("Asked for"), t.sentence(&f.requirement)));
    }
    if asked(&f.document) {
        let document = format!("{} {}, {}", f.document, f.edition, f.clause);
        let seen = if f.confirmed {
            document
        } else {
            say!(t, "{document} - its value was not checked in the document itself", document = document)
        };
        rows.push((t.word("Document"), seen));
        rows.push((t.word("What stands behind it"), words::force(t, &f.force)));
    }
    if let Some(p) = f.probability {
        rows.push((t.word("Probability that it is met"), t.probability(p)));
    }
    if let Some(reason) = &f.reason {
        rows.push((t.word("Why undecided"), words::reason(t, reason)));
    }
    let undecided = f.finding == "undecided";
    let would_decide = sure::would_decide(t, f);
    if undecided && !first {
        rows.push((t.word("What would decide it"), would_decide.clone()));
    }
    let meaning = if first { format!("{} {would_decide}", sure::undecided(t.voice)) } else { String::new() };
    let place = if f.from_m == f.to_m { t.part(&at(t.voice, f.from_m)) } else { stretch(t.voice, f.from_m, f.to_m) };
    rows.push((t.word("Where"), place));
    let kind = match f.finding.as_str() {
        _ if f.subject == "water" && f.quantity.is_empty() => "fails",
        "fails" => "fails",
        "meets" => "meets",
        _ => "undecided",
    };
    let rows = rows.iter().map(readable_cell).collect();
    let (heading, sentence, meaning) = (readable(&heading(t, f)), told(t, &f.sentence), readable(&meaning));
    Finding { heading, kind, sentence, meaning, rows, notes }
}

fn heading(t: &Teller, f: &FindingRow) -> String {
    format!("{}: {}", words::subject(t, &f.subject), words::finding(t, &f.finding))
}

/// Notes explain a part, not the whole: under the lateral's own finding there would be all of them.
fn explains(mark: &Mark, f: &FindingRow) -> bool {
    f.subject != "lateral" && mark.along(f.from_m, f.to_m)
}

/// What was noted along a finding's stretch. A photo stands once: under the finding of the shortest stretch, the others
/// name that one.
fn notes_under(t: &Teller, photos: &[Photo], marks: &[Mark], findings: &[&FindingRow], f: &FindingRow) -> Vec<Noted> {
    let nearest = |mark: &Mark| {
        let explained = findings.iter().copied().filter(|f| explains(mark, f));
        explained.min_by(|a, b| (a.to_m - a.from_m).total_cmp(&(b.to_m - b.from_m)))
    };
    let under = |mark: &Mark| {
        let here = noted(t, photos, mark);
        match (nearest(mark), &here.photo) {
            (Some(other), Some(_)) if !core::ptr::eq(other, f) => {
                // The note is readable already.
                let shown = say!(t, "(shown under \u{201c}{heading}\u{201d})", heading = heading(t, other));
                Noted { text: format!("{} {}", here.text, readable(&shown)), photo: None }
            }
            _ => here,
        }
    };
    marks.iter().filter(|m| explains(m, f)).map(under).collect()
}

/// A mark with its photo, if that was given.
fn noted(t: &Teller, photos: &[Photo], mark: &Mark) -> Noted {
    let note = mark.note.and_then(|i| t.answers.noted.get(i));
    let shown = |note: &NoteRow| {
        let name = note.photo.as_ref()?;
        let photo = photos.iter().find(|p| p.file == *name)?;
        let alt = if note.text.trim().is_empty() { mark.text.as_str() } else { note.text.as_str() };
        let caption = match &note.photo_sha256 {
            Some(hash) => {
                say!(t, "Photo {name}, made smaller; SHA-256 of the file {hash}", name = name, hash = hash)
            }
            None => say!(t, "Photo {name}, made smaller", name = name),
        };
        Some(Shown {
            base64: BASE64.encode(photo.jpeg),
            alt: readable(alt),
            caption: readable(&caption),
            width: photo.width_px,
            height: photo.height_px,
        })
    };
    let photo = note.and_then(shown);
    let hash = note.filter(|_| photo.is_none()).and_then(|n| n.photo_sha256.as_ref());
    let hash = hash.map(|h| say!(t, " (SHA-256 of the photo's file {hash})", hash = h)).unwrap_or_default();
    Noted { text: readable(&(mark.told() + &hash)), photo }
}

/// The bellies: first whether one is there, then how large.
pub(crate) fn pools(t: &Teller) -> Vec<Pool> {
    t.answers.pools.iter().map(|p| pool(t, p)).collect()
}

fn pool(t: &Teller, p: &PoolRow) -> Pool {
    let depth = sure::limits(t.voice, p.depth_m, p.depth_low_m, p.depth_high_m, Part::Small);
    let mut rows =
        vec![(t.word("Is it there?"), sure::existence(t.voice, p)), (t.word("Greatest depth it can hold"), depth)];
    if let Some(v) = p.volume_m3 {
        let limits = sure::limits(t.voice, v, p.volume_low_m3, p.volume_high_m3, Part::Volume);
        rows.push((t.word("Volume it can hold"), limits));
    }
    // Without a level there is no water in the best estimate, and none of what follows.
    let best = |figure: Part| say!(t, "{figure} in the best estimate", figure = figure);
    if p.level_m.is_some() {
        rows.push((t.word("Length of water"), best(Part::Length(p.length_m))));
    }
    if let Some(s) = p.deepest_station_m {
        rows.push((t.word("Deepest at"), best(at(t.voice, s))));
    }
    if let Some(s) = p.sill_station_m {
        rows.push((t.word("Kept in by the sill at"), t.part(&at(t.voice, s))));
    }
    if let Some(part) = p.depth_over_bore.filter(|r| r.is_finite()) {
        rows.push((t.word("Depth over bore"), best(percent(t.voice, part, 0).into())));
    }
    if let Some(m) = p.full_bore_length_m.filter(|m| *m > 0.0) {
        rows.push((t.word("Full of water over"), best(Part::Length(m))));
    }
    if p.sill_is_last_point {
        let text =
            t.word("The sill is the last surveyed point; the pipe may rise further beyond it, and then it holds more.");
        rows.push((t.word("What was not seen"), text));
    }
    if p.touches_upstream_end {
        let text = t.word("The water reaches the upper end of the survey and may go on beyond it.");
        rows.push((t.word("What was not seen"), text));
    }
    let rows = rows.iter().map(readable_cell).collect();
    Pool { heading: readable(&sure::belly(t, p)), sentence: told(t, &p.sentence), rows }
}

/// "12 readings dropped: spike", in order of first appearance.
fn edit_counts(t: &Teller) -> Vec<String> {
    let mut counts: Vec<(&str, &str, usize)> = Vec::new();
    for e in &t.answers.edits {
        match counts.iter_mut().find(|c| c.0 == e.action && c.1 == e.reason) {
            Some(c) => c.2 += 1,
            None => counts.push((&e.action, &e.reason, 1)),
        }
    }
    let say = |(action, reason, n): &(&str, &str, usize)| {
        let (action, reason) = (t.sentence(action), t.sentence(reason));
        if *n == 1 {
            say!(t, "1 reading {action}: {reason}", action = action, reason = reason)
        } else {
            say!(t, "{n} readings {action}: {reason}", n = *n, action = action, reason = reason)
        }
    };
    counts.iter().map(say).collect()
}

fn not_surveyed(t: &Teller) -> Vec<String> {
    let survey = &t.answers.job.survey;
    let surveyed = sure::length(t.voice, t.answers.total.length_m, t.answers.total.length_sd_m);
    let mut lines = vec![match survey.about_length_m {
        Some(about) => {
            say!(t, "Surveyed: {length} of about {about}.", length = surveyed, about = Part::About(about))
        }
        None => say!(t, "Surveyed: {length}. How long the whole is, was not given.", length = surveyed),
    }];
    let given = [&survey.not_surveyed, &survey.stopped_at, &survey.stopped_because];
    let [not_surveyed, stopped_at, because] = given.map(Option::as_ref);
    lines.extend(not_surveyed.map(|text| say!(t, "Not surveyed: {text}", text = text)));
    lines.extend(stopped_at.map(|text| say!(t, "The camera stopped at: {text}", text = text)));
    lines.extend(because.map(|text| say!(t, "Why it stopped: {text}", text = text)));
    lines
}

pub(crate) fn facts(t: &Teller, s: &Survey) -> Vec<(String, String)> {
    let about = s.about_length_m.map(|m| t.about(m));
    let moment = |s: f64| format!("{}{}", if s < 0.0 { "-" } else { "" }, words::video_time(t.voice, s.abs()));
    let offset = s.video_offset_s.map(moment);
    [
        (t.word("Ordered by"), &s.ordered_by),
        (t.word("Site"), &s.site),
        (t.word("When"), &s.date_time),
        (t.word("Operator"), &s.operator),
        (words::licence(t.voice), &s.licence),
        (t.word("Company"), &s.company),
        (t.word("Permit"), &s.permit),
        (t.word("Weather of the last 48 hours"), &s.weather_48h),
        (t.word("Water run"), &s.water_run),
        (t.word("Water in the pipe"), &s.water),
        (t.word("Cleaned before"), &s.cleaned_before),
        (t.word("Complaint"), &s.complaint),
        (t.word("Entry"), &s.entry),
        (t.word("Height of the riser"), &s.riser_height),
        (t.word("Stopped at"), &s.stopped_at),
        (t.word("Stopped because"), &s.stopped_because),
        (t.word("Not surveyed"), &s.not_surveyed),
        (t.word("About how long the whole is"), &about),
        (t.word("Camera head"), &s.head),
        (t.word("Skid"), &s.skid),
        (t.word("Head last checked"), &s.last_checked),
        (t.word("Recording"), &s.video),
        (t.word("Hash of the recording"), &s.video_hash),
        (t.word("The recording shows at time 0 of the log"), &offset),
        (t.word("Locator"), &s.locator),
        (t.word("Landmarks"), &s.landmarks),
        (t.word("Signed by"), &s.signed_by),
    ]
    .into_iter()
    .filter_map(|(name, text)| Some((readable(&name), readable(text.as_ref()?))))
    .collect()
}
