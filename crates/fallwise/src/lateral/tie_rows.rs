//! Ties, as-built inverts and water as rows, each with its sentence.

use super::{Lateral, suspect, told::Told};
use crate::prelude::*;
use crate::{
    adjust::{
        Anchor, Estimate, SCALE, ZERO,
        ties::{Closure, Verdict, is_near},
    },
    answers::{AdjustmentRow, AsBuiltRow, NoteRow, TieRow, WaterRow, WithoutRow},
    math,
    model::{AsBuiltUse, Known, Tie},
    pool::{self, PoolEstimate},
    said,
    units::{Part, Said, Words, to_deg},
    word,
};

/// Of a parameter this share of its standard deviation left is as good as nothing learnt.
const NOT_LEARNT: f64 = 0.95;

impl Lateral {
    /// One row for each number that was measured. What runs and as-built inverts give is left out where nothing checks it.
    pub(super) fn tie_rows(&self, told: &mut Told) -> Vec<TieRow> {
        self.adjustment.closures.iter().filter(|c| self.is_told(c)).map(|c| self.tie_row(c, told)).collect()
    }

    fn is_told(&self, closure: &Closure) -> bool {
        closure.verdict != Verdict::Unchecked || self.known.numbers.get(closure.tie).copied().flatten().is_some()
    }

    /// Where an equation stands among the rows, from 1.
    fn row_of(&self, equation: usize) -> Option<usize> {
        let closures = &self.adjustment.closures;
        closures.get(equation).filter(|c| self.is_told(c))?;
        Some(closures.iter().take(equation + 1).filter(|c| self.is_told(c)).count())
    }

    fn tie_row(&self, c: &Closure, told: &mut Told) -> TieRow {
        let words = self.job.report.words;
        let tie = &self.known.all[c.tie];
        let (station_m, to_m) = tie.stations_m();
        TieRow {
            number: self.known.numbers.get(c.tie).copied().flatten().map_or(0, |n| n + 1),
            name: told.row(self.tie_name(c.tie)),
            kind: tie.kind().to_owned(),
            quantity: c.quantity.to_owned(),
            station_m,
            to_m,
            value: c.measured,
            sd: c.sd,
            own_sd: Some(c.own_sd),
            station_part_sd: Some(c.station_sd),
            expected: c.off.map(|(off, _)| c.measured - off),
            expected_sd: c.expected_sd(),
            misclosure: c.off.map(|(off, _)| off),
            misclosure_sd: c.off.map(|(_, sd)| sd),
            standardised: c.standardised(),
            residual: c.residual,
            redundancy: (c.sd > 0.0).then_some(c.redundancy),
            smallest_detectable: c.smallest_detectable(),
            verdict: c.verdict.as_str().to_owned(),
            sentence: told.row(closure_sentence(c, words)),
        }
    }

    /// How everything goes together; nothing without ties of the job.
    pub(super) fn adjustment_row(&self, told: &mut Told) -> Option<AdjustmentRow> {
        let a = &self.adjustment;
        if !a.closures.iter().any(|c| self.is_told(c)) {
            return None;
        }
        let suspects = self.suspects();
        let verdict = match a.p_value {
            _ if a.is_large() => "large",
            Some(_) => "agree",
            None => "unchecked",
        };
        Some(AdjustmentRow {
            steps: a.steps,
            converged: a.converged,
            chi_square: a.chi_square,
            degrees_of_freedom: a.degrees_of_freedom,
            p_value: a.p_value,
            verdict: verdict.to_owned(),
            sentence: told.row(self.together(&suspects)),
            suspect_row: a.suspect.and_then(|j| self.row_of(j)),
            suspect_pair_rows: a.suspect_pair.and_then(|(j, k)| self.row_of(j).zip(self.row_of(k))),
            explained_by_rows: self.explained_by_rows(),
            without: self.explanations().iter().flat_map(|left_out| self.without(left_out, told)).collect(),
            not_determined: told.rows(self.not_determined()),
        })
    }

    /// A tie within a sentence: a name of the operator's may read like anything.
    pub(super) fn quoted(&self, tie: usize) -> Said {
        let name = self.tie_name(tie);
        if self.known.all[tie].name.is_empty() { name } else { said!("\"{name}\"", name = name) }
    }

