//! One page for whoever owns the drain.

use askama::Template;
use fallwise::{
    Answers,
    answers::{FindingRow, NoteRow, PoolRow, ReachRow},
    units::{Part, Words, ft},
};

use crate::{
    brief,
    frame::{COLUMNS, Frame},
    known,
    page::{Labels, Next, next},
    profile,
    summary::in_order,
    sure,
    table::{Row, Table, lines, pairs, plain},
    tell::{Teller, say},
    text::{readable, shorten},
    verdict::{answer, asked, found, part},
    words,
};

/// Answers and places that a sheet has room for; report.html has them all.
const ANSWERS: usize = 6;
const PLACES: usize = 8;

/// What the template lays out. Texts only.
#[derive(Template)]
#[template(path = "owner.html")]
pub(crate) struct Owner<'a> {
    t: Labels<'a>,
    frame: Frame,
    brief: Vec<(String, String)>,
    answers: Table,
    answers_are: Vec<String>,
    picture: String,
    places: Vec<String>,
    /// What comes before it, where measurements contradict each other.
    again: Option<String>,
    next: Option<Next>,
    /// What it leaves open, and who deals with that.
    beyond: Vec<String>,
    means: Vec<(String, String)>,
    facts: Vec<(String, String)>,
}

impl<'a> Owner<'a> {
    pub(crate) fn new(t: &Teller<'a>) -> Self {
        Self {
            t: Labels::new(t.voice, &t.answers.job.report),
            frame: Frame::extract(t),
            brief: pairs(brief::rows(t)),
            answers: answers(t),
            answers_are: lines(answers_are(t)),
            picture: profile::pipe_alone(t),
            places: lines(places(t)),
            again: known::is_wrong(t.answers).then(|| readable(&again(t))),
            next: t.answers.next.as_ref().map(|n| next(t, n)),
            beyond: lines(beyond(t)),
            means: pairs(means(t, &[t.answers])),
            facts: pairs(facts(t)),
        }
    }
}

/// Whether it is as it should be, part by part: an answer, what was asked, what was found.
fn answers(t: &Teller<'_>) -> Table {
    let columns = [t.word("Is this so?"), t.word("Answer"), t.word("Asked"), t.word("Found")];
    let all = &t.answers.findings;
    let rows = in_order(all).filter(|f| f.subject == "lateral" || all.len() > 1).take(ANSWERS);
    let row = |f: &FindingRow| {
        let class = match f.finding.as_str() {
            "fails" => "fails",
            "undecided" => "undecided",
            _ => "",
        };
        Row::new(class, vec![part(t, f), plain(answer(t, &f.finding)), asked(t, f), found(t, f)])
    };
    Table { rows: rows.map(row).collect(), ..Table::new(&t.word("Answers"), columns, []).of_texts() }
}

/// What the rules are worth, and what an answer is.
pub(crate) fn answers_are(t: &Teller<'_>) -> Vec<String> {
    let findings = &t.answers.findings;
    if findings.is_empty() {
        return vec![t.word("No rule was asked for, so that nothing is answered here.")];
    }
    let mut said = Vec::new();
    if findings.len() > ANSWERS {
        said.push(say!(t, "{n} more are in report.html.", n = findings.len() - ANSWERS));
    }
    if findings.iter().any(|f| !f.document.is_empty() && !f.confirmed) {
        said.push(t.word(
            "A value not checked was taken from elsewhere than the document named: check it before relying on it.",
        ));
    }
    if known::is_wrong(t.answers) {
        said.push(t.word(
            "The measurements contradict each other: the ranges are those of all of them together, and are not 95 % sure.",
        ));
    }
    if t.answers.job.survey.complaint.is_some() {
        said.push(t.word("Whether this explains what was complained of, no figure here says."));
    }
    if findings.iter().any(|f| f.finding != "meets") {
        said.push(t.word("A bar before a row: no. A broken bar: not decided."));
    }
    said.push(t.word("Yes or no is said where it is 95 % sure or more. This compares figures. It is no approval: the authority decides."));
    said
}

