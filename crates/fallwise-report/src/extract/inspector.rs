//! One page for whoever inspects the drain: permit, document and edition, pipe, fall of each reach, a sketch with distances.

use askama::Template;
use fallwise::{
    answers::{FindingRow, ReachRow},
    model::{Reach, Work},
    units::Part,
};

use crate::{
    frame::{self, Frame},
    known, plan,
    summary::in_order,
    tell::{Teller, say},
    text::readable,
    words::{self, HONESTY},
};

/// What the template lays out. Texts only.
#[derive(Template)]
#[template(path = "inspector.html")]
pub(crate) struct Inspector {
    frame: Frame,
    reader: String,
    facts: Vec<(String, String)>,
    reaches_heading: String,
    columns: Vec<String>,
    reaches: Vec<Row>,
    honesty: String,
    findings_heading: String,
    findings: Vec<String>,
    sketch_name: String,
    sketch: String,
    limits_heading: String,
    limits: Vec<String>,
}

/// A row of the table of reaches.
struct Row {
    /// Class of the row, by its finding.
    kind: &'static str,
    /// Figures, with what stands below each.
    cells: Vec<(String, String)>,
}

impl Inspector {
    pub(crate) fn new(t: &Teller<'_>) -> Self {
        let columns = ["Reach", "From", "To", "Pipe", "True length", "Fall", "Slope", "Asked for", "Finding"];
        // The reaches have their own in the table.
        let others = in_order(&t.answers.findings).filter(|f| f.subject == "lateral" || f.reach.is_none());
        Self {
            frame: Frame::short(t, frame::title(t), "extract"),
            reader: t.word("For the inspector, on one page"),
            facts: facts(t),
            reaches_heading: t.word("Fall of each reach"),
            columns: columns.iter().map(|name| t.word(name)).collect(),
            reaches: reaches(t),
            honesty: t.word(HONESTY),
            findings_heading: t.word("Findings beside the slopes of the reaches"),
            findings: others.map(|f| readable(&t.sentence(&f.sentence))).collect(),
            sketch_name: t.word("Sketch with distances"),
            sketch: plan::sketch(t),
            limits_heading: t.word("What this rests on"),
            limits: limits(t),
        }
    }
}

/// What an inspector files it under. What was not given is said, where a permit would ask for it.
fn facts(t: &Teller<'_>) -> Vec<(String, String)> {
    let survey = &t.answers.job.survey;
    let missing = || t.word("not given");
    let given = |text: &Option<String>| text.as_deref().map_or_else(missing, readable);
    let mut facts = vec![
        (t.word("Permit"), given(&survey.permit)),
        (t.word("Site"), given(&survey.site)),
        (t.word("When"), given(&survey.date_time)),
        (t.word("Operator, licence"), format!("{}, {}", given(&survey.operator), given(&survey.licence))),
        (t.word("Company"), given(&survey.company)),
        (t.word("Work"), match t.answers.job.rules.work {
            Work::New => t.word("new"),
            Work::Existing => t.word("existing"),
        }),
    ];
    facts.push((t.word("Rule"), document(t)));
    facts.extend(known::head(t).map(|text| (t.word("Camera head"), readable(&text))));
    facts
}

/// Every document that a finding rests on, with edition and clause, and whether its value was seen there.
fn document(t: &Teller<'_>) -> String {
    let mut cited: Vec<String> = Vec::new();
    for f in t.answers.findings.iter().filter(|f| !f.document.is_empty() && f.reach.is_some()) {
        let text = if f.confirmed {
            format!("{} {}, {}", f.document, f.edition, f.clause)
        } else {
            say!(
                t,
                "{document}, not seen in the primary document",
                document = format!("{} {}, {}", f.document, f.edition, f.clause)
            )
        };
        if !cited.contains(&text) {
            cited.push(text);
        }
    }
    if cited.is_empty() { t.word("none was asked, or none covers it") } else { readable(&cited.join("; ")) }
}

