//! The whole in sixty words, for an owner: what was asked, what is known, what is not, what comes next.

use fallwise::{answers::FindingRow, units::Part};

use crate::{
    known, sure,
    tell::{Teller, say},
    text::shorten,
};

/// Columns of a stranger's text in it.
const COLUMNS: usize = 60;
/// All of it together; a figure is no word.
const WORDS: usize = 60;

/// The four answers in whole sentences, with their headings.
pub(crate) fn rows(t: &Teller<'_>) -> [(String, String); 4] {
    let headings = [t.word("Asked"), t.word("Known"), t.word("Not known"), t.word("Next")];
    let (asked, known, next) = (asked(t), known(t), next(t));
    let said = headings.iter().chain([&asked, &known, &next]).map(|text| words(text)).sum();
    let unknown = unknown(t, WORDS.saturating_sub(said));
    let [a, b, c, d] = headings;
    [(a, asked), (b, known), (c, unknown), (d, next)]
}

/// How many words there are in a text.
fn words(text: &str) -> usize {
    text.split_whitespace().filter(|word| word.starts_with(char::is_alphabetic)).count()
}

/// The document that the lateral was held against, with its edition.
fn document(t: &Teller<'_>) -> Option<String> {
    let of = |f: &&FindingRow| !f.document.is_empty() && f.quantity == "slope";
    let row = t.answers.findings.iter().find(of)?;
    Some(shorten(&format!("{} {}", row.document, row.edition), COLUMNS))
}

fn asked(t: &Teller<'_>) -> String {
    match (&t.answers.job.survey.complaint, document(t)) {
        // A question keeps its own mark.
        (Some(complaint), _) if complaint.trim_end().ends_with(['?', '!']) => {
            t.part(&Part::Capital(Box::new(shorten(complaint.trim_end(), COLUMNS).into())))
        }
        (Some(complaint), _) if !complaint.trim().is_empty() => {
            say!(
                t,
                "{complaint}.",
                complaint = Part::Capital(Box::new(shorten(complaint.trim_end_matches('.'), COLUMNS).into()))
            )
        }
        (_, Some(document)) => say!(t, "Whether the pipe meets {document}.", document = document),
        _ => t.word("How the pipe falls, and whether water can stand in it."),
    }
}

/// What is sure of the lateral's own finding, and of water.
fn known(t: &Teller<'_>) -> String {
    let total = &t.answers.total;
    let mut said = Vec::new();
    let parts = || t.answers.findings.iter().filter(|f| f.subject != "lateral");
    let fails = |quantity: &str| parts().filter(|f| f.finding == "fails" && f.quantity == quantity).collect::<Vec<_>>();
    let lateral = t.answers.findings.iter().find(|f| f.subject == "lateral");
    let slopes = fails("slope");
    let flattest = slopes.iter().copied().filter(|f| f.value.is_some()).min_by(|a, b| {
        let over = |f: &FindingRow| f.value.unwrap_or(0.0) / f.required.unwrap_or(1.0);
        over(a).total_cmp(&over(b))
    });
    if known::is_wrong(t.answers)
        && let Some(slope) = total.slope
    {
        said.push(say!(
            t,
            "In the best estimate it falls {slope} on average, but its measurements contradict each other.",
            slope = Part::ShortSlope(slope)
        ));
    } else if let Some((worst, required)) = flattest.and_then(|f| Some((f, f.required?))) {
        let asks = format!("{} {}", worst.document, worst.edition);
        let (asks, required) = (shorten(&asks, COLUMNS), Part::ShortSlope(required));
        said.push(match worst.value_low.zip(worst.value_high) {
            Some((low, high)) => say!(
                t,
                "One part falls {range} where {document} asks {required}.",
                range = Part::SlopeRange(low, high),
                document = asks,
                required = required
            ),
            None => say!(
                t,
                "One part falls less than the {required} that {document} asks.",
                required = required,
                document = asks
            ),
        });
    } else if let (Some("meets"), Some(document)) = (lateral.map(|f| f.finding.as_str()), document(t)) {
        said.push(match total.slope_low.zip(total.slope_high) {
            Some((low, high)) => say!(
                t,
                "On average it falls {range}, which meets the slope rule of {document}.",
                range = Part::SlopeRange(low, high),
                document = document
            ),
            None => say!(t, "It meets the slope rule of {document}.", document = document),
        });
    } else if let (Some(low), Some(high)) = (total.slope_low, total.slope_high) {
        said.push(say!(
            t,
            "Over {length} it falls between {low} and {high} on average.",
            length = Part::Length(total.length_m),
            low = Part::ShortSlope(low),
            high = Part::ShortSlope(high)
        ));
    }
    if let Some(back) = fails("length_m").first() {
        said.push(match back.value {
            Some(m) => say!(t, "It runs backwards over {length}.", length = Part::Length(m)),
            None => t.word("It runs backwards too far."),
        });
    }
    said.push(water(t));
    said.join(" ")
}

fn water(t: &Teller<'_>) -> String {
    let found = || t.answers.pools.iter().filter(|p| p.state == "found");
    let deepest = found().max_by(|a, b| a.depth_m.total_cmp(&b.depth_m));
    let Some(pool) = deepest else {
        return without_a_belly(t);
    };
    let depth = match pool.depth_low_m.zip(pool.depth_high_m) {
        Some((low, high)) => sure::range(t.voice, low, high, Part::Small),
        None => t.small(pool.depth_m),
    };
    match found().count() {
        1 => say!(t, "A belly can hold water {depth} deep.", depth = depth),
        n => say!(t, "It has {n} bellies; the deepest can hold water {depth} deep.", n = n, depth = depth),
    }
}

