//! What is odd about a job that can be used, seen in its text form alone.

use fallwise::model::AsBuiltUse;

use super::{
    form::{JobForm, NoteForm, RunForm},
    tie,
};

/// Fewer draws than this, but some, give probabilities to no better than a few percent. Our choice.
const FEW_DRAWS: usize = 100;

/// One sentence each, in the order of the form, with the key it speaks of.
pub(super) fn warnings(form: &JobForm) -> Vec<String> {
    let mut said = Vec::new();
    let mut say = |key: &str, sentence: &str| said.push(format!("{key}: {sentence}"));
    if form.tailwater.is_some_and(|l| l.0 < 0.0) {
        say("tailwater", "below the outlet's invert, as if there were none");
    }
    if form.survey.water.as_ref().is_some_and(|w| !matches!(w.as_str(), "still" | "running" | "unknown")) {
        say("survey.water", "usually still, running or unknown; shown as it is");
    }
    if form.survey.video_hash.is_some() && form.survey.video.is_none() {
        say("survey.video_hash", "a hash without a video");
    }
    for (i, run) in form.run.iter().enumerate() {
        for (key, sentence) in run_oddities(run) {
            say(&format!("run[{i}].{key}"), sentence);
        }
    }
    // Readings by hand are a run of their own beside runs with logs.
    let by_hand = !form.reading.is_empty() && form.run.iter().all(|run| run.log.is_some());
    if let ([run], false) = (form.run.as_slice(), by_hand)
        && run.start_station_sd.is_some_and(|sd| sd.0 > 0.0)
    {
        say("run[0].start_station_sd", "there is no other run that could tell where this one lies");
    }
    if form.as_built_use == AsBuiltUse::Use && form.as_built.is_empty() {
        say("as_built_use", "there are no as-built inverts");
    }
    for (key, sentence) in tie::warnings(form) {
        say(&key, &sentence);
    }
    for (i, reach) in form.reach.iter().enumerate() {
        let pipe = &reach.pipe;
        if pipe.standard.is_none() && pipe.bore.is_none() && pipe.bore_width.is_none() {
            say(&format!("reach[{i}].pipe"), "no bore: volumes and depth over bore are not determined here");
        }
        if pipe.standard.is_none() && pipe.nominal.is_none() {
            say(&format!("reach[{i}].pipe"), "no nominal size: rules that go by size cannot be chosen here");
        }
    }
    for (i, bend) in form.bend.iter().enumerate() {
        if bend.deflection_sd.is_some_and(|sd| sd.0 == 0.0) {
            say(&format!("bend[{i}].deflection_sd"), "0 takes the angle of the fitting for exact");
        }
    }
    for (i, step) in form.step.iter().enumerate() {
        if step.rise.0 == 0.0 {
            say(&format!("step[{i}].rise"), "a step of no height changes nothing");
        }
    }
    if !form.ground.is_empty() && form.as_built.is_empty() && form.run.iter().all(|r| r.start_invert.is_none()) {
        say("ground", "without a start_invert of a run there is no cover to tell");
    }
    for (i, note) in form.note.iter().enumerate() {
        let NoteForm { water_seen, dry_seen, .. } = *note;
        if note.text.trim().is_empty() && note.photo.is_none() && note.video_time.is_none() && !(water_seen || dry_seen)
        {
            say(&format!("note[{i}]"), "says nothing");
        }
        if water_seen && dry_seen {
            say(&format!("note[{i}].dry_seen"), "water and a dry pipe were seen in one place");
        }
    }
    if !form.landmark.is_empty() && form.dig.is_empty() {
        say("landmark", "without a [[dig]] nothing is taped out from it");
    }
    if form.dig.is_empty() && form.digging.is_given() {
        say("digging", "without a [[dig]] there is no sheet that it is for");
    }
    for (i, dig) in form.dig.iter().enumerate() {
        if dig.station_sd.is_some_and(|sd| sd.0 == 0.0) {
            say(&format!("dig[{i}].station_sd"), "0 takes what is wanted to be exactly there");
        }
    }
    if form.segments.breaks.as_ref().is_some_and(Vec::is_empty) {
        say("segments.breaks", "no station: the breaks are taken at the joints");
    }
    if form.instrument.zero_sd.is_some_and(|sd| sd.0 == 0.0) {
        say("instrument.zero_sd", "0 takes the head's zero error for exactly known");
    }
    let no_book = form.rules.rulebook.is_none() && form.rules.file.is_none();
    if no_book && !(form.rules.facts.is_empty() && form.reach.iter().all(|r| r.facts.is_empty())) {
        say("rules", "facts are given without a rulebook to ask for them");
    }
    match form.report.draws {
        Some(0) => say("report.draws", "0 leaves pools and findings without probability"),
        Some(few) if few < FEW_DRAWS => say("report.draws", "fewer than 100 draws give rough probabilities"),
        _ => {}
    }
    said
}

fn run_oddities(run: &RunForm) -> Vec<(&'static str, &'static str)> {
    let mut odd = Vec::new();
    let mut say = |is_odd: bool, key, sentence| {
        if is_odd {
            odd.push((key, sentence));
        }
    };
    let of_log = [
        ("counter", run.counter.is_some()),
        ("counter_unit", run.counter_unit.is_some()),
        ("reading", run.reading.is_some()),
        ("reading_unit", run.reading_unit.is_some()),
        ("time", run.time.is_some()),
        ("time_unit", run.time_unit.is_some()),
        ("moving", run.moving.is_some()),
        ("roll", run.roll.is_some()),
        ("roll_unit", run.roll_unit.is_some()),
        ("temperature", run.temperature.is_some()),
        ("temperature_unit", run.temperature_unit.is_some()),
        ("encoding", run.encoding.is_some()),
        ("delimiter", run.delimiter.is_some()),
        ("decimal", run.decimal.is_some()),
    ];
    for (key, given) in of_log {
        say(given && run.log.is_none(), key, "speaks of a log, and the run has none");
    }
    say(
        run.start_azimuth.is_some() && run.start_azimuth_sd.is_none(),
        "start_azimuth",
        "without start_azimuth_sd it is taken as exact",
    );
    say(
        run.start_azimuth.is_none() && run.start_azimuth_sd.is_some(),
        "start_azimuth_sd",
        "not used without start_azimuth",
    );
    let place = [run.start_east, run.start_north];
    say(
        place.iter().flatten().count() == 1,
        "start_east",
        "start_east and start_north go together; the other is taken as 0",
    );
    say(
        place.iter().flatten().count() == 0 && run.start_plan_sd.is_some(),
        "start_plan_sd",
        "not used without start_east and start_north",
    );
    say(
        run.start_invert.is_some() && run.start_invert_sd.is_none(),
        "start_invert",
        "without start_invert_sd it is taken as exact",
    );
    say(
        run.start_invert.is_none() && run.start_invert_sd.is_some(),
        "start_invert_sd",
        "not used without start_invert",
    );
    odd
}