fn reaches(t: &Teller<'_>) -> Vec<Row> {
    let answers = t.answers;
    if answers.reaches.is_empty() {
        return vec![row(t, &answers.total, None, None)];
    }
    let of_job = |r: &ReachRow| {
        let middle_m = 0.5 * (r.from_m + r.to_m);
        answers.job.reaches.iter().enumerate().find(|(_, j)| j.from_m <= middle_m && middle_m <= j.to_m)
    };
    let told = |r: &ReachRow| {
        let job = of_job(r);
        let finding = job.and_then(|(i, _)| answers.findings.iter().find(|f| f.reach == Some(i + 1)));
        row(t, r, job.map(|(_, j)| j), finding)
    };
    answers.reaches.iter().map(told).collect()
}

fn row(t: &Teller<'_>, r: &ReachRow, reach: Option<&Reach>, finding: Option<&FindingRow>) -> Row {
    let v = t.voice;
    let pipe = reach.map(|j| {
        let size = j.pipe.nominal.as_ref().map(ToString::to_string).unwrap_or_default();
        let material = if j.pipe.material.is_empty() { t.word("material not given") } else { j.pipe.material.clone() };
        let size = if size.is_empty() { t.word("size not given") } else { size };
        (readable(&material), readable(&size))
    });
    let slope = r.slope_low.zip(r.slope_high);
    let small = |m: f64| v.small(m);
    let asked = finding.filter(|f| !f.requirement.is_empty());
    let verdict = finding.map_or_else(|| t.word("none"), |f| t.word(&f.finding));
    let reason = finding.and_then(|f| f.reason.as_deref()).map(|reason| t.word(words::reason(reason)));
    Row {
        kind: match finding.map(|f| f.finding.as_str()) {
            Some("fails") => "fails",
            Some("undecided") => "undecided",
            _ => "",
        },
        cells: vec![
            (readable(&t.sentence(&r.name)), String::new()),
            (v.station(r.from_m), String::new()),
            (v.station(r.to_m), String::new()),
            pipe.unwrap_or_else(|| (t.word("pipe not given"), String::new())),
            (v.length(r.length_m), say!(t, "± {sd}, one standard deviation", sd = Part::Small(r.length_sd_m))),
            (small(r.fall_m), v.range(&small(r.fall_low_m), &small(r.fall_high_m))),
            (
                r.slope.map_or_else(|| v.not_determined(), |s| v.short_slope(s)),
                slope.map_or_else(String::new, |(low, high)| v.slope_range(low, high)),
            ),
            (
                asked.map_or_else(|| t.word("nothing"), |f| readable(&t.sentence(&f.requirement))),
                asked.map_or_else(String::new, |f| readable(&f.clause)),
            ),
            (verdict, reason.unwrap_or_default()),
        ],
    }
}

/// How much was seen, what does not fit, what is not seen in this page.
fn limits(t: &Teller<'_>) -> Vec<String> {
    let answers = t.answers;
    let surveyed = Part::Length(answers.total.length_m);
    let mut said = vec![match answers.job.survey.about_length_m {
        Some(about) => say!(t, "Surveyed: {length} of about {about}.", length = surveyed, about = Part::About(about)),
        None => say!(t, "Surveyed: {length}. How long the whole is, was not given.", length = surveyed),
    }];
    said.extend(answers.adjustment.as_ref().map(|a| t.sentence(&a.sentence)));
    said.push(match answers.edits.len() {
        0 => say!(t, "No reading was dropped or changed."),
        n => say!(t, "{n} readings were dropped, combined or flagged; each is listed in report.html with its reason.", n = n),
    });
    said.push(say!(
        t,
        "Distances are along the pipe as the cable counter showed them; true lengths are {percent} % of that.",
        percent = Part::Number(100.0 * scale(t), 1)
    ));
    said.iter().map(|text| readable(text)).collect()
}

/// True length over what the counter showed.
fn scale(t: &Teller<'_>) -> f64 {
    let shown_m = t.answers.to_m - t.answers.from_m;
    if shown_m > 0.0 { t.answers.total.length_m / shown_m } else { f64::NAN }
}
