//! What it would take, as facts in a fixed order.

use super::{super::Lateral, super::told::Told, Asked, figure::Figure, sentence, stretch::Stretch, wall};
use crate::prelude::*;
use crate::{
    adjust::Estimate,
    answers::{CapacityRow, NeededRow},
    error::Error,
    hydraulics::{self, Uniform},
    model::{SizeUnit, StandardPipe, standard_pipes},
    section::Bore,
    units::Said,
};

impl Lateral {
    /// Slopes and sizes for the flow, and the fall there is.
    pub(super) fn needed(
        &self,
        asked: &Asked<'_>,
        stretch: &Stretch<'_>,
        row: &CapacityRow,
        told: &mut Told,
    ) -> Result<Vec<NeededRow>, Error> {
        let Some(bore) = stretch.pipe.bore else { return Ok(Vec::new()) };
        let Ok(friction) = wall::friction(asked.capacity, stretch.pipe) else { return Ok(Vec::new()) };
        let Some(flow) = asked.flow_m3_s else { return Ok(Vec::new()) };
        let words = asked.words;
        let mut rows = Vec::new();
        let blank = |kind: &str| NeededRow {
            reach: row.reach,
            name: row.name.clone(),
            kind: kind.to_owned(),
            ..NeededRow::default()
        };
        let mut add = |row: NeededRow, said: Said| rows.push(NeededRow { sentence: told.row(said), ..row });
        // Of the pipe without its drops, whose fall is counted apart.
        let length_m = (self.pipe_length_m(stretch.from_m, stretch.to_m)).max(0.0);
        let over = |slope: f64| length_m * slope / (1.0 + slope * slope).sqrt();
        let filling = asked.capacity.filling;
        let at_filling = filling.map(|share| hydraulics::slope_for_flow(bore, friction, share * bore.height_m(), flow));
        let by_flow = at_filling.transpose()?;
        let velocity = asked.capacity.least_velocity_m_s;
        let by_velocity =
            velocity.map(|v| hydraulics::slope_for_velocity_of_flow(bore, friction, flow, v)).transpose()?;
        let shear = asked.capacity.least_shear_pa;
        let by_shear = shear.map(|tau| hydraulics::slope_for_shear_of_flow(bore, friction, flow, tau)).transpose()?;
        let mut most_fall_m: Option<f64> = None;
        for (kind, slope, why) in [
            ("slope_for_flow", by_flow, sentence::Why::Flow(filling)),
            ("slope_for_velocity", by_velocity, sentence::Why::Velocity(velocity)),
            ("slope_for_shear", by_shear, sentence::Why::Shear(shear)),
        ] {
            let Some(slope) = slope else { continue };
            let fall_m = slope.map(over);
            if kind == "slope_for_flow" {
                most_fall_m = fall_m;
            }
            let fact = NeededRow { slope, fall_m, fall_sd_m: fall_m.map(|_| 0.0), ..blank(kind) };
            let fact = NeededRow { fall_low_m: fall_m, fall_high_m: fall_m, ..fact };
            let said = sentence::slope_needed(words, &stretch.name, flow, slope.zip(fall_m), length_m, why);
            add(fact, said);
        }
        let there = self.fall(stretch.from_m, stretch.to_m);
        let drops_m = self.profile.drop_fall_between(stretch.from_m, stretch.to_m) * self.job.flow.sign();
        add(with_fall(blank("fall_there_is"), &there), sentence::fall_there(words, &stretch.name, &there, drops_m));
        if let Some(fall_m) = most_fall_m {
            let missing = Estimate {
                value: fall_m - there.value,
                sd: there.sd,
                low: fall_m - there.high,
                high: fall_m - there.low,
            };
            add(
                with_fall(blank("fall_missing"), &missing),
                sentence::fall_missing(words, &stretch.name, flow, &missing),
            );
        }
        if let (Some(filling), Some(mean)) = (filling, stretch.mean.filter(|mean| mean.value > 0.0)) {
            let bore_at = |slope: f64| {
                let steep = (slope > 0.0 && slope <= 10.0).then_some(slope)?;
                hydraulics::diameter_for_flow_m(steep, friction, flow, filling).ok().flatten()
            };
            let bore_m = Figure::of(&mean, false, bore_at);
            let fact = NeededRow {
                bore_m: bore_m.value,
                bore_sd_m: bore_m.sd,
                bore_low_m: bore_m.low,
                bore_high_m: bore_m.high,
                ..blank("bore_for_flow")
            };
            let said = sentence::bore_needed(words, &stretch.name, flow, filling, mean.value, &bore_m);
            add(fact, said);
            for class in classes(stretch) {
                let carries = |size: &StandardPipe| {
                    let bore = Bore::Circle { diameter_m: size.bore_m() };
                    Figure::of(&mean, true, |slope| {
                        Some(Uniform::new(bore, slope, friction).ok()?.flow_m3_s(filling * bore.height_m()))
                    })
                };
                let mut sizes: Vec<&StandardPipe> = standard_pipes().iter().filter(|s| s.class == class).collect();
                sizes.sort_by(|a, b| a.bore_m().total_cmp(&b.bore_m()));
                let least = sizes.iter().map(|size| (*size, carries(size)));
                let least = least.into_iter().find(|(_, carries)| carries.value.is_some_and(|q| q >= flow));
                let fact = blank("size_for_flow");
                let said = sentence::size_needed(words, &stretch.name, flow, filling, mean.value, class, least);
                let fact = match least {
                    Some((size, carries)) => NeededRow {
                        size: format!("{} {}", size.class, size.nominal),
                        bore_m: Some(size.bore_m()),
                        carries_m3_s: carries.value,
                        carries_sd_m3_s: carries.sd,
                        carries_low_m3_s: carries.low,
                        carries_high_m3_s: carries.high,
                        ..fact
                    },
                    None => NeededRow { size: String::new(), ..fact },
                };
                add(fact, said);
            }
        }
        Ok(rows)
    }

    /// True length of pipe that is no drop, m.
    fn pipe_length_m(&self, from_m: f64, to_m: f64) -> f64 {
        let pieces = self.profile.pieces();
        let length = |p: crate::profile::ProfilePiece| {
            let [a, b] = p.station_m;
            if p.is_drop() { 0.0 } else { (b.min(to_m) - a.max(from_m)).max(0.0) }
        };
        self.posterior.scale * pieces.map(length).fold(0.0, |sum, l| sum + l)
    }
}

fn with_fall(row: NeededRow, fall: &Estimate) -> NeededRow {
    NeededRow {
        fall_m: Some(fall.value),
        fall_sd_m: Some(fall.sd),
        fall_low_m: Some(fall.low),
        fall_high_m: Some(fall.high),
        ..row
    }
}

/// Classes of standard pipe whose sizes are counted as that of the pipe is; all where it has no nominal size.
fn classes(stretch: &Stretch<'_>) -> Vec<&'static str> {
    let unit: Option<SizeUnit> = stretch.pipe.nominal.map(|n| n.unit);
    let mut classes: Vec<&'static str> =
        standard_pipes().iter().filter(|s| unit.is_none_or(|u| s.nominal.unit == u)).map(|s| s.class).collect();
    classes.dedup();
    classes
}
