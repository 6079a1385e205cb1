//! What makes figures uncertain, and how they hang together: rows by which the standard deviations can be repeated by hand.

use super::{Lateral, offset, told::Told};
use crate::prelude::*;
use crate::{
    adjust::{Cause, Figure, Functional},
    answers::{BudgetRow, CorrelationRow, CovarianceRow, ReachRow},
    said,
    units::Said,
};

/// Most stations in the table of covariances: their pairs are 820 rows (our choice).
const MOST_STATIONS: usize = 40;

/// Stations nearer to each other than this are one, m: a break and the end of a reach that is the same.
const SAME_M: f64 = 1e-9;

/// A source that makes less than this share of a variance is not shown: a millionth of the standard deviation (our choice).
const NOTHING: f64 = 1e-12;

impl Lateral {
    /// Slope and fall of the whole and of each reach, by what makes them uncertain, most first.
    pub(super) fn budget_rows(&self, total: &ReachRow, reaches: &[ReachRow], told: &mut Told) -> Vec<BudgetRow> {
        core::iter::once(total).chain(reaches).flat_map(|row| self.budgets(row, told)).collect()
    }

    fn budgets(&self, of: &ReachRow, told: &mut Told) -> Vec<BudgetRow> {
        let quantities =
            [self.slope_quantity(of).map(|slope| ("slope", slope)), Some(("fall_m", self.fall_quantity(of)))];
        quantities.into_iter().flatten().flat_map(|(name, quantity)| self.budget(of, name, &quantity, told)).collect()
    }

    fn budget(&self, of: &ReachRow, name: &str, quantity: &Functional, told: &mut Told) -> Vec<BudgetRow> {
        let mut parts = self.posterior.budget(quantity).unwrap_or_default();
        let whole: f64 = parts.iter().map(|(_, variance)| variance).sum();
        parts.retain(|(_, variance)| *variance > NOTHING * whole);
        parts.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
        let row = |(cause, variance): (Cause, f64)| BudgetRow {
            figure: of.name.clone(),
            from_m: of.from_m,
            to_m: of.to_m,
            quantity: name.to_owned(),
            source: told.row(self.cause(&cause)),
            sd: variance.sqrt(),
            share: variance / whole,
        };
        parts.into_iter().map(row).collect()
    }

    fn fall_quantity(&self, of: &ReachRow) -> Functional {
        self.posterior.fall_quantity(&self.layout, &self.profile, self.job.flow, of.from_m, of.to_m)
    }

    fn slope_quantity(&self, of: &ReachRow) -> Option<Functional> {
        self.posterior.slope_quantity(&self.layout, &self.profile, self.job.flow, of.from_m, of.to_m)
    }

    /// A source of error in words.
    fn cause(&self, cause: &Cause) -> Said {
        match cause {
            Cause::Zero => said!("zero error of the head"),
            Cause::Seating => said!("seating of the head"),
            Cause::Drift => said!("drift of the head"),
            Cause::Across => said!("error across the axis of the head"),
            Cause::Noise => said!("noise of the readings"),
            Cause::Found => said!("noise of the readings and where the breaks lie"),
            Cause::Rounding => said!("rounding of the readings"),
            Cause::Wander => said!("zero error that varies along the run"),
            Cause::Scale => said!("scale of the counter"),
            Cause::Steps => said!("noted steps"),
            Cause::Bends => said!("angles of bends"),
            Cause::Lips => said!("lips at joints that nobody noted"),
            Cause::Named(name) => {
                let starts = (0..self.job.runs.len()).map(offset::start_name).find(|start| *start == name.as_str());
                starts.unwrap_or_else(|| Said::text(name))
            }
            Cause::Tie(tie) => self.tie_named(*tie),
            Cause::Station(tie) => said!("station of {tie}", tie = self.tie_named(*tie)),
        }
    }

    /// A tie by its number, where the job has it; else by its name.
    fn tie_named(&self, tie: usize) -> Said {
        match self.known.numbers.get(tie).copied().flatten() {
            Some(number) => said!("tie {n}", n = number + 1),
            None => self.tie_name(tie),
        }
    }

