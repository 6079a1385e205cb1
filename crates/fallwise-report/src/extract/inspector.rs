//! One page for whoever inspects the drain: permit, document and edition, pipe, fall of each reach, a sketch with distances.

use askama::Template;
use fallwise::{
    Answers,
    answers::{FindingRow, ReachRow, TieRow},
    model::{FeatureKind, Reach, Work},
    units::{Part, Words},
};

use crate::{
    brief,
    frame::{COLUMNS, Frame},
    known,
    page::Labels,
    plan,
    summary::in_order,
    sure,
    table::{Row, Table, lines, pairs, plain},
    tell::{Teller, say},
    text::{readable, shorten},
    verdict, words,
};

/// Stretches without a reading, and ties, that a sheet has room for; report.html has them all.
const UNSEEN: usize = 4;
const TIES: usize = 6;

/// What the template lays out. Texts only.
#[derive(Template)]
#[template(path = "inspector.html")]
pub(crate) struct Inspector<'a> {
    t: Labels<'a>,
    frame: Frame,
    facts: Vec<(String, String)>,
    reaches: Table,
    ties: Table,
    honesty: String,
    findings: Vec<String>,
    sketch: String,
    limits: Vec<String>,
}

impl<'a> Inspector<'a> {
    pub(crate) fn new(t: &Teller<'a>) -> Self {
        // The reaches have their own in the table; the lateral's own is made of all.
        let others = in_order(&t.answers.findings).filter(|f| f.reach.is_none() && f.subject != "lateral");
        let bellies = t.answers.pools.iter().map(|p| t.sentence(&p.sentence));
        let none = t.answers.pools.is_empty().then(|| brief::without_a_belly(t));
        Self {
            t: Labels::new(t.voice, &t.answers.job.report),
            frame: Frame::extract(t),
            facts: pairs(facts(t)),
            reaches: reaches(t),
            ties: ties(t),
            honesty: readable(&words::honesty(t)),
            findings: lines(
                suspects(t)
                    .into_iter()
                    .chain(others.map(|f| t.sentence(&f.sentence)))
                    .chain(known::holds_without(t))
                    .chain(bellies)
                    .chain(none),
            ),
            sketch: plan::sketch(t, false),
            limits: lines(limits(t)),
        }
    }
}

/// What an inspector files it under. What was not given is said, where a permit would ask for it.
fn facts(t: &Teller<'_>) -> Vec<(String, String)> {
    let survey = &t.answers.job.survey;
    let given =
        |text: &Option<String>| text.as_ref().map_or_else(|| t.word("not given"), |text| shorten(text, COLUMNS));
    let work = match t.answers.job.rules.work {
        Work::New => t.word("new"),
        Work::Existing => t.word("existing"),
    };
    let mut facts = vec![
        (t.word("Permit"), given(&survey.permit)),
        (t.word("Site"), given(&survey.site)),
        (t.word("When"), survey.date_time.as_ref().map_or_else(|| given(&None), |date| words::date(t.voice, date))),
        (t.word("Operator"), given(&survey.operator)),
        (words::licence(t.voice), given(&survey.licence)),
        (t.word("Company"), given(&survey.company)),
        (t.word("Work"), work),
        (t.word("Rule"), documents(t)),
    ];
    facts.extend(head(t).map(|text| (t.word("Camera head"), text)));
    facts
}

/// Whether the head was checked, and its zero error.
fn head(t: &Teller<'_>) -> Option<String> {
    let zero = t.answers.parameters.iter().find(|p| p.name == fallwise::adjust::ZERO)?;
    let [_, before, after, _] = sure::parameter(t, zero);
    let checked = sure::head_checks(t.answers) > 0 || t.answers.job.instrument.zero_checked;
    Some(if checked {
        say!(t, "checked; its zero error, which is taken off every figure: {figure}", figure = after)
    } else {
        say!(t, "not checked; its zero error is taken as {range}", range = before)
    })
}

