//! Ties, as-built inverts and water as rows, each with its sentence.

use super::Lateral;
use crate::{
    adjust::{
        Anchor, Estimate, SCALE, ZERO,
        ties::{Closure, Verdict, is_near},
    },
    answers::{AdjustmentRow, AsBuiltRow, NoteRow, TieRow, WaterRow, WithoutRow},
    math,
    model::{AsBuiltUse, Known, Tie},
    pool::{self, PoolEstimate},
    units::{Words, probability, to_deg},
};

/// Of a parameter this share of its standard deviation left is as good as nothing learnt.
const NOT_LEARNT: f64 = 0.95;

impl Lateral {
    /// One row for each number that was measured. What runs and as-built inverts give is left out where nothing checks it.
    pub(super) fn tie_rows(&self) -> Vec<TieRow> {
        self.adjustment.closures.iter().filter(|c| self.is_told(c)).map(|c| self.tie_row(c)).collect()
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

    fn tie_row(&self, c: &Closure) -> TieRow {
        let words = self.job.report.words;
        let tie = &self.known.all[c.tie];
        let (station_m, to_m) = tie.stations_m();
        TieRow {
            number: self.known.numbers.get(c.tie).copied().flatten().map_or(0, |n| n + 1),
            name: name(c.tie, tie, words),
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
            sentence: closure_sentence(c, words),
        }
    }

    /// How everything goes together; nothing without ties of the job.
    pub(super) fn adjustment_row(&self) -> Option<AdjustmentRow> {
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
            sentence: self.together(&suspects),
            suspect_row: a.suspect.and_then(|j| self.row_of(j)),
            suspect_pair_rows: a.suspect_pair.and_then(|(j, k)| self.row_of(j).zip(self.row_of(k))),
            without: self.without(&suspects),
            not_determined: self.not_determined(),
        })
    }

    /// A tie within a sentence: a name of the operator's may read like anything.
    pub(super) fn quoted(&self, tie: usize) -> String {
        let of = &self.known.all[tie];
        let name = name(tie, of, self.job.report.words);
        if of.name.is_empty() { name } else { format!("\"{name}\"") }
    }

    /// Whether all ties can be true, in a few sentences.
    fn together(&self, suspects: &[usize]) -> String {
        let a = &self.adjustment;
        let named = |j: &usize| self.quoted(a.closures[*j].tie);
        let rest = if a.converged {
            String::new()
        } else {
            format!(" The adjustment did not come to rest in {} steps: its figures are not to be relied on.", a.steps)
        };
        let Some(p) = a.p_value else {
            return format!(
                "Nothing is measured beyond what is needed: an error in a tie would not show. Another of the same kind at another \
                 place, or of the head a second check, would check it.{rest}"
            );
        };
        // Of one that does not fit, how often as much comes by chance; of them all it may be often enough.
        let alone = |j: usize| {
            let size = a.closures.get(j).and_then(Closure::standardised).map_or(0.0, f64::abs);
            2.0 * math::normal_cdf(-size)
        };
        let together = match suspects {
            [] if a.is_large() => format!(
                "Ties and runs differ by more than their errors allow (as much comes by chance with a probability of {}), and no \
                 single tie explains it: look at the standard deviations that were stated.",
                probability(p)
            ),
            [] => format!(
                "Ties and runs go together within their errors (as much or more comes by chance with a probability of {}).",
                probability(p)
            ),
            [one] => format!(
                "{} does not fit the rest (as much comes by chance with a probability of {}): measure it again before relying on \
                 what it decides. The figures without it are given beside those with it. If two ties are wrong, a right one can fit \
                 worst: another tie would tell.",
                capital(&named(one)),
                probability(alone(*one))
            ),
            [one, rest @ ..] if a.suspect_pair.is_none() => format!(
                "Ties and runs differ by more than their errors allow (as much comes by chance with a probability of {}). Which of \
                 them is wrong cannot be told: {} fits no worse than {}. Measure them again, or something else beside them; the \
                 figures without them are given beside those with them.",
                probability(p),
                named(one),
                rest.iter().map(named).collect::<Vec<String>>().join(" and ")
            ),
            [one, other, ..] => format!(
                "Ties and runs differ by more than their errors allow (as much comes by chance with a probability of {}). No \
                 single tie explains it, but {} and {} together do; each hides the other. Two wrong ties can also make a right one \
                 look wrong: measure all of them again.",
                probability(p),
                named(one),
                named(other)
            ),
        };
        format!("{together}{rest}")
    }

    /// The main figures with all ties and without the suspects.
    fn without(&self, suspects: &[usize]) -> Vec<WithoutRow> {
        if suspects.is_empty() {
            return Vec::new();
        }
        let left_out: Vec<usize> = suspects.iter().map(|j| self.adjustment.closures[*j].tie).collect();
        let Ok(posterior) = self.without_ties(&left_out) else { return Vec::new() };
        let profile = self.layout.profile(&posterior.tilt_rad, posterior.scale, Some(&posterior.step_rise_m));
        let (first_m, last_m) = self.surveyed_m();
        let flow = self.job.flow;
        let row = |quantity: &str, with: Estimate, without: Estimate| WithoutRow {
            quantity: quantity.to_owned(),
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
    fn not_determined(&self) -> Vec<String> {
        let first = self.posterior.first();
        let mut said = Vec::new();
        if first.elevation_m.is_none() {
            said.push("No elevation is determined, only heights against each other: a levelled invert would give it.");
        }
        if first.plan_m.is_none() {
            said.push("The position in plan is not determined: a located point would give it.");
        }
        if first.azimuth_rad.is_none() {
            said.push("The direction in plan is not determined: the azimuth at the opening, or a second located point, would give it.");
        }
        let unlearnt = |name: &str| {
            self.posterior.parameter(name).is_some_and(|p| p.prior_sd > 0.0 && p.sd > NOT_LEARNT * p.prior_sd)
        };
        if !self.job.runs.is_empty() && unlearnt(ZERO) {
            said.push(
                "The zero error of the head is known no better than before: a reversal check, two edges of still water, a run \
                 from the other end, or inverts at both ends would determine it.",
            );
        }
        if !self.job.runs.is_empty() && unlearnt(SCALE) {
            said.push(
                "The scale of the counter is known no better than before: a length taped on the ground, or located points far \
                 apart, would determine it.",
            );
        }
        said.into_iter().map(str::to_owned).collect()
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
        let shift = self.profile.height_at(anchor_m)? + self.lips_m(anchor_m) - profile.height_at(anchor_m)?;
        let sds = self.before.height_sd_m(&self.layout, &profile, Anchor::Station(anchor_m));
        Some(profile.height_m.iter().map(|h| h + shift).zip(sds).collect())
    }

    /// As-built inverts beside what was measured.
    pub(super) fn as_built_rows(&self) -> Vec<AsBuiltRow> {
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
                sentence: as_built_sentence(a.station_m, difference, words),
            }
        };
        inverts.iter().zip(measured).map(row).collect()
    }

    /// Water that was seen and is not explained, or expected and not seen.
    pub(super) fn water_rows(&self, notes: &[NoteRow], pools: &[PoolEstimate]) -> Vec<WaterRow> {
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
                sentence,
            })
            .collect()
    }
}