    /// Name of a tie in the reader's words: its own, or what it is and where.
    pub(super) fn tie_name(&self, number: usize) -> Said {
        let (words, tie) = (self.job.report.words, &self.known.all[number]);
        if let Some(name) = self.known.names.get(number).and_then(Option::as_ref) {
            return name.clone();
        }
        if !tie.name.is_empty() {
            return Said::text(&tie.name);
        }
        let (n, what) = (number + 1, Part::word(kind(tie)));
        match tie.stations_m() {
            (Some(from_m), Some(to_m)) => said!(
                words,
                "tie {n} ({what} between {stretch})",
                n = n,
                what = what,
                stretch = Part::Both(from_m, to_m)
            ),
            (Some(at_m), None) => {
                said!(words, "tie {n} ({what} at {place})", n = n, what = what, place = Part::At(at_m))
            }
            _ => said!("tie {n} ({what})", n = n, what = what),
        }
    }

    /// Whether all ties can be true, in a few sentences.
    fn together(&self, suspects: &[usize]) -> Said {
        let mut sentences = self.fit(suspects);
        let explanations = self.explanations();
        let mut others = explanations.iter().skip(usize::from(!suspects.is_empty()));
        if let Some(first) = others.next() {
            let all = others
                .fold(self.named(first), |list, one| said!("{list} or {last}", list = list, last = self.named(one)));
            sentences.push(if suspects.is_empty() {
                said!(
                    "Without {ties} the rest would go together: measure that again first. Only what comes out the same \
                     without it is decided.",
                    ties = all
                )
            } else {
                said!(
                    "It may as well be {ties} that is wrong: without that the rest goes together too. Measure all of \
                     them again; only what comes out the same without each is decided.",
                    ties = all
                )
            });
        }
        if !self.adjustment.converged {
            sentences.push(said!(
                "The adjustment did not come to rest in {steps} steps: its figures are not to be relied on.",
                steps = self.adjustment.steps
            ));
        }
        sentences
    }

    fn fit(&self, suspects: &[usize]) -> Said {
        let a = &self.adjustment;
        let named = |j: &usize| self.quoted(a.closures[*j].tie);
        let Some(p) = a.p_value.map(seldom) else {
            return said!(
                "Nothing is measured beyond what is needed: an error in a tie would not show. Another of the same kind \
                 at another place, or of the head a second check, would check it."
            );
        };
        // Of one that does not fit, how often as much comes by chance; of them all it may be often enough.
        let alone = |j: usize| {
            let size = a.closures.get(j).and_then(Closure::standardised).map_or(0.0, f64::abs);
            seldom(2.0 * math::normal_cdf(-size))
        };
        match suspects {
            [] if a.is_large() => said!(
                "Ties and runs differ by more than their errors allow (as much comes by chance with a probability of \
                 {p}), and no single tie explains it: look at the standard deviations that were stated.",
                p = p
            ),
            [] => said!(
                "Ties and runs go together within their errors (as much or more comes by chance with a probability of \
                 {p}).",
                p = p
            ),
            [one] => said!(
                "{tie} does not fit the rest (as much comes by chance with a probability of {p}): measure it again \
                 before relying on what it decides. The figures without it are given beside those with it. If two ties \
                 are wrong, a right one can fit worst: another tie would tell.",
                tie = Part::capital(named(one)),
                p = alone(*one)
            ),
            [one, rest @ ..] if a.suspect_pair.is_none() => said!(
                "Ties and runs differ by more than their errors allow (as much comes by chance with a probability of \
                 {p}). Which of them is wrong cannot be told: {tie} fits no worse than {others}. Measure them again, or \
                 something else beside them; the figures without them are given beside those with them.",
                p = p,
                tie = named(one),
                others = suspect::both(rest.iter().map(named)).unwrap_or_default()
            ),
            [one, other, ..] => said!(
                "Ties and runs differ by more than their errors allow (as much comes by chance with a probability of \
                 {p}). No single tie explains it, but {one} and {other} together do; each hides the other. Two wrong \
                 ties can also make a right one look wrong: measure all of them again.",
                p = p,
                one = named(one),
                other = named(other)
            ),
        }
    }