    /// Correlations of the parameters, and of the slope and fall of the whole with them.
    pub(super) fn correlation_rows(&self, total: &ReachRow) -> Vec<CorrelationRow> {
        let parameters = &self.posterior.parameters;
        let all: Vec<usize> = (0..parameters.len()).collect();
        let named: Vec<(&str, Functional)> = self
            .slope_quantity(total)
            .map(|slope| ("slope", slope))
            .into_iter()
            .chain([("fall_m", self.fall_quantity(total))])
            .collect();
        let quantities: Vec<&Functional> = named.iter().map(|(_, quantity)| quantity).collect();
        let name = |figure: Figure| match figure {
            Figure::Parameter(i) => parameters.get(i).map(|p| p.name.to_string()),
            Figure::Quantity(i) => named.get(i).map(|(name, _)| (*name).to_owned()),
        };
        let row = |c: crate::adjust::Correlated| CorrelationRow {
            first: name(c.first).unwrap_or_default(),
            second: name(c.second).unwrap_or_default(),
            first_sd: c.sds[0],
            second_sd: c.sds[1],
            correlation: c.correlation,
        };
        self.posterior.correlations(&all, &quantities).into_iter().map(row).collect()
    }

    /// Covariances of the heights at the breaks and the ends of the reaches; and what is to be said where not all of them are there.
    pub(super) fn covariance_rows(&self, reaches: &[ReachRow]) -> (Vec<CovarianceRow>, Option<Said>) {
        let (stations, left_out) = self.covariance_stations_m(reaches);
        let rows = self.posterior.height_covariance(&self.layout, &self.profile, self.anchor(), &stations);
        let at = |i: usize| stations.get(i).copied().unwrap_or(0.0);
        let rows: Vec<CovarianceRow> = rows
            .into_iter()
            .map(|c| CovarianceRow {
                first_station_m: at(c.first),
                second_station_m: at(c.second),
                covariance_m2: c.covariance_m2,
                by_tilts_m2: c.by_tilts_m2,
            })
            .collect();
        let said = (left_out > 0 && !rows.is_empty()).then(|| {
            let kept = stations.len();
            said!(
                "The table of covariances has {kept} of {all} stations: it would be too long with all.",
                kept = kept,
                all = kept + left_out
            )
        });
        (rows, said)
    }

    /// The stations of that table, m, in order, and how many breaks are not among them: the ends of reaches first, then breaks, those
    /// that are left out spread evenly.
    fn covariance_stations_m(&self, reaches: &[ReachRow]) -> (Vec<f64>, usize) {
        let (first_m, last_m) = self.surveyed_m();
        let mut ends: Vec<f64> = reaches.iter().flat_map(|r| [r.from_m, r.to_m]).chain([first_m, last_m]).collect();
        let in_order = |stations: &mut Vec<f64>| {
            stations.sort_by(f64::total_cmp);
            stations.dedup_by(|next, last| *next - *last <= SAME_M);
        };
        in_order(&mut ends);
        let mut breaks: Vec<f64> = self.chain.breaks_m.clone();
        breaks.retain(|b| ends.iter().all(|e| (b - e).abs() > SAME_M));
        let all = ends.len() + breaks.len();
        let mut stations = spread(ends, MOST_STATIONS);
        let room = MOST_STATIONS - stations.len();
        stations.extend(spread(breaks, room));
        in_order(&mut stations);
        let left_out = all - stations.len();
        (stations, left_out)
    }
}

/// At most so many, spread evenly over all; the first and the last among them where there is room for two.
fn spread(all: Vec<f64>, most: usize) -> Vec<f64> {
    if all.len() <= most {
        return all;
    }
    let last = all.len() - 1;
    let gaps = most.saturating_sub(1).max(1);
    (0..most).filter_map(|i| all.get((i * last + gaps / 2) / gaps).copied()).collect()
}
