//! The tables of the page.

use fallwise::{
    Flow,
    answers::{AsBuiltRow, EditRow, ReachRow, SegmentRow, TieRow},
    units::{Part, Voice},
};

use crate::{
    known,
    profile::marks,
    sure,
    table::{Cell, Row, Table, plain},
    tell::{Teller, say},
    words,
};

/// Changed readings listed one by one at most; the rest is counted, and in the result's own file.
pub(super) const EDITS: usize = 2000;
/// Named heights listed at most; all heights are in path.csv.
const HEIGHTS: usize = 200;

/// The reaches, and all of them together.
pub(super) fn reaches(t: &Teller) -> Table {
    let one = |r: &ReachRow| reach(t, r, words::pipe(t.voice, r));
    let rows = t.answers.reaches.iter().map(one).chain([reach(t, &t.answers.total, String::new())]);
    Table::new(&t.word("Slopes by reach"), reach_columns(t, t.word("reach")), rows)
}

/// The pieces between noted joints.
pub(super) fn joints(t: &Teller) -> Table {
    let rows = t.answers.pieces.iter().map(|r| reach(t, r, words::pipe(t.voice, r)));
    Table::new(&t.word("Slopes from joint to joint"), reach_columns(t, t.word("piece")), rows)
}

fn reach_columns(t: &Teller, name: String) -> [String; 7] {
    let from = say!(t, "from ({station})", station = words::station(t.voice));
    [name, from, t.word("to"), t.word("pipe"), t.word("true length"), t.word("slope"), t.word("fall")]
}

fn reach(t: &Teller, r: &ReachRow, pipe: String) -> Vec<Cell> {
    let fall = if r.drop_fall_m == 0.0 {
        t.small(r.fall_m)
    } else {
        say!(t, "{fall}, {drops} of it in drops", fall = Part::Small(r.fall_m), drops = Part::Small(r.drop_fall_m))
    };
    vec![
        plain(t.sentence(&r.name)),
        plain(t.station(r.from_m)),
        plain(t.station(r.to_m)),
        plain(pipe),
        (t.length(r.length_m), sure::normal(t.voice, r.length_m, r.length_sd_m, Part::Length)),
        (optional(t.voice, r.slope, Part::Slope), interval(t.voice, r.slope_low, r.slope_high)),
        (fall, sure::range(t.voice, r.fall_low_m, r.fall_high_m, Part::Small)),
    ]
}

pub(super) fn segments(t: &Teller) -> Table {
    let row = |(i, s): (usize, &SegmentRow)| {
        let place = s.break_probability.map_or_else(String::new, |_| sure::break_place(t.voice, s));
        let slope = if s.kind == "drop" {
            plain(t.word("drop"))
        } else {
            (optional(t.voice, s.slope, Part::ShortSlope), interval(t.voice, s.slope_low, s.slope_high))
        };
        vec![
            plain(s.number.to_string()),
            plain(t.station(s.from_m)),
            plain(t.station(s.to_m)),
            (sure::break_chance(t, s, i == 0), place),
            slope,
            (t.small(s.fall_m), sure::normal(t.voice, s.fall_m, s.fall_sd_m, Part::Small)),
            plain(s.readings.to_string()),
        ]
    };
    let columns = [
        t.word("segment"),
        say!(t, "from ({station})", station = words::station(t.voice)),
        t.word("to"),
        t.word("does the slope change where it begins?"),
        t.word("slope"),
        t.word("fall"),
        t.word("readings"),
    ];
    Table::new(&t.word("Slopes by segment"), columns, t.answers.segments.iter().enumerate().map(row))
}