    /// The first row of each tie that, left out alone, makes the rest go together.
    fn explained_by_rows(&self) -> Vec<usize> {
        let closures = &self.adjustment.closures;
        let first = |tie: &usize| closures.iter().position(|c| c.tie == *tie && c.off.is_some());
        self.adjustment.explained_by.iter().filter_map(|tie| self.row_of(first(tie)?)).collect()
    }

    /// The main figures with all ties and without some.
    fn without(&self, left_out: &[usize], told: &mut Told) -> Vec<WithoutRow> {
        let Ok(posterior) = self.without_ties(left_out) else { return Vec::new() };
        let named = told.row(self.named(left_out));
        let profile = self.layout.profile(&posterior.tilt_rad, posterior.scale, Some(&posterior.step_rise_m));
        let (first_m, last_m) = self.surveyed_m();
        let flow = self.job.flow;
        let row = |quantity: &str, with: Estimate, without: Estimate| WithoutRow {
            quantity: quantity.to_owned(),
            left_out: named.clone(),
            value: with.value,
            sd: with.sd,
            without: without.value,
            without_sd: without.sd,
        };
        let slopes = self.posterior.slope(&self.layout, &self.profile, flow, first_m, last_m).zip(posterior.slope(
            &self.layout,
            &profile,
            flow,
            first_m,
            last_m,
        ));
        let falls = (
            self.posterior.fall(&self.layout, &self.profile, flow, first_m, last_m),
            posterior.fall(&self.layout, &profile, flow, first_m, last_m),
        );
        let mut rows: Vec<WithoutRow> = slopes.map(|(with, without)| row("slope", with, without)).into_iter().collect();
        rows.push(row("fall_m", falls.0, falls.1));
        for parameter in [ZERO, SCALE] {
            if let Some((with, without)) = self.posterior.parameter(parameter).zip(posterior.parameter(parameter)) {
                rows.push(row(parameter, Estimate::new(with.value, with.sd), Estimate::new(without.value, without.sd)));
            }
        }
        rows
    }

    /// What no tie and no run determines, with the tie that would.
    fn not_determined(&self) -> Vec<Said> {
        let first = self.posterior.first();
        let mut told = Vec::new();
        if first.elevation_m.is_none() {
            told.push(said!(
                "No elevation is determined, only heights against each other: a levelled invert would give it."
            ));
        }
        if first.plan_m.is_none() {
            told.push(said!("The position in plan is not determined: a located point would give it."));
        }
        if first.azimuth_rad.is_none() {
            told.push(said!(
                "The direction in plan is not determined: the azimuth at the opening, or a second located point, would \
                 give it."
            ));
        }
        let unlearnt = |name: &str| {
            self.posterior.parameter(name).is_some_and(|p| p.prior_sd > 0.0 && p.sd > NOT_LEARNT * p.prior_sd)
        };
        if !self.job.runs.is_empty() && unlearnt(ZERO) {
            told.push(said!(
                "The zero error of the head is known no better than before: a reversal check, two edges of still water, \
                 a run from the other end, or inverts at both ends would determine it."
            ));
        }
        if !self.job.runs.is_empty() && unlearnt(SCALE) {
            told.push(said!(
                "The scale of the counter is known no better than before: a length taped on the ground, or located \
                 points far apart, would determine it."
            ));
        }
        told
    }

    /// Heights before the ties, put on those after them where the ties are surest, with their standard deviations.
    pub(super) fn before_heights(&self) -> Option<Vec<(f64, f64)>> {
        if !self.adjustment.closures.iter().any(|c| self.is_told(c)) {
            return None;
        }
        let start_m = self.job.runs.first().map_or(self.surveyed_m().0, |r| r.start_station_m);
        let levelled = self.known.all.iter().filter_map(|tie| match &tie.known {
            Known::Invert { at, sd_m, .. } => Some((at.station_m, *sd_m)),
            _ => None,
        });
        let surest = levelled.reduce(|best, next| if next.1 < best.1 { next } else { best });
        let (first_m, last_m) = self.surveyed_m();
        let anchor_m = surest.map_or(start_m, |(station_m, _)| station_m).max(first_m).min(last_m);
        let profile = self.layout.profile(&self.before.tilt_rad, self.before.scale, Some(&self.before.step_rise_m));
        let shift =
            self.profile.height_at(anchor_m)? + self.raised_by_lips_m(anchor_m) - profile.height_at(anchor_m)?;
        let sds = self.before.height_sd_m(&self.layout, &profile, Anchor::Station(anchor_m));
        Some(profile.height_m.iter().map(|h| h + shift).zip(sds).collect())
    }