/// Where no belly was found: one that is possible, water that was seen.
pub(crate) fn without_a_belly(t: &Teller<'_>) -> String {
    let likely = t.answers.pools.iter().filter(|p| p.state == "possible");
    let likeliest = likely.filter_map(|p| p.exists_probability).max_by(f64::total_cmp);
    let seen = t.answers.noted.iter().any(|n| n.water_seen && n.station_m.is_some());
    match (t.answers.pools.is_empty(), likeliest) {
        (true, _) if seen => t.word("Water was seen standing, but no belly was found."),
        (true, _) if known::is_wrong(t.answers) => t.word("No belly was found in the best estimate."),
        (true, _) => t.word("No belly was found."),
        (false, Some(p)) if seen => {
            say!(t, "A belly is possible (probability {p}); water was seen standing.", p = Part::Probability(p))
        }
        (false, Some(p)) => say!(t, "A belly is possible (probability {p}).", p = Part::Probability(p)),
        (false, None) if seen => t.word("Water was seen standing."),
        (false, None) => String::new(),
    }
}

/// What nobody may take for known, what matters most first: one of it, and as much more as there are words left.
fn unknown(t: &Teller<'_>, left: usize) -> String {
    let answers = t.answers;
    let mut said = Vec::new();
    if known::is_wrong(answers) {
        said.push(match known::suspects(answers).len() + known::others_may_be_wrong(answers).len() {
            1 => t.word("One measurement does not fit the others."),
            _ => t.word("Which measurement is wrong."),
        });
    }
    if let Some(about_m) =
        answers.job.survey.about_length_m.filter(|about| answers.total.length_m < about - known::LEFT_M)
    {
        let left = about_m - answers.total.length_m;
        said.push(say!(t, "About {length} was not surveyed.", length = Part::About(left)));
    }
    if !answers.unseen.is_empty() {
        said.push(t.word("What lies where no reading saw."));
    }
    let undecided = answers.findings.iter().filter(|f| f.subject != "lateral" && f.finding == "undecided").count();
    match (undecided, document(t)) {
        (0, Some(_)) => {}
        (1, Some(_)) => {
            said.push(t.word("One question stays open."));
        }
        (n, Some(_)) => {
            said.push(say!(t, "{n} questions stay open.", n = n));
        }
        (_, None) if answers.findings.is_empty() => said.push(t.word("Whether it meets a rule: none was asked.")),
        (_, None) => said.push(t.word("Whether it meets a rule: none covers it.")),
    }
    if answers.pools.iter().any(|p| p.state == "found" && p.sill_is_last_point) {
        said.push(t.word("Whether the pipe rises further beyond the survey."));
    }
    match answers.pools.iter().filter(|p| p.state == "possible").count() {
        0 => {}
        1 => said.push(t.word("Whether a possible belly is there.")),
        n => said.push(say!(t, "Whether {n} possible bellies are there.", n = n)),
    }
    if said.is_empty() {
        said.push(t.word("When it became so, and why."));
    }
    let mut left = left;
    let fits = said.iter().enumerate().take_while(|(i, text)| {
        let room = *i == 0 || words(text) <= left;
        left = left.saturating_sub(words(text));
        room
    });
    let fits: Vec<&str> = fits.map(|(_, text)| text.as_str()).collect();
    fits.join(" ")
}

/// What comes next, and who does it.
pub(crate) fn next(t: &Teller<'_>) -> String {
    let answers = t.answers;
    let rows = known::suspects(answers).into_iter().chain(known::others_may_be_wrong(answers));
    let wrong: Vec<String> =
        rows.filter_map(|i| answers.ties.get(i)).map(|row| shorten(&known::title(t, row, COLUMNS), COLUMNS)).collect();
    match wrong.as_slice() {
        [] => {}
        [one] => return say!(t, "Have it measured again: {name}.", name = one),
        [one, other] => return say!(t, "Have both measured again: {one}; {other}.", one = one, other = other),
        [one, rest @ ..] => {
            return say!(t, "Have it measured again: {name}, and {n} more.", name = one, n = rest.len());
        }
    }
    let has = |finding: &str| answers.findings.iter().any(|f| f.finding == finding);
    if let Some(next) = &answers.next {
        let measurement = known::measurement(t, next);
        let told = match next.undecided_now {
            1 => say!(
                t,
                "Have the surveyor measure {measurement}. It may settle one question.",
                measurement = measurement
            ),
            n => say!(
                t,
                "Have the surveyor measure {measurement}. It may settle up to {n} questions.",
                measurement = measurement,
                n = n
            ),
        };
        return if has("fails") { format!("{told} {}", t.word("Ask a licensed person about the No.")) } else { told };
    }
    let waits =
        |reason: &str| answers.findings.iter().any(|f| f.subject != "lateral" && f.reason.as_deref() == Some(reason));
    if has("fails") {
        t.word("Ask the authority and a licensed person what it means here, before anyone digs.")
    } else if waits("not_surveyed") {
        t.word("Have it surveyed where no reading saw.")
    } else if waits("input_missing") {
        t.word("Have the surveyor add the missing fact.")
    } else if waits("too_close") || waits("needs_measurement") {
        t.word("Nothing quick would decide it. Ask a licensed person.")
    } else {
        t.word("No further measurement is needed for this.")
    }
}