/// Where along the pipe: water, backward stretches, what was not seen.
fn places(t: &Teller<'_>) -> Vec<String> {
    let a = t.answers;
    let pools = a.pools.iter().map(|p: &PoolRow| t.sentence(&p.sentence));
    let sure_back = |r: &&ReachRow| r.slope_high.is_some_and(|high| high < 0.0);
    let back = a.backward.iter().filter(sure_back).map(|r| backward(t, r));
    let may = a.backward.iter().filter(|r| !sure_back(r)).map(|r| may_run_backward(t, r));
    let seen = a.noted.iter().filter(|n| n.water_seen).filter_map(|n| water_seen(t, n));
    let odd = a.water.iter().map(|w| t.sentence(&w.sentence));
    let unseen = a.unseen.iter().map(|stretch| known::unseen(t, stretch));
    let wrong = known::may_be_wrong(t);
    let mut said: Vec<String> =
        pools.chain(back).chain(seen).chain(odd).chain(unseen).chain(wrong).chain(may).collect();
    let more = said.len().saturating_sub(PLACES);
    if more > 0 {
        said.truncate(PLACES);
        said.push(say!(t, "{n} more are in report.html.", n = more));
    }
    said
}

/// What is done about measurements that contradict each other, and what can hurt while doing it.
fn again(t: &Teller<'_>) -> String {
    t.word(
        "First measure again what may be wrong, which is named above, in the same way as before and from the surface: keep clear of \
         traffic and of open covers, do not enter a chamber, and dig nothing for it.",
    )
}

/// What the measurement that comes next may answer, and who deals with what it cannot.
fn beyond(t: &Teller<'_>) -> Vec<String> {
    let findings = || t.answers.findings.iter().filter(|f| f.subject != "lateral");
    let waits = findings().filter(|f| matches!(f.reason.as_deref(), Some("needs_measurement" | "too_close")));
    let waits: Vec<String> = waits.take(ANSWERS).map(|f| part(t, f).0).collect();
    let mut said = Vec::new();
    if t.answers.next.is_some() && !waits.is_empty() {
        said.push(say!(t, "It may answer: {questions}.", questions = waits.join("; ")));
    }
    if !t.answers.unseen.is_empty() || findings().any(|f| f.reason.as_deref() == Some("not_surveyed")) {
        said.push(t.word("What no reading saw stays open until somebody surveys it."));
    }
    if findings().any(|f| f.finding == "fails") || t.answers.pools.iter().any(|p| p.state == "found") {
        said.push(t.word(
            "What is to be done about a No or a belly is for a licensed person and the authority, before anyone digs.",
        ));
    }
    if t.answers.relay.is_some() {
        said.push(t.word("What re-laying would take is on the sheet relay.html. It is no quote, and says nothing of whether it has to be done."));
    }
    said
}

fn backward(t: &Teller<'_>, r: &ReachRow) -> String {
    say!(
        t,
        "Between {stretch} the pipe runs backwards and rises {rise} ({interval}).",
        stretch = Part::Both(r.from_m, r.to_m),
        rise = Part::Small(-r.fall_m),
        interval = sure::range(t.voice, -r.fall_high_m, -r.fall_low_m, Part::Small)
    )
}

fn may_run_backward(t: &Teller<'_>, r: &ReachRow) -> String {
    say!(
        t,
        "Between {stretch} the pipe may run backwards; the readings do not say so surely.",
        stretch = Part::Both(r.from_m, r.to_m)
    )
}

fn water_seen(t: &Teller<'_>, note: &NoteRow) -> Option<String> {
    let from_m = note.station_m?;
    Some(match note.to_m.filter(|to_m| *to_m != from_m) {
        Some(to_m) => say!(t, "Water was seen standing between {stretch}.", stretch = Part::Both(from_m, to_m)),
        None => say!(t, "Water was seen standing at {place}.", place = words::at(t.voice, from_m)),
    })
}