    /// As-built inverts beside what was measured.
    pub(super) fn as_built_rows(&self, told: &mut Told) -> Vec<AsBuiltRow> {
        if self.job.runs.is_empty() || self.job.as_built_use == AsBuiltUse::Use {
            return Vec::new();
        }
        let inverts: Vec<_> = self.job.as_built.iter().filter(|a| is_near(self.surveyed_m(), a.station_m)).collect();
        let stations: Vec<f64> = inverts.iter().map(|a| a.station_m).collect();
        let own = |i: usize| inverts[i].sd_m.unwrap_or(0.0);
        let count = inverts.len().max(1) as f64;
        let measured: Vec<(Estimate, f64)> = if self.posterior.first().elevation_m.is_some() {
            let at = |(i, s): (usize, &f64)| {
                Some((self.posterior.elevation(&self.layout, &self.profile, *s)?, own(i) * own(i)))
            };
            stations.iter().enumerate().filter_map(at).collect()
        } else {
            // Only the shape can be compared: both about their means.
            let mean = inverts.iter().map(|a| a.invert_m).sum::<f64>() / count;
            let all: f64 = (0..inverts.len()).map(|i| own(i) * own(i)).sum::<f64>() / (count * count);
            let about = self.posterior.heights_about_mean(&self.layout, &self.profile, &stations);
            let put = |(i, e): (usize, Estimate)| {
                (Estimate::new(e.value + mean, e.sd), own(i) * own(i) * (1.0 - 2.0 / count) + all)
            };
            about.into_iter().enumerate().map(put).collect()
        };
        let words = self.job.report.words;
        let row = |(a, (measured, variance)): (&&crate::model::AsBuilt, (Estimate, f64))| {
            let sd = (measured.sd * measured.sd + variance.max(0.0)).sqrt();
            let difference = Estimate::new(measured.value - a.invert_m, sd);
            AsBuiltRow {
                station_m: a.station_m,
                invert_m: a.invert_m,
                invert_sd_m: a.sd_m.unwrap_or(0.0),
                measured_m: measured.value,
                difference_m: difference.value,
                difference_sd_m: difference.sd,
                difference_low_m: difference.low,
                difference_high_m: difference.high,
                sentence: told.row(as_built_sentence(a.station_m, difference, words)),
            }
        };
        inverts.iter().zip(measured).map(row).collect()
    }

    /// Water that was seen and is not explained, or expected and not seen.
    pub(super) fn water_rows(&self, notes: &[NoteRow], pools: &[PoolEstimate], told: &mut Told) -> Vec<WaterRow> {
        let extent = |n: &NoteRow| n.station_m.map(|s| (s, n.to_m.unwrap_or(s)));
        let wet: Vec<(f64, f64)> = notes.iter().filter(|n| n.water_seen).filter_map(extent).collect();
        let noted_dry =
            |n: &&NoteRow| n.number.checked_sub(1).and_then(|i| self.job.notes.get(i)).is_some_and(|n| n.dry_seen);
        let dry: Vec<(f64, f64)> = notes.iter().filter(noted_dry).filter_map(extent).collect();
        pool::water_findings(&wet, &dry, pools, self.job.report.words)
            .into_iter()
            .map(|(finding, (from_m, to_m), sentence)| WaterRow {
                finding: finding.as_str().to_owned(),
                from_m: from_m.min(to_m),
                to_m: from_m.max(to_m),
                sentence: told.row(sentence),
            })
            .collect()
    }
}

/// How often something comes by chance, to two figures also where that is seldom: "about 1 in 13,000".
fn seldom(p: f64) -> Part {
    // Contradictions are refused from one in a million on.
    if !(1e-9..0.01).contains(&p) {
        return Part::Probability(p);
    }
    let (mut times, mut tens) = (1.0 / p, 1.0);
    while times >= 100.0 {
        (times, tens) = (times / 10.0, 10.0 * tens);
    }
    said!("about 1 in {n}", n = Part::Number(times.round() * tens, 0)).into()
}