/// What does not fit, before all else, and what the main figures are without it.
fn suspects(t: &Teller<'_>) -> Vec<String> {
    let Some(adjustment) = t.answers.adjustment.as_ref().filter(|_| known::is_wrong(t.answers)) else {
        return Vec::new();
    };
    let mut said = vec![t.sentence(&adjustment.sentence)];
    let slopes = adjustment.without.iter().filter(|row| row.quantity == "slope");
    said.extend(slopes.take(3).map(|row| {
        let [(name, left_out), (with, range), (without, other)] = known::without(t, row);
        say!(
            t,
            "{figure}: {with} ({range}) with all that was measured, {without} ({other}) {left_out}.",
            figure = Part::Capital(Box::new(name.into())),
            with = with,
            range = range,
            without = without,
            other = other,
            left_out = left_out
        )
    }));
    said
}

/// Every document that the slope of a reach was held against, with edition and clause, and whether its value was seen there.
fn documents(t: &Teller<'_>) -> String {
    let mut cited: Vec<String> = Vec::new();
    for f in t.answers.findings.iter().filter(|f| !f.document.is_empty() && f.reach.is_some()) {
        let document = format!("{} {}, {}", f.document, f.edition, f.clause);
        let rule = t.answers.rules.iter().find(|r| r.document == f.document && r.clause == f.clause && !r.confirmed);
        let text = match rule {
            Some(rule) => say!(
                t,
                "{document}; its value was NOT checked in the document itself: {source}",
                document = document,
                source = &rule.source_mark
            ),
            None => document,
        };
        if !cited.contains(&text) {
            cited.push(text);
        }
    }
    if cited.is_empty() { t.word("none was asked, or none covers it") } else { cited.join("; ") }
}

fn reaches(t: &Teller<'_>) -> Table {
    let answers = t.answers;
    let columns = [
        t.word("Reach"),
        t.word("From (counter)"),
        t.word("To (counter)"),
        t.word("Pipe"),
        t.word("True length"),
        t.word("Fall"),
        t.word("Mean slope"),
        t.word("Figure compared with"),
        t.word("Mean slope against it"),
    ];
    let told = |r: &ReachRow| {
        let middle_m = 0.5 * (r.from_m + r.to_m);
        let job = answers.job.reaches.iter().enumerate().find(|(_, j)| j.from_m <= middle_m && middle_m <= j.to_m);
        let finding = job.and_then(|(i, _)| answers.findings.iter().find(|f| f.reach == Some(i + 1)));
        row(t, r, job.map(|(_, j)| j), finding)
    };
    let rows = if answers.reaches.is_empty() {
        vec![row(t, &answers.total, None, None)]
    } else {
        answers.reaches.iter().map(told).collect()
    };
    Table { rows, ..Table::new(&t.word("Fall of each reach"), columns, []) }
}

/// What was measured beside the runs, and how it fits; none of it, no table.
fn ties(t: &Teller<'_>) -> Table {
    let columns = [
        t.word("Measured beside the run"),
        t.word("Result (± one standard deviation)"),
        t.word("What everything else says"),
        t.word("It is off by"),
    ];
    let (suspects, others) = (known::suspects(t.answers), known::others_may_be_wrong(t.answers));
    let row = |(i, row): (usize, &TieRow)| {
        let fit = known::fit(t, row, suspects.contains(&i));
        let of = |x: f64| match row.quantity.as_str() {
            "elevation_m" => say!(t, "invert at {elevation}", elevation = Part::Elevation(x)),
            _ => known::figure(t.voice, row, x),
        };
        let instead = || match (known::off(t.voice, row), known::deviations(t.voice, row)) {
            (Some(off), Some(times)) => say!(t, "may be wrong instead ({off}, {times})", off = off, times = times),
            _ => t.word("may be wrong instead"),
        };
        let cells = [
            format!("{} {}", known::number(row), known::title(t, row, 60)),
            format!("{} ({})", of(row.value), known::short_error(t.voice, row)),
            row.expected.map_or_else(|| t.word("nothing else says"), of),
            if others.contains(&i) { instead() } else { fit },
        ];
        let cells = cells.map(plain).to_vec();
        Row::new(if suspects.contains(&i) || others.contains(&i) { "fails" } else { "" }, cells)
    };
    // What does not fit is not what there is no room for.
    let mut rows: Vec<(usize, &TieRow)> = t.answers.ties.iter().enumerate().collect();
    rows.sort_by_key(|(i, _)| (!suspects.contains(i), !others.contains(i)));
    rows.truncate(TIES);
    rows.sort_by_key(|(i, _)| *i);
    let rows = rows.into_iter().map(row).collect();
    Table { rows, ..Table::new(&t.word("Measured beside the run"), columns, []).of_texts() }
}