/// The words of this page that an owner may not know; only those that stand on it.
pub(crate) fn means(t: &Teller<'_>, of: &[&Answers]) -> Vec<(String, String)> {
    let any = |is: &dyn Fn(&Answers) -> bool| of.iter().any(|answers| is(answers));
    let mut means = vec![
        (
            t.word("Picture"),
            t.word("The pipe from the side. Thick line: the invert, the bottom of its inside, where the water runs. Hatching: how unsure its height is; it is no damage."),
        ),
        match t.words {
            Words::Uk => (
                t.word("1 in 40"),
                t.word("A slope: it falls 1 m in 40 m. The larger the second number, the flatter the pipe."),
            ),
            Words::Us => (
                t.word("2 %"),
                t.word("A slope: it falls 2 ft in 100 ft, which is about 1/4 inch in a foot. The smaller the number, the flatter the pipe."),
            ),
        },
        match t.words {
            Words::Uk => (
                t.word("Chainage"),
                t.word("Distance along the pipe as the cable's counter shows it. True lengths differ a little from it."),
            ),
            Words::Us => (
                say!(t, "Station {example}", example = Part::Station(ft(10.0))),
                say!(t, "Distance along the pipe as the cable's counter shows it: {example} is {length}. True lengths differ a little from it.", example = Part::Station(ft(10.0)), length = Part::Length(ft(10.0))),
            ),
        },
        (
            t.word("95 %"),
            t.word("Of a hundred such figures about 95 lie between the two numbers given, if the errors of the measurement are no others than those reckoned with."),
        ),
    ];
    if any(&|a| !a.job.runs.is_empty() || !a.pools.is_empty()) {
        means.push((
            t.word("Belly"),
            t.word("A low place where water can stay. What it can hold is shown, not what stands in it today."),
        ));
    }
    if any(&|a| a.job.reaches.iter().any(|r| !r.name.is_empty()) && !a.findings.is_empty()) {
        means.push((t.word("Part"), t.word("A part of the drain that the surveyor looked at by itself (a reach).")));
    }
    if any(&|a| !a.backward.is_empty() || a.findings.iter().any(|f| f.subject == "backfall")) {
        means.push((t.word("Backwards, backfall"), t.word("The pipe rises the way the water should run.")));
    }
    if any(&|a| a.next.as_ref().is_some_and(|n| n.measurement == "reversal_check")) {
        means.push(head_means(t));
    }
    let located = |a: &Answers| known::suspects(a).iter().filter_map(|i| a.ties.get(*i)).any(|row| row.kind == "depth");
    if any(&located) {
        means.push((
            t.word("Located depth"),
            t.word("A depth that a receiver on the ground showed, of a transmitter a little behind the camera."),
        ));
    }
    if any(&|a| a.findings.iter().any(|f| f.finding == "undecided")) {
        means.push((
            t.word("Not decided"),
            t.word("These readings can carry no verdict, neither that the pipe is right nor that it is not. It does not mean that the pipe is probably fine."),
        ));
    }
    if any(&|a| !a.findings.is_empty()) {
        means.push((
            t.word("Rules for slope"),
            t.word("They are mostly written for new pipes. Whether an older pipe must be changed is for the authority (whoever enforces the code where the drain lies) and a licensed person."),
        ));
    }
    means
}

/// What a head is, and its zero error.
pub(crate) fn head_means(t: &Teller<'_>) -> (String, String) {
    (
        t.word("Head, zero error"),
        t.word("The head is the camera with the sensor that reads how steep it lies. Its zero error is what it shows when it lies level."),
    )
}

/// Who did it and when, and how much of the whole was seen.
pub(crate) fn facts(t: &Teller<'_>) -> Vec<(String, String)> {
    let (survey, a) = (&t.answers.job.survey, t.answers);
    let (surveyed, counter) = (Part::Length(a.total.length_m), Part::Length(a.to_m - a.from_m));
    let seen = match survey.about_length_m {
        Some(about) => say!(
            t,
            "{length} along the pipe of about {about}; the cable's counter showed {counter}",
            length = surveyed,
            about = Part::About(about),
            counter = counter
        ),
        None => say!(
            t,
            "{length} along the pipe; the cable's counter showed {counter}",
            length = surveyed,
            counter = counter
        ),
    };
    let text = |text: &Option<String>| text.as_ref().map(|text| shorten(text, COLUMNS));
    let given = |text: Option<String>| Some(text.unwrap_or_else(|| t.word("not given")));
    let texts = [
        (t.word("Not surveyed"), text(&survey.not_surveyed)),
        (t.word("When"), given(survey.date_time.as_ref().map(|date| words::date(t.voice, date)))),
        (t.word("Company"), given(text(&survey.company))),
        (t.word("Operator"), text(&survey.operator)),
        (words::licence(t.voice), text(&survey.licence)),
        (t.word("Signed by"), text(&survey.signed_by)),
    ];
    let mut facts = vec![(t.word("Surveyed"), seen), (t.word("Was all of it seen?"), known::all_seen(t))];
    facts.extend(texts.into_iter().filter_map(|(name, text)| Some((name, readable(&text?)))));
    facts
}