fn as_built_sentence(station_m: f64, difference: Estimate, words: Words) -> String {
    let way = if difference.value < 0.0 { "below" } else { "above" };
    let (off, interval) = (words.small(difference.value.abs()), words.small(0.5 * (difference.high - difference.low)));
    let told = if difference.low <= 0.0 && difference.high >= 0.0 {
        "which is within what both may be off"
    } else {
        "which is more than both may be off"
    };
    format!(
        "At {} the pipe lies {off} {way} the as-built invert, give or take {interval} (95 %), {told}.",
        words.at(station_m)
    )
}

/// Name of a tie in the reader's words: its own, or what it is and where.
fn name(number: usize, tie: &Tie, words: Words) -> String {
    if !tie.name.is_empty() {
        return tie.name.clone();
    }
    let what = tie.kind().replace('_', " ");
    match tie.stations_m() {
        (Some(from_m), Some(to_m)) => format!("tie {} ({what} between {})", number + 1, words.both(from_m, to_m)),
        (Some(at_m), None) => format!("tie {} ({what} at {})", number + 1, words.at(at_m)),
        _ => format!("tie {} ({what})", number + 1),
    }
}

fn closure_sentence(c: &Closure, words: Words) -> String {
    let sized = |x: f64| match c.quantity {
        // A check of the head is good to some hundredths of a degree: two decimals would be too few.
        "zero_rad" => format!("{:.3} degrees", to_deg(x.abs())),
        "azimuth_rad" => words.angle(x.abs()),
        _ => words.small(x.abs()),
    };
    let Some((off, sd)) = c.off else {
        return match c.verdict {
            Verdict::Repeated => "It repeats what holds exactly already.".to_owned(),
            _ => "Nothing else says anything of it: an error in it would not show.".to_owned(),
        };
    };
    // Which way is said of the place, never of a fall: a rise that is more is a fall that is less.
    let (it, less, more) = match c.quantity {
        "elevation_m" => ("It lies", "lower", "higher"),
        "rise_m" => ("Its second place lies", "lower against the first", "higher against the first"),
        "east_m" => ("It lies", "further west", "further east"),
        "north_m" => ("It lies", "further south", "further north"),
        "azimuth_rad" => ("It points", "further left", "further right"),
        "length_m" => ("It is", "shorter", "longer"),
        _ => ("It shows", "less", "more"),
    };
    let way = if off < 0.0 { less } else { more };
    let differs = format!(
        "{it} {} {way} than everything else says, where {} is usual (one standard deviation)",
        sized(off),
        sized(sd)
    );
    let least = c.smallest_detectable().map(sized).unwrap_or_default();
    match c.verdict {
        Verdict::Suspect => {
            format!("{differs}: none fits worse, and chance alone does that less than once in a thousand.")
        }
        Verdict::Large => {
            format!(
                "{differs}: chance alone does that less than once in a thousand; another fits worse and may be the cause."
            )
        }
        _ => format!("{differs}. An error of less than {least} in it would probably not be found."),
    }
}

/// With its first letter large.
fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