fn row(t: &Teller<'_>, r: &ReachRow, reach: Option<&Reach>, finding: Option<&FindingRow>) -> Row {
    let pipe = match reach {
        Some(Reach { pipe, .. }) => {
            let material = pipe.material.clone().unwrap_or_else(|| t.word("material not given"));
            let size = pipe.nominal.map_or_else(|| t.word("size not given"), |size| size.to_string());
            (format!("{material}, {size}"), pipe.name.clone())
        }
        None => plain(t.word("pipe not given")),
    };
    let asked = match finding.filter(|f| !f.requirement.is_empty()) {
        Some(f) => (t.sentence(&f.requirement), f.clause.clone()),
        None => plain(t.word("nothing")),
    };
    let told = match finding {
        Some(f) => {
            let why = f.reason.as_deref().map(|reason| verdict::reason_of(t, f, reason)).unwrap_or_default();
            let chance = f.probability.filter(|_| f.finding == "undecided");
            let below = match chance {
                Some(p) => say!(t, "{reason}; met with a probability of {p}", reason = why, p = Part::Probability(p)),
                None => why,
            };
            (words::finding(t, &f.finding), below)
        }
        None => plain(t.word("none")),
    };
    let slope = match r.slope {
        Some(slope) => t.short_slope(slope),
        None if r.drop_fall_m > 0.0 => t.word("drop"),
        None => t.not_determined(),
    };
    let ends = r.slope_low.zip(r.slope_high).map_or_else(String::new, |(low, high)| t.slope_range(low, high));
    let kind = match finding.map(|f| f.finding.as_str()) {
        Some("fails") => "fails",
        Some("undecided") => "undecided",
        _ => "",
    };
    let cells = vec![
        plain(t.sentence(&r.name)),
        plain(t.station(r.from_m)),
        plain(t.station(r.to_m)),
        pipe,
        (t.length(r.length_m), sure::normal(t.voice, r.length_m, r.length_sd_m, Part::Length)),
        (t.small(r.fall_m), sure::range(t.voice, r.fall_low_m, r.fall_high_m, Part::Small)),
        (slope, ends),
        asked,
        told,
    ];
    Row::new(kind, cells)
}

/// Stretches of what was surveyed that lie in no reach, m, from a hand's breadth on.
fn outside_reaches(answers: &Answers) -> Vec<(f64, f64)> {
    const HAND_M: f64 = 0.05;
    if answers.reaches.is_empty() {
        return Vec::new();
    }
    let mut upto = answers.from_m;
    let mut outside = Vec::new();
    let mut reaches: Vec<(f64, f64)> = answers.reaches.iter().map(|r| (r.from_m, r.to_m)).collect();
    reaches.sort_by(|a, b| a.0.total_cmp(&b.0));
    for (from_m, to_m) in reaches.into_iter().chain([(answers.to_m, answers.to_m)]) {
        if from_m - upto > HAND_M {
            outside.push((upto, from_m));
        }
        upto = upto.max(to_m);
    }
    outside
}