/// Heights of the invert where somebody may ask for one: ends, reaches, what was noted as a feature, bellies.
pub(super) fn heights(t: &Teller) -> Table {
    let answers = t.answers;
    let (first, last) = (answers.from_m, answers.to_m);
    let ends = (t.word("upper end"), t.word("lower end"));
    let (start, end) = if answers.job.flow == Flow::Increasing { ends } else { (ends.1, ends.0) };
    let mut named = vec![(first, start), (last, end)];
    let inner = |station_m: f64| station_m > first && station_m < last;
    let reaches = answers.reaches.iter().filter(|r| inner(r.from_m));
    named.extend(reaches.map(|r| (r.from_m, say!(t, "where {reach} begins", reach = t.sentence(&r.name)))));
    for f in answers.job.features.iter().filter(|f| inner(f.station_m)) {
        named.push((f.station_m, marks::feature(t.voice, f)));
    }
    for p in &answers.pools {
        let deepest = p.deepest_station_m;
        named.extend(deepest.map(|s| (s, say!(t, "deepest point of belly {number}", number = p.number))));
        let sill = p.sill_station_m.filter(|s| inner(*s));
        named.extend(sill.map(|s| (s, say!(t, "sill of belly {number}", number = p.number))));
    }
    named.sort_by(|a, b| a.0.total_cmp(&b.0));
    let row = |(station_m, name): &(f64, String)| {
        let at = sure::path_at(&answers.path, *station_m)?;
        let anchor = at.height_sd_m == 0.0 && !answers.job.runs.is_empty();
        let ends = match (anchor, sure::is_levelled(answers)) {
            (true, true) => t.word("levelled, taken as exact"),
            (true, false) => t.word("intervals count from here"),
            (false, _) => sure::height_ends(t.voice, &at),
        };
        let elevation = optional(t.voice, at.elevation_m, Part::Elevation);
        Some(vec![
            plain(name.clone()),
            plain(t.station(*station_m)),
            (t.small(at.height_m), ends),
            (elevation, sure::elevation_ends(t.voice, &at).unwrap_or_default()),
        ])
    };
    let columns = [t.word("place"), words::station(t.voice), t.word("height"), t.word("elevation")];
    Table::new(&t.word("Heights of the invert"), columns, named.iter().filter_map(row).take(HEIGHTS))
}

fn optional(v: Voice, value: Option<f64>, say: impl Fn(f64) -> Part) -> String {
    value.map_or_else(|| v.not_determined(), |value| v.part(&say(value)))
}

fn interval(v: Voice, low: Option<f64>, high: Option<f64>) -> String {
    low.zip(high).map_or_else(|| v.not_determined(), |(low, high)| v.slope_range(low, high))
}

/// Each tie against everything else.
pub(super) fn ties(t: &Teller, suspects: &[usize]) -> Table {
    let columns = [
        t.word("number"),
        t.word("tie"),
        t.word("verdict"),
        t.word("what was measured (± one standard deviation)"),
        t.word("what everything else says"),
        t.word("it is off by"),
        t.word("smallest error that would be found"),
    ];
    let rows = t.answers.ties.iter().enumerate().map(|(i, row)| tie(t, row, suspects.contains(&i))).collect();
    Table { rows, class: "figures ties", ..Table::new(&t.word("Ties"), columns, []) }
}

fn tie(t: &Teller, row: &TieRow, suspect: bool) -> Row {
    let figure = |value: f64| known::figure(t.voice, row, value);
    let expected = row.expected.map_or_else(|| t.word("nothing else says"), figure);
    let off = known::off(t.voice, row).unwrap_or_else(|| "-".to_owned());
    let verdict = known::verdict(t, row, suspect);
    let cells = vec![
        plain(known::number(row)),
        known::name(t, row),
        plain(if suspect { format!("\u{25c0} {verdict}") } else { verdict }),
        (figure(row.value), known::short_error(t.voice, row) + &known::made_of(t, row)),
        plain(expected),
        (off, known::deviations(t.voice, row).unwrap_or_default()),
        plain(known::least(t.voice, row)),
    ];
    Row::new(if suspect { "suspect" } else { "" }, cells)
}