fn as_built_sentence(station_m: f64, difference: Estimate, words: Words) -> Said {
    let below = difference.value < 0.0;
    let within = difference.low <= 0.0 && difference.high >= 0.0;
    let (place, off) = (Part::At(station_m), Part::Small(difference.value.abs()));
    let lies = if below {
        said!(words, "At {place} the pipe lies {off} below the as-built invert", place = place, off = off)
    } else {
        said!(words, "At {place} the pipe lies {off} above the as-built invert", place = place, off = off)
    };
    let give = Part::Small(0.5 * (difference.high - difference.low));
    if within {
        said!(
            words,
            "{clause}, give or take {give} (95 %), which is within what both may be off.",
            clause = lies,
            give = give
        )
    } else {
        said!(
            words,
            "{clause}, give or take {give} (95 %), which is more than both may be off.",
            clause = lies,
            give = give
        )
    }
}

/// What kind of tie it is.
fn kind(tie: &Tie) -> &'static str {
    match &tie.known {
        Known::Invert { .. } => word!("invert"),
        Known::Plan { .. } => word!("plan"),
        Known::Azimuth { .. } => word!("azimuth"),
        Known::Depth { .. } => word!("depth"),
        Known::HeightDifference { .. } => word!("height difference"),
        Known::Length { .. } => word!("length"),
        Known::ReversalCheck(_) => word!("reversal check"),
        Known::LevelCheck { .. } => word!("level check"),
        Known::WaterLevel { .. } => word!("water level"),
        Known::WaterDepth { .. } => word!("water depth"),
    }
}

fn closure_sentence(c: &Closure, words: Words) -> Said {
    let sized = |x: f64| match c.quantity {
        // A check of the head is good to some hundredths of a degree: two decimals would be too few.
        "zero_rad" => said!("{n} degrees", n = Part::Number(to_deg(x.abs()), 3)).into(),
        "azimuth_rad" => Part::Angle(x.abs()),
        _ => Part::Small(x.abs()),
    };
    let Some((off, sd)) = c.off else {
        return match c.verdict {
            Verdict::Repeated => said!("It repeats what holds exactly already."),
            _ => said!("Nothing else says anything of it: an error in it would not show."),
        };
    };
    let differs = said!(
        words,
        "{clause}, where {usual} is usual (one standard deviation)",
        clause = off_by(c.quantity, off < 0.0, sized(off), words),
        usual = sized(sd)
    );
    match c.verdict {
        Verdict::Suspect => said!(
            "{clause}: none fits worse, and chance alone does that less than once in a thousand.",
            clause = differs
        ),
        Verdict::Large => said!(
            "{clause}: chance alone does that less than once in a thousand; another fits worse and may be the cause.",
            clause = differs
        ),
        _ => said!(
            words,
            "{clause}. An error of less than {least} in it would probably not be found.",
            clause = differs,
            least = c.smallest_detectable().map_or_else(|| Part::from(""), sized)
        ),
    }
}

/// Which way it differs is said of the place, never of a fall: a rise that is more is a fall that is less.
fn off_by(quantity: &str, less: bool, off: Part, words: Words) -> Said {
    match (quantity, less) {
        ("elevation_m", true) => said!(words, "It lies {off} lower than everything else says", off = off),
        ("elevation_m", false) => said!(words, "It lies {off} higher than everything else says", off = off),
        ("rise_m", true) => {
            said!(words, "Its second place lies {off} lower against the first than everything else says", off = off)
        }
        ("rise_m", false) => {
            said!(words, "Its second place lies {off} higher against the first than everything else says", off = off)
        }
        ("east_m", true) => said!(words, "It lies {off} further west than everything else says", off = off),
        ("east_m", false) => said!(words, "It lies {off} further east than everything else says", off = off),
        ("north_m", true) => said!(words, "It lies {off} further south than everything else says", off = off),
        ("north_m", false) => said!(words, "It lies {off} further north than everything else says", off = off),
        ("azimuth_rad", true) => said!(words, "It points {off} further left than everything else says", off = off),
        ("azimuth_rad", false) => said!(words, "It points {off} further right than everything else says", off = off),
        ("length_m", true) => said!(words, "It is {off} shorter than everything else says", off = off),
        ("length_m", false) => said!(words, "It is {off} longer than everything else says", off = off),
        (_, true) => said!(words, "It shows {off} less than everything else says", off = off),
        (_, false) => said!(words, "It shows {off} more than everything else says", off = off),
    }
}