/// What rules would hold instead if more had been given: what a clause excepts. Each once, with the reaches that it is about.
fn alternatives(t: &Teller<'_>) -> Vec<String> {
    const SHOWN: usize = 3;
    let mut all: Vec<(Vec<String>, [String; 3])> = Vec::new();
    for said in t.answers.said.iter().filter(|said| said.template.contains("would hold instead")) {
        let [of, rule, missing, text] = ["subject", "rule", "missing", "text"]
            .map(|name| said.parts.get(name).map(|p| t.part(p)).unwrap_or_default());
        let what = [rule, missing, text];
        match all.iter_mut().find(|(_, other)| *other == what) {
            Some((subjects, _)) => subjects.push(of),
            None => all.push((vec![of], what)),
        }
    }
    let more = all.len().saturating_sub(SHOWN);
    let more = (more > 0).then(|| say!(t, "{n} more are in report.html.", n = more));
    let told = all.into_iter().take(SHOWN).map(|(subjects, [rule, missing, text])| {
        say!(
            t,
            "Not looked at for {subjects}, because the job does not give {missing}: {rule}, by which it may be otherwise: {text}",
            subjects = subjects.join(", "),
            rule = rule,
            missing = missing,
            text = text
        )
    });
    let told: Vec<String> = told.chain(more).collect();
    let compared = t.answers.findings.iter().any(|f| f.reach.is_some() && f.required.is_some());
    if told.is_empty() && compared {
        return vec![t.word("No exception of the rule is known that would hold instead.")];
    }
    told
}

/// How much was seen, how ties fit, what was left out, what distances are.
fn limits(t: &Teller<'_>) -> Vec<String> {
    let answers = t.answers;
    let surveyed = Part::Length(answers.total.length_m);
    let mut said = vec![match answers.job.survey.about_length_m {
        Some(about) => say!(t, "Surveyed: {length} of about {about}.", length = surveyed, about = Part::About(about)),
        None => say!(t, "Surveyed: {length}.", length = surveyed),
    }];
    said.push(say!(t, "Was all of it seen? {answer}", answer = known::all_seen(t)));
    said.push(match t.words {
        Words::Uk => t.word("Chainages are the counter's; lengths and distances called true are along the pipe."),
        Words::Us => t.word("Stations are the counter's; lengths and distances called true are along the pipe."),
    });
    if answers.ties.len() > TIES {
        said.push(say!(t, "{n} more measurements beside the run are in report.html.", n = answers.ties.len() - TIES));
    }
    said.extend(
        answers
            .job
            .survey
            .stopped_at
            .as_ref()
            .map(|at| say!(t, "Where the camera stopped, as noted: {text}", text = shorten(at, COLUMNS))),
    );
    match &answers.adjustment {
        Some(_) if known::is_wrong(answers) => {}
        Some(adjustment) => said.push(t.sentence(&adjustment.sentence)),
        None => said.push(t.word("Nothing was measured beside the run: nothing checks these figures.")),
    }
    said.extend(outside_reaches(answers).into_iter().map(|(from_m, to_m)| {
        say!(
            t,
            "Between {stretch} the pipe lies in no reach: nothing was compared there.",
            stretch = Part::Both(from_m, to_m)
        )
    }));
    said.extend(answers.unseen.iter().take(UNSEEN).map(|stretch| known::unseen(t, stretch)));
    if answers.total.drop_fall_m > 0.0 {
        said.push(t.word("Mean slopes leave out drops, and the bends at their ends."));
    }
    if !answers.unseen.is_empty() {
        said.push(t.word("Length, fall and slope of a reach go straight on over what no reading saw in it."));
    }
    said.extend(alternatives(t));
    let connected = answers.job.features.iter().any(|f| f.kind == FeatureKind::Connection);
    match (answers.job.bends.is_empty(), connected) {
        (true, false) => said.push(t.word("No bend and no connection was noted.")),
        (true, true) => said.push(t.word("No bend was noted.")),
        (false, false) => said.push(t.word("No connection was noted.")),
        (false, true) => {}
    }
    said.push(t.word("Not looked at: condition of the pipe, joints, leakage, support. This is no condition survey. The design grade was not given: slopes are compared with the figure of the rule alone."));
    said.push(match answers.edits.len() {
        0 => t.word("No reading was dropped or changed."),
        1 => t.word("One reading was dropped, combined or flagged; report.html says which and why."),
        n => say!(
            t,
            "{n} readings were dropped, combined or flagged, {used} were used; each is in report.html with its reason.",
            n = n,
            used = answers.readings.len()
        ),
    });
    said
}