/// As-built inverts beside what was measured.
pub(super) fn as_built(t: &Teller) -> Table {
    let columns = [
        words::station(t.voice),
        t.word("as-built invert"),
        t.word("measured"),
        t.word("measured less as-built"),
        t.word("do they differ?"),
    ];
    let rows = t.answers.as_built.iter().map(|row| as_built_row(t.voice, row));
    Table::new(&t.word("As-built inverts beside what was measured"), columns, rows)
}

fn as_built_row(v: Voice, row: &AsBuiltRow) -> Vec<Cell> {
    let own = if row.invert_sd_m == 0.0 {
        say!(v, "taken as exact")
    } else {
        say!(v, "standard deviation {size}", size = Part::Small(row.invert_sd_m))
    };
    vec![
        plain(v.station(row.station_m)),
        (v.elevation(row.invert_m), own),
        plain(v.elevation(row.measured_m)),
        (v.small(row.difference_m), sure::range(v, row.difference_low_m, row.difference_high_m, Part::Small)),
        plain(known::differs(v, row)),
    ]
}

/// Readings that were dropped or changed.
pub(super) fn edits(t: &Teller) -> Table {
    let columns =
        [t.word("run"), t.word("row"), t.word("counter"), t.word("reading"), t.word("what was done"), t.word("why")];
    let row = |e: &EditRow| {
        let cells = [
            t.sentence(&e.run),
            e.row.to_string(),
            t.length(e.counter_m),
            t.angle(e.reading_rad),
            t.sentence(&e.action),
            t.sentence(&e.reason),
        ];
        cells.map(plain).to_vec()
    };
    Table::new(&t.word("Each of them"), columns, t.answers.edits.iter().take(EDITS).map(row)).of_texts()
}

/// The rows of the rulebook, as used.
pub(super) fn rules(t: &Teller) -> Table {
    let row = |r: &fallwise::rules::Rule| {
        let seen = if r.confirmed {
            r.source_mark.clone()
        } else {
            say!(t, "{place}; its value was not checked in the document itself", place = &r.source_mark)
        };
        let limits = [
            r.min_slope.as_ref().map(|l| say!(t, "slope at least {limit}", limit = &l.text)),
            r.also_printed.as_ref().map(|l| say!(t, "printed beside it: {limit}, not tested", limit = &l.text)),
            r.max_slope.as_ref().map(|l| say!(t, "slope at most {limit}", limit = &l.text)),
            r.max_pool.as_ref().map(|l| say!(t, "standing water at most {limit}", limit = &l.text)),
        ];
        let limits: Vec<String> = limits.into_iter().flatten().collect();
        let remark = if r.remark.is_empty() { String::new() } else { format!(" ({})", t.sentence(&r.remark)) };
        [
            r.id.clone(),
            format!("{} {}, {}", r.document, r.edition, r.clause),
            format!("{}{remark}", t.sentence(&r.text)),
            limits.join("; "),
            words::force(t, r.force.word()),
            seen,
        ]
        .map(plain)
        .to_vec()
    };
    let columns = [
        t.word("row"),
        t.word("document"),
        t.word("what it asks, in our words"),
        t.word("limits"),
        t.word("what stands behind it"),
        t.word("where it was seen"),
    ];
    Table::new(&t.word("The rules as used"), columns, t.answers.rules.iter().map(row)).of_texts()
}

/// The errors of camera and counter.
pub(super) fn parameters(t: &Teller) -> Table {
    let (after, said) = if sure::has_ties(t.answers) {
        (t.word("after run and ties"), t.word("what run and ties said of it"))
    } else {
        (t.word("after the run"), t.word("what the run said of it"))
    };
    let rows = t.answers.parameters.iter().map(|p| sure::parameter(t, p).map(plain).to_vec());
    let columns = [t.word("error"), t.word("known before (95 %)"), after, said];
    Table::new(&t.word("The errors of camera and counter"), columns, rows).of_texts()
}
